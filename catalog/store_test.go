package catalog_test

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
)

// watched names the file that this test program watches when it is started as
// another process.
const watched = "CATALOG_TEST_WATCHED"

// TestMain watches a file, if the process was started for that.
func TestMain(m *testing.M) {
	path := os.Getenv(watched)
	if path == "" {
		os.Exit(m.Run())
	}
	if err := watch(context.Background(), path); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// watch prints, for each line "DATE CODE" that it reads, what the code costs then.
func watch(ctx context.Context, path string) error {
	c, err := catalog.Open(ctx, path)
	if err != nil {
		return err
	}
	for in := bufio.NewScanner(os.Stdin); err == nil && in.Scan(); {
		day, code, _ := strings.Cut(in.Text(), " ")
		var item catalog.Item
		if item, err = c.Item(ctx, code, date.MustParse(day)); err == nil {
			fmt.Println(item.Price.Rate, item.Description)
		}
	}
	return errors.Join(err, c.Close())
}

// opened returns the catalogue in the file at path, closed when the test ends.
func opened(t testing.TB, path string) *catalog.Catalog {
	t.Helper()
	c, err := catalog.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, c.Close()) })
	return c
}

// stored returns the starter catalogue in a new store, and a way to change it that
// goes past the catalogue.
func stored(t testing.TB) (*catalog.Catalog, *store.Store) {
	t.Helper()
	path := storetest.Path(t)
	return opened(t, path), storetest.Open(t, path)
}

// of returns the Book of a day.
func of(t testing.TB, c *catalog.Catalog, day string) *book.Book {
	t.Helper()
	b, err := c.Book(t.Context(), date.MustParse(day))
	require.NoError(t, err)
	return b
}

// text returns a Book as JSON.
func text(t testing.TB, b *book.Book) string {
	t.Helper()
	text, err := wire.Encode(b.Data())
	require.NoError(t, err)
	return string(text)
}

// newPrice and newEntry put a row into their table, or another in the place of the
// one of that day.
const (
	newPrice = `INSERT INTO prices (code, effective_from, rate, unit) VALUES (?, ?, ?, ?)
		ON CONFLICT (code, effective_from) DO UPDATE SET rate = excluded.rate, unit = excluded.unit`
	newEntry = `INSERT INTO entries (class, code, effective_from, retired, doc) VALUES (?, ?, ?, ?, ?)
		ON CONFLICT (class, code, effective_from) DO UPDATE SET retired = excluded.retired, doc = excluded.doc`
)

// A new store is the starter catalogue: its Book of any date is that of the
// starter, byte for byte, in the process that filled it and in others.
func TestANewStoreIsTheStarter(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a b?", "x#%.db")
	days := []string{"0001-01-01", "1970-01-01", "2026-02-28", "2026-11-25", "9999-12-31"}
	for _, change := range []string{"2026-01-05", "2026-04-01", "2026-07-01", "2026-10-01"} {
		for _, n := range []int{-1, 0, 1} {
			days = append(days, date.MustParse(change).AddDays(n).String())
		}
	}
	for range 10 {
		days = append(days, date.MustParse("2025-12-01").AddDays(rand.IntN(400)).String())
	}
	for _, c := range []*catalog.Catalog{opened(t, path), opened(t, path)} {
		for _, day := range days {
			assert.Equal(t, text(t, on(t, day)), text(t, of(t, c, day)), day)
		}
	}
	_, err := opened(t, path).Book(t.Context(), date.Date{})
	assert.ErrorContains(t, err, "#/as_of")
}

