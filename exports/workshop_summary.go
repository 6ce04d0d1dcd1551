package exports

import (
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"reckoner/pricing"
	"reckoner/pricing/num"
)

// summaryFigures is how many columns of figures the summary has beside the first.
const summaryFigures = 8

// summary writes the pieces, the totals and where the price goes.
func (b *bench) summary() {
	figure := max(71, b.lineWidths()[amountColumn])
	wide := append([]float64{226}, slices.Repeat([]float64{figure}, summaryFigures)...)
	t := b.open(summaryName, wide)
	quiet := look{size: 8.5, grey: true}
	t.paragraphs("Shaded cells, on this sheet and the others, are what can be changed: everything that depends on one follows it. "+
		"Sizes, measures and layouts are values, and what comes to nothing stands on no sheet: a changed size, or a change from nothing, must be priced again. "+
		"Cautions are as priced.", quiet, len(wide))
	t.paragraphs("Prices of "+longDate(b.Costing.AsOf)+", book version "+strconv.FormatInt(b.Costing.Book, 10)+", in "+b.Costing.Currency.String()+".", quiet, len(wide))
	for i := range b.pieces {
		t.cautions(i, atTheDesk)
		t.cautions(i, atTheLift)
	}
	prices := t.pieceList()
	t.totals(prices)
	t.whereItGoes()
	t.byPiece()
	t.close()
}

// heads writes the heads of a table: the first of words, the rest of figures.
func (t *tab) heads(words ...string) {
	l := t.bench.looks().head
	cells := make([]cell, len(words))
	for i, w := range words {
		cells[i] = cell{value: w, look: l}
		cells[i].look.right = i > 0
	}
	t.put(0, cells...)
}

// pieceList writes a row for each piece and returns where its price stands.
func (t *tab) pieceList() []string {
	b, k := t.bench, t.bench.looks()
	t.section("Pieces")
	t.heads("Piece", "In the total", "How many", "Hours", "At the bench", "Cost", "Price of one", "Price", "Tax")
	prices := make([]string, len(b.pieces))
	right := k.text
	right.right = true
	for i := range b.pieces {
		o, a := &b.Costing.Pieces[i], &b.pieces[i]
		in := yesNo(o.Included)
		if !o.Included {
			in = strings.Trim(b.standing(i), " []")
			in, _, _ = strings.Cut(in, ",")
		}
		var cost num.Money
		for s := range o.BuildUp {
			if o.BuildUp[s].Name == "cost" {
				cost = o.BuildUp[s].Amount
			}
		}
		t.put(tight, cell{value: a.letter + "  " + oneLine(o.Title), look: k.text}, cell{value: in, look: right}, cell{value: o.Quantity, look: k.number},
			t.refer(a.hours, decimal(o.Hours), k.number.as(fixed(2))), t.refer(a.benchHours, decimal(o.BenchHours), k.number.as(fixed(2))),
			t.refer(a.steps["cost"], float(cost), k.money), t.refer(a.unitPrice, float(o.UnitPrice), k.money), t.refer(a.toPrice, float(o.Price), k.money),
			cell{value: o.Tax, look: right})
		prices[i] = t.at(7, t.row)
	}
	return prices
}

// A portion is a share of the price: where it stands for each piece, and its amount.
type portion struct {
	words   string
	at      []string    // by piece; "" where the piece has none
	amounts []num.Money // by piece
	strong  bool        // a sum of those above
}

// portions returns what the prices are made of, the stages of work one by one.
func (b *bench) portions() []portion {
	var list []portion
	add := func(words string, strong bool, of func(i int) (string, num.Money)) {
		p := portion{words: words, strong: strong}
		for i := range b.pieces {
			at, m := of(i)
			p.at, p.amounts = append(p.at, at), append(p.amounts, m)
		}
		list = append(list, p)
	}
	heading := func(h int) {
		add(headingNames()[h], false, func(i int) (string, num.Money) {
			o := &b.Costing.Pieces[i]
			return b.pieces[i].headings[h], b.total(o.Headings()[h])
		})
	}
	for h := timberHeading; h < labourHeading; h++ {
		heading(h)
	}
	for _, s := range b.Book.Data().Stages {
		add("Labour: "+oneLine(s.Description), false, func(i int) (string, num.Money) {
			lines := b.Costing.Pieces[i].Labour
			if k := slices.IndexFunc(lines, func(l pricing.Line) bool { return l.Code == s.Code }); k >= 0 {
				return b.pieces[i].stages[s.Code], lines[k].Amount
			}
			return "", num.Money{}
		})
	}
	heading(boughtInHeading)
	for _, name := range []string{"overhead", "contingency", "cost", "profit", "fees", "rounding", "price"} {
		add(capital(name), name == "cost" || name == "price", func(i int) (string, num.Money) {
			steps := b.Costing.Pieces[i].BuildUp
			k := slices.IndexFunc(steps, func(s pricing.Step) bool { return s.Name == name })
			return b.pieces[i].steps[name], steps[k].Amount
		})
	}
	return list
}

