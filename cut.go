package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/cutting"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A cutCmd plans how rectangles are cut from sheets.
type cutCmd struct {
	File      string   `arg:"" help:"The rectangles, as CSV with the columns name, length, width, quantity and turn (yes, no), - reads standard input; or cutting problems, .jsonl, one a line."`
	Stock     []string `help:"A size that can be had, its price, and how many there are: 2440x1220, 2440x1220@52.00 or 2440x1220@52.00*3. Give it again for another size." placeholder:"LxW[@PRICE][*N]" sep:"none"`
	Units     string   `help:"What all sizes are written in, mm or in." enum:"mm,in" default:"mm"`
	Kerf      string   `help:"What the saw takes (default 3.2 mm)." placeholder:"SIZE"`
	Trim      string   `help:"What is cut away along every edge of a sheet (default 10 mm)." placeholder:"SIZE"`
	OffcutMin string   `help:"The least side of an offcut worth keeping (default 300 mm)." placeholder:"SIZE"`
	Thorough  bool     `help:"Look longer for a better plan: up to a second for a large job."`
	Out       string   `help:"Also write the plan into this directory: its lists as CSV and a diagram of each layout as SVG; of problems plans.jsonl, which are else printed." placeholder:"DIR"`
}

// Run plans the file.
func (c *cutCmd) Run(p process) error {
	text, err := p.read(c.File)
	if err != nil {
		return err
	}
	if strings.EqualFold(filepath.Ext(c.File), ".jsonl") {
		return c.solve(p, text)
	}
	s, err := c.sawing(text)
	if err != nil {
		return err
	}
	plan, err := s.job.Plan(c.effort())
	if short := (cutting.Short{}); errors.As(err, &short) {
		err = wire.CellFaults{{Column: "stock", Detail: "no way was found to cut all parts from so many: give more, or another size"}}
	}
	if err != nil {
		return &inputError{err: err}
	}
	return c.tell(p, s.sawn(&plan))
}

func (c *cutCmd) effort() cutting.Effort {
	if c.Thorough {
		return cutting.Thorough
	}
	return cutting.Quick
}

// A sawing is a list of rectangles with all that bears on its plan.
type sawing struct {
	job    cutting.Job
	list   wire.Rectangles
	units  unit.System
	prices []int64 // of the stock, in hundredths; none when it has no prices

	byPrice bool // the prices differ, so that the least sum is wanted and not the fewest sheets
}

// sawing reads the list and the flags; the error tells all that is wrong with them.
func (c *cutCmd) sawing(text []byte) (*sawing, error) {
	s := &sawing{units: unit.System(c.Units)}
	faults := s.stock(c.Stock)
	var trim unit.Length
	for _, f := range []struct {
		flag, text string
		to         *unit.Length
		otherwise  unit.Length
		least      unit.Length
		most       unit.Length
	}{
		{"kerf", c.Kerf, &s.job.Kerf, 3200 * unit.Micrometre, 0, 20 * unit.Millimetre},
		{"trim", c.Trim, &trim, 10 * unit.Millimetre, 0, 200 * unit.Millimetre},
		{"offcut-min", c.OffcutMin, &s.job.OffcutMin, 300 * unit.Millimetre, unit.Millimetre, 20 * unit.Metre},
	} {
		if *f.to = f.otherwise; f.text == "" {
			continue
		}
		var wrong string
		if *f.to, wrong = wire.ParseSize(f.text, s.units, f.least, f.most); wrong != "" {
			faults = append(faults, wire.CellFault{Column: f.flag, Detail: wrong})
		}
	}
	s.job.Trim = cutting.Trim{Left: trim, Right: trim, Bottom: trim, Top: trim}
	list, err := wire.RectangleList(text, s.units)
	if unread := (wire.CellFaults)(nil); errors.As(err, &unread) {
		faults = append(faults, unread...)
	}
	s.list, s.job.Parts = list, list.Parts
	if len(faults) == 0 {
		faults = s.misfits()
	}
	if len(faults) > 0 {
		return nil, &inputError{err: faults}
	}
	return s, nil
}

// stock reads the sizes that can be had.
func (s *sawing) stock(flags []string) (faults wire.CellFaults) {
	add := func(format string, args ...any) {
		faults = append(faults, wire.CellFault{Column: "stock", Detail: fmt.Sprintf(format, args...)})
	}
	if len(flags) == 0 {
		add("it is missing: give at least one size, such as --stock 2440x1220")
	}
	for _, text := range flags {
		t, price, wrong := s.oneStock(text)
		if wrong != "" {
			add("%q: %s", text, wrong)
			continue
		}
		if price >= 0 {
			s.prices = append(s.prices, price)
		}
		s.job.Stock = append(s.job.Stock, t)
	}
	if n := len(s.prices); n > 0 && n < len(s.job.Stock) && len(faults) == 0 {
		add("some sizes have a price and some have none: give every size one (0 for what is there already), or none")
	}
	s.byPrice = len(faults) == 0 && len(s.prices) > 0 && slices.Min(s.prices) < slices.Max(s.prices)
	for i := range s.job.Stock {
		if s.byPrice {
			s.job.Stock[i].Cost = s.prices[i]
		}
	}
	return faults
}

