package num_test

import (
	"encoding/json"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/num"
)

// money is Money from text that is known to be some.
func money(s string) num.Money {
	var m num.Money
	if err := m.UnmarshalText([]byte(s)); err != nil {
		panic(err)
	}
	return m
}

// pence is so many hundredths.
func pence(n int64) num.Money {
	return money("0.01").Times(int(n))
}

func TestMoneyText(t *testing.T) {
	for _, s := range []string{"0", "0.00", "0.000", "7", "1234.50", "-0.05", "-12", "0.001", "89999999999999999.99"} {
		m := money(s)
		assert.Equal(t, s, m.String())
		text, err := m.AppendText([]byte("£"))
		require.NoError(t, err)
		assert.Equal(t, "£"+s, string(text))
		out, err := json.Marshal(m)
		require.NoError(t, err)
		assert.Equal(t, `"`+s+`"`, string(out))
	}
	assert.Equal(t, "0.00", money("-0.00").String())
	assert.Equal(t, "0", num.Money{}.String())
	assert.EqualValues(t, 123450, money("1234.50").Minor())

	const form = "write an amount with the 0, 2 or 3 decimals of its currency, such as 1234.50, not "
	for in, want := range map[string]string{
		"":                      form + `""`,
		"1.5":                   form + `"1.5"`,
		"1.2345":                form + `"1.2345"`,
		"1.":                    form + `"1."`,
		".50":                   form + `".50"`,
		"+1.50":                 form + `"+1.50"`,
		"1e2":                   form + `"1e2"`,
		"1 234.50":              form + `"1 234.50"`,
		"90000000000000000.00":  `write a number with fewer digits, not "90000000000000000.00"`,
		"-9000000000000000.000": `write a number with fewer digits, not "-9000000000000000.000"`,
	} {
		m := money("5.00")
		assert.EqualError(t, m.UnmarshalText([]byte(in)), want)
		assert.Equal(t, money("5.00"), m, "left as it was")
	}
}

func TestMoneyVanishes(t *testing.T) {
	type totals struct {
		Charges num.Money `json:"charges,omitzero"`
		Net     num.Money `json:"net"`
	}
	out, err := json.Marshal(totals{money("0.00"), money("0.00")})
	require.NoError(t, err)
	assert.Equal(t, `{"net":"0.00"}`, string(out), "IsZero is of the amount, not of the value")
	assert.True(t, num.Money{}.IsZero())
	assert.False(t, money("-0.01").IsZero())
	assert.True(t, money("-0.01").IsNegative())
	assert.False(t, money("0.00").IsNegative())
}

func TestMoneyArithmetic(t *testing.T) {
	a, b := money("10.00"), money("2.505")
	assert.Equal(t, money("12.51"), a.Plus(money("2.51")))
	assert.Equal(t, money("-0.51"), money("2.00").Minus(money("2.51")))
	assert.Equal(t, money("-30.00"), a.Times(-3))
	assert.Equal(t, money("0.00"), a.Times(0))
	assert.Equal(t, 1, a.Compare(money("9.99")))
	assert.Equal(t, 0, a.Compare(money("10.00")))
	assert.Equal(t, -1, a.Times(-1).Compare(num.Money{}))

	var zero num.Money
	assert.Equal(t, a, zero.Plus(a), "the zero Money takes the other's decimals")
	assert.Equal(t, a, a.Plus(zero))
	assert.Equal(t, a.Times(-1), zero.Minus(a))
	assert.Equal(t, money("0.00"), zero.Plus(money("0.00")))
	assert.Equal(t, money("0.00"), money("0.00").Plus(zero))
	assert.Equal(t, b, b.Plus(money("0.00")))

	met := "num: money of 2 and of 3 decimals met"
	assert.PanicsWithValue(t, met, func() { a.Plus(b) })
	assert.PanicsWithValue(t, met, func() { a.Minus(b) })
	assert.PanicsWithValue(t, met, func() { a.Compare(b) })
	assert.PanicsWithValue(t, met, func() { a.UpTo(b, 1) })
	assert.PanicsWithValue(t, "num: a margin of 100 % or more leaves no cost", func() { a.AtMargin(100_00) })
	assert.Panics(t, func() { a.UpTo(a, 0) }, "division by zero")
	rich := money("89999999999999999.99")
	assert.PanicsWithError(t, "number too large in a sum", func() { rich.Plus(rich) })
	assert.PanicsWithError(t, "number too large in a sum", func() { rich.Times(-1).Minus(rich) })
	assert.PanicsWithError(t, "number too large in a quotient", func() { rich.Times(2) })
}

