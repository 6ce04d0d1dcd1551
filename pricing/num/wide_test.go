package num_test

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/num"
)

const most = math.MaxInt64

func TestWideAtItsEdges(t *testing.T) {
	tests := []struct {
		name     string
		w        num.Wide
		divisors []int64
		want     int64
	}{
		{"zero value", num.Wide{}, nil, 0},
		{"no factor", num.Mul(), nil, 1},
		{"a zero factor", num.Mul(0, most, most), []int64{7}, 0},
		{"126 bits over 63", num.Mul(most, most), []int64{most}, most},
		{"divisors of 126 bits", num.Mul(most, most, 3), []int64{most, most}, 3},
		{"a half of 128 bits", num.Mul(most, most, 2), []int64{most, most, 4}, 1},
		{"just below it", num.Mul(most, most-1, 2), []int64{most, most, 4}, 0},
		{"half of an odd divisor is no tie", num.Mul(1), []int64{3}, 0},
		{"past half of an odd divisor", num.Mul(2), []int64{3}, 1},
		{"a tie", num.Mul(5), []int64{2, 5}, 1},
		{"one rounding: 0.45 is 0, though 4.5 is 5 and 0.5 is 1", num.Mul(45), []int64{10, 10}, 0},
		// 2^128 - 1 and half of the divisor pass 128 bits on the way.
		{"carry above 128 bits", widest(), []int64{most, most, 2}, 2},
		{"the carry passes a divisor of 1", widest(), []int64{1, most, most, 2}, 2},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, tt.w.Over(tt.divisors...))
		})
	}
}

// widest is 2^128 - 1 = (2^63 - 1) x 2^65 + 2^65 - 1.
func widest() num.Wide {
	low := num.Mul(most, 4).Plus(num.Mul(3)) // 2^65 - 1
	return num.Mul(most, 1<<62, 8).Plus(low)
}

func TestWideOverflow(t *testing.T) {
	tests := []struct {
		name string
		f    func()
		want string
	}{
		{"product", func() { num.Mul(most, most, 5) }, "number too large in a product"},
		{"product, carried", func() { widest().Times(2) }, "number too large in a product"},
		{"product, its low half carried over the high one", func() {
			num.Mul(0x5555555555555555, 1<<62, 4).Plus(num.Mul(most, 2)).Plus(num.Mul(1)).Times(3)
		}, "number too large in a product"},
		{"negative factor", func() { num.Mul(2, -1) }, "number too large in a product"},
		{"negative divisor", func() { num.Mul(2).Over(-1) }, "number too large in a product"},
		{"sum", func() { widest().Plus(num.Mul(1)) }, "number too large in a sum"},
		{"quotient of 64 bits", func() { num.Mul(most, 2).Over(1) }, "number too large in a quotient"},
		{"quotient rounded up to 64 bits", func() { num.Mul(most, 2).Plus(num.Mul(1)).Over(2) }, "number too large in a quotient"},
		{"quotient of 128 bits", func() { widest().Over() }, "number too large in a quotient"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.PanicsWithError(t, tt.want, tt.f) })
	}
	assert.Panics(t, func() { num.Mul(2).Over(3, 0) }, "division by zero")
}

func TestWideCompare(t *testing.T) {
	ordered := []num.Wide{{}, num.Mul(1), num.Mul(most), num.Mul(most, 4), num.Mul(most, most), widest()}
	for i, w := range ordered {
		assert.Equal(t, i == 0, w.IsZero())
		for j, v := range ordered {
			assert.Equal(t, big.NewInt(int64(i)).Cmp(big.NewInt(int64(j))), w.Compare(v))
		}
	}
}

func TestWideAgainstBig(t *testing.T) {
	r := random(1)
	limit := new(big.Int).Lsh(big.NewInt(1), 128)
	for range rounds {
		factors, divisors := make([]int64, 1+r.IntN(4)), make([]int64, r.IntN(5))
		for i := range factors {
			factors[i] = r.positive(63)
		}
		for i := range divisors {
			divisors[i] = r.positive(40)
		}
		more := r.natural(63)
		w, ok := try(func() num.Wide { return num.Mul(factors...).Plus(num.Mul(more)) })
		want := product(factors...)
		if want.Add(want, big.NewInt(more)); ok != (want.Cmp(limit) < 0) {
			t.Fatalf("%v + %d: fits %v", factors, more, ok)
		}
		p := product(divisors...)
		if !ok || p.Cmp(limit) >= 0 {
			continue
		}
		got, ok := try(func() int64 { return w.Over(divisors...) })
		hold(t, got, ok, rounded(want, p), factors, more, divisors)
	}
}

func TestNothingIsAllocated(t *testing.T) {
	factors, text := [3]int64{most, 3, 5}, make([]byte, 0, 32)
	var sum num.Decimal
	allocs := testing.AllocsPerRun(100, func() {
		sum += num.Decimal(num.Mul(factors[0], factors[1]).Times(factors[2]).Over(factors[0], 7))
		sum += num.Product(2, num.Whole(60), 1_500_000, sum, 2_000_000).Round(1).Up()
		text = sum.Append(text[:0])
	})
	assert.Zero(t, allocs)
}
