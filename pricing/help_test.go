package pricing_test

import (
	"math/big"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// starter returns the Book most tests price from.
func starter(t testing.TB) *book.Book {
	t.Helper()
	b, err := catalog.Starter(date.MustParse("2026-11-01"))
	require.NoError(t, err)
	return b
}

// demo returns the text of a demo request.
func demo(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile("../testdata/pieces/" + name + ".json")
	require.NoError(t, err)
	return text
}

// demos are the demo requests that can be priced.
func demos() []string {
	return []string{"tall-chest", "low-chest", "inch-chest", "drawer-boxes", "free-parts", "full-quotation", "agreed-below-cost", "paid-in-stages"}
}

// read decodes a request.
func read(t testing.TB, text []byte) (r pricing.Request) {
	t.Helper()
	require.NoError(t, wire.Decode(text, &r))
	return r
}

// priced returns the costing of a request that can be priced.
func priced(t require.TestingT, r pricing.Request, b *book.Book) pricing.Costing {
	c, err := pricing.Cost(r, b)
	require.NoError(t, err)
	return c
}

// one returns the priced piece of a request that has only p.
func one(t require.TestingT, p piece.Piece, b *book.Book) pricing.PricedPiece {
	return priced(t, request1(p), b).Pieces[0]
}

// encoded returns v as JSON.
func encoded(t require.TestingT, v any) string {
	text, err := wire.Encode(v)
	require.NoError(t, err)
	return string(text)
}

// changed returns b with its data changed, in memory of its own.
func changed(t require.TestingT, b *book.Book, change func(*book.Data)) *book.Book {
	var d book.Data
	require.NoError(t, wire.Decode([]byte(encoded(t, b.Data())), &d))
	change(&d)
	out, err := book.New(d)
	require.NoError(t, err)
	return out
}

// copied returns r in memory of its own.
func copied(t require.TestingT, r pricing.Request) (out pricing.Request) {
	require.NoError(t, wire.Decode([]byte(encoded(t, r)), &out))
	return out
}

// timber, supply and their like return what has that code, to be changed.
func timber(d *book.Data, code string) *book.Timber {
	return find(d.Timbers, func(t *book.Timber) bool { return t.Code == code })
}

func sheet(d *book.Data, code string) *book.Sheet {
	return find(d.Sheets, func(s *book.Sheet) bool { return s.Code == code })
}

func supply(d *book.Data, code string) *book.Supply {
	return find(d.Supplies, func(s *book.Supply) bool { return s.Code == code })
}

// find returns the first of a list that is wanted; there must be one.
func find[T any](list []T, wanted func(*T) bool) *T {
	for i := range list {
		if wanted(&list[i]) {
			return &list[i]
		}
	}
	panic("nothing wanted in the list")
}

// line returns the line of a code.
func line(lines []pricing.Line, code string) *pricing.Line {
	return find(lines, func(l *pricing.Line) bool { return l.Code == code })
}

// step returns a step of the build-up.
func step(p *pricing.PricedPiece, name string) pricing.Step {
	return *find(p.BuildUp, func(s *pricing.Step) bool { return s.Name == name })
}

// measured returns the total of a measure over its shares.
func measured(p *pricing.PricedPiece, name string) num.Decimal {
	sum := num.Decimal(0)
	for _, m := range p.Measures {
		if m.Name == name {
			sum += m.Quantity
		}
	}
	return sum
}

// headings returns the lines of a piece under their headings.
func headings(p *pricing.PricedPiece) map[string][]pricing.Line {
	return map[string][]pricing.Line{
		"timber": p.Timber, "sheets": p.Sheets, "ironmongery": p.Ironmongery,
		"supplies": p.Supplies, "bought-in": p.BoughtIn, "labour": p.Labour,
	}
}

// money returns a sum of c written with any decimals that c has.
func money(t require.TestingT, c num.Currency, s string) num.Money {
	d, err := num.ParseDecimal(s)
	require.NoError(t, err)
	return c.Amount(d, 1_0000)
}

// rounded is the oracle of every rounding: r in steps of 10^-places, half away
// from zero.
func rounded(r *big.Rat, places int) *big.Int {
	scale := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil)
	top := new(big.Int).Mul(new(big.Int).Abs(r.Num()), scale)
	top.Add(top.Lsh(top, 1), r.Denom())
	top.Quo(top, new(big.Int).Lsh(r.Denom(), 1))
	if r.Sign() < 0 {
		top.Neg(top)
	}
	return top
}

// rat returns a number as an exact fraction.
func rat(d num.Decimal) *big.Rat { return big.NewRat(int64(d), int64(num.One)) }

// product multiplies fractions.
func product(factors ...*big.Rat) *big.Rat {
	p := big.NewRat(1, 1)
	for _, f := range factors {
		p.Mul(p, f)
	}
	return p
}

// decimal returns a whole number of steps of 10^-places as a Decimal.
func decimal(steps *big.Int, places int) num.Decimal {
	for range 6 - places {
		steps = new(big.Int).Mul(steps, big.NewInt(10))
	}
	return num.Decimal(steps.Int64())
}

// ruleCoded finds a rule by its code.
func ruleCoded(code string) func(*book.Rule) bool {
	return func(r *book.Rule) bool { return r.Code == code }
}

// request1 returns the request that has only p.
func request1(p piece.Piece) pricing.Request { return pricing.Request{Pieces: []piece.Piece{p}} }
