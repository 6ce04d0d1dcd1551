package pricing

import (
	"fmt"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// Totals is the foot of the document (EN 16931 BR-CO-10 to 17).
type Totals struct {
	Net      num.Money    `json:"net"`
	Discount num.Money    `json:"discount"`
	Charges  num.Money    `json:"charges,omitzero"`
	Taxable  num.Money    `json:"taxable"`
	Tax      []TaxedBasis `json:"tax"`
	Gross    num.Money    `json:"gross"`
	Deposit  num.Money    `json:"deposit"`
	Balance  num.Money    `json:"balance"`
	Payments []PaymentDue `json:"payments,omitzero"` // the gross, where the terms have payments
}

// A PaymentDue is what one payment of the terms comes to.
type PaymentDue struct {
	book.Payment
	Amount num.Money `json:"amount"`
}

// A TaxedBasis is the tax at one rate.
type TaxedBasis struct {
	Code    string      `json:"code"`
	Name    string      `json:"name"`
	Percent num.Percent `json:"percent"`
	Basis   num.Money   `json:"basis"`
	Amount  num.Money   `json:"amount"`
}

// A Net is an amount before tax and the code of its tax.
type Net struct {
	Amount num.Money
	Tax    string
}

// A Document is what Total adds up; an allowance is written positive and taken
// off (a correction has every sign turned). Balance = gross - deposit - paid.
type Document struct {
	Lines, Allowances, Charges []Net
	Paid                       num.Money   // EN 16931 BT-113
	Discount                   num.Percent // of each tax rate's lines
	DiscountAmount             num.Money   // shared over the taxes by their lines
	Taxes                      []book.Tax
	Deposit                    num.Percent
	Payments                   []book.Payment // of the gross; they leave the balance as it is
}

// Total adds d up; the only place where tax is worked out. Every amount has the
// decimals of one currency. A line whose tax is not among d.Taxes is in the net
// and bears none.
func Total(d Document) Totals {
	var t Totals
	t.Tax = make([]TaxedBasis, 0, len(d.Taxes))
	for _, n := range d.Lines {
		t.Net = t.Net.Plus(n.Amount)
	}
	for _, a := range d.Allowances {
		t.Discount = t.Discount.Plus(a.Amount)
	}
	for _, c := range d.Charges {
		t.Charges = t.Charges.Plus(c.Amount)
	}
	shares := d.shares()
	t.Discount = t.Discount.Plus(d.DiscountAmount)
	for i, x := range d.Taxes {
		lines, n := sum(d.Lines, x.Code)
		off, a := sum(d.Allowances, x.Code)
		on, c := sum(d.Charges, x.Code)
		if n+a+c == 0 {
			continue
		}
		discount := lines.Percent(d.Discount)
		t.Discount = t.Discount.Plus(discount)
		basis := lines.Minus(discount).Minus(shares[i]).Minus(off).Plus(on)
		tax := TaxedBasis{Code: x.Code, Name: x.Name, Percent: x.Percent, Basis: basis, Amount: basis.Percent(x.Percent)}
		t.Tax = append(t.Tax, tax)
		t.Gross = t.Gross.Plus(tax.Amount)
	}
	t.Taxable = t.Net.Minus(t.Discount).Plus(t.Charges)
	t.Gross = t.Gross.Plus(t.Taxable)
	t.Deposit = t.Gross.Percent(d.Deposit)
	t.Balance = t.Gross.Minus(t.Deposit).Minus(d.Paid)
	t.Payments = due(t.Gross, d.Payments)
	return t
}

// shares returns what of the discount's amount falls to each tax: by the sum of its
// lines, so that the shares add up to the amount.
func (d *Document) shares() []num.Money {
	nets := make([]num.Money, len(d.Taxes))
	for i, x := range d.Taxes {
		nets[i], _ = sum(d.Lines, x.Code)
	}
	return d.DiscountAmount.Share(nets)
}

// due returns what each payment comes to, so that those of 100 percent add up to
// the gross: each is the rounded running total less the one before.
func due(gross num.Money, payments []book.Payment) []PaymentDue {
	var all []PaymentDue
	var percent num.Percent
	var before num.Money
	for _, p := range payments {
		percent += p.Percent
		upTo := gross.Percent(percent)
		all = append(all, PaymentDue{p, upTo.Minus(before)})
		before = upTo
	}
	return all
}

// sum returns the sum of the amounts with that tax and how many there are.
func sum(nets []Net, tax string) (total num.Money, n int) {
	for _, a := range nets {
		if a.Tax == tax {
			total = total.Plus(a.Amount)
			n++
		}
	}
	return total, n
}

// totals adds up the pieces that are included.
func (p *pricer) totals(r *Request, pieces []PricedPiece) Totals {
	var lines []Net
	for i := range pieces {
		if q := &pieces[i]; q.Included {
			lines = append(lines, Net{q.Price, q.Tax})
		}
	}
	t, err := total(&p.terms, p.currency, lines)
	if err != nil {
		at := "#/pieces"
		if r.Terms != nil && r.Terms.DiscountAmount != nil {
			at = "#/terms/discount_amount"
		}
		p.faults.Add(at, "%s: write less", err)
	}
	return t
}

// total adds up lines under the terms. The error says that the discount is more than
// there is.
func total(terms *book.Terms, currency num.Currency, lines []Net) (t Totals, err error) {
	zero := currency.Zero()
	d := Document{
		Lines: lines, Discount: terms.Discount, Taxes: terms.Taxes, Deposit: terms.Deposit, Payments: terms.Payments, Paid: zero,
	}
	if d.DiscountAmount, err = currency.Exact(terms.DiscountAmount); err != nil {
		return t, err
	}
	t = Total(d)
	for _, m := range []*num.Money{&t.Net, &t.Discount, &t.Taxable, &t.Gross, &t.Deposit, &t.Balance} {
		*m = m.Plus(zero) // with the currency's decimals even when nothing is included
	}
	if t.Taxable.IsNegative() {
		return t, fmt.Errorf("the discount of %s is more than the pieces come to, %s", d.DiscountAmount, t.Net)
	}
	return t, nil
}
