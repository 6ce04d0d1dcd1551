package piece

import "reckoner/pricing/unit"

// A Rect is an upright rectangle of a piece's front as one sees it standing
// before it; X and Y are its lower left corner, from that of the whole front.
type Rect struct {
	X, Y          unit.Length
	Width, Height unit.Length
	Shows         string // one of the constants below
}

// What a Rect shows.
const (
	SeenOverall = "overall" // the whole front, its overhangs included
	SeenTop     = "top"
	SeenSide    = "side"
	SeenRail    = "rail"
	SeenUpright = "upright"
	SeenPlinth  = "plinth"
	SeenOpening = "opening" // what a drawer stands in, gaps and all
	SeenDrawer  = "drawer"  // the front of a drawer in its opening
)

// A fronted kind of piece has a front that can be drawn.
type fronted interface {
	front(*bench) []Rect
}

// Front returns the front elevation of a piece that can be built: first the
// overall size, then the case from the top and the left, its openings each with
// what it shows just after it. But for the openings' fillings no two of the rest
// overlap, and openings, rails and uprights fill the case but for what shares of
// a size leave over: less than a micrometre. It reports false for a kind without
// a front, and for a piece whose specification is at fault.
func (p *Piece) Front() ([]Rect, bool) {
	// What sheets are does not show in the front.
	b := &bench{units: p.Units, stocks: func(string) Stock { return Stock{} }}
	if b.units == "" {
		b.units = unit.InMillimetres
	}
	for _, k := range kinds {
		if f, ok := k.of(p).(fronted); ok && k.name == p.Kind {
			b.at = "#/" + k.name
			seen := f.front(b)
			return seen, len(b.faults) == 0
		}
	}
	return nil, false
}

func (c *Chest) front(b *bench) []Rect {
	k, ok := c.resolve(b)
	if !ok {
		return nil
	}
	left, high := k.sideOverhang, k.h-k.top
	seen := make([]Rect, 0, 8+8*len(c.Rows))
	seen = append(seen,
		Rect{0, 0, k.w, k.h, SeenOverall},
		Rect{0, high, k.w, k.top, SeenTop},
		Rect{left, 0, k.side, high, SeenSide},
		Rect{left + k.side + k.inside, 0, k.side, high, SeenSide},
		Rect{k.room.x, high - k.rail, k.inside, k.rail, SeenRail})
	seen = k.room.seen(seen)
	seen = append(seen, Rect{k.room.x, k.plinth, k.inside, k.rail, SeenRail})
	if k.plinth > 0 {
		seen = append(seen, Rect{k.room.x, 0, k.inside, k.plinth, SeenPlinth})
	}
	return seen
}

// seen appends what shows of s and what stands in it.
func (s *space) seen(to []Rect) []Rect {
	for i := range s.into {
		if i > 0 {
			to = append(to, between(&s.into[i-1], &s.into[i]))
		}
		to = s.into[i].seen(to)
	}
	if s.fill != nil {
		to = append(to, Rect{s.x, s.y, s.width, s.height, SeenOpening}, s.fill.seen(s))
	}
	return to
}

// between returns the divider of two neighbours: a rail between one and the next
// below, an upright between one and the next to its right.
func between(s, next *space) Rect {
	if s.x == next.x {
		top := next.y + next.height
		return Rect{s.x, top, s.width, s.y - top, SeenRail}
	}
	right := s.x + s.width
	return Rect{right, s.y, next.x - right, s.height, SeenUpright}
}

// seen returns the drawer's front: a lapped one stands on the rail under it with
// its clearance at the sides and its gap above; an applied one has its gap all
// round.
func (d *drawer) seen(s *space) Rect {
	if d.lapped {
		return Rect{s.x + d.sideClearance, s.y, s.width - 2*d.sideClearance, s.height - d.heightGap, SeenDrawer}
	}
	return Rect{s.x + d.frontGap, s.y + d.frontGap, s.width - 2*d.frontGap, s.height - 2*d.frontGap, SeenDrawer}
}
