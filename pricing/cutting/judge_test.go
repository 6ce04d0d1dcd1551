package cutting_test

import (
	"cmp"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing/num"
)

// A spot is where a part lies, in millionths of a millimetre.
type spot struct{ x, y, w, h num.Decimal }

// judged returns what a plan costs, or what is wrong with it: a part not cut as often
// as wanted, of another size, turned where it may not, outside the trim, nearer to
// another than the kerf, or held so that no straight cut frees it; stock that there is
// not so much of. It knows only what the file and the plan say, not how plans are made.
func judged(i *wire.Instance, s *wire.Solution) (cost num.Decimal, err error) {
	cut, used := make([]int, len(i.Items)), make([]int, len(i.Stock))
	for n := range s.Bins {
		b := &s.Bins[n]
		k := slices.IndexFunc(i.Stock, func(t wire.InstanceStock) bool { return t.ID == b.Stock })
		if k < 0 || b.Count < 1 || len(b.Placed) == 0 {
			return 0, fmt.Errorf("layout %d: stock %q, %d times, %d parts", n, b.Stock, b.Count, len(b.Placed))
		}
		used[k] += b.Count
		each := i.Stock[k].Cost
		if i.Objective == "bins" {
			each = num.One
		}
		cost += each * num.Decimal(b.Count)
		var spots []spot
		for _, p := range b.Placed {
			at, err := placed(i, &i.Stock[k], s.Rotation, p)
			if err != nil {
				return 0, fmt.Errorf("layout %d: %w", n, err)
			}
			cut[p.Item] += b.Count
			spots = append(spots, at)
		}
		if err := kerfed(spots, i.Kerf); err != nil {
			return 0, fmt.Errorf("layout %d: %w", n, err)
		}
		if !sawable(spots, i.Kerf) {
			return 0, fmt.Errorf("layout %d: no straight cuts part it", n)
		}
	}
	for k, q := range i.Items {
		if cut[k] != int(q.Qty) {
			return 0, fmt.Errorf("item %d is cut %d times, not %d", k, cut[k], q.Qty)
		}
	}
	for k, t := range i.Stock {
		if t.Qty != nil && used[k] > int(*t.Qty) {
			return 0, fmt.Errorf("%d of stock %s, there are %d", used[k], t.ID, *t.Qty)
		}
	}
	return cost, nil
}

// placed returns where a part lies on its stock, or what is wrong with it alone. What
// has one dimension is a millimetre wide.
func placed(i *wire.Instance, t *wire.InstanceStock, rotation string, p wire.SolutionPlaced) (at spot, err error) {
	if p.Item < 0 || p.Item >= len(i.Items) {
		return at, fmt.Errorf("there is no item %d", p.Item)
	}
	q, trim := &i.Items[p.Item], i.Trim
	room, want := spot{w: t.W, h: t.H}, spot{w: q.W, h: q.H}
	if i.Kind == "1d" {
		room, want, trim.Bottom, trim.Top = spot{w: t.Len, h: num.One}, spot{w: q.Len, h: num.One}, 0, 0
		at = spot{p.X, 0, p.Len, num.One}
	} else {
		at = spot{p.X, *p.Y, p.W, p.H}
	}
	if turned := p.Rotated != nil && *p.Rotated; turned {
		if may := rotation == "all" || rotation == "items" && q.Rot; !may && q.W != q.H {
			return at, fmt.Errorf("item %d is turned", p.Item)
		}
		want.w, want.h = want.h, want.w
	}
	if at.w != want.w || at.h != want.h {
		return at, fmt.Errorf("item %d is %v x %v, not %v x %v", p.Item, at.w, at.h, want.w, want.h)
	}
	if at.x < trim.Left || at.y < trim.Bottom || at.x+at.w > room.w-trim.Right || at.y+at.h > room.h-trim.Top {
		return at, fmt.Errorf("item %d at %v, %v is outside the trim", p.Item, at.x, at.y)
	}
	return at, nil
}

// kerfed says which two spots are nearer to one another than the kerf.
func kerfed(spots []spot, kerf num.Decimal) error {
	for k, a := range spots {
		for _, b := range spots[:k] {
			if max(b.x-a.x-a.w, a.x-b.x-b.w, b.y-a.y-a.h, a.y-b.y-b.h) < kerf {
				return fmt.Errorf("%v and %v are not a kerf apart", a, b)
			}
		}
	}
	return nil
}

// sawable reports whether straight cuts from edge to edge, each a kerf wide, part all
// spots. Whichever cut can be made is made first: what it leaves on either side is
// parted by what of the other cuts lies there, so that no choice is wrong.
func sawable(spots []spot, kerf num.Decimal) bool {
	if len(spots) < 2 {
		return true
	}
	for _, side := range []func(spot) (from, to num.Decimal){
		func(s spot) (from, to num.Decimal) { return s.x, s.x + s.w },
		func(s spot) (from, to num.Decimal) { return s.y, s.y + s.h },
	} {
		order := slices.Clone(spots)
		slices.SortFunc(order, func(a, b spot) int {
			from, _ := side(a)
			other, _ := side(b)
			return cmp.Compare(from, other)
		})
		_, end := side(order[0])
		for k := 1; k < len(order); k++ {
			from, to := side(order[k])
			if from >= end+kerf {
				return sawable(order[:k], kerf) && sawable(order[k:], kerf)
			}
			end = max(end, to)
		}
	}
	return false
}

