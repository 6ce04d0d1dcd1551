package exports

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

// Heights in points of a table's head, and of what a piece begins with.
const (
	headHeight = 16.0
	beginning  = 60.0
)

// tableHead writes the head of a table of pieces.
func (q *quotation) tableHead() {
	l, r := look{size: 8, grey: true, under: true}, look{size: 8, grey: true, under: true, right: true}
	q.put(headHeight, cell{value: "Description", look: l}, cell{value: "Quantity", look: r}, cell{value: "Unit price", look: r}, cell{value: "Price", look: r})
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
	room, span := q.room(i), unitColumn
	if drawn {
		span = quantityColumn
	}
	q.together(beginning + room)
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

// room returns the height in points that the picture of the i-th piece takes.
func (q *quotation) room(i int) float64 {
	if front, drawn := q.shown(i); drawn {
		return inPoints(front.high) + 3
	}
	return 0
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

// apart is what is said above prices that are in no total.
func (q *quotation) apart() string {
	if q.discounted() {
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
