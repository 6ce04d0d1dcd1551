package exports

import (
	"errors"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// Sizes of paper in points, and excelize's numbers for them.
const (
	a4Number, a4Wide, a4High             = 9, 595.0, 842.0
	letterNumber, letterWide, letterHigh = 1, 612.0, 792.0

	inch       = 72.0
	sideMargin = 0.75 * inch

	landscapeMargin = 0.5 * inch // at the sides

	headMargin = 0.7 * inch
	footMargin = 0.8 * inch

	slack      = 0.96 // of a page that is planned with: programs differ by a row
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
	upright string // where the text stands in the row: "" (the top), "center", "bottom", "justify" (its lines fill it)
	format  string // of a number
	wraps   bool   // long text: it wraps
	input   bool   // a figure to change: lightly filled
	box     bool   // ruled on all four sides
	middle  bool   // centred in its columns
	indent  int    // steps in from the left
}

// A cell is what stands in a number of columns.
type cell struct {
	value   any // string, number or nil
	formula string
	look    look
	span    int    // columns taken; 0: one
	input   string // of a workshop's figure to change: its name
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
	prints []print   // painted so far
	err    error
}

// A layout is the paper that a sheet prints on, one page wide, and its columns.
type layout struct {
	paper     string // "a4" or "letter"
	landscape bool
	wide      []float64 // points
	frozen    int       // rows that stay in sight
	grid      bool      // the lines between its cells are shown
	below     []look    // of the columns' cells under the rows written
}

// newSheet returns a sheet of that name on paper, "a4" or "letter", in a new
// file; the columns have the widths given.
func newSheet(name, paper string, wide []float64) *sheet {
	return newBinder(name).open(name, layout{paper: paper, wide: wide})
}

// A binder is a file whose sheets are being written, and their looks.
type binder struct {
	file   *excelize.File
	styles map[look]int
	err    error // the first
}

// newBinder returns a new file with empty sheets of those names.
func newBinder(names ...string) *binder {
	b := &binder{file: excelize.NewFile(), styles: make(map[look]int)}
	yes := true
	b.file.SetZipWriter(newArchive)
	b.check(b.file.SetDefaultFont(sans))
	b.check(b.file.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &yes}))
	b.check(b.file.SetSheetName("Sheet1", names[0]))
	for _, name := range names[1:] {
		_, err := b.file.NewSheet(name)
		b.check(err)
	}
	return b
}

func (b *binder) check(err error) {
	if b.err == nil {
		b.err = err
	}
}

// open begins the sheet of that name.
func (b *binder) open(name string, l layout) *sheet {
	s := &sheet{file: b.file, styles: b.styles, wide: l.wide, err: b.err}
	s.check(s.file.SetSheetView(name, 0, &excelize.ViewOptions{ShowGridLines: &l.grid}))
	s.setUp(name, l)
	stream, err := s.file.NewStreamWriter(name)
	if s.check(err); err != nil {
		return s
	}
	s.stream = stream
	for i := len(l.wide); i > 0; { // from the right, so that the file has them from the left; columns of one width at once
		first := i
		for first > 1 && l.wide[first-2] == l.wide[i-1] {
			first--
		}
		s.check(stream.SetColWidth(first, i, chars(l.wide[i-1])))
		i = first - 1
	}
	for i := len(l.below); i > 0; i-- {
		s.check(stream.SetColStyle(i, i, s.style(l.below[i-1])))
	}
	if l.frozen > 0 {
		s.check(stream.SetPanes(&excelize.Panes{Freeze: true, YSplit: l.frozen, TopLeftCell: s.at(0, l.frozen+1), ActivePane: "bottomLeft"}))
	}
	return s
}

