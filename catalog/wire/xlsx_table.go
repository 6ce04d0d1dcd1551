package wire

import (
	"fmt"
	"slices"
	"strings"
)

// maxColumns is how many columns of a sheet a table may take.
const maxColumns = 64

// A sheetTable is a table as it is read, row by row.
type sheetTable struct {
	columns  Columns
	book     *workbook
	sheets   int // that were read before this one
	own      int // the sheet of the table, as sheets counts
	from, to place
	headings [maxColumns + 1]heading // by column
	useless  bool                    // the header row is at fault
	merged   [][2]place              // first and last cell
	rows     []Row
	faults   CellFaults
}

// A heading is the name of a column and what its cells are to hold.
type heading struct {
	name         string
	number, date bool
}

func newSheetTable(b *workbook, c Columns) *sheetTable { return &sheetTable{book: b, columns: c} }

// row takes the cells of a row that hold something, of which there is one at least.
func (t *sheetTable) row(cells []sheetCell) error {
	first, last := cells[0].place, cells[len(cells)-1].place
	switch {
	case t.from.row == 0:
		t.own, t.from, t.to = t.sheets, first, first
		t.header(cells)
	case t.own != t.sheets:
		return refusal("more than one visible sheet of the workbook holds something: delete or hide all but the one with the table")
	}
	switch {
	case last.row > maxRows+1:
		return refusal(fmt.Sprintf("the sheet holds something in row %d, and at most %d rows are read below the first: split the table, or delete the rows that are not of it", last.row, maxRows))
	case last.column > maxColumns:
		return refusal(fmt.Sprintf("the sheet holds something in column %s, and at most %d columns are read: delete the columns that are not of the table", letters(last.column), maxColumns))
	}
	t.from.column = min(t.from.column, first.column)
	t.to = place{last.row, max(t.to.column, last.column)}
	if first.row > t.from.row && !t.useless {
		t.record(cells)
	}
	return nil
}

// fault adds a fault of a cell, whose place comes before what is said of it.
func (t *sheetTable) fault(at place, format string, args ...any) {
	column := ""
	if at.column <= maxColumns {
		column = t.headings[at.column].name
	}
	t.faults.add(at.row, column, "%s", at.String()+" "+fmt.Sprintf(format, args...))
}

// header takes the header row.
func (t *sheetTable) header(cells []sheetCell) {
	known := slices.Concat(t.columns.Required, t.columns.Optional)
	for _, c := range cells {
		name, problem := c.read(heading{}, t.book)
		name = strings.ToLower(name)
		switch {
		case problem != "":
			t.fault(c.place, "%s", problem)
		case !slices.Contains(known, name):
			t.fault(c.place, "says %q, which is no column: the columns are %s", excerpt(name), strings.Join(known, ", "))
		case slices.ContainsFunc(t.headings[:], func(h heading) bool { return h.name == name }):
			t.fault(c.place, "says %q, which stands in another column too: leave one out", name)
		case c.column <= maxColumns:
			t.headings[c.column] = heading{name, slices.Contains(t.columns.Numbers, name), slices.Contains(t.columns.Dates, name)}
		}
	}
	for _, name := range t.columns.Required {
		if !slices.ContainsFunc(t.headings[:], func(h heading) bool { return h.name == name }) {
			t.faults.add(t.from.row, "", "the column %q is missing", name)
		}
	}
	t.useless = len(t.faults) > 0
}

// record takes a row below the header row.
func (t *sheetTable) record(cells []sheetCell) {
	row := Row{Number: cells[0].row, cells: make(map[string]string, len(cells))}
	for _, c := range cells {
		h := t.headings[c.column]
		if h.name == "" {
			t.fault(c.place, "stands under no heading: write one above it in row %d, or empty the cell", t.from.row)
			continue
		}
		value, problem := c.read(h, t.book)
		if problem != "" {
			t.fault(c.place, "%s", problem)
		}
		row.cells[h.name] = value
	}
	t.rows = append(t.rows, row)
}

// checkMerged finds the merged cells that the table has a part in.
func (t *sheetTable) checkMerged() {
	for _, m := range t.merged {
		from, to := m[0], m[1]
		if from == to || to.row < t.from.row || from.row > t.to.row || to.column < t.from.column || from.column > t.to.column {
			continue
		}
		at := place{max(from.row, t.from.row), max(from.column, t.from.column)}
		t.fault(at, "is one of the merged cells %s:%s: unmerge them and fill in each", from, to)
	}
}
