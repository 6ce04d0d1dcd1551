package cutting

import (
	"math/bits"
	"slices"
)

// Numbers of the master are in steps of 1 / unity.
const (
	places = 30
	unity  = int64(1) << places
	tiny   = unity >> 14 // no pivot is smaller
	slight = unity >> 20 // no saving is worth while that is less
)

// times returns a x b, both in steps of unity.
func times(a, b int64) int64 {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	hi -= uint64(a>>63)&uint64(b) + uint64(b>>63)&uint64(a)
	lo, carry := bits.Add64(lo, 1<<(places-1), 0)
	hi += carry
	return int64(hi<<(64-places) | lo>>places)
}

// over returns a / b.
func over(a, b int64) int64 {
	neg := (a < 0) != (b < 0)
	n, d := uint64(max(a, -a)), uint64(max(b, -b))
	hi, lo := n>>(64-places), n<<places
	q := int64(1<<62 - 1)
	if hi < d>>2 {
		u, _ := bits.Div64(hi, lo, d)
		q = int64(u)
	}
	if neg {
		return -q
	}
	return q
}

// An amount is how many of one want a pattern holds.
type amount struct {
	want int32
	n    int32
}

// A pattern is what is cut from one board, however it lies.
type pattern struct {
	board int
	holds []amount
	made  *sheet // how; nil when only what it is worth is known
}

// A master is the linear program of buying patterns, in any fraction of one, that
// together hold what is wanted at the least cost. It is solved by the revised simplex
// method in whole numbers of fixed steps, so every machine finds the same; what it
// says of the optimum is rough, and whoever needs a bound proves it otherwise.
type master struct {
	*problem
	costs  []int64   // of each board, the dearest is unity
	basis  []pattern // by row
	dear   []int64   // their costs
	inv    [][]int64 // of the basis
	often  []int64   // how much of each is bought
	prices []int64   // of one of each want
	column []int64
}

// newMaster starts with patterns of one want each.
func newMaster(p *problem) *master {
	n := len(p.wants)
	m := &master{problem: p, costs: make([]int64, len(p.boards)), prices: make([]int64, n), column: make([]int64, n)}
	var dearest int64 = 1
	for _, b := range p.boards {
		dearest = max(dearest, b.cost)
	}
	for i, b := range p.boards {
		hi, lo := bits.Mul64(uint64(b.cost), uint64(unity))
		q, _ := bits.Div64(hi, lo, uint64(dearest))
		m.costs[i] = int64(q)
	}
	for i := range p.wants {
		q := m.alone(i)
		k := int64(q.holds[0].n)
		m.basis = append(m.basis, q)
		m.dear = append(m.dear, m.costs[q.board])
		row := make([]int64, n)
		row[i] = unity / k
		m.inv = append(m.inv, row)
		m.often = append(m.often, int64(p.wants[i].count)*unity/k)
	}
	m.price()
	return m
}

// alone returns the pattern of one want by which its copies are cheapest: a grid.
func (m *master) alone(i int) pattern {
	w := &m.wants[i]
	var best pattern
	var most int64
	for b := range m.boards {
		for _, z := range []size{w.size, w.turned()} {
			of := m.boards[b].size
			n := min(of.l/z.l, 1<<15) * min(of.w/z.w, 1<<15)
			if n > 0 && (most == 0 || over(m.costs[b], n) < over(m.costs[best.board], most)) {
				best, most = pattern{board: b, holds: []amount{{int32(i), int32(n)}}}, n
				if n <= few {
					best.made = grid(int32(i), z, b, of)
				}
			}
			if !w.turn {
				break
			}
		}
	}
	return best
}

// grid returns a sheet of nothing but one want, as it lies.
func grid(want int32, z size, board int, of size) *sheet {
	c := &sheet{}
	c.reset(board, of)
	columns, rows := of.l/z.l, of.w/z.w
	at := int32(0)
	for range columns {
		n := at
		if c.slots[n].l > z.l {
			n, at = c.divide(n, z.l, false)
		}
		for range rows {
			up := n
			if c.slots[n].w > z.w {
				up, n = c.divide(n, z.w, true)
			}
			c.slots[up].item = want
			c.items++
		}
	}
	c.tidy()
	return c
}

// price works out the prices of the wants.
func (m *master) price() {
	for i := range m.prices {
		m.prices[i] = 0
	}
	for r, c := range m.dear {
		if c != 0 {
			for i, v := range m.inv[r] {
				m.prices[i] += times(c, v)
			}
		}
	}
}

// worth returns what a pattern saves, by the prices of the wants: above 0, buying it
// lowers the cost.
func (m *master) worth(p *pattern) int64 {
	v := -m.cost(p.board)
	for _, a := range p.holds {
		v += m.prices[a.want] * int64(a.n)
	}
	return v
}

