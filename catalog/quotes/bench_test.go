package quotes_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

// A bench is a ledger, with what is asked of it.
type bench struct {
	*quotes.Ledger
	ctx   context.Context
	day   date.Date // when everything has a price
	chest quotes.Draft
	book  *book.Book
	path  string
}

func newBench(b *testing.B) bench {
	b.Helper()
	path := filepath.Join(b.TempDir(), "reckoner.db")
	c, err := catalog.Open(b.Context(), path)
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, c.Close()) })
	text, err := os.ReadFile("../../testdata/pieces/tall-chest.json")
	require.NoError(b, err)
	var d quotes.Draft
	require.NoError(b, wire.Decode(text, &d.Request))
	d.Title = "Tall chest for the landing"
	d.Customer.Customer, d.Request.Customer = *d.Request.Customer, nil
	day := date.MustParse("2026-11-25")
	prices, err := c.Book(b.Context(), day)
	require.NoError(b, err)
	return bench{quotes.New(c), b.Context(), day, d, prices, path}
}

// make creates a quote and returns its number.
func (l bench) make() (string, error) {
	a, err := l.Create(l.ctx, l.chest, l.day, quotes.Once{})
	return a.Number, err
}

func (l bench) issue(number string) error {
	_, err := l.Issue(l.ctx, quotes.Change{Number: number, Match: func(string) error { return nil }, Today: l.day})
	return err
}

// price works out what is answered with a quote: all that cannot be left out.
func (l bench) price() error {
	c, err := pricing.Cost(l.chest.Request, l.book)
	if err == nil {
		_, err = wire.Encode(c)
	}
	return err
}

// A rawWriter writes rows with database/sql and nothing else, on a connection set as
// that of a store: into the tables of a ledger, and the same bytes that it writes.
type rawWriter struct {
	*sql.DB
	ctx                                      context.Context
	serial                                   *sql.Stmt
	quote, draft, created, revision, wasSent rawRow
}

func newRawWriter(b *testing.B) (w rawWriter) {
	b.Helper()
	l := newBench(b)
	number, err := l.make()
	require.NoError(b, err)
	require.NoError(b, l.issue(number))
	db, err := sql.Open("sqlite3", "file:"+l.path+"?mode=rw&_journal_mode=WAL&_synchronous=FULL&_foreign_keys=1&_busy_timeout=5000&_txlock=immediate")
	require.NoError(b, err)
	db.SetMaxOpenConns(1)
	b.Cleanup(func() { require.NoError(b, db.Close()) })
	w = rawWriter{DB: db, ctx: b.Context()}
	w.serial, err = db.Prepare("SELECT 1 + coalesce(max(serial), 0) FROM quotes WHERE year = 2026")
	require.NoError(b, err)
	for to, from := range map[*rawRow]string{
		&w.quote: "quotes", &w.draft: "drafts", &w.revision: "revisions",
		&w.created: "events WHERE event = 'created'", &w.wasSent: "events WHERE event = 'issued'",
	} {
		*to = newRawRow(b, db, from)
	}
	return w
}

// A rawRow is a row that the ledger wrote, to be written again but for some columns.
type rawRow struct {
	insert *sql.Stmt
	values []any
	place  map[string]int // of columns
}

// newRawRow returns the one that comes from a table.
func newRawRow(b *testing.B, db *sql.DB, from string) (r rawRow) {
	b.Helper()
	rows, err := db.Query("SELECT * FROM " + from)
	require.NoError(b, err)
	defer rows.Close()
	require.True(b, rows.Next())
	columns, err := rows.Columns()
	require.NoError(b, err)
	r.values, r.place = make([]any, len(columns)), make(map[string]int)
	into := make([]any, len(columns))
	for i, name := range columns {
		into[i], r.place[name] = &r.values[i], i
	}
	require.NoError(b, rows.Scan(into...))
	require.NoError(b, rows.Close())
	table, _, _ := strings.Cut(from, " ")
	r.insert, err = db.Prepare("INSERT INTO " + table + " VALUES (?" + strings.Repeat(", ?", len(columns)-1) + ")")
	require.NoError(b, err)
	return r
}

// write writes the row, with some columns otherwise, and returns its id.
func (r rawRow) write(ctx context.Context, tx *sql.Tx, otherwise map[string]any) (int64, error) {
	values := slices.Clone(r.values)
	for name, v := range otherwise {
		values[r.place[name]] = v
	}
	is, err := tx.StmtContext(ctx, r.insert).ExecContext(ctx, values...)
	if err != nil {
		return 0, err
	}
	return is.LastInsertId()
}