// oneStock reads a size, LxW[@PRICE][*N]; the price is below 0 when there is none.
// What it costs in the job is 1, as it stays when all sizes cost the same: the least
// cost is then the fewest pieces.
func (s *sawing) oneStock(text string) (t cutting.Stock, price int64, wrong string) {
	const form = "write LENGTHxWIDTH, then @ and the price of one if they have prices, then * and how many there are if it is not as many as it takes"
	rest, many, limited := strings.Cut(strings.ReplaceAll(text, " ", ""), "*")
	size, each, priced := strings.Cut(rest, "@")
	length, width, ok := strings.Cut(strings.ToLower(strings.ReplaceAll(size, "×", "x")), "x")
	if !ok {
		return t, 0, form
	}
	t.Cost, price = 1, -1
	if t.Length, wrong = wire.ParseSide(length, s.units); wrong == "" {
		t.Width, wrong = wire.ParseSide(width, s.units)
	}
	if limited && wrong == "" {
		t.Quantity, wrong = parseSheets(many)
	}
	if priced && wrong == "" {
		price, wrong = parsePrice(each)
	}
	return t, price, wrong
}

// parseSheets reads how many sheets there are, or says what to write.
func parseSheets(s string) (n int, wrong string) {
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > mostOfStock {
		return 0, fmt.Sprintf("%q is no number of sheets: write a whole number from 1 to %d", s, mostOfStock)
	}
	return n, ""
}

// parsePrice reads a price, in hundredths, or says what to write.
func parsePrice(s string) (hundredths int64, wrong string) {
	var r num.Rate
	if err := r.UnmarshalText([]byte(s)); err != nil || r%100 != 0 || r > mostPrice {
		return 0, fmt.Sprintf("%q is no price: write a number with at most 2 decimals, such as 52.00, up to %s", s, mostPrice)
	}
	return int64(r / 100), ""
}

// Limits of stock.
const (
	mostOfStock = 10_000
	mostPrice   = num.Rate(1_000_000_00_00)
)

// misfits says which parts cannot be cut from any size.
func (s *sawing) misfits() (faults wire.CellFaults) {
	var sizes []string
	for _, t := range s.job.Stock {
		sizes = append(sizes, s.size(t.Length, t.Width))
	}
	trimmed := ""
	if t := s.job.Trim.Left; t > 0 {
		trimmed = fmt.Sprintf(" less %s %s along every edge", s.units.Size(t), s.units)
	}
	for i, q := range s.job.Parts {
		if s.job.Fits(q) {
			continue
		}
		turned := ""
		if !q.Turn {
			turned = ", and may not turn"
		}
		faults = append(faults, wire.CellFault{Row: s.list.Rows[i], Detail: fmt.Sprintf("%s is %s%s: it fits none of the stock, %s%s: make it smaller, or give a larger size",
			s.list.Names[i], s.size(q.Length, q.Width), turned, strings.Join(sizes, ", "), trimmed)})
	}
	return faults
}

// size returns the sides of a rectangle in words: "2440 x 1220 mm".
func (s *sawing) size(length, width unit.Length) string {
	return fmt.Sprintf("%s x %s %s", s.units.Size(length), s.units.Size(width), cmp.Or(s.units, unit.InMillimetres))
}

// A sawn is a plan of a list of rectangles, as it is printed and written.
type sawn struct {
	*sawing
	plan    *cutting.Plan
	drawing pricing.Drawing
	names   map[string]string // by mark
	sizes   []sizePlan        // of the stock that is cut
}

// A sizePlan is how one size of stock is cut; its layouts are numbered from 1.
type sizePlan struct {
	pricing.SheetPlan
	stock int   // which of the stock
	taken []int // how many of each part are cut from it
}

// sawn returns the plan as it is printed and written.
func (s *sawing) sawn(plan *cutting.Plan) *sawn {
	o := &sawn{
		sawing: s, plan: plan, names: make(map[string]string, len(s.list.Names)),
		drawing: pricing.Drawing{Units: s.units, Sawing: book.Sawing{Kerf: s.job.Kerf, Trim: s.job.Trim.Left, OffcutMin: s.job.OffcutMin}},
	}
	for i, name := range s.list.Names {
		o.names[pricing.Mark(i)] = onOneLine(name)
	}
	for i := range plan.Layouts {
		l := &plan.Layouts[i]
		z := o.of(l.Stock)
		z.Sheets += l.Count
		z.Layouts = append(z.Layouts, o.drawing.Layout(l, len(z.Layouts)+1, 0))
		for _, n := range l.Parts() {
			z.taken[n.Part] += l.Count
		}
	}
	for i := range o.sizes {
		o.parts(&o.sizes[i])
	}
	return o
}

