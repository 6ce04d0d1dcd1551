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
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
)

// A paper is a document, read by this package's own types.
type paper struct {
	Number, Title, Note, Engine string
	Revision                    int
	IssuedAt                    string `json:"issued_at"`
	IssuedOn                    string `json:"issued_on"`
	ValidUntil                  string `json:"valid_until"`
	Customer                    map[string]any
	Request                     map[string]any
	Book                        struct {
		Version  int
		AsOf     string `json:"as_of"`
		Currency string
	}
	Costing struct {
		AsOf   string `json:"as_of"`
		Totals totals
	}
}

func (s *shop) paper(t *testing.T, number string, revision int) (p paper) {
	t.Helper()
	require.NoError(t, json.Unmarshal(s.document(t, number, revision), &p))
	return p
}

// count returns how many rows a table has.
func (s *shop) count(t *testing.T, table string) (n int) {
	t.Helper()
	require.NoError(t, s.store.Glance(t.Context()).Raw("SELECT count(*) FROM "+table).Row().Scan(&n))
	return n
}

// A document has what was sent and what it rests on, in one text; what is for the
// workshop alone is not in it, nor anywhere beside it.
func TestADocument(t *testing.T) {
	s := opened(t)
	d := demo(t, "pieces/full-quotation")
	d.Title, d.Note, d.PrivateNote = "Two pieces for the loft", "Glad to.", "Pays late, says the miller"
	a := s.create(t, d)
	i := s.do(t, a.Number, "issue")
	text := string(s.document(t, a.Number, 1))
	p := s.paper(t, a.Number, 1)
	assert.Equal(t, "2026-0001", p.Number)
	assert.Equal(t, 1, p.Revision)
	assert.Equal(t, []string{"Two pieces for the loft", "Glad to.", pricing.Engine}, []string{p.Title, p.Note, p.Engine})
	assert.Equal(t, []string{"2026-11-25T10:00:00.000000Z", "2026-11-25", "2026-12-25"}, []string{p.IssuedAt, p.IssuedOn, p.ValidUntil})
	assert.Equal(t, "Tobias and Wren Ashdown", p.Customer["name"])
	assert.Len(t, p.Customer["delivery_address"], 3)
	assert.NotContains(t, p.Request, "customer")
	assert.Equal(t, "2026-11-25", p.Book.AsOf)
	assert.Equal(t, "GBP", p.Book.Currency)

	var done standing
	require.NoError(t, json.Unmarshal(i.Text, &done))
	assert.Equal(t, standing{Revision: 1, Status: "issued", IssuedAt: p.IssuedAt, ValidUntil: p.ValidUntil, SHA256: digest([]byte(text)), Net: p.Costing.Totals.Net, Gross: p.Costing.Totals.Gross}, done)
	assert.Equal(t, done, s.look(t, a.Number).Revisions[0])

	assert.Contains(t, string(s.get(t, a.Number).Text), "miller", "whoever asks for the quote has it")
	assert.NotContains(t, text, "miller")
	look := raw(t, s.file, "mode=ro")
	assert.Empty(t, texts(t, look, "SELECT head FROM revisions WHERE instr(head || request || customer || costing, 'miller') > 0 UNION ALL SELECT doc FROM books WHERE instr(doc, 'miller') > 0"))
	assert.Empty(t, s.copyOf(t, a.Number).PrivateNote)
}

// copyOf makes a copy of a quote and returns it.
func (s *shop) copyOf(t *testing.T, number string) view {
	t.Helper()
	a, err := s.Duplicate(t.Context(), number, s.today(), quotes.Once{})
	require.NoError(t, err)
	require.Equal(t, a, s.get(t, a.Number))
	return viewed(t, a)
}

