package main

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/piece"
)

// givesList reports whether what is to be priced is a cutting list.
func (c *priceCmd) givesList() bool {
	return strings.EqualFold(filepath.Ext(c.File), ".csv") || c.File == "-" && c.Timber != ""
}

// readList makes a cutting list the request of one piece. What cannot be read of
// it is said by the refusal, together with what cannot be priced.
func (c *priceCmd) readList(text []byte) (pricing.Request, refusal) {
	l := list{cmd: c}
	l.cuts, l.unread = wire.CuttingList(text, c.Sheet)
	p := piece.Piece{ID: "cutting-list", Title: "Cutting list", Kind: "parts", Parts: &l.cuts.List}
	if c.File != "-" {
		words := wordsOf(baseName(c.File))
		p.ID, p.Title = slugOf(words), cmp.Or(titleOf(words), p.Title)
	}
	if c.Timber != "" || l.first(ofTimber) > 0 {
		p.Timbers = map[string]string{piece.Show: c.Timber}
	}
	if c.Finish != "" {
		p.Finishes = map[string]string{"outside": c.Finish}
	}
	return pricing.Request{Pieces: []piece.Piece{p}}, l.refusal
}

// wordsOf returns a file's name without what a title cannot hold, in words.
func wordsOf(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToValidUTF8(name, " "), func(r rune) bool {
		return r == '-' || r == '_' || unicode.IsSpace(r) || unicode.IsControl(r)
	}), " ")
}

// titleOf returns words as a title: "Cutting list".
func titleOf(words string) string {
	r := []rune(words)
	if len(r) > 0 {
		r[0] = unicode.ToUpper(r[0])
	}
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

// table stands for a cutting list as a whole where its faults are said.
const table = "#"

// A list is a cutting list and the command that prices it.
type list struct {
	cmd    *priceCmd
	cuts   wire.Cuts
	unread error // what could not be read
}

func ofTimber(p *piece.FreePart, r wire.CutRow) bool { return p.Material == piece.Show && !r.OfSheet }
func ofSheet(_ *piece.FreePart, r wire.CutRow) bool  { return r.OfSheet }

// first returns the row of the first part that is such, 0 if there is none.
func (l *list) first(such func(*piece.FreePart, wire.CutRow) bool) int {
	for i, r := range l.cuts.Rows {
		if such(&l.cuts.List.Parts[i], r) {
			return r.Number
		}
	}
	return 0
}

// refusal says by row and column, or by flag, what is wrong with the list.
func (l *list) refusal(b *book.Book, err error) error {
	priced, ok := err.(fault.List)
	if err != nil && !ok {
		return tooLarge(err)
	}
	var all wire.CellFaults
	errors.As(l.unread, &all)
	type cell struct {
		row    int
		column string
	}
	unread, said := make(map[cell]bool), make(map[wire.CellFault]bool)
	for i, f := range all {
		unread[cell{f.Row, f.Column}] = true
		if f.Row == 0 {
			all[i].Column = table
		}
	}
	all = append(all, l.sheet(b)...)
	for _, f := range priced {
		for _, p := range l.placed(b, f) {
			if !unread[cell{p.Row, p.Column}] && !said[p] {
				all = append(all, p)
			}
			said[p] = true
		}
	}
	if len(all) == 0 {
		return nil
	}
	slices.SortStableFunc(all, func(f, g wire.CellFault) int {
		return cmp.Or(cmp.Compare(f.Row, g.Row), cmp.Compare(rank(f.Column), rank(g.Column)))
	})
	return &inputError{err: all}
}

// rank returns where a column or a flag stands among its neighbours.
func rank(column string) int {
	return slices.Index([]string{
		"--timber", "--sheet", "--finish",
		"", "name", "quantity", "length", "width", "thickness", "material", "finish",
	}, column)
}

// sheet says what is wrong with the sheet named on the command line.
func (l *list) sheet(b *book.Book) wire.CellFaults {
	code, row := l.cmd.Sheet, l.first(ofSheet)
	switch {
	case code == "" && row > 0:
		return wire.CellFaults{{Column: "--sheet", Detail: needed(row, "sheet")}}
	case code != "" && b.Sheet(code) == nil:
		return wire.CellFaults{{Column: "--sheet", Detail: fmt.Sprintf("%q is no sheet of the book", code)}}
	}
	return nil
}

func needed(row int, what string) string {
	return fmt.Sprintf("it is missing, and row %d is cut from it: name a %s of the book", row, what)
}

// placed returns a fault of pricing as it stands in the list or on the command
// line: in the rows of all parts that are alike, of which pricing speaks once.
func (l *list) placed(b *book.Book, f fault.FieldError) wire.CellFaults {
	at := strings.TrimPrefix(f.Pointer, "#/pieces/0")
	i, column, ok := l.cuts.Find("#" + strings.TrimPrefix(at, "/parts"))
	switch {
	case ok:
		return l.inRows(b, i, column, f.Detail)
	case at == "/timbers/"+piece.Show && l.cmd.Timber == "":
		return wire.CellFaults{{Column: "--timber", Detail: needed(l.first(ofTimber), "timber")}}
	case at == "/timbers/"+piece.Show:
		return wire.CellFaults{{Column: "--timber", Detail: f.Detail}}
	case at == "/finishes/outside":
		return wire.CellFaults{{Column: "--finish", Detail: f.Detail}}
	case at == "/parts/parts" && len(l.cuts.Rows) == 0: // said of the table
		return nil
	case at == f.Pointer: // not of the piece
		return wire.CellFaults{{Column: f.Pointer, Detail: f.Detail}}
	}
	return wire.CellFaults{{Column: table, Detail: f.Detail}}
}

// inRows returns a fault of the i-th part in the rows of all that are alike.
func (l *list) inRows(b *book.Book, i int, column, detail string) (all wire.CellFaults) {
	part := l.cuts.List.Parts[i]
	if l.cuts.Rows[i].OfSheet && b.Sheet(part.Material) == nil && (column == "material" || column == "thickness" || column == "") {
		return nil // the sheet's fault
	}
	if column == "material" && b.Sheet(part.Material) == nil && b.Timber(part.Material) == nil {
		detail = fmt.Sprintf("%q is no timber or sheet of the book: write show, sheet, or the code of one", part.Material)
	}
	for k, r := range l.cuts.Rows {
		if k == i || column != "quantity" && alike(part, l.cuts.List.Parts[k]) {
			all = append(all, wire.CellFault{Row: r.Number, Column: column, Detail: detail})
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
