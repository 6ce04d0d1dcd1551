package wire

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
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
)

// Table reads CSV with a header row: UTF-8, with or without a byte order mark,
// columns in any order. Every required column must be there, and none but those
// and the optional ones; rows of empty cells are passed over. The error says
// which row or column is wrong.
func Table(b []byte, required, optional []string) ([]Row, error) {
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(b) {
		return nil, errors.New("the table is not UTF-8: save it as UTF-8")
	}
	r := csv.NewReader(bytes.NewReader(b))
	header, err := r.Read()
	if err == io.EOF {
		return nil, errors.New("row 1: the table is empty: write a header row")
	}
	if err != nil {
		return nil, broken(err)
	}
	for i, h := range header {
		header[i] = strings.ToLower(strings.TrimSpace(h))
	}
	if err := columns(header, required, optional); err != nil {
		return nil, err
	}
	var rows []Row
	for {
		cells, err := r.Read()
		if err == io.EOF {
			return rows, nil
		}
		if err != nil {
			return nil, broken(err)
		}
		line, _ := r.FieldPos(0)
		row := Row{Number: line, cells: make(map[string]string, len(cells))}
		empty := true
		for i, c := range cells {
			if len(c) > maxCell {
				return nil, fmt.Errorf("row %d: column %s has more than %d bytes", line, header[i], maxCell)
			}
			row.cells[header[i]] = strings.TrimSpace(c)
			empty = empty && row.cells[header[i]] == ""
		}
		if empty {
			continue
		}
		if len(rows) == maxRows {
			return nil, fmt.Errorf("more than %d rows: split the table", maxRows)
		}
		rows = append(rows, row)
	}
}

// broken words an error of reading CSV.
func broken(err error) error {
	p := (*csv.ParseError)(nil)
	switch {
	case !errors.As(err, &p):
		return err
	case errors.Is(err, csv.ErrFieldCount):
		return fmt.Errorf("row %d: it has not as many cells as the header row", p.Line)
	}
	return fmt.Errorf("row %d: a quotation mark stands alone: write it twice within a quoted cell", p.Line)
}

// columns checks the header row.
func columns(header, required, optional []string) error {
	for i, h := range header {
		switch {
		case !slices.Contains(required, h) && !slices.Contains(optional, h):
			return fmt.Errorf("row 1: there is no column %q: the columns are %s", excerpt(h), strings.Join(append(slices.Clone(required), optional...), ", "))
		case slices.Contains(header[:i], h):
			return fmt.Errorf("row 1: the column %q stands twice", excerpt(h))
		}
	}
	for _, c := range required {
		if !slices.Contains(header, c) {
			return fmt.Errorf("row 1: the column %q is missing", c)
		}
	}
	return nil
}