// Source: the test files of EN 16931 (ConnectingEurope/eInvoicing-EN16931@b6c9e06)
// and of Peppol (OpenPEPPOL/peppol-bis-invoice-3@78d7f7d), rule BR-CO-17: tax is
// the basis x the rate, rounded to two decimals. The negative tie is our rule.
func TestPercentOfPublishedInvoices(t *testing.T) {
	tests := []struct {
		file, basis string
		percent     num.Percent
		want        string
	}{
		{"ubl-tc434-example1", "183.23", 600, "10.99"},
		{"ubl-tc434-example1", "46.37", 2100, "9.74"},
		{"ubl-tc434-example2", "1460.50", 2500, "365.13"}, // 365.125
		{"ubl-tc434-example2", "1.00", 1500, "0.15"},
		{"ubl-tc434-example5", "2500.00", 1200, "300.00"},
		{"ubl-tc434-example8", "908.91", 2100, "190.87"},
		{"base-example", "1325.00", 2500, "331.25"},
		{"ours", "-1460.50", 2500, "-365.13"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, money(tt.basis).Percent(tt.percent).String(), "%s %s", tt.file, tt.basis)
	}
}

// Source: the identity of margin g and mark-up m on cost, m = g / (1 - g), as
// handbooks of costing tabulate it; the table was computed from it to 4 places.
func TestAtMarginIsMarkUp(t *testing.T) {
	for _, tt := range []struct {
		margin num.Percent
		markUp string // of 1 000 000.00
	}{
		{10_00, "111111.11"}, {15_00, "176470.59"}, {20_00, "250000.00"}, {25_00, "333333.33"},
		{30_00, "428571.43"}, {40_00, "666666.67"}, {50_00, "1000000.00"}, {0, "0.00"},
	} {
		cost := money("1000000.00")
		assert.Equal(t, tt.markUp, cost.AtMargin(tt.margin).Minus(cost).String(), "margin %s", tt.margin)
	}
	assert.Equal(t, "1428.57", money("1000.00").AtMargin(30_00).String())
	assert.Equal(t, "-1428.57", money("-1000.00").AtMargin(30_00).String())
	assert.Equal(t, "1429", money("1000").AtMargin(30_00).String(), "yen")
}

func TestMoneyAgainstBig(t *testing.T) {
	r := random(6)
	for range rounds {
		m, p, margin := r.signed(62), r.natural(20), r.Int64N(100_00)
		got, ok := try(func() int64 { return pence(m).Percent(num.Percent(p)).Minor() })
		hold(t, got, ok, rounded(product(m, p), power(4)), "percent", m, p)
		got, ok = try(func() int64 { return pence(m).AtMargin(num.Percent(margin)).Minor() })
		hold(t, got, ok, rounded(product(m, 10_000), big.NewInt(10_000-margin)), "margin", m, margin)
		n := r.signed(62)
		got, ok = try(func() int64 { return pence(m).Plus(pence(n)).Minor() })
		hold(t, got, ok, new(big.Int).Add(big.NewInt(m), big.NewInt(n)), m, "plus", n)
		got, ok = try(func() int64 { return pence(m).Minus(pence(n)).Minor() })
		hold(t, got, ok, new(big.Int).Sub(big.NewInt(m), big.NewInt(n)), m, "minus", n)
	}
}

