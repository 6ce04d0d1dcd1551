package main

import (
	"fmt"

	"reckoner/catalog"
	"reckoner/pricing/date"
)

// A bookCmd prints the starter book.
type bookCmd struct {
	AsOf string `help:"The date whose prices are meant (default today)." placeholder:"DATE"`
}

// Run prints the book as the document that price --book takes.
func (c *bookCmd) Run(p process) error {
	d := p.today
	if c.AsOf != "" {
		var err error
		if d, err = date.Parse(c.AsOf); err != nil {
			return &inputError{err: fmt.Errorf("--as-of: %w", err)}
		}
	}
	b, err := catalog.Starter(d)
	if err != nil {
		return err
	}
	return printJSON(p.out, b.Data())
}
