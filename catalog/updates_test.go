package catalog_test

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store/storetest"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
)

// previewed returns the update of a price list.
func previewed(t testing.TB, c *catalog.Catalog, list string) catalog.Update {
	t.Helper()
	u, _ := sent(t, c, "list.csv", list)
	return u
}

// sent returns the update of a price list of that name, and whether it is a new one.
func sent(t testing.TB, c *catalog.Catalog, name, list string) (catalog.Update, bool) {
	t.Helper()
	rows, err := catalog.ReadList([]byte(list))
	require.NoError(t, err)
	u, fresh, err := c.Preview(t.Context(), catalog.List{File: name, Text: []byte(list), Rows: rows}, date.MustParse(today))
	require.NoError(t, err)
	return u, fresh
}

// applied applies a price list, whatever it says.
func applied(t testing.TB, c *catalog.Catalog, list string) catalog.Update {
	t.Helper()
	u, err := c.Apply(t.Context(), previewed(t, c, list).ID, catalog.Consent{SkipRefused: true, AcceptLargeMoves: true}, date.MustParse(today))
	require.NoError(t, err)
	return u
}

// withdrawn takes an update back.
func withdrawn(t testing.TB, c *catalog.Catalog, id int64) {
	t.Helper()
	_, err := c.Withdraw(t.Context(), id, date.MustParse(today))
	require.NoError(t, err)
}

// opposed checks that an error is a Conflict with those words.
func opposed(t *testing.T, err error, want string) {
	t.Helper()
	assert.ErrorAs(t, err, new(*catalog.Conflict))
	assert.EqualError(t, err, want)
}

// with returns a table with rows of a code and a date in the place of those it has.
func with(table []string, rows ...string) []string {
	table = slices.Clone(table)
	for _, r := range rows {
		w := strings.Fields(r)
		key := w[0] + " " + w[1] + " "
		table = slices.DeleteFunc(table, func(old string) bool { return strings.HasPrefix(old, key) })
		table = append(table, r)
	}
	slices.Sort(table)
	return table
}

// mixed is a list that has a row of every outcome; large is one that does not move
// much else.
const (
	mixed = head + "hundred,110.00,each,GBP,2026-12-01\nhundred,110.00,each,GBP,2027-01-01\ncastor-50,moon,each,GBP,2026-12-01\ndemo,3.00,each,GBP,2026-12-01\nfree,0.00,each,GBP,2026-12-01\nhundred,90.00,each,GBP,2026-01-05\n"
	large = head + "hundred,130.00,each,GBP,2026-12-01\n"
)

// A preview changes nothing, and the same file again is the same update.
func TestPreviewChangesNothing(t *testing.T) {
	c, s := stored(t)
	demos(t, c)
	table, v, books := priceTable(t, s), versionOf(t, c), text(t, of(t, c, "2026-12-01"))
	u, fresh := sent(t, c, "first.csv", mixed)
	assert.True(t, fresh)
	sum := sha256.Sum256([]byte(mixed))
	assert.Equal(t, catalog.UpdateHead{ID: 1, Status: "previewed", File: "first.csv", SHA256: hex.EncodeToString(sum[:]), PreviewedAt: u.PreviewedAt}, u.UpdateHead)
	assert.Equal(t, catalog.Summary{New: 1, Changed: 2, Unchanged: 2, Refused: 1}, u.Summary)
	assert.Equal(t, []int{2, 3, 4, 5, 6, 7}, []int{u.Rows[0].Row, u.Rows[1].Row, u.Rows[2].Row, u.Rows[3].Row, u.Rows[4].Row, u.Rows[5].Row})
	same, fresh := sent(t, c, "second.csv", mixed)
	assert.False(t, fresh)
	assert.Equal(t, u, same, "its name is that of the first")
	read, err := c.Update(t.Context(), 1, date.MustParse(today))
	require.NoError(t, err)
	assert.Equal(t, u, read)
	other, fresh := sent(t, c, "first.csv", mixed+"\n")
	assert.True(t, fresh)
	assert.EqualValues(t, 2, other.ID)
	assert.Equal(t, table, priceTable(t, s))
	assert.Equal(t, v, versionOf(t, c))
	assert.Equal(t, books, text(t, of(t, c, "2026-12-01")))
	assert.EqualValues(t, v-1, lastChange(t, c).ID)
}

