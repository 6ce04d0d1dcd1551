package pricing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// refused returns the faults of a request.
func refused(t *testing.T, r pricing.Request, b *book.Book) fault.List {
	t.Helper()
	c, err := pricing.Cost(r, b)
	faults, ok := err.(fault.List)
	require.True(t, ok, "%T: %v", err, err)
	require.Equal(t, pricing.Costing{}, c, "no costing beside a fault")
	return faults
}

// A refusal is one change of a request that can be priced, and the fault it makes.
type refusal struct {
	name    string
	change  func(*piece.Piece)
	pointer string // from the piece
	detail  string // words and figures in it
}

// hold holds each refusal against a request of its own.
func hold(t *testing.T, from func(testing.TB) piece.Piece, refusals []refusal) {
	b := starter(t)
	for _, c := range refusals {
		t.Run(c.name, func(t *testing.T) {
			p := from(t)
			c.change(&p)
			faults := refused(t, request1(p), b)
			require.Len(t, faults, 1, "%v", faults)
			assert.Equal(t, "#/pieces/0"+c.pointer, faults[0].Pointer)
			assert.Contains(t, faults[0].Detail, c.detail)
		})
	}
}

// chest is a chest of three rows that can be priced; its heights are shared out.
func chest(t testing.TB) piece.Piece {
	p := read(t, demo(t, "tall-chest")).Pieces[0]
	p.Chest.Rows = []piece.Row{{Height: mm(130), Across: 2}, {Height: mm(190)}, {}}
	p.Chest.Height = num.Whole(680)
	p.Ironmongery = nil
	return p
}

func TestChestsThatCannotBeBuiltAreRefused(t *testing.T) {
	hold(t, chest, []refusal{
		{"tenon over side - 5", func(p *piece.Piece) { p.Chest.Tenon = mm(18) }, "/chest/tenon", "tenon 18 mm is over side 22 mm less 5 mm"},
		{"thin side", func(p *piece.Piece) { p.Chest.Side = mm(19) }, "/chest/side", "side 19 mm"},
		{"tenon and side", func(p *piece.Piece) { p.Chest.Tenon, p.Chest.Side = mm(14), mm(18) }, "/chest", "14 mm"},
		{"lap not below front", func(p *piece.Piece) { p.Chest.Drawers.Lap = mm(20) }, "/chest/drawers/lap", "lap 20 mm is not below front 20 mm"},
		{"groove over half the box", func(p *piece.Piece) { p.Chest.Drawers.Groove = mm(7) }, "/chest/drawers/groove", "7 mm is over half of box 12 mm"},
		{"box under twice the groove", func(p *piece.Piece) { p.Chest.Drawers.Box = mm(9) }, "/chest/drawers/box", "box 9 mm"},
		{"groove offset at the stops", func(p *piece.Piece) { p.Chest.Drawers.GrooveOffset = mm(5) }, "/chest/drawers/groove_offset", "5 mm is not over stop 5 mm"},
		{"stops at the groove", func(p *piece.Piece) { p.Chest.Stop = mm(10) }, "/chest/stop", "stop 10 mm"},
		{"opening under 60 high", func(p *piece.Piece) { p.Chest.Rows[1].Height = mm(59) }, "/chest/rows/1/height", "59 mm"},
		{"opening under 100 wide", func(p *piece.Piece) { p.Chest.Rows[1].Across = 7 }, "/chest/rows/1", "at least 100 mm wide"},
		{"nothing left to share", func(p *piece.Piece) { p.Chest.Height = num.Whole(400) }, "/chest/rows", "leave nothing"},
		{"rows that do not fill", func(p *piece.Piece) { p.Chest.Rows[2].Height = mm(160) }, "/chest/rows", "add up to 480 mm, but there are 495 mm"},
		{"box too low for its bottom", func(p *piece.Piece) { p.Chest.Drawers.GrooveOffset = mm(105) }, "/chest/rows/0", "128 mm high is not over groove_offset 105 mm + bottom 6 mm + 20 mm"},
		{"back rail over a quarter", func(p *piece.Piece) { p.Chest.BackRail = mm(117) }, "/chest/back_rail", "117 mm is over a quarter of the case's depth 465 mm"},
		{"housings through a rail", func(p *piece.Piece) { p.Chest.Housing = mm(7) }, "/chest/housing", "two housings of 7 mm are over rail 20 mm less 8 mm"},
		{"thin rail", func(p *piece.Piece) { p.Chest.Rail = mm(18) }, "/chest/rail", "rail 18 mm"},
		{"no room for a tenon in a rail", func(p *piece.Piece) { p.Chest.RailWidth = mm(24) }, "/chest/rail_width", "mortise_tenon would have a width of 0 mm"},
		{"no thickness left for a tenon", func(p *piece.Piece) { p.Chest.Plinth = mm(20) }, "/chest/plinth", "width of 0 mm"},
		{"a part without a size", func(p *piece.Piece) { p.Chest.Guide = mm(0) }, "/chest/guide", "Drawer guide would be 0 mm thick"},
		{"back that fits no sheet", func(p *piece.Piece) {
			p.Chest.Width, p.Chest.Height = num.Whole(1400), num.Whole(1700)
		}, "/chest", "fits no sheet of birch-ply-6, 2420 mm x 1200 mm within the trim of 10 mm"},
		{"fronts in one board", func(p *piece.Piece) {
			p.Chest.Drawers.OneBoard = true
			p.Chest.Rows = []piece.Row{{Height: mm(130), Across: 2}, {Height: mm(185)}, {Height: mm(180), Across: 2}}
			p.Chest.Rows[2].Height, p.Chest.Rows[1].Height = mm(110), mm(255)
		}, "/chest/drawers/one_board_fronts", "253 mm wide and would be glued up from 2 strips"},
		{"no thickness for a part", func(p *piece.Piece) { p.Chest.Top = mm(73) }, "/chest/top", "the thickest of ash-prime"},
		{"no tails", func(p *piece.Piece) { p.Chest.Drawers.TailPitch = mm(0) }, "/chest/drawers/tail_pitch", "makes no tails"},
		{"unknown construction", func(p *piece.Piece) { p.Chest.Drawers.Construction = "nailed" }, "/chest/drawers/construction", `"nailed"`},
		{"unknown back rails", func(p *piece.Piece) { p.Chest.BackRails = "none" }, "/chest/back_rails", `"none"`},
		{"no rows", func(p *piece.Piece) { p.Chest.Rows = nil }, "/chest/rows", "0 rows"},
		{"overhangs over the depth", func(p *piece.Piece) { p.Chest.RearOverhang = mm(460) }, "/chest", "5 mm deep"},
	})
}