func TestShare(t *testing.T) {
	tests := []struct {
		name, m string
		weights []string
		want    []string
	}{
		{"none", "5.00", nil, nil},
		{"a third each", "1.00", []string{"1.00", "1.00", "1.00"}, []string{"0.33", "0.34", "0.33"}},
		{"zero weights get zero", "1.00", []string{"0.00", "2.00", "0.00", "1.00", "0.00"}, []string{"0.00", "0.67", "0.00", "0.33", "0.00"}},
		{"all weights zero", "1.00", []string{"0.00", "0.00"}, []string{"0.00", "0.00"}},
		{"nothing to share", "0.00", []string{"1.00", "2.00"}, []string{"0.00", "0.00"}},
		{"a correction", "-1.00", []string{"-1.00", "-1.00", "-1.00"}, []string{"-0.33", "-0.34", "-0.33"}},
		{"one penny", "0.01", []string{"1.00", "1.00"}, []string{"0.01", "0.00"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var weights []num.Money
			for _, w := range tt.weights {
				weights = append(weights, money(w))
			}
			var got []string
			for _, s := range money(tt.m).Share(weights) {
				got = append(got, s.String())
			}
			assert.Equal(t, tt.want, got)
		})
	}
}

// The law of Share: the shares add up, and the first k of them are never more
// than half a coin from their exact sum, so none is a whole coin out.
func TestSharesAddUp(t *testing.T) {
	r := random(7)
	for range rounds / 4 {
		m, weights := pence(r.signed(50)), make([]num.Money, 1+r.IntN(8))
		var total num.Money
		for i := range weights {
			weights[i] = pence(r.natural(40))
			total = total.Plus(weights[i])
		}
		if total.IsZero() {
			continue
		}
		var sum, weight num.Money
		for i, s := range m.Share(weights) {
			sum, weight = sum.Plus(s), weight.Plus(weights[i])
			if weights[i].IsZero() && !s.IsZero() {
				t.Fatalf("%s of %v: a zero weight gets %s", m, weights, s)
			}
			want := rounded(product(m.Minor(), weight.Minor()), big.NewInt(total.Minor()))
			hold(t, sum.Minor(), true, want, m, weights, i)
		}
		assert.Equal(t, m, sum)
	}
}

func TestUpTo(t *testing.T) {
	tests := []struct {
		m, step    string
		n          int
		whole, one string
	}{
		{"100.00", "0.00", 1, "100.00", "100.00"},
		{"100.00", "0.00", 3, "100.02", "33.34"},
		{"100.01", "5.00", 1, "105.00", "105.00"},
		{"105.00", "5.00", 1, "105.00", "105.00"},
		{"105.01", "5.00", 2, "110.00", "55.00"},
		{"0.00", "5.00", 2, "0.00", "0.00"},
		{"-7.00", "5.00", 1, "-5.00", "-5.00"},
		{"1001", "10", 3, "1020", "340"},
	}
	for _, tt := range tests {
		whole, one := money(tt.m).UpTo(money(tt.step), tt.n)
		assert.Equal(t, tt.whole, whole.String(), "%s up to %d x %s", tt.m, tt.n, tt.step)
		assert.Equal(t, tt.one, one.String(), "%s up to %d x %s", tt.m, tt.n, tt.step)
	}
	whole, one := money("100.00").UpTo(num.Money{}, 3)
	assert.Equal(t, "100.02", whole.String(), "the zero Money is a step of zero")
	assert.Equal(t, "33.34", one.String())
	assert.PanicsWithError(t, "number too large in a quotient", func() {
		money("89999999999999999.99").UpTo(money("80000000000000000.00"), 1)
	})
}

// The law of UpTo: a multiple of n steps, not below m, less than n steps above.
func TestUpToIsLeast(t *testing.T) {
	r := random(8)
	for range rounds {
		m, step, n := r.signed(50), r.natural(20), 1+r.IntN(10_000)
		whole, one := pence(m).UpTo(pence(step), n)
		lot := max(step, 1) * int64(n)
		if whole.Minor()%lot != 0 || whole.Minor() < m || whole.Minor()-m >= lot || one.Times(n) != whole {
			t.Fatalf("%d up to %d x %d: %s, one %s", m, n, step, whole, one)
		}
	}
}
