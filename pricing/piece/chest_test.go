package piece_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// tallChest has two drawers over four: 900 x 480 x 1200, every setting a default.
const tallChest = `{"width": 900, "depth": 480, "height": 1200, "rows": [{"height": 130, "across": 2}, {"height": 160}, {"height": 190}, {"height": 220}, {}]}`

// The figures are worked by hand; the rules and defaults are common practice, no
// source.
//
//	Wc = 900 - 2 x 15 = 870, Dc = 480 - 15 = 465, Wi = 870 - 2 x 22 = 826
//	openings: 1200 - 25 top - 80 plinth - 6 x 20 rails = 975; the last row has
//	975 - 130 - 160 - 190 - 220 = 275
//	back rails at levels 1, 2 (about the row of two) and 6
//	RL = 465 - 6 - 60 + 8 - 4 = 403, at a back rail 403 - (50 - 8) = 361
func TestTallChest(t *testing.T) {
	b := built(t, read(t, "chest", tallChest))
	assert.Equal(t, []string{
		"Top 1: 900 x 480 x 25 show out 2/2/2",
		"Side 2: 1175 x 465 x 22 show out 1/2/0",                 // 1200 - 25
		"Front rail 6: 856 x 60 x 20 show out 0/1/0",             // 826 + 2 x 15
		"Back rail 3: 856 x 50 x 20 inner",                       // levels 1, 2, 6
		"Upright 1: 142 x 60 x 22 show out 0/1/0",                // 130 + 2 x 6
		"Side runner 2: 361 x 45 x 20 inner",                     // row 1, level 2
		"Side runner 2: 403 x 45 x 20 inner",                     // row 2, level 3
		"Side runner 2: 403 x 45 x 20 inner",                     // row 3, level 4
		"Side runner 2: 403 x 45 x 20 inner",                     // row 4, level 5
		"Side runner 2: 361 x 45 x 20 inner",                     // row 5, level 6
		"Centre runner 1: 361 x 62 x 20 inner",                   // 22 + 2 x 20
		"Drawer guide 1: 399 x 22 x 20 inner",                    // 465 - 6 - 60
		"Side kicker 2: 361 x 45 x 20 inner",                     // level 1
		"Centre kicker 1: 361 x 62 x 20 inner",                   // row 1; row 2 has none between
		"Plinth 1: 856 x 80 x 20 show out 1/0/0",                 //
		"Glue block 4: 60 x 25 x 25 inner offcut",                // 826 / 250 = 3.3
		"Drawer stop 12: 45 x 25 x 5 inner offcut",               // 2 x 6 drawers
		"Back 1: 1095 x 842 x 6 back",                            // 1200 - 25 - 80; 826 + 2 x 8
		"Drawer front 2: 402 x 128 x 20 show out 1/1/0 in 1/0/0", // ow (826 - 22) / 2 = 402, bw 401 + 1; 130 - 2
		"Drawer back 2: 402 x 128 x 12 inner in 1/1/0",
		"Tail board 4: 443 x 128 x 12 inner in 1/1/0",            // dd 465 - 6 - 10 = 449, less lap 6
		"Drawer bottom 2: 386 x 426 x 6 bottom in 1/0/0",         // 401 - 24 + 10 - 1; 449 - 20 - 12 + 10 - 1
		"Drawer front 1: 826 x 158 x 20 show out 1/1/0 in 1/0/0", // bw 826 - 1 = 825
		"Drawer back 1: 826 x 158 x 12 inner in 1/1/0",
		"Tail board 2: 443 x 158 x 12 inner in 1/1/0",
		"Drawer bottom 1: 810 x 426 x 6 bottom in 1/0/0", // 825 - 24 + 10 - 1
		"Drawer front 1: 826 x 188 x 20 show out 1/1/0 in 1/0/0",
		"Drawer back 1: 826 x 188 x 12 inner in 1/1/0",
		"Tail board 2: 443 x 188 x 12 inner in 1/1/0",
		"Drawer bottom 1: 810 x 426 x 6 bottom in 1/0/0",
		"Drawer front 1: 826 x 218 x 20 show out 1/1/0 in 1/0/0",
		"Drawer back 1: 826 x 218 x 12 inner in 1/1/0",
		"Tail board 2: 443 x 218 x 12 inner in 1/1/0",
		"Drawer bottom 1: 810 x 426 x 6 bottom in 1/0/0",
		"Drawer front 1: 826 x 273 x 20 show out 1/1/0 in 1/0/0",
		"Drawer back 1: 826 x 273 x 12 inner in 1/1/0",
		"Tail board 2: 443 x 273 x 12 inner in 1/1/0",
		"Drawer bottom 1: 810 x 426 x 6 bottom in 1/0/0",
	}, lines(b))
	assert.Equal(t, 1, b.Cases)
	assert.Zero(t, b.GlueUps)
	assert.Nil(t, b.Visit)
}

