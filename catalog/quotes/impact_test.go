package quotes_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/pricing"
	"reckoner/pricing/date"
)

// errand is a request of a delivery of 10 km whose price is worked by hand from the
// starter book: 10 x 4 min + 120 min = 160 min = 2.67 h, at 27.00 72.09; with 5 % of
// that, 3.60, it costs 75.69. 75.69 / (1 - 20 %) = 94.61, up to 95.00.
const errand = `{"pieces": [{"id": "errand", "title": "Delivery", "kind": "service", "service": {"delivery": 10, "drops": 1}}]}`

// errandOn returns the errand under terms.
func errandOn(terms string) string {
	return strings.TrimSuffix(errand, "}") + `, "terms": ` + terms + "}"
}

// titled returns a draft of a request, with a title.
func titled(t tester, title, request string) quotes.Draft {
	d := draftOf(t, request)
	d.Title = title
	return d
}

// sent keeps a price list that was sent in; of rows "code,price,unit,GBP,from".
func (s *shop) sent(t tester, rows ...string) catalog.Update {
	t.Helper()
	return s.sentFile(t, "list.csv", []byte("code,price,unit,currency,effective_from\n"+strings.Join(rows, "\n")+"\n"))
}

func (s *shop) sentFile(t tester, name string, text []byte) catalog.Update {
	t.Helper()
	rows, err := catalog.ReadList(text)
	require.NoError(t, err)
	u, _, err := s.catalog.Preview(t.Context(), catalog.List{File: name, Text: text, Rows: rows}, s.today())
	require.NoError(t, err)
	require.Zero(t, u.Summary.Refused, "%+v", u.Rows)
	return u
}

// applies applies an update.
func (s *shop) applies(t tester, id int64) {
	t.Helper()
	_, err := s.catalog.Apply(t.Context(), id, catalog.Consent{AcceptLargeMoves: true}, s.today())
	require.NoError(t, err)
}

// december keeps the list of timber for the first of December.
func (s *shop) december(t tester) catalog.Update {
	t.Helper()
	const name = "2026-12-timber.csv"
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "updates", name))
	require.NoError(t, err)
	return s.sentFile(t, name, text)
}

// impact asks a question of today, unless it names another day.
func (s *shop) impact(t tester, q quotes.Question) pricing.Impact {
	t.Helper()
	if q.Today.IsZero() {
		q.Today = s.today()
	}
	all, err := s.Impact(t.Context(), q)
	require.NoError(t, err)
	return all
}

// lines returns the quotes of an impact, a line for each: its number and revision,
// costs, loss, prices and what is left.
func lines(all pricing.Impact) []string {
	list := []string{}
	for _, a := range all.Quotes {
		list = append(list, fmt.Sprintf("%s-%d %s: %s %s %s, %s %s, %s %s%%", a.Number, a.Revision, a.Status, a.OldCost, a.NewCost, a.Loss, a.Quoted, a.WouldBe, a.Left, a.LeftOf))
	}
	return list
}

// names returns the titles of the quotes of an impact, and then of the unpriced.
func names(all pricing.Impact) string {
	list := []string{}
	for _, a := range all.Quotes {
		list = append(list, a.Title)
	}
	for _, u := range all.Unpriced {
		list = append(list, "no price: "+u.Title)
	}
	return strings.Join(list, ", ")
}

// told returns what an update costs, a line for each timber.
func told(all pricing.Impact) []string {
	list := []string{}
	for _, t := range all.Update.Timbers {
		list = append(list, fmt.Sprintf("%s %d: %s %s %s", t.Code, t.Quotes, t.Old, t.New, t.Loss))
	}
	return append(list, "all "+all.Update.Loss.String())
}

var december1 = date.MustParse("2026-12-01")

