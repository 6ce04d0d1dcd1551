package catalog_test

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store/storetest"
	"reckoner/pricing/date"
)

// A Book is made once for a version of the catalogue and a date.
func TestABookIsMadeOnce(t *testing.T) {
	c, s := stored(t)
	first, later := of(t, c, "2026-11-25"), of(t, c, "2026-11-26")
	assert.NotSame(t, first, later)
	assert.Same(t, first, of(t, c, "2026-11-25"))
	storetest.Change(t, s, newPrice, "castor-50", "2030-01-01", 1, "each")
	again := of(t, c, "2026-11-25")
	assert.NotSame(t, first, again, "of another version, though nothing in it changed")
	assert.EqualValues(t, 2, again.Data().Version)
	assert.EqualValues(t, 1, first.Data().Version, "who has the former keeps it")
	assert.Same(t, again, of(t, c, "2026-11-25"))
}

// The sixteen used last are kept.
func TestSixteenBooksAreKept(t *testing.T) {
	c, _ := stored(t)
	day := func(n int) string { return fmt.Sprintf("2026-11-%02d", n) }
	first, second := of(t, c, day(1)), of(t, c, day(2))
	for n := 3; n <= 16; n++ {
		of(t, c, day(n))
	}
	assert.Same(t, first, of(t, c, day(1)), "the sixteenth back, now the latest")
	of(t, c, day(17))
	assert.Same(t, first, of(t, c, day(1)))
	assert.NotSame(t, second, of(t, c, day(2)), "the seventeenth back")
}

// Many that ask for a Book at once get the same one.
func TestOneBookForAll(t *testing.T) {
	c, _ := stored(t)
	var all sync.WaitGroup
	got := make([]any, 16)
	begin := make(chan struct{})
	for i := range got {
		all.Go(func() {
			<-begin
			b, err := c.Book(context.Background(), date.MustParse("2026-11-25"))
			if assert.NoError(t, err) {
				got[i] = b
			}
		})
	}
	close(begin)
	all.Wait()
	for _, b := range got {
		assert.Same(t, got[0], b)
	}
}

// Books are read while prices are written: each is of one version, whole, and no
// reader goes back in time.
func TestBooksWhilePricesAreWritten(t *testing.T) {
	c, s := stored(t)
	const changes = 40
	// Of each version n after the first: both cost n.
	both := `INSERT INTO prices (code, effective_from, rate, unit) SELECT code, '2026-11-01', (SELECT version + 1 FROM catalogue), 'each' FROM (SELECT 'castor-50' AS code UNION SELECT 'catch-ball')
		WHERE true ON CONFLICT (code, effective_from) DO UPDATE SET rate = excluded.rate`
	var readers sync.WaitGroup
	for i := range 4 {
		readers.Go(func() {
			day := date.MustParse("2026-11-25").AddDays(i / 2)
			for last := int64(0); last < changes+1; {
				var all catalog.Itemised
				var err error
				if i%2 > 0 {
					all.Book, err = c.Book(context.Background(), day)
				} else {
					all, err = c.Items(context.Background(), day)
				}
				if !assert.NoError(t, err) {
					return
				}
				v := all.Book.Data().Version
				assert.GreaterOrEqual(t, v, last)
				last = v
				if v > 1 {
					assert.Equal(t, []int64{v, v}, []int64{int64(all.Book.Fitting("castor-50").Price.Rate), int64(all.Book.Fitting("catch-ball").Price.Rate)})
				}
				for _, item := range all.Items {
					if item.Code == "castor-50" && v > 1 {
						assert.EqualValues(t, v, item.Price.Rate)
					}
				}
			}
		})
	}
	for range changes {
		storetest.Change(t, s, both)
	}
	readers.Wait()
}

// A catalogue that is closed says so.
func TestAClosedCatalogue(t *testing.T) {
	c, err := catalog.Open(t.Context(), storetest.Path(t))
	require.NoError(t, err)
	of(t, c, "2026-11-25")
	require.NoError(t, c.Close())
	_, err = c.Book(t.Context(), date.MustParse("2026-11-25"))
	assert.Error(t, err, "what is kept might be out of date")
	_, err = c.Version(t.Context())
	assert.Error(t, err)
	_, err = c.Items(t.Context(), date.MustParse("2026-11-25"))
	assert.Error(t, err)
}

// A context that has ended ends the reading.
func TestAContextThatHasEnded(t *testing.T) {
	c, _ := stored(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := c.Book(ctx, date.MustParse("2026-11-25"))
	assert.ErrorIs(t, err, context.Canceled)
	_, err = c.Prices(ctx, "castor-50", date.MustParse("2026-11-25"))
	assert.ErrorIs(t, err, context.Canceled)
	assert.NotNil(t, of(t, c, "2026-11-25"))
}
