package unit_test

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

const in = unit.Inch

func TestPlaces(t *testing.T) {
	for u, want := range map[unit.Unit]int{
		unit.M3: 4, unit.Ft3: 3, unit.Bf: 2, unit.M2: 3, unit.M: 2, unit.Kg: 3, unit.L: 3,
		unit.Min: 2, unit.H: 2, unit.Km: 1, unit.Each: 0, unit.Pack: 0,
	} {
		assert.True(t, u.Known(), u)
		assert.Equal(t, want, u.Places(), u)
	}
	for _, u := range []unit.Unit{"", "day", "M3", " m"} {
		assert.False(t, u.Known(), u)
		assert.Equal(t, 6, u.Places(), "a unit of the user's own: nothing is rounded")
	}
}

func TestVolumeOfPublishedExamples(t *testing.T) {
	tests := []struct {
		source  string
		n       int
		l, w, t unit.Length
		u       unit.Unit
		want    string
	}{
		{"americanhardwood.org, Measurement: 1 ft x 1 ft x 1 in is 1 bf", 1, 12 * in, 12 * in, in, unit.Bf, "1"},
		{"woodworkingtips.com, e-tip 4: 1 x 9 x 96 in", 1, 96 * in, 9 * in, in, unit.Bf, "6"},
		{"woodworkingtips.com, e-tip 4: 1.5 x 9 x 96 in", 1, 96 * in, 9 * in, in * 3 / 2, unit.Bf, "9"},
		{"elmwoodreclaimedtimber.com, Useful math: 4 in x 6 in x 10 ft", 1, 120 * in, 6 * in, 4 * in, unit.Bf, "20"},
		{"americanhardwood.org, Measurement: 2 in x 6 1/4 in x 8 ft before its rounding", 1, 96 * in, in * 25 / 4, 2 * in, unit.Bf, "8.3333"},
		{"UNECE Rec. 20 code INQ: 1 in3 = 16.387064 cm3 exactly", 1_000_000, in, in, in, unit.M3, "16.387064"},
		{"144 of those make 1 bf = 0.002359737216 m3", 1_000_000, 12 * in, 12 * in, in, unit.M3, "2359.737216"},
		{"1728 of those make 1 ft3 = 0.028316846592 m3", 1_000_000, 12 * in, 12 * in, 12 * in, unit.M3, "28316.846592"},
		{"1 ft3 = 12 bf", 1, 12 * in, 12 * in, 12 * in, unit.Bf, "12"},
		{"1 ft3", 1, 12 * in, 12 * in, 12 * in, unit.Ft3, "1"},
		{"1 m3 = 423.776000658 bf, from the above", 1, unit.Metre, unit.Metre, unit.Metre, unit.Bf, "423.776"},
		{"1 m3 = 35.314666721 ft3, from the above", 1, unit.Metre, unit.Metre, unit.Metre, unit.Ft3, "35.31467"},
		{"ours: 27 x 200 mm x 2.4 m", 1, 2400 * mm, 200 * mm, 27 * mm, unit.M3, "0.01296"},
		{"ours: the same, 5.49213696... bf", 1, 2400 * mm, 200 * mm, 27 * mm, unit.Bf, "5.4921"},
		{"ours: half of the last place goes up", 1, mm, mm, 500 * mm, unit.M3, "0.000001"},
		{"ours: no boards", 0, unit.Metre, unit.Metre, unit.Metre, unit.Ft3, "0"},
	}
	for _, tt := range tests {
		t.Run(tt.source, func(t *testing.T) {
			assert.Equal(t, tt.want, unit.Volume(tt.n, tt.l, tt.w, tt.t, tt.u).String())
		})
	}
}

func TestVolumeRefuses(t *testing.T) {
	assert.PanicsWithValue(t, "unit: no volume in kg", func() { unit.Volume(1, mm, mm, mm, unit.Kg) })
	assert.PanicsWithError(t, "number too large in a product", func() { unit.Volume(1, -mm, mm, mm, unit.M3) })
	far := 1_000_000_000 * mm // 1000 km
	assert.PanicsWithError(t, "number too large in a product", func() { unit.Volume(10_000, far, far, far, unit.M3) })
}

