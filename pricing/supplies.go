package pricing

import (
	"slices"

	"reckoner/pricing/book"
	"reckoner/pricing/measure"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A usedItem is a supply and the reasons for using it.
type usedItem struct {
	supply *book.Supply
	at     string // where the piece names it, if it does
	terms  []Term
}

// priceSupplies writes a line for each supply: glue and coats first among its
// terms, then the rules.
func (j *job) priceSupplies() {
	j.used = make([]usedItem, 0, 32)
	j.useGlue()
	j.useCoats()
	rules := j.Use()
	for i := range rules {
		if r := &rules[i]; j.applies(r) {
			j.useRule(r)
		}
	}
	j.out.Supplies = make([]Line, 0, len(j.used))
	for _, u := range j.used {
		if l, ok := j.supplyLine(&u); ok {
			j.out.Supplies = append(j.out.Supplies, l)
		}
	}
	slices.SortFunc(j.out.Supplies, byLineCode)
}

// use adds a reason for using a supply.
func (j *job) use(code, at string, t Term) {
	i := slices.IndexFunc(j.used, func(u usedItem) bool { return u.supply.Code == code })
	if i < 0 {
		i = len(j.used)
		j.used = append(j.used, usedItem{supply: j.Supply(code), at: at})
	}
	j.used[i].terms = append(j.used[i].terms, term(t, 6))
}

// useGlue takes the glue by the area of the joints, and what stays in the pot.
func (j *job) useGlue() {
	s := j.Supply(j.piece.Glue)
	if s == nil {
		return
	}
	const perKilo = 1000 * num.One // grams
	if q := j.tally.total(measure.JointArea); q > 0 {
		j.use(s.Code, "/glue", Term{Measure: measure.JointArea.String(), Quantity: q, Each: s.Glue.Spread, Per: perKilo, Factor: unlessOne(s.Glue.Loss.Factor())})
	}
	if q := j.tally.total(measure.GlueUp); q > 0 {
		j.use(s.Code, "/glue", Term{Measure: measure.GlueUp.String(), Quantity: q, Each: s.Glue.PotLoss, Per: perKilo})
	}
}

// useCoats takes each product by the area of its coats and what its method
// leaves on the work.
func (j *job) useCoats() {
	for _, m := range j.tally.of[measure.Coat] {
		zone, c := j.coat(m.Share)
		spread := j.Supply(c.Product).Coating.Spread(j.Method(c.Method))
		j.use(c.Product, "/finishes/"+zone, Term{Measure: measure.Coat.String(), Share: m.Share, Quantity: m.Quantity, Each: num.One, Per: unlessOne(spread)})
	}
}

// coat returns the zone and the step of a finish that a share stands for.
func (j *job) coat(share string) (string, book.Coat) {
	for _, zone := range []string{inside, outside} {
		if f := j.finish(zone); f != nil {
			for _, c := range f.Coats {
				if len(share) > len(zone) && share[:len(zone)] == zone && share[len(zone)+1:] == c.Product+"/"+c.Method {
					return zone, c
				}
			}
		}
	}
	return "", book.Coat{}
}

// useRule takes what a rule says, the total of the shares it chooses as one term.
func (j *job) useRule(r *book.Applied) {
	t := base(r)
	for _, m := range j.tally.of[r.Counts] {
		if chooses(r, m.Share) {
			t.Quantity += m.Quantity
		}
	}
	if t.Quantity == 0 {
		return
	}
	t.Setup = r.Setup
	j.use(r.Item, "", t)
}

// supplyLine prices one supply by what is used or by whole packs.
func (j *job) supplyLine(u *usedItem) (Line, bool) {
	s := u.supply
	rate, _ := j.priced(s.Price, u.at, s.Code)
	l := Line{Code: s.Code, Description: s.Description, Unit: s.Unit, Rate: rate.Over(s.PackSize)}
	l.Terms = u.terms
	if s.Charged == book.Whole {
		l.Unit, l.Rate, l.Per, l.Whole = unit.Pack, rate, s.PackSize, true
	}
	return l, j.close(&l)
}

// unlessOne returns d as a term or line carries it: left out at 1.
func unlessOne(d num.Decimal) num.Decimal {
	if d == num.One {
		return 0
	}
	return d
}
