package wire

import (
	"encoding/xml"
	"strconv"
	"strings"
)

// The sizes of a sheet.
const (
	lastRow    = 1 << 20
	lastColumn = 1 << 14
)

// A place is a cell of a sheet; both count from 1.
type place struct{ row, column int }

// String returns the place as people name it: "B7".
func (p place) String() string { return letters(p.column) + strconv.Itoa(p.row) }

// letters names a column.
func letters(column int) string {
	s := ""
	for ; column > 0; column = (column - 1) / 26 {
		s = string(rune('A'+(column-1)%26)) + s
	}
	return s
}

// placeOf reads a place.
func placeOf(s string) (p place, ok bool) {
	digits := strings.TrimLeft(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	name := s[:len(s)-len(digits)]
	if len(name) > 3 || len(digits) > 7 || digits == "" || digits[0] < '1' || digits[0] > '9' {
		return place{}, false
	}
	for _, c := range name {
		p.column = 26*p.column + int(c-'A') + 1
	}
	row, err := strconv.Atoi(digits)
	p.row = row
	return p, err == nil && p.column >= 1 && p.column <= lastColumn && row <= lastRow
}

// A kind is what a cell holds.
type kind byte

const (
	cellEmpty kind = iota
	cellText
	cellNumber
	cellDate // written out
	cellTruth
	cellError
	cellFormula
)

// A sheetCell is a cell as it stands in the sheet.
type sheetCell struct {
	place
	kind  kind
	value string // the text, or the number as it is written
	as    format
}

// cell reads a cell that follows another in its row.
func (w *xmlWalk) cell(before place, attr []xml.Attr, book *workbook) (c sheetCell, err error) {
	if c.place, err = w.after(before, attribute(attr, "r")); err != nil {
		return c, err
	}
	if c.as, err = w.style(attribute(attr, "s"), book); err != nil {
		return c, err
	}
	met, err := w.inCell(&c)
	if err != nil {
		return c, err
	}
	kindOf := attribute(attr, "t")
	if strings.Trim(met, "f") != "" && strings.HasSuffix(met, "is") != (kindOf == "inlineStr") {
		return c, w.wrong("has a cell that cannot be understood")
	}
	if err = c.understand(w, kindOf, book); met != "" && met[0] == 'f' {
		c.kind = cellFormula
	}
	return c, err
}

// after reads the place of a cell, which is that beside the one before if it is not
// written.
func (w *xmlWalk) after(before place, written string) (place, error) {
	at, ok := placeOf(written)
	if written == "" {
		at, ok = place{before.row, before.column + 1}, before.column < lastColumn
	}
	if !ok || at.row != before.row || at.column <= before.column {
		return place{}, w.wrong("has its cells out of order")
	}
	return at, nil
}

// style reads the style of a cell; 0 is there even where there are none.
func (w *xmlWalk) style(written string, book *workbook) (format, error) {
	n, err := w.natural(written)
	switch {
	case err != nil:
		return plain, err
	case n < len(book.formats):
		return book.formats[n], nil
	case n > 0:
		return plain, w.wrong("has a cell of an unknown style")
	}
	return plain, nil
}

// inCell reads the value of the current cell, and returns the names of the elements
// in it in one: a formula (f), then a value (v) or a text (is).
func (w *xmlWalk) inCell(c *sheetCell) (met string, err error) {
	err = w.each(func(name string, _ []xml.Attr) (err error) {
		if name == "extLst" {
			return nil
		}
		switch met += name; met {
		case "f":
		case "v", "fv":
			w.values++
			c.value, err = w.content()
		case "is", "fis":
			counted := w.elements
			c.value, err = w.richText()
			w.values += 1 + min(1, w.elements-counted) // with its text
		default:
			err = w.wrong("has a cell that cannot be understood")
		}
		return err
	})
	return met, err
}

// understand says what a cell holds, by its type.
func (c *sheetCell) understand(w *xmlWalk, kindOf string, book *workbook) error {
	switch kindOf {
	case "", "n":
		c.kind = cellNumber
	case "s":
		c.kind = cellText
		if c.value == "" {
			break
		}
		n, err := w.natural(c.value)
		if err != nil || n >= len(book.texts) {
			return w.wrong("has a cell whose text is not there")
		}
		c.value = book.texts[n]
	case "str":
		c.kind, c.value = cellText, strings.TrimSpace(unescaped(c.value))
	case "inlineStr":
		c.kind = cellText
	case "d":
		c.kind = cellDate
	case "b":
		c.kind = cellTruth
	case "e":
		c.kind = cellError
	default:
		return w.wrong("has a cell of an unknown type")
	}
	if c.value = strings.TrimSpace(c.value); c.value == "" {
		c.kind = cellEmpty
	}
	return nil
}
