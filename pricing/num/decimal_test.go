package num_test

import (
	"encoding/json"
	"math"
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/num"
)

// dec is a Decimal from text that is known to be one.
func dec(s string) num.Decimal {
	d, err := num.ParseDecimal(s)
	if err != nil {
		panic(err)
	}
	return d
}

func TestDecimalText(t *testing.T) {
	tests := []struct {
		in   string
		want num.Decimal
		out  string
	}{
		{"0", 0, "0"},
		{"-0", 0, "0"},
		{"1", num.One, "1"},
		{"1.5", 1_500_000, "1.5"},
		{"1.50", 1_500_000, "1.5"},
		{"007", 7_000_000, "7"},
		{"0.000001", 1, "0.000001"},
		{"-0.000001", -1, "-0.000001"},
		{"-12.034", -12_034_000, "-12.034"},
		{"1000000.100001", 1_000_000_100_001, "1000000.100001"},
		{"8999999999999.999999", 9e18 - 1, "8999999999999.999999"},
		{"-8999999999999.999999", 1 - 9e18, "-8999999999999.999999"},
	}
	for _, tt := range tests {
		t.Run(tt.in, func(t *testing.T) {
			d, err := num.ParseDecimal(tt.in)
			require.NoError(t, err)
			assert.Equal(t, tt.want, d)
			assert.Equal(t, tt.out, d.String())
			assert.Equal(t, "x"+tt.out, string(d.Append([]byte("x"))))
		})
	}
	assert.Equal(t, "-9223372036854.775808", num.Decimal(math.MinInt64).String(), "even what cannot be read is written")
}

func TestParseDecimalRefuses(t *testing.T) {
	const form = "write a number with at most 6 decimals, such as 12.5, not "
	const size = "write a number with fewer digits, not "
	tests := []struct{ in, want string }{
		{"", form + `""`},
		{"-", form + `"-"`},
		{"--1", form + `"--1"`},
		{"+1", form + `"+1"`},
		{".5", form + `".5"`},
		{"1.", form + `"1."`},
		{"-.", form + `"-."`},
		{"1.2.3", form + `"1.2.3"`},
		{"1e3", form + `"1e3"`},
		{"0x1", form + `"0x1"`},
		{"1,5", form + `"1,5"`},
		{"1_000", form + `"1_000"`},
		{" 1", form + `" 1"`},
		{"1\n", form + `"1\n"`},
		{"1.-5", form + `"1.-5"`},
		{"1.0000000", form + `"1.0000000"`},
		{"١", form + `"١"`},
		{"NaN", form + `"NaN"`},
		{"9000000000000", size + `"9000000000000"`},
		{"-9000000000000.5", size + `"-9000000000000.5"`},
		{"18446744073710", size + `"18446744073710"`}, // 2^64 millionths and some
		{strings.Repeat("é", 90), form + `"` + strings.Repeat("é", 20) + `..."`},
	}
	for _, tt := range tests {
		t.Run(tt.in, func(t *testing.T) {
			d, err := num.ParseDecimal(tt.in)
			assert.EqualError(t, err, tt.want)
			assert.Zero(t, d)
		})
	}
}

func TestNumbersInJSON(t *testing.T) {
	type sizes struct {
		D num.Decimal `json:"d"`
		P num.Percent `json:"p"`
		C num.Count   `json:"c"`
	}
	const (
		decimal = "write a number with at most 6 decimals, without quotes or exponent, such as 12.5, not "
		percent = "write a percentage from 0 with at most 2 decimals, without quotes or exponent, such as 17.5, not "
		count   = "write a whole number from 1, without quotes or decimals, not "
	)
	before := sizes{7, 8, 9}
	tests := []struct {
		in   string
		want sizes
		err  string
	}{
		{`{"d": 12.25, "p": 17.5, "c": 3}`, sizes{12_250_000, 1750, 3}, ""},
		{`{"d": -0.5, "p": 0, "c": 1}`, sizes{-500_000, 0, 1}, ""},
		{`{"d": null, "p": null, "c": null}`, before, ""},
		{`{}`, before, ""},
		{`{"d": 1e3}`, before, decimal + `1e3`},
		{`{"d": "1.5"}`, before, decimal + `"1.5"`},
		{`{"d": 0.1234567}`, before, decimal + `0.1234567`},
		{`{"d": [1]}`, before, decimal + `[1]`},
		{`{"d": true}`, before, decimal + `true`},
		{`{"d": 9000000000000}`, before, "write a number with fewer digits, not 9000000000000"},
		{`{"p": -1}`, before, percent + `-1`},
		{`{"p": 17.125}`, before, percent + `17.125`},
		{`{"p": "5"}`, before, percent + `"5"`},
		{`{"p": 90000000000000000}`, before, "write a number with fewer digits, not 90000000000000000"},
		{`{"c": 0}`, before, count + `0`},
		{`{"c": -2}`, before, count + `-2`},
		{`{"c": 1.0}`, before, count + `1.0`},
		{`{"c": "1"}`, before, count + `"1"`},
		{`{"c": 99999999999999999999}`, before, "write a number with fewer digits, not 99999999999999999999"},
	}
	for _, tt := range tests {
		t.Run(tt.in, func(t *testing.T) {
			got := before
			err := json.Unmarshal([]byte(tt.in), &got)
			if tt.err == "" {
				require.NoError(t, err)
			} else {
				require.EqualError(t, err, tt.err)
			}
			assert.Equal(t, tt.want, got)
		})
	}

	out, err := json.Marshal(sizes{-1_250_000, 1750, 3})
	require.NoError(t, err)
	assert.Equal(t, `{"d":-1.25,"p":17.5,"c":3}`, string(out))
}

