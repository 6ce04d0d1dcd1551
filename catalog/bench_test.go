package catalog

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// today is when everything has a price.
var today = date.MustParse("2026-11-25")

// onNewFile returns the catalogue of a new file.
func onNewFile(b *testing.B) *Catalog {
	b.Helper()
	c, err := Open(b.Context(), filepath.Join(b.TempDir(), "reckoner.db"))
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, c.Close()) })
	return c
}

// BenchmarkCachedBook: a Book that is kept is found in at most ten microseconds,
// half the time: that is reading the version.
func BenchmarkCachedBook(b *testing.B) {
	c := onNewFile(b)
	var took []time.Duration
	for b.Loop() {
		began := time.Now()
		if _, err := c.Book(b.Context(), today); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Nanoseconds()), "ns/median")
	b.ReportMetric(float64(took[len(took)*99/100].Nanoseconds()), "ns/99th")
}

// copies returns the n-th copy of every entry that has a price, under codes of its
// own, and the codes and units of its prices.
func copies(b *testing.B, from *book.Data, n int) (entries []entryRow, prices []priceRow) {
	b.Helper()
	named := func(code string) string { return fmt.Sprintf("%s.%d", code, n) }
	add := func(class, code string, v any) {
		doc, err := wire.Encode(v)
		require.NoError(b, err)
		entries = append(entries, entryRow{Class: class, Code: code, Doc: doc})
	}
	priced := func(code string, u unit.Unit) { prices = append(prices, priceRow{Code: code, Unit: u}) }
	for _, t := range from.Timbers {
		t.Code, t.Thicknesses = named(t.Code), slices.Clone(t.Thicknesses)
		for i := range t.Thicknesses {
			t.Thicknesses[i].Code = named(t.Thicknesses[i].Code)
			priced(t.Thicknesses[i].Code, unit.M3)
		}
		add("timber", t.Code, t)
	}
	for _, s := range from.Sheets {
		s.Code = named(s.Code)
		u := unit.Each
		if s.Charged == book.Area {
			u = unit.M2
		}
		add("sheet", s.Code, s)
		priced(s.Code, u)
	}
	for _, s := range from.Supplies {
		s.Code = named(s.Code)
		add("supply", s.Code, s)
		priced(s.Code, unit.Pack)
	}
	for _, f := range from.Ironmongery {
		f.Code = named(f.Code)
		add("ironmongery", f.Code, f)
		priced(f.Code, unit.Each)
	}
	return entries, prices
}

// large returns a catalogue of 5,000 items, of the kinds that the starter
// catalogue has, with ten prices each, and the path of its file.
func large(b *testing.B) (*Catalog, string) {
	b.Helper()
	const items, each = 5000, 10
	path := filepath.Join(b.TempDir(), "large.db")
	c, err := Open(b.Context(), path)
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, c.Close()) })
	of, err := starterData()
	require.NoError(b, err)
	var entries []entryRow
	var codes, prices []priceRow
	for n := 1; len(codes) < items; n++ {
		e, p := copies(b, &of, n)
		entries, codes = append(entries, e...), append(codes, p...)
	}
	for _, p := range codes {
		for i := range each {
			p.EffectiveFrom = day{date.MustParse(fmt.Sprintf("20%d-01-05", 18+i))}
			p.Rate = num.Rate(20_0000 + 1000*i)
			prices = append(prices, p)
		}
	}
	require.NoError(b, c.store.Write(b.Context(), func(tx store.Tx) error {
		if err := tx.CreateInBatches(entries, batch).Error; err != nil {
			return err
		}
		if err := tx.CreateInBatches(prices, batch).Error; err != nil {
			return err
		}
		return tx.Exec("UPDATE catalogue SET version = version + 1").Error
	}))
	b.Logf("%d items, %d prices", len(codes), len(prices))
	return c, path
}

// The queries of readEntries and readPrices.
const (
	entriesQuery = `SELECT e.class, e.doc FROM entries e JOIN (
			SELECT class, code, max(effective_from) AS effective_from FROM entries WHERE effective_from <= ? GROUP BY class, code
		) AS latest ON latest.class = e.class AND latest.code = e.code AND latest.effective_from = e.effective_from
		WHERE e.retired = 0 ORDER BY e.class, e.code`
	pricesQuery = `SELECT p.code, p.rate, p.unit, p.effective_from FROM prices p JOIN (
			SELECT code, max(effective_from) AS effective_from FROM prices WHERE effective_from <= ? GROUP BY code
		) AS latest ON latest.code = p.code AND latest.effective_from = p.effective_from`
)

// raw reads the same rows into variables and returns how many.
func raw(b *testing.B, db *sql.DB) (n int) {
	b.Helper()
	var class, doc, code, u, from string
	var rate int64
	for _, q := range []struct {
		text string
		into []any
	}{{entriesQuery, []any{&class, &doc}}, {pricesQuery, []any{&code, &rate, &u, &from}}} {
		rows, err := db.QueryContext(b.Context(), q.text, today.String())
		require.NoError(b, err)
		for ; rows.Next(); n++ {
			if err := rows.Scan(q.into...); err != nil {
				b.Fatal(err)
			}
		}
		require.NoError(b, rows.Err())
		require.NoError(b, rows.Close())
	}
	return n
}

// BenchmarkLoadAgainstRawRows: making the Book of 5,000 items with 50,000 prices
// takes at most three times as long as reading its rows.
func BenchmarkLoadAgainstRawRows(b *testing.B) {
	c, path := large(b)
	db, err := sql.Open("sqlite3", "file:"+path+"?mode=ro")
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, db.Close()) })
	var took [2]time.Duration
	rows := 0
	for b.Loop() {
		began := time.Now()
		require.NoError(b, c.store.Read(b.Context(), func(tx store.Tx) error {
			data, err := dataOf(tx, today)
			if err != nil {
				return err
			}
			_, err = book.New(data)
			return err
		}))
		took[0] += time.Since(began)
		began = time.Now()
		rows = raw(b, db)
		took[1] += time.Since(began)
	}
	b.ReportMetric(float64(rows), "rows")
	b.ReportMetric(float64(took[0])/float64(took[1]), "load/raw")
	b.ReportMetric(took[0].Seconds()*1000/float64(b.N), "ms/load")
	b.ReportMetric(took[1].Seconds()*1000/float64(b.N), "ms/raw")
}