// The document is found by what there is, and by nothing else.
func TestWhatThereIsNot(t *testing.T) {
	s := opened(t)
	number := s.create(t, draftOf(t, visit)).Number
	s.do(t, number, "issue", "revise")
	missing := (*quotes.NotFound)(nil)
	for _, revision := range []int{-1, 0, 2, 3, 1 << 40} {
		_, err := s.Revision(t.Context(), number, revision)
		require.ErrorAs(t, err, &missing)
		assert.Contains(t, err.Error(), number)
	}
	for _, number := range []string{"", "2026-1", "2026-0002", "2026-00001", " 2026-0001", "2026-0001 ", "%", "' OR 1 = 1 --"} {
		_, err := s.Get(t.Context(), number, s.today())
		require.ErrorAs(t, err, &missing, number)
		_, err = s.Events(t.Context(), number)
		require.ErrorAs(t, err, &missing, number)
		_, err = s.Revision(t.Context(), number, 1)
		require.ErrorAs(t, err, &missing, number)
		_, err = s.Duplicate(t.Context(), number, s.today(), quotes.Once{})
		require.ErrorAs(t, err, &missing, number)
		for _, deed := range []string{"edit", "issue", "accept", "decline", "revise", "void"} {
			_, err = s.try(t, deed, number, "")
			require.ErrorAs(t, err, &missing, number)
		}
	}
}

// All that is issued in a day from the same prices shares one Book; what is issued
// after a change of them, or on another day, has its own.
func TestBooksAreKeptOnce(t *testing.T) {
	s := opened(t)
	issue := func(d quotes.Draft) string {
		number := s.create(t, d).Number
		s.do(t, number, "issue")
		return number
	}
	early := draftOf(t, visit)
	early.Request.AsOf = date.MustParse("2026-08-01")
	for _, step := range []struct {
		what  string
		books int
		do    func()
	}{
		{"the first", 1, func() { issue(draftOf(t, visit)) }},
		{"more of the day", 1, func() { issue(draftOf(t, hours)); issue(demo(t, "pieces/tall-chest")) }},
		{"another process", 1, func() { s.Ledger = openedAt(t, s.file, s.now).Ledger; issue(draftOf(t, visit)) }},
		{"a revision", 1, func() { s.do(t, issue(draftOf(t, visit)), "revise", "issue") }},
		{"a price that changed", 2, func() { s.site(t, 28_0000); issue(draftOf(t, visit)); issue(draftOf(t, hours)) }},
		{"the price of before", 3, func() { s.site(t, 27_0000); issue(draftOf(t, hours)) }}, // another version of the catalogue
		{"an earlier day, named", 4, func() { issue(early); issue(early) }},
		{"the next day", 5, func() { s.pass(1); issue(draftOf(t, visit)) }},
		{"the earlier day again", 5, func() { issue(early) }},
	} {
		step.do()
		assert.Equal(t, step.books, s.count(t, "books"), step.what)
	}
	require.NoError(t, s.Verify(t.Context(), func(v quotes.Verified) { assert.NoError(t, v.Err) }))
}

