package book_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A change is one change of valid data and where New finds the faults of it.
type change struct {
	name string
	make func(*book.Data)
	want string // pointers, apart by spaces
}

func checkChanges(t *testing.T, changes []change) {
	t.Helper()
	for _, c := range changes {
		d := valid(t)
		c.make(&d)
		assert.Equal(t, strings.Fields(c.want), append([]string{}, pointers(t, d)...), c.name)
	}
}

func TestCodes(t *testing.T) {
	const long = "a234567890123456789012345678901234567890123456789012345678901234" // 64
	checkChanges(t, []change{
		{"none", func(d *book.Data) {}, ""},
		{"no currency", func(d *book.Data) { d.Currency = num.Currency{} }, "#/currency"},
		{"no date", func(d *book.Data) { d.AsOf = date.Date{} }, "#/as_of"},
		{"no code", func(d *book.Data) { d.Timbers[0].Code = "" }, "#/timbers/0/code #/rules/4/role"},
		{"a space in a code", func(d *book.Data) { d.Sheets[0].Code = "ply 6" }, "#/sheets/0/code"},
		{"a letter beyond ASCII", func(d *book.Data) {
			d.Ironmongery = append(d.Ironmongery, book.Fitting{Code: "kn\u00f6b", Description: "K"})
		}, "#/ironmongery/1/code"},
		{"64 characters", func(d *book.Data) { d.Sheets[0].Code = long }, ""},
		{"65 characters", func(d *book.Data) { d.Sheets[0].Code = long + "5" }, "#/sheets/0/code"},
		{"capitals, digits and marks", func(d *book.Data) { d.Sheets[0].Code = "A.1_b-2" }, ""},
		{"two timbers", func(d *book.Data) { d.Timbers[1].Code = "ash" }, "#/timbers/1/code"},
		{"two thicknesses", func(d *book.Data) { d.Timbers[0].Thicknesses[1].Code = "ash-27" }, "#/timbers/0/thicknesses/1/code"},
		{"a thickness and its timber", func(d *book.Data) { d.Timbers[0].Thicknesses[0].Code = "ash" }, "#/timbers/0/thicknesses/0/code"},
		{"a sheet and a thickness", func(d *book.Data) { d.Sheets[0].Code = "ash-27" }, "#/sheets/0/code"},
		{"a supply and a sheet", func(d *book.Data) { d.Supplies[3].Code = "ply-6"; d.Rules = nil }, "#/supplies/3/code"},
		{"ironmongery and a supply", func(d *book.Data) { d.Ironmongery[0].Code = "oil"; d.Rules = nil }, "#/ironmongery/0/code"},
		{"a method and ironmongery", func(d *book.Data) { d.Methods = append(d.Methods, book.Method{Code: "knob", Transfer: 1}) }, "#/methods/2/code"},
		{"a finish and a method", func(d *book.Data) { d.Finishes[0].Code = "wipe" }, "#/finishes/0/code"},
		{"a grade and a finish", func(d *book.Data) { d.Labour = append(d.Labour, book.Grade{Code: "bare", Description: "B"}) }, "#/labour/1/code"},
		{"a stage and a grade", func(d *book.Data) {
			d.Stages = append(d.Stages, book.Stage{Code: "bench", Description: "B", Grade: "bench"})
		}, "#/stages/2/code"},
		{"a rule and a stage", func(d *book.Data) { d.Rules[0].Code = "sawing" }, "#/rules/0/code"},
		{"two rules", func(d *book.Data) { d.Rules[6].Code = "rub" }, "#/rules/6/code"},
		{"three alike", func(d *book.Data) { d.Rules[5].Code, d.Rules[6].Code = "rub", "rub" }, "#/rules/5/code #/rules/6/code"},
	})
}

