package quotes_test

import (
	"database/sql"
	"io/fs"
	"strings"
	"testing"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
	"reckoner/migrations"
)

// migrated returns what migrates a database.
func migrated(t *testing.T, db *sql.DB) *goose.Provider {
	t.Helper()
	all, err := fs.Sub(migrations.SQLite(), "sqlite")
	require.NoError(t, err)
	p, err := goose.NewProvider(goose.DialectSQLite3, db, all, goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	return p
}

// keeps checks that every row is there still, but for those of the migrations.
func keeps(t *testing.T, before, after []string) {
	t.Helper()
	for _, row := range before {
		if !strings.HasPrefix(row, "goose_db_version ") && !strings.HasPrefix(row, "sqlite_sequence ") {
			assert.Contains(t, after, row)
		}
	}
}

// older makes a file of the schema before quotes, with a catalogue whose prices have
// been changed, and returns where it is.
func older(t *testing.T) (path string, rowsBefore []string) {
	t.Helper()
	full := opened(t)
	full.site(t, 31_0000)
	path = storetest.Path(t)
	db := raw(t, path, "_journal_mode=WAL")
	_, err := migrated(t, db).UpTo(t.Context(), 2)
	require.NoError(t, err)
	_, err = db.Exec("ATTACH ? AS full", full.file)
	require.NoError(t, err)
	for _, table := range []string{"catalogue", "entries", "prices", "changes"} {
		execute(t, db, "INSERT INTO main."+table+" SELECT * FROM full."+table)
	}
	execute(t, db, `INSERT INTO updates (file, sha256, rows, previewed_at) VALUES ('a.csv', printf('%064d', 7), '[]', 0)`)
	before := rows(t, db)
	require.NoError(t, db.Close())
	return path, before
}

// A file of the program before there were quotes is made one that has them, and keeps
// what it has; what it was lies beside it.
func TestAFileFromBeforeQuotes(t *testing.T) {
	path, before := older(t)
	s := openedAt(t, path, opened(t).now)
	d := draftOf(t, hours)
	d.Request.Terms = plain()
	number := s.create(t, d).Number
	require.Equal(t, "2026-0001", number)
	s.do(t, number, "issue", "accept")
	assert.Equal(t, "310.00", s.look(t, number).Costing.Totals.Net, "10 x 31.00, as the price was changed")
	assert.Equal(t, []string{"2026-0001/1 sound"}, found(t, s.Ledger))

	look := raw(t, path, "mode=ro")
	after := rows(t, look)
	keeps(t, before, after)
	assert.Equal(t, before, rows(t, raw(t, path+".before-3", "mode=ro")))
	changes, err := s.catalog.Changes(t.Context(), 0, 10)
	require.NoError(t, err)
	assert.Len(t, changes, 1)
}

// The way down takes the quotes and leaves the rest; the way up begins again.
func TestDownAndUpAgain(t *testing.T) {
	path, before := older(t)
	s := openedAt(t, path, opened(t).now)
	number := s.create(t, draftOf(t, visit)).Number
	s.do(t, number, "issue")
	_, _, err := s.AddCustomer(t.Context(), quotes.Customer{Customer: draftOf(t, visit).Customer.Customer})
	require.NoError(t, err)
	copied := storetest.Path(t)
	require.NoError(t, store.Backup(t.Context(), path, copied))

	db := raw(t, copied, "_fk=1")
	_, err = migrated(t, db).DownTo(t.Context(), 2)
	require.NoError(t, err)
	keeps(t, before, rows(t, db))
	require.NoError(t, db.Close())

	again := openedAt(t, copied, s.now)
	assert.Zero(t, again.count(t, "quotes"))
	again.do(t, again.create(t, draftOf(t, visit)).Number, "issue")
	assert.Equal(t, []string{"2026-0001/1 sound"}, found(t, again.Ledger))
}
