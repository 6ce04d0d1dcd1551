package piece_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/piece"
)

// The small chest: 900 x 480 x 295, Dc 465, Wi 826, one opening of 150.
func TestChestRefusals(t *testing.T) {
	for _, r := range []refusal{
		// Overall sizes: 1 mm to 20 m. Nothing that needs them is judged then.
		{`"width": 0`, []string{"#/chest/width 0 1 20000 mm"}},
		{`"width": -900`, []string{"#/chest/width -900"}},
		{`"depth": 20000.000001`, []string{"#/chest/depth 20000.000001 20000"}},
		{`"height": 0.5`, []string{"#/chest/height 0.5 1"}},
		// Settings: 0 to 20 m.
		{`"top": -1`, []string{"#/chest/top -1 0 20000 mm"}},
		{`"rear_overhang": 20001`, []string{"#/chest/rear_overhang 20001 20000"}},
		{`"back_rails": "some"`, []string{"#/chest/back_rails some needed all"}},
		// Openings that do not fill: 295 - 25 - 80 - 40 = 150.
		{`"rows": [{"height": 160}]`, []string{"#/chest/rows 160 150 295 25 80 40 mm"}},
		{`"rows": [{"height": 140}]`, []string{"#/chest/rows 140 150"}},
		{`"rows": [{"height": 149.999999}]`, []string{"#/chest/rows 150"}},
		{`"rows": [{"height": 65}, {"height": 65.000001}]`, []string{"#/chest/rows 130"}}, // 130 between three rails
		// Remainder rows not above zero.
		{`"rows": [{"height": 70}, {"height": 60}, {}, {}]`, []string{"#/chest/rows 130 90 2 mm"}}, // 295 - 105 - 5 x 20
		{`"rows": [{"height": 130}, {}]`, []string{"#/chest/rows 130 1"}},
		{`"rows": [{}], "plinth": 230`, []string{"#/chest/rows 0 1 295 25 230 40"}},
		{`"rows": []`, []string{"#/chest/rows 0 1 40"}},
		{`"rows": [` + strings.Repeat(`{},`, 40) + `{}]`, []string{"#/chest/rows 41 40"}},
		{`"rows": [{"height": 150, "across": 41}]`, []string{"#/chest/rows/0/across 41 40"}},
		// Openings under 60 high or 100 wide.
		{`"rows": [{"height": 59.999999}, {}]`, []string{"#/chest/rows/0/height 60 mm"}},
		{`"height": 204, "rows": [{}]`, []string{"#/chest/rows/0 826 59 60 100"}},
		{`"rows": [{"height": 150, "across": 7}]`, []string{"#/chest/rows/0 99.1429 150 60 100"}}, // (826 - 6 x 22) / 7
		{`"rows": [{"height": 150, "across": 38}]`, []string{"#/chest/rows/0 0.3158 150"}},        // (826 - 37 x 22) / 38
		{`"rows": [{"height": 150, "across": 39}]`, []string{"#/chest/rows/0 39 22 826"}},         // 38 x 22 = 836
		// The case itself.
		{`"width": 74`, []string{"#/chest 0"}}, // 74 - 30 - 44
		{`"depth": 21`, []string{"#/chest 826 6 mm"}},
		// Tenon > side - 5.
		{`"tenon": 17.000001`, []string{"#/chest/tenon 17 22 5 mm"}},
		{`"side": 19`, []string{"#/chest/side 15 19 5"}},
		{`"side": 19, "tenon": 14.5`, []string{"#/chest 14.5 19 5"}},
		// Two housings > rail - 8, only between openings.
		{`"rows": [{"height": 150, "across": 2}], "housing": 6.000001`, []string{"#/chest/housing 6 20 8"}},
		{`"rows": [{"height": 154, "across": 2}], "rail": 18`, []string{"#/chest/rail 6 18 8"}},
		{`"rows": [{"height": 154, "across": 2}], "rail": 18, "housing": 5.5`, []string{"#/chest 5.5 18 8"}},
		// Back rail > Dc / 4 = 116.25.
		{`"back_rail": 116.250004`, []string{"#/chest/back_rail 116.25 465 mm"}},
		{`"depth": 214.999996`, []string{"#/chest 50 200 mm"}}, // Dc just below 200
		// Groove offset <= stop.
		{`"stop": 10`, []string{"#/chest/stop 10 mm"}},
		{`"drawers": {"groove_offset": 5}`, []string{"#/chest/drawers/groove_offset 5 mm"}},
		{`"drawers": {"groove_offset": 7}, "stop": 8`, []string{"#/chest 7 8 mm"}},
		// Parts and joints without a positive size.
		{`"top": 0, "height": 270`, []string{"#/chest/top 0 mm"}},
		{`"rail_width": 24`, []string{"#/chest/rail_width 0 mm"}}, // (24 - 24) / 2
		{`"back_rail": 24`, []string{"#/chest/back_rail 0 mm"}},
		{`"rail": 4, "height": 263`, []string{"#/chest/rail 0 mm", "#/chest/rail 0 mm"}}, // front and back rails
		{`"tenon": 0`, []string{"#/chest/tenon 0", "#/chest/tenon 0", "#/chest/tenon 0"}},
		{`"plinth": 20, "height": 235`, []string{"#/chest/plinth 0 mm"}},
		{`"plinth_thickness": 0`, []string{"#/chest/plinth_thickness 0 mm"}},
		{`"rows": [{"height": 150, "across": 2}], "housing": 0`, []string{"#/chest/housing 0 mm"}},
		{`"rows": [{"height": 150, "across": 2}], "guide": 0`, []string{"#/chest/guide 0 mm"}},
		{`"stop": 0`, []string{"#/chest/stop 0 mm"}},
		{`"runner_width": 0`, []string{"#/chest/runner_width 0", "#/chest/runner_width 0"}}, // runners and kickers
		{`"movement_gap": 365`, []string{"#/chest 0 mm", "#/chest 0 mm"}},                   // 465 - 6 - 60 + 8 - 365 - 42
	} {
		r.check(t, chestWith(t, r.members))
	}
}