func TestMaterials(t *testing.T) {
	checkChanges(t, []change{
		{"no description", func(d *book.Data) { d.Timbers[0].Description = "" }, "#/timbers/0/description"},
		{"201 characters", func(d *book.Data) { d.Sheets[0].Description = strings.Repeat("\u00e9", 201) }, "#/sheets/0/description"},
		{"200 characters", func(d *book.Data) { d.Sheets[0].Description = strings.Repeat("\u00e9", 200) }, ""},
		{"a tab", func(d *book.Data) { d.Supplies[0].Description = "a\tb" }, "#/supplies/0/description"},
		{"a long source", func(d *book.Data) { d.Timbers[0].Source = strings.Repeat("x", 4001) }, "#/timbers/0/source"},
		{"no density", func(d *book.Data) { d.Timbers[0].Density = 0 }, "#/timbers/0/density"},
		{"a heavy sheet", func(d *book.Data) { d.Sheets[0].Density = 3000*num.One + 1 }, "#/sheets/0/density"},
		{"slope 7", func(d *book.Data) { d.Timbers[0].Slope = 7 }, "#/timbers/0/slope"},
		{"no slope", func(d *book.Data) { d.Timbers[0].Slope = 0 }, "#/timbers/0/slope"},
		{"a board as wide as its edges", func(d *book.Data) { d.Timbers[0].BoardWidth = mm(6) }, "#/timbers/0/board_width"},
		{"a board of 20.001 m", func(d *book.Data) { d.Timbers[0].Longest = 20*unit.Metre + 1 }, "#/timbers/0/longest"},
		{"a board without length", func(d *book.Data) { d.Timbers[1].Longest = 0 }, "#/timbers/1/longest"},
		{"allowances below 0", func(d *book.Data) {
			d.Timbers[0].WidthAllowance, d.Timbers[0].EdgeAllowance, d.Timbers[0].LengthAllowance = -1, -1, -1
		}, "#/timbers/0/width_allowance #/timbers/0/edge_allowance #/timbers/0/length_allowance"},
		{"waste over 1000", func(d *book.Data) { d.Timbers[0].Waste = 1000_01 }, "#/timbers/0/waste_percent"},
		{"waste of 1000", func(d *book.Data) { d.Timbers[0].Waste = 1000_00 }, ""},
		{"waste of sheets", func(d *book.Data) { d.Sheets[0].Waste = -1 }, "#/sheets/0/waste_percent"},
		{"factor 0.49", func(d *book.Data) { d.Timbers[0].WorkingFactor = 490_000 }, "#/timbers/0/working_factor"},
		{"factor 3.01", func(d *book.Data) { d.Timbers[0].WorkingFactor = 3_010_000 }, "#/timbers/0/working_factor"},
		{"factor 1.005", func(d *book.Data) { d.Timbers[0].WorkingFactor = 1_005_000 }, "#/timbers/0/working_factor"},
		{"factors 0.5 and 3", func(d *book.Data) { d.Timbers[0].WorkingFactor, d.Timbers[1].WorkingFactor = 500_000, 3_000_000 }, ""},
		{"movement", func(d *book.Data) { d.Timbers[0].Movement = book.Movement{Radial: -1, Tangential: num.One + 1} }, "#/timbers/0/movement/radial #/timbers/0/movement/tangential"},
		{"no sawn thickness", func(d *book.Data) { d.Timbers[0].Thicknesses[0].Thickness = 0 }, "#/timbers/0/thicknesses/0/thickness #/timbers/0/thicknesses/0/finishes_to"},
		{"finishes thicker", func(d *book.Data) { d.Timbers[0].Thicknesses[0].FinishesTo = mm(27) + 1 }, "#/timbers/0/thicknesses/0/finishes_to"},
		{"finishes as sawn", func(d *book.Data) { d.Timbers[0].Thicknesses[0].FinishesTo = mm(27) }, ""},
		{"finishes to nothing", func(d *book.Data) { d.Timbers[0].Thicknesses[0].FinishesTo = 0 }, "#/timbers/0/thicknesses/0/finishes_to"},
		{"sizes of a sheet", func(d *book.Data) {
			d.Sheets[0].Thickness, d.Sheets[0].Length, d.Sheets[0].Width = 0, 0, 20*unit.Metre+1
		}, "#/sheets/0/thickness #/sheets/0/length #/sheets/0/width"},
		{"a sheet charged by use", func(d *book.Data) { d.Sheets[0].Charged = book.Used }, "#/sheets/0/charged"},
		{"a sheet charged by area", func(d *book.Data) { d.Sheets[0].Charged = book.Area }, ""},
		{"a heavy knob", func(d *book.Data) { d.Ironmongery[0].Mass = -1 }, "#/ironmongery/0/mass"},
		{"a knob without words", func(d *book.Data) { d.Ironmongery[0].Description = "" }, "#/ironmongery/0/description"},
	})
}

