package api_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// A state is how a quote can stand, what was done to it by then, and what each deed
// makes of it: how it stands after, or the sentence that refuses it, in which # is the
// number. A duplicate is made of every one and leaves it as it is.
type state struct {
	stands                                     string
	deeds                                      string // "late": its time passes
	edit, issue, accept, decline, void, revise string
}

// Words of refusals.
const (
	isDraft   = "revision %d of # is a draft already: change it, or make it void first"
	notIssued = "revision 1 of # is draft and cannot be %s: issue it first"

	reviseFirst = "revise it first"
	issueAgain  = "revise it, and issue it again"
	isFinal     = "that is final; revise it for what is new, or duplicate it"
	duplicateIt = "duplicate it"
	onlyADraft  = "only a draft can be: decline what was issued, or revise it and issue it again"
)

// no returns the sentence that a revision that is something cannot become what it is
// to.
func no(revision int, is, what, remedy string) string {
	return fmt.Sprintf("revision %d of # is %s and cannot be %s: %s", revision, is, what, remedy)
}

// undecided returns every state in which nobody has said yes or no to what was issued
// last. (The states are ours: what was sent stays, and what was accepted is an order.
// Common practice, no source.)
func undecided() []state {
	return []state{
		{
			stands: "draft: draft",
			edit:   "draft: draft", issue: "issued: issued", void: "void: void",
			accept: fmt.Sprintf(notIssued, "accepted"), decline: fmt.Sprintf(notIssued, "declined"), revise: fmt.Sprintf(isDraft, 1),
		},
		{
			stands: "void: void", deeds: "void",
			edit: no(1, "void", "edited", duplicateIt), issue: no(1, "void", "issued", duplicateIt), void: no(1, "void", "made void", duplicateIt),
			accept: no(1, "void", "accepted", duplicateIt), decline: no(1, "void", "declined", duplicateIt), revise: no(1, "void", "revised", duplicateIt),
		},
		{
			stands: "issued: issued", deeds: "issue",
			edit: no(1, "issued", "edited", reviseFirst), issue: no(1, "issued", "issued", reviseFirst), void: no(1, "issued", "made void", onlyADraft),
			accept: "accepted: accepted", decline: "declined: declined", revise: "issued: issued draft",
		},
		{
			stands: "issued: issued draft", deeds: "issue revise",
			edit: "issued: issued draft", issue: "issued: superseded issued", void: "issued: issued void",
			accept: "accepted: accepted draft", decline: "declined: declined draft", revise: fmt.Sprintf(isDraft, 2),
		},
		{
			stands: "issued: issued void", deeds: "issue revise void",
			edit: no(1, "issued", "edited", reviseFirst), issue: no(1, "issued", "issued", reviseFirst), void: no(1, "issued", "made void", onlyADraft),
			accept: "accepted: accepted void", decline: "declined: declined void", revise: "issued: issued void draft",
		},
		{
			stands: "expired: expired", deeds: "issue late",
			edit: no(1, "expired", "edited", issueAgain), issue: no(1, "expired", "issued", issueAgain), void: no(1, "expired", "made void", onlyADraft),
			accept: no(1, "expired", "accepted", issueAgain), decline: "declined: declined", revise: "expired: expired draft",
		},
		{
			stands: "expired: expired draft", deeds: "issue late revise",
			edit: "expired: expired draft", issue: "issued: superseded issued", void: "expired: expired void",
			accept: no(1, "expired", "accepted", issueAgain), decline: "declined: declined draft", revise: fmt.Sprintf(isDraft, 2),
		},
		{
			stands: "issued: accepted issued", deeds: "issue accept revise issue",
			edit: no(2, "issued", "edited", reviseFirst), issue: no(2, "issued", "issued", reviseFirst), void: no(2, "issued", "made void", onlyADraft),
			accept: "accepted: accepted accepted", decline: "declined: accepted declined", revise: "issued: accepted issued draft",
		},
		{
			stands: "issued: superseded issued", deeds: "issue revise issue",
			edit: no(2, "issued", "edited", reviseFirst), issue: no(2, "issued", "issued", reviseFirst), void: no(2, "issued", "made void", onlyADraft),
			accept: "accepted: superseded accepted", decline: "declined: superseded declined", revise: "issued: superseded issued draft",
		},
	}
}

