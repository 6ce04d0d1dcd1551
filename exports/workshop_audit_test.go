package exports_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/num"
)

// An audit holds the cells of a workbook against a costing: each cell that is
// looked at is marked, so that in the end no formula may be left.
type audit struct {
	testing.TB
	p      exports.Paper
	leaves map[string]leaf
	value  func(sheet, cell string) string // as stored, or as another program works it out
	seen   map[string]bool
	wrong  int
}

// audited checks every formula of a workbook. Value returns what is in a cell;
// nil stands for what is stored.
func audited(t testing.TB, p exports.Paper, file []byte, value func(sheet, cell string) string) {
	t.Helper()
	a := audit{TB: t, p: p, leaves: make(map[string]leaf), value: value, seen: make(map[string]bool)}
	all := leaves(t, file)
	stored := make(map[string]string)
	for _, l := range all {
		a.leaves[l.name] = l
		for _, row := range l.rows {
			for _, c := range row {
				stored[l.name+"!"+c.name] = c.text
			}
		}
	}
	if value == nil {
		a.value = func(sheet, cell string) string { return stored[sheet+"!"+cell] }
	}
	a.lineSheets()
	a.buildUps()
	a.cuttingPlans()
	a.buying()
	a.summary()
	for _, l := range all {
		for _, row := range l.rows {
			for _, c := range row {
				if c.formula != "" && !a.seen[l.name+"!"+c.name] {
					t.Errorf("%s %s ={%s} has not been looked at", l.name, c.name, c.formula)
				}
			}
		}
	}
}

// is checks the figure in a cell; live says that it must be a formula.
func (a *audit) is(sheet string, row int, column, want string, live bool) {
	a.Helper()
	name := column + strconv.Itoa(row+1)
	c := a.leaves[sheet].rows[row][column]
	a.seen[sheet+"!"+name] = true
	if live && c.formula == "" {
		a.Errorf("%s %s is no formula", sheet, name)
	}
	text := a.value(sheet, name)
	if text == "" {
		text = "0"
	}
	got, err := strconv.ParseFloat(text, 64)
	exact, err2 := strconv.ParseFloat(want, 64)
	if err != nil || err2 != nil || got != exact {
		if a.wrong++; a.wrong < 10 {
			a.Errorf("%s %s ={%s} is %q, the costing says %s", sheet, name, c.formula, text, want)
		}
	}
}

// says checks the text in a cell.
func (a *audit) says(sheet string, row int, column, want string) {
	a.Helper()
	assert.Equal(a, want, a.leaves[sheet].rows[row][column].text, "%s %s%d", sheet, column, row+1)
}

// find returns the rows of a sheet in which the formula of a column begins so.
func (a *audit) find(sheet, column, formula string) []int {
	var rows []int
	for i, row := range a.leaves[sheet].rows {
		if strings.HasPrefix(row[column].formula, formula) {
			rows = append(rows, i)
		}
	}
	return rows
}

func or1(d num.Decimal) string {
	if d == 0 {
		return "1"
	}
	return d.String()
}

func oneIf(b bool) string {
	if b {
		return "1"
	}
	return "0"
}

// lineSheets checks the sheets of lines: each line, each term and each total, in
// their order.
func (a *audit) lineSheets() {
	for sheet, of := range map[string]func(*pricing.PricedPiece) [][]pricing.Line{
		"Timber":      func(o *pricing.PricedPiece) [][]pricing.Line { return [][]pricing.Line{o.Timber} },
		"Sheets":      func(o *pricing.PricedPiece) [][]pricing.Line { return [][]pricing.Line{o.Sheets} },
		"Ironmongery": func(o *pricing.PricedPiece) [][]pricing.Line { return [][]pricing.Line{o.Ironmongery, o.BoughtIn} },
		"Supplies":    func(o *pricing.PricedPiece) [][]pricing.Line { return [][]pricing.Line{o.Supplies} },
		"Labour":      func(o *pricing.PricedPiece) [][]pricing.Line { return [][]pricing.Line{o.Labour} },
	} {
		rows, totals := a.find(sheet, "K", "IF(H"), a.find(sheet, "N", "ROUND(SUM(")
		for i := range a.p.Costing.Pieces {
			for _, lines := range of(&a.p.Costing.Pieces[i]) {
				sum := num.Money{}
				for k := range lines {
					require.NotEmpty(a, rows, sheet)
					a.line(sheet, rows[0], &lines[k])
					rows, sum = rows[1:], sum.Plus(lines[k].Amount)
				}
				if len(lines) > 0 {
					require.NotEmpty(a, totals, sheet)
					a.is(sheet, totals[0], "N", sum.String(), true)
					if sheet == "Labour" {
						a.hours(totals[0], &a.p.Costing.Pieces[i])
					}
					totals = totals[1:]
				}
			}
		}
		assert.Empty(a, rows, sheet)
		assert.Empty(a, totals, sheet)
	}
}

