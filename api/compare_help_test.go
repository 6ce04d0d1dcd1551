package api_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A difference is what these tests read of two amounts.
type difference struct{ From, To, Difference string }

// A comparison is what they read of one: all that there is.
type comparison struct {
	Pieces []pieceDifference
	Totals []sumDifference
}

type pieceDifference struct {
	ID, Title, Change string
	Price             difference
	InNet             difference `json:"in_net"`
	BuildUp           difference `json:"build_up"`
	Lines             []lineDifference
	Parts             []partDifference
}

type lineDifference struct {
	Heading, Code, Description, Change, Unit string
	Quantity                                 struct{ From, To json.Number }
	Rate                                     struct{ From, To string }
	Amount                                   difference
}

type partDifference struct {
	Name, Material, Change string
	From, To               *partSize
}

type sumDifference struct {
	Name, Code string
	difference
}

// A pricedAll is what these tests read of a costing.
type pricedAll struct {
	Pieces []costedPiece
	Totals struct {
		Net, Discount, Taxable, Gross string
		Tax                           []struct{ Code, Amount string }
	}
}

type costedPiece struct {
	ID, Title, Price                              string
	Quantity                                      int
	Included                                      bool
	Timber, Sheets, Ironmongery, Supplies, Labour []costedLine
	BoughtIn                                      []costedLine `json:"bought_in"`
	Parts                                         []costedPart
}

// headings are what the lines of a piece stand under.
var headings = [...]string{"timber", "sheets", "ironmongery", "supplies", "labour", "bought_in"}

type costedLine struct {
	heading                               string
	Code, Description, Unit, Rate, Amount string
	Quantity                              json.Number
}

type costedPart struct {
	Name, Material string
	partSize
}

type partSize struct {
	Quantity                 int
	Length, Width, Thickness json.Number
	Code                     string
}

// pennies returns an amount in pennies.
func pennies(t testing.TB, amount string) int64 {
	t.Helper()
	n, err := strconv.ParseInt(strings.Replace(amount, ".", "", 1), 10, 64)
	require.NoError(t, err)
	return n
}

// differ returns two amounts, nothing being none, and how they differ.
func differ(t testing.TB, from, to string) difference {
	t.Helper()
	from, to = orElse(from, "0.00"), orElse(to, "0.00")
	return difference{from, to, pounds(pennies(t, to) - pennies(t, from))}
}

func orElse[T ~string](text, otherwise T) T {
	if text == "" {
		return otherwise
	}
	return text
}

// pounds returns pennies as an amount.
func pounds(n int64) string {
	if n < 0 {
		return "-" + pounds(-n)
	}
	return fmt.Sprintf("%d.%02d", n/100, n%100)
}

// A pair is something in the one list and in the other, and what became of it.
type pair[T any] struct {
	from, to, named T
	change          string // nothing where both are the same
}

// paired returns the pairs of two lists: those of the same key, the first with the first;
// in the order of the one, then what is in the other alone.
func paired[T comparable](from, to []T, key func(T) string) (all []pair[T]) {
	taken := make([]bool, len(to))
	for _, e := range from {
		p := pair[T]{from: e, named: e, change: "went"}
		for i, other := range to {
			if !taken[i] && key(other) == key(e) {
				taken[i] = true
				p.to, p.named, p.change = other, other, map[bool]string{false: "changed"}[e == other]
				break
			}
		}
		all = append(all, p)
	}
	for i, e := range to {
		if !taken[i] {
			all = append(all, pair[T]{to: e, named: e, change: "appeared"})
		}
	}
	return all
}

// lines returns the lines of a piece, heading by heading.
func (p costedPiece) lines() (all []costedLine) {
	for i, lines := range [][]costedLine{p.Timber, p.Sheets, p.Ironmongery, p.Supplies, p.Labour, p.BoughtIn} {
		for _, l := range lines {
			l.heading = headings[i]
			all = append(all, l)
		}
	}
	return all
}

// under returns those of the lines that stand under a heading.
func under(heading string, lines []costedLine) []costedLine {
	return slices.DeleteFunc(slices.Clone(lines), func(l costedLine) bool { return l.heading != heading })
}

// above returns what is in the price of a piece beside its lines.
func (p costedPiece) above(t testing.TB) string {
	t.Helper()
	n := pennies(t, orElse(p.Price, "0.00"))
	for _, l := range p.lines() {
		n -= pennies(t, l.Amount)
	}
	return pounds(n)
}

// inNet returns the price where it is in the net.
func (p costedPiece) inNet() string {
	if p.Included {
		return p.Price
	}
	return ""
}

