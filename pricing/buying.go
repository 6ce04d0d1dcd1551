package pricing

import (
	"cmp"
	"slices"

	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A purchase is what is bought of one code for the whole request. What is needed
// is kept exactly, in steps of 1e-12.
type purchase struct {
	line BuyingLine
	rate num.Rate
	need num.Wide
}

const exact = int64(num.One) // steps of a purchase in one of a Decimal

// buying returns what to buy for the pieces included, by code; sheets charged whole as
// the plans say.
func buying(jobs []job, plans []SheetPlan) []BuyingLine {
	n := 0
	for i := range jobs {
		o := jobs[i].out
		n += len(o.Timber) + len(o.Sheets) + len(o.Ironmongery) + len(o.Supplies)
	}
	list := make([]purchase, 0, n)
	for i := range jobs {
		if j := &jobs[i]; j.out.Included {
			list = j.buy(list)
		}
	}
	for i := range plans {
		if at, found := place(list, plans[i].Code); found && list[at].line.Unit == unit.Each {
			list[at].need = num.Mul(int64(plans[i].Sheets), int64(num.One), exact)
		}
	}
	lines := make([]BuyingLine, len(list))
	for i, p := range list {
		lines[i] = p.settle(jobs[0].currency)
	}
	return lines
}

// buy adds what one piece line takes.
func (j *job) buy(list []purchase) []purchase {
	o := j.out
	for _, lines := range [][]Line{o.Timber, o.Ironmongery} {
		for i := range lines {
			l := &lines[i]
			list = add(list, BuyingLine{Code: l.Code, Description: l.Description, Unit: l.Unit}, l.Rate, num.Mul(int64(l.Quantity), exact))
		}
	}
	for i := range o.Sheets {
		l := &o.Sheets[i]
		need := num.Wide{} // of whole sheets, what all pieces take together
		if l.Unit == unit.M2 {
			need = num.Mul(int64(l.Quantity), exact)
		}
		list = add(list, BuyingLine{Code: l.Code, Description: l.Description, Unit: l.Unit}, l.Rate, need)
	}
	for i := range o.Supplies {
		l := &o.Supplies[i]
		s := j.Supply(l.Code)
		list = add(list, BuyingLine{Code: l.Code, Description: l.Description, Unit: s.Unit, PackSize: s.PackSize}, s.Price.Rate, num.Mul(int64(l.Needed), exact))
	}
	return list
}

// add adds to the purchase of a code; the list stays sorted.
func add(list []purchase, line BuyingLine, rate num.Rate, need num.Wide) []purchase {
	i, found := place(list, line.Code)
	if !found {
		list = slices.Insert(list, i, purchase{line: line, rate: rate})
	}
	list[i].need = list[i].need.Plus(need)
	return list
}

// place returns where the purchase of a code stands, or would.
func place(list []purchase, code string) (at int, found bool) {
	return slices.BinarySearchFunc(list, code, func(p purchase, code string) int { return cmp.Compare(p.line.Code, code) })
}

// settle works out the packs and the amount.
func (p purchase) settle(c num.Currency) BuyingLine {
	l := p.line
	l.Needed = num.Decimal(p.need.Over(exact))
	if l.PackSize == 0 {
		l.Amount = c.Amount(l.Needed, p.rate)
		return l
	}
	packs := upTo(l.Needed, l.PackSize)
	l.Packs = int(packs / num.One)
	l.Amount = c.Amount(packs, p.rate)
	return l
}
