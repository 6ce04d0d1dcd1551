package piece_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/piece"
)

// One drawer in an opening of 826 x 150, 459 deep behind the case front: dd = 449.
// The rules and defaults are common practice, no source.
func TestCapturedBottoms(t *testing.T) {
	checkDrawers(t, []fitted{
		{`{}`, "1 of 825 x 148 x 449, inside 801 x 417, opening 826, tape 792, fitted", []string{ // 4 x (148 + 50)
			"Drawer front 1: 826 x 148 x 20 show out 1/1/0 in 1/0/0",
			"Drawer back 1: 826 x 148 x 12 inner in 1/1/0",
			"Tail board 2: 443 x 148 x 12 inner in 1/1/0",
			"Drawer bottom 1: 810 x 426 x 6 bottom in 1/0/0",
		}, []string{
			"lapped_dovetail 2: height 148 tail 12 pin 20 lap 6 tails 4 inner", // 148 / 35 = 4.2
			"through_dovetail 2: height 148 tail 12 pin 12 tails 4 inner",
		}, 2*826 + 2*443},
		// bw 826 - 2, bh 150 - 4, bd 449 - 20; bottom depth 429 - 24.
		{`{"construction": "applied"}`, "1 of 824 x 146 x 429, inside 800 x 405, opening 826, tape 784, fitted", []string{
			"Pin board 2: 825 x 146 x 12 inner in 1/1/0",
			"Tail board 2: 429 x 146 x 12 inner in 1/1/0",
			"Drawer bottom 1: 809 x 414 x 6 bottom in 1/0/0", // 824 - 24 + 10 - 1; 405 + 10 - 1
			"Applied front 1: 823 x 147 x 20 show out 2/2/2", // 826 - 3, 150 - 3
		}, []string{"through_dovetail 4: height 146 tail 12 pin 12 tails 4 inner"}, 2*825 + 2*429},
		{`{"bottom": "solid"}`, "1 of 825 x 148 x 449, inside 801 x 417, opening 826, tape 792, fitted", []string{
			"Drawer front 1: 826 x 148 x 20 show out 1/1/0 in 1/0/0",
			"Drawer back 1: 826 x 148 x 12 inner in 1/1/0",
			"Tail board 2: 443 x 148 x 12 inner in 1/1/0",
			"Drawer bottom 1: 810 x 426 x 8 inner in 2/0/0",
		}, []string{
			"lapped_dovetail 2: height 148 tail 12 pin 20 lap 6 tails 4 inner",
			"through_dovetail 2: height 148 tail 12 pin 12 tails 4 inner",
		}, 2*826 + 2*443},
		{`{"construction": "applied", "front": 18, "front_gap": 2}`, "1 of 824 x 146 x 431, inside 800 x 407, opening 826, tape 784, fitted", []string{
			"Pin board 2: 825 x 146 x 12 inner in 1/1/0",
			"Tail board 2: 431 x 146 x 12 inner in 1/1/0",
			"Drawer bottom 1: 809 x 416 x 6 bottom in 1/0/0",
			"Applied front 1: 822 x 146 x 18 show out 2/2/2",
		}, []string{"through_dovetail 4: height 146 tail 12 pin 12 tails 4 inner"}, 2*825 + 2*431},
	})
}

