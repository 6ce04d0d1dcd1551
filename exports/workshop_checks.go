package exports

import (
	"slices"

	"reckoner/pricing"
)

// A place is where in the work a caution is said.
type place int

const (
	atTheBench place = iota
	atTheSaw
	atTheSheets
	atTheGluePot
	atTheLift
	atTheDesk
)

// saidAt reports whether a check is said at a place.
func saidAt(where place, code string) bool {
	switch code {
	case "wood_dust":
		return where == atTheBench || where == atTheSaw
	case "isocyanate", "flammable", "drying_oil":
		return where == atTheGluePot
	case "two_people", "stability":
		return where == atTheLift
	case "sheet_fill":
		return where == atTheSheets
	case "below_terms":
		return where == atTheDesk
	}
	return where == atTheBench
}

// common reports whether a check is of the materials rather than of one piece.
func common(code string) bool {
	return slices.Contains([]string{"wood_dust", "isocyanate", "flammable", "drying_oil"}, code)
}

// cautions writes what is to be said at a place of the i-th piece, or, for -1, of
// the materials of all, each once.
func (t *tab) cautions(i int, where place) {
	var said []string
	for k := range t.bench.Costing.Pieces {
		if i >= 0 && k != i {
			continue
		}
		for _, c := range t.bench.Costing.Pieces[k].Checks {
			if saidAt(where, c.Code) && common(c.Code) == (i < 0) && !slices.Contains(said, c.Message) {
				said = append(said, c.Message)
				t.caution(&c)
			}
		}
	}
}

// caution writes one caution across the sheet.
func (t *tab) caution(c *pricing.Check) {
	t.paragraphs(capital(c.Severity)+". "+oneLine(c.Message), look{size: 8.5, bold: true}, len(t.wide))
}

// checks writes every check with its source.
func (b *bench) checks() {
	l, k := b.looks().head, b.looks()
	quiet := k.text
	quiet.grey = true
	t := b.open(checksName, []float64{30, 160, 90, 60, 300, 130},
		cell{look: l}, cell{value: "Piece", look: l}, cell{value: "Check", look: l}, cell{value: "Severity", look: l},
		cell{value: "What is to be said", look: l}, cell{value: "Source", look: l})
	for i := range b.pieces {
		o := &b.Costing.Pieces[i]
		for _, c := range o.Checks {
			t.put(tight, cell{value: b.pieces[i].letter, look: k.text}, cell{value: oneLine(o.Title) + b.standing(i), look: k.text},
				cell{value: c.Code, look: k.text}, cell{value: c.Severity, look: k.text},
				cell{value: oneLine(c.Message), look: k.text}, cell{value: oneLine(c.Source), look: quiet})
		}
	}
	if t.row == headRow {
		t.put(tight, cell{look: k.text}, cell{value: "Nothing to be said.", look: k.text})
	}
	t.close()
}