// Applied, exactly the accepted rows hold; the update then stays as it was, whatever
// comes after it.
func TestApply(t *testing.T) {
	c, s := stored(t)
	demos(t, c)
	table, v := priceTable(t, s), versionOf(t, c)
	before := previewed(t, c, mixed)
	u := applied(t, c, mixed)
	after := with(table, "hundred 2026-12-01 1100000 each 1", "demo 2026-12-01 30000 each 1", "hundred 2026-01-05 900000 each 1")
	assert.Equal(t, after, priceTable(t, s))
	before.AppliedAt, before.Status = u.AppliedAt, "applied"
	assert.Equal(t, before, u)
	noted(t, c, v+1, catalog.Change{What: "apply_update", Class: "update", Code: "1", After: fmt.Appendf(nil, `{"file":"list.csv","sha256":%q,"summary":{"new":1,"changed":2,"unchanged":2,"refused":1,"large_moves":0}}`, u.SHA256)})
	assert.EqualValues(t, 110_0000, of(t, c, "2027-06-01").Fitting("hundred").Price.Rate)

	priceNow(t, c, "hundred 2026-12-01 500.00 each")
	applied(t, c, head+"demo,4.00,each,GBP,2026-12-01\n")
	require.NoError(t, change(t, c, "ironmongery free "+today, ""))
	again, fresh := sent(t, c, "again.csv", mixed)
	assert.False(t, fresh)
	assert.Equal(t, u, again)
	read, err := c.Update(t.Context(), 1, date.MustParse("2028-01-01"))
	require.NoError(t, err)
	assert.Equal(t, u, read)
}

// What stands against an update, and against taking it back, is said.
func TestConflicts(t *testing.T) {
	c, s := stored(t)
	demos(t, c)
	day, table := date.MustParse(today), priceTable(t, s)
	apply := func(list string, k catalog.Consent) error {
		_, err := c.Apply(t.Context(), previewed(t, c, list).ID, k, day)
		return err
	}
	both := strings.Replace(mixed, "110.00", "200.00", 1)
	opposed(t, apply(mixed, catalog.Consent{AcceptLargeMoves: true}), "rows refused: 1; mend the file and send it again, or say skip_refused to go without them")
	opposed(t, apply(both, catalog.Consent{AcceptLargeMoves: true}), "rows refused: 1; mend the file and send it again, or say skip_refused to go without them")
	opposed(t, apply(both, catalog.Consent{SkipRefused: true}), "prices that move more than the terms' large_move_percent: 2; look at them, and say accept_large_moves if they are meant")
	opposed(t, apply(large, catalog.Consent{SkipRefused: true}), "prices that move more than the terms' large_move_percent: 1; look at them, and say accept_large_moves if they are meant")
	_, err := c.Withdraw(t.Context(), 1, day)
	opposed(t, err, "price update 1 is previewed: only one that is applied can be withdrawn")
	assert.Equal(t, table, priceTable(t, s))

	u := applied(t, c, large)
	_, err = c.Apply(t.Context(), u.ID, catalog.Consent{}, day)
	opposed(t, err, fmt.Sprintf("price update %d was applied at %s: withdraw it first, to apply it again", u.ID, u.AppliedAt))
	withdrawn(t, c, u.ID)
	u, err = c.Update(t.Context(), u.ID, day)
	require.NoError(t, err)
	assert.Equal(t, "withdrawn", u.Status)
	_, err = c.Apply(t.Context(), u.ID, catalog.Consent{}, day)
	opposed(t, err, fmt.Sprintf("price update %d was withdrawn at %s: send the file again", u.ID, u.WithdrawnAt))
	_, err = c.Withdraw(t.Context(), u.ID, day)
	opposed(t, err, fmt.Sprintf("price update %d is withdrawn: only one that is applied can be withdrawn", u.ID))
	again, fresh := sent(t, c, "again.csv", large)
	assert.True(t, fresh, "withdrawn, it may be sent again")
	assert.Greater(t, again.ID, u.ID)

	for _, f := range []func(int64) error{
		func(id int64) error { _, err := c.Update(t.Context(), id, day); return err },
		func(id int64) error { _, err := c.Apply(t.Context(), id, catalog.Consent{}, day); return err },
		func(id int64) error { _, err := c.Withdraw(t.Context(), id, day); return err },
	} {
		for _, id := range []int64{0, -1, 99} {
			assert.Equal(t, &catalog.NoUpdate{ID: id}, f(id))
		}
	}
	assert.EqualError(t, &catalog.NoUpdate{ID: 99}, "there is no price update 99")
}

