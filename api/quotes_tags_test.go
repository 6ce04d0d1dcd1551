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
)

// A changed is something to be changed, made so that the request may be granted.
type changed struct {
	name, path string
	request    request // without If-Match
}

// changeable returns one of every change of a quote or customer that needs If-Match.
func (s service) changeable(t *testing.T) []changed {
	t.Helper()
	issued := func() string {
		path, _ := s.drafts(t, errand)
		s.does(t, path, "issue", "")
		return path
	}
	draft := func() string {
		path, _ := s.drafts(t, errand)
		return path
	}
	kept := s.granted(t, http.StatusCreated, submit(people, `{"name": "Ada Field"}`)).header.Get("Location")
	all := []changed{{"put a customer", kept, put(kept, `{"name": "Ada Meadow"}`)}}
	for _, deed := range []string{"edit", "issue", "void"} {
		all = append(all, changed{name: deed, path: draft()})
	}
	for _, deed := range []string{"accept", "decline", "revise"} {
		all = append(all, changed{name: deed, path: issued()})
	}
	for i := range all[1:] {
		c := &all[i+1]
		c.request = submit(c.path+"/"+c.name, "{}")
		if c.name == "edit" {
			c.request = put(c.path, with(errand, `"valid_days": 3`))
		}
	}
	return all
}

// matching returns r with lines of If-Match.
func matching(r request, tags ...string) request {
	r.header = append([]string{}, r.header...)
	for _, tag := range tags {
		r.header = append(r.header, "If-Match: "+tag)
	}
	return r
}

// A change says by If-Match what it changes, compared strongly (RFC 9110, section
// 13.1.1; 428 is RFC 6585, section 3); what is refused leaves it as it was.
func TestAChangeSaysWhatItChanges(t *testing.T) {
	s := started(t, api.Config{})
	for _, c := range s.changeable(t) {
		t.Run(c.name, func(t *testing.T) {
			was := s.granted(t, http.StatusOK, fetch(c.path))
			now := was.header.Get("Etag")
			s.refuses(t, 428, "precondition-required", "this needs If-Match with the ETag of what it changes", c.request)
			none := matching(c.request)
			none.header = append(none.header, "If-None-Match: *")
			s.refuses(t, 428, "precondition-required", "this needs If-Match with the ETag of what it changes", none)
			s.refuses(t, 428, "precondition-required", "If-Match and If-None-Match exclude each other: send one", matching(none, now))
			for _, wrong := range []string{`"other"`, "W/" + now, strings.Trim(now, `"`), `"a", "b"`, "", "**", strings.ToUpper(now), `"a", W/` + now} {
				s.refuses(t, 412, "precondition-failed", "its ETag is "+now+" now", matching(c.request, wrong))
			}
			s.refuses(t, 412, "precondition-failed", "its ETag is "+now+" now", matching(c.request, `"a"`, `"b"`))
			same := s.granted(t, http.StatusOK, fetch(c.path))
			assert.Equal(t, []string{string(was.body), now}, []string{string(same.body), same.header.Get("Etag")})

			done := s.granted(t, http.StatusOK, matching(c.request, `"a", W/"b"`, ` "c" ,`+now))
			assert.Equal(t, done.header.Get("Etag"), tag(t, s, c.path), "the answer's is that of the next GET")
			assert.NotEqual(t, now, done.header.Get("Etag"))
			assert.Equal(t, http.StatusNotModified, s.ask(t, fetch(c.path, "If-None-Match: "+done.header.Get("Etag"))).status)
			assert.Equal(t, http.StatusOK, s.ask(t, fetch(c.path, "If-None-Match: "+now)).status)
		})
	}
	for _, c := range s.changeable(t) {
		s.granted(t, http.StatusOK, matching(c.request, "*"))
	}
}

// What there is not has no ETag: 404 comes first, whatever is matched.
func TestWhatIsNotThereMatchesNothing(t *testing.T) {
	for _, match := range []string{"*", `"a"`} {
		for _, deed := range []string{"issue", "accept", "decline", "void", "revise"} {
			shared.refuses(t, 404, "not-found", `there is no quote "2026-9999"`, matching(submit(ledger+"/2026-9999/"+deed, ""), match))
		}
		shared.refuses(t, 404, "not-found", `there is no quote "2026-9999"`, matching(put(ledger+"/2026-9999", errand), match))
		shared.refuses(t, 404, "not-found", "there is no customer 9999", matching(put(people+"/9999", `{"name": "Ada"}`), match))
	}
	shared.refuses(t, 404, "not-found", `there is no quote "2026-9999"`, submit(ledger+"/2026-9999/duplicate", ""))
}