func TestAChestWiderThanTheLongestBoardIsRefused(t *testing.T) {
	p := chest(t)
	p.Chest.Width, p.Chest.Rows[0].Across = num.Whole(3100), 4
	said := make(map[string]bool)
	for _, f := range refused(t, request1(p), starter(t)) {
		said[f.Pointer+" "+f.Detail] = true
	}
	require.Contains(t, said, "#/pieces/0/chest/width Top is 3100 mm long, the longest ash-prime 3000 mm: bring it down to 3000 mm, or choose a timber that comes longer")
	require.Contains(t, said, "#/pieces/0/chest/rows/1 Drawer front is 3026 mm long, the longest ash-prime 3000 mm: bring it down to 3000 mm, or choose a timber that comes longer")
	require.Contains(t, said, "#/pieces/0/chest/rows/1 Drawer bottom is 3010 mm x 426 mm and fits no sheet of birch-ply-6, 2420 mm x 1200 mm within the trim of 10 mm: make it smaller, or choose a larger sheet")
}

// Settings that the kind or the construction gives no effect are refused, never
// passed over.
func TestSettingsWithoutEffectAreRefused(t *testing.T) {
	applied := func(t testing.TB) piece.Piece {
		p := chest(t)
		p.Chest.Drawers.Construction = "applied"
		return p
	}
	loose := func(t testing.TB) piece.Piece { return read(t, demo(t, "drawer-boxes")).Pieces[0] }
	hold(t, chest, []refusal{
		{"front gap of a lapped front", func(p *piece.Piece) { p.Chest.Drawers.FrontGap = mm(2) }, "/chest/drawers/front_gap", "no effect"},
		{"thickness of a sheet bottom", func(p *piece.Piece) { p.Chest.Drawers.BottomStock = mm(8) }, "/chest/drawers/bottom_thickness", "no effect"},
		{"member of another kind", func(p *piece.Piece) { p.Service = &piece.Service{} }, "/service", `takes no member "service"`},
	})
	hold(t, applied, []refusal{
		{"lap of an applied box", func(p *piece.Piece) { p.Chest.Drawers.Lap = mm(5) }, "/chest/drawers/lap", "no effect"},
	})
	hold(t, loose, []refusal{
		{"behind a loose box", func(p *piece.Piece) { p.DrawerBoxes.Behind = mm(10) }, "/drawer_boxes/behind", "no effect"},
		{"front of a loose applied box", func(p *piece.Piece) { p.DrawerBoxes.Front = mm(18) }, "/drawer_boxes/front", "no effect"},
		{"one board of a loose applied box", func(p *piece.Piece) { p.DrawerBoxes.OneBoard = true }, "/drawer_boxes/one_board_fronts", "no effect"},
		{"front gap of a loose box", func(p *piece.Piece) { p.DrawerBoxes.FrontGap = mm(2) }, "/drawer_boxes/front_gap", "no effect"},
		{"side clearance of a loose box", func(p *piece.Piece) { p.DrawerBoxes.SideClearance = mm(1) }, "/drawer_boxes/side_clearance", "no effect"},
		{"height gap of a loose box", func(p *piece.Piece) { p.DrawerBoxes.HeightGap = mm(1) }, "/drawer_boxes/height_gap", "no effect"},
		{"lap of a loose applied box", func(p *piece.Piece) { p.DrawerBoxes.Lap = mm(5) }, "/drawer_boxes/lap", "no effect"},
	})
}