// The days are counted by hand on a calendar: the day on which it was issued is no day
// of them. 2028 is a leap year.
func TestValidUntil(t *testing.T) {
	s := opened(t)
	number := ""
	for _, tt := range []struct {
		issued string
		days   *int   // of the quote
		terms  *int   // of its request
		until  string // 30 days are the terms of the starter catalogue
	}{
		{"2026-11-25", new(0), nil, "2026-11-25"},
		{"2026-11-25", new(1), nil, "2026-11-26"},
		{"2026-11-25", nil, nil, "2026-12-25"},
		{"2026-11-25", nil, new(14), "2026-12-09"},
		{"2026-11-25", nil, new(0), "2026-11-25"},
		{"2026-11-25", new(7), new(14), "2026-12-02"},
		{"2026-12-31", new(60), nil, "2027-03-01"},
		{"2027-01-30", nil, nil, "2027-03-01"},
		{"2028-01-30", nil, nil, "2028-02-29"},
		{"2028-02-28", new(1), nil, "2028-02-29"},
		{"2028-02-29", new(365), nil, "2029-02-28"},
		{"2028-02-29", new(3650), nil, "2038-02-26"},
	} {
		d := draftOf(t, visit)
		d.ValidDays = tt.days
		if tt.terms != nil {
			d.Request.Terms = &book.TermsChange{ValidDays: tt.terms}
		}
		on := date.MustParse(tt.issued)
		a, err := s.Create(t.Context(), d, on, quotes.Once{})
		require.NoError(t, err)
		_, err = s.Issue(t.Context(), quotes.Change{Number: a.Number, Match: seen(a.Tag), Today: on})
		require.NoError(t, err)
		number = a.Number
		p := s.paper(t, number, 1)
		assert.Equal(t, []string{tt.issued, tt.until}, []string{p.IssuedOn, p.ValidUntil})
		for _, day := range []struct {
			on     date.Date
			status string
		}{{on, "issued"}, {date.MustParse(tt.until), "issued"}, {date.MustParse(tt.until).AddDays(1), "expired"}} {
			a, err := s.Get(t.Context(), number, day.on)
			require.NoError(t, err)
			v := viewed(t, a)
			assert.Equal(t, []string{day.status, day.status}, []string{v.Status, v.statuses()}, "%s on %s", tt.until, day.on)
			l, err := s.List(t.Context(), quotes.Filter{Text: number}, day.on, 0, 1)
			require.NoError(t, err)
			assert.Equal(t, day.status, l.Quotes[0].Status, "%s on %s", tt.until, day.on)
		}
	}
}

// On its last day it can be accepted, the day after not any more.
func TestTheLastDay(t *testing.T) {
	s := opened(t)
	for _, tt := range []struct {
		days int
		may  bool
	}{{30, true}, {31, false}} {
		number := s.create(t, draftOf(t, visit)).Number
		s.do(t, number, "issue")
		s.pass(tt.days)
		_, err := s.try(t, "accept", number, s.get(t, number).Tag)
		if tt.may {
			assert.NoError(t, err)
			continue
		}
		conflict := (*catalog.Conflict)(nil)
		require.ErrorAs(t, err, &conflict)
		assert.Equal(t, "revision 1 of "+number+" is expired and cannot be accepted: revise it, and issue it again", conflict.Detail)
	}
}

// A day that the request names is the day of its prices, whatever day it is: an hour
// on site was 26.00 in spring (the starter catalogue's prices.csv) and is 27.00 now.
func TestTheDayOfThePrices(t *testing.T) {
	s := opened(t)
	d := draftOf(t, hours)
	d.Request.Terms = plain()
	for _, tt := range []struct{ asOf, net string }{{"", "270.00"}, {"2026-05-01", "260.00"}, {"2026-11-25", "270.00"}} {
		d.Request.AsOf = date.Date{}
		if tt.asOf != "" {
			d.Request.AsOf = date.MustParse(tt.asOf)
		}
		a := s.create(t, d)
		s.do(t, a.Number, "issue")
		p := s.paper(t, a.Number, 1)
		assert.Equal(t, tt.net, p.Costing.Totals.Net)
		want := any(nil)
		if tt.asOf != "" {
			want = tt.asOf
		}
		assert.Equal(t, want, p.Request["as_of"])
		assert.Equal(t, []string{p.Book.AsOf, "2026-11-25"}, []string{p.Costing.AsOf, p.IssuedOn})

		s.site(t, 40_0000)
		for _, v := range []view{viewed(t, s.do(t, a.Number, "revise")), s.copyOf(t, a.Number)} {
			assert.Equal(t, "400.00", v.Costing.Totals.Net, "a revision and a copy are at the prices of their day")
			assert.NotContains(t, string(v.Request), "as_of")
		}
		s.site(t, 27_0000)
	}
}

// plain are terms that add nothing to what a piece costs.
func plain() *book.TermsChange {
	return &book.TermsChange{Overhead: &book.Overhead{PerHour: new(cents(0))}, Contingency: new(percent(0)), Profit: &book.Profit{Markup: new(percent(0))}}
}

