package store_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
)

func TestPathsOfAllKinds(t *testing.T) {
	t.Parallel()
	for _, name := range []string{
		"plain.db", "with space.db", "query?mode=memory&cache=shared.db", "frag#ment.db", "per%20cent%.db", "a+b&c=d;e.db",
		"Möbel £ 木工.db", "apostrophe's \"and\" quotes.db", `back\slash.db`, "file:x.db", "bytes\xff.db", "-dash.db", "no ending",
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "a folder of "+name)
			path := filepath.Join(dir, name)
			change(t, path, "UPDATE catalogue SET version = 5")
			assert.EqualValues(t, 5, storetest.Version(t, storetest.Open(t, path)))
			copied := filepath.Join(dir, "copy of "+name)
			require.NoError(t, store.Backup(t.Context(), path, copied))
			var names []string
			entries, err := os.ReadDir(dir)
			require.NoError(t, err)
			for _, e := range entries {
				names = append(names, e.Name())
			}
			assert.ElementsMatch(t, []string{name, name + ".lock", name + "-wal", name + "-shm", "copy of " + name}, names)
		})
	}
}

func TestARelativePathIsOfTheWorkingFolder(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	storetest.Change(t, storetest.Open(t, "new/reckoner.db"), "UPDATE catalogue SET currency = 'EUR'")
	require.NoError(t, store.Backup(t.Context(), "new/reckoner.db", "copy.db"))
	kept, err := store.Restore(t.Context(), "copy.db", "other.db")
	require.NoError(t, err)
	assert.Empty(t, kept)
	assert.Equal(t, rows(t, filepath.Join(dir, "new/reckoner.db")), rows(t, filepath.Join(dir, "other.db")))
}

// What a workshop pays for is for the eyes of whoever runs the program.
func TestOnlyItsOwnerReadsAFile(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "deep", "er")
	path := filepath.Join(dir, "reckoner.db")
	storetest.Change(t, storetest.Open(t, path), "UPDATE catalogue SET currency = 'EUR'")
	require.NoError(t, store.Backup(t.Context(), path, path+".copy"))
	require.NoError(t, filepath.WalkDir(top, func(name string, e os.DirEntry, err error) error {
		require.NoError(t, err)
		info, err := e.Info()
		require.NoError(t, err)
		want := os.FileMode(0o600)
		if e.IsDir() {
			want = 0o700 | os.ModeDir
		}
		if name != top {
			assert.Equal(t, want, info.Mode(), name)
		}
		return nil
	}))
}

func TestAFileIsFilledOnceInItsLife(t *testing.T) {
	path, fills := storetest.Path(t), 0
	c := storetest.Config()
	fill := c.Fill
	c.Fill = func(tx store.Tx) error {
		fills++
		if fills == 1 {
			return errors.Join(fill(tx), errors.New("something was wrong"))
		}
		return fill(tx)
	}
	_, err := store.Open(t.Context(), path, c)
	assert.ErrorContains(t, err, "something was wrong")
	for range 3 {
		s, err := store.Open(t.Context(), path, c)
		require.NoError(t, err)
		assert.EqualValues(t, 1, storetest.Version(t, s))
		require.NoError(t, s.Close())
	}
	assert.Equal(t, 2, fills, "what failed left nothing, so it was filled again; then never more")
}

// The work of making a file ready is not part of waiting for others to do it.
func TestFillingMayTakeLongerThanWaiting(t *testing.T) {
	c := storetest.Config()
	c.Wait = time.Millisecond
	fill := c.Fill
	c.Fill = func(tx store.Tx) error {
		for began := time.Now(); time.Since(began) <= c.Wait; {
			if err := tx.Exec("SELECT 1").Error; err != nil {
				return err
			}
		}
		return fill(tx)
	}
	s, err := store.Open(t.Context(), storetest.Path(t), c)
	require.NoError(t, err)
	assert.NoError(t, s.Close())
}

func TestOpeningStopsWhenItIsToldTo(t *testing.T) {
	past, cancel := context.WithDeadline(t.Context(), time.Now().Add(-time.Hour))
	defer cancel()
	_, err := store.Open(past, storetest.Path(t), storetest.Config())
	assert.ErrorIs(t, err, context.DeadlineExceeded)
	assert.NotErrorIs(t, err, store.ErrInUse, "nobody had it")
}

