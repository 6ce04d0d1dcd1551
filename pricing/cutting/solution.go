package cutting

import (
	"cmp"
	"slices"
)

// A solution is sheets that hold all there is to cut.
type solution struct {
	sheets []*sheet
	times  []int // how often each is cut
	cost   int64
	pieces int
}

// add adds a sheet, cut n times, that stays as it is.
func (a *solution) add(p *problem, c *sheet, n int) {
	a.sheets, a.times = append(a.sheets, c), append(a.times, n)
	a.cost += int64(n) * p.boards[c.stock].cost
	a.pieces += n
}

// plus returns both together.
func (a solution) plus(b solution) solution {
	return solution{slices.Concat(a.sheets, b.sheets), slices.Concat(a.times, b.times), a.cost + b.cost, a.pieces + b.pieces}
}

// twice returns a, all of it cut twice as often.
func (a solution) twice() solution {
	b := solution{sheets: a.sheets, cost: 2 * a.cost, pieces: 2 * a.pieces}
	for _, n := range a.times {
		b.times = append(b.times, 2*n)
	}
	return b
}

// better reports whether a is cheaper than b, or of fewer pieces at the same cost.
func (a *solution) better(b *solution) bool {
	return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.pieces, b.pieces)) < 0
}

// patterns returns what the sheets hold.
func (a *solution) patterns() []pattern {
	list := make([]pattern, len(a.sheets))
	for i, c := range a.sheets {
		list[i] = pattern{board: c.stock, holds: c.holds(), made: c}
	}
	return list
}

// holds returns how many a sheet holds of each want.
func (s *sheet) holds() []amount {
	var list []amount
	for n := range s.slots {
		w := s.slots[n].item
		if w < 0 {
			continue
		}
		i, found := slices.BinarySearchFunc(list, w, func(a amount, w int32) int { return cmp.Compare(a.want, w) })
		if !found {
			list = slices.Insert(list, i, amount{want: w})
		}
		list[i].n++
	}
	return list
}

// solution returns the sheets of the search, which hold every item, as they are.
func (s *search) solution() solution {
	var a solution
	for _, c := range s.sheets {
		if c.items > 0 {
			k := &sheet{}
			k.copy(c)
			a.add(s.problem, k, 1)
		}
	}
	return a
}

// clear takes all sheets away.
func (s *search) clear() {
	s.pool = append(s.pool, s.sheets...)
	s.sheets, s.left = s.sheets[:0], s.left[:0]
	clear(s.used)
	s.cost, s.lack = 0, 0
	s.most, s.count = noLimit, mostOf
	s.mark()
}

// start puts the sheets of a solution back, the fullest first, as long as they cost
// at most most and are at most count at that cost; what is on the others is left.
func (s *search) start(a *solution, most int64, count int) {
	s.clear()
	s.most, s.count = most, count
	order := make([]int, len(a.sheets))
	full := make([]int64, len(a.sheets))
	for i, c := range a.sheets {
		order[i], full[i] = i, s.filled(c)
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(full[j], full[i]) })
	for _, i := range order {
		c := a.sheets[i]
		if s.affordable(c.stock) {
			k := s.open(c.stock)
			k.copy(c)
			s.find(k)
			continue
		}
		for _, h := range c.holds() {
			for range h.n {
				s.take(h.want)
			}
		}
	}
}

// begin fills sheets from nothing in several orders, preferring each board in turn,
// and returns the best. It reports false when limited stock is not seen to suffice.
func (s *search) begin() (solution, bool) {
	var best solution
	found := false
	for how := range len(s.ranks) * len(s.boards) {
		s.clear()
		s.prefer = how / len(s.ranks)
		for i := range s.wants {
			for range s.wants[i].count {
				s.take(int32(i))
			}
		}
		s.order(how)
		s.insert()
		if s.lack > 0 && (found || how < len(s.ranks)*len(s.boards)-1 || !s.run()) {
			continue
		}
		if a := s.solution(); !found || a.better(&best) {
			best, found = a, true
		}
	}
	s.prefer = none
	return best, found
}

// improve looks for cheaper solutions until one costs least or the steps are used up,
// then for one of fewer pieces at the same cost.
func (s *search) improve(best solution, least int64) solution {
	for best.cost > least {
		s.start(&best, best.cost-1, mostOf)
		if !s.run() {
			break
		}
		best = s.solution()
	}
	return best
}

// round does the same, each time from the patterns a master buys: whole ones, then
// those it buys most of a part of. It leaves half of the steps.
func (s *search) round(best solution, m *master, least int64) solution {
	half := s.steps / 2
	s.steps -= half
	for best.cost > least && m.lay(s, best.cost-1) && s.run() {
		best = s.solution()
	}
	s.steps = max(0, s.steps) + half
	return best
}

// lay starts a search from the patterns that m buys, at a cost of at most most. It
// reports whether it knows how to lay out any.
func (m *master) lay(s *search, most int64) bool {
	s.clear()
	s.most = most
	rest := make([]int, len(s.wants))
	for i := range s.wants {
		rest[i] = s.wants[i].count
	}
	var order []int
	for r := range m.basis {
		if m.basis[r].made != nil {
			order = append(order, r)
			for n := m.whole(r); n > 0 && s.cut(&m.basis[r], rest); n-- {
			}
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(m.part(b), m.part(a)) })
	for _, r := range order {
		if m.part(r) > 0 && m.wanted(&m.basis[r], rest) {
			s.cut(&m.basis[r], rest)
		}
	}
	for i, n := range rest {
		for range n {
			s.take(int32(i))
		}
	}
	s.order(0)
	s.insert()
	return len(order) > 0
}

// wanted reports whether most of what a pattern is worth is still wanted.
func (m *master) wanted(p *pattern, rest []int) bool {
	var all, used int64
	for _, h := range p.holds {
		all += m.prices[h.want] * int64(h.n)
		used += m.prices[h.want] * int64(min(int(h.n), rest[h.want]))
	}
	return 10*used >= 9*all
}

// cut cuts a pattern once, without what is wanted no more. It reports false when that
// may not be, or when nothing of it is wanted.
func (s *search) cut(p *pattern, rest []int) bool {
	if !s.affordable(p.board) || !slices.ContainsFunc(p.holds, func(h amount) bool { return rest[h.want] > 0 }) {
		return false
	}
	c := s.open(p.board)
	c.copy(p.made)
	for n := range p.made.slots {
		w := p.made.slots[n].item
		switch {
		case w < 0:
		case rest[w] > 0:
			rest[w]--
		default:
			c.vacate(int32(n), func(int32) {})
		}
	}
	s.find(c)
	return true
}