// A bottom from behind, under a back that is lower by what lies below it and 3.
func TestBottomsSlidIn(t *testing.T) {
	checkDrawers(t, []fitted{
		// The back is 148 - 10 - 6 - 3 = 129 high: 129 / 35 = 3.7; tape 2 x 198 + 2 x 179.
		{`{"bottom_fit": "slid_in"}`, "1 of 825 x 148 x 449, inside 801 x 417, opening 826, tape 754, fitted", []string{
			"Drawer front 1: 826 x 148 x 20 show out 1/1/0 in 1/0/0",
			"Drawer back 1: 826 x 129 x 12 inner in 1/1/0",
			"Tail board 2: 443 x 148 x 12 inner in 1/1/0",
			"Drawer bottom 1: 810 x 433 x 6 bottom in 1/0/0", // 417 + 12 + 5 - 1
		}, []string{
			"lapped_dovetail 2: height 148 tail 12 pin 20 lap 6 tails 4 inner",
			"through_dovetail 2: height 129 tail 12 pin 12 tails 4 inner",
		}, 826 + 2*443},
		// The rear pin board is 146 - 19 = 127 high; tape 2 x 196 + 2 x 177.
		{`{"construction": "applied", "bottom_fit": "slid_in"}`, "1 of 824 x 146 x 429, inside 800 x 405, opening 826, tape 746, fitted", []string{
			"Pin board 1: 825 x 146 x 12 inner in 1/1/0",
			"Pin board 1: 825 x 127 x 12 inner in 1/1/0",
			"Tail board 2: 429 x 146 x 12 inner in 1/1/0",
			"Drawer bottom 1: 809 x 421 x 6 bottom in 1/0/0", // 405 + 12 + 5 - 1
			"Applied front 1: 823 x 147 x 20 show out 2/2/2",
		}, []string{
			"through_dovetail 2: height 146 tail 12 pin 12 tails 4 inner",
			"through_dovetail 2: height 127 tail 12 pin 12 tails 4 inner",
		}, 825 + 2*429},
		// Back 148 - 10 - 9 - 3 = 126: tape 2 x 198 + 2 x 176.
		{`{"bottom": "solid", "bottom_fit": "slid_in", "bottom_thickness": 9}`, "1 of 825 x 148 x 449, inside 801 x 417, opening 826, tape 748, fitted", []string{
			"Drawer front 1: 826 x 148 x 20 show out 1/1/0 in 1/0/0",
			"Drawer back 1: 826 x 126 x 12 inner in 1/1/0",
			"Tail board 2: 443 x 148 x 12 inner in 1/1/0",
			"Drawer bottom 1: 810 x 433 x 9 inner in 2/0/0",
		}, []string{
			"lapped_dovetail 2: height 148 tail 12 pin 20 lap 6 tails 4 inner",
			"through_dovetail 2: height 126 tail 12 pin 12 tails 4 inner", // 3.6
		}, 826 + 2*443},
		// Every size its own: bw 826 - 4, bh 150 - 5, dd 459 - 12; back 145 - 12 - 6 - 3
		// = 124; bottom 822 - 20 + 8 - 2, depth 447 - 18 - 10 = 419, + 10 + 4 - 2;
		// tape 2 strips x (2 x (145 + 40) + 2 x (124 + 40)).
		{`{"bottom_fit": "slid_in", "box": 10, "front": 18, "lap": 4, "flush": 2, "side_clearance": 2, "height_gap": 5, "behind": 12, "groove": 4,
			"groove_offset": 12, "bottom_clearance": 2, "tail_pitch": 20, "tape_strips": 2, "loose_tail": 20}`,
			"1 of 822 x 145 x 447, inside 802 x 419, opening 826, tape 1396, fitted", []string{
				"Drawer front 1: 824 x 145 x 18 show out 1/1/0 in 1/0/0",
				"Drawer back 1: 824 x 124 x 10 inner in 1/1/0",
				"Tail board 2: 443 x 145 x 10 inner in 1/1/0", // 447 - 4
				"Drawer bottom 1: 808 x 431 x 6 bottom in 1/0/0",
			}, []string{
				"lapped_dovetail 2: height 145 tail 10 pin 18 lap 4 tails 7 inner", // 7.25
				"through_dovetail 2: height 124 tail 10 pin 10 tails 6 inner",      // 6.2
			}, 824 + 2*443},
	})
}

// A fitted is a style of the small chest's drawer and what becomes of it.
type fitted struct {
	drawers string
	box     string
	parts   []string
	corners []string
	groove  int // mm
}