// One step inside each limit, the chest can be built.
func TestChestLimits(t *testing.T) {
	for _, members := range []string{
		`"tenon": 17`, `"side": 20`, `"housing": 6`, `"housing": 100`, // no uprights to house
		`"rows": [{"height": 150, "across": 2}], "housing": 6`,
		`"back_rail": 116.25`, `"depth": 215`,
		`"stop": 9.999999`, `"drawers": {"groove_offset": 5.000001}`,
		`"height": 205, "rows": [{"height": 60}]`, `"height": 205, "rows": [{}]`,
		`"width": 174`,                           // an opening 100 wide
		`"rows": [{"height": 150, "across": 6}]`, // (826 - 110) / 6 = 119
		`"rail_width": 24.000002`, `"back_rail": 24.000002`,
		`"plinth": 20.000001, "height": 235.000001`, `"plinth": 0, "height": 215`,
		`"drawers": {"lap": 19.999999}`, `"drawers": {"groove": 6}`,
		`"drawers": {"groove_offset": 121.999999}`, // box 148 high > 121.999999 + 6 + 20
		`"movement_gap": 364`,
	} {
		_, faults := chestWith(t, members).Build(stocks)
		assert.NoError(t, faults.Err(), members)
	}
	rows := make([]string, 40)
	for i := range rows {
		rows[i] = `{"across": 40}`
	}
	wide := fmt.Sprintf(`"width": 10000, "height": 8000, "rows": [%s]`, strings.Join(rows, ","))
	b := built(t, chestWith(t, wide))
	assert.Len(t, b.Boxes, 40)
	assert.Equal(t, 40, b.Boxes[39].Quantity)
}

// Quantities up to 10 000, and lists up to 1000.
func TestLongestLists(t *testing.T) {
	b := built(t, boxesWith(t, `"boxes": [{"width": 430, "height": 150, "depth": 450, "quantity": 10000}]`))
	assert.Equal(t, 10_000, b.Boxes[0].Quantity)
	one := `{"width": 430, "height": 150, "depth": 450},`
	many := func(n int) string { return `"boxes": [` + strings.TrimSuffix(strings.Repeat(one, n), ",") + `]` }
	assert.Len(t, built(t, boxesWith(t, many(1000))).Boxes, 1000)
	refusal{"1001 boxes", []string{"#/drawer_boxes/boxes 1001 1000"}}.check(t, boxesWith(t, many(1001)))

	shelf := `{"name": "Shelf", "length": 800, "width": 250, "thickness": 20, "material": "show", "quantity": 10000},`
	shelves := func(n int) string {
		return `"glue_ups": 10000, "parts": [` + strings.TrimSuffix(strings.Repeat(shelf, n), ",") + `]`
	}
	b = built(t, partsWith(t, shelves(1000)))
	assert.Len(t, b.Parts, 1000)
	assert.Equal(t, []int{10_000, 10_000}, []int{b.Parts[0].Quantity, b.GlueUps})
	refusal{"1001 parts", []string{"#/parts/parts 1001 1000"}}.check(t, partsWith(t, shelves(1001)))
}

