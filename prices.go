package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"reckoner/api"
	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// A pricesCmd is the commands about price lists.
type pricesCmd struct {
	Import importCmd `cmd:"" help:"Show what a price list, CSV or XLSX, would change, and change it if told to."`
	Export exportCmd `cmd:"" help:"Write the prices of a day as a price list, CSV or XLSX, that import takes."`
}

// An importCmd loads a price list.
type importCmd struct {
	database
	File             string `arg:"" help:"The price list, .csv or .xlsx."`
	Apply            bool   `help:"Make the prices hold."`
	SkipRefused      bool   `help:"Apply the other rows although some are refused."`
	AcceptLargeMoves bool   `help:"Apply although prices move more than the terms' large_move_percent."`
}

// Run shows what the list would change, and changes it if told to.
func (c *importCmd) Run(p process) (err error) {
	text, err := os.ReadFile(c.File)
	if err != nil {
		return &inputError{err: err}
	}
	rows, err := catalog.ReadList(text)
	if err != nil {
		return &inputError{err: err}
	}
	kept, err := catalog.Open(p.ctx, c.DB)
	if err != nil {
		return c.failure(err)
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	list := catalog.List{File: filepath.Base(c.File), Text: text, Rows: rows, Progress: p.bar(len(rows))}
	u, _, err := kept.Preview(p.ctx, list, p.today())
	if err != nil {
		return err
	}
	if err := tellUpdate(p.out, u); err != nil {
		return err
	}
	if u.AppliedAt == "" {
		if err := tellChest(p, kept, &u); err != nil {
			return err
		}
	}
	switch {
	case u.AppliedAt != "":
		_, err = fmt.Fprintf(p.out, "\nThis file was applied at %s, as price update %d: nothing is left to do.\n", u.AppliedAt, u.ID)
		return err
	case !c.Apply:
		_, err = fmt.Fprintf(p.out, "\nNothing is changed yet: --apply makes it so. To the quotations that are out it would do what impact --preview %d shows.\n", u.ID)
		return err
	}
	consent := catalog.Consent{SkipRefused: c.SkipRefused, AcceptLargeMoves: c.AcceptLargeMoves}
	if u, err = kept.Apply(p.ctx, u.ID, consent, p.today()); err != nil {
		if opposed := (*catalog.Conflict)(nil); errors.As(err, &opposed) {
			return &inputError{err: errors.New(strings.NewReplacer("skip_refused", "--skip-refused", "accept_large_moves", "--accept-large-moves").Replace(opposed.Error()))}
		}
		return err
	}
	_, err = fmt.Fprintf(p.out, "\nApplied to %s as price update %d.\n", c.DB, u.ID)
	return err
}

// tellUpdate prints what becomes of the rows that change anything or are refused.
func tellUpdate(w io.Writer, u catalog.Update) error {
	s := u.Summary
	fmt.Fprintf(w, "%s: %d new, %d changed, %d unchanged, %d refused; %d large moves\n\n", u.File, s.New, s.Changed, s.Unchanged, s.Refused, s.LargeMoves)
	if s.New+s.Changed > 0 {
		if err := tellRows(w, u.Rows); err != nil {
			return err
		}
	}
	for _, r := range u.Rows {
		if r.Outcome == "refused" {
			fmt.Fprintf(w, "refused: %s\n", wire.CellFault{Row: r.Row, Column: r.Column, Detail: r.Detail})
		}
	}
	for _, n := range u.Notes {
		fmt.Fprintln(w, n)
	}
	return nil
}

// tellRows prints the rows that change anything.
func tellRows(w io.Writer, rows []catalog.UpdateRow) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "row\tcode\tfrom\told\tnew\tper\tchange")
	for _, r := range rows {
		if r.Outcome != "new" && r.Outcome != "changed" {
			continue
		}
		old, change := "-", ""
		if r.Old != nil {
			old = r.Old.String()
		}
		if r.Change != nil {
			change = signed(*r.Change) + " %"
		}
		if r.Large {
			change += "  large"
		}
		if r.Converted != nil {
			change += fmt.Sprintf("  (%s per %s; %s)", r.Converted.Rate, r.Converted.Unit, r.Converted.Factor)
		}
		fmt.Fprintf(table, "%d\t%s\t%s\t%s\t%s\t%s\t%s\n", r.Row, r.Code, r.From, old, *r.New, r.Unit, change)
	}
	return table.Flush()
}