// What merely finds no use in this piece is taken.
func TestSettingsWithoutUseAreTaken(t *testing.T) {
	p := chest(t)
	p.Chest.Rows[0].Across = 0
	p.Chest.Housing = mm(9) // no uprights to be housed
	p.Finishes = nil
	p.Chest.Drawers.Strips, p.Chest.Drawers.LooseTail = new(2), mm(30)
	p.Waste = map[string]num.Percent{"walnut-prime": 20_00}
	got := one(t, p, starter(t))
	require.Zero(t, measured(&got, "housing_joint"))
	require.Zero(t, measured(&got, "tape"))
}

func TestPartsThatCannotBeMadeAreRefused(t *testing.T) {
	free := func(t testing.TB) piece.Piece { return read(t, demo(t, "free-parts")).Pieces[0] }
	part := func(i int, change func(*piece.FreePart)) func(*piece.Piece) {
		return func(p *piece.Piece) { change(&p.Parts.Parts[i]) }
	}
	joint := func(i int, change func(*piece.FreeJoint)) func(*piece.Piece) {
		return func(p *piece.Piece) { change(&p.Parts.Joints[i]) }
	}
	hold(t, free, []refusal{
		{"longer than any board", part(2, func(f *piece.FreePart) { f.Length = num.Whole(3001) }), "/parts/parts/2/length", "longest cherry-prime 3000 mm"},
		{"thicker than any board", part(1, func(f *piece.FreePart) { f.Thickness = mm(43) }), "/parts/parts/1", "45 mm finished (43 mm + 2 mm to flatten)"},
		{"thickness that is not the sheet's", part(4, func(f *piece.FreePart) { f.Thickness = mm(10) }), "/parts/parts/4/thickness", "10 mm thick, its sheet 9 mm"},
		{"out of no sheet", part(4, func(f *piece.FreePart) { f.Width = num.Whole(1230) }), "/parts/parts/4", "fits no sheet"},
		{"timber without a thickness", part(3, func(f *piece.FreePart) { f.Thickness = nil }), "/parts/parts/3/thickness", "needs its thickness"},
		{"material that is none", part(3, func(f *piece.FreePart) { f.Material = "plastic" }), "/parts/parts/3/material", `"plastic"`},
		{"material by the code of a thickness", part(3, func(f *piece.FreePart) { f.Material = "ash-prime-27" }), "/parts/parts/3/material", `"ash-prime-27" is a thickness of the timber ash-prime: name ash-prime`},
		{"no material", part(3, func(f *piece.FreePart) { f.Material = "" }), "/parts/parts/3/material", "the material is missing: name a role"},
		{"a length left out", part(2, func(f *piece.FreePart) { f.Length = 0 }), "/parts/parts/2/length", "the length is missing or 0: write a size from 1 mm to 20000 mm"},
		{"three faces", part(0, func(f *piece.FreePart) { f.Outside.Faces = 3 }), "/parts/parts/0/outside/faces", "0 to 2"},
		{"a part without a name", part(0, func(f *piece.FreePart) { f.Name = "" }), "/parts/parts/0/name", "missing"},
		{"joint that is none", joint(0, func(f *piece.FreeJoint) { f.Type = "dowel" }), "/parts/joints/0/type", `"dowel"`},
		{"joint without its size", joint(0, func(f *piece.FreeJoint) { f.Width = nil }), "/parts/joints/0/width", "needs its width"},
		{"joint of no size", joint(2, func(f *piece.FreeJoint) { f.Depth = mm(0) }), "/parts/joints/2/depth", "above 0"},
		{"size of another joint", joint(2, func(f *piece.FreeJoint) { f.Height = mm(20) }), "/parts/joints/2/height", "no effect"},
		{"tails of a housing", joint(2, func(f *piece.FreeJoint) { f.Tails = 3 }), "/parts/joints/2/tails", "no effect"},
		{"twin dovetails", joint(3, func(f *piece.FreeJoint) { f.Twin = true }), "/parts/joints/3/twin", "no effect"},
		{"slope that is none", joint(3, func(f *piece.FreeJoint) { f.Slope = 7 }), "/parts/joints/3/slope", "8 (hardwood) or 6"},
		{"lap through the pin board", joint(4, func(f *piece.FreeJoint) { f.Lap = mm(12) }), "/parts/joints/4", "lap 12 mm"},
		{"material of a housing", joint(2, func(f *piece.FreeJoint) { f.Material = "show" }), "/parts/joints/2/material", "no effect"},
		{"edge of a material that is none", joint(6, func(f *piece.FreeJoint) { f.Material = "plastic" }), "/parts/joints/6/material", `"plastic"`},
		{"edge of a thickness", joint(6, func(f *piece.FreeJoint) { f.Material = "ash-prime-27" }), "/parts/joints/6/material", "a thickness of the timber ash-prime: name ash-prime"},
		{"no parts", func(p *piece.Piece) { p.Parts.Parts = nil }, "/parts/parts", "0 parts"},
	})
}

