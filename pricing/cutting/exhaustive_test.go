package cutting_test

import (
	"cmp"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// A worth is what a plan is judged by, less being better.
type worth struct {
	cost   int64
	pieces int
}

func (a worth) compare(b worth) int {
	return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.pieces, b.pieces))
}

// An exhaustive search tries every way of cutting a job of few parts whose lengths
// are few grid steps. Only what is asked of places on the grid is kept: cutting to
// the left and down moves all cuts onto sums of sizes and kerfs.
type exhaustive struct {
	job   *cutting.Job
	grid  unit.Length
	items []cutting.Part // one each
	short map[[2]int]int // the shortest rectangle of a width that holds a set of items
	stock [][]bool       // which sets of items a size holds
	best  map[string]*worth
}

// never is longer than any stock.
const never = 1 << 40

// optimum returns the least worth of any plan; nil when there is none.
func optimum(j *cutting.Job, grid unit.Length) *worth {
	e := &exhaustive{job: j, grid: grid, short: make(map[[2]int]int), best: make(map[string]*worth)}
	for _, p := range j.Parts {
		for range p.Quantity {
			e.items = append(e.items, p)
		}
	}
	all := 1<<len(e.items) - 1
	left := make([]int, len(j.Stock))
	for i, s := range j.Stock {
		l := e.steps(s.Length - j.Trim.Left - j.Trim.Right)
		w := e.steps(s.Width - j.Trim.Bottom - j.Trim.Top)
		holds := make([]bool, all+1)
		for set := 1; set <= all; set++ {
			holds[set] = w > 0 && e.shortest(set, w) <= l
		}
		e.stock = append(e.stock, holds)
		left[i] = cmp.Or(s.Quantity, len(e.items))
	}
	return e.cover(all, left)
}

func (e *exhaustive) steps(l unit.Length) int { return int(l / e.grid) }

// shortest returns the length of the shortest rectangle w wide that can be cut into
// a set of items: its first cut that parts two of them runs across or along.
func (e *exhaustive) shortest(set, w int) int {
	if w <= 0 {
		return never
	}
	if l, known := e.short[[2]int{set, w}]; known {
		return l
	}
	least, kerf := e.single(set, w), e.steps(e.job.Kerf)
	for a := (set - 1) & set; a > 0; a = (a - 1) & set {
		b := set &^ a
		if a > b {
			least = min(least, e.shortest(a, w)+kerf+e.shortest(b, w))
		}
		for below := 1; below < w-kerf; below++ {
			least = min(least, max(e.shortest(a, below), e.shortest(b, w-kerf-below)))
		}
	}
	e.short[[2]int{set, w}] = least
	return least
}

// single returns the length of the shortest rectangle that holds a set of one item.
func (e *exhaustive) single(set, w int) int {
	least := never
	for i, p := range e.items {
		if set != 1<<i {
			continue
		}
		l, across := e.steps(p.Length), e.steps(p.Width)
		if across <= w {
			least = l
		}
		if p.Turn && l <= w {
			least = min(least, across)
		}
	}
	return least
}

// cover returns the least worth of stock that a set of items comes out of, with so
// many pieces of each size left.
func (e *exhaustive) cover(set int, left []int) *worth {
	if set == 0 {
		return &worth{}
	}
	key := fmt.Sprint(set, left)
	if w, known := e.best[key]; known {
		return w
	}
	var best *worth
	for i, s := range e.job.Stock {
		if left[i] == 0 {
			continue
		}
		left[i]--
		for a := set; a > 0; a = (a - 1) & set {
			if a&(set&-set) == 0 || !e.stock[i][a] { // the first item lies on this piece
				continue
			}
			if rest := e.cover(set&^a, left); rest != nil {
				w := worth{rest.cost + s.Cost, rest.pieces + 1}
				if best == nil || w.compare(*best) < 0 {
					best = &w
				}
			}
		}
		left[i]++
	}
	e.best[key] = best
	return best
}

// tinyJob makes a job of at most six parts whose lengths are few steps of a grid, or
// of eight in boards as wide as they are. Its stock costs anything, or by area, so
// that a mixture of sizes is often the best.
func tinyJob(s source) (cutting.Job, unit.Length) {
	grid := pick(s, mm, 16*mm, unit.Inch/2)
	steps := func(low, high int) unit.Length { return grid * unit.Length(between(s, low, high)) }
	j := cutting.Job{Kerf: steps(0, 2), OffcutMin: grid}
	if rarely(s, 4) {
		j.Trim = cutting.Trim{Left: steps(0, 1), Right: steps(0, 2), Bottom: steps(0, 1), Top: steps(0, 2)}
	}
	boards, by := rarely(s, 4), pick(s, 0, between(s, 1, 10))
	for range between(s, 1, 3) {
		l, w := between(s, 4, 16), between(s, 4, 12)
		if boards {
			w = 1
		}
		k := cutting.Stock{Cost: int64(pick(s, 1, between(s, 0, 4), between(s, 1, 4), between(s, 50, 99))), Quantity: pick(s, 0, 0, between(s, 1, 3))}
		if by > 0 {
			k.Cost = int64((l*w+between(s, 0, 8))/by + 1)
		}
		k.Length, k.Width = grid*unit.Length(l)+j.Trim.Left+j.Trim.Right, grid*unit.Length(w)+j.Trim.Bottom+j.Trim.Top
		j.Stock = append(j.Stock, k)
	}
	n := between(s, 2, 6)
	if boards {
		n += 2
	}
	for n > 0 {
		p := cutting.Part{Length: steps(1, 9), Width: steps(1, 8), Quantity: between(s, 1, min(n, 3)), Turn: rarely(s, 2)}
		if boards {
			p.Width = grid
		}
		n -= p.Quantity
		j.Parts = append(j.Parts, p)
	}
	return j, grid
}

// optimal holds what is planned of a tiny job against every way of cutting it. It
// reports whether there is a plan, and whether one as good as the best was found.
func optimal(t testing.TB, j *cutting.Job, best *worth, e cutting.Effort) (found bool) {
	t.Helper()
	p, ok := planned(t, j, e)
	switch {
	case best == nil && ok:
		t.Fatalf("a plan of what cannot be cut\n%+v\n%+v", *j, p)
	case best == nil || !ok:
		return best == nil
	case p.Bound > best.cost || worthOf(&p).compare(*best) < 0:
		t.Fatalf("effort %d: cost %d in %d pieces, bound %d; there is a plan of %d in %d\n%+v", e, p.Cost, p.Pieces, p.Bound, best.cost, best.pieces, *j)
	}
	return worthOf(&p) == *best
}

// Every way of cutting a tiny job is tried: nothing is cheaper than the bound.
func TestBoundsHoldAgainstEveryWayOfCutting(t *testing.T) {
	for e, times := range map[cutting.Effort]int{cutting.Quick: 3000, cutting.Thorough: 60} {
		found, none := 0, 0
		for n := range times {
			j, grid := tinyJob(numbered(n))
			best := optimum(&j, grid)
			if best == nil {
				none++
			}
			if optimal(t, &j, best, e) {
				found++
			}
		}
		t.Logf("effort %d: of %d tiny jobs, %d of them impossible, the best of %d is found", e, times, none, found)
		require.Less(t, none, times/2)
		require.Greater(t, found, times*98/100)
	}
}
