package pricing_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// What sheets take here is worked by hand from the sizes of a sheet of 2440 x 1220 mm,
// which are common practice, no source, and from geometry.

// panels is a piece of sheet parts alone: names, lengths, widths and how many.
func panels(title, material string, list ...piece.FreePart) piece.Piece {
	p := piece.Piece{Title: title, Kind: "parts", Parts: &piece.PartList{}}
	for _, f := range list {
		f.Material = material
		p.Parts.Parts = append(p.Parts.Parts, f)
	}
	return p
}

// panel is so many parts of a size in whole millimetres.
func panel(name string, length, width int, n num.Count) piece.FreePart {
	return piece.FreePart{Name: name, Length: num.Whole(length), Width: num.Whole(width), Quantity: n}
}

// The tall chest's back and six bottoms are 2.63 m2, and a sheet within its trim has
// 2.42 x 1.2 = 2.90 m2; still no layout whatever gets them out of one, kerf or none.
//
// Beside the back, 1095 x 842, there is no room but along the sheet: over it 1200 - 842
// = 358 or 1200 - 1095 = 105 are left, and no bottom is under 386. Lying along, it
// leaves 1325 x 1200, 1.59 m2, and the bottoms are 1.71. Standing, it leaves 1578 x
// 1200, in which no four of 810 x 426 lie: two along do not lie side by side (1620),
// nor two across one above the other (1620), so that all that lie along are one above
// another, two at most (3 x 426 = 1278), and all across side by side, three at most;
// one along and one across do not lie one above the other (1236) but side by side, and
// 810 + 2 x 426 = 1662 leaves no room for a second one across.
func TestTheTallChestTakesTwoSheets(t *testing.T) {
	c := priced(t, read(t, demo(t, "tall-chest")), starter(t))
	require.Len(t, c.Cutting, 1)
	p := c.Cutting[0]
	require.Equal(t, []pricing.SheetPart{
		{Mark: "A", Piece: "chest", Name: "Back", Length: num.Whole(1095), Width: num.Whole(842), Quantity: 1},
		{Mark: "B", Piece: "chest", Name: "Drawer bottom", Length: num.Whole(386), Width: num.Whole(426), Quantity: 2},
		{Mark: "C", Piece: "chest", Name: "Drawer bottom", Length: num.Whole(810), Width: num.Whole(426), Quantity: 4},
	}, p.Parts)
	require.Equal(t, "2.631102 2.9768", p.PartsArea.String()+" "+p.SheetArea.String())
	require.Equal(t, []int{2, 2, 2}, []int{p.Sheets, p.Bound, p.Apart})
	require.Equal(t, "2 sheets; no layout can do it with fewer", p.Finding)
	require.Equal(t, "56.00", c.Pieces[0].Sheets[0].Amount.String())
}

// A back of 1045 x 802 and five bottoms of 770 x 416 are 2.44 m2 and come out of one
// sheet: the back standing, 802 of the length; beside it two bottoms along, one above
// the other, 770 x 835.2; beside them two across side by side, 835.2 x 770, with the
// fifth along over them, 770 + 3.2 + 416 = 1189.2 high. 802 + 770 + 835.2 and two kerfs
// are 2413.6 of 2420.
func TestABackAndFiveBottomsTakeOneSheet(t *testing.T) {
	p := panels("A back and bottoms", "birch-ply-6", panel("Back", 1045, 802, 1), panel("Drawer bottom", 770, 416, 5))
	require.Equal(t, 1, priced(t, request1(p), starter(t)).Cutting[0].Sheets)
}

