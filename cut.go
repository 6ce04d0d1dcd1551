package main

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"reckoner/catalog/wire"
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
