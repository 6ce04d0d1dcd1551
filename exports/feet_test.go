package exports_test

import (
	"math/big"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// A foot is a document of services at agreed prices, one for each tax in turn,
// and what it must come to, worked out by hand.
type foot struct {
	name, currency string
	nets, taxes    []string // percent of each tax
	discount       string
	percents       []string // of the payments; none: a deposit of 0
	bases, amounts []string // of each tax
	taxable, gross string
	payments       []string
}

// feet are worked by hand: a discount's share is the running total of the nets x
// discount / net, rounded half away from zero, less the one before, and a payment
// is the same of the gross. No source: the sums stand beside each.
var feet = []foot{
	// 50.04 x 125 / 1000 = 6.255 -> 6.26; x 500 / 1000 = 25.02; 50.04.
	// 991.52 x 33.33 % = 330.473616 -> 330.47; x 66.66 % = 660.947232 -> 660.95.
	{
		name: "thirds", currency: "GBP", nets: []string{"125.00", "375.00", "500.00"}, taxes: []string{"20", "5", "0"}, discount: "50.04",
		percents: []string{"33.33", "33.33", "33.34"}, bases: []string{"118.74", "356.24", "474.98"}, amounts: []string{"23.75", "17.81", "0.00"},
		taxable: "949.96", gross: "991.52", payments: []string{"330.47", "330.48", "330.57"},
	},
	// 25 % of 100.02 is 25.005 -> 25.01; 75 % is 75.015 -> 75.02; 12.5 %: 12.5025, 37.5075, 62.5125, 87.5175.
	{
		name: "eighths", currency: "GBP", nets: []string{"100.02"}, taxes: []string{"0"}, discount: "0.00",
		percents: []string{"12.5", "12.5", "12.5", "12.5", "12.5", "12.5", "12.5", "12.5"}, bases: []string{"100.02"}, amounts: []string{"0.00"},
		taxable: "100.02", gross: "100.02", payments: []string{"12.50", "12.51", "12.50", "12.50", "12.50", "12.51", "12.50", "12.50"},
	},
	// 0.01 x 100 / 300 = 0.0033 -> 0; x 200 / 300 = 0.0067 -> 0.01; 0.01: the middle one bears it.
	{
		name: "one payment", currency: "EUR", nets: []string{"100.00", "100.00", "100.00"}, taxes: []string{"19", "7", "0"}, discount: "0.01",
		percents: []string{"100"}, bases: []string{"100.00", "99.99", "100.00"}, amounts: []string{"19.00", "7.00", "0.00"},
		taxable: "299.99", gross: "325.99", payments: []string{"325.99"},
	},
	// 2 x 101 / 404 = 0.5 -> 1; x 303 / 404 = 1.5 -> 2. 428 x 12.5 % = 53.5 -> 54; x 50 % = 214.
	{
		name: "coinless", currency: "JPY", nets: []string{"101", "202", "101"}, taxes: []string{"10", "8", "0"}, discount: "2",
		percents: []string{"12.5", "37.5", "50"}, bases: []string{"100", "201", "101"}, amounts: []string{"10", "16", "0"},
		taxable: "402", gross: "428", payments: []string{"54", "160", "214"},
	},
	// 0.004 x 0.125 / 1 = 0.0005 -> 0.001; x 0.5 / 1 = 0.002. 1.039 x 33.33 % = 0.3462987; x 66.66 % = 0.6925974.
	{
		name: "thousandths", currency: "KWD", nets: []string{"0.125", "0.375", "0.500"}, taxes: []string{"5", "10", "0"}, discount: "0.004",
		percents: []string{"33.33", "33.33", "33.34"}, bases: []string{"0.124", "0.374", "0.498"}, amounts: []string{"0.006", "0.037", "0.000"},
		taxable: "0.996", gross: "1.039", payments: []string{"0.346", "0.347", "0.346"},
	},
	// The first tax bears nothing of the discount, for it has no net.
	{
		name: "free of charge", currency: "GBP", nets: []string{"0.00", "80.00", "40.00"}, taxes: []string{"20", "5", "0"}, discount: "9.99",
		bases: []string{"0.00", "73.34", "36.67"}, amounts: []string{"0.00", "3.67", "0.00"}, taxable: "110.01", gross: "113.68",
	},
	// The discount is all there is.
	{
		name: "given away", currency: "KWD", nets: []string{"12.345", "0.655"}, taxes: []string{"5", "0"}, discount: "13.000",
		percents: []string{"60", "40"}, bases: []string{"0.000", "0.000"}, amounts: []string{"0.000", "0.000"}, taxable: "0.000", gross: "0.000",
		payments: []string{"0.000", "0.000"},
	},
	// Twenty of 5 %: 1234.57 x 1.05 = 1296.2985 -> 1296.30; 5 % is 64.815 -> 64.82, 10 % 129.63: by turns 64.82 and 64.81.
	{
		name: "twenty payments", currency: "USD", nets: []string{"1234.57"}, taxes: []string{"5"}, discount: "0.00",
		percents: slices.Repeat([]string{"5"}, 20), bases: []string{"1234.57"}, amounts: []string{"61.73"}, taxable: "1234.57", gross: "1296.30",
		payments: slices.Repeat([]string{"64.82", "64.81"}, 10),
	},
}

// paper prices the document.
func (f *foot) paper(t testing.TB) exports.Paper {
	t.Helper()
	var r pricing.Request
	r.Terms = &book.TermsChange{DiscountAmount: rateOf(t, f.discount), Deposit: new(num.Percent)}
	for i, net := range f.nets {
		tax := "tax-" + strconv.Itoa(i)
		r.Pieces = append(r.Pieces, piece.Piece{
			Title: "Work under " + tax, Kind: "service", Service: new(piece.Service), AgreedPrice: rateOf(t, net), Tax: tax,
		})
		r.Terms.Taxes = append(r.Terms.Taxes, book.Tax{Code: tax, Name: "Tax", Percent: percentFrom(t, f.taxes[i])})
	}
	r.Terms.Tax = new("tax-0")
	for i, p := range f.percents {
		r.Terms.Payments = append(r.Terms.Payments, book.Payment{Title: "Payment " + strconv.Itoa(i+1), Percent: percentFrom(t, p), Due: "in good time"})
	}
	if len(f.percents) > 0 {
		r.Terms.Deposit = nil
	}
	return paper(t, r, inCurrency(t, f.currency))
}

func percentFrom(t testing.TB, s string) num.Percent {
	t.Helper()
	var p num.Percent
	require.NoError(t, p.UnmarshalJSON([]byte(s)))
	return p
}

// places is how many decimals its currency has. Source: ISO 4217.
func (f *foot) places() int {
	return map[string]int{"JPY": 0, "EUR": 2, "GBP": 2, "USD": 2, "KWD": 3}[f.currency]
}

// scale is how many coins are one of its currency.
func (f *foot) scale() *big.Rat {
	return new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(f.places())), nil))
}