// of returns how a size of stock is cut, at first not at all.
func (o *sawn) of(stock int) *sizePlan {
	for i := range o.sizes {
		if o.sizes[i].stock == stock {
			return &o.sizes[i]
		}
	}
	t := &o.job.Stock[stock]
	z := sizePlan{stock: stock, taken: make([]int, len(o.job.Parts)), SheetPlan: o.drawing.Sheet(t.Length, t.Width)}
	z.Code, z.Description, z.Finding = o.code(t), "Sheet", o.finding()
	z.Grain = !slices.ContainsFunc(o.job.Parts, func(q cutting.Part) bool { return q.Turn })
	o.sizes = append(o.sizes, z)
	return &o.sizes[len(o.sizes)-1]
}

// parts lists what is cut from a size.
func (o *sawn) parts(z *sizePlan) {
	var faces []unit.Face
	for i, q := range o.job.Parts {
		if n := z.taken[i]; n > 0 {
			z.Parts = append(z.Parts, pricing.SheetPart{
				Mark: pricing.Mark(i), Name: o.list.Names[i], Length: o.units.Size(q.Length), Width: o.units.Size(q.Width), Quantity: n,
			})
			faces = append(faces, unit.Face{N: n, L: q.Length, W: q.Width})
		}
	}
	z.PartsArea = unit.Area(faces...)
}

// code returns what the files of a size are named after: "2440x1220", and
// "2440x1220-no2" when it is a second one of those sides.
func (o *sawn) code(t *cutting.Stock) string {
	code, alike := fmt.Sprintf("%sx%s", o.units.Size(t.Length), o.units.Size(t.Width)), 1
	for i := range o.sizes {
		if other := &o.job.Stock[o.sizes[i].stock]; other.Length == t.Length && other.Width == t.Width {
			alike++
		}
	}
	if alike > 1 {
		code += fmt.Sprintf("-no%d", alike)
	}
	return code
}

// finding says how many sheets the plan takes and whether fewer might do, or, where
// sizes differ in price, for what sum and whether a lesser one might.
func (o *sawn) finding() string {
	p := o.plan
	if !o.byPrice {
		return pricing.Finding(p.Pieces, int(p.Bound))
	}
	words := fmt.Sprintf("%d sheets for %s", p.Pieces, price(p.Cost))
	if p.Pieces == 1 {
		words = "1 sheet for " + price(p.Cost)
	}
	switch {
	case p.Proved():
		return words + "; no layout can do it for less"
	case p.Bound > 0:
		return words + "; no layout can do it for less than " + price(p.Bound)
	}
	return words + "; less might be possible"
}

// price returns hundredths as an amount.
func price(hundredths int64) string { return num.Rate(hundredths * 100).String() }

// solve plans the problems of a file and prints or writes a line for each variant.
// Those that cannot be planned are faults, told when all others are planned.
func (c *cutCmd) solve(p process, text []byte) error {
	if len(c.Stock) > 0 || c.Kerf != "" || c.Trim != "" || c.OffcutMin != "" || c.Units != "mm" {
		return &inputError{err: errors.New("--stock, --units, --kerf, --trim and --offcut-min go with a list of rectangles: problems say theirs themselves")}
	}
	all, err := wire.Instances(text)
	faults, _ := err.(wire.CellFaults)
	plan := func(w io.Writer) error {
		for i := range all {
			unplanned, err := c.variants(w, &all[i])
			if err != nil {
				return err
			}
			faults = append(faults, unplanned...)
		}
		return nil
	}
	if c.Out == "" {
		err = plan(p.out)
	} else if err = os.MkdirAll(c.Out, 0o755); err == nil {
		err = writeFile(filepath.Join(c.Out, "plans.jsonl"), plan)
	}
	if err == nil && len(faults) > 0 {
		slices.SortStableFunc(faults, func(a, b wire.CellFault) int { return a.Row - b.Row })
		err = &inputError{err: faults}
	}
	return err
}

// variants plans the variants of a problem.
func (c *cutCmd) variants(w io.Writer, i *wire.Instance) (faults wire.CellFaults, err error) {
	for _, rotation := range i.Variants() {
		j := i.Job(rotation)
		began := time.Now()
		plan, err := j.Plan(c.effort())
		took := time.Since(began)
		if err != nil {
			faults = append(faults, wire.CellFault{Row: i.Row, Detail: i.Name + ", rotation " + rotation + ": " + err.Error()})
			continue
		}
		if err := printJSON(w, i.Solution(rotation, &plan, took)); err != nil {
			return faults, err
		}
	}
	return faults, nil
}
