package cutting

import (
	"cmp"
	"slices"
)

// A search holds sheets that cost no more than they may, and the items that found no
// room on them. It is over when there are none of these.
type search struct {
	*problem
	sheets []*sheet
	used   []int // of each board
	cost   int64 // of all sheets
	left   []int32
	lack   int64 // their area

	most  int64 // what the sheets may cost
	count int   // and how many they may be when they cost just that

	narrow int64 // the shortest side of a room that is good for anything
	stray  int   // one first cut in so many is the worse one
	prefer int   // the board to open when there is a choice; none: any

	steps  int64 // still to go
	random uint64
	ranks  [][]int32 // of the wants, in several orders

	touched []int    // places of the sheets that the last change changed
	was     []*sheet // as they were
	pool    []*sheet
	before  before
}

// A before is what a search goes back to.
type before struct {
	sheets     int
	used       []int
	left       []int32
	cost, lack int64
}

func newSearch(p *problem) *search {
	return &search{problem: p, used: make([]int, len(p.boards)), ranks: p.ranks(), narrow: p.least, stray: 16, random: 0x9E3779B97F4A7C15, prefer: none}
}

// next returns a number from 0 to n - 1 that looks like chance.
func (s *search) next(n int) int {
	s.random ^= s.random << 13
	s.random ^= s.random >> 7
	s.random ^= s.random << 17
	return int((s.random >> 33) % uint64(n))
}

// take leaves an item without room.
func (s *search) take(item int32) {
	s.left = append(s.left, item)
	s.lack += s.wants[item].area
}

// mark begins a change.
func (s *search) mark() {
	b := &s.before
	b.used, b.left = append(b.used[:0], s.used...), append(b.left[:0], s.left...)
	b.cost, b.lack, b.sheets = s.cost, s.lack, len(s.sheets)
	s.touched, s.was = s.touched[:0], s.was[:0]
}

// touch returns sheet i to be changed, keeping it as it is in case the change is undone.
func (s *search) touch(i int) *sheet {
	if i >= s.before.sheets {
		return s.sheets[i]
	}
	for _, t := range s.touched {
		if t == i {
			return s.sheets[i]
		}
	}
	c := s.fresh()
	c.copy(s.sheets[i])
	s.steps -= int64(len(c.slots)) + 40
	s.touched, s.was = append(s.touched, i), append(s.was, s.sheets[i])
	s.sheets[i] = c
	return c
}

func (s *search) fresh() *sheet {
	if n := len(s.pool); n > 0 {
		c := s.pool[n-1]
		s.pool = s.pool[:n-1]
		return c
	}
	return &sheet{}
}

// undo goes back to the mark.
func (s *search) undo() {
	b := &s.before
	for k, i := range s.touched {
		s.pool = append(s.pool, s.sheets[i])
		s.sheets[i] = s.was[k]
	}
	s.pool = append(s.pool, s.sheets[b.sheets:]...)
	s.sheets = s.sheets[:b.sheets]
	s.used, b.used = b.used, s.used
	s.left, b.left = b.left, s.left
	s.cost, s.lack = b.cost, b.lack
}

// keep makes the change since the mark last.
func (s *search) keep() {
	s.pool = append(s.pool, s.was...)
	n := 0
	for _, c := range s.sheets {
		if c.items == 0 {
			s.close(c)
			s.pool = append(s.pool, c)
			continue
		}
		s.sheets[n] = c
		n++
	}
	s.sheets = s.sheets[:n]
}

// open adds a sheet.
func (s *search) open(board int) *sheet {
	c := s.fresh()
	c.reset(board, s.boards[board].size)
	s.find(c)
	s.sheets = append(s.sheets, c)
	s.used[board]++
	s.cost += s.boards[board].cost
	return c
}

// closed stands in place of the stock of a sheet that is given back.
const closed = -1

// close gives a sheet back that holds nothing.
func (s *search) close(c *sheet) {
	if c.stock != closed {
		s.used[c.stock]--
		s.cost -= s.boards[c.stock].cost
		c.stock, c.reach, c.rooms = closed, size{}, c.rooms[:0]
	}
}

// affordable reports whether one more of a board is allowed.
func (s *search) affordable(board int) bool {
	if s.used[board] >= s.boards[board].limit {
		return false
	}
	cost := s.cost + s.boards[board].cost
	if cost != s.most {
		return cost < s.most
	}
	n := 1
	for _, u := range s.used {
		n += u
	}
	return n <= s.count
}

// A spot is where an item could lie, and what it would spoil there.
type spot struct {
	sheet, room    int
	turned, across bool
	loss           int64
}

// find looks for the rooms of a sheet.
func (s *search) find(c *sheet) {
	c.rooms, c.reach = c.rooms[:0], size{}
	s.steps -= int64(len(c.slots))
	for n := range c.slots {
		if e := &c.slots[n]; e.item == empty {
			c.rooms = append(c.rooms, room{e.size, int32(n), s.value(e.size)})
			c.reach = size{max(c.reach.l, e.l), max(c.reach.w, e.w)}
		}
	}
}

