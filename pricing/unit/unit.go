package unit

import (
	"fmt"

	"reckoner/pricing/num"
)

// A Unit is what a quantity is counted in. A bought-in line may have one of the
// user's own, which is not Known.
type Unit string

// The units that rates, measures and supplies use.
const (
	M3   Unit = "m3"   // cubic metre
	Ft3  Unit = "ft3"  // cubic foot
	Bf   Unit = "bf"   // board foot: 144 cubic inches
	M2   Unit = "m2"   // square metre
	M    Unit = "m"    // metre
	Kg   Unit = "kg"   // kilogram
	L    Unit = "l"    // litre
	Min  Unit = "min"  // minute
	H    Unit = "h"    // hour
	Km   Unit = "km"   // kilometre
	Each Unit = "each" // thing
	Pack Unit = "pack" // pack of a supply
)

// Known reports whether u is one of the constants.
func (u Unit) Known() bool {
	_, ok := u.places()
	return ok
}

// Places returns how many decimals a line's quantity in u is rounded to; a unit
// that is not Known has the 6 of a Decimal, so that nothing is rounded.
func (u Unit) Places() int {
	n, _ := u.places()
	return n
}

func (u Unit) places() (n int, known bool) {
	switch u {
	case M3:
		return 4, true
	case Ft3, M2, Kg, L:
		return 3, true
	case Bf, M, H, Min:
		return 2, true
	case Km:
		return 1, true
	case Each, Pack:
		return 0, true
	}
	return 6, false
}

// A Face is n rectangles of l x w, none of them negative.
type Face struct {
	N    int    // how many
	L, W Length // of each
}

// Area returns the sum of the faces in square metres with six decimals, rounded
// once. An area is printed where it arises, so it is a Decimal from the start.
// It panics with num.Overflow when a face is negative or the sum does not fit.
func Area(faces ...Face) num.Decimal {
	var sum num.Wide // square nanometres
	for _, f := range faces {
		sum = sum.Plus(num.Mul(int64(f.N), int64(f.L), int64(f.W)))
	}
	return num.Decimal(sum.Over(1e12)) // a square millimetre is the millionth of m2
}

// Volume returns n x l x w x t in u (m3, ft3 or bf) with the places of one
// cutting-list line (6, 5, 4), rounded once from an exact 128-bit product. It
// panics with num.Overflow when a factor is negative or the product does not
// fit, and with a text when u is no unit of volume.
func Volume(n int, l, w, t Length, u Unit) num.Decimal {
	v := num.Mul(int64(n), int64(l), int64(w), int64(t)) // cubic nanometres
	// The divisors make the last place of the unit in cubic nanometres.
	switch u {
	case M3: // 1e27 nm3
		return padded(v.Over(1e12, 1e9), 1)
	case Ft3: // 0.028316846592 m3 exactly
		return padded(v.Over(28_316_846_592, 1e10), 10)
	case Bf: // 0.002359737216 m3 exactly
		return padded(v.Over(2_359_737_216, 1e11), 100)
	}
	panic("unit: no volume in " + string(u))
}

// padded returns n of a unit's last places, each of which is step millionths.
func padded(n, step int64) num.Decimal { return num.Decimal(num.Mul(n, step).Over()) }

// Per returns a rate for one from as the rate for one to, both units of volume,
// rounded once to the four decimals of a rate, and how the two compare, exactly:
// "1 bf = 0.002359737216 m3". It is not ok when one of them is no unit of volume.
func Per(rate num.Rate, from, to Unit) (per num.Rate, factor string, ok bool) {
	f, t := volume(from), volume(to)
	if f == 0 || t == 0 {
		return 0, "", false
	}
	small, large := from, to
	if f > t {
		small, large = to, from
	}
	if large == M3 && small != M3 {
		factor = fmt.Sprintf("1 %s = 0.%012d m3", small, volume(small))
	} else {
		factor = fmt.Sprintf("1 %s = %d %s", large, volume(large)/volume(small), small)
	}
	return num.Rate(num.Mul(int64(rate), t).Over(f)), factor, true
}

// volume returns how many millionths of a cubic centimetre u has, exactly; 0 for
// what is no unit of volume.
func volume(u Unit) int64 {
	switch u {
	case M3:
		return 1_000_000_000_000
	case Ft3:
		return 28_316_846_592
	case Bf:
		return 2_359_737_216
	}
	return 0
}
