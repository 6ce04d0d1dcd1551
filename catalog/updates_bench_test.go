package catalog_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// many is how many rows a list may have.
const many = 20_000

// manyItems is the statements that make as many items, each with a price.
var manyItems = []string{
	`INSERT INTO entries (class, code, effective_from, retired, doc)
		WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 20000)
		SELECT 'ironmongery', printf('demo-%05d', i), '', 0, printf('{"code":"demo-%05d","description":"Demo %05d","mass":0.1}', i, i) FROM n`,
	`INSERT INTO prices (code, effective_from, rate, unit)
		WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 20000)
		SELECT printf('demo-%05d', i), '2026-01-05', 100000, 'each' FROM n`,
}

// stocked returns a catalogue of that many items more than the starter.
func stocked(b *testing.B) *catalog.Catalog {
	b.Helper()
	c, s := stored(b)
	require.NoError(b, s.Write(b.Context(), func(tx store.Tx) error {
		for _, statement := range manyItems {
			if err := tx.Exec(statement).Error; err != nil {
				return err
			}
		}
		return nil
	}))
	storetest.Change(b, s, "UPDATE catalogue SET changed_at = changed_at")
	of(b, c, today)
	return c
}

// manyRows returns the n-th list: a price of each of the items, none as in another.
func manyRows(n int) []byte {
	var list strings.Builder
	list.WriteString("code,price,unit,currency,effective_from,supplier,note\n")
	for i := range many {
		fmt.Fprintf(&list, "demo-%05d,10.%02d%02d,each,GBP,2026-12-01,ironmonger,invented\n", i+1, n+1, i%100)
	}
	return []byte(list.String())
}

// A clock adds up how long something takes.
type clock time.Duration

func (c *clock) time(f func()) {
	began := time.Now()
	f()
	*c += clock(time.Since(began))
}

func (c clock) ms(n int) float64 { return time.Duration(c).Seconds() * 1000 / float64(n) }

// BenchmarkApply compares applying a list of 20,000 prices with what the sqlite3
// program takes to import its rows into a table with the key of the prices, as
// durably. Three times that is the aim. It takes six to seven: the rows are judged
// anew, two tables are written, each as long as an import takes, and what became of
// every row.
func BenchmarkApply(b *testing.B) {
	program, err := exec.LookPath("sqlite3")
	require.NoError(b, err, "the sqlite3 program is what this compares with: install it")
	c, dir := stocked(b), b.TempDir()
	var apply, load clock
	n := 0
	for ; b.Loop(); n++ {
		list := manyRows(n)
		u := previewed(b, c, string(list))
		require.Equal(b, many, u.Summary.Changed)
		apply.time(func() {
			_, err = c.Apply(b.Context(), u.ID, catalog.Consent{}, date.MustParse(today))
		})
		require.NoError(b, err)
		of(b, c, today)
		cmd := importing(b, program, dir, list)
		var out []byte
		load.time(func() { out, err = cmd.CombinedOutput() })
		require.NoError(b, err, "%s", out)
		require.Equal(b, "wal\n20000\n", string(out))
	}
	b.ReportMetric(apply.ms(n), "ms/apply")
	b.ReportMetric(load.ms(n), "ms/import")
	b.ReportMetric(apply.ms(n)/load.ms(n), "apply/import")
}

// importing returns the program about to import a list into a new file, with the
// journal and the care of a store.
func importing(b *testing.B, program, dir string, list []byte) *exec.Cmd {
	b.Helper()
	file, csv := filepath.Join(dir, fmt.Sprintf("%d.db", time.Now().UnixNano())), filepath.Join(dir, "list.csv")
	require.NoError(b, os.WriteFile(csv, list, 0o600))
	cmd := exec.Command(program, file)
	cmd.Stdin = strings.NewReader(`PRAGMA journal_mode = WAL;
PRAGMA synchronous = FULL;
CREATE TABLE list (code TEXT, price TEXT, unit TEXT, currency TEXT, effective_from TEXT, supplier TEXT, note TEXT, PRIMARY KEY (code, effective_from)) WITHOUT ROWID;
.import --csv --skip 1 ` + csv + ` list
SELECT count(*) FROM list;
`)
	return cmd
}

// BenchmarkPreview compares finding out what a list of 20,000 prices would change with
// reading its rows. Three times that is the aim. It takes six to nine: the rows are
// kept, as JSON, and every price there is is read.
func BenchmarkPreview(b *testing.B) {
	c := stocked(b)
	var preview, read clock
	n := 0
	for ; b.Loop(); n++ {
		list := manyRows(n)
		var rows []wire.Row
		var err error
		read.time(func() {
			rows, err = wire.Table(list, []string{"code", "price", "unit", "currency", "effective_from"}, []string{"supplier", "note"})
		})
		require.NoError(b, err)
		var u catalog.Update
		preview.time(func() {
			u, _, err = c.Preview(b.Context(), catalog.List{File: "list.csv", Text: list, Rows: rows}, date.MustParse(today))
		})
		require.NoError(b, err)
		require.Equal(b, many, u.Summary.Changed)
	}
	b.ReportMetric(preview.ms(n), "ms/preview")
	b.ReportMetric(read.ms(n), "ms/read")
	b.ReportMetric(preview.ms(n)/read.ms(n), "preview/read")
}
