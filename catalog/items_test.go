package catalog_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store/storetest"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

// spans writes prices as "rate unit from until".
func spans(all ...catalog.Span) (words []string) {
	for _, s := range all {
		words = append(words, s.Rate.String()+" "+string(s.Unit)+" "+s.From.String()+" "+s.Until.String())
	}
	return words
}

// The price of an item holds from its date until the next, that day excluded. The
// rows are worked by hand.
func TestSpansOfAnItem(t *testing.T) {
	c, s := stored(t)
	storetest.Change(t, s, "DELETE FROM prices WHERE code = ?", "castor-50")
	item := func(day string) catalog.Item {
		t.Helper()
		item, err := c.Item(t.Context(), "castor-50", date.MustParse(day))
		require.NoError(t, err)
		assert.Equal(t, []string{"castor-50", "ironmongery", on(t, day).Fitting("castor-50").Description}, []string{item.Code, item.Class, item.Description})
		return item
	}
	history := func() []string {
		t.Helper()
		h, err := c.Prices(t.Context(), "castor-50", date.MustParse("2026-11-25"))
		require.NoError(t, err)
		assert.Equal(t, "castor-50", h.Code)
		return spans(h.Prices...)
	}
	assert.Nil(t, item("2026-11-25").Price, "none, and none to come")
	assert.Empty(t, history())
	for _, p := range []struct {
		from string
		rate int
	}{{"2026-12-31", 5_2500}, {"2026-12-01", 4_0000}, {"2027-02-28", 0}, {"9999-12-31", 999_999_9999}} {
		storetest.Change(t, s, newPrice, "castor-50", p.from, p.rate, "each")
	}
	for day, want := range map[string]string{
		"0001-01-01": "", "2026-11-30": "",
		"2026-12-01": "4.00 each 2026-12-01 2026-12-31", "2026-12-30": "4.00 each 2026-12-01 2026-12-31",
		"2026-12-31": "5.25 each 2026-12-31 2027-02-28", "2027-02-27": "5.25 each 2026-12-31 2027-02-28",
		"2027-02-28": "0.00 each 2027-02-28 9999-12-31", "9999-12-30": "0.00 each 2027-02-28 9999-12-31",
		"9999-12-31": "999999.9999 each 9999-12-31 ",
	} {
		price := item(day).Price
		if want == "" {
			assert.Nil(t, price, day)
			continue
		}
		require.NotNil(t, price, day)
		assert.Equal(t, []string{want}, spans(*price), day)
	}
	assert.Equal(t, []string{
		"4.00 each 2026-12-01 2026-12-31", "5.25 each 2026-12-31 2027-02-28", "0.00 each 2027-02-28 9999-12-31", "999999.9999 each 9999-12-31 ",
	}, history(), "of all days, whatever the day meant")
}

// Every item of the starter has the price that its list says, and no other.
func TestEveryItemAsItsListSays(t *testing.T) {
	c, _ := stored(t)
	rows := starterRows(t)
	for _, day := range []string{"2026-01-04", "2026-01-05", "2026-03-31", "2026-04-01", "2026-07-15", "2026-10-01", "2030-01-01"} {
		all, err := c.Items(t.Context(), date.MustParse(day))
		require.NoError(t, err)
		assert.Same(t, of(t, c, day), all.Book)
		assert.Len(t, all.Items, len(prices(all.Book.Data())))
		assert.True(t, slices.IsSortedFunc(all.Items, func(a, b catalog.Item) int { return compare(a.Code, b.Code) }))
		for _, item := range all.Items {
			assert.Contains(t, catalog.ItemClasses(), item.Class)
			var from, rate, until string
			for _, r := range rows[item.Code] {
				if r[0] <= day {
					from, rate = r[0], r[1]
				} else if until == "" {
					until = r[0]
				}
			}
			if from == "" {
				assert.Nil(t, item.Price, "%s on %s", item.Code, day)
				continue
			}
			require.NotNil(t, item.Price, "%s on %s", item.Code, day)
			assert.Equal(t, []string{rate, from, until}, []string{item.Price.Rate.String(), item.Price.From.String(), item.Price.Until.String()}, "%s on %s", item.Code, day)
		}
	}
}

