package store

import (
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// steps are migrations of a workshop that counts its boards, and what is wrong with
// the last in the ways that a migration can fail.
func steps(n int) fstest.MapFS {
	all := []string{
		"CREATE TABLE boards (name TEXT NOT NULL PRIMARY KEY) STRICT;\n-- +goose Down\nDROP TABLE boards;",
		"ALTER TABLE boards ADD COLUMN count INTEGER NOT NULL DEFAULT 1;\n-- +goose Down\nALTER TABLE boards DROP COLUMN count;",
		"CREATE TABLE racks (name TEXT NOT NULL PRIMARY KEY) STRICT;\nINSERT INTO racks SELECT 'of ' || name FROM boards;\n-- +goose Down\nDROP TABLE racks;",
	}
	files := fstest.MapFS{}
	for i, text := range all[:n] {
		files[fmt.Sprintf("%05d_step.sql", i+1)] = &fstest.MapFile{Data: []byte("-- +goose Up\n" + text + "\n")}
	}
	return files
}

// with returns steps(n) and one more.
func with(n int, text string) fstest.MapFS {
	files := steps(n)
	files[fmt.Sprintf("%05d_last.sql", n+1)] = &fstest.MapFile{Data: []byte("-- +goose Up\n" + text + "\n")}
	return files
}

// counting opens files of those migrations: a new one gets two boards.
func counting(files fs.FS) Config {
	return Config{
		migrations: files,
		Wait:       100 * time.Millisecond,
		Filled: func(tx Tx) (bool, error) {
			var n int
			err := tx.Raw("SELECT count(*) FROM boards").Row().Scan(&n)
			return n > 0, err
		},
		Fill: func(tx Tx) error { return tx.Exec("INSERT INTO boards (name) VALUES ('ash'), ('elm')").Error },
	}
}

// shape returns the schema of a file, its version and the names of its boards.
func shape(t *testing.T, path string) (all []string) {
	t.Helper()
	g, err := open(reader(path), 1)
	require.NoError(t, err)
	require.NoError(t, g.Raw("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND tbl_name <> ? ORDER BY name", goose.DefaultTablename).Scan(&all).Error)
	var names, versions []string
	require.NoError(t, g.Raw("SELECT 'version ' || version_id FROM "+goose.DefaultTablename+" ORDER BY version_id").Scan(&versions).Error)
	if g.Migrator().HasTable("boards") {
		require.NoError(t, g.Raw("SELECT name FROM boards ORDER BY name").Scan(&names).Error)
	}
	require.NoError(t, shut(g))
	return slices.Concat(all, versions, names)
}

// opened opens the file at path and closes it.
func opened(t *testing.T, path string, c Config) {
	t.Helper()
	s, err := Open(t.Context(), path, c)
	require.NoError(t, err)
	require.NoError(t, s.Close())
}

// listing returns the names of what is in the folder of a file.
func listing(t *testing.T, path string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// From every version that there has been a file comes to be what a new one is, of
// the program's migrations and of made-up ones.
func TestFromEveryVersion(t *testing.T) {
	t.Parallel()
	own := Config{}.withDefaults()
	own.Filled = func(Tx) (bool, error) { return true, nil }
	for name, c := range map[string]Config{"the program": own, "made up": counting(steps(3))} {
		t.Run(name, func(t *testing.T) {
			names, err := fs.Glob(c.migrations, "*.sql")
			require.NoError(t, err)
			straight := filepath.Join(t.TempDir(), "a.db")
			opened(t, straight, c)
			for n := range names {
				path := filepath.Join(t.TempDir(), "a.db")
				if n > 0 {
					older := c
					older.migrations = only(t, c.migrations, names[:n])
					opened(t, path, older)
				}
				opened(t, path, c)
				assert.Equal(t, shape(t, straight), shape(t, path), "from version %d", n)
				assert.Equal(t, n > 0, slices.Contains(listing(t, path), fmt.Sprintf("a.db.before-%d", len(names))), "from version %d", n)
			}
		})
	}
}

// only returns those files of all.
func only(t *testing.T, all fs.FS, names []string) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	for _, name := range names {
		text, err := fs.ReadFile(all, name)
		require.NoError(t, err)
		files[name] = &fstest.MapFile{Data: text}
	}
	return files
}

func TestMigratingKeepsTheFileAsItWas(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.db")
	opened(t, path, counting(steps(1)))
	before := shape(t, path)
	opened(t, path, counting(steps(2)))
	assert.Equal(t, before, shape(t, path+".before-2"))
	opened(t, path+".before-2", counting(steps(1))) // by the older program
	info, err := os.Stat(path + ".before-2")
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode())

	// Going back, and on again, keeps both.
	_, err = Open(t.Context(), path, counting(steps(1)))
	assert.ErrorIs(t, err, ErrNewer)
	require.NoError(t, os.Remove(path))
	require.NoError(t, os.Rename(path+".before-2", path))
	opened(t, path, counting(steps(1)))
	opened(t, path, counting(steps(2)))
	require.NoError(t, os.Remove(path))
	opened(t, path, counting(steps(1)))
	opened(t, path, counting(steps(2)))
	for _, name := range []string{"a.db.before-2", "a.db.before-2-2"} {
		assert.Contains(t, listing(t, path), name)
	}
}

