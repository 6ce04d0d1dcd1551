package pricing

import (
	"slices"
	"strings"

	"reckoner/pricing/book"
	"reckoner/pricing/measure"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A use is a reason for using a supply that no rule gives: glue and coats.
type use struct {
	supply *book.Supply
	at     string // pointer of where the piece names it
	term   Term
}

// priceSupplies writes a line for each supply, by code: glue and coats first
// among its terms, then the rules.
func (j *job) priceSupplies() {
	uses := j.useCoats(j.useGlue(make([]use, 0, 8)))
	slices.SortStableFunc(uses, func(a, b use) int { return strings.Compare(a.supply.Code, b.supply.Code) })
	rules := j.Use()
	j.out.Supplies = make([]Line, 0, len(uses)+len(j.Data().Supplies)/2)
	for len(uses) > 0 || len(rules) > 0 {
		uses, rules = j.priceSupply(uses, rules)
	}
}

// priceSupply writes the line of the first supply by code and returns what is
// left of the uses and rules.
func (j *job) priceSupply(uses []use, rules []book.Applied) ([]use, []book.Applied) {
	code, at := "", ""
	if len(rules) > 0 {
		code = rules[0].Item
	}
	if len(uses) > 0 && (len(rules) == 0 || uses[0].supply.Code <= code) {
		code, at = uses[0].supply.Code, uses[0].at
	}
	from := len(j.lineTerms)
	for len(uses) > 0 && uses[0].supply.Code == code {
		j.lineTerms = append(j.lineTerms, term(uses[0].term, 6))
		uses = uses[1:]
	}
	for len(rules) > 0 && rules[0].Item == code {
		if j.applies(&rules[0]) {
			j.useRule(&rules[0])
		}
		rules = rules[1:]
	}
	if terms := j.since(from); len(terms) > 0 {
		if l, ok := j.supplyLine(j.Supply(code), at, terms); ok {
			j.out.Supplies = append(j.out.Supplies, l)
		}
	}
	return uses, rules
}

// useGlue takes the glue by the area of the joints, and what stays in the pot.
func (j *job) useGlue(uses []use) []use {
	s := j.Supply(j.piece.Glue)
	if s == nil || s.Glue == nil {
		return uses
	}
	const perKilo = 1000 * num.One // grams
	if q := j.tally.total(measure.JointArea); q > 0 {
		uses = append(uses, use{s, "/glue", Term{Measure: measure.JointArea.String(), Quantity: q, Each: s.Glue.Spread, Per: perKilo, Factor: unlessOne(s.Glue.Loss.Factor())}})
	}
	if q := j.tally.total(measure.GlueUp); q > 0 {
		uses = append(uses, use{s, "/glue", Term{Measure: measure.GlueUp.String(), Quantity: q, Each: s.Glue.PotLoss, Per: perKilo}})
	}
	return uses
}

// useCoats takes each product by the area of its coats and what its method
// leaves on the work.
func (j *job) useCoats(uses []use) []use {
	for _, m := range j.tally.of[measure.Coat] {
		zone, product, method := measure.CutShare(m.Share)
		s := j.Supply(product)
		uses = append(uses, use{s, "/finishes/" + zone, Term{
			Measure: measure.Coat.String(), Share: m.Share, Quantity: m.Quantity, Each: num.One,
			Per: unlessOne(s.Coating.Spread(j.Method(method))),
		}})
	}
	return uses
}

// useRule takes what a rule says, the total of the shares it chooses as one term.
func (j *job) useRule(r *book.Applied) {
	t := base(r)
	for _, m := range j.tally.of[r.Counts] {
		if r.Takes(m.Share) {
			t.Quantity = t.Quantity.Plus(m.Quantity)
		}
	}
	if t.Quantity == 0 {
		return
	}
	t.Setup = r.Setup
	j.lineTerms = append(j.lineTerms, term(t, 6))
}

// supplyLine prices one supply by what is used or by whole packs; at is where
// the piece names it.
func (j *job) supplyLine(s *book.Supply, at string, terms []Term) (Line, bool) {
	rate, _ := j.priced(s.Price, at, s.Code)
	l := Line{Code: s.Code, Description: s.Description, Unit: s.Unit, Rate: rate.Over(s.PackSize)}
	l.Terms = terms
	if s.Charged == book.Whole {
		l.Unit, l.Rate, l.Per, l.Whole = unit.Pack, rate, s.PackSize, true
	}
	return l, j.close(&l)
}

// unlessOne returns d as a term carries it: left out at 1.
func unlessOne(d num.Decimal) num.Decimal {
	if d == num.One {
		return 0
	}
	return d
}