// hours checks the hours of a piece and those at the bench.
func (a *audit) hours(row int, o *pricing.PricedPiece) {
	a.is("Labour", row, "K", o.Hours.String(), true)
	if o.BenchHours != 0 {
		a.is("Labour", row+1, "K", o.BenchHours.String(), true)
	}
}

// line checks one line and its terms. The quantity, the rate and the amount of
// every line come out of formulas; a rate may be the input itself.
func (a *audit) line(sheet string, row int, l *pricing.Line) {
	a.says(sheet, row, "A", l.Code)
	a.is(sheet, row, "G", or1(l.Per), false)
	a.is(sheet, row, "H", oneIf(l.Whole), false)
	a.is(sheet, row, "I", l.Needed.String(), true)
	a.is(sheet, row, "J", l.Waste.String(), false)
	a.is(sheet, row, "K", l.Quantity.String(), true)
	if l.Unit.Known() {
		a.says(sheet, row, "L", string(l.Unit))
	}
	a.is(sheet, row, "M", l.Rate.String(), false)
	a.is(sheet, row, "N", l.Amount.String(), true)
	for i := range l.Terms {
		m, r := &l.Terms[i], row+1+i
		if m.Rule != "" {
			a.says(sheet, r, "A", m.Rule)
		}
		typed := sheet == "Ironmongery" || m.Measure == "extra_hours" || m.Measure == "layout"
		a.is(sheet, r, "C", m.Quantity.String(), !typed)
		a.is(sheet, r, "D", m.Setup.String(), false)
		a.is(sheet, r, "E", m.Each.String(), false)
		a.is(sheet, r, "F", or1(m.Factor), sheet == "Labour" && !typed)
		a.is(sheet, r, "G", or1(m.Per), m.Measure == "coat" && m.Rule == "")
		a.is(sheet, r, "H", oneIf(m.Started), false)
		a.is(sheet, r, "I", m.Needed.String(), true)
	}
}

// buildUps checks the six headings and the eight steps of each piece.
func (a *audit) buildUps() {
	const sheet = "Build-up"
	rows := a.leaves[sheet].rows
	row := 0
	for i := range a.p.Costing.Pieces {
		o := &a.p.Costing.Pieces[i]
		for rows[row]["A"].text != "Timber" {
			row++
		}
		for _, lines := range [][]pricing.Line{o.Timber, o.Sheets, o.Ironmongery, o.Supplies, o.Labour, o.BoughtIn} {
			sum := num.Money{}
			for k := range lines {
				sum = sum.Plus(lines[k].Amount)
			}
			a.is(sheet, row, "E", sum.String(), len(lines) > 0)
			row++
		}
		agreed := a.p.Request.Pieces[i].AgreedPrice != nil
		for _, s := range o.BuildUp {
			a.is(sheet, row, "E", s.Amount.String(), !(s.Name == "rounding" && agreed) && !(s.Name == "profit" && s.Of == "" && !agreed))
			if s.Hours != nil {
				a.is(sheet, row, "C", s.Hours.String(), *s.Hours != 0)
			}
			switch {
			case s.Percent != nil:
				a.is(sheet, row, "D", s.Percent.String(), true)
			case s.Name == "rounding" && !agreed:
				a.is(sheet, row, "D", a.p.Costing.Terms.RoundTo.String(), true)
			case s.Rate != nil:
				a.is(sheet, row, "D", s.Rate.String(), true)
			case s.Name == "price":
				a.is(sheet, row, "C", strconv.Itoa(o.Quantity), false)
				a.is(sheet, row, "D", o.UnitPrice.String(), !agreed)
			}
			row++
		}
	}
}

