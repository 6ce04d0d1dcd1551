package cutting

import (
	"cmp"
	"slices"
)

// Strips finds patterns of a high value quickly: boards cut into strips from one edge
// to the other, and strips cut across into wants, the widest of which gives the strip
// its width. Gilmore and Gomory (1965) call them two-stage patterns.
type strips struct {
	*problem
	board   int
	stacked bool // strips run along the length, else across it
	long    int64
	wide    int64
	bars    []strip
	line    []int64 // the best of a strip, by length
	whole   []int64 // the best of the board, by width
	values  []int64 // of a whole strip as wide as each bar
}

// A strip is a want as it lies in one: how long, and how wide.
type strip struct {
	want int32
	l, w int64
}

// crowd is how many of one want a board may hold for strips to be laid out.
const crowd = 20_000

// newStrips prepares a board, and returns nil when its sides have too many steps.
func newStrips(p *problem, board int, stacked bool) *strips {
	z := p.boards[board].size
	if !stacked {
		z = z.turned()
	}
	if max(z.l, z.w) > finest || min(z.l, z.w) <= 0 {
		return nil
	}
	s := &strips{problem: p, board: board, stacked: stacked, long: z.l, wide: z.w}
	for i := range p.wants {
		w := &p.wants[i]
		for _, k := range []size{w.size, w.turned()} {
			if !stacked {
				k = k.turned()
			}
			if z.holds(k) && w.count > 0 && (z.l/k.l)*(z.w/k.w) <= crowd {
				s.bars = append(s.bars, strip{int32(i), k.l, k.w})
			}
			if !w.turn {
				break
			}
		}
	}
	slices.SortFunc(s.bars, func(a, b strip) int { return cmp.Or(cmp.Compare(a.w, b.w), cmp.Compare(a.l, b.l)) })
	s.line, s.whole = make([]int64, z.l+1), make([]int64, z.w+1)
	s.values = make([]int64, len(s.bars))
	return s
}

// work returns how many steps a solution takes.
func (s *strips) work() int64 { return int64(len(s.bars)) * (s.long + s.wide) }

// solve returns the highest value by the prices of the wants.
func (s *strips) solve(prices []int64) int64 {
	clear(s.line)
	for i, b := range s.bars {
		s.lengthen(b, prices)
		s.values[i] = s.line[s.long]
	}
	clear(s.whole)
	for i, b := range s.bars {
		if i+1 < len(s.bars) && s.bars[i+1].w == b.w || s.values[i] == 0 {
			continue
		}
		v := s.values[i]
		for y := b.w; y <= s.wide; y++ {
			s.whole[y] = max(s.whole[y], s.whole[y-b.w]+v)
		}
	}
	return s.whole[s.wide]
}

// lengthen adds a bar, any number of times, to what a strip can hold.
func (s *strips) lengthen(b strip, prices []int64) {
	v := prices[b.want]
	if v <= 0 {
		return
	}
	for x := b.l; x <= s.long; x++ {
		s.line[x] = max(s.line[x], s.line[x-b.l]+v)
	}
}

// pattern returns what the last solution holds, laid out.
func (s *strips) pattern(prices []int64) pattern {
	c := &sheet{}
	c.reset(s.board, s.boards[s.board].size)
	rest, y := int32(0), s.wide
	for s.whole[y] > 0 {
		i := s.last(y)
		in := rest
		if w := s.bars[i].w; w < s.wideOf(c, rest) {
			in, rest = c.divide(rest, w, s.stacked)
		}
		y -= s.bars[i].w
		s.fill(c, in, i, prices)
	}
	c.tidy()
	return pattern{board: s.board, holds: c.holds(), made: c}
}

// wideOf returns how wide a slot is, across strips.
func (s *strips) wideOf(c *sheet, n int32) int64 {
	if s.stacked {
		return c.slots[n].w
	}
	return c.slots[n].l
}

// last returns the bar that is as wide as the last strip of the best up to y.
func (s *strips) last(y int64) int {
	for i, b := range s.bars {
		if b.w <= y && s.values[i] > 0 && s.whole[y-b.w]+s.values[i] == s.whole[y] {
			return i
		}
	}
	return s.last(y - 1)
}

// fill cuts a strip, slot n, into the best of the bars up to i.
func (s *strips) fill(c *sheet, n int32, i int, prices []int64) {
	clear(s.line)
	for _, b := range s.bars[:i+1] {
		s.lengthen(b, prices)
	}
	for x := s.long; s.line[x] > 0; {
		at := slices.IndexFunc(s.bars[:i+1], func(b strip) bool {
			return b.l <= x && prices[b.want] > 0 && s.line[x-b.l]+prices[b.want] == s.line[x]
		})
		if at < 0 {
			x--
			continue
		}
		b := s.bars[at]
		in := n
		if room := s.longOf(c, n); b.l < room {
			in, n = c.divide(n, b.l, !s.stacked)
		}
		of := size{b.l, b.w}
		if !s.stacked {
			of = of.turned()
		}
		c.place(in, b.want, of, s.stacked)
		x -= b.l
	}
}

// longOf returns how long a slot is, along strips.
func (s *strips) longOf(c *sheet, n int32) int64 {
	if s.stacked {
		return c.slots[n].l
	}
	return c.slots[n].w
}
