package num_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/num"
)

func TestChange(t *testing.T) {
	for _, tt := range []struct{ from, to, want string }{
		{"1850.00", "1961.00", "6"}, // the example of a price update
		{"1850.00", "1850.00", "0"},
		{"1850.00", "1850.0001", "0"},
		{"1000.00", "1250.00", "25"},
		{"1000.00", "1250.0499", "25"},
		{"1000.00", "1250.05", "25.01"},
		{"1000.00", "750.00", "-25"},
		{"1000.00", "749.95", "-25.01"},
		{"2.00", "2.0001", "0.01"}, // 0.005 %, half: away from zero
		{"2.00", "1.9999", "-0.01"},
		{"3.00", "4.00", "33.33"},
		{"3.00", "5.00", "66.67"},
		{"10.00", "0.00", "-100"},
		{"0.0001", "0.0002", "100"},
		{"0.0001", "999999.9999", "999999999800"},
	} {
		assert.Equal(t, tt.want, rate(tt.to).Change(rate(tt.from)).String(), "%s to %s", tt.from, tt.to)
	}
	assert.Panics(t, func() { num.Rate(1).Change(0) }, "no percent of nothing")
}

// The change is what exact numbers give, rounded once.
func TestChangeIsExact(t *testing.T) {
	r := random(61)
	for range rounds {
		to, from := r.natural(40), r.positive(40)
		got, ok := try(func() num.Percent { return num.Rate(to).Change(num.Rate(from)) })
		want := new(big.Int).Mul(big.NewInt(to-from), big.NewInt(100_00)) // hundredths of a percent
		hold(t, int64(got), ok, rounded(want, big.NewInt(from)), to, from)
	}
}