func TestPrices(t *testing.T) {
	checkChanges(t, []change{
		{"timber each", func(d *book.Data) { d.Timbers[0].Thicknesses[0].Price.Unit = unit.Each }, "#/timbers/0/thicknesses/0/price/unit"},
		{"timber by the foot", func(d *book.Data) { d.Timbers[0].Thicknesses[0].Price.Unit = unit.Ft3 }, ""},
		{"timber by the board foot", func(d *book.Data) { d.Timbers[0].Thicknesses[0].Price.Unit = unit.Bf }, ""},
		{"a sheet by volume", func(d *book.Data) { d.Sheets[0].Price.Unit = unit.M3 }, "#/sheets/0/price/unit"},
		{"a sheet by area", func(d *book.Data) { d.Sheets[0].Price.Unit = unit.M2 }, ""},
		{"a supply by its unit", func(d *book.Data) { d.Supplies[0].Price.Unit = unit.Kg }, "#/supplies/0/price/unit"},
		{"ironmongery by the pack", func(d *book.Data) { d.Ironmongery[0].Price.Unit = unit.Pack }, "#/ironmongery/0/price/unit"},
		{"labour by the minute", func(d *book.Data) { d.Labour[0].Price.Unit = unit.Min }, "#/labour/0/price/unit"},
		{"no unit", func(d *book.Data) { d.Labour[0].Price.Unit = "" }, "#/labour/0/price/unit"},
		{"a rate of a million", func(d *book.Data) { d.Labour[0].Price.Rate = 1_000_000_0000 }, "#/labour/0/price/rate"},
		{"a rate below it", func(d *book.Data) { d.Labour[0].Price.Rate = 999_999_9999 }, ""},
		{"a rate below 0", func(d *book.Data) { d.Ironmongery[0].Price.Rate = -1 }, "#/ironmongery/0/price/rate"},
		{"a rate of 0", func(d *book.Data) { d.Ironmongery[0].Price.Rate = 0 }, ""},
		{"tomorrow's price", func(d *book.Data) { d.Sheets[0].Price.From = d.AsOf.AddDays(1) }, "#/sheets/0/price/from"},
		{"today's price", func(d *book.Data) { d.Sheets[0].Price.From = d.AsOf }, ""},
		{"no prices", func(d *book.Data) {
			d.Timbers[0].Thicknesses[0].Price, d.Sheets[0].Price, d.Labour[0].Price = nil, nil, nil
		}, ""},
	})
}

func TestSupplies(t *testing.T) {
	checkChanges(t, []change{
		{"minutes", func(d *book.Data) { d.Supplies[3].Unit = unit.Min }, "#/supplies/3/unit"},
		{"packs", func(d *book.Data) { d.Supplies[3].Unit = unit.Pack }, "#/supplies/3/unit"},
		{"rolls", func(d *book.Data) { d.Supplies[3].Unit = "roll" }, "#/supplies/3/unit"},
		{"hours", func(d *book.Data) { d.Supplies[3].Unit = unit.H }, ""},
		{"an empty pack", func(d *book.Data) { d.Supplies[3].PackSize = 0 }, "#/supplies/3/pack_size"},
		{"charged by area", func(d *book.Data) { d.Supplies[3].Charged = book.Area }, "#/supplies/3/charged"},
		{"no way of charging", func(d *book.Data) { d.Supplies[3].Charged = "" }, "#/supplies/3/charged"},
		{"glue by the litre", func(d *book.Data) { d.Supplies[0].Unit = unit.L }, "#/supplies/0/unit"},
		{"oil by the kilogram", func(d *book.Data) { d.Supplies[2].Unit = unit.Kg }, "#/supplies/2/unit"},
		{"glue below 0", func(d *book.Data) {
			*d.Supplies[0].Glue = book.Glue{Spread: -1, Loss: -1, PotLoss: -1, OpenMinutes: -1, ClampMinutes: -1}
		}, "#/supplies/0/glue/spread #/supplies/0/glue/loss_percent #/supplies/0/glue/pot_loss #/supplies/0/glue/open_minutes #/supplies/0/glue/clamp_minutes"},
		{"a glue that loses nothing", func(d *book.Data) { *d.Supplies[0].Glue = book.Glue{} }, ""},
		{"no coverage", func(d *book.Data) { *d.Supplies[2].Coating = book.Coating{} }, "#/supplies/2/coating"},
		{"coverage and solids", func(d *book.Data) { d.Supplies[2].Coating.Solids = 30_00 }, "#/supplies/2/coating"},
		{"coverage and film", func(d *book.Data) { d.Supplies[2].Coating.DryFilm = num.One }, "#/supplies/2/coating"},
		{"solids alone", func(d *book.Data) { d.Supplies[1].Coating.DryFilm = 0 }, "#/supplies/1/coating/dry_film"},
		{"film alone", func(d *book.Data) { d.Supplies[1].Coating.Solids = 0 }, "#/supplies/1/coating/volume_solids_percent"},
		{"solids over 100", func(d *book.Data) { d.Supplies[1].Coating.Solids = 100_01 }, "#/supplies/1/coating/volume_solids_percent"},
		{"coverage below 0", func(d *book.Data) { d.Supplies[2].Coating.Coverage = -1 }, "#/supplies/2/coating/coverage"},
		{"covers no area", func(d *book.Data) {
			*d.Supplies[1].Coating = book.Coating{Solids: 1, DryFilm: 1000 * num.One}
		}, "#/finishes/1/coats/1"}, // 10 x 0.01 / 1000 rounds to 0
		{"a hazard", func(d *book.Data) { d.Supplies[2].Hazards[1] = "sharp" }, "#/supplies/2/hazards/1"},
		{"methods", func(d *book.Data) { d.Methods[0].Transfer, d.Methods[1].Transfer = 0, 100_01 }, "#/methods/0/transfer_percent #/methods/1/transfer_percent"},
		{"an unknown product", func(d *book.Data) { d.Finishes[1].Coats[0].Product = "ash" }, "#/finishes/1/coats/0/product"},
		{"a product without a coating", func(d *book.Data) { d.Finishes[1].Coats[0].Product = "glue" }, "#/finishes/1/coats/0/product"},
		{"an unknown method", func(d *book.Data) { d.Finishes[1].Coats[0].Method = "brush" }, "#/finishes/1/coats/0/method"},
		{"no coats", func(d *book.Data) { d.Finishes[1].Coats[0].Coats = 0 }, "#/finishes/1/coats/0/coats"},
		{"101 coats", func(d *book.Data) { d.Finishes[1].Coats[0].Coats = 101 }, "#/finishes/1/coats/0/coats"},
		{"nothing right in a coat", func(d *book.Data) { d.Finishes[1].Coats[0] = book.Coat{Product: "a", Method: "b"} },
			"#/finishes/1/coats/0/product #/finishes/1/coats/0/coats #/finishes/1/coats/0/method"},
		{"an unknown grade", func(d *book.Data) { d.Stages[1].Grade = "sawing" }, "#/stages/1/grade"},
		{"no grade", func(d *book.Data) { d.Stages[1].Grade = "" }, "#/stages/1/grade"},
	})
}

