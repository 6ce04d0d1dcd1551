package exports

import (
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"reckoner/pricing"
	"reckoner/pricing/num"
)

// Names of the workshop's sheets, in their order.
const (
	summaryName     = "Summary"
	cuttingName     = "Cutting list"
	planName        = "Cutting plan"
	timberName      = "Timber"
	sheetsName      = "Sheets"
	ironmongeryName = "Ironmongery"
	suppliesName    = "Supplies"
	labourName      = "Labour"
	buildUpName     = "Build-up"
	buyingName      = "Buying list"
	measuresName    = "Measures"
	checksName      = "Checks and cautions"
)

// sheetNames are the sheets of a costing's workbook in their order.
func sheetNames(c *pricing.Costing) []string {
	names := []string{
		summaryName, cuttingName, timberName, sheetsName, ironmongeryName, suppliesName,
		labourName, buildUpName, buyingName, measuresName, checksName,
	}
	if len(c.Cutting) > 0 {
		names = slices.Insert(names, 2, planName)
	}
	return names
}

// A bench is a workshop's workbook being written.
type bench struct {
	*Paper
	*binder
	places  string // decimals of the currency, as formulas write them
	made    properties
	inputs  map[string]string // by what it is: where an input stands, "Labour!F4"
	names   map[string]bool   // given to inputs, in lower case
	pieces  []account
	bought  map[string]*purchase
	saved   []string          // where it stands what cutting pieces together saves, by sheet
	timbers map[string]string // code of the timber of a sawn thickness
	rules   map[string]int    // place of a rule in the book
}

// An account is where the figures of one piece stand.
type account struct {
	letter             string
	keys               string               // range of the cutting list: what each line is priced as
	volumes, areas     string               // ranges beside it
	priced             map[[2]string]string // code and role: what lines of the cutting list are priced as
	measures           map[string][]tallied // by name
	headings           [headingCount]string // totals; "" where nothing stands
	stages             map[string]string    // amount of a stage
	hours, benchHours  string               // "" where no work is done
	steps              map[string]string    // amounts of the build-up
	unitPrice, toPrice string               // of one; of the line
}

// A tallied is a share of a measure and where it stands.
type tallied struct {
	*pricing.Measured
	at string
}

// A purchase is what is bought of one code: what each piece line included needs,
// as expressions, and where its price stands.
type purchase struct {
	needs []string
	rate  string
}

// Headings of a price, in the order of the sheets.
const (
	timberHeading = iota
	sheetsHeading
	ironmongeryHeading
	suppliesHeading
	labourHeading
	boughtInHeading
	headingCount
)

// headingNames are the headings in words.
func headingNames() [headingCount]string {
	return [...]string{"Timber", "Sheets", "Ironmongery", "Supplies", "Labour", "Bought in"}
}

// Workshop writes the bench's workbook: how every figure of the costing came
// about, on sheets that print one page wide. Every amount is a formula, from the
// measures to the price and the totals, with the costing's own exact figure
// stored beside it; an amount that was typed is an input. Each rate, rule's
// minutes, factor and term, each count of whole sheets that a cutting plan found,
// and each waste that shares no line with another, stands once as an input that
// everything else refers to, filled and with a defined name that begins with "in_".
// Sizes and measures are values, and what comes to nothing stands on no sheet; a
// costing without cutting plans has no sheet of them. Alternatives and extras stand beside the
// rest, marked, and in no total. The same Paper is the same bytes.
func Workshop(w io.Writer, p Paper) error {
	if p.Book == nil || len(p.Request.Pieces) != len(p.Costing.Pieces) {
		return errors.New("exports: a workshop's workbook needs the book and the request of its costing")
	}
	b := newBench(&p)
	b.cuttingList()
	b.measures()
	b.timber()
	b.sheetMaterials()
	b.cuttingPlans()
	b.ironmongery()
	b.supplies()
	b.labour()
	b.buildUp()
	b.buying()
	b.summary()
	b.checks()
	return b.finish(w)
}

// newBench returns a workbook with all its sheets, empty.
func newBench(p *Paper) *bench {
	c := &p.Costing
	b := &bench{
		Paper: p, binder: newBinder(sheetNames(c)...), places: strconv.Itoa(c.Currency.Places()),
		inputs: make(map[string]string), names: make(map[string]bool), pieces: make([]account, len(c.Pieces)),
		bought: make(map[string]*purchase), timbers: timberCodes(p), rules: make(map[string]int),
	}
	for i := range p.Book.Data().Rules {
		b.rules[p.Book.Data().Rules[i].Code] = i
	}
	for i := range b.pieces {
		b.pieces[i] = account{
			letter: pricing.Mark(i), priced: make(map[[2]string]string), measures: make(map[string][]tallied),
			stages: make(map[string]string), steps: make(map[string]string),
		}
	}
	b.made = properties{title: strings.Join(filled("Workshop", p.Number), " "), maker: oneLine(c.Terms.Workshop.Name), made: p.Issued}
	if b.made.made.IsZero() {
		b.made.made = midnight(c.AsOf)
	}
	return b
}

// finish writes the file.
func (b *bench) finish(w io.Writer) error {
	b.check(describe(b.file, b.made))
	for _, name := range sheetNames(&b.Costing) { // after the inputs' names: a file looks through those of sheets slowly
		p := properties{from: titleRow, titles: headRow}
		if name == summaryName {
			p.titles = titleRow
		}
		b.check(repeatRows(b.file, name, p))
	}
	if b.err == nil {
		_, b.err = b.file.WriteTo(w)
	}
	b.check(b.file.Close())
	return b.err
}

