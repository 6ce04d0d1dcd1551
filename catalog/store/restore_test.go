package store_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
)

// backedUp returns the path of a file, and of a copy that was made of it before its
// version was raised from 5 to 9.
func backedUp(t *testing.T) (path, copied string) {
	t.Helper()
	path = made(t, 5)
	change(t, path, manyPrices, 200)
	copied = filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Backup(t.Context(), path, copied))
	change(t, path, "UPDATE catalogue SET version = 9")
	change(t, path, "DELETE FROM prices WHERE rate < 100")
	return path, copied
}

// version opens the file at path and returns the version of its catalogue.
func version(t *testing.T, path string) int64 {
	t.Helper()
	return storetest.Version(t, storetest.Open(t, path))
}

func TestRestorePutsTheCopyBack(t *testing.T) {
	path, copied := backedUp(t)
	was, wanted := rows(t, path), rows(t, copied)
	kept, err := store.Restore(t.Context(), copied, path)
	require.NoError(t, err)
	assert.Equal(t, path+".before-restore", kept)
	assert.Equal(t, wanted, rows(t, path))
	assert.Equal(t, was, rows(t, kept))
	assert.Equal(t, []string{"0600", "0600"}, []string{rights(t, path), rights(t, kept)})
	assert.ElementsMatch(t, []string{"reckoner.db", "reckoner.db.lock", "reckoner.db.before-restore"}, names(t, filepath.Dir(path)))
	assert.EqualValues(t, 5, version(t, path))
	assert.Equal(t, wanted, rows(t, path), "opening it changes nothing")
}

// Who restored the wrong copy restores another, and has lost nothing.
func TestARestoreCanBeUndone(t *testing.T) {
	t.Parallel()
	path, copied := backedUp(t)
	first, wrong := rows(t, path), rows(t, copied)
	kept, err := store.Restore(t.Context(), copied, path)
	require.NoError(t, err)
	again, err := store.Restore(t.Context(), copied, path)
	require.NoError(t, err)
	undone, err := store.Restore(t.Context(), kept, path)
	require.NoError(t, err)
	assert.Equal(t, []string{path + ".before-restore-2", path + ".before-restore-3"}, []string{again, undone})
	assert.Equal(t, first, rows(t, path))
	assert.Equal(t, first, rows(t, kept))
	assert.Equal(t, wrong, rows(t, again))
	assert.Equal(t, wrong, rows(t, undone))
}

func TestRestoreWhereThereIsNothing(t *testing.T) {
	_, copied := backedUp(t)
	path := filepath.Join(t.TempDir(), "not", "yet", "reckoner.db")
	kept, err := store.Restore(t.Context(), copied, path)
	require.NoError(t, err)
	assert.Empty(t, kept)
	assert.Equal(t, rows(t, copied), rows(t, path))
	assert.Equal(t, "0700", rights(t, filepath.Dir(path)))
	assert.EqualValues(t, 5, version(t, path))
}

func TestRestoreOntoItself(t *testing.T) {
	path, _ := backedUp(t)
	was := rows(t, path)
	kept, err := store.Restore(t.Context(), path, path)
	require.NoError(t, err)
	assert.Equal(t, was, rows(t, path))
	assert.Equal(t, was, rows(t, kept))
}

// What a killed process wrote last lies in a -wal. It belongs to the file that is
// put aside, and must not come into the one that is put back.
func TestRestoreAfterAKilledProcess(t *testing.T) {
	path, copied := backedUp(t)
	killed(t, path)
	wanted := rows(t, copied)
	kept, err := store.Restore(t.Context(), copied, path)
	require.NoError(t, err)
	assert.EqualValues(t, 5, version(t, path))
	assert.Equal(t, wanted, rows(t, path))
	assert.EqualValues(t, 77, version(t, kept), "nothing that was written is lost")
}

// Nor may the -wal of a file that somebody moved away by itself.
func TestRestoreBesideWhatIsLeftOfAnotherFile(t *testing.T) {
	path, copied := backedUp(t)
	killed(t, path)
	require.NoError(t, os.Remove(path))
	require.NoError(t, os.WriteFile(path+"-journal", []byte("left"), 0o600))
	kept, err := store.Restore(t.Context(), copied, path)
	require.NoError(t, err)
	assert.Empty(t, kept)
	assert.EqualValues(t, 5, version(t, path))
	assert.Equal(t, rows(t, copied), rows(t, path))
}