func TestRules(t *testing.T) {
	checkChanges(t, []change{
		{"an unknown stage", func(d *book.Data) { d.Rules[2].Stage = "bench" }, "#/rules/2/stage"},
		{"an unknown item", func(d *book.Data) { d.Rules[6].Item = "knob" }, "#/rules/6/item"},
		{"neither", func(d *book.Data) { d.Rules[6].Item = "" }, "#/rules/6"},
		{"both", func(d *book.Data) { d.Rules[6].Stage = "sawing" }, "#/rules/6"},
		{"an unknown measure", func(d *book.Data) { d.Rules[6].Measure = "tapes" }, "#/rules/6/measure"},
		{"no measure", func(d *book.Data) { d.Rules[6].Measure = "" }, "#/rules/6/measure"},
		{"setup with three decimals", func(d *book.Data) { d.Rules[1].Setup = 1_005_000 }, "#/rules/1/setup"},
		{"each with four", func(d *book.Data) { d.Rules[1].Each = 1_000_500 }, "#/rules/1/each"},
		{"per with four", func(d *book.Data) { d.Rules[1].Per = 1_000_500 }, "#/rules/1/per"},
		{"per below 0", func(d *book.Data) { d.Rules[1].Per = -1 }, "#/rules/1/per"},
		{"below 0", func(d *book.Data) { d.Rules[1].Setup, d.Rules[1].Each, d.Rules[1].Per = -num.One, -num.One, -num.One }, "#/rules/1/setup #/rules/1/each #/rules/1/per"},
		{"a million and more", func(d *book.Data) { d.Rules[1].Each = 1_000_001 * num.One }, "#/rules/1/each"},
		{"a long note", func(d *book.Data) { d.Rules[1].Note = strings.Repeat("x", 4001) }, "#/rules/1/note"},
		{"a tag", func(d *book.Data) { d.Rules[5].When[1] = "dovetails:robot" }, "#/rules/5/when/1"},
		{"tags", func(d *book.Data) { d.Rules[5].When = []string{"", "hand", "Kind:chest"} }, "#/rules/5/when/0 #/rules/5/when/1 #/rules/5/when/2"},
		{"an unknown with", func(d *book.Data) { d.Rules[0].With = "ash-27" }, "#/rules/0/with"},
		{"with a stage", func(d *book.Data) { d.Rules[0].With = "sawing" }, "#/rules/0/with"},
		// Shares that the measure does not keep.
		{"role of a coat", func(d *book.Data) { d.Rules[1].Role = "show" }, "#/rules/1/role"},
		{"zone of a board", func(d *book.Data) { d.Rules[5].Zone = "inside" }, "#/rules/5/zone"},
		{"method of denibbing", func(d *book.Data) { d.Rules[3].Method = "wipe" }, "#/rules/3/method"},
		{"product of denibbing", func(d *book.Data) { d.Rules[3].Of = "oil" }, "#/rules/3/of"},
		{"all four of a whole measure", func(d *book.Data) {
			r := &d.Rules[6]
			r.Role, r.Zone, r.Method, r.Of = "show", "inside", "wipe", "oil"
		}, "#/rules/6/role #/rules/6/zone #/rules/6/method #/rules/6/of"},
		// Shares that are none.
		{"an unknown role", func(d *book.Data) { d.Rules[5].Role = "ash-27" }, "#/rules/5/role"},
		{"a role of sheets", func(d *book.Data) { d.Rules[5].Role = "bottom" }, "#/rules/5/role"},
		{"the sheets' role", func(d *book.Data) { d.Rules[5].Role = "sheet" }, ""},
		{"an unknown zone", func(d *book.Data) { d.Rules[1].Zone = "top" }, "#/rules/1/zone"},
		{"an unknown method of coats", func(d *book.Data) { d.Rules[1].Method = "brush" }, "#/rules/1/method"},
		{"coats of a glue", func(d *book.Data) { d.Rules[1].Of = "glue" }, "#/rules/1/of"},
		{"coats of a knob", func(d *book.Data) { d.Rules[1].Of = "knob" }, "#/rules/1/of"},
		{"ironmongery of oil", func(d *book.Data) { d.Rules[2].Of = "oil" }, "#/rules/2/of"},
	})
	for _, with := range []string{"ash", "ply-6", "oil", "oil-3", "bare", "knob"} {
		d := valid(t)
		d.Rules[0].With = with
		assert.Nil(t, pointers(t, d), with)
	}
	for _, tag := range []string{"dovetails:hand", "dovetails:machine", "construction:lapped", "construction:applied", "bottom:sheet", "bottom:solid", "kind:chest", "kind:drawer_boxes", "kind:parts", "kind:service"} {
		d := valid(t)
		d.Rules[6].When = []string{tag}
		assert.Nil(t, pointers(t, d), tag)
	}
}

