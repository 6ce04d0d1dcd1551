package pricing

import (
	"strconv"

	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A Comparison is how one costing differs from another: piece by piece, matched by
// id, and in the totals. The differences of the pieces that are included add up to
// that of the net.
type Comparison struct {
	Pieces []PieceDifference `json:"pieces"` // those that differ: in the order of the one, then what came with the other
	Totals []SumDifference   `json:"totals"` // net, discount, taxable, each tax, gross
}

// What became of something.
const (
	appeared = "appeared"
	went     = "went"
	altered  = "changed"
)

// A PieceDifference is how a piece line differs. The differences of its lines and
// of the build-up add up to that of its price.
type PieceDifference struct {
	ID      string           `json:"id"`
	Title   string           `json:"title"`
	Change  string           `json:"change"` // appeared, went, changed
	Price   Amounts          `json:"price"`
	InNet   Amounts          `json:"in_net"`   // the price where it is included, else nothing
	Lines   []LineDifference `json:"lines"`    // those that differ, by heading
	BuildUp Amounts          `json:"build_up"` // from prime cost to the price
	Parts   []PartDifference `json:"parts"`    // those that differ
}

// Sides is something in the one costing and in the other.
type Sides[T any] struct {
	From T `json:"from"`
	To   T `json:"to"`
}

// Amounts are two amounts, and how much more the second is. What is not there is
// nothing.
type Amounts struct {
	From       num.Money `json:"from"`
	To         num.Money `json:"to"`
	Difference num.Money `json:"difference"`
}

// A LineDifference is how a line differs, matched by heading and code; of lines with
// one code, the first with the first.
type LineDifference struct {
	Heading     string             `json:"heading"` // timber, sheets, ironmongery, supplies, labour, bought_in
	Code        string             `json:"code"`
	Description string             `json:"description"`
	Change      string             `json:"change"`
	Unit        unit.Unit          `json:"unit"`
	Quantity    Sides[num.Decimal] `json:"quantity"`
	Rate        Sides[num.Rate]    `json:"rate"`
	Amount      Amounts            `json:"amount"`
}

// A PartDifference is how a part differs, matched by name and material; of parts
// with both the same, the first with the first.
type PartDifference struct {
	Name     string    `json:"name"`
	Material string    `json:"material"`
	Change   string    `json:"change"`
	From     *PartSize `json:"from,omitzero"`
	To       *PartSize `json:"to,omitzero"`
}

// A PartSize is how many parts there are, of what finished size, from what.
type PartSize struct {
	Quantity  int         `json:"quantity"`
	Length    num.Decimal `json:"length"`
	Width     num.Decimal `json:"width"`
	Thickness num.Decimal `json:"thickness"`
	Code      string      `json:"code,omitzero"`
}

// A SumDifference is how a sum of the totals differs.
type SumDifference struct {
	Name string `json:"name"` // net, discount, taxable, tax, gross
	Code string `json:"code,omitzero"`
	Amounts
}

// Compare returns how to differs from from: both of one currency. The error is
// num.Overflow.
func Compare(from, to *Costing) (c Comparison, err error) {
	defer overflow(&c, &err)
	by := comparer{from.Currency.Zero()}
	c = Comparison{Pieces: []PieceDifference{}, Totals: by.sums(&from.Totals, &to.Totals)}
	for _, m := range matched(from.Pieces, to.Pieces, func(p *PricedPiece) string { return p.ID }) {
		if d, differs := by.piece(m); differs {
			c.Pieces = append(c.Pieces, d)
		}
	}
	return c, nil
}

// A match is something in the one list and in the other, nil where it is not.
type match[T any] struct{ from, to *T }

// matched matches the elements of two lists by their keys: in the order of the one,
// then what only the other has. Of those with one key the first is matched with the
// first.
func matched[T any](from, to []T, key func(*T) string) []match[T] {
	var all []match[T]
	place := make(map[string]int, len(from))
	number := func(seen map[string]int, k string) string {
		seen[k]++
		return k + "\x00" + strconv.Itoa(seen[k])
	}
	seen := make(map[string]int, len(from))
	for i := range from {
		place[number(seen, key(&from[i]))] = len(all)
		all = append(all, match[T]{from: &from[i]})
	}
	clear(seen)
	for i := range to {
		if at, ok := place[number(seen, key(&to[i]))]; ok {
			all[at].to = &to[i]
		} else {
			all = append(all, match[T]{to: &to[i]})
		}
	}
	return all
}

// change says what became of it, and either side: of nothing an empty one.
func (m match[T]) change() (what string, from, to *T) {
	switch none := new(T); {
	case m.from == nil:
		return appeared, none, m.to
	case m.to == nil:
		return went, m.from, none
	default:
		return altered, m.from, m.to
	}
}

// A comparer compares pieces whose amounts are of one currency.
type comparer struct{ zero num.Money }

// amounts returns two amounts and their difference.
func (c comparer) amounts(from, to num.Money) Amounts {
	from, to = c.zero.Plus(from), c.zero.Plus(to)
	return Amounts{from, to, to.Minus(from)}
}

// piece returns how a piece differs, if it does.
func (c comparer) piece(m match[PricedPiece]) (d PieceDifference, differs bool) {
	what, from, to := m.change()
	named := to
	if m.to == nil {
		named = from
	}
	d = PieceDifference{
		ID: named.ID, Title: named.Title, Change: what,
		Price: c.amounts(from.Price, to.Price), InNet: c.amounts(from.inNet(), to.inNet()), Lines: []LineDifference{},
	}
	was, is := from.Headings(), to.Headings()
	var prime [2]num.Money
	for h := range headings {
		for _, l := range matched(was[h], is[h], func(l *Line) string { return l.Code }) {
			line, differs := c.line(headings[h], l)
			prime = [2]num.Money{prime[0].Plus(line.Amount.From), prime[1].Plus(line.Amount.To)}
			if differs {
				d.Lines = append(d.Lines, line)
			}
		}
	}
	d.BuildUp = c.amounts(from.Price.Minus(prime[0]), to.Price.Minus(prime[1]))
	d.Parts = parts(from.Parts, to.Parts)
	same := d.Price.Difference.IsZero() && from.Included == to.Included && from.Tax == to.Tax && from.Title == to.Title && from.Quantity == to.Quantity
	return d, what != altered || !same || len(d.Lines)+len(d.Parts) > 0
}

// inNet returns the price of p where it is included.
func (p *PricedPiece) inNet() num.Money {
	if p.Included {
		return p.Price
	}
	return num.Money{}
}

// headings are the names of PricedPiece.Headings.
var headings = [...]string{"timber", "sheets", "ironmongery", "supplies", "labour", "bought_in"}

// line returns how a line differs, if it does.
func (c comparer) line(heading string, m match[Line]) (LineDifference, bool) {
	what, from, to := m.change()
	named := to
	if m.to == nil {
		named = from
	}
	d := LineDifference{
		Heading: heading, Code: named.Code, Description: named.Description, Change: what, Unit: named.Unit,
		Quantity: Sides[num.Decimal]{from.Quantity, to.Quantity}, Rate: Sides[num.Rate]{from.Rate, to.Rate}, Amount: c.amounts(from.Amount, to.Amount),
	}
	same := from.Quantity == to.Quantity && from.Rate == to.Rate && d.Amount.Difference.IsZero() && from.Unit == to.Unit &&
		from.Description == to.Description && from.Grade == to.Grade && from.Provisional == to.Provisional
	return d, what != altered || !same
}

// parts returns the parts that differ.
func parts(from, to []CutPart) []PartDifference {
	all := []PartDifference{}
	for _, m := range matched(from, to, func(p *CutPart) string { return p.Name + "\x00" + p.Material }) {
		what, _, named := m.change()
		if m.to == nil {
			named = m.from
		}
		d := PartDifference{Name: named.Name, Material: named.Material, Change: what, From: size(m.from), To: size(m.to)}
		if what != altered || *d.From != *d.To {
			all = append(all, d)
		}
	}
	return all
}

// size returns what of a part is compared.
func size(p *CutPart) *PartSize {
	if p == nil {
		return nil
	}
	return &PartSize{p.Quantity, p.Length, p.Width, p.Thickness, p.Code}
}

// sums returns every sum of the totals, those that differ and those that do not.
func (c comparer) sums(from, to *Totals) []SumDifference {
	all := []SumDifference{
		{Name: "net", Amounts: c.amounts(from.Net, to.Net)},
		{Name: "discount", Amounts: c.amounts(from.Discount, to.Discount)},
		{Name: "taxable", Amounts: c.amounts(from.Taxable, to.Taxable)},
	}
	for _, m := range matched(from.Tax, to.Tax, func(t *TaxedBasis) string { return t.Code }) {
		_, was, is := m.change()
		named := is
		if m.to == nil {
			named = was
		}
		all = append(all, SumDifference{Name: "tax", Code: named.Code, Amounts: c.amounts(was.Amount, is.Amount)})
	}
	return append(all, SumDifference{Name: "gross", Amounts: c.amounts(from.Gross, to.Gross)})
}