// Three parts in a row: 3 x 800 = 2400 and two kerfs, within 2440 less the trim twice.
// With 3.2 and 10 there are 2406.4 of 2420, with 10.1 each 2420.2: then two lie on a
// sheet. Without grain they could stand, 1 x 1190 of 1200 each, three side by side.
func TestKerfTrimAndGrainTakeSheets(t *testing.T) {
	b := starter(t)
	for _, tt := range []struct {
		name               string
		kerf, trim, length string // mm; none: the default
		sheet              string
		sheets             int
	}{
		{"as the terms say nothing", "", "", "800", "ash-faced-ply-6", 1},
		{"the kerf", "10.1", "", "800", "ash-faced-ply-6", 2},
		{"the kerf to the last", "10", "", "800", "ash-faced-ply-6", 1},
		{"the trim", "", "16.9", "800", "ash-faced-ply-6", 2},
		{"the trim to the last", "", "16.8", "800", "ash-faced-ply-6", 1},
		{"neither", "0", "0", "813.333", "ash-faced-ply-6", 1},
		{"neither, and too long", "0", "0", "813.334", "ash-faced-ply-6", 2},
		{"the grain", "", "", "1190", "ash-faced-ply-6", 2},
		{"and none", "", "", "1190", "mdf-6", 1},
	} {
		r := request1(panels("Three", tt.sheet, piece.FreePart{Name: "Part", Quantity: 3, Length: number(t, tt.length), Width: num.Whole(700)}))
		r.Terms = &book.TermsChange{}
		for to, typed := range map[**unit.Length]string{&r.Terms.Kerf: tt.kerf, &r.Terms.Trim: tt.trim} {
			if typed != "" {
				*to = new(unit.Length(number(t, typed)))
			}
		}
		c := priced(t, r, b)
		require.Equal(t, tt.sheets, c.Cutting[0].Sheets, tt.name)
		require.Equal(t, num.Whole(tt.sheets), c.Pieces[0].Sheets[0].Quantity, tt.name)
	}
}

// Two boards of 2000 x 590 lie one above the other on a sheet, 2 x 590 + 3.2 = 1183.2
// of 1200 mm; each by itself takes one.
func TestTheBuyingListSharesSheets(t *testing.T) {
	board := panels("Board", "birch-ply-6", panel("Board", 2000, 590, 1))
	r := pricing.Request{Pieces: []piece.Piece{board, board, board}}
	r.Pieces[1].Optional = true
	c := priced(t, r, starter(t))
	for i := range c.Pieces {
		require.Equal(t, "1 each, by the layout of this piece alone", c.Pieces[i].Sheets[0].Working)
		require.Equal(t, "28.00", c.Pieces[i].Sheets[0].Amount.String())
	}
	p := c.Cutting[0]
	require.Equal(t, []int{1, 1, 2}, []int{p.Sheets, p.Bound, p.Apart})
	require.Equal(t, "28.00", p.Saving.String())
	require.Equal(t, "1 sheet; no layout can do it with fewer", p.Finding)
	require.Equal(t, []string{"A 1", "B 3"}, []string{p.Parts[0].Mark + " " + p.Parts[0].Piece, p.Parts[1].Mark + " " + p.Parts[1].Piece}, "the extra is not cut")
	buy := *find(c.Buying, func(l *pricing.BuyingLine) bool { return l.Code == "birch-ply-6" })
	require.Equal(t, pricing.BuyingLine{Code: "birch-ply-6", Description: "Birch plywood, 6 mm", Needed: num.One, Unit: unit.Each, Amount: c.Pieces[0].Sheets[0].Amount}, buy)
}

// A sheet charged by area is charged by it, and laid out all the same: four of 1300 x
// 590 would lie two on a sheet.
func TestSheetsByAreaAreLaidOutToo(t *testing.T) {
	p := panels("Shelves", "oak-faced-mdf-19", panel("Shelf", 1300, 590, 4))
	p.Waste = map[string]num.Percent{"sheet": 25_00}
	c := priced(t, request1(p), starter(t))
	require.Equal(t, "3.068 m2 net + 25 % = 3.835 m2", c.Pieces[0].Sheets[0].Working)
	plan := c.Cutting[0]
	require.Equal(t, []int{2, 2, 2}, []int{plan.Sheets, plan.Bound, plan.Apart})
	require.Zero(t, plan.Saving)
	require.True(t, plan.Grain)
	buy := *find(c.Buying, func(l *pricing.BuyingLine) bool { return l.Code == "oak-faced-mdf-19" })
	require.Equal(t, "3.835 m2 "+c.Pieces[0].Sheets[0].Amount.String(), buy.Needed.String()+" "+string(buy.Unit)+" "+buy.Amount.String())
}

