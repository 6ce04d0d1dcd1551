package store_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
)

// The writer changes every price and the version to the same figure in each
// transaction: so they are in a copy made at any moment.
func TestABackupIsOfOneMoment(t *testing.T) {
	t.Parallel()
	path := made(t, 1)
	change(t, path, manyPrices, 3000)
	change(t, path, "UPDATE prices SET rate = 1")
	s := storetest.Open(t, path)
	stop, done := make(chan struct{}), make(chan error)
	go func() {
		for {
			select {
			case <-stop:
				done <- nil
				return
			default:
			}
			err := s.Write(context.Background(), func(tx store.Tx) error {
				if err := tx.Exec("UPDATE prices SET rate = rate + 1").Error; err != nil {
					return err
				}
				return tx.Exec("UPDATE catalogue SET version = version + 1").Error
			})
			if err != nil {
				done <- err
				return
			}
		}
	}()
	for range 8 {
		copied := filepath.Join(t.TempDir(), "copy.db")
		require.NoError(t, store.Backup(t.Context(), path, copied))
		db := raw(t, copied)
		assert.Equal(t, []string{"ok"}, texts(t, db, "PRAGMA integrity_check"))
		var prices, lowest, highest, version int64
		require.NoError(t, db.QueryRow("SELECT count(*), min(rate), max(rate), version FROM prices, catalogue").Scan(&prices, &lowest, &highest, &version))
		assert.Equal(t, []int64{3000, version, version}, []int64{prices, lowest, highest})
		assert.Equal(t, "0600", rights(t, copied))
		for storetest.Version(t, s) <= version { // until the writer has gone on
		}
	}
	close(stop)
	require.NoError(t, <-done)
}

// rights returns the permissions of a file as octal digits.
func rights(t *testing.T, path string) string {
	t.Helper()
	info, err := os.Stat(path)
	require.NoError(t, err)
	digits := "0"
	for shift := 6; shift >= 0; shift -= 3 {
		digits += string(rune('0' + info.Mode().Perm()>>shift&7))
	}
	return digits
}

func TestABackupStandsAlone(t *testing.T) {
	path := made(t, 5)
	change(t, path, manyPrices, 100)
	s := storetest.Open(t, path)
	storetest.Change(t, s, "UPDATE prices SET rate = 7 WHERE code = 'item-1'") // lies in the -wal
	copied := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Backup(t.Context(), path, copied))
	assert.Equal(t, []string{"copy.db"}, names(t, filepath.Dir(copied)))
	assert.Equal(t, rows(t, path), rows(t, copied))
	assert.EqualValues(t, 6, storetest.Version(t, storetest.Open(t, copied)))
}

// names returns those of what is in a folder.
func names(t *testing.T, dir string) (all []string) {
	t.Helper()
	for _, line := range tree(t, dir) {
		name, _, _ := strings.Cut(line, " -")
		all = append(all, name)
	}
	return all
}

func TestABackupThatFailsLeavesNothing(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		prepare func(t *testing.T, path, to string)
		says    string
	}{
		"a file there":  {func(t *testing.T, _, to string) { require.NoError(t, os.WriteFile(to, []byte("mine"), 0o644)) }, "exists already"},
		"an empty file": {func(t *testing.T, _, to string) { require.NoError(t, os.WriteFile(to, nil, 0o644)) }, "exists already"},
		"a folder":      {func(t *testing.T, _, to string) { require.NoError(t, os.Mkdir(to, 0o700)) }, "exists already"},
		"a dead link":   {func(t *testing.T, _, to string) { require.NoError(t, os.Symlink("nowhere", to)) }, "exists already"},
		"no folder":     {func(t *testing.T, _, to string) { require.NoError(t, os.Remove(filepath.Dir(to))) }, "no such file"},
		"no database":   {func(t *testing.T, path, _ string) { require.NoError(t, os.Remove(path)) }, "there is no such database"},
		"an empty one":  {func(t *testing.T, path, _ string) { require.NoError(t, os.WriteFile(path, nil, 0o600)) }, "there is no such database"},
		"a damaged one": {func(t *testing.T, path, _ string) { spoil(t, path) }, "damaged"},
		"a rule broken": {func(t *testing.T, path, _ string) {
			execute(t, path, "PRAGMA ignore_check_constraints = 1; UPDATE prices SET rate = -1 WHERE rate = 7")
		}, "CHECK constraint failed in prices"},
		"a folder as it": {func(t *testing.T, path, _ string) {
			require.NoError(t, os.Remove(path))
			require.NoError(t, os.Mkdir(path, 0o700))
		}, "it is a folder: name a file"},
	} {
		t.Run(name, func(t *testing.T) {
			path, to := made(t, 1), filepath.Join(t.TempDir(), "to", "copy.db")
			require.NoError(t, os.Mkdir(filepath.Dir(to), 0o700))
			change(t, path, manyPrices, 5000)
			tt.prepare(t, path, to)
			before := tree(t, filepath.Dir(path))
			var target []string
			if _, err := os.Stat(filepath.Dir(to)); err == nil {
				target = tree(t, filepath.Dir(to))
			}
			assert.ErrorContains(t, store.Backup(t.Context(), path, to), tt.says)
			assert.Equal(t, before, tree(t, filepath.Dir(path)))
			if _, err := os.Stat(filepath.Dir(to)); err == nil {
				assert.Equal(t, target, tree(t, filepath.Dir(to)))
			}
		})
	}
}

// spoil overwrites what is in the middle of a file of many pages.
func spoil(t *testing.T, path string) {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, damages()["pages overwritten"](b), 0o600))
}

// A backup that is stopped while it copies leaves nothing.
func TestABackupCanBeStopped(t *testing.T) {
	path := made(t, 1)
	change(t, path, manyPrices, 100_000)
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	go func() {
		defer cancel()
		for {
			if entries, err := os.ReadDir(dir); err != nil || len(entries) > 0 { // it has begun
				return
			}
		}
	}()
	err := store.Backup(ctx, path, filepath.Join(dir, "copy.db"))
	require.Error(t, err)
	assert.Empty(t, names(t, dir))
}

// A copy of a copy, and a copy of what a killed process left.
func TestABackupOfWhatAKilledProcessLeft(t *testing.T) {
	path := made(t, 1)
	killed(t, path)
	copied := path + ".copy"
	require.NoError(t, store.Backup(t.Context(), path, copied))
	require.NoError(t, store.Backup(t.Context(), copied, copied+".copy"))
	assert.EqualValues(t, 77, storetest.Version(t, storetest.Open(t, copied)))
	assert.EqualValues(t, 77, storetest.Version(t, storetest.Open(t, copied+".copy")))
	assert.EqualValues(t, 77, storetest.Version(t, storetest.Open(t, path)))
}

// killed lets a process write version 77 to the file and be killed before it is
// out of the -wal.
func killed(t *testing.T, path string) {
	t.Helper()
	p := start(t, "die", path)
	require.NoError(t, p.in.Close())
	require.Error(t, p.cmd.Wait())
	require.Empty(t, p.errs.String())
	info, err := os.Stat(path + "-wal")
	require.NoError(t, err)
	require.Positive(t, info.Size())
}
