// Package num holds exact numbers as whole counts of their smallest step, and
// the one rounding they share: half away from zero. It has no floats and knows
// no units. Arithmetic that does not fit panics with [Overflow], which
// pricing.Cost turns into an error; the limits on requests and books keep any
// real job far from it.
//
// Numbers are read strictly: digits, or digits.digits, with the decimals their
// type has. Every error says in one sentence what to write instead.
package num

// Overflow is the panic value of arithmetic that does not fit 64 bits at the
// end or 128 bits on the way. Only pricing.Cost recovers it.
type Overflow struct {
	Op string // what was worked out: "a product", "a sum", "a quotient"
}

// Error says what did not fit.
func (o Overflow) Error() string { return "number too large in " + o.Op }

// ratio returns a x b / c, rounded half away from zero; c is not zero.
func ratio(a, b, c int64) int64 {
	v := Mul(magnitude(a), magnitude(b)).Over(magnitude(c))
	if (a < 0) != (b < 0) != (c < 0) {
		return -v
	}
	return v
}

// magnitude returns v without its sign. The least int64 has none and stays
// negative, which Mul and Over refuse.
func magnitude(v int64) int64 {
	if v < 0 {
		return -v
	}
	return v
}

// tenTo returns 10 to the power n, 0 to 18.
func tenTo(n int) int64 {
	switch n {
	case 0:
		return 1
	case 6:
		return 1e6
	case 12:
		return 1e12
	}
	p := int64(10)
	for range n - 1 {
		p *= 10
	}
	return p
}
