package exports

import (
	"io"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"
)

// Sizes of paper in points, and excelize's numbers for them.
const (
	a4Number, a4Wide, a4High             = 9, 595.0, 842.0
	letterNumber, letterWide, letterHigh = 1, 612.0, 792.0

	inch       = 72.0
	sideMargin = 0.75 * inch
	headMargin = 0.7 * inch
	footMargin = 0.8 * inch

	lineHeight = 1.28 // of the type size
	maxLines   = 25   // of one row of long text
	maxHeight  = 409  // of a row, points
)

// A look is how a cell is drawn.
type look struct {
	size    float64 // of the type, points
	serif   bool
	bold    bool
	grey    bool
	right   bool
	under   bool   // a thin rule under the cell
	over    bool   // a thin rule over it
	upright string // where the text stands in the row: "" (the top), "center", "bottom"
	format  string // of a number
	wraps   bool   // long text: it wraps
}

// A cell is what stands in a number of columns.
type cell struct {
	value   any // string, number or nil
	formula string
	look    look
	span    int // columns taken; 0: one
}

// A sheet writes the rows of one sheet from the top, and keeps how far down the
// page they come. Its first error stops it.
type sheet struct {
	file   *excelize.File
	stream *excelize.StreamWriter
	styles map[look]int
	wide   []float64 // of the columns, points
	page   float64   // height of what one page holds, in points of the sheet
	repeat float64   // height of the row that every page after the first begins with
	used   float64   // of the page at hand
	pages  int       // begun before the page at hand
	row    int       // the last one written
	err    error
}

// newSheet returns a sheet of that name on paper, "a4" or "letter", in a new
// file; the columns have the widths given.
func newSheet(name, paper string, wide []float64) *sheet {
	s := &sheet{file: excelize.NewFile(), styles: make(map[look]int), wide: wide}
	number, across, high := a4Number, a4Wide, a4High
	if paper == "letter" {
		number, across, high = letterNumber, letterWide, letterHigh
	}
	total := 0.0
	for _, w := range wide {
		total += w
	}
	s.page = (high - headMargin - footMargin) * max(1, total/(across-2*sideMargin))
	s.file.SetZipWriter(newArchive)
	s.check(s.file.SetDefaultFont(sans))
	s.check(s.file.SetSheetName("Sheet1", name))
	s.check(s.file.SetSheetView(name, 0, &excelize.ViewOptions{ShowGridLines: new(bool)}))
	one, none, portrait, yes := 1, 0, "portrait", true
	s.check(s.file.SetPageLayout(name, &excelize.PageLayoutOptions{Size: &number, Orientation: &portrait, FitToWidth: &one, FitToHeight: &none}))
	s.check(s.file.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: &yes}))
	side, head, foot, edge := sideMargin/inch, headMargin/inch, footMargin/inch, 0.4
	s.check(s.file.SetPageMargins(name, &excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &head, Bottom: &foot, Header: &edge, Footer: &edge, Horizontally: &yes}))
	s.check(s.file.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &yes}))
	stream, err := s.file.NewStreamWriter(name)
	if s.check(err); err != nil {
		return s
	}
	s.stream = stream
	for i, w := range wide {
		s.check(stream.SetColWidth(i+1, i+1, chars(w)))
	}
	return s
}

// chars returns a width in points as a workbook counts it: digits of the default
// typeface, 8 pixels of 3/4 point each, and 5 pixels of padding.
func chars(points float64) float64 {
	const digit, padding, pixel = 8, 5, 0.75
	return (points/pixel - padding) / digit
}

func (s *sheet) check(err error) {
	if s.err == nil {
		s.err = err
	}
}

// put writes a row; without a height it is as high as its longest text.
func (s *sheet) put(height float64, cells ...cell) {
	if s.err != nil {
		return
	}
	s.row++
	values := make([]any, 0, len(s.wide))
	for _, c := range cells {
		at, span := len(values), max(1, c.span)
		width := 0.0
		for i := range span {
			width += s.wide[at+i]
			values = append(values, excelize.Cell{StyleID: s.style(c.look)})
		}
		if text, ok := c.value.(string); ok && text != "" {
			c.value = clip(text, maxCell)
			if lines := len(c.look.lines(text, width)); height == 0 || c.look.wraps {
				height = max(height, float64(lines)*c.look.size*lineHeight+3)
			}
		}
		values[at] = excelize.Cell{StyleID: s.style(c.look), Formula: c.formula, Value: c.value}
		if span > 1 {
			from, to := s.at(at, s.row), s.at(at+span-1, s.row)
			s.check(s.stream.MergeCell(from, to))
		}
	}
	height = min(height, maxHeight)
	if s.used+height > s.page {
		s.turn()
	}
	s.used += height
	s.check(s.stream.SetRow(s.at(0, s.row), values, excelize.RowOpts{Height: height}))
}