func TestDrawerRefusals(t *testing.T) {
	for _, r := range []refusal{
		{`"construction": "nailed"`, []string{"#/chest/drawers/construction nailed lapped applied"}},
		{`"bottom": "glass"`, []string{"#/chest/drawers/bottom glass sheet solid"}},
		{`"bottom_fit": "loose"`, []string{"#/chest/drawers/bottom_fit loose captured slid_in"}},
		{`"box": -1`, []string{"#/chest/drawers/box -1 0 20000"}},
		{`"tape_strips": -1`, []string{"#/chest/drawers/tape_strips -1 0"}},
		{`"tail_pitch": 0`, []string{"#/chest/drawers/tail_pitch 0"}},
		// Lap >= front.
		{`"lap": 20`, []string{"#/chest/drawers/lap 20 mm"}},
		{`"front": 6`, []string{"#/chest/drawers/front 6 mm"}},
		{`"front": 18, "lap": 18.5`, []string{"#/chest/drawers 18.5 18 mm"}},
		// Groove depth > b / 2.
		{`"groove": 6.000001`, []string{"#/chest/drawers/groove 6 12 mm"}},
		{`"box": 9`, []string{"#/chest/drawers/box 5 9 4.5"}},
		{`"box": 10, "groove": 5.5`, []string{"#/chest/drawers 5.5 10 5"}},
		// Box height <= offset + bottom + 20: 148 high.
		{`"groove_offset": 122`, []string{"#/chest/rows/0 148 122 6 20 mm"}},
		{`"bottom": "solid", "bottom_thickness": 118`, []string{"#/chest/rows/0 148 10 118 20"}},
		{`"height_gap": 114`, []string{"#/chest/rows/0 36 10 6 20"}},
		// No room for a part.
		{`"behind": 436`, []string{"#/chest/rows/0 0 mm"}}, // bottom 459 - 436 - 32 + 9
		{`"construction": "applied", "front": 0`, []string{"#/chest/drawers/front 0 mm"}},
		{`"bottom": "solid", "bottom_thickness": 0`, []string{"#/chest/drawers/bottom_thickness 0 mm"}},
		// Settings without effect.
		{`"construction": "applied", "lap": 6`, []string{"#/chest/drawers/lap"}},
		{`"front_gap": 2`, []string{"#/chest/drawers/front_gap"}},
		{`"bottom_thickness": 8`, []string{"#/chest/drawers/bottom_thickness"}},
		{`"front_gap": 0, "bottom_thickness": 0`, []string{"#/chest/drawers/front_gap", "#/chest/drawers/bottom_thickness"}},
	} {
		r.check(t, chestWith(t, `"drawers": {`+r.members+`}`))
	}
}

func TestDrawerBoxRefusals(t *testing.T) {
	const at = "#/drawer_boxes"
	for _, r := range []refusal{
		{`"boxes": []`, []string{at + "/boxes 0 1 1000"}},
		{`"boxes": [{"width": 430, "height": 150, "depth": 450, "quantity": 10001}]`, []string{at + "/boxes/0/quantity 10001 10000"}},
		{`"boxes": [{"width": 0, "height": 150, "depth": 450}, {"width": 430, "height": -1, "depth": 20001}]`,
			[]string{at + "/boxes/0/width 0", at + "/boxes/1/height -1", at + "/boxes/1/depth 20001"}},
		// A box too low for its bottom: 36 <= 10 + 6 + 20.
		{`"boxes": [{"width": 430, "height": 36, "depth": 450}]`, []string{at + "/boxes/0 36 10 6 20 mm"}},
		{`"boxes": [{"width": 430, "height": 150, "depth": 450}, {"width": 430, "height": 30, "depth": 450}]`, []string{at + "/boxes/1 30 10 6 20"}},
		// A box with no room between its walls.
		{`"boxes": [{"width": 15, "height": 150, "depth": 450}]`, []string{at + "/boxes/0 0 mm"}}, // 15 - 24 + 10 - 1
		{`"boxes": [{"width": 430, "height": 150, "depth": 15}]`, []string{at + "/boxes/0 0 mm"}},
		{`"construction": "lapped", "lap": 20`, []string{at + "/lap 20 mm"}},
		{`"box": 9, "groove": 5`, []string{at + " 5 9"}},
		// Settings without effect on boxes.
		{`"behind": 10`, []string{at + "/behind"}},
		{`"front_gap": 1.5`, []string{at + "/front_gap"}},
		{`"construction": "lapped", "front_gap": 1.5, "behind": 10`, []string{at + "/front_gap", at + "/behind"}},
		{`"front": 20`, []string{at + "/front"}},
		{`"lap": 6`, []string{at + "/lap"}},
		{`"one_board_fronts": true`, []string{at + "/one_board_fronts"}},
		{`"bottom_thickness": 8`, []string{at + "/bottom_thickness"}},
		{`"side_clearance": 1, "height_gap": 4`, []string{at + "/side_clearance", at + "/height_gap"}}, // made as listed
	} {
		r.check(t, boxesWith(t, r.members))
	}
	for _, members := range []string{
		`"construction": "lapped", "front": 22, "lap": 5, "one_board_fronts": true`,
		`"bottom": "solid", "bottom_thickness": 9`, `"groove_offset": 3`, // no stops to foul
		`"boxes": [{"width": 30, "height": 37, "depth": 30}]`, // no opening of 60 by 100
	} {
		_, faults := boxesWith(t, members).Build(stocks)
		assert.NoError(t, faults.Err(), members)
	}
}

