package exports

import (
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/measure"
)

// supplies writes the supplies of every piece, their packs first.
func (b *bench) supplies() {
	t := b.open(suppliesName, b.lineWidths(), b.lineHeads("Loss or transfer %")...)
	t.cautions(-1, atTheGluePot)
	t.packs()
	for i := range b.pieces {
		o := &b.Costing.Pieces[i]
		if len(o.Supplies) == 0 {
			continue
		}
		t.title(i)
		t.heading(i, suppliesHeading, o.Supplies, func(l *pricing.Line) source { return t.supply(i, l) })
	}
	t.close()
}

// packs writes what a pack of each supply used costs and holds, and what the
// glues and coatings among them take.
func (t *tab) packs() {
	b, first := t.bench, true
	supplies := func(o *pricing.PricedPiece) []pricing.Line { return o.Supplies }
	b.each(supplies, func(l *pricing.Line) {
		if first {
			t.section("What a pack costs; what it holds stands under per")
			first = false
		}
		s := b.Book.Supply(l.Code)
		t.priceRow(price{Line: l, size: s.PackSize, unit: s.Unit, rate: s.Price.Rate, input: "pack " + l.Code})
		b.inputs["size "+l.Code] = t.there(perColumn, t.row)
		if s.Glue != nil && b.glued(l.Code) {
			t.inputRow("spread, g to a square metre of joint", eachColumn, cell{value: decimal(s.Glue.Spread), input: "spread " + l.Code})
			t.inputRow("lost in spreading, %", wasteColumn, cell{value: part(s.Glue.Loss), input: "loss " + l.Code})
			t.inputRow("left in the pot, g a glue-up", eachColumn, cell{value: decimal(s.Glue.PotLoss), input: "pot_loss " + l.Code})
		}
		if s.Coating != nil && b.coated(func(product, _ string) bool { return product == l.Code }) {
			t.inputRow("covers, m2 to a litre", perColumn, cell{value: decimal(s.Coating.PerLitre()), input: "coverage " + l.Code})
		}
	})
	methods := b.Book.Data().Methods
	for k := range methods {
		m := &methods[k]
		if b.coated(func(_, method string) bool { return method == m.Code }) {
			t.inputRow("stays on the work, laid by "+m.Code+", %", wasteColumn, cell{value: part(m.Transfer), input: "transfer " + m.Code})
		}
	}
}

// glued reports whether a piece is glued with a supply.
func (b *bench) glued(code string) bool {
	for i := range b.Request.Pieces {
		if b.Request.Pieces[i].Glue == code {
			return true
		}
	}
	return false
}

// coated reports whether any coat is of a product and method that is asked for.
func (b *bench) coated(asked func(product, method string) bool) bool {
	for i := range b.pieces {
		for _, c := range b.pieces[i].measures[measure.Coat.String()] {
			if _, product, method := measure.CutShare(c.Share); asked(product, method) {
				return true
			}
		}
	}
	return false
}

// supply returns where the figures of a line of supplies come from.
func (t *tab) supply(i int, l *pricing.Line) source {
	b := t.bench
	pack, size := t.here(b.inputs["pack "+l.Code]), t.here(b.inputs["size "+l.Code])
	s := lineOf(l)
	s.rate.formula = "ROUND(" + pack + "/" + size + ",4)"
	if l.Whole {
		s.rate.formula, s.per.formula = pack, size
	}
	s.terms = make([]termSource, len(l.Terms))
	for k := range l.Terms {
		s.terms[k] = t.use(i, l.Code, &l.Terms[k])
	}
	b.buy(i, l.Code, t.there(neededColumn, t.row+1), b.inputs["pack "+l.Code])
	return s
}

// use returns where the figures of a term of a supply come from: a rule's, a
// glue's or a coat's.
func (t *tab) use(i int, code string, m *pricing.Term) termSource {
	in := func(key string) string { return t.here(t.bench.inputs[key]) }
	s := termOf(m)
	s.code, s.words, s.counted = m.Measure, words(m), t.counts(i, m)
	switch {
	case m.Rule != "":
		s.code = m.Rule
		t.ruled(&s, m, true)
	case m.Measure == measure.JointArea.String():
		s.each.formula = in("spread " + code)
		s.factor.formula = "(10000+" + points(in("loss "+code)) + ")/10000"
	case m.Measure == measure.GlueUp.String():
		s.each.formula = in("pot_loss " + code)
	case m.Measure == measure.Coat.String():
		_, _, method := measure.CutShare(m.Share)
		s.per.formula = "ROUND(" + in("coverage "+code) + "*" + points(in("transfer "+method)) + "/10000,6)"
	}
	return s
}

// ruled makes the minutes or the use of a rule inputs; the set-up stands with the
// first of its terms.
func (t *tab) ruled(s *termSource, m *pricing.Term, first bool) {
	s.each.input = "each " + m.Rule
	if first {
		s.setup = cell{value: decimal(m.Setup), input: "setup " + m.Rule}
	}
}

// takes reports whether a rule takes that share of its measure; what no rule is
// at work on is taken whole.
func (b *bench) takes(rule, share string) bool {
	at, ok := b.rules[rule]
	if !ok {
		return true
	}
	r := &b.Book.Data().Rules[at]
	id, _ := measure.Find(r.Measure)
	return book.Applied{Rule: r, Counts: id}.Takes(share)
}

// meaning returns what a measure counts, in words.
func meaning(name string) string {
	if id, ok := measure.Find(name); ok {
		return measure.All[id].Meaning
	}
	return ""
}

// byRole reports whether a measure is kept by role.
func byRole(name string) bool {
	id, ok := measure.Find(name)
	return ok && measure.All[id].Shares == measure.ByRole
}
