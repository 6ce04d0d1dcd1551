package exports

import (
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// Columns of a summary's lines.
const (
	netWide      = 14
	wasteWide    = 7
	quantityWide = 14
	rateWide     = 11
	amountWide   = 13
)

// A summary is one being written.
type summary struct {
	*Paper
	table
	title map[string]string
}

// Summary writes what goes into every piece and what it costs, as plain text at
// most 100 columns wide: for the workshop, not for the customer.
func Summary(w io.Writer, p Paper) error {
	if len(p.Request.Pieces) != len(p.Costing.Pieces) {
		return errors.New("exports: a summary needs the request of its costing")
	}
	s := summary{Paper: &p, title: p.titles()}
	s.head()
	for i := range p.Costing.Pieces {
		s.piece(i)
	}
	s.totals()
	s.buying()
	s.cutting()
	s.cautions()
	_, err := io.WriteString(w, s.String())
	return err
}

// head says what is priced and from which prices.
func (s *summary) head() {
	c := &s.Costing
	if title := strings.Join(filled(s.Number, s.Title), ": "); title != "" {
		s.row("", title)
	}
	s.line("Prices of " + longDate(c.AsOf) + ", book version " + strconv.FormatInt(c.Book, 10) + ". All amounts in " + c.Currency.String() + ".")
}

// piece writes one piece line: what it is, what goes in, and its price.
func (s *summary) piece(i int) {
	o, q := &s.Costing.Pieces[i], &s.Request.Pieces[i]
	s.gap()
	s.rule("=")
	s.row("", o.Title+s.standing(i), column{strconv.Itoa(o.Quantity) + " off", amountWide})
	s.rule("=")
	switch {
	case q.Chest != nil:
		s.openings(q.Chest, o)
	case q.DrawerBoxes != nil:
		for k, l := range boxSizes(q.DrawerBoxes.Boxes, o.Units) {
			s.row(strings.Repeat("  ", min(k, 1)), l)
		}
	}
	if o.Mass > 0 {
		s.line("Mass     " + o.Mass.String() + " kg" + each(o.Quantity))
	}
	s.lines("Timber", true, o.Timber)
	s.lines("Sheets", true, o.Sheets)
	s.lines("Ironmongery", false, o.Ironmongery)
	s.lines("Supplies", false, o.Supplies)
	s.lines("Bought in", false, o.BoughtIn)
	s.lines("Hours", false, o.Labour)
	if o.Hours > 0 {
		s.row("  ", o.Hours.String()+" h, of which "+o.BenchHours.String()+" h at the bench")
	}
	s.buildUp(o)
}

func each(quantity int) string {
	if quantity > 1 {
		return " each"
	}
	return ""
}

// standing says of a piece that it is in no total.
func (s *summary) standing(i int) string {
	switch q := &s.Request.Pieces[i]; {
	case q.AlternativeTo != "":
		return " (instead of " + s.title[q.AlternativeTo] + ": not in the totals)"
	case q.Optional:
		return " (could be added: not in the totals)"
	}
	return ""
}

// openings writes the sizes of a chest and the sum that makes its height, as
// rods are drawn: top, rail, opening, rail and so on down to the plinth.
func (s *summary) openings(c *piece.Chest, o *pricing.PricedPiece) {
	s.line("Sizes    " + by(o.Units, c.Width, c.Depth, c.Height) + " (width x depth x height)")
	at := make(map[string]*pricing.CutPart, len(o.Parts))
	for i := range o.Parts {
		at[o.Parts[i].Name] = &o.Parts[i]
	}
	top, rail, plinth := at["Top"], at["Front rail"], at["Plinth"]
	if top == nil || rail == nil {
		return
	}
	foot := num.Decimal(0)
	if plinth != nil {
		foot = plinth.Width
	}
	stack := []string{size(top.Thickness, o.Units)}
	for _, h := range heights(c, o.Units, top.Thickness+foot, rail.Thickness) {
		stack = append(stack, size(rail.Thickness, o.Units), size(h, o.Units))
	}
	stack = append(stack, size(rail.Thickness, o.Units))
	words := "top, rail, opening, rail and so on down to the lowest rail"
	if foot > 0 {
		stack = append(stack, size(foot, o.Units))
		words = "top, rail, opening, rail and so on down to the plinth"
	}
	s.row("Height   ", strings.Join(stack, " + ")+" = "+by(o.Units, c.Height))
	s.line("         " + words)
}

// heights returns the height of each row of openings; rows without one share
// what the ends (top and plinth), the rails and the other rows leave.
func heights(c *piece.Chest, s unit.System, ends, rail num.Decimal) []num.Decimal {
	left, sharing := s.Length(c.Height)-s.Length(ends)-unit.Length(len(c.Rows)+1)*s.Length(rail), 0
	for _, r := range c.Rows {
		if r.Height == nil {
			sharing++
		} else {
			left -= s.Length(*r.Height)
		}
	}
	out := make([]num.Decimal, len(c.Rows))
	for i, r := range c.Rows {
		if r.Height != nil {
			out[i] = *r.Height
		} else {
			out[i] = s.Size(unit.Share(left, sharing))
		}
	}
	return out
}

// lines writes one heading's lines and their sum; net shows what is needed
// before waste, for what has waste.
func (s *summary) lines(heading string, net bool, lines []pricing.Line) {
	if len(lines) == 0 {
		return
	}
	s.gap()
	head := []column{{"quantity", quantityWide}, {"rate", rateWide}, {"amount", amountWide}}
	if net {
		head = append([]column{{"net", netWide}, {"waste", wasteWide}}, head...)
	}
	s.row("", strings.ToUpper(heading), head...)
	sum := s.Costing.Currency.Zero()
	for i := range lines {
		l := &lines[i]
		figures := []column{{l.Quantity.String() + " " + oneLine(string(l.Unit)), quantityWide}, {grouped(l.Rate.String()), rateWide}, s.money(l.Amount)}
		if net {
			figures = append(netOf(l), figures...)
		}
		s.row("  ", provisional(l)+l.Description, figures...)
		sum = sum.Plus(l.Amount)
	}
	s.row("  ", "", s.money(sum))
}

// netOf returns what a line needs before waste, and the waste; whole sheets have
// theirs in their layout.
func netOf(l *pricing.Line) []column {
	counted, waste := l.Unit, percent(l.Waste)
	switch {
	case l.Whole:
		counted = unit.M2
	case l.Terms[0].Measure == fromLayout:
		waste = ""
	}
	return []column{{l.Needed.String() + " " + string(counted), netWide}, {waste, wasteWide}}
}

func (s *summary) money(m num.Money) column { return column{grouped(m.String()), amountWide} }

// buildUp writes the steps from what goes in to the price.
func (s *summary) buildUp(o *pricing.PricedPiece) {
	s.gap()
	s.row("", "PRICE", column{"amount", amountWide})
	for _, b := range o.BuildUp {
		if b.Amount.IsZero() && (b.Percent == nil || *b.Percent == 0) && b.Name != "price" {
			continue
		}
		s.step(capital(b.Name), b.Working, b.Amount)
	}
	if o.Quantity > 1 {
		s.step("Unit price", "", o.UnitPrice)
	}
}

// step writes one step of the build-up: its name, how it came about, its amount.
func (s *summary) step(name, working string, m num.Money) {
	const nameWide = 14
	s.row("  "+name+strings.Repeat(" ", max(1, nameWide-len(name))), working, s.money(m))
}

// totals writes the foot of the document.
func (s *summary) totals() {
	t, terms := &s.Costing.Totals, &s.Costing.Terms
	s.gap()
	s.rule("=")
	s.row("", "TOTALS", column{"amount", amountWide})
	s.row("  ", "Net", s.money(t.Net))
	if terms.Discount > 0 || terms.DiscountAmount > 0 {
		words := "Discount"
		if terms.Discount > 0 {
			words += " " + percent(terms.Discount)
		}
		s.row("  ", words, s.money(t.Discount.Times(-1)))
		s.row("  ", "Net after discount", s.money(t.Taxable))
	}
	for _, x := range t.Tax {
		s.row("  ", x.Name+" "+percent(x.Percent)+" on "+grouped(x.Basis.String()), s.money(x.Amount))
	}
	s.row("  ", "Total", s.money(t.Gross))
	if len(t.Payments) > 0 {
		for i := range t.Payments {
			s.row("  ", paymentWords(&t.Payments[i]), s.money(t.Payments[i].Amount))
		}
		return
	}
	s.row("  ", "Deposit "+percent(terms.Deposit), s.money(t.Deposit))
	s.row("  ", "Balance", s.money(t.Balance))
}

// buying writes what to buy for the pieces that are in the totals.
func (s *summary) buying() {
	if len(s.Costing.Buying) == 0 {
		return
	}
	s.gap()
	s.row("", "TO BUY", column{"needed", 18}, column{"buy", 18}, column{"amount", amountWide})
	for i := range s.Costing.Buying {
		l := &s.Costing.Buying[i]
		buy := ""
		if l.Packs > 0 {
			buy = strconv.Itoa(l.Packs) + " x " + l.PackSize.String() + " " + string(l.Unit)
		}
		s.row("  ", l.Description, column{l.Needed.Round(4).String() + " " + string(l.Unit), 18}, column{buy, 18}, s.money(l.Amount))
	}
}

// cutting writes how many sheets it takes, whether any layout could do with fewer,
// and what cutting the pieces together saves.
func (s *summary) cutting() {
	plans := s.Costing.Cutting
	if len(plans) == 0 {
		return
	}
	var head []column
	if slices.ContainsFunc(plans, func(p pricing.SheetPlan) bool { return !p.Saving.IsZero() }) {
		head = []column{{"saved", amountWide}}
	}
	s.gap()
	s.row("", "CUTTING", head...)
	for i := range plans {
		p, saved := &plans[i], []column(nil)
		text := oneLine(p.Description) + ": " + oneLine(p.Finding)
		if p.Apart > p.Sheets {
			text += "; " + strconv.Itoa(p.Apart) + " if each piece were cut from sheets of its own"
		}
		if !p.Saving.IsZero() {
			saved = []column{s.money(p.Saving)}
		}
		s.row("  ", text, saved...)
	}
}

// cautions writes what a careful maker would want said.
func (s *summary) cautions() {
	if len(s.Costing.Cautions) == 0 {
		return
	}
	s.gap()
	s.line("CAUTIONS")
	for _, c := range s.Costing.Cautions {
		s.row("  - ", c)
	}
}
