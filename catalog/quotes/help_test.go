package quotes_test

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"
	"time"

	_ "github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// A tester is a test, or one try of a law.
type tester interface {
	require.TestingT
	Helper()
	Context() context.Context
}

// A shop is a ledger on a file of its own, and the clock that it goes by.
type shop struct {
	*quotes.Ledger
	catalog *catalog.Catalog
	store   *store.Store
	file    string
	now     time.Time
}

// opened returns a shop at ten o'clock on 25 November 2026.
func opened(t testing.TB) *shop {
	t.Helper()
	return openedAt(t, storetest.Path(t), time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC))
}

// openedAt returns the shop that the file at path is.
func openedAt(t testing.TB, path string, now time.Time) *shop {
	t.Helper()
	s := &shop{file: path, now: now}
	var err error
	s.catalog, err = catalog.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.catalog.Close()) })
	config := storetest.Config()
	config.Now = func() time.Time { return s.now }
	s.store, err = store.Open(t.Context(), path, config)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.store.Close()) })
	s.Ledger = quotes.NewOn(s.catalog, s.store)
	return s
}

func (s *shop) today() date.Date { return date.Of(s.now) }

// pass lets days go by.
func (s *shop) pass(days int) { s.now = s.now.AddDate(0, 0, days) }

// site makes an hour on site cost a rate from today on.
func (s *shop) site(t tester, rate num.Rate) {
	t.Helper()
	_, err := s.catalog.ChangePrice(t.Context(), catalog.PriceChange{
		Code: "site", From: s.today(), Today: s.today(), Price: &catalog.NewPrice{Rate: &rate, Unit: "h"},
		Match: func(catalog.History) error { return nil },
	})
	require.NoError(t, err)
}

var errStale = errors.New("it stands otherwise")

// seen is the condition that a quote stands as it did under a tag.
func seen(tag string) quotes.Match {
	return func(is string) error {
		if is != tag {
			return errStale
		}
		return nil
	}
}

// change is one of a quote that stands as it did under a tag.
func (s *shop) change(number, tag string) quotes.Change {
	return quotes.Change{Number: number, Match: seen(tag), Today: s.today()}
}

// create keeps a draft as a new quote.
func (s *shop) create(t tester, d quotes.Draft) quotes.Answer {
	t.Helper()
	a, err := s.Create(t.Context(), d, s.today(), quotes.Once{})
	require.NoError(t, err)
	return a
}

// try does a deed to a quote, by its name.
func (s *shop) try(t tester, deed, number, tag string) (quotes.Answer, error) {
	t.Helper()
	return s.tryChange(t, deed, s.change(number, tag))
}

// tryChange is try on a condition.
func (s *shop) tryChange(t tester, deed string, c quotes.Change) (quotes.Answer, error) {
	t.Helper()
	switch deed {
	case "edit":
		return s.Edit(t.Context(), c, draftOf(t, visit))
	case "issue":
		return s.Issue(t.Context(), c)
	case "accept":
		return s.Accept(t.Context(), c, nil)
	case "decline":
		return s.Decline(t.Context(), c)
	case "revise":
		return s.Revise(t.Context(), c)
	case "void":
		return s.Void(t.Context(), c)
	}
	panic("nobody can " + deed + " a quote")
}

// do does deeds to a quote as it stands, one after the other; "pass" lets 31 days go
// by.
func (s *shop) do(t tester, number string, deeds ...string) (a quotes.Answer) {
	t.Helper()
	for _, deed := range deeds {
		if deed == "pass" {
			s.pass(31)
			continue
		}
		var err error
		a, err = s.try(t, deed, number, s.get(t, number).Tag)
		require.NoError(t, err, deed)
	}
	return a
}

// get returns a quote.
func (s *shop) get(t tester, number string) quotes.Answer {
	t.Helper()
	a, err := s.Get(t.Context(), number, s.today())
	require.NoError(t, err)
	return a
}

// look returns a quote, read by this package's own types.
func (s *shop) look(t tester, number string) view {
	t.Helper()
	return viewed(t, s.get(t, number))
}

// events returns what happened to a quote.
func (s *shop) events(t tester, number string) []quotes.Event {
	t.Helper()
	all, err := s.Events(t.Context(), number)
	require.NoError(t, err)
	return all
}

