package pricing_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// codes returns the codes of checks in their order.
func codes(checks []pricing.Check) []string {
	var all []string
	for _, c := range checks {
		all = append(all, c.Code)
	}
	return all
}

// check returns the check of a code; there must be one, and no second.
func check(t *testing.T, p pricing.PricedPiece, code string) pricing.Check {
	var found []pricing.Check
	for _, c := range p.Checks {
		if c.Code == code {
			found = append(found, c)
		}
	}
	require.Len(t, found, 1, "%s among %v", code, codes(p.Checks))
	return found[0]
}

// bad is a wide, tall, thin-bottomed chest at too low a price, of which nearly
// everything can be said.
func bad(t testing.TB) piece.Piece {
	p := chest(t)
	p.Title, p.Glue = "A bad chest", ""
	p.Chest.Width, p.Chest.Depth, p.Chest.Height = num.Whole(1100), num.Whole(650), num.Whole(900)
	p.Chest.Drawers.Box, p.Chest.Rows[0].Across = mm(11), 1
	p.Waste = map[string]num.Percent{"sheet": 0}
	p.AgreedPrice = new(num.Rate(10_0000))
	return p
}

func TestEveryCheckInItsOrder(t *testing.T) {
	b := starter(t)
	p := bad(t)
	got := one(t, p, b)
	require.Equal(t, []string{
		"groove_deep", "bottom_sag", "front_from_strips", "wide_panel", "stability", "two_people",
		"no_glue", "below_terms", "wood_dust", "flammable", "drying_oil",
	}, codes(got.Checks))
	p.Glue = "pu-slow"
	got = one(t, p, b)
	require.Equal(t, []string{"below_terms", "wood_dust", "isocyanate", "flammable", "drying_oil"}, codes(got.Checks)[6:])
	for _, c := range got.Checks {
		want := "caution"
		if c.Code == "below_terms" {
			want = "warning" // the line loses money
		}
		assert.Equal(t, want, c.Severity, c.Code)
		assert.Equal(t, "#/pieces/0", c.Pointer, c.Code)
		ofTheShop := slices.Contains([]string{"wood_dust", "isocyanate", "flammable", "drying_oil"}, c.Code)
		assert.Equal(t, !ofTheShop, strings.HasPrefix(c.Message, "A bad chest: "), "%s: the title, but for what is the same for every piece", c.Message)
		assert.Equal(t, ofTheShop, strings.Contains(c.Message, "local rules and the product's own data sheet"), c.Message)
		assert.True(t, c.Source != "" || c.Code == "below_terms", "%s names no source", c.Code)
	}
}