// setUp sets the page up and works out how much it holds.
func (s *sheet) setUp(name string, l layout) {
	number, across, high := a4Number, a4Wide, a4High
	if l.paper == "letter" {
		number, across, high = letterNumber, letterWide, letterHigh
	}
	way, margin := "portrait", sideMargin
	if l.landscape {
		way, margin, across, high = "landscape", landscapeMargin, high, across
	}
	total := 0.0
	for _, w := range l.wide {
		total += w
	}
	s.page = slack * (high - headMargin - footMargin) * max(1, total/(across-2*margin))
	one, none, yes := 1, 0, true
	s.check(s.file.SetPageLayout(name, &excelize.PageLayoutOptions{Size: &number, Orientation: &way, FitToWidth: &one, FitToHeight: &none}))
	s.check(s.file.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: &yes}))
	side, head, foot, edge := margin/inch, headMargin/inch, footMargin/inch, 0.4
	s.check(s.file.SetPageMargins(name, &excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &head, Bottom: &foot, Header: &edge, Footer: &edge, Horizontally: &yes}))
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
		at, span, style := len(values), max(1, c.span), s.style(c.look)
		width := s.wide[at]
		values = append(values, nil)
		for i := 1; i < span; i++ {
			width += s.wide[at+i]
			values = append(values, excelize.Cell{StyleID: style})
		}
		if text, ok := c.value.(string); ok && text != "" {
			c.value = clip(text, maxCell)
			if lines := len(c.look.lines(text, width)); height == 0 || lines > 1 && c.look.wraps {
				height = max(height, float64(lines)*c.look.size*lineHeight+3)
			}
		}
		values[at] = excelize.Cell{StyleID: style, Formula: c.formula, Value: c.value}
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
	fill            = "FFF4CC" // of figures to change
	sans, serif     = "Arial", "Times New Roman"
)

// ruled returns the sides of a cell that are ruled.
func (l look) ruled() []string {
	switch {
	case l.box:
		return []string{"left", "right", "top", "bottom"}
	case l.under && l.over:
		return []string{"bottom", "top"}
	case l.under:
		return []string{"bottom"}
	case l.over:
		return []string{"top"}
	}
	return nil
}

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
	st.Alignment.Indent = l.indent
	switch {
	case l.right:
		st.Alignment.Horizontal = "right"
	case l.middle:
		st.Alignment.Horizontal = "center"
	}
	if l.upright != "" {
		st.Alignment.Vertical = l.upright
	}
	if l.input {
		st.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{fill}}
	}
	for _, side := range l.ruled() {
		st.Border = append(st.Border, excelize.Border{Type: side, Color: hair, Style: 1})
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
	from, titles int    // the rows printed on every page; without from, the row titles
}

// finish completes the file, writes it and closes it.
func (s *sheet) finish(w io.Writer, p properties) error {
	name := s.file.GetSheetName(0)
	s.foot(name, p)
	s.check(repeatRows(s.file, name, p))
	s.check(s.file.SetDefinedName(&excelize.DefinedName{ // else what a picture covers would widen the page
		Name: "_xlnm.Print_Area", Scope: name, RefersTo: quoted(name) + "!$A:$" + string(rune('A'+len(s.wide)-1)),
	}))
	s.check(describe(s.file, p))
	return s.write(w)
}

// foot sets what is printed on every page of the sheet and completes it.
func (s *sheet) foot(name string, p properties) {
	s.check(s.file.SetHeaderFooter(name, &excelize.HeaderFooterOptions{
		OddFooter: "&L&8&K666666" + footerText(p.footer) + "&R&8&K666666Page &P of &N",
	}))
	if s.err == nil {
		s.check(s.stream.Flush())
	}
}

// repeatRows has the rows of a sheet printed on every page.
func repeatRows(file *excelize.File, name string, p properties) error {
	from, to := strconv.Itoa(p.from), strconv.Itoa(p.titles)
	if p.from == 0 {
		from = to
	}
	return file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", Scope: name, RefersTo: quoted(name) + "!$" + from + ":$" + to})
}

// quoted returns a sheet's name as formulas write it.
func quoted(name string) string {
	if strings.ContainsAny(name, " -") {
		return "'" + name + "'"
	}
	return name
}

// describe writes what a file says of itself.
func describe(file *excelize.File, p properties) error {
	made := p.made.UTC().Format(time.RFC3339)
	return errors.Join(
		file.SetDocProps(&excelize.DocProperties{
			Title: p.title, Creator: p.maker, LastModifiedBy: p.maker, Created: made, Modified: made, Language: "en-GB",
		}),
		file.SetAppProps(&excelize.AppProperties{Application: "Reckoner", DocSecurity: 0}))
}

// write writes the file, if nothing went wrong before, and closes it.
func (s *sheet) write(w io.Writer) error {
	if s.err == nil {
		_, err := s.file.WriteTo(w)
		s.check(err)
	}
	s.check(s.file.Close())
	return s.err
}
