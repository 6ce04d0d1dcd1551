package catalog_test

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// today is the day on which these tests run.
const today = "2026-11-25"

// rate returns what a text says.
func rate(t testing.TB, s string) (r num.Rate) {
	t.Helper()
	require.NoError(t, r.UnmarshalText([]byte(s)))
	return r
}

// priceOf returns a change of a price: "castor-50 2026-12-01 9.50 each", or without
// the last two the end of that price.
func priceOf(t testing.TB, words string) catalog.PriceChange {
	t.Helper()
	w := strings.Fields(words)
	p := catalog.PriceChange{Code: w[0], From: date.MustParse(w[1]), Today: date.MustParse(today), Match: func(catalog.History) error { return nil }}
	if len(w) > 2 {
		r := rate(t, w[2])
		p.Price = &catalog.NewPrice{Rate: &r, Unit: unit.Unit(w[3])}
	}
	return p
}

// priceNow makes a change of a price.
func priceNow(t testing.TB, c *catalog.Catalog, words string) {
	t.Helper()
	_, err := c.ChangePrice(t.Context(), priceOf(t, words))
	require.NoError(t, err, words)
}

// priceTable returns every row of the table of prices.
func priceTable(t testing.TB, s *store.Store) (rows []string) {
	t.Helper()
	err := s.Glance(t.Context()).Raw("SELECT code || ' ' || effective_from || ' ' || rate || ' ' || unit || ' ' || coalesce(update_id, '-') FROM prices ORDER BY code, effective_from").Scan(&rows).Error
	require.NoError(t, err)
	return rows
}

// putNew makes an item of ironmongery that holds from a day on.
func putNew(t testing.TB, c *catalog.Catalog, code, from string) {
	t.Helper()
	require.NoError(t, change(t, c, "ironmongery "+code+" "+from, fmt.Sprintf(`{"code":%q,"description":"Demo","mass":0.5}`, code)))
}

// A timeline is what an item costs from which day on, as a test has it.
type timeline map[string]string

// on returns the price in force on a day, and the days it holds from and until.
func (l timeline) on(day string) (price, from, until string) {
	for _, d := range slices.Sorted(maps.Keys(l)) {
		if d > day {
			return price, from, d
		}
		price, from = l[d], d
	}
	return price, from, ""
}

// spans returns the prices in their order, each with the days it holds from and until.
func (l timeline) spans() (all []string) {
	for _, d := range slices.Sorted(maps.Keys(l)) {
		_, _, until := l.on(d)
		all = append(all, strings.Join([]string{l[d], d, until}, " "))
	}
	return all
}

// spansOf is spans of a history.
func spansOf(h catalog.History) (all []string) {
	for _, s := range h.Prices {
		all = append(all, fmt.Sprintf("%s %s %s %s", s.Rate, s.Unit, s.From, s.Until))
	}
	return all
}

// Prices are put first, last and between others, replaced and taken away. Each time
// the history, the items and the Books of the days around are those of the prices.
func TestPricesOfAnItem(t *testing.T) {
	c, _ := stored(t)
	putNew(t, c, "demo", "2026-01-01")
	line := timeline{}
	for _, step := range []string{
		"2026-06-01 5.00 each", "2026-12-01 7.00 each", "2026-03-01 4.00 each", "2026-09-01 6.00 each", "2026-09-01 6.0001 each", "2026-09-01 6.0001 each",
		"2026-01-01 0.00 each", "9999-12-31 999999.9999 each", "2026-06-02 0.0001 each",
		"2026-01-01", "2026-06-02", "9999-12-31", "2026-09-01", "2026-03-01", "2026-12-01", "2026-06-01", "2026-07-01 3.00 each",
	} {
		v, before := versionOf(t, c), line.spans()
		p := priceOf(t, "demo "+step)
		p.Match = func(h catalog.History) error {
			assert.Equal(t, before, spansOf(h), step)
			return nil
		}
		after, err := c.ChangePrice(t.Context(), p)
		require.NoError(t, err, step)
		want := catalog.Change{What: "put_price", Class: "item", Code: "demo", From: p.From}
		want.Before = asJSON(line[p.From.String()])
		if p.Price == nil {
			want.What = "delete_price"
			delete(line, p.From.String())
		} else {
			line[p.From.String()] = strings.SplitN(step, " ", 2)[1]
			want.After = asJSON(line[p.From.String()])
		}
		noted(t, c, v+1, want)
		kept, err := c.Prices(t.Context(), "demo", date.MustParse(today))
		require.NoError(t, err)
		assert.Equal(t, kept, after)
		assert.Equal(t, line.spans(), spansOf(after), step)
		line.holds(t, c, "demo")
	}
}

// asJSON returns a price as changes have it.
func asJSON(price string) []byte {
	if price == "" {
		return nil
	}
	w := strings.Fields(price)
	return fmt.Appendf(nil, `{"rate":%q,"unit":%q}`, w[0], w[1])
}

