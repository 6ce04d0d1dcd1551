package num

import "math"

// A Decimal is an exact number in millionths: 1.5 is Decimal(1_500_000).
// Sizes as written, quantities and factors are Decimals; they add and compare
// as Go integers. JSON: a number with at most six decimals, shortest form
// ("1.5", never "1.50" or 1e3), below 9e12 without its sign.
type Decimal int64

// One is the number 1.
const One Decimal = 1_000_000

// decimalPlaces is how many decimals a Decimal has.
const decimalPlaces = 6

// ParseDecimal reads [-]digits[.digits] with at most six decimals.
func ParseDecimal(s string) (Decimal, error) {
	n := notation{decimalPlaces, math.MinInt64, "a number with at most 6 decimals, such as 12.5"}
	v, err := n.text(s)
	return Decimal(v), err
}

// Whole returns n as a Decimal.
func Whole(n int) Decimal { return Decimal(ratio(int64(n), int64(One), 1)) }

// Product multiplies the factors, divides by over and rounds once to places
// decimals (0 to 6), half away from zero; what happens in between is exact, in
// 128 bits, or panics with Overflow. Over is not zero.
func Product(places int, over Decimal, factors ...Decimal) Decimal {
	w, minus := Mul(), over < 0
	for _, f := range factors {
		w = w.Times(magnitude(int64(f)))
		minus = minus != (f < 0)
	}
	// Each factor but one brings six decimals that over does not take away;
	// the places asked for are left in.
	excess := decimalPlaces*(len(factors)-1) - places
	if excess < 0 {
		w, excess = w.Times(tenTo(-excess)), 0
	}
	divisors := [4]int64{magnitude(int64(over))} // more do not fit 128 bits
	used := 1
	for ; excess > 0 && used < len(divisors); used++ {
		n := min(excess, 18)
		divisors[used] = tenTo(n)
		excess -= n
	}
	v := Decimal(w.Over(divisors[:used]...)).scaled(decimalPlaces - places)
	if minus {
		return -v
	}
	return v
}

// Plus returns d + e. It panics with Overflow when the sum does not fit; sums of
// figures that were checked before may use + instead.
func (d Decimal) Plus(e Decimal) Decimal {
	sum := d + e
	if (sum < d) != (e < 0) {
		panic(Overflow{"a sum"})
	}
	return sum
}

// Round returns d with places decimals (0 to 6), half away from zero.
func (d Decimal) Round(places int) Decimal {
	n := decimalPlaces - places
	if d%Decimal(tenTo(n)) == 0 {
		return d
	}
	return Decimal(ratio(int64(d), 1, tenTo(n))).scaled(n)
}

// Up returns the least whole number not below d.
func (d Decimal) Up() Decimal {
	n := d / One
	if d%One > 0 {
		n++
	}
	return n.scaled(decimalPlaces)
}

// scaled returns 10^n x d.
func (d Decimal) scaled(n int) Decimal {
	if n == 0 {
		return d
	}
	return Decimal(ratio(int64(d), tenTo(n), 1))
}

// String returns the shortest exact form: "-0.5", "12".
func (d Decimal) String() string {
	var b [24]byte
	return string(d.Append(b[:0]))
}

// Append appends the shortest exact form to b.
func (d Decimal) Append(b []byte) []byte { return appendCount(b, int64(d), decimalPlaces, 0) }

// MarshalJSON writes d as a JSON number.
func (d Decimal) MarshalJSON() ([]byte, error) { return d.Append(nil), nil }

// UnmarshalJSON reads a JSON number of at most six decimals; a string or an
// exponent is an error, null leaves d as it was.
func (d *Decimal) UnmarshalJSON(b []byte) error {
	const remedy = "a number with at most 6 decimals, without quotes or exponent, such as 12.5"
	return readNumber(d, b, notation{decimalPlaces, math.MinInt64, remedy})
}

// A Count is a whole number from 1. UnmarshalJSON refuses less, so that a typed
// 0 is never taken for absent.
type Count int

// UnmarshalJSON reads a JSON number from 1; null leaves c as it was.
func (c *Count) UnmarshalJSON(b []byte) error {
	return readNumber(c, b, notation{0, 1, "a whole number from 1, without quotes or decimals"})
}

// A Percent is a percentage in hundredths of a percent: 17.5 % is Percent(1750).
// JSON: a number from 0 with at most two decimals (17.5).
type Percent int64

// hundred is 100 %, the whole.
const hundred Percent = 100_00

// Factor returns 1 + p, the factor that adds p to a quantity.
func (p Percent) Factor() Decimal {
	return Decimal(ratio(int64(hundred+p), int64(One), int64(hundred)))
}

// String returns the shortest exact form without a sign for percent: "17.5".
func (p Percent) String() string {
	var b [24]byte
	return string(p.Append(b[:0]))
}

// Append appends the shortest exact form to b.
func (p Percent) Append(b []byte) []byte { return appendCount(b, int64(p), 2, 0) }

// MarshalJSON writes p as a JSON number.
func (p Percent) MarshalJSON() ([]byte, error) { return p.Append(nil), nil }

// UnmarshalJSON reads a JSON number from 0 of at most two decimals; null leaves
// p as it was.
func (p *Percent) UnmarshalJSON(b []byte) error {
	const remedy = "a percentage from 0 with at most 2 decimals, without quotes or exponent, such as 17.5"
	return readNumber(p, b, notation{2, 0, remedy})
}

// readNumber reads the JSON number b into v, or leaves v for null.
func readNumber[T ~int | ~int64](v *T, b []byte, n notation) error {
	if string(b) == "null" {
		return nil
	}
	got, err := n.json(b)
	if err == nil {
		*v = T(got)
	}
	return err
}