// Taking an update back leaves the table as it was: over prices of the same days
// that came with the starter, were made by hand or are of an earlier update. What
// a later update put there must be taken back first; what was decided by hand stays.
func TestWithdraw(t *testing.T) {
	c, s := stored(t)
	demos(t, c)
	day := date.MustParse(today)
	priceNow(t, c, "hundred 2026-12-01 101.00 each")
	start := priceTable(t, s)
	first := applied(t, c, head+"castor-50,9.00,each,GBP,2026-01-05\nhundred,102.00,each,GBP,2026-12-01\ndemo,1.00,each,GBP,2026-12-01\nfree,2.00,each,GBP,2027-01-01\n")
	afterFirst := priceTable(t, s)
	assert.Equal(t, with(start, "castor-50 2026-01-05 90000 each 1", "hundred 2026-12-01 1020000 each 1", "demo 2026-12-01 10000 each 1", "free 2027-01-01 20000 each 1"), afterFirst)
	second := applied(t, c, head+"hundred,103.00,each,GBP,2026-12-01\nhundred,104.00,each,GBP,2027-01-01\nfree,3.00,each,GBP,2027-01-01\n")
	afterSecond, v := priceTable(t, s), versionOf(t, c)
	_, err := c.Withdraw(t.Context(), first.ID, day)
	opposed(t, err, "price update 2 changed the price of hundred from 2026-12-01 since: withdraw that one first")
	assert.Equal(t, afterSecond, priceTable(t, s))
	assert.Equal(t, v, versionOf(t, c))
	withdrawn(t, c, second.ID)
	assert.Equal(t, afterFirst, priceTable(t, s))
	withdrawn(t, c, first.ID)
	assert.Equal(t, start, priceTable(t, s))
	noted(t, c, v+2, catalog.Change{What: "withdraw_update", Class: "update", Code: "1", After: fmt.Appendf(nil, `{"file":"list.csv","sha256":%q,"summary":{"new":1,"changed":3,"unchanged":0,"refused":0,"large_moves":1}}`, first.SHA256)})

	third := applied(t, c, head+"castor-50,9.00,each,GBP,2026-01-05\nhundred,102.00,each,GBP,2026-12-01\ndemo,1.00,each,GBP,2026-12-01\nfree,2.00,each,GBP,2027-01-01\n ")
	priceNow(t, c, "castor-50 2026-01-05 9.00 each") // the same, but by hand
	priceNow(t, c, "hundred 2026-12-01")
	priceNow(t, c, "demo 2026-12-02 7.00 each")
	withdrawn(t, c, third.ID)
	want := with(start, "castor-50 2026-01-05 90000 each -", "demo 2026-12-02 70000 each -")
	want = slices.DeleteFunc(want, func(r string) bool { return strings.HasPrefix(r, "hundred 2026-12-01 ") })
	assert.Equal(t, want, priceTable(t, s))
}

// What a Book would be with an update is what it is when that is applied.
func TestOnIsWhatApplyMakes(t *testing.T) {
	c, _ := stored(t)
	demos(t, c)
	const list = mixed + "hundred,120.00,each,GBP,2026-12-20\nash-prime-27,1850.00,m3,GBP,2026-12-01\nlater,3.00,each,GBP,2026-12-15\nlime-27,2.00,bf,GBP,2026-11-20\nash-prime-27,1900.00,m3,GBP,2026-12-20\n"
	u, would := previewed(t, c, list), map[string]string{}
	days := []string{"2026-01-04", "2026-01-05", "2026-11-25", "2026-12-01", "2026-12-15", "2026-12-19", "2026-12-20", "2027-01-01"}
	for _, day := range days {
		b, err := u.On(of(t, c, day))
		require.NoError(t, err)
		would[day] = text(t, b)
	}
	v := versionOf(t, c)
	applied(t, c, list)
	for _, day := range days {
		is := strings.Replace(text(t, of(t, c, day)), fmt.Sprintf(`"version":%d`, v+1), fmt.Sprintf(`"version":%d`, v), 1)
		assert.Equal(t, would[day], is, day)
	}
}

