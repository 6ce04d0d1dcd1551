package pricing_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// A sum is money in the steps of its currency, for the oracle.
type sum = *big.Rat

func coins(m num.Money) sum { return big.NewRat(m.Minor(), 1) }

// percentOf is p percent of s, rounded to a coin.
func percentOf(p num.Percent, s sum) sum {
	return whole(product(s, big.NewRat(int64(p), 100_00)))
}

// atMargin is s / (1 - p), rounded to a coin.
func atMargin(p num.Percent, s sum) sum {
	return whole(product(s, big.NewRat(100_00, int64(100_00-p))))
}

// whole rounds s to a coin.
func whole(s sum) sum { return new(big.Rat).SetInt(rounded(s, 0)) }

func plus(sums ...sum) sum {
	total := new(big.Rat)
	for _, s := range sums {
		if s == nil {
			continue
		}
		total.Add(total, s)
	}
	return total
}

func minus(s sum) sum { return new(big.Rat).Neg(s) }

func TestLawTheBuildUpAddsUp(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		for i := range s.costing.Pieces {
			p := &s.costing.Pieces[i]
			require.Len(t, p.BuildUp, 8)
			prime, hours, bench := new(big.Rat), num.Decimal(0), num.Decimal(0)
			for _, lines := range headings(p) {
				for _, l := range lines {
					prime.Add(prime, coins(l.Amount))
				}
			}
			for _, l := range p.Labour {
				hours += l.Quantity
				if s.book.Stage(l.Code).Bench {
					bench += l.Quantity
				}
			}
			require.Equal(t, hours, p.Hours)
			require.Equal(t, bench, p.BenchHours)
			costUp(t, s.costing.Terms, p, prime)
			if s.request.Pieces[i].AgreedPrice == nil {
				priceUp(t, s.costing.Terms, p)
			} else {
				agreedUp(t, s.costing.Terms, p, *s.request.Pieces[i].AgreedPrice)
			}
		}
	})
}

// same compares an amount with the oracle's.
func same(t *rapid.T, want sum, got num.Money, what string) {
	require.Zero(t, want.Cmp(coins(got)), "%s: %s, want %s", what, got, want.FloatString(3))
}

// costUp holds the steps up to the cost.
func costUp(t *rapid.T, terms book.Terms, p *pricing.PricedPiece, prime sum) {
	same(t, prime, p.BuildUp[0].Amount, "prime")
	overhead := coins(p.BuildUp[1].Amount)
	if terms.Overhead.Percent != nil {
		same(t, percentOf(*terms.Overhead.Percent, prime), p.BuildUp[1].Amount, "overhead")
	} else {
		perHour := inCoins(*terms.Overhead.PerHour, p.Price)
		same(t, whole(product(rat(p.BenchHours), perHour)), p.BuildUp[1].Amount, "overhead")
	}
	contingency := percentOf(terms.Contingency, plus(prime, overhead))
	same(t, contingency, p.BuildUp[2].Amount, "contingency")
	same(t, plus(prime, overhead, contingency), p.BuildUp[3].Amount, "cost")
}

// inCoins returns a rate in the coins that like is counted in.
func inCoins(r num.Rate, like num.Money) sum {
	coins := big.NewRat(int64(r), 10_000)
	for range decimalsOf(like) {
		coins.Mul(coins, big.NewRat(10, 1))
	}
	return coins
}

// decimalsOf returns how many decimals a sum is written with.
func decimalsOf(m num.Money) int {
	s := m.String()
	for i := range s {
		if s[i] == '.' {
			return len(s) - i - 1
		}
	}
	return 0
}

// priceUp holds the steps from the cost to the price that the terms ask.
func priceUp(t *rapid.T, terms book.Terms, p *pricing.PricedPiece) {
	cost, profit := coins(p.BuildUp[3].Amount), new(big.Rat)
	switch {
	case terms.Profit.Margin != nil:
		profit = plus(atMargin(*terms.Profit.Margin, cost), minus(cost))
	case terms.Profit.Markup != nil:
		profit = percentOf(*terms.Profit.Markup, cost)
	}
	same(t, profit, p.BuildUp[4].Amount, "profit")
	before := plus(cost, profit)
	fees := plus(atMargin(terms.Fees, before), minus(before))
	same(t, fees, p.BuildUp[5].Amount, "fees")
	rounding := coins(p.BuildUp[6].Amount)
	same(t, plus(before, fees, rounding), p.Price, "price")
	require.Equal(t, p.Price, p.BuildUp[7].Amount)
	require.Equal(t, p.UnitPrice.Times(p.Quantity), p.Price, "unit price x quantity")

	step := inCoins(terms.RoundTo, p.Price)
	if step.Sign() == 0 {
		step.SetInt64(1)
	}
	require.True(t, new(big.Rat).Quo(coins(p.UnitPrice), step).IsInt(), "a unit price of %s in steps of %s", p.UnitPrice, terms.RoundTo)
	require.GreaterOrEqual(t, rounding.Sign(), 0)
	require.Negative(t, rounding.Cmp(product(step, big.NewRat(int64(p.Quantity), 1))), "rounded up by less than a step a piece")
}

// agreedUp holds a price that was agreed.
func agreedUp(t *rapid.T, terms book.Terms, p *pricing.PricedPiece, agreed num.Rate) {
	same(t, inCoins(agreed, p.Price), p.UnitPrice, "the price agreed")
	require.Equal(t, p.UnitPrice.Times(p.Quantity), p.Price)
	same(t, percentOf(terms.Fees, coins(p.Price)), p.BuildUp[5].Amount, "fees")
	same(t, plus(coins(p.Price), minus(coins(p.BuildUp[3].Amount)), minus(coins(p.BuildUp[5].Amount))), p.BuildUp[4].Amount, "profit")
	require.True(t, p.BuildUp[6].Amount.IsZero(), "rounding")
}

