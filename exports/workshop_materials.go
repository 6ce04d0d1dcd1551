package exports

import (
	"slices"
	"strconv"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// timber writes the timber of every piece.
func (b *bench) timber() {
	t := b.open(timberName, b.lineWidths(), b.lineHeads("Waste %")...)
	t.cautions(-1, atTheSaw)
	for i := range b.pieces {
		o := &b.Costing.Pieces[i]
		if len(o.Timber) == 0 {
			continue
		}
		t.title(i)
		t.heading(i, timberHeading, o.Timber, func(l *pricing.Line) source { return t.timberLine(i, l) })
	}
	t.close()
}

// timberLine returns where the figures of a line of timber come from: its volume
// from the cutting list, its waste and rate from where they first stand.
func (t *tab) timberLine(i int, l *pricing.Line) source {
	b := t.bench
	s := lineOf(l)
	s.rate.input = "rate " + l.Code
	s.waste = t.waste(l, b.wasteSource(i, l.Code, l.Terms[0].Share))
	s.terms = make([]termSource, len(l.Terms))
	for k := range l.Terms {
		s.terms[k] = t.cut(i, l.Code, &l.Terms[k], b.pieces[i].volumes)
	}
	row := t.row + 1
	b.buy(i, l.Code, t.there(soldColumn, row), t.there(rateColumn, row))
	return s
}

// cut returns a term that the cutting list adds up to.
func (t *tab) cut(i int, code string, m *pricing.Term, sizes string) termSource {
	a := &t.bench.pieces[i]
	s := termOf(m)
	s.code, s.words = a.priced[[2]string{code, m.Share}], words(m)
	s.counted.formula = "ROUND(SUMIFS(" + sizes + "," + a.keys + `,"` + s.code + `"),6)`
	return s
}

// wasteSource names where the waste of a role of the i-th piece comes from: the
// piece's own for the role, else that of the timber or sheet.
func (b *bench) wasteSource(i int, code, role string) string {
	if _, ok := b.Request.Pieces[i].Waste[role]; ok {
		return "waste piece " + strconv.Itoa(i+1) + " " + role
	}
	if timber, ok := b.timbers[code]; ok {
		code = timber
	}
	return "waste " + code
}

// waste returns the waste of a line. It is an input unless its source shares a
// line with another that happens to be the same: changing one of them would make
// two lines of that one.
func (t *tab) waste(l *pricing.Line, source string) cell {
	if slices.Contains(t.bench.sharedWastes(), source) {
		source = ""
	}
	return cell{value: part(l.Waste), input: source}
}

// sharedWastes returns the sources of waste that share a line with another.
func (b *bench) sharedWastes() []string {
	var shared []string
	for i := range b.Costing.Pieces {
		for _, l := range b.Costing.Pieces[i].Timber {
			first := b.wasteSource(i, l.Code, l.Terms[0].Share)
			for _, m := range l.Terms[1:] {
				if other := b.wasteSource(i, l.Code, m.Share); other != first {
					shared = append(shared, first, other)
				}
			}
		}
	}
	return shared
}

// sheetMaterials writes the sheets of every piece, their prices first.
func (b *bench) sheetMaterials() {
	t := b.open(sheetsName, b.lineWidths(), b.lineHeads("Waste %")...)
	t.sheetPrices()
	for i := range b.pieces {
		o := &b.Costing.Pieces[i]
		if len(o.Sheets) == 0 {
			continue
		}
		t.title(i)
		t.cautions(i, atTheSheets)
		t.heading(i, sheetsHeading, o.Sheets, func(l *pricing.Line) source { return t.sheetLine(i, l) })
	}
	t.close()
}

// each calls f for the lines of a heading of all pieces, once for each code.
func (b *bench) each(lines func(*pricing.PricedPiece) []pricing.Line, f func(l *pricing.Line)) {
	seen := make(map[string]bool)
	for i := range b.Costing.Pieces {
		list := lines(&b.Costing.Pieces[i])
		for k := range list {
			if l := &list[k]; !seen[l.Code] {
				seen[l.Code] = true
				f(l)
			}
		}
	}
}

// A price is what one code costs, and the size of what costs it.
type price struct {
	*pricing.Line // that it is for
	size          num.Decimal
	unit          unit.Unit
	rate          num.Rate
	input         string
}

// priceRow writes one price: the size of what it is for stands under per.
func (t *tab) priceRow(p price) {
	k := t.bench.looks()
	cells := [lineColumns]cell{
		codeColumn: {value: p.Code, look: k.text}, wordsColumn: {value: oneLine(p.Description), look: k.text},
		perColumn:    {value: decimal(p.size), look: k.number},
		unitOfColumn: {value: string(p.unit), look: k.of}, rateColumn: {value: rate(p.rate), look: k.rate, input: p.input},
	}
	t.put(tight, cells[:]...)
}

// sheetPrices writes the price of each sheet used; the area of one stands under
// per.
func (t *tab) sheetPrices() {
	b, first := t.bench, true
	b.each(func(o *pricing.PricedPiece) []pricing.Line { return o.Sheets }, func(l *pricing.Line) {
		if first {
			t.section("What sheets cost; the area of one, m2, stands under per")
			first = false
		}
		s := b.Book.Sheet(l.Code)
		area := unit.Area(unit.Face{N: 1, L: s.Length, W: s.Width})
		t.priceRow(price{Line: l, size: area, unit: s.Price.Unit, rate: s.Price.Rate, input: "rate " + l.Code})
		b.inputs["area "+l.Code] = t.there(perColumn, t.row)
	})
}

// sheetLine returns where the figures of a line of sheets come from.
func (t *tab) sheetLine(i int, l *pricing.Line) source {
	b, of := t.bench, t.bench.Book.Sheet(l.Code)
	one, area := t.here(b.inputs["rate "+l.Code]), t.here(b.inputs["area "+l.Code])
	s := lineOf(l)
	s.rate.formula = one
	switch whole := of.Charged == book.Whole; {
	case whole && of.Price.Unit == unit.M2:
		s.rate.formula = "ROUND(" + one + "*" + area + ",4)"
	case !whole && of.Price.Unit == unit.Each:
		s.rate.formula = "ROUND(" + one + "/" + area + ",4)"
	}
	row := t.row + 1
	need := t.there(soldColumn, row)
	if l.Whole { // before there were cutting plans
		s.per.formula = area
		need = t.there(neededColumn, row) + "*(10000+" + points(t.there(wasteColumn, row)) + ")/10000"
	}
	if l.Terms[0].Measure == fromLayout {
		s.terms = []termSource{t.laidOut(i, l)}
	} else {
		s.waste = t.waste(l, t.bench.wasteSource(i, l.Code, "sheet"))
		s.terms = []termSource{t.cut(i, l.Code, &l.Terms[0], b.pieces[i].areas)}
	}
	b.buy(i, l.Code, need, t.there(rateColumn, row))
	return s
}

// fromLayout is what the term of a sheet charged whole counts.
const fromLayout = "layout"

// laidOut returns the term of a sheet charged whole: a count of the plan by which
// the piece line alone is cut.
func (t *tab) laidOut(i int, l *pricing.Line) termSource {
	s := termOf(&l.Terms[0])
	s.code, s.words = t.bench.pieces[i].priced[[2]string{l.Code, l.Terms[0].Share}], "sheets from the cutting plan of "+t.bench.pieces[i].letter+" alone"
	s.counted.input = "sheets piece " + strconv.Itoa(i+1) + " " + l.Code
	return s
}

// ironmongery writes the ironmongery of every piece, and what is bought in.
func (b *bench) ironmongery() {
	t := b.open(ironmongeryName, b.lineWidths(), b.lineHeads("Mark-up %")...)
	t.boughtInTerms()
	for i := range b.pieces {
		o := &b.Costing.Pieces[i]
		if len(o.Ironmongery)+len(o.BoughtIn) == 0 {
			continue
		}
		t.title(i)
		if len(o.Ironmongery) > 0 {
			t.heading(i, ironmongeryHeading, o.Ironmongery, func(l *pricing.Line) source { return t.fitting(i, l) })
		}
		if len(o.BoughtIn) > 0 {
			t.section("Bought in for " + b.pieces[i].letter)
			t.heading(i, boughtInHeading, o.BoughtIn, func(l *pricing.Line) source { return t.boughtIn(i, l) })
		}
	}
	t.close()
}

// boughtInTerms writes the mark-up on what is bought in, if anything is.
func (t *tab) boughtInTerms() {
	for i := range t.bench.Costing.Pieces {
		if len(t.bench.Costing.Pieces[i].BoughtIn) > 0 {
			t.section("Added to what is bought in")
			t.inputRow("mark-up %", wasteColumn, cell{value: part(t.bench.Costing.Terms.BoughtInMarkup), input: "bought_in_markup"})
			return
		}
	}
}

// inputRow writes a figure that lines refer to, in the column it belongs to.
func (t *tab) inputRow(words string, column int, c cell) {
	k := t.bench.looks()
	var cells [lineColumns]cell
	cells[wordsColumn] = cell{value: words, look: k.text}
	cells[column] = c.drawn(k.number)
	t.put(tight, cells[:]...)
}

// fitting returns where the figures of a line of ironmongery come from; how many
// were fitted was chosen by the sizes, and is a value.
func (t *tab) fitting(i int, l *pricing.Line) source {
	s := lineOf(l)
	s.rate.input = "rate " + l.Code
	s.terms = make([]termSource, len(l.Terms))
	for k := range l.Terms {
		s.terms[k] = termOf(&l.Terms[k])
		s.terms[k].code, s.terms[k].words = l.Terms[k].Measure, "for each "+l.Terms[k].Measure
	}
	row := t.row + 1
	t.bench.buy(i, l.Code, t.there(soldColumn, row), t.there(rateColumn, row))
	return s
}

// provisional returns what stands before the description of a provisional sum.
func provisional(l *pricing.Line) string {
	if l.Provisional {
		return "Provisional: "
	}
	return ""
}

// boughtIn returns where the figures of a bought-in line come from: the rate as
// typed stands on its term, raised on the line.
func (t *tab) boughtIn(i int, l *pricing.Line) source {
	s, m := lineOf(l), termOf(&l.Terms[0])
	n, _ := strconv.Atoi(l.Code)
	typed := t.bench.Request.Pieces[i].BoughtIn[n-1]
	s.quantity = 3
	s.words = provisional(l) + s.words
	m.code, m.words = l.Terms[0].Measure, "as typed, at its rate before the mark-up"
	m.rate = cell{value: rate(typed.Rate), input: "rate piece " + strconv.Itoa(i+1) + " bought_in " + l.Code}
	s.terms = []termSource{m}
	s.rate.formula = "ROUND(" + t.at(rateColumn, t.row+2) + "*(10000+" + points(t.here(t.bench.inputs["bought_in_markup"])) + ")/10000,4)"
	return s
}
