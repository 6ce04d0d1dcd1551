package wire

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// A Row is one line of a table: its number in the file, from 1 with the header,
// and its cells by column. A column the file does not have is empty.
type Row struct {
	Number int
	cells  map[string]string
}

// Cell returns the text of a column without white space around it.
func (r Row) Cell(column string) string { return r.cells[column] }

// Limits of a table.
const (
	maxRows = 20_000
	maxCell = 4_000
	maxLine = 256 << 10 // bytes: before its cells are taken apart
)

// Table reads CSV with a header row: UTF-8, with or without a byte order mark,
// columns in any order. Every required column must be there, and none but those
// and the optional ones; rows of empty cells are passed over. The error is a
// CellFaults with everything that is wrong; there are no rows then.
func Table(b []byte, required, optional []string) ([]Row, error) {
	rows, faults := readTable(b, required, optional)
	if len(faults) > 0 {
		return nil, faults
	}
	return rows, nil
}

// readTable returns the rows that can be read and what is wrong with the others.
func readTable(b []byte, required, optional []string) (rows []Row, faults CellFaults) {
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(b) {
		faults.add(0, "", "the table is not UTF-8: save it as UTF-8")
		return nil, faults
	}
	if n := longLine(b); n > 0 {
		faults.add(n, "", "the line has more than %d bytes: is this the table, a row to a line?", maxLine)
		return nil, faults
	}
	r := csv.NewReader(bytes.NewReader(b))
	r.FieldsPerRecord = -1 // counted here, so that reading goes on
	header, err := r.Read()
	if err == io.EOF {
		faults.add(1, "", "the table is empty: write a header row")
		return nil, faults
	}
	if err != nil {
		return nil, append(faults, broken(err))
	}
	wide := len(header)
	header = trimmed(header, 0)
	if faults = columns(header, required, optional); len(faults) > 0 {
		return nil, faults
	}
	for full := 0; ; {
		record, err := r.Read()
		if err == io.EOF {
			return rows, faults
		}
		if err != nil {
			return rows, append(faults, broken(err))
		}
		line, _ := r.FieldPos(0)
		if len(record) == wide { // as wide as the header row with its empty end
			record = trimmed(record, len(header))
		}
		row, wrong := cells(line, header, record)
		faults = append(faults, wrong...)
		if row.cells == nil && len(wrong) == 0 { // it is empty
			continue
		}
		if full++; full > maxRows {
			faults.add(0, "", "more than %d rows: split the table", maxRows)
			return rows, faults
		}
		if row.cells != nil {
			rows = append(rows, row)
		}
	}
}

// longLine returns the number of the first line that is too long, 0 if none is.
func longLine(b []byte) (number int) {
	for n := 1; ; n++ {
		end := bytes.IndexByte(b, '\n')
		if end > maxLine || end < 0 && len(b) > maxLine {
			return n
		}
		if end < 0 {
			return 0
		}
		b = b[end+1:]
	}
}

// trimmed returns record without the empty cells at its end, as programs write
// them after a table, but no shorter than least.
func trimmed(record []string, least int) []string {
	for len(record) > least && strings.TrimSpace(record[len(record)-1]) == "" {
		record = record[:len(record)-1]
	}
	return record
}

// cells makes a row of a record; what is empty, or no row of that header, has no
// cells.
func cells(line int, header, record []string) (row Row, faults CellFaults) {
	if !slices.ContainsFunc(record, func(c string) bool { return strings.TrimSpace(c) != "" }) {
		return Row{}, nil
	}
	if len(record) != len(header) {
		faults.add(line, "", "it has %d cells, the header row %d: write every cell, decimals with a point, and put a text with a comma in quotation marks", len(record), len(header))
		return Row{}, faults
	}
	row = Row{Number: line, cells: make(map[string]string, len(record))}
	for i, c := range record {
		if len(c) > maxCell {
			faults.add(line, header[i], "the cell has more than %d bytes: shorten it", maxCell)
		}
		row.cells[header[i]] = strings.TrimSpace(c)
	}
	return row, faults
}

// broken words an error of reading CSV.
func broken(err error) CellFault {
	p := (*csv.ParseError)(nil)
	if !errors.As(err, &p) {
		return CellFault{Detail: err.Error()}
	}
	return CellFault{Row: p.Line, Detail: "a quotation mark stands alone: write it twice within a quoted cell"}
}

// columns brings the header row into small letters and checks it.
func columns(header, required, optional []string) (faults CellFaults) {
	for i, h := range header {
		header[i] = strings.ToLower(strings.TrimSpace(h))
	}
	if len(header) == 1 && strings.ContainsAny(header[0], ";\t") {
		faults.add(1, "", "there is one column, %q: save the table with commas between its cells", excerpt(header[0]))
		return faults
	}
	for i, h := range header {
		switch {
		case !slices.Contains(required, h) && !slices.Contains(optional, h):
			faults.add(1, "", "there is no column %q: the columns are %s", excerpt(h), strings.Join(append(slices.Clone(required), optional...), ", "))
		case slices.Contains(header[:i], h):
			faults.add(1, "", "the column %q stands twice: leave one out", h)
		}
	}
	for _, c := range required {
		if !slices.Contains(header, c) {
			faults.add(1, "", "the column %q is missing: add it to the header row", c)
		}
	}
	return faults
}
