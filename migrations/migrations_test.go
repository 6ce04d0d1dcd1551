package migrations_test

import (
	"database/sql"
	"fmt"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	_ "github.com/mattn/go-sqlite3"
	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/migrations"
)

// files returns the migrations by name.
func files(t *testing.T) fs.FS {
	t.Helper()
	all, err := fs.Sub(migrations.SQLite(), "sqlite")
	require.NoError(t, err)
	return all
}

func TestNumbersHaveNoGapAndNoRepeat(t *testing.T) {
	entries, err := fs.ReadDir(files(t), ".")
	require.NoError(t, err)
	require.NotEmpty(t, entries)
	for i, e := range entries {
		assert.Regexp(t, fmt.Sprintf(`^%05d_[a-z][a-z0-9_]*\.sql$`, i+1), e.Name())
	}
}

// Every table is strict, what it holds is of the types that are exact, and there is
// a way back for tests.
func TestTablesAreStrict(t *testing.T) {
	create := regexp.MustCompile(`(?s)CREATE TABLE.*?;`)
	names, err := fs.Glob(files(t), "*.sql")
	require.NoError(t, err)
	for _, name := range names {
		b, err := fs.ReadFile(files(t), name)
		require.NoError(t, err)
		assert.Equal(t, 1, strings.Count(string(b), "-- +goose Up\n"), name)
		assert.Equal(t, 1, strings.Count(string(b), "-- +goose Down\n"), name)
		for _, table := range create.FindAllString(string(b), -1) {
			assert.Regexp(t, `\) STRICT(, WITHOUT ROWID)?;$`, table)
		}
	}
	db := opened(t)
	_, err = provider(t, db).Up(t.Context())
	require.NoError(t, err)
	for _, column := range texts(t, db, `SELECT DISTINCT c.type FROM sqlite_master m, pragma_table_info(m.name) c WHERE m.type = 'table' AND m.name NOT IN ('goose_db_version', 'sqlite_sequence')`) {
		assert.Contains(t, []string{"INTEGER", "TEXT"}, column, "no floating point, no loose types")
	}
}

func opened(t *testing.T) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite3", filepath.Join(t.TempDir(), "a.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, db.Close()) })
	return db
}

func provider(t *testing.T, db *sql.DB) *goose.Provider {
	t.Helper()
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files(t), goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	return p
}

func texts(t *testing.T, db *sql.DB, query string) (all []string) {
	t.Helper()
	found, err := db.Query(query)
	require.NoError(t, err)
	defer found.Close()
	for found.Next() {
		var s string
		require.NoError(t, found.Scan(&s))
		all = append(all, s)
	}
	require.NoError(t, found.Err())
	return all
}

// schema returns what there is, but for goose's own.
func schema(t *testing.T, db *sql.DB) []string {
	t.Helper()
	return texts(t, db, "SELECT type || ' ' || name || ' ' || coalesce(sql, '') FROM sqlite_master WHERE tbl_name NOT IN ('goose_db_version', 'sqlite_sequence') ORDER BY 1")
}

// Step by step down and up again, each step gives the schema that it gave before;
// at the bottom is nothing.
func TestUpDownUp(t *testing.T) {
	db := opened(t)
	p := provider(t, db)
	at := [][]string{schema(t, db)}
	require.Empty(t, at[0])
	for range p.ListSources() {
		_, err := p.UpByOne(t.Context())
		require.NoError(t, err)
		at = append(at, schema(t, db))
		require.NotEqual(t, at[len(at)-2], at[len(at)-1], "each does something")
	}
	for n := len(at) - 2; n >= 0; n-- {
		_, err := p.Down(t.Context())
		require.NoError(t, err)
		assert.Equal(t, at[n], schema(t, db), "down to %d", n)
	}
	_, err := p.Up(t.Context())
	require.NoError(t, err)
	assert.Equal(t, at[len(at)-1], schema(t, db))
	assert.Equal(t, []string{"ok"}, texts(t, db, "PRAGMA integrity_check"))
}