// The tall chest of the README, whose costing is worked there, and the December list,
// worked by hand beside it: of timber 163.17 + 39.81 + 62.58 + 18.49 become 172.87 +
// 42.22 + 60.71 + 17.94, 9.69 more. Prime cost is 3183.02 + 9.69 = 3192.71, with the
// overhead of 1345.76 and 5 % of both, 226.92, the cost 4765.39: 10.17 more than
// 4755.22. At 5945.00 it leaves 1179.61, of which it is 19.84 %.
func TestImpactOfDecember(t *testing.T) {
	s := opened(t)
	number := s.create(t, demo(t, "pieces/tall-chest")).Number
	s.do(t, number, "issue")
	u := s.december(t)
	const line = "2026-0001-1 issued: 4755.22 4765.39 10.17, 5945.00 5957.00, 1179.61 19.84%"
	timbers := []string{"ash-prime 1: 202.98 215.09 12.11", "tulipwood-select 1: 81.07 78.65 -2.42", "all 9.69"}

	before := s.impact(t, quotes.Question{})
	assert.Equal(t, []string{"2026-0001-1 issued: 4755.22 4755.22 0.00, 5945.00 5945.00, 1189.78 20.01%"}, lines(before))
	assert.Nil(t, before.Update, "none is applied")
	previewed := s.impact(t, quotes.Question{Preview: u.ID})
	assert.Equal(t, []string{line}, lines(previewed))
	assert.Equal(t, timbers, told(previewed))
	assert.Equal(t, []any{december1, "GBP", u.ID}, []any{previewed.AsOf, previewed.Currency.String(), previewed.Preview})
	assert.Equal(t, "2027-01-01 2026-12-25", s.impact(t, quotes.Question{Preview: u.ID, AsOf: date.MustParse("2027-01-01")}).AsOf.String()+" "+previewed.Quotes[0].ValidUntil.String())
	assert.Equal(t, lines(before), lines(s.impact(t, quotes.Question{Preview: u.ID, AsOf: s.today()})), "they do not hold yet")
	assert.Equal(t, lines(before), lines(s.impact(t, quotes.Question{AsOf: december1})), "nothing is applied")

	s.applies(t, u.ID)
	applied := s.impact(t, quotes.Question{AsOf: december1})
	assert.Equal(t, "applied", applied.Update.Status)
	assert.Equal(t, "previewed", previewed.Update.Status)
	previewed.Preview, previewed.Update.Status = 0, "applied"
	assert.Equal(t, previewed, applied)
	today := s.impact(t, quotes.Question{})
	assert.Equal(t, lines(before), lines(today))
	assert.Equal(t, timbers, told(today), "from when the prices hold or not")
	s.pass(6) // to the first of December
	assert.Equal(t, []string{line}, lines(s.impact(t, quotes.Question{})))

	_, err := s.catalog.Withdraw(t.Context(), u.ID, s.today())
	require.NoError(t, err)
	withdrawn := s.impact(t, quotes.Question{})
	assert.Equal(t, lines(before), lines(withdrawn))
	assert.Nil(t, withdrawn.Update)
	asked := s.impact(t, quotes.Question{Update: u.ID})
	assert.Equal(t, "withdrawn", asked.Update.Status)
	assert.Equal(t, timbers, told(asked))
	assert.Equal(t, []string{line}, lines(s.impact(t, quotes.Question{Preview: u.ID})), "what if it were applied again")
}

