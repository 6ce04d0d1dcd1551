package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/pricing/date"
)

// december is a list of timber of which every price changes.
const december = "testdata/updates/2026-12-timber.csv"

// written writes a price list to a file and returns its name.
func written(t *testing.T, name string, rows ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte("code,price,unit,currency,effective_from\n"+strings.Join(rows, "\n")+"\n"), 0o600))
	return path
}

// bookOf returns the book of a day as the command prints it.
func bookOf(t *testing.T, db, day string) string {
	t.Helper()
	r := run("", "book", "--db", db, "--as-of", day)
	require.Zero(t, r.status, r.err)
	return r.out
}

// A list is shown and nothing is changed; applied, it is said where to and as what;
// and once more there is nothing left to do.
func TestPricesImport(t *testing.T) {
	db := filepath.Join(t.TempDir(), "new", "demo.db")
	shown := run("", "prices", "import", "--db", db, december)
	require.Zero(t, shown.status, shown.err)
	assert.Empty(t, shown.err)
	lines := strings.Split(shown.out, "\n")
	assert.Equal(t, []string{
		"2026-12-timber.csv: 0 new, 17 changed, 0 unchanged, 0 refused; 0 large moves", "",
		"row  code                   from        old      new      per  change",
		"2    ash-prime-20           2026-12-01  1795.00  1905.00  m3   +6.13 %",
	}, lines[:4])
	assert.Equal(t, "18   tulipwood-select-50    2026-12-01  1460.00  1415.00  m3   -3.08 %", lines[19])
	// 172.87 + 42.22 + 60.71 + 17.94 and 163.17 + 39.81 + 62.58 + 18.49: 0.0882 and
	// 0.0209 m3 of ash and 0.0467 and 0.0138 of tulipwood, worked by hand.
	assert.Regexp(t, `^The demo chest on 2026-12-01: timber 293\.74, was 284\.05 \(\+?9\.69\); price \d+\.00, was 5945\.00$`, lines[21])
	assert.Equal(t, []string{"", "Nothing is changed yet: --apply makes it so. To the quotations that are out it would do what impact --preview 1 shows.", ""}, lines[22:])
	before := bookOf(t, db, "2026-12-01")
	assert.Contains(t, before, `"version":1,`)

	applied := run("", "prices", "import", "--db", db, december, "--apply")
	require.Zero(t, applied.status, applied.err)
	assert.Equal(t, strings.Join(lines[:22], "\n")+"\n\nApplied to "+db+" as price update 1.\n", applied.out)
	after := bookOf(t, db, "2026-12-01")
	assert.Contains(t, after, `"version":2,`)
	assert.NotEqual(t, before, after)
	priced := run("", "price", tallChest, "--json", "--db", db, "--as-of", "2026-12-01")
	price := strings.TrimSuffix(strings.Fields(lines[21])[11], ",")
	assert.Contains(t, priced.out, `"price":"`+price+`"`, "the price that was promised")

	for _, more := range [][]string{nil, {"--apply"}} {
		again := run("", append([]string{"prices", "import", "--db", db, december}, more...)...)
		assert.Zero(t, again.status, again.err)
		assert.Regexp(t, `(?s)^2026-12-timber\.csv: 0 new, 17 changed.*\n\nThis file was applied at \S+Z, as price update 1: nothing is left to do\.\n$`, again.out)
		assert.NotContains(t, again.out, "chest")
	}
	assert.Equal(t, after, bookOf(t, db, "2026-12-01"))
}