func TestDecimalRounding(t *testing.T) {
	tests := []struct {
		d      string
		places int
		want   string
	}{
		{"0", 2, "0"},
		{"2.5", 0, "3"},
		{"-2.5", 0, "-3"},
		{"2.499999", 0, "2"},
		{"0.000005", 5, "0.00001"},
		{"1.005", 2, "1.01"}, // binary floating point gives 1.00
		{"2.675", 2, "2.68"}, // and here 2.67
		{"1.123456", 6, "1.123456"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, dec(tt.d).Round(tt.places).String(), "%s to %d", tt.d, tt.places)
	}
	for in, want := range map[string]string{"0": "0", "0.000001": "1", "1": "1", "1.2": "2", "-0.5": "0", "-1.000001": "-1", "-2": "-2"} {
		assert.Equal(t, want, dec(in).Up().String(), "%s up", in)
	}
	assert.Panics(t, func() { num.Decimal(most).Up() })
	assert.Panics(t, func() { num.Decimal(math.MinInt64).Round(0) })
	assert.Equal(t, dec("-40"), num.Whole(-40))
	assert.Panics(t, func() { num.Whole(most) })
	assert.Equal(t, dec("1.175"), num.Percent(1750).Factor())
	assert.Equal(t, num.One, num.Percent(0).Factor())
	assert.Equal(t, "0.05", num.Percent(5).String())
	assert.Panics(t, func() { num.Percent(9e18).Factor() })
}

func TestRoundAgainstBig(t *testing.T) {
	r := random(2)
	for range rounds {
		d, places := r.signed(63), r.IntN(7)
		step := power(6 - places)
		want := rounded(big.NewInt(d), step)
		got, ok := try(func() num.Decimal { return num.Decimal(d).Round(places) })
		hold(t, int64(got), ok, want.Mul(want, step), d, places)

		up := new(big.Int).Neg(big.NewInt(d)) // Div is floored for a positive divisor
		up.Div(up, power(6)).Neg(up)
		got, ok = try(num.Decimal(d).Up)
		hold(t, int64(got), ok, up.Mul(up, power(6)), d)
	}
}

func TestProduct(t *testing.T) {
	tests := []struct {
		name    string
		places  int
		over    string
		factors []string
		want    string
	}{
		{"no factor", 6, "3", nil, "0.333333"},
		{"one factor", 2, "1", []string{"1.005"}, "1.01"},
		{"minutes to hours", 2, "60", []string{"454.5"}, "7.58"},
		{"each sign", 1, "-4", []string{"-3", "0.5", "-1"}, "-0.4"},
		{"two signs", 1, "4", []string{"-3", "-0.5"}, "0.4"},
		{"zero", 6, "7", []string{"0", "-2"}, "0"},
		{"one rounding of many factors", 0, "1", []string{"0.7", "0.7", "0.7", "0.7", "0.7", "2.974951"}, "1"},
		{"waste on a volume", 4, "1", []string{"0.12", "1.6"}, "0.192"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var factors []num.Decimal
			for _, f := range tt.factors {
				factors = append(factors, dec(f))
			}
			assert.Equal(t, tt.want, num.Product(tt.places, dec(tt.over), factors...).String())
		})
	}
	assert.Panics(t, func() { num.Product(2, 0, num.One) }, "division by zero")
	assert.PanicsWithError(t, "number too large in a product", func() {
		num.Product(0, num.One, most, most, most)
	})
}

func TestProductAgainstBig(t *testing.T) {
	r := random(3)
	limit := new(big.Int).Lsh(big.NewInt(1), 128)
	for range rounds {
		places, factors := r.IntN(7), make([]num.Decimal, r.IntN(6))
		for i := range factors {
			factors[i] = num.Decimal(r.positive(50) * (1 - 2*r.Int64N(2)))
		}
		over := num.Decimal(r.positive(50) * (1 - 2*r.Int64N(2)))
		top, bottom := product(factors...), big.NewInt(int64(over))
		if excess := 6*(len(factors)-1) - places; excess < 0 {
			top.Mul(top, power(-excess))
		} else {
			bottom.Mul(bottom, power(excess))
		}
		got, ok := try(func() num.Decimal { return num.Product(places, over, factors...) })
		if top.CmpAbs(limit) >= 0 || bottom.CmpAbs(limit) >= 0 {
			if ok {
				t.Fatalf("%v over %v is said to be %v, in spite of 128 bits", factors, over, got)
			}
			continue
		}
		want := rounded(top, bottom)
		hold(t, int64(got), ok, want.Mul(want, power(6-places)), places, over, factors)
	}
}

func TestDecimalPlus(t *testing.T) {
	const most, least = num.Decimal(math.MaxInt64), num.Decimal(math.MinInt64)
	for _, tt := range []struct{ a, b, want num.Decimal }{
		{0, 0, 0}, {1, 2, 3}, {1, -2, -1}, {-1, -2, -3}, {most, 0, most}, {most - 1, 1, most}, {least, 0, least}, {least, most, -1}, {least + 1, -1, least},
	} {
		assert.Equal(t, tt.want, tt.a.Plus(tt.b))
		assert.Equal(t, tt.want, tt.b.Plus(tt.a))
	}
	for _, tt := range [][2]num.Decimal{{most, 1}, {most, most}, {least, -1}, {least, least}} {
		assert.PanicsWithValue(t, num.Overflow{Op: "a sum"}, func() { tt[0].Plus(tt[1]) })
		assert.PanicsWithValue(t, num.Overflow{Op: "a sum"}, func() { tt[1].Plus(tt[0]) })
	}
}