func TestATransactionIsOfOneInstant(t *testing.T) {
	now := time.Date(2026, 11, 25, 10, 30, 0, 123_456_789, time.FixedZone("", 3600))
	asked := 0
	c := storetest.Config()
	c.Now = func() time.Time {
		asked++
		return now.Add(time.Duration(asked) * time.Hour)
	}
	s, err := store.Open(t.Context(), storetest.Path(t), c)
	require.NoError(t, err)
	defer s.Close()
	asked = 0
	for _, transact := range []func(context.Context, func(store.Tx) error) error{s.Write, s.Read, s.Write} {
		before := asked
		require.NoError(t, transact(t.Context(), func(tx store.Tx) error {
			assert.Equal(t, before+1, asked)
			assert.Equal(t, now.Add(time.Duration(asked)*time.Hour).Truncate(time.Microsecond).UTC(), tx.Now.Time())
			return nil
		}))
		assert.Equal(t, before+1, asked)
	}
	storetest.Change(t, s, "UPDATE catalogue SET currency = 'EUR'")
	var at store.Instant
	require.NoError(t, s.Glance(t.Context()).Raw("SELECT changed_at FROM catalogue").Row().Scan(&at))
	assert.Equal(t, time.Date(2026, 11, 25, 13, 30, 0, 123_456_000, time.UTC), at.Time())
}

func TestWhatFailsLeavesNothing(t *testing.T) {
	s := storetest.Open(t, storetest.Path(t))
	sad := errors.New("sad")
	for name, tt := range map[string]struct {
		after func(cancel func()) error
		want  error
	}{
		"an error":            {func(func()) error { return sad }, sad},
		"a context cancelled": {func(cancel func()) error { cancel(); return nil }, context.Canceled},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			err := s.Write(ctx, func(tx store.Tx) error {
				require.NoError(t, tx.Exec("UPDATE catalogue SET version = 99").Error)
				return tt.after(cancel)
			})
			assert.ErrorIs(t, err, tt.want)
			assert.EqualValues(t, 1, storetest.Version(t, s))
		})
	}
	assert.Panics(t, func() {
		_ = s.Write(t.Context(), func(tx store.Tx) error {
			require.NoError(t, tx.Exec("UPDATE catalogue SET version = 99").Error)
			panic("sad")
		})
	})
	assert.EqualValues(t, 1, storetest.Version(t, s))
	storetest.Change(t, s, "UPDATE catalogue SET currency = 'EUR'")
	assert.EqualValues(t, 2, storetest.Version(t, s), "and the next goes well")
}

// A statement that runs when the context is cancelled stops.
func TestACancelledContextStopsAStatement(t *testing.T) {
	s := storetest.Open(t, storetest.Path(t))
	for _, transact := range []func(context.Context, func(store.Tx) error) error{s.Write, s.Read} {
		ctx, cancel := context.WithCancel(t.Context())
		err := transact(ctx, func(tx store.Tx) error {
			time.AfterFunc(10*time.Millisecond, cancel)
			return tx.Exec("WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT count(*) FROM n").Error
		})
		assert.Error(t, err)
		assert.ErrorIs(t, ctx.Err(), context.Canceled)
	}
	storetest.Change(t, s, "UPDATE catalogue SET currency = 'EUR'")
}

// A writer that waits for another gives up when its context ends.
func TestWaitingForAWriterCanBeStopped(t *testing.T) {
	s := storetest.Open(t, storetest.Path(t))
	require.NoError(t, s.Write(t.Context(), func(store.Tx) error {
		ctx, cancel := context.WithTimeout(t.Context(), 5*time.Millisecond)
		defer cancel()
		err := s.Write(ctx, func(store.Tx) error { panic("it must not get here") })
		assert.ErrorIs(t, err, context.DeadlineExceeded)
		return nil
	}))
}

func TestAReadIsOfOneMoment(t *testing.T) {
	path := storetest.Path(t)
	s, other := storetest.Open(t, path), storetest.Open(t, path)
	version := func(tx store.Tx) (v int) {
		require.NoError(t, tx.Raw("SELECT version FROM catalogue").Row().Scan(&v))
		return v
	}
	require.NoError(t, s.Read(t.Context(), func(tx store.Tx) error {
		assert.Equal(t, 1, version(tx))
		storetest.Change(t, s, "UPDATE catalogue SET currency = 'EUR'")
		storetest.Change(t, other, "INSERT INTO prices (code, effective_from, rate, unit) VALUES ('a', '2026-01-01', 1, 'each')")
		assert.Equal(t, 1, version(tx))
		var n int
		require.NoError(t, tx.Raw("SELECT count(*) FROM prices").Row().Scan(&n))
		assert.Zero(t, n)
		assert.EqualValues(t, 3, storetest.Version(t, s), "while another reads what is")
		return nil
	}))
	require.NoError(t, s.Read(t.Context(), func(tx store.Tx) error {
		assert.Equal(t, 3, version(tx))
		return nil
	}))
}

func TestInstants(t *testing.T) {
	for _, at := range []time.Time{time.Unix(0, 0), time.UnixMicro(-1), time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(9999, 12, 31, 23, 59, 59, 999_999_999, time.UTC)} {
		assert.Equal(t, time.UnixMicro(at.UnixMicro()).UTC(), store.InstantOf(at).Time())
	}
	assert.EqualValues(t, 1_700_000_000_000_001, store.InstantOf(time.Unix(1_700_000_000, 1_999)))
}
