package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/pricing/date"
)

const (
	ledger    = "/v1/quotes"
	people    = "/v1/customers"
	enquiries = "../testdata/quotes/"
)

// errand is a draft of one piece whose price is worked by hand from the starter book:
// 10 km x 4 min + 1 drop x 120 min = 160 min = 2.67 h, at 27.00 72.09; 5 % of that is
// 3.60; 75.69 / (1 - 20 %) = 94.61, up to 95.00; with 20 % of tax 114.00.
const errand = `{"customer": {"name": "Ada Field"}, "title": "An errand", "request": {"pieces": [{"title": "Delivery", "kind": "service", "service": {"delivery": 10, "drops": 1}}]}}`

// trolley is a draft of a piece of oak on castors; nothing else of the book needs those.
const trolley = `{"customer": {"name": "Ada Field"}, "title": "A trolley", "request": {"pieces": [{"id": "trolley", "title": "Trolley", "kind": "parts",
	"timbers": {"show": "oak-prime"}, "ironmongery": [{"code": "castor-50", "per": "piece", "each": 4}],
	"parts": {"parts": [{"name": "Board", "length": 600, "width": 400, "thickness": 22, "material": "show"}]}}]}}`

// A quoted is what these tests read of a quote.
type quoted struct {
	Number, Status, Title string
	Revision              int
	Customer              struct {
		ID      int64
		Name    string
		Address []string
	}
	Revisions        []standing
	Errors           []struct{ Pointer, Detail string }
	Request, Costing json.RawMessage
}

// A standing is how a revision stands, or what answers a deed.
type standing struct {
	Number     string
	Revision   int
	Status     string
	IssuedAt   string `json:"issued_at"`
	ValidUntil string `json:"valid_until"`
	SHA256     string
	Net, Gross string
	DecidedAt  string `json:"decided_at"`
	Accepted   *struct {
		Choose, Included []string
		Totals           json.RawMessage
	}
}

// decode reads what is answered.
func decode[T any](t testing.TB, a answer) (v T) {
	t.Helper()
	require.NoError(t, json.Unmarshal(a.body, &v))
	return v
}

// drafts makes a quote and returns its path and its ETag.
func (s service) drafts(t testing.TB, body string, header ...string) (path, etag string) {
	t.Helper()
	a := s.granted(t, http.StatusCreated, submit(ledger, body, header...))
	return a.header.Get("Location"), a.header.Get("Etag")
}

// does does something to a quote as it stands, and returns the answer.
func (s service) does(t testing.TB, path, deed, body string) answer {
	t.Helper()
	return s.granted(t, http.StatusOK, doing(path, deed, body, tag(t, s, path)))
}

// doing makes the request of a deed; edit is one, and its body the draft.
func doing(path, deed, body, etag string) request {
	switch deed {
	case "edit":
		return put(path, body, "If-Match: "+etag)
	case "duplicate":
		return submit(path+"/duplicate", "")
	}
	return submit(path+"/"+deed, body, "If-Match: "+etag)
}

// stands says how a quote stands, and each of its revisions: "issued: superseded issued".
func (s service) stands(t testing.TB, path string) string {
	t.Helper()
	q := decode[quoted](t, s.granted(t, http.StatusOK, fetch(path)))
	says := q.Status + ":"
	for i, r := range q.Revisions {
		assert.Equal(t, i+1, r.Revision, path)
		says += " " + r.Status
	}
	return says
}

// digest returns the SHA-256 of a text in hexadecimal.
func digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// A calendar is a day that a test moves.
type calendar struct{ day atomic.Pointer[date.Date] }

// set makes a day today.
func (c *calendar) set(day string) {
	d := date.MustParse(day)
	c.day.Store(&d)
}

// today returns the day.
func (c *calendar) today() date.Date { return *c.day.Load() }