// decided returns every state in which somebody has.
func decided() []state {
	return []state{
		{
			stands: "accepted: accepted", deeds: "issue accept",
			edit: no(1, "accepted", "edited", reviseFirst), issue: no(1, "accepted", "issued", reviseFirst), void: no(1, "accepted", "made void", isFinal),
			accept: no(1, "accepted", "accepted", isFinal), decline: no(1, "accepted", "declined", isFinal), revise: "accepted: accepted draft",
		},
		{
			stands: "accepted: accepted draft", deeds: "issue accept revise",
			edit: "accepted: accepted draft", issue: "issued: accepted issued", void: "accepted: accepted void",
			accept: no(1, "accepted", "accepted", isFinal), decline: no(1, "accepted", "declined", isFinal), revise: fmt.Sprintf(isDraft, 2),
		},
		{
			stands: "declined: declined", deeds: "issue decline",
			edit: no(1, "declined", "edited", reviseFirst), issue: no(1, "declined", "issued", reviseFirst), void: no(1, "declined", "made void", onlyADraft),
			accept: no(1, "declined", "accepted", reviseFirst), decline: no(1, "declined", "declined", reviseFirst), revise: "declined: declined draft",
		},
		{
			stands: "declined: declined draft", deeds: "issue decline revise",
			edit: "declined: declined draft", issue: "issued: superseded issued", void: "declined: declined void",
			accept: no(1, "declined", "accepted", reviseFirst), decline: no(1, "declined", "declined", reviseFirst), revise: fmt.Sprintf(isDraft, 2),
		},
		{
			stands: "accepted: superseded accepted", deeds: "issue revise issue accept",
			edit: no(2, "accepted", "edited", reviseFirst), issue: no(2, "accepted", "issued", reviseFirst), void: no(2, "accepted", "made void", isFinal),
			accept: no(2, "accepted", "accepted", isFinal), decline: no(2, "accepted", "declined", isFinal), revise: "accepted: superseded accepted draft",
		},
	}
}

// Whatever is done to a quote, however it stands, comes to what the table says; what
// is refused changes nothing.
func TestEveryDeedInEveryState(t *testing.T) {
	now := new(calendar)
	s := started(t, api.Config{Today: now.today})
	for _, st := range slices.Concat(undecided(), decided()) {
		t.Run(st.stands, func(t *testing.T) {
			for deed, after := range map[string]string{"edit": st.edit, "issue": st.issue, "accept": st.accept, "decline": st.decline, "void": st.void, "revise": st.revise, "duplicate": "draft: draft"} {
				now.set(today)
				path, _ := s.drafts(t, with(errand, `"valid_days": 0`))
				for _, d := range strings.Fields(st.deeds) {
					if d == "late" {
						now.set("2026-11-02")
						continue
					}
					s.does(t, path, d, "")
				}
				require.Equal(t, st.stands, s.stands(t, path))
				s.isDone(t, path, deed, after)
			}
		})
	}
}

// isDone does a deed and checks what becomes of it.
func (s service) isDone(t *testing.T, path, deed, after string) {
	t.Helper()
	before := s.granted(t, http.StatusOK, fetch(path))
	events, _ := s.happened(t, path)
	body := ""
	if deed == "edit" {
		body = with(errand, `"valid_days": 3`)
	}
	r := doing(path, deed, body, before.header.Get("Etag"))
	if strings.HasPrefix(after, "revision ") {
		s.refuses(t, http.StatusConflict, "conflict", strings.ReplaceAll(after, "#", strings.TrimPrefix(path, ledger+"/")), r)
		s.isAsBefore(t, path, before, events)
		return
	}
	if deed == "duplicate" {
		made := s.granted(t, http.StatusCreated, r)
		assert.Equal(t, after, s.stands(t, made.header.Get("Location")))
		assert.Equal(t, string(made.body), string(s.granted(t, http.StatusOK, fetch(made.header.Get("Location"))).body))
		s.isAsBefore(t, path, before, events)
		return
	}
	done := s.granted(t, http.StatusOK, r)
	now := s.granted(t, http.StatusOK, fetch(path))
	assert.Equal(t, after, s.stands(t, path), deed)
	assert.Equal(t, done.header.Get("Etag"), now.header.Get("Etag"), deed)
	assert.NotEqual(t, before.header.Get("Etag"), now.header.Get("Etag"), deed)
	if deed == "edit" || deed == "revise" {
		assert.Equal(t, string(now.body), string(done.body), deed)
	} else {
		s.isBrief(t, done, now)
	}
	more, _ := s.happened(t, path)
	require.Greater(t, len(more), len(events))
	assert.Equal(t, events, more[:len(events)])
	for _, e := range more[len(events):] {
		assert.Equal(t, []string{before.header.Get("Etag"), now.header.Get("Etag")}, []string{e.Before, e.After}, "%s: %s", deed, e.Event)
	}
}