func TestWhatEveryPieceNamesMustExist(t *testing.T) {
	hold(t, chest, []refusal{
		{"title", func(p *piece.Piece) { p.Title = "" }, "/title", "missing"},
		{"kind", func(p *piece.Piece) { p.Kind, p.Chest = "wardrobe", nil }, "/kind", `"wardrobe"`},
		{"no kind", func(p *piece.Piece) { p.Kind, p.Chest = "", nil }, "/kind", "the kind of piece is missing: write one of chest"},
		{"kind without its member", func(p *piece.Piece) { p.Chest = nil }, "", `needs its member "chest"`},
		{"id", func(p *piece.Piece) { p.ID = "Tall Chest" }, "/id", "lower-case"},
		{"units", func(p *piece.Piece) { p.Units = unit.System("cm") }, "/units", "mm or in"},
		{"tax", func(p *piece.Piece) { p.Tax = "luxury" }, "/tax", `"luxury"`},
		{"timber", func(p *piece.Piece) { p.Timbers["inner"] = "oak" }, "/timbers/inner", `"oak"`},
		{"no timber of a role", func(p *piece.Piece) { p.Timbers["inner"] = "" }, "/timbers/inner", "the timber is missing: name one"},
		{"timber by the code of a thickness", func(p *piece.Piece) { p.Timbers["show"] = "ash-prime-27" }, "/timbers/show", `"ash-prime-27" is a thickness of the timber ash-prime: name ash-prime`},
		{"waste of a thickness", func(p *piece.Piece) { p.Waste = map[string]num.Percent{"ash-prime-27": 10} }, "/waste_percent/ash-prime-27", "name ash-prime"},
		{"role in letters beyond ASCII", func(p *piece.Piece) { p.Timbers["dos arrière %"] = "oak-prime" }, "/timbers/dos%20arri%C3%A8re%20%25", `"dos arrière %" is no role`},
		{"role of waste with a space", func(p *piece.Piece) { p.Waste = map[string]num.Percent{"oak prime": 10} }, "/waste_percent/oak%20prime", "no role"},
		{"role of a timber", func(p *piece.Piece) { p.Timbers["back/front"] = "oak-prime" }, "/timbers/back~1front", "show or inner"},
		{"role not named", func(p *piece.Piece) { delete(p.Timbers, "show") }, "/timbers", "parts of the role show: name a timber for it in timbers"},
		{"no timbers", func(p *piece.Piece) { delete(p.Sheets, "back") }, "/sheets", "parts of the role back: name a sheet for it in sheets"},
		{"sheet", func(p *piece.Piece) { p.Sheets["back"] = "oak-prime" }, "/sheets/back", "no sheet"},
		{"role of a sheet", func(p *piece.Piece) { p.Sheets["top"] = "mdf-6" }, "/sheets/top", "bottom or back"},
		{"glue", func(p *piece.Piece) { p.Glue = "hard-oil" }, "/glue", "no glue"},
		{"zone", func(p *piece.Piece) { p.Finishes["under"] = "bare" }, "/finishes/under", "outside or inside"},
		{"finish", func(p *piece.Piece) { p.Finishes["inside"] = "hard-oil" }, "/finishes/inside", "no finish"},
		{"ironmongery", func(p *piece.Piece) { p.Ironmongery = []piece.Fitted{{Code: "gem", Per: "case", Each: num.One}} }, "/ironmongery/0/code", `"gem"`},
		{"stage", func(p *piece.Piece) { p.ExtraHours = []piece.ExtraHours{{Stage: "tea", Hours: num.One}} }, "/extra_hours/0/stage", `"tea"`},
		{"dovetails", func(p *piece.Piece) { p.Dovetails = "foot" }, "/dovetails", "hand or machine"},
		{"role of waste", func(p *piece.Piece) { p.Waste = map[string]num.Percent{"mdf-6": 10} }, "/waste_percent/mdf-6", "no role"},
		{"width of a case", func(p *piece.Piece) {
			p.Ironmongery = []piece.Fitted{{Code: "knob-35", Per: "case", Each: num.One, FromWidth: mm(5)}}
		}, "/ironmongery/0", "no width"},
		{"widths that leave none", func(p *piece.Piece) {
			p.Ironmongery = []piece.Fitted{{Code: "knob-35", Per: "drawer", Each: num.One, FromWidth: mm(5), BelowWidth: mm(5)}}
		}, "/ironmongery/0", "from 5 and below 5"},
		{"no number of knobs", func(p *piece.Piece) {
			p.Ironmongery = []piece.Fitted{{Code: "knob-35", Per: "drawer"}}
		}, "/ironmongery/0/each", "each is missing or 0: write how many"},
		{"knobs of nothing", func(p *piece.Piece) {
			p.Ironmongery = []piece.Fitted{{Code: "knob-35", Each: num.One}}
		}, "/ironmongery/0/per", "per is missing: write drawer"},
		{"half a knob", func(p *piece.Piece) {
			p.Ironmongery = []piece.Fitted{{Code: "knob-35", Per: "drawer", Each: num.One / 2}}
		}, "/ironmongery/0/each", "whole number"},
	})
}

