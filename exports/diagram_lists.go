package exports

import (
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/unit"
)

// Sizes on the paper of the lists below a sheet.
const (
	narrowestList = 170 * mm // page that carries lists
	listsColumn   = 78 * mm  // the least width of a column of them
	listGap       = 6 * mm
	listType      = 26 * mm / 10
	listRow       = 36 * mm / 10
	listSecond    = 10 * mm // where the second cell of a row begins
	listFourth    = 16 * mm // how much of a column its fourth cell takes
)

// A listed is a row of a list, of four cells: the first two begin at the left, the
// others end at the right of theirs.
type listed struct {
	cells [4]string
	head  bool
}

// lists writes below the sheet what comes out of it and the cuts in their order,
// in as many columns as the page is wide.
func (d *diagram) lists(titles map[string]string) {
	blocks := [][]listed{d.partRows(titles), d.cutRows(), d.offcutRows()}
	across := d.wide - 2*pageMargin
	n := max(1, int((across+listGap)/(listsColumn+listGap)))
	wide := (across - unit.Length(n-1)*listGap) / unit.Length(n)
	columns := inColumns(blocks, n)
	top, deep := d.high+listRow, 0
	for i, rows := range columns {
		for k := range rows {
			d.row(&rows[k], area{point{pageMargin + unit.Length(i)*(wide+listGap), top + unit.Length(k)*listRow}, wide, listRow})
		}
		deep = max(deep, len(rows))
	}
	d.high = top + unit.Length(deep)*listRow
	d.note("A cut along begins that far from the lower edge of the untrimmed sheet, one across from its left edge, and takes off what lies before it. Blank grey is waste.")
}

// inColumns sets blocks of rows, each with its head, in that many columns, as even
// as they come. A block that goes on in the next column has its head there again.
func inColumns(blocks [][]listed, n int) [][]listed {
	rows := 0
	for _, b := range blocks {
		rows += len(b)
	}
	for deep := max(minDeep, rows/n); ; deep++ {
		columns := [][]listed{nil}
		for _, b := range blocks {
			columns = flowed(columns, b, deep)
		}
		if len(columns) <= n {
			return columns
		}
	}
}

// minDeep is the least number of rows of a column: of a head and two more.
const minDeep = 3

// flowed adds a block to columns that are so many rows deep.
func flowed(columns [][]listed, block []listed, deep int) [][]listed {
	for i := range block {
		last := &columns[len(columns)-1]
		switch used := len(*last); {
		case i == 0 && used > 0 && used+minDeep < deep:
			*last = append(*last, listed{}) // between blocks
		case i == 0 && used > 0, used >= deep:
			columns = append(columns, nil)
			last = &columns[len(columns)-1]
			if i > 0 {
				*last = append(*last, block[0])
			}
		}
		*last = append(*last, block[i])
	}
	return columns
}

// row writes one row of a list.
func (d *diagram) row(r *listed, at area) {
	tone, base := black, at.at.y+listType*capHeight/100
	if r.head {
		tone = dim
		d.line(point{at.at.x, at.at.y + listRow*3/4}, point{at.at.x + at.wide, at.at.y + listRow*3/4})
	}
	third := at.wide - listFourth
	room := third - listSecond - textWidth(r.cells[2], listType) - listType
	if r.cells[2] == "" && r.cells[3] == "" {
		room = at.wide - listSecond
	}
	for i, x := range [4]unit.Length{0, listSecond, third, at.wide} {
		s, side := r.cells[i], rightOf
		switch i {
		case 0:
			s = within(s, listSecond, listType)
		case 1:
			s = within(s, room, listType)
		default:
			side = leftOf
		}
		if s != "" {
			d.add(label{at: point{at.at.x + x, base}, side: side, text: s, size: listType, tone: tone})
		}
	}
}

// within returns s, its end left out where it has no room.
func within(s string, room, size unit.Length) string {
	if textWidth(s, size) <= room {
		return s
	}
	letters := []rune(s)
	for n := len(letters) - 1; n > 0; n-- {
		if short := strings.TrimRight(string(letters[:n]), " ") + "…"; textWidth(short, size) <= room {
			return short
		}
	}
	return ""
}

// note writes a text over the width of the page, below all there is.
func (d *diagram) note(s string) {
	if len(d.bare) > 0 {
		s += " Too narrow here for a mark: " + strings.Join(unique(d.bare), ", ") + "."
	}
	for _, line := range wrap(s, int((d.wide-2*pageMargin)*1000/captionType*100/typeSlack), advance) {
		d.high += captionType * leading / 100
		d.add(label{at: point{pageMargin, d.high}, side: rightOf, text: line, size: captionType, tone: dim})
	}
	d.high += pageMargin
}

// unique returns the texts of a list, each where it first stands.
func unique(list []string) []string {
	seen, out := make(map[string]bool), []string(nil)
	for _, s := range list {
		if !seen[s] {
			seen[s], out = true, append(out, s)
		}
	}
	return out
}

// partRows lists the parts that come off the layout.
func (d *diagram) partRows(titles map[string]string) []listed {
	rows := []listed{{[4]string{"Mark", "Part", "Length x width", "How many"}, true}}
	n := countedOn(d.layout)
	several := false
	for i := range d.plan.Parts {
		several = several || d.plan.Parts[i].Piece != d.plan.Parts[0].Piece
	}
	for i := range d.plan.Parts {
		p := &d.plan.Parts[i]
		if n[p.Mark] == 0 {
			continue
		}
		name := clip(oneLine(p.Name), maxTitle)
		if several {
			name += ", " + clip(oneLine(titles[p.Piece]), maxTitle)
		}
		rows = append(rows, listed{cells: [4]string{p.Mark, name, sides(d.units, p.Length, p.Width), strconv.Itoa(n[p.Mark])}})
	}
	return rows
}

// cutRows lists the cuts in their order.
func (d *diagram) cutRows() []listed {
	rows := []listed{{[4]string{"Cut", "The blade runs", "At", "Takes off"}, true}}
	if d.plan.Trim > 0 {
		rows = append(rows, listed{cells: [4]string{"First", "trim " + cutSize(d.units, d.plan.Trim) + " " + string(d.units) + " along each edge", "", ""}})
	}
	for i := range d.layout.Cuts {
		c := &d.layout.Cuts[i]
		rows = append(rows, listed{cells: [4]string{strconv.Itoa(c.Number), direction(c), cutSize(d.units, c.At), cutSize(d.units, c.Size)}})
	}
	return rows
}

// direction says which way the blade runs.
func direction(c *pricing.SheetCut) string {
	if c.Along {
		return "along"
	}
	return "across"
}

// offcutRows lists the offcuts worth keeping, those of one size together.
func (d *diagram) offcutRows() []listed {
	var rows []listed
	n, sizes := make(map[string]int), offcutSizes(d.plan, d.layout)
	for _, s := range sizes {
		n[s]++
	}
	for _, s := range unique(sizes) {
		rows = append(rows, listed{cells: [4]string{"", "offcut to keep", s, strconv.Itoa(n[s])}})
	}
	if len(rows) > 0 {
		rows = append([]listed{{[4]string{"", "Offcuts, as they lie", "Length x width", "How many"}, true}}, rows...)
	}
	return rows
}
