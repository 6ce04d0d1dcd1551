package piece

import "reckoner/pricing/unit"

// A space is a part of a case's inside: divided into rows or columns, each a
// space again, or filled. A chest makes rows of columns; other cases may nest
// deeper.
type space struct {
	x, y                 unit.Length // of its lower left corner, from that of the piece's front
	width, height, depth unit.Length
	into                 []space
	fill                 filling // when into is empty
	at                   string  // pointer of the object that describes it
	given                bool    // its height was given, not shared out
}

// A filling makes what stands in n spaces that are alike: a drawer each.
type filling interface {
	fill(b *bench, s *space, n int)
	// seen returns what of it stands in the front of s.
	seen(s *space) Rect
}

// rows divides s into rows of those heights with dividers that thick between
// them, from the top; a height of zero shares what is left.
func (s *space) rows(divider unit.Length, heights []unit.Length) error {
	sizes, err := divide(s.height, divider, heights)
	s.into = make([]space, len(sizes))
	y := s.y + s.height
	for i, h := range sizes {
		y -= h
		s.into[i] = space{x: s.x, y: y, width: s.width, height: h, depth: s.depth, at: item(s.at, i), given: heights[i] != 0}
		y -= divider
	}
	return err
}

// columns divides s into n alike columns from the left, each filled with f; it
// reports whether they have any width.
func (s *space) columns(divider unit.Length, n int, f filling) bool {
	w := unit.Share(s.width-unit.Length(n-1)*divider, n)
	s.into = make([]space, n)
	for i := range s.into {
		x := s.x + unit.Length(i)*(w+divider)
		s.into[i] = space{x: x, y: s.y, width: w, height: s.height, depth: s.depth, at: s.at, given: s.given, fill: f}
	}
	return w > 0
}

// furnish fills every space within s, those alike and side by side at once.
func (s *space) furnish(b *bench) {
	for i := 0; i < len(s.into); {
		c, n := &s.into[i], 1
		for i+n < len(s.into) && c.alike(&s.into[i+n]) {
			n++
		}
		if c.fill != nil {
			c.fill.fill(b, c, n)
		} else {
			c.furnish(b)
		}
		i += n
	}
}

// alike reports whether s and t are filled and of one size.
func (s *space) alike(t *space) bool {
	return s.fill != nil && s.fill == t.fill &&
		s.width == t.width && s.height == t.height && s.depth == t.depth && s.at == t.at
}

// A misfit says that sizes do not add up to the room there is.
type misfit struct {
	sizes, room unit.Length // of the sizes given, and what they have
	shared      int         // how many were to share the rest
}

func (m *misfit) Error() string { return "sizes do not fill their room" }

// divide shares total among sizes and the dividers between them. Sizes of zero
// share what the others leave, all alike and cut down to the nanometre; without
// one, the sizes must fill exactly.
func divide(total, divider unit.Length, sizes []unit.Length) ([]unit.Length, error) {
	room := total - unit.Length(len(sizes)-1)*divider
	given, missing := unit.Length(0), 0
	for _, s := range sizes {
		given += s
		if s == 0 {
			missing++
		}
	}
	if missing == 0 && given != room || missing > 0 && room <= given {
		return sizes, &misfit{given, room, missing}
	}
	if missing == 0 {
		return sizes, nil
	}
	share := unit.Share(room-given, missing)
	out := make([]unit.Length, len(sizes))
	for i, s := range sizes {
		out[i] = s
		if s == 0 {
			out[i] = share
		}
	}
	return out, nil
}