func TestVolumeAgainstBig(t *testing.T) {
	// The last place of each unit as a fraction of cubic nanometres, from inches.
	foot := big.NewInt(int64(12 * in))
	cube := func(l *big.Int) *big.Int { return new(big.Int).Exp(l, big.NewInt(3), nil) }
	units := []struct {
		u     unit.Unit
		whole *big.Int
		last  int64 // millionths
	}{
		{unit.M3, cube(big.NewInt(int64(unit.Metre))), 1},
		{unit.Ft3, cube(foot), 10},
		{unit.Bf, new(big.Int).Quo(cube(foot), big.NewInt(12)), 100},
	}
	r := rand.New(rand.NewPCG(3, 0))
	size := func() unit.Length { return unit.Length(r.Int64N(int64(20*unit.Metre)) >> r.IntN(20)) }
	for range 20_000 {
		n, l, w, d := r.IntN(10_000), size(), size(), size()
		nm3 := big.NewInt(int64(n))
		for _, f := range []unit.Length{l, w, d} {
			nm3.Mul(nm3, big.NewInt(int64(f)))
		}
		for _, u := range units {
			want := rounded(new(big.Int).Mul(nm3, big.NewInt(1_000_000/u.last)), u.whole)
			want.Mul(want, big.NewInt(u.last))
			got := big.NewInt(int64(unit.Volume(n, l, w, d, u.u)))
			if got.Cmp(want) != 0 {
				t.Fatalf("%d x %d x %d x %d nm: %s millionths of %s, want %s", n, l, w, d, got, u.u, want)
			}
		}
	}
}

func TestArea(t *testing.T) {
	assert.Equal(t, num.Decimal(0), unit.Area())
	assert.Equal(t, "0", unit.Area(unit.Face{}).String())
	// Source: UNECE Rec. 20 code FTK: 1 ft2 = 0.09290304 m2 exactly.
	assert.Equal(t, "929.0304", unit.Area(unit.Face{N: 10_000, L: 12 * in, W: 12 * in}).String())
	assert.Equal(t, "0.092903", unit.Area(unit.Face{N: 1, L: 12 * in, W: 12 * in}).String())
	// Half square millimetres: rounded together, not one by one.
	half := unit.Face{N: 1, L: mm, W: mm / 2}
	assert.Equal(t, "0.000001", unit.Area(half).String())
	assert.Equal(t, "0.000001", unit.Area(half, half).String())
	assert.PanicsWithError(t, "number too large in a product", func() { unit.Area(unit.Face{N: 1, L: -mm, W: mm}) })
	assert.PanicsWithError(t, "number too large in a quotient", func() {
		unit.Area(unit.Face{N: 1, L: 1 << 62, W: 1 << 62})
	})
}

func TestAreaAgainstBig(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 0))
	size := func() unit.Length { return unit.Length(r.Int64N(int64(20*unit.Metre)) >> r.IntN(20)) }
	for range 20_000 {
		faces, nm2 := make([]unit.Face, r.IntN(5)), new(big.Int)
		for i := range faces {
			f := unit.Face{N: r.IntN(1_000), L: size(), W: size()}
			one := new(big.Int).Mul(big.NewInt(int64(f.L)), big.NewInt(int64(f.W)))
			nm2.Add(nm2, one.Mul(one, big.NewInt(int64(f.N))))
			faces[i] = f
		}
		if got, want := unit.Area(faces...), rounded(nm2, big.NewInt(1e12)); big.NewInt(int64(got)).Cmp(want) != 0 {
			t.Fatalf("%v: %d, want %s", faces, got, want)
		}
	}
}

func TestNothingIsAllocated(t *testing.T) {
	face := unit.Face{N: 3, L: 600 * mm, W: 22 * mm}
	var sum num.Decimal
	text := make([]byte, 0, 32)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		sum += unit.Area(face, face) + unit.Volume(2, face.L, face.W, 20*mm, unit.Ft3)
		text = face.L.AppendSize(text[:0], unit.InInches)
	}))
}
