package pricing

import (
	"cmp"
	"slices"
	"strings"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// A timberLine is what is bought of one sawn thickness with one waste.
type timberLine struct {
	timber    *book.Timber
	thickness *book.Thickness
	waste     num.Percent
	terms     []Term // a role each
}

// priceTimber writes a line for each sawn thickness and waste, a term for each
// role that is cut from it.
func (j *job) priceTimber() {
	j.timber = make([]timberLine, 0, 8)
	for i := range j.cuts {
		if c := &j.cuts[i]; c.thickness != nil {
			j.addTimber(c)
		}
	}
	slices.SortFunc(j.timber, func(a, b timberLine) int {
		return cmp.Or(strings.Compare(a.thickness.Code, b.thickness.Code), cmp.Compare(a.waste, b.waste))
	})
	j.out.Timber = make([]Line, 0, len(j.timber))
	for _, t := range j.timber {
		slices.SortFunc(t.terms, func(a, b Term) int { return strings.Compare(a.Share, b.Share) })
		for i := range t.terms {
			t.terms[i] = term(t.terms[i], 6)
		}
		l := Line{
			Code: t.thickness.Code, Description: t.timber.Description + ", " + t.thickness.Thickness.Millimetres().String() + " mm sawn",
			Basis: Basis{Terms: t.terms, Waste: t.waste}, Unit: t.thickness.Price.Unit, Rate: t.thickness.Price.Rate,
		}
		if j.close(&l) {
			j.out.Timber = append(j.out.Timber, l)
		}
	}
}

// addTimber adds the volume of one line of the cutting list.
func (j *job) addTimber(c *cut) {
	waste := j.waste(c.role, c.timber.Waste)
	i := slices.IndexFunc(j.timber, func(t timberLine) bool { return t.thickness == c.thickness && t.waste == waste })
	if i < 0 {
		i = len(j.timber)
		j.timber = append(j.timber, timberLine{timber: c.timber, thickness: c.thickness, waste: waste})
	}
	t := &j.timber[i]
	k := slices.IndexFunc(t.terms, func(t Term) bool { return t.Share == c.role })
	if k < 0 {
		k = len(t.terms)
		t.terms = append(t.terms, Term{Measure: ofTimber, Share: c.role, Each: num.One})
	}
	t.terms[k].Quantity += c.volume
}
