// Package storetest opens stores for tests.
package storetest

import (
	"path/filepath"
	"testing"

	"reckoner/catalog/store"
)

// Path returns the name of a file that is not there, in a folder of the test's own.
func Path(t testing.TB) string {
	t.Helper()
	return filepath.Join(t.TempDir(), "reckoner.db")
}

// Config returns how Open opens a file: a new one gets a catalogue of version 1, in
// pounds, with nothing in it.
func Config() store.Config {
	return store.Config{
		Filled: func(tx store.Tx) (bool, error) {
			var rows int
			err := tx.Raw("SELECT count(*) FROM catalogue").Row().Scan(&rows)
			return rows > 0, err
		},
		Fill: func(tx store.Tx) error {
			return tx.Exec("INSERT INTO catalogue (id, version, currency, changed_at) VALUES (1, 1, 'GBP', ?)", tx.Now).Error
		},
	}
}

// Open opens the file at path, and closes it when the test ends.
func Open(t testing.TB, path string) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), path, Config())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// Change makes a change as the program makes one: in one transaction with the
// version of the catalogue, which goes up.
func Change(t testing.TB, s *store.Store, statement string, values ...any) {
	t.Helper()
	err := s.Write(t.Context(), func(tx store.Tx) error {
		if err := tx.Exec(statement, values...).Error; err != nil {
			return err
		}
		return tx.Exec("UPDATE catalogue SET version = version + 1, changed_at = ?", tx.Now).Error
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Version returns the version of the catalogue.
func Version(t testing.TB, s *store.Store) (v int64) {
	t.Helper()
	if err := s.Glance(t.Context()).Raw("SELECT version FROM catalogue").Row().Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}