// Waste bears on sheets by area alone: kerf, trim and layout take its place.
func TestWasteBearsOnNoWholeSheet(t *testing.T) {
	p := panels("Boards", "birch-ply-6", panel("Board", 2000, 590, 2))
	was := one(t, p, starter(t))
	p.Waste = map[string]num.Percent{"sheet": 1000_00}
	is := one(t, p, starter(t))
	require.Equal(t, was.Sheets, is.Sheets)
	require.Zero(t, is.Sheets[0].Waste)
	c := sensitive(t, request1(p), starter(t))
	require.Equal(t, c.Totals.Net, find(c.Sensitivity, func(s *pricing.Sensitivity) bool { return s.Of == "waste" }).Net)
}

// A request without a sheet has a list of plans, and nothing on it.
func TestNothingIsCutFromNoSheet(t *testing.T) {
	c := priced(t, read(t, []byte(`{"pieces": [{"title": "Visit", "kind": "service", "service": {"drops": 1}}]}`)), starter(t))
	require.Contains(t, encoded(t, c), `"cutting":[]`)
}

// After Z comes AA: the 27th part and the 703rd.
func TestMarks(t *testing.T) {
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"} {
		require.Equal(t, want, pricing.Mark(i))
	}
}

// Marks go from A to Z and on with AA, in the order of the cutting lists; sizes are in
// inches where every piece is written in them.
func TestPartsAreMarkedInTheirOrder(t *testing.T) {
	var list []piece.FreePart
	for i := range 30 {
		list = append(list, panel("Part", 100+i, 50, 1))
	}
	inches := panels("Inches", "birch-ply-6", piece.FreePart{Name: "Part", Length: num.Whole(10), Width: num.Decimal(2_500_000)})
	inches.Units = unit.InInches
	c := priced(t, pricing.Request{Pieces: []piece.Piece{panels("List", "birch-ply-6", list...), inches}}, starter(t))
	p := c.Cutting[0]
	require.Len(t, p.Parts, 31)
	for i, mark := range map[int]string{0: "A", 25: "Z", 26: "AA", 27: "AB", 30: "AE"} {
		require.Equal(t, mark, p.Parts[i].Mark)
	}
	require.Equal(t, unit.InMillimetres, p.Units)
	require.Equal(t, pricing.SheetPart{Mark: "AE", Piece: "2", Name: "Part", Length: num.Whole(254), Width: num.Decimal(63_500_000), Quantity: 1}, p.Parts[30])

	p = priced(t, request1(inches), starter(t)).Cutting[0]
	require.Equal(t, unit.InInches, p.Units)
	require.Equal(t, []string{"96.062992", "48.031496", "0.125984", "0.393701", "11.811024", "10", "2.5"},
		[]string{p.Length.String(), p.Width.String(), p.Kerf.String(), p.Trim.String(), p.OffcutMin.String(), p.Parts[0].Length.String(), p.Parts[0].Width.String()}, "2440, 1220, 3.2, 10 and 300 mm over 25.4")
}

// One part in the corner: the saw goes along it and across, and what is left is told
// of where both its sides are at least the terms' least.
func TestOnePartIsSawnInTwoCuts(t *testing.T) {
	r := request1(panels("Lid", "ash-faced-ply-6", panel("Lid", 600, 400, 1)))
	r.Terms = &book.TermsChange{Kerf: new(4 * unit.Millimetre), Trim: new(20 * unit.Millimetre), OffcutMin: new(790 * unit.Millimetre)}
	l := priced(t, r, starter(t)).Cutting[0].Layouts
	require.Len(t, l, 1)
	require.Len(t, l[0].Cuts, 2)
	require.Equal(t, []pricing.Placed{{Mark: "A", X: num.Whole(20), Y: num.Whole(20), Length: num.Whole(600), Width: num.Whole(400)}}, l[0].Placed)
	for _, c := range l[0].Cuts {
		if c.Along {
			require.Equal(t, []num.Decimal{num.Whole(420), num.Whole(400)}, []num.Decimal{c.At, c.Size})
		} else {
			require.Equal(t, []num.Decimal{num.Whole(620), num.Whole(600)}, []num.Decimal{c.At, c.Size})
		}
	}
	require.Len(t, l[0].Offcuts, 1, "1796 x 1180 or 2400 x 776; the strip beside the lid is under 790")
}