func TestPiecesThatNameEachOther(t *testing.T) {
	b := starter(t)
	visit := func(id, of string, optional bool) piece.Piece {
		return piece.Piece{ID: id, Title: "Visit", Kind: "service", Service: &piece.Service{Drops: 1}, AlternativeTo: of, Optional: optional}
	}
	for _, c := range []struct {
		name    string
		pieces  []piece.Piece
		pointer string
	}{
		{"id twice", []piece.Piece{visit("a", "", false), visit("a", "", false)}, "#/pieces/1/id"},
		{"an id that is another's place", []piece.Piece{visit("2", "", false), visit("", "", false)}, "#/pieces/1/id"},
		{"alternative to nothing", []piece.Piece{visit("a", "b", false)}, "#/pieces/0/alternative_to"},
		{"alternative to itself", []piece.Piece{visit("a", "a", false)}, "#/pieces/0/alternative_to"},
		{"alternative to an alternative", []piece.Piece{visit("a", "", false), visit("b", "a", false), visit("c", "b", false)}, "#/pieces/2/alternative_to"},
		{"alternative and extra", []piece.Piece{visit("a", "", false), visit("b", "a", true)}, "#/pieces/1"},
	} {
		faults := refused(t, pricing.Request{Pieces: c.pieces}, b)
		require.Len(t, faults, 1, c.name)
		assert.Equal(t, c.pointer, faults[0].Pointer, c.name)
	}
	c := priced(t, pricing.Request{Pieces: []piece.Piece{visit("", "2", false), visit("", "", false)}}, b)
	require.Equal(t, []bool{false, true}, []bool{c.Pieces[0].Included, c.Pieces[1].Included}, "an id left out is the place, from 1")
}