// buying checks what to buy.
func (a *audit) buying() {
	const sheet = "Buying list"
	sum := a.p.Costing.Currency.Zero()
	for i, l := range a.p.Costing.Buying {
		row := 2 + i
		a.says(sheet, row, "B", l.Code)
		a.is(sheet, row, "D", l.Needed.String(), true)
		if l.PackSize != 0 {
			a.is(sheet, row, "F", l.PackSize.String(), true)
			a.is(sheet, row, "G", strconv.Itoa(l.Packs), true)
		}
		a.is(sheet, row, "H", a.rate(l).String(), true)
		a.is(sheet, row, "I", l.Amount.String(), true)
		sum = sum.Plus(l.Amount)
	}
	last := 2 + len(a.p.Costing.Buying)
	a.is(sheet, last, "I", sum.String(), len(a.p.Costing.Buying) > 0)
	saved, any := a.p.Costing.Currency.Zero(), false
	for _, p := range a.p.Costing.Cutting {
		if a.whole(p.Code) && p.Apart > p.Sheets {
			saved, any = saved.Plus(p.Saving), true
		}
	}
	if any {
		last++
		a.is(sheet, last, "I", saved.String(), true)
	}
	assert.Len(a, a.leaves[sheet].rows, last+1)
}

// rate returns the rate of a line of the buying list: of a supply that of its
// pack, of anything else that of the lines it adds up.
func (a *audit) rate(l pricing.BuyingLine) num.Rate {
	if s := a.p.Book.Supply(l.Code); s != nil {
		return s.Price.Rate
	}
	for i := range a.p.Costing.Pieces {
		o := &a.p.Costing.Pieces[i]
		for _, lines := range [][]pricing.Line{o.Timber, o.Sheets, o.Ironmongery} {
			for k := range lines {
				if lines[k].Code == l.Code {
					return lines[k].Rate
				}
			}
		}
	}
	a.Errorf("%s is on no line", l.Code)
	return 0
}

// label returns the first row from one on whose first cell says that.
func (a *audit) label(from int, text string) int {
	rows := a.leaves["Summary"].rows
	for i := from; i < len(rows); i++ {
		if rows[i]["A"].text == text {
			return i
		}
	}
	require.Fail(a, "the summary does not say "+text)
	return 0
}

// summary checks the pieces, the totals and what the prices are made of.
func (a *audit) summary() {
	const sheet = "Summary"
	c := &a.p.Costing
	row := a.label(0, "Piece") + 1
	for i := range c.Pieces {
		o := &c.Pieces[i]
		a.is(sheet, row+i, "C", strconv.Itoa(o.Quantity), false)
		a.is(sheet, row+i, "D", o.Hours.String(), len(o.Labour) > 0)
		a.is(sheet, row+i, "E", o.BenchHours.String(), o.BenchHours != 0)
		a.is(sheet, row+i, "F", step(o, "cost").String(), true)
		a.is(sheet, row+i, "G", o.UnitPrice.String(), true)
		a.is(sheet, row+i, "H", o.Price.String(), true)
	}
	s, some := c.Totals, len(c.Totals.Tax) > 0
	row = a.label(row, "Net")
	a.is(sheet, row, "D", s.Net.String(), some)
	for k, x := range s.Tax {
		lines, discount := num.Money{}, num.Money{}
		for i := range c.Pieces {
			if c.Pieces[i].Included && c.Pieces[i].Tax == x.Code {
				lines = lines.Plus(c.Pieces[i].Price)
			}
		}
		discount = lines.Minus(x.Basis)
		a.is(sheet, row+1+k, "B", c.Terms.Discount.String(), k > 0 && c.Terms.DiscountAmount == 0)
		a.is(sheet, row+1+k, "C", lines.String(), true)
		a.is(sheet, row+1+k, "D", discount.String(), true)
	}
	row += 1 + len(s.Tax)
	a.says(sheet, row, "A", "Discount")
	a.is(sheet, row, "D", s.Discount.String(), some && c.Terms.DiscountAmount == 0)
	a.is(sheet, row+1, "D", s.Taxable.String(), true)
	for k, x := range s.Tax {
		a.is(sheet, row+2+k, "B", x.Percent.String(), false)
		a.is(sheet, row+2+k, "C", x.Basis.String(), true)
		a.is(sheet, row+2+k, "D", x.Amount.String(), true)
	}
	row += 2 + len(s.Tax)
	a.is(sheet, row, "D", s.Gross.String(), true)
	if len(s.Payments) > 0 {
		a.payments(row + 1)
		return
	}
	a.is(sheet, row+1, "B", c.Terms.Deposit.String(), false)
	a.is(sheet, row+1, "C", s.Gross.String(), true)
	a.is(sheet, row+1, "D", s.Deposit.String(), true)
	a.is(sheet, row+2, "D", s.Balance.String(), true)
	a.portions(row + 3)
}

