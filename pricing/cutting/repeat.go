package cutting

import (
	"slices"

	"reckoner/pricing/num"
)

// items returns how many parts there are.
func (p *problem) items() int {
	n := 0
	for i := range p.wants {
		n += p.wants[i].count
	}
	return n
}

// repeat cuts most of a large job by layouts that are repeated, those that a master
// buys whole if it knows how to lay them out, and returns what is left of it.
func (p *problem) repeat(m *master) (solution, *problem) {
	var often solution
	rest := *p
	rest.wants, rest.boards = slices.Clone(p.wants), slices.Clone(p.boards)
	if m != nil {
		for r := range m.basis {
			b := &m.basis[r]
			if b.made == nil {
				continue
			}
			n := rest.times(b.made, m.whole(r))
			rest.without(&often, b.made, n)
			m.often[r] -= int64(n) << places
		}
	}
	s := newSearch(&rest)
	for rest.items() > few {
		c := s.fill()
		if c == nil {
			break
		}
		rest.without(&often, c, rest.times(c, mostOf))
	}
	return often, &rest
}

// times returns how often a sheet can be cut, at most most times, without cutting too
// much of anything.
func (p *problem) times(c *sheet, most int) int {
	n := min(most, p.boards[c.stock].limit)
	for _, h := range c.holds() {
		n = min(n, p.wants[h.want].count/int(h.n))
	}
	return n
}

// without adds a sheet, cut n times, to a and takes what it holds off what is wanted.
func (p *problem) without(a *solution, c *sheet, n int) {
	if n == 0 {
		return
	}
	a.add(p, c, n)
	p.boards[c.stock].limit -= n
	for _, h := range c.holds() {
		p.wants[h.want].count -= n * int(h.n)
	}
}

// fill returns the sheet, of those filled in several orders, that wastes the least of
// what it costs; nil when there is no stock.
func (s *search) fill() *sheet {
	var best *sheet
	var most int64
	dear := int64(1)
	for board := range s.boards {
		if s.boards[board].limit == 0 {
			continue
		}
		for how := range max(1, min(len(s.ranks), 2000/len(s.wants))) {
			s.clear()
			s.open(board)
			s.count, s.most = 1, s.cost
			s.left = s.left[:0]
			for i := range s.wants {
				if s.wants[i].count > 0 {
					s.left = append(s.left, int32(i))
				}
			}
			s.order(how)
			var area int64
			for _, item := range s.left {
				for n := s.wants[item].count; n > 0 && s.house(item); n-- {
					area += s.wants[item].area
				}
			}
			s.left = s.left[:0]
			if num.Mul(area, dear).Compare(num.Mul(most, s.boards[board].cost)) > 0 {
				best, most, dear = &sheet{}, area, s.boards[board].cost
				best.copy(s.sheets[0])
			}
		}
	}
	return best
}
