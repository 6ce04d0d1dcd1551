package main

import (
	"bufio"
	"database/sql"
	"errors"
	"flag"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

var kills = flag.Int("kills", 3, "how often the program is killed in each of the tests that kill it")

// A start is how long the program takes until it has made its file, and from then
// until it listens.
type start struct{ file, rest time.Duration }

// started returns the longest of a few starts.
func started(t *testing.T, b built) (longest start) {
	t.Helper()
	for range 5 {
		b.folder = t.TempDir()
		c, out, begun := b.begin(t)
		made := appears(b.file("prices.db"))
		_, err := bufio.NewReader(out).ReadString('\n')
		require.NoError(t, err)
		longest = start{max(longest.file, made.Sub(begun)), max(longest.rest, time.Since(made))}
		require.NoError(t, c.Process.Kill())
		_ = c.Wait()
	}
	return longest
}

// begin starts the service on a new file.
func (b built) begin(t *testing.T) (c *exec.Cmd, out *os.File, begun time.Time) {
	t.Helper()
	out, in, err := os.Pipe()
	require.NoError(t, err)
	defer in.Close()
	t.Cleanup(func() { _ = out.Close() })
	c = b.command(nil, "serve")
	c.Stdout = in
	begun = time.Now()
	require.NoError(t, c.Start())
	return c, out, begun
}

// appears returns when there is a file of that name, or five seconds later.
func appears(name string) time.Time {
	for end := time.Now().Add(5 * time.Second); ; {
		if _, err := os.Stat(name); err == nil || time.Now().After(end) {
			return time.Now()
		}
	}
}

// Killed at any moment of its first start, the program leaves a file, or none, that
// the next start makes whole.
func TestKilledWhileItStarts(t *testing.T) {
	b := build(t)
	takes := started(t, b)
	landed := map[string]int{}
	for n := range *kills {
		b.folder = t.TempDir()
		c, _, _ := b.begin(t)
		wait := time.Duration(rand.Float64() * float64(takes.file))
		if n%3 > 0 { // of three, one as likely as not before it migrates, two from then on
			appears(b.file("prices.db"))
			wait = time.Duration(rand.Float64() * float64(n%3) * float64(takes.rest))
		}
		time.Sleep(wait)
		require.NoError(t, c.Process.Kill())
		_ = c.Wait()
		landed[b.stage(t)]++
		whole(t, b.file("prices.db"))
	}
	t.Logf("%d kills over a start of %s and %s: %v", *kills, takes.file, takes.rest, landed)
	if *kills >= 30 {
		for _, stage := range []string{"before", "during", "after"} {
			assert.Positive(t, landed[stage], "no kill landed %s migrating and filling", stage)
		}
	}
}

// stage says where in migrating and filling the program was killed. It looks at a
// copy, since looking puts right what was cut short.
func (b built) stage(t *testing.T) string {
	t.Helper()
	look := filepath.Join(t.TempDir(), "look.db")
	for _, end := range []string{"", "-wal", "-journal"} {
		text, err := os.ReadFile(b.file("prices.db") + end)
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(look+end, text, 0o600))
	}
	if info, err := os.Stat(look); err != nil || info.Size() == 0 {
		return "before"
	}
	db, err := sql.Open("sqlite3", look)
	require.NoError(t, err)
	defer db.Close()
	var rows int
	if err := db.QueryRow("SELECT count(*) FROM catalogue").Scan(&rows); err != nil || rows == 0 {
		return "during"
	}
	return "after"
}

// whole opens the database and checks that it holds the starter catalogue, all of
// it, and no damage.
func whole(t *testing.T, path string) {
	t.Helper()
	c, err := catalog.Open(t.Context(), path)
	require.NoError(t, err)
	for _, day := range []string{"2026-01-04", "2026-05-01", "2026-11-25"} {
		have, err := c.Book(t.Context(), date.MustParse(day))
		require.NoError(t, err)
		want, err := catalog.Starter(date.MustParse(day))
		require.NoError(t, err)
		a, err := wire.Encode(want.Data())
		require.NoError(t, err)
		b, err := wire.Encode(have.Data())
		require.NoError(t, err)
		assert.Equal(t, string(a), string(b), day)
	}
	require.NoError(t, c.Close())
	db, err := sql.Open("sqlite3", path)
	require.NoError(t, err)
	defer db.Close()
	var found string
	require.NoError(t, db.QueryRow("PRAGMA integrity_check").Scan(&found))
	assert.Equal(t, "ok", found)
}

// Killed at any moment, restore has put back all of the copy or nothing, and what
// was there is there or kept.
func TestKilledWhileItRestores(t *testing.T) {
	b := build(t)
	b.folder = t.TempDir()
	path, copied := b.file("prices.db"), filepath.Join(t.TempDir(), "copy.db")
	whole(t, path)
	require.NoError(t, store.Backup(t.Context(), path, copied))
	begun := time.Now()
	require.NoError(t, b.command(nil, "restore", copied).Run())
	takes := time.Since(begun)
	landed := map[int64]int{}
	for range *kills {
		b.folder = t.TempDir()
		path := b.file("prices.db")
		_, err := store.Restore(t.Context(), copied, path)
		require.NoError(t, err)
		setVersion(t, path, 9)
		c := b.command(nil, "restore", copied)
		require.NoError(t, c.Start())
		time.Sleep(time.Duration(rand.Float64() * 1.1 * float64(takes)))
		require.NoError(t, c.Process.Kill())
		_ = c.Wait()
		v := versionOf(t, path)
		require.Contains(t, []int64{1, 9}, v)
		landed[v]++
		if v == 1 {
			whole(t, path)
			path += ".before-restore"
			assert.EqualValues(t, 9, versionOf(t, path))
		}
		setVersion(t, path, 1)
		whole(t, path)
	}
	t.Logf("%d kills over a restore of %s: %d before the copy took its place, %d after", *kills, takes, landed[9], landed[1])
}

// setVersion writes the version of the catalogue in the file.
func setVersion(t *testing.T, path string, v int64) {
	t.Helper()
	s, err := store.Open(t.Context(), path, store.Config{Filled: func(store.Tx) (bool, error) { return true, nil }})
	require.NoError(t, err)
	require.NoError(t, s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec("UPDATE catalogue SET version = ?", v).Error }))
	require.NoError(t, s.Close())
}

// versionOf opens the file and returns the version of its catalogue.
func versionOf(t *testing.T, path string) int64 {
	t.Helper()
	c, err := catalog.Open(t.Context(), path)
	require.NoError(t, err)
	v, err := c.Version(t.Context())
	require.NoError(t, err)
	require.NoError(t, c.Close())
	return v
}
