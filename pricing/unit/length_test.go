package unit_test

import (
	"encoding/json"
	"fmt"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

const mm = unit.Millimetre

func dec(s string) num.Decimal {
	d, err := num.ParseDecimal(s)
	if err != nil {
		panic(err)
	}
	return d
}

func TestLengthJSON(t *testing.T) {
	var got struct{ L unit.Length }
	for in, want := range map[string]unit.Length{"0": 0, "27": 27 * mm, "0.000001": unit.Nanometre, "-1.5": -1500 * unit.Micrometre, "20000": 20 * unit.Metre} {
		require.NoError(t, json.Unmarshal([]byte(`{"L": `+in+`}`), &got))
		assert.Equal(t, want, got.L)
		assert.Equal(t, dec(in), got.L.Millimetres())
		out, err := json.Marshal(got)
		require.NoError(t, err)
		assert.Equal(t, `{"L":`+in+`}`, string(out))
	}
	require.NoError(t, json.Unmarshal([]byte(`{"L": null}`), &got))
	assert.EqualError(t, json.Unmarshal([]byte(`{"L": "27 mm"}`), &got),
		`write a number with at most 6 decimals, without quotes or exponent, such as 12.5, not "27 mm"`)
}

// Source: the inch is 25.4 mm by definition (international yard and pound, 1959;
// from memory), so 1/64 in is 0.396875 mm.
func TestSystem(t *testing.T) {
	tests := []struct {
		system unit.System
		size   string
		want   unit.Length
		back   string
	}{
		{unit.InMillimetres, "1175", 1175 * mm, "1175"},
		{"", "1175", 1175 * mm, "1175"},
		{unit.InMillimetres, "0.00005", 50, "0.0001"},
		{unit.InMillimetres, "0.000049", 49, "0"},
		{unit.InInches, "1", unit.Inch, "1"},
		{unit.InInches, "0.015625", 396_875, "0.015625"},
		{unit.InInches, "46.259843", 1_175_000_012, "46.259843"},
		{unit.InInches, "-0.5", -12_700_000, "-0.5"},
		{unit.InInches, "0.000001", 25, "0.000001"}, // 25.4 nm
		{unit.InInches, "0", 0, "0"},
	}
	for _, tt := range tests {
		l := tt.system.Length(dec(tt.size))
		assert.Equal(t, tt.want, l, "%s %s", tt.size, tt.system)
		assert.Equal(t, dec(tt.back), tt.system.Size(l), "%s %s", tt.size, tt.system)
		assert.Equal(t, "size "+tt.back, string(l.AppendSize([]byte("size "), tt.system)))
	}
	assert.Equal(t, "46.259843", string((1175*mm).AppendSize(nil, unit.InInches)))
	assert.True(t, unit.InMillimetres.Known() && unit.InInches.Known())
	assert.False(t, unit.System("").Known() || unit.System("cm").Known())
}

// The laws of sizes: what is written comes back as written, and a length comes
// back to within half of the last place.
func TestSizesComeBack(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 0))
	for range 20_000 {
		size := num.Decimal(r.Int64N(20_000_000_000) - 10_000_000_000)
		if got := unit.InInches.Size(unit.InInches.Length(size)); got != size {
			t.Fatalf("%s in comes back as %s", size, got)
		}
		if got := unit.InMillimetres.Size(unit.InMillimetres.Length(size.Round(4))); got != size.Round(4) {
			t.Fatalf("%s mm comes back as %s", size.Round(4), got)
		}
		l := unit.Length(r.Int64N(int64(20 * unit.Metre)))
		if d := l - unit.InInches.Length(unit.InInches.Size(l)); d < -13 || d > 13 {
			t.Fatalf("%d nm is %d off in inches", l, d)
		}
	}
}

