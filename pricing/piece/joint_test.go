package piece_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// Glued areas by hand, in mm2 and then m2 to six places. The formulas are our own
// but for the dovetail's cheeks (see TestDovetailBound); common practice, no source.
func TestGlueArea(t *testing.T) {
	tests := []struct {
		name            string
		joint           piece.Joint
		quantity, slope int
		want            string
	}{
		// 2 x (2 x 15 x 18 + 2 x 15 x 16) = 2040; x 12 = 24 480
		{"twelve twin tenons", piece.Joint{Type: piece.MortiseTenon, Length: 15 * mm, Width: 18 * mm, Thickness: 16 * mm, Twin: true}, 12, 8, "0.02448"},
		{"one tenon", piece.Joint{Type: piece.MortiseTenon, Length: 15 * mm, Width: 18 * mm, Thickness: 16 * mm}, 1, 8, "0.00102"},
		// 2 x 15 x (60 + 8) = 2040
		{"plinth", piece.Joint{Type: piece.MortiseTenon, Length: 15 * mm, Width: 60 * mm, Thickness: 8 * mm}, 2, 8, "0.00408"},
		// 60 x (22 + 12) = 2040, twice
		{"housing", piece.Joint{Type: piece.Housing, Length: 60 * mm, Thickness: 22 * mm, Depth: 6 * mm}, 2, 8, "0.00408"},
		// 250 x (20 + 16) = 9000, x 6
		{"shelf housings", piece.Joint{Type: piece.Housing, Length: 250 * mm, Thickness: 20 * mm, Depth: 8 * mm}, 6, 8, "0.054"},
		{"edge", piece.Joint{Type: piece.Edge, Length: 1225 * mm, Thickness: 27 * mm}, 3, 8, "0.099225"}, // 33 075 x 3
		// 2 x 4 x 12 x 12 x 1.0078 = 1160.9856; 128 x (12 + 24) / 3 = 1536; x 4 = 10 787.9424
		{"through", piece.Joint{Type: piece.ThroughDovetail, Height: 128 * mm, TailBoard: 12 * mm, PinBoard: 12 * mm, Tails: 4}, 4, 8, "0.010788"},
		// b' = 20 - 6 = 14: 2 x 4 x 12 x 14 x 1.0078 = 1354.4832; 128 x (12 + 28) / 3 = 1706.6667; x 4 = 12 244.5995
		{"lapped", piece.Joint{Type: piece.LappedDovetail, Height: 128 * mm, TailBoard: 12 * mm, PinBoard: 20 * mm, Lap: 6 * mm, Tails: 4}, 4, 8, "0.012245"},
		// 1 in 6: 2 x 4 x 12 x 12 x 1.0138 = 1167.8976 + 1536 = 2703.8976
		{"softwood", piece.Joint{Type: piece.ThroughDovetail, Height: 128 * mm, TailBoard: 12 * mm, PinBoard: 12 * mm, Tails: 4}, 1, 6, "0.002704"},
		// 2 x 1 x 0.5 x 0.5 x 1.0078 = 0.5039, 3 x 1.5 / 3 = 1.5; 2.0039 mm2 is 2 millionths
		{"smallest", piece.Joint{Type: piece.ThroughDovetail, Height: 3 * mm, TailBoard: mm / 2, PinBoard: mm / 2, Tails: 1}, 1, 8, "0.000002"},
		{"half a place", piece.Joint{Type: piece.Edge, Length: mm, Thickness: mm / 2}, 1, 8, "0.000001"},
		{"groove", piece.Joint{Type: piece.Groove, Length: 1225 * mm}, 4, 8, "0"},
		{"runner", piece.Joint{Type: piece.Runner}, 4, 8, "0"},
		{"top fixing", piece.Joint{Type: piece.TopFixing}, 8, 8, "0"},
		{"none", piece.Joint{Type: piece.Edge, Length: mm, Thickness: mm}, 0, 8, "0"},
	}
	for _, tt := range tests {
		got := tt.joint.GlueArea(tt.quantity, tt.slope)
		assert.Equal(t, tt.want, got.String(), tt.name)
		assert.Equal(t, tt.want != "0" || tt.quantity == 0, tt.joint.Glued(), tt.name)
	}
}

