package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// A priceCmd prices a file.
type priceCmd struct {
	File string `arg:"" help:"A request or one piece, as JSON; - reads standard input."`
	Book string `help:"A book document to price from, instead of the starter book." placeholder:"FILE"`
	AsOf string `help:"The date whose prices are meant, where the request names none (default today)." placeholder:"DATE"`
	Out  string `help:"The directory for the quotation." default:"." placeholder:"DIR"`
	JSON bool   `name:"json" help:"Print the costing as JSON and nothing else; write no file."`
}

// Run prices the file, prints the summary and writes the quotation.
func (c *priceCmd) Run(p process) error {
	text, err := p.read(c.File)
	if err != nil {
		return err
	}
	r, single, err := readRequest(text)
	if err != nil {
		return err
	}
	b, err := c.book(p, &r)
	if err != nil {
		return err
	}
	costing, err := pricing.Cost(r, b)
	if err != nil {
		return badRequest(err, text, single)
	}
	if c.JSON {
		return printJSON(p.out, costing)
	}
	return c.write(p, exports.Paper{Costing: costing, Request: r, Book: b, Customer: r.Customer})
}

// printJSON prints v as one line of JSON.
func printJSON(w io.Writer, v any) error {
	text, err := wire.Encode(v)
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

// read returns the text of a file, or of standard input for "-".
func (p process) read(name string) ([]byte, error) {
	if name == "-" {
		return io.ReadAll(p.in)
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, &inputError{err: err}
	}
	return text, nil
}

// readRequest decodes a request, or one piece as the request that has only it.
func readRequest(text []byte) (r pricing.Request, single bool, err error) {
	members, err := wire.Members(text)
	if err != nil {
		return r, false, &inputError{err: err}
	}
	if slices.Contains(members, "kind") && !slices.Contains(members, "pieces") {
		var one piece.Piece
		err = wire.Decode(text, &one)
		r.Pieces, single = []piece.Piece{one}, true
	} else {
		err = wire.Decode(text, &r)
	}
	if err != nil {
		return r, single, &inputError{err: err}
	}
	return r, single, nil
}

// badRequest puts the faults in the order of the file, and makes those of a single
// piece point into it.
func badRequest(err error, text []byte, single bool) error {
	faults, ok := err.(fault.List)
	if !ok {
		if o, tooLarge := err.(num.Overflow); tooLarge {
			err = &inputError{err: o}
		}
		return err
	}
	if single {
		faults = slices.Clone(faults)
		for i, f := range faults {
			faults[i].Pointer = strings.Replace(f.Pointer, "#/pieces/0", "#", 1)
		}
	}
	return &inputError{err: wire.InOrder(text, faults)}
}

// book returns the book to price from and settles the date of the request.
func (c *priceCmd) book(p process, r *pricing.Request) (*book.Book, error) {
	if c.AsOf != "" {
		d, err := date.Parse(c.AsOf)
		if err != nil {
			return nil, &inputError{err: fmt.Errorf("--as-of: %w", err)}
		}
		if !r.AsOf.IsZero() && r.AsOf != d {
			return nil, &inputError{err: fault.List{{Pointer: "#/as_of", Detail: fmt.Sprintf("the request is of %s, --as-of of %s: leave one out", r.AsOf, d)}}}
		}
		r.AsOf = d
	}
	if c.Book != "" {
		return readBook(c.Book)
	}
	if r.AsOf.IsZero() {
		r.AsOf = p.today
	}
	return catalog.Starter(r.AsOf)
}

// readBook reads a book document.
func readBook(name string) (*book.Book, error) {
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, &inputError{err: err}
	}
	var data book.Data
	if err := wire.Decode(text, &data); err != nil {
		return nil, &inputError{file: name, err: err}
	}
	b, err := book.New(data)
	if err != nil {
		return nil, &inputError{file: name, err: err}
	}
	return b, nil
}

// write prints the summary and writes the quotation beside it.
func (c *priceCmd) write(p process, paper exports.Paper) error {
	name := filepath.Join(c.Out, quotationName(c.File))
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return err
	}
	if err := writeFile(name, func(w io.Writer) error { return exports.Quotation(w, paper) }); err != nil {
		return err
	}
	if err := exports.Summary(p.out, paper); err != nil {
		return err
	}
	_, err := fmt.Fprintf(p.out, "\nQuotation: %s\n", name)
	return err
}

// quotationName returns the name of the quotation's file, after the request's.
func quotationName(request string) string {
	base := filepath.Base(request)
	if request == "-" {
		base = "request"
	}
	return strings.TrimSuffix(base, filepath.Ext(base)) + "-quotation.xlsx"
}

// writeFile writes a file whole or not at all.
func writeFile(name string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(name), ".reckoner-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			os.Remove(f.Name())
		}
	}()
	if err := errors.Join(write(f), f.Chmod(0o644), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
