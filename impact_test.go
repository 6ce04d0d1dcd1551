package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/date"
)

// offeredOn makes a database with the demo quotes and returns its name: a chest and
// benches in ash and drawer boxes in tulipwood that were sent, an errand that was sent,
// on whose hour depends what it costs, and a chest with castors that is a draft.
func offeredOn(t *testing.T) (db string) {
	t.Helper()
	db = filepath.Join(t.TempDir(), "reckoner.db")
	kept, err := catalog.Open(t.Context(), db)
	require.NoError(t, err)
	defer func() { require.NoError(t, kept.Close()) }()
	l, today := quotes.New(kept), date.MustParse("2026-11-25")
	var drafts []quotes.Draft
	for _, name := range []string{"landing-chest", "village-hall", "kitchen-drawers"} {
		text, err := os.ReadFile("testdata/quotes/" + name + ".json")
		require.NoError(t, err)
		drafts = append(drafts, draftIn(t, string(text)))
	}
	drafts = append(drafts,
		draftIn(t, `{"customer": {"name": "Ada\nField"}, "title": "An\n\nerrand", "request": {"pieces": [{"title": "Delivery", "kind": "service", "service": {"delivery": 10, "drops": 1}}]}}`),
		draftIn(t, `{"customer": {"name": "Ada Field"}, "title": "A\ntrolley", "request": {"pieces": [{"title": "Trolley", "kind": "parts", "timbers": {"show": "oak-prime"},
			"ironmongery": [{"code": "castor-50", "per": "piece", "each": 4}], "parts": {"parts": [{"name": "Board", "length": 600, "width": 400, "thickness": 22, "material": "show"}]}}]}}`))
	for i, d := range drafts {
		a, err := l.Create(t.Context(), d, today, quotes.Once{})
		require.NoError(t, err)
		if i == len(drafts)-1 {
			continue
		}
		_, err = l.Issue(t.Context(), quotes.Change{Number: a.Number, Match: func(string) error { return nil }, Today: today})
		require.NoError(t, err)
	}
	return db
}

func draftIn(t *testing.T, text string) (d quotes.Draft) {
	t.Helper()
	require.NoError(t, wire.Decode([]byte(text), &d))
	return d
}

// withoutCastors retires the castors of a database from a day.
func withoutCastors(t *testing.T, db, from string) {
	t.Helper()
	kept, err := catalog.Open(t.Context(), db)
	require.NoError(t, err)
	for _, class := range catalog.Classes() {
		if class.Name == "ironmongery" {
			require.NoError(t, kept.Retire(t.Context(), catalog.Place{Class: class, Code: "castor-50", From: date.MustParse(from)}, func([]byte) error { return nil }))
		}
	}
	require.NoError(t, kept.Close())
}

// The benches buy 0.0808, 0.0262, 0.1148 and 0.4517 m3 of ash, which is 110.00, 115.00,
// 120.00 and 120.00 dearer: 8.88, 3.01, 13.77 and 54.20 of their amounts, 79.86 in all.
// Contingency goes from 5 % of 5906.05, 295.30, to 5 % of 5985.91, 299.30: they lose
// 83.86, worked by hand. (145.04 + 49.91 + 225.01
// + 919.21 of ash and 188.49 of the chest's are 1527.66.) An errand has no timber.
func TestImpactIsTold(t *testing.T) {
	db := offeredOn(t)
	impact := func(args ...string) string {
		t.Helper()
		r := run("", append([]string{"impact", "--db", db}, args...)...)
		require.Zero(t, r.status, r.err)
		assert.Empty(t, r.err)
		return r.out
	}
	const now = `The quotes that are out, at the prices of 2026-11-25: 4

        quote  valid until  old cost  new cost  loss    quoted  would be  margin left      %  for
  2026-0001-1   2026-12-25   4267.43   4267.43  0.00   5335.00   5335.00      1067.57  20.01  Mabel Thornley: A tall chest for the landing, in ash
  2026-0002-1   2027-01-24   6201.35   6201.35  0.00   7441.92   7441.92      1240.57  16.67  Nether Tansy Village Hall: Eight ash benches for the hall
  2026-0003-1   2026-12-25   1589.06   1589.06  0.00   1987.00   1987.00       397.94  20.03  Osric Pell: Drawer boxes for a kitchen
  2026-0004-1   2026-12-25     75.69     75.69  0.00     95.00     95.00        19.31  20.33  Ada Field: An errand
          all               12133.53  12133.53  0.00  14858.92  14858.92      2725.39
`
	assert.Equal(t, now, impact())
	const then = `
        quote  valid until  old cost  new cost    loss    quoted  would be  margin left      %  for
  2026-0002-1   2027-01-24   6201.35   6285.21  +83.86   7441.92   7549.44      1156.71  15.54  Nether Tansy Village Hall: Eight ash benches for the hall
  2026-0001-1   2026-12-25   4267.43   4277.10   +9.67   5335.00   5347.00      1057.90  19.83  Mabel Thornley: A tall chest for the landing, in ash
  2026-0004-1   2026-12-25     75.69     75.69    0.00     95.00     95.00        19.31  20.33  Ada Field: An errand
  2026-0005-1        draft    270.78    270.78    0.00    339.00    339.00        68.22  20.12  Ada Field: A trolley
  2026-0003-1   2026-12-25   1589.06   1585.04   -4.02   1987.00   1982.00       401.96  20.23  Osric Pell: Drawer boxes for a kitchen
          all               12404.31  12493.82  +89.51  15197.92  15312.44      2704.10
`
	const timbers = `
  timber            quotes  old rates  new rates    loss
  ash-prime              2    1527.66    1618.75  +91.09
  tulipwood-select       2     195.78     189.93   -5.85
`
	require.Zero(t, run("", "prices", "import", "--db", db, december).status)
	list := func(status string) string {
		return "\nWhat price update 1 (2026-12-timber.csv, " + status + ") costs them in timber: +85.24\n" + timbers
	}
	assert.Equal(t, "The quotes that are out, at the prices of 2026-12-01 if price update 1 is applied: 5\n"+then+list("previewed"), impact("--preview", "1"))
	require.Zero(t, run("", "prices", "import", "--db", db, december, "--apply").status)
	assert.Equal(t, "The quotes that are out, at the prices of 2026-12-01: 5\n"+then+list("applied"), impact("--as-of", "2026-12-01"))
	assert.Equal(t, now+list("applied"), impact())

	withoutCastors(t, db, "2026-12-01")
	assert.Equal(t, `The quotes that are out, at the prices of 2026-12-01: 0

cannot be priced: 2026-0005-1 A trolley: "castor-50" is no ironmongery of the book: check its spelling, or name another

What price update 1 (2026-12-timber.csv, applied) costs them in timber: 0.00
`, impact("--as-of", "2026-12-01", "--timber", "walnut-prime"))
	assert.Contains(t, impact("--timber", "ash-prime-52", "--update", "1"), "2026-11-25: 1\n")
	assert.Contains(t, impact("--as-of", "9999-12-31"), "the prices of 9999-12-31: 4\n")
}