// netsOf returns what the included pieces of each tax come to.
func netsOf(c *pricing.Costing) map[string]sum {
	nets := make(map[string]sum)
	for i := range c.Pieces {
		if p := &c.Pieces[i]; p.Included {
			nets[p.Tax] = plus(coins(p.Price), nets[p.Tax])
		}
	}
	return nets
}

// offOf returns what of the discount falls to each tax of the terms that bears any: a
// percentage of its own, and the amount up to it less what fell to those before.
func offOf(t *rapid.T, c *pricing.Costing, nets map[string]sum) map[string]sum {
	off, net, upTo, shared := make(map[string]sum), new(big.Rat), new(big.Rat), new(big.Rat)
	for _, n := range nets {
		net = plus(net, n)
	}
	amount := inCoins(c.Terms.DiscountAmount, c.Totals.Net)
	for _, x := range c.Terms.Taxes {
		n := nets[x.Code]
		if n == nil {
			continue
		}
		share := new(big.Rat)
		if upTo = plus(upTo, n); net.Sign() > 0 {
			exact := product(amount, n, new(big.Rat).Inv(net))
			running := whole(product(amount, upTo, new(big.Rat).Inv(net)))
			share, shared = plus(running, minus(shared)), running
			near(t, exact, share, "share of the discount")
		}
		require.LessOrEqual(t, share.Cmp(n), 0, "no tax is given more than it bears")
		off[x.Code] = plus(percentOf(c.Terms.Discount, n), share)
	}
	require.Zero(t, shared.Cmp(amount), "the shares of %s add up to %s", amount, shared)
	return off
}

// near holds that a sum is within a coin of what it stands for, and not below zero.
func near(t *rapid.T, exact, got sum, what string) {
	away := plus(got, minus(exact))
	require.LessOrEqual(t, away.Abs(away).Cmp(big.NewRat(1, 1)), 0, "%s: %s for %s", what, got.RatString(), exact.FloatString(3))
	require.GreaterOrEqual(t, got.Sign(), 0, what)
}

func TestLawTheTotalsAddUp(t *testing.T) {
	byAmount := 0
	eachSample(t, func(t *rapid.T, s sample) {
		for i := range s.costing.Pieces {
			require.Equal(t, s.costing.Pieces[i].Included, s.request.Pieces[i].AlternativeTo == "" && !s.request.Pieces[i].Optional)
		}
		terms, totals := s.costing.Terms, s.costing.Totals
		nets := netsOf(&s.costing)
		net, discount, tax := new(big.Rat), new(big.Rat), new(big.Rat)
		off := offOf(t, &s.costing, nets)
		if terms.DiscountAmount > 0 && len(nets) > 1 {
			byAmount++
		}
		require.Len(t, totals.Tax, len(nets))
		at := 0
		for _, x := range terms.Taxes {
			if nets[x.Code] == nil {
				continue
			}
			got := totals.Tax[at]
			at++
			net, discount = plus(net, nets[x.Code]), plus(discount, off[x.Code])
			require.Equal(t, x.Code, got.Code, "taxes stand in the order of the terms")
			same(t, plus(nets[x.Code], minus(off[x.Code])), got.Basis, "basis")
			same(t, percentOf(x.Percent, coins(got.Basis)), got.Amount, "tax")
			tax = plus(tax, coins(got.Amount))
		}
		same(t, net, totals.Net, "net")
		same(t, discount, totals.Discount, "discount")
		same(t, plus(net, minus(discount)), totals.Taxable, "taxable")
		same(t, plus(net, minus(discount), tax), totals.Gross, "gross")
		same(t, percentOf(terms.Deposit, coins(totals.Gross)), totals.Deposit, "deposit")
		require.Equal(t, totals.Gross, totals.Deposit.Plus(totals.Balance))
		for _, m := range []num.Money{totals.Net, totals.Discount, totals.Taxable, totals.Gross, totals.Deposit, totals.Balance} {
			assert.Equal(t, s.costing.Currency.Places(), decimalsOf(m), "every total has the decimals of %s", s.costing.Currency)
		}
	})
	require.Positive(t, byAmount, "no amount was shared over two taxes")
}

func TestLawPaymentsAreTheGross(t *testing.T) {
	paid := 0
	eachSample(t, func(t *rapid.T, s sample) {
		payments, gross := s.costing.Totals.Payments, coins(s.costing.Totals.Gross)
		require.Len(t, payments, len(s.costing.Terms.Payments))
		if len(payments) == 0 {
			return
		}
		paid++
		percent, before := num.Percent(0), new(big.Rat)
		for i, p := range payments {
			require.Equal(t, s.costing.Terms.Payments[i], p.Payment)
			percent += p.Percent
			upTo := percentOf(percent, gross)
			same(t, plus(upTo, minus(before)), p.Amount, "payment")
			near(t, product(gross, big.NewRat(int64(p.Percent), 100_00)), coins(p.Amount), "payment")
			assert.Equal(t, s.costing.Currency.Places(), decimalsOf(p.Amount))
			before = upTo
		}
		require.Zero(t, before.Cmp(gross), "payments add up to the gross")
		require.True(t, s.costing.Totals.Deposit.IsZero(), "no deposit beside payments")
	})
	require.Positive(t, paid, "nothing was paid in stages")
}