// A kept customer is copied when the quote is issued: what they are called afterwards
// is on drafts, whose ETag it changes, and on no document.
func TestCustomersAreCopied(t *testing.T) {
	s := opened(t)
	c, tag, err := s.AddCustomer(t.Context(), quotes.Customer{Customer: pricing.Customer{Name: "Bo Larkrise", Email: "bo@example.com"}, PrivateNote: "A cousin of the miller"})
	require.NoError(t, err)
	d := draftOf(t, visit)
	d.Customer = quotes.Addressee{ID: c.ID}
	sent, open := s.create(t, d), s.create(t, d)
	s.do(t, sent.Number, "issue")
	text, before := s.document(t, sent.Number, 1), s.get(t, sent.Number)
	require.Contains(t, string(text), `"customer":{"name":"Bo Larkrise","email":"bo@example.com"}`)

	changed := quotes.Customer{ID: c.ID, Customer: pricing.Customer{Name: "Bo Larkrise-Field"}}
	_, newTag, err := s.PutCustomer(t.Context(), changed, seen(tag))
	require.NoError(t, err)
	assert.Equal(t, text, s.document(t, sent.Number, 1))
	assert.Equal(t, before, s.get(t, sent.Number))
	assert.Equal(t, "Bo Larkrise", s.look(t, sent.Number).Customer.Name)
	v := s.look(t, open.Number)
	assert.Equal(t, "Bo Larkrise-Field", v.Customer.Name)
	assert.Equal(t, c.ID, v.Customer.ID)
	assert.NotEqual(t, open.Tag, s.get(t, open.Number).Tag)
	_, err = s.try(t, "issue", open.Number, open.Tag)
	assert.ErrorIs(t, err, errStale, "nobody sends to whom they have not seen")

	_, _, err = s.PutCustomer(t.Context(), quotes.Customer{ID: c.ID, Customer: changed.Customer, PrivateNote: "Moved"}, seen(newTag))
	require.NoError(t, err)
	s.do(t, sent.Number, "revise", "issue")
	assert.Equal(t, map[string]any{"name": "Bo Larkrise-Field"}, s.paper(t, sent.Number, 2).Customer)
	for _, tt := range []string{sent.Number, open.Number, s.copyOf(t, sent.Number).Number} {
		assert.NotContains(t, string(s.get(t, tt).Text), "miller", "what is noted of a customer is in no quote")
	}
}

// What has no price any more cannot be issued; it says why, and can be put right.
func TestADraftThatHasNoPrice(t *testing.T) {
	s := opened(t)
	d := demo(t, "pieces/tall-chest")
	number := s.create(t, d).Number
	knob := d.Request.Pieces[0].Ironmongery[0].Code
	_, err := s.catalog.Book(t.Context(), s.today())
	require.NoError(t, err)
	s.retire(t, "ironmongery", knob)
	v := s.look(t, number)
	require.NotEmpty(t, v.Errors)
	assert.Nil(t, v.Costing)
	assert.True(t, strings.HasPrefix(v.Errors[0].Pointer, "#/request/pieces/0/ironmongery/0"), v.Errors[0].Pointer)
	assert.Contains(t, v.Errors[0].Detail, knob)
	_, err = s.try(t, "issue", number, s.get(t, number).Tag)
	faults := fault.List{}
	require.ErrorAs(t, err, &faults)
	assert.Equal(t, v.Errors[0].Pointer, faults[0].Pointer)
	assert.Zero(t, s.count(t, "revisions"))
	assert.Zero(t, s.count(t, "books"))

	c := s.copyOf(t, number)
	assert.Equal(t, fmt.Sprint(v.Errors), fmt.Sprint(c.Errors))
	s.do(t, number, "edit", "issue", "accept")
}

// retire takes something out of the catalogue from today on.
func (s *shop) retire(t *testing.T, class, code string) {
	t.Helper()
	for _, c := range catalog.Classes() {
		if c.Name == class {
			require.NoError(t, s.catalog.Retire(t.Context(), catalog.Place{Class: c, Code: code, From: s.today()}, func([]byte) error { return nil }))
		}
	}
}
