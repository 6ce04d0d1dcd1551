package wire

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
)

// Columns says what the columns of a table are called, in small letters, and what
// they hold: those of Numbers numbers, those of Dates dates, the others texts,
// where a number or a date is as good as the same written as a text.
type Columns struct {
	Required, Optional []string
	Numbers, Dates     []string // names among the others
}

// Workbook reads the table of an .xlsx file, as Table does a text: the first row
// that holds anything is the header row, rows of empty cells are passed over, and
// Row.Number is the row of the sheet. It is the table of the one visible sheet that
// holds anything; hidden sheets are not read, hidden rows and columns are. A file may
// have 8 MiB, and a table 20,000 rows, all in the first 20,001 rows and 64 columns.
//
// Texts come without white space around them. A number is the shortest decimal that
// the workbook's binary number stands for or, if that has more than 6 decimals, the
// 15 digits that spreadsheets show of it. A number in a cell formatted as a date is
// that date as YYYY-MM-DD, from 1900-03-01; before, programs disagree.
//
// The error is a CellFaults; there are no rows then. A fault of a cell has its row
// and column and begins with its reference: "B7 holds a formula: ...". A file that
// is not wholly sound, or holds more than a table needs (macros, links to other
// workbooks, sizes beyond the limits here), is refused with one fault without a row.
func Workbook(b []byte, c Columns) ([]Row, error) {
	rows, faults := readWorkbook(b, c)
	if len(faults) > 0 {
		return nil, faults
	}
	return rows, nil
}

// readWorkbook returns the rows that can be read and what is wrong with the others.
func readWorkbook(b []byte, c Columns) ([]Row, CellFaults) {
	t, err := tableOf(b, c)
	if err != nil {
		return nil, CellFaults{{Detail: err.Error()}}
	}
	slices.SortStableFunc(t.faults, func(f, g CellFault) int { return cmp.Compare(f.Row, g.Row) })
	return t.rows, t.faults
}

// tableOf reads the visible sheets of a workbook, of which one may hold something.
func tableOf(b []byte, c Columns) (*sheetTable, error) {
	p, err := unpack(b)
	if err != nil {
		return nil, err
	}
	book, err := p.book()
	if err != nil {
		return nil, err
	}
	table := newSheetTable(book, c)
	for _, part := range book.visible {
		if err := p.sheet(part, table); err != nil {
			return nil, err
		}
		table.sheets++
	}
	if table.from.row == 0 {
		return nil, refusal("no visible sheet of the workbook holds anything: write a header row")
	}
	table.checkMerged()
	return table, nil
}

// A refusal says in one sentence why a workbook is not read, and what to do.
type refusal string

func (r refusal) Error() string { return string(r) }

// damaged refuses what no program writes.
func damaged(format string, args ...any) error {
	return refusal("the workbook is damaged (" + fmt.Sprintf(format, args...) + "): open it and save it again as .xlsx")
}

// Refusals that stand in more than one place.
const (
	tooMuch   = ": copy the table alone into a new workbook"
	hasMacros = refusal("the workbook holds macros: save it as .xlsx, without them")
	hasLinks  = refusal("the workbook draws on other workbooks: break the links, so that their values stay, and save it again")
	locked    = refusal("the workbook is locked: remove the password and save it again")
	noBook    = refusal("this is no .xlsx workbook: save the table as an Excel workbook (.xlsx) or as CSV")
)

// IsWorkbook reports whether a file is, by its first bytes, one for Workbook to
// read or to refuse, and not a text.
func IsWorkbook(b []byte) bool {
	return bytes.HasPrefix(b, []byte("PK")) || bytes.HasPrefix(b, []byte("\xd0\xcf\x11\xe0"))
}