// isAsBefore checks that a quote is what it was.
func (s service) isAsBefore(t *testing.T, path string, before answer, events []event) {
	t.Helper()
	now := s.granted(t, http.StatusOK, fetch(path))
	assert.Equal(t, []string{before.header.Get("Etag"), string(before.body)}, []string{now.header.Get("Etag"), string(now.body)})
	same, _ := s.happened(t, path)
	assert.Equal(t, events, same)
}

// isBrief checks that an answer to a deed is how the quote has the revision.
func (s service) isBrief(t *testing.T, done, now answer) {
	t.Helper()
	q, said := decode[quoted](t, now), decode[standing](t, done)
	assert.Equal(t, q.Number, said.Number)
	said.Number = ""
	assert.Equal(t, q.Revisions[said.Revision-1], said)
	assert.Contains(t, string(now.body), strings.TrimPrefix(strings.TrimSpace(string(done.body)), `{"number":"`+q.Number+`",`), "with the same members")
}

// A quote can be accepted on the last day on which it is valid, and not on the next;
// that is also how it is listed.
func TestTheLastDay(t *testing.T) {
	now := new(calendar)
	now.set("2028-02-28") // of a leap year
	s := started(t, api.Config{Today: now.today})
	path, _ := s.drafts(t, with(errand, `"valid_days": 2`))
	done := decode[standing](t, s.does(t, path, "issue", ""))
	assert.Equal(t, "2028-03-01", done.ValidUntil)
	number := strings.TrimPrefix(path, ledger+"/")
	assert.Equal(t, "2028-0001", number)
	for _, c := range []struct{ day, stands, listed string }{
		{"2028-02-29", "issued: issued", "issued"}, {"2028-03-01", "issued: issued", "issued"}, {"2028-03-02", "expired: expired", "expired"}, {"2031-01-01", "expired: expired", "expired"},
	} {
		now.set(c.day)
		assert.Equal(t, c.stands, s.stands(t, path), c.day)
		list := s.granted(t, http.StatusOK, fetch(ledger+"?status="+c.listed)).body
		assert.Equal(t, number, find(t, list, "/quotes/0/number"), c.day)
		assert.Equal(t, c.listed, find(t, list, "/totals/0/status"), c.day)
	}
	other, _ := s.drafts(t, errand)
	assert.Equal(t, ledger+"/2031-0001", other, "numbers begin anew with the year")
	now.set("2028-03-01")
	s.does(t, path, "accept", "")
	now.set("2031-01-01")
	assert.Equal(t, "accepted: accepted", s.stands(t, path), "what was accepted does not expire")
}

// The days are those of the quote, or else of the terms, the request's before the
// book's.
func TestHowLongAQuoteIsValid(t *testing.T) {
	s := started(t, api.Config{})
	for members, until := range map[string]string{
		"":                     "2026-12-01", // 30 days, the starter's
		`"valid_days": 0`:      "2026-11-01",
		`"valid_days": 1`:      "2026-11-02",
		`"valid_days": null`:   "2026-12-01",
		`"valid_days": 61`:     "2027-01-01", // 30 + 31
		`"valid_days": 3650`:   "2036-10-29", // ten years of 365 days; 2028, 2032 and 2036 have a day more
		`"note": "in a hurry"`: "2026-12-01",
	} {
		draft := errand
		if members != "" {
			draft = with(errand, members)
		}
		path, _ := s.drafts(t, draft)
		assert.Equal(t, until, decode[standing](t, s.does(t, path, "issue", "")).ValidUntil, members)
	}
	path, _ := s.drafts(t, strings.Replace(errand, `"request": {`, `"request": {"terms": {"valid_days": 10}, `, 1))
	assert.Equal(t, "2026-11-11", decode[standing](t, s.does(t, path, "issue", "")).ValidUntil)
}