// The bounds that people are told: the last size on the right side of a limit.
// By the inch of 25.4 mm, 1 mm is 0.03937008 in and 20 m are 787.40157480 in.
func TestBounds(t *testing.T) {
	for _, tt := range []struct {
		system          unit.System
		l               unit.Length
		atLeast, atMost string
	}{
		{unit.InMillimetres, mm, "1", "1"},
		{unit.InMillimetres, mm + 1, "1.0001", "1"},
		{unit.InMillimetres, mm - 1, "1", "0.9999"},
		{"", 20*unit.Metre - 1, "20000", "19999.9999"},
		{unit.InInches, mm, "0.039371", "0.03937"},
		{unit.InInches, 20 * unit.Metre, "787.401575", "787.401574"},
		{unit.InInches, unit.Inch, "1", "1"},
		{unit.InInches, 3 * unit.Metre, "118.110237", "118.110236"},
	} {
		assert.Equal(t, dec(tt.atLeast), tt.system.AtLeast(tt.l), "%d", tt.l)
		assert.Equal(t, dec(tt.atMost), tt.system.AtMost(tt.l), "%d", tt.l)
	}
	r := rand.New(rand.NewPCG(4, 0))
	for range 20_000 {
		l := unit.Length(r.Int64N(int64(20 * unit.Metre)))
		for s, step := range map[unit.System]num.Decimal{unit.InMillimetres: 100, unit.InInches: 1} {
			least, most := s.AtLeast(l), s.AtMost(l)
			if s.Length(least) < l || s.Length(least-step) >= l || s.Length(most) > l || s.Length(most+step) <= l {
				t.Fatalf("%d nm are at least %s %s, at most %s", l, least, s, most)
			}
		}
	}
}

func TestShare(t *testing.T) {
	assert.Equal(t, 333_333_333*unit.Nanometre, unit.Share(unit.Metre, 3))
	assert.Equal(t, unit.Metre, unit.Share(unit.Metre, 1))
	assert.Equal(t, unit.Length(0), unit.Share(0, 7))
	r := rand.New(rand.NewPCG(2, 0))
	for range 1_000 {
		l, n := unit.Length(r.Int64N(int64(20*unit.Metre))), 1+r.IntN(40)
		one := unit.Share(l, n)
		if rest := l - one*unit.Length(n); rest < 0 || rest >= unit.Length(n) {
			t.Fatalf("%d shares of %d leave %d", n, l, rest)
		}
	}
}

// FuzzLength: parse(format(x)) = x in JSON, and in inches for what people can type.
func FuzzLength(f *testing.F) {
	for _, s := range []string{"0", "27", "46.259843", "-0.000001", "1e3", `"27"`, "null", "8999999999999.999999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var l, again unit.Length
		if l.UnmarshalJSON([]byte(s)) != nil {
			return
		}
		out, err := l.MarshalJSON()
		if err != nil || again.UnmarshalJSON(out) != nil || again != l {
			t.Fatalf("%q reads as %d, %s reads as %d, %v", s, l, out, again, err)
		}
		size, err := num.ParseDecimal(s)
		if err != nil || size > num.Whole(100_000_000) || size < num.Whole(-100_000_000) {
			return
		}
		if got := unit.InInches.Size(unit.InInches.Length(size)); got != size {
			t.Fatalf("%s in comes back as %s", size, got)
		}
	})
}

// A board is written in inches and bought by the board foot or the cubic metre.
func ExampleVolume() {
	in := unit.InInches
	length, width, thickness := in.Length(dec("96")), in.Length(dec("9")), in.Length(dec("1.5"))
	fmt.Println(unit.Volume(1, length, width, thickness, unit.Bf), unit.Bf)
	fmt.Println(unit.Volume(1, length, width, thickness, unit.M3), unit.M3)
	// Output:
	// 9 bf
	// 0.021238 m3
}

func ExampleLength() {
	side := 1175 * unit.Millimetre
	fmt.Printf("%s mm, %s in\n", side.AppendSize(nil, unit.InMillimetres), side.AppendSize(nil, unit.InInches))
	fmt.Println(unit.InInches.Length(dec("0.015625")).Millimetres(), "mm")
	// Output:
	// 1175 mm, 46.259843 in
	// 0.396875 mm
}

// rounded is the oracle: n / d, half up, for numbers that are not negative.
func rounded(n, d *big.Int) *big.Int {
	n = new(big.Int).Add(new(big.Int).Lsh(n, 1), d)
	return n.Quo(n, new(big.Int).Lsh(d, 1))
}