// Tails of a corner are h / 35 to the nearest: 128 -> 3.66, 158 -> 4.51,
// 188 -> 5.37, 218 -> 6.23, 273 -> 7.8.
func TestTallChestJoints(t *testing.T) {
	b := built(t, read(t, "chest", tallChest))
	assert.Equal(t, []string{
		"mortise_tenon 12: length 15 width 18 thickness 16 twin", // (60 - 24) / 2, 20 - 4; 6 rails
		"mortise_tenon 6: length 15 width 13 thickness 16 twin",  // (50 - 24) / 2; 3 rails
		"housing 2: length 60 thickness 22 depth 6",
		"mortise_tenon 2: length 15 width 60 thickness 8", // plinth 80 - 20
		"lapped_dovetail 4: height 128 tail 12 pin 20 lap 6 tails 4 inner",
		"through_dovetail 4: height 128 tail 12 pin 12 tails 4 inner",
		"lapped_dovetail 2: height 158 tail 12 pin 20 lap 6 tails 5 inner",
		"through_dovetail 2: height 158 tail 12 pin 12 tails 5 inner",
		"lapped_dovetail 2: height 188 tail 12 pin 20 lap 6 tails 5 inner",
		"through_dovetail 2: height 188 tail 12 pin 12 tails 5 inner",
		"lapped_dovetail 2: height 218 tail 12 pin 20 lap 6 tails 6 inner",
		"through_dovetail 2: height 218 tail 12 pin 12 tails 6 inner",
		"lapped_dovetail 2: height 273 tail 12 pin 20 lap 6 tails 8 inner",
		"through_dovetail 2: height 273 tail 12 pin 12 tails 8 inner",
	}, joints(b, "mortise_tenon", "housing", "lapped_dovetail", "through_dovetail"))
	assert.Equal(t, []string{"top_fixing 8:"}, joints(b, "top_fixing")) // 2 x 3 + 2, 826 / 300 = 2.8
	assert.Equal(t, 14, counted(b, "runner"))                           // runners 10 + 1, kickers 2 + 1
	// Back rebates 2 x 1095; six drawers with two boards of bw + 1 and two tail
	// boards each: 2190 + 4 x 402 + 8 x 826 + 12 x 443 = 15 722.
	total := 0
	for _, j := range b.Joints {
		if j.Type == "groove" {
			total += j.Quantity * int(j.Length/mm)
		}
	}
	assert.Equal(t, 15_722, total)
}

// Tape of a box: 4 corners x (height + 2 x 25).
func TestTallChestBoxes(t *testing.T) {
	b := built(t, read(t, "chest", tallChest))
	assert.Equal(t, []string{
		"2 of 401 x 128 x 449, inside 377 x 417, opening 402, tape 712, fitted",
		"1 of 825 x 158 x 449, inside 801 x 417, opening 826, tape 832, fitted",
		"1 of 825 x 188 x 449, inside 801 x 417, opening 826, tape 952, fitted",
		"1 of 825 x 218 x 449, inside 801 x 417, opening 826, tape 1072, fitted",
		"1 of 825 x 273 x 449, inside 801 x 417, opening 826, tape 1292, fitted",
	}, boxes(b))
	for i, x := range b.Boxes {
		assert.Equal(t, 4, x.Last-x.First, "front, back, tail boards and bottom of box %d", i)
		assert.Equal(t, "Drawer front", b.Parts[x.First].Name)
		assert.Equal(t, "Drawer bottom", b.Parts[x.Last-1].Name)
		assert.Equal(t, []any{6 * mm, 5 * mm, 12 * mm}, []any{x.Sheet, x.GrooveDepth, x.Board})
	}
}

// Rows of 2, 2, 3 and 1 across, 900 high: openings 900 - 25 - 80 - 5 x 20 = 695.
// Every level has a back rail: 1 to 4 about the rows divided, 5 is the last.
// Openings: (826 - 22) / 2 = 402; (826 - 44) / 3 = 260.666666.6, cut down.
func TestDividedRows(t *testing.T) {
	b := built(t, read(t, "chest", `{"width": 900, "depth": 480, "height": 900,
		"rows": [{"height": 150, "across": 2}, {"height": 160, "across": 2}, {"height": 170, "across": 3}, {"height": 215}]}`))
	assert.Equal(t, []string{
		"Back rail 5: 856 x 50 x 20 inner",
		"Upright 1: 162 x 60 x 22 show out 0/1/0",
		"Upright 1: 172 x 60 x 22 show out 0/1/0",
		"Upright 2: 182 x 60 x 22 show out 0/1/0",
		"Centre runner 1: 361 x 62 x 20 inner",
		"Centre runner 1: 361 x 62 x 20 inner",
		"Centre runner 2: 361 x 62 x 20 inner",
		"Drawer guide 1: 399 x 22 x 20 inner",
		"Drawer guide 1: 399 x 22 x 20 inner",
		"Drawer guide 2: 399 x 22 x 20 inner",
		"Centre kicker 1: 361 x 62 x 20 inner", // row 1 is the first
		"Centre kicker 2: 361 x 62 x 20 inner", // row 3 differs from row 2; row 2 does not, row 4 has none between
	}, lines(b, "Back rail", "Upright", "Centre runner", "Drawer guide", "Centre kicker"))
	assert.Equal(t, []string{
		"housing 2: length 60 thickness 22 depth 6",
		"housing 2: length 60 thickness 22 depth 6",
		"housing 4: length 60 thickness 22 depth 6",
	}, joints(b, "housing"))
	assert.Equal(t, []string{"Drawer stop 16: 45 x 25 x 5 inner offcut"}, lines(b, "Drawer stop")) // 2 x (2 + 2 + 3 + 1)
	assert.Equal(t, []string{
		"2 of 401 x 148 x 449, inside 377 x 417, opening 402, tape 792, fitted",
		"2 of 401 x 158 x 449, inside 377 x 417, opening 402, tape 832, fitted",
		"3 of 259.666666 x 168 x 449, inside 235.666666 x 417, opening 260.666666, tape 872, fitted",
		"1 of 825 x 213 x 449, inside 801 x 417, opening 826, tape 1052, fitted",
	}, boxes(b))
	assert.Equal(t, 17, counted(b, "runner")) // runners 2 x 4 + 1 + 1 + 2, kickers 2 + 1 + 2
}
