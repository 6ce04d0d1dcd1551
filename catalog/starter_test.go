package catalog_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/unit"
)

// on returns the starter Book of a day.
func on(t testing.TB, day string) *book.Book {
	t.Helper()
	b, err := catalog.Starter(date.MustParse(day))
	require.NoError(t, err)
	require.Equal(t, day, b.Data().AsOf.String())
	return b
}

// codes returns the codes of a list in its order.
func codes[T any](list []T, code func(T) string) []string {
	var out []string
	for _, v := range list {
		out = append(out, code(v))
	}
	return out
}

// prices returns every price of a Book by code, nil where there is none.
func prices(d *book.Data) map[string]*book.Price {
	all := map[string]*book.Price{}
	for _, t := range d.Timbers {
		for _, k := range t.Thicknesses {
			all[k.Code] = k.Price
		}
	}
	for _, s := range d.Sheets {
		all[s.Code] = s.Price
	}
	for _, s := range d.Supplies {
		all[s.Code] = s.Price
	}
	for _, f := range d.Ironmongery {
		all[f.Code] = f.Price
	}
	for _, g := range d.Labour {
		all[g.Code] = g.Price
	}
	return all
}

// There is enough to quote ordinary work from: at least these.
func TestStarterCounts(t *testing.T) {
	d := on(t, "2026-11-01").Data()
	assert.GreaterOrEqual(t, len(d.Timbers), 8)
	assert.GreaterOrEqual(t, len(d.Sheets), 6)
	assert.GreaterOrEqual(t, len(d.Ironmongery), 20)
	assert.GreaterOrEqual(t, len(d.Labour), 3)
	assert.Equal(t, "GBP", d.Currency.String())
	assert.Equal(t, int64(1), d.Version)
	assert.GreaterOrEqual(t, len(d.Terms.Conditions), 12, "each in plain words of the workshop's own")

	glues, onePart := 0, 0
	for _, s := range d.Supplies {
		if s.Glue == nil {
			continue
		}
		glues++
		if slices.Contains(s.Hazards, book.Isocyanate) {
			onePart++
			assert.Equal(t, book.Whole, s.Charged, "%s: an opened bottle goes off", s.Code)
		}
	}
	assert.GreaterOrEqual(t, glues, 5)
	assert.GreaterOrEqual(t, onePart, 2)
	for _, code := range []string{"pu-slow", "pu-fast", "pva", "hide", "uf-powder"} {
		s := on(t, "2026-11-01").Supply(code)
		require.NotNil(t, s, code)
		require.NotNil(t, s.Glue, code)
		assert.Equal(t, int64(50_00), int64(s.Glue.Loss), code)
	}
	assert.Equal(t, book.Used, on(t, "2026-11-01").Supply("pva").Charged)
}

// Finishes: one of no coats, and one laid by each method.
func TestStarterFinishes(t *testing.T) {
	b := on(t, "2026-11-01")
	bare := b.Finish("bare")
	require.NotNil(t, bare)
	assert.Equal(t, []book.Coat{}, bare.Coats)
	methods := map[string]bool{}
	for _, f := range b.Data().Finishes {
		for _, c := range f.Coats {
			methods[c.Method] = true
			assert.NotNil(t, b.Supply(c.Product).Coating, f.Code)
		}
	}
	assert.Equal(t, map[string]bool{"wipe": true, "brush": true, "spray": true}, methods)
	assert.GreaterOrEqual(t, len(b.Data().Finishes), 5)
	// 65 % is what spray equipment must reach (aqmd.gov, "Spray Equipment Transfer
	// Efficiency"); a brush loses 10 to 15 % (scribd 290710110); wiping is common
	// practice, no source.
	assert.Equal(t, []int64{65_00, 85_00, 90_00}, []int64{int64(b.Method("spray").Transfer), int64(b.Method("brush").Transfer), int64(b.Method("wipe").Transfer)})
}

// Prices are those in force on the day: what has changed since, and what has not.
func TestPricesByDate(t *testing.T) {
	for _, tt := range []struct{ day, code, rate, from string }{
		{"2026-01-05", "ash-prime-27", "1760.00", "2026-01-05"},
		{"2026-03-31", "ash-prime-27", "1760.00", "2026-01-05"},
		{"2026-01-05", "bench", "30.50", "2026-01-05"},
		{"2026-06-30", "birch-ply-6", "26.50", "2026-01-05"},
	} {
		p := prices(on(t, tt.day).Data())[tt.code]
		require.NotNil(t, p, "%s on %s", tt.code, tt.day)
		assert.Equal(t, []string{tt.rate, tt.from}, []string{p.Rate.String(), p.From.String()}, "%s on %s", tt.code, tt.day)
	}
	// On each day of a change some prices begin, none is older than it was, and the
	// day before has none of them.
	days := []string{"2026-01-05", "2026-04-01", "2026-07-01", "2026-10-01"}
	for i, day := range days {
		begun := 0
		before := prices(on(t, date.MustParse(day).AddDays(-1).String()).Data())
		for code, p := range prices(on(t, day).Data()) {
			require.NotNil(t, p, "%s has no price on %s", code, day)
			if p.From.String() == day {
				begun++
				if old := before[code]; i > 0 {
					require.NotNil(t, old, code)
					assert.Negative(t, old.From.Compare(p.From), code)
				}
			}
		}
		assert.Positive(t, begun, day)
	}
	assert.Equal(t, prices(on(t, "2026-10-01").Data()), prices(on(t, "2031-01-01").Data()), "the last prices hold on")
}

