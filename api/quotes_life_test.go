package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/pricing"
)

// enquiry returns the demo enquiry as the draft of a customer who is kept, by the id.
func enquiry(t testing.TB, customer int) string {
	t.Helper()
	var d map[string]json.RawMessage
	require.NoError(t, json.Unmarshal([]byte(file(t, enquiries+"enquiry.json")), &d))
	d["customer"] = json.RawMessage(fmt.Sprintf(`{"id": %d}`, customer))
	text, err := json.Marshal(d)
	require.NoError(t, err)
	return string(text)
}

// Oak of 27 mm goes up from 2770.00 to 2900.00: 0.0679 m3 come to 196.91, not to 188.08,
// and the prime cost of the chest to 2912.73. With 1149.76 of overhead 4062.49; 5 % of it
// is 203.12; 4265.61 / 0.8 = 5332.01; / (1 - 1.5 %) = 5413.21, up to 5414.00. With the
// design at 384.00 and the delivery at 203.00 6001.00; less 150.00 5851.00; 20 % of it
// 1170.20; 7021.20, of which 40 % are 2808.48 and 75 % 5265.90.
const (
	oakInDecember = "code,price,unit,currency,effective_from\noak-prime-27,2900.00,m3,GBP,2026-11-01\n"
	firstTotals   = `{"net": "6001.00", "discount": "150.00", "taxable": "5851.00",
		"tax": [{"code": "standard", "name": "VAT", "percent": 20, "basis": "5851.00", "amount": "1170.20"}],
		"gross": "7021.20", "deposit": "0.00", "balance": "7021.20", "payments": [
		{"title": "Deposit", "percent": 40, "due": "when you accept", "amount": "2808.48"},
		{"title": "Second payment", "percent": 35, "due": "when the carcase is glued up", "amount": "2457.42"},
		{"title": "Last payment", "percent": 25, "due": "when it stands in its place", "amount": "1755.30"}]}`
)

// They take it in walnut, at 5644.00, and the boxes, at 776.00, with the design at 384.00
// and the delivery at 203.00: 7007.00. Less the 200.00 of the second revision 6807.00;
// 20 % of it is 1361.40; 8168.40, of which 40 % are 3267.36 and 75 % 6126.30. (The sums
// are those of EN 16931, BR-CO-10 to 17.)
const takenTotals = `{"net": "7007.00", "discount": "200.00", "taxable": "6807.00",
	"tax": [{"code": "standard", "name": "VAT", "percent": 20, "basis": "6807.00", "amount": "1361.40"}],
	"gross": "8168.40", "deposit": "0.00", "balance": "8168.40", "payments": [
	{"title": "Deposit", "percent": 40, "due": "when you accept", "amount": "3267.36"},
	{"title": "Second payment", "percent": 35, "due": "when the carcase is glued up", "amount": "2858.94"},
	{"title": "Last payment", "percent": 25, "due": "when it stands in its place", "amount": "2042.10"}]}`

// A life is a quote from the enquiry on, and what was seen of it.
type life struct {
	service
	path  string
	first answer // its first revision, frozen
}

// From the enquiry to the order: edited by two at once, repriced before it is issued,
// revised, and accepted with an alternative and an extra. What was sent first stays.
func TestTheLifeOfAQuote(t *testing.T) {
	l := life{service: started(t, api.Config{})}
	l.begins(t)
	l.isEditedByTwo(t)
	l.isIssuedAtWhatWasSeen(t)
	l.isRevised(t)
	l.isAccepted(t)
	l.isTold(t)
}

// begins keeps the customer, and the draft.
func (l *life) begins(t *testing.T) {
	kept := l.granted(t, http.StatusCreated, submit(people, `{"name": "Tobias and Wren Ashdown", "address": ["Hollow Farm"], "private_note": "pays late"}`))
	assert.Equal(t, people+"/1", kept.header.Get("Location"))
	assert.Equal(t, kept.header.Get("Etag"), tag(t, l.service, people+"/1"))
	made := l.granted(t, http.StatusCreated, submit(ledger, enquiry(t, 1)))
	l.path = made.header.Get("Location")
	assert.Equal(t, ledger+"/2026-0001", l.path)
	assert.Equal(t, string(made.body), string(l.granted(t, http.StatusOK, fetch(l.path)).body))
	assert.Equal(t, made.header.Get("Etag"), tag(t, l.service, l.path))
	q := decode[quoted](t, made)
	assert.Equal(t, []any{"2026-0001", "draft", 1, "A bedroom in oak", int64(1), "Tobias and Wren Ashdown", []string{"Hollow Farm"}},
		[]any{q.Number, q.Status, q.Revision, q.Title, q.Customer.ID, q.Customer.Name, q.Customer.Address})
	assert.Equal(t, "5989.00", find(t, made.body, "/costing/totals/net"))
}

