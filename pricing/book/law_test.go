package book_test

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// apart are changes that do not touch each other, in the order of the data, each
// with the pointer of its one fault.
func apart() []change {
	return []change{
		{"contingency", func(d *book.Data) { d.Terms.Contingency = 1000_01 }, "#/terms/contingency_percent"},
		{"tax", func(d *book.Data) { d.Terms.Tax = "none" }, "#/terms/tax"},
		{"density", func(d *book.Data) { d.Timbers[0].Density = 0 }, "#/timbers/0/density"},
		{"finish", func(d *book.Data) { d.Timbers[0].Thicknesses[0].FinishesTo = mm(30) }, "#/timbers/0/thicknesses/0/finishes_to"},
		{"slope", func(d *book.Data) { d.Timbers[1].Slope = 0 }, "#/timbers/1/slope"},
		{"sheet", func(d *book.Data) { d.Sheets[0].Price.Unit = "" }, "#/sheets/0/price/unit"},
		{"pack", func(d *book.Data) { d.Supplies[3].PackSize = 0 }, "#/supplies/3/pack_size"},
		{"mass", func(d *book.Data) { d.Ironmongery[0].Mass = -1 }, "#/ironmongery/0/mass"},
		{"transfer", func(d *book.Data) { d.Methods[1].Transfer = 0 }, "#/methods/1/transfer_percent"},
		{"coats", func(d *book.Data) { d.Finishes[1].Coats[1].Coats = 0 }, "#/finishes/1/coats/1/coats"},
		{"rate", func(d *book.Data) { d.Labour[0].Price.Rate = -1 }, "#/labour/0/price/rate"},
		{"grade", func(d *book.Data) { d.Stages[0].Grade = "" }, "#/stages/0/grade"},
		{"setup", func(d *book.Data) { d.Rules[0].Setup = -1 }, "#/rules/0/setup"},
		{"measure", func(d *book.Data) { d.Rules[5].Measure = "" }, "#/rules/5/measure"},
		{"item", func(d *book.Data) { d.Rules[6].Item = "none" }, "#/rules/6/item"},
	}
}

// The faults of several changes are those of each, in the order of the data,
// whatever the order in which they were made.
func TestFaultsAddUp(t *testing.T) {
	all := apart()
	checkChanges(t, all)
	rapid.Check(t, func(r *rapid.T) {
		var want []string
		var chosen []change
		for _, c := range all {
			if rapid.Bool().Draw(r, c.name) {
				chosen, want = append(chosen, c), append(want, c.want)
			}
		}
		order := rapid.Uint64().Draw(r, "order")
		rand.New(rand.NewPCG(order, 0)).Shuffle(len(chosen), func(i, j int) { chosen[i], chosen[j] = chosen[j], chosen[i] })
		d := valid(t)
		for _, c := range chosen {
			c.make(&d)
		}
		if got := pointers(t, d); !slices.Equal(want, got) {
			r.Fatalf("%v\n%v", want, got)
		}
	})
}

// New leaves its data as it was, and says the same twice.
func TestNewIsPure(t *testing.T) {
	for _, c := range append(apart(), change{name: "none", make: func(*book.Data) {}}) {
		d := valid(t)
		c.make(&d)
		before, err := json.Marshal(d)
		require.NoError(t, err)
		assert.Equal(t, pointers(t, d), pointers(t, d), c.name)
		after, err := json.Marshal(d)
		require.NoError(t, err)
		assert.Equal(t, string(before), string(after), c.name)
	}
}

// However rules stand in the data, they apply in one order.
func TestRulesApplyInOneOrder(t *testing.T) {
	want := made(t, valid(t))
	rapid.Check(t, func(r *rapid.T) {
		d := valid(t)
		order := rapid.Uint64().Draw(r, "order")
		rand.New(rand.NewPCG(order, 1)).Shuffle(len(d.Rules), func(i, j int) { d.Rules[i], d.Rules[j] = d.Rules[j], d.Rules[i] })
		b := made(t, d)
		for i := range d.Stages {
			same(r, want.Work(i), b.Work(i))
		}
		same(r, want.Use(), b.Use())
	})
}

func same(t *rapid.T, want, have []book.Applied) {
	if !slices.EqualFunc(want, have, func(a, b book.Applied) bool { return a.Code == b.Code && a.Counts == b.Counts }) {
		t.Fatalf("%v is not %v", have, want)
	}
}

// Coverage from solids and film is 10 x solids / film rounded once to a thousandth,
// and no method leaves more than there is.
func TestSpreadLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		solids, film := rapid.Int64Range(1, 100_00).Draw(t, "solids"), rapid.Int64Range(1000, 1_000_000_000).Draw(t, "film")
		c := &book.Coating{Solids: num.Percent(solids), DryFilm: num.Decimal(film)}
		// In thousandths: 10 x (solids / 100) / (film / 10^6) x 1000 = solids x 10^8 / film.
		got, exact := int64(c.PerLitre())/1000, solids*100_000_000
		if c.PerLitre()%1000 != 0 || 2*got*film < 2*exact-film || 2*got*film > 2*exact+film {
			t.Fatalf("%d / %d is not %s", exact, film, c.PerLitre())
		}
		some, all := &book.Method{Transfer: num.Percent(rapid.Int64Range(1, 100_00).Draw(t, "transfer"))}, &book.Method{Transfer: 100_00}
		if c.Spread(all) != c.PerLitre() || c.Spread(some) > c.Spread(all) || c.Spread(some) < 0 {
			t.Fatalf("%s of %s", c.Spread(some), c.PerLitre())
		}
	})
}
