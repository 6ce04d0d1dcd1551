package pricing

import (
	"slices"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// A Sensitivity is what the pieces included would come to if one thing were ten
// percent dearer, and all else as it is.
type Sensitivity struct {
	Of          string    `json:"of"`            // timber, labour, hours, waste, overhead
	Code        string    `json:"code,omitzero"` // of the timber
	Description string    `json:"description"`
	Cost        num.Money `json:"cost"`
	Net         num.Money `json:"net"` // before discount and tax
	More        num.Money `json:"more"`
}

// dearer is what a tenth is added to.
const dearer = num.Percent(10_00)

// A variation is what is dearer while a request is priced for its sensitivity: the
// rates of one timber, those of labour, the hours of every stage, the percentages
// of waste, the overhead. Each raised figure is rounded once, to its own places.
type variation struct {
	timber                         string // its code
	labour, hours, waste, overhead bool
}

// timberRate returns the rate of a thickness of a timber.
func (v *variation) timberRate(t *book.Timber, r num.Rate) num.Rate {
	if v.timber == t.Code {
		return r.Raised(dearer)
	}
	return r
}

// labourRate returns the rate of a grade.
func (v *variation) labourRate(r num.Rate) num.Rate {
	if v.labour {
		return r.Raised(dearer)
	}
	return r
}

// stageHours returns the hours of a stage.
func (v *variation) stageHours(h num.Decimal) num.Decimal {
	if v.hours {
		return num.Product(2, num.One, h, dearer.Factor())
	}
	return h
}

// wasted returns a percentage of waste.
func (v *variation) wasted(p num.Percent) num.Percent {
	if v.waste {
		return p.Raised(dearer)
	}
	return p
}

// terms returns t with the overhead of the variation.
func (v *variation) terms(t book.Terms) book.Terms {
	switch o := t.Overhead; {
	case !v.overhead:
	case o.PerHour != nil:
		more := o.PerHour.Raised(dearer)
		t.Overhead.PerHour = &more
	default:
		more := o.Percent.Raised(dearer)
		t.Overhead.Percent = &more
	}
	return t
}

// Sensitive is Cost with the Sensitivity of what is included: of each timber by its
// code, then of labour, hours, waste and overhead. The error is as that of Cost.
func Sensitive(r Request, b *book.Book) (Costing, error) {
	var m Memory // what is dearer moves no part
	c, err := m.Cost(r, b)
	if err != nil {
		return c, err
	}
	rows := timbers(&c, b)
	rows = append(rows,
		varied{Sensitivity{Of: "labour", Description: "What an hour costs"}, variation{labour: true}},
		varied{Sensitivity{Of: "hours", Description: "How long the work takes"}, variation{hours: true}},
		varied{Sensitivity{Of: "waste", Description: "What is wasted of timber, and of sheets charged by area"}, variation{waste: true}},
		varied{Sensitivity{Of: "overhead", Description: "What the workshop costs beside the work"}, variation{overhead: true}})
	c.Sensitivity = make([]Sensitivity, len(rows))
	for i := range rows {
		again, err := (&pricer{Book: b, memory: &m, vary: rows[i].by}).cost(r)
		if err != nil {
			return Costing{}, err
		}
		s := rows[i].Sensitivity
		s.Cost, s.Net = again.Sum(StepCost), again.Totals.Net
		s.More = s.Net.Minus(c.Totals.Net)
		c.Sensitivity[i] = s
	}
	return c, nil
}

// A varied is a row and the variation that it is of.
type varied struct {
	Sensitivity
	by variation
}

// timbers returns a row for each timber that what is included is made of, by code.
func timbers(c *Costing, b *book.Book) (rows []varied) {
	var codes []string
	for i := range c.Pieces {
		for k := range c.Pieces[i].Timber {
			if t := b.TimberOf(c.Pieces[i].Timber[k].Code); c.Pieces[i].Included && !slices.Contains(codes, t.Code) {
				codes = append(codes, t.Code)
			}
		}
	}
	slices.Sort(codes)
	for _, code := range codes {
		rows = append(rows, varied{Sensitivity{Of: "timber", Code: code, Description: b.Timber(code).Description}, variation{timber: code}})
	}
	return rows
}