// Each check speaks from its limit on and not before, and gives its figures.
func TestChecksKeepTheirLimits(t *testing.T) {
	b := starter(t)
	plain := chest(t)
	for _, c := range []struct {
		code    string
		in, out func(*piece.Piece) // it is said; it is not
		figures []string
	}{
		{"groove_deep", func(p *piece.Piece) { p.Chest.Drawers.Box = mm(11) }, func(p *piece.Piece) { p.Chest.Drawers.Box = mm(12) }, []string{"5 mm", "11 mm"}},
		{
			"bottom_sag", func(p *piece.Piece) { p.Chest.Depth = num.Whole(540) },
			func(p *piece.Piece) { p.Chest.Depth, p.Sheets["bottom"] = num.Whole(540), "birch-ply-9" }, []string{"6 mm", "477 mm"},
		},
		{
			"stability", func(p *piece.Piece) { p.Chest.Height = num.Whole(687) },
			func(p *piece.Piece) { p.Chest.Height = num.Whole(686) }, []string{"687 mm"},
		},
		{
			"front_from_strips", func(p *piece.Piece) {},
			func(p *piece.Piece) {
				p.Chest.Rows = []piece.Row{{}, {}, {}}
				p.Chest.Height = num.Whole(25 + 80 + 80 + 3*146)
			}, []string{"188 mm", "2 strips"},
		},
		{"no_glue", func(p *piece.Piece) { p.Glue = "" }, func(*piece.Piece) {}, nil},
		{"isocyanate", func(p *piece.Piece) { p.Glue = "pu-fast" }, func(p *piece.Piece) { p.Glue = "hide" }, []string{"polyurethane"}},
		{
			"flammable", func(p *piece.Piece) { p.Finishes["inside"] = "shellac-1" },
			func(p *piece.Piece) { p.Finishes, p.Glue = map[string]string{"inside": "bare"}, "pva" }, []string{"Shellac"},
		},
		{
			"drying_oil", func(p *piece.Piece) { p.Finishes["outside"] = "oil-wax" },
			func(p *piece.Piece) { p.Finishes["outside"] = "lacquer-brush" }, []string{"Hard oil", "ags"},
		},
		{
			"below_terms", func(p *piece.Piece) { p.AgreedPrice = new(num.Rate(1000_0000)) },
			func(p *piece.Piece) { p.AgreedPrice = new(num.Rate(9000_0000)) }, []string{"1000.00"},
		},
	} {
		t.Run(c.code, func(t *testing.T) {
			p := copied(t, request1(plain)).Pieces[0]
			c.in(&p)
			message := check(t, one(t, p, b), c.code).Message
			for _, figure := range c.figures {
				assert.Contains(t, message, figure)
			}
			p = copied(t, request1(plain)).Pieces[0]
			c.out(&p)
			assert.NotContains(t, codes(one(t, p, b).Checks), c.code)
		})
	}
}

// A panel is one part from strips: of 600 mm it is not said, of 600.5 it is.
func TestWidePanelsAreSaidFromTheirLimitOn(t *testing.T) {
	b := starter(t)
	top := piece.FreePart{Name: "Top", Length: num.Whole(900), Width: num.Whole(600), Thickness: mm(22), Material: "show"}
	require.NotContains(t, codes(one(t, parts(top), b).Checks), "wide_panel")
	top.Width += num.One / 2
	require.Contains(t, check(t, one(t, parts(top), b), "wide_panel").Message, "Top 600.5 mm wide")
}

// Lifting: over 25 kg two people, over 50 three; one box, or one case without its
// drawers, whatever the quantity. A box all of one timber is as heavy as that is.
func TestLiftingFollowsTheMassOfOne(t *testing.T) {
	b := starter(t)
	large := piece.Piece{
		Title: "Boxes", Kind: "drawer_boxes", Timbers: map[string]string{"inner": "tulipwood-select"}, Glue: "pva", Quantity: 3,
		DrawerBoxes: &piece.DrawerBoxes{
			Boxes:       []piece.BoxSize{{Width: num.Whole(900), Height: num.Whole(300), Depth: num.Whole(600)}},
			DrawerStyle: piece.DrawerStyle{Box: mm(16), Bottom: "solid"},
		},
	}
	weighing := func(density num.Decimal) pricing.PricedPiece {
		return one(t, large, changed(t, b, func(d *book.Data) { timber(d, "tulipwood-select").Density = density }))
	}
	thousand := weighing(num.Whole(1000))
	for limit, people := range map[int]string{25: "(two people)", 50: "(three people)"} {
		density := num.Product(0, thousand.Mass, num.Whole(1000), num.Whole(limit))
		for weighing(density).Mass > num.Whole(limit) {
			density -= num.One
		}
		for weighing(density).Mass <= num.Whole(limit) {
			density += num.One
		}
		over, under := weighing(density), weighing(density-num.One)
		message := check(t, over, "two_people").Message
		require.Contains(t, message, "a drawer 900 mm wide and 300 mm high, "+over.Mass.String()+" kg "+people)
		if limit == 25 {
			require.NotContains(t, codes(under.Checks), "two_people", "%s kg", under.Mass)
		} else {
			require.Contains(t, check(t, under, "two_people").Message, "(two people)", "%s kg", under.Mass)
		}
	}
}

