package store_test

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
)

// made returns the path of a file whose catalogue has that version; nothing has it
// open.
func made(t *testing.T, version int) string {
	t.Helper()
	path := storetest.Path(t)
	change(t, path, "UPDATE catalogue SET version = ?", version)
	return path
}

// change opens the file, writes to it and closes it.
func change(t *testing.T, path, statement string, values ...any) {
	t.Helper()
	s, err := store.Open(t.Context(), path, storetest.Config())
	require.NoError(t, err)
	require.NoError(t, s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec(statement, values...).Error }))
	require.NoError(t, s.Close())
}

// manyPrices is a statement that inserts as many prices as its value says.
const manyPrices = `WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ?)
	INSERT INTO prices (code, effective_from, rate, unit) SELECT 'item-' || i, '2026-01-01', i, 'each' FROM n`

// raw opens the file with the driver alone.
func raw(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite3", path)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { _ = db.Close() })
	return db
}

// rows returns every row of every table of the file, in order.
func rows(t *testing.T, path string) (all []string) {
	t.Helper()
	db := raw(t, path)
	defer db.Close()
	for _, table := range texts(t, db, "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name") {
		columns := texts(t, db, "SELECT name FROM pragma_table_info(?) ORDER BY cid", table)
		row := "SELECT '" + table + " ' || quote(" + strings.Join(columns, ") || ' ' || quote(") + ") FROM " + table + " ORDER BY 1"
		all = append(all, texts(t, db, row)...)
	}
	require.NotEmpty(t, all)
	return all
}

func texts(t *testing.T, db *sql.DB, query string, values ...any) (all []string) {
	t.Helper()
	found, err := db.Query(query, values...)
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

// tree returns the names, rights and sizes of what is in a folder, but for the
// notes that those who read a database keep beside it.
func tree(t *testing.T, dir string) (all []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		info, err := e.Info()
		require.NoError(t, err)
		if end := filepath.Ext(e.Name()); strings.HasSuffix(end, "-shm") || strings.HasSuffix(end, "-wal") && info.Size() == 0 {
			continue
		}
		all = append(all, fmt.Sprintf("%s %s %d", e.Name(), info.Mode(), info.Size()))
	}
	return all
}
