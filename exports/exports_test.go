package exports_test

import (
	"archive/zip"
	"bytes"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

var day = date.MustParse("2026-11-01")

// starter is the starter book of the day.
func starter(t testing.TB) *book.Book {
	t.Helper()
	b, err := catalog.Starter(day)
	require.NoError(t, err)
	return b
}

// inCurrency is the starter book with its figures meant in another currency.
func inCurrency(t testing.TB, code string) *book.Book {
	t.Helper()
	c, err := num.ParseCurrency(code)
	require.NoError(t, err)
	data := *starter(t).Data()
	data.Currency = c
	b, err := book.New(data)
	require.NoError(t, err)
	return b
}

// request reads a demo: a whole request or one piece.
func request(t testing.TB, name string) pricing.Request {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "pieces", name+".json"))
	require.NoError(t, err)
	members, err := wire.Members(text)
	require.NoError(t, err)
	var r pricing.Request
	if slices.Contains(members, "pieces") {
		require.NoError(t, wire.Decode(text, &r))
		return r
	}
	var one piece.Piece
	require.NoError(t, wire.Decode(text, &one))
	r.Pieces = []piece.Piece{one}
	return r
}

// decoded is a request written in a test.
func decoded(t testing.TB, text string) pricing.Request {
	t.Helper()
	var r pricing.Request
	require.NoError(t, wire.Decode([]byte(text), &r))
	return r
}

// paper prices r.
func paper(t testing.TB, r pricing.Request, b *book.Book) exports.Paper {
	t.Helper()
	c, err := pricing.Cost(r, b)
	require.NoError(t, err)
	return exports.Paper{Costing: c, Request: r, Book: b, Customer: r.Customer}
}

// mixed is a request whose pieces bear different taxes, with a discount.
func mixed(t testing.TB, b *book.Book) exports.Paper {
	t.Helper()
	r := request(t, "full-quotation")
	tax, discount := "reduced", num.Percent(3_33)
	for i := range r.Pieces {
		if r.Pieces[i].Kind == "service" {
			r.Pieces[i].Tax = tax
		}
	}
	r.Terms = &book.TermsChange{Discount: &discount}
	return paper(t, r, b)
}

// papers is every demo that can be priced, and variants of them, by name.
func papers(t testing.TB) map[string]exports.Paper {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "testdata", "pieces", "*.json"))
	require.NoError(t, err)
	b := starter(t)
	all := make(map[string]exports.Paper)
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".json")
		r := request(t, name)
		if _, err := pricing.Cost(r, b); err != nil {
			require.IsType(t, fault.List{}, err)
			require.Contains(t, name, "fault", "only a demo of faults cannot be priced")
			continue
		}
		all[name] = paper(t, r, b)
	}
	require.GreaterOrEqual(t, len(all), 5)
	for name, code := range map[string]string{"mixed": "GBP", "yen": "JPY", "dinar": "KWD", "euro": "EUR"} {
		all[name] = mixed(t, inCurrency(t, code))
	}
	issued := all["full-quotation"]
	issued.Number, issued.Revision, issued.Title = "2026-0007", 2, "A bedroom in oak"
	issued.Issued = time.Date(2026, 11, 3, 9, 30, 0, 0, time.UTC)
	all["issued"] = issued
	all["extras-only"] = paper(t, decoded(t, `{"pieces": [{"title": "Visit", "kind": "service", "optional": true, "service": {"site": 2}}],
		"terms": {"deposit_percent": 0, "discount_percent": 5}}`), b)
	all["sums"] = frozen(t)
	for i := range feet {
		all[feet[i].name] = feet[i].paper(t)
	}
	return all
}

// written is the quotation of p.
func written(t testing.TB, p exports.Paper) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, exports.Quotation(&out, p))
	return out.Bytes()
}

// summarised is the summary of p.
func summarised(t testing.TB, p exports.Paper) string {
	t.Helper()
	var out strings.Builder
	require.NoError(t, exports.Summary(&out, p))
	return out.String()
}

// A cell is one of a workbook that is not empty.
type cell struct{ name, text, formula string }

// cells reads the only sheet of a workbook, row by row.
func cells(t testing.TB, file []byte) []cell {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	require.Equal(t, []string{"Quotation"}, f.GetSheetList())
	rows, err := f.GetRows("Quotation", excelize.Options{RawCellValue: true})
	require.NoError(t, err)
	var all []cell
	for r := range rows {
		for c := range 4 {
			name, err := excelize.CoordinatesToCellName(c+1, r+1)
			require.NoError(t, err)
			text, err := f.GetCellValue("Quotation", name, excelize.Options{RawCellValue: true})
			require.NoError(t, err)
			formula, err := f.GetCellFormula("Quotation", name)
			require.NoError(t, err)
			if text != "" || formula != "" {
				all = append(all, cell{name, text, formula})
			}
		}
	}
	return all
}

// texts is every text of a workbook, a line each.
func texts(all []cell) string {
	var b strings.Builder
	for _, c := range all {
		b.WriteString(c.text + "\n")
	}
	return b.String()
}

// parts is every file within a workbook, by name.
func parts(t testing.TB, file []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	all := make(map[string]string)
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(r)
		require.NoError(t, err)
		require.NoError(t, r.Close())
		all[f.Name] = string(text)
	}
	return all
}
