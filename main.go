// Command reckoner prices bespoke furniture from its specification: it prints
// what goes into a piece and what it costs, and writes the quotation to send.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/alecthomas/kong"

	"reckoner/catalog/wire"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
)

// A cli is the command line.
type cli struct {
	Price   priceCmd   `cmd:"" help:"Price a request, one piece or a cutting list, and write the quotation."`
	Example exampleCmd `cmd:"" help:"Print a complete request to edit."`
	Book    bookCmd    `cmd:"" help:"Print the book: every price, rate and rule in force on a date."`
	Prices  pricesCmd  `cmd:"" help:"Load a price list, or write the prices as one."`
	Serve   serveCmd   `cmd:"" help:"Answer over HTTP, on this machine alone."`
	Cut     cutCmd     `cmd:"" help:"Plan how rectangles are cut from sheets: how many to fetch, how to saw them, and whether fewer could do."`
	Impact  impactCmd  `cmd:"" help:"Show what prices do to the quotations that are out."`
	Verify  verifyCmd  `cmd:"" help:"Check that every quotation that was issued is as it was sent, and follows from its own prices."`
	Backup  backupCmd  `cmd:"" help:"Copy the database to a new file, while others use it."`
	Restore restoreCmd `cmd:"" help:"Put a copy in the place of the database."`
}

// A process is what a command needs of the machine it runs on.
type process struct {
	ctx      context.Context
	in       io.Reader
	out, err io.Writer
	today    func() date.Date
}

func main() {
	p := process{
		ctx: context.Background(), in: os.Stdin, out: os.Stdout, err: os.Stderr,
		today: func() date.Date { return date.Of(time.Now()) },
	}
	os.Exit(p.run(os.Args[1:]))
}

// Exit statuses.
const (
	failed   = 1 // of the program or the machine
	badInput = 2
)

// run parses the command line, runs the command and returns its exit status.
func (p process) run(args []string) int {
	var c cli
	done := -1
	parser, err := kong.New(&c, kong.Name("reckoner"), kong.Description("Prices bespoke furniture from its specification."),
		kong.Writers(p.out, p.err), kong.Exit(func(code int) { done = code }))
	if err != nil {
		return p.report(err)
	}
	command, err := parser.Parse(args)
	if done >= 0 { // help was asked for and given
		return done
	}
	if err != nil {
		fmt.Fprintln(p.err, err)
		return badInput
	}
	return p.report(command.Run(p))
}

// An inputError is a fault of what the user gave: in the file named, if any.
type inputError struct {
	file string // empty: the request
	err  error
}

func (e *inputError) Error() string { return e.err.Error() }
func (e *inputError) Unwrap() error { return e.err }

// report prints what went wrong, each fault of an input on a line, and returns
// the exit status.
func (p process) report(err error) int {
	if err == nil {
		return 0
	}
	input := (*inputError)(nil)
	if !errors.As(err, &input) {
		fmt.Fprintln(p.err, err)
		return failed
	}
	var cells wire.CellFaults
	if errors.As(err, &cells) {
		for _, f := range cells {
			fmt.Fprintln(p.err, flagged(f))
		}
		return badInput
	}
	var faults fault.List
	if !errors.As(err, &faults) {
		faults = fault.List{{Pointer: "#", Detail: err.Error()}}
	}
	for _, f := range faults {
		fmt.Fprintf(p.err, "%s%s: %s\n", input.file, f.Pointer, f.Detail)
	}
	return badInput
}