// Of many who apply one update at once, through one handle or two, one does; and so
// of those who withdraw it.
func TestOneAppliesAndOneWithdraws(t *testing.T) {
	path := storetest.Path(t)
	handles := []*catalog.Catalog{opened(t, path), opened(t, path)}
	demos(t, handles[0])
	s := storetest.Open(t, path)
	table, v, day := priceTable(t, s), versionOf(t, handles[0]), date.MustParse(today)
	u := previewed(t, handles[0], large)
	steps := []func(*catalog.Catalog) error{
		func(c *catalog.Catalog) error {
			_, err := c.Apply(t.Context(), u.ID, catalog.Consent{AcceptLargeMoves: true}, day)
			return err
		},
		func(c *catalog.Catalog) error { _, err := c.Withdraw(t.Context(), u.ID, day); return err },
	}
	for n, step := range steps {
		errs := make([]error, 6)
		var all sync.WaitGroup
		for i := range errs {
			all.Go(func() { errs[i] = step(handles[i%2]) })
		}
		all.Wait()
		won := 0
		for _, err := range errs {
			if err == nil {
				won++
			} else {
				assert.ErrorAs(t, err, new(*catalog.Conflict))
			}
		}
		assert.Equal(t, 1, won)
		assert.Equal(t, v+int64(n)+1, versionOf(t, handles[1]))
	}
	assert.Equal(t, table, priceTable(t, s))
}

// Updates are listed, the latest first, without their rows.
func TestUpdatesAreListed(t *testing.T) {
	c, _ := stored(t)
	demos(t, c)
	for n := range 5 {
		previewed(t, c, large+strings.Repeat("\n", n))
	}
	applied(t, c, large+"\n")
	withdrawn(t, c, 2)
	applied(t, c, large+"\n\n")
	for _, tt := range []struct {
		before int64
		limit  int
		want   string
	}{{0, 200, "5p 4p 3a 2w 1p"}, {0, 2, "5p 4p"}, {4, 2, "3a 2w"}, {2, 2, "1p"}, {1, 2, ""}} {
		heads, err := c.Updates(t.Context(), tt.before, tt.limit)
		require.NoError(t, err)
		var have []string
		for _, h := range heads {
			u, err := c.Update(t.Context(), h.ID, date.MustParse(today))
			require.NoError(t, err)
			assert.Equal(t, u.UpdateHead, h)
			have = append(have, fmt.Sprintf("%d%c", h.ID, h.Status[0]))
		}
		assert.Equal(t, tt.want, strings.Join(have, " "))
	}
}

// A list that changes nothing can be applied, and taken back; one of no rows is none.
func TestAListThatChangesNothing(t *testing.T) {
	c, s := stored(t)
	table := priceTable(t, s)
	u := applied(t, c, head+"castor-50,7.90,each,GBP,2026-12-01\nmoon,1.00,each,GBP,2026-12-01\n")
	assert.Equal(t, catalog.Summary{Unchanged: 1, Refused: 1}, u.Summary)
	assert.Equal(t, table, priceTable(t, s))
	withdrawn(t, c, u.ID)
	assert.Equal(t, table, priceTable(t, s))
	assert.EqualValues(t, 3, versionOf(t, c))
	_, err := catalog.ReadList([]byte(head))
	assert.ErrorAs(t, err, new(wire.CellFaults))
}

// A month of the year of lists, and what the timber of the demo chest then comes to:
// 0.0882 m3 of ash 27 mm, 0.0209 of ash 34, 0.0467 of tulipwood 20 and 0.0138 of
// tulipwood 25, each times its rate, rounded to pence, and their sum.
type month struct{ day, ash27, ash34, tulip20, tulip25, sum string }