// What one changes others see at their next Book: a catalogue in this process, and
// one in another.
func TestAChangeIsSeenByAll(t *testing.T) {
	path := storetest.Path(t)
	c, s := opened(t, path), storetest.Open(t, path)
	other := exec.Command(os.Args[0])
	other.Env, other.Stderr = append(os.Environ(), watched+"="+path, "GORACE=atexit_sleep_ms=0"), os.Stderr
	in, err := other.StdinPipe()
	require.NoError(t, err)
	out, err := other.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, other.Start())
	lines := bufio.NewReader(out)
	seen := func(want string) {
		t.Helper()
		_, err := io.WriteString(in, "2026-11-25 ash-prime-27\n")
		require.NoError(t, err)
		line, err := lines.ReadString('\n')
		require.NoError(t, err)
		assert.Equal(t, want, strings.TrimSpace(line), "in another process")
		item, err := c.Item(t.Context(), "ash-prime-27", date.MustParse("2026-11-25"))
		require.NoError(t, err)
		assert.Equal(t, want, item.Price.Rate.String()+" "+item.Description)
	}
	seen("1850.00 European ash, prime, 27 mm sawn")
	seen("1850.00 European ash, prime, 27 mm sawn")
	storetest.Change(t, s, newPrice, "ash-prime-27", "2026-11-25", 1900_0000, "m3")
	seen("1900.00 European ash, prime, 27 mm sawn")
	storetest.Change(t, s, newPrice, "ash-prime-27", "2026-11-26", 1950_0000, "m3")
	seen("1900.00 European ash, prime, 27 mm sawn")
	storetest.Change(t, s, "UPDATE entries SET doc = replace(doc, 'European ash, prime', 'Ash of the estate') WHERE code = 'ash-prime'")
	seen("1900.00 Ash of the estate, 27 mm sawn")
	storetest.Change(t, s, "DELETE FROM prices WHERE code = 'ash-prime-27' AND effective_from >= '2026-10-01'")
	seen("1825.00 Ash of the estate, 27 mm sawn")
	require.NoError(t, in.Close())
	require.NoError(t, other.Wait())
}

// An entry holds from its date until the next of its code, and a retired one is not
// there from its date on.
func TestEntriesByDate(t *testing.T) {
	c, s := stored(t)
	doc := func(percent int) string { return fmt.Sprintf(`{"code": "dip", "transfer_percent": %d}`, percent) }
	storetest.Change(t, s, newEntry, "method", "dip", "2026-12-01", false, doc(50))
	storetest.Change(t, s, newEntry, "method", "dip", "2027-01-01", false, doc(60))
	storetest.Change(t, s, newEntry, "method", "dip", "2027-02-01", true, doc(60))
	storetest.Change(t, s, newEntry, "method", "dip", "2027-03-01", false, doc(70))
	for day, want := range map[string]int64{
		"2026-11-30": -1, "2026-12-01": 50_00, "2026-12-31": 50_00, "2027-01-01": 60_00, "2027-01-31": 60_00, "2027-02-01": -1, "2027-02-28": -1, "2027-03-01": 70_00, "9999-12-31": 70_00, "0001-01-01": -1,
	} {
		m := of(t, c, day).Method("dip")
		if want < 0 {
			assert.Nil(t, m, day)
			continue
		}
		require.NotNil(t, m, day)
		assert.Equal(t, want, int64(m.Transfer), day)
	}
	var methods []string
	for _, m := range of(t, c, "2026-12-01").Data().Methods {
		methods = append(methods, m.Code)
	}
	assert.Equal(t, []string{"brush", "dip", "spray", "wipe"}, methods, "by code")
	assert.Equal(t, text(t, on(t, "2026-11-30")), strings.Replace(text(t, of(t, c, "2026-11-30")), `"version":5`, `"version":1`, 1), "before it all is as it was")
}

// The price of an item that is retired is not in the Book, and is there again with
// the item.
func TestPricesOfRetiredItems(t *testing.T) {
	c, s := stored(t)
	const code = "castor-50"
	retire := `INSERT INTO entries (class, code, effective_from, retired, doc) SELECT class, code, ?, ?, doc FROM entries WHERE code = ? AND effective_from = ''`
	storetest.Change(t, s, retire, "2026-12-01", true, code)
	storetest.Change(t, s, retire, "2027-01-01", false, code)
	for day, there := range map[string]bool{"2026-11-30": true, "2026-12-01": false, "2026-12-31": false, "2027-01-01": true} {
		f := of(t, c, day).Fitting(code)
		assert.Equal(t, there, f != nil, day)
		_, err := c.Item(t.Context(), code, date.MustParse(day))
		if there {
			require.NoError(t, err)
			assert.NotNil(t, f.Price)
			continue
		}
		assert.EqualError(t, err, fmt.Sprintf("there is no item with the code %q on %s", code, day))
		assert.ErrorAs(t, err, new(*catalog.NotFound))
	}
}