// holds checks the Books and the items of every day on which a price begins and of
// the days beside it.
func (l timeline) holds(t *testing.T, c *catalog.Catalog, code string) {
	t.Helper()
	for d := range l {
		for n := -1; n <= 1; n++ {
			day := date.MustParse(d).AddDays(n)
			if day.IsZero() || day.String() < "2026-01-01" {
				continue
			}
			price, from, until := l.on(day.String())
			item, err := c.Item(t.Context(), code, day)
			require.NoError(t, err)
			p := of(t, c, day.String()).Fitting(code).Price
			if price == "" {
				assert.Nil(t, item.Price, "%s", day)
				assert.Nil(t, p, "%s", day)
				continue
			}
			assert.Equal(t, []string{price, from, until}, []string{item.Price.Rate.String() + " " + string(item.Price.Unit), item.Price.From.String(), item.Price.Until.String()}, "%s", day)
			assert.Equal(t, []string{price, from}, []string{p.Rate.String() + " " + string(p.Unit), p.From.String()}, "%s", day)
		}
	}
}

// What is no price of an item is refused, and then nothing is changed.
func TestRefusedPrices(t *testing.T) {
	c, s := stored(t)
	putNew(t, c, "late", "2026-11-01")
	putNew(t, c, "later", "2026-12-01")
	putNew(t, c, "gone", "2026-01-01")
	priceNow(t, c, "gone 2026-02-01 1.00 each")
	require.NoError(t, change(t, c, "ironmongery gone 2026-11-01", ""))
	rows, v := priceTable(t, s), versionOf(t, c)
	for words, want := range map[string]string{
		"castor-50 2026-12-01 9.00 m3":           `#/unit: a price per "m3" does not fit here: write each`,
		"ash-prime-27 2026-12-01 9.00 each":      `#/unit: a price per "each" does not fit here: write m3, ft3 or bf`,
		"castor-50 2026-12-01 1000000.00 each":   `#/rate: 1000000.00 is out of range: write a rate from 0, below 1000000.00`,
		"castor-50 2026-12-01 90000000000.00 kg": "#/rate: 90000000000.00 is out of range: write a rate from 0, below 1000000.00\n#/unit: a price per \"kg\" does not fit here: write each",
		"ash-prime 2026-12-01 9.00 m3":           `there is no item with the code "ash-prime" on 2026-11-25`,
		"moon 2026-12-01":                        `there is no item with the code "moon" on 2026-11-25`,
		"gone 2026-12-01 1.00 each":              `there is no item with the code "gone" on 2026-11-25`,
		"gone 2026-02-01":                        `there is no item with the code "gone" on 2026-11-25`,
		"later 2026-11-30 1.00 each":             `there is no item with the code "later" on 2026-11-30`,
		"late 2026-10-31 1.00 each":              `there is no item with the code "late" on 2026-10-31`,
		"late 2026-11-01":                        `there is no price with the code "late" on 2026-11-01`,
		"castor-50 2026-12-01":                   `there is no price with the code "castor-50" on 2026-12-01`,
	} {
		_, err := c.ChangePrice(t.Context(), priceOf(t, words))
		assert.EqualError(t, err, want, words)
		if strings.HasPrefix(want, "#") {
			assert.ErrorAs(t, err, new(fault.List))
		} else {
			assert.ErrorAs(t, err, new(*catalog.NotFound))
		}
	}
	bare := priceOf(t, "castor-50 2026-12-01 1.00 each")
	bare.Price.Rate = nil
	_, err := c.ChangePrice(t.Context(), bare)
	assert.EqualError(t, err, `#/rate: the rate is missing: write it, such as "1850.00"`)
	stop := errors.New("stop")
	for _, words := range []string{"castor-50 2026-12-01 9.00 each", "castor-50 2026-12-01 9.00 m3", "castor-50 2026-12-01"} {
		p := priceOf(t, words)
		p.Match = func(catalog.History) error { return stop }
		_, err := c.ChangePrice(t.Context(), p)
		assert.Equal(t, stop, err, words)
	}
	assert.Equal(t, rows, priceTable(t, s))
	assert.Equal(t, v, versionOf(t, c))
	priceNow(t, c, "later 2026-12-01 1.00 each") // it is not there yet, and will be
}