// document returns an issued revision, whose digest it checks.
func (s *shop) document(t tester, number string, revision int) []byte {
	t.Helper()
	r, err := s.Revision(t.Context(), number, revision)
	require.NoError(t, err)
	sum := sha256.Sum256(r.Text)
	require.Equal(t, hex.EncodeToString(sum[:]), r.SHA256)
	return r.Text
}

// A view is a quote as whoever reads its JSON has it.
type view struct {
	Number, Status, Title, Note string
	Revision                    int
	Customer                    struct {
		ID   int64
		Name string
	}
	ValidDays   *int   `json:"valid_days"`
	PrivateNote string `json:"private_note"`
	CreatedAt   string `json:"created_at"`
	Revisions   []standing
	Errors      []struct{ Pointer, Detail string }
	Request     json.RawMessage
	Costing     *struct {
		AsOf   string `json:"as_of"`
		Totals totals
	}
}

type standing struct {
	Revision   int
	Status     string
	IssuedAt   string `json:"issued_at"`
	ValidUntil string `json:"valid_until"`
	DecidedAt  string `json:"decided_at"`
	SHA256     string
	Net, Gross string
	Accepted   *struct {
		Choose, Included []string
		Totals           totals
	}
}

type totals struct {
	Net, Discount, Taxable, Gross, Deposit, Balance string
	Payments                                        []struct{ Amount string }
}

func viewed(t tester, a quotes.Answer) (v view) {
	t.Helper()
	require.NoError(t, json.Unmarshal(a.Text, &v))
	require.Equal(t, a.Number, v.Number)
	return v
}

// statuses returns the statuses of the revisions, the first first.
func (v *view) statuses() string {
	var all []string
	for i, r := range v.Revisions {
		if r.Revision != i+1 {
			return "revisions out of order"
		}
		all = append(all, r.Status)
	}
	return strings.Join(all, " ")
}

// visit is a request whose price is agreed: 120.00, and 24.00 of tax.
const visit = `{"pieces": [{"title": "A visit", "kind": "service", "service": {}, "agreed_price": "120.00"}]}`

// draftOf returns a draft for an invented customer, of a request in JSON.
func draftOf(t tester, request string) (d quotes.Draft) {
	t.Helper()
	require.NoError(t, wire.Decode([]byte(request), &d.Request))
	d.Title = "A visit to look at the stairs"
	d.Customer.Customer = pricing.Customer{Name: "Ada Field", Address: []string{"1 Mill Row", "Little Wending"}, Email: "ada@example.com"}
	return d
}

// demo returns a draft of a demo request, for its own customer, as of no day.
func demo(t testing.TB, name string) (d quotes.Draft) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/" + name + ".json")
	require.NoError(t, err)
	d = draftOf(t, string(text))
	if c := d.Request.Customer; c != nil {
		d.Customer.Customer = *c
	}
	d.Request.Customer, d.Request.AsOf = nil, date.Date{}
	return d
}

// raw opens a file with the driver alone, on one connection set by options.
func raw(t testing.TB, path, options string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+path+"?_busy_timeout=5000&"+options)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { _ = db.Close() })
	return db
}

// texts returns what a query answers in its one column.
func texts(t tester, db *sql.DB, query string, values ...any) (all []string) {
	t.Helper()
	found, err := db.Query(query, values...)
	require.NoError(t, err)
	defer found.Close()
	for found.Next() {
		var s string
		require.NoError(t, found.Scan(&s))
		all = append(all, s)
	}
	require.NoError(t, found.Err())
	return all
}

// columns returns the names of the columns of a table.
func columns(t tester, db *sql.DB, table string) []string {
	t.Helper()
	return texts(t, db, "SELECT name FROM pragma_table_info(?) ORDER BY cid", table)
}

// rows returns every row of every table, in order.
func rows(t tester, db *sql.DB) (all []string) {
	t.Helper()
	for _, table := range texts(t, db, "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name") {
		all = append(all, texts(t, db, "SELECT '"+table+" ' || quote("+strings.Join(columns(t, db, table), ") || ' ' || quote(")+") FROM "+table+" ORDER BY 1")...)
	}
	require.NotEmpty(t, all)
	return all
}

// cents returns a rate of that many hundredths.
func cents(n int64) num.Rate { return num.Rate(n * 100) }

// percent returns a whole percentage.
func percent(n int64) num.Percent { return num.Percent(n * 100) }
