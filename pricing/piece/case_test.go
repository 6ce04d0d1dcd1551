package piece_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/piece"
)

// Rows of 1, 1, 2, 1 and 1 across: six levels, of which 1, 3 and 4 (about the row
// divided) and 6 need a back rail. Openings 900 - 25 - 80 - 6 x 20 = 675.
func TestBackRails(t *testing.T) {
	const rows = `"width": 900, "depth": 480, "height": 900, "rows": [{"height": 135}, {"height": 135}, {"height": 135, "across": 2}, {"height": 135}, {"height": 135}]`
	for _, tt := range []struct {
		members string
		want    []string
	}{
		{`"back_rails": "needed"`, []string{
			"Back rail 4: 856 x 50 x 20 inner",
			"Side runner 2: 403 x 45 x 20 inner", // level 2
			"Side runner 2: 361 x 45 x 20 inner", // level 3
			"Side runner 2: 361 x 45 x 20 inner", // level 4
			"Side runner 2: 403 x 45 x 20 inner", // level 5
			"Side runner 2: 361 x 45 x 20 inner", // level 6
			"Side kicker 2: 361 x 45 x 20 inner", // level 1
			"Centre kicker 1: 361 x 62 x 20 inner",
		}},
		{`"back_rails": "all"`, []string{
			"Back rail 6: 856 x 50 x 20 inner",
			"Side runner 2: 361 x 45 x 20 inner",
			"Side runner 2: 361 x 45 x 20 inner",
			"Side runner 2: 361 x 45 x 20 inner",
			"Side runner 2: 361 x 45 x 20 inner",
			"Side runner 2: 361 x 45 x 20 inner",
			"Side kicker 2: 361 x 45 x 20 inner",
			"Centre kicker 1: 361 x 62 x 20 inner",
		}},
	} {
		b := built(t, read(t, "chest", merged(t, rows, tt.members)))
		assert.Equal(t, tt.want, lines(b, "Back rail", "Side runner", "Side kicker", "Centre kicker"), tt.members)
	}
	plain := built(t, read(t, "chest", merged(t, rows, "")))
	assert.Equal(t, 8, counted(plain, "mortise_tenon")-6*2-2, "two ends for each of four back rails, needed by default")
}

// Single settings of the small chest, with the parts that they change.
func TestCaseSettings(t *testing.T) {
	tests := []struct {
		members string
		names   []string
		want    []string
	}{
		{`"height": 215, "plinth": 0`, []string{"Plinth", "Back", "Side"}, []string{
			"Side 2: 190 x 465 x 22 show out 1/2/0", // 215 - 25
			"Back 1: 190 x 842 x 6 back",
		}},
		{`"finished_back": true`, []string{"Back"}, []string{"Back 1: 190 x 842 x 6 back out 1/0/0"}}, // 295 - 25 - 80
		{`"rebate": 10`, []string{"Back"}, []string{"Back 1: 190 x 846 x 6 back"}},
		{`"side_overhang": 20, "front_overhang": 10, "rear_overhang": 5`, []string{"Top", "Side", "Front rail"}, []string{
			"Top 1: 900 x 480 x 25 show out 2/2/2",
			"Side 2: 270 x 465 x 22 show out 1/2/0",      // 480 - 10 - 5
			"Front rail 2: 846 x 60 x 20 show out 0/1/0", // 900 - 40 - 44 + 30
		}},
		{`"top": 30, "height": 300`, []string{"Top", "Side"}, []string{
			"Top 1: 900 x 480 x 30 show out 2/2/2",
			"Side 2: 270 x 465 x 22 show out 1/2/0",
		}},
		{`"side": 27`, []string{"Side", "Front rail"}, []string{
			"Side 2: 270 x 465 x 27 show out 1/2/0",
			"Front rail 2: 846 x 60 x 20 show out 0/1/0", // 870 - 54 + 30
		}},
		{`"rail": 22, "height": 299`, []string{"Front rail", "Back rail", "Side runner"}, []string{ // 25 + 80 + 44 + 150
			"Front rail 2: 856 x 60 x 22 show out 0/1/0",
			"Back rail 2: 856 x 50 x 22 inner",
			"Side runner 2: 361 x 45 x 22 inner",
		}},
		{`"rail_width": 70, "back_rail": 40, "runner_width": 50`, []string{"Front rail", "Back rail", "Side runner", "Side kicker"}, []string{
			"Front rail 2: 856 x 70 x 20 show out 0/1/0",
			"Back rail 2: 856 x 40 x 20 inner",
			"Side runner 2: 361 x 50 x 20 inner", // 465 - 6 - 70 + 8 - 4 - (40 - 8)
			"Side kicker 2: 361 x 50 x 20 inner",
		}},
		{`"stub_tongue": 10, "movement_gap": 6`, []string{"Side runner"}, []string{"Side runner 2: 363 x 45 x 20 inner"}}, // 403 + 2 - 2 = 403, - (50 - 10)
		{`"tenon": 12`, []string{"Front rail", "Plinth"}, []string{
			"Front rail 2: 850 x 60 x 20 show out 0/1/0", // 826 + 24
			"Plinth 1: 850 x 80 x 20 show out 1/0/0",
		}},
		{`"plinth": 100, "plinth_thickness": 18, "height": 315`, []string{"Plinth"}, []string{"Plinth 1: 856 x 100 x 18 show out 1/0/0"}},
		{`"rows": [{"height": 150, "across": 2}], "housing": 5, "centre_runner_margin": 15, "guide": 18`,
			[]string{"Upright", "Centre runner", "Drawer guide", "Centre kicker"}, []string{
				"Upright 1: 160 x 60 x 22 show out 0/1/0",
				"Centre runner 1: 361 x 52 x 20 inner", // 22 + 30
				"Drawer guide 1: 399 x 22 x 18 inner",
				"Centre kicker 1: 361 x 52 x 20 inner",
			}},
		{`"stop": 6`, []string{"Drawer stop"}, []string{"Drawer stop 2: 45 x 25 x 6 inner offcut"}},
		// Thicker parts over 1500 mm lose 2 mm more in flattening: timber only.
		{`"width": 1600`, []string{"Top", "Front rail", "Glue block", "Drawer bottom", "Drawer back"}, []string{
			"Top 1: 1600 x 480 x 25 show out 2/2/2 extra 2",
			"Front rail 2: 1556 x 60 x 20 show out 0/1/0 extra 2", // 1570 - 44 + 30
			"Glue block 7: 60 x 25 x 25 inner offcut",             // 1526 / 250 = 6.1
			"Drawer back 1: 1526 x 148 x 12 inner in 1/1/0 extra 2",
			"Drawer bottom 1: 1510 x 426 x 6 bottom in 1/0/0", // 1525 - 24 + 10 - 1
		}},
		{`"width": 1500`, []string{"Top"}, []string{"Top 1: 1500 x 480 x 25 show out 2/2/2"}},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, lines(built(t, chestWith(t, tt.members)), tt.names...), tt.members)
	}
}

