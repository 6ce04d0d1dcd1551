package pricing

import "reckoner/pricing/unit"

// Sentence is b as arithmetic a person can follow:
// "15 + 10 x 12 through_dovetail_corner + 5 x 64 through_tail = 455 min; / 60".
func (b *Basis) Sentence(u unit.Unit) string {
	var buf [512]byte
	s := buf[:0]
	for i := range b.Terms {
		if i > 0 {
			s = append(s, " + "...)
		}
		s = b.Terms[i].append(s)
	}
	plain := len(b.Terms) == 1 && b.Terms[0].plain()
	if plain {
		s = b.Needed.Append(s[:0])
	} else {
		s = append(s, " = "...)
		s = b.Needed.Append(s)
	}
	return string(b.appendQuantity(s, u, plain))
}

// appendQuantity writes how the quantity follows from what is needed.
func (b *Basis) appendQuantity(s []byte, u unit.Unit, plain bool) []byte {
	counted := u
	switch {
	case b.inMinutes():
		counted = unit.Min
	case b.Whole:
		counted = "" // packs of something
	}
	if counted != "" {
		s = append(append(s, ' '), counted...)
	}
	switch m := b.Terms[0].Measure; m {
	case ofTimber, ofSheet:
		s = append(s, " net + "...)
		s = append(b.Waste.Append(s), " %"...)
	case ofLayout:
		return append(s, ", by the layout of this piece alone"...)
	}
	if b.Per != 0 {
		s = b.Per.Append(append(s, "; / "...))
	}
	if b.Whole {
		s = append(s, ", up to a whole"...)
	}
	if plain && b.Per == 0 && b.Waste == 0 && b.Terms[0].Measure != ofTimber && b.Terms[0].Measure != ofSheet || b.inMinutes() {
		return s // the quantity stands there already, or beside it
	}
	s = b.quantity(u).Append(append(s, " = "...))
	return append(append(s, ' '), u...)
}

// plain reports whether t is nothing but its quantity.
func (t *Term) plain() bool {
	return t.Setup == 0 && or1(t.Each) == 1e6 && or1(t.Factor) == 1e6 && or1(t.Per) == 1e6
}

// append writes t: "15 + 10 x 12 through_tail x 1.05 / 4 started".
func (t *Term) append(s []byte) []byte {
	if t.Setup != 0 {
		s = append(t.Setup.Append(s), " + "...)
	}
	if !t.plain() || t.Setup != 0 {
		s = append(t.Each.Append(s), " x "...)
	}
	s = append(t.Quantity.Append(s), ' ')
	if t.Share != "" && (t.Measure == ofTimber || t.Measure == ofSheet) {
		s = append(s, t.Share...)
	} else {
		s = append(s, t.Measure...)
		if t.Share != "" {
			s = append(append(append(s, " ("...), t.Share...), ')')
		}
	}
	if t.Factor != 0 {
		s = t.Factor.Append(append(s, " x "...))
	}
	if t.Per != 0 {
		s = t.Per.Append(append(s, " / "...))
	}
	if t.Started {
		s = append(s, " started"...)
	}
	return s
}
