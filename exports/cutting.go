package exports

import (
	"cmp"
	"slices"
	"strconv"

	"reckoner/pricing"
	"reckoner/pricing/unit"
)

// Sorts of a cutting list's lines, in the order in which they are cut.
const (
	sawn   = iota // from boards
	panel         // from a sheet
	offcut        // from what is left over
)

// A markedPart is one line of the cutting list with the mark that is written on
// the wood.
type markedPart struct {
	*pricing.CutPart
	piece       int       // index of its piece in the costing
	line        int       // index among the piece's parts
	mark        string    // "A1": the piece's letter and the place in the order of cutting
	sort        int       // sawn, panel or offcut
	timber      string    // code of the timber; empty unless sawn
	description string    // of the sawn thickness or the sheet; empty for an offcut
	unit        unit.Unit // of Volume; empty unless sawn
	drawers     string    // that it belongs to, by number: "1-2, 5"; empty for a part of no drawer
}

// cuttingOrder returns the lines of every piece, piece by piece, in the order in
// which they are cut: boards by timber, sawn thickness and length, the longest
// first, then the widest; after them sheets by code, then offcuts. Lines that all
// this leaves equal stay as the costing has them.
func cuttingOrder(p *Paper) []markedPart {
	timbers := timberCodes(p)
	var all []markedPart
	for i := range p.Costing.Pieces {
		from := len(all)
		all = append(all, piecesParts(p, i, timbers)...)
		slices.SortStableFunc(all[from:], asCut)
		for k := range all[from:] {
			all[from+k].mark = pricing.Mark(i) + strconv.Itoa(k+1)
		}
	}
	return all
}

// timberCodes returns the code of the timber of each sawn thickness.
func timberCodes(p *Paper) map[string]string {
	codes := make(map[string]string)
	for i := range p.Book.Data().Timbers {
		t := &p.Book.Data().Timbers[i]
		for k := range t.Thicknesses {
			codes[t.Thicknesses[k].Code] = t.Code
		}
	}
	return codes
}

// piecesParts returns the lines of the i-th piece as the costing has them.
func piecesParts(p *Paper, i int, timbers map[string]string) []markedPart {
	o := &p.Costing.Pieces[i]
	bought := make(map[string]*pricing.Line, len(o.Timber)+len(o.Sheets))
	for _, lines := range [][]pricing.Line{o.Timber, o.Sheets} {
		for k := range lines {
			bought[lines[k].Code] = &lines[k]
		}
	}
	drawers := drawersOf(p, i)
	parts := make([]markedPart, len(o.Parts))
	for k := range o.Parts {
		m := markedPart{CutPart: &o.Parts[k], piece: i, line: k, sort: offcut, drawers: drawers[likeness(&o.Parts[k])]}
		if l := bought[m.Code]; l != nil {
			m.sort, m.description = panel, l.Description
			if m.Strips > 0 {
				m.sort, m.timber, m.unit = sawn, timbers[m.Code], l.Unit
			}
		}
		parts[k] = m
	}
	return parts
}

// asCut compares two lines of one piece in the order of cutting.
func asCut(a, b markedPart) int {
	return cmp.Or(
		cmp.Compare(a.sort, b.sort),
		cmp.Compare(a.timber, b.timber),
		cmp.Compare(a.SawnThickness, b.SawnThickness),
		cmp.Compare(a.Code, b.Code),
		cmp.Compare(b.Length, a.Length),
		cmp.Compare(b.Width, a.Width),
	)
}
