package quotes_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
)

// choices is a table with an alternative, an extra chair with one too, and a book that
// bears no tax: of 10, 15, 2, 3 and 1 hours on site.
const choices = `{"pieces": [
	{"id": "table", "title": "Table", "kind": "service", "service": {}, "extra_hours": [{"stage": "fitting_on_site", "hours": 10}]},
	{"id": "table-oak", "title": "Table in oak", "alternative_to": "table", "kind": "service", "service": {}, "extra_hours": [{"stage": "fitting_on_site", "hours": 15}]},
	{"id": "chair", "title": "Chair", "optional": true, "kind": "service", "service": {}, "extra_hours": [{"stage": "fitting_on_site", "hours": 2}]},
	{"id": "chair-oak", "title": "Chair in oak", "alternative_to": "chair", "kind": "service", "service": {}, "extra_hours": [{"stage": "fitting_on_site", "hours": 3}]},
	{"id": "book", "title": "A book on its care", "tax": "zero", "kind": "service", "service": {}, "extra_hours": [{"stage": "fitting_on_site", "hours": 1}]}
]}`

// offered returns a draft of the choices under terms that add nothing but what change
// says.
func offered(t *testing.T, change func(*book.TermsChange)) quotes.Draft {
	t.Helper()
	d := draftOf(t, choices)
	d.Request.Terms = plain()
	change(d.Request.Terms)
	return d
}

// thirds are payments.
func thirds() []book.Payment {
	return []book.Payment{
		{Title: "Deposit", Percent: 33_33, Due: "when you accept"},
		{Title: "Half-way", Percent: 33_33, Due: "when the timber is here"},
		{Title: "Balance", Percent: 33_34, Due: "before it leaves"},
	}
}

// The sums are by hand, an hour being 27.00 when it was sent (the starter catalogue's
// prices.csv) and 99.00 when it is accepted; tax is 20 percent but for the book. A
// payment is the rounded running total less the one before.
func TestAcceptingAtThePricesSent(t *testing.T) {
	t.Parallel()
	tenth := func(c *book.TermsChange) { c.Discount, c.Payments = new(percent(10)), thirds() }
	thirty := func(c *book.TermsChange) { c.DiscountAmount, c.Deposit = new(cents(30_00)), new(percent(50)) }
	for name, tt := range map[string]struct {
		terms            func(*book.TermsChange)
		choose, included string
		totals           string // net, discount, taxable, gross, deposit, balance, payments
	}{
		// 270 + 27; 10 %; less; 243 x 0.2 = 48.60 more; 105.28947, 210.57894
		"as it is": {tenth, "", "table book", "297.00 29.70 267.30 315.90 0.00 315.90 105.29 105.29 105.32"},
		// 405 + 27; 364.50 x 0.2 = 72.90; 153.88461, 307.76922
		"the alternative": {tenth, "table-oak", "table-oak book", "432.00 43.20 388.80 461.70 0.00 461.70 153.88 153.89 153.93"},
		// 270 + 54 + 27; 291.60 x 0.2 = 58.32; 124.727526, 249.455052
		"the extra": {tenth, "chair", "table chair book", "351.00 35.10 315.90 374.22 0.00 374.22 124.73 124.73 124.76"},
		// 405 + 81 + 27; 437.40 x 0.2 = 87.48; 183.041694, 366.083388
		"both in oak": {tenth, "chair-oak table-oak", "table-oak chair-oak book", "513.00 51.30 461.70 549.18 0.00 549.18 183.04 183.04 183.10"},
		// 30 x 270 / 297 = 27.2727 falls to the table: 242.73 x 0.2 = 48.546; half of 315.55 = 157.775
		"as it is, less 30": {thirty, "", "table book", "297.00 30.00 267.00 315.55 157.78 157.77"},
		// 30 x 324 / 351 = 27.6923: 296.31 x 0.2 = 59.262; half of 380.26
		"the extra, less 30": {thirty, "chair", "table chair book", "351.00 30.00 321.00 380.26 190.13 190.13"},
	} {
		t.Run(name, func(t *testing.T) {
			s := opened(t)
			number := s.create(t, offered(t, tt.terms)).Number
			s.do(t, number, "issue")
			text := s.document(t, number, 1)
			s.site(t, 99_0000)
			a, err := s.Accept(t.Context(), s.change(number, s.get(t, number).Tag), strings.Fields(tt.choose))
			require.NoError(t, err)
			var done standing
			require.NoError(t, json.Unmarshal(a.Text, &done))
			require.NotNil(t, done.Accepted)
			assert.Equal(t, strings.Fields(tt.choose), done.Accepted.Choose)
			assert.Equal(t, strings.Fields(tt.included), done.Accepted.Included)
			assert.Equal(t, tt.totals, done.Accepted.Totals.String())
			assert.Equal(t, []string{done.Accepted.Totals.Net, done.Accepted.Totals.Gross}, []string{done.Net, done.Gross})
			assert.Equal(t, "2026-11-25T10:00:00.000000Z", done.DecidedAt)
			assert.Equal(t, done, s.look(t, number).Revisions[0])
			assert.Equal(t, text, s.document(t, number, 1))

			l, err := s.List(t.Context(), quotes.Filter{Status: "accepted"}, s.today(), 0, 10)
			require.NoError(t, err)
			require.Len(t, l.Quotes, 1)
			taken := done.Accepted.Totals
			assert.Equal(t, []string{taken.Net, taken.Gross}, []string{l.Quotes[0].Net.String(), l.Quotes[0].Gross.String()})
			assert.Equal(t, taken.Net, l.Totals[0].Net.String())

			v := viewed(t, s.do(t, number, "revise"))
			assert.Equal(t, "1089.00", v.Costing.Totals.Net, "prices have moved: 11 x 99.00")
		})
	}
}

