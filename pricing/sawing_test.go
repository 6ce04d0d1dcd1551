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

// Boards of 150 mm, 6 mm lost in width, 6 more to shoot the edges of each strip, 25
// in length, 3 m the longest; 20, 27 and 34 mm sawn finish to 16, 22 and 28
// (common practice, no source). Worked by hand.
func TestPartsAreSawnFromWhatTheyNeed(t *testing.T) {
	b := starter(t)
	none := new(num.Decimal(0))
	for _, c := range []struct {
		length, width, thickness string
		extra                    *num.Decimal
		code                     string
		strips                   int
		sawnLength, sawnWidth    string
	}{
		{"400", "144", "22", nil, "ash-prime-27", 1, "425", "150"},       // 144 + 6 = 150: one board
		{"400", "144.5", "22", nil, "ash-prime-27", 2, "425", "162.5"},   // two strips: 144.5 + 6 + 2 x 6
		{"400", "282", "22", nil, "ash-prime-27", 2, "425", "300"},       // (282 + 6 + 12) / 2 = 150
		{"400", "282.5", "22", nil, "ash-prime-27", 3, "425", "306.5"},   // three: 282.5 + 6 + 18
		{"400", "1000", "22", nil, "ash-prime-27", 7, "425", "1048"},     // (1006 + 42) / 7 = 149.7
		{"400", "100", "16", nil, "ash-prime-20", 1, "425", "106"},       // just finishes
		{"400", "100", "16.1", nil, "ash-prime-27", 1, "425", "106"},     // the next
		{"1500", "100", "22", nil, "ash-prime-27", 1, "1525", "106"},     // not over 1500
		{"1500.5", "100", "22", nil, "ash-prime-34", 1, "1525.5", "106"}, // 2 mm more to flatten
		{"1500.5", "100", "22", none, "ash-prime-27", 1, "1525.5", "106"},
		{"400", "100", "22", mm(7), "ash-prime-41", 1, "425", "106"}, // 29 finished
		{"2975", "100", "10", nil, "ash-prime-20", 1, "3000", "106"}, // 12 finished
		{"2990", "100", "10", nil, "ash-prime-20", 1, "3000", "106"}, // no more than there is
		{"3000", "144", "10", nil, "ash-prime-20", 1, "3000", "150"}, // all of the board
	} {
		p := parts(piece.FreePart{
			Name: "Part", Length: number(t, c.length), Width: number(t, c.width), Thickness: new(number(t, c.thickness)), Extra: c.extra, Material: "ash-prime",
		})
		got := one(t, p, b)
		part := got.Parts[0]
		require.Equal(t, []string{c.code, c.sawnLength, c.sawnWidth}, []string{part.Code, part.SawnLength.String(), part.SawnWidth.String()}, "%s x %s x %s", c.length, c.width, c.thickness)
		require.Equal(t, c.strips, part.Strips, c.width)
		require.Equal(t, num.Whole(c.strips), measured(&got, "sawn_board"))
		if c.strips > 1 {
			edge := got.Joints[0]
			require.Equal(t, "edge", edge.Type)
			require.Equal(t, c.strips-1, edge.Quantity)
			require.Equal(t, []num.Decimal{part.SawnLength, part.SawnThickness}, []num.Decimal{edge.Length, edge.Thickness})
		}
	}
}

// A thickness without a price is passed over: the next one that has one serves.
func TestThicknessesWithoutAPriceArePassedOver(t *testing.T) {
	b := changed(t, starter(t), func(d *book.Data) {
		find(timber(d, "ash-prime").Thicknesses, func(s *book.Thickness) bool { return s.Code == "ash-prime-27" }).Price = nil
	})
	got := one(t, parts(piece.FreePart{Name: "Part", Length: num.Whole(400), Width: num.Whole(100), Thickness: mm(22), Material: "ash-prime"}), b)
	require.Equal(t, "ash-prime-34", got.Parts[0].Code)
}

