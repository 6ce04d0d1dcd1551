package pricing_test

import (
	"math/big"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// tenth returns a tenth more of a figure in its own steps, half away from zero: n is
// not below zero.
func tenth[T ~int64](n T) T { return (11*n + 5) / 10 }

// tenthDearer makes what a row is of a tenth dearer, where people write it: in the Book
// or in the request. It is not of hours, which nobody writes.
func tenthDearer(row pricing.Sensitivity, d *book.Data, r *pricing.Request) {
	switch row.Of {
	case "timber":
		for i, k := range timber(d, row.Code).Thicknesses {
			if k.Price != nil {
				timber(d, row.Code).Thicknesses[i].Price.Rate = tenth(k.Price.Rate)
			}
		}
	case "labour":
		for i := range d.Labour {
			d.Labour[i].Price.Rate = tenth(d.Labour[i].Price.Rate)
		}
	case "waste":
		for i := range d.Timbers {
			d.Timbers[i].Waste = tenth(d.Timbers[i].Waste)
		}
		for i := range d.Sheets {
			d.Sheets[i].Waste = tenth(d.Sheets[i].Waste)
		}
		for i := range r.Pieces {
			for role, p := range r.Pieces[i].Waste {
				r.Pieces[i].Waste[role] = tenth(p)
			}
		}
	case "overhead":
		dearerOverhead(&d.Terms.Overhead)
		if r.Terms != nil && r.Terms.Overhead != nil {
			dearerOverhead(r.Terms.Overhead)
		}
	default:
		panic(row.Of)
	}
}

func dearerOverhead(o *book.Overhead) {
	if o.PerHour != nil {
		o.PerHour = new(tenth(*o.PerHour))
		return
	}
	o.Percent = new(tenth(*o.Percent))
}

// Every row but that of hours is what the request comes to when the figures are
// written a tenth higher.
func TestLawSensitivityIsPricingWithAnotherFigure(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		for _, row := range sensitive(t, s.request, s.book).Sensitivity {
			if row.Of == "hours" {
				continue
			}
			r := copied(t, s.request)
			b := changed(t, s.book, func(d *book.Data) { tenthDearer(row, d, &r) })
			c := priced(t, r, b)
			require.Equal(t, c.Sum(pricing.StepCost), row.Cost, "cost, %s %s", row.Of, row.Code)
			require.Equal(t, c.Totals.Net, row.Net, "net, %s %s", row.Of, row.Code)
		}
	})
}

// The row of hours, worked out again from the lines of the costing.
func TestLawSensitivityToHours(t *testing.T) {
	moved := 0
	eachSample(t, func(t *rapid.T, s sample) {
		c := sensitive(t, s.request, s.book)
		row := *find(c.Sensitivity, func(x *pricing.Sensitivity) bool { return x.Of == "hours" })
		cost, net := new(big.Rat), new(big.Rat)
		for i := range c.Pieces {
			if p := &c.Pieces[i]; p.Included {
				costs := longer(s.book, c.Terms, p)
				price := coins(p.Price)
				if s.request.Pieces[i].AgreedPrice == nil {
					price = asked(c.Terms, p, costs)
				}
				cost, net = plus(cost, costs), plus(net, price)
			}
		}
		same(t, cost, row.Cost, "cost")
		same(t, net, row.Net, "net")
		if row.Cost != c.Sum(pricing.StepCost) {
			moved++
		}
	})
	require.Positive(t, moved, "hours moved something")
}

// longer returns what a piece costs when every stage takes a tenth longer, to the
// hundredth of an hour.
func longer(b *book.Book, terms book.Terms, p *pricing.PricedPiece) sum {
	prime, bench := new(big.Rat), new(big.Rat)
	for heading, lines := range headings(p) {
		for _, l := range lines {
			if heading != "labour" {
				prime = plus(prime, coins(l.Amount))
				continue
			}
			hours := big.NewRat(rounded(product(rat(l.Quantity), big.NewRat(11, 10)), 2).Int64(), 100)
			prime = plus(prime, whole(product(hours, inCoins(l.Rate, p.Price))))
			if b.Stage(l.Code).Bench {
				bench = plus(bench, hours)
			}
		}
	}
	overhead := new(big.Rat)
	if o := terms.Overhead; o.Percent != nil {
		overhead = percentOf(*o.Percent, prime)
	} else {
		overhead = whole(product(bench, inCoins(*o.PerHour, p.Price)))
	}
	return plus(prime, overhead, percentOf(terms.Contingency, plus(prime, overhead)))
}

