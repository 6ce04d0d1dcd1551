package pricing

import (
	"reckoner/pricing/measure"
	"reckoner/pricing/num"
)

// buildUp takes the piece line from its prime cost to its price; every step is
// rounded once.
func (j *job) buildUp() {
	o, t := j.out, &j.terms
	o.ID, o.Title, o.Quantity, o.Kind, o.Units = id(j.index, j.piece), j.piece.Title, j.quantity, j.piece.Kind, j.units
	o.Tax = j.piece.Tax
	if o.Tax == "" {
		o.Tax = t.Tax
	}
	o.Included = j.piece.AlternativeTo == "" && !j.piece.Optional
	o.Mass = num.Product(3, num.Whole(j.quantity), num.One, j.tally.total(measure.Mass))

	prime := j.prime()
	overhead := j.overhead(prime.Amount)
	contingency := percentStep("contingency", t.Contingency, "prime + overhead", prime.Amount.Plus(overhead.Amount))
	cost := prime.Amount.Plus(overhead.Amount).Plus(contingency.Amount)
	o.BuildUp = make([]Step, 0, 8)
	o.BuildUp = append(o.BuildUp, prime, overhead, contingency, Step{Name: StepCost, Amount: cost, Working: "prime + overhead + contingency"})
	asked := j.byTerms(cost)
	if a := j.piece.AgreedPrice; a != nil {
		j.agreed(cost, asked.one, *a)
		return
	}
	o.UnitPrice, o.Price = asked.one, asked.price
	o.BuildUp = append(o.BuildUp, asked.profit, asked.fees, asked.rounding, j.priceStep())
}

// prime is the sum of all lines.
func (j *job) prime() Step {
	o, sum := j.out, j.currency.Zero()
	for _, lines := range o.Headings() {
		for i := range lines {
			sum = sum.Plus(lines[i].Amount)
		}
	}
	return Step{Name: "prime", Amount: sum, Working: "timber + sheets + ironmongery + supplies + labour + bought-in"}
}

// overhead is money for each bench hour, or a percentage of prime cost.
func (j *job) overhead(prime num.Money) Step {
	o := j.terms.Overhead
	if o.Percent != nil {
		return percentStep("overhead", *o.Percent, "prime", prime)
	}
	h := j.out.BenchHours
	return Step{
		Name: "overhead", Hours: &h, Rate: o.PerHour, Amount: j.currency.Amount(h, *o.PerHour),
		Working: h.String() + " bench h x " + o.PerHour.String(),
	}
}

// percentStep is a percentage of a sum.
func percentStep(name string, p num.Percent, of string, sum num.Money) Step {
	return Step{Name: name, Percent: &p, Of: of, Amount: sum.Percent(p), Working: p.String() + " % of " + of + " " + sum.String()}
}

// An asking is what the terms ask for a cost.
type asking struct {
	profit, fees, rounding Step
	price, one             num.Money // of the line and of one piece
}

// byTerms takes a cost to the price that the terms ask.
func (j *job) byTerms(cost num.Money) asking {
	var a asking
	a.profit = j.profit(cost)
	before := cost.Plus(a.profit.Amount)
	f := j.terms.Fees
	a.fees = Step{Name: StepFees, Percent: &f, Of: "price", Amount: before.AtMargin(f).Minus(before), Working: before.String() + " / (1 - " + f.String() + " %) - " + before.String()}
	sum := before.Plus(a.fees.Amount)
	step := j.roundTo()
	coin, _ := j.currency.Exact(step)
	a.price, a.one = sum.UpTo(coin, j.quantity)
	a.rounding = Step{Name: "rounding", Rate: &step, Amount: a.price.Minus(sum), Working: sum.String() + " / " + num.Whole(j.quantity).String() + " up to a whole " + step.String()}
	return a
}

// roundTo returns what a unit price is rounded up to: the terms' sum, else the
// smallest coin.
func (j *job) roundTo() num.Rate {
	if r := j.terms.RoundTo; r != 0 {
		return r
	}
	coin := num.Rate(num.One / 100)
	for range j.currency.Places() {
		coin /= 10
	}
	return coin
}

// profit is by margin on the price, by mark-up on the cost, or none.
func (j *job) profit(cost num.Money) Step {
	switch p := j.terms.Profit; {
	case p.Margin != nil:
		m := *p.Margin
		return Step{Name: "profit", Percent: &m, Of: "price before fees", Amount: cost.AtMargin(m).Minus(cost), Working: cost.String() + " / (1 - " + m.String() + " %) - " + cost.String()}
	case p.Markup != nil:
		return percentStep("profit", *p.Markup, "cost", cost)
	}
	return Step{Name: "profit", Amount: j.currency.Zero(), Working: "none asked"}
}

// agreed takes the price as agreed: what it leaves over cost and fees is profit.
func (j *job) agreed(cost, asked num.Money, agreed num.Rate) {
	o := j.out
	o.UnitPrice, _ = j.currency.Exact(agreed)
	o.Price = o.UnitPrice.Times(j.quantity)
	fees := percentStep(StepFees, j.terms.Fees, "price", o.Price)
	profit := o.Price.Minus(cost).Minus(fees.Amount)
	o.BuildUp = append(o.BuildUp,
		Step{Name: "profit", Amount: profit, Working: "price - cost - fees"}, fees,
		Step{Name: "rounding", Amount: j.currency.Zero(), Working: "a price agreed is not rounded"}, j.priceStep())
	j.shortfall(asked, profit)
}

func (j *job) priceStep() Step {
	return Step{Name: "price", Amount: j.out.Price, Working: j.out.UnitPrice.String() + " x " + num.Whole(j.quantity).String()}
}
