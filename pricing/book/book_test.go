package book_test

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// The starter catalogue is a Book as soon as it has a date.
func TestStarterIsABook(t *testing.T) {
	text, err := os.ReadFile("../../catalog/starter/book.json")
	require.NoError(t, err)
	var d book.Data
	require.NoError(t, json.Unmarshal(text, &d))
	assert.Equal(t, []string{"#/as_of"}, pointers(t, d))
	d.AsOf = date.MustParse("2026-11-01")
	b := made(t, d)
	assert.Equal(t, int64(1), b.Data().Version)
}

// A Book without anything but terms is one.
func TestSmallestBook(t *testing.T) {
	d := valid(t)
	small := book.Data{AsOf: d.AsOf, Currency: d.Currency, Terms: d.Terms}
	assert.Nil(t, pointers(t, small))
	assert.Empty(t, made(t, small).Use())
}

func TestLookUp(t *testing.T) {
	b := made(t, valid(t))
	d := b.Data()
	assert.Same(t, &d.Timbers[1], b.Timber("pine"))
	assert.Same(t, &d.Sheets[0], b.Sheet("ply-6"))
	assert.Same(t, &d.Supplies[2], b.Supply("oil"))
	assert.Same(t, &d.Ironmongery[0], b.Fitting("knob"))
	assert.Same(t, &d.Methods[0], b.Method("spray"))
	assert.Same(t, &d.Finishes[1], b.Finish("oil-3"))
	assert.Same(t, &d.Labour[0], b.Grade("bench"))
	assert.Same(t, &d.Stages[1], b.Stage("coating"))
	// A code of another kind, or of a thickness, is none of these.
	assert.Nil(t, b.Timber("ash-27"))
	assert.Nil(t, b.Sheet("ash"))
	assert.Nil(t, b.Supply("knob"))
	assert.Nil(t, b.Fitting("oil"))
	assert.Nil(t, b.Method("brush"))
	assert.Nil(t, b.Finish("oil"))
	assert.Nil(t, b.Grade("sawing"))
	assert.Nil(t, b.Stage("bench"))
	assert.Nil(t, b.Timber(""))
}

// Rules stand with their stage by code, those of supplies by item and code,
// whatever their order in the data; each knows its measure.
func TestRulesInOrder(t *testing.T) {
	d := valid(t)
	d.Rules = append(d.Rules, book.Rule{Code: "a-last", Item: "tape", Measure: "drawer", Per: num.One}, book.Rule{Code: "z-first", Item: "oil", Measure: "case", Per: num.One})
	for i, j := 0, len(d.Rules)-1; i < j; i, j = i+1, j-1 {
		d.Rules[i], d.Rules[j] = d.Rules[j], d.Rules[i]
	}
	b := made(t, d)
	names := func(rules []book.Applied) (s []string) {
		for _, r := range rules {
			s = append(s, r.Code+" "+r.Counts.String())
		}
		return s
	}
	assert.Equal(t, []string{"knobs ironmongery", "saw-ash sawn_board", "saw-show sawn_board"}, names(b.Work(0)))
	assert.Equal(t, []string{"coat-wipe coat", "rub denib"}, names(b.Work(1)))
	assert.Equal(t, []string{"z-first case", "a-last drawer", "brush-glue glue_up", "tape-rule tape"}, names(b.Use()))
	assert.Equal(t, "a-last", d.Rules[1].Code, "the data keeps its order")
}

// Source: table of spreading rates in a coating guide (scribd 290710110), solids
// and dry film against m2 to the litre, printed to one decimal; 65 % at 125 um is
// 5.2 (scribd 343849341), 71 % at 125 um 5.7 (askvity.info, "How to work out
// spreading rate").
func TestPerLitre(t *testing.T) {
	for _, tt := range []struct {
		solids, film int
		printed      string
		want         string
	}{
		{100, 25, "40.0", "40"},
		{80, 100, "8.0", "8"},
		{70, 75, "9.3", "9.333"},
		{50, 100, "5.0", "5"},
		{50, 75, "6.7", "6.667"},
		{40, 50, "8.0", "8"},
		{65, 125, "5.2", "5.2"},
		{71, 125, "5.7", "5.68"},
		{30, 30, "10.0", "10"}, // wet film 100 um at 30 % solids: worked from the formula
	} {
		c := book.Coating{Solids: num.Percent(100 * tt.solids), DryFilm: num.Whole(tt.film)}
		assert.Equal(t, tt.want, c.PerLitre().String(), "%d %% at %d um", tt.solids, tt.film)
		printed, err := num.ParseDecimal(tt.printed)
		require.NoError(t, err)
		assert.Equal(t, printed, c.PerLitre().Round(1), "%d %% at %d um", tt.solids, tt.film)
	}
	assert.Equal(t, "14.25", (&book.Coating{Coverage: 14_250_000}).PerLitre().String(), "as written")
	assert.Equal(t, "0.013", (&book.Coating{Solids: 1, DryFilm: 7_500_000}).PerLitre().String(), "10 x 0.01 / 7.5 = 0.0133")
	assert.Equal(t, "0.005", (&book.Coating{Solids: 45, DryFilm: 1000 * num.One}).PerLitre().String(), "0.0045 half away from zero")
}

// Coverage x transfer; 65 % is the figure that spray equipment has to reach
// (aqmd.gov, "Spray Equipment Transfer Efficiency"): 10 m2/l leaves 6.5, and 6 m2
// in three coats take 18 / 6.5 = 2.769 l (worked from the formula).
func TestSpread(t *testing.T) {
	spray := &book.Method{Code: "spray", Transfer: 65_00}
	lacquer := &book.Coating{Solids: 30_00, DryFilm: 30 * num.One}
	assert.Equal(t, "6.5", lacquer.Spread(spray).String())
	assert.Equal(t, "2.769", num.Product(3, lacquer.Spread(spray), num.Whole(18)).String())
	for _, tt := range []struct {
		coverage num.Decimal
		transfer num.Percent
		want     string
	}{
		{14 * num.One, 90_00, "12.6"},
		{14 * num.One, 100_00, "14"},
		{9_333_000, 65_00, "6.06645"},
		{1_111_111, 33_33, "0.370333"}, // 0.3703332963
		{5_000, 1, "0.000001"},         // half a millionth, away from zero
		{4_999, 1, "0"},
	} {
		c := book.Coating{Coverage: tt.coverage}
		assert.Equal(t, tt.want, c.Spread(&book.Method{Transfer: tt.transfer}).String(), "%s x %s %%", tt.coverage, tt.transfer)
	}
}

// Encoding and decoding a Book's data changes nothing.
func TestDataRoundTrip(t *testing.T) {
	d := valid(t)
	text, err := json.Marshal(d)
	require.NoError(t, err)
	var again book.Data
	require.NoError(t, json.Unmarshal(text, &again))
	assert.Equal(t, d, again)
}