// expected returns how a costing differs from another, worked out from what is answered
// of either.
func expected(t testing.TB, from, to pricedAll) comparison {
	t.Helper()
	c := comparison{Pieces: []pieceDifference{}}
	byID := make(map[string][2]costedPiece)
	heads := [2][]costedHead{}
	for side, all := range [][]costedPiece{from.Pieces, to.Pieces} {
		for _, p := range all {
			both := byID[p.ID]
			both[side] = p
			byID[p.ID] = both
			heads[side] = append(heads[side], costedHead{p.ID, p.Title, p.Price, p.Quantity, p.Included})
		}
	}
	for _, p := range paired(heads[0], heads[1], func(h costedHead) string { return h.id }) {
		both := byID[p.named.id]
		d := pieceDifference{
			ID: p.named.id, Title: p.named.title, Change: orElse(p.change, "changed"), Price: differ(t, both[0].Price, both[1].Price),
			InNet: differ(t, both[0].inNet(), both[1].inNet()), BuildUp: differ(t, both[0].above(t), both[1].above(t)), Lines: linesOf(t, both), Parts: partsOf(both),
		}
		if p.change != "" || len(d.Lines)+len(d.Parts) > 0 {
			c.Pieces = append(c.Pieces, d)
		}
	}
	c.Totals = sumsOf(t, from, to)
	return c
}

// A costedHead is what a piece is beside its lines and parts.
type costedHead struct {
	id, title, price string
	quantity         int
	included         bool
}

// linesOf returns the lines of a piece that differ.
func linesOf(t testing.TB, both [2]costedPiece) []lineDifference {
	t.Helper()
	all := []lineDifference{}
	for _, heading := range headings {
		for _, l := range paired(under(heading, both[0].lines()), under(heading, both[1].lines()), func(l costedLine) string { return l.Code }) {
			if l.change == "" {
				continue
			}
			d := lineDifference{Heading: heading, Code: l.named.Code, Description: l.named.Description, Change: l.change, Unit: l.named.Unit, Amount: differ(t, l.from.Amount, l.to.Amount)}
			d.Quantity.From, d.Quantity.To = orElse(l.from.Quantity, "0"), orElse(l.to.Quantity, "0")
			d.Rate.From, d.Rate.To = orElse(l.from.Rate, "0.00"), orElse(l.to.Rate, "0.00")
			all = append(all, d)
		}
	}
	return all
}

// partsOf returns the parts of a piece that differ.
func partsOf(both [2]costedPiece) []partDifference {
	all := []partDifference{}
	for _, p := range paired(both[0].Parts, both[1].Parts, func(p costedPart) string { return p.Name + " of " + p.Material }) {
		if p.change == "" {
			continue
		}
		d := partDifference{Name: p.named.Name, Material: p.named.Material, Change: p.change}
		if p.change != "appeared" {
			d.From = &p.from.partSize
		}
		if p.change != "went" {
			d.To = &p.to.partSize
		}
		all = append(all, d)
	}
	return all
}

// sumsOf returns the sums of the totals, those that do not differ too.
func sumsOf(t testing.TB, from, to pricedAll) []sumDifference {
	t.Helper()
	a, b := from.Totals, to.Totals
	all := []sumDifference{{"net", "", differ(t, a.Net, b.Net)}, {"discount", "", differ(t, a.Discount, b.Discount)}, {"taxable", "", differ(t, a.Taxable, b.Taxable)}}
	for _, x := range paired(a.Tax, b.Tax, func(x struct{ Code, Amount string }) string { return x.Code }) {
		all = append(all, sumDifference{"tax", x.named.Code, differ(t, x.from.Amount, x.to.Amount)})
	}
	return append(all, sumDifference{"gross", "", differ(t, a.Gross, b.Gross)})
}

// addsUp checks that the rows of a comparison add up to the penny, and that each
// difference is one; it returns how many rows there are.
func (c comparison) addsUp(t testing.TB) (rows int) {
	t.Helper()
	more := func(d difference) int64 {
		rows++
		n := pennies(t, d.Difference)
		assert.Equal(t, pennies(t, d.To)-pennies(t, d.From), n)
		return n
	}
	net := int64(0)
	for _, p := range c.Pieces {
		sum := more(p.BuildUp)
		for _, l := range p.Lines {
			sum += more(l.Amount)
		}
		assert.Equal(t, more(p.Price), sum, p.ID)
		net += more(p.InNet)
	}
	named := make(map[string]int64)
	for _, s := range c.Totals {
		named[s.Name] += more(s.difference)
	}
	assert.Equal(t, net, named["net"])
	assert.Equal(t, named["net"]-named["discount"], named["taxable"])
	assert.Equal(t, named["taxable"]+named["tax"], named["gross"])
	return rows
}

// turned returns the comparison of the other with the one: as to its sums.
func (c comparison) turned() (all []sumDifference) {
	for _, s := range c.Totals {
		minus := strings.TrimPrefix("-"+s.Difference, "--")
		if s.Difference == "0.00" {
			minus = s.Difference
		}
		all = append(all, sumDifference{s.Name, s.Code, difference{s.To, s.From, minus}})
	}
	return all
}
