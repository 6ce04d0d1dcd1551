package pricing_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// parts returns a piece of kind parts with one part.
func parts(p piece.FreePart) piece.Piece {
	return piece.Piece{
		Title: "A part", Kind: "parts",
		Timbers: map[string]string{"show": "white-oak-fas"}, Sheets: map[string]string{"bottom": "birch-ply-6"},
		Parts: &piece.PartList{Parts: []piece.FreePart{p}},
	}
}

// mm returns a size as it is typed.
func mm(n int) *num.Decimal { return new(num.Whole(n)) }

// Spreading rate in m2/l = 10 x volume solids % / dry film um. The table and the
// cases are read in paint-loss and spreading-rate pages: scribd 290710110 (six),
// scribd 343849341 (65 % at 125 um), askvity.info "How to work out spreading rate"
// (71 % at 125 um, printed 5.7).
func TestSpreadingRatesArePublished(t *testing.T) {
	for _, c := range []struct {
		solids  num.Percent
		film    int
		printed string // m2/l
		places  int
		litres  string // for 10 m2, from the exact rate: our own division
	}{
		{100_00, 25, "40", 1, "0.25"}, {80_00, 100, "8", 1, "1.25"}, {70_00, 75, "9.3", 1, "1.071"}, {50_00, 100, "5", 1, "2"},
		{50_00, 75, "6.7", 1, "1.5"}, {40_00, 50, "8", 1, "1.25"}, {65_00, 125, "5.2", 2, "1.923"}, {71_00, 125, "5.68", 2, "1.761"},
	} {
		coating := book.Coating{Solids: c.solids, DryFilm: num.Whole(c.film)}
		require.Equal(t, c.printed, coating.PerLitre().Round(c.places).String(), "%s %% at %d um", c.solids, c.film)

		b := changed(t, starter(t), func(d *book.Data) {
			supply(d, "hard-oil").Coating = &coating
			find(d.Methods, func(m *book.Method) bool { return m.Code == "wipe" }).Transfer = 100_00
			find(d.Finishes, func(f *book.Finish) bool { return f.Code == "oil-3" }).Coats[0].Coats = 1
		})
		p := parts(piece.FreePart{Name: "Panel", Quantity: 10, Length: num.Whole(1000), Width: num.Whole(1000), Material: "bottom", Outside: piece.Surface{Faces: 1}})
		p.Finishes = map[string]string{"outside": "oil-3"}
		got := one(t, p, b)
		require.Equal(t, "10", measured(&got, "coat").String(), "m2")
		require.Equal(t, c.litres, line(got.Supplies, "hard-oil").Quantity.String(), "litres at %s m2/l", c.printed)
	}
}

// Practical rate = theoretical x transfer efficiency; volume = area x coats / it
// (the same pages; SCAQMD, "Spray Equipment Transfer Efficiency", qualifies
// methods at 65 %). Lacquer of 30 % solids, 30 um dry: 10 m2/l, 6.5 at 65 %; 6 m2
// in three coats take 2.769 l (worked from the formula).
func TestTransferTakesItsShareOfALacquer(t *testing.T) {
	b := changed(t, starter(t), func(d *book.Data) {
		f := find(d.Finishes, func(f *book.Finish) bool { return f.Code == "lacquer-spray" })
		f.Coats = []book.Coat{{Product: "lacquer-spraying", Coats: 3, Method: "spray"}}
	})
	require.Equal(t, "10", b.Supply("lacquer-spraying").Coating.PerLitre().String())
	require.Equal(t, "6.5", b.Supply("lacquer-spraying").Coating.Spread(b.Method("spray")).String())
	p := parts(piece.FreePart{Name: "Panel", Quantity: 6, Length: num.Whole(1000), Width: num.Whole(1000), Material: "bottom", Outside: piece.Surface{Faces: 1}})
	p.Finishes = map[string]string{"outside": "lacquer-spray"}
	got := one(t, p, b)
	require.Equal(t, "18", measured(&got, "coat").String(), "6 m2 x 3")
	require.Equal(t, "2.769", line(got.Supplies, "lacquer-spraying").Quantity.String())
}