// furnish brings the rooms of a sheet up to date when one of them became two slots, or
// less.
func (s *search) furnish(c *sheet, taken int, rest, over int32) {
	last := len(c.rooms) - 1
	c.rooms[taken] = c.rooms[last]
	c.rooms = c.rooms[:last]
	for _, n := range [2]int32{rest, over} {
		if n != none {
			z := c.slots[n].size
			c.rooms = append(c.rooms, room{z, n, s.value(z)})
		}
	}
	s.steps -= int64(len(c.rooms))
	c.reach = size{}
	for i := range c.rooms {
		c.reach = size{max(c.reach.l, c.rooms[i].l), max(c.reach.w, c.rooms[i].w)}
	}
}

// try looks on a sheet for a spot that spoils less than best.
func (s *search) try(i int, w *want, best *spot) {
	c := s.sheets[i]
	if !c.reach.holds(w.size) && !(w.turn && c.reach.holds(w.turned())) {
		return
	}
	s.steps -= int64(len(c.rooms))
	for k := range c.rooms {
		r := &c.rooms[k]
		if r.holds(w.size) {
			s.weigh(r, w.size, spot{sheet: i, room: k}, best)
		}
		if w.turn && r.holds(w.turned()) {
			s.weigh(r, w.turned(), spot{sheet: i, room: k, turned: true}, best)
		}
	}
}

// weigh finds which of the two first cuts spoils less.
func (s *search) weigh(r *room, of size, at spot, best *spot) {
	rest := size{r.l - of.l, r.w - of.w}
	across := r.value - s.value(size{rest.l, r.w}) - s.value(size{of.l, rest.w})
	along := r.value - s.value(size{r.l, rest.w}) - s.value(size{rest.l, of.w})
	if at.loss = min(across, along); at.loss < best.loss {
		at.across = across < along != (s.next(s.stray) == 0)
		*best = at
	}
}

// value returns what a room is good for: the more the larger, and more than two it
// could be cut into; nothing when it is too narrow for anything.
func (s *search) value(z size) int64 {
	if min(z.l, z.w) < s.narrow {
		return 0
	}
	a := s.area(z) >> s.norm
	return a * a
}

// insert puts the items that are left where there is room for them.
func (s *search) insert() {
	rest := s.left[:0]
	failed := int32(none)
	for _, item := range s.left {
		if item == failed || !s.house(item) {
			failed = item
			rest = append(rest, item)
		}
	}
	s.left = rest
}

// house finds room for an item, on another sheet if need be and allowed.
func (s *search) house(item int32) bool {
	w := &s.wants[item]
	best := spot{loss: 1<<63 - 1, room: none}
	s.steps -= int64(len(s.sheets))
	for i := range s.sheets {
		s.try(i, w, &best)
	}
	if best.room == none {
		board := s.another(w)
		if board == none {
			return false
		}
		s.open(board)
		s.try(len(s.sheets)-1, w, &best)
	}
	of := w.size
	if best.turned {
		of = of.turned()
	}
	c := s.touch(best.sheet)
	rest, over := c.place(c.rooms[best.room].slot, item, of, best.across)
	s.furnish(c, best.room, rest, over)
	s.lack -= w.area
	return true
}

// another returns the board to open for w: the one preferred, or any.
func (s *search) another(w *want) int {
	board, n := none, 0
	for b := range s.boards {
		if z := s.boards[b].size; !s.affordable(b) || !z.holds(w.size) && !(w.turn && z.holds(w.turned())) {
			continue
		}
		if b == s.prefer {
			return b
		}
		if n++; s.next(n) == 0 {
			board = b
		}
	}
	return board
}

// order sorts what is left by one of the ranks.
func (s *search) order(how int) {
	rank := s.ranks[how%len(s.ranks)]
	slices.SortStableFunc(s.left, func(a, b int32) int { return cmp.Compare(rank[a], rank[b]) })
}

// ruin empties some slots of some sheets.
func (s *search) ruin() {
	for range 1 + s.next(min(3, len(s.sheets))) {
		i := s.next(len(s.sheets))
		if s.sheets[i].stock == closed {
			continue
		}
		c := s.touch(i)
		if len(s.boards) > 1 && s.next(4) == 0 {
			c.vacate(0, s.take)
			s.close(c)
			continue
		}
		for range 1 + s.next(10) {
			n := int32(s.next(len(c.slots)))
			if e := &c.slots[n]; e.item >= 0 || e.item == split && e.first != none && n > 0 {
				c.vacate(n, s.take)
			}
		}
		s.find(c)
	}
}

// run changes the sheets until every item has room or the steps are used up, and
// reports which.
func (s *search) run() bool {
	for len(s.left) > 0 {
		if s.steps <= 0 || len(s.sheets) == 0 {
			return false
		}
		s.mark()
		s.steps -= int64(len(s.left))
		lack := s.lack
		s.ruin()
		s.order(s.next(len(s.ranks) + 1))
		s.insert()
		if s.lack <= lack {
			s.keep()
		} else {
			s.undo()
		}
	}
	return true
}
