package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// What happened to a quote is told in its order, each with the revision and the ETags,
// and by itself with what it left.
func TestWhatHappenedToAQuote(t *testing.T) {
	s := started(t, api.Config{})
	extra := proposal(`{"name": "Ada Field"}`, "A piece", agreed("a", "100.00", ""), agreed("b", "20.00", `, "optional": true`))
	path, first := s.drafts(t, with(extra, `"private_note": "in confidence"`))
	other, _ := s.drafts(t, errand)
	edited := s.does(t, path, "edit", extra).header.Get("Etag")
	s.granted(t, http.StatusOK, put(path, extra, "If-Match: "+edited)) // which changes nothing
	issued := s.does(t, path, "issue", "").header.Get("Etag")
	accepted := s.does(t, path, "accept", `{"choose": ["b"]}`).header.Get("Etag")
	all, names := s.happened(t, path)
	require.Equal(t, []string{"created 1", "edited 1", "issued 1", "accepted 1"}, names)
	for i, tags := range [][2]string{{"", first}, {first, edited}, {edited, issued}, {issued, accepted}} {
		assert.Equal(t, tags, [2]string{all[i].Before, all[i].After}, names[i])
		assert.Nil(t, all[i].Doc, "the list is short")
	}
	docs := make([]string, len(all))
	for i, e := range all {
		one := decode[event](t, s.granted(t, http.StatusOK, fetch(fmt.Sprint(path, "/events/", e.ID))))
		docs[i] = string(one.Doc)
		one.Doc = nil
		assert.Equal(t, e, one)
		s.refuses(t, 404, "not-found", fmt.Sprintf(`there is no event %d of a quote "2026-0002"`, e.ID), fetch(fmt.Sprint(other, "/events/", e.ID)))
	}
	assert.JSONEq(t, with(extra, `"private_note": "in confidence"`), docs[0])
	assert.JSONEq(t, extra, docs[1])
	assert.Empty(t, docs[2])
	assert.Equal(t, "120.00", find(t, []byte(docs[3]), "/totals/net"))
	for _, id := range []string{"0", "01", "last", "%FF", "9223372036854775808", "-1"} {
		assert.Equal(t, 404, s.ask(t, refused(fetch(path+"/events/"+id))).status, id)
	}
}

// What was read may be sent back: a customer who is kept may stand written out beside
// the id, as kept. It changes nothing, and nothing happened.
func TestWhatWasReadMayBeSentBack(t *testing.T) {
	s := started(t, api.Config{})
	s.granted(t, http.StatusCreated, submit(people, `{"name": "Ada Field", "address": ["1 Lane"], "phone": "01632 960999"}`))
	path, _ := s.drafts(t, with(strings.Replace(errand, `{"name": "Ada Field"}`, `{"id": 1}`, 1), `"valid_days": 9, "note": "n", "private_note": "p"`))
	read := s.granted(t, http.StatusOK, fetch(path))
	back := make(map[string]any)
	for _, name := range []string{"customer", "title", "request", "valid_days", "note", "private_note"} {
		back[name] = find(t, read.body, "/"+name)
	}
	assert.Equal(t, map[string]any{"id": 1.0, "name": "Ada Field", "address": []any{"1 Lane"}}, back["customer"])
	same := s.granted(t, http.StatusOK, put(path, strings.TrimSpace(line(t, back)), "If-Match: "+read.header.Get("Etag")))
	assert.Equal(t, []string{string(read.body), read.header.Get("Etag")}, []string{string(same.body), same.header.Get("Etag")})
	_, names := s.happened(t, path)
	assert.Equal(t, []string{"created 1"}, names)
	s.granted(t, http.StatusOK, put(people+"/1", `{"name": "Ada Meadow"}`, "If-Match: *"))
	a := s.ask(t, put(path, strings.TrimSpace(line(t, back)), "If-Match: *"))
	assert.Equal(t, 422, a.status)
	assert.JSONEq(t, `[{"pointer": "#/customer", "detail": "the customer is written out, and not as customer 1 is kept: write the id alone, or leave it out"}]`, string(a.Errors))
}

// The next revision has the prices of its own day, whatever day the last was pinned to.
func TestANewDraftHasThePricesOfToday(t *testing.T) {
	s := started(t, api.Config{})
	path, _ := s.drafts(t, strings.Replace(errand, `"request": {`, `"request": {"as_of": "2026-02-01", `, 1))
	s.does(t, path, "issue", "")
	for _, a := range []answer{s.granted(t, http.StatusCreated, submit(path+"/duplicate", "")), s.does(t, path, "revise", "")} {
		assert.Equal(t, []any{nil, today}, []any{find(t, a.body, "/request/as_of"), find(t, a.body, "/costing/as_of")})
	}
	assert.Equal(t, "2026-02-01", find(t, s.granted(t, http.StatusOK, fetch(path+"/revisions/1")).body, "/costing/as_of"))
}