// Density at moisture M % = 1000 x G x (1 + M / 100), G from oven-dry mass: the
// page "Wood Density in weight per cubic dimension", oakmissouri.org, citing
// GTR-190, chapter 4. G at 12 % from the USFS table REF_SPECIES: white oak 0.68,
// black walnut 0.55, yellow poplar 0.42. 0.15 m3 of white oak weigh 114.24 kg.
func TestMassFromTheDensityOfTheWoodHandbook(t *testing.T) {
	for _, c := range []struct {
		timber  string
		gravity num.Decimal
		density string
		mass    string // of 0.15 m3
	}{
		{"white-oak-fas", 680_000, "761.6", "114.24"},
		{"walnut-prime", 550_000, "616", "92.4"},
		{"poplar-select", 420_000, "470.4", "70.56"},
	} {
		density := num.Product(6, num.One, 1000*num.One, c.gravity, 1_120_000)
		require.Equal(t, c.density, density.String())
		b := changed(t, starter(t), func(d *book.Data) { timber(d, c.timber).Density = density })
		p := parts(piece.FreePart{Name: "Slab", Length: num.Whole(2500), Width: num.Whole(1500), Thickness: mm(40), Material: c.timber})
		got := one(t, p, b)
		require.Equal(t, "0.15", got.Parts[0].FinishedVolume.String())
		require.Equal(t, c.mass, got.Mass.String(), c.timber)
	}
}

// The starter Book's densities of timbers in that table are 1000 x 1.12 x G,
// to a whole kg/m3. G at 12 % of cherry, hard maple and Scots pine likewise.
func TestStarterDensitiesFollowFromSpecificGravity(t *testing.T) {
	b := starter(t)
	for code, gravity := range map[string]num.Decimal{
		"white-oak-fas": 680_000, "walnut-prime": 550_000, "cherry-prime": 500_000, "maple-hard-select": 630_000,
		"poplar-select": 420_000, "tulipwood-select": 420_000, "redwood-joinery": 470_000,
	} {
		require.Equal(t, num.Product(0, num.One, 1000*num.One, gravity, 1_120_000), b.Timber(code).Density, code)
	}
}

// Movement = width x coefficient x change of moisture: Wood Handbook, FPL-GTR-190,
// equation 13-2; flat-sawn white oak 0.00365 per 1 % (table 13-5). 450 mm from 8 to
// 12 % move 6.57 mm (worked from it): twice that width, twice that.
func TestMovementOfAWidePanelByTheWoodHandbook(t *testing.T) {
	got := one(t, parts(piece.FreePart{Name: "Top", Length: num.Whole(1200), Width: num.Whole(900), Thickness: mm(25), Material: "show"}), starter(t))
	require.Equal(t, num.Decimal(3650), starter(t).Timber("white-oak-fas").Movement.Tangential)
	message := ""
	for _, c := range got.Checks {
		if c.Code == "wide_panel" {
			message = c.Message
		}
	}
	require.Contains(t, message, "900 mm wide")
	require.Contains(t, message, "13.14 mm", "2 x 6.57 = 13.14")
}

// asSawn makes a timber cut without any allowance or waste, so that a part takes
// just its own size of sawn board.
func asSawn(d *book.Data, code string, u unit.Unit) {
	x := timber(d, code)
	x.WidthAllowance, x.EdgeAllowance, x.LengthAllowance, x.Waste = 0, 0, 0, 0
	x.BoardWidth, x.Longest = 500*unit.Millimetre, 5000*unit.Millimetre
	price := x.Thicknesses[0].Price
	x.Thicknesses = nil
	for _, quarters := range []unit.Length{4, 6, 8, 16} {
		s := book.Thickness{Code: code + "-" + num.Whole(int(quarters)).String(), Thickness: quarters * unit.Inch / 4, FinishesTo: quarters * unit.Inch / 4}
		s.Price = &book.Price{Rate: 10_0000, Unit: u, From: price.From}
		x.Thicknesses = append(x.Thicknesses, s)
	}
}

// A board foot is 144 cubic inches: americanhardwood.org, "Measurement". Boards
// from there, from woodworkingtips.com (e-tip 4) and from
// elmwoodreclaimedtimber.com ("Useful math"); 12 board feet are a cubic foot.
func TestBoardFeetAndCubicFeetArePublished(t *testing.T) {
	for _, c := range []struct {
		thickness, width, length string // in
		bf, boardFeet            string // exact to 4 places; of the line
		cubicFeet                string // to 5 places
	}{
		{"1", "9", "96", "6", "6", "0.5"},
		{"1.5", "9", "96", "9", "9", "0.75"},
		{"4", "6", "120", "20", "20", "1.66667"},
		{"2", "6.25", "96", "8.3333", "8.33", "0.69444"}, // 8.333 without the rounding of surface measure
		{"1", "12", "144", "12", "12", "1"},
	} {
		inches := func(s string) num.Decimal { return number(t, s) }
		p := parts(piece.FreePart{Name: "Board", Length: inches(c.length), Width: inches(c.width), Thickness: new(inches(c.thickness)), Material: "show", Extra: new(num.Decimal(0))})
		p.Units = unit.InInches
		got := one(t, p, changed(t, starter(t), func(d *book.Data) { asSawn(d, "white-oak-fas", unit.Bf) }))
		require.Equal(t, c.bf, got.Timber[0].Needed.String(), "%s x %s x %s", c.thickness, c.width, c.length)
		require.Equal(t, c.boardFeet, got.Timber[0].Quantity.String())

		got = one(t, p, changed(t, starter(t), func(d *book.Data) { asSawn(d, "white-oak-fas", unit.Ft3) }))
		require.Equal(t, c.cubicFeet, got.Timber[0].Needed.String(), "%s x %s x %s", c.thickness, c.width, c.length)
	}
}

