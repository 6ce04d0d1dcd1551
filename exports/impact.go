package exports

import (
	"io"
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/num"
)

// ImpactCSV writes the quotes of an impact as CSV, a row for each in its order, in
// the form of CuttingList; those that cannot be priced come last, without figures.
func ImpactCSV(w io.Writer, all pricing.Impact) error {
	rows := [][]string{{
		"number", "revision", "status", "title", "customer", "valid_until", "old_cost", "new_cost", "loss", "quoted", "would_be", "margin_left", "margin_left_percent", "currency", "unpriced",
	}}
	for i := range all.Quotes {
		a := &all.Quotes[i]
		rows = append(rows, []string{
			a.Number, strconv.Itoa(a.Revision), a.Status, CellText(a.Title), CellText(a.Customer), a.ValidUntil.String(),
			a.OldCost.String(), a.NewCost.String(), a.Loss.String(), a.Quoted.String(), a.WouldBe.String(), a.Left.String(), a.LeftOf.String(), all.Currency.String(), "",
		})
	}
	for _, u := range all.Unpriced {
		row := make([]string, len(rows[0]))
		row[0], row[1], row[3], row[len(row)-1] = u.Number, strconv.Itoa(u.Revision), CellText(u.Title), CellText(u.Detail)
		rows = append(rows, row)
	}
	return Table(w, rows)
}

// ImpactXLSX writes an impact as a workbook that prints on A4, each sheet one page
// wide: "Quotes", a row for each, and "Timber", what the update costs of each timber,
// where there is one. Losses and sums are formulas with our own figures stored beside
// them. The same impact is the same bytes.
func ImpactXLSX(w io.Writer, all pricing.Impact) error {
	names := []string{"Quotes", "Timber"}
	if all.Update == nil {
		names = names[:1]
	}
	b := newBinder(names...)
	p := properties{title: "Impact of the prices of " + all.AsOf.String(), maker: "Reckoner", made: midnight(all.AsOf), titles: 1}
	var last *sheet
	for i, name := range names {
		wide, fill := quoteWidths(&all), (*impactSheet).quotes
		p.footer = "Quotes that are out, at the prices of " + longDate(all.AsOf)
		if i > 0 {
			wide, fill = timberWidths(&all), (*impactSheet).timbers
			p.footer = updateWords(all.Update)
		}
		s := impactSheet{b.open(name, layout{paper: "a4", landscape: true, wide: wide, frozen: 1, grid: true}), &all}
		fill(&s)
		s.foot(name, p)
		s.check(repeatRows(b.file, name, p))
		b.check(s.err)
		last = s.sheet
	}
	last.check(describe(b.file, p))
	return last.write(w)
}

// The first columns of money.
const (
	quoteMoney  = 6
	timberMoney = 3
)

// quoteWidths returns the widths in points of the columns of quotes.
func quoteWidths(all *pricing.Impact) []float64 {
	wide := []float64{62, 30, 60, 132, 110, 62, 66, 66, 60, 66, 66, 66, 42}
	money, percent := wide[quoteMoney:], &wide[len(wide)-1]
	s := &all.Sums
	widen(money, all.Currency, s.OldCost, s.NewCost, s.Loss, s.Quoted, s.WouldBe, s.Left)
	for i := range all.Quotes {
		a := &all.Quotes[i]
		widen(money, all.Currency, a.OldCost, a.NewCost, a.Loss, a.Quoted, a.WouldBe, a.Left)
		*percent = max(*percent, roomFor(a.LeftOf.String()+".00", listSize))
	}
	return wide
}

// timberWidths returns those of the columns of timbers.
func timberWidths(all *pricing.Impact) []float64 {
	wide := []float64{120, 240, 46, 92, 92, 70}
	sums := timberSums(all)
	widen(wide[timberMoney:], all.Currency, sums[:]...)
	for _, t := range all.Update.Timbers {
		widen(wide[timberMoney:], all.Currency, t.Old, t.New, t.Loss)
	}
	return wide
}

// timberSums returns what all timbers come to at the old and the new rates, and the
// loss.
func timberSums(all *pricing.Impact) [3]num.Money {
	old, is := all.Currency.Zero(), all.Currency.Zero()
	for _, t := range all.Update.Timbers {
		old, is = old.Plus(t.Old), is.Plus(t.New)
	}
	return [...]num.Money{old, is, all.Update.Loss}
}

// widen makes columns wide enough for amounts, be they bold.
func widen(wide []float64, c num.Currency, amounts ...num.Money) {
	const bold = 1.12
	for i, m := range amounts {
		wide[i] = max(wide[i], roomFor(written(c, m), listSize*bold))
	}
}

