package pricing_test

import (
	"cmp"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/measure"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// eachLine holds a law against every line of the costings of random requests.
func eachLine(t *testing.T, law func(t *rapid.T, heading string, l pricing.Line, s sample)) {
	eachSample(t, func(t *rapid.T, s sample) {
		for i := range s.costing.Pieces {
			for heading, lines := range headings(&s.costing.Pieces[i]) {
				for _, l := range lines {
					law(t, heading, l, s)
				}
			}
		}
	})
}

func TestLawEveryLineFollowsFromItsOwnFigures(t *testing.T) {
	eachLine(t, func(t *rapid.T, heading string, l pricing.Line, s sample) {
		require.Equal(t, l.Quantity, l.Eval(l.Unit), "%s %s", heading, l.Code)
		amount := product(rat(l.Quantity), big.NewRat(int64(l.Rate), 10_000))
		require.Equal(t, rounded(amount, s.costing.Currency.Places()).Int64(), l.Amount.Minor(), "%s %s", heading, l.Code)
	})
}

// The program's Eval is held against fractions: setup + each x factor x quantity
// / per, needed x (1 + waste) / per.
func TestLawEveryLineIsWorkedOutExactly(t *testing.T) {
	eachLine(t, func(t *rapid.T, heading string, l pricing.Line, _ sample) {
		places, sum := 6, num.Decimal(0)
		if heading == "labour" {
			places = 2
		}
		for _, k := range l.Terms {
			count := new(big.Rat).Quo(rat(k.Quantity), rat(cmp.Or(k.Per, num.One)))
			if k.Started {
				count.SetInt(upToWhole(count))
			}
			needed := new(big.Rat).Add(rat(k.Setup), product(rat(k.Each), rat(cmp.Or(k.Factor, num.One)), count))
			require.Equal(t, decimal(rounded(needed, places), places), k.Needed, "%s %s %s", heading, l.Code, k.Measure)
			sum += k.Needed
		}
		require.Equal(t, sum, l.Needed)
		quantity := product(rat(l.Needed), big.NewRat(int64(100_00+l.Waste), 100_00))
		quantity.Quo(quantity, rat(cmp.Or(l.Per, num.One)))
		want := decimal(rounded(quantity, quantityPlaces(heading, l.Unit)), quantityPlaces(heading, l.Unit))
		if l.Whole {
			want = decimal(upToWhole(quantity), 0)
		}
		require.Equal(t, want, l.Quantity, "%s %s", heading, l.Code)
	})
}

// quantityPlaces are the places of a line's quantity.
func quantityPlaces(heading string, u unit.Unit) int {
	places := map[unit.Unit]int{"m3": 4, "ft3": 3, "bf": 2, "m2": 3, "m": 2, "kg": 3, "l": 3, "h": 2, "each": 0, "pack": 0, "km": 1}
	if heading == "bought-in" {
		return 3
	}
	return places[u]
}

// upToWhole returns the least whole number not below r.
func upToWhole(r *big.Rat) *big.Int {
	n, rest := new(big.Int).QuoRem(r.Num(), r.Denom(), new(big.Int))
	if rest.Sign() > 0 {
		n.Add(n, big.NewInt(1))
	}
	return n
}

func TestLawEvalRefusesFiguresThatDoNotAgree(t *testing.T) {
	eachLine(t, func(t *rapid.T, heading string, l pricing.Line, _ sample) {
		wrong := l.Basis
		wrong.Needed++
		assert.Zero(t, wrong.Eval(l.Unit), "%s %s", heading, l.Code)
		wrong = l.Basis
		wrong.Terms = slices.Clone(l.Terms)
		last := &wrong.Terms[len(wrong.Terms)-1]
		last.Needed++
		wrong.Needed++
		assert.Zero(t, wrong.Eval(l.Unit), "%s %s", heading, l.Code)
	})
}

func TestLawEveryTermNamesSomethingCounted(t *testing.T) {
	fed := map[string]string{"timber": "timber", "sheet": "sheets", "layout": "sheets", "extra_hours": "labour", "bought_in": "bought-in"}
	eachLine(t, func(t *rapid.T, heading string, l pricing.Line, s sample) {
		for i, k := range l.Terms {
			if fed[k.Measure] == heading {
				continue
			}
			id, known := measure.Find(k.Measure)
			require.True(t, known, "%s %s counts %q", heading, l.Code, k.Measure)
			require.Equal(t, k.Share != "", measure.All[id].Shares != measure.Whole && k.Rule == "" || heading == "labour" && measure.All[id].Shares != measure.Whole,
				"%s %s: %s of share %q", heading, l.Code, k.Measure, k.Share)
			if k.Rule != "" {
				r := find(s.book.Data().Rules, ruleCoded(k.Rule))
				require.Equal(t, k.Measure, r.Measure)
				require.Equal(t, r.Each, k.Each)
				require.Equal(t, r.Per, cmp.Or(k.Per, num.One))
			}
			require.False(t, k.Setup != 0 && i > 0 && l.Terms[i-1].Rule == k.Rule, "the set-up of %s stands twice", k.Rule)
		}
	})
}

func TestLawLinesStandInTheirOrder(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		stages := make(map[string]int)
		for i, g := range s.book.Data().Stages {
			stages[g.Code] = i
		}
		for i := range s.costing.Pieces {
			p := &s.costing.Pieces[i]
			for _, lines := range [][]pricing.Line{p.Timber, p.Sheets, p.Ironmongery, p.Supplies} {
				assert.True(t, slices.IsSortedFunc(lines, func(a, b pricing.Line) int {
					return cmp.Or(strings.Compare(a.Code, b.Code), cmp.Compare(a.Waste, b.Waste))
				}))
			}
			assert.True(t, slices.IsSortedFunc(p.Labour, func(a, b pricing.Line) int { return stages[a.Code] - stages[b.Code] }))
			assert.True(t, slices.IsSortedFunc(p.Measures, func(a, b pricing.Measured) int {
				x, _ := measure.Find(a.Name)
				y, _ := measure.Find(b.Name)
				return cmp.Or(cmp.Compare(x, y), strings.Compare(a.Share, b.Share))
			}))
			for heading, lines := range headings(p) {
				for _, l := range lines {
					require.Positive(t, l.Quantity, "%s %s", heading, l.Code)
					require.True(t, slices.IsSortedFunc(l.Terms, inOrder), "%s %s", heading, l.Code)
				}
			}
		}
		assert.True(t, slices.IsSortedFunc(s.costing.Buying, func(a, b pricing.BuyingLine) int { return strings.Compare(a.Code, b.Code) }))
	})
}

// inOrder compares terms: those without a rule first, then by rule and share, the
// hours added by hand last.
func inOrder(a, b pricing.Term) int {
	last := func(k pricing.Term) int {
		if k.Measure == "extra_hours" {
			return 1
		}
		return 0
	}
	if c := cmp.Or(last(a)-last(b), strings.Compare(a.Rule, b.Rule)); c != 0 || a.Rule == "" {
		return c
	}
	return strings.Compare(a.Share, b.Share)
}