// titleRow and headRow are printed on every page and stay in sight.
const (
	titleRow = iota + 1
	headRow
)

// A tab is one sheet of the workbook.
type tab struct {
	*sheet
	bench *bench
	name  string
}

// open begins a sheet with its title and the heads of its columns.
func (b *bench) open(name string, wide []float64, heads ...cell) *tab {
	l := layout{paper: b.Costing.Terms.Workshop.Paper, landscape: true, wide: wide, frozen: headRow}
	if len(heads) == 0 {
		l.frozen = titleRow
	}
	t := &tab{sheet: b.binder.open(name, l), bench: b, name: name}
	title := strings.Join(filled(b.Number, b.Title), " · ")
	if title == "" && len(b.Costing.Pieces) > 0 {
		title = oneLine(b.Costing.Pieces[0].Title)
		if n := len(b.Costing.Pieces) - 1; n > 0 {
			title += " and " + several(n, "other", "others")
		}
	}
	t.put(22, cell{value: name + ": " + clip(title, 120), look: look{size: 13, serif: true}, span: len(wide)})
	if len(heads) > 0 {
		t.put(0, heads...)
	}
	t.repeat = t.used
	return t
}

// close completes a sheet.
func (t *tab) close() {
	p := t.bench.made
	p.footer = strings.Join(filled(p.title, t.name), " · ")
	t.foot(t.name, p)
	t.bench.check(t.err)
}

// put writes a row. A cell that names an input is that input when it is the
// first to do so, and refers to it when it is not.
func (t *tab) put(height float64, cells ...cell) {
	column := 0
	for i := range cells {
		c := &cells[i]
		if c.input != "" {
			if at := t.bench.inputs[c.input]; at != "" {
				c.formula = t.here(at)
			} else {
				t.bench.input(c.input, t.name, t.at(column, t.row+1))
				c.look.input = true
			}
		}
		column += max(1, c.span)
	}
	t.sheet.put(height, cells...)
}

// input gives the cell of an input its name.
func (b *bench) input(key, sheet, at string) {
	b.inputs[key] = quoted(sheet) + "!" + at
	name := "in_" + strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			return r
		}
		return '_'
	}, key)
	unique := name
	for n := 2; b.names[strings.ToLower(unique)]; n++ {
		unique = name + "_" + strconv.Itoa(n)
	}
	b.names[strings.ToLower(unique)] = true
	letters := strings.TrimRight(at, "0123456789")
	b.check(b.file.SetDefinedName(&excelize.DefinedName{Name: unique, RefersTo: quoted(sheet) + "!$" + letters + "$" + at[len(letters):]}))
}

// here returns a reference as this sheet writes it: without its own name.
func (t *tab) here(at string) string { return strings.TrimPrefix(at, quoted(t.name)+"!") }

// there returns a cell of this sheet as other sheets refer to it.
func (t *tab) there(column, row int) string { return quoted(t.name) + "!" + t.at(column, row) }

// refer returns a cell whose figure stands elsewhere; a value where it does not.
func (t *tab) refer(at string, value any, l look) cell {
	return cell{value: value, formula: t.here(at), look: l}
}

// title begins the block of a piece.
func (t *tab) title(i int) { t.titled(i, "") }

// titleOf returns the title of a piece with its letter, its quantity and whether
// it is in the totals.
func (b *bench) titleOf(i int) string {
	o := &b.Costing.Pieces[i]
	s := b.pieces[i].letter + "  " + oneLine(o.Title)
	if o.Quantity > 1 {
		s += " (" + strconv.Itoa(o.Quantity) + ")"
	}
	return s + b.standing(i)
}

// standing says of a piece in no total what it is.
func (b *bench) standing(i int) string {
	switch q := &b.Request.Pieces[i]; {
	case b.Costing.Pieces[i].Included:
		return ""
	case q.Optional:
		return " [extra, in no total]"
	}
	return " [alternative, in no total]"
}

// section writes the heading of a part of a sheet.
func (t *tab) section(s string) {
	t.together(60)
	t.space(8)
	t.put(0, cell{value: s, look: look{size: 10, bold: true, under: true}, span: len(t.wide)})
}

// sum returns the formula that adds cells up and rounds to places, or "" for
// none. It adds them in groups, for a function takes 255 arguments.
func (t *tab) sum(places string, cells []string) string {
	if len(cells) == 0 {
		return ""
	}
	const group = 200
	var f strings.Builder
	f.WriteString("ROUND(")
	for i := 0; i < len(cells); i += group {
		if i > 0 {
			f.WriteByte('+')
		}
		f.WriteString("SUM(")
		for k, c := range cells[i:min(i+group, len(cells))] {
			if k > 0 {
				f.WriteByte(',')
			}
			f.WriteString(t.here(c))
		}
		f.WriteByte(')')
	}
	f.WriteString("," + places + ")")
	return f.String()
}

// decimal, rate and part return figures as a workbook stores them.
func decimal(d num.Decimal) float64 { return float64(d) / float64(num.One) }
func rate(r num.Rate) float64       { return float64(r) / 10_000 }
func part(p num.Percent) float64    { return float64(p) / 100 }

// points returns the hundredths of a percent that a cell of percent holds, as a
// formula.
func points(at string) string { return "ROUND(" + at + "*100,0)" }

// titled begins the block of a piece with a remark behind its title.
func (t *tab) titled(i int, remark string) {
	t.together(70)
	t.space(8)
	l := look{size: 10, bold: true, under: true, wraps: true}
	t.put(0, cell{value: t.bench.titleOf(i) + remark, look: l, span: len(t.wide)})
}