// Every fault is said, each once.
func TestSeveralFaults(t *testing.T) {
	refusal{"a chest", []string{
		"#/chest/width 0", "#/chest/height 20001", "#/chest/top -1", "#/chest/back_rails some", "#/chest/rows/0/across 99", "#/chest/rows/1/height 12 60",
		"#/chest/tenon 30 22", "#/chest/drawers/construction nailed", "#/chest/drawers/groove 7 12", "#/chest/drawers/front_gap", "#/chest/drawers/groove_offset 4 5",
	}}.check(t, chestWith(t, `"width": 0, "height": 20001, "top": -1, "back_rails": "some", "rows": [{"across": 99}, {"height": 12}], "tenon": 30,
		"drawers": {"construction": "nailed", "groove": 7, "front_gap": 1, "groove_offset": 4}`))
	// Two rows without room for their openings, and a back rail too wide.
	refusal{"rows", []string{"#/chest/rows/0 99.1429 165", "#/chest/rows/1 84 165", "#/chest/back_rail 200 465"}}.check(t, chestWith(t,
		`"height": 495, "rows": [{"across": 7}, {"across": 8}], "back_rail": 200`))
	refusal{"rows whose uprights alone are too wide", []string{"#/chest/rows/0 39", "#/chest/rows/1 40"}}.check(t, chestWith(t,
		`"height": 495, "rows": [{"across": 39}, {"across": 40}]`))
}

func TestKinds(t *testing.T) {
	const service = `"service": {"drops": 1}`
	for _, r := range []refusal{
		{`"kind": "chest"`, []string{"# chest"}},
		{`"kind": "drawer_boxes"`, []string{"# drawer_boxes"}},
		{`"kind": "parts"`, []string{"# parts"}},
		{`"kind": "service"`, []string{"# service"}},
		{`"kind": "wardrobe"`, []string{"#/kind wardrobe chest drawer_boxes parts service"}},
		{`"kind": ""`, []string{"#/kind chest"}},
		{`"kind": "service", "chest": {"width": 0}, ` + service, []string{"#/chest service"}}, // not looked into
		{`"kind": "service", "parts": {}, "drawer_boxes": {}, ` + service, []string{"#/parts", "#/drawer_boxes"}},
		{`"kind": "parts", ` + service, []string{"#", "#/service"}},
	} {
		r.check(t, readPiece(t, r.members))
	}
	b := built(t, readPiece(t, `"kind": "service", `+service))
	assert.Equal(t, 1, b.Visit.Drops)
}

// A sheet that is not known, which is said elsewhere, counts as 6 mm thick, and a
// free part of one is not refused for its thickness.
func TestUnknownMaterials(t *testing.T) {
	none := func(string) piece.Stock { return piece.Stock{} }
	b, faults := read(t, "chest", tallChest).Build(none)
	assert.NoError(t, faults.Err())
	assert.Equal(t, lines(built(t, read(t, "chest", tallChest)), "Side runner", "Back"), lines(b, "Side runner", "Back"))
	_, faults = partsWith(t, `"parts": [{"name": "Panel", "length": 800, "width": 250, "material": "nothing"}, {"name": "Shelf", "length": 80, "width": 25, "thickness": 2, "material": "nothing"}]`).Build(none)
	assert.NoError(t, faults.Err())
}
