package wire

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/piece"
)

// A List is what makes a cutting list a piece: its parameters are codes of the
// book, each empty where no row needs it.
type List struct {
	Name   string // words that its title and id are made of; empty: "Cutting list"
	Timber string // of the parts whose material is show
	Sheet  string // what the material sheet stands for
	Finish string // of the surfaces outside
}

// A Reading is a cutting list as it was read.
type Reading struct {
	list   List
	cuts   Cuts
	unread CellFaults
}

// Read makes a cutting list, as CuttingList has it, the request of one piece. What
// cannot be read of it is said by Refusal, together with what cannot be priced.
func (l List) Read(text []byte) (pricing.Request, *Reading) {
	r := &Reading{list: l}
	var err error
	r.cuts, err = CuttingList(text, l.Sheet)
	r.unread, _ = err.(CellFaults)
	name := cmp.Or(l.Name, "cutting list")
	p := piece.Piece{ID: slugOf(name), Title: titleOf(name), Kind: "parts", Parts: &r.cuts.List}
	if l.Timber != "" || r.first(ofTimber) > 0 {
		p.Timbers = map[string]string{piece.Show: l.Timber}
	}
	if l.Finish != "" {
		p.Finishes = map[string]string{"outside": l.Finish}
	}
	return pricing.Request{Pieces: []piece.Piece{p}}, r
}

// titleOf returns words as a title: "Cutting list".
func titleOf(words string) string {
	r := []rune(words)
	r[0] = unicode.ToUpper(r[0])
	return string(r[:min(len(r), book.MaxText)])
}

// slugOf returns words as an id: "cutting-list"; nothing when no letter or digit
// of ASCII is among them.
func slugOf(words string) string {
	const most = 64
	s := strings.Join(strings.FieldsFunc(strings.ToLower(words), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	}), "-")
	return strings.TrimRight(s[:min(len(s), most)], "-")
}

func ofTimber(p *piece.FreePart, r CutRow) bool { return p.Material == piece.Show && !r.OfSheet }
func ofSheet(_ *piece.FreePart, r CutRow) bool  { return r.OfSheet }

// first returns the row of the first part that is such, 0 if there is none.
func (r *Reading) first(such func(*piece.FreePart, CutRow) bool) int {
	for i, row := range r.cuts.Rows {
		if such(&r.cuts.List.Parts[i], row) {
			return row.Number
		}
	}
	return 0
}

// Refusal says what is wrong with the list: what reading it found, and what
// pricing its request from b did, if anything, by row and column. In row 0 the
// column is timber, sheet or finish for the parameters of the List, and the
// pointer for what is not of the piece; without a column the table as a whole is
// at fault. The error is CellFaults, nil when nothing is wrong, or priced itself
// when that is no fault.List.
func (r *Reading) Refusal(b *book.Book, priced error) error {
	faults, ok := priced.(fault.List)
	if priced != nil && !ok {
		return priced
	}
	unread, said := make(map[CellFault]bool), make(map[CellFault]bool)
	for _, f := range r.unread {
		unread[CellFault{Row: f.Row, Column: f.Column}] = f.Row > 0
	}
	all := append(slices.Clone(r.unread), r.sheet(b)...)
	for _, f := range faults {
		for _, p := range r.placed(b, f) {
			if !unread[CellFault{Row: p.Row, Column: p.Column}] && !said[p] {
				all = append(all, p)
			}
			said[p] = true
		}
	}
	if len(all) == 0 {
		return nil
	}
	slices.SortStableFunc(all, func(f, g CellFault) int {
		return cmp.Or(cmp.Compare(f.Row, g.Row), cmp.Compare(rank(f.Column), rank(g.Column)))
	})
	return all
}

// rank returns where a parameter or a column stands among its neighbours: after
// the table or the row as a whole.
func rank(column string) int {
	return slices.Index([]string{"timber", "sheet", "name", "quantity", "length", "width", "thickness", "material", "finish"}, column)
}

// sheet says what is wrong with the sheet of the list.
func (r *Reading) sheet(b *book.Book) CellFaults {
	code, row := r.list.Sheet, r.first(ofSheet)
	switch {
	case code == "" && row > 0:
		return CellFaults{{Column: "sheet", Detail: needed(row, "sheet")}}
	case code != "" && b.Sheet(code) == nil:
		return CellFaults{{Column: "sheet", Detail: fmt.Sprintf("%q is no sheet of the book: check its spelling, or name another", code)}}
	}
	return nil
}

func needed(row int, what string) string {
	return fmt.Sprintf("it is missing, and row %d is cut from it: name a %s of the book", row, what)
}

// placed returns a fault of pricing as it stands in the list or its parameters: in
// the rows of all parts that are alike, of which pricing speaks once.
func (r *Reading) placed(b *book.Book, f fault.FieldError) CellFaults {
	at := strings.TrimPrefix(f.Pointer, "#/pieces/0")
	i, column, ok := r.cuts.Find("#" + strings.TrimPrefix(at, "/parts"))
	switch {
	case ok:
		return r.inRows(b, i, column, f.Detail)
	case at == "/timbers/"+piece.Show && r.list.Timber == "":
		return CellFaults{{Column: "timber", Detail: needed(r.first(ofTimber), "timber")}}
	case at == "/timbers/"+piece.Show:
		return CellFaults{{Column: "timber", Detail: f.Detail}}
	case at == "/finishes/outside":
		return CellFaults{{Column: "finish", Detail: f.Detail}}
	case at == "/parts/parts" && len(r.cuts.Rows) == 0: // said of the table
		return nil
	case at == f.Pointer: // not of the piece
		return CellFaults{{Column: f.Pointer, Detail: f.Detail}}
	}
	return CellFaults{{Detail: f.Detail}}
}

// inRows returns a fault of the i-th part in the rows of all that are alike.
func (r *Reading) inRows(b *book.Book, i int, column, detail string) (all CellFaults) {
	part := r.cuts.List.Parts[i]
	if r.cuts.Rows[i].OfSheet && b.Sheet(part.Material) == nil && (column == "material" || column == "thickness" || column == "") {
		return nil // the sheet's fault
	}
	if column == "material" && b.Sheet(part.Material) == nil && b.Timber(part.Material) == nil && b.TimberOf(part.Material) == nil {
		detail = fmt.Sprintf("%q is no timber or sheet of the book: write show, sheet, or the code of one", part.Material)
	}
	for k, row := range r.cuts.Rows {
		if k == i || column != "quantity" && alike(part, r.cuts.List.Parts[k]) {
			all = append(all, CellFault{row.Number, column, detail})
		}
	}
	return all
}

// alike reports whether two parts of a list are the same but for their number.
func alike(a, b piece.FreePart) bool {
	if (a.Thickness == nil) != (b.Thickness == nil) || a.Thickness != nil && *a.Thickness != *b.Thickness {
		return false
	}
	a.Thickness, a.Quantity = b.Thickness, b.Quantity
	return a == b
}