// A migration that fails leaves what was there, even if others before it went well.
func TestAFailingMigrationLeavesTheFile(t *testing.T) {
	t.Parallel()
	for name, files := range map[string]fstest.MapFS{
		"at once":       with(1, "INSERT INTO boards (name) VALUES ('ash');"),
		"after another": with(2, "INSERT INTO racks VALUES ('none');"),
		"half-way":      with(1, "CREATE TABLE x (i INTEGER);\nDROP TABLE boards;\nDROP TABLE nothing;"),
		"unbalanced":    with(2, "-- +goose StatementBegin\nSELECT 1;"),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.db")
			opened(t, path, counting(steps(1)))
			before, names := shape(t, path), listing(t, path)
			_, err := Open(t.Context(), path, counting(files))
			require.Error(t, err)
			assert.Equal(t, before, shape(t, path))
			assert.Subset(t, append(names, "a.db-shm", "a.db-wal"), listing(t, path), "and nothing beside it")
			opened(t, path, counting(steps(1)))
			opened(t, path, counting(steps(2)))
		})
	}
}

// A new file whose migration fails holds nothing, and is no obstacle.
func TestAFailingMigrationOfANewFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.db")
	_, err := Open(t.Context(), path, counting(with(1, "DROP TABLE nothing;")))
	require.Error(t, err)
	opened(t, path, counting(steps(2)))
}

func TestANewerFileIsRefusedAndLeft(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.db")
	opened(t, path, counting(steps(3)))
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	_, err = Open(t.Context(), path, counting(steps(2)))
	assert.ErrorIs(t, err, ErrNewer)
	assert.ErrorContains(t, err, "its schema is 3, the program's 2")
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	opened(t, path, counting(steps(3)))
}

// A copy that Backup made is not in the mode in which one may write while others
// read, and no process changes that while others have the file.
func TestACopyIsMadeReady(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.db")
	c := counting(steps(2)).withDefaults()
	opened(t, path, c)
	copied := path + ".copy"
	require.NoError(t, Backup(t.Context(), path, copied))
	for name, want := range map[string]bool{path: true, copied: false, path + ".none": false} {
		ready, err := c.ready(t.Context(), name)
		require.NoError(t, err)
		assert.Equal(t, want, ready, name)
	}
	lock := lockOf(copied)
	require.NoError(t, together(t.Context(), lock, time.Second))
	_, err := Open(t.Context(), copied, c)
	assert.ErrorIs(t, err, ErrInUse)
	require.NoError(t, lock.Unlock())
	opened(t, copied, c)
	ready, err := c.ready(t.Context(), copied)
	require.NoError(t, err)
	assert.True(t, ready)
}

