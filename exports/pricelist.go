package exports

import (
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"

	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A PriceRow is a line of a price list: what a code costs per unit from a day on.
type PriceRow struct {
	Code     string
	Price    *num.Rate // from 0 below book.MaxRate; nil: it has none yet
	Unit     unit.Unit
	Currency string    // ISO 4217
	From     date.Date // no day: not known
	Note     string
}

// PriceListCSV writes a price list as CSV, a row for each line in its order, in the
// form of CuttingList. No supplier is known: its column is there to be filled.
func PriceListCSV(w io.Writer, rows []PriceRow) error {
	var head []string
	for _, c := range listColumns() {
		head = append(head, c.head)
	}
	table := [][]string{head}
	for i := range rows {
		r, price := &rows[i], ""
		if r.Price != nil {
			price = r.Price.String()
		}
		table = append(table, []string{CellText(r.Code), price, CellText(string(r.Unit)), CellText(r.Currency), r.From.String(), "", CellText(r.Note)})
	}
	return Table(w, table)
}

// PriceListXLSX writes a price list as a workbook to be changed and loaded again:
// the columns of PriceListCSV on one sheet, "Prices", that prints one page wide on
// A4. Prices are numbers, days are dates of the 1900 system, codes and words are
// text; rows added below are taken the same way, and for the first thousand of
// them, as for those written, programs refuse what is no price or no day. There
// are no formulas. A price outside its domain, or a day before March 1900, which
// programs count differently, is an error. The same rows are the same bytes.
func PriceListXLSX(w io.Writer, rows []PriceRow) error {
	newest, err := newestDay(rows)
	if err != nil {
		return err
	}
	const name, room = "Prices", 1000
	columns, l := listColumns(), layout{paper: "a4", frozen: 1, grid: true}
	for _, c := range columns {
		l.wide, l.below = append(l.wide, c.wide), append(l.below, c.look)
	}
	s := newBinder(name).open(name, l)
	end, last := len(rows)+1, min(len(rows)+1+room, excelize.TotalRows)
	s.check(s.file.AutoFilter(name, s.at(0, 1)+":"+s.at(len(columns)-1, end), nil)) // it forgets the sheet's properties, which are written already
	head := make([]cell, len(columns))
	for i, c := range columns {
		head[i] = cell{value: c.head, look: look{size: listSize, bold: true, under: true, indent: c.look.indent}}
		if c.typed != 0 {
			s.check(s.file.AddDataValidation(name, c.validation(s.at(i, 2)+":"+s.at(i, last))))
		}
	}
	s.put(0, head...)
	for i := range rows {
		line := make([]cell, len(columns))
		for k, value := range rows[i].values() {
			line[k] = cell{value: value, look: columns[k].look}
			line[k].look.under = true
		}
		s.put(0, line...)
	}
	return s.finish(w, properties{title: "Price list", maker: "Reckoner", made: midnight(newest), footer: "Price list", titles: 1})
}

// values returns what stands in the cells of a line, nil for nothing.
func (r *PriceRow) values() []any {
	var price, from any
	if r.Price != nil {
		price = rate(*r.Price)
	}
	if !r.From.IsZero() {
		from = serial(r.From)
	}
	return []any{content(r.Code), price, content(string(r.Unit)), content(r.Currency), from, nil, content(r.Note)}
}

// content returns a text on one line as what a cell holds, nil for nothing.
func content(s string) any {
	if s = oneLine(s); s != "" {
		return s
	}
	return nil
}

// listSize is that of the type of a price list, in points.
const listSize = 9

// A listColumn is one of a price list.
type listColumn struct {
	head      string
	wide      float64 // points
	look      look
	typed     excelize.DataValidationType // what may be typed into it, from low to high; 0: anything
	low, high string
	remedy    string // what is said of anything else
}

// listColumns are those of a price list, in their order.
func listColumns() []listColumn {
	text := look{size: listSize, wraps: true}.as("@") // what looks like a number, a day or a formula stays as typed
	apart := text                                     // from the price, which ends beside it
	apart.indent = 1
	return []listColumn{
		{head: "code", wide: 136, look: text},
		{
			head: "price", wide: 66, look: look{size: listSize, right: true}.as("0.00##"),
			typed: excelize.DataValidationTypeDecimal, low: "0", high: (book.MaxRate - 1).String(),
			remedy: "A price is a number from 0 and below 1 000 000, such as 1850.00, without the sign of a currency.",
		},
		{head: "unit", wide: 48, look: apart},
		{head: "currency", wide: 64, look: text},
		{
			head: "effective_from", wide: 88, look: look{size: listSize}.as("yyyy-mm-dd"),
			typed: excelize.DataValidationTypeDate, low: strconv.Itoa(serial(firstDay())), high: strconv.Itoa(serial(date.MustParse("9999-12-31"))),
			remedy: "Write the day from which the price holds as year-month-day, such as 2026-12-01.",
		},
		{head: "supplier", wide: 80, look: text},
		{head: "note", wide: 130, look: text},
	}
}

// validation has programs refuse in cells what may not be typed into the column.
func (c *listColumn) validation(cells string) *excelize.DataValidation {
	v := excelize.NewDataValidation(true)
	v.SetSqref(cells)
	_ = v.SetRange(c.low, c.high, c.typed, excelize.DataValidationOperatorBetween) // fails for what is neither text nor number
	v.SetError(excelize.DataValidationErrorStyleStop, c.head, c.remedy)
	return v
}

// firstDay is the first whose number all programs agree on: some have a 29th of
// February 1900.
func firstDay() date.Date { return date.MustParse("1900-03-01") }

// newestDay returns the last day of a price list, at least firstDay, or what a
// workbook cannot hold of it.
func newestDay(rows []PriceRow) (date.Date, error) {
	first := firstDay()
	newest := first
	for i := range rows {
		r := &rows[i]
		switch {
		case r.Price != nil && (*r.Price < 0 || *r.Price >= book.MaxRate):
			return newest, fmt.Errorf("exports: the price %s of %q is out of range: a price is from 0 below %s", r.Price, clip(r.Code, 40), book.MaxRate)
		case !r.From.IsZero() && r.From.Compare(first) < 0:
			return newest, fmt.Errorf("exports: the day %s of %q is out of range: dates of a workbook begin on %s", r.From, clip(r.Code, 40), first)
		case r.From.Compare(newest) > 0:
			newest = r.From
		}
	}
	return newest, nil
}

// serial returns a day from firstDay on as workbooks of the 1900 system count
// them: 61 is that day.
func serial(d date.Date) int {
	const epoch, seconds = 25_569, 86_400 // 1970-01-01
	return int(midnight(d).Unix()/seconds) + epoch
}

// midnight returns when d begins, in UTC; of no day the zero Time.
func midnight(d date.Date) time.Time {
	t, _ := time.Parse(time.DateOnly, d.String()) // what a Date writes is a day
	return t
}
