package api_test

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

const (
	pieces   = "../testdata/pieces/"
	costings = "../testdata/costings/"
)

// file returns the text of a file.
func file(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	return string(text)
}

// files returns the names that match a pattern; there must be some.
func files(t testing.TB, pattern string) []string {
	t.Helper()
	names, err := filepath.Glob(pattern)
	require.NoError(t, err)
	require.NotEmpty(t, names, pattern)
	return names
}

// bookOf returns the starter catalogue's Book of a day.
func bookOf(t testing.TB, day string) *book.Book {
	t.Helper()
	b, err := catalog.Starter(date.MustParse(day))
	require.NoError(t, err)
	return b
}

// line returns v as the service writes it.
func line(t testing.TB, v any) string {
	t.Helper()
	text, err := wire.Encode(v)
	require.NoError(t, err)
	return string(text) + "\n"
}

// drawn returns what an export writes.
func drawn(t testing.TB, draw func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, draw(&b))
	return b.String()
}

// compact returns JSON without its white space.
func compact(t testing.TB, text string) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, json.Compact(&b, []byte(text)))
	return b.String()
}

// answered asks for 200 and returns the body and its media type.
func answered(t testing.TB, r request) (body, media string) {
	t.Helper()
	a := shared.ask(t, r)
	require.Equal(t, 200, a.status, "%s %s: %s", r.method, r.target, a.body)
	return string(a.body), a.header.Get("Content-Type")
}

// Every demo is answered as pricing prices it, in every form, byte for byte.
func TestTheDemosAreAnsweredAsPricingPricesThem(t *testing.T) {
	b := bookOf(t, today)
	priced, fronts := 0, 0
	for _, name := range files(t, pieces+"*.json") {
		text := file(t, name)
		p := exports.Paper{Book: b}
		require.NoError(t, wire.Decode([]byte(text), &p.Request), name)
		var err error
		if p.Costing, err = pricing.Cost(p.Request, b); err != nil {
			assert.Equal(t, "five-faults.json", filepath.Base(name))
			assert.Equal(t, 422, shared.ask(t, refused(submit("/v1/costings", text))).status, name)
			continue
		}
		priced++
		p.Customer = p.Request.Customer
		for _, form := range []struct{ query, accept, media, want string }{
			{"", "", "application/json", line(t, p.Costing)},
			{"", "*/*", "application/json", line(t, p.Costing)},
			{"", mediaXLSX, mediaXLSX, drawn(t, func(w io.Writer) error { return exports.Quotation(w, p) })},
			{"?workbook=quotation", mediaXLSX, mediaXLSX, drawn(t, func(w io.Writer) error { return exports.Quotation(w, p) })},
			{"?workbook=workshop", mediaXLSX, mediaXLSX, drawn(t, func(w io.Writer) error { return exports.Workshop(w, p) })},
		} {
			got, media := answered(t, submit("/v1/costings"+form.query, text, "Accept: "+form.accept))
			assert.Equal(t, form.media, media, name)
			assert.True(t, form.want == got, "%s as %s %s: not the same bytes", name, form.media, form.query)
		}
		for i, q := range p.Request.Pieces {
			if _, ok := q.Front(); ok {
				fronts++
				want := drawn(t, func(w io.Writer) error { return exports.Elevation(w, p, i) })
				got, media := answered(t, submit("/v1/costings?piece="+p.Costing.Pieces[i].ID, text, "Accept: image/*"))
				assert.Equal(t, []string{mediaSVG, want}, []string{media, got}, name)
				if first, _ := exports.FrontPiece(p); first == i {
					got, _ = answered(t, submit("/v1/costings", text, "Accept: "+mediaSVG))
					assert.Equal(t, want, got, "%s: the first with a front", name)
				}
			}
		}
	}
	assert.GreaterOrEqual(t, priced, 7)
	assert.GreaterOrEqual(t, fronts, 5)
}

func TestWorkbooksAreFiles(t *testing.T) {
	for query, name := range map[string]string{"": "quotation.xlsx", "?workbook=quotation": "quotation.xlsx", "?workbook=workshop": "workshop.xlsx"} {
		a := shared.ask(t, submit("/v1/costings"+query, file(t, pieces+"low-chest.json"), "Accept: "+mediaXLSX))
		assert.Equal(t, "attachment; filename="+name, a.header.Get("Content-Disposition"))
		assert.Equal(t, []string{"Accept", "no-store"}, []string{a.header.Get("Vary"), a.header.Get("Cache-Control")})
	}
}

// The worked costings are answered as they stand in testdata, where the sums of each
// were worked beside it.
func TestTheWorkedCostings(t *testing.T) {
	for _, name := range files(t, costings+"*/request.json") {
		got, _ := answered(t, submit("/v1/costings", file(t, name)))
		assert.Equal(t, compact(t, file(t, filepath.Join(filepath.Dir(name), "want.json"))), compact(t, got), name)
	}
}

// A cutting list is answered as pricing prices its request, on the service's day and
// on another.
func TestACuttingListIsAnsweredAsPricingPricesIt(t *testing.T) {
	text := file(t, pieces+"cutting-list.csv")
	for _, day := range []string{"", "2026-03-31"} {
		query, on := "?timber=oak-prime&sheet=birch-ply-6&finish=oil-3", today
		if day != "" {
			query, on = query+"&as_of="+day, day
		}
		p := exports.Paper{Book: bookOf(t, on)}
		p.Request, _ = wire.List{Timber: "oak-prime", Sheet: "birch-ply-6", Finish: "oil-3"}.Read([]byte(text))
		var err error
		p.Costing, err = pricing.Cost(p.Request, p.Book)
		require.NoError(t, err)
		for accept, want := range map[string]string{
			"application/json": line(t, p.Costing),
			mediaXLSX:          drawn(t, func(w io.Writer) error { return exports.Quotation(w, p) }),
		} {
			for _, media := range []string{"text/csv", "Text/CSV; charset=UTF-8", "text/csv; header=present"} {
				got, _ := answered(t, submit("/v1/costings"+query, text, "Content-Type: "+media, "Accept: "+accept))
				assert.True(t, want == got, "%s as %s from %s", query, accept, media)
			}
		}
		marked, _ := answered(t, submit("/v1/costings"+query, "\ufeff"+strings.ReplaceAll(text, "\n", "\r\n"), "Content-Type: text/csv"))
		assert.Equal(t, line(t, p.Costing), marked, "with a byte order mark and other line ends")
	}
}

// A request names its day itself; without one it is the service's.
func TestTheDayOfARequest(t *testing.T) {
	text := file(t, pieces+"tall-chest.json")
	var r pricing.Request
	require.NoError(t, wire.Decode([]byte(text), &r))
	for _, day := range []string{"2026-01-05", "2026-06-30", today, "9999-12-31"} {
		r.AsOf = date.MustParse(day)
		c, err := pricing.Cost(r, bookOf(t, day))
		require.NoError(t, err)
		got, _ := answered(t, submit("/v1/costings", strings.Replace(text, "{", `{"as_of": "`+day+`", `, 1)))
		assert.Equal(t, line(t, c), got, day)
	}
	null, _ := answered(t, submit("/v1/costings", strings.Replace(text, "{", `{"as_of": null, `, 1)))
	plain, _ := answered(t, submit("/v1/costings", text))
	assert.Equal(t, plain, null, "null counts as absent")
}