// A request says how long to look in one of two words.
func TestTheEffortOfARequest(t *testing.T) {
	r := request1(panels("Lid", "birch-ply-6", panel("Lid", 600, 400, 1)))
	r.Cutting = "long"
	faults := refused(t, r, starter(t))
	require.Equal(t, `#/cutting: "long" is not known: write quick or thorough`, faults.Error())
}

// A part that comes out of no sheet is refused where it stands, with what there is of
// the sheet within its trim.
func TestPartsThatFitNoSheetAreRefused(t *testing.T) {
	b := starter(t)
	for _, tt := range []struct {
		sheet         string
		length, width int
		trim          int // -1: none said
		detail        string
	}{
		{"birch-ply-6", 2420, 1200, -1, ""},
		{"birch-ply-6", 1200, 2420, -1, ""},
		{"birch-ply-6", 2421, 100, -1, "Part is 2421 mm x 100 mm and fits no sheet of birch-ply-6, 2420 mm x 1200 mm within the trim of 10 mm: make it smaller, or choose a larger sheet"},
		{"birch-ply-6", 1201, 1201, -1, "Part is 1201 mm x 1201 mm and fits no sheet of birch-ply-6, 2420 mm x 1200 mm within the trim of 10 mm: make it smaller, or choose a larger sheet"},
		{"ash-faced-ply-6", 2420, 1200, -1, ""},
		{"ash-faced-ply-6", 1200, 1201, -1, "Part is 1200 mm x 1201 mm, its length along the grain, and fits no sheet of ash-faced-ply-6, 2420 mm x 1200 mm within the trim of 10 mm: make it smaller, or choose a larger sheet"},
		{"birch-ply-6", 2440, 1220, 0, ""},
		{"birch-ply-6", 2441, 1220, 0, "Part is 2441 mm x 1220 mm and fits no sheet of birch-ply-6, 2440 mm x 1220 mm: make it smaller, or choose a larger sheet"},
		{"birch-ply-6", 2041, 820, 200, "Part is 2041 mm x 820 mm and fits no sheet of birch-ply-6, 2040 mm x 820 mm within the trim of 200 mm: make it smaller, or choose a larger sheet"},
	} {
		r := request1(panels("Panels", tt.sheet, panel("Sound", 10, 10, 1), panel("Part", tt.length, tt.width, 1)))
		if tt.trim >= 0 {
			r.Terms = &book.TermsChange{Trim: new(unit.Length(tt.trim) * unit.Millimetre)}
		}
		if tt.detail == "" {
			require.Equal(t, 1, priced(t, r, b).Cutting[0].Layouts[0].Count)
			continue
		}
		require.Equal(t, "#/pieces/0/parts/parts/1: "+tt.detail, refused(t, r, b).Error())
	}
	// of a sheet that is all trim nothing is left, and a trim out of range is not tried
	tiny := changed(t, b, func(d *book.Data) { sheet(d, "mdf-6").Length = 5 * unit.Millimetre })
	r := request1(panels("Panels", "mdf-6", panel("Part", 3, 3, 1)))
	require.Contains(t, refused(t, r, tiny).Error(), "fits no sheet of mdf-6, 0 mm x 1200 mm within the trim of 10 mm")
	r = request1(panels("Panels", "birch-ply-6", panel("Part", 2420, 1200, 1)))
	r.Terms = &book.TermsChange{Trim: new(201 * unit.Millimetre)}
	require.Equal(t, "#/terms/trim: 201 mm is out of range: write 0 to 200 mm", refused(t, r, b).Error())
}

// Where a request has a fault nothing is laid out, and faults of every piece are said.
func TestFaultsComeBeforeLayouts(t *testing.T) {
	r := pricing.Request{Pieces: []piece.Piece{panels("One", "mdf-6", panel("Part", 300, 300, 2)), panels("Two", "mdf-6", panel("", 300, 300, 2))}}
	b := changed(t, starter(t), func(d *book.Data) { sheet(d, "mdf-6").Price = nil })
	faults := refused(t, r, b)
	require.Len(t, faults, 2)
	require.Equal(t, "#/pieces/0/parts/parts/0/material", faults[0].Pointer)
	require.Equal(t, "#/pieces/1/parts/parts/0/name", faults[1].Pointer)
}