func checkDrawers(t *testing.T, tests []fitted) {
	t.Helper()
	names := []string{"Drawer front", "Drawer back", "Pin board", "Tail board", "Drawer bottom", "Applied front"}
	for _, tt := range tests {
		b := built(t, chestWith(t, `"drawers": `+tt.drawers))
		assert.Equal(t, []string{tt.box}, boxes(b), tt.drawers)
		assert.Equal(t, tt.parts, lines(b, names...), tt.drawers)
		assert.Equal(t, tt.corners, joints(b, piece.LappedDovetail, piece.ThroughDovetail), tt.drawers)
		assert.Equal(t, tt.groove, grooved(b)-2*190, "%s: beside the rebates for the back", tt.drawers)
		assert.Equal(t, len(tt.parts), b.Boxes[0].Last-b.Boxes[0].First, tt.drawers)
	}
}

// grooved returns the length of all grooves in whole millimetres.
func grooved(b piece.Build) int {
	n := 0
	for _, j := range b.Joints {
		if j.Type == piece.Groove {
			n += j.Quantity * int(j.Length/mm)
		}
	}
	return n
}

// Boxes of 430 x 150 x 450 are made as listed, four of them.
func TestDrawerBoxes(t *testing.T) {
	tests := []struct {
		members string
		outside string // finish
		parts   []string
		corners []string
	}{
		{``, "", []string{
			"Pin board 8: 431 x 150 x 12 inner in 1/1/0",
			"Tail board 8: 450 x 150 x 12 inner in 1/1/0",
			"Drawer bottom 4: 415 x 435 x 6 bottom in 1/0/0", // 430 - 24 + 10 - 1; 450 - 24 + 10 - 1
		}, []string{"through_dovetail 16: height 150 tail 12 pin 12 tails 4 inner"}}, // 150 / 35 = 4.3
		{``, "oil-3", []string{
			"Pin board 8: 431 x 150 x 12 inner out 1/2/0 in 1/0/0",
			"Tail board 8: 450 x 150 x 12 inner out 1/2/0 in 1/0/0",
			"Drawer bottom 4: 415 x 435 x 6 bottom out 1/0/0 in 1/0/0",
		}, []string{"through_dovetail 16: height 150 tail 12 pin 12 tails 4 inner"}},
		{`"construction": "lapped"`, "", []string{
			"Drawer front 4: 431 x 150 x 20 show in 1/1/0",
			"Drawer back 4: 431 x 150 x 12 inner in 1/1/0",
			"Tail board 8: 444 x 150 x 12 inner in 1/1/0",    // 450 - 6
			"Drawer bottom 4: 415 x 427 x 6 bottom in 1/0/0", // 450 - 20 - 12 + 10 - 1
		}, []string{
			"lapped_dovetail 8: height 150 tail 12 pin 20 lap 6 tails 4 inner",
			"through_dovetail 8: height 150 tail 12 pin 12 tails 4 inner",
		}},
		{`"construction": "lapped"`, "bare", []string{
			"Drawer front 4: 431 x 150 x 20 show out 1/2/0 in 1/0/0",
			"Drawer back 4: 431 x 150 x 12 inner out 1/2/0 in 1/0/0",
			"Tail board 8: 444 x 150 x 12 inner out 1/2/0 in 1/0/0",
			"Drawer bottom 4: 415 x 427 x 6 bottom out 1/0/0 in 1/0/0",
		}, []string{
			"lapped_dovetail 8: height 150 tail 12 pin 20 lap 6 tails 4 inner",
			"through_dovetail 8: height 150 tail 12 pin 12 tails 4 inner",
		}},
		{`"bottom": "solid", "bottom_fit": "slid_in"`, "oil-3", []string{
			"Pin board 4: 431 x 150 x 12 inner out 1/2/0 in 1/0/0",
			"Pin board 4: 431 x 129 x 12 inner out 1/2/0 in 1/0/0", // 150 - 10 - 8 - 3
			"Tail board 8: 450 x 150 x 12 inner out 1/2/0 in 1/0/0",
			"Drawer bottom 4: 415 x 442 x 8 inner in 2/0/0", // 426 + 12 + 5 - 1
		}, []string{
			"through_dovetail 8: height 150 tail 12 pin 12 tails 4 inner",
			"through_dovetail 8: height 129 tail 12 pin 12 tails 4 inner",
		}},
	}
	for _, tt := range tests {
		p := boxesWith(t, tt.members)
		if tt.outside != "" {
			p.Finishes = map[string]string{"outside": tt.outside}
		}
		b := built(t, p)
		assert.Equal(t, tt.parts, lines(b), tt.members)
		assert.Equal(t, tt.corners, joints(b, piece.LappedDovetail, piece.ThroughDovetail), tt.members)
		assert.Zero(t, b.Cases)
		assert.Zero(t, counted(b, piece.Runner)+counted(b, piece.TopFixing)+counted(b, piece.MortiseTenon))
	}
}