// What a table must not take; what it takes is tried where it is used.
func TestTheCatalogueRefuses(t *testing.T) {
	db := opened(t)
	_, err := provider(t, db).Up(t.Context())
	require.NoError(t, err)
	for table, rows := range map[string][]string{
		"catalogue": {"(1, 0, 'GBP', 0)", "(1, NULL, 'GBP', 0)", "(1, 1, 'GB', 0)", "(2, 1, 'GBP', 0)", "(1, 1, 'GBP', 'now')", "(1, 1.5, 'GBP', 0)"},
		"entries": {
			"('door', 'a', '', 0, '{}')", "('timber', '', '', 0, '{}')", "('timber', 'a', '2026-1-1', 0, '{}')", "('timber', 'a', NULL, 0, '{}')",
			"('timber', 'a', '', 2, '{}')", "('timber', 'a', '', 0, '')", "('timber', 'a', '', 0, '{')", "('timber', '" + strings.Repeat("a", 65) + "', '', 0, '{}')",
		},
		"prices": {
			"('a', '', 1, 'each')", "('', '2026-01-01', 1, 'each')", "('a', '2026-01-01T00:00', 1, 'each')", "('a', '01.01.2026', 1, 'each')",
			"('a', '2026-01-01', -1, 'each')", "('a', '2026-01-01', 10000000000, 'each')", "('a', '2026-01-01', 0.5, 'each')", "('a', '2026-01-01', 1, '')", "('a', '2026-01-01', 1, NULL)",
		},
	} {
		for _, row := range rows {
			_, err := db.Exec("INSERT INTO " + table + " VALUES " + row)
			assert.Error(t, err, "%s %s", table, row)
		}
		assert.Equal(t, []string{"0"}, texts(t, db, "SELECT count(*) FROM "+table))
	}
}

// Of quotes too: none of the rows that have something wrong, and one that has nothing
// once. Each row has one thing wrong.
func TestTheQuotesRefuse(t *testing.T) {
	db := opened(t)
	db.SetMaxOpenConns(1)
	_, err := provider(t, db).Up(t.Context())
	require.NoError(t, err)
	_, err = db.Exec("PRAGMA foreign_keys = 1")
	require.NoError(t, err)
	sum := "'" + strings.Repeat("a", 64) + "'"
	for _, tt := range []struct {
		table, good string // the good row, its values by column
		bad         string // others, each in the place of one of its
	}{
		{"customers", "id=1 doc='{}' words='' created_at=0", "doc='{' doc='' doc=NULL words=NULL created_at='now' created_at=NULL"},
		{"quotes", "id=1 year=2026 serial=1 number='2026-0001' created_on='2026-11-25' created_at=0",
			"year=0 year=2027 year=2026.5 serial=0 serial=2 number='2026-1' number='2026-0002' number=NULL created_on='2026-11-31' created_on='' created_on=NULL created_at='now'"},
		{"drafts", "quote_id=1 revision=1 title='' customer_id=NULL customer='{}' words='' valid_days=NULL note='' private_note='' request='{}'",
			"quote_id=2 quote_id=NULL revision=0 revision=NULL title=NULL customer_id=1 customer=NULL customer='{' words=NULL valid_days=-1 note=NULL private_note=NULL request='' request=NULL"},
		{"books", "sha256=" + sum + " doc='{}'", "sha256='a' sha256=NULL doc='{' doc=NULL"},
		{"revisions", "quote_id=1 revision=1 head='{}' request='{}' customer='{}' book=" + sum + " costing='{}' sha256=" + sum + " engine='1' issued_at=0 valid_until='2026-12-25' cost=0 fees=0 net=0 discount=0 gross=0",
			"quote_id=2 revision=2 head='{' request='{' customer='' book='a' book=NULL costing='{' sha256='a' sha256=NULL engine=NULL issued_at=NULL valid_until='' valid_until='2026-11-31' valid_until=NULL cost=NULL cost=0.5 net=NULL net=0.5 gross=NULL"},
		{"events", "id=1 quote_id=1 revision=1 customer_id=NULL event='issued' happened_at=0 etag_before='' etag_after='' doc=NULL net=NULL gross=NULL",
			"quote_id=2 quote_id=NULL revision=2 revision=NULL customer_id=1 event='expired' event=NULL happened_at=NULL etag_before=NULL etag_after=NULL doc='{' net=0.5"},
		{"keys", "path='' key='' digest=" + sum + " number='' etag='' answer='' created_at=0", "path=NULL key=NULL digest='a' number=NULL etag=NULL answer=NULL created_at=NULL"},
	} {
		var columns, values []string
		for _, given := range strings.Fields(tt.good) {
			column, value, _ := strings.Cut(given, "=")
			columns, values = append(columns, column), append(values, value)
		}
		insert := func(values []string) error {
			_, err := db.Exec("INSERT INTO " + tt.table + " (" + strings.Join(columns, ", ") + ") VALUES (" + strings.Join(values, ", ") + ")")
			return err
		}
		for _, given := range strings.Fields(tt.bad) {
			column, value, _ := strings.Cut(given, "=")
			row := slices.Clone(values)
			row[slices.Index(columns, column)] = value
			assert.Error(t, insert(row), "%s %s", tt.table, given)
		}
		assert.NoError(t, insert(values), tt.table)
		assert.Error(t, insert(values), "%s twice", tt.table)
		assert.Equal(t, []string{"1"}, texts(t, db, "SELECT count(*) FROM "+tt.table))
	}
	assert.Equal(t, []string{"2026-0001 issued"}, texts(t, db, "SELECT number || ' ' || status FROM standings"))
}
