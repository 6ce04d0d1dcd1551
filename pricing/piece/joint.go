package piece

import (
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Types of joint. The last three are counted and never glued.
const (
	ThroughDovetail = "through_dovetail"
	LappedDovetail  = "lapped_dovetail"
	MortiseTenon    = "mortise_tenon"
	Housing         = "housing"
	Edge            = "edge"
	Groove          = "groove"
	Runner          = "runner"
	TopFixing       = "top_fixing"
)

// A Joint is all that makes two joints alike; Type decides which sizes it has.
// Edge joints between the strips of a part are not made here: they follow from
// the widths of the boards.
type Joint struct {
	Type             string
	Height           unit.Length // dovetails: of the boards
	TailBoard        unit.Length // dovetails: thickness
	PinBoard         unit.Length
	Lap              unit.Length // lapped dovetails
	Tails            int         // in one corner
	Length, Width    unit.Length // tenon, housing, edge, groove
	Thickness, Depth unit.Length
	Twin             bool
	Slope            int    // of the dovetails, 8 or 6; 0: as the tail board's timber says
	Material         string // of the tail board, or of the edges: a role or a code

	Quantity int    // corners, ends, housings, edges, grooves...
	At       string // pointer of the object it comes from
}

// Alike reports whether j and k stand on one line of joints: one type, equal
// sizes.
func (j Joint) Alike(k Joint) bool {
	k.Quantity, k.At, k.Material = j.Quantity, j.At, j.Material
	return j == k
}

// Glued reports whether j is glued.
func (j Joint) Glued() bool {
	switch j.Type {
	case Groove, Runner, TopFixing:
		return false
	}
	return true
}

// GlueArea returns the glued area of quantity joints like j in m2 with six
// decimals, rounded once; slope is that of the tail board's timber, 8 or 6.
//
// A dovetailed corner glues both cheeks of every tail, 2 n a b' k, where k is
// the length of a sloping cheek over its height, sqrt(1 + 1/slope^2); and a
// third of the end grain and shoulders, h (a + 2 b') / 3.
func (j Joint) GlueArea(quantity, slope int) num.Decimal {
	n := quantity
	switch j.Type {
	case ThroughDovetail, LappedDovetail:
		k := int64(1_0078)
		if slope == 6 {
			k = 1_0138
		}
		a, b := int64(j.TailBoard), int64(j.PinBoard-j.Lap)
		cheeks := num.Mul(6*int64(j.Tails)*k, a, b, int64(n))
		ends := num.Mul(10_000, int64(j.Height), a+2*b, int64(n))
		return num.Decimal(cheeks.Plus(ends).Over(30_000, squareMetre/int64(num.One)))
	case MortiseTenon:
		if j.Twin {
			n *= 2
		}
		return unit.Area(unit.Face{N: 2 * n, L: j.Length, W: j.Width + j.Thickness})
	case Housing:
		return unit.Area(unit.Face{N: n, L: j.Length, W: j.Thickness + 2*j.Depth})
	case Edge:
		return unit.Area(unit.Face{N: n, L: j.Length, W: j.Thickness})
	}
	return 0
}

const squareMetre = int64(unit.Metre) * int64(unit.Metre)

// tails returns how many tails a corner of height h has at that pitch: at least
// two, else h / pitch to the nearest, half up.
func tails(h, pitch unit.Length) int {
	if pitch <= 0 {
		return 2
	}
	return max(2, int((2*h+pitch)/(2*pitch)))
}

// corners returns n corners of that type and height between tail boards thick a
// and pin boards thick p.
func corners(kind string, n int, h, a, p, pitch unit.Length) Joint {
	return Joint{Type: kind, Height: h, TailBoard: a, PinBoard: p, Tails: tails(h, pitch), Material: Inner, Quantity: n}
}
