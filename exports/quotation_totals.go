package exports

import (
	"slices"
	"strconv"
	"strings"

	"reckoner/pricing/num"
)

// round returns the formula that rounds an expression to the smallest coin.
func (q *quotation) round(expression string) string {
	return "ROUND(" + expression + "," + q.places + ")"
}

// percentOf returns the formula of a percentage of an expression, in hundredths
// of a percent divided last.
func (q *quotation) percentOf(expression string, p num.Percent) string {
	return q.round(expression + "*" + strconv.FormatInt(int64(p), 10) + "/10000")
}

// sum returns the formula of the sum of the prices that bear one of the taxes, or
// of all for none; "0" when there are none.
func (q *quotation) sum(taxes ...string) string {
	var cells []string
	for _, i := range q.order {
		if len(taxes) == 0 || slices.Contains(taxes, q.Costing.Pieces[i].Tax) {
			cells = append(cells, q.at(priceColumn, q.prices[i]))
		}
	}
	if len(cells) == 0 {
		return "0"
	}
	return "SUM(" + strings.Join(cells, ",") + ")"
}

// total writes one figure under the prices and returns its cell.
func (q *quotation) total(label, formula string, m num.Money, l look) string {
	l.right = true
	text := l
	text.format, text.wraps = "", true
	if !l.bold {
		text.grey = true
	}
	if l.format == "" {
		l.format = moneyFormat(q.Costing.Currency, false)
	}
	q.put(l.size*lineHeight+5, cell{value: label, look: text, span: priceColumn}, cell{value: float(m), formula: formula, look: l})
	return q.at(priceColumn, q.row)
}

// totals writes the foot of the table: net, discount, taxes, total, and how it
// is paid.
func (q *quotation) totals() {
	const all, payment = 150, 17.5 // points; a deposit and a balance are among all
	t := &q.Costing.Totals
	q.together(all + payment*float64(max(0, len(t.Payments)-2)))
	q.space(6)
	q.net = q.total("Net", q.round(q.sum()), t.Net, looks.figure)
	sum := []string{q.net}
	if q.discounted() {
		q.discount()
		sum[0] = q.total("Net after discount", q.round(q.net+"-"+q.off), t.Taxable, looks.figure)
	}
	for k := range t.Tax {
		sum = append(sum, q.tax(k))
	}
	gross := q.total("Total", q.round("SUM("+strings.Join(sum, ",")+")"), t.Gross, looks.total)
	q.paid(gross)
}

// discounted reports whether there is a discount of either kind.
func (q *quotation) discounted() bool {
	return q.Costing.Terms.Discount > 0 || q.Costing.Terms.DiscountAmount > 0
}

// discount writes the discount: a percentage of each tax's prices, rounded for
// each, or an amount as typed.
func (q *quotation) discount() {
	t, off := &q.Costing.Totals, looks.figure
	off.format = moneyFormat(q.Costing.Currency, true)
	p := q.Costing.Terms.Discount
	if p == 0 {
		q.off = q.total("Discount", "", t.Discount, off)
		return
	}
	formula := "0"
	var parts []string
	for _, x := range t.Tax {
		parts = append(parts, q.percentOf(q.sum(x.Code), p))
	}
	if len(parts) > 0 {
		formula = q.round(strings.Join(parts, "+"))
	}
	q.off = q.total("Discount "+percent(p), formula, t.Discount, off)
}

// tax writes the k-th tax with what it is on, and returns the cell of its amount.
func (q *quotation) tax(k int) string {
	x := &q.Costing.Totals.Tax[k]
	label := look{size: 9.5, grey: true, right: true, wraps: true, upright: "center"}
	quiet := look{size: 9.5, grey: true, right: true, upright: "center", format: moneyFormat(q.Costing.Currency, false)}
	money := quiet
	money.grey = false
	q.put(9.5*lineHeight+5,
		cell{value: oneLine(x.Name) + " " + percent(x.Percent) + " on", look: label, span: unitColumn},
		cell{value: float(x.Basis), formula: q.round(q.sum(x.Code) + q.less(k)), look: quiet},
		cell{value: float(x.Amount), formula: q.percentOf(q.at(unitColumn, q.row+1), x.Percent), look: money})
	return q.at(priceColumn, q.row)
}

// less returns what the discount takes off the prices that bear the k-th tax, as
// the end of a formula.
func (q *quotation) less(k int) string {
	switch terms := &q.Costing.Terms; {
	case terms.Discount > 0:
		return "-" + q.percentOf(q.sum(q.Costing.Totals.Tax[k].Code), terms.Discount)
	case terms.DiscountAmount == 0:
		return ""
	case k == 0:
		return "-" + q.shared(1)
	}
	return "-" + q.shared(k+1) + "+" + q.shared(k)
}

// shared returns the formula of what of the discount's amount falls to the first n
// taxes together.
func (q *quotation) shared(n int) string {
	taxes := q.Costing.Totals.Tax
	if n == len(taxes) {
		return q.off
	}
	var codes []string
	for _, x := range taxes[:n] {
		codes = append(codes, x.Code)
	}
	return shareOf(q.off, q.sum(codes...), q.net, q.Costing.Currency)
}

// paid writes how the total, in that cell, is paid: in payments, or by a deposit
// and a balance.
func (q *quotation) paid(gross string) {
	t, terms := &q.Costing.Totals, &q.Costing.Terms
	if len(t.Payments) == 0 && terms.Deposit == 0 {
		q.total("Due when the work is finished", q.round(gross+"-0"), t.Balance, looks.figure)
		return
	}
	q.space(3)
	if len(t.Payments) > 0 {
		q.payments(gross)
		return
	}
	deposit := q.total("Deposit "+percent(terms.Deposit)+", due when you accept", q.percentOf(gross, terms.Deposit), t.Deposit, looks.figure)
	q.total("Balance, due when the work is finished", q.round(gross+"-"+deposit), t.Balance, looks.figure)
}

// payments writes a row for each payment: what is due up to it less those before,
// so that they add up to the total.
func (q *quotation) payments(gross string) {
	list := q.Costing.Totals.Payments
	var before []string
	var upTo num.Percent
	for i := range list {
		p := &list[i]
		upTo += p.Percent
		formula := q.percentOf(gross, upTo)
		if i == len(list)-1 {
			formula = gross
		}
		if i > 0 {
			formula += "-SUM(" + strings.Join(before, ",") + ")"
		}
		before = append(before, q.total(paymentWords(p), q.round(formula), p.Amount, looks.figure))
	}
}
