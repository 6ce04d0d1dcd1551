package api_test

import (
	"fmt"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// keyed returns r with an Idempotency-Key, or several.
func keyed(r request, keys ...string) request {
	r.header = append([]string{}, r.header...)
	for _, key := range keys {
		r.header = append(r.header, "Idempotency-Key: "+key)
	}
	return r
}

// isReplayed checks that an answer is another again, byte for byte.
func isReplayed(t *testing.T, first, again answer) {
	t.Helper()
	assert.Equal(t, first.status, again.status)
	assert.Equal(t, string(first.body), string(again.body))
	for _, name := range []string{"Etag", "Location", "Content-Type", "Cache-Control"} {
		assert.Equal(t, first.header.Values(name), again.header.Values(name), name)
	}
}

// refusesKey checks that a request is refused for what it says of itself, and not of
// its body.
func (s service) refusesKey(t *testing.T, detail string, r request) {
	t.Helper()
	a := s.ask(t, refused(r))
	assert.Equal(t, []any{422, "/problems#not-valid"}, []any{a.status, a.Type})
	assert.JSONEq(t, fmt.Sprintf(`[{"detail": %q}]`, detail), string(a.Errors))
}

// numbers returns the numbers of all quotes, the latest first.
func (s service) numbers(t *testing.T) (all []string) {
	t.Helper()
	for _, q := range find(t, s.granted(t, http.StatusOK, fetch(ledger+"?limit=200")).body, "/quotes").([]any) {
		all = append(all, q.(map[string]any)["number"].(string))
	}
	return all
}

// A quote is made once, however often the request is sent: after it was changed, after
// what it asks for is gone, and after the service was started anew. (The header is that
// of an Internet draft of the IETF, draft-ietf-httpapi-idempotency-key-header, from
// memory; that a used key is 422 with another body too.)
func TestAQuoteIsMadeOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "own.db")
	s, err := openService(path, api.Config{})
	require.NoError(t, err)
	make := keyed(submit(ledger, trolley), "first-try")
	first := s.granted(t, http.StatusCreated, make)
	isReplayed(t, first, s.granted(t, http.StatusCreated, make))
	used := `the Idempotency-Key "first-try" came with another If-Match or body before: send a new key with a new request`
	for _, other := range []string{trolley + " ", errand, `{"customer": {"name": "Ada Field"}}`, strings.Replace(trolley, "A trolley", "a trolley", 1)} {
		s.refusesKey(t, used, keyed(submit(ledger, other), "first-try"))
	}
	assert.Equal(t, []string{"2026-0001"}, s.numbers(t))

	s.does(t, first.header.Get("Location"), "edit", errand)
	s.granted(t, http.StatusOK, put("/v1/items/oak-prime-27/prices/2026-11-01", `{"rate": "9000.00", "unit": "m3"}`, "If-Match: *"))
	isReplayed(t, first, s.granted(t, http.StatusCreated, make))
	s.granted(t, http.StatusNoContent, remove("/v1/ironmongery/castor-50", "If-Match: *"))
	s.granted(t, http.StatusUnprocessableEntity, submit(ledger, trolley))
	isReplayed(t, first, s.granted(t, http.StatusCreated, make))

	s.close()
	again, err := openService(path, api.Config{})
	require.NoError(t, err)
	t.Cleanup(again.close)
	isReplayed(t, first, again.granted(t, http.StatusCreated, make))
	assert.Equal(t, []string{"2026-0001"}, again.numbers(t))
	assert.Equal(t, "An errand", decode[quoted](t, again.granted(t, http.StatusOK, fetch(first.header.Get("Location")))).Title)
}

const badKey = "the header Idempotency-Key is no key: send it once, with 1 to 200 characters of ASCII and no space"

// An issue is done once too, and its answer is the one before, although the quote has
// another ETag since.
func TestAQuoteIsIssuedOnce(t *testing.T) {
	s := started(t, api.Config{})
	path, etag := s.drafts(t, errand)
	issue := keyed(doing(path, "issue", "{}", etag), "Monday/1:~")
	first := s.granted(t, http.StatusOK, issue)
	isReplayed(t, first, s.granted(t, http.StatusOK, issue))
	s.refusesKey(t, `the Idempotency-Key "Monday/1:~" came with another If-Match or body before: send a new key with a new request`, keyed(doing(path, "issue", "{ }", etag), "Monday/1:~"))
	s.refuses(t, 428, "precondition-required", "this needs If-Match with the ETag of what it changes", keyed(submit(path+"/issue", "{}"), "Monday/1:~"))
	s.does(t, path, "accept", "")
	s.does(t, path, "revise", "")
	isReplayed(t, first, s.granted(t, http.StatusOK, issue))
	assert.Equal(t, "accepted: accepted draft", s.stands(t, path))
	_, names := s.happened(t, path)
	assert.Equal(t, []string{"created 1", "issued 1", "accepted 1", "revised 2"}, names)
	s.refuses(t, 412, "precondition-failed", "its ETag is "+tag(t, s, path)+" now", keyed(doing(path, "issue", "{}", etag), "Monday/2"))
	s.refusesKey(t, `the Idempotency-Key "Monday/1:~" came with another If-Match or body before: send a new key with a new request`,
		keyed(doing(path, "issue", "{}", tag(t, s, path)), "Monday/1:~")) // to issue the next revision is another request
}

