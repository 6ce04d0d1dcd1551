package pricing

import (
	"strconv"

	"reckoner/pricing/book"
	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// A Drawing writes how sheets are cut in the units that are read.
type Drawing struct {
	Units unit.System
	book.Sawing
}

// Sheet returns a plan of a sheet with its sizes and what the saw takes; how it is cut
// is to be added.
func (d *Drawing) Sheet(length, width unit.Length) SheetPlan {
	u := d.Units
	return SheetPlan{
		Units: u, Length: u.Size(length), Width: u.Size(width), SheetArea: unit.Area(unit.Face{N: 1, L: length, W: width}),
		Kerf: u.Size(d.Kerf), Trim: u.Size(d.Trim), OffcutMin: u.Size(d.OffcutMin),
	}
}

// Layout returns l under a number. The first part of its job bears the first-th mark.
func (d *Drawing) Layout(l *cutting.Layout, number, first int) Layout {
	return Layout{Number: number, Count: l.Count, Placed: d.placed(l.Parts(), first), Cuts: d.cuts(l), Offcuts: d.placed(l.Offcuts(d.OffcutMin), first)}
}

// placed returns where parts or offcuts lie.
func (d *Drawing) placed(nodes []*cutting.Node, first int) []Placed {
	all, u := make([]Placed, len(nodes)), d.Units
	for i, n := range nodes {
		all[i] = Placed{X: u.Size(n.X), Y: u.Size(n.Y), Length: u.Size(n.Length), Width: u.Size(n.Width), Turned: n.Turned}
		if n.Part != cutting.NoPart {
			all[i].Mark = Mark(first + n.Part)
		}
	}
	return all
}

// cuts returns the passes of the saw in their order.
func (d *Drawing) cuts(l *cutting.Layout) []SheetCut {
	cuts, u := l.Cuts(), d.Units
	all := make([]SheetCut, len(cuts))
	var last cutting.Cut
	for i, c := range cuts {
		start, from, to := c.Of.X, c.Of.Y, c.Of.Y+c.Of.Width
		if c.Along {
			start, from, to = c.Of.Y, c.Of.X, c.Of.X+c.Of.Length
		}
		if last.Of == c.Of { // beside what the last one took off
			start = last.At + d.Kerf
		}
		all[i] = SheetCut{Number: i + 1, Along: c.Along, At: u.Size(c.At), From: u.Size(from), To: u.Size(to), Size: u.Size(c.At - start)}
		last = c
	}
	return all
}

// Mark returns the i-th mark: A to Z, then AA to AZ, BA and so on.
func Mark(i int) string {
	const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	last := letters[i%26 : i%26+1]
	if i < 26 {
		return last
	}
	return Mark(i/26-1) + last
}

// Finding says how good a plan is of which no layout takes fewer sheets than bound.
func Finding(sheets, bound int) string {
	s := strconv.Itoa(sheets) + " sheets"
	if sheets == 1 {
		s = "1 sheet"
	}
	if bound == sheets {
		return s + "; no layout can do it with fewer"
	}
	return s + "; " + strconv.Itoa(bound) + " might be possible"
}