// coins returns an amount in the smallest coins of the document's currency.
func (f *foot) coins(t testing.TB, amount string) *big.Rat {
	t.Helper()
	v := new(big.Rat).Mul(ratOf(t, amount), f.scale())
	require.True(t, v.IsInt(), amount)
	return v
}

// amount returns whole coins as an amount, rounded half away from zero.
func (f *foot) amount(coins *big.Rat) string {
	whole := ratio(coins.FloatString(0))
	return whole.Quo(whole, f.scale()).FloatString(f.places())
}

func ratio(s string) *big.Rat {
	v, ok := new(big.Rat).SetString(s)
	if !ok {
		panic(s)
	}
	return v
}

// split shares an amount of coins over weights: each is the running total, rounded
// half away from zero, less the one before. It also says how many of the running
// totals lie half-way between two coins.
func split(amount *big.Rat, weights []*big.Rat, whole *big.Rat) (shares []*big.Rat, halves int) {
	weight, before := new(big.Rat), new(big.Rat)
	for _, w := range weights {
		weight.Add(weight, w)
		exact := new(big.Rat)
		if whole.Sign() != 0 {
			exact.Quo(exact.Mul(amount, weight), whole)
		}
		if exact.Denom().Cmp(big.NewInt(2)) == 0 {
			halves++
		}
		upTo := ratio(exact.FloatString(0))
		shares = append(shares, new(big.Rat).Sub(upTo, before))
		before = upTo
	}
	return shares, halves
}

// worked returns the document with its sums worked out in exact fractions, and how
// many of the running totals are halves.
func (f *foot) worked(t testing.TB) (w foot, halves int) {
	t.Helper()
	w = foot{name: f.name, currency: f.currency, nets: f.nets, taxes: f.taxes, discount: f.discount, percents: f.percents}
	net, gross := new(big.Rat), new(big.Rat)
	var nets, parts []*big.Rat
	for _, n := range f.nets {
		nets = append(nets, f.coins(t, n))
		net.Add(net, nets[len(nets)-1])
	}
	shares, halves := split(f.coins(t, f.discount), nets, net)
	for i, n := range nets {
		basis := new(big.Rat).Sub(n, shares[i])
		tax := new(big.Rat).Mul(basis, new(big.Rat).Quo(ratio(f.taxes[i]), big.NewRat(100, 1)))
		w.bases, w.amounts = append(w.bases, f.amount(basis)), append(w.amounts, f.amount(tax))
		gross.Add(gross, basis).Add(gross, ratio(tax.FloatString(0)))
	}
	w.taxable, w.gross = f.amount(net.Sub(net, f.coins(t, f.discount))), f.amount(gross)
	for _, p := range f.percents {
		parts = append(parts, ratio(p))
	}
	payments, more := split(gross, parts, big.NewRat(100, 1))
	for _, p := range payments {
		w.payments = append(w.payments, f.amount(p))
	}
	return w, halves + more
}