func TestRestoreRefuses(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		spoil func(t *testing.T, copied string)
		kind  error
		says  string
	}{
		"nothing":       {func(t *testing.T, copied string) { require.NoError(t, os.Remove(copied)) }, nil, "there is no such database"},
		"an empty file": {func(t *testing.T, copied string) { require.NoError(t, os.WriteFile(copied, nil, 0o600)) }, nil, "there is no such database"},
		"another program's": {func(t *testing.T, copied string) {
			require.NoError(t, os.Remove(copied))
			execute(t, copied, "CREATE TABLE recipes (name TEXT)")
		}, store.ErrDamaged, "of another program"},
		"an empty database": {func(t *testing.T, copied string) {
			require.NoError(t, os.Remove(copied))
			execute(t, copied, "VACUUM")
		}, store.ErrDamaged, "it holds no catalogue"},
		"no catalogue yet": {func(t *testing.T, copied string) {
			execute(t, copied, "DELETE FROM goose_db_version WHERE version_id > 0")
		}, store.ErrDamaged, "it holds no catalogue"},
		"a newer one": {func(t *testing.T, copied string) {
			execute(t, copied, "INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)")
		}, store.ErrNewer, "its schema is 99"},
	} {
		t.Run(name, func(t *testing.T) {
			path, copied := backedUp(t)
			tt.spoil(t, copied)
			refused(t, path, copied, tt.kind, tt.says)
		})
	}
	for name, spoil := range damages() {
		t.Run(name, func(t *testing.T) {
			path := made(t, 5)
			change(t, path, manyPrices, 5000)
			copied := filepath.Join(t.TempDir(), "copy.db")
			require.NoError(t, store.Backup(t.Context(), path, copied))
			b, err := os.ReadFile(copied)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(copied, spoil(b), 0o600))
			refused(t, path, copied, store.ErrDamaged, "")
		})
	}
}

// execute runs a statement on a file with the driver alone.
func execute(t *testing.T, path, statement string) {
	t.Helper()
	db := raw(t, path)
	_, err := db.Exec(statement)
	require.NoError(t, err)
	require.NoError(t, db.Close())
}

// refused checks that the copy is not put in the place of the file, and that all is
// as it was.
func refused(t *testing.T, path, copied string, kind error, says string) {
	t.Helper()
	was, before, beside := rows(t, path), tree(t, filepath.Dir(path)), tree(t, filepath.Dir(copied))
	kept, err := store.Restore(t.Context(), copied, path)
	isOnly(t, err, kind)
	assert.ErrorContains(t, err, says)
	assert.ErrorContains(t, err, copied)
	assert.Empty(t, kept)
	assert.Equal(t, before, tree(t, filepath.Dir(path)))
	assert.Equal(t, beside, tree(t, filepath.Dir(copied)))
	assert.Equal(t, was, rows(t, path))
}

// What cannot be read cannot be kept, and is not thrown away.
func TestRestoreOverADamagedFile(t *testing.T) {
	path, copied := backedUp(t)
	change(t, path, "DELETE FROM prices")
	change(t, path, manyPrices, 5000)
	spoil(t, path)
	before := tree(t, filepath.Dir(path))
	_, err := store.Restore(t.Context(), copied, path)
	isOnly(t, err, store.ErrDamaged)
	assert.ErrorContains(t, err, "what is there cannot be kept (move it and its -wal away, then try again)")
	assert.Equal(t, before, tree(t, filepath.Dir(path)))
	require.NoError(t, os.Rename(path, path+".damaged"))
	_, err = store.Restore(t.Context(), copied, path)
	require.NoError(t, err)
	assert.EqualValues(t, 5, version(t, path))
}

// A process that is killed while a restored file is being made ready leaves a
// journal, which one that only reads cannot put back.
func TestOpenPutsBackWhatWasCutShort(t *testing.T) {
	path, copied := backedUp(t)
	wanted := rows(t, copied)
	before, err := os.Stat(copied)
	require.NoError(t, err)
	db := raw(t, copied)
	for _, statement := range []string{"PRAGMA cache_size = 1", "BEGIN", "UPDATE catalogue SET version = 88", "DELETE FROM prices"} {
		_, err := db.Exec(statement)
		require.NoError(t, err)
	}
	_, err = db.Exec(manyPrices, 20_000)
	require.NoError(t, err)
	begun, err := os.Stat(copied)
	require.NoError(t, err)
	require.Greater(t, begun.Size(), before.Size(), "part of it is in the file already")
	for _, end := range []string{"", "-journal"} {
		b, err := os.ReadFile(copied + end)
		require.NoError(t, err)
		require.NotEmpty(t, b)
		require.NoError(t, os.WriteFile(path+end, b, 0o600))
	}
	assert.EqualValues(t, 5, version(t, path))
	assert.Equal(t, wanted, rows(t, path))
}