// payments checks what each payment comes to; all but the last can be changed.
func (a *audit) payments(row int) {
	const sheet = "Summary"
	s := &a.p.Costing.Totals
	for i, p := range s.Payments {
		last := i == len(s.Payments)-1
		a.is(sheet, row+i, "B", p.Percent.String(), last && i > 0)
		a.is(sheet, row+i, "C", s.Gross.String(), true)
		a.is(sheet, row+i, "D", p.Amount.String(), true)
	}
	a.portions(row + len(s.Payments))
}

// step returns the amount of a step of the build-up.
func step(o *pricing.PricedPiece, name string) num.Money {
	for _, s := range o.BuildUp {
		if s.Name == name {
			return s.Amount
		}
	}
	return num.Money{}
}

// part returns the amount of a part of the price, by its name on the summary.
func (a *audit) part(o *pricing.PricedPiece, name string) (num.Money, bool) {
	sum := func(lines []pricing.Line) num.Money {
		total := num.Money{}
		for i := range lines {
			total = total.Plus(lines[i].Amount)
		}
		return total
	}
	switch name {
	case "Timber":
		return sum(o.Timber), true
	case "Sheets":
		return sum(o.Sheets), true
	case "Ironmongery":
		return sum(o.Ironmongery), true
	case "Supplies":
		return sum(o.Supplies), true
	case "Bought in":
		return sum(o.BoughtIn), true
	case "Overhead", "Contingency", "Cost", "Profit", "Fees", "Rounding", "Price":
		return step(o, strings.ToLower(name)), true
	}
	stage, found := strings.CutPrefix(name, "Labour: ")
	for i := range o.Labour {
		if o.Labour[i].Description == stage {
			return o.Labour[i].Amount, true
		}
	}
	return num.Money{}, found
}

// portions checks what the prices are made of: of all, then piece by piece.
func (a *audit) portions(row int) {
	const sheet = "Summary"
	rows := a.leaves[sheet].rows
	c := &a.p.Costing
	for ; row < len(rows) && rows[row]["A"].text != "Part of the price"; row++ {
		sum := num.Money{}
		for i := range c.Pieces {
			if m, ok := a.part(&c.Pieces[i], rows[row]["A"].text); ok && c.Pieces[i].Included {
				sum = sum.Plus(m)
			}
		}
		if rows[row]["A"].text == "Net" {
			sum = c.Totals.Net
		}
		if rows[row]["B"].formula != "" {
			a.is(sheet, row, "B", sum.String(), true)
		}
	}
	const across = 8
	for from := 0; row < len(rows); row++ {
		if rows[row]["A"].text == "Part of the price" {
			from += across
			continue
		}
		for k := range across {
			column := string(rune('B' + k))
			if rows[row][column].formula == "" {
				continue
			}
			m, ok := a.part(&c.Pieces[from-across+k], rows[row]["A"].text)
			require.True(a, ok, rows[row]["A"].text)
			a.is(sheet, row, column, m.String(), true)
		}
	}
}