// The case is weighed without its drawers, and an applied front goes with them.
func TestTheCaseIsLiftedWithoutItsDrawers(t *testing.T) {
	b := starter(t)
	p := chest(t)
	p.Timbers["show"] = "tulipwood-select"
	p.Chest.Width = num.Whole(600)
	light := one(t, p, b)
	require.NotContains(t, codes(light.Checks), "two_people", "%s kg, drawers and all", light.Mass)
	for _, construction := range []string{"lapped", "applied"} {
		p.Chest.Drawers.Construction = construction
		heavy := one(t, p, changed(t, b, func(d *book.Data) { timber(d, "tulipwood-select").Density = num.Whole(800) }))
		mass := num.Decimal(0)
		ofDrawers := []string{"Drawer front", "Drawer back", "Drawer bottom", "Tail board", "Pin board", "Applied front"}
		for _, c := range heavy.Parts {
			density := num.Whole(800)
			switch {
			case slices.Contains(ofDrawers, c.Name):
				continue
			case c.Name == "Back":
				density = b.Sheet("birch-ply-6").Density
			}
			mass += num.Product(6, num.One, c.FinishedVolume, density)
		}
		require.Contains(t, check(t, heavy, "two_people").Message, "the case without its drawers, "+mass.Round(3).String()+" kg (two people)", construction)
	}
}

// Below the terms but above the cost is a caution that gives what the line earns;
// below the cost a warning that gives what it loses.
func TestAnAgreedPriceBelowTheTerms(t *testing.T) {
	b := starter(t)
	p := chest(t)
	asked := one(t, p, b)
	cost := step(&asked, "cost").Amount
	for _, c := range []struct {
		agreed   num.Rate
		severity string
		words    string
	}{
		{num.Rate(asked.Price.Minor()) * 100, "", ""},
		{num.Rate(asked.Price.Minor()-1) * 100, "caution", "the line earns"},
		{num.Rate(cost.Minor()) * 100, "caution", "the line earns 0.00"},
		{num.Rate(cost.Minor()-1) * 100, "warning", "the line loses 0.01"},
		{0, "warning", "the line loses " + cost.String()},
	} {
		p.AgreedPrice = &c.agreed
		got := one(t, p, b)
		require.Equal(t, c.agreed.String()[:len(got.Price.String())], got.Price.String())
		if c.severity == "" {
			require.NotContains(t, codes(got.Checks), "below_terms")
			continue
		}
		said := check(t, got, "below_terms")
		require.Equal(t, c.severity, said.Severity)
		require.Contains(t, said.Message, c.words)
		require.Contains(t, said.Message, asked.Price.String())
	}
}

// Glue is missed where joints are glued, not where there are none; dust where
// there is timber or sheet.
func TestServicesSayNothing(t *testing.T) {
	c := priced(t, read(t, demo(t, "full-quotation")), starter(t))
	for i := range c.Pieces {
		if c.Pieces[i].Kind == "service" {
			require.Empty(t, c.Pieces[i].Checks)
		}
	}
	shelf := one(t, parts(piece.FreePart{Name: "Shelf", Length: num.Whole(600), Width: num.Whole(100), Thickness: mm(20), Material: "show"}), starter(t))
	require.Equal(t, []string{"wood_dust"}, codes(shelf.Checks))
}

// The answer's cautions are the messages of all checks, each once.
func TestCautionsAreSaidOnce(t *testing.T) {
	r := read(t, demo(t, "drawer-boxes"))
	r.Pieces = append(r.Pieces, r.Pieces[0], r.Pieces[0])
	r.Pieces[1].ID, r.Pieces[2].ID, r.Pieces[2].Title = "again", "others", "Other boxes"
	c := priced(t, r, starter(t))
	var want []string
	for _, p := range c.Pieces {
		for _, k := range p.Checks {
			if !slices.Contains(want, k.Message) {
				want = append(want, k.Message)
			}
		}
	}
	require.Less(t, len(want), 3*len(c.Pieces[0].Checks))
	require.Equal(t, want, c.Cautions)
	require.Equal(t, "#/pieces/1", c.Pieces[1].Checks[0].Pointer)
}
