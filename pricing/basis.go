package pricing

import (
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Terms that no measure feeds.
const (
	ofTimber     = "timber"
	ofSheet      = "sheet"  // by area
	ofLayout     = "layout" // whole sheets
	ofExtraHours = "extra_hours"
	ofBoughtIn   = "bought_in"
)

const sixty = 60 * num.One // minutes in an hour

// term returns t with what it needs: minutes to two places, all else to six.
func term(t Term, places int) Term {
	t.Needed = t.needs(places)
	return t
}

// needs works out setup + each x factor x quantity / per, quantity / per up to a
// whole when started.
func (t *Term) needs(places int) num.Decimal {
	per, factor, quantity := or1(t.Per), or1(t.Factor), t.Quantity
	if t.Started {
		quantity, per = upTo(quantity, per), num.One
	}
	return t.Setup.Plus(num.Product(places, per, t.Each, factor, quantity)) // set-up has two decimals
}

// or1 returns d, or 1 where it was left out.
func or1(d num.Decimal) num.Decimal {
	if d == 0 {
		return num.One
	}
	return d
}

// upTo returns q / per up to a whole.
func upTo(q, per num.Decimal) num.Decimal { return num.Whole(int((q + per - 1) / per)) }

// Eval works the quantity of a line in u out again from its own figures: the law
// every line is tested by. It returns 0 when a term does not give what it says it
// needs, or the terms do not add up.
func (b *Basis) Eval(u unit.Unit) num.Decimal {
	sum := num.Decimal(0)
	for i := range b.Terms {
		if b.Terms[i].needs(b.places()) != b.Terms[i].Needed {
			return 0
		}
		sum = sum.Plus(b.Terms[i].Needed)
	}
	if sum != b.Needed {
		return 0
	}
	return b.quantity(u)
}

// inMinutes reports whether b makes hours of minutes; a pack of sixty does not.
func (b *Basis) inMinutes() bool { return b.Per == sixty && !b.Whole }

// places returns the places of the terms: two for minutes.
func (b *Basis) places() int {
	if b.inMinutes() {
		return 2
	}
	return 6
}

// quantity returns needed x (1 + waste) / per in the places of u, up to a whole
// when Whole.
func (b *Basis) quantity(u unit.Unit) num.Decimal {
	per := or1(b.Per)
	if b.Whole {
		return wholes(b.Needed, b.Waste, per)
	}
	places := u.Places()
	if len(b.Terms) > 0 && b.Terms[0].Measure == ofBoughtIn {
		places = 3
	}
	return num.Product(places, per, b.Needed, b.Waste.Factor())
}

// wholes returns needed x (1 + waste) / per up to a whole, exactly.
func wholes(needed num.Decimal, waste num.Percent, per num.Decimal) num.Decimal {
	wide := num.Mul(int64(needed), int64(waste.Factor()))
	n := num.Product(0, per, needed, waste.Factor()) // the nearest whole
	if num.Mul(int64(n), int64(per)).Compare(wide) < 0 {
		n += num.One
	}
	return n
}

// close works out needed, quantity, amount and working of a line whose terms,
// unit and rate are set; it reports false for a line that comes to nothing.
func (p *pricer) close(l *Line) bool {
	for i := range l.Terms {
		l.Needed = l.Needed.Plus(l.Terms[i].Needed)
	}
	l.Quantity = l.quantity(l.Unit)
	if l.inMinutes() {
		l.Quantity = p.vary.stageHours(l.Quantity)
	}
	if l.Quantity == 0 {
		return false
	}
	l.Amount = p.currency.Amount(l.Quantity, l.Rate)
	l.Working = l.Sentence(l.Unit)
	return true
}
