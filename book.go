package main

import (
	"fmt"

	"reckoner/pricing/date"
)

// A bookCmd prints a book.
type bookCmd struct {
	database
	AsOf string `help:"The date whose prices are meant (default today)." placeholder:"DATE"`
}

// Run prints the book as the document that price --book takes.
func (c *bookCmd) Run(p process) error {
	d := p.today()
	if c.AsOf != "" {
		var err error
		if d, err = date.Parse(c.AsOf); err != nil {
			return &inputError{err: fmt.Errorf("--as-of: %w", err)}
		}
	}
	b, from, err := c.book(p, d)
	if err != nil {
		return err
	}
	fmt.Fprintln(p.err, "This is the book of "+from+".")
	return printJSON(p.out, b.Data())
}
