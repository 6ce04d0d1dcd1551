package book_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Each detail carries what was written and what may be: the words here, in their
// order.
func TestDetails(t *testing.T) {
	for _, tt := range []struct {
		name string
		make func(*book.Data)
		says string
	}{
		{"code", func(d *book.Data) { d.Sheets[0].Code = "ply 6" }, `"ply 6" 64`},
		{"duplicate", func(d *book.Data) { d.Timbers[1].Code = "ash" }, `"ash" #/timbers/0/code`},
		{"no code", func(d *book.Data) { d.Sheets[0].Code = "" }, "the code is missing: write 64"},
		{"density", func(d *book.Data) { d.Timbers[0].Density = 5000 * num.One }, "5000 1 3000"},
		{"no density", func(d *book.Data) { d.Timbers[0].Density = 0 }, "missing or 0: write 1 3000"},
		{"no length", func(d *book.Data) { d.Timbers[0].Longest = 0 }, "missing or 0: write 1 20000 mm"},
		{"no transfer", func(d *book.Data) { d.Methods[0].Transfer = 0 }, "missing or 0: write 0.01 100"},
		{"slope", func(d *book.Data) { d.Timbers[0].Slope = 10 }, "10 8 6"},
		{"board width", func(d *book.Data) { d.Timbers[0].BoardWidth = mm(5) }, "5 mm 7 20000 mm"}, // edge allowance 6 + 1
		{"longest", func(d *book.Data) { d.Timbers[0].Longest = 25 * unit.Metre }, "25000 mm 1 20000 mm"},
		{"allowance", func(d *book.Data) { d.Timbers[0].LengthAllowance = -mm(1) }, "-1 mm 0 20000 mm"},
		{"waste", func(d *book.Data) { d.Timbers[0].Waste = 2000_50 }, "2000.5 0 1000"},
		{"factor", func(d *book.Data) { d.Timbers[0].WorkingFactor = 4 * num.One }, "4 0.5 3"},
		{"decimals of a factor", func(d *book.Data) { d.Timbers[0].WorkingFactor = 1_234_000 }, "1.234 2"},
		{"movement", func(d *book.Data) { d.Timbers[0].Movement.Radial = 2 * num.One }, "2 0 1"},
		{"finishes to", func(d *book.Data) { d.Timbers[0].Thicknesses[1].FinishesTo = mm(35) }, "35 mm 34 mm"},
		{"unit of timber", func(d *book.Data) { d.Timbers[0].Thicknesses[0].Price.Unit = unit.Kg }, `"kg" m3, ft3 or bf`},
		{"unit of sheets", func(d *book.Data) { d.Sheets[0].Price.Unit = unit.Pack }, `"pack" each m2`},
		{"unit of supplies", func(d *book.Data) { d.Supplies[0].Price.Unit = unit.Kg }, `"kg" pack`},
		{"unit of labour", func(d *book.Data) { d.Labour[0].Price.Unit = "day" }, `"day" h`},
		{"rate", func(d *book.Data) { d.Labour[0].Price.Rate = 2_000_000_0000 }, "2000000.00 1000000.00"},
		{"from", func(d *book.Data) { d.Labour[0].Price.From = d.AsOf.AddDays(30) }, "2026-12-01 2026-11-01"},
		{"charged", func(d *book.Data) { d.Sheets[0].Charged = "kg" }, `"kg" whole area`},
		{"charged, of a supply", func(d *book.Data) { d.Supplies[0].Charged = "area" }, `"area" whole used`},
		{"unit", func(d *book.Data) { d.Supplies[3].Unit = "roll" }, `"roll" m3 ft3 bf m2 m kg l h each km`},
		{"unit of a glue", func(d *book.Data) { d.Supplies[0].Unit = unit.L }, `glue kg "l"`},
		{"unit of a coating", func(d *book.Data) { d.Supplies[2].Unit = unit.Kg }, `coating l "kg"`},
		{"pack", func(d *book.Data) { d.Supplies[3].PackSize = -num.One }, "-1"},
		{"coating", func(d *book.Data) { *d.Supplies[2].Coating = book.Coating{} }, "coverage volume_solids_percent dry_film"},
		{"coating, twice", func(d *book.Data) { d.Supplies[2].Coating.Solids = 30_00 }, "coverage volume_solids_percent dry_film alone"},
		{"solids", func(d *book.Data) { d.Supplies[1].Coating.Solids = 120_00 }, "120 % 100"},
		{"hazard", func(d *book.Data) { d.Supplies[0].Hazards[0] = "loud" }, `"loud" isocyanate flammable drying_oil`},
		{"transfer", func(d *book.Data) { d.Methods[0].Transfer = 101_00 }, "101 % 0.01 100"},
		{"product", func(d *book.Data) { d.Finishes[1].Coats[0].Product = "glue" }, `"glue" coating`},
		{"method", func(d *book.Data) { d.Finishes[1].Coats[0].Method = "roll" }, `"roll" method`},
		{"coats", func(d *book.Data) { d.Finishes[1].Coats[0].Coats = 200 }, "200 1 100"},
		{"spread", func(d *book.Data) { *d.Supplies[1].Coating = book.Coating{Solids: 1, DryFilm: 1000 * num.One} }, "lacquer spray"},
		{"no grade", func(d *book.Data) { d.Stages[0].Grade = "" }, "the grade of labour is missing: name"},
		{"no way of charging", func(d *book.Data) { d.Sheets[0].Charged = "" }, "the word is missing: write whole or area"},
		{"grade", func(d *book.Data) { d.Stages[0].Grade = "joiner" }, `"joiner" grade`},
		{"stage", func(d *book.Data) { d.Rules[2].Stage = "sanding" }, `"sanding" stage`},
		{"item", func(d *book.Data) { d.Rules[6].Item = "string" }, `"string" supply`},
		{"stage or item", func(d *book.Data) { d.Rules[6].Item = "" }, "stage item"},
		{"measure", func(d *book.Data) { d.Rules[6].Measure = "metres" }, `"metres" measure`},
		{"setup", func(d *book.Data) { d.Rules[1].Setup = 1_001_000 }, "1.001 2"},
		{"per", func(d *book.Data) { d.Rules[1].Per = 500 }, "0.0005 0.001 1000000"},
		{"tag", func(d *book.Data) { d.Rules[5].When[0] = "kind:bed" }, `"kind:bed" dovetails:hand kind:chest kind:service`},
		{"with", func(d *book.Data) { d.Rules[0].With = "water" }, `"water" timber sheet supply finish ironmongery`},
		{"share not kept", func(d *book.Data) { d.Rules[6].Role = "show" }, "tape role"},
		{"role", func(d *book.Data) { d.Rules[5].Role = "outer" }, `"outer" role timber`},
		{"zone", func(d *book.Data) { d.Rules[1].Zone = "under" }, `"under" zone`},
		{"of", func(d *book.Data) { d.Rules[2].Of = "pull" }, `"pull" ironmongery`},
		{"fees", func(d *book.Data) { d.Terms.Fees = 60_00 }, "60 % 0 49.99"},
		{"margin", func(d *book.Data) { d.Terms.Profit.Margin = percent(97_50) }, "97.5 % 0 94.99"},
		{"profit", func(d *book.Data) { d.Terms.Profit.Markup = percent(1) }, "margin_percent price markup_percent cost"},
		{"overhead", func(d *book.Data) { d.Terms.Overhead.PerHour = nil }, "neither per_hour percent"},
		{"overhead, twice", func(d *book.Data) { d.Terms.Overhead.Percent = percent(10_00) }, "both per_hour percent"},
		{"round to", func(d *book.Data) { d.Terms.RoundTo = 12_345 }, "1.2345 GBP write at most 2"},
		{"round to, in yen", func(d *book.Data) { d.Currency, d.Terms.RoundTo = currency(t, "JPY"), 1_5000 }, "1.50 JPY write none"},
		{"round to a million", func(d *book.Data) { d.Terms.RoundTo = 1_000_000_0000 }, "1000000.00 0 1000000.00"},
		{"discount", func(d *book.Data) { d.Terms.Discount = 150_00 }, "150 % 0 100"},
		{"days", func(d *book.Data) { d.Terms.ValidDays = 5000 }, "5000 0 3650"},
		{"tax", func(d *book.Data) { d.Terms.Tax = "vat" }, `"vat" name`},
		{"no tax", func(d *book.Data) { d.Terms.Tax = "" }, "missing name"},
		{"code of a tax", func(d *book.Data) { d.Terms.Taxes[1].Code = "v%t" }, `"v%t" is not a code: write 64`},
		{"no code of a tax", func(d *book.Data) { d.Terms.Taxes[1].Code = "" }, "the code is missing: write 64"},
		{"a tax twice", func(d *book.Data) { d.Terms.Taxes[1].Code = d.Terms.Taxes[0].Code }, `stands twice`},
		{"paper", func(d *book.Data) { d.Terms.Workshop.Paper = "a3" }, `"a3" a4 letter`},
	} {
		d := valid(t)
		tt.make(&d)
		_, err := book.New(d)
		var l fault.List
		require.ErrorAs(t, err, &l, tt.name)
		rest := l[0].Detail
		for _, w := range strings.Fields(strings.ReplaceAll(tt.says, `"ply 6"`, `"ply`)) {
			_, after, found := strings.Cut(rest, w)
			assert.True(t, found, "%s: %q does not say %s in its place", tt.name, l[0].Detail, w)
			rest = after
		}
		assert.NotContains(t, l[0].Detail, "%!", tt.name)
	}
}

