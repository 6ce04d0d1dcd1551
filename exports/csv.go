package exports

import (
	"encoding/csv"
	"errors"
	"io"
	"strconv"
	"strings"

	"reckoner/pricing/num"
)

// CuttingList writes the cutting list of every piece as CSV, a row for each line
// in the order of cutting, with the mark to write on the wood and the drawers it is
// of, numbered from the top left, row by row. Sizes are in the
// piece's units; volume, in volume_unit, and areas, in m2, are of all the line's
// parts. Included says no of an alternative and of an extra. What a row does not
// have is empty.
//
// Like the other tables of this package it is UTF-8 with a header row and lines
// ended by CR LF (RFC 4180); numbers are exact, with a decimal point and without
// groups; a text that a spreadsheet would take for a formula has a quote before it.
// The same costing is the same bytes.
func CuttingList(w io.Writer, p Paper) error {
	if p.Book == nil {
		return errors.New("exports: a cutting list needs the book of its costing")
	}
	rows := [][]string{{
		"piece", "mark", "name", "drawers", "quantity", "length", "width", "thickness", "unit", "grain", "material", "code", "description",
		"strips", "sawn_length", "sawn_width", "sawn_thickness", "volume", "volume_unit", "sheet_m2", "outside_m2", "inside_m2", "included",
	}}
	for _, m := range cuttingOrder(&p) {
		o := &p.Costing.Pieces[m.piece]
		rows = append(rows, []string{
			CellText(o.Title), m.mark, CellText(m.Name), m.drawers, strconv.Itoa(m.Quantity), m.Length.String(), m.Width.String(), m.Thickness.String(), string(o.Units),
			"length", CellText(m.Material), CellText(m.Code), CellText(m.description),
			csvCount(m.Strips), csvNumber(m.SawnLength), csvNumber(m.SawnWidth), csvNumber(m.SawnThickness), csvNumber(m.Volume), string(m.unit),
			csvNumber(m.Area), csvNumber(m.Outside), csvNumber(m.Inside), yesNo(o.Included),
		})
	}
	return Table(w, rows)
}

// BuyingList writes what to buy for the pieces included as CSV, a row for each
// code, in the form of CuttingList. What is not sold in packs has no packs.
func BuyingList(w io.Writer, p Paper) error {
	rows := [][]string{{"code", "description", "needed", "unit", "packs", "pack_size", "amount", "currency"}}
	for i := range p.Costing.Buying {
		l := &p.Costing.Buying[i]
		rows = append(rows, []string{
			CellText(l.Code), CellText(l.Description), l.Needed.String(), string(l.Unit), csvCount(l.Packs), csvNumber(l.PackSize),
			l.Amount.String(), p.Costing.Currency.String(),
		})
	}
	return Table(w, rows)
}

// LabourSheet writes the hours of every piece as CSV, a row for each stage in the
// order of the work, in the form of CuttingList. The working is in minutes.
func LabourSheet(w io.Writer, p Paper) error {
	rows := [][]string{{"piece", "stage", "description", "grade", "hours", "rate", "amount", "currency", "working", "included"}}
	for i := range p.Costing.Pieces {
		o := &p.Costing.Pieces[i]
		for k := range o.Labour {
			l := &o.Labour[k]
			rows = append(rows, []string{
				CellText(o.Title), CellText(l.Code), CellText(l.Description), CellText(l.Grade), l.Quantity.String(), l.Rate.String(), l.Amount.String(),
				p.Costing.Currency.String(), CellText(l.Working), yesNo(o.Included),
			})
		}
	}
	return Table(w, rows)
}

// Table writes rows as CSV, in the form of CuttingList; its texts are CellText.
func Table(w io.Writer, rows [][]string) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	return c.WriteAll(rows)
}

// CellText returns a text as it stands in a table: on one line, and with a quote
// before what a spreadsheet would take for a formula. Sources: ASVS 1.2.10 and
// CWE-1236; the full-width forms, which some spreadsheets turn into the narrow
// ones, from memory.
func CellText(s string) string {
	if s = oneLine(s); s != "" && strings.ContainsRune("=+-@\t\r\x00＝＋－＠", []rune(s)[0]) {
		return "'" + s
	}
	return s
}

// csvNumber returns a number, or nothing for none.
func csvNumber(d num.Decimal) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

// csvCount is csvNumber for whole numbers.
func csvCount(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// yesNo returns "yes" or "no".
func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}
