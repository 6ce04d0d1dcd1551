package cutting_test

import (
	"fmt"
	"math/big"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// A rect is where something lies on its piece of stock.
type rect struct{ x, y, l, w unit.Length }

func place(n *cutting.Node) rect { return rect{n.X, n.Y, n.Length, n.Width} }

// feasible fails unless p cuts what j asks for, as a saw can.
func feasible(t testing.TB, j *cutting.Job, p *cutting.Plan) {
	t.Helper()
	if err := wrong(j, p); err != nil {
		t.Fatalf("%v\n%+v", err, *j)
	}
}

// wrong returns what is wrong with p as a plan of j. All is derived again from
// places and sizes; the tree and the cuts are held against them.
func wrong(j *cutting.Job, p *cutting.Plan) error {
	made, used := make([]int, len(j.Parts)), make([]int, len(j.Stock))
	var pieces int
	var cost int64
	for i := range p.Layouts {
		l := &p.Layouts[i]
		if l.Stock < 0 || l.Stock >= len(j.Stock) || l.Count < 1 {
			return fmt.Errorf("layout %d: stock %d, %d times", i, l.Stock, l.Count)
		}
		if err := wrongLayout(j, l, made); err != nil {
			return fmt.Errorf("layout %d: %w", i, err)
		}
		used[l.Stock] += l.Count
		pieces += l.Count
		cost += int64(l.Count) * j.Stock[l.Stock].Cost
	}
	for i, part := range j.Parts {
		if made[i] != part.Quantity {
			return fmt.Errorf("part %d is cut %d times, not %d", i, made[i], part.Quantity)
		}
	}
	for i, s := range j.Stock {
		if s.Quantity > 0 && used[i] > s.Quantity {
			return fmt.Errorf("%d of stock %d, which has %d", used[i], i, s.Quantity)
		}
	}
	if p.Pieces != pieces || p.Cost != cost || p.Bound < 0 || p.Bound > cost || p.Proved() != (p.Bound == cost) {
		return fmt.Errorf("%d pieces of %d, bound %d, proved %t; counted %d of %d", p.Pieces, p.Cost, p.Bound, p.Proved(), pieces, cost)
	}
	return wrongOrder(p.Layouts)
}

// wrongOrder returns what is wrong with the order of layouts: those of one size
// together, the most frequent first, no two the same.
func wrongOrder(list []cutting.Layout) error {
	seen, drawn := make(map[int]bool), make(map[string]bool)
	for i := range list {
		l := &list[i]
		if i > 0 && list[i-1].Stock == l.Stock && list[i-1].Count < l.Count {
			return fmt.Errorf("layout %d is cut more often than the one before", i)
		}
		if (i == 0 || list[i-1].Stock != l.Stock) && seen[l.Stock] {
			return fmt.Errorf("layout %d lies apart from those of its size", i)
		}
		seen[l.Stock] = true
		drawing := fmt.Sprint(l.Stock, l.Root)
		if drawn[drawing] {
			return fmt.Errorf("layout %d was there before", i)
		}
		drawn[drawing] = true
	}
	return nil
}

// wrongLayout returns what is wrong with a layout, and counts the parts it makes.
func wrongLayout(j *cutting.Job, l *cutting.Layout, made []int) error {
	s, trim := &j.Stock[l.Stock], &j.Trim
	within := rect{trim.Left, trim.Bottom, s.Length - trim.Left - trim.Right, s.Width - trim.Bottom - trim.Top}
	if place(&l.Root) != within {
		return fmt.Errorf("the root is %v, the stock within its trim %v", place(&l.Root), within)
	}
	leaves, err := tiled(j, &l.Root, nil)
	if err != nil {
		return err
	}
	var parts, offcuts []*cutting.Node
	for _, n := range leaves {
		switch {
		case n.Part != cutting.NoPart:
			parts = append(parts, n)
			made[n.Part] += l.Count
		case n.Length >= j.OffcutMin && n.Width >= j.OffcutMin:
			offcuts = append(offcuts, n)
		}
	}
	if len(parts) == 0 {
		return fmt.Errorf("nothing is cut")
	}
	if !slices.Equal(l.Parts(), parts) || !slices.Equal(l.Offcuts(j.OffcutMin), offcuts) {
		return fmt.Errorf("the leaves are %d parts and %d offcuts, not %d and %d", len(parts), len(offcuts), len(l.Parts()), len(l.Offcuts(j.OffcutMin)))
	}
	if err := apart(leaves, within, j.Kerf); err != nil {
		return err
	}
	return sawn(l, leaves, j.Kerf)
}

// apart returns an error unless all leaves lie within the trim and a kerf from each
// other.
func apart(leaves []*cutting.Node, within rect, kerf unit.Length) error {
	for i, a := range leaves {
		if a.X < within.x || a.Y < within.y || a.X+a.Length > within.x+within.l || a.Y+a.Width > within.y+within.w {
			return fmt.Errorf("%v is not within %v", place(a), within)
		}
		for _, b := range leaves[:i] {
			if a.X < b.X+b.Length+kerf && b.X < a.X+a.Length+kerf && a.Y < b.Y+b.Width+kerf && b.Y < a.Y+a.Width+kerf {
				return fmt.Errorf("no kerf lies between %v and %v", place(a), place(b))
			}
		}
	}
	return nil
}

// tiled returns the leaves of a node in order, or an error unless what it is cut
// into tiles it: all right across, a kerf between two, no more than a kerf left.
func tiled(j *cutting.Job, n *cutting.Node, leaves []*cutting.Node) ([]*cutting.Node, error) {
	if n.Length <= 0 || n.Width <= 0 {
		return nil, fmt.Errorf("%v is empty", place(n))
	}
	if len(n.Nodes) == 0 {
		return append(leaves, n), wrongLeaf(j, n)
	}
	if n.Part != cutting.NoPart || n.Turned {
		return nil, fmt.Errorf("%v is cut further and is part %d", place(n), n.Part)
	}
	at, end := n.X, n.X+n.Length
	if n.Along {
		at, end = n.Y, n.Y+n.Width
	}
	for i := range n.Nodes {
		c := &n.Nodes[i]
		want, next := rect{at, n.Y, c.Length, n.Width}, at+c.Length
		if n.Along {
			want, next = rect{n.X, at, n.Length, c.Width}, at+c.Width
		}
		if place(c) != want {
			return nil, fmt.Errorf("%v in %v should be %v", place(c), place(n), want)
		}
		if len(n.Nodes) == 1 && next == end {
			return nil, fmt.Errorf("%v is cut into itself", place(n))
		}
		var err error
		if leaves, err = tiled(j, c, leaves); err != nil {
			return nil, err
		}
		at = next + j.Kerf
	}
	if at < end || at > end+j.Kerf {
		return nil, fmt.Errorf("what %v is cut into ends at %d of %d", place(n), at-j.Kerf, end)
	}
	return leaves, nil
}

// wrongLeaf returns what is wrong with a node that is not cut.
func wrongLeaf(j *cutting.Job, n *cutting.Node) error {
	if n.Part == cutting.NoPart && !n.Turned {
		return nil
	}
	if n.Part < 0 || n.Part >= len(j.Parts) {
		return fmt.Errorf("%v is part %d, turned %t", place(n), n.Part, n.Turned)
	}
	p := &j.Parts[n.Part]
	length, width := p.Length, p.Width
	if n.Turned {
		length, width = width, length
	}
	if n.Turned && !p.Turn || n.Length != length || n.Width != width {
		return fmt.Errorf("%v, turned %t, is not %+v", place(n), n.Turned, *p)
	}
	return nil
}

// sawn plays the saw: it makes the cuts of a layout one by one on what it has in
// hand, and ends with the leaves.
func sawn(l *cutting.Layout, leaves []*cutting.Node, kerf unit.Length) error {
	hand := map[rect]bool{place(&l.Root): true}
	var of *cutting.Node
	var rest rect
	begun := make(map[*cutting.Node]bool)
	for i, c := range l.Cuts() {
		if c.Of != of {
			if begun[c.Of] {
				return fmt.Errorf("cut %d comes back to %v", i, place(c.Of))
			}
			of, rest = c.Of, place(c.Of)
			begun[of] = true
		}
		if !hand[rest] {
			return fmt.Errorf("cut %d: %v is not in hand", i, rest)
		}
		delete(hand, rest)
		off, left := rest.cut(c.Along, c.At, kerf)
		if off.l <= 0 || off.w <= 0 || off.l > rest.l || off.w > rest.w || off == rest {
			return fmt.Errorf("cut %d at %d takes %v off %v", i, c.At, off, rest)
		}
		hand[off] = true
		if rest = left; rest.l > 0 && rest.w > 0 {
			hand[rest] = true
		}
	}
	for _, n := range leaves {
		if !hand[place(n)] {
			return fmt.Errorf("the saw does not make %v", place(n))
		}
	}
	if len(hand) != len(leaves) {
		return fmt.Errorf("the saw makes %d rectangles, not %d", len(hand), len(leaves))
	}
	return nil
}

// cut parts r at a place; left is empty where the kerf takes the rest.
func (r rect) cut(along bool, at, kerf unit.Length) (off, left rect) {
	off, left = r, r
	if along {
		off.w = at - r.y
		left.y, left.w = at+kerf, r.y+r.w-at-kerf
	} else {
		off.l = at - r.x
		left.x, left.l = at+kerf, r.x+r.l-at-kerf
	}
	return off, left
}

// areaBound is the least that the areas allow, exactly: each part and each piece of
// stock within its trim a kerf longer and wider, the stock that is cheapest for its
// area taken first, as far as it goes, and in fractions. It is negative when the
// stock has not the area.
func areaBound(j *cutting.Job) int64 {
	area := func(l, w unit.Length) *big.Int {
		return new(big.Int).Mul(big.NewInt(int64(l+j.Kerf)), big.NewInt(int64(w+j.Kerf)))
	}
	times := func(a *big.Int, n int64) *big.Int { return new(big.Int).Mul(a, big.NewInt(n)) }
	need := new(big.Int)
	for _, p := range j.Parts {
		need.Add(need, times(area(p.Length, p.Width), int64(p.Quantity)))
	}
	type size struct {
		area *big.Int
		cutting.Stock
	}
	var sizes []size
	for _, s := range j.Stock {
		l, w := s.Length-j.Trim.Left-j.Trim.Right, s.Width-j.Trim.Bottom-j.Trim.Top
		if l > 0 && w > 0 {
			sizes = append(sizes, size{area(l, w), s})
		}
	}
	slices.SortFunc(sizes, func(a, b size) int { return times(b.area, a.Cost).Cmp(times(a.area, b.Cost)) })
	whole := new(big.Int)
	for _, s := range sizes {
		all := times(s.area, int64(s.Quantity))
		if s.Quantity == 0 || all.Cmp(need) >= 0 {
			part := times(need, s.Cost)
			part.Add(part, s.area).Sub(part, big.NewInt(1)).Quo(part, s.area)
			return whole.Add(whole, part).Int64()
		}
		need.Sub(need, all)
		whole.Add(whole, times(big.NewInt(s.Cost), int64(s.Quantity)))
	}
	return -1
}

// fits reports whether a part fits a piece of stock within its trim.
func fits(j *cutting.Job, p cutting.Part) bool {
	return slices.ContainsFunc(j.Stock, func(s cutting.Stock) bool {
		l, w := s.Length-j.Trim.Left-j.Trim.Right, s.Width-j.Trim.Bottom-j.Trim.Top
		return p.Length <= l && p.Width <= w || p.Turn && p.Width <= l && p.Length <= w
	})
}

// The checks see what is wrong: a plan that is right, and each way of spoiling it.
func TestChecksSeeWhatIsWrong(t *testing.T) {
	plan := func() (cutting.Job, cutting.Plan) {
		j := cutting.Job{Kerf: 4, Trim: cutting.Trim{Left: 1, Bottom: 2}, OffcutMin: 3, Stock: []cutting.Stock{{Length: 31, Width: 22, Cost: 7, Quantity: 1}}}
		j.Parts = []cutting.Part{{Length: 10, Width: 20, Quantity: 1}, {Length: 8, Width: 13, Quantity: 1, Turn: true}}
		column := cutting.Node{X: 15, Y: 2, Length: 13, Width: 20, Part: cutting.NoPart, Along: true, Nodes: []cutting.Node{
			{X: 15, Y: 2, Length: 13, Width: 8, Part: 1, Turned: true}, {X: 15, Y: 14, Length: 13, Width: 8, Part: cutting.NoPart},
		}}
		root := cutting.Node{X: 1, Y: 2, Length: 30, Width: 20, Part: cutting.NoPart, Nodes: []cutting.Node{{X: 1, Y: 2, Length: 10, Width: 20}, column}}
		return j, cutting.Plan{Layouts: []cutting.Layout{{Count: 1, Root: root}}, Pieces: 1, Cost: 7, Bound: 7}
	}
	j, p := plan()
	require.NoError(t, wrong(&j, &p))
	l := &p.Layouts[0]
	leaves, err := tiled(&j, &l.Root, nil)
	require.NoError(t, err)
	assert.NoError(t, apart(leaves, place(&l.Root), j.Kerf))
	assert.Error(t, apart(leaves, place(&l.Root), j.Kerf+1), "the places alone")
	assert.Error(t, apart(leaves, rect{1, 2, 26, 20}, j.Kerf), "the trim alone")
	assert.NoError(t, sawn(l, leaves, j.Kerf))
	assert.Error(t, sawn(l, leaves, j.Kerf+1), "the saw alone")
	assert.Error(t, sawn(l, leaves[:2], j.Kerf), "more than there is")
	for name, spoil := range map[string]func(j *cutting.Job, p *cutting.Plan, root *cutting.Node){
		"cut once more":       func(j *cutting.Job, _ *cutting.Plan, _ *cutting.Node) { j.Parts[0].Quantity++ },
		"cut too often":       func(_ *cutting.Job, p *cutting.Plan, _ *cutting.Node) { p.Layouts[0].Count++ },
		"more than there are": func(j *cutting.Job, p *cutting.Plan, _ *cutting.Node) { twice(j, p) },
		"the same layout":     func(j *cutting.Job, p *cutting.Plan, _ *cutting.Node) { twice(j, p); j.Stock[0].Quantity = 0 },
		"bound above cost":    func(_ *cutting.Job, p *cutting.Plan, _ *cutting.Node) { p.Bound++ },
		"pieces":              func(_ *cutting.Job, p *cutting.Plan, _ *cutting.Node) { p.Pieces++ },
		"cost":                func(_ *cutting.Job, p *cutting.Plan, _ *cutting.Node) { p.Cost++ },
		"not turned":          func(_ *cutting.Job, _ *cutting.Plan, n *cutting.Node) { n.Nodes[1].Nodes[0].Turned = false },
		"must not turn":       func(j *cutting.Job, _ *cutting.Plan, _ *cutting.Node) { j.Parts[1].Turn = false },
		"a wider kerf":        func(j *cutting.Job, _ *cutting.Plan, _ *cutting.Node) { j.Kerf++ },
		"no kerf":             func(j *cutting.Job, _ *cutting.Plan, _ *cutting.Node) { j.Kerf = 0 },
		"trim":                func(j *cutting.Job, _ *cutting.Plan, _ *cutting.Node) { j.Trim.Right++ },
		"the other way":       func(_ *cutting.Job, _ *cutting.Plan, n *cutting.Node) { n.Along = true },
		"moved":               func(_ *cutting.Job, _ *cutting.Plan, n *cutting.Node) { n.Nodes[1].X++ },
		"too narrow":          func(_ *cutting.Job, _ *cutting.Plan, n *cutting.Node) { n.Nodes[0].Width-- },
		"offcut forgotten":    func(_ *cutting.Job, _ *cutting.Plan, n *cutting.Node) { n.Nodes[1].Nodes = n.Nodes[1].Nodes[:1] },
		"another part":        func(_ *cutting.Job, _ *cutting.Plan, n *cutting.Node) { n.Nodes[0].Part = 1 },
		"no such part":        func(_ *cutting.Job, _ *cutting.Plan, n *cutting.Node) { n.Nodes[0].Part = 2 },
		"no such stock":       func(_ *cutting.Job, p *cutting.Plan, _ *cutting.Node) { p.Layouts[0].Stock = 1 },
	} {
		j, p := plan()
		spoil(&j, &p, &p.Layouts[0].Root)
		assert.Error(t, wrong(&j, &p), name)
	}
}

// twice cuts a plan twice.
func twice(j *cutting.Job, p *cutting.Plan) {
	for i := range j.Parts {
		j.Parts[i].Quantity *= 2
	}
	p.Layouts = append(p.Layouts, p.Layouts...)
	p.Pieces, p.Cost = 2*p.Pieces, 2*p.Cost
}
