package piece_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/piece"
)

// readInches returns a piece written in inches.
func readInches(t *testing.T, kind, text string) *piece.Piece {
	t.Helper()
	p := read(t, kind, text)
	p.Units = "in"
	return p
}

// An inch is 25.4 mm exactly (international yard and pound agreement, 1959); the
// defaults are common practice, no source. In inches:
//
//	Wc = 36 - 2 x 5/8 = 34.75, Dc = 20 - 5/8 = 19.375, Wi = 34.75 - 2 x 13/16 = 33.125
//	openings: 40 - 1 - 3.125 - 4 x 0.8125 = 32.625; the last has 32.625 - 6 - 10 = 16.625
//
// In millimetres: Dc = 492.125, less the back sheet of 6: 486.125;
// RL = 486.125 - 60.325 + 7.9375 - 4.7625 = 428.975, at a back rail less 50.8 - 7.9375.
const inchChest = `{"width": 36, "depth": 20, "height": 40, "rows": [{"height": 6, "across": 2}, {"height": 10}, {}]}`

func TestInchCase(t *testing.T) {
	b := built(t, readInches(t, "chest", inchChest))
	assert.Equal(t, []string{
		"Top 1: 914.4 x 508 x 25.4 show out 2/2/2",
		"Side 2: 990.6 x 492.125 x 20.6375 show out 1/2/0",       // 39 in
		"Front rail 4: 869.95 x 60.325 x 20.6375 show out 0/1/0", // 33.125 + 2 x 9/16 = 34.25 in; 2 3/8
		"Back rail 3: 869.95 x 50.8 x 20.6375 inner",             // levels 1, 2 and 4
		"Upright 1: 161.925 x 60.325 x 20.6375 show out 0/1/0",   // 6 + 2 x 3/16 = 6.375 in
		"Side runner 2: 386.1125 x 44.45 x 20.6375 inner",        // level 2
		"Side runner 2: 428.975 x 44.45 x 20.6375 inner",         // level 3
		"Side runner 2: 386.1125 x 44.45 x 20.6375 inner",        // level 4
		"Centre runner 1: 386.1125 x 58.7375 x 20.6375 inner",    // 13/16 + 2 x 3/4 = 2.3125 in
		"Drawer guide 1: 425.8 x 20.6375 x 20.6375 inner",        // 486.125 - 60.325
		"Side kicker 2: 386.1125 x 44.45 x 20.6375 inner",        //
		"Centre kicker 1: 386.1125 x 58.7375 x 20.6375 inner",    //
		"Plinth 1: 869.95 x 79.375 x 20.6375 show out 1/0/0",     // 3 1/8 in
		"Glue block 4: 60.325 x 25.4 x 25.4 inner offcut",        // 841.375 / 250 = 3.4
		"Drawer stop 8: 44.45 x 25.4 x 4.7625 inner offcut",      //
		"Back 1: 911.225 x 857.25 x 6 back",                      // 40 - 1 - 3.125 = 35.875; 33.125 + 5/8
	}, lines(b)[:16])
	assert.Equal(t, []string{
		"mortise_tenon 8: length 14.2875 width 18.1625 thickness 16.6375 twin", // (60.325 - 24) / 2, 20.6375 - 4
		"mortise_tenon 6: length 14.2875 width 13.4 thickness 16.6375 twin",    // (50.8 - 24) / 2
		"housing 2: length 60.325 thickness 20.6375 depth 4.7625",
		"mortise_tenon 2: length 14.2875 width 59.375 thickness 8", // 79.375 - 20
	}, joints(b, "mortise_tenon", "housing"))
	assert.Equal(t, 8, counted(b, "top_fixing")) // 841.375 / 300 = 2.8
}