// Rows that are refused and large moves stop a list until somebody says otherwise.
func TestPricesImportStops(t *testing.T) {
	db := filepath.Join(t.TempDir(), "demo.db")
	refused, large, both := "moon,1.00,each,GBP,2026-12-01", "castor-50,12.00,each,GBP,2026-12-01", written(t, "both.csv", `knob-35,"4,95",each,GBP,2026-12-01`, "castor-50,12.00,each,GBP,2026-12-01", "ash-prime-27,52.39,ft3,GBP,2026-11-24")
	const stopsRefused = "#: rows refused: 1; mend the file and send it again, or say --skip-refused to go without them\n"
	const stopsLarge = "#: prices that move more than the terms' large_move_percent: 1; look at them, and say --accept-large-moves if they are meant\n"
	start := bookOf(t, db, "2026-12-01")
	for _, tt := range []struct {
		file  string
		flags string
		says  string
	}{
		{written(t, "refused.csv", refused), "", stopsRefused},
		{written(t, "refused.csv", refused), "--accept-large-moves", stopsRefused},
		{written(t, "large.csv", large), "", stopsLarge},
		{written(t, "large.csv", large), "--skip-refused", stopsLarge},
		{both, "", stopsRefused},
		{both, "--accept-large-moves", stopsRefused},
		{both, "--skip-refused", stopsLarge},
	} {
		r := run("", append([]string{"prices", "import", "--db", db, tt.file, "--apply"}, strings.Fields(tt.flags)...)...)
		assert.Equal(t, badInput, r.status)
		assert.Equal(t, tt.says, r.err, "%s %s", tt.file, tt.flags)
		assert.NotContains(t, r.out, "Applied")
	}
	assert.Equal(t, start, bookOf(t, db, "2026-12-01"))
	r := run("", "prices", "import", "--db", db, both, "--apply", "--skip-refused", "--accept-large-moves")
	assert.Zero(t, r.status, r.err)
	lines := strings.Split(r.out, "\n")
	assert.Equal(t, []string{
		"both.csv: 0 new, 2 changed, 0 unchanged, 1 refused; 1 large moves", "",
		"row  code          from        old      new        per   change",
		"3    castor-50     2026-12-01  7.90     12.00      each  +51.9 %  large",
		"4    ash-prime-27  2026-11-24  1850.00  1850.1354  m3    +0.01 %  (52.39 per ft3; 1 ft3 = 0.028316846592 m3)",
		`refused: row 2, price: "4,95" is not a price: write 4.95`,
		"prices that begin before today: 1. Costings of those days change; what was issued stays as it was sent.",
	}, lines[:7])
	assert.Regexp(t, `\nApplied to .*demo\.db as price update \d+\.\n$`, r.out)
	assert.NotEqual(t, start, bookOf(t, db, "2026-12-01"))
}

// What cannot be read is said, and no database is made for it.
func TestPricesImportOfWhatIsNoList(t *testing.T) {
	dir := t.TempDir()
	db := filepath.Join(dir, "demo.db")
	for name, tt := range map[string]struct{ text, want string }{
		"empty.csv":     {"", "row 1: the table is empty: write a header row\n"},
		"semicolon.csv": {"code;price\n", `row 1: there is one column, "code;price": save the table with commas between its cells` + "\n"},
		"columns.csv":   {"code,price,unit,colour\n", "row 1: there is no column \"colour\": the columns are code, price, unit, currency, effective_from, supplier, note\nrow 1: the column \"currency\" is missing: add it to the header row\nrow 1: the column \"effective_from\" is missing: add it to the header row\n"},
		"rows.csv":      {"code,price,unit,currency,effective_from\n", "#: there is no price below the header row: write one a row\n"},
		"latin.csv":     {"code,price,unit,currency,effective_from\n\xe9,1,each,GBP,2026-12-01\n", "#: the table is not UTF-8: save it as UTF-8\n"},
	} {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(tt.text), 0o600))
		r := run("", "prices", "import", "--db", db, path, "--apply")
		assert.Equal(t, badInput, r.status, name)
		assert.Equal(t, tt.want, r.err)
		assert.Empty(t, r.out)
	}
	r := run("", "prices", "import", "--db", db, filepath.Join(dir, "none.csv"))
	assert.Equal(t, badInput, r.status)
	assert.Contains(t, r.err, "none.csv")
	assert.NoFileExists(t, db)
	broken := filepath.Join(dir, "broken.db")
	require.NoError(t, os.WriteFile(broken, []byte(strings.Repeat("no database ", 100)), 0o600))
	for _, args := range [][]string{{"import", december}, {"export", filepath.Join(dir, "out.csv")}} {
		r := run("", append(append([]string{"prices"}, args...), "--db", broken)...)
		assert.Equal(t, failed, r.status, "of the machine, not of what was given")
		assert.Contains(t, r.err, broken+": the database is damaged")
	}
	assert.NoFileExists(t, filepath.Join(dir, "out.csv"))
}

