package exports

import (
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Columns of the cutting plan: those of the parts, beside them those of the cuts. A
// picture stands in the place of the parts.
const (
	planNameColumn  = 3
	planGapColumn   = 7
	planTickColumn  = 8
	planCutsColumns = 5
)

// maxPictures is how many layouts the cutting plan shows; the rest are in words.
const maxPictures = 60

// A planTab is the sheet of the cutting plans being written.
type planTab struct {
	*tab
	shown int // layouts; the first have a picture
}

// cuttingPlans writes how every sheet of the pieces in the totals is cut, and keeps
// where the count of those charged whole stands; before, costings had no plan.
func (b *bench) cuttingPlans() {
	if len(b.Costing.Cutting) == 0 {
		return
	}
	l := b.looks().head
	r, of := l, l
	r.right, of.indent = true, 1
	t := planTab{tab: b.open(planName, []float64{34, 46, 138, 154, 56, 56, 46, 14, 18, 34, 58, 62, 62},
		cell{value: "Mark", look: l}, cell{value: "Cutting list", look: l}, cell{value: "Piece", look: l}, cell{value: "Part", look: l},
		cell{value: "Length", look: r}, cell{value: "Width", look: r}, cell{value: "How many", look: r}, cell{look: l},
		cell{look: l}, cell{value: "Cut", look: of}, cell{value: "Blade runs", look: l}, cell{value: "At", look: r}, cell{value: "Takes off", look: r})}
	marks := listMarks(b.Paper)
	for i := range b.Costing.Cutting {
		plan := &b.Costing.Cutting[i]
		t.plan(plan)
		t.planParts(plan, marks)
		for k := range plan.Layouts {
			t.layout(plan, k)
		}
	}
	t.close()
}

// listMarks returns the marks that the cutting list gives the parts cut from sheets,
// by piece and sheet, in the order of the costing.
func listMarks(p *Paper) map[[2]string][]string {
	order := cuttingOrder(p)
	byLine := make(map[[2]int]string, len(order))
	for i := range order {
		byLine[[2]int{order[i].piece, order[i].line}] = order[i].mark
	}
	marks := make(map[[2]string][]string)
	for i := range p.Costing.Pieces {
		o := &p.Costing.Pieces[i]
		for k := range o.Parts {
			if c := &o.Parts[k]; c.Area > 0 {
				key := [2]string{o.ID, c.Code}
				marks[key] = append(marks[key], byLine[[2]int{i, k}])
			}
		}
	}
	return marks
}

// plan begins the plan of a sheet: what it comes to and how it is cut.
func (t *planTab) plan(p *pricing.SheetPlan) {
	b, k := t.bench, t.bench.looks()
	t.together(120)
	t.space(8)
	t.put(0, cell{value: p.Code + "  " + oneLine(p.Description), look: look{size: 10, bold: true, under: true, wraps: true}, span: len(t.wide)})
	size := sides(p.Units, p.Length, p.Width) + " " + string(p.Units)
	t.paragraphs(capital(oneLine(p.Finding))+". The sheet is "+size+". "+planTerms(p)+". Offcuts are kept from "+cutSize(p.Units, p.OffcutMin)+" "+string(p.Units)+" on both sides.",
		look{size: 8.5}, len(t.wide))
	if !b.byTheSheet(p.Code) {
		t.paragraphs("Charged by area: this plan says how it can be cut and bears on no price.", look{size: 8.5, grey: true}, len(t.wide))
		return
	}
	row := func(words string, c cell) {
		t.put(tight, cell{value: words, look: k.text, span: planNameColumn + 1}, c)
	}
	sheets := cell{value: p.Sheets, look: k.number, span: 2, input: "plan " + p.Code}
	row("Sheets to fetch, from this plan", sheets)
	together := t.at(planNameColumn+1, t.row)
	if p.Apart == p.Sheets {
		return
	}
	bought := b.bought[p.Code]
	row("Sheets if each piece were cut from sheets of its own", cell{value: p.Apart, formula: t.sum("0", bought.needs), look: k.number, span: 2})
	apart := t.at(planNameColumn+1, t.row)
	row("Saved by cutting them together", cell{
		value: float(p.Saving), formula: b.round("(" + apart + "-" + together + ")*" + t.here(bought.rate)), look: k.money, span: 2,
	})
	b.saved = append(b.saved, t.there(planNameColumn+1, t.row))
}

// byTheSheet reports whether a sheet is charged by the whole, by its cutting plan.
func (b *bench) byTheSheet(code string) bool {
	s := b.Book.Sheet(code)
	return len(b.Costing.Cutting) > 0 && s != nil && s.Charged == book.Whole
}

// planParts lists what is cut from a sheet.
func (t *planTab) planParts(p *pricing.SheetPlan, marks map[[2]string][]string) {
	k := t.bench.looks()
	bold := k.text
	bold.bold = true
	used := make(map[[2]string]int)
	titles := t.bench.titles()
	for i := range p.Parts {
		s := &p.Parts[i]
		key := [2]string{s.Piece, p.Code}
		mark := ""
		if n := used[key]; n < len(marks[key]) {
			mark = marks[key][n]
		}
		used[key]++
		t.put(tight, cell{value: s.Mark, look: bold}, cell{value: mark, look: k.text}, cell{value: oneLine(titles[s.Piece]), look: k.text},
			cell{value: oneLine(s.Name), look: k.text}, sizeCell(s.Length, p.Units, k.number), sizeCell(s.Width, p.Units, k.number), cell{value: s.Quantity, look: k.number})
	}
}

// sizeCell returns the cell of a size.
func sizeCell(d num.Decimal, s unit.System, l look) cell {
	return cell{value: decimal(d), look: l.as(sawFormat(d, s))}
}

// sawFormat returns the number format of a size that is read at the saw.
func sawFormat(d num.Decimal, s unit.System) string {
	if s != unit.InInches && d.Round(2) != d {
		return "0.##"
	}
	return sizeFormat(d, s)
}

// layout writes one layout: what becomes of the sheet, its picture, and beside it
// the cuts in their order.
func (t *planTab) layout(p *pricing.SheetPlan, i int) {
	l := &p.Layouts[i]
	rows, bold := t.cutRows(p, l), t.bench.looks().text
	bold.bold = true
	words := "Layout " + strconv.Itoa(l.Number) + " of " + strconv.Itoa(len(p.Layouts)) + " of " + p.Code + ": cut " + times(l.Count) + ". " +
		onLayout(p, l) + ". " + capital(usedOf(p, l)) + "."
	var d *diagram
	atOnce := min(len(rows), 12)
	if t.shown++; t.shown <= maxPictures {
		d = cuttingDiagram(p, i, draughtings.saw)
		if len(d.bare) > 0 {
			words += " Too narrow in the picture for a mark: " + strings.Join(unique(d.bare), ", ") + "."
		}
		atOnce = max(atOnce, int(t.pictureHigh(d)/tight)+1)
		for len(rows) < atOnce {
			rows = append(rows, make([]cell, planCutsColumns))
		}
	}
	t.together(min(t.page-t.repeat, 50+float64(atOnce)*tight))
	t.space(6)
	t.put(tight, cell{value: words, look: bold, span: len(t.wide)})
	if d != nil {
		t.picture(&d.drawing, spot{row: t.row + 1, x: 2, most: t.beside()})
	}
	for _, r := range rows {
		t.put(tight, append(make([]cell, planTickColumn, len(t.wide)), r...)...)
	}
}

// beside returns the room for a picture, in points: programs count the widths of
// columns a little differently.
func (t *planTab) beside() float64 {
	const sure = 0.94
	wide := 0.0
	for _, w := range t.wide[:planGapColumn] {
		wide += w
	}
	return sure * wide
}

// pictureHigh returns how high a layout's picture is, in points.
func (t *planTab) pictureHigh(d *diagram) float64 {
	return inPoints(d.high) * min(1, t.beside()/inPoints(d.wide))
}

// cutRows returns the cuts of a layout in their order, each with a box to tick, and
// what is left: cells to stand beside the picture.
func (t *planTab) cutRows(p *pricing.SheetPlan, l *pricing.Layout) [][]cell {
	k := t.bench.looks()
	tick, quiet := look{size: 8, box: true}, k.text
	quiet.grey = true
	words := func(s string) []cell {
		return []cell{{look: quiet}, {value: s, look: quiet, span: planCutsColumns - 1}}
	}
	var rows [][]cell
	if p.Trim > 0 {
		rows = append(rows, []cell{{look: tick}, {value: "First trim " + cutSize(p.Units, p.Trim) + " " + string(p.Units) + " along each edge", look: k.of, span: planCutsColumns - 1}})
	}
	for i := range l.Cuts {
		c := &l.Cuts[i]
		rows = append(rows, []cell{
			{look: tick}, {value: c.Number, look: k.of}, {value: direction(c), look: k.text}, sizeCell(c.At, p.Units, k.number), sizeCell(c.Size, p.Units, k.number),
		})
	}
	if len(l.Offcuts) > 0 {
		rows = append(rows, words("Offcuts to keep, as they lie:"))
	}
	for _, s := range offcutSizes(p, l) {
		rows = append(rows, words(s+" "+string(p.Units)))
	}
	return rows
}