// Before the first price there is a Book without prices.
func TestBeforeTheFirstPrice(t *testing.T) {
	for _, day := range []string{"2026-01-04", "1999-12-31", "0001-01-01"} {
		d := on(t, day).Data()
		for code, p := range prices(d) {
			assert.Nil(t, p, "%s on %s", code, day)
		}
		assert.Len(t, d.Rules, len(on(t, "2026-11-01").Data().Rules))
	}
}

// No day is not the date of a Book.
func TestNoDay(t *testing.T) {
	_, err := catalog.Starter(date.Date{})
	assert.ErrorContains(t, err, "#/as_of")
}

// Two Books of a day are equal and share nothing that could be changed.
func TestBooksAreTheirOwn(t *testing.T) {
	a, b := on(t, "2026-11-01").Data(), on(t, "2026-11-01").Data()
	assert.Equal(t, a, b)
	assert.NotSame(t, a.Timbers[0].Thicknesses[0].Price, b.Timbers[0].Thicknesses[0].Price)
}

// Lists stand by code, but stages in the order of the work and thicknesses from the
// thinnest.
func TestSortedByCode(t *testing.T) {
	d := on(t, "2026-11-01").Data()
	for name, list := range map[string][]string{
		"timbers":     codes(d.Timbers, func(v book.Timber) string { return v.Code }),
		"sheets":      codes(d.Sheets, func(v book.Sheet) string { return v.Code }),
		"supplies":    codes(d.Supplies, func(v book.Supply) string { return v.Code }),
		"ironmongery": codes(d.Ironmongery, func(v book.Fitting) string { return v.Code }),
		"methods":     codes(d.Methods, func(v book.Method) string { return v.Code }),
		"finishes":    codes(d.Finishes, func(v book.Finish) string { return v.Code }),
		"labour":      codes(d.Labour, func(v book.Grade) string { return v.Code }),
		"rules":       codes(d.Rules, func(v book.Rule) string { return v.Code }),
		"taxes":       codes(d.Terms.Taxes, func(v book.Tax) string { return v.Code }),
	} {
		assert.True(t, slices.IsSorted(list), "%s: %v", name, list)
		assert.NotEmpty(t, list, name)
	}
	for _, timber := range d.Timbers {
		assert.True(t, slices.IsSortedFunc(timber.Thicknesses, func(a, b book.Thickness) int { return int(a.Thickness - b.Thickness) }), timber.Code)
		assert.True(t, slices.IsSortedFunc(timber.Thicknesses, func(a, b book.Thickness) int { return int(a.FinishesTo - b.FinishesTo) }), timber.Code)
	}
}

// Every day's Book survives its journey to JSON and back to the byte.
func TestRoundTrip(t *testing.T) {
	for _, day := range []string{"2025-01-01", "2026-01-05", "2026-11-01"} {
		first, err := wire.Encode(on(t, day).Data())
		require.NoError(t, err)
		var d book.Data
		require.NoError(t, wire.Decode(first, &d))
		b, err := book.New(d)
		require.NoError(t, err)
		second, err := wire.Encode(b.Data())
		require.NoError(t, err)
		assert.Equal(t, string(first), string(second), day)
		assert.Equal(t, on(t, day).Data(), b.Data(), day)
	}
}

// Every timber thickness has a unit of volume, and so on: what New accepts, on a
// day when everything has a price.
func TestUnitsOfPrices(t *testing.T) {
	d := on(t, "2026-11-01").Data()
	for _, timber := range d.Timbers {
		for _, k := range timber.Thicknesses {
			assert.Contains(t, []unit.Unit{unit.M3, unit.Ft3, unit.Bf}, k.Price.Unit, k.Code)
		}
	}
	for _, s := range d.Sheets {
		want := unit.Each
		if s.Charged == book.Area {
			want = unit.M2
		}
		assert.Equal(t, want, s.Price.Unit, s.Code)
	}
	for _, s := range d.Supplies {
		assert.Equal(t, unit.Pack, s.Price.Unit, s.Code)
	}
	for _, f := range d.Ironmongery {
		assert.Equal(t, unit.Each, f.Price.Unit, f.Code)
	}
	for _, g := range d.Labour {
		assert.Equal(t, unit.H, g.Price.Unit, g.Code)
	}
}