// exported returns the rows of the list that export writes, by column.
func exported(t *testing.T, db string, flags ...string) (rows []map[string]string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "List.CSV")
	r := run("", append([]string{"prices", "export", "--db", db, file}, flags...)...)
	require.Zero(t, r.status, r.err)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	records, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	require.NoError(t, err)
	for _, record := range records[1:] {
		row := make(map[string]string)
		for i, column := range records[0] {
			row[column] = record[i]
		}
		rows = append(rows, row)
	}
	assert.Regexp(t, fmt.Sprintf(`^Wrote %d prices of 20\d\d-\d\d-\d\d from %s to %s\.\n$`, len(rows), db, file), r.out)
	return rows
}

// The prices of a day are written, all or of one class, with the day they are to
// hold from.
func TestPricesExport(t *testing.T) {
	db := filepath.Join(t.TempDir(), "demo.db")
	rows := exported(t, db)
	b, err := catalog.Starter(date.MustParse("2026-11-25"))
	require.NoError(t, err)
	d, count := b.Data(), 0
	for _, timber := range d.Timbers {
		count += len(timber.Thicknesses)
	}
	require.Len(t, rows, count+len(d.Sheets)+len(d.Supplies)+len(d.Ironmongery)+len(d.Labour))
	find := func(rows []map[string]string, code string) map[string]string {
		for _, r := range rows {
			if r["code"] == code {
				return r
			}
		}
		return nil
	}
	want := map[string]string{"code": "ash-prime-27", "price": "1850.00", "unit": "m3", "currency": "GBP", "effective_from": "2026-11-25", "supplier": "", "note": "European ash, prime, 27 mm sawn"}
	assert.Equal(t, want, find(rows, "ash-prime-27"))
	want["effective_from"] = "2026-12-01"
	assert.Equal(t, want, find(exported(t, db, "--from", "2026-12-01"), "ash-prime-27"))
	want["price"], want["effective_from"] = "1790.00", "2026-06-30"
	assert.Equal(t, want, find(exported(t, db, "--as-of", "2026-06-30"), "ash-prime-27"))
	want["price"], want["effective_from"] = "", "2026-12-01"
	assert.Equal(t, want, find(exported(t, db, "--as-of", "2026-01-04", "--from", "2026-12-01"), "ash-prime-27"))
	for class, n := range map[string]int{"timber": count, "sheet": len(d.Sheets), "supply": len(d.Supplies), "ironmongery": len(d.Ironmongery), "labour": len(d.Labour)} {
		assert.Len(t, exported(t, db, "--class", class), n, class)
	}
	dir := t.TempDir()
	for _, tt := range []struct {
		args   []string
		status int
		says   string
	}{
		{[]string{filepath.Join(dir, "list.txt")}, badInput, "name a file that ends in .csv or .xlsx"},
		{[]string{filepath.Join(dir, "list")}, badInput, "name a file that ends in .csv or .xlsx"},
		{[]string{}, badInput, "expected"},
		{[]string{filepath.Join(dir, "list.csv"), "--class", "rule"}, badInput, "--class"},
		{[]string{filepath.Join(dir, "list.csv"), "--as-of", "yesterday"}, badInput, "--as-of: "},
		{[]string{filepath.Join(dir, "list.csv"), "--from", "2026-02-30"}, badInput, "--from: "},
		{[]string{filepath.Join(dir, "list.csv"), "--db", ""}, badInput, "the name of the database is empty"},
		{[]string{filepath.Join(dir, "none", "list.csv")}, failed, "none"},
	} {
		r := run("", append([]string{"prices", "export", "--db", db}, tt.args...)...)
		assert.Equal(t, tt.status, r.status, "%v", tt.args)
		assert.Contains(t, r.err, tt.says)
		assert.Empty(t, r.out)
	}
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
}