// The judge finds each thing that can be wrong with a plan: a good plan, then the same
// with one thing changed.
func TestTheJudge(t *testing.T) {
	list, err := wire.Instances([]byte(`{"name":"a","kind":"2d","kerf":3,"trim":{"left":10,"right":10,"bottom":5,"top":5},"objective":"cost","stock":[{"id":"S","w":126,"h":113,"cost":7,"qty":1}],` +
		`"items":[{"w":60,"h":40,"qty":2},{"w":103,"h":43,"qty":1,"rot":true}]}` + "\n" + `{"name":"b","kind":"1d","objective":"bins","stock":[{"id":"S","len":10,"cost":7}],"items":[{"len":5,"qty":2}]}`))
	require.NoError(t, err)
	at := func(item int, x, y, w, h int, turned bool) wire.SolutionPlaced {
		down := num.Whole(y)
		return wire.SolutionPlaced{Item: item, X: num.Whole(x), Y: &down, W: num.Whole(w), H: num.Whole(h), Rotated: &turned}
	}
	good := func() *wire.Solution {
		return &wire.Solution{Rotation: "items", Bins: []wire.SolutionBin{{Stock: "S", Count: 1, Placed: []wire.SolutionPlaced{
			at(0, 10, 5, 60, 40, false), at(0, 10, 48, 60, 40, false), at(1, 73, 5, 43, 103, true),
		}}}}
	}
	cost, err := judged(&list[0], good())
	require.NoError(t, err)
	assert.Equal(t, 7*num.One, cost)
	for says, change := range map[string]func(s *wire.Solution, p []wire.SolutionPlaced){
		"are not a kerf apart":         func(_ *wire.Solution, p []wire.SolutionPlaced) { p[1] = at(0, 10, 47, 60, 40, false) },
		"item 1 at 74, 5 is outside":   func(_ *wire.Solution, p []wire.SolutionPlaced) { p[2] = at(1, 74, 5, 43, 103, true) },
		"item 1 at 73, 6 is outside":   func(_ *wire.Solution, p []wire.SolutionPlaced) { p[2] = at(1, 73, 6, 43, 103, true) },
		"item 0 at 9, 5 is outside":    func(_ *wire.Solution, p []wire.SolutionPlaced) { p[0] = at(0, 9, 5, 60, 40, false) },
		"item 0 at 10, 4 is outside":   func(_ *wire.Solution, p []wire.SolutionPlaced) { p[0] = at(0, 10, 4, 60, 40, false) },
		"item 0 is turned":             func(_ *wire.Solution, p []wire.SolutionPlaced) { p[0] = at(0, 10, 5, 40, 60, true) },
		"item 1 is turned":             func(s *wire.Solution, _ []wire.SolutionPlaced) { s.Rotation = "none" },
		"item 1 is 43 x 102":           func(_ *wire.Solution, p []wire.SolutionPlaced) { p[2] = at(1, 73, 5, 43, 102, true) },
		"there is no item 2":           func(_ *wire.Solution, p []wire.SolutionPlaced) { p[0].Item = 2 },
		"item 0 is cut 1 times, not 2": func(s *wire.Solution, p []wire.SolutionPlaced) { s.Bins[0].Placed = p[1:] },
		"2 of stock S, there are 1":    func(s *wire.Solution, p []wire.SolutionPlaced) { s.Bins = halves(p) },
		`stock "T", 1 times, 3 parts`:  func(s *wire.Solution, _ []wire.SolutionPlaced) { s.Bins[0].Stock = "T" },
		`stock "S", 0 times, 3 parts`:  func(s *wire.Solution, _ []wire.SolutionPlaced) { s.Bins[0].Count = 0 },
		"item 0 is cut 4 times, not 2": func(s *wire.Solution, _ []wire.SolutionPlaced) { s.Bins[0].Count = 2 },
		"layout 1: stock \"S\", 1 times": func(s *wire.Solution, _ []wire.SolutionPlaced) {
			s.Bins = append(s.Bins, wire.SolutionBin{Stock: "S", Count: 1})
		},
	} {
		s := good()
		change(s, s.Bins[0].Placed)
		_, err := judged(&list[0], s)
		require.Error(t, err, says)
		assert.Contains(t, err.Error(), says)
	}
	boards := &wire.Solution{Bins: []wire.SolutionBin{{Stock: "S", Count: 1, Placed: []wire.SolutionPlaced{{Len: 5 * num.One}, {X: 5 * num.One, Len: 5 * num.One}}}}}
	cost, err = judged(&list[1], boards)
	require.NoError(t, err)
	assert.Equal(t, num.One, cost, "bins count 1, whatever they cost")
	boards.Bins[0].Placed[1].X = 6 * num.One
	_, err = judged(&list[1], boards)
	require.ErrorContains(t, err, "outside the trim")
}

// halves returns the parts of one layout in two.
func halves(p []wire.SolutionPlaced) []wire.SolutionBin {
	return []wire.SolutionBin{{Stock: "S", Count: 1, Placed: p[:1]}, {Stock: "S", Count: 1, Placed: p[1:]}}
}

// Five rectangles around a middle hold one another: the smallest layout that no
// straight cut parts (the pinwheel of Gilmore & Gomory 1965, from memory).
func TestThePinwheelIsNotSawable(t *testing.T) {
	const u = num.One
	pinwheel := []spot{{0, 0, 2 * u, u}, {2 * u, 0, u, 2 * u}, {u, 2 * u, 2 * u, u}, {0, u, u, 2 * u}, {u, u, u, u}}
	require.NoError(t, kerfed(pinwheel, 0))
	assert.False(t, sawable(pinwheel, 0))
	for k := range pinwheel[:4] {
		assert.True(t, sawable(slices.Delete(slices.Clone(pinwheel), k, k+1), 0), "without one of its arms")
	}
	assert.True(t, sawable([]spot{{0, 0, u, u}, {2 * u, 0, u, u}}, u))
	assert.False(t, sawable([]spot{{0, 0, u, u}, {2*u - 1, 0, u, u}}, u), "a kerf is needed")
}