// The last figure allowed, on either side.
func TestLimits(t *testing.T) {
	for name, make := range map[string]func(*book.Data){
		"densities":    func(d *book.Data) { d.Timbers[0].Density, d.Sheets[0].Density = num.One, 3000*num.One },
		"board width":  func(d *book.Data) { d.Timbers[0].BoardWidth = mm(7) },
		"boards":       func(d *book.Data) { d.Timbers[0].BoardWidth, d.Timbers[0].Longest = 20*unit.Metre, 20*unit.Metre },
		"short boards": func(d *book.Data) { d.Timbers[0].Longest = mm(1) },
		"allowances": func(d *book.Data) {
			d.Timbers[0].WidthAllowance, d.Timbers[0].EdgeAllowance, d.Timbers[0].LengthAllowance = 0, 0, 0
		},
		"movement": func(d *book.Data) { d.Timbers[0].Movement = book.Movement{Tangential: num.One} },
		"thickness": func(d *book.Data) {
			d.Timbers[0].Thicknesses[0].Thickness, d.Timbers[0].Thicknesses[0].FinishesTo = 20*unit.Metre, 1000
		},
		"sheets": func(d *book.Data) {
			d.Sheets[0].Thickness, d.Sheets[0].Length, d.Sheets[0].Width = 1000, mm(1), 20*unit.Metre
		},
		"packs":    func(d *book.Data) { d.Supplies[3].PackSize, d.Supplies[2].PackSize = 1, 1_000_000*num.One },
		"glue":     func(d *book.Data) { d.Supplies[0].Glue.Spread, d.Supplies[0].Glue.Loss = 1_000_000*num.One, 1000_00 },
		"coverage": func(d *book.Data) { d.Supplies[2].Coating.Coverage = num.One / 1000 },
		"solids":   func(d *book.Data) { *d.Supplies[1].Coating = book.Coating{Solids: 100_00, DryFilm: num.One / 1000} },
		"mass":     func(d *book.Data) { d.Ironmongery[0].Mass = 10_000 * num.One },
		"transfer": func(d *book.Data) { d.Methods[0].Transfer, d.Methods[1].Transfer = 1, 100_00 },
		"coats":    func(d *book.Data) { d.Finishes[1].Coats[0].Coats, d.Finishes[1].Coats[1].Coats = 1, 100 },
		"rules":    func(d *book.Data) { d.Rules[1].Setup, d.Rules[1].Each, d.Rules[1].Per = 0, 0, num.One/1000 },
		"large rules": func(d *book.Data) {
			d.Rules[1].Setup, d.Rules[1].Each, d.Rules[1].Per = 1_000_000*num.One, 1_000_000*num.One, 1_000_000*num.One
		},
		"decimals": func(d *book.Data) { d.Rules[1].Setup, d.Rules[1].Each, d.Rules[1].Per = 10_000, 1000, 1_001_000 },
		"notes": func(d *book.Data) {
			d.Rules[1].Note, d.Timbers[0].Source = strings.Repeat("n", 4000), strings.Repeat("s", 4000)
		},
		"line breaks": func(d *book.Data) { d.Terms.Conditions[0].Text = "one\ntwo" },
		"percents": func(d *book.Data) {
			d.Terms.Contingency, d.Terms.BoughtInMarkup, d.Terms.Deposit = 1000_00, 1000_00, 100_00
		},
		"round to":      func(d *book.Data) { d.Terms.RoundTo = 999_999_9900 },
		"no hazards":    func(d *book.Data) { d.Supplies[0].Hazards = nil },
		"no rules":      func(d *book.Data) { d.Rules = nil },
		"no finishes":   func(d *book.Data) { d.Finishes = nil },
		"no address":    func(d *book.Data) { d.Terms.Workshop.Address = nil },
		"version":       func(d *book.Data) { d.Version = 0 },
		"prices of old": func(d *book.Data) { d.AsOf = d.AsOf.AddDays(36_500) },
	} {
		d := valid(t)
		make(&d)
		assert.Nil(t, pointers(t, d), name)
	}
}
