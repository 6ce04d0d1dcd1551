package wire

import (
	"encoding/xml"
	"strings"
)

// sheet hands the rows of a sheet to a table.
func (p *parts) sheet(part string, t *sheetTable) error {
	seen := false
	return p.walk(part, maxSheet, xml.Name{Space: sheetSpace, Local: "worksheet"}, func(w *xmlWalk) error {
		return w.each(func(name string, _ []xml.Attr) error {
			switch name {
			case "sheetData":
				if seen {
					return w.wrong("has its cells twice")
				}
				seen = true
				return w.rows(t)
			case "mergeCells":
				return w.each(func(_ string, attr []xml.Attr) error {
					first, last, ok := strings.Cut(attribute(attr, "ref"), ":")
					if !ok {
						last = first
					}
					from, ok := placeOf(first)
					to, ok2 := placeOf(last)
					if !ok || !ok2 || to.row < from.row || to.column < from.column {
						return w.wrong("has merged cells that are none")
					}
					t.merged = append(t.merged, [2]place{from, to})
					return nil
				})
			}
			return nil
		})
	})
}

// rows hands the rows of the current element to a table.
func (w *xmlWalk) rows(t *sheetTable) error {
	at := place{}
	var cells []sheetCell
	return w.each(func(name string, attr []xml.Attr) (err error) {
		if name != "row" {
			return w.wrong("has something other than rows")
		}
		if at.row, err = w.next(at.row, attribute(attr, "r"), lastRow); err != nil {
			return err
		}
		at.column, cells = 0, cells[:0]
		err = w.each(func(name string, attr []xml.Attr) error {
			switch name {
			case "extLst":
				return nil
			case "c":
			default:
				return w.wrong("has something other than cells in a row")
			}
			c, err := w.cell(at, attr, t.book)
			if c.kind != cellEmpty {
				cells = append(cells, c)
			}
			at.column = c.column
			return err
		})
		if err != nil || len(cells) == 0 {
			return err
		}
		return t.row(cells)
	})
}

// next reads the number of a row, which is that of the one before plus one if it is
// not written.
func (w *xmlWalk) next(before int, written string, most int) (n int, err error) {
	n = before + 1
	if written != "" {
		n, err = w.natural(written)
	}
	if err == nil && (n <= before || n > most) {
		err = w.wrong("has its rows out of order")
	}
	return n, err
}