// Fixings 2 x ceil(Wi / 300) + 2, blocks ceil(Wi / 250); Wi = W - 74.
func TestCountsByWidth(t *testing.T) {
	for _, tt := range []struct {
		width          string
		fixings, block int
	}{
		{"374", 4, 2},        // 300: one to a side, 300 / 250 = 1.2
		{"374.000001", 6, 2}, // a nanometre more
		{"674", 6, 3},        // 600
		{"574", 6, 2},        // 500 / 300 = 1.7; 500 / 250 = 2
		{"574.000001", 6, 3},
		{"1574", 12, 6}, // 1500
	} {
		b := built(t, chestWith(t, `"width": `+tt.width))
		blocks := 0
		for _, p := range b.Parts {
			if p.Name == "Glue block" {
				blocks += p.Quantity
			}
		}
		assert.Equal(t, []int{tt.fixings, tt.block}, []int{counted(b, piece.TopFixing), blocks}, tt.width)
	}
}

// A chest without a plinth has no tenons of one.
func TestPlinthless(t *testing.T) {
	b := built(t, chestWith(t, `"height": 215, "plinth": 0`))
	assert.Equal(t, []string{
		"mortise_tenon 4: length 15 width 18 thickness 16 twin",
		"mortise_tenon 4: length 15 width 13 thickness 16 twin",
	}, joints(b, "mortise_tenon"))
	b = built(t, chestWith(t, `"plinth": 20.000001, "height": 235.000001`))
	assert.Equal(t, "mortise_tenon 2: length 15 width 0.000001 thickness 8", joints(b, "mortise_tenon")[2], "plinth - 20, just above zero")
}

// A part says where it comes from: the member typed for its thickness, else the
// chest; the width, for the length of the top.
func TestPointersOfParts(t *testing.T) {
	b := built(t, chestWith(t, `"top": 25, "guide": 20, "rows": [{"height": 150, "across": 2}], "drawers": {"box": 12, "one_board_fronts": true}`))
	at := map[string][3]string{}
	for _, p := range b.Parts {
		at[p.Name] = [3]string{p.At, p.ThickAt, p.LongAt}
	}
	assert.Equal(t, [3]string{"#/chest", "#/chest/top", "#/chest/width"}, at["Top"])
	assert.Equal(t, [3]string{"#/chest", "#/chest", "#/chest"}, at["Side"])
	assert.Equal(t, [3]string{"#/chest", "#/chest/guide", "#/chest"}, at["Drawer guide"])
	assert.Equal(t, "#/chest/drawers/box", at["Tail board"][1])
	assert.Equal(t, "#/chest/rows/0", at["Tail board"][0])
	for _, p := range b.Parts {
		want := ""
		if p.Name == "Drawer front" {
			want = "#/chest/drawers/one_board_fronts"
		}
		assert.Equal(t, want, p.OneBoard, p.Name)
		assert.Equal(t, p.Name == "Drawer front", p.Front, p.Name)
	}
}
