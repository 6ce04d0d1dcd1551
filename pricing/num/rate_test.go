package num_test

import (
	"encoding/json"
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/num"
)

// rate is a Rate from text that is known to be one.
func rate(s string) num.Rate {
	var r num.Rate
	if err := r.UnmarshalText([]byte(s)); err != nil {
		panic(err)
	}
	return r
}

func TestRateText(t *testing.T) {
	tests := []struct {
		in   string
		want num.Rate
		out  string
	}{
		{"0", 0, "0.00"},
		{"1850", 18_500_000, "1850.00"},
		{"1850.00", 18_500_000, "1850.00"},
		{"12.5", 125_000, "12.50"},
		{"0.0125", 125, "0.0125"},
		{"0.125", 1250, "0.125"},
		{"0.1000", 1000, "0.10"},
		{"899999999999999.9999", 9e18 - 1, "899999999999999.9999"},
	}
	for _, tt := range tests {
		t.Run(tt.in, func(t *testing.T) {
			var got struct{ Rate num.Rate }
			require.NoError(t, json.Unmarshal([]byte(`{"Rate": "`+tt.in+`"}`), &got))
			assert.Equal(t, tt.want, got.Rate)
			assert.Equal(t, tt.out, got.Rate.String())
			out, err := json.Marshal(got)
			require.NoError(t, err)
			assert.Equal(t, `{"Rate":"`+tt.out+`"}`, string(out))
		})
	}
	assert.Equal(t, "-0.0001", num.Rate(-1).String())
}

func TestRateRefuses(t *testing.T) {
	const form = "write a sum from 0 with at most 4 decimals, such as 1850.00, not "
	for in, want := range map[string]string{
		"":                            form + `""`,
		"-1":                          form + `"-1"`,
		"-0":                          form + `"-0"`,
		"+1":                          form + `"+1"`,
		".50":                         form + `".50"`,
		"1.":                          form + `"1."`,
		"1e2":                         form + `"1e2"`,
		"1,850.00":                    form + `"1,850.00"`,
		"£5":                          form + `"£5"`,
		" 5":                          form + `" 5"`,
		"0.00001":                     form + `"0.00001"`,
		"900000000000000":             `write a number with fewer digits, not "900000000000000"`,
		strings.Repeat("9", 1_000):    `write a number with fewer digits, not "` + strings.Repeat("9", 40) + `..."`,
		"0." + strings.Repeat("0", 5): form + `"0.00000"`,
	} {
		r := num.Rate(7)
		assert.EqualError(t, r.UnmarshalText([]byte(in)), want)
		assert.Equal(t, num.Rate(7), r, "left as it was")
	}
}

func TestRateArithmetic(t *testing.T) {
	assert.Equal(t, "25.00", rate("12.50").Over(dec("0.5")).String(), "a pack of half a litre")
	assert.Equal(t, "3.3333", rate("10").Over(dec("3")).String())
	assert.Equal(t, "0.0001", rate("0.0001").Over(dec("2")).String(), "a tie goes up")
	assert.Equal(t, "1.5625", rate("12.50").Times(dec("0.125")).String())
	assert.Equal(t, "11.7501", rate("10.0001").Raised(1750).String())
	assert.Equal(t, "10.00", rate("10").Raised(0).String())
	assert.Panics(t, func() { rate("1").Over(0) }, "division by zero")
	assert.PanicsWithError(t, "number too large in a quotient", func() { num.Rate(9e18).Times(dec("2")) })
}

func TestRateAgainstBig(t *testing.T) {
	r := random(4)
	for range rounds {
		v, d, p := r.natural(63), r.positive(55), r.natural(30)
		got, ok := try(func() num.Rate { return num.Rate(v).Times(num.Decimal(d)) })
		hold(t, int64(got), ok, rounded(product(v, d), power(6)), "times", v, d)
		got, ok = try(func() num.Rate { return num.Rate(v).Over(num.Decimal(d)) })
		hold(t, int64(got), ok, rounded(product(v, 1_000_000), big.NewInt(d)), "over", v, d)
		got, ok = try(func() num.Rate { return num.Rate(v).Raised(num.Percent(p)) })
		hold(t, int64(got), ok, rounded(product(v, 10_000+p), power(4)), "raised", v, p)
	}
}
