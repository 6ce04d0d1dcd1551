package quotes_test

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/store"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
)

// together has goroutines do something, each as often as times says.
func together(goroutines, times int, do func(goroutine, time int)) {
	var all sync.WaitGroup
	for g := range goroutines {
		all.Go(func() {
			for n := range times {
				do(g, n)
			}
		})
	}
	all.Wait()
}

// Of two hundred quotes that are made at once, by two processes, each has a number of
// its own and none is passed over; each is in the order of the lists as it is in that
// of the numbers.
func TestNumbersMadeAtOnce(t *testing.T) {
	t.Parallel()
	s := opened(t)
	shops := []*shop{s, openedAt(t, s.file, s.now)}
	var mu sync.Mutex
	var got, want []string
	d := draftOf(t, visit)
	together(8, 25, func(g, n int) {
		a, err := shops[g%2].Create(t.Context(), d, s.today(), quotes.Once{})
		if n%5 == 0 { // and between them what fails
			_, err := shops[g%2].Create(t.Context(), quotes.Draft{}, s.today(), quotes.Once{})
			assert.ErrorAs(t, err, new(fault.List))
		}
		assert.NoError(t, err)
		mu.Lock()
		defer mu.Unlock()
		got = append(got, a.Number)
	})
	for i := range 200 {
		want = append(want, fmt.Sprintf("2026-%04d", i+1))
	}
	slices.Sort(got)
	require.Equal(t, want, got)
	l, err := s.List(t.Context(), quotes.Filter{}, s.today(), 0, 1000)
	require.NoError(t, err)
	slices.Reverse(l.Quotes)
	for i, q := range l.Quotes {
		require.Equal(t, want[i], q.Number)
	}
}

// Each year begins again, by the day that the process has; another year in between
// takes nothing from the first.
func TestNumbersOfAYear(t *testing.T) {
	s := opened(t)
	for _, tt := range []struct{ day, number string }{
		{"2026-12-31", "2026-0001"}, {"2026-12-31", "2026-0002"}, {"2027-01-01", "2027-0001"}, {"2026-12-31", "2026-0003"},
		{"2027-01-01", "2027-0002"}, {"2028-02-29", "2028-0001"}, {"9999-12-31", "9999-0001"},
	} {
		a, err := s.Create(t.Context(), draftOf(t, visit), date.MustParse(tt.day), quotes.Once{})
		require.NoError(t, err)
		assert.Equal(t, tt.number, a.Number)
	}
}

// The number after 9999 has a digit more, and is found.
func TestNumbersBeyondFourDigits(t *testing.T) {
	s := opened(t)
	require.NoError(t, s.store.Write(t.Context(), func(tx store.Tx) error {
		return tx.Exec(`WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 9998)
			INSERT INTO quotes (year, serial, number, created_on, created_at) SELECT 2026, i, printf('2026-%04d', i), '2026-11-25', 0 FROM n`).Error
	}))
	for _, number := range []string{"2026-9999", "2026-10000", "2026-10001"} {
		require.Equal(t, number, s.create(t, draftOf(t, visit)).Number)
		s.do(t, number, "issue")
		require.Contains(t, string(s.document(t, number, 1)), `{"number":"`+number+`"`)
	}
	s.listedAs(t, "2026-10000", "issued")
}

// What fails on the way, or is given up, takes no number.
func TestNumbersOfWhatFails(t *testing.T) {
	s := opened(t)
	first := s.create(t, draftOf(t, visit))
	require.Equal(t, "2026-0001", first.Number)

	s.fill(t, 1)
	made := 1
	for _, make := range []func() (quotes.Answer, error){
		func() (quotes.Answer, error) {
			return s.Create(t.Context(), demo(t, "pieces/full-quotation"), s.today(), quotes.Once{})
		},
		func() (quotes.Answer, error) { return s.Duplicate(t.Context(), first.Number, s.today(), quotes.Once{}) },
	} {
		_, err := make()
		for ; err == nil; _, err = make() {
			made++
		}
		require.ErrorIs(t, err, store.ErrFull)
	}
	s.fill(t, 1_000_000)

	gone, stop := context.WithCancel(t.Context())
	stop()
	_, err := s.Create(gone, draftOf(t, visit), s.today(), quotes.Once{})
	require.ErrorIs(t, err, context.Canceled)
	_, err = s.Create(t.Context(), quotes.Draft{}, s.today(), quotes.Once{})
	require.ErrorAs(t, err, new(fault.List))
	_, err = s.Duplicate(t.Context(), "2026-0999", s.today(), quotes.Once{})
	require.ErrorAs(t, err, new(*quotes.NotFound))
	require.Equal(t, fmt.Sprintf("2026-%04d", made+1), s.create(t, draftOf(t, visit)).Number)
}

// fill sets how many pages the file may have; it keeps those that it has.
func (s *shop) fill(t *testing.T, pages int) {
	t.Helper()
	require.NoError(t, s.store.Write(t.Context(), func(tx store.Tx) error {
		return tx.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages)).Error
	}))
}

// Of those who change one quote at once, two processes among them, each that is told
// so has changed what it saw, and nothing else has happened to it.
func TestChangesAtOnce(t *testing.T) {
	s := opened(t)
	shops := []*shop{s, openedAt(t, s.file, s.now)}
	a := s.create(t, draftOf(t, visit))
	var mu sync.Mutex
	steps := map[[2]string]bool{{"", a.Tag}: true}
	deeds := []string{"issue", "revise", "edit", "decline", "issue", "revise"}
	together(6, 15, func(g, n int) {
		own := shops[g%2]
		before, err := own.Get(t.Context(), a.Number, own.today())
		if !assert.NoError(t, err) {
			return
		}
		deed := deeds[(g+n)%len(deeds)]
		if n == 14 {
			deed = "accept"
		}
		var after quotes.Answer
		if c := own.change(a.Number, before.Tag); deed == "edit" {
			d := draftOf(t, visit)
			d.Note = fmt.Sprintf("no other edit says this: %d of %d", n, g)
			after, err = own.Edit(t.Context(), c, d)
		} else {
			after, err = own.tryChange(t, deed, c)
		}
		if err != nil {
			assert.True(t, err == errStale || assert.ErrorAs(t, err, new(*catalog.Conflict)))
			return
		}
		mu.Lock()
		defer mu.Unlock()
		assert.False(t, steps[[2]string{before.Tag, after.Tag}], "done twice")
		steps[[2]string{before.Tag, after.Tag}] = true
	})
	path := s.path(t, a.Number)
	require.Greater(t, len(path), 5)
	tag := ""
	for _, step := range path {
		require.Equal(t, tag, step[0], "each change is of what the one before left")
		require.True(t, steps[step])
		tag = step[1]
	}
	require.Len(t, path, len(steps))
	require.Equal(t, tag, s.get(t, a.Number).Tag)
}
