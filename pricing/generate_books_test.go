package pricing_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A sample is a random request, the Book it was priced from and its costing.
type sample struct {
	request pricing.Request
	book    *book.Book
	costing pricing.Costing
}

// eachSample holds a law against the costings of random requests. One in twenty
// of them may be refused, no more: else the law is not tried on what people write.
func eachSample(t *testing.T, law func(t *rapid.T, s sample)) {
	all := books(t)
	tried, refused := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		s := sample{request: request(rt), book: rapid.SampledFrom(all).Draw(rt, "book")}
		var err error
		s.costing, err = pricing.Cost(s.request, s.book)
		tried++
		if _, ok := err.(fault.List); ok {
			refused++
			return
		}
		require.NoError(rt, err)
		if (draw{T: rt}).rarely("discount by amount", 3) {
			s.takeOff(rt)
		}
		law(rt, s)
	})
	t.Logf("%d of %d refused", refused, tried)
	require.LessOrEqual(t, refused*20, tried, "%d of %d requests were refused", refused, tried)
}

// takeOff gives a discount of an amount, up to all that the pieces come to.
func (s *sample) takeOff(t *rapid.T) {
	coin := num.Rate(1_0000)
	for range s.costing.Currency.Places() {
		coin /= 10
	}
	n := min(s.costing.Totals.Net.Minor(), int64((book.MaxPrice-1)/coin))
	if !(draw{T: t}).rarely("all of it", 4) {
		n = rapid.Int64Range(0, n).Draw(t, "amount")
	}
	if s.request.Terms == nil {
		s.request.Terms = &book.TermsChange{}
	}
	s.request.Terms.Discount = nil
	s.request.Terms.DiscountAmount = new(num.Rate(n) * coin)
	s.costing = priced(t, s.request, s.book)
}

// books are the starter Book and others that charge, count and price by all the
// other ways there are.
func books(t *testing.T) []*book.Book {
	b := starter(t)
	return []*book.Book{
		b,
		changed(t, b, func(d *book.Data) { // wholes of everything, packs and sheets of odd sizes
			for i := range d.Supplies {
				d.Supplies[i].Charged = book.Whole
				d.Supplies[i].PackSize = num.Decimal(i%7*100_000 + 333_333)
			}
			supply(d, "abrasive-120").PackSize = num.Whole(60)
			for i := range d.Sheets {
				d.Sheets[i].Charged = book.Whole
			}
		}),
		changed(t, b, func(d *book.Data) { // what is used, by area, in feet and inches, without coins
			for i := range d.Supplies {
				d.Supplies[i].Charged = book.Used
			}
			for i := range d.Sheets {
				d.Sheets[i].Charged = book.Area
			}
			priceBy(d, unit.Ft3)
			coinage(t, d, "JPY")
		}),
		changed(t, b, func(d *book.Data) { // rules that start, share and narrow; thousandths of a coin; payments
			priceBy(d, unit.Bf)
			coinage(t, d, "KWD")
			for i := range d.Rules {
				r := &d.Rules[i]
				r.Started, r.Per, r.Setup = i%3 == 0, num.Decimal(i%5*250_000+500_000), num.Decimal(i%4*1_250_000)
			}
			d.Terms.Overhead = book.Overhead{Percent: new(num.Percent(37_50))}
			d.Terms.Profit = book.Profit{Markup: new(num.Percent(42_86))}
			d.Terms.Fees, d.Terms.RoundTo = 2_75, 0
			d.Terms.Deposit, d.Terms.Payments = 0, []book.Payment{{Title: "Start", Percent: 33_33, Due: "now"}, {Title: "End", Percent: 66_67, Due: "later"}}
		}),
	}
}

// priceBy turns every price of timber into one per u, the figure left as it is.
func priceBy(d *book.Data, u unit.Unit) {
	for i := range d.Timbers {
		for k := range d.Timbers[i].Thicknesses {
			d.Timbers[i].Thicknesses[k].Price.Unit = u
		}
	}
}

// coinage changes the currency, the figures left as they are.
func coinage(t *testing.T, d *book.Data, code string) {
	c, err := num.ParseCurrency(code)
	require.NoError(t, err)
	d.Currency = c
}
