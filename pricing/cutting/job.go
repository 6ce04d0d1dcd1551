// Package cutting lays rectangles out on stock rectangles so that straight cuts
// from edge to edge part them, and proves how few pieces of stock any layout needs.
// It is deterministic: the same job gives the same plan on every machine, because
// its work is bounded by counts of steps and never by a clock. It knows lengths and
// costs, and neither furniture nor prices of a book.
package cutting

import "reckoner/pricing/unit"

// A Job is what is to be cut, and out of what.
type Job struct {
	Kerf      unit.Length // what the blade takes between two neighbours, from 0
	Trim      Trim        // what is lost along the edges of every piece of stock
	OffcutMin unit.Length // an offcut is worth keeping when both its sides are at least this
	Stock     []Stock
	Parts     []Part
}

// A Trim is the margin cut away along each edge of a piece of stock, its own saw cut
// included. Left and Right are taken off the length, Bottom and Top off the width.
type Trim struct {
	Left, Right, Bottom, Top unit.Length
}

// A Stock is one size that can be had.
type Stock struct {
	Length, Width unit.Length
	Cost          int64 // of one, from 0, in any unit that all sizes share
	Quantity      int   // how many there are; 0: as many as it takes
}

// A Part is a rectangle to cut, Quantity times. It lies with its length along the
// length of the stock unless it may Turn.
type Part struct {
	Length, Width unit.Length
	Quantity      int
	Turn          bool
}

// An Effort says how long to look for a better plan.
type Effort int

// The efforts.
const (
	Quick    Effort = iota // some milliseconds for what a piece of furniture takes
	Thorough               // up to a second for a large job
)

// A Plan is how a job is cut.
type Plan struct {
	Layouts []Layout // those of one size together, the most frequent first, then the fullest
	Pieces  int      // of stock, all layouts as often as they are cut
	Cost    int64    // of those pieces
	Bound   int64    // no plan whatever costs less: it is proved
}

// Proved reports whether no plan can cost less than p.
func (p *Plan) Proved() bool { return p.Bound >= p.Cost }

// A Layout is one way of cutting a piece of stock.
type Layout struct {
	Stock int // which of Job.Stock
	Count int // how often it is cut
	Root  Node
}

// A Node is a rectangle of a layout: the stock within its trim, or what cuts make of
// it. It is a part, or an offcut, or is cut into Nodes. X and Y run from the lower
// left corner of the untrimmed stock, X along its length.
type Node struct {
	X, Y          unit.Length
	Length, Width unit.Length // along X and Y, as it lies
	Part          int         // which of Job.Parts; NoPart when it is none
	Turned        bool        // a part whose length lies along Y
	Along         bool        // the cuts between Nodes run along the length: Nodes lie one above another, else side by side
	Nodes         []Node      // in order from the lower left, a kerf between two of them
}

// NoPart stands in place of a part's index in an offcut and in what is cut further.
const NoPart = -1

// A Cut is one pass of the saw, right across a rectangle.
type Cut struct {
	Of    *Node       // what is cut
	Along bool        // the blade runs along the length of the stock, else across it
	At    unit.Length // from the lower left corner of the stock to where the blade begins: X of a cut across, Y of one along
}

// Cuts returns the cuts of the layout in the order a saw makes them: first all that
// part a rectangle, in order from the lower left, then those of what it became. Trim
// comes before them and is not among them.
func (l *Layout) Cuts() []Cut { return l.Root.cuts(nil) }

func (n *Node) cuts(list []Cut) []Cut {
	for i := range n.Nodes {
		c := &n.Nodes[i]
		at, end := c.X+c.Length, n.X+n.Length
		if n.Along {
			at, end = c.Y+c.Width, n.Y+n.Width
		}
		if at < end {
			list = append(list, Cut{Of: n, Along: n.Along, At: at})
		}
	}
	for i := range n.Nodes {
		list = n.Nodes[i].cuts(list)
	}
	return list
}

// Parts returns the parts of the layout in the order they come off the saw.
func (l *Layout) Parts() []*Node {
	return l.Root.leaves(nil, func(n *Node) bool { return n.Part != NoPart })
}

// Offcuts returns what is left of the layout with both sides at least least, in the
// order it comes off the saw.
func (l *Layout) Offcuts(least unit.Length) []*Node {
	return l.Root.leaves(nil, func(n *Node) bool {
		return n.Part == NoPart && n.Nodes == nil && n.Length >= least && n.Width >= least
	})
}

func (n *Node) leaves(list []*Node, wanted func(*Node) bool) []*Node {
	if wanted(n) {
		list = append(list, n)
	}
	for i := range n.Nodes {
		list = n.Nodes[i].leaves(list, wanted)
	}
	return list
}
