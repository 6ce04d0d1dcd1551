package store_test

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
)

// isOnly checks that err is of that kind and of no other.
func isOnly(t *testing.T, err, kind error) {
	t.Helper()
	for _, k := range []error{
		store.ErrNewer, store.ErrInUse, store.ErrDamaged, store.ErrNoDriver, store.ErrBusy, store.ErrFull, store.ErrExists, store.ErrRefused, store.ErrReadOnly,
	} {
		assert.Equal(t, k == kind, errors.Is(err, k), "%v: is it %q?", err, k)
	}
}

func TestKindsOfRefusal(t *testing.T) {
	s := storetest.Open(t, storetest.Path(t))
	for _, statement := range []string{
		"CREATE TABLE timber (code TEXT NOT NULL PRIMARY KEY, name TEXT UNIQUE, mass INTEGER CHECK (mass > 0)) STRICT",
		"CREATE TABLE board (timber TEXT REFERENCES timber (code), later TEXT REFERENCES timber (code) DEFERRABLE INITIALLY DEFERRED) STRICT",
		"CREATE TRIGGER kept BEFORE DELETE ON timber BEGIN SELECT RAISE (ABORT, 'what was sent stays'); END",
		"INSERT INTO timber VALUES ('oak', 'European oak', 700)",
		"INSERT INTO board VALUES ('oak', 'oak')",
	} {
		require.NoError(t, s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec(statement).Error }), statement)
	}
	for statement, kind := range map[string]error{
		"INSERT INTO timber VALUES ('oak', 'Another', 700)":                                             store.ErrExists,
		"INSERT INTO timber VALUES ('ash', 'European oak', 700)":                                        store.ErrExists,
		"INSERT INTO timber VALUES ('ash', 'Ash', 0)":                                                   store.ErrRefused,
		"INSERT INTO timber VALUES (NULL, 'Ash', 700)":                                                  store.ErrRefused,
		"INSERT INTO timber VALUES ('ash', 'Ash', 'heavy')":                                             store.ErrRefused,
		"INSERT INTO board VALUES ('elm', 'oak')":                                                       store.ErrRefused,
		"INSERT INTO board VALUES ('oak', 'elm')":                                                       store.ErrRefused, // when it is committed
		"UPDATE timber SET code = 'elm'":                                                                store.ErrRefused,
		"DELETE FROM timber":                                                                            store.ErrRefused,
		"INSERT INTO catalogue VALUES (1, 1, 'GBP', 0)":                                                 store.ErrExists,
		"INSERT INTO catalogue VALUES (2, 1, 'GBP', 0)":                                                 store.ErrRefused,
		"INSERT INTO prices (code, effective_from, rate, unit) VALUES ('a', '2026-1-1', 1, 'each')":     store.ErrRefused,
		"INSERT INTO prices (code, effective_from, rate, unit) VALUES ('a', '2026-02-30', 1, 'each')":   store.ErrRefused,
		"INSERT INTO prices (code, effective_from, rate, unit) VALUES ('a', '', 1, 'each')":             store.ErrRefused,
		"INSERT INTO prices (code, effective_from, rate, unit) VALUES ('a', '2026-01-01', -1, 'each')":  store.ErrRefused,
		"INSERT INTO prices (code, effective_from, rate, unit) VALUES ('a', '2026-01-01', 1.5, 'each')": store.ErrRefused,
		"INSERT INTO entries VALUES ('oak', 'a', '', 0, '{}')":                                          store.ErrRefused,
		"INSERT INTO entries VALUES ('timber', 'a', '', 0, '{')":                                        store.ErrRefused,
		"INSERT INTO nothing VALUES (1)":                                                                nil,
	} {
		err := s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec(statement).Error })
		assert.Error(t, err, statement)
		isOnly(t, err, kind)
	}
	err := s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec("DELETE FROM timber").Error })
	assert.ErrorContains(t, err, "what was sent stays", "the words of the database follow, for the log")
}

func TestReadingWritesNothing(t *testing.T) {
	path := storetest.Path(t)
	s := storetest.Open(t, path)
	for _, statement := range []string{"UPDATE catalogue SET version = 5", "CREATE TABLE x (i)", "PRAGMA user_version = 5"} {
		err := s.Read(t.Context(), func(tx store.Tx) error { return tx.Exec(statement).Error })
		isOnly(t, err, store.ErrReadOnly)
	}
	assert.EqualValues(t, 1, storetest.Version(t, s))
}

// Whoever writes without the program, and for longer than one waits.
func TestBusy(t *testing.T) {
	path := storetest.Path(t)
	s := storetest.Open(t, path)
	require.NoError(t, s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec("PRAGMA busy_timeout = 1").Error }))
	other := raw(t, path)
	_, err := other.Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)
	isOnly(t, s.Write(t.Context(), func(store.Tx) error { panic("it must not get here") }), store.ErrBusy)
	assert.EqualValues(t, 1, storetest.Version(t, s), "reading goes on")
	_, err = other.Exec("ROLLBACK")
	require.NoError(t, err)
	storetest.Change(t, s, "UPDATE catalogue SET currency = 'EUR'")
}

