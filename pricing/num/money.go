package num

import (
	"cmp"
	"fmt"
	"math"
	"strings"
)

// Money is a computed amount: whole smallest coins and how many decimals the
// currency prints. Amounts of different decimals never meet, for one Book has
// one currency: they panic, unless one of them is zero. The zero Money is
// nothing in any currency. JSON: a string with exactly its decimals, "1234.50".
type Money struct {
	minor  int64
	places uint8
}

// Plus returns m + n. It panics with Overflow when the sum does not fit.
func (m Money) Plus(n Money) Money {
	sum := m.minor + n.minor
	if (sum > m.minor) != (n.minor > 0) && n.minor != 0 {
		panic(Overflow{"a sum"})
	}
	return Money{sum, m.common(n)}
}

// Minus returns m - n. It panics with Overflow when the difference does not fit.
func (m Money) Minus(n Money) Money { return m.Plus(n.Times(-1)) }

// Times returns n times m. It panics with Overflow when that does not fit.
func (m Money) Times(n int) Money { return m.ratio(int64(n), 1) }

// Percent returns p of m, rounded once.
func (m Money) Percent(p Percent) Money { return m.ratio(int64(p), int64(hundred)) }

// Of returns what part m is of n, in percent, rounded once to two decimals; of
// nothing it is none.
func (m Money) Of(n Money) Percent {
	m.common(n)
	if n.minor == 0 {
		return 0
	}
	return Percent(ratio(m.minor, int64(hundred), n.minor))
}

// AtMargin returns the price of which m is left when the margin p is taken:
// m / (1 - p), rounded once. P is below 100 %.
func (m Money) AtMargin(p Percent) Money {
	if p >= hundred {
		panic("num: a margin of 100 % or more leaves no cost")
	}
	return m.ratio(int64(hundred), int64(hundred-p))
}

// Share splits m over the weights so that the shares add up to m exactly: each
// is the rounded running total less the one before. A weight of zero gets zero;
// weights that add up to zero all do.
func (m Money) Share(weights []Money) []Money {
	var total Money
	for _, w := range weights {
		total = total.Plus(w)
	}
	shares := make([]Money, len(weights))
	var weight, shared Money
	for i, w := range weights {
		upTo := Money{places: m.places}
		if weight = weight.Plus(w); !total.IsZero() {
			upTo = m.ratio(weight.minor, total.minor)
		}
		shares[i] = upTo.Minus(shared)
		shared = upTo
	}
	return shares
}

// UpTo returns the least multiple of n x step not below m, and that over n: the
// price of the whole line and of one piece. N is from 1; a step of zero is one
// smallest coin.
func (m Money) UpTo(step Money, n int) (whole, one Money) {
	places := m.common(step)
	step = Money{max(step.minor, 1), places}
	lot := step.Times(n)
	lots := m.minor / lot.minor
	if m.minor%lot.minor > 0 {
		lots++
	}
	return lot.ratio(lots, 1), step.ratio(lots, 1)
}

// Compare returns -1, 0 or 1 as m is less than, equal to or more than n.
func (m Money) Compare(n Money) int {
	m.common(n)
	return cmp.Compare(m.minor, n.minor)
}

// IsZero reports whether the amount is zero, whatever its decimals.
func (m Money) IsZero() bool { return m.minor == 0 }

// IsNegative reports whether the amount is below zero.
func (m Money) IsNegative() bool { return m.minor < 0 }

// Minor returns the amount in smallest coins.
func (m Money) Minor() int64 { return m.minor }

// String returns m with its currency's decimals.
func (m Money) String() string {
	var b [24]byte
	return string(m.append(b[:0]))
}

// AppendText appends m with its currency's decimals.
func (m Money) AppendText(b []byte) ([]byte, error) { return m.append(b), nil }

// MarshalText returns what AppendText appends.
func (m Money) MarshalText() ([]byte, error) { return m.append(nil), nil }

// UnmarshalText reads what AppendText wrote; the decimals written are kept.
func (m *Money) UnmarshalText(b []byte) error {
	_, decimals, _ := strings.Cut(string(b), ".")
	n := notation{len(decimals), math.MinInt64, "an amount with the 0, 2 or 3 decimals of its currency, such as 1234.50"}
	if n.places == 1 || n.places > 3 {
		return fmt.Errorf("write %s, not %q", n.remedy, clip(string(b)))
	}
	v, err := n.text(string(b))
	if err == nil {
		*m = Money{v, uint8(n.places)}
	}
	return err
}

func (m Money) append(b []byte) []byte {
	return appendCount(b, m.minor, int(m.places), int(m.places))
}

// ratio returns m x a / b, rounded once.
func (m Money) ratio(a, b int64) Money { return Money{ratio(m.minor, a, b), m.places} }

// common returns the decimals that m and n have in common; zero takes those of
// the other.
func (m Money) common(n Money) uint8 {
	switch {
	case m.places == n.places || n.minor == 0 && m.minor != 0:
		return m.places
	case m.minor == 0 && n.minor != 0:
		return n.places
	case m.minor == 0 && n.minor == 0:
		return max(m.places, n.places)
	}
	panic(fmt.Sprintf("num: money of %d and of %d decimals met", m.places, n.places))
}
