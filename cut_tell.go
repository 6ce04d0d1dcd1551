package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/num"
)

// tell prints a plan, and writes its files when told where.
func (c *cutCmd) tell(p process, o *sawn) error {
	written := ""
	if c.Out != "" {
		if err := os.MkdirAll(c.Out, 0o755); err != nil {
			return err
		}
		for _, f := range o.files() {
			name := filepath.Join(c.Out, f.name)
			if err := writeFile(name, f.write); err != nil {
				return err
			}
			written += "Wrote " + name + "\n"
		}
	}
	if err := o.tell(p.out); err != nil || written == "" {
		return err
	}
	_, err := fmt.Fprintf(p.out, "\n%s", written)
	return err
}

// tell prints what to buy, whether fewer could do, and every layout.
func (o *sawn) tell(w io.Writer) error {
	if err := o.tellBuying(w); err != nil {
		return err
	}
	fmt.Fprintf(w, "\n%s.\n", o.finding())
	u, first := o.units, &o.sizes[0]
	trim := ""
	if first.Trim > 0 {
		trim = fmt.Sprintf("; first trim %s %s off every edge", first.Trim, u)
	}
	fmt.Fprintf(w, "Kerf %s %s%s. Places are from the lower left corner of the untrimmed sheet, x along its length.\n"+
		"A cut takes off its size, as a fence is set; offcuts are listed from %s %s on both sides.\n", first.Kerf, u, trim, first.OffcutMin, u)
	for i := range o.sizes {
		z := &o.sizes[i]
		for k := range z.Layouts {
			l := &z.Layouts[k]
			fmt.Fprintf(w, "\n%s, layout %d of %d: %s\n", z.Code, l.Number, len(z.Layouts), times(l.Count))
			if err := o.tellLayout(w, l); err != nil {
				return err
			}
		}
	}
	return nil
}

// tellBuying prints how many sheets of each size to fetch, and what they come to.
func (o *sawn) tellBuying(w io.Writer) error {
	fmt.Fprintln(w, "To buy")
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	for _, row := range o.buying() {
		fmt.Fprintln(table, strings.Join(row, "\t")+"\t")
	}
	if len(o.prices) > 0 && len(o.sizes) > 1 {
		all := int64(0)
		for i := range o.sizes {
			all += o.amount(&o.sizes[i])
		}
		fmt.Fprintf(table, "%d\t\t\t\t\t\t%s\t\n", o.plan.Pieces, price(all))
	}
	return table.Flush()
}

// buying returns a table of the sheets to fetch, a row for each size.
func (o *sawn) buying() [][]string {
	rows := [][]string{{"sheets", "stock", "length", "width", "unit"}}
	if len(o.prices) > 0 {
		rows[0] = append(rows[0], "price", "amount")
	}
	for i := range o.sizes {
		z := &o.sizes[i]
		row := []string{strconv.Itoa(z.Sheets), z.Code, z.Length.String(), z.Width.String(), string(z.Units)}
		if len(o.prices) > 0 {
			row = append(row, price(o.prices[z.stock]), price(o.amount(z)))
		}
		rows = append(rows, row)
	}
	return rows
}

// amount returns what the sheets of a size come to, in hundredths.
func (o *sawn) amount(z *sizePlan) int64 { return o.prices[z.stock] * int64(z.Sheets) }

// tellLayout prints the parts of a layout, its cuts and its offcuts, each in their
// order.
func (o *sawn) tellLayout(w io.Writer, l *pricing.Layout) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(table, "part\tlength\twidth\tx\ty\t  name\n")
	for _, q := range l.Placed {
		name := o.names[q.Mark]
		if q.Turned {
			name += " (turned)"
		}
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\t  %s\n", q.Mark, q.Length, q.Width, q.X, q.Y, name)
	}
	for i, q := range l.Offcuts {
		fmt.Fprintf(table, "offcut %d\t%s\t%s\t%s\t%s\t\n", i+1, q.Length, q.Width, q.X, q.Y)
	}
	if err := table.Flush(); err != nil || len(l.Cuts) == 0 {
		return err
	}
	fmt.Fprint(table, "cut\tblade\tsize\tat\tfrom\tto\t\n")
	for _, c := range l.Cuts {
		fmt.Fprintf(table, "%d\t%s\t%s\t%s\t%s\t%s\t\n", c.Number, blade(&c), c.Size, c.At, c.From, c.To)
	}
	return table.Flush()
}

func blade(c *pricing.SheetCut) string {
	if c.Along {
		return "along"
	}
	return "across"
}

func times(n int) string {
	if n == 1 {
		return "cut once"
	}
	return fmt.Sprintf("cut %d times", n)
}

// A cutFile is a file of a plan.
type cutFile struct {
	name  string
	write func(io.Writer) error
}

// files returns the files of a plan: its lists, and a diagram of every layout.
func (o *sawn) files() []cutFile {
	all := []cutFile{
		{"buying-list.csv", asTable(o.buying())},
		{"cutting-plan.csv", asTable(o.places())},
		{"cuts.csv", asTable(o.cuts())},
	}
	for i := range o.sizes {
		z := &o.sizes[i]
		of := exports.Paper{Costing: pricing.Costing{Cutting: []pricing.SheetPlan{z.SheetPlan}}}
		for k := range z.Layouts {
			n := z.Layouts[k].Number
			all = append(all, cutFile{fmt.Sprintf("cutting-%s-%d.svg", z.Code, n), func(w io.Writer) error { return exports.CuttingDiagram(w, of, z.Code, n) }})
		}
	}
	return all
}

// asTable returns what writes rows as CSV.
func asTable(rows [][]string) func(io.Writer) error {
	return func(w io.Writer) error { return exports.Table(w, rows) }
}

// places returns a table of what lies where: the parts of every layout, then its
// offcuts, which have neither mark nor name.
func (o *sawn) places() [][]string {
	rows := [][]string{{"stock", "layout", "times", "mark", "name", "length", "width", "x", "y", "turned", "unit"}}
	o.each(func(z *sizePlan, l *pricing.Layout, start []string) {
		for _, q := range append(l.Placed[:len(l.Placed):len(l.Placed)], l.Offcuts...) {
			turned := "no"
			if q.Turned {
				turned = "yes"
			}
			rows = append(rows, append(start, q.Mark, exports.CellText(o.names[q.Mark]), q.Length.String(), q.Width.String(), q.X.String(), q.Y.String(), turned, string(z.Units)))
		}
	})
	return rows
}

// cuts returns a table of the cuts of every layout.
func (o *sawn) cuts() [][]string {
	rows := [][]string{{"stock", "layout", "times", "cut", "blade", "size", "at", "from", "to", "unit"}}
	o.each(func(z *sizePlan, l *pricing.Layout, start []string) {
		for _, c := range l.Cuts {
			row := append(start, strconv.Itoa(c.Number), blade(&c))
			for _, d := range []num.Decimal{c.Size, c.At, c.From, c.To} {
				row = append(row, d.String())
			}
			rows = append(rows, append(row, string(z.Units)))
		}
	})
	return rows
}

// each calls f with every layout and the first cells of its rows, to which f may
// append.
func (o *sawn) each(f func(z *sizePlan, l *pricing.Layout, start []string)) {
	for i := range o.sizes {
		z := &o.sizes[i]
		for k := range z.Layouts {
			l := &z.Layouts[k]
			start := []string{z.Code, strconv.Itoa(l.Number), strconv.Itoa(l.Count)}
			f(z, l, start[:len(start):len(start)])
		}
	}
}
