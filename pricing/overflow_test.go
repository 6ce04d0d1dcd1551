package pricing_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// huge is the largest cutting list of the largest parts that a Book may hold: 20 m
// cubes of a timber of 3000 kg/m3.
func huge(t *testing.T, quantity int, change func(*book.Data)) (pricing.Request, *book.Book) {
	b := changed(t, starter(t), func(d *book.Data) {
		x := timber(d, "white-oak-fas")
		x.BoardWidth, x.Longest, x.Density, x.WorkingFactor = 20*unit.Metre, 20*unit.Metre, num.Whole(3000), num.Whole(3)
		x.WidthAllowance, x.LengthAllowance = 0, 0
		price := *x.Thicknesses[0].Price
		x.Thicknesses = []book.Thickness{{Code: "cube", Thickness: 20 * unit.Metre, FinishesTo: 20 * unit.Metre, Price: &price}}
		change(d)
	})
	p := parts(piece.FreePart{Name: "Cube", Quantity: num.Count(quantity), Length: num.Whole(20_000), Width: num.Whole(20_000), Thickness: mm(20_000), Material: "show", Extra: mm(0)})
	p.Parts.Parts[0].Outside = piece.Surface{Faces: 2, LongEdges: 2, Ends: 2}
	return request1(p), b
}

// answered prices an extreme request: a price that is not below zero, or the
// error of a number too large; never a panic, never a sum gone round.
func answered(t *testing.T, r pricing.Request, b *book.Book) (tooLarge bool) {
	t.Helper()
	c, err := pricing.Cost(r, b)
	if _, tooLarge = err.(num.Overflow); tooLarge {
		require.Empty(t, c.Pieces, "no costing beside the error")
		return true
	}
	require.NoError(t, err)
	sound(t, r, b)
	return false
}

func TestTheLargestPiecesArePriced(t *testing.T) {
	r, b := huge(t, 10_000, func(*book.Data) {})
	require.False(t, answered(t, r, b))
	p := priced(t, r, b).Pieces[0]
	require.Equal(t, "80000000", measured(&p, "finished_volume").String(), "10 000 x 8000 m3")
	require.Equal(t, "240000000000", measured(&p, "mass").String(), "kg")
}

func TestTooLargeIsAnErrorAndNeverAPanic(t *testing.T) {
	extreme := func(measure string, per num.Decimal) func(*book.Data) {
		return func(d *book.Data) {
			d.Rules = append(d.Rules, book.Rule{Code: "extreme", Stage: "machining", Measure: measure, Setup: num.Whole(1_000_000), Each: num.Whole(1_000_000), Per: per})
		}
	}
	for _, measure := range []string{"mass", "net_volume", "finished_volume", "rip", "planed_area", "part"} {
		r, b := huge(t, 10_000, extreme(measure, num.One/1000))
		require.True(t, answered(t, r, b), "%s in minutes passes any number", measure)
	}
	r, b := huge(t, 1, extreme("part", num.One))
	require.False(t, answered(t, r, b), "two million minutes can be priced")
}

// Money too large: the highest rates on the largest quantities.
func TestTooMuchMoneyIsAnError(t *testing.T) {
	top := num.Rate(1_000_000_0000 - 1)
	r, b := huge(t, 10_000, func(d *book.Data) {
		timber(d, "white-oak-fas").Thicknesses[0].Price = &book.Price{Rate: top, Unit: unit.Bf, From: d.AsOf}
		timber(d, "white-oak-fas").Waste = 1000_00
	})
	require.True(t, answered(t, r, b))

	p := piece.Piece{Title: "Gold", Kind: "service", Service: &piece.Service{}}
	for range 1000 {
		p.BoughtIn = append(p.BoughtIn, piece.BoughtIn{Description: "Gold", Quantity: num.Whole(10_000), Unit: "kg", Rate: top})
	}
	r = request1(p)
	require.False(t, answered(t, r, starter(t)), "ten thousand million in a thousand lines")
	for len(r.Pieces) < 100 {
		r.Pieces = append(r.Pieces, p)
	}
	r.Terms = &book.TermsChange{
		Profit: &book.Profit{Margin: new(num.Percent(94_99))}, Fees: new(num.Percent(49_99)),
		Contingency: new(num.Percent(1000_00)), BoughtInMarkup: new(num.Percent(1000_00)), Overhead: &book.Overhead{Percent: new(num.Percent(1000_00))},
	}
	require.True(t, answered(t, r, starter(t)))
}

// Terms that fit one by one may not fit together: minutes of two rules, hours of
// many stages, a supply's reasons.
func TestSumsTooLargeAreErrors(t *testing.T) {
	// 2.4e7 kg x 1 000 000 / 4.3 are 5.6e12 minutes, below the 9.2e12 that fit.
	rules := func(n int, to func(i int) book.Rule) func(*book.Data) {
		return func(d *book.Data) {
			for i := range n {
				r := to(i)
				r.Code, r.Measure, r.Each, r.Per = "extreme-"+num.Whole(i).String(), "mass", num.Whole(1_000_000), num.Decimal(4_300_000)
				d.Rules = append(d.Rules, r)
			}
		}
	}
	minutes := func(int) book.Rule { return book.Rule{Stage: "machining"} }
	r, b := huge(t, 1, rules(1, minutes))
	require.False(t, answered(t, r, b), "one is priced")
	r, b = huge(t, 1, rules(2, minutes))
	require.True(t, answered(t, r, b), "two do not fit")
	r, b = huge(t, 1, rules(4, minutes))
	require.True(t, answered(t, r, b), "four go round to where they began")

	reasons := func(int) book.Rule { return book.Rule{Item: "gloves"} }
	r, b = huge(t, 1, rules(2, reasons))
	require.True(t, answered(t, r, b), "pairs of gloves")
}