// A stage that is put between two others stands there from its date on, whatever
// its code.
func TestStagesStandByPosition(t *testing.T) {
	c, s := stored(t)
	stages := func(day string) []string {
		return codes(of(t, c, day).Data().Stages, func(s book.Stage) string { return s.Code })
	}
	before := stages("2026-11-25")
	at := 0
	for i, code := range before {
		if code == "machining" { // position 30
			at = i + 1
		}
	}
	require.Positive(t, at)
	storetest.Change(t, s, newEntry, "stage", "acclimatising", "2026-12-01", false, `{"code": "acclimatising", "position": 35, "description": "Letting boards settle", "grade": "bench", "bench": true}`)
	assert.Equal(t, before, stages("2026-11-30"))
	after := append(append(append([]string{}, before[:at]...), "acclimatising"), before[at:]...)
	assert.Equal(t, after, stages("2026-12-01"))
	storetest.Change(t, s, newEntry, "stage", "acclimatising", "2027-01-01", false, `{"code": "acclimatising", "position": 5, "description": "Letting boards settle", "grade": "bench", "bench": true}`)
	assert.Equal(t, append([]string{"acclimatising"}, before...), stages("2027-01-01"), "and moves")
}

// A row that makes no Book is an error, not another Book: nothing is left out.
func TestWhatMakesNoBookIsAnError(t *testing.T) {
	for name, tt := range map[string]struct {
		statement string
		values    []any
		says      string
	}{
		"no such unit":     {newPrice, []any{"castor-50", "2026-11-01", 1, "furlong"}, "furlong"},
		"another type":     {newEntry, []any{"method", "dip", "", false, `{"code": "dip", "density": 1}`}, "density"},
		"two of one code":  {newEntry, []any{"method", "dip", "", false, `{"code": "brush", "transfer_percent": 50}`}, "brush"},
		"no such grade":    {newEntry, []any{"stage", "drawing", "", false, `{"code": "drawing", "description": "x", "grade": "nobody", "bench": true}`}, "nobody"},
		"no terms":         {"DELETE FROM entries WHERE class = ?", []any{"terms"}, ""},
		"no catalogue":     {"DELETE FROM catalogue WHERE id = ?", []any{1}, ""},
		"no such currency": {"UPDATE catalogue SET currency = ?", []any{"XXQ"}, "XXQ"},
	} {
		t.Run(name, func(t *testing.T) {
			c, s := stored(t)
			before := of(t, c, "2026-11-25")
			require.NotNil(t, before)
			storetest.Change(t, s, tt.statement, tt.values...)
			for range 2 {
				b, err := c.Book(t.Context(), date.MustParse("2026-11-25"))
				assert.ErrorContains(t, err, tt.says)
				assert.Nil(t, b)
			}
		})
	}
}

// starterRows returns the price list of the starter, as any program reads CSV:
// dates and rates by code, in the order of the dates.
func starterRows(t testing.TB) map[string][][2]string {
	t.Helper()
	f, err := os.Open("starter/prices.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	all := map[string][][2]string{}
	for _, r := range rows[1:] { // code, price, unit, currency, effective_from
		all[r[0]] = append(all[r[0]], [2]string{r[4], r[1]})
	}
	return all
}

// What is kept and makes no Book is no fault of whoever asked for one: the error
// is of none of the kinds that a request's faults are.
func TestWhatMakesNoBookIsNobodysFault(t *testing.T) {
	for _, statement := range []string{
		"DELETE FROM entries WHERE class = 'labour' AND code = 'bench'",
		"UPDATE entries SET doc = '{\"density\": 1}' WHERE class = 'method'",
		"DELETE FROM entries WHERE class = 'terms'",
	} {
		c, s := stored(t)
		storetest.Change(t, s, statement)
		_, err := c.Book(t.Context(), date.MustParse("2026-11-25"))
		require.Error(t, err, statement)
		var faults fault.List
		var malformed *wire.Malformed
		assert.False(t, errors.As(err, &faults) || errors.As(err, &malformed), "%v", err)
	}
}
