package pricing

import (
	"slices"
	"strings"

	"reckoner/pricing/measure"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A tally adds up the measures of one piece line exactly, kept apart by share,
// and rounds each share once at the end. Lengths are counted in nanometres, areas
// in square nanometres, masses in 1e-12 kg, all else in the steps of a Decimal
// or, for things counted, in ones.
type tally struct {
	entries []entry
	head    [measure.Count]int        // place of a measure's first entry, from 1
	of      [measure.Count][]Measured // after round
}

// An entry is one share's running sum; next is the place of the measure's next.
type entry struct {
	share string
	sum   num.Wide
	next  int
}

func (t *tally) init() { t.entries = make([]entry, 0, 64) }

// add adds to a share of a measure, in the steps said above.
func (t *tally) add(id measure.ID, share string, sum num.Wide) {
	if sum.IsZero() {
		return
	}
	at := &t.head[id]
	for *at != 0 {
		e := &t.entries[*at-1]
		if e.share == share {
			e.sum = e.sum.Plus(sum)
			return
		}
		at = &e.next
	}
	*at = len(t.entries) + 1
	t.entries = append(t.entries, entry{share: share, sum: sum})
}

// count adds n things.
func (t *tally) count(id measure.ID, share string, n int) { t.add(id, share, num.Mul(int64(n))) }

// decimal adds n times d.
func (t *tally) decimal(id measure.ID, d num.Decimal, n int) {
	t.add(id, "", num.Mul(int64(d), int64(n)))
}

// round returns every share that is not zero, in the order in which measures are
// printed, shares by text.
func (t *tally) round() []Measured {
	out := make([]Measured, 0, len(t.entries))
	for id := range measure.Count {
		from, u := len(out), id.Unit()
		for at := t.head[id]; at != 0; at = t.entries[at-1].next {
			e := &t.entries[at-1]
			if q := rounded(e.sum, u); q != 0 {
				out = append(out, Measured{Name: id.String(), Share: e.share, Unit: u, Quantity: q})
			}
		}
		t.of[id] = out[from:len(out):len(out)]
		slices.SortFunc(t.of[id], func(a, b Measured) int { return strings.Compare(a.Share, b.Share) })
	}
	return out
}

// total returns a measure over all its shares.
func (t *tally) total(id measure.ID) num.Decimal {
	sum := num.Decimal(0)
	for _, m := range t.of[id] {
		sum = sum.Plus(m.Quantity)
	}
	return sum
}

// rounded returns a sum as a quantity in u, to the places of a measure.
func rounded(sum num.Wide, u unit.Unit) num.Decimal {
	step := int64(num.One)
	switch u {
	case unit.Each:
		step = 1
	case unit.M:
		step = int64(unit.Metre)
	case unit.M2:
		step = int64(unit.Metre) * int64(unit.Metre)
	case unit.Kg:
		step = int64(num.One) * int64(num.One)
	}
	return sum.Decimal(u.Places(), step)
}