// String returns every sum in one line.
func (s totals) String() string {
	all := []string{s.Net, s.Discount, s.Taxable, s.Gross, s.Deposit, s.Balance}
	for _, p := range s.Payments {
		all = append(all, p.Amount)
	}
	return strings.Join(all, " ")
}

// What cannot be chosen is refused, all of it at once, and changes nothing; so is what
// a discount would leave nothing of.
func TestAcceptingWhatWasNotOffered(t *testing.T) {
	s := opened(t)
	number := s.create(t, offered(t, func(c *book.TermsChange) { c.DiscountAmount = new(cents(290_00)) })).Number
	s.do(t, number, "issue")
	before := s.get(t, number)
	for _, tt := range []struct {
		choose   []string
		pointers string
	}{
		{[]string{"sofa"}, "#/choose/0"},
		{[]string{"chair", "table", ""}, "#/choose/1 #/choose/2"},
		{[]string{"chair", "chair-oak"}, "#/choose/1"},
		{[]string{"table-oak", "table-oak"}, "#/choose/1"},
		{make([]string, 101), "#/choose"},
	} {
		_, err := s.Accept(t.Context(), s.change(number, before.Tag), tt.choose)
		faults := fault.List{}
		require.ErrorAs(t, err, &faults)
		var at []string
		for _, f := range faults {
			at = append(at, f.Pointer)
		}
		assert.Equal(t, tt.pointers, strings.Join(at, " "))
		assert.Equal(t, before, s.get(t, number))
		assert.Len(t, s.events(t, number), 2)
	}
	_, err := s.Accept(t.Context(), s.change(number, before.Tag), []string{"table-oak"})
	require.NoError(t, err)
	_, err = s.Accept(t.Context(), s.change(number, s.get(t, number).Tag), nil)
	conflict := (*catalog.Conflict)(nil)
	require.ErrorAs(t, err, &conflict)
	assert.Equal(t, "revision 1 of "+number+" is accepted and cannot be accepted: that is final; revise it for what is new, or duplicate it", conflict.Detail)
}

// Of what is gone from the catalogue since, what was sent can still be accepted.
func TestAcceptingWhatIsNotMadeAnyMore(t *testing.T) {
	s := opened(t)
	d := demo(t, "pieces/full-quotation")
	number := s.create(t, d).Number
	s.do(t, number, "issue")
	sent := s.look(t, number).Costing.Totals
	s.retire(t, "ironmongery", d.Request.Pieces[0].Ironmongery[0].Code)
	s.pass(30)
	s.do(t, number, "accept")
	assert.Equal(t, sent, s.look(t, number).Revisions[0].Accepted.Totals)
	v := viewed(t, s.do(t, number, "revise"))
	assert.NotEmpty(t, v.Errors)
	assert.Equal(t, "accepted", v.Status)
}

// What happened says what was taken, and the draft that each change left.
func TestEventsSayWhatWasTaken(t *testing.T) {
	s := opened(t)
	number := s.create(t, offered(t, func(*book.TermsChange) {})).Number
	s.do(t, number, "edit", "issue", "revise", "issue", "accept")
	var said []string
	for _, e := range s.events(t, number) {
		assert.Empty(t, e.Doc, "it is of the event alone")
		one, err := s.Event(t.Context(), number, e.ID)
		require.NoError(t, err)
		e.Doc = one.Doc
		assert.Equal(t, e, one)
		said = append(said, fmt.Sprint(e.Event, " ", e.Revision))
		assert.Equal(t, "2026-11-25T10:00:00.000000Z", e.At)
		switch e.Event {
		case "created", "edited", "revised":
			var d struct {
				Title    string
				Request  struct{ Pieces []any }
				Customer struct{ Name string }
			}
			require.NoError(t, json.Unmarshal(e.Doc, &d))
			assert.Equal(t, []string{"A visit to look at the stairs", "Ada Field"}, []string{d.Title, d.Customer.Name})
			assert.Len(t, d.Request.Pieces, map[string]int{"created": 5, "edited": 1, "revised": 1}[e.Event])
		case "accepted":
			var c struct{ Totals totals }
			require.NoError(t, json.Unmarshal(e.Doc, &c))
			assert.Equal(t, "120.00", c.Totals.Net)
		default:
			assert.Empty(t, e.Doc)
		}
	}
	assert.Equal(t, "created 1, edited 1, issued 1, revised 2, superseded 1, issued 2, accepted 2", strings.Join(said, ", "))
	other := s.create(t, draftOf(t, visit)).Number
	for _, id := range []int64{0, -1, 99, s.events(t, other)[0].ID} {
		_, err := s.Event(t.Context(), number, id)
		assert.ErrorAs(t, err, new(*quotes.NotFound))
	}
}