func signed(d num.Decimal) string {
	if d > 0 {
		return "+" + d.String()
	}
	return d.String()
}

// tellChest prints what an update would do to the timber of the demo chest, on the
// last day on which any of its prices begins.
func tellChest(p process, kept *catalog.Catalog, u *catalog.Update) error {
	last := date.Date{}
	for _, r := range u.Rows {
		if r.New != nil && r.From.Compare(last) > 0 {
			last = r.From
		}
	}
	if last.IsZero() {
		return nil
	}
	before, err := kept.Book(p.ctx, last)
	if err != nil {
		return err
	}
	after, err := u.On(before)
	if err != nil {
		return err
	}
	was, err := chest(before)
	if err != nil {
		_, err := fmt.Fprintf(p.out, "\nThe demo chest cannot be priced from this book, to compare.\n")
		return err
	}
	is, err := chest(after)
	if err != nil {
		return err
	}
	moved := is.timber.Minus(was.timber).String()
	if was.timber.Compare(is.timber) < 0 {
		moved = "+" + moved
	}
	_, err = fmt.Fprintf(p.out, "\nThe demo chest on %s: timber %s, was %s (%s); price %s, was %s\n",
		last, is.timber, was.timber, moved, is.price, was.price)
	return err
}

// A chestPrice is what the demo chest comes to.
type chestPrice struct{ timber, price num.Money }

// chest prices the demo chest from a book.
func chest(b *book.Book) (c chestPrice, err error) {
	text, err := fs.ReadFile(demos, "testdata/pieces/tall-chest.json")
	if err != nil {
		return c, err
	}
	var r pricing.Request
	if err := wire.Decode(text, &r); err != nil {
		return c, err
	}
	costing, err := pricing.Cost(r, b)
	if err != nil {
		return c, err
	}
	c = chestPrice{b.Data().Currency.Zero(), costing.Pieces[0].Price}
	for _, line := range costing.Pieces[0].Timber {
		c.timber = c.timber.Plus(line.Amount)
	}
	return c, nil
}

// An exportCmd writes a price list.
type exportCmd struct {
	database
	File  string `arg:"" help:"The file to write, .csv or .xlsx."`
	AsOf  string `help:"The date whose prices are meant (default today)." placeholder:"DATE"`
	From  string `help:"The effective_from to write, such as the first of next month (default that date)." placeholder:"DATE"`
	Class string `help:"Only the prices of timber, sheet, supply, ironmongery or labour." enum:"timber,sheet,supply,ironmongery,labour," default:""`
}

// Run writes the prices of a day.
func (c *exportCmd) Run(p process) (err error) {
	draw := exports.PriceListCSV
	switch strings.ToLower(filepath.Ext(c.File)) {
	case ".csv":
	case ".xlsx":
		draw = exports.PriceListXLSX
	default:
		return &inputError{err: fmt.Errorf("%s: name a file that ends in .csv or .xlsx", c.File)}
	}
	d, err := p.day("--as-of", c.AsOf, p.today())
	if err != nil {
		return err
	}
	from, err := p.day("--from", c.From, d)
	if err != nil {
		return err
	}
	kept, err := catalog.Open(p.ctx, c.DB)
	if err != nil {
		return c.failure(err)
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	all, err := kept.Items(p.ctx, d)
	if err != nil {
		return err
	}
	rows := api.PriceRows(all.Of(c.Class), from)
	if err := writeFile(c.File, func(w io.Writer) error { return draw(w, rows) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.out, "Wrote %d prices of %s from %s to %s.\n", len(rows), d, c.DB, c.File)
	return err
}