// figures is what the formulas of its quotation must come to, in the order of the
// page.
func (f *foot) figures(t testing.TB) []string {
	t.Helper()
	net := new(big.Rat)
	for _, n := range f.nets {
		net.Add(net, f.coins(t, n))
	}
	all := append(slices.Clone(f.nets), f.amount(net))
	if f.coins(t, f.discount).Sign() != 0 {
		all = append(all, f.taxable)
	}
	for i := range f.bases {
		all = append(all, f.bases[i], f.amounts[i])
	}
	all = append(all, f.gross)
	if len(f.payments) == 0 {
		return append(all, f.gross) // due when the work is finished
	}
	return append(all, f.payments...)
}

// held checks the formulas of the document's quotation and its workshop's book,
// worked out exactly, against its figures.
func (f *foot) held(t testing.TB) {
	t.Helper()
	p := f.paper(t)
	s := &p.Costing.Totals
	require.Equal(t, []string{f.taxable, f.gross}, []string{s.Taxable.String(), s.Gross.String()}, "%+v", *f)
	all, names := make(map[string]cell), []string(nil)
	for _, c := range cells(t, written(t, p)) {
		all[c.name] = c
		if c.formula != "" {
			names = append(names, c.name)
		}
	}
	want := f.figures(t)
	require.Len(t, names, len(want), "%+v", *f)
	e := evaluation{cells: all}
	for i, name := range names {
		got := e.cell(t, name)
		require.Zero(t, ratOf(t, want[i]).Cmp(got), "%+v: %s ={%s} is %s, not %s", *f, name, all[name].formula, got.FloatString(4), want[i])
		require.Zero(t, ratOf(t, want[i]).Cmp(ratOf(t, all[name].text)), "%+v: %s stores %s, not %s", *f, name, all[name].text, want[i])
	}
	file := workshop(t, p)
	audited(t, p, file, reckoned(t, file))
}

func TestFeetByHand(t *testing.T) {
	halves := 0
	for _, f := range feet {
		w, n := f.worked(t)
		assert.Equal(t, f, w, "the sums by hand")
		halves += n
		f.held(t)
	}
	assert.GreaterOrEqual(t, halves, 10, "halves are among them")
}

// drawnFeet draws documents in which halves are frequent.
func drawnFeet() *rapid.Generator[foot] { return rapid.Custom(drawnFoot) }

// drawnFoot draws one of them.
func drawnFoot(t *rapid.T) foot {
	f := foot{name: "drawn", currency: rapid.SampledFrom([]string{"JPY", "GBP", "KWD"}).Draw(t, "currency")}
	scale := rapid.SampledFrom([]int64{1, 5, 50, 125, 1000, 7_777}).Draw(t, "scale")
	net := int64(0)
	for range rapid.IntRange(1, 4).Draw(t, "taxes") {
		n := scale * rapid.Int64Range(0, 4000).Draw(t, "net")
		net += n
		f.nets = append(f.nets, f.amount(new(big.Rat).SetInt64(n)))
		f.taxes = append(f.taxes, rapid.SampledFrom([]string{"20", "5", "0", "17.5", "8.25"}).Draw(t, "tax"))
	}
	f.discount = f.amount(new(big.Rat).SetInt64(rapid.Int64Range(0, net).Draw(t, "discount")))
	if net > 0 && rapid.Bool().Draw(t, "odd half") { // of the first net and the rest alike, an odd discount is halved
		f.nets, f.taxes = append(f.nets, f.amount(new(big.Rat).SetInt64(net))), append(f.taxes, "12.5")
	}
	step := rapid.SampledFrom([]int64{1, 6_25, 12_50, 33_33, 25_00}).Draw(t, "step")
	left := int64(100_00)
	for range rapid.IntRange(0, 19).Draw(t, "payments") {
		if p := step * rapid.Int64Range(1, 3).Draw(t, "percent"); p < left {
			left -= p
			f.percents = append(f.percents, big.NewRat(p, 100).FloatString(2))
		}
	}
	if len(f.percents) > 0 || rapid.Bool().Draw(t, "one payment") {
		f.percents = append(f.percents, big.NewRat(left, 100).FloatString(2))
	}
	return f
}

func TestLawFeetAddUp(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		f := drawnFeet().Draw(r, "foot")
		w, _ := f.worked(t)
		w.held(t)
	})
}

// Another program rounds its binary numbers as the exact sums do.
func TestLibreOfficeComesToTheFeet(t *testing.T) {
	var list []foot
	papers, halves := make(map[string]exports.Paper), 0
	for i := range 60 {
		f := drawnFeet().Example(i)
		w, n := f.worked(t)
		w.name, halves = "drawn "+strconv.Itoa(i), halves+n
		list = append(list, w)
		papers[w.name] = w.paper(t)
	}
	assert.GreaterOrEqual(t, halves, 40, "halves are frequent")
	for key, got := range recalculatedQuotations(t, papers) {
		name, _, _ := strings.Cut(key, ".")
		want := list[slices.IndexFunc(list, func(f foot) bool { return f.name == name })].figures(t)
		require.Len(t, got, len(want), key)
		for i, c := range got {
			assert.Equal(t, number(t, want[i]), number(t, c.text), "%s: %s ={%s}", key, c.name, c.formula)
		}
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}
