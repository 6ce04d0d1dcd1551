package pricing

import (
	"slices"
	"strings"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A sheetLine is what a piece line cuts from one sheet.
type sheetLine struct {
	sheet  *book.Sheet
	parts  []*cut      // in the order of the cutting list
	needed num.Decimal // their area, m2
	rate   num.Rate
}

// sheetArea returns the area of one sheet in m2.
func sheetArea(s *book.Sheet) num.Decimal {
	return unit.Area(unit.Face{N: 1, L: s.Length, W: s.Width})
}

// priceSheets writes a line for each sheet, charged by whole sheets or by area.
func (j *job) priceSheets() {
	j.out.Sheets = make([]Line, 0, len(j.sheets))
	for i := range j.sheets {
		s := &j.sheets[i]
		l := Line{Code: s.sheet.Code, Description: s.sheet.Description}
		l.Unit, l.Rate = j.sheetRate(s.sheet)
		if len(j.faults) > 0 { // there is no price, and nothing to lay out for it
			continue
		}
		s.rate = l.Rate
		from := len(j.lineTerms)
		if s.sheet.Charged == book.Whole {
			j.lineTerms = append(j.lineTerms, term(Term{Measure: ofLayout, Share: sheetRole, Quantity: num.Whole(j.layOut(s.sheet, s.parts).Pieces), Each: num.One}, 6))
		} else {
			j.lineTerms = append(j.lineTerms, term(Term{Measure: ofSheet, Share: sheetRole, Quantity: s.needed, Each: num.One}, 6))
			l.Waste = j.vary.wasted(j.waste(sheetRole, s.sheet.Waste))
		}
		l.Terms = j.since(from)
		if j.close(&l) {
			j.out.Sheets = append(j.out.Sheets, l)
		}
	}
}

// sortSheets sorts the parts cut from sheets to their sheets, by code.
func (j *job) sortSheets() {
	for i := range j.cuts {
		c := &j.cuts[i]
		if c.sheet == nil {
			continue
		}
		at := slices.IndexFunc(j.sheets, func(l sheetLine) bool { return l.sheet == c.sheet })
		if at < 0 {
			at = len(j.sheets)
			j.sheets = append(j.sheets, sheetLine{sheet: c.sheet})
		}
		s := &j.sheets[at]
		s.parts = append(s.parts, c)
		s.needed = s.needed.Plus(c.area)
		j.panels += c.count
	}
	slices.SortFunc(j.sheets, func(a, b sheetLine) int { return strings.Compare(a.sheet.Code, b.sheet.Code) })
}

// sheetRate returns the unit a sheet is charged in and its rate: a price in the
// other unit is turned by the sheet's area, to four places.
func (j *job) sheetRate(s *book.Sheet) (unit.Unit, num.Rate) {
	rate, per := j.priced(s.Price, j.namedSheet(s.Code), s.Code)
	switch {
	case per == "":
		return "", 0
	case s.Charged == book.Whole && per == unit.M2:
		return unit.Each, rate.Times(sheetArea(s))
	case s.Charged == book.Whole:
		return unit.Each, rate
	case per == unit.Each:
		return unit.M2, rate.Over(sheetArea(s))
	}
	return unit.M2, rate
}

// namedSheet returns where a sheet is named: its role, or the piece.
func (j *job) namedSheet(code string) string {
	for _, role := range []string{"back", "bottom"} {
		if j.piece.Sheets[role] == code {
			return "/sheets/" + role
		}
	}
	for i := range j.cuts {
		if c := &j.cuts[i]; c.Material == code {
			return c.At[1:] + "/material"
		}
	}
	return ""
}