// A code that is another kind of thing later has no price then that would not fit
// it: neither one that is put, nor one that is left when another is taken away.
func TestPricesFitEveryLaterBook(t *testing.T) {
	c, s := stored(t)
	require.NoError(t, change(t, c, "timber demo 2026-01-01", `{"code":"demo","description":"Demo","density":600,"slope":8,"board_width":150,"longest":3000,"width_allowance":6,"edge_allowance":6,"length_allowance":25,"waste_percent":30,"working_factor":1,"movement":{"radial":0.002,"tangential":0.003},"thicknesses":[{"code":"x","thickness":27,"finishes_to":22}]}`))
	priceNow(t, c, "x 2026-02-01 900.00 m3")
	require.NoError(t, change(t, c, "timber demo 2026-12-01", ""))
	err := change(t, c, "ironmongery x 2027-01-01", `{"code":"x","description":"Demo","mass":1}`)
	broken := (*catalog.Broken)(nil)
	require.ErrorAs(t, err, &broken, "its price per m3 is no part of what was sent")
	assert.Equal(t, "2027-01-01", broken.On.String())
	assert.Regexp(t, `^#/ironmongery/\d+/price/unit$`, broken.Faults[0].Pointer)

	priceNow(t, c, "x 2026-02-01")
	putNew(t, c, "x", "2027-01-01")
	_, err = c.ChangePrice(t.Context(), priceOf(t, "x 2026-02-01 900.00 m3"))
	require.ErrorAs(t, err, &broken)
	assert.Equal(t, "2027-01-01", broken.On.String())
	u := previewed(t, c, "code,price,unit,currency,effective_from\nx,900.00,m3,GBP,2026-03-01\n")
	_, err = c.Apply(t.Context(), u.ID, catalog.Consent{}, date.MustParse(today))
	require.ErrorAs(t, err, &broken)
	assert.Equal(t, "2027-01-01", broken.On.String())

	own := previewed(t, c, "code,price,unit,currency,effective_from\nx,5.00,each,GBP,2027-01-01\n")
	_, err = c.Apply(t.Context(), own.ID, catalog.Consent{}, date.MustParse(today))
	require.NoError(t, err)
	priceNow(t, c, "x 2026-02-01 900.00 m3") // with a price of its own it is well
	_, err = c.ChangePrice(t.Context(), priceOf(t, "x 2027-01-01"))
	require.ErrorAs(t, err, &broken, "that would leave the price per m3")
	_, err = c.Withdraw(t.Context(), own.ID, date.MustParse(today))
	require.ErrorAs(t, err, &broken, "and so would this")
	assert.Equal(t, []string{"x 2026-02-01 9000000 m3 -", "x 2027-01-01 50000 each 2"}, only(priceTable(t, s), "x "))
	priceNow(t, c, "x 2026-02-01")
	_, err = c.Withdraw(t.Context(), own.ID, date.MustParse(today))
	require.NoError(t, err)
	assert.Empty(t, only(priceTable(t, s), "x "))
	of(t, c, "2027-01-01")
}

// only returns the rows of a table that begin with some text.
func only(rows []string, begin string) []string {
	return slices.DeleteFunc(rows, func(r string) bool { return !strings.HasPrefix(r, begin) })
}

// A change that fails at its last step leaves nothing behind: no row, and no Book
// that was made on the way, even when so many Books are asked for meanwhile that
// those of before are kept no more.
func TestAChangeThatFailsLeavesNothing(t *testing.T) {
	c, s := stored(t)
	demos(t, c)
	day := date.MustParse(today)
	crowd := func() {
		for i := range 20 {
			of(t, c, date.MustParse("2020-01-01").AddDays(i).String())
		}
	}
	standing, fresh := applied(t, c, head+"hundred,104.00,each,GBP,2026-11-01\n"), previewed(t, c, head+"hundred,105.00,each,GBP,2026-11-01\n")
	table, before, v := priceTable(t, s), text(t, of(t, c, today)), versionOf(t, c)
	exec := func(statement string) {
		require.NoError(t, s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec(statement).Error }))
	}
	exec("CREATE TRIGGER no_changes BEFORE INSERT ON changes BEGIN SELECT raise(ABORT, 'no'); END")
	for name, f := range map[string]func() error{
		"put": func() error {
			_, err := c.Put(t.Context(), placed(t, "method dip "+today), []byte(`{"code":"dip","transfer_percent":50}`), func([]byte) error { crowd(); return nil })
			return err
		},
		"retire": func() error { return change(t, c, "ironmongery castor-50 "+today, "") },
		"price": func() error {
			p := priceOf(t, "hundred 2026-11-01 106.00 each")
			p.Match = func(catalog.History) error { crowd(); return nil }
			_, err := c.ChangePrice(t.Context(), p)
			return err
		},
		"apply":    func() error { _, err := c.Apply(t.Context(), fresh.ID, catalog.Consent{}, day); return err },
		"withdraw": func() error { _, err := c.Withdraw(t.Context(), standing.ID, day); return err },
	} {
		crowd()
		assert.ErrorIs(t, f(), store.ErrRefused, name)
		assert.Equal(t, before, text(t, of(t, c, today)), name)
		assert.Equal(t, table, priceTable(t, s), name)
		assert.Equal(t, v, versionOf(t, c), name)
	}
	exec("DROP TRIGGER no_changes")
	withdrawn(t, c, standing.ID)
	assert.EqualValues(t, 100_0000, of(t, c, today).Fitting("hundred").Price.Rate)
}
