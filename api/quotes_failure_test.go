package api_test

import (
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// everyOperation returns a request of every operation of quotes and customers, each of which is
// granted by what furnished furnishes.
func everyOperation() []request {
	first, issued := ledger+"/2026-0001", ledger+"/2026-0002"
	all := []request{
		submit(people, `{"name": "Ada"}`), fetch(people), fetch(people + "/1"), put(people+"/1", `{"name": "Ada"}`, "If-Match: *"),
		submit(ledger, errand), keyed(submit(ledger, errand), "k"), fetch(ledger), fetch(ledger + "?text=a"), fetch(first), fetch(first + "/events"), fetch(first + "/events/3"), fetch(issued + "/revisions/1"),
		put(first, errand, "If-Match: *"), submit(first+"/duplicate", ""), keyed(submit(first+"/duplicate", ""), "k"),
	}
	for _, deed := range []string{"accept", "decline", "revise"} {
		all = append(all, doing(issued, deed, "", "*"))
	}
	for _, deed := range []string{"issue", "void"} {
		all = append(all, doing(first, deed, "", "*"), keyed(doing(first, deed, "", "*"), "k"))
	}
	for _, p := range papersOf() {
		all = append(all, fetch(issued+"/revisions/1/"+p.name))
	}
	return all
}

// When the store is closed, every operation says that it has failed and not why.
func TestALedgerThatIsClosed(t *testing.T) {
	s := furnished(t)
	require.NoError(t, s.catalog.Close())
	for _, r := range everyOperation() {
		a := s.ask(t, r)
		failed(t, a)
		assert.NotRegexp(t, inner, string(a.body), r.target)
	}
}

// A body that does not come is the client's fault, and keeps nothing.
func TestADraftThatBreaksOff(t *testing.T) {
	s := furnished(t)
	before := s.all(t)
	for _, r := range everyOperation() {
		if r.method == http.MethodGet {
			continue
		}
		q, err := r.on("http://localhost")
		require.NoError(t, err)
		q.Body, q.ContentLength = io.NopCloser(iotest.ErrReader(errors.New("connection reset by the secret peer"))), -1
		w := httptest.NewRecorder()
		s.handler.ServeHTTP(w, q)
		a := shared.check(t, refused(r), answer{status: w.Code, header: w.Header(), body: w.Body.Bytes()})
		assert.Equal(t, []any{400, "/problems#not-json"}, []any{a.status, a.Type}, r.target)
		assert.NotContains(t, string(a.body), "secret")
	}
	assert.Equal(t, before, s.all(t))
}

// The log has nothing of customers, nor of what was looked for, and no key.
func TestTheLogKeepsNothingOfAQuote(t *testing.T) {
	s, j := logging(t, api.Config{})
	const name = "Unmistakable"
	s.granted(t, http.StatusCreated, submit(people, `{"name": "`+name+`", "private_note": "`+name+`"}`))
	draft := strings.ReplaceAll(file(t, enquiries+"enquiry.json"), "Tobias and Wren Ashdown", name)
	path := s.granted(t, http.StatusCreated, keyed(submit(ledger, draft), name)).header.Get("Location")
	s.ask(t, refused(keyed(submit(ledger, errand), name)))
	s.ask(t, refused(submit(ledger, strings.Replace(draft, "oak-prime", name, 1))))
	s.ask(t, refused(submit(ledger, `{"title": unmistakable}`)))
	s.does(t, path, "issue", "")
	for _, target := range []string{ledger + "?text=" + name, people + "?text=" + name, path + "/revisions/1/quotation.xlsx", path + "/revisions/1/elevation.svg?piece=unmistakable"} {
		s.ask(t, refused(fetch(target)))
	}
	log := j.entries(t, s.granted(t, http.StatusOK, doing(path, "accept", `{"choose": ["boxes"]}`, "*")).header.Get("X-Request-Id"), 1)
	assert.Equal(t, []any{"request", "INFO", "POST", path + "/accept"}, []any{log[0]["msg"], log[0]["level"], log[0]["method"], log[0]["path"]})
	j.mu.Lock()
	defer j.mu.Unlock()
	assert.NotContains(t, strings.ToLower(j.text.String()), "unmistakable")
	assert.NotContains(t, j.text.String(), "Ashdown")
	assert.Equal(t, 12, strings.Count(j.text.String(), `"msg":"request"`))
}
