package exports

import (
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Columns of the sheets of lines. A term stands under its line and shares the
// columns of the code, the words, per, whole and needed with it.
const (
	codeColumn = iota
	wordsColumn
	countedColumn
	setupColumn
	eachColumn
	factorColumn
	perColumn
	wholeColumn
	neededColumn
	wasteColumn
	soldColumn // the quantity of a line
	unitOfColumn
	rateColumn
	amountColumn
	lineColumns
)

// tight is the height in points of a row that holds one line of text.
const tight = 12

// lineLooks are those of the sheets of lines.
type lineLooks struct{ text, of, number, money, rate, term, termNumber, head, total look }

func (b *bench) looks() lineLooks {
	const size = 8.5
	l := lineLooks{
		text:       look{size: size, wraps: true},
		number:     look{size: size, right: true},
		term:       look{size: size - 0.5, grey: true, wraps: true, indent: 1},
		termNumber: look{size: size - 0.5, grey: true, right: true},
		head:       look{size: 8, grey: true, under: true, wraps: true, upright: "bottom"},
	}
	l.of = l.text
	l.of.indent = 1
	l.money, l.rate = l.number, l.number
	l.money.format = moneyFormat(b.Costing.Currency, false)
	l.rate.format = rateFormat(b.Costing.Currency)
	l.total = l.money
	l.total.bold, l.total.over = true, true
	return l
}

// rateFormat returns the number format of a rate: two to four decimals.
func rateFormat(c num.Currency) string { return `"` + symbol(c) + `"#,##0.00##` }

// fixed returns the number format with that many decimals.
func fixed(places int) string {
	if places == 0 {
		return "#,##0"
	}
	return "#,##0." + strings.Repeat("0", places)
}

// as returns l with a number format.
func (l look) as(format string) look {
	l.format = format
	return l
}

// lineHeads returns the heads of the columns of lines; lost is what is called
// waste elsewhere.
func (b *bench) lineHeads(lost string) []cell {
	words := [lineColumns]string{
		"Code, rule or measure", "What it is, or what it counts", "Counted", "Set-up", "Each", "Factor", "Per", "Up to a whole",
		"Needed", lost, "Quantity", "Unit", "Rate", "Amount",
	}
	l := b.looks().head
	cells := make([]cell, lineColumns)
	for i, w := range words {
		cells[i] = cell{value: w, look: l}
		if i > wordsColumn && i != unitOfColumn {
			cells[i].look.right = true
		}
		if i == unitOfColumn {
			cells[i].look.indent = 1
		}
	}
	return cells
}

// lineWidths returns the widths in points of the columns of lines, wide enough
// for the longest figures.
func (b *bench) lineWidths() []float64 {
	wide := []float64{128, 196, 48, 44, 44, 44, 44, 44, 58, 44, 54, 38, 64, 64}
	longest := [lineColumns]string{amountColumn: "-" + symbol(b.Costing.Currency)}
	amount := b.Costing.Totals.Gross.String()
	for i := range b.Costing.Pieces {
		o := &b.Costing.Pieces[i]
		for _, m := range []num.Money{o.Price, o.UnitPrice} {
			amount = longer(amount, m.String())
		}
		for _, lines := range o.Headings() {
			for k := range lines {
				l := &lines[k]
				longest[neededColumn] = longer(longest[neededColumn], l.Needed.Round(6).String())
				longest[soldColumn] = longer(longest[soldColumn], l.Quantity.String())
				longest[rateColumn] = longer(longest[rateColumn], symbol(b.Costing.Currency)+grouped(l.Rate.String()))
				amount = longer(amount, l.Amount.String())
				for j := range l.Terms {
					longest[countedColumn] = longer(longest[countedColumn], l.Terms[j].Quantity.String())
				}
			}
		}
	}
	longest[amountColumn] += grouped(amount)
	for i, s := range longest { // of numbers, grouped as they are shown
		wide[i] = max(wide[i], roomFor(grouped(s), 8.5))
	}
	return wide
}

// longer returns the longer text.
func longer(a, b string) string {
	if len(b) > len(a) {
		return b
	}
	return a
}

// roomFor returns the width in points of a column that shows a bold figure.
func roomFor(s string, size float64) float64 {
	return float64(measured(s, advance))*size/1000*1.15 + 9
}

// A source says where the figures of a line come from.
type source struct {
	words            string
	per, waste, rate cell
	terms            []termSource
	places           int // of the terms
	quantity         int // places of the line's quantity
}

// A termSource says where the figures of a term come from.
type termSource struct {
	code, words                             string
	counted, setup, each, factor, per, rate cell
}

// termOf returns a term with its figures as values.
func termOf(m *pricing.Term) termSource {
	return termSource{
		counted: cell{value: decimal(m.Quantity)}, setup: setupOf(m), each: cell{value: decimal(m.Each)},
		factor: cell{value: decimal(one(m.Factor))}, per: cell{value: decimal(one(m.Per))},
	}
}

// setupOf returns a set-up, or an empty cell for none.
func setupOf(m *pricing.Term) cell {
	if m.Setup == 0 {
		return cell{}
	}
	return cell{value: decimal(m.Setup)}
}

// one returns d, or 1 where it is left out.
func one(d num.Decimal) num.Decimal {
	if d == 0 {
		return num.One
	}
	return d
}

// lineOf returns a line with its figures as values.
func lineOf(l *pricing.Line) source {
	return source{
		words: oneLine(l.Description), per: cell{value: decimal(one(l.Per))}, rate: cell{value: rate(l.Rate)},
		places: 6, quantity: l.Unit.Places(),
	}
}

// line writes a line and its terms below it.
func (t *tab) line(l *pricing.Line, s source) {
	k, row := t.bench.looks(), strconv.Itoa(t.row+1)
	t.together(40)
	first, last := strconv.Itoa(t.row+2), strconv.Itoa(t.row+1+len(l.Terms))
	needed := k.number.as("#,##0.000###")
	if s.places == 2 {
		needed.format = fixed(2)
	}
	if l.Unit == unit.Each && !l.Whole || l.Unit == unit.Km {
		needed.format = ""
	}
	quantity := k.number.as(fixed(s.quantity))
	if !l.Unit.Known() {
		quantity.format = ""
	}
	cells := [lineColumns]cell{
		codeColumn:   {value: l.Code, look: k.text},
		wordsColumn:  {value: s.words, look: k.text},
		perColumn:    s.per.drawn(k.number),
		wholeColumn:  whole(l.Whole, k.number),
		neededColumn: {value: decimal(l.Needed), look: needed, formula: "ROUND(SUM(I" + first + ":I" + last + "),6)"},
		wasteColumn:  s.waste.drawn(k.number),
		soldColumn:   {value: decimal(l.Quantity), look: quantity, formula: quantityFormula(row, s.quantity)},
		unitOfColumn: {value: oneLine(string(l.Unit)), look: k.of},
		rateColumn:   s.rate.drawn(k.rate),
		amountColumn: {value: float(l.Amount), look: k.money, formula: "ROUND(K" + row + "*M" + row + "," + t.bench.places + ")"},
	}
	t.put(tight, cells[:]...)
	for i := range l.Terms {
		t.term(&l.Terms[i], &s.terms[i], s.places)
	}
}

// quantityFormula returns how a line's quantity follows from what is needed.
func quantityFormula(row string, places int) string {
	bp := "(10000+" + points("J"+row) + ")"
	return "IF(H" + row + ",ROUNDUP(ROUND(I" + row + "*1000000,0)*" + bp + "/(ROUND(G" + row + "*1000000,0)*10000),0)," +
		"ROUND(I" + row + "*" + bp + "/10000/G" + row + "," + strconv.Itoa(places) + "))"
}

// term writes a term under its line.
func (t *tab) term(m *pricing.Term, s *termSource, places int) {
	k, row := t.bench.looks(), strconv.Itoa(t.row+1)
	needed := k.termNumber
	if places == 2 {
		needed.format = fixed(2)
	}
	cells := [lineColumns]cell{
		codeColumn:    {value: s.code, look: k.term},
		wordsColumn:   {value: s.words, look: k.term},
		countedColumn: s.counted.drawn(k.termNumber),
		setupColumn:   s.setup.drawn(k.termNumber),
		eachColumn:    s.each.drawn(k.termNumber),
		factorColumn:  s.factor.drawn(k.termNumber),
		perColumn:     s.per.drawn(k.termNumber),
		wholeColumn:   whole(m.Started, k.termNumber),
		rateColumn:    s.rate.drawn(k.termNumber.as(k.rate.format)),
		neededColumn: {value: decimal(m.Needed), look: needed, formula: "ROUND(D" + row + "+E" + row + "*F" + row +
			"*IF(H" + row + ",ROUNDUP(ROUND(C" + row + "*1000000,0)/ROUND(G" + row + "*1000000,0),0),C" + row + "/G" + row + ")," + strconv.Itoa(places) + ")"},
	}
	t.put(tight, cells[:]...)
}

// drawn returns c in a look.
func (c cell) drawn(l look) cell {
	l.format = longer(l.format, c.look.format)
	c.look = l
	return c
}

// whole returns the cell that says whether a quantity goes up to a whole: 1,
// shown as a word, or nothing.
func whole(yes bool, l look) cell {
	if !yes {
		return cell{look: l}
	}
	return cell{value: 1, look: l.as(`"whole"`)}
}

// words returns what a term counts: its measure, and the share of it.
func words(m *pricing.Term) string {
	if m.Share == "" {
		return m.Measure
	}
	return m.Measure + ": " + m.Share
}

// totalLine writes what a block of lines comes to and returns its cell.
func (t *tab) totalLine(words string, amounts []string, total num.Money, quantity cell) string {
	k := t.bench.looks()
	text := k.text
	text.bold, text.over = true, true
	cells := make([]cell, 0, lineColumns)
	cells = append(cells, cell{value: words, look: text, span: neededColumn}, cell{look: text}, cell{look: text})
	quantity.look = k.number.as(fixed(2))
	quantity.look.bold, quantity.look.over = true, true
	cells = append(cells, quantity, cell{look: text}, cell{look: text},
		cell{value: float(total), formula: t.sum(t.bench.places, amounts), look: k.total})
	if quantity.value != nil {
		cells[4].value = string(unit.H)
	}
	t.put(tight, cells...)
	return t.there(amountColumn, t.row)
}

// lines writes the lines of a heading of a piece and keeps where they end. The
// source of each is made when its row is known.
func (t *tab) lines(lines []pricing.Line, from func(l *pricing.Line) source) []string {
	amounts := make([]string, 0, len(lines))
	for i := range lines {
		amounts = append(amounts, t.there(amountColumn, t.row+1))
		t.line(&lines[i], from(&lines[i]))
	}
	return amounts
}

// total adds the amounts of lines up.
func (b *bench) total(lines []pricing.Line) num.Money {
	sum := b.Costing.Currency.Zero()
	for i := range lines {
		sum = sum.Plus(lines[i].Amount)
	}
	return sum
}

// heading writes the lines of one heading of the i-th piece and their total.
func (t *tab) heading(i, heading int, lines []pricing.Line, from func(l *pricing.Line) source) {
	amounts := t.lines(lines, from)
	words := headingNames()[heading] + " of " + t.bench.pieces[i].letter
	t.bench.pieces[i].headings[heading] = t.totalLine(words, amounts, t.bench.total(lines), cell{})
}

// buy notes what an included piece needs of a code, as an expression of another
// sheet, and where its price stands.
func (b *bench) buy(i int, code, need, rate string) {
	if !b.Costing.Pieces[i].Included {
		return
	}
	if b.bought[code] == nil {
		b.bought[code] = &purchase{rate: rate}
	}
	b.bought[code].needs = append(b.bought[code].needs, need)
}
