package main

import (
	"path/filepath"
	"strings"
	"unicode"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
)

// givesList reports whether what is to be priced is a cutting list.
func (c *priceCmd) givesList() bool {
	return strings.EqualFold(filepath.Ext(c.File), ".csv") || c.File == "-" && c.Timber != ""
}

// readList makes a cutting list the request of one piece. What cannot be read of
// it is said by the refusal, together with what cannot be priced.
func (c *priceCmd) readList(text []byte) (pricing.Request, refusal) {
	l := wire.List{Timber: c.Timber, Sheet: c.Sheet, Finish: c.Finish}
	if c.File != "-" {
		l.Name = wordsOf(baseName(c.File))
	}
	r, reading := l.Read(text)
	if c.File != "-" && l.Name == "" {
		r.Pieces[0].ID = "" // as any name without a letter or digit of ASCII
	}
	return r, func(b *book.Book, err error) error { return ofInput(reading.Refusal(b, err)) }
}

// wordsOf returns a file's name without what a title cannot hold, in words.
func wordsOf(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToValidUTF8(name, " "), func(r rune) bool {
		return r == '-' || r == '_' || unicode.IsSpace(r) || unicode.IsControl(r)
	}), " ")
}

// flagged returns a fault of a cutting list as the command names its place: a
// parameter is a flag, the table as a whole "#".
func flagged(f wire.CellFault) wire.CellFault {
	switch {
	case f.Row > 0:
	case f.Column == "":
		f.Column = "#"
	case !strings.HasPrefix(f.Column, "#"):
		f.Column = "--" + f.Column
	}
	return f
}