// 27 mm x 200 mm x 2.4 m = 0.01296 m3 = 5.4921 board feet, a board foot being
// 0.002359737216 m3; 0.12 m3 net and 60 % added are 0.192 m3 (both worked from the
// definitions).
func TestCubicMetresBoughtAreNetAndTheAddOn(t *testing.T) {
	metric := func(u unit.Unit) func(*book.Data) {
		return func(d *book.Data) {
			asSawn(d, "white-oak-fas", u)
			s := timber(d, "white-oak-fas").Thicknesses
			s[0].Thickness, s[0].FinishesTo = 27*unit.Millimetre, 27*unit.Millimetre
			s[1].Thickness, s[1].FinishesTo = 40*unit.Millimetre, 40*unit.Millimetre
		}
	}
	p := parts(piece.FreePart{Name: "Board", Length: num.Whole(2400), Width: num.Whole(200), Thickness: mm(27), Material: "show", Extra: mm(0)})
	got := one(t, p, changed(t, starter(t), metric(unit.M3)))
	require.Equal(t, "0.01296", got.Timber[0].Needed.String())
	got = one(t, p, changed(t, starter(t), metric(unit.Bf)))
	require.Equal(t, "5.4921", got.Timber[0].Needed.String())

	p.Parts.Parts[0] = piece.FreePart{Name: "Board", Quantity: 3, Length: num.Whole(2500), Width: num.Whole(400), Thickness: mm(40), Material: "show", Extra: mm(0)}
	p.Waste = map[string]num.Percent{"show": 60_00}
	got = one(t, p, changed(t, starter(t), metric(unit.M3)))
	require.Equal(t, "0.12", got.Timber[0].Needed.String())
	require.Equal(t, "0.192", got.Timber[0].Quantity.String())
}

// Margin g on the price and mark-up m on the cost: m = g / (1 - g), worked to four
// places from the definition; a cost of 1000 is 1428.57 at a margin of 30 % and
// 1300.00 at a mark-up of 30 %.
func TestMarginAndMarkUpAreTwoWordsForOneProfit(t *testing.T) {
	b := changed(t, starter(t), func(d *book.Data) { d.Terms.RoundTo, d.Terms.Contingency, d.Terms.BoughtInMarkup = 0, 0, 0 })
	costing := func(margin, markup *num.Percent) (cost, price num.Money) {
		p := piece.Piece{Title: "Work of others", Kind: "service", Service: &piece.Service{}}
		p.BoughtIn = []piece.BoughtIn{{Description: "All of it", Quantity: num.One, Unit: "job", Rate: 1000_0000}}
		r := request1(p)
		r.Terms = &book.TermsChange{Profit: &book.Profit{Margin: margin, Markup: markup}}
		got := priced(t, r, b).Pieces[0]
		return step(&got, "cost").Amount, got.Price
	}
	for _, c := range []struct {
		margin num.Percent
		price  string // 1000 + the mark-up of the table, to a penny
		markup num.Percent
	}{
		{10_00, "1111.11", 11_11}, {15_00, "1176.47", 17_65}, {20_00, "1250.00", 25_00}, {25_00, "1333.33", 33_33},
		{30_00, "1428.57", 42_86}, {40_00, "1666.67", 66_67}, {50_00, "2000.00", 100_00},
	} {
		cost, price := costing(&c.margin, nil)
		require.Equal(t, "1000.00", cost.String())
		require.Equal(t, c.price, price.String(), "a margin of %s %%", c.margin)
		_, price = costing(nil, &c.markup)
		require.InDelta(t, cents(t, c.price), price.Minor(), 5, "a mark-up of %s %%: the table to two places", c.markup)
	}
	_, price := costing(nil, new(num.Percent(30_00)))
	require.Equal(t, "1300.00", price.String())
	_, price = costing(nil, nil)
	require.Equal(t, "1000.00", price.String(), "neither is no profit")
}

// cents returns a printed sum in hundredths.
func cents(t *testing.T, s string) int64 { return int64(number(t, s)) / int64(num.One/100) }
