package store

import (
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ways are every way in to a file.
func ways(path string) map[string]dsn {
	return map[string]dsn{"writer": writer(path), "reader": reader(path), "copier": copier(path)}
}

// fresh returns the path of an empty database.
func fresh(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.db")
	require.NoError(t, touch(path))
	g, err := open(writer(path), 1)
	require.NoError(t, err)
	require.NoError(t, shut(g))
	return path
}

func TestPragmasAreReadBack(t *testing.T) {
	path := fresh(t)
	for name, d := range ways(path) {
		g, err := open(d, 1)
		require.NoError(t, err, name)
		for pragma, want := range d.pragmas {
			var is string
			require.NoError(t, g.Raw("PRAGMA "+pragma).Row().Scan(&is))
			assert.Equal(t, want, is, "%s: %s", name, pragma)
		}
		require.NoError(t, shut(g))
	}
}

// A key that the driver does not know, or a value that the database does not take,
// is no error of theirs.
func TestWhatIsNotAsAskedIsRefused(t *testing.T) {
	path := fresh(t)
	for _, tt := range []struct {
		of         func(string) dsn
		key, wrong string // wrong: another key if it begins with _, else another value
		says       string
	}{
		{writer, "_journal_mode", "DELETE", "journal_mode = delete, not wal"},
		{writer, "_synchronous", "_sychronous", "synchronous = 1, not 2"},
		{writer, "_synchronous", "NORMAL", "synchronous = 1, not 2"},
		{writer, "_foreign_keys", "_foreign_key", "foreign_keys = 0, not 1"},
		{writer, "_busy_timeout", "50", "busy_timeout = 50, not 5000"},
		{reader, "_query_only", "_queryonly", "query_only = 0, not 1"},
		{reader, "_busy_timeout", "0", "busy_timeout = 0, not 5000"},
	} {
		d := tt.of(path)
		value := d.options.Get(tt.key)
		require.NotEmpty(t, value, tt.key)
		d.options.Del(tt.key)
		if tt.wrong[0] == '_' {
			d.options.Set(tt.wrong, value)
		} else {
			d.options.Set(tt.key, tt.wrong)
		}
		_, err := open(d, 1)
		assert.ErrorContains(t, err, "the database runs with "+tt.says, tt.key)
	}
	d := writer(path)
	d.pragmas["no_such_pragma"] = "1"
	_, err := open(d, 1)
	assert.Error(t, err)
}

// Every connection of a pool is set, not the first alone.
func TestEveryConnectionIsSet(t *testing.T) {
	g, err := open(reader(fresh(t)), 4)
	require.NoError(t, err)
	db, err := g.DB()
	require.NoError(t, err)
	for range 4 {
		conn, err := db.Conn(t.Context())
		require.NoError(t, err)
		defer conn.Close()
		var is int
		require.NoError(t, conn.QueryRowContext(t.Context(), "PRAGMA query_only").Scan(&is))
		assert.Equal(t, 1, is)
	}
	assert.Equal(t, 4, db.Stats().InUse)
}

// No way in makes a file: Open does, for its owner alone.
func TestNoWayInMakesAFile(t *testing.T) {
	dir := t.TempDir()
	for name, d := range ways(filepath.Join(dir, "none.db")) {
		_, err := open(d, 1)
		assert.Error(t, err, name)
	}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
}

// The writer's transactions take their place at once: one that has read may write,
// whatever others wrote before it began.
func TestAWriterBeginsImmediately(t *testing.T) {
	path := fresh(t)
	g, err := open(writer(path), 1)
	require.NoError(t, err)
	tx := g.Begin()
	require.NoError(t, tx.Error)
	d := writer(path)
	d.options.Set("_busy_timeout", "1")
	d.pragmas["busy_timeout"] = "1"
	other, err := open(d, 1)
	require.NoError(t, err)
	require.ErrorIs(t, kindOf(other.Begin().Error), ErrBusy)
	require.NoError(t, tx.Rollback().Error)
	require.NoError(t, other.Begin().Rollback().Error)
	require.NoError(t, shut(other))
	require.NoError(t, shut(g))
}

// Source: RFC 3986, 2.1: what is not to be taken for part of the URI is %HH.
func TestNamesAreEscaped(t *testing.T) {
	d := dsn{"/a b/ü?#%&+'.db", url.Values{"mode": {"ro"}}, nil}
	assert.Equal(t, "file:/a%20b/%C3%BC%3F%23%25&+%27.db?mode=ro", d.String())
}