// What is exported of a day, in either form, is all unchanged when it is imported
// again: of today, of days on which other prices hold, and of one before there is any.
func TestExportedPricesAreUnchanged(t *testing.T) {
	db := filepath.Join(t.TempDir(), "demo.db")
	require.Zero(t, run("", "prices", "import", "--db", db, december, "--apply").status)
	for i, flags := range []string{"", "--as-of 2026-12-01", "--as-of 2026-04-01", "--as-of 2026-01-04", "--from 2026-11-30", "--class sheet --as-of 2026-08-15"} {
		for _, form := range []string{"csv", "xlsx"} {
			file := filepath.Join(t.TempDir(), fmt.Sprintf("list-%d.%s", i, form))
			r := run("", append([]string{"prices", "export", "--db", db, file}, strings.Fields(flags)...)...)
			require.Zero(t, r.status, r.err)
			count := strings.Fields(r.out)[1] // "Wrote 150 prices of"
			back := run("", "prices", "import", "--db", db, file, "--apply")
			assert.Zero(t, back.status, back.err)
			assert.Contains(t, back.out, fmt.Sprintf("list-%d.%s: 0 new, 0 changed, %s unchanged, 0 refused; 0 large moves\n", i, form, count), flags)
		}
	}
}

// Without the pieces of the demo chest in the book there is nothing to compare.
func TestTheDemoChestMayBeGone(t *testing.T) {
	db := filepath.Join(t.TempDir(), "demo.db")
	c, err := catalog.Open(t.Context(), db)
	require.NoError(t, err)
	for _, class := range catalog.Classes() {
		if class.Name == "ironmongery" {
			at := catalog.Place{Class: class, Code: "knob-35", From: date.MustParse("2026-12-01")}
			require.NoError(t, c.Retire(t.Context(), at, func([]byte) error { return nil }))
		}
	}
	require.NoError(t, c.Close())
	r := run("", "prices", "import", "--db", db, december)
	assert.Zero(t, r.status, r.err)
	assert.Contains(t, r.out, "\nThe demo chest cannot be priced from this book, to compare.\n\nNothing is changed yet")
}

// The bar stands in the place of the one before, and is gone at the end.
func TestBar(t *testing.T) {
	for _, tt := range []struct {
		done, full int
		end        string
	}{{499, 0, ""}, {500, 1, ""}, {10_000, 20, ""}, {19_999, 39, ""}, {20_000, 40, "\r\x1b[K"}} {
		var out bytes.Buffer
		drawBar(&out, tt.done, 20_000)
		assert.Equal(t, fmt.Sprintf("\r[%s%s] %d of 20000 rows%s", strings.Repeat("#", tt.full), strings.Repeat(".", 40-tt.full), tt.done, tt.end), out.String())
	}
}

// Only on a terminal, and only for a long list, is it drawn.
func TestBarNeedsATerminal(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "log"))
	require.NoError(t, err)
	defer file.Close()
	out, in, err := os.Pipe()
	require.NoError(t, err)
	defer out.Close()
	defer in.Close()
	assert.Nil(t, process{err: file}.bar(20_000))
	assert.Nil(t, process{err: in}.bar(20_000))
	assert.Nil(t, process{err: new(bytes.Buffer)}.bar(20_000))
	terminal, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	require.NoError(t, err)
	defer terminal.Close()
	assert.Nil(t, process{err: terminal}.bar(long-1))
	assert.NotNil(t, process{err: terminal}.bar(long))
}