// isEditedByTwo has two people change what both have read: one does, the other is told
// and changes what stands then.
func (l *life) isEditedByTwo(t *testing.T) {
	seen := tag(t, l.service, l.path)
	draft := func(i int) string {
		return strings.Replace(enquiry(t, 1), `"A bedroom in oak"`, fmt.Sprintf(`"A bedroom in oak, by clerk %d"`, i), 1)
	}
	got := l.atOnce(t, 2, func(i int) request { return put(l.path, draft(i), "If-Match: "+seen) })
	require.Equal(t, []int{1, 1}, []int{len(got[200]), len(got[412])})
	won := got[200][0]
	assert.Equal(t, "its ETag is "+won.header.Get("Etag")+" now", got[412][0].Detail)
	assert.Equal(t, string(won.body), string(l.granted(t, http.StatusOK, fetch(l.path)).body))
	last := l.granted(t, http.StatusOK, put(l.path, enquiry(t, 1), "If-Match: "+won.header.Get("Etag")))
	assert.Equal(t, seen, last.header.Get("Etag"), "it says what it said")
}

// isIssuedAtWhatWasSeen has prices change between reading and issuing.
func (l *life) isIssuedAtWhatWasSeen(t *testing.T) {
	seen := tag(t, l.service, l.path)
	list := l.granted(t, http.StatusCreated, sendCSV(oakInDecember)).header.Get("Location")
	assert.Equal(t, seen, tag(t, l.service, l.path), "a list that was only sent changes nothing")
	l.granted(t, http.StatusOK, submit(list+"/apply", ""))
	now := l.granted(t, http.StatusOK, fetch(l.path))
	l.refuses(t, 412, "precondition-failed", "its ETag is "+now.header.Get("Etag")+" now", doing(l.path, "issue", "", seen))
	assert.Equal(t, "draft: draft", l.stands(t, l.path))
	totals, err := json.Marshal(find(t, now.body, "/costing/totals"))
	require.NoError(t, err)
	assert.JSONEq(t, firstTotals, string(totals))
	assert.Equal(t, "5414.00", find(t, now.body, "/costing/pieces/0/price"))

	issued := l.granted(t, http.StatusOK, doing(l.path, "issue", "{}", now.header.Get("Etag")))
	done := decode[standing](t, issued)
	assert.Equal(t, []any{"2026-0001", 1, "issued", "6001.00", "7021.20"}, []any{done.Number, done.Revision, done.Status, done.Net, done.Gross})
	assert.Equal(t, "2026-12-16", done.ValidUntil, "45 days after 1 November, which has 30")
	l.first = l.frozen(t, 1)
	assert.Equal(t, done.SHA256, digest(l.first.body))
	for member, want := range map[string]any{
		"number": "2026-0001", "revision": 1.0, "title": "A bedroom in oak", "issued_on": today, "issued_at": done.IssuedAt, "valid_until": done.ValidUntil,
		"engine": pricing.Engine, "note": "We measure the alcove again before any timber is cut.", "private_note": nil,
	} {
		assert.Equal(t, want, find(t, l.first.body, "/"+member), member)
	}
	assert.Equal(t, find(t, now.body, "/request"), find(t, l.first.body, "/request"))
	assert.Equal(t, find(t, now.body, "/costing"), find(t, l.first.body, "/costing"), "what was seen is what was sent")
	assert.Equal(t, find(t, l.granted(t, http.StatusOK, fetch("/v1/book")).body, ""), find(t, l.first.body, "/book"))
}

// frozen returns a revision, whose ETag is its SHA-256.
func (l *life) frozen(t *testing.T, revision int) answer {
	a := l.granted(t, http.StatusOK, fetch(fmt.Sprint(l.path, "/revisions/", revision)))
	assert.Equal(t, `"`+digest(a.body)+`"`, a.header.Get("Etag"))
	return a
}