// Every fault is said at once, in the order of the data, with its figures.
func TestAllFaultsInOrder(t *testing.T) {
	d := valid(t)
	d.Rules[6].Measure = "tapes"
	d.Rules[0].Each = -num.One
	d.Stages[0].Grade = "joiner"
	d.Supplies[3].Unit = "roll"
	d.Sheets[0].Charged = "weight"
	d.Timbers[1].Slope = 12
	d.Timbers[0].Thicknesses[1].FinishesTo = mm(40)
	d.Timbers[0].Density = 5000 * num.One
	d.Terms.Tax = "vat"
	d.Terms.Fees = 50_00
	d.Terms.Overhead = book.Overhead{}
	_, err := book.New(d)
	var l fault.List
	require.ErrorAs(t, err, &l)
	want := []string{
		"#/terms/overhead per_hour percent", "#/terms/fees_percent 50 49.99", "#/terms/tax vat", "#/timbers/0/density 5000 3000",
		"#/timbers/0/thicknesses/1/finishes_to 40 34", "#/timbers/1/slope 12", "#/sheets/0/charged weight whole area", "#/supplies/3/unit roll",
		"#/stages/0/grade joiner", "#/rules/0/each -1", "#/rules/6/measure tapes",
	}
	require.Len(t, l, len(want), "%v", l)
	for i, w := range want {
		pointer, figures, _ := strings.Cut(w, " ")
		assert.Equal(t, pointer, l[i].Pointer)
		for _, f := range strings.Fields(figures) {
			assert.Contains(t, l[i].Detail, f, pointer)
		}
	}
}

// A duplicate code says where the other one stands.
func TestDuplicateSaysWhere(t *testing.T) {
	d := valid(t)
	d.Sheets[0].Code = "ash-27"
	_, err := book.New(d)
	assert.ErrorContains(t, err, "#/timbers/0/thicknesses/0/code")
}
