package main

import (
	"bufio"
	"database/sql"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store"
)

// many is how many rows the list has that is being applied when the program is killed.
const many = 20_000

// stocked makes a database of as many items, each with a price, and a list that
// changes all of them, and returns their bytes.
func stocked(t *testing.T) (database, list []byte) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "prices.db")
	c, err := catalog.Open(t.Context(), path)
	require.NoError(t, err)
	require.NoError(t, c.Close())
	s, err := store.Open(t.Context(), path, store.Config{Filled: func(store.Tx) (bool, error) { return true, nil }})
	require.NoError(t, err)
	require.NoError(t, s.Write(t.Context(), func(tx store.Tx) error {
		for _, statement := range []string{
			`INSERT INTO entries (class, code, effective_from, retired, doc) WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 20000)
				SELECT 'ironmongery', printf('demo-%05d', i), '', 0, printf('{"code":"demo-%05d","description":"Demo","mass":0.1}', i) FROM n`,
			`INSERT INTO prices (code, effective_from, rate, unit) WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 20000)
				SELECT printf('demo-%05d', i), '2026-01-05', 100000, 'each' FROM n`,
			`UPDATE catalogue SET version = 2`,
		} {
			if err := tx.Exec(statement).Error; err != nil {
				return err
			}
		}
		return nil
	}))
	require.NoError(t, s.Close())
	database, err = os.ReadFile(path)
	require.NoError(t, err)
	var rows strings.Builder
	rows.WriteString("code,price,unit,currency,effective_from\n")
	tomorrow := time.Now().AddDate(0, 0, 1).Format(time.DateOnly)
	for i := range many {
		fmt.Fprintf(&rows, "demo-%05d,20.00,each,GBP,%s\n", i+1, tomorrow)
	}
	return database, []byte(rows.String())
}

// importing starts applying the list and returns when it has been previewed, if it is
// asked to wait for that. End waits until it has ended, or kills it.
func (b built) importing(t *testing.T, wait bool) (end func(kill bool), begun time.Time) {
	t.Helper()
	c := b.command(nil, "prices", "import", "list.csv", "--apply", "--accept-large-moves")
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	begun = time.Now()
	require.NoError(t, c.Start())
	lines := bufio.NewReader(out)
	if wait {
		line, err := lines.ReadString('\n')
		require.NoError(t, err)
		assert.Equal(t, "list.csv: 0 new, 20000 changed, 0 unchanged, 0 refused; 20000 large moves\n", line)
		begun = time.Now()
	}
	drained := make(chan struct{})
	go func() {
		_, _ = io.Copy(io.Discard, lines)
		close(drained)
	}()
	return func(kill bool) {
		if kill {
			_ = c.Process.Kill() // it may have ended
		}
		<-drained
		_ = c.Wait()
	}, begun
}

// Killed at any moment of applying a list, the program leaves all of the update or
// nothing of it, and the next one makes it whole.
func TestKilledWhileItImports(t *testing.T) {
	b := build(t)
	database, list := stocked(t)
	fresh := func() {
		b.folder = t.TempDir()
		require.NoError(t, os.WriteFile(b.file("prices.db"), database, 0o600))
		require.NoError(t, os.WriteFile(b.file("list.csv"), list, 0o600))
	}
	fresh()
	end, begun := b.importing(t, true)
	end(false)
	rest := time.Since(begun)
	require.Equal(t, "after", b.imported(t))
	landed := map[string]int{}
	for n := range *kills {
		fresh()
		end, _ := b.importing(t, n%4 > 0) // of four, one from the start on, three when it is about to be applied
		time.Sleep(time.Duration(rand.Float64() * 1.1 * float64(rest)))
		end(true)
		landed[b.imported(t)]++
		r := b.run(t, "prices", "import", "list.csv", "--apply", "--accept-large-moves")
		require.Zero(t, r.status, r.err)
		assert.Equal(t, "after", b.imported(t))
	}
	t.Logf("%d kills over an update of %s from its preview on: %v", *kills, rest, landed)
	if *kills >= 30 {
		for _, stage := range []string{"before", "during", "after"} {
			assert.Positive(t, landed[stage], "no kill landed %s it was kept and applied", stage)
		}
	}
}

// imported says how far an import has come: before its list was kept, during its
// being applied, after it. It checks that it is one of these wholly, and the file.
func (b built) imported(t *testing.T) string {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+b.file("prices.db")+"?_busy_timeout=5000")
	require.NoError(t, err)
	defer db.Close()
	tx, err := db.BeginTx(t.Context(), &sql.TxOptions{ReadOnly: true})
	require.NoError(t, err)
	defer func() { assert.NoError(t, tx.Rollback()) }()
	var is struct{ kept, applied, prices, olds, changes, version int }
	require.NoError(t, tx.QueryRow(`SELECT (SELECT count(*) FROM updates), (SELECT count(*) FROM updates WHERE applied_at IS NOT NULL AND json_array_length(result, '$.rows') = 20000),
		(SELECT count(*) FROM prices WHERE update_id = 1 AND rate = 200000), (SELECT count(*) FROM update_prices WHERE old_rate IS NULL), (SELECT count(*) FROM changes), (SELECT version FROM catalogue)`).
		Scan(&is.kept, &is.applied, &is.prices, &is.olds, &is.changes, &is.version))
	var all int
	require.NoError(t, tx.QueryRow("SELECT count(*) FROM prices WHERE update_id IS NOT NULL").Scan(&all))
	require.Equal(t, is.prices, all)
	var found string
	require.NoError(t, tx.QueryRow("PRAGMA integrity_check").Scan(&found))
	require.Equal(t, "ok", found)
	switch {
	case is.kept == 0:
		require.Equal(t, []int{0, 0, 0, 0, 2}, []int{is.applied, is.prices, is.olds, is.changes, is.version})
		return "before"
	case is.prices == 0:
		require.Equal(t, []int{1, 0, 0, 0, 2}, []int{is.kept, is.applied, is.olds, is.changes, is.version})
		return "during"
	}
	require.Equal(t, []int{1, 1, many, many, 1, 3}, []int{is.kept, is.applied, is.prices, is.olds, is.changes, is.version})
	return "after"
}
