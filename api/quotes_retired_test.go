package api_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// noCastor is what is wrong with a draft of the trolley once castors are retired.
const noCastor = `[{"pointer": "#/request/pieces/0/ironmongery/0/code", "detail": "\"castor-50\" is no ironmongery of the book: check its spelling, or name another"}]`

// faultsOf returns the faults that a quote is answered with.
func faultsOf(t *testing.T, a answer) string {
	t.Helper()
	text, err := json.Marshal(find(t, a.body, "/errors"))
	require.NoError(t, err)
	return string(text)
}

// isUnpriced checks a quote whose draft cannot be priced as things stand: it says why,
// has no costing, and cannot be issued.
func (s service) isUnpriced(t *testing.T, path string) {
	t.Helper()
	a := s.granted(t, http.StatusOK, fetch(path))
	assert.JSONEq(t, noCastor, faultsOf(t, a))
	assert.Nil(t, find(t, a.body, "/costing"))
	assert.NotNil(t, find(t, a.body, "/request"))
	r := s.ask(t, doing(path, "issue", "", a.header.Get("Etag")))
	assert.Equal(t, 422, r.status)
	assert.JSONEq(t, noCastor, string(r.Errors))
	again := s.granted(t, http.StatusOK, fetch(path))
	assert.Equal(t, []string{string(a.body), a.header.Get("Etag")}, []string{string(again.body), again.header.Get("Etag")})
}

// A draft one of whose items is retired says so; it is mended by a change of the draft,
// or of the book, or by naming a day on which the item was there.
func TestADraftWhoseItemIsRetired(t *testing.T) {
	s := started(t, api.Config{})
	draft, seen := s.drafts(t, trolley)
	sent, _ := s.drafts(t, trolley)
	pinned, _ := s.drafts(t, strings.Replace(trolley, `"request": {`, `"request": {"as_of": "2026-10-31", `, 1))
	s.does(t, sent, "issue", "")
	document := s.granted(t, http.StatusOK, fetch(sent+"/revisions/1"))
	s.granted(t, http.StatusNoContent, remove("/v1/ironmongery/castor-50?from="+today, "If-Match: *"))

	s.isUnpriced(t, draft)
	assert.NotEqual(t, seen, tag(t, s, draft))
	assert.JSONEq(t, noCastor, string(s.granted(t, 422, submit(ledger, trolley)).Errors))
	assert.JSONEq(t, noCastor, string(s.granted(t, 422, put(draft, trolley, "If-Match: *")).Errors), "nor can it be what a draft is to say")
	for _, list := range []string{"", "?status=draft"} {
		assert.Contains(t, string(s.granted(t, http.StatusOK, fetch(ledger+list)).body), strings.TrimPrefix(draft, ledger+"/"), "it is listed")
	}
	s.granted(t, http.StatusOK, put(draft, strings.Replace(trolley, "castor-50", "foot-level", 1), "If-Match: "+tag(t, s, draft)))
	mended := s.granted(t, http.StatusOK, fetch(draft))
	assert.Equal(t, []any{nil, "Trolley"}, []any{find(t, mended.body, "/errors"), find(t, mended.body, "/costing/pieces/0/title")})
	s.does(t, draft, "issue", "")

	again := s.granted(t, http.StatusOK, fetch(sent+"/revisions/1"))
	assert.Equal(t, string(document.body), string(again.body), "what was sent has its own book")
	assert.Nil(t, find(t, s.granted(t, http.StatusOK, fetch(sent)).body, "/errors"))
	s.written(t, sent, "quotation.xlsx")
	twin := s.granted(t, http.StatusCreated, submit(sent+"/duplicate", ""))
	assert.JSONEq(t, noCastor, faultsOf(t, twin), "it is made, and says what to mend")
	s.isUnpriced(t, twin.header.Get("Location"))
	revised := s.does(t, sent, "revise", "")
	assert.JSONEq(t, noCastor, faultsOf(t, revised))
	s.isUnpriced(t, sent)
	s.does(t, sent, "void", "")
	assert.Nil(t, find(t, s.granted(t, http.StatusOK, fetch(sent)).body, "/errors"))

	s.does(t, pinned, "issue", "")
	assert.Equal(t, "2026-10-31", find(t, s.granted(t, http.StatusOK, fetch(pinned+"/revisions/1")).body, "/book/as_of"), "the day before")
	assert.JSONEq(t, noCastor, faultsOf(t, s.does(t, pinned, "revise", "")), "a new draft has the prices of today")
	unpinned := s.granted(t, http.StatusCreated, submit(pinned+"/duplicate", ""))
	assert.JSONEq(t, noCastor, faultsOf(t, unpinned), "a duplicate has the prices of today")
	s.granted(t, http.StatusCreated, put("/v1/ironmongery/castor-50", `{"code": "castor-50", "description": "Castor", "mass": 0.2}`, "If-None-Match: *"))
	s.does(t, unpinned.header.Get("Location"), "issue", "")
}

// An item without a price is told in the same place.
func TestADraftWhoseItemHasNoPrice(t *testing.T) {
	s := started(t, api.Config{})
	path, _ := s.drafts(t, trolley)
	s.granted(t, http.StatusOK, remove("/v1/items/castor-50/prices/2026-01-05", "If-Match: *"))
	a := s.granted(t, http.StatusOK, fetch(path))
	assert.JSONEq(t, `[{"pointer": "#/request/pieces/0/ironmongery/0/code", "detail": "castor-50 has no price on 2026-11-01: give it one from that date or before"}]`, faultsOf(t, a))
	s.granted(t, http.StatusOK, put("/v1/items/castor-50/prices/2026-11-01", `{"rate": "5.00", "unit": "each"}`, "If-Match: *"))
	s.does(t, path, "issue", "")
}

// A void quote stays void, and says nothing of what it would cost, whatever is retired.
func TestAVoidQuoteHasNoPrice(t *testing.T) {
	s := started(t, api.Config{})
	path, _ := s.drafts(t, trolley)
	s.does(t, path, "void", "")
	before := s.granted(t, http.StatusOK, fetch(path))
	s.granted(t, http.StatusNoContent, remove("/v1/ironmongery/castor-50", "If-Match: *"))
	after := s.granted(t, http.StatusOK, fetch(path))
	assert.Equal(t, []string{string(before.body), before.header.Get("Etag")}, []string{string(after.body), after.header.Get("Etag")})
	assert.Equal(t, []any{nil, nil, "Trolley"}, []any{find(t, after.body, "/errors"), find(t, after.body, "/costing"), find(t, after.body, "/request/pieces/0/title")})
}