// transact runs f in a transaction, which is on the disk when it returns.
func (w rawWriter) transact(f func(*sql.Tx) error) error {
	tx, err := w.BeginTx(w.ctx, nil)
	if err != nil {
		return err
	}
	if err := f(tx); err != nil {
		_ = tx.Rollback()
		return err
	}
	return tx.Commit()
}

// make writes the rows of a quote and returns its id.
func (w rawWriter) make() (id int64, err error) {
	err = w.transact(func(tx *sql.Tx) error {
		var serial int
		if err := tx.StmtContext(w.ctx, w.serial).QueryRowContext(w.ctx).Scan(&serial); err != nil {
			return err
		}
		id, err = w.quote.write(w.ctx, tx, map[string]any{"id": nil, "serial": serial, "number": fmt.Sprintf("2026-%04d", serial)})
		if err != nil {
			return err
		}
		if _, err := w.draft.write(w.ctx, tx, map[string]any{"quote_id": id}); err != nil {
			return err
		}
		_, err := w.created.write(w.ctx, tx, map[string]any{"id": nil, "quote_id": id})
		return err
	})
	return id, err
}

// issue writes the rows of its first revision.
func (w rawWriter) issue(id int64) error {
	return w.transact(func(tx *sql.Tx) error {
		if _, err := w.revision.write(w.ctx, tx, map[string]any{"quote_id": id}); err != nil {
			return err
		}
		_, err := w.wasSent.write(w.ctx, tx, map[string]any{"id": nil, "quote_id": id})
		return err
	})
}

// atOnce has that many goroutines call f with 0, 1, 2 ... below n, and returns how long
// they took.
func atOnce(b *testing.B, goroutines, n int, f func(int) error) time.Duration {
	var all sync.WaitGroup
	var next atomic.Int64
	began := time.Now()
	for range goroutines {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				if err := f(i); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	all.Wait()
	return time.Since(began)
}

// BenchmarkCreate compares keeping a quote, which is priced for it and answered with
// its costing, with writing its rows alone: the same bytes into the same tables, each
// quote in a transaction that is on the disk when it ends. Half of that rate is the
// aim. One goroutine comes to a third of it and eight to less than a half: to price and
// to write, and no more, comes to little over that. The other rate is against these two.
func BenchmarkCreate(b *testing.B) {
	const turn = 64
	for _, goroutines := range []int{1, 8} {
		b.Run(fmt.Sprint(goroutines), func(b *testing.B) {
			l, w := newBench(b), newRawWriter(b)
			var ours, raw, priced time.Duration
			for b.Loop() {
				ours += atOnce(b, goroutines, turn, func(int) error { _, err := l.make(); return err })
				raw += atOnce(b, goroutines, turn, func(int) error { _, err := w.make(); return err })
				priced += atOnce(b, goroutines, turn, func(int) error {
					_, err := w.make()
					return errors.Join(l.price(), err)
				})
			}
			b.ReportMetric(float64(raw)/float64(ours), "rate/raw")
			b.ReportMetric(float64(priced)/float64(ours), "rate/raw+price")
			b.ReportMetric(float64(b.N*turn)/ours.Seconds(), "quotes/s")
			b.ReportMetric(float64(b.N*turn)/raw.Seconds(), "raw/s")
		})
	}
}

// BenchmarkIssue compares issuing a quote with writing the rows of it, in the same
// way. It has no aim.
func BenchmarkIssue(b *testing.B) {
	const turn = 64
	l, w := newBench(b), newRawWriter(b)
	var ours, raw time.Duration
	for b.Loop() {
		var numbers [turn]string
		var ids [turn]int64
		for i := range turn {
			var err error
			numbers[i], err = l.make()
			require.NoError(b, err)
			ids[i], err = w.make()
			require.NoError(b, err)
		}
		ours += atOnce(b, 1, turn, func(i int) error { return l.issue(numbers[i]) })
		raw += atOnce(b, 1, turn, func(i int) error { return w.issue(ids[i]) })
	}
	b.ReportMetric(float64(raw)/float64(ours), "rate/raw")
	b.ReportMetric(float64(b.N*turn)/ours.Seconds(), "quotes/s")
	b.ReportMetric(float64(b.N*turn)/raw.Seconds(), "raw/s")
}