// whereItGoes writes what the pieces in the total are made of, with a chart.
func (t *tab) whereItGoes() {
	b, k := t.bench, t.bench.looks()
	t.together(360)
	t.section("Where the price goes, of the pieces in the total")
	first := t.row + 1
	for _, p := range b.portions() {
		var cells []string
		sum := b.Costing.Currency.Zero()
		for i, at := range p.at {
			if at != "" && b.Costing.Pieces[i].Included {
				cells = append(cells, at)
				sum = sum.Plus(p.amounts[i])
			}
		}
		if len(cells) > 0 && !p.strong {
			t.put(tight, cell{value: p.words, look: k.text}, cell{value: float(sum), formula: t.sum(b.places, cells), look: k.money})
		}
	}
	last := t.row
	if last < first {
		return
	}
	text := k.text
	text.bold, text.over = true, true
	t.put(tight, cell{value: "Net", look: text}, cell{
		value: float(b.Costing.Totals.Net), look: k.total, formula: b.round("SUM(" + t.at(1, first) + ":" + t.at(1, last) + ")"),
	})
	for t.row-first < chartRows-1 {
		t.put(tight, cell{})
	}
	b.check(t.chart(first, last))
}

// chartRows is the least number of rows that a chart stands beside.
const chartRows = 22

// chart adds the chart of the portions of a price in those rows, beside them and
// the rows written since.
func (t *tab) chart(first, last int) error {
	const digit = 8       // pixels, in which a chart's width is counted out in columns
	const defaultRow = 18 // pixels, in which its height is counted out in rows
	b, width, rows := t.bench, 0, t.row-first+1
	for _, w := range t.wide[2:] {
		width += int(chars(w)*digit + 0.5)
	}
	cells := func(column string) string {
		return summaryName + "!$" + column + "$" + strconv.Itoa(first) + ":$" + column + "$" + strconv.Itoa(last)
	}
	format := moneyFormat(b.Costing.Currency, false)
	plain := false
	return b.file.AddChart(summaryName, t.at(2, first), &excelize.Chart{
		Type: excelize.Bar, VaryColors: &plain,
		Series: []excelize.ChartSeries{{
			Name: summaryName + "!$A$" + strconv.Itoa(last+1), Categories: cells("A"), Values: cells("B"),
			Fill:      excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"8A6D3B"}},
			DataLabel: excelize.ChartDataLabel{Font: excelize.Font{Size: 8, Family: sans, Color: ink}},
		}},
		Format:    excelize.GraphicOptions{AltText: "A bar for each part of the price: materials, stages of work, overhead, profit and the rest"},
		Dimension: excelize.ChartDimension{Width: uint(width - 4), Height: uint(rows * defaultRow)},
		Legend:    excelize.ChartLegend{Position: "none"},
		XAxis:     excelize.ChartAxis{ReverseOrder: true, TickLabelPosition: excelize.ChartTickLabelLow, Font: excelize.Font{Size: 8, Family: sans, Color: ink}},
		YAxis:     excelize.ChartAxis{None: true},
		PlotArea:  excelize.ChartPlotArea{ShowVal: true, NumFmt: excelize.ChartNumFmt{CustomNumFmt: format}},
	})
}

// byPiece writes what each piece is made of, as many pieces beside each other as
// a page is wide; a single piece stands above already.
func (t *tab) byPiece() {
	b := t.bench
	if len(b.pieces) == 1 && b.Costing.Pieces[0].Included {
		return
	}
	list := b.portions()
	for from := 0; from < len(b.pieces); from += summaryFigures {
		to := min(from+summaryFigures, len(b.pieces))
		t.together(300)
		t.section("What each piece is made of")
		heads := []string{"Part of the price"}
		for i := from; i < to; i++ {
			heads = append(heads, clip(b.pieces[i].letter+"  "+oneLine(b.Costing.Pieces[i].Title), 60)+b.standing(i))
		}
		t.heads(heads...)
		for _, p := range list {
			t.portion(&p, from, to)
		}
	}
}

// portion writes one part of the price of some pieces, if any of them has it.
func (t *tab) portion(p *portion, from, to int) {
	k := t.bench.looks()
	text, money := k.text, k.money
	if p.strong {
		text.bold, text.over, money = true, true, k.total
	}
	cells := []cell{{value: p.words, look: text}}
	any := false
	for i := from; i < to; i++ {
		c := cell{look: money}
		if p.at[i] != "" {
			any, c = true, t.refer(p.at[i], float(p.amounts[i]), money)
		}
		cells = append(cells, c)
	}
	if any {
		t.put(tight, cells...)
	}
}

// Room for a picture on the summary, in points, and the columns of figures that
// it stands beside.
const (
	frontWide, frontHigh = 330.0, 250.0
	frontColumns         = 4
)

// front lays the front elevation of the first piece that has one beside what is
// written next, and returns how far down the page it comes.
func (t *tab) front() float64 {
	const head = 40 // rows above it, in points
	i, ok := FrontPiece(*t.bench.Paper)
	room := min(frontHigh, t.page-t.used-head)
	if !ok || t.pages > 0 || room < frontHigh/2 {
		return 0
	}
	d, ok := t.bench.elevation(i)
	if !ok {
		return 0
	}
	wide, high := inPoints(d.wide), inPoints(d.high)
	most := min(frontWide, wide, room*wide/high)
	x := 0.0
	for _, w := range t.wide[:frontColumns+1] {
		x += w
	}
	t.picture(&d, spot{row: t.row + 4, x: x, most: most})
	return t.used + head + most*high/wide
}