// updateWords returns which price update is meant.
func updateWords(u *pricing.UpdateImpact) string {
	return strings.Join(filled("Price update "+strconv.FormatInt(u.ID, 10), u.File), ", ") + " (" + u.Status + ")"
}

// An impactSheet is a sheet of an impact.
type impactSheet struct {
	*sheet
	all *pricing.Impact
}

// head writes the heads of the columns: a ">" is before those of figures, which stand
// on the right; words keep away from them.
func (s *impactSheet) head(columns string) {
	var cells []cell
	before := false
	for h := range strings.SplitSeq(columns, "|") {
		h, right := strings.CutPrefix(h, ">")
		l := look{size: listSize, bold: true, under: true, wraps: true, right: right}
		if before && !right {
			l.indent = 1
		}
		cells, before = append(cells, cell{value: h, look: l}), right
	}
	s.put(0, cells...)
}

// word, apart, figure and money are cells of a row; what is apart keeps away from the
// figure before it.
func word(text string) cell {
	return cell{value: content(text), look: look{size: listSize, wraps: true, under: true}}
}

func apart(text string) cell {
	c := word(text)
	c.look.indent = 1
	return c
}

func figure(n int) cell { return cell{value: n, look: look{size: listSize, right: true, under: true}} }

func (s *impactSheet) money(m num.Money) cell {
	return cell{value: float(m), look: look{size: listSize, right: true, under: true, format: moneyFormat(s.all.Currency, false)}}
}

// difference returns the cell of the difference of two others of the next row.
func (s *impactSheet) difference(m num.Money, less, more int) cell {
	c, row := s.money(m), s.row+1
	c.formula = s.rounded(s.at(more, row) + "-" + s.at(less, row))
	return c
}

// rounded returns the formula of an amount, rounded to the coin, so that a binary
// number is that of its decimals.
func (s *impactSheet) rounded(formula string) string {
	return "ROUND(" + formula + "," + strconv.Itoa(s.all.Currency.Places()) + ")"
}

// sum writes the last row of the table: what it is of, and from a column on the sums of
// the rows above.
func (s *impactSheet) sum(from int, sums []num.Money, label string) {
	of := word(label)
	of.span = from
	row := []cell{of}
	for i, m := range sums {
		c := s.money(m)
		c.formula = "0"
		if s.row > 1 {
			c.formula = s.rounded("SUM(" + s.at(from+i, 2) + ":" + s.at(from+i, s.row) + ")")
		}
		row = append(row, c)
	}
	if rest := len(s.wide) - from - len(sums); rest > 0 {
		row = append(row, cell{look: look{under: true}, span: rest})
	}
	for i := range row {
		row[i].look.bold = true
	}
	s.put(0, row...)
}

// quotes writes a row for each quote, what they come to, and those without a price.
func (s *impactSheet) quotes() {
	s.head("Number|>Rev.|Status|Title|Customer|Valid until|>Old cost|>New cost|>Loss|>Quoted|>Would be|>Margin left|>%")
	for i := range s.all.Quotes {
		a := &s.all.Quotes[i]
		percent := cell{value: part(a.LeftOf), look: look{size: listSize, right: true, under: true}.as("0.00")}
		s.put(0, word(a.Number), figure(a.Revision), apart(a.Status), word(a.Title), word(a.Customer), word(a.ValidUntil.String()),
			s.money(a.OldCost), s.money(a.NewCost), s.difference(a.Loss, quoteMoney, quoteMoney+1), s.money(a.Quoted), s.money(a.WouldBe), s.money(a.Left), percent)
	}
	x := &s.all.Sums
	s.sum(quoteMoney, []num.Money{x.OldCost, x.NewCost, x.Loss, x.Quoted, x.WouldBe, x.Left}, capital(several(x.Count, "quote", "quotes")))
	for _, u := range s.all.Unpriced {
		why := word(oneLine(u.Title) + ": " + u.Detail)
		why.span = len(s.wide) - 3
		s.put(0, word(u.Number), figure(u.Revision), apart("unpriced"), why)
	}
}

// timbers writes a row for each timber, and below what they come to.
func (s *impactSheet) timbers() {
	s.head("Code|Timber|>Quotes|>At the old rates|>At the new rates|>Loss")
	for _, t := range s.all.Update.Timbers {
		s.put(0, word(t.Code), word(t.Description), figure(t.Quotes), s.money(t.Old), s.money(t.New), s.difference(t.Loss, timberMoney, timberMoney+1))
	}
	sums := timberSums(s.all)
	s.sum(timberMoney, sums[:], updateWords(s.all.Update))
}