// agreed returns a piece of an agreed price, whose price is therefore known.
func agreed(id, price, more string) string {
	return fmt.Sprintf(`{"id": "%s", "title": "Piece %s", "kind": "service", "service": {}, "agreed_price": "%s"%s}`, id, id, price, more)
}

// proposal returns a draft of such pieces for a customer, written out or by the id.
func proposal(customer, title string, pieces ...string) string {
	return fmt.Sprintf(`{"customer": %s, "title": "%s", "request": {"pieces": [%s]}}`, customer, title, strings.Join(pieces, ", "))
}

// with returns a draft with more members.
func with(draft, members string) string {
	return strings.TrimSuffix(draft, "}") + ", " + members + "}"
}

// An event is what these tests read of one.
type event struct {
	ID       int64
	At       string
	Revision int
	Event    string
	Before   string `json:"etag_before"`
	After    string `json:"etag_after"`
	Doc      json.RawMessage
}

// happened returns the events of a quote, and their names: "issued 1".
func (s service) happened(t testing.TB, path string) (all []event, names []string) {
	t.Helper()
	all = decode[struct{ Events []event }](t, s.granted(t, http.StatusOK, fetch(path+"/events"))).Events
	for _, e := range all {
		names = append(names, fmt.Sprint(e.Event, " ", e.Revision))
	}
	return all, names
}

// furnished starts a service with two customers and a quote of every status: 1 a
// draft, 2 issued, 3 issued with a draft beside it, 4 accepted, 5 void, 6 expired, 7 a
// draft whose castors are retired, 8 declined, and 9 issued with a discount that is more
// than its alternative comes to, and an extra that is beyond all sums.
func furnished(t testing.TB) service {
	t.Helper()
	now := new(calendar)
	now.set("2026-10-31")
	s := started(t, api.Config{Today: now.today})
	for _, name := range []string{"Ada Field", "Cass Brook"} {
		s.granted(t, http.StatusCreated, submit(people, `{"name": "`+name+`"}`))
	}
	choice := proposal(`{"id": 1}`, "A choice", agreed("a", "100.00", ""), agreed("b", "130.50", `, "alternative_to": "a"`), agreed("b2", "140.00", `, "alternative_to": "a"`), agreed("c", "40.25", `, "optional": true`))
	less := proposal(`{"id": 2}`, "Less", agreed("a", "100.00", ""), agreed("b", "10.00", `, "alternative_to": "a"`), agreed("c", "999999999.99", `, "quantity": 10000, "optional": true`))
	less = strings.Replace(less, `"request": {`, `"request": {"terms": {"discount_amount": "50.00"}, `, 1)
	for _, q := range []struct{ draft, deeds string }{
		{errand, ""}, {choice, "issue"}, {choice, "issue revise"}, {errand, "issue accept"}, {errand, "void"}, {with(errand, `"valid_days": 0`), "issue"}, {trolley, ""}, {errand, "issue decline"}, {less, "issue"},
	} {
		path, _ := s.drafts(t, q.draft)
		for deed := range strings.FieldsSeq(q.deeds) {
			s.does(t, path, deed, "")
		}
	}
	s.granted(t, http.StatusNoContent, remove("/v1/ironmongery/castor-50?from=2026-10-31", "If-Match: *"))
	now.set(today)
	return s
}

// all returns everything that quotes are asked of: every customer and quote, what
// happened to it, and the changes of the catalogue.
func (s service) all(t testing.TB) map[string]string {
	t.Helper()
	all := make(map[string]string)
	get := func(target string) string {
		all[target] = string(s.granted(t, http.StatusOK, fetch(target)).body)
		return all[target]
	}
	get("/v1/changes")
	get(people + "?limit=200")
	for _, q := range find(t, []byte(get(ledger+"?limit=200")), "/quotes").([]any) {
		path := ledger + "/" + q.(map[string]any)["number"].(string)
		get(path)
		get(path + "/events")
	}
	return all
}