// area returns the exact glued area of a joint in mm2 by the formulas, once.
func area(j piece.Joint, slope int) *big.Rat {
	r := func(l unit.Length) *big.Rat { return big.NewRat(int64(l), int64(mm)) }
	mul := func(f ...*big.Rat) *big.Rat {
		p := big.NewRat(1, 1)
		for _, x := range f {
			p.Mul(p, x)
		}
		return p
	}
	sum := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Add(a, b) }
	two := big.NewRat(2, 1)
	switch j.Type {
	case piece.MortiseTenon:
		a := sum(mul(two, r(j.Length), r(j.Width)), mul(two, r(j.Length), r(j.Thickness)))
		if j.Twin {
			a.Mul(a, two)
		}
		return a
	case piece.Housing:
		return mul(r(j.Length), sum(r(j.Thickness), mul(two, r(j.Depth))))
	case piece.Edge:
		return mul(r(j.Length), r(j.Thickness))
	}
	k := big.NewRat(1_0078, 1_0000)
	if slope == 6 {
		k = big.NewRat(1_0138, 1_0000)
	}
	a, b := r(j.TailBoard), r(j.PinBoard-j.Lap)
	cheeks := mul(two, big.NewRat(int64(j.Tails), 1), a, b, k)
	return sum(cheeks, mul(r(j.Height), sum(a, mul(two, b)), big.NewRat(1, 3)))
}

// millionths rounds mm2, which are millionths of m2, half up.
func millionths(mm2 *big.Rat) num.Decimal {
	twice := new(big.Rat).Add(new(big.Rat).Mul(mm2, big.NewRat(2, 1)), big.NewRat(1, 1))
	q := new(big.Int).Quo(twice.Num(), new(big.Int).Mul(twice.Denom(), big.NewInt(2)))
	return num.Decimal(q.Int64())
}

// anyJoint draws a glued joint.
func anyJoint(t *rapid.T) piece.Joint {
	size := func(name string, most int64) unit.Length { return unit.Length(rapid.Int64Range(1, most).Draw(t, name)) }
	j := piece.Joint{
		Type:   rapid.SampledFrom([]string{piece.Edge, piece.Housing, piece.MortiseTenon, piece.ThroughDovetail, piece.LappedDovetail}).Draw(t, "type"),
		Length: size("length", 20_000_000_000), Width: size("width", 1_000_000_000), Thickness: size("thickness", 200_000_000), Depth: size("depth", 50_000_000),
		Height: size("height", 2_000_000_000), TailBoard: size("tail board", 60_000_000), PinBoard: size("pin board", 60_000_000),
		Tails: rapid.IntRange(1, 60).Draw(t, "tails"), Twin: rapid.Bool().Draw(t, "twin"),
	}
	if j.Type == piece.LappedDovetail {
		j.Lap = unit.Length(rapid.Int64Range(0, int64(j.PinBoard)-1).Draw(t, "lap"))
	}
	return j
}

// The area of any number of joints is the exact one, rounded once.
func TestGlueAreaIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j, n := anyJoint(t), rapid.IntRange(0, 10_000).Draw(t, "quantity")
		slope := rapid.SampledFrom([]int{6, 8}).Draw(t, "slope")
		want := new(big.Rat).Mul(area(j, slope), big.NewRat(int64(n), 1))
		if got := j.GlueArea(n, slope); got != millionths(want) {
			t.Fatalf("%v: %s, exactly %s mm2", j, got, want.FloatString(6))
		}
	})
}