// Nobody's tables change under them.
func TestMigratingWaitsForWhoeverHasTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.db")
	s, err := Open(t.Context(), path, counting(steps(1)))
	require.NoError(t, err)
	_, err = Open(t.Context(), path, counting(steps(2)))
	assert.ErrorIs(t, err, ErrInUse)

	patient := counting(steps(2))
	patient.Wait = time.Minute
	done := make(chan error)
	go func() {
		s, err := Open(t.Context(), path, patient)
		if err == nil {
			err = s.Close()
		}
		done <- err
	}()
	require.NoError(t, s.Write(t.Context(), func(tx Tx) error { return tx.Exec("INSERT INTO boards VALUES ('yew')").Error }))
	require.NoError(t, s.Close())
	require.NoError(t, <-done)
	assert.Subset(t, shape(t, path), []string{"version 2", "ash", "elm", "yew"}, "what was written last is there")
	assert.Subset(t, shape(t, path+".before-2"), []string{"version 1", "ash", "elm", "yew"})
}

// A process that ended before it made the first table, or before it migrated, is
// followed by one that goes on.
func TestGoingOnFromTheBeginning(t *testing.T) {
	for name, statements := range map[string]string{
		"no version": "CREATE TABLE " + goose.DefaultTablename + " (id INTEGER PRIMARY KEY AUTOINCREMENT, version_id INTEGER NOT NULL, is_applied INTEGER NOT NULL, tstamp TIMESTAMP);" +
			"INSERT INTO " + goose.DefaultTablename + " (version_id, is_applied, tstamp) VALUES (0, 1, '2026-11-25 10:00:00')",
		"no table": "CREATE TABLE x (i); DROP TABLE x",
	} {
		t.Run(name, func(t *testing.T) {
			path := fresh(t)
			g, err := open(writer(path), 1)
			require.NoError(t, err)
			require.NoError(t, g.Exec(statements).Error)
			require.NoError(t, shut(g))
			opened(t, path, counting(steps(2)))
			assert.Subset(t, shape(t, path), []string{"version 2", "ash", "elm"})
		})
	}
}

// Source: goose's file format. A migration of the program that rewrites a table
// outside of a transaction is no less safe than another.
func TestAMigrationWithoutATransaction(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.db")
	opened(t, path, counting(steps(1)))
	before := shape(t, path)
	files := steps(1)
	rebuild := "-- +goose NO TRANSACTION\n-- +goose Up\nCREATE TABLE other (name TEXT NOT NULL PRIMARY KEY, count INTEGER) STRICT;\nINSERT INTO other SELECT name, 1 FROM boards;\nDROP TABLE boards;\n"
	files["00002_rebuild.sql"] = &fstest.MapFile{Data: []byte(rebuild + "DROP TABLE nothing;\n")}
	_, err := Open(t.Context(), path, counting(files))
	require.Error(t, err)
	assert.Equal(t, before, shape(t, path))
	files["00002_rebuild.sql"] = &fstest.MapFile{Data: []byte(rebuild + "ALTER TABLE other RENAME TO boards;\n")}
	opened(t, path, counting(files))
	assert.Subset(t, shape(t, path), []string{"version 2", "ash", "elm"})
}

// The newest version is that of the highest number; a name without one is no
// migration.
func TestNewest(t *testing.T) {
	for names, want := range map[string]int64{"00001_a.sql": 1, "00002_a.sql 00010_b.sql 00009_c.sql": 10, "": 0, "00003_a.sql notes.txt": 3, "first.sql": -1} {
		files := fstest.MapFS{}
		for name := range strings.FieldsSeq(names) {
			files[name] = &fstest.MapFile{}
		}
		got, err := Config{migrations: files}.newest()
		assert.Equal(t, want == -1, err != nil, names)
		if err == nil {
			assert.Equal(t, want, got, slices.Collect(maps.Keys(files)))
		}
	}
}
