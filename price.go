package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

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
	database
	File string `arg:"" help:"A request or one piece, as JSON, or a cutting list, as CSV; - reads standard input."`
	Book string `help:"A book document to price from, instead of the database or the starter book." placeholder:"FILE"`
	AsOf string `help:"The date whose prices are meant, where the request names none (default today)." placeholder:"DATE"`
	Out  string `help:"The directory for the workbooks." default:"." placeholder:"DIR"`
	CSV  string `name:"csv" help:"Write the cutting list, the buying list and the labour sheet as CSV into this directory." placeholder:"DIR" xor:"output"`
	SVG  string `name:"svg" help:"Write the front elevation and the cutting diagrams as SVG into this directory." placeholder:"DIR"`
	JSON bool   `name:"json" help:"Print the costing as JSON and nothing else; write no file." xor:"output"`

	Timber string `help:"The timber of a cutting list." placeholder:"CODE"`
	Sheet  string `help:"What the word sheet means in a cutting list." placeholder:"CODE"`
	Finish string `help:"The finish of a cutting list." placeholder:"CODE"`
}

// Run prices the file, prints the summary and writes the papers.
func (c *priceCmd) Run(p process) error {
	text, err := p.read(c.File)
	if err != nil {
		return err
	}
	r, refusal, err := c.input(text)
	if err != nil {
		return err
	}
	b, from, err := c.from(p, &r)
	if err != nil {
		return err
	}
	costing, err := pricing.Cost(r, b)
	if err := refusal(b, err); err != nil {
		return err
	}
	if c.JSON {
		fmt.Fprintln(p.err, "Prices: "+from)
		return printJSON(p.out, costing)
	}
	return c.write(p, from, exports.Paper{Costing: costing, Request: r, Book: b, Customer: r.Customer})
}

// A refusal says in the words of a file what is wrong with it: what reading it
// found, and what pricing it from a book did, if anything.
type refusal func(*book.Book, error) error

// input reads what is to be priced: a cutting list or a request.
func (c *priceCmd) input(text []byte) (pricing.Request, refusal, error) {
	if c.givesList() {
		r, refusal := c.readList(text)
		return r, refusal, nil
	}
	if c.Timber != "" || c.Sheet != "" || c.Finish != "" {
		return pricing.Request{}, nil, &inputError{err: errors.New("--timber, --sheet and --finish go with a cutting list: a file whose name ends in .csv, or standard input and --timber")}
	}
	r, single, err := readRequest(text)
	return r, func(_ *book.Book, err error) error { return badRequest(err, text, single) }, err
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

// badRequest puts the faults, if any, in the order of the file, and makes those of a single
// piece point into it.
func badRequest(err error, text []byte, single bool) error {
	faults, ok := err.(fault.List)
	if !ok {
		return ofInput(err)
	}
	if single {
		faults = slices.Clone(faults)
		for i, f := range faults {
			faults[i].Pointer = strings.Replace(f.Pointer, "#/pieces/0", "#", 1)
		}
	}
	return &inputError{err: wire.InOrder(text, faults)}
}

// ofInput makes arithmetic that does not fit, and what is wrong with a cutting
// list, a fault of the input.
func ofInput(err error) error {
	switch err.(type) {
	case num.Overflow, wire.CellFaults:
		return &inputError{err: err}
	}
	return err
}

// from returns the book to price from and where it is from, and settles the date
// of the request.
func (c *priceCmd) from(p process, r *pricing.Request) (b *book.Book, from string, err error) {
	if c.AsOf != "" {
		d, err := date.Parse(c.AsOf)
		if err != nil {
			return nil, "", &inputError{err: fmt.Errorf("--as-of: %w", err)}
		}
		if !r.AsOf.IsZero() && r.AsOf != d {
			return nil, "", &inputError{err: fault.List{{Pointer: "#/as_of", Detail: fmt.Sprintf("the request is of %s, --as-of of %s: leave one out", r.AsOf, d)}}}
		}
		r.AsOf = d
	}
	if c.Book != "" {
		b, err := readBook(c.Book)
		return b, c.Book, err
	}
	if r.AsOf.IsZero() {
		r.AsOf = p.today()
	}
	return c.database.book(p, r.AsOf)
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

// A paper is a file that is written of a costing.
type paper struct {
	name, dir, ending string
	write             func(io.Writer, exports.Paper) error
}

// papers returns what is written: the two workbooks, and what else is asked for.
func (c *priceCmd) papers(of exports.Paper) ([]paper, error) {
	all := []paper{
		{"Quotation", c.Out, "-quotation.xlsx", exports.Quotation},
		{"Workshop", c.Out, "-workshop.xlsx", exports.Workshop},
	}
	if c.SVG != "" {
		drawings := c.drawings(of)
		if len(drawings) == 0 {
			return nil, &inputError{err: errors.New("--svg: no piece of the request has a front elevation or a part cut from a sheet")}
		}
		all = append(all, drawings...)
	}
	if c.CSV != "" {
		all = append(all,
			paper{"Cutting list", c.CSV, "-cutting-list.csv", exports.CuttingList},
			paper{"Buying list", c.CSV, "-buying-list.csv", exports.BuyingList},
			paper{"Labour sheet", c.CSV, "-labour.csv", exports.LabourSheet})
	}
	return all, nil
}

// drawings returns the front elevation of the first piece that has one, and a
// diagram of every layout of every sheet.
func (c *priceCmd) drawings(of exports.Paper) []paper {
	var all []paper
	if front, ok := exports.FrontPiece(of); ok {
		all = append(all, paper{"Front elevation", c.SVG, "-elevation.svg", func(w io.Writer, of exports.Paper) error {
			return exports.Elevation(w, of, front)
		}})
	}
	for _, sheet := range of.Costing.Cutting {
		for _, l := range sheet.Layouts {
			all = append(all, paper{"Cutting diagram", c.SVG, "-cutting-" + sheet.Code + "-" + strconv.Itoa(l.Number) + ".svg", func(w io.Writer, of exports.Paper) error {
				return exports.CuttingDiagram(w, of, sheet.Code, l.Number)
			}})
		}
	}
	return all
}

// write prints the summary and writes the papers.
func (c *priceCmd) write(p process, from string, of exports.Paper) error {
	papers, err := c.papers(of)
	if err != nil {
		return err
	}
	written := "Prices: " + from + "\n"
	for _, x := range papers {
		name := filepath.Join(x.dir, baseName(c.File)+x.ending)
		if err := os.MkdirAll(x.dir, 0o755); err != nil {
			return err
		}
		if err := writeFile(name, func(w io.Writer) error { return x.write(w, of) }); err != nil {
			return err
		}
		written += x.name + ": " + name + "\n"
	}
	if err := exports.Summary(p.out, of); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.out, "\n%s", written)
	return err
}

// baseName returns what the files of a request are named after: its own file.
func baseName(request string) string {
	base := filepath.Base(request)
	if request == "-" {
		base = "request"
	}
	return strings.TrimSuffix(base, filepath.Ext(base))
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