// Source: contact area of a through dovetail, A = 2 n a b + a w_p + b w_t with tails
// and pins w_t + w_p = h wide in all, never above 2 n a b + max(a, b) h (geometry of
// the joint, cheeks taken square to the board). Sloping cheeks are k times as long,
// so that is what the bound is taken of; where the boards are alike the shoulders
// reach it.
func TestDovetailBound(t *testing.T) {
	// n 4, a 12, b 20, h 150 with w_t = 100, w_p = 50: 1920 + 600 + 2000 = 4520 mm2.
	// Ours: 1920 x 1.0078 + 150 x (12 + 40) / 3 = 1934.976 + 2600 = 4534.976.
	worked := piece.Joint{Type: piece.ThroughDovetail, Height: 150 * mm, TailBoard: 12 * mm, PinBoard: 20 * mm, Tails: 4}
	assert.Equal(t, num.Decimal(4535), worked.GlueArea(1, 8))
	slope := big.NewRat(1920*78, 1_0000)
	assert.Equal(t, "4520", new(big.Rat).Sub(area(worked, 8), slope).RatString(), "the published figure but for the slope")

	rapid.Check(t, func(t *rapid.T) {
		j := anyJoint(t)
		j.Type, j.Lap = piece.ThroughDovetail, 0
		s := rapid.SampledFrom([]int{6, 8}).Draw(t, "slope")
		cheeks, ends := j, j
		cheeks.Height = 0
		ends.Type, ends.Length, ends.Thickness = piece.Edge, j.Height, max(j.TailBoard, j.PinBoard)
		if bound := new(big.Rat).Add(area(cheeks, s), area(ends, s)); area(j, s).Cmp(bound) > 0 {
			t.Fatalf("%v glues more than its faces have", j)
		}
		if j.GlueArea(1, 6) < j.GlueArea(1, 8) {
			t.Fatal("a cheek of 1 in 6 is the longer one")
		}
	})
}

// k is the length of a cheek over its height, sqrt(1 + 1/slope^2), to 4 places.
func TestSlopes(t *testing.T) {
	// One tail between boards of 1 m each and no height leaves 2 k m2.
	j := piece.Joint{Type: piece.ThroughDovetail, TailBoard: unit.Metre, PinBoard: unit.Metre, Tails: 1}
	for slope, want := range map[int]string{8: "2.0156", 6: "2.0276"} {
		assert.Equal(t, want, j.GlueArea(1, slope).String())
		k := new(big.Float).SetPrec(100).SetRat(big.NewRat(int64(slope*slope+1), int64(slope*slope)))
		r, _ := new(big.Rat).SetString(k.Sqrt(k).Text('f', 4))
		assert.Equal(t, want, r.Mul(r, big.NewRat(2, 1)).FloatString(4), "2 sqrt(1 + 1/%d^2)", slope)
	}
}

// Joints are alike when type and sizes are; number, place and material are not
// asked.
func TestAlike(t *testing.T) {
	j := piece.Joint{Type: piece.Housing, Length: 60 * mm, Thickness: 22 * mm, Depth: 6 * mm, Quantity: 2, At: "#/chest", Material: "show"}
	same := piece.Joint{Type: piece.Housing, Length: 60 * mm, Thickness: 22 * mm, Depth: 6 * mm, Quantity: 9, At: "#/parts", Material: "oak"}
	assert.True(t, j.Alike(same))
	for name, change := range map[string]func(*piece.Joint){
		"type":      func(j *piece.Joint) { j.Type = piece.Edge },
		"length":    func(j *piece.Joint) { j.Length++ },
		"width":     func(j *piece.Joint) { j.Width++ },
		"thickness": func(j *piece.Joint) { j.Thickness++ },
		"depth":     func(j *piece.Joint) { j.Depth++ },
		"height":    func(j *piece.Joint) { j.Height++ },
		"tail":      func(j *piece.Joint) { j.TailBoard++ },
		"pin":       func(j *piece.Joint) { j.PinBoard++ },
		"lap":       func(j *piece.Joint) { j.Lap++ },
		"tails":     func(j *piece.Joint) { j.Tails++ },
		"twin":      func(j *piece.Joint) { j.Twin = true },
		"slope":     func(j *piece.Joint) { j.Slope = 6 },
	} {
		k := same
		change(&k)
		assert.False(t, j.Alike(k), name)
	}
}