// asked returns the price that the terms ask for a cost of the piece.
func asked(terms book.Terms, p *pricing.PricedPiece, cost sum) sum {
	price := cost
	switch {
	case terms.Profit.Margin != nil:
		price = atMargin(*terms.Profit.Margin, cost)
	case terms.Profit.Markup != nil:
		price = plus(cost, percentOf(*terms.Profit.Markup, cost))
	}
	price = atMargin(terms.Fees, price)
	lot := inCoins(terms.RoundTo, p.Price)
	if lot.Sign() == 0 {
		lot.SetInt64(1)
	}
	lot = product(lot, big.NewRat(int64(p.Quantity), 1))
	return product(lot, new(big.Rat).SetInt(upToWhole(new(big.Rat).Quo(price, lot))))
}

// The rows are of each timber that the included pieces are made of, by code, then of
// the four others, whatever they come to; a tenth dearer is never cheaper, and all
// else of the costing is that of Cost.
func TestLawSensitivityHasItsRows(t *testing.T) {
	timbers, agreed := 0, 0
	eachSample(t, func(t *rapid.T, s sample) {
		c := sensitive(t, s.request, s.book)
		var want []string
		stays := true
		for i := range c.Pieces {
			p := &c.Pieces[i]
			for _, l := range p.Timber {
				if code := s.book.TimberOf(l.Code).Code; p.Included && !slices.Contains(want, code) {
					want = append(want, code)
				}
			}
			stays = stays && (!p.Included || s.request.Pieces[i].AgreedPrice != nil)
		}
		slices.Sort(want)
		timbers += len(want)
		var got []string
		cost := c.Sum(pricing.StepCost)
		for _, x := range c.Sensitivity {
			if x.Of == "timber" {
				require.Equal(t, s.book.Timber(x.Code).Description, x.Description)
				got = append(got, x.Code)
			}
			require.GreaterOrEqual(t, x.Cost.Compare(cost), 0, x.Of)
			require.False(t, x.More.IsNegative(), x.Of)
			same(t, plus(coins(x.Net), minus(coins(c.Totals.Net))), x.More, "more")
			for _, m := range []num.Money{x.Cost, x.Net, x.More} {
				require.Equal(t, c.Currency.Places(), decimalsOf(m), x.Of)
			}
			if stays {
				agreed++
				require.Equal(t, c.Totals.Net, x.Net, "prices agreed stay")
			}
		}
		require.Equal(t, want, got)
		var others []string
		for _, x := range c.Sensitivity[len(got):] {
			require.Empty(t, x.Code)
			others = append(others, x.Of)
		}
		require.Equal(t, []string{"labour", "hours", "waste", "overhead"}, others)
		c.Sensitivity = nil
		require.Equal(t, encoded(t, s.costing), encoded(t, c))
	})
	require.Positive(t, timbers)
	require.Positive(t, agreed)
}

// Pieces that are not in the net are in no row, and the order of the pieces changes
// none.
func TestLawSensitivityIsOfWhatIsIncluded(t *testing.T) {
	dropped := 0
	eachSample(t, func(t *rapid.T, s sample) {
		want := sensitive(t, s.request, s.book).Sensitivity
		r := copied(t, s.request)
		r.Pieces = rapid.Permutation(r.Pieces).Draw(t, "order")
		require.Equal(t, want, sensitive(t, r, s.book).Sensitivity)
		included := r.Pieces[:0]
		for _, p := range r.Pieces {
			if !p.Optional && p.AlternativeTo == "" {
				included = append(included, p)
			}
		}
		if len(included) > 0 && len(included) < len(s.request.Pieces) {
			dropped++
			r.Pieces = included
			require.Equal(t, want, sensitive(t, r, s.book).Sensitivity)
		}
	})
	require.Positive(t, dropped, "nothing was left out")
}

// Neither argument is changed, the Book's terms and the request's among them.
func TestLawSensitiveChangesNeitherArgument(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		request, data := encoded(t, s.request), encoded(t, s.book.Data())
		want := encoded(t, sensitive(t, s.request, s.book))
		require.Equal(t, request, encoded(t, s.request))
		require.Equal(t, data, encoded(t, s.book.Data()))
		require.Equal(t, want, encoded(t, sensitive(t, s.request, s.book)))
		require.Equal(t, encoded(t, s.costing), encoded(t, priced(t, s.request, s.book)), "nothing stays varied")
	})
}
