package exports

import (
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/num"
)

// Columns of a quotation.
const (
	textColumn = iota
	quantityColumn
	unitColumn
	priceColumn
	columnCount
)

// looks are those of a quotation.
var looks = struct{ letterhead, heading, section, small, body, note, aside, strong, figure, total look }{
	letterhead: look{size: 21, serif: true, wraps: true},
	heading:    look{size: 14, serif: true, wraps: true},
	section:    look{size: 12, serif: true, wraps: true},
	small:      look{size: 8, grey: true},
	body:       look{size: 9},
	note:       look{size: 9, upright: "justify"}, // a long paragraph has no gap between its rows
	aside:      look{size: 8.5, grey: true},
	strong:     look{size: 9.5, bold: true},
	figure:     look{size: 9.5, upright: "center"},
	total:      look{size: 11, bold: true, over: true, upright: "center"},
}

// A quotation is one being written.
type quotation struct {
	*Paper
	*sheet
	places string      // decimals of the currency, as formulas write them
	prices map[int]int // row of each included piece, by its place
	order  []int       // the included pieces
	header int         // row of the table's head
	net    string      // cell of the prices' sum
	off    string      // cell of the discount
}

// Quotation writes the customer's workbook: one sheet that prints one page wide
// on the workshop's paper. Line prices, totals, taxes, payments, deposit and
// balance are formulas with the costing's own figures stored beside them; a
// discount's amount is typed. It holds nothing of what the work costs: no code,
// hour, rate, waste, margin, working or sawn size, and no amount of what goes into
// a piece but its provisional sums. The same Paper is the same bytes.
func Quotation(w io.Writer, p Paper) error {
	if p.Book == nil || len(p.Request.Pieces) != len(p.Costing.Pieces) {
		return errors.New("exports: a quotation needs the book and the request of its costing")
	}
	c := &p.Costing
	q := quotation{
		Paper: &p, sheet: newSheet("Quotation", c.Terms.Workshop.Paper, p.columnWidths()),
		places: strconv.Itoa(c.Currency.Places()), prices: make(map[int]int),
	}
	q.letterhead()
	q.address()
	noted := q.note()
	q.pieces()
	broken := q.pages > noted
	q.totals()
	q.alternatives()
	q.extras()
	q.remarks()
	q.signature()
	made := properties{title: strings.Join(filled("Quotation", p.Number), " "), maker: oneLine(c.Terms.Workshop.Name), made: p.Issued, titles: 1}
	made.footer = made.title
	if broken { // the table's head says more on the next page than the letterhead
		made.titles = q.header
	}
	if made.made.IsZero() {
		made.made = midnight(c.AsOf)
	}
	return q.finish(w, made)
}

// columnWidths returns widths in points that hold the longest amount.
func (p *Paper) columnWidths() []float64 {
	longest := p.Costing.Totals.Gross.String()
	for i := range p.Costing.Pieces {
		o := &p.Costing.Pieces[i]
		for _, m := range []num.Money{o.UnitPrice, o.Price} {
			if s := m.String(); len(s) > len(longest) {
				longest = s
			}
		}
	}
	text := "-" + symbol(p.Costing.Currency) + grouped(longest)
	need := float64(measured(text, advance))*looks.total.size/1000*1.12 + 10
	price, one := max(92, need), max(80, need)
	const all, quantity = 484, 52
	return []float64{max(190, all-quantity-one-price), quantity, one, price}
}

// letterhead writes who the paper is from.
func (q *quotation) letterhead() {
	w := &q.Costing.Terms.Workshop
	name := oneLine(w.Name)
	if name == "" {
		name = "Quotation"
	}
	lines := len(looks.letterhead.lines(name, q.wide[0]+q.wide[1]+q.wide[2]+q.wide[3]))
	q.repeat = float64(lines)*looks.letterhead.size*lineHeight + 8
	q.put(q.repeat, cell{value: name, look: looks.letterhead, span: columnCount})
	for _, line := range [][]string{w.Address, {w.Phone, w.Email}, w.Numbers} {
		if s := strings.Join(filled(line...), "  ·  "); s != "" {
			q.paragraphs(s, looks.small, columnCount)
		}
	}
	q.rule()
	q.space(16)
}

// A line stands on the left under the letterhead.
type line struct {
	text   string
	look   look
	height float64 // 0: what the text takes
}

// writing is the height of a line to write on.
const writing = 20

