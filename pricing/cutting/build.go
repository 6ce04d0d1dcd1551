package cutting

import (
	"cmp"
	"slices"

	"reckoner/pricing/unit"
)

// A builder makes layouts of sheets and hands the parts out to them.
type builder struct {
	*problem
	parts [][]int // of each want, those of which some are still to be cut
	left  []int   // of each part
}

// build turns a solution into a plan.
func (p *problem) build(a solution) Plan {
	b := builder{problem: p, left: make([]int, len(p.Parts))}
	for i := range p.wants {
		b.parts = append(b.parts, slices.Clone(p.wants[i].parts))
	}
	for i, q := range p.Parts {
		b.left[i] = q.Quantity
	}
	plan := Plan{Cost: a.cost, Pieces: a.pieces}
	groups := p.group(a)
	slices.SortStableFunc(groups, func(x, y group) int { return cmp.Compare(p.filled(y.sheet), p.filled(x.sheet)) })
	for _, g := range groups {
		for l := (Layout{Count: g.times}); g.times > 0; {
			l = b.layout(g.sheet, min(l.Count, g.times)) // parts only get fewer
			g.times -= l.Count
			same := slices.IndexFunc(plan.Layouts, func(k Layout) bool { return k.Stock == l.Stock && k.Root.same(&l.Root) })
			if same < 0 {
				plan.Layouts = append(plan.Layouts, l)
			} else {
				plan.Layouts[same].Count += l.Count
			}
		}
	}
	slices.SortStableFunc(plan.Layouts, func(x, y Layout) int {
		return cmp.Or(cmp.Compare(x.Stock, y.Stock), cmp.Compare(y.Count, x.Count))
	})
	return plan
}

// filled returns how much of a sheet its items take, in thousandths.
func (p *problem) filled(c *sheet) int64 {
	var area int64
	for _, h := range c.holds() {
		area += p.wants[h.want].area * int64(h.n)
	}
	return area * 1000 / max(1, p.area(p.boards[c.stock].size))
}

// A group is a sheet and how often it is cut.
type group struct {
	*sheet
	times int
	form  []int64
}

// group returns the different sheets of a solution.
func (p *problem) group(a solution) []group {
	var list []group
	for i, c := range a.sheets {
		form := c.form(0, []int64{int64(c.stock)})
		at := slices.IndexFunc(list, func(g group) bool { return slices.Equal(g.form, form) })
		if at < 0 {
			at = len(list)
			list = append(list, group{sheet: c, form: form})
		}
		list[at].times += a.times[i]
	}
	return list
}

// form adds what tells slot n from another: how it is cut, and what it holds.
func (s *sheet) form(n int32, list []int64) []int64 {
	e := &s.slots[n]
	list = append(list, e.l, e.w, int64(e.item))
	for _, k := range s.inside(n) {
		list = s.form(k, list)
	}
	return list
}

// inside returns the slots of slot n in the order they are cut: the largest first,
// what is empty last.
func (s *sheet) inside(n int32) []int32 {
	var list []int32
	for k := s.slots[n].first; k != none; k = s.slots[k].after {
		list = append(list, k)
	}
	slices.SortFunc(list, func(a, b int32) int {
		x, y := &s.slots[a], &s.slots[b]
		if (x.item == empty) != (y.item == empty) {
			if x.item == empty {
				return 1
			}
			return -1
		}
		return cmp.Or(cmp.Compare(y.l, x.l), cmp.Compare(y.w, x.w), cmp.Compare(y.item, x.item), cmp.Compare(a, b))
	})
	return list
}

// layout lays a sheet out, as often as the parts it begins with allow, at most times.
func (b *builder) layout(c *sheet, times int) Layout {
	for {
		used := make(map[int]int)
		root, fine := b.node(c, 0, Node{X: b.Trim.Left, Y: b.Trim.Bottom}, used, times)
		if !fine {
			times /= 2
			continue
		}
		for q, n := range used {
			b.left[q] -= n * times
		}
		return Layout{Stock: b.boards[c.stock].stock, Count: times, Root: root}
	}
}

// node fills out the node of slot n, and reports whether there are parts enough to
// cut it so many times.
func (b *builder) node(c *sheet, n int32, at Node, used map[int]int, times int) (Node, bool) {
	e := &c.slots[n]
	at.Length = unit.Length(e.l*b.measure) - b.Kerf
	at.Width = unit.Length(e.w*b.measure) - b.Kerf
	at.Part = NoPart
	if e.item >= 0 {
		at.Part = b.part(e.item, used, times)
		at.Turned = at.Part != NoPart && b.Parts[at.Part].Length != at.Length
		return at, at.Part != NoPart
	}
	at.Along = e.stacked
	x, y := at.X, at.Y
	for _, k := range c.inside(n) {
		in, fine := b.node(c, k, Node{X: x, Y: y}, used, times)
		if !fine {
			return at, false
		}
		switch {
		case in.Length <= 0 || in.Width <= 0:
		case in.Nodes != nil && in.Along == at.Along:
			at.Nodes = append(at.Nodes, in.Nodes...)
		default:
			at.Nodes = append(at.Nodes, in)
		}
		if e.stacked {
			y += in.Width + b.Kerf
		} else {
			x += in.Length + b.Kerf
		}
	}
	if len(at.Nodes) == 1 && at.Nodes[0].Length == at.Length && at.Nodes[0].Width == at.Width {
		return at.Nodes[0], true // nothing is cut off
	}
	return at, true
}

// part returns a part of a want of which one more can be cut so many times, or NoPart.
func (b *builder) part(want int32, used map[int]int, times int) int {
	list := b.parts[want]
	for len(list) > 0 && b.left[list[0]] == 0 {
		list = list[1:]
	}
	b.parts[want] = list
	for _, q := range list {
		if b.left[q] >= (used[q]+1)*times {
			used[q]++
			return q
		}
	}
	return NoPart
}

// same reports whether two nodes are cut alike.
func (n *Node) same(m *Node) bool {
	if n.X != m.X || n.Y != m.Y || n.Length != m.Length || n.Width != m.Width || n.Part != m.Part || len(n.Nodes) != len(m.Nodes) {
		return false
	}
	for i := range n.Nodes {
		if !n.Nodes[i].same(&m.Nodes[i]) {
			return false
		}
	}
	return true
}
