package exports

import (
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// pieces writes the pieces that are in the totals, each a row with its price and
// what it is below.
func (q *quotation) pieces() {
	q.tableHead()
	q.header = q.row
	for i := range q.Costing.Pieces {
		if q.Costing.Pieces[i].Included {
			q.prices[i] = q.piece(i)
			q.order = append(q.order, i)
		}
	}
}

// tableHead writes the head of a table of pieces.
func (q *quotation) tableHead() {
	l, r := look{size: 8, grey: true, under: true}, look{size: 8, grey: true, under: true, right: true}
	q.put(16, cell{value: "Description", look: l}, cell{value: "Quantity", look: r}, cell{value: "Unit price", look: r}, cell{value: "Price", look: r})
}

// piece writes the i-th piece and returns the row of its price.
func (q *quotation) piece(i int) int {
	o := &q.Costing.Pieces[i]
	title := oneLine(o.Title)
	described := q.describe(i)
	if q.mixedTax() {
		if x, ok := q.Costing.Terms.FindTax(o.Tax); ok {
			described = append(described, oneLine(x.Name)+" at "+percent(x.Percent)+".")
		}
	}
	text, number := looks.strong, look{size: 9.5, right: true}
	text.wraps = true
	front, drawn := q.shown(i)
	room, span := 0.0, unitColumn
	if drawn {
		room, span = inPoints(front.high)+3, quantityColumn
	}
	q.together(60 + room)
	q.space(6)
	money := number
	money.format = moneyFormat(q.Costing.Currency, false)
	row := q.row + 1
	q.put(0,
		cell{value: title, look: text},
		cell{value: o.Quantity, look: number},
		cell{value: float(o.UnitPrice), look: money},
		cell{value: float(o.Price), look: money, formula: q.round(q.at(quantityColumn, row) + "*" + q.at(unitColumn, row))})
	q.space(1)
	from, page, down := q.row+1, q.pages, q.used
	for _, line := range described {
		q.paragraphs(line, looks.aside, span)
	}
	if drawn {
		q.beside(&front, from)
		if left := room - (q.used - down); q.pages == page && left > 0 {
			q.space(left)
		}
	}
	q.rule()
	return row
}

// mixedTax reports whether the pieces bear more than one tax.
func (q *quotation) mixedTax() bool {
	for i := range q.Costing.Pieces {
		if q.Costing.Pieces[i].Tax != q.Costing.Pieces[0].Tax {
			return true
		}
	}
	return false
}

// round returns the formula that rounds an expression to the smallest coin.
func (q *quotation) round(expression string) string {
	return "ROUND(" + expression + "," + q.places + ")"
}

// percentOf returns the formula of a percentage of an expression, in hundredths
// of a percent divided last.
func (q *quotation) percentOf(expression string, p num.Percent) string {
	return q.round(expression + "*" + strconv.FormatInt(int64(p), 10) + "/10000")
}

// sum returns the formula of the sum of the prices that bear a tax, or of all
// for none; "0" when there are none.
func (q *quotation) sum(tax string) string {
	var cells []string
	for _, i := range q.order {
		if tax == "" || q.Costing.Pieces[i].Tax == tax {
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
	t, terms := &q.Costing.Totals, &q.Costing.Terms
	q.together(150)
	q.space(6)
	plain := look{size: 9.5, upright: "center"}
	net := q.total("Net", q.round(q.sum("")), t.Net, plain)
	taxable := net
	if terms.Discount > 0 {
		off := plain
		off.format = moneyFormat(q.Costing.Currency, true)
		discount := q.total("Discount "+percent(terms.Discount), q.discount(terms.Discount, t.Tax), t.Discount, off)
		taxable = q.total("Net after discount", q.round(net+"-"+discount), t.Taxable, plain)
	}
	sum := []string{taxable}
	for _, x := range t.Tax {
		sum = append(sum, q.tax(x, terms))
	}
	gross := q.total("Total", q.round("SUM("+strings.Join(sum, ",")+")"), t.Gross, looks.total)
	if terms.Deposit == 0 {
		q.total("Due when the work is finished", q.round(gross+"-0"), t.Balance, plain)
		return
	}
	q.space(3)
	deposit := q.total("Deposit "+percent(terms.Deposit)+", due when you accept", q.percentOf(gross, terms.Deposit), t.Deposit, plain)
	q.total("Balance, due when the work is finished", q.round(gross+"-"+deposit), t.Balance, plain)
}

// discount returns the formula of the discount: of each tax's prices, rounded
// for each.
func (q *quotation) discount(p num.Percent, taxes []pricing.TaxedBasis) string {
	var parts []string
	for _, x := range taxes {
		parts = append(parts, q.percentOf(q.sum(x.Code), p))
	}
	if len(parts) == 0 {
		return "0"
	}
	return q.round(strings.Join(parts, "+"))
}

// tax writes one tax with what it is on, and returns the cell of its amount.
func (q *quotation) tax(x pricing.TaxedBasis, terms *book.Terms) string {
	basis := q.sum(x.Code)
	if terms.Discount > 0 {
		basis += "-" + q.percentOf(basis, terms.Discount)
	}
	label := look{size: 9.5, grey: true, right: true, wraps: true, upright: "center"}
	quiet := look{size: 9.5, grey: true, right: true, upright: "center", format: moneyFormat(q.Costing.Currency, false)}
	money := quiet
	money.grey = false
	q.put(9.5*lineHeight+5,
		cell{value: oneLine(x.Name) + " " + percent(x.Percent) + " on", look: label, span: unitColumn},
		cell{value: float(x.Basis), formula: q.round(basis), look: quiet},
		cell{value: float(x.Amount), formula: q.percentOf(q.at(unitColumn, q.row+1), x.Percent), look: money})
	return q.at(priceColumn, q.row)
}

// apart is what is said above prices that are in no total.
func (q *quotation) apart() string {
	if q.Costing.Terms.Discount > 0 {
		return "Not in the total above. Prices before discount and tax."
	}
	return "Not in the total above. Prices before tax."
}

// alternatives writes each piece that could stand in the place of another, under
// the name of that one.
func (q *quotation) alternatives() {
	for k := range q.Costing.Pieces {
		first := true
		for i := range q.Request.Pieces {
			if q.Request.Pieces[i].AlternativeTo != q.Costing.Pieces[k].ID {
				continue
			}
			if first {
				q.section("Instead of "+oneLine(q.Costing.Pieces[k].Title), q.apart())
				q.tableHead()
			}
			first = false
			q.piece(i)
		}
	}
}

// extras writes the pieces that could be added.
func (q *quotation) extras() {
	first := true
	for i := range q.Request.Pieces {
		if !q.Request.Pieces[i].Optional {
			continue
		}
		if first {
			q.section("Could be added", q.apart())
			q.tableHead()
		}
		first = false
		q.piece(i)
	}
}
