package num_test

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"reckoner/pricing/num"
)

// rounds is how many random cases each law is held against.
const rounds = 20_000

// numbers makes the same numbers on every run, of every size up to 63 bits.
type numbers struct{ *rand.Rand }

func random(a uint64) numbers { return numbers{rand.New(rand.NewPCG(a, 0))} }

// natural returns a number from 0 of at most so many bits, often far fewer.
func (r numbers) natural(bits int) int64 { return r.Int64() >> (63 - r.IntN(bits+1)) }

// positive returns a number from 1 of at most so many bits.
func (r numbers) positive(bits int) int64 { return max(1, r.natural(bits)) }

// signed returns a number of either sign of at most so many bits.
func (r numbers) signed(bits int) int64 { return r.natural(bits) * (1 - 2*r.Int64N(2)) }

// product is the oracle's product of any numbers.
func product[T ~int | ~int64](factors ...T) *big.Int {
	p := big.NewInt(1)
	for _, f := range factors {
		p.Mul(p, big.NewInt(int64(f)))
	}
	return p
}

// power is 10^n.
func power(n int) *big.Int {
	return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
}

// rounded is the oracle of every rounding: n / d, half away from zero, worked
// without a look at the code: the sign apart, (2 |n| + |d|) / 2 |d| cut down.
func rounded(n, d *big.Int) *big.Int {
	top := new(big.Int).Abs(n)
	bottom := new(big.Int).Abs(d)
	top.Add(top.Lsh(top, 1), bottom)
	top.Quo(top, bottom.Lsh(bottom, 1))
	if n.Sign()*d.Sign() < 0 {
		top.Neg(top)
	}
	return top
}

// try returns what f does, and false when it panics with Overflow.
func try[T any](f func() T) (v T, ok bool) {
	defer func() {
		if p := recover(); p != nil {
			if _, is := p.(num.Overflow); !is {
				panic(p)
			}
			ok = false
		}
	}()
	return f(), true
}

// hold fails t unless got is want, and unless got is missing just when want is
// over 63 bits.
func hold(t *testing.T, got int64, ok bool, want *big.Int, input ...any) {
	t.Helper()
	if fits := want.CmpAbs(new(big.Int).Lsh(big.NewInt(1), 63)) < 0; fits != ok {
		t.Fatalf("%v: fits %v, want %v of %s", input, ok, fits, want)
	}
	if ok && want.Cmp(big.NewInt(got)) != 0 {
		t.Fatalf("%v: got %d, want %s", input, got, want)
	}
}