// With --out the list is written too, as the exports write it, over what was there.
func TestImpactIsWritten(t *testing.T) {
	db, dir := offeredOn(t), t.TempDir()
	require.Zero(t, run("", "prices", "import", "--db", db, december, "--apply").status)
	kept, err := catalog.Open(t.Context(), db)
	require.NoError(t, err)
	all, err := quotes.New(kept).Impact(t.Context(), quotes.Question{Today: date.MustParse("2026-11-25"), AsOf: date.MustParse("2026-12-01")})
	require.NoError(t, err)
	require.NoError(t, kept.Close())
	said := run("", "impact", "--db", db, "--as-of", "2026-12-01").out
	for name, draw := range map[string]func(*bytes.Buffer, pricing.Impact) error{
		"list.csv":  func(w *bytes.Buffer, i pricing.Impact) error { return exports.ImpactCSV(w, i) },
		"list.CSV":  func(w *bytes.Buffer, i pricing.Impact) error { return exports.ImpactCSV(w, i) },
		"list.xlsx": func(w *bytes.Buffer, i pricing.Impact) error { return exports.ImpactXLSX(w, i) },
	} {
		file := filepath.Join(dir, name)
		for range 2 {
			r := run("", "impact", "--db", db, "--as-of", "2026-12-01", "--out", file)
			require.Zero(t, r.status, r.err)
			assert.Equal(t, said+"\nWrote "+file+".\n", r.out)
		}
		var want bytes.Buffer
		require.NoError(t, draw(&want, all))
		got, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.Equal(t, want.Bytes(), got, name)
	}
	nowhere := filepath.Join(dir, "none", "list.csv")
	r := run("", "impact", "--db", db, "--out", nowhere)
	assert.Equal(t, failed, r.status)
	assert.Contains(t, r.err, filepath.Dir(nowhere))
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, left, 3)
}

// What is wrong with the question is said, and nothing is written: above all no
// database where there is none.
func TestImpactOfBadInput(t *testing.T) {
	db, dir := offeredOn(t), t.TempDir()
	for _, tt := range []struct{ args, says string }{
		{"--out list.txt", "#: list.txt: name a file that ends in .csv or .xlsx\n"},
		{"--out list", "#: list: name a file that ends in .csv or .xlsx\n"},
		{"--out .xls", "#: .xls: name a file that ends in .csv or .xlsx\n"},
		{"--preview 1", "#: there is no price update 1\n"},
		{"--update 7 --out " + filepath.Join(dir, "list.csv"), "#: there is no price update 7\n"},
		{"--preview=-1", "#: there is no price update -1\n"},
		{"--timber ash-pirme", "#: there is no timber with the code \"ash-pirme\" on 2026-11-25\n"},
		{"--as-of yesterday", "#: --as-of: write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not \"yesterday\"\n"},
	} {
		r := run("", append([]string{"impact", "--db", db}, strings.Fields(tt.args)...)...)
		assert.Equal(t, badInput, r.status, tt.args)
		assert.Equal(t, tt.says, r.err)
		assert.Empty(t, r.out)
	}
	for _, args := range []string{"--preview one", "--update 1.5", "everything", "--db="} {
		r := run("", append([]string{"impact", "--db", db}, strings.Fields(args)...)...)
		assert.Equal(t, badInput, r.status, args)
		assert.NotEmpty(t, r.err)
		assert.Empty(t, r.out)
	}
	none := filepath.Join(dir, "folder", "none.db")
	r := run("", "impact", "--db", none)
	assert.Equal(t, badInput, r.status)
	assert.Equal(t, "#: stat "+none+": no such file or directory\n", r.err)
	assert.NoDirExists(t, filepath.Dir(none))
	broken := filepath.Join(dir, "broken.db")
	require.NoError(t, os.WriteFile(broken, []byte(strings.Repeat("no database ", 100)), 0o600))
	r = run("", "impact", "--db", broken)
	assert.Equal(t, failed, r.status, "of the machine, not of what was given")
	assert.Contains(t, r.err, broken+": the database is damaged")
	left, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	assert.Equal(t, []string{broken, broken + ".lock"}, left, "nothing was written")
}
