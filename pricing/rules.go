package pricing

import (
	"slices"
	"strings"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// applies reports whether a rule's conditions hold of the piece.
func (j *job) applies(r *book.Applied) bool {
	if len(j.tally.of[r.Counts]) == 0 {
		return false
	}
	for _, tag := range r.When {
		if !j.tagged(tag) {
			return false
		}
	}
	return r.With == "" || j.uses(r.With)
}

// tagged reports whether tag holds of the piece. A service has no tag but its
// kind, a list of parts none of drawers.
func (j *job) tagged(tag string) bool {
	key, value, _ := strings.Cut(tag, ":")
	switch key {
	case "kind":
		return value == j.piece.Kind
	case "construction":
		return value == j.made.Construction
	case "bottom":
		return value == j.made.Bottom
	}
	by := j.piece.Dovetails
	if by == "" {
		by = "hand"
	}
	return value == by && j.made.Visit == nil
}

// uses reports whether the piece as requested names an item: its timbers,
// sheets, glue, finishes and their products, its ironmongery.
func (j *job) uses(code string) bool {
	q := j.piece
	if q.Glue == code {
		return true
	}
	for i := range q.Ironmongery {
		if q.Ironmongery[i].Code == code {
			return true
		}
	}
	for _, chosen := range []map[string]string{q.Timbers, q.Sheets, q.Finishes} {
		for _, c := range chosen {
			if c == code {
				return true
			}
		}
	}
	for _, zone := range []string{outside, inside} {
		if f := j.finish(zone); f != nil && slices.ContainsFunc(f.Coats, func(c book.Coat) bool { return c.Product == code }) {
			return true
		}
	}
	return q.Parts != nil && j.listed(code)
}

// listed reports whether a free part or joint names a material by its code.
func (j *job) listed(code string) bool {
	for i := range j.piece.Parts.Parts {
		if j.piece.Parts.Parts[i].Material == code {
			return true
		}
	}
	for i := range j.piece.Parts.Joints {
		if j.piece.Parts.Joints[i].Material == code {
			return true
		}
	}
	return false
}

// base returns a rule's term without quantity, share, factor and set-up.
func base(r *book.Applied) Term {
	t := Term{Rule: r.Code, Measure: r.Measure, Each: r.Each, Started: r.Started}
	if r.Per != num.One {
		t.Per = r.Per
	}
	return t
}
