package catalog

import (
	"bytes"

	"reckoner/catalog/wire"
	"reckoner/pricing/book"
)

// A Class is a kind of entry. The entries of a class are of one type of a Book.
type Class struct {
	Name string // "timber": as entries have it
	List string // "timbers": the member of a Book that lists them

	entries func(*book.Data) []Entry                // those of a Book
	read    func(d *book.Data, docs [][]byte) error // puts them into a Book
	alone   func(doc []byte) (book.Data, error)     // a Book that has but one
}

// An Entry is a code and what is said of it: a value of the class's type.
type Entry struct {
	Code string
	Doc  any
}

// Entries returns those of a Book without prices, in the Book's order.
func (c Class) Entries(b *book.Book) []Entry {
	d := unpriced(b.Data())
	return c.entries(&d)
}

// Terms is the class of the terms, which have one entry.
func Terms() Class {
	const name = "terms"
	return Class{name, name,
		func(d *book.Data) []Entry { return []Entry{{name, d.Terms}} },
		func(d *book.Data, docs [][]byte) error { return wire.Decode(bytes.Join(docs, nil), &d.Terms) },
		func(doc []byte) (d book.Data, err error) {
			err = wire.Decode(doc, &d.Terms)
			return d, err
		},
	}
}

// Classes returns every class that a Book lists, in its order: all but the terms.
func Classes() []Class {
	return []Class{
		class("timber", "timbers", func(d *book.Data) *[]book.Timber { return &d.Timbers }, func(t *book.Timber) string { return t.Code }),
		class("sheet", "sheets", func(d *book.Data) *[]book.Sheet { return &d.Sheets }, func(s *book.Sheet) string { return s.Code }),
		class("supply", "supplies", func(d *book.Data) *[]book.Supply { return &d.Supplies }, func(s *book.Supply) string { return s.Code }),
		class("ironmongery", "ironmongery", func(d *book.Data) *[]book.Fitting { return &d.Ironmongery }, func(f *book.Fitting) string { return f.Code }),
		class("method", "methods", func(d *book.Data) *[]book.Method { return &d.Methods }, func(m *book.Method) string { return m.Code }),
		class("finish", "finishes", func(d *book.Data) *[]book.Finish { return &d.Finishes }, func(f *book.Finish) string { return f.Code }),
		class("labour", "labour", func(d *book.Data) *[]book.Grade { return &d.Labour }, func(g *book.Grade) string { return g.Code }),
		class("stage", "stages", func(d *book.Data) *[]book.Stage { return &d.Stages }, func(s *book.Stage) string { return s.Code }),
		class("rule", "rules", func(d *book.Data) *[]book.Rule { return &d.Rules }, func(r *book.Rule) string { return r.Code }),
	}
}

// ItemClasses returns the names of the classes of items.
func ItemClasses() []string { return []string{"timber", "sheet", "supply", "ironmongery", "labour"} }

// class returns the class whose entries are the elements of a list of a Book.
func class[T any](name, plural string, list func(*book.Data) *[]T, code func(*T) string) Class {
	return Class{name, plural,
		func(d *book.Data) (all []Entry) {
			of := *list(d)
			for i := range of {
				all = append(all, Entry{code(&of[i]), of[i]})
			}
			return all
		},
		func(d *book.Data, docs [][]byte) error {
			text := append(append([]byte{'['}, bytes.Join(docs, []byte{','})...), ']')
			return wire.Decode(text, list(d))
		},
		func(doc []byte) (d book.Data, err error) {
			one := make([]T, 1)
			err = wire.Decode(doc, &one[0])
			*list(&d) = one
			return d, err
		},
	}
}