// at returns the name of a cell: at(3, 7) is "D7".
func (s *sheet) at(column, row int) string { return string(rune('A'+column)) + strconv.Itoa(row) }

// space leaves room between rows.
func (s *sheet) space(points float64) { s.put(points, cell{}) }

// rule draws a thin rule across the sheet.
func (s *sheet) rule() { s.put(5, cell{look: look{under: true}, span: len(s.wide)}) }

// paragraphs writes long text over that many columns, a row for each of its
// paragraphs, or several where one row could not hold it.
func (s *sheet) paragraphs(text string, l look, span int) {
	l.wraps = true
	width := 0.0
	for _, w := range s.wide[:span] {
		width += w
	}
	for _, p := range splitLines(clean(text)) {
		if lines := l.lines(p, width); len(lines) > maxLines {
			for len(lines) > 0 {
				n := min(maxLines, len(lines))
				s.put(0, cell{value: joinLines(lines[:n]), look: l, span: span})
				lines = lines[n:]
			}
			continue
		}
		s.put(0, cell{value: p, look: l, span: span})
	}
}

// together begins a new page unless that many points are left on this one.
func (s *sheet) together(points float64) {
	if s.err == nil && s.used+points > s.page && s.used > 0 {
		s.check(s.stream.InsertPageBreak(s.at(0, s.row+1)))
		s.turn()
	}
}

// turn begins the next page.
func (s *sheet) turn() {
	s.pages++
	s.used = s.repeat
}

// Colours and typefaces.
const (
	ink, soft, hair = "222222", "666666", "B8B8B8"
	sans, serif     = "Arial", "Times New Roman"
)

// style returns the number of a look in the file.
func (s *sheet) style(l look) int {
	if id, ok := s.styles[l]; ok {
		return id
	}
	font := excelize.Font{Family: sans, Size: l.size, Bold: l.bold, Color: ink}
	if l.size == 0 {
		font.Size = 9
	}
	if l.serif {
		font.Family = serif
	}
	if l.grey {
		font.Color = soft
	}
	st := excelize.Style{Font: &font, Alignment: &excelize.Alignment{Horizontal: "left", Vertical: "top", WrapText: l.wraps}}
	if l.right {
		st.Alignment.Horizontal = "right"
	}
	if l.upright != "" {
		st.Alignment.Vertical = l.upright
	}
	if l.under {
		st.Border = append(st.Border, excelize.Border{Type: "bottom", Color: hair, Style: 1})
	}
	if l.over {
		st.Border = append(st.Border, excelize.Border{Type: "top", Color: hair, Style: 1})
	}
	if l.format != "" {
		st.CustomNumFmt = &l.format
	}
	id, err := s.file.NewStyle(&st)
	s.check(err)
	s.styles[l] = id
	return id
}

// properties are what a file says of itself.
type properties struct {
	title, maker string
	made         time.Time
	footer       string // left of the page's number
	titles       int    // the row that is printed on every page
}

// finish completes the file, writes it and closes it.
func (s *sheet) finish(w io.Writer, p properties) error {
	name := s.file.GetSheetName(0)
	s.check(s.file.SetHeaderFooter(name, &excelize.HeaderFooterOptions{
		OddFooter: "&L&8&K666666" + footerText(p.footer) + "&R&8&K666666Page &P of &N",
	}))
	row := strconv.Itoa(p.titles)
	s.check(s.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", Scope: name, RefersTo: name + "!$" + row + ":$" + row}))
	made := p.made.UTC().Format(time.RFC3339)
	s.check(s.file.SetDocProps(&excelize.DocProperties{
		Title: p.title, Creator: p.maker, LastModifiedBy: p.maker, Created: made, Modified: made, Language: "en-GB",
	}))
	s.check(s.file.SetAppProps(&excelize.AppProperties{Application: "Reckoner", DocSecurity: 0}))
	if s.err == nil {
		s.check(s.stream.Flush())
	}
	if s.err == nil {
		_, err := s.file.WriteTo(w)
		s.check(err)
	}
	s.check(s.file.Close())
	return s.err
}