// A draft has another ETag when its price, the terms or its customer change, and the
// one before when they are as they were; an issued revision stays as it is. A change
// anywhere in the book is told by the version of the book in the costing.
func TestWhatMovesTheTagOfAQuote(t *testing.T) {
	now := new(calendar)
	now.set(today)
	s := started(t, api.Config{Today: now.today})
	kept := s.granted(t, http.StatusCreated, submit(people, `{"name": "Ada Field"}`)).header.Get("Location")

	paths := make(map[string]string)
	for name, customer := range map[string]string{"draft": `{"id": 1}`, "issued": `{"id": 1}`, "other": `{"name": "Cass Brook"}`} {
		request := unaddressed(t, file(t, pieces+"drawer-boxes.json"))
		paths[name], _ = s.drafts(t, fmt.Sprintf(`{"customer": %s, "title": "Boxes", "request": %s}`, customer, request))
	}
	s.does(t, paths["issued"], "issue", "")
	moves := func(what string, moved []string, do func()) {
		before := make(map[string]string)
		for name, path := range paths {
			before[name] = tag(t, s, path)
		}
		do()
		for name, path := range paths {
			is := tag(t, s, path)
			has := false
			for _, m := range moved {
				has = has || m == name
			}
			assert.Equal(t, has, is != before[name], "%s: %s", what, name)
			assert.Equal(t, is, tag(t, s, path), "%s: %s", what, name)
		}
	}
	drafts, none := []string{"draft", "other"}, []string(nil)
	putTerms := func() {
		terms := strings.Replace(string(s.granted(t, 200, fetch("/v1/terms")).body), `"deposit_percent":50`, `"deposit_percent":40`, 1)
		s.granted(t, 200, put("/v1/terms", terms, "If-Match: *"))
	}
	customer := func(body string) func() {
		return func() { s.granted(t, 200, put(kept, body, "If-Match: *")) }
	}
	moves("nothing", none, func() {})
	moves("a quote like them", none, func() { s.drafts(t, errand) })
	moves("a list that is not applied", none, func() { s.granted(t, 201, sendCSV(oakInDecember)) })
	moves("a price", drafts, func() {
		s.granted(t, 200, put("/v1/items/tulipwood-select-20/prices/2026-11-01", `{"rate": "1400.00", "unit": "m3"}`, "If-Match: *"))
	})
	moves("the terms", drafts, putTerms)
	moves("the customer", []string{"draft"}, customer(`{"name": "Ada Field", "address": ["1 Lane"]}`))
	moves("the customer, back", []string{"draft"}, customer(`{"name": "Ada Field"}`))
	moves("what is private of the customer", none, customer(`{"name": "Ada Field", "private_note": "away in May"}`))
	moves("another customer", none, func() { s.granted(t, 201, submit(people, `{"name": "Ada Field"}`)) })
	moves("the day, for a draft has the prices of its day", drafts, func() { now.set("2026-11-02") })
	moves("the day before, again", drafts, func() { now.set(today) })
	moves("the time that passes", []string{"draft", "other", "issued"}, func() { now.set("2026-12-25") })
}

// unaddressed returns a demo request without its customer.
func unaddressed(t testing.TB, request string) string {
	t.Helper()
	r := map[string]json.RawMessage{}
	require.NoError(t, json.Unmarshal([]byte(request), &r))
	delete(r, "customer")
	text, err := json.Marshal(r)
	require.NoError(t, err)
	return string(text)
}

// A quote answers 304 to whoever has it, by any of the tags that he has (RFC 9110,
// section 13.1.2, compares these weakly), and so do the list, the events, the
// document and its papers.
func TestWhoHasItIsToldSo(t *testing.T) {
	s := started(t, api.Config{})
	path, _ := s.drafts(t, file(t, enquiries+"enquiry.json"))
	s.does(t, path, "issue", "")
	targets := []string{path, ledger, path + "/events", path + "/events/1", path + "/revisions/1", people, people + "/1"}
	for _, p := range papersOf() {
		targets = append(targets, path+"/revisions/1/"+p.name)
	}
	s.granted(t, http.StatusCreated, submit(people, `{"name": "Ada Field"}`))
	for _, target := range targets {
		etag := tag(t, s, target)
		for _, given := range []string{etag, "W/" + etag, "*", `"a", ` + etag} {
			a := s.ask(t, fetch(target, "If-None-Match: "+given))
			require.Equal(t, http.StatusNotModified, a.status, "%s %s", target, given)
			assert.Equal(t, []string{etag, "no-cache"}, []string{a.header.Get("Etag"), a.header.Get("Cache-Control")}, target)
		}
		assert.Equal(t, http.StatusOK, s.ask(t, fetch(target, `If-None-Match: "a"`)).status, target)
	}
}
