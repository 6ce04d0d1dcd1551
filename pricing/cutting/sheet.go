package cutting

// A size is a rectangle grown by a kerf along two of its sides, so that what is cut
// from it tiles it without gaps: items, offcuts and the stock within its trim.
type size struct{ l, w int64 }

func (s size) turned() size { return size{s.w, s.l} }

// What a slot holds, when it is not the index of an item.
const (
	empty = -1 // nothing yet
	split = -2 // further slots; none of them: it is not in use
	none  = -1 // no slot
)

// A slot is a rectangle of a sheet: an item, empty, or split into slots side by side
// or stacked. A slot and the slots it is split into never run the same way, a split
// slot has two slots or more, and at most one of them is empty: in which order they
// lie is settled when all is done.
type slot struct {
	size
	item             int32
	up, first, after int32
	stacked          bool // split by cuts along the length: one above another
}

// A room is an empty slot, and what it is good for.
type room struct {
	size
	slot  int32
	value int64
}

// A sheet is one piece of stock and what is cut from it.
type sheet struct {
	stock int
	slots []slot // the first is the whole
	spare int32  // first of the slots that are not in use
	items int    // how many it holds
	rooms []room // as last found
	reach size   // the longest of them by the widest
}

// reset makes s a whole, empty piece of stock.
func (s *sheet) reset(stock int, whole size) {
	*s = sheet{stock: stock, spare: none, slots: append(s.slots[:0], slot{size: whole, item: empty, up: none, first: none, after: none}), rooms: s.rooms}
}

// copy makes s equal to from, in its own room.
func (s *sheet) copy(from *sheet) {
	slots, rooms := append(s.slots[:0], from.slots...), append(s.rooms[:0], from.rooms...)
	*s = *from
	s.slots, s.rooms = slots, rooms
}

// add returns a new slot, the first of those of up.
func (s *sheet) add(up int32, of size, item int32) int32 {
	n := s.spare
	if n == none {
		n = int32(len(s.slots))
		s.slots = append(s.slots, slot{})
	} else {
		s.spare = s.slots[n].after
	}
	s.slots[n] = slot{size: of, item: item, up: up, first: none, after: s.slots[up].first}
	s.slots[up].first = n
	return n
}

// free gives slot n back.
func (s *sheet) free(n int32) {
	s.slots[n].item, s.slots[n].after = split, s.spare
	s.slots[n].first = none
	s.spare = n
}

// place puts an item, as it lies, into the empty slot n. What is left of the slot is
// whole beside it when the first cut is across the length, else above it; that and
// what is left of the item's strip are returned, or none.
func (s *sheet) place(n, item int32, of size, across bool) (rest, over int32) {
	s.items++
	whole := s.slots[n].size
	if whole == of {
		s.slots[n].item = item
		return none, none
	}
	if across && of.l == whole.l || !across && of.w == whole.w {
		across = !across
	}
	first := of.l
	if !across {
		first = of.w
	}
	in, rest := s.divide(n, first, !across)
	if s.slots[in].size == of {
		s.slots[in].item = item
		return rest, none
	}
	first = of.w
	if !across {
		first = of.l
	}
	in, over = s.divide(in, first, across)
	s.slots[in].item = item
	return rest, over
}

// vacate empties slot n and joins it to the emptiness around it; what it held is
// given to take.
func (s *sheet) vacate(n int32, take func(item int32)) {
	s.strip(n, take)
	s.slots[n].item, s.slots[n].first = empty, none
	s.join(n)
}

// strip takes all out of slot n.
func (s *sheet) strip(n int32, take func(item int32)) {
	if s.slots[n].item >= 0 {
		take(s.slots[n].item)
		s.items--
	}
	for c := s.slots[n].first; c != none; {
		next := s.slots[c].after
		s.strip(c, take)
		s.free(c)
		c = next
	}
}

// join makes one of the empty slot n and another beside it, and of a slot that holds
// nothing else an empty one.
func (s *sheet) join(n int32) {
	up := s.slots[n].up
	if up == none {
		return
	}
	at := &s.slots[up].first
	for c := *at; c != none; c = *at {
		if e := &s.slots[c]; c != n && e.item == empty {
			if s.slots[up].stacked {
				s.slots[n].w += e.w
			} else {
				s.slots[n].l += e.l
			}
			*at = e.after
			s.free(c)
			break
		}
		at = &s.slots[c].after
	}
	if s.slots[up].first == n && s.slots[n].after == none {
		s.free(n)
		s.slots[up].item, s.slots[up].first = empty, none
		s.join(up)
	}
}

// divide cuts the empty slot n, which takes from from on, and returns the two: the
// first that long, or that wide when they are stacked.
func (s *sheet) divide(n int32, first int64, stacked bool) (a, b int32) {
	z := s.slots[n].size
	x, y := size{first, z.w}, size{z.l - first, z.w}
	if stacked {
		x, y = size{z.l, first}, size{z.l, z.w - first}
	}
	if up := s.slots[n].up; up != none && s.slots[up].stacked == stacked {
		s.slots[n].size = y
		return s.add(up, x, empty), n
	}
	s.slots[n].item, s.slots[n].stacked = split, stacked
	b = s.add(n, y, empty)
	return s.add(n, x, empty), b
}

// tidy joins what is empty side by side.
func (s *sheet) tidy() {
	for n := range s.slots {
		if s.slots[n].item == empty {
			s.join(int32(n))
		}
	}
}

// need returns how large slot n must be for what it holds.
func (s *sheet) need(n int32) size {
	e := &s.slots[n]
	if e.item >= 0 {
		return e.size
	}
	var z size
	for c := e.first; c != none; c = s.slots[c].after {
		if in := s.need(c); e.stacked {
			z = size{max(z.l, in.l), z.w + in.w}
		} else {
			z = size{z.l + in.l, max(z.w, in.w)}
		}
	}
	return z
}

// shrink gives slot n a size, and the slots that it is split into no more than they
// need; the empty one among them has the rest.
func (s *sheet) shrink(n int32, to size) {
	s.slots[n].size = to
	if s.slots[n].item >= 0 || s.slots[n].first == none {
		return
	}
	rest, spare := to, int32(none)
	for c := s.slots[n].first; c != none; c = s.slots[c].after {
		if s.slots[c].item == empty {
			spare = c
			continue
		}
		in := to
		if z := s.need(c); s.slots[n].stacked {
			in.w = z.w
			rest.w -= z.w
		} else {
			in.l = z.l
			rest.l -= z.l
		}
		s.shrink(c, in)
	}
	switch {
	case spare != none:
		s.slots[spare].size = rest
	case rest.l > 0 && rest.w > 0:
		s.add(n, rest, empty)
	}
}
