package wire

import (
	"time"

	"reckoner/pricing/cutting"
	"reckoner/pricing/num"
)

// A Solution is a plan of a variant of an Instance, in its sizes.
type Solution struct {
	Instance string        `json:"instance"`
	Rotation string        `json:"rotation"`
	Millis   num.Decimal   `json:"ms"`    // how long planning took
	Bound    num.Decimal   `json:"bound"` // no plan costs less: in cost, or in pieces of stock for an objective of bins
	Bins     []SolutionBin `json:"bins"`
}

// A SolutionBin is a layout and how often it is cut.
type SolutionBin struct {
	Stock  string           `json:"stock"` // its id
	Count  int              `json:"count"`
	Placed []SolutionPlaced `json:"placed"`
}

// A SolutionPlaced is an item where it lies, from the lower left corner of the
// untrimmed stock: at X and Y, W by H as it lies; in one dimension at X, Len long.
type SolutionPlaced struct {
	X       num.Decimal  `json:"x"`
	Y       *num.Decimal `json:"y,omitzero"`
	W       num.Decimal  `json:"w,omitzero"`
	H       num.Decimal  `json:"h,omitzero"`
	Len     num.Decimal  `json:"len,omitzero"`
	Item    int          `json:"item"` // which of the items, from 0
	Rotated *bool        `json:"rotated,omitzero"`
}

// Solution returns a plan of the job of a variant, which took so long.
func (i *Instance) Solution(rotation string, p *cutting.Plan, took time.Duration) Solution {
	s := Solution{
		Instance: i.Name, Rotation: rotation, Millis: num.Decimal(took.Nanoseconds()), // a nanosecond is the millionth of a millisecond
		Bound: num.Decimal(num.Mul(p.Bound, i.step()).Over()),
	}
	for n := range p.Layouts {
		l := &p.Layouts[n]
		b := SolutionBin{Stock: i.Stock[l.Stock].ID, Count: l.Count}
		for _, q := range l.Parts() {
			b.Placed = append(b.Placed, i.placed(q))
		}
		s.Bins = append(s.Bins, b)
	}
	return s
}

// placed returns a part of a layout.
func (i *Instance) placed(q *cutting.Node) SolutionPlaced {
	if i.Kind == "1d" {
		return SolutionPlaced{X: q.X.Millimetres(), Len: q.Length.Millimetres(), Item: q.Part}
	}
	y, turned := q.Y.Millimetres(), q.Turned
	return SolutionPlaced{X: q.X.Millimetres(), Y: &y, W: q.Length.Millimetres(), H: q.Width.Millimetres(), Item: q.Part, Rotated: &turned}
}