// A duplicate is made once.
func TestADuplicateIsMadeOnce(t *testing.T) {
	s := started(t, api.Config{})
	path, _ := s.drafts(t, trolley)
	again := keyed(submit(path+"/duplicate", ""), "twin")
	first := s.granted(t, http.StatusCreated, again)
	assert.Equal(t, ledger+"/2026-0002", first.header.Get("Location"))
	s.does(t, path, "edit", errand)
	isReplayed(t, first, s.granted(t, http.StatusCreated, again))
	s.refuses(t, 404, "not-found", `there is no quote "2026-0009"`, keyed(submit(ledger+"/2026-0009/duplicate", ""), "twin"))
	assert.Equal(t, []string{"2026-0002", "2026-0001"}, s.numbers(t))
	s.granted(t, http.StatusCreated, submit(path+"/duplicate", "{}"))
	s.refusesKey(t, badKey, keyed(submit(path+"/duplicate", ""), "two words"))
	assert.Len(t, s.numbers(t), 3)
}

// What failed kept nothing: the same key may come with what is mended.
func TestWhatFailedMayBeTriedAgain(t *testing.T) {
	s := started(t, api.Config{})
	const key = "try"
	for _, bad := range []string{`{"customer": {"name": "Ada Field"}}`, "{", `{"customer": {"id": 7}, "title": "x", "request": {"pieces": []}}`} {
		assert.Contains(t, []int{400, 422}, s.ask(t, refused(keyed(submit(ledger, bad), key))).status)
	}
	first := s.granted(t, http.StatusCreated, keyed(submit(ledger, errand), key))
	path, etag := first.header.Get("Location"), first.header.Get("Etag")
	s.refuses(t, 412, "precondition-failed", "its ETag is "+etag+" now", keyed(doing(path, "issue", "{}", `"stale"`), key))
	s.refuses(t, 404, "not-found", `there is no quote "2026-0009"`, keyed(doing(ledger+"/2026-0009", "issue", "{}", `*`), key))
	s.granted(t, http.StatusOK, keyed(doing(path, "issue", "", etag), key))
	other, _ := s.drafts(t, errand)
	s.does(t, other, "void", "")
	a := s.ask(t, keyed(doing(other, "issue", "{}", "*"), key))
	assert.Equal(t, 409, a.status)
	assert.Equal(t, []string{"2026-0002", "2026-0001"}, s.numbers(t))
}

// A key is one of a path: on another it is another. Without one, every request is of
// its own.
func TestAKeyIsOfItsPath(t *testing.T) {
	s := started(t, api.Config{})
	one := s.granted(t, http.StatusCreated, keyed(submit(ledger, errand), "k"))
	two := s.granted(t, http.StatusCreated, keyed(submit(ledger, errand), "K"))
	assert.NotEqual(t, one.header.Get("Location"), two.header.Get("Location"), "a key is told from another by its case")
	for _, a := range []answer{one, two} {
		done := decode[standing](t, s.granted(t, http.StatusOK, keyed(doing(a.header.Get("Location"), "issue", "", a.header.Get("Etag")), "k")))
		assert.Equal(t, a.header.Get("Location"), ledger+"/"+done.Number)
	}
	s.granted(t, http.StatusCreated, submit(ledger, errand))
	s.granted(t, http.StatusCreated, submit(ledger, errand))
	assert.Equal(t, []string{"2026-0004", "2026-0003", "2026-0002", "2026-0001"}, s.numbers(t))
}

// Of requests that bear one key at the same moment one is done, and all are answered
// alike.
func TestTheSameKeyAtOnce(t *testing.T) {
	const clients = 8
	s := started(t, api.Config{})
	got := s.atOnce(t, clients, func(int) request { return keyed(submit(ledger, errand), "at-once") })
	require.Len(t, got[http.StatusCreated], clients)
	for _, a := range got[http.StatusCreated] {
		isReplayed(t, got[http.StatusCreated][0], a)
	}
	assert.Equal(t, []string{"2026-0001"}, s.numbers(t))
	path, etag := got[201][0].header.Get("Location"), got[201][0].header.Get("Etag")
	got = s.atOnce(t, clients, func(int) request { return keyed(doing(path, "issue", "", etag), "at-once") })
	require.Len(t, got[http.StatusOK], clients)
	for _, a := range got[http.StatusOK] {
		isReplayed(t, got[http.StatusOK][0], a)
	}
	_, names := s.happened(t, path)
	assert.Equal(t, []string{"created 1", "issued 1"}, names)
	got = s.atOnce(t, clients, func(i int) request { return keyed(submit(ledger, errand), fmt.Sprint("own-", i)) })
	assert.Len(t, got[http.StatusCreated], clients)
	assert.Len(t, s.numbers(t), clients+1)
}

// A key is one word of visible ASCII (RFC 9110, section 5.5, of what a field may hold).
func TestKeysThatAreNone(t *testing.T) {
	s := started(t, api.Config{})
	path, etag := s.drafts(t, errand)
	for _, keys := range [][]string{{""}, {"two words"}, {strings.Repeat("k", 201)}, {"naïve"}, {"a\tb"}, {"one", "two"}, {"one", "one"}, {"\xff"}} {
		s.refusesKey(t, badKey, keyed(submit(ledger, errand), keys...))
		s.refusesKey(t, badKey, keyed(doing(path, "issue", "", etag), keys...))
	}
	assert.Equal(t, []string{"2026-0001"}, s.numbers(t))
	assert.Equal(t, "draft: draft", s.stands(t, path))
	for _, key := range []string{"k", "!~\"'%,;", strings.Repeat("k", 200)} {
		s.granted(t, http.StatusCreated, keyed(submit(ledger, errand), key))
	}
	assert.Len(t, s.numbers(t), 4)
}
