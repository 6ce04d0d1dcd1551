package quotes_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
)

// A state of a quote is how its revisions stand, the first first; its row says by
// which deeds it is reached, and how they stand after each deed: "-" where it is
// refused. What may happen to what is common practice, no source: what was sent is
// superseded by what is sent after it, unless the customer took it; what has lapsed
// is taken no more, but may be turned down.
type state struct {
	revisions, by                               string
	edit, issue, accept, decline, revise, erase string
}

func states() []state {
	return []state{
		{"draft", "", "draft", "issued", "-", "-", "-", "void"},
		{"void", "void", "-", "-", "-", "-", "-", "-"},
		{"issued", "issue", "-", "-", "accepted", "declined", "issued draft", "-"},
		{"expired", "issue pass", "-", "-", "-", "declined", "expired draft", "-"},
		{"accepted", "issue accept", "-", "-", "-", "-", "accepted draft", "-"},
		{"accepted", "issue accept pass", "-", "-", "-", "-", "accepted draft", "-"},
		{"declined", "issue decline", "-", "-", "-", "-", "declined draft", "-"},
		{"declined", "issue pass decline", "-", "-", "-", "-", "declined draft", "-"},

		{"issued draft", "issue revise", "issued draft", "superseded issued", "accepted draft", "declined draft", "-", "issued void"},
		{"expired draft", "issue revise pass", "expired draft", "superseded issued", "-", "declined draft", "-", "expired void"},
		{"accepted draft", "issue revise accept", "accepted draft", "accepted issued", "-", "-", "-", "accepted void"},
		{"declined draft", "issue revise decline", "declined draft", "superseded issued", "-", "-", "-", "declined void"},

		{"issued void", "issue revise void", "-", "-", "accepted void", "declined void", "issued void draft", "-"},
		{"expired void", "issue revise void pass", "-", "-", "-", "declined void", "expired void draft", "-"},
		{"accepted void", "issue accept revise void", "-", "-", "-", "-", "accepted void draft", "-"},
		{"declined void", "issue decline revise void", "-", "-", "-", "-", "declined void draft", "-"},
		{"issued void draft", "issue revise void revise", "issued void draft", "superseded void issued", "accepted void draft", "declined void draft", "-", "issued void void"},

		{"superseded issued", "issue revise issue", "-", "-", "superseded accepted", "superseded declined", "superseded issued draft", "-"},
		{"superseded expired", "issue revise issue pass", "-", "-", "-", "superseded declined", "superseded expired draft", "-"},
		{"superseded accepted", "issue revise issue accept", "-", "-", "-", "-", "superseded accepted draft", "-"},
		{"superseded declined", "issue revise issue decline", "-", "-", "-", "-", "superseded declined draft", "-"},
		{"superseded issued", "issue decline revise issue", "-", "-", "superseded accepted", "superseded declined", "superseded issued draft", "-"},
		{"superseded void issued", "issue revise void revise issue", "-", "-", "superseded void accepted", "superseded void declined", "superseded void issued draft", "-"},
		{"superseded issued draft", "issue revise issue revise", "superseded issued draft", "superseded superseded issued", "superseded accepted draft", "superseded declined draft", "-", "superseded issued void"},

		{"accepted issued", "issue accept revise issue", "-", "-", "accepted accepted", "accepted declined", "accepted issued draft", "-"},
		{"accepted expired", "issue accept revise issue pass", "-", "-", "-", "accepted declined", "accepted expired draft", "-"},
		{"accepted accepted", "issue accept revise issue accept", "-", "-", "-", "-", "accepted accepted draft", "-"},
		{"accepted declined draft", "issue accept revise issue decline revise", "accepted declined draft", "accepted superseded issued", "-", "-", "-", "accepted declined void"},
	}
}

// deeds returns how the revisions stand after each deed.
func (s state) deeds() map[string]string {
	return map[string]string{"edit": s.edit, "issue": s.issue, "accept": s.accept, "decline": s.decline, "revise": s.revise, "void": s.erase}
}

// standsBy returns the status of a quote and the revision that it is of: its newest
// that was issued, or its newest.
func standsBy(revisions []string) (status string, revision int) {
	for i := len(revisions) - 1; i >= 0; i-- {
		if r := revisions[i]; r != "draft" && r != "void" {
			return r, i + 1
		}
	}
	return revisions[len(revisions)-1], len(revisions)
}

// In every state, every deed.
func TestStates(t *testing.T) {
	t.Parallel()
	s := opened(t)
	tried := 0
	for _, st := range states() {
		for deed, want := range st.deeds() {
			tried++
			at := st.revisions + " (" + st.by + "): " + deed
			number := s.create(t, draftOf(t, visit)).Number
			s.do(t, number, strings.Fields(st.by)...)
			before := s.get(t, number)
			v := viewed(t, before)
			require.Equal(t, st.revisions, v.statuses(), at)
			if want == "-" {
				s.refuses(t, deed, before, at)
				continue
			}
			a, err := s.try(t, deed, number, before.Tag)
			require.NoError(t, err, at)
			after := s.get(t, number)
			assert.Equal(t, after.Tag, a.Tag, at)
			v = viewed(t, after)
			require.Equal(t, want, v.statuses(), at)
			status, _ := standsBy(strings.Fields(want))
			assert.Equal(t, status, v.Status, at)
			s.listedAs(t, number, status)
		}
	}
	require.Equal(t, 6*len(states()), tried)
}

// refuses checks that a deed is refused, says which quote and what to do, and changes
// nothing.
func (s *shop) refuses(t *testing.T, deed string, before quotes.Answer, at string) {
	t.Helper()
	events := len(s.events(t, before.Number))
	a, err := s.try(t, deed, before.Number, before.Tag)
	conflict := (*catalog.Conflict)(nil)
	if assert.ErrorAs(t, err, &conflict, at) {
		assert.Regexp(t, fmt.Sprintf(`^revision \d of %s is (a )?[a-z]+ .*: .+`, before.Number), conflict.Detail, at)
	}
	assert.Equal(t, quotes.Answer{}, a, at)
	assert.Equal(t, before, s.get(t, before.Number), at)
	assert.Len(t, s.events(t, before.Number), events, at)
}

// listedAs checks that a list has the quote with a status.
func (s *shop) listedAs(t tester, number, status string) {
	t.Helper()
	l, err := s.List(t.Context(), quotes.Filter{Text: number}, s.today(), 0, 10)
	require.NoError(t, err)
	require.Len(t, l.Quotes, 1)
	require.Equal(t, status, l.Quotes[0].Status)
	require.Len(t, l.Totals, 1)
	require.Equal(t, status, l.Totals[0].Status)
}

// An edit that leaves a draft as it was is no change: nothing has happened.
func TestAnEditOfNothing(t *testing.T) {
	s := opened(t)
	a := s.create(t, draftOf(t, visit))
	assert.Equal(t, a, s.do(t, a.Number, "edit", "edit"))
	assert.Len(t, s.events(t, a.Number), 1)
	s.pass(1)
	s.do(t, a.Number, "edit")
	assert.Len(t, s.events(t, a.Number), 1, "on another day neither")
	d := draftOf(t, visit)
	d.PrivateNote = "Rings in the evening"
	b, err := s.Edit(t.Context(), s.change(a.Number, s.get(t, a.Number).Tag), d)
	require.NoError(t, err)
	assert.Equal(t, b, s.get(t, a.Number))
	assert.Len(t, s.events(t, a.Number), 2)
}