// An hour on site is 30.00 from December: 2.67 h are 80.10; with 5 %, 4.01, the errand
// costs 84.11, and 84.11 / (1 - 20 %) = 105.14 is up to 106.00. With fees of 2 % it was
// 94.61 / (1 - 2 %) = 96.54, up to 97.00, with fees of 1.93: of 95.07 that it keeps it
// leaves 10.96, 11.53 %; it would be 105.14 / (1 - 2 %) = 107.29, up to 108.00. Less
// 10 % these are 87.30, of which 85.37 are kept and 1.26, 1.48 %, left; and 97.20. At an
// agreed 60.00 it loses 24.11, of which its quoted price is -40.18 %.
func TestImpactByHand(t *testing.T) {
	s := opened(t)
	u := s.sent(t, "site,30.00,h,GBP,2026-12-01")
	s.applies(t, u.ID)
	requests := []string{errand, errandOn(`{"fees_percent": 2}`), errandOn(`{"fees_percent": 2, "discount_percent": 10}`), strings.Replace(errand, `"kind"`, `"agreed_price": "60.00", "kind"`, 1)}
	for _, r := range requests {
		s.do(t, s.create(t, titled(t, "Errand", r)).Number, "issue")
	}
	twice := strings.Replace(errand, `"kind"`, `"quantity": 2, "kind"`, 1) // 5.33 h of 320 min: 143.91, 7.20, 151.11; 159.90, 8.00, 167.90
	s.create(t, titled(t, "Two errands", twice))
	all := s.impact(t, quotes.Question{AsOf: december1})
	assert.Equal(t, []string{
		"2026-0005-1 draft: 151.11 167.90 16.79, 190.00 210.00, 22.10 11.63%",
		"2026-0001-1 issued: 75.69 84.11 8.42, 95.00 106.00, 10.89 11.46%",
		"2026-0002-1 issued: 75.69 84.11 8.42, 97.00 108.00, 10.96 11.53%",
		"2026-0003-1 issued: 75.69 84.11 8.42, 87.30 97.20, 1.26 1.48%",
		"2026-0004-1 issued: 75.69 84.11 8.42, 60.00 60.00, -24.11 -40.18%",
	}, lines(all))
	s1 := all.Sums
	assert.Equal(t, "5 453.87 504.34 50.47 529.30 581.20 21.10", fmt.Sprint(s1.Count, s1.OldCost, s1.NewCost, s1.Loss, s1.Quoted, s1.WouldBe, s1.Left))
	assert.Empty(t, all.Unpriced)
	assert.Equal(t, []string{"all 0.00"}, told(all), "there is no timber in them")
	assert.Equal(t, "Two errands, Errand, Errand, Errand, Errand", names(s.impact(t, quotes.Question{AsOf: december1, Update: u.ID})))
}

// What is out was issued, is not decided and has not expired; drafts count before
// anything of their quote was issued, and only against another day or an update.
func TestWhatIsOut(t *testing.T) {
	s := opened(t)
	u := s.sent(t, "site,30.00,h,GBP,2026-12-01")
	until := func(days int) quotes.Draft {
		d := titled(t, fmt.Sprint(days, " days"), errand)
		d.ValidDays = &days
		return d
	}
	for _, q := range []struct {
		draft quotes.Draft
		deeds string
	}{
		{titled(t, "draft", errand), ""},
		{titled(t, "void", errand), "void"},
		{titled(t, "issued", errand), "issue"},
		{titled(t, "accepted", errand), "issue accept"},
		{titled(t, "declined", errand), "issue decline"},
		{titled(t, "declined, draft", errand), "issue decline revise"},
		{titled(t, "declined, issued", errand), "issue decline revise edit issue"},
		{titled(t, "accepted, issued", errand), "issue accept revise edit issue"},
		{titled(t, "issued, draft", errand), "issue revise edit"},
		{titled(t, "issued, void", errand), "issue revise void"},
		{titled(t, "superseded, issued", errand), "issue revise edit issue"},
		{until(0), "issue"},
		{until(1), "issue"},
		{until(2), "issue"},
		{titled(t, "draft too", errand), ""},
	} {
		number := s.create(t, q.draft).Number
		s.do(t, number, strings.Fields(q.deeds)...)
	}
	const edited = "A visit to look at the stairs" // what edit makes of a draft
	issued := []string{
		"2026-0003-1 issued", "2026-0007-2 " + edited, "2026-0008-2 " + edited, "2026-0009-1 issued, draft", "2026-0010-1 issued, void", "2026-0011-2 " + edited,
	}
	short := []string{"2026-0012-1 0 days", "2026-0013-1 1 days", "2026-0014-1 2 days"}
	drafts := []string{"2026-0001-1 draft", "2026-0015-1 draft too"}
	is := func(q quotes.Question) (list []string) {
		all := s.impact(t, q)
		require.Len(t, all.Quotes, all.Sums.Count)
		for _, a := range all.Quotes {
			list = append(list, fmt.Sprintf("%s-%d %s", a.Number, a.Revision, a.Title))
			assert.Equal(t, strings.HasPrefix(a.Title, "draft"), a.Status == "draft")
			assert.Equal(t, a.Status == "draft", a.ValidUntil.IsZero())
			assert.Equal(t, "Ada Field", a.Customer)
		}
		return list
	}
	for day := range 4 {
		out := append(append([]string{}, issued...), short[min(day, 3):]...)
		assert.Equal(t, out, is(quotes.Question{}), "those that lose alike by their numbers")
		assert.Equal(t, append(out, drafts...), is(quotes.Question{AsOf: s.today()}), "then the drafts")
		assert.ElementsMatch(t, append(out, drafts...), is(quotes.Question{AsOf: date.MustParse("2030-01-01")}), "who is out, today says")
		assert.ElementsMatch(t, append(out, drafts...), is(quotes.Question{Preview: u.ID}))
		s.pass(1)
	}
}

