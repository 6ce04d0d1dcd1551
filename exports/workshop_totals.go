package exports

import (
	"strconv"
	"strings"

	"reckoner/pricing/num"
)

// totals writes the foot of the document: net, discount and tax of each rate,
// gross, and how it is paid. Prices says where that of each piece stands.
func (t *tab) totals(prices []string) {
	b, sums := t.bench, &t.bench.Costing.Totals
	t.together(160)
	low := t.front()
	t.section("Totals of the pieces in the total")
	t.heads("", "%", "Of", "Amount")
	net := t.sumRow(sum{words: "Net", formula: t.sum(b.places, b.taxed(prices, "")), amount: sums.Net})
	shares := t.shares(prices, net)
	discount := t.discount(shares)
	taxable := t.sumRow(sum{words: "Net after discount", formula: b.round(net + "-" + discount), amount: sums.Taxable, strong: true})
	gross := t.sumRow(sum{words: "Total", formula: t.sum(b.places, append(t.taxes(shares), taxable)), amount: sums.Gross, strong: true})
	t.paid(gross)
	if gap := low - t.used; gap > 0 && t.pages == 0 {
		t.space(gap)
	}
}

// taxed returns where the prices of the pieces in the total stand that bear a
// tax, or all for none.
func (b *bench) taxed(prices []string, tax string) []string {
	var cells []string
	for i := range prices {
		if o := &b.Costing.Pieces[i]; o.Included && (tax == "" || o.Tax == tax) {
			cells = append(cells, prices[i])
		}
	}
	return cells
}

// percentage returns the formula of the percentage that the next row is to have.
func (t *tab) percentage() string {
	row := strconv.Itoa(t.row + 1)
	return t.bench.round("C" + row + "*" + points("B"+row) + "/10000")
}

// shares writes what of the discount falls to each tax and returns the cells: the
// percentage of what bears it, or its share of the amount.
func (t *tab) shares(prices []string, net string) []string {
	b, terms, taxes := t.bench, &t.bench.Costing.Terms, t.bench.Costing.Totals.Tax
	first, end := t.row+1, t.row+1+len(taxes)
	var cells []string
	for k, x := range taxes {
		lines := b.bearing(x.Code)
		s := sum{
			words: "Discount on what bears " + x.Code, amount: lines.Minus(x.Basis),
			of: cell{value: float(lines), formula: t.sum(b.places, b.taxed(prices, x.Code))},
		}
		if terms.DiscountAmount == 0 {
			s.percent, s.formula = percentInput(terms.Discount, "discount"), t.percentage()
		} else {
			s.formula = t.at(3, end)
			if k < len(taxes)-1 {
				s.formula = shareOf(s.formula, "SUM("+t.at(2, first)+":"+t.at(2, first+k)+")", net, b.Costing.Currency)
			}
			s.formula = b.round(s.formula + t.less(3, first, k))
		}
		cells = append(cells, t.sumRow(s))
	}
	return cells
}

// less returns the end of a formula that takes off the n cells of a column from a
// row on.
func (t *tab) less(column, first, n int) string {
	if n == 0 {
		return ""
	}
	return "-SUM(" + t.at(column, first) + ":" + t.at(column, first+n-1) + ")"
}

// discount writes the discount and returns its cell: the sum of its shares, or the
// amount that they are shares of.
func (t *tab) discount(shares []string) string {
	s := sum{words: "Discount", amount: t.bench.Costing.Totals.Discount}
	if t.bench.Costing.Terms.DiscountAmount == 0 {
		s.formula = t.sum(t.bench.places, shares)
	} else {
		s.input = "discount_amount"
	}
	return t.sumRow(s)
}

// taxes writes each tax, on what bears it less its share of the discount, and
// returns the cells.
func (t *tab) taxes(shares []string) []string {
	var cells []string
	for i, x := range t.bench.Costing.Totals.Tax {
		of := strings.Replace(shares[i], "D", "C", 1)
		cells = append(cells, t.sumRow(sum{
			words: oneLine(x.Name) + ", " + x.Code, percent: percentInput(x.Percent, "tax "+x.Code),
			of: cell{value: float(x.Basis), formula: t.bench.round(of + "-" + shares[i])}, formula: t.percentage(), amount: x.Amount,
		}))
	}
	return cells
}

// paid writes how the total is paid: in payments, or by a deposit and a balance.
func (t *tab) paid(gross string) {
	b, sums := t.bench, &t.bench.Costing.Totals
	if len(sums.Payments) > 0 {
		t.payments(gross)
		return
	}
	deposit := t.sumRow(sum{
		words: "Deposit", percent: percentInput(b.Costing.Terms.Deposit, "deposit"), of: cell{value: float(sums.Gross), formula: gross},
		formula: t.percentage(), amount: sums.Deposit,
	})
	t.sumRow(sum{words: "Balance", formula: b.round(gross + "-" + deposit), amount: sums.Balance})
}

// payments writes what each payment comes to: the total up to it less those
// before. The last is what is left of the total, and of 100 percent.
func (t *tab) payments(gross string) {
	b, sums, first := t.bench, &t.bench.Costing.Totals, t.row+1
	for i := range sums.Payments {
		p := &sums.Payments[i]
		s := sum{
			words: oneLine(p.Title) + ", " + oneLine(p.Due), percent: percentInput(p.Percent, "payment "+strconv.Itoa(i+1)),
			of: cell{value: float(sums.Gross), formula: gross}, amount: p.Amount,
		}
		upTo := gross
		if i < len(sums.Payments)-1 {
			upTo = b.round(gross + "*" + points("SUM("+t.at(1, first)+":"+t.at(1, t.row+1)+")") + "/10000")
		} else {
			s.percent = cell{value: part(p.Percent)}
			if i > 0 {
				s.percent.formula = "ROUND(100" + t.less(1, first, i) + ",2)"
			}
		}
		s.formula = b.round(upTo + t.less(3, first, i))
		t.sumRow(s)
	}
}

// bearing adds up the prices of the pieces in the total that bear a tax.
func (b *bench) bearing(tax string) num.Money {
	lines := b.Costing.Currency.Zero()
	for i := range b.Costing.Pieces {
		if o := &b.Costing.Pieces[i]; o.Included && o.Tax == tax {
			lines = lines.Plus(o.Price)
		}
	}
	return lines
}

// percentInput returns the cell of a percentage that can be changed.
func percentInput(p num.Percent, name string) cell { return cell{value: part(p), input: name} }

// A sum is one figure of the totals: a percentage of something, a sum, or an
// amount to change.
type sum struct {
	words       string
	percent, of cell
	formula     string
	input       string // the amount's name
	amount      num.Money
	strong      bool
}

// sumRow writes one figure of the totals and returns its cell.
func (t *tab) sumRow(s sum) string {
	k := t.bench.looks()
	text, money := k.text, k.money
	if s.strong {
		text.bold, text.over, money = true, true, k.total
	}
	number := text
	number.right = true
	t.put(tight, cell{value: s.words, look: text}, s.percent.drawn(number), s.of.drawn(number.as(k.money.format)),
		cell{value: float(s.amount), formula: s.formula, input: s.input, look: money})
	return t.at(3, t.row)
}
