package cutting

import (
	"slices"

	"reckoner/pricing/unit"
)

// A budget is how many steps the parts of the work may take. A step of the search
// takes some five nanoseconds, one of the bound about one.
type budget struct {
	bound, search, tidy int64
}

// budget grows with the number of items as far as that is worth it.
func (e Effort) budget(items int) budget {
	n := int64(min(items, 2000))
	if e == Thorough {
		return budget{bound: min(200_000_000, 5_000_000*n), search: min(80_000_000, 2_000_000*n), tidy: min(2_000_000, 200_000+10_000*n)}
	}
	return budget{bound: min(60_000_000, 500_000+200_000*n), search: 200_000 + 30_000*n, tidy: 5_000 + 300*n}
}

// few is how many items are searched one by one; of more most are cut by layouts
// that are repeated.
const few = 300

// Plan lays the parts out. The error is a Misfit or a Short, or tells of a size, cost
// or quantity outside its domain: sides above 0 and up to 100 m, kerf and trim from 0
// to 100 m, costs from 0 to 10^12, quantities from 0 to a million, and no more parts in
// all.
func (j *Job) Plan(e Effort) (Plan, error) {
	p, err := j.problem()
	if err != nil || len(p.wants) == 0 {
		return Plan{}, err
	}
	b := newBound(p)
	best, found := p.quick(b)
	if e == Thorough && (!found || best.cost > b.least) {
		if a, ok := p.solve(e, b); ok && (!found || a.better(&best)) {
			best, found = a, true
		}
	}
	if !found {
		return Plan{}, Short{}
	}
	if best.cost > b.least && j.wide() && j.Kerf%2 == 0 {
		thin := *j
		thin.Kerf /= 2
		if q, err := thin.Plan(e); err == nil {
			b.least = max(b.least, q.Bound)
		}
	}
	plan := p.build(best)
	plan.Bound = b.least
	return plan, nil
}

// wide reports whether the kerf is so wide, a seven hundredth of the longest side of
// the stock, that what is proved for half of it is looked at too: no bound may fall
// when a kerf of a saw is doubled.
func (j *Job) wide() bool {
	var longest unit.Length
	for i := range j.Stock {
		longest = max(longest, j.Stock[i].Length, j.Stock[i].Width)
	}
	return 700*j.Kerf >= longest
}

// quick returns a solution that is never dearer than two of one for half of everything.
func (p *problem) quick(b *bound) (solution, bool) {
	best, found := p.solve(Quick, b)
	if found && best.cost == b.least {
		return best, true
	}
	if h := p.half(); h != nil {
		if a, ok := h.quick(newBound(h)); ok {
			if a = a.twice(); !found || a.better(&best) {
				return a, true
			}
		}
	}
	return best, found
}

// half returns the problem of half of everything, or nil where something is odd.
func (p *problem) half() *problem {
	h := *p
	h.wants, h.boards = slices.Clone(p.wants), slices.Clone(p.boards)
	for i := range h.wants {
		if h.wants[i].count%2 != 0 {
			return nil
		}
		h.wants[i].count /= 2
	}
	for i := range h.boards {
		h.boards[i].limit /= 2
	}
	return &h
}

// solve looks for a solution with a budget, and raises the bound where that is needed.
func (p *problem) solve(e Effort, b *bound) (solution, bool) {
	items := p.items()
	spend := e.budget(items)
	var m *master
	var often solution
	rest := p
	if items > few {
		m = b.columns(nil, spend.bound)
		often, rest = p.repeat(m)
	}
	s := newSearch(rest)
	s.steps = spend.search
	best, found := s.begin()
	if !found {
		return solution{}, false
	}
	least := func() int64 { return max(0, b.least-often.cost) }
	if best.cost > least() {
		s.steps = spend.search / 8
		best = s.improve(best, least())
	}
	if m == nil && best.cost > least() {
		m = b.columns(best.patterns(), spend.bound)
	}
	s.steps = spend.search
	if m != nil {
		best = s.round(best, m, least())
	}
	best = s.improve(best, least())
	s.steps = spend.tidy
	return often.plus(s.tidy(best)), true
}
