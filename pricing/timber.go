package pricing

import (
	"cmp"
	"slices"
	"strings"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// A timberTerm is what one role takes of one sawn thickness.
type timberTerm struct {
	timber    *book.Timber
	thickness *book.Thickness
	waste     num.Percent
	role      string
	volume    num.Decimal
}

// priceTimber writes a line for each sawn thickness and waste, a term for each
// role that is cut from it.
func (j *job) priceTimber() {
	terms := j.timberTerms()
	j.out.Timber = make([]Line, 0, len(terms))
	for i := 0; i < len(terms); {
		t, from := terms[i], len(j.lineTerms)
		for ; i < len(terms) && terms[i].thickness == t.thickness && terms[i].waste == t.waste; i++ {
			j.lineTerms = append(j.lineTerms, term(Term{Measure: ofTimber, Share: terms[i].role, Quantity: terms[i].volume, Each: num.One}, 6))
		}
		l := Line{
			Code: t.thickness.Code, Description: t.timber.Sawn(t.thickness),
			Basis: Basis{Terms: j.since(from), Waste: t.waste}, Unit: t.thickness.Price.Unit, Rate: j.vary.timberRate(t.timber, t.thickness.Price.Rate),
		}
		if j.close(&l) {
			j.out.Timber = append(j.out.Timber, l)
		}
	}
}

// timberTerms adds up the cutting list by thickness, waste and role, in the order
// of the lines and their terms.
func (j *job) timberTerms() []timberTerm {
	terms := make([]timberTerm, 0, 8)
	for i := range j.cuts {
		c := &j.cuts[i]
		if c.thickness == nil {
			continue
		}
		waste := j.vary.wasted(j.waste(c.role, c.timber.Waste))
		at := slices.IndexFunc(terms, func(t timberTerm) bool {
			return t.thickness == c.thickness && t.role == c.role
		})
		if at < 0 {
			at = len(terms)
			terms = append(terms, timberTerm{timber: c.timber, thickness: c.thickness, waste: waste, role: c.role})
		}
		terms[at].volume = terms[at].volume.Plus(c.volume)
	}
	slices.SortFunc(terms, func(a, b timberTerm) int {
		return cmp.Or(strings.Compare(a.thickness.Code, b.thickness.Code), cmp.Compare(a.waste, b.waste), strings.Compare(a.role, b.role))
	})
	return terms
}
