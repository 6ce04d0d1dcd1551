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

// six starts six processes that open one file at the same moment, and returns how
// many filled it.
func six(t *testing.T, path string) (filled int) {
	t.Helper()
	var all []*process
	for range 6 {
		all = append(all, start(t, "hold", path))
	}
	for _, p := range all {
		require.Equal(t, "ready", p.hears(t))
	}
	for _, p := range all {
		p.begins(t)
	}
	for _, p := range all {
		if p.hears(t) == "filled" {
			filled++
		}
	}
	for _, p := range all {
		p.ends(t)
	}
	return filled
}

func TestSixProcessesMakeOneFile(t *testing.T) {
	t.Parallel()
	for range 5 {
		path := filepath.Join(t.TempDir(), "new", "reckoner.db")
		assert.Equal(t, 1, six(t, path), "one fills it, the others wait for that")
		assert.EqualValues(t, 1, storetest.Version(t, storetest.Open(t, path)))
	}
}

// A copy that Backup made is not in the mode in which many use it: that too one
// process changes while the others wait.
func TestSixProcessesOpenARestoredFile(t *testing.T) {
	t.Parallel()
	path := made(t, 1)
	copied := path + ".copy"
	require.NoError(t, store.Backup(t.Context(), path, copied))
	for range 8 {
		_, err := store.Restore(t.Context(), copied, path)
		require.NoError(t, err)
		assert.Zero(t, six(t, path))
	}
}

func TestAProcessOpensWhatAnotherHasOpen(t *testing.T) {
	t.Parallel()
	path := made(t, 3)
	other := start(t, "hold", path)
	require.Equal(t, "ready", other.hears(t))
	other.begins(t)
	require.Equal(t, "found", other.hears(t))
	s := storetest.Open(t, path)
	storetest.Change(t, s, "UPDATE catalogue SET currency = 'EUR'")
	assert.EqualValues(t, 4, storetest.Version(t, s))

	copied := path + ".copy"
	require.NoError(t, store.Backup(t.Context(), path, copied), "a backup does not mind")
	other.ends(t)
	_, err := store.Restore(t.Context(), copied, path)
	assert.ErrorIs(t, err, store.ErrInUse, "this process has it open")
}

// Restore waits for nobody: whoever runs it can stop what is running.
func TestRestoreIsRefusedWhileAProcessHasTheFileOpen(t *testing.T) {
	t.Parallel()
	path := made(t, 5)
	copied := path + ".copy"
	require.NoError(t, store.Backup(t.Context(), path, copied))
	link := filepath.Join(t.TempDir(), "link.db")
	require.NoError(t, os.Symlink(path, link))
	other := start(t, "hold", link)
	require.Equal(t, "ready", other.hears(t))
	other.begins(t)
	require.Equal(t, "found", other.hears(t))
	before := tree(t, filepath.Dir(path))
	_, err := store.Restore(t.Context(), copied, path)
	assert.ErrorIs(t, err, store.ErrInUse, "by whatever name that process knows it")
	assert.Equal(t, before, tree(t, filepath.Dir(path)))
	other.ends(t)

	_, err = store.Restore(t.Context(), copied, link)
	require.NoError(t, err)
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.Equal(t, os.ModeSymlink, info.Mode().Type(), "a link stays one")
	assert.EqualValues(t, 5, storetest.Version(t, storetest.Open(t, path)))
}

func TestWritersInTwoProcessesLoseNothing(t *testing.T) {
	t.Parallel()
	path := made(t, 1)
	first, second := start(t, "raise", path), start(t, "raise", path)
	first.ends(t)
	second.ends(t)
	assert.EqualValues(t, 1+2*raises, storetest.Version(t, storetest.Open(t, path)))
}
