package quotes_test

import (
	"context"
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// Of two prices of one code an update costs what the last is over what stood before the
// first, however they stand in the list.
func TestImpactOfTwoPricesOfOneCode(t *testing.T) {
	s := opened(t)
	s.do(t, s.create(t, demo(t, "pieces/tall-chest")).Number, "issue")
	first, last := "ash-prime-27,1960.00,m3,GBP,2026-12-01", "ash-prime-27,2100.00,m3,GBP,2027-01-01"
	for _, rows := range [][]string{{first, last}, {last, first}, {last, first, "ash-prime-27,1999.00,m3,GBP,2026-12-15"}} {
		u := s.sent(t, rows...)
		all := s.impact(t, quotes.Question{Preview: u.ID})
		assert.Equal(t, "2027-01-01", all.AsOf.String(), "the latest from which one holds")
		// 0.0882 m3 at 1850.00 and at 2100.00: 163.17 and 185.22, 22.05 more, with 5 % 23.15.
		assert.Equal(t, []string{"ash-prime 1: 163.17 185.22 22.05", "all 22.05"}, told(all))
		assert.Equal(t, "23.15", all.Quotes[0].Loss.String())
		// At 1960.00 it is 172.87, 9.70 more; 3155.02 + 9.70 + 1345.76 and 5 % of that is 4736.00.
		between := s.impact(t, quotes.Question{Preview: u.ID, AsOf: december1})
		assert.Equal(t, "10.18", between.Quotes[0].Loss.String())
		assert.Equal(t, told(all), told(between))
	}
	past := s.sent(t, "site,30.00,h,GBP,2026-11-01", "ash-prime-27,1850.00,m3,GBP,2027-02-01")
	assert.Equal(t, s.today(), s.impact(t, quotes.Question{Preview: past.ID}).AsOf, "what is no other price is none of its days")
}

// Prices may come to stand in another unit: what an update costs is then worked out at
// the same prices in the unit that is asked about. 1 ft3 is 0.028316846592 m3 exactly.
func TestImpactInAnotherUnit(t *testing.T) {
	s := opened(t)
	s.do(t, s.create(t, demo(t, "pieces/tall-chest")).Number, "issue")
	later := date.MustParse("2027-01-01")
	rate := cents(60_00)
	_, err := s.catalog.ChangePrice(t.Context(), catalog.PriceChange{Code: "ash-prime-27", From: later, Today: s.today(), Price: &catalog.NewPrice{Rate: &rate, Unit: "ft3"}, Match: func(catalog.History) error { return nil }})
	require.NoError(t, err)
	// 0.067816 m3 of the chest are 2.39493 ft3, and 30 % more 3.113 ft3. 1850.00 and 1960.00
	// for a m3 are 52.3862 and 55.501 for a ft3: 163.08 and 172.77.
	old, is := exactly(t, "1850", "0.028316846592", 4), exactly(t, "1960", "0.028316846592", 4)
	assert.Equal(t, "52.3862 55.5010", old+" "+is)
	assert.Equal(t, "163.08 172.77", exactly(t, "3.113", old, 2)+" "+exactly(t, "3.113", is, 2))
	want := []string{"ash-prime 1: 163.08 172.77 9.69", "all 9.69"}
	u := s.sent(t, "ash-prime-27,1960.00,m3,GBP,2026-12-01")
	assert.Equal(t, want, told(s.impact(t, quotes.Question{Preview: u.ID, AsOf: later})))
	assert.Equal(t, []string{"ash-prime 1: 163.17 172.87 9.70", "all 9.70"}, told(s.impact(t, quotes.Question{Preview: u.ID})))
	// One update of both units costs what the last is, 61.00 for a ft3, over 1850.00 for a m3: 189.89.
	both := s.sent(t, "ash-prime-27,1960.00,m3,GBP,2026-12-01", "ash-prime-27,61.00,ft3,GBP,2027-01-01")
	assert.Equal(t, []string{"ash-prime 1: 163.08 189.89 26.81", "all 26.81"}, told(s.impact(t, quotes.Question{Preview: both.ID})))
	// 61.00 for a ft3 is 2154.1946 for a m3, of which 0.0882 are 190.00.
	assert.Equal(t, []string{"ash-prime 1: 163.17 190.00 26.83", "all 26.83"}, told(s.impact(t, quotes.Question{Preview: both.ID, AsOf: december1})))
}

// exactly returns a x b, rounded once to that many places, half away from zero.
func exactly(t *testing.T, a, b string, places int) string {
	x, ok := new(big.Rat).SetString(a)
	require.True(t, ok)
	y, ok := new(big.Rat).SetString(b)
	require.True(t, ok)
	return x.Mul(x, y).FloatString(places)
}

// What an update prices for the first time has no old rate, and costs nothing more than
// it did.
func TestImpactOfAFirstPrice(t *testing.T) {
	s := opened(t)
	s.do(t, s.create(t, demo(t, "pieces/tall-chest")).Number, "issue")
	for _, from := range []string{"2026-01-05", "2026-04-01", "2026-07-01", "2026-10-01"} {
		_, err := s.catalog.ChangePrice(t.Context(), catalog.PriceChange{Code: "ash-prime-27", From: date.MustParse(from), Today: s.today(), Match: func(catalog.History) error { return nil }})
		require.NoError(t, err)
	}
	// It comes out of the next thickness, all 0.101438 m3 of it: with 30 % more 0.1319 m3 at
	// 1905.00, 251.27, which is 48.29 more than 163.17 + 39.81, and with 5 % 50.70.
	assert.Equal(t, "50.70", s.impact(t, quotes.Question{}).Quotes[0].Loss.String())
	for _, rows := range [][]string{{"ash-prime-27,1850.00,m3,GBP,2026-12-01"}, {"ash-prime-27,1800.00,m3,GBP,2026-12-01", "ash-prime-27,1850.00,m3,GBP,2026-12-02"}} {
		u := s.sent(t, rows...)
		all := s.impact(t, quotes.Question{Preview: u.ID})
		assert.Equal(t, "4755.22", all.Quotes[0].NewCost.String())
		assert.Equal(t, []string{"all 0.00"}, told(all))
		assert.Equal(t, 1, s.impact(t, quotes.Question{Preview: u.ID, Update: u.ID}).Sums.Count)
	}
}

// Amounts have the currency's decimals and parts of nothing are none; what is too much
// to be added up is said.
func TestImpactAtTheEdges(t *testing.T) {
	s := opened(t)
	extra := strings.Replace(errand, `"kind"`, `"optional": true, "kind"`, 1)
	s.do(t, s.create(t, titled(t, "an extra alone", extra)).Number, "issue")
	s.create(t, titled(t, "and as a draft", extra))
	s.do(t, s.create(t, titled(t, "for nothing", errandOn(`{"discount_percent": 100, "fees_percent": 2}`))).Number, "issue")
	assert.Equal(t, []string{
		"2026-0001-1 issued: 0.00 0.00 0.00, 0.00 0.00, 0.00 0%",
		"2026-0003-1 issued: 75.69 75.69 0.00, 0.00 0.00, -77.62 0%",
		"2026-0002-1 draft: 0.00 0.00 0.00, 0.00 0.00, 0.00 0%",
	}, lines(s.impact(t, quotes.Question{AsOf: s.today()})))

	loss := strings.Replace(visit, `"title"`, `"bought_in": [{"description": "A tower", "quantity": 10000, "unit": "job", "rate": "999999.00"}], "title"`, 1)
	loss = strings.Replace(loss, `"120.00"`, `"0.01"`, 1)
	s.do(t, s.create(t, titled(t, "a tower for a penny", loss)).Number, "issue")
	s.create(t, titled(t, "and another", loss))
	all := s.impact(t, quotes.Question{AsOf: s.today()})
	assert.Equal(t, 3, all.Sums.Count)
	for i, number := range []string{"2026-0004", "2026-0005"} {
		assert.Equal(t, number, all.Unpriced[i].Number)
		assert.Regexp(t, `^the pieces come to \d{11,}\.\d\d: make it less than 10000000000\.00$`, all.Unpriced[i].Detail)
	}
}

// An update that would leave no valid book on the day that is asked about is said to.
func TestImpactOfWhatBreaksTheBook(t *testing.T) {
	s := opened(t)
	later := date.MustParse("2027-01-01")
	hook := func(class, from, doc string) {
		for _, c := range catalog.Classes() {
			at := catalog.Place{Class: c, Code: "demo-hook", From: date.MustParse(from)}
			if c.Name == class && doc == "" {
				require.NoError(t, s.catalog.Retire(t.Context(), at, func([]byte) error { return nil }))
			} else if c.Name == class {
				_, err := s.catalog.Put(t.Context(), at, []byte(doc), func([]byte) error { return nil })
				require.NoError(t, err)
			}
		}
	}
	hook("ironmongery", "2026-11-25", `{"code": "demo-hook", "description": "Hook", "mass": 0.1}`)
	hook("ironmongery", "2027-01-01", "")
	hook("supply", "2027-01-01", `{"code": "demo-hook", "description": "A wax that is called so", "unit": "kg", "pack_size": 1, "charged": "used"}`)
	u := s.sent(t, "demo-hook,1.00,each,GBP,2026-12-01")
	assert.Equal(t, december1, s.impact(t, quotes.Question{Preview: u.ID}).AsOf)
	_, err := s.Impact(t.Context(), quotes.Question{Today: s.today(), Preview: u.ID, AsOf: later})
	var broken *catalog.Broken
	require.ErrorAs(t, err, &broken)
	assert.Equal(t, later, broken.On)
}

// What there is not is said, and what was asked of is not worked out when nobody waits
// for it.
func TestImpactOfNothing(t *testing.T) {
	s := opened(t)
	for _, tt := range []struct {
		ask     quotes.Question
		missing int64
	}{{quotes.Question{Preview: 7}, 7}, {quotes.Question{Update: 7}, 7}, {quotes.Question{Preview: 7, Update: 8}, 7}, {quotes.Question{Preview: -7}, -7}, {quotes.Question{Update: -7}, -7}} {
		tt.ask.Today = s.today()
		_, err := s.Impact(t.Context(), tt.ask)
		assert.Equal(t, &catalog.NoUpdate{ID: tt.missing}, err, "%+v", tt.ask)
	}
	none := s.impact(t, quotes.Question{AsOf: december1})
	text, err := wire.Encode(none)
	require.NoError(t, err)
	assert.Equal(t, `{"as_of":"2026-12-01","currency":"GBP","quotes":[],"unpriced":[],"sums":{"count":0,"old_cost":"0.00","new_cost":"0.00","loss":"0.00","quoted":"0.00","would_be":"0.00","margin_left":"0.00"}}`, string(text))
	s.do(t, s.create(t, titled(t, "errand", errand)).Number, "issue")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = s.Impact(ctx, quotes.Question{Today: s.today()})
	assert.ErrorIs(t, err, context.Canceled)
}