// The day that a request names is that of another pricing: it is held against the
// prices that are asked about all the same. In May an hour on site was 26.00: 69.42,
// 3.47, 72.89; 91.11 up to 92.00.
func TestImpactOfAPinnedDay(t *testing.T) {
	s := opened(t)
	s.applies(t, s.sent(t, "site,30.00,h,GBP,2026-12-01").ID)
	pinned := strings.Replace(errand, "{", `{"as_of": "2026-05-01", `, 1)
	s.do(t, s.create(t, titled(t, "issued", pinned)).Number, "issue")
	s.create(t, titled(t, "draft", pinned))
	for day, want := range map[string][]string{
		"2026-12-01": {"2026-0001-1 issued: 72.89 84.11 11.22, 92.00 106.00, 7.89 8.58%", "2026-0002-1 draft: 75.69 84.11 8.42, 95.00 106.00, 10.89 11.46%"},
		"2026-11-30": {"2026-0001-1 issued: 72.89 75.69 2.80, 92.00 95.00, 16.31 17.73%", "2026-0002-1 draft: 75.69 75.69 0.00, 95.00 95.00, 19.31 20.33%"},
		"2026-06-30": {"2026-0001-1 issued: 72.89 72.89 0.00, 92.00 92.00, 19.11 20.77%", "2026-0002-1 draft: 75.69 72.89 -2.80, 95.00 92.00, 22.11 23.27%"},
	} {
		assert.Equal(t, want, lines(s.impact(t, quotes.Question{AsOf: date.MustParse(day)})), day)
	}
	past := s.impact(t, quotes.Question{AsOf: date.MustParse("2026-01-04")}) // before there was any price
	assert.Equal(t, "no price: issued, no price: draft", names(past))
	assert.Equal(t, "site has no price on 2026-01-04: give it one from that date or before", past.Unpriced[0].Detail)
	assert.Equal(t, "0 0.00 0.00 0.00", fmt.Sprint(past.Sums.Count, past.Sums.OldCost, past.Sums.Loss, past.Sums.Left))
}

// What has left the book is no reason to say nothing of the others: it is said what
// cannot be priced, and why, whatever is asked for.
func TestImpactOfWhatIsRetired(t *testing.T) {
	s := opened(t)
	const trolley = `{"pieces": [{"title": "Trolley", "kind": "parts", "timbers": {"show": "oak-prime"}, "ironmongery": [{"code": "castor-50", "per": "piece", "each": 4}, {"code": "grommet-60", "per": "piece", "each": 1}],
		"parts": {"parts": [{"name": "Board", "length": 600, "width": 400, "thickness": 22, "material": "show"}]}}]}`
	for _, title := range []string{"sent", "to send"} {
		s.create(t, titled(t, title, trolley))
	}
	s.do(t, "2026-0001", "issue")
	s.do(t, s.create(t, titled(t, "errand", errand)).Number, "issue")
	for _, c := range catalog.Classes() {
		for code, from := range map[string]string{"castor-50": "2026-12-01", "grommet-60": "2027-01-01"} {
			if c.Name == "ironmongery" {
				require.NoError(t, s.catalog.Retire(t.Context(), catalog.Place{Class: c, Code: code, From: date.MustParse(from)}, func([]byte) error { return nil }))
			}
		}
	}
	assert.Equal(t, "sent, errand, to send", names(s.impact(t, quotes.Question{AsOf: date.MustParse("2026-11-30")})))
	first := s.impact(t, quotes.Question{AsOf: december1})
	assert.Equal(t, "errand, no price: sent, no price: to send", names(first))
	assert.Equal(t, pricing.Unpriced{Number: "2026-0001", Revision: 1, Title: "sent", Detail: `"castor-50" is no ironmongery of the book: check its spelling, or name another`}, first.Unpriced[0])
	assert.Equal(t, 1, first.Sums.Count)
	for _, c := range catalog.Classes() {
		if c.Name == "timber" {
			require.NoError(t, s.catalog.Retire(t.Context(), catalog.Place{Class: c, Code: "ash-prime", From: date.MustParse("2027-01-01")}, func([]byte) error { return nil }))
		}
	}
	for _, q := range []quotes.Question{{}, {Timber: "oak-prime"}, {Timber: "ash-prime"}} { // which there is today
		q.AsOf = date.MustParse("2027-01-01")
		all := s.impact(t, q)
		require.Len(t, all.Unpriced, 2, "%+v", q)
		assert.Equal(t, first.Unpriced[0].Detail+"; and 1 more", all.Unpriced[0].Detail)
	}
	s.pass(6)
	assert.Equal(t, "errand, no price: sent", names(s.impact(t, quotes.Question{})), "by its own day too")
}

