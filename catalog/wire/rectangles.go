package wire

import (
	"fmt"
	"slices"
	"strings"

	"reckoner/pricing/book"
	"reckoner/pricing/cutting"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Rectangles is a list of rectangles to cut as it was read: the parts, and of each
// its name and the row in which it stands.
type Rectangles struct {
	Parts []cutting.Part
	Names []string
	Rows  []int
}

// Limits of a rectangle list.
const (
	leastSide = unit.Millimetre
	mostSide  = 20_000 * unit.Millimetre
	mostAlike = 10_000 // of one part
	mostParts = 20_000 // together
)

// RectangleList reads rectangles to cut: a Table with the columns name, length, width
// and quantity, and perhaps turn (yes, the default, or true; no or false: the length
// stays along that of the stock). Sizes are in units, from 1 mm to 20 m.
//
// The error is a CellFaults with every cell that is wrong. The list then holds the
// least that may stand in each of them, as that of CuttingList does.
func RectangleList(b []byte, units unit.System) (l Rectangles, err error) {
	rows, faults := readTable(b, []string{"name", "length", "width", "quantity"}, []string{"turn"})
	if len(rows) == 0 && len(faults) == 0 {
		faults.add(2, "", "there is no part below the header row: write one a row")
	}
	together := 0
	for _, r := range rows {
		p := rectangleRow{partRow{Row: r}, units}
		l.Names = append(l.Names, p.title())
		part := p.part()
		l.Parts = append(l.Parts, part)
		l.Rows = append(l.Rows, r.Number)
		faults = append(faults, p.faults...)
		together += part.Quantity
	}
	if together > mostParts {
		faults.add(0, "", "the list has %d parts, at most %d: divide it", together, mostParts)
	}
	if len(faults) == 0 {
		return l, nil
	}
	slices.SortStableFunc(faults, func(a, b CellFault) int { return a.Row - b.Row })
	return l, faults
}

// A rectangleRow is a row of a rectangle list being read.
type rectangleRow struct {
	partRow
	units unit.System
}

// part returns the part of the row.
func (r *rectangleRow) part() cutting.Part {
	return cutting.Part{Length: r.side("length"), Width: r.side("width"), Quantity: r.number(), Turn: r.turn()}
}

// title reads the name, on one line and of no more characters than any text has.
func (r *rectangleRow) title() string {
	var wrong fault.List
	name := r.name()
	if wrong.Text("#", "name", name, book.MaxText, false); len(wrong) > 0 {
		r.fault("name", "%s", wrong[0].Detail)
	}
	return name
}

// number reads how many of the part there are.
func (r *rectangleRow) number() int {
	n := int(r.quantity())
	if n > mostAlike {
		r.fault("quantity", "%d is too many: write at most %d", n, mostAlike)
		return 1
	}
	return n
}

// side reads the length or the width.
func (r *rectangleRow) side(column string) unit.Length {
	l, wrong := ParseSide(r.Cell(column), r.units)
	if wrong != "" {
		r.fault(column, "%s", wrong)
	}
	return l
}

// turn reads whether the part may lie across.
func (r *rectangleRow) turn() bool {
	s := r.Cell("turn")
	switch strings.ToLower(s) {
	case "", "yes", "true":
		return true
	case "no", "false":
		return false
	}
	r.fault("turn", "%q is not known: write yes (so does nothing) or no", excerpt(s))
	return true
}

// ParseSide reads a side of a rectangle to cut, as ParseSize does: of 1 mm to 20 m.
func ParseSide(s string, units unit.System) (side unit.Length, wrong string) {
	return ParseSize(s, units, leastSide, mostSide)
}

// ParseSize reads a size written in units, from least to most. Wrong is empty, or says
// what to write in place of s, and the size is then least.
func ParseSize(s string, units unit.System, least, most unit.Length) (size unit.Length, wrong string) {
	d, err := num.ParseDecimal(s)
	if err != nil {
		return least, noSize(s, units)
	}
	if from, to := units.AtLeast(least), units.AtMost(most); d < from || d > to {
		return least, fmt.Sprintf("%s is out of range: write a size from %s to %s %s", d, from, to, units)
	}
	return units.Length(d), ""
}

// noSize words what is wrong with a text that is no size in units.
func noSize(s string, units unit.System) string {
	in, such, bare := "millimetres", "812.5", s
	if units == unit.InInches {
		in, such, bare = "inches", "31.625", inches(s)
	}
	if s == "" {
		return "the size is missing: write it in " + in
	}
	if meant, ok := mended(bare); ok {
		return fmt.Sprintf("%q is no size: write %s, in %s with a point and no unit", excerpt(s), meant, in)
	}
	return fmt.Sprintf("%q is no size: write %s, a number with at most 6 decimals, such as %s", excerpt(s), in, such)
}

// inches returns a text without the sign of inches; one in millimetres stays no
// number.
func inches(s string) string {
	if s = strings.ToLower(s); strings.HasSuffix(s, "mm") {
		return ""
	}
	return strings.TrimRight(strings.TrimSuffix(s, "in"), "\"”″")
}