// Roles of one thickness with one waste share a line, a term each; another waste is
// a line of its own; a timber named by its code is its own role.
func TestTimberLinesAreByThicknessAndWaste(t *testing.T) {
	p := parts(piece.FreePart{Name: "A", Length: num.Whole(975), Width: num.Whole(94), Thickness: mm(22), Material: "show"})
	p.Timbers = map[string]string{"show": "ash-prime", "inner": "ash-prime"}
	for _, material := range []string{"inner", "ash-prime"} {
		next := p.Parts.Parts[0]
		next.Material = material
		p.Parts.Parts = append(p.Parts.Parts, next)
	}
	got := one(t, p, starter(t))
	require.Len(t, got.Timber, 1)
	require.Equal(t, "0.0081", got.Timber[0].Needed.String(), "3 x 1 m x 100 mm x 27 mm")
	require.Equal(t, []string{"ash-prime", "inner", "show"}, sharesOf(got.Timber[0]))
	require.Equal(t, "0.0105", got.Timber[0].Quantity.String(), "and 30 %")

	p.Waste = map[string]num.Percent{"inner": 50_00, "ash-prime": 10_00}
	got = one(t, p, starter(t))
	require.Len(t, got.Timber, 3)
	for i, role := range []string{"ash-prime", "show", "inner"} { // by waste
		require.Equal(t, []string{role}, sharesOf(got.Timber[i]))
	}
}

// sharesOf returns the shares of a line's terms.
func sharesOf(l pricing.Line) []string {
	var shares []string
	for _, k := range l.Terms {
		shares = append(shares, k.Share)
	}
	return shares
}

// Of three parts of 1 x 1 m two lie side by side on a sheet of 2440 x 1220 mm, 2.9768
// m2; the third takes another. With 10 % they are 3.3 m2 by area; a price in the other
// unit is turned.
func TestSheetsAreChargedWholeOrByArea(t *testing.T) {
	for _, c := range []struct {
		charged  string
		priced   unit.Unit
		unit     unit.Unit
		needed   string
		quantity string
		rate     string
		amount   string
		working  string
	}{
		{book.Whole, unit.Each, unit.Each, "2", "2", "28.00", "56.00", "2 each, by the layout of this piece alone"},
		{book.Whole, unit.M2, unit.Each, "2", "2", "83.3504", "166.70", "2 each, by the layout of this piece alone"},
		{book.Area, unit.M2, unit.M2, "3", "3.3", "28.00", "92.40", "3 m2 net + 10 % = 3.3 m2"},
		{book.Area, unit.Each, unit.M2, "3", "3.3", "9.4061", "31.04", "3 m2 net + 10 % = 3.3 m2"},
	} {
		b := changed(t, starter(t), func(d *book.Data) {
			sheet(d, "birch-ply-6").Charged = c.charged
			sheet(d, "birch-ply-6").Price.Unit = c.priced
			sheet(d, "birch-ply-6").Price.Rate = 28_0000
		})
		costing := priced(t, request1(parts(piece.FreePart{Name: "Panel", Quantity: 3, Length: num.Whole(1000), Width: num.Whole(1000), Material: "bottom"})), b)
		l := costing.Pieces[0].Sheets[0]
		require.Equal(t, c.unit, l.Unit)
		require.Equal(t, []string{c.needed, c.quantity, c.rate, c.amount, c.working},
			[]string{l.Needed.String(), l.Quantity.String(), l.Rate.String(), l.Amount.String(), l.Working}, "%s by %s", c.charged, c.priced)
		require.False(t, l.Whole || l.Per != 0)
		buy := *find(costing.Buying, func(l *pricing.BuyingLine) bool { return l.Code == "birch-ply-6" })
		require.Equal(t, c.amount, buy.Amount.String())
		require.Equal(t, c.quantity, buy.Needed.String())
		require.Equal(t, c.unit, buy.Unit)
		require.Zero(t, buy.Packs)
		require.Zero(t, buy.PackSize)
	}
}

// Each piece line is charged its own whole packs; they are bought for all of them.
func TestPacksAreChargedByPieceAndBoughtTogether(t *testing.T) {
	p := parts(piece.FreePart{Name: "Lath", Length: num.Whole(975), Width: num.Whole(94), Thickness: mm(16), Material: "ash-prime"})
	p.Glue, p.Parts.GlueUps = "pu-slow", 30 // 30 x 5 g
	r := pricing.Request{Pieces: []piece.Piece{p, p, p}}
	r.Pieces[2].Optional = true
	c := priced(t, r, starter(t))
	for i := range c.Pieces {
		l := line(c.Pieces[i].Supplies, "pu-slow")
		require.Equal(t, []string{"0.15", "0.5", "1", "pack"}, []string{l.Needed.String(), l.Per.String(), l.Quantity.String(), string(l.Unit)})
	}
	buy := *find(c.Buying, func(l *pricing.BuyingLine) bool { return l.Code == "pu-slow" })
	require.Equal(t, "0.3", buy.Needed.String(), "the extra is not bought")
	require.Equal(t, 1, buy.Packs)
	require.Equal(t, line(c.Pieces[0].Supplies, "pu-slow").Amount, buy.Amount)
}