// Boxes keep their order and stand on their own; one without a quantity is one;
// the opening is the box's width, and nothing is fitted.
func TestDrawerBoxList(t *testing.T) {
	b := built(t, boxesWith(t, `"boxes": [{"width": 380, "height": 90, "depth": 400}, {"width": 720.5, "height": 200, "depth": 450, "quantity": 3}]`))
	assert.Equal(t, []string{
		"1 of 380 x 90 x 400, inside 356 x 376, opening 380, tape 560",         // 4 x (90 + 50)
		"3 of 720.5 x 200 x 450, inside 696.5 x 426, opening 720.5, tape 1000", // 4 x (200 + 50)
	}, boxes(b))
	assert.Equal(t, []int{0, 3, 3, 6}, []int{b.Boxes[0].First, b.Boxes[0].Last, b.Boxes[1].First, b.Boxes[1].Last})
	assert.Equal(t, "Pin board 6: 721.5 x 200 x 12 inner in 1/1/0", line(b.Parts[3]))
}

// The tails of a corner are h / pitch to the nearest, at least two.
func TestTails(t *testing.T) {
	for _, tt := range []struct {
		height, pitch string
		want          int
	}{
		{"150", "35", 4},
		{"157.4", "35", 4},
		{"157.5", "35", 5}, // 4.5 exactly
		{"52.5", "35", 2},
		{"60", "35", 2},
		{"60", "60", 2},
		{"87.5", "35", 3}, // 2.5
		{"200", "200", 2},
		{"200", "10", 20},
	} {
		b := built(t, boxesWith(t, `"boxes": [{"width": 430, "height": `+tt.height+`, "depth": 450}], "tail_pitch": `+tt.pitch))
		for _, j := range b.Joints {
			if j.Type == piece.ThroughDovetail {
				assert.Equal(t, tt.want, j.Tails, "%s / %s", tt.height, tt.pitch)
			}
		}
	}
}

// No tape, no clearances, no flush: zero is a size where nothing has to be made.
func TestZeroSettings(t *testing.T) {
	b := built(t, chestWith(t, `"side_overhang": 0, "front_overhang": 0, "movement_gap": 0, "stub_tongue": 0, "rebate": 0,
		"drawers": {"side_clearance": 0, "height_gap": 0, "behind": 0, "flush": 0, "tape_strips": 0, "bottom_clearance": 0}`))
	assert.Equal(t, []string{"1 of 856 x 150 x 474, inside 832 x 442, opening 856, tape 0, fitted"}, boxes(b)) // 900 - 44, 480 - 6
	assert.Equal(t, []string{"Drawer front 1: 856 x 150 x 20 show out 1/1/0 in 1/0/0"}, lines(b, "Drawer front"))
	assert.Equal(t, []string{"Side runner 2: 364 x 45 x 20 inner"}, lines(b, "Side runner")) // 480 - 6 - 60 - 50
}