// months are worked by hand.
func months() []month {
	return []month{
		{"2026-11-30", "163.17", "39.81", "62.58", "18.49", "284.05"}, // 1850: 163.170; 1905: 39.8145; 1340: 62.5780 and 18.4920
		{"2026-12-01", "172.87", "42.22", "60.71", "17.94", "293.74"}, // 1960: 172.872; 2020: 42.2180; 1300: 60.7100 and 17.9400
		{"2027-01-01", "178.16", "43.47", "60.01", "17.73", "299.37"}, // 2020: 178.164; 2080: 43.4720; 1285: 60.0095 and 17.7330
		{"2027-02-28", "185.22", "45.25", "60.01", "17.73", "308.21"}, // 2100: 185.220; 2165: 45.2485
		{"2027-06-15", "186.98", "45.67", "60.01", "17.73", "310.39"}, // 2120: 186.984; 2185: 45.6665; 1285 again
		{"2027-11-01", "196.25", "47.97", "67.48", "19.94", "331.64"}, // 2225: 196.245, half a penny up; 2295: 47.9655; 1445: 67.4815 and 19.9410
	}
}

// costed prices the demo chest from the Book of a day.
func costed(t testing.TB, c *catalog.Catalog, day string) pricing.Costing {
	t.Helper()
	file, err := os.ReadFile("../testdata/pieces/tall-chest.json")
	require.NoError(t, err)
	var r pricing.Request
	require.NoError(t, wire.Decode(file, &r))
	costing, err := pricing.Cost(r, of(t, c, day))
	require.NoError(t, err)
	costing.Book = 0
	return costing
}

// A year of lists, one a month, each applied some days before it holds: every month
// prices the chest as worked by hand; what a month came to it comes to for ever; and
// taken back, the last first, they leave the prices of the beginning.
func TestAYearOfLists(t *testing.T) {
	c, s := stored(t)
	tables := [][]string{priceTable(t, s)}
	lists, err := filepath.Glob("../testdata/updates/*.csv")
	require.NoError(t, err)
	require.Len(t, lists, 12)
	then, moved := make(map[string]pricing.Costing), make(map[string]int)
	for _, name := range lists {
		list, err := os.ReadFile(name)
		require.NoError(t, err)
		rows, err := catalog.ReadList(list)
		require.NoError(t, err)
		first := date.MustParse(rows[0].Cell("effective_from"))
		then[first.AddDays(-1).String()] = costed(t, c, first.AddDays(-1).String())
		u, fresh, err := c.Preview(t.Context(), catalog.List{File: name, Text: list, Rows: rows}, first.AddDays(-6))
		require.NoError(t, err)
		require.True(t, fresh)
		_, err = c.Apply(t.Context(), u.ID, catalog.Consent{AcceptLargeMoves: true}, first.AddDays(-6))
		require.NoError(t, err)
		if u.Summary.LargeMoves > 0 {
			moved[first.String()] = u.Summary.LargeMoves
		}
		for i, r := range rows {
			assert.Equal(t, rate(t, r.Cell("price")), *u.Rows[i].New)
			assert.EqualValues(t, r.Cell("unit"), u.Rows[i].Unit)
		}
		tables = append(tables, priceTable(t, s))
	}
	assert.Equal(t, map[string]int{"2027-08-01": 4}, moved, "cherry, of which nothing was heard for a year")
	for _, m := range months() {
		costing, sum := costed(t, c, m.day), of(t, c, m.day).Data().Currency.Zero()
		for i, line := range costing.Pieces[0].Timber {
			assert.Equal(t, []string{m.ash27, m.ash34, m.tulip20, m.tulip25}[i], line.Amount.String(), m.day)
			sum = sum.Plus(line.Amount)
		}
		assert.Equal(t, m.sum, sum.String(), m.day)
	}
	for day, costing := range then {
		assert.Equal(t, costing, costed(t, c, day), "%s as it was", day)
	}
	for n := len(lists); n > 0; n-- {
		require.Equal(t, tables[n], priceTable(t, s))
		withdrawn(t, c, int64(n))
	}
	assert.Equal(t, tables[0], priceTable(t, s))
}
