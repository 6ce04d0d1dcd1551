package wire

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// read returns what a cell holds as a table has it, or what is wrong with it under
// that heading.
func (c *sheetCell) read(h heading, b *workbook) (value, problem string) {
	dated := false
	switch c.kind {
	case cellFormula:
		return "", "holds a formula: copy the cell and paste it back as a value"
	case cellError:
		return "", fmt.Sprintf("holds the error %q: write a value", excerpt(c.value))
	case cellTruth:
		return "", "holds TRUE or FALSE: write a text or a number"
	case cellText:
		return c.value, c.textProblem(h)
	case cellDate:
		dated = true
		value, problem = written(c.value)
	case cellNumber:
		dated = c.as != plain
		value, problem = c.counted(b.of1904)
	}
	switch {
	case problem != "":
	case h.number && dated:
		problem = fmt.Sprintf("holds the date %s: write a number, in a cell formatted as a number", value)
	case h.date && !dated:
		problem = fmt.Sprintf("holds the number %s: write a date, in a cell formatted as a date", value)
	}
	return value, problem
}

// textProblem says what is wrong with a text under a heading.
func (c *sheetCell) textProblem(h heading) string {
	switch {
	case len(c.value) > maxCell:
		return fmt.Sprintf("has more than %d bytes: shorten it", maxCell)
	case h.number:
		return fmt.Sprintf("holds the text %q: write a number, in a cell formatted as a number", excerpt(c.value))
	case h.date:
		return fmt.Sprintf("holds the text %q: write a date, in a cell formatted as a date", excerpt(c.value))
	}
	return ""
}

const timed = "holds a time of day: write the date alone, in a cell formatted as a date"

// written reads a date that is written out.
func written(s string) (value, problem string) {
	value, rest, _ := strings.Cut(s, "T")
	if _, err := time.Parse(time.DateOnly, value); err != nil {
		return "", fmt.Sprintf("holds %q, which is no date: write it anew", excerpt(s))
	}
	if strings.Trim(rest, "0:.Z") != "" {
		return "", timed
	}
	return value, ""
}

// counted reads a number or, by the format of its cell, the date that it counts to.
func (c *sheetCell) counted(of1904 bool) (value, problem string) {
	n, err := strconv.ParseFloat(c.value, 64)
	if err != nil || strings.Trim(c.value, "0123456789.eE+-") != "" {
		return "", fmt.Sprintf("holds %q, which is no number: write it anew", excerpt(c.value))
	}
	switch {
	case c.as == plain:
		return decimal(n)
	case c.as == clock || n != math.Trunc(n):
		return "", timed
	}
	return serial(n, of1904)
}

// serial returns the day of a number: ECMA-376 part 1, 18.17.4.1. From 1900 there
// was a day too many, 1900-02-29, up to which programs disagree.
func serial(n float64, of1904 bool) (value, problem string) {
	const (
		from1904 = 1462    // days from 1899-12-30 to 1904-01-01
		march    = 61      // 1900-03-01
		end      = 2958465 // 9999-12-31
	)
	least := float64(march)
	if of1904 {
		n, least = n+from1904, from1904
	}
	if n < least || n > end {
		return "", "holds a date out of range: write one from 1 March 1900 (1904 in workbooks that count from there) to the year 9999"
	}
	return time.Date(1899, 12, 30+int(n), 0, 0, 0, 0, time.UTC).Format(time.DateOnly), ""
}

// decimal returns a number with at most 6 decimals, as Workbook has it. Beyond 15
// digits spreadsheets put zeros for what was typed.
func decimal(n float64) (value, problem string) {
	if math.Abs(n) >= 1e15 {
		return "", "holds a number of more than 15 digits: write it as a text, in a cell formatted as text"
	}
	s := shortest(n)
	if decimals(s) > 6 {
		shown, _ := strconv.ParseFloat(strconv.FormatFloat(n, 'e', 14, 64), 64)
		s = shortest(shown)
	}
	if decimals(s) > 6 {
		return "", fmt.Sprintf("holds %s, which has more than 6 decimals: round it", excerpt(s))
	}
	return s, ""
}

func shortest(n float64) string { return strconv.FormatFloat(n+0, 'f', -1, 64) } // no -0

func decimals(s string) int {
	_, places, _ := strings.Cut(s, ".")
	return len(places)
}