func TestARequestOfAnotherDateIsRefused(t *testing.T) {
	r := read(t, demo(t, "drawer-boxes"))
	r.AsOf = date.MustParse("2026-11-02")
	faults := refused(t, r, starter(t))
	require.Len(t, faults, 1)
	require.Equal(t, "#/as_of", faults[0].Pointer)
	require.Contains(t, faults[0].Detail, "2026-11-01")
	r.AsOf = date.MustParse("2026-11-01")
	require.Equal(t, r.AsOf, priced(t, r, starter(t)).AsOf)
}

// Everything wrong is said at once, in the order of the request.
func TestEveryFaultIsSaidInTheOrderOfTheRequest(t *testing.T) {
	r := read(t, demo(t, "five-faults"))
	r.Pieces = append(r.Pieces, piece.Piece{Kind: "service"})
	r.Terms = &book.TermsChange{Fees: new(num.Percent(50_00)), Tax: new("luxury")}
	var pointers []string
	for _, f := range refused(t, r, starter(t)) {
		pointers = append(pointers, f.Pointer)
	}
	require.Equal(t, []string{
		"#/pieces/0/timbers/inner", "#/pieces/0/ironmongery/0/per", "#/pieces/0/chest/rows", "#/pieces/0/chest/drawers/lap", "#/pieces/0/chest/tenon",
		"#/pieces/1", "#/pieces/1/title", "#/terms/fees_percent", "#/terms/tax",
	}, pointers)
}

// A thickness without a price is passed over; any other item without one is named
// with the date, when it is used and not before.
func TestItemsWithoutAPriceAreRefusedWhenUsed(t *testing.T) {
	b := changed(t, starter(t), func(d *book.Data) {
		for i := range d.Timbers {
			for k := range d.Timbers[i].Thicknesses {
				if s := &d.Timbers[i].Thicknesses[k]; s.Code == "ash-prime-27" {
					s.Price = nil
				}
			}
		}
		sheet(d, "mdf-6").Price, supply(d, "pu-slow").Price, supply(d, "shellac-blonde").Price = nil, nil, nil
		find(d.Ironmongery, func(f *book.Fitting) bool { return f.Code == "knob-35" }).Price = nil
		find(d.Labour, func(g *book.Grade) bool { return g.Code == "site" }).Price = nil
	})
	p := read(t, demo(t, "tall-chest")).Pieces[0]
	p.Sheets["back"] = "mdf-6"
	p.Timbers["inner"] = "ash-prime"
	var got []string
	for _, f := range refused(t, request1(p), b) {
		got = append(got, f.Pointer)
		assert.Contains(t, f.Detail, "no price on 2026-11-01")
	}
	require.ElementsMatch(t, []string{"#/pieces/0", "#/pieces/0/sheets/back", "#/pieces/0/glue", "#/pieces/0/finishes/inside", "#/pieces/0/ironmongery/0/code"}, got)

	boxes := read(t, demo(t, "drawer-boxes")).Pieces[0]
	boxes.Glue, boxes.Finishes, boxes.Timbers = "pva", nil, map[string]string{"inner": "ash-prime"}
	faults := refused(t, request1(boxes), b)
	require.Equal(t, fault.List{{Pointer: "#/pieces/0", Detail: faults[0].Detail}}, faults, "packing is the site grade's")
	require.Contains(t, faults[0].Detail, "site has no price")
}
