package unit_test

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// volumes returns the units of volume in cubic metres, made of inches: an inch is
// 25.4 mm exactly (international yard and pound agreement of 1959, from memory); a
// board foot is 1 ft x 1 ft x 1 in (americanhardwood.org, Measurement).
func volumes() map[unit.Unit]*big.Rat {
	inch := big.NewRat(254, 10_000)
	cubic := func(inches int64) *big.Rat {
		v := new(big.Rat).Mul(inch, inch)
		return v.Mul(v.Mul(v, inch), new(big.Rat).SetInt64(inches))
	}
	return map[unit.Unit]*big.Rat{unit.M3: big.NewRat(1, 1), unit.Ft3: cubic(1728), unit.Bf: cubic(144)}
}

// A rate for one unit is the rate for another, rounded once, whatever the rate.
func TestPer(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	for from, f := range volumes() {
		for to, v := range volumes() {
			for range 2000 {
				rate := num.Rate(r.Int64N(1e10) >> r.IntN(34)) // below the million that a book allows
				got, _, ok := unit.Per(rate, from, to)
				assert.True(t, ok)
				exact := new(big.Rat).Mul(big.NewRat(int64(rate), 1), new(big.Rat).Quo(v, f))
				want := rounded(exact.Num(), exact.Denom())
				if want.Int64() != int64(got) {
					t.Fatalf("%s per %s is %s per %s, not %s", rate, from, num.Rate(want.Int64()), to, got)
				}
			}
		}
	}
}

// From a smaller unit to a larger and back nothing is lost; the other way round no
// more than half a last place of each rate.
func TestPerAndBack(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 2))
	half := big.NewRat(1, 2)
	for from, f := range volumes() {
		for to, v := range volumes() {
			most := new(big.Rat).Mul(half, new(big.Rat).Quo(f, v)) // of the rounded rate between, in last places of this one
			most.Add(most, half)
			for range 2000 {
				rate := num.Rate(r.Int64N(1e10) >> r.IntN(34))
				between, _, _ := unit.Per(rate, from, to)
				back, _, ok := unit.Per(between, to, from)
				assert.True(t, ok)
				off := new(big.Rat).SetInt64(int64(back - rate))
				if off.Abs(off).Cmp(most) > 0 || f.Cmp(v) <= 0 && back != rate {
					t.Fatalf("%s per %s is %s per %s, which is %s", rate, from, between, to, back)
				}
			}
		}
	}
}

// How units compare is said exactly. Source of the figures: 144 and 1728 cubic
// inches of 16.387064 cm3 (UNECE Recommendation 20, code INQ).
func TestPerSaysHowUnitsCompare(t *testing.T) {
	for pair, want := range map[[2]unit.Unit]string{
		{unit.Bf, unit.M3}:   "1 bf = 0.002359737216 m3",
		{unit.Ft3, unit.M3}:  "1 ft3 = 0.028316846592 m3",
		{unit.Bf, unit.Ft3}:  "1 ft3 = 12 bf",
		{unit.M3, unit.M3}:   "1 m3 = 1 m3",
		{unit.Ft3, unit.Ft3}: "1 ft3 = 1 ft3",
		{unit.Bf, unit.Bf}:   "1 bf = 1 bf",
	} {
		for _, p := range [][2]unit.Unit{pair, {pair[1], pair[0]}} {
			_, factor, ok := unit.Per(1, p[0], p[1])
			assert.True(t, ok)
			assert.Equal(t, want, factor, "%v", p)
		}
	}
}

func TestPerOfOtherUnits(t *testing.T) {
	for _, u := range []unit.Unit{unit.M2, unit.M, unit.Kg, unit.L, unit.Min, unit.H, unit.Km, unit.Each, unit.Pack, "", "M3", "cord"} {
		for _, p := range [][2]unit.Unit{{u, unit.M3}, {unit.Bf, u}, {u, u}} {
			per, factor, ok := unit.Per(1_0000, p[0], p[1])
			assert.False(t, ok, "%v", p)
			assert.Zero(t, per)
			assert.Empty(t, factor)
		}
	}
}

// A rate that no book could hold is not made another one.
func TestPerOverflows(t *testing.T) {
	const most = num.Rate(9e18 - 1)
	assert.PanicsWithValue(t, num.Overflow{Op: "a quotient"}, func() { unit.Per(most, unit.Bf, unit.M3) })
	assert.PanicsWithValue(t, num.Overflow{Op: "a product"}, func() { unit.Per(-1, unit.Bf, unit.M3) })
	per, _, ok := unit.Per(most, unit.M3, unit.Bf)
	assert.True(t, ok)
	assert.Equal(t, "2123763494400.00", per.String(), "900000000000000 x 0.002359737216")
}

func ExamplePer() {
	per, factor, _ := unit.Per(7_5500, unit.Bf, unit.M3)
	fmt.Println(per, factor)
	// Output: 3199.5088 1 bf = 0.002359737216 m3
}
