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
	d, err := p.day("--as-of", c.AsOf, p.today())
	if err != nil {
		return err
	}
	b, from, err := c.book(p, d)
	if err != nil {
		return err
	}
	fmt.Fprintln(p.err, "This is the book of "+from+".")
	return printJSON(p.out, b.Data())
}

// day returns the day that a flag means: another when it is empty.
func (p process) day(flag, text string, otherwise date.Date) (date.Date, error) {
	if text == "" {
		return otherwise, nil
	}
	d, err := date.Parse(text)
	if err != nil {
		return d, &inputError{err: fmt.Errorf("%s: %w", flag, err)}
	}
	return d, nil
}
