package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/num"
)

// An impactCmd shows what prices do to the quotes that are out.
type impactCmd struct {
	database
	AsOf    string `help:"The date whose prices are meant, which may be to come (default today)." placeholder:"DATE"`
	Preview int64  `help:"A price update, by its number, to price with as if it were applied." placeholder:"ID"`
	Timber  string `help:"Only quotes with this timber, or this thickness." placeholder:"CODE"`
	Update  int64  `help:"Only quotes with something whose price this update moved." placeholder:"ID"`
	Out     string `help:"Also write the quotes into this file, .csv or .xlsx." placeholder:"FILE"`
}

// Run prints the quotes, the most lost first, and what the update costs of each
// timber.
func (c *impactCmd) Run(p process) (err error) {
	draw := exports.ImpactCSV
	switch ending := strings.ToLower(filepath.Ext(c.Out)); {
	case ending == ".xlsx":
		draw = exports.ImpactXLSX
	case ending != ".csv" && c.Out != "":
		return &inputError{err: fmt.Errorf("%s: name a file that ends in .csv or .xlsx", c.Out)}
	}
	q := quotes.Question{Today: p.today(), Preview: c.Preview, Timber: c.Timber, Update: c.Update}
	if c.AsOf != "" {
		if q.AsOf, err = p.day("--as-of", c.AsOf, q.Today); err != nil {
			return err
		}
	}
	if _, err := os.Stat(c.DB); err != nil { // opening it would make it
		return &inputError{err: err}
	}
	kept, err := catalog.Open(p.ctx, c.DB)
	if err != nil {
		return c.failure(err)
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	all, err := quotes.New(kept).Impact(p.ctx, q)
	if err != nil {
		return c.refusal(err)
	}
	if err := tellImpact(p.out, all); err != nil || c.Out == "" {
		return err
	}
	if err := writeFile(c.Out, func(w io.Writer) error { return draw(w, all) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.out, "\nWrote %s.\n", c.Out)
	return err
}

// refusal returns an error of the question as one of the input, any other as one of the
// database.
func (c *impactCmd) refusal(err error) error {
	var (
		noUpdate *catalog.NoUpdate
		missing  *catalog.NotFound
		broken   *catalog.Broken
	)
	if errors.As(err, &noUpdate) || errors.As(err, &missing) || errors.As(err, &broken) {
		return &inputError{err: err}
	}
	return c.failure(err)
}

// tellImpact prints an impact.
func tellImpact(w io.Writer, all pricing.Impact) error {
	prices := all.AsOf.String()
	if all.Preview != 0 {
		prices += fmt.Sprintf(" if price update %d is applied", all.Preview)
	}
	fmt.Fprintf(w, "The quotes that are out, at the prices of %s: %d\n", prices, all.Sums.Count)
	if len(all.Quotes) > 0 {
		fmt.Fprintln(w)
		if err := tellQuotes(w, all); err != nil {
			return err
		}
	}
	for i, u := range all.Unpriced {
		if i == 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "cannot be priced: %s-%d %s: %s\n", u.Number, u.Revision, onOneLine(u.Title), u.Detail)
	}
	return tellTimbers(w, all.Update)
}

// tellQuotes prints a row for each quote, and what they come to.
func tellQuotes(w io.Writer, all pricing.Impact) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "quote\tvalid until\told cost\tnew cost\tloss\tquoted\twould be\tmargin left\t%\t  for")
	for i := range all.Quotes {
		a := &all.Quotes[i]
		fmt.Fprintf(table, "%s-%d\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t  %s: %s\n", a.Number, a.Revision, cmp.Or(a.ValidUntil.String(), a.Status),
			a.OldCost, a.NewCost, plus(a.Loss), a.Quoted, a.WouldBe, a.Left, hundredths(a.LeftOf), onOneLine(a.Customer), onOneLine(a.Title))
	}
	s := all.Sums
	fmt.Fprintf(table, "all\t\t%s\t%s\t%s\t%s\t%s\t%s\t\n", s.OldCost, s.NewCost, plus(s.Loss), s.Quoted, s.WouldBe, s.Left)
	return table.Flush()
}

// tellTimbers prints what a price update costs of each timber.
func tellTimbers(w io.Writer, u *pricing.UpdateImpact) error {
	if u == nil {
		return nil
	}
	fmt.Fprintf(w, "\nWhat price update %d (%s, %s) costs them in timber: %s\n", u.ID, u.File, u.Status, plus(u.Loss))
	if len(u.Timbers) == 0 {
		return nil
	}
	wide := len("timber")
	for _, t := range u.Timbers {
		wide = max(wide, len(t.Code))
	}
	fmt.Fprintln(w)
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(table, "%-*s\tquotes\told rates\tnew rates\tloss\t\n", wide, "timber")
	for _, t := range u.Timbers {
		fmt.Fprintf(table, "%-*s\t%d\t%s\t%s\t%s\t\n", wide, t.Code, t.Quotes, t.Old, t.New, plus(t.Loss))
	}
	return table.Flush()
}

// hundredths returns a percentage with both its decimals.
func hundredths(p num.Percent) string {
	whole, part, _ := strings.Cut(p.String(), ".")
	return whole + "." + (part + "00")[:2]
}

// onOneLine returns a text without line breaks, which a title may have.
func onOneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// plus returns an amount with its sign.
func plus(m num.Money) string {
	if m.IsZero() || m.IsNegative() {
		return m.String()
	}
	return "+" + m.String()
}