// address writes who the paper is for beside its number and dates.
func (q *quotation) address() {
	title := "Quotation"
	if t := oneLine(q.Title); t != "" {
		title += ": " + t
	}
	q.put(0, cell{value: title, look: looks.heading, span: columnCount})
	q.space(8)
	left, right := q.recipient(), q.particulars()
	for i := range max(len(left), len(right)) {
		label, value := looks.small, look{size: 9, right: true}
		var l line
		var r [2]string
		if i < len(left) {
			l = left[i]
		}
		if i < len(right) {
			r = right[i]
			value.under = r[1] == ""
		}
		height := l.height
		if value.under {
			height = max(height, writing)
		}
		for _, k := range []*look{&l.look, &label, &value} {
			k.upright, k.wraps = "bottom", true
		}
		q.put(height, cell{value: l.text, look: l.look}, cell{}, cell{value: r[0], look: label}, cell{value: r[1], look: value})
	}
	q.space(20)
}

// recipient returns the customer's name and addresses, or lines to write on.
func (q *quotation) recipient() []line {
	blank := line{look: look{size: 9, under: true}, height: writing}
	lines := []line{{text: "For", look: looks.small}}
	c := q.Customer
	if c == nil {
		c = new(pricing.Customer)
	}
	who := filled(slices.Concat([]string{c.Name}, c.Address, []string{c.Email})...)
	if len(who) == 0 {
		return append(lines, blank, blank, blank, line{text: "Deliver to", look: looks.small, height: writing}, blank, blank)
	}
	for i, s := range who {
		l := line{text: s, look: looks.body}
		if i == 0 && oneLine(c.Name) != "" {
			l.look = looks.strong
		}
		lines = append(lines, l)
	}
	to := filled(c.DeliveryAddress...)
	if len(to) == 0 {
		return lines
	}
	lines = append(lines, line{text: "Deliver to", look: looks.small, height: writing})
	for _, s := range to {
		lines = append(lines, line{text: s, look: looks.body})
	}
	return lines
}

// particulars returns number, revision and dates, each after its label.
func (q *quotation) particulars() [][2]string {
	list := [][2]string{{"Number", oneLine(q.Number)}}
	if q.Revision > 0 {
		list = append(list, [2]string{"Revision", strconv.Itoa(q.Revision)})
	}
	dated, until := q.dates()
	return append(list, [2]string{"Date", longDate(dated)}, [2]string{"Valid until", longDate(until)})
}

// note writes what the customer is told above the pieces, and returns how many
// pages that began.
func (q *quotation) note() int {
	text, before, gap := clean(q.Note), q.pages, 0.0
	if text == "" {
		return 0
	}
	for line := range strings.SplitSeq(text, "\n") {
		if strings.TrimSpace(line) == "" {
			gap = 5
			continue
		}
		if gap > 0 {
			q.space(gap)
		}
		q.paragraphs(line, looks.note, columnCount)
		gap = 0
	}
	const below = 16
	need := below + headHeight + beginning // the table's head is not left alone at the foot of a page
	if i := slices.IndexFunc(q.Costing.Pieces, func(o pricing.PricedPiece) bool { return o.Included }); i >= 0 {
		need += q.room(i)
	}
	q.together(need)
	q.space(below)
	return q.pages - before
}

// remarks writes what the customer should know and the conditions.
func (q *quotation) remarks() {
	if notes := q.notes(); len(notes) > 0 {
		q.section("Please note", "")
		for _, n := range notes {
			q.paragraphs(n, looks.body, columnCount)
			q.space(2)
		}
	}
	list := q.Costing.Terms.Conditions
	if len(list) == 0 {
		return
	}
	q.section("Our terms", "")
	title := look{size: 8.5, bold: true}
	for i, k := range list {
		if i > 0 {
			q.space(4)
		}
		q.together(48) // a title is not left alone at the foot of a page
		q.paragraphs(oneLine(k.Title), title, columnCount)
		q.paragraphs(k.Text, looks.aside, columnCount)
	}
}

// signature writes the place to sign.
func (q *quotation) signature() {
	q.together(120)
	q.section("Acceptance", "")
	words := "I accept this quotation and the terms above."
	if len(q.Costing.Terms.Conditions) == 0 {
		words = "I accept this quotation."
	}
	q.paragraphs(words, looks.body, columnCount)
	line, label := look{size: 9, under: true}, looks.small
	q.put(34, cell{look: line}, cell{look: looks.body}, cell{look: line, span: 2})
	q.put(0, cell{value: "Name and signature", look: label}, cell{look: looks.body}, cell{value: "Date", look: label, span: 2})
}

// section writes the heading of a part of the paper with a remark below it.
func (q *quotation) section(title, remark string) {
	q.together(80)
	q.space(18)
	q.put(0, cell{value: title, look: looks.section, span: columnCount})
	if remark != "" {
		q.paragraphs(remark, looks.small, columnCount)
	}
	q.space(3)
}
