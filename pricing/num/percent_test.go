package num_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/num"
)

// The percentages are worked by hand beside each.
func TestOf(t *testing.T) {
	for _, tt := range []struct{ m, n, want string }{
		{"25.00", "100.00", "25"},
		{"1.00", "3.00", "33.33"},    // 33.333
		{"2.00", "3.00", "66.67"},    // 66.667
		{"1.00", "800.00", "0.13"},   // 0.125, a tie: away from zero
		{"-1.00", "800.00", "-0.13"}, // the same below
		{"-1.00", "-800.00", "0.13"}, // a loss of a loss
		{"1.00", "-800.00", "-0.13"}, // a gain of a loss
		{"150.00", "100.00", "150"},  // more than the whole
		{"0.00", "100.00", "0"},      // none of something
		{"100.00", "0.00", "0"},      // of nothing: none
		{"-100.00", "0.00", "0"},     // nor below it
		{"0.00", "0.00", "0"},        // nothing of nothing
		{"333", "1000", "33.3"},      // coins without decimals
		{"0.333", "1.000", "33.3"},   // thousandths
		{"0.01", "999999.99", "0"},   // 0.000001
		{"999999.99", "0.01", "9999999900"},
	} {
		assert.Equal(t, tt.want, money(tt.m).Of(money(tt.n)).String(), "%s of %s", tt.m, tt.n)
	}
	var none num.Money
	assert.Zero(t, none.Of(money("5.000")), "no money has any decimals")
	assert.Zero(t, money("5.000").Of(none))
	assert.PanicsWithValue(t, "num: money of 2 and of 3 decimals met", func() { money("1.00").Of(money("1.000")) })
	assert.PanicsWithError(t, "number too large in a quotient", func() { money("89999999999999999.99").Of(money("0.01")) })
}

// The part is what exact numbers give, rounded once, whatever the signs.
func TestOfAgainstBig(t *testing.T) {
	r := random(62)
	for range rounds {
		m, n := r.signed(62), r.signed(62)
		got, ok := try(func() num.Percent { return pence(m).Of(pence(n)) })
		want := new(big.Int)
		if n != 0 {
			want = rounded(product(m, 100_00), big.NewInt(n)) // hundredths of a percent
		}
		hold(t, int64(got), ok, want, m, "of", n)
	}
}

// Of undoes Percent where the money has places enough.
func TestOfUndoesPercent(t *testing.T) {
	r := random(63)
	for range rounds {
		n, p := money("100.00").Times(1+r.IntN(1_000_000)), num.Percent(r.natural(20))
		if got := n.Percent(p).Of(n); got != p {
			t.Fatalf("%s %% of %s is %s, and that is %s %%", p, n, n.Percent(p), got)
		}
	}
}

func TestPercentRaised(t *testing.T) {
	for _, tt := range []struct {
		p, by num.Percent
		want  string
	}{
		{30_00, 10_00, "33"},
		{12_50, 10_00, "13.75"},
		{0, 10_00, "0"},
		{4, 10_00, "0.04"}, // 0.044
		{5, 10_00, "0.06"}, // 0.055, a tie: up
		{33_33, 10_00, "36.66"},
		{30_00, 0, "30"},
		{30_00, 100_00, "60"},
		{1, 100_00, "0.02"},
		{-5, 10_00, "-0.06"}, // away from zero
	} {
		assert.Equal(t, tt.want, tt.p.Raised(tt.by).String(), "%s raised by %s %%", tt.p, tt.by)
	}
	assert.PanicsWithError(t, "number too large in a quotient", func() { num.Percent(9e18).Raised(100_00) })
}

// What is raised is p x (1 + q), rounded once; and of two percentages the larger
// stays the larger, so that raising all wastes alike joins none of them.
func TestPercentRaisedAgainstBig(t *testing.T) {
	r := random(64)
	for range rounds {
		p, q := r.natural(60), r.natural(20)
		got, ok := try(func() num.Percent { return num.Percent(p).Raised(num.Percent(q)) })
		hold(t, int64(got), ok, rounded(product(p, 100_00+q), power(4)), p, "raised by", q)
		if next, fits := try(func() num.Percent { return num.Percent(p + 1).Raised(num.Percent(q)) }); ok && fits && next <= got {
			t.Fatalf("%d and %d both raised by %d are %d and %d", p, p+1, q, got, next)
		}
	}
}