// Lapped: bw = ow - 1/16, bh = oh - 1/16, dd = 486.125 - 9.525 = 476.6 mm; tail
// boards 476.6 - 6.35; bottom depth 476.6 - 20.6375 - 12.7 = 443.2625, and
// + 2 x 4.7625 - 0.79375 = 451.99375. Row 1: ow = (33.125 - 13/16) / 2 = 16.15625 in.
func TestInchDrawers(t *testing.T) {
	b := built(t, readInches(t, "chest", inchChest))
	assert.Equal(t, []string{
		"Drawer front 2: 409.575 x 150.8125 x 20.6375 show out 1/1/0 in 1/0/0", // 16.09375 + 1/32 = 16.125 in; 5.9375 in
		"Drawer back 2: 409.575 x 150.8125 x 12.7 inner in 1/1/0",
		"Tail board 4: 470.25 x 150.8125 x 12.7 inner in 1/1/0",
		"Drawer bottom 2: 392.1125 x 451.99375 x 6 bottom in 1/0/0",              // 16.09375 - 1 + 3/8 - 1/32 = 15.4375 in
		"Drawer front 1: 840.58125 x 252.4125 x 20.6375 show out 1/1/0 in 1/0/0", // 33.0625 + 1/32; 9.9375 in
		"Drawer back 1: 840.58125 x 252.4125 x 12.7 inner in 1/1/0",
		"Tail board 2: 470.25 x 252.4125 x 12.7 inner in 1/1/0",
		"Drawer bottom 1: 823.11875 x 451.99375 x 6 bottom in 1/0/0",             // 33.0625 - 0.65625 = 32.40625 in
		"Drawer front 1: 840.58125 x 420.6875 x 20.6375 show out 1/1/0 in 1/0/0", // 16.625 - 1/16 = 16.5625 in
		"Drawer back 1: 840.58125 x 420.6875 x 12.7 inner in 1/1/0",
		"Tail board 2: 470.25 x 420.6875 x 12.7 inner in 1/1/0",
		"Drawer bottom 1: 823.11875 x 451.99375 x 6 bottom in 1/0/0",
	}, lines(b)[16:])
	assert.Equal(t, []string{
		"lapped_dovetail 4: height 150.8125 tail 12.7 pin 20.6375 lap 6.35 tails 4 inner",  // 5.9375 / 1.375 = 4.3
		"lapped_dovetail 2: height 252.4125 tail 12.7 pin 20.6375 lap 6.35 tails 7 inner",  // 7.2
		"lapped_dovetail 2: height 420.6875 tail 12.7 pin 20.6375 lap 6.35 tails 12 inner", // 12.05
	}, joints(b, "lapped_dovetail"))
	assert.Equal(t, []string{
		"2 of 408.78125 x 150.8125 x 476.6, inside 383.38125 x 443.2625, opening 410.36875, tape 806.45, fitted", // 4 x 7.9375 in
		"1 of 839.7875 x 252.4125 x 476.6, inside 814.3875 x 443.2625, opening 841.375, tape 1212.85, fitted",    // 4 x 11.9375
		"1 of 839.7875 x 420.6875 x 476.6, inside 814.3875 x 443.2625, opening 841.375, tape 1885.95, fitted",    // 4 x 18.5625
	}, boxes(b))
}

// Applied and with solid bottoms, in inches: bw = 33.125 - 1/16, bh = 10 - 5/32 =
// 9.84375, bd = 476.6 - 20.6375 = 455.9625 mm; front 33.125 - 1/8 by 10 - 1/8;
// bottom 455.9625 - 25.4 + 9.525 - 0.79375. Height 1 + 3.125 + 1.625 + 10.
func TestInchApplied(t *testing.T) {
	b := built(t, readInches(t, "chest", `{"width": 36, "depth": 20, "height": 15.75, "rows": [{"height": 10}], "drawers": {"construction": "applied", "bottom": "solid"}}`))
	assert.Equal(t, []string{
		"Pin board 2: 840.58125 x 250.03125 x 12.7 inner in 1/1/0",
		"Tail board 2: 455.9625 x 250.03125 x 12.7 inner in 1/1/0",
		"Drawer bottom 1: 823.11875 x 439.29375 x 7.9375 inner in 2/0/0", // 5/16 in
		"Applied front 1: 838.2 x 250.825 x 20.6375 show out 2/2/2",
	}, lines(b, "Pin board", "Tail board", "Drawer bottom", "Applied front"))
}

