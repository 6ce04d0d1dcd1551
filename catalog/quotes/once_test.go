package quotes_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/pricing/fault"
)

// createOnce makes a quote by a request that bears a key.
func (s *shop) createOnce(t tester, d quotes.Draft, key, body string) (quotes.Answer, error) {
	return s.Create(t.Context(), d, s.today(), quotes.OnceOf("/v1/quotes", key, []byte(body)))
}

// Sent again, a request is answered as it was, byte for byte, whatever has become of
// the quote and of the prices since; nothing is done again.
func TestOnceIsAnsweredAgain(t *testing.T) {
	s := opened(t)
	d := demo(t, "pieces/tall-chest")
	first, err := s.createOnce(t, d, "a", "{}")
	require.NoError(t, err)
	issue := s.change(first.Number, first.Tag)
	issue.Once = quotes.OnceOf("/v1/quotes/"+first.Number+"/issue", "a", nil)
	sent, err := s.Issue(t.Context(), issue)
	require.NoError(t, err)
	duplicate := quotes.OnceOf("/v1/quotes/"+first.Number+"/duplicate", "a", nil)
	copied, err := s.Duplicate(t.Context(), first.Number, s.today(), duplicate)
	require.NoError(t, err)
	require.Equal(t, "2026-0002", copied.Number)
	again := func(when string) {
		t.Helper()
		a, err := s.createOnce(t, d, "a", "{}")
		require.NoError(t, err, when)
		assert.Equal(t, first, a, when)
		a, err = s.Issue(t.Context(), issue)
		require.NoError(t, err, when)
		assert.Equal(t, sent, a, when)
		a, err = s.Duplicate(t.Context(), first.Number, s.today(), duplicate)
		require.NoError(t, err, when)
		assert.Equal(t, copied, a, when)
		assert.Equal(t, 2, s.count(t, "quotes"), when)
		assert.Equal(t, 1, s.count(t, "revisions"), when)
	}
	again("at once")
	s.Ledger = openedAt(t, s.file, s.now).Ledger
	again("by another process")
	s.do(t, first.Number, "revise", "edit", "accept")
	again("when it has changed")
	s.site(t, 50_0000)
	again("when prices have")
	s.retire(t, "ironmongery", d.Request.Pieces[0].Ironmongery[0].Code)
	again("when it has no price any more")
	s.pass(29)
	again("on another day")
}

// A key is of one path and one body.
func TestOnceWithAnotherBody(t *testing.T) {
	s := opened(t)
	d := draftOf(t, visit)
	first, err := s.createOnce(t, d, "a", "{}")
	require.NoError(t, err)
	for _, given := range []quotes.Draft{d, draftOf(t, hours), {}} {
		_, err := s.createOnce(t, given, "a", "{ }")
		reused := (*quotes.Reused)(nil)
		require.ErrorAs(t, err, &reused)
		assert.Equal(t, `the Idempotency-Key "a" came with another If-Match or body before: send a new key with a new request`, err.Error())
	}
	for _, key := range []string{"A", "a ", "b", "", ""} { // none at all is another request each time
		a, err := s.createOnce(t, d, key, "{}")
		require.NoError(t, err)
		assert.NotEqual(t, first.Number, a.Number, key)
	}
	assert.Equal(t, 6, s.count(t, "quotes"))
	for _, path := range []string{"/v1/quotes/2026-0001/issue", "/v1/quotes/2026-0002/issue"} {
		number := path[len("/v1/quotes/") : len("/v1/quotes/")+9]
		c := s.change(number, s.get(t, number).Tag)
		c.Once = quotes.OnceOf(path, "a", []byte("{}"))
		_, err := s.Issue(t.Context(), c)
		require.NoError(t, err, path)
		c.Once = quotes.OnceOf(path, "a", nil)
		_, err = s.Issue(t.Context(), c)
		require.ErrorAs(t, err, new(*quotes.Reused))
	}
}

// What failed may be tried again under the same key, with another body too.
func TestOnceOfWhatFailed(t *testing.T) {
	s := opened(t)
	d := draftOf(t, visit)
	_, err := s.createOnce(t, quotes.Draft{}, "a", "1")
	require.ErrorAs(t, err, new(fault.List))
	first, err := s.createOnce(t, d, "a", "2")
	require.NoError(t, err)

	c := s.change(first.Number, "another")
	c.Once = quotes.OnceOf("/issue", "a", nil)
	_, err = s.Issue(t.Context(), c)
	require.ErrorIs(t, err, errStale)
	ctx, stop := context.WithCancel(t.Context())
	c.Match = func(string) error { stop(); return nil } // given up in the middle
	_, err = s.Issue(ctx, c)
	require.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, 1, s.count(t, "keys"))
	assert.Zero(t, s.count(t, "revisions"))
	assert.Equal(t, first, s.get(t, first.Number))
	assert.Len(t, s.events(t, first.Number), 1)

	c.Match, c.Once = seen(first.Tag), quotes.OnceOf("/issue", "a", []byte("more"))
	_, err = s.Issue(t.Context(), c)
	require.NoError(t, err)
	assert.Equal(t, 2, s.count(t, "keys"))
}

// A key is remembered for thirty days, to the moment, and then forgotten with those
// before it.
func TestOnceIsRememberedForThirtyDays(t *testing.T) {
	s := opened(t)
	d := draftOf(t, visit)
	made := s.now
	first, err := s.createOnce(t, d, "a", "1")
	require.NoError(t, err)
	_, err = s.createOnce(t, d, "old", "1")
	require.NoError(t, err)

	s.now = made.Add(30 * 24 * time.Hour)
	a, err := s.createOnce(t, d, "a", "1")
	require.NoError(t, err)
	assert.Equal(t, first, a)
	_, err = s.createOnce(t, d, "a", "2")
	require.ErrorAs(t, err, new(*quotes.Reused))

	s.now = made.Add(30*24*time.Hour + time.Microsecond)
	a, err = s.createOnce(t, d, "a", "2")
	require.NoError(t, err)
	assert.Equal(t, "2026-0003", a.Number)
	assert.Equal(t, 1, s.count(t, "keys"))
	b, err := s.createOnce(t, d, "a", "2")
	require.NoError(t, err)
	assert.Equal(t, a, b)
}

// Of many that send the same at once, two processes among them, one does it and all
// are answered alike.
func TestOnceAtOnce(t *testing.T) {
	s := opened(t)
	shops := []*shop{s, openedAt(t, s.file, s.now)}
	d := draftOf(t, visit)
	answers := make([]quotes.Answer, 16)
	together(8, 2, func(g, n int) {
		a, err := shops[g%2].createOnce(t, d, "a", "{}")
		assert.NoError(t, err)
		answers[2*g+n] = a
	})
	for _, a := range answers {
		assert.Equal(t, answers[0], a)
	}
	assert.Equal(t, 1, s.count(t, "quotes"))
	require.Equal(t, answers[0], s.get(t, answers[0].Number))
}