func TestFull(t *testing.T) {
	s := storetest.Open(t, storetest.Path(t))
	limit(t, s, 1)
	isOnly(t, s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec(manyPrices, 2000).Error }), store.ErrFull)
	limit(t, s, 1_000_000)
	var n int
	require.NoError(t, s.Glance(t.Context()).Raw("SELECT count(*) FROM prices").Row().Scan(&n))
	assert.Zero(t, n)
	storetest.Change(t, s, manyPrices, 2000)
}

// Whoever only read need not hear at the end that there was no room to note how.
func TestClosingWritesNothingThatMatters(t *testing.T) {
	path := storetest.Path(t)
	s, err := store.Open(t.Context(), path, storetest.Config())
	require.NoError(t, err)
	storetest.Change(t, s, manyPrices, 2000)
	limit(t, s, 1)
	assert.NoError(t, s.Close())
	prices := 0
	for _, row := range rows(t, path) {
		assert.NotContains(t, row, "sqlite_stat", "notes for planning queries")
		if strings.HasPrefix(row, "prices ") {
			prices++
		}
	}
	assert.Equal(t, 2000, prices)
}

// limit sets how many pages the file may have; it keeps those that it has.
func limit(t *testing.T, s *store.Store, pages int) {
	t.Helper()
	require.NoError(t, s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages)).Error }))
}

// damages are ways in which a file of many pages is found damaged, or to be none.
func damages() map[string]func([]byte) []byte {
	return map[string]func([]byte) []byte{
		"pages overwritten": func(b []byte) []byte {
			for i := len(b) / 3; i < 2*len(b)/3; i++ {
				b[i] = 0xA5
			}
			return b
		},
		"cut short":     func(b []byte) []byte { return b[:len(b)/2] },
		"a text":        func([]byte) []byte { return []byte("Dear Sir, one chest of drawers, please.\n") },
		"a longer text": func(b []byte) []byte { return append([]byte("Dear Sir, "), b...) },
		"noughts":       func(b []byte) []byte { return make([]byte, len(b)) },
	}
}

func TestDamage(t *testing.T) {
	t.Parallel()
	for name, spoil := range damages() {
		t.Run(name, func(t *testing.T) {
			path := made(t, 1)
			change(t, path, manyPrices, 5000)
			b, err := os.ReadFile(path)
			require.NoError(t, err)
			b = spoil(b)
			require.NoError(t, os.WriteFile(path, b, 0o600))
			_, err = store.Open(t.Context(), path, storetest.Config())
			isOnly(t, err, store.ErrDamaged)
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, b, after, "it is left for whoever can mend it")
			err = store.Backup(t.Context(), path, path+".copy")
			isOnly(t, err, store.ErrDamaged)
			assert.NoFileExists(t, path+".copy")
		})
	}
}

// Damage that comes while the file is open.
func TestDamageLater(t *testing.T) {
	path := made(t, 1)
	change(t, path, manyPrices, 100_000) // more than is kept in memory
	s, err := store.Open(t.Context(), path, storetest.Config())
	require.NoError(t, err)
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, damages()["pages overwritten"](b), 0o600))
	isOnly(t, s.Write(t.Context(), func(tx store.Tx) error {
		return tx.Exec("UPDATE prices SET rate = rate + 1").Error
	}), store.ErrDamaged)
	_ = s.Close() // it may say so again
}

// Rows that refer to what is not there, put in past the program.
func TestOrphansAreDamage(t *testing.T) {
	path := made(t, 1)
	db := raw(t, path)
	_, err := db.Exec("CREATE TABLE timber (code TEXT NOT NULL PRIMARY KEY); CREATE TABLE board (timber TEXT REFERENCES timber (code)); INSERT INTO board VALUES ('elm'), ('elm')")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	_, err = store.Open(t.Context(), path, storetest.Config())
	isOnly(t, err, store.ErrDamaged)
	assert.ErrorContains(t, err, "2 rows refer to nothing")
}

// So is a row that no rule of its table would have let in.
func TestABrokenRuleIsDamage(t *testing.T) {
	path := made(t, 1)
	execute(t, path, "PRAGMA ignore_check_constraints = 1; UPDATE catalogue SET version = 0")
	_, err := store.Open(t.Context(), path, storetest.Config())
	isOnly(t, err, store.ErrDamaged)
	assert.ErrorContains(t, err, "CHECK constraint failed in catalogue")
}

// A database of another program is not made this program's.
func TestADatabaseOfAnotherProgramIsRefused(t *testing.T) {
	path := storetest.Path(t)
	db := raw(t, path)
	_, err := db.Exec("CREATE TABLE recipes (name TEXT)")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	_, err = store.Open(t.Context(), path, storetest.Config())
	isOnly(t, err, store.ErrDamaged)
	assert.ErrorContains(t, err, "of another program")
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
}