// 17 x 6 x 18 in boxes: bottom 431.8 - 25.4 + 9.525 - 0.79375, 457.2 - 25.4 + the same.
func TestInchBoxes(t *testing.T) {
	b := built(t, readInches(t, "drawer_boxes", `{"boxes": [{"width": 17, "height": 6, "depth": 18}]}`))
	assert.Equal(t, []string{
		"Pin board 2: 432.59375 x 152.4 x 12.7 inner in 1/1/0",
		"Tail board 2: 457.2 x 152.4 x 12.7 inner in 1/1/0",
		"Drawer bottom 1: 415.13125 x 440.53125 x 6 bottom in 1/0/0",
	}, lines(b))
	assert.Equal(t, []string{"1 of 431.8 x 152.4 x 457.2, inside 406.4 x 431.8, opening 431.8, tape 812.8"}, boxes(b)) // 4 x (6 + 2) in
}

// A size typed in inches is rounded once to a nanometre: 0.333333 in is
// 8 466 658.2 nm; 1/64 in is 396 875 nm exactly.
func TestInchRounding(t *testing.T) {
	b := built(t, readInches(t, "parts", `{"parts": [{"name": "Lath", "length": 12, "width": 0.333333, "thickness": 0.125, "material": "show", "extra": 0.015625}]}`))
	assert.Equal(t, []string{"Lath 1: 304.8 x 8.466658 x 3.175 show extra 0.396875"}, lines(b))
}

// Messages carry the sizes as the piece writes them.
func TestInchMessages(t *testing.T) {
	p := readInches(t, "chest", merged(t, inchChest[1:len(inchChest)-1], `"tenon": 0.75`))
	// 3/4 in is over 13/16 in less 5 mm (0.19685 in).
	refusal{`"tenon": 0.75`, []string{"#/chest/tenon 0.75 0.8125 0.19685 in"}}.check(t, p)
	p = readInches(t, "drawer_boxes", `{"boxes": [{"width": 900, "height": 6, "depth": 18}]}`)
	refusal{"20 m in inches", []string{"#/drawer_boxes/boxes/0/width 900 787.401575 in"}}.check(t, p)
	// 1 mm is 0.03937008 in: the bound told is the first that is taken.
	refusal{"no width", []string{"#/drawer_boxes/boxes/0/width missing 0 0.039371 787.401575 in"}}.
		check(t, readInches(t, "drawer_boxes", `{"boxes": [{"height": 6, "depth": 18}]}`))
	const lath = `{"parts": [{"name": "Lath", "length": 12, "width": %s, "thickness": 787.401575, "material": "show"}]}`
	refusal{"under 1 mm", []string{"#/parts/parts/0/width 0.03937 0.039371 787.401575 in"}}.check(t, readInches(t, "parts", fmt.Sprintf(lath, "0.03937")))
	assert.Len(t, built(t, readInches(t, "parts", fmt.Sprintf(lath, "0.039371"))).Parts, 1)
	// Half of 0.333333 in is 0.1666665 in.
	const box = `{"boxes": [{"width": 17, "height": 6, "depth": 18}], "box": 0.333333, "groove": %s}`
	refusal{"half a board", []string{"#/drawer_boxes 0.166667 0.333333 0.166666 in"}}.check(t, readInches(t, "drawer_boxes", fmt.Sprintf(box, "0.166667")))
	assert.Len(t, built(t, readInches(t, "drawer_boxes", fmt.Sprintf(box, "0.166666"))).Boxes, 1)
	p = readInches(t, "chest", `{"width": 36, "depth": 20, "height": 8, "rows": [{"height": 2.25}]}`)
	// 60 mm is 2.362205 in.
	refusal{"60 mm in inches", []string{"#/chest/rows/0/height 2.25 2.362205 in"}}.check(t, p)
}
