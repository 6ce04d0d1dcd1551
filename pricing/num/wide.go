package num

import (
	"cmp"
	"math"
	"math/bits"
)

// A Wide is an exact whole number from 0 to 2^128 - 1: what stands between the
// factors of a product and its one rounding. The zero Wide is 0. Nothing here
// allocates.
type Wide struct {
	hi, lo uint64
}

// Mul returns the product of the factors, 1 if there are none. It panics with
// Overflow when a factor is negative or the product passes 128 bits.
func Mul(factors ...int64) Wide {
	w := Wide{lo: 1}
	for _, f := range factors {
		w = w.Times(f)
	}
	return w
}

// Times returns w x n. It panics with Overflow when n is negative or the
// product passes 128 bits.
func (w Wide) Times(n int64) Wide {
	if n < 0 {
		panic(Overflow{"a product"})
	}
	over, hi := bits.Mul64(w.hi, uint64(n))
	carry, lo := bits.Mul64(w.lo, uint64(n))
	hi, more := bits.Add64(hi, carry, 0)
	if over|more != 0 {
		panic(Overflow{"a product"})
	}
	return Wide{hi, lo}
}

// Plus returns w + v. It panics with Overflow when the sum passes 128 bits.
func (w Wide) Plus(v Wide) Wide {
	lo, carry := bits.Add64(w.lo, v.lo, 0)
	hi, over := bits.Add64(w.hi, v.hi, carry)
	if over != 0 {
		panic(Overflow{"a sum"})
	}
	return Wide{hi, lo}
}

// Over returns w divided by the product of the divisors, rounded half up once.
// It panics with Overflow when a divisor is negative, their product passes 128
// bits or the quotient passes 63; no divisor may be zero.
func (w Wide) Over(divisors ...int64) int64 {
	p := Mul(divisors...)
	if w.hi|p.hi == 0 { // a machine word each, as nearly always
		if sum, carry := bits.Add64(w.lo, p.lo>>1, 0); carry == 0 && sum/p.lo <= math.MaxInt64 {
			return int64(sum / p.lo)
		}
	}
	// Half the product goes in first, and what it carries out on top, so that
	// cutting down by one divisor after another rounds the whole just once. The
	// carry needs a divisor of 2 or more, which takes it away again.
	lo, carry := bits.Add64(w.lo, p.hi<<63|p.lo>>1, 0)
	hi, top := bits.Add64(w.hi, p.hi>>1, carry)
	for _, d := range divisors {
		n := uint64(d)
		rest := top % n
		top /= n
		hi, rest = bits.Div64(rest, hi, n)
		lo, _ = bits.Div64(rest, lo, n)
	}
	if hi != 0 || lo > math.MaxInt64 {
		panic(Overflow{"a quotient"})
	}
	return int64(lo)
}

// Decimal returns w, a count of steps of which so many make 1, rounded once to
// places decimals. Steps is a multiple of 10 to the power places. It panics with
// Overflow when the number does not fit.
func (w Wide) Decimal(places int, steps int64) Decimal {
	return Decimal(w.Over(steps / tenTo(places))).scaled(decimalPlaces - places)
}

// IsZero reports whether w is 0.
func (w Wide) IsZero() bool { return w == Wide{} }

// Compare returns -1, 0 or 1 as w is less than, equal to or more than v.
func (w Wide) Compare(v Wide) int {
	return cmp.Or(cmp.Compare(w.hi, v.hi), cmp.Compare(w.lo, v.lo))
}
