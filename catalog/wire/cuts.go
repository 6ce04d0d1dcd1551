package wire

import (
	"slices"
	"strconv"
	"strings"

	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// Cuts is a cutting list as it was read.
type Cuts struct {
	List piece.PartList
	Rows []CutRow // where each part stands, and what its row says
}

// A CutRow is what a row of a cutting list says beside its part.
type CutRow struct {
	Number  int
	OfSheet bool // its material is the word sheet
}

// CuttingList reads a cutting list in millimetres: a Table with the columns name,
// quantity, length (along the grain), width and thickness, and perhaps material
// (show, the default; sheet; or the code of a timber or sheet) and finish (all,
// the default: 2 faces, 2 long edges, 2 ends; faces; none), which is outside.
// Thickness alone may be left empty. Sheet is the code that the word sheet stands
// for.
//
// The error is a CellFaults with every cell that cannot be read. The list then
// holds the least that may stand in each of them (1 mm, one part), so that what
// else is wrong can still be found: a fault of pricing in a cell that is not among
// these is true. Sizes out of range, unknown codes and the like are pricing's to
// find; Find says which part they mean.
func CuttingList(b []byte, sheet string) (c Cuts, err error) {
	rows, faults := readTable(b, []string{"name", "quantity", "length", "width", "thickness"}, []string{"material", "finish"})
	if len(rows) == 0 && len(faults) == 0 {
		faults.add(2, "", "there is no part below the header row: write one a row")
	}
	for _, r := range rows {
		p := partRow{Row: r}
		c.List.Parts = append(c.List.Parts, p.part(sheet))
		c.Rows = append(c.Rows, CutRow{r.Number, p.ofSheet})
		faults = append(faults, p.faults...)
	}
	if len(faults) == 0 {
		return c, nil
	}
	slices.SortStableFunc(faults, func(a, b CellFault) int { return a.Row - b.Row })
	return c, faults
}

// Find returns the index and the column of the part that a pointer into the list
// means ("#/parts/3/length"); the column is empty for the part as a whole. It is
// not ok for a pointer that means no part.
func (c *Cuts) Find(pointer string) (i int, column string, ok bool) {
	rest, found := strings.CutPrefix(pointer, "#/parts/")
	index, column, _ := strings.Cut(rest, "/")
	i, err := strconv.Atoi(index)
	if !found || err != nil || i < 0 || i >= len(c.Rows) {
		return 0, "", false
	}
	return i, column, true
}

// A partRow is a row being read.
type partRow struct {
	Row
	ofSheet bool
	faults  CellFaults
}

// part returns the part of the row.
func (r *partRow) part(sheet string) piece.FreePart {
	p := piece.FreePart{Name: r.name(), Quantity: r.quantity(), Length: r.size("length"), Width: r.size("width")}
	if r.Cell("thickness") != "" {
		t := r.size("thickness")
		p.Thickness = &t
	}
	p.Material = r.material(sheet)
	p.Outside = r.finish()
	return p
}

func (r *partRow) fault(column, format string, args ...any) {
	r.faults.add(r.Number, column, format, args...)
}

func (r *partRow) name() string {
	name := r.Cell("name")
	if name == "" {
		r.fault("name", "the name is missing: write what the part is")
		return "part"
	}
	return name
}

func (r *partRow) quantity() num.Count {
	const most = 1_000_000_000 // more is out of range in pricing all the same
	s := r.Cell("quantity")
	n, err := strconv.Atoi(s)
	switch {
	case s == "":
		r.fault("quantity", "the quantity is missing: write how many of the part there are")
	case strings.Trim(s, "0123456789") != "" || n == 0 && err == nil:
		r.fault("quantity", "%q is no quantity: write a whole number from 1", excerpt(s))
	case err != nil || n > most:
		r.fault("quantity", "%q is too many: write a smaller number", excerpt(s))
	default:
		return num.Count(n)
	}
	return 1
}

// size reads a size in millimetres.
func (r *partRow) size(column string) num.Decimal {
	s := r.Cell(column)
	d, err := num.ParseDecimal(s)
	if err == nil {
		return d
	}
	switch meant, ok := mended(s); {
	case s == "":
		r.fault(column, "the %s is missing: write it in millimetres", column)
	case ok:
		r.fault(column, "%q is no size: write %s, in millimetres with a point and no unit", excerpt(s), meant)
	default:
		r.fault(column, "%q is no size: write millimetres, a number with at most 6 decimals, such as 812.5", excerpt(s))
	}
	return num.One
}

// mended returns what somebody meant who wrote a unit, spaces or a comma into a
// size. A comma before three digits may be either, so that it is shown both ways.
func mended(s string) (string, bool) {
	s = strings.Join(strings.Fields(strings.TrimSuffix(strings.ToLower(s), "mm")), "")
	whole, decimals, comma := strings.Cut(s, ",")
	if comma {
		s = whole + "." + decimals
	}
	d, err := num.ParseDecimal(s)
	if err != nil {
		return "", false
	}
	if comma && len(decimals) == 3 {
		return whole + decimals + " or " + d.String(), true
	}
	return d.String(), true
}

// material returns the role or the code that the part is cut from.
func (r *partRow) material(sheet string) string {
	s := r.Cell("material")
	switch strings.ToLower(s) {
	case "", piece.Show:
		return piece.Show
	case "sheet":
		r.ofSheet = true
		return sheet
	case piece.Inner, piece.Bottom, piece.Back:
		r.fault("material", "%q is no material of a list: write show, sheet, or the code of a timber or sheet", s)
		return piece.Show
	}
	return s
}

// finish returns which surfaces are finished.
func (r *partRow) finish() piece.Surface {
	s := r.Cell("finish")
	switch strings.ToLower(s) {
	case "", "all":
		return piece.Surface{Faces: 2, LongEdges: 2, Ends: 2}
	case "faces":
		return piece.Surface{Faces: 2}
	case "none":
		return piece.Surface{}
	}
	r.fault("finish", "%q is not known: write all (2 faces, 2 long edges, 2 ends), faces or none", excerpt(s))
	return piece.Surface{}
}