func compare(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// An item as JSON leaves out what is not known.
func TestItemsAsJSON(t *testing.T) {
	c, _ := stored(t)
	for day, want := range map[string]string{
		"2026-01-04": `{"code":"birch-ply-6","class":"sheet","description":"Birch plywood, 6 mm"}`,
		"2026-06-30": `{"code":"birch-ply-6","class":"sheet","description":"Birch plywood, 6 mm","price":{"rate":"26.50","unit":"each","from":"2026-01-05","until":"2026-07-01"}}`,
		"2026-07-01": `{"code":"birch-ply-6","class":"sheet","description":"Birch plywood, 6 mm","price":{"rate":"28.00","unit":"each","from":"2026-07-01"}}`,
	} {
		item, err := c.Item(t.Context(), "birch-ply-6", date.MustParse(day))
		require.NoError(t, err)
		item.Description = "Birch plywood, 6 mm"
		text, err := wire.Encode(item)
		require.NoError(t, err)
		assert.Equal(t, want, string(text), day)
	}
}

func TestWhatIsNotThere(t *testing.T) {
	c, _ := stored(t)
	for _, code := range []string{"", "Castor-50", "ash-prime", "brush", "'; DROP TABLE prices; --", "\x00", "castor-50 "} { // a timber has no price: its thicknesses have
		_, err := c.Item(t.Context(), code, date.MustParse("2026-11-25"))
		var not *catalog.NotFound
		require.ErrorAs(t, err, &not, code)
		assert.Equal(t, catalog.NotFound{Class: "item", Code: code, On: date.MustParse("2026-11-25")}, *not)
		_, err = c.Prices(t.Context(), code, date.MustParse("2026-11-25"))
		require.ErrorAs(t, err, &not, code)
	}
	assert.EqualError(t, &catalog.NotFound{Class: "timber", Code: "elm", On: date.MustParse("2026-11-01")}, `there is no timber with the code "elm" on 2026-11-01`)
}

// Entries are the Book's, but for the prices, which stay in the Book.
func TestEntriesBearNoPrice(t *testing.T) {
	for _, b := range []*book.Book{on(t, "2026-11-25"), on(t, "2026-01-04")} {
		before := text(t, b)
		want := *b.Data()
		var fresh book.Data // shares nothing with b
		require.NoError(t, wire.Decode([]byte(before), &fresh))
		for _, at := range []int{0, 1} { // the second time as the first
			n := 0
			for _, class := range catalog.Classes() {
				for _, e := range class.Entries(b) {
					doc, err := wire.Encode(e.Doc)
					require.NoError(t, err)
					assert.NotContains(t, string(doc), `"price"`, "%s %s", class.Name, e.Code)
					assert.Contains(t, string(doc), `"code":"`+e.Code+`"`, "%d", at)
					n++
				}
			}
			assert.Equal(t, len(want.Timbers)+len(want.Sheets)+len(want.Supplies)+len(want.Ironmongery)+len(want.Methods)+len(want.Finishes)+len(want.Labour)+len(want.Stages)+len(want.Rules), n)
		}
		assert.Equal(t, before, text(t, b), "the Book is as it was")
		assert.Equal(t, fresh, *b.Data())
	}
}

// The classes are the lists of a Book under the names that its JSON has.
func TestClassesAreTheListsOfABook(t *testing.T) {
	b := on(t, "2026-11-25")
	members := text(t, b)
	seen := map[string]bool{}
	for _, class := range catalog.Classes() {
		assert.Contains(t, members, `"`+class.List+`":[`)
		assert.NotEmpty(t, class.Entries(b), class.Name)
		assert.False(t, seen[class.Name] || seen[class.List], class.Name)
		seen[class.Name], seen[class.List] = true, true
	}
	for _, name := range catalog.ItemClasses() {
		assert.True(t, seen[name], name)
	}
}