// Only what has a timber, or something that an update moved, is asked for; alternatives
// and extras are no part of what is quoted.
func TestImpactOnlyOf(t *testing.T) {
	s := opened(t)
	chest := demo(t, "pieces/tall-chest") // ash-prime-27 and -34, tulipwood, birch-ply-6, bench, finisher and site
	extra := demo(t, "pieces/tall-chest")
	visit := draftOf(t, visit).Request.Pieces[0]
	extra.Request.Pieces[0].Optional = true
	extra.Request.Pieces = append(extra.Request.Pieces, visit)
	extra.Title, chest.Title = "extra", "chest"
	oak := demo(t, "pieces/tall-chest")
	oak.Title, oak.Request.Pieces[0].Timbers["show"] = "oak", "oak-prime"
	for _, d := range []quotes.Draft{chest, extra, titled(t, "errand", errand), oak} {
		s.do(t, s.create(t, d).Number, "issue")
	}
	for code, want := range map[string]string{
		"": "chest, extra, errand, oak", "ash-prime": "chest", "ash-prime-27": "chest", "ash-prime-34": "chest", "ash-prime-20": "", "oak-prime": "oak",
		"tulipwood-select": "chest, oak", "tulipwood-select-20": "chest, oak", "walnut-prime": "",
	} {
		assert.Equal(t, want, names(s.impact(t, quotes.Question{Timber: code})), code)
	}
	for _, code := range []string{"ash-pirme", "ash", "birch-ply-6", "site", "ash-prime-"} {
		_, err := s.Impact(t.Context(), quotes.Question{Today: s.today(), Timber: code})
		assert.EqualError(t, err, fmt.Sprintf("there is no timber with the code %q on 2026-11-25", code))
	}
	moved := map[string]string{
		"ash-prime-27,1960.00,m3": "chest", "ash-prime-20,1905.00,m3": "", "tulipwood-select-20,1300.00,m3": "chest, oak", "birch-ply-6,29.00,each": "chest, oak",
		"knob-35,4.90,each": "chest, oak", "hard-oil,39.00,pack": "chest, oak", "bench,33.00,h": "chest, oak", "site,28.00,h": "chest, errand, oak", "castor-50,8.00,each": "",
	}
	for row, want := range moved {
		u := s.sent(t, row+",GBP,2026-12-01")
		all := s.impact(t, quotes.Question{Update: u.ID})
		assert.Equal(t, want, names(all), row)
		assert.Equal(t, u.ID, all.Update.ID)
		assert.Len(t, all.Update.Timbers, strings.Count(row, ",m3")*min(1, all.Sums.Count), row)
		both := s.impact(t, quotes.Question{Update: u.ID, Timber: "oak-prime"})
		assert.Equal(t, strings.Contains(want, "oak"), names(both) == "oak", row)
	}
	one, other := s.sent(t, "ash-prime-27,1961.00,m3,GBP,2026-12-01"), s.sent(t, "tulipwood-select-20,1301.00,m3,GBP,2027-01-01")
	both := s.impact(t, quotes.Question{Preview: one.ID, Update: other.ID})
	assert.Equal(t, []any{"chest, oak", other.ID, december1}, []any{names(both), both.Update.ID, both.AsOf}, "priced with the one, and what the other costs is told")
	same := s.sent(t, "ash-prime-27,1850.00,m3,GBP,2026-12-01")
	assert.Empty(t, s.impact(t, quotes.Question{Update: same.ID}).Quotes, "it moves nothing")
}