// enter brings a pattern into the basis. It reports false when steps are too coarse
// for that.
func (m *master) enter(p pattern) bool {
	cost := m.cost(p.board)
	d := m.column
	for r, row := range m.inv {
		d[r] = 0
		for _, a := range p.holds {
			d[r] += row[a.want] * int64(a.n)
		}
	}
	out := -1
	var least int64
	for r := range d {
		if d[r] <= tiny {
			continue
		}
		if q := over(max(0, m.often[r]), d[r]); out < 0 || q < least || q == least && d[r] > d[out] {
			out, least = r, q
		}
	}
	if out < 0 {
		return false
	}
	pivot := d[out]
	row := m.inv[out]
	if slices.ContainsFunc(row, func(v int64) bool { return over(max(v, -v), pivot) > 1<<50 }) {
		return false
	}
	for i := range row {
		row[i] = over(row[i], pivot)
	}
	m.often[out] = least
	for r := range m.inv {
		if r == out || d[r] == 0 {
			continue
		}
		for i, v := range row {
			if v != 0 {
				m.inv[r][i] -= times(d[r], v)
			}
		}
		m.often[r] -= times(d[r], least)
	}
	m.basis[out], m.dear[out] = p, cost
	m.price()
	return true
}

// cost returns the cost of a board; throwing away has none.
func (m *master) cost(board int) int64 {
	if board == none {
		return 0
	}
	return m.costs[board]
}

// surplus returns the throwing away of one of the want whose price is furthest below
// zero, if there is one.
func (m *master) surplus() (pattern, bool) {
	at, least := none, -slight
	for i, v := range m.prices {
		if v < least {
			at, least = i, v
		}
	}
	return pattern{board: none, holds: []amount{{int32(at), -1}}}, at != none
}

// best returns the pattern of a list that saves most, if one saves anything.
func (m *master) best(list []pattern) (pattern, bool) {
	at, most := none, slight
	for i := range list {
		if v := m.worth(&list[i]); v > most {
			at, most = i, v
		}
	}
	if at == none {
		return pattern{}, false
	}
	return list[at], true
}

// improve brings patterns into the basis as long as steps go and one saves something:
// of a list, else the one that find returns with the steps it took.
func (m *master) improve(list []pattern, steps int64, find func() (pattern, int64)) {
	upkeep := int64(len(m.wants) * len(m.wants))
	for ; steps > 0; steps -= upkeep {
		p, fine := m.surplus()
		if !fine {
			p, fine = m.best(list)
		}
		if !fine {
			var work int64
			p, work = find()
			steps -= work
			fine = m.worth(&p) > slight
		}
		if !fine || !m.enter(p) {
			return
		}
	}
}

// solve returns the pattern that saves most of all there are, with the steps that took,
// and has the bound prove what it can by the prices.
func (m *master) solve(sacks []*knapsack, b *bound) (p pattern, work int64) {
	prices, most := make([]int64, len(m.prices)), make([]int64, len(m.boards))
	var need int64
	for i, v := range m.prices {
		if m.wants[i].count > 0 {
			prices[i] = min(max(0, v), unity)
		}
		need += prices[i] * int64(m.wants[i].count)
	}
	at, gain := 0, int64(0)
	for i, k := range sacks {
		work += k.work
		v := k.solve(prices)
		most[k.board] = v
		if v -= m.costs[k.board]; i == 0 || v > gain {
			at, gain = i, v
		}
	}
	b.prove(need, most)
	return sacks[at].pattern(), work
}

// whole returns how often the pattern of row r is bought whole.
func (m *master) whole(r int) int { return int(max(0, m.often[r]) >> places) }

// part returns what is bought of it beyond that, in steps of unity.
func (m *master) part(r int) int64 { return max(0, m.often[r]) & (unity - 1) }

// strips solves the master over patterns of strips and those of a list, as far as
// steps go, and returns a copy of how it stands then.
func (m *master) strips(list []pattern, steps int64) *master {
	var ways []*strips
	for i := range m.boards {
		for _, stacked := range []bool{true, false} {
			if s := newStrips(m.problem, i, stacked); s != nil {
				ways = append(ways, s)
			}
		}
	}
	m.improve(list, steps, func() (p pattern, work int64) {
		gain := slight
		for _, s := range ways {
			work += s.work()
			if v := s.solve(m.prices) - m.costs[s.board]; v > gain {
				gain, p = v, s.pattern(m.prices)
			}
		}
		return p, work
	})
	return &master{problem: m.problem, basis: slices.Clone(m.basis), often: slices.Clone(m.often), prices: slices.Clone(m.prices)}
}
