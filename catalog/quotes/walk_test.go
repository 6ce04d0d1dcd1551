package quotes_test

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// hours is a request whose price depends on what an hour on site costs: ten of it.
const hours = `{"pieces": [{"title": "Fitting", "kind": "service", "service": {}, "extra_hours": [{"stage": "fitting_on_site", "hours": 10}]}]}`

// A walk is a quote to which one thing after another happens, and what it is to be:
// how its revisions stand, until when those issued hold, their documents, and the
// ETags before and after each change that was acknowledged.
type walk struct {
	*shop
	number    string
	days      []int // for which each is to hold
	revisions []string
	until     map[int]date.Date
	documents map[int][]byte
	steps     [][2]string
}

// on returns how the revisions stand today.
func (w *walk) on() []string {
	all := slices.Clone(w.revisions)
	for i, r := range all {
		if r == "issued" && w.until[i].Compare(w.today()) < 0 {
			all[i] = "expired"
		}
	}
	return all
}

// will does a deed to the model and reports whether it may be done.
func (w *walk) will(deed string) bool {
	last := len(w.revisions) - 1
	open := w.revisions[last] == "draft"
	status, n := standsBy(w.on())
	switch sent := status != "draft" && status != "void"; deed {
	case "edit":
		return open
	case "void":
		if open {
			w.revisions[last] = "void"
		}
		return open
	case "issue":
		if !open {
			return false
		}
		if sent && status != "accepted" {
			w.revisions[n-1] = "superseded"
		}
		w.revisions[last], w.until[last] = "issued", w.today().AddDays(w.days[last])
		return true
	case "accept":
		if status == "issued" {
			w.revisions[n-1] = "accepted"
			return true
		}
		return false
	case "decline":
		if status == "issued" || status == "expired" {
			w.revisions[n-1] = "declined"
			return true
		}
		return false
	case "revise":
		if open || !sent {
			return false
		}
		w.revisions, w.days = append(w.revisions, "draft"), append(w.days, w.days[n-1])
		return true
	}
	panic(deed)
}

// anyDraft draws a draft.
func anyDraft(t *rapid.T) (d quotes.Draft) {
	d = draftOf(t, rapid.SampledFrom([]string{visit, hours}).Draw(t, "request"))
	d.ValidDays = new(rapid.IntRange(0, 20).Draw(t, "valid days"))
	d.Title = rapid.StringMatching(`[A-Z][a-zé ]{0,20}`).Draw(t, "title")
	return d
}

// step does a deed as a condition says, and checks what becomes of the quote.
func (w *walk) step(t *rapid.T, deed string) {
	before := w.get(t, w.number)
	events := len(w.events(t, w.number))
	d := anyDraft(t)
	c := w.change(w.number, before.Tag)
	stale := rapid.IntRange(0, 9).Draw(t, "stale") == 0
	if stale {
		c.Match = seen(rapid.SampledFrom([]string{`""`, `"another"`}).Draw(t, "another tag"))
	}
	var a quotes.Answer
	var err error
	if deed == "edit" {
		a, err = w.Edit(t.Context(), c, d)
	} else {
		a, err = w.tryChange(t, deed, c)
	}
	if stale || !w.will(deed) {
		if stale {
			require.ErrorIs(t, err, errStale)
		} else {
			require.ErrorAs(t, err, new(*catalog.Conflict))
		}
		require.Equal(t, before, w.get(t, w.number))
		require.Len(t, w.events(t, w.number), events)
		return
	}
	require.NoError(t, err)
	if deed == "edit" {
		w.days[len(w.days)-1] = *d.ValidDays
	}
	require.Equal(t, w.get(t, w.number).Tag, a.Tag)
	if deed == "edit" && a.Tag == before.Tag { // it says what it said
		require.Len(t, w.events(t, w.number), events)
		return
	}
	require.NotEqual(t, before.Tag, a.Tag)
	w.steps = append(w.steps, [2]string{before.Tag, a.Tag})
	var done struct {
		Number, Status string
		Revision       int
	}
	require.NoError(t, json.Unmarshal(a.Text, &done))
	require.Equal(t, w.number, done.Number)
	if deed == "issue" || deed == "accept" || deed == "decline" || deed == "void" {
		require.Equal(t, w.on()[done.Revision-1], done.Status)
	}
}

// check looks how the quote stands.
func (w *walk) check(t *rapid.T) {
	v := w.look(t, w.number)
	on := w.on()
	require.Equal(t, strings.Join(on, " "), v.statuses())
	status, _ := standsBy(on)
	require.Equal(t, status, v.Status)
	for i, r := range on {
		if r == "draft" || r == "void" {
			require.Empty(t, v.Revisions[i].SHA256)
			continue
		}
		require.Equal(t, w.until[i].String(), v.Revisions[i].ValidUntil)
		if w.documents[i] == nil {
			w.documents[i] = w.document(t, w.number, i+1)
		}
		require.Equal(t, digest(w.documents[i]), v.Revisions[i].SHA256)
	}
}

// stay checks that what was issued is, in the end, as it was, and nothing else.
func (w *walk) stay(t *rapid.T) {
	for i, r := range w.revisions {
		if r != "draft" && r != "void" {
			require.True(t, bytes.Equal(w.documents[i], w.document(t, w.number, i+1)))
			continue
		}
		_, err := w.Revision(t.Context(), w.number, i+1)
		require.ErrorAs(t, err, new(*quotes.NotFound))
	}
}

// path returns the ETags of a quote before and after each change, as its events have
// them: those of one change are alike.
func (s *shop) path(t tester, number string) (all [][2]string) {
	t.Helper()
	id := int64(0)
	for _, e := range s.events(t, number) {
		require.Greater(t, e.ID, id)
		id = e.ID
		if step := [2]string{e.ETagBefore, e.ETagAfter}; !slices.Contains(all, step) {
			all = append(all, step)
		}
	}
	return all
}

// Whatever is done to quotes in whatever order, while days go by and prices move.
func TestLawOfWalks(t *testing.T) {
	t.Parallel()
	s := opened(t)
	deeds := []string{"edit", "issue", "issue", "issue", "accept", "decline", "revise", "revise", "revise", "void", "pass", "price"}
	rapid.Check(t, func(t *rapid.T) {
		d := anyDraft(t)
		w := &walk{shop: s, revisions: []string{"draft"}, days: []int{*d.ValidDays}, until: map[int]date.Date{}, documents: map[int][]byte{}}
		a := w.create(t, d)
		w.number, w.steps = a.Number, [][2]string{{"", a.Tag}}
		require.Equal(t, w.get(t, w.number), a)
		for range rapid.IntRange(1, 12).Draw(t, "steps") {
			switch deed := rapid.SampledFrom(deeds).Draw(t, "deed"); deed {
			case "pass":
				s.pass(rapid.IntRange(1, 12).Draw(t, "days"))
			case "price":
				s.site(t, num.Rate(rapid.IntRange(20, 40).Draw(t, "rate"))*1_0000)
			default:
				w.step(t, deed)
			}
			w.check(t)
		}
		require.Equal(t, w.steps, s.path(t, w.number))
		w.stay(t)
		status, _ := standsBy(w.on())
		s.listedAs(t, w.number, status)
	})
	require.NoError(t, s.Verify(t.Context(), func(v quotes.Verified) { require.NoError(t, v.Err) }))
}