// isRevised opens a second revision, changes it and issues it.
func (l *life) isRevised(t *testing.T) {
	l.granted(t, http.StatusOK, put(people+"/1", `{"name": "Wren Ashdown", "private_note": "pays on the day"}`, "If-Match: *"))
	assert.Equal(t, "Tobias and Wren Ashdown", decode[quoted](t, l.granted(t, http.StatusOK, fetch(l.path))).Customer.Name, "the one that it was sent to")
	revised := decode[quoted](t, l.does(t, l.path, "revise", ""))
	assert.Equal(t, []any{"issued", 2, "Wren Ashdown"}, []any{revised.Status, revised.Revision, revised.Customer.Name})
	l.does(t, l.path, "edit", strings.Replace(enquiry(t, 1), `"150.00"`, `"200.00"`, 1))
	assert.Equal(t, "issued: issued draft", l.stands(t, l.path))
	done := decode[standing](t, l.does(t, l.path, "issue", ""))
	assert.Equal(t, []any{2, "issued", "6001.00", "6961.20"}, []any{done.Revision, done.Status, done.Net, done.Gross}, "(6001.00 - 200.00) x 1.2")
	assert.Equal(t, "issued: superseded issued", l.stands(t, l.path))
	assert.Equal(t, "Wren Ashdown", find(t, l.frozen(t, 2).body, "/customer/name"))
}

// isAccepted has prices move once more, which is no matter of what was sent.
func (l *life) isAccepted(t *testing.T) {
	seen := tag(t, l.service, l.path)
	l.granted(t, http.StatusOK, put("/v1/items/walnut-prime-32/prices/2026-11-01", `{"rate": "9000.00", "unit": "m3"}`, "If-Match: *"))
	taken := l.granted(t, http.StatusOK, doing(l.path, "accept", `{"choose": ["chest-walnut", "boxes"]}`, seen))
	done := decode[standing](t, taken)
	require.NotNil(t, done.Accepted)
	assert.Equal(t, []any{2, "accepted", "7007.00", "8168.40"}, []any{done.Revision, done.Status, done.Net, done.Gross})
	assert.Equal(t, []string{"chest-walnut", "boxes"}, done.Accepted.Choose)
	assert.Equal(t, []string{"chest-walnut", "boxes", "design", "delivery"}, done.Accepted.Included)
	assert.JSONEq(t, takenTotals, string(done.Accepted.Totals))
	assert.Equal(t, taken.header.Get("Etag"), tag(t, l.service, l.path))
	assert.Equal(t, "accepted: superseded accepted", l.stands(t, l.path))
	list := l.granted(t, http.StatusOK, fetch(ledger)).body
	assert.Equal(t, []any{"accepted", "7007.00", "8168.40"}, []any{find(t, list, "/quotes/0/status"), find(t, list, "/quotes/0/net"), find(t, list, "/quotes/0/gross")})
}

// isTold has every paper written, and tells it all.
func (l *life) isTold(t *testing.T) {
	for _, revision := range []int{1, 2} {
		for _, paper := range papersOf() {
			a := l.granted(t, http.StatusOK, fetch(fmt.Sprint(l.path, "/revisions/", revision, "/", paper.name)))
			assert.Equal(t, paper.media, a.header.Get("Content-Type"))
		}
	}
	assert.Equal(t, string(l.first.body), string(l.frozen(t, 1).body))
	assert.Equal(t, l.first.header.Get("Etag"), l.frozen(t, 1).header.Get("Etag"))
	all, names := l.happened(t, l.path)
	require.Equal(t, []string{"created 1", "edited 1", "edited 1", "issued 1", "revised 2", "edited 2", "superseded 1", "issued 2", "accepted 2"}, names)
	assert.Equal(t, all[6].Before, all[7].Before)
	assert.Equal(t, all[6].After, all[7].After)
	for i := range all[1:] {
		before, after := all[i], all[i+1]
		assert.Less(t, before.ID, after.ID)
		assert.LessOrEqual(t, before.At, after.At)
		if names[i+1] != "issued 1" && i+1 != 7 { // before the one the prices moved; the other is one with the event before it
			assert.Equal(t, before.After, after.Before, names[i+1])
		}
	}
	assert.Equal(t, tag(t, l.service, l.path), all[8].After)
}
