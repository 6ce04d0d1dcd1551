package exports_test

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// rateOf is a price; nothing is none.
func rateOf(t testing.TB, s string) *num.Rate {
	t.Helper()
	if s == "" {
		return nil
	}
	r := new(num.Rate)
	require.NoError(t, r.UnmarshalText([]byte(s)))
	return r
}

// demoPrices is a price list with what lists have and what programs take for
// something else.
func demoPrices(t testing.TB) []exports.PriceRow {
	t.Helper()
	return []exports.PriceRow{
		{"ash-prime-27", rateOf(t, "1850.00"), unit.M3, "GBP", date.MustParse("2026-12-01"), `from the yard, "kiln dried"`},
		{"castor-50", nil, unit.Each, "GBP", date.Date{}, "no price yet"},
		{"screw-4-40", rateOf(t, "0.0125"), unit.Each, "GBP", date.MustParse("1970-01-01"), ""},
		{"00123", rateOf(t, "999999.9999"), "tin of five", "EUR", date.MustParse("2000-01-01"), "=1+1"},
		{"1E5", rateOf(t, "0.00"), unit.Pack, "GBP", date.MustParse("1900-03-01"), "two\nlines"},
		{"-2-3", rateOf(t, "0.10"), unit.Kg, "GBP", date.MustParse("9999-12-31"), "2026-12-01"},
	}
}

// priceHead are the columns of a price list.
const priceHead = "code,price,unit,currency,effective_from,supplier,note"

// priceCSV is rows as CSV.
func priceCSV(t testing.TB, rows []exports.PriceRow) string {
	var out strings.Builder
	require.NoError(t, exports.PriceListCSV(&out, rows))
	return out.String()
}

// priceXLSX is rows as a workbook.
func priceXLSX(t testing.TB, rows []exports.PriceRow) []byte {
	var out bytes.Buffer
	require.NoError(t, exports.PriceListXLSX(&out, rows))
	return out.Bytes()
}

// Sources: RFC 4180, section 2, for lines and quotation marks; ASVS 1.2.10 and
// CWE-1236 for texts that would be formulas.
func TestPriceListAsCSV(t *testing.T) {
	assert.Equal(t, strings.ReplaceAll(priceHead+`
ash-prime-27,1850.00,m3,GBP,2026-12-01,,"from the yard, ""kiln dried"""
castor-50,,each,GBP,,,no price yet
screw-4-40,0.0125,each,GBP,1970-01-01,,
00123,999999.9999,tin of five,EUR,2000-01-01,,'=1+1
1E5,0.00,pack,GBP,1900-03-01,,two lines
'-2-3,0.10,kg,GBP,9999-12-31,,2026-12-01
`, "\n", "\r\n"), priceCSV(t, demoPrices(t)))
	assert.Equal(t, priceHead+"\r\n", priceCSV(t, nil))
}

// anyText is text that people write, and that they should not.
func anyText() *rapid.Generator[string] {
	return rapid.OneOf(rapid.String(), rapid.StringMatching(`[-+=@'", ;a-z0-9]{0,12}`), rapid.SampledFrom(nasty))
}

// anyRow is a line of a price list.
func anyRow() *rapid.Generator[exports.PriceRow] {
	return rapid.Custom(func(t *rapid.T) exports.PriceRow {
		r := exports.PriceRow{
			Code: anyText().Draw(t, "code"), Unit: unit.Unit(anyText().Draw(t, "unit")), Currency: rapid.SampledFrom([]string{"", "GBP", "=GBP"}).Draw(t, "currency"),
			Note: anyText().Draw(t, "note"),
		}
		if n := rapid.Int64Range(-1, int64(book.MaxRate)-1).Draw(t, "price"); n >= 0 {
			r.Price = (*num.Rate)(&n)
		}
		if n := rapid.IntRange(-1, 2_958_465-61).Draw(t, "from"); n >= 0 {
			r.From = date.MustParse("1900-03-01").AddDays(n)
		}
		return r
	})
}

// legible is what a reader sees of a text, without its space.
func legible(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == 0xfffe || r == 0xffff {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
}

func TestPriceListIsReadBackFromCSV(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(anyRow(), 0, 5).Draw(t, "rows")
		var out bytes.Buffer
		require.NoError(t, exports.PriceListCSV(&out, rows))
		records, err := csv.NewReader(&out).ReadAll()
		require.NoError(t, err)
		require.Len(t, records, len(rows)+1)
		for i, r := range rows {
			got := records[i+1]
			price := ""
			if r.Price != nil {
				price = r.Price.String()
			}
			assert.Equal(t, []string{price, r.From.String(), ""}, []string{got[1], got[4], got[5]})
			for at, text := range map[int]string{0: r.Code, 2: string(r.Unit), 3: r.Currency, 6: r.Note} {
				first, _ := utf8.DecodeRuneInString(got[at])
				assert.NotContains(t, "=+-@＝＋－＠", string(first))
				if said := legible(got[at]); said != legible(text) {
					assert.Equal(t, "'"+legible(text), said)
					assert.Contains(t, "=+-@＝＋－＠", string([]rune(legible(text))[:1]), "nothing else is guarded")
				}
			}
		}
	})
}

// The program's own reader of tables takes the list as it is.
func TestPriceListIsATable(t *testing.T) {
	rows := demoPrices(t)
	got, err := wire.Table([]byte(priceCSV(t, rows)), []string{"code", "price", "unit", "currency", "effective_from"}, []string{"supplier", "note"})
	require.NoError(t, err)
	require.Len(t, got, len(rows))
	for i, r := range got {
		assert.Equal(t, rateOf(t, r.Cell("price")), rows[i].Price)
		assert.Equal(t, r.Cell("effective_from"), rows[i].From.String())
	}
}

// opened reads a workbook whose only sheet is a price list.
func opened(t testing.TB, file []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, f.Close()) })
	require.Equal(t, []string{"Prices"}, f.GetSheetList())
	return f
}

// format is the number format of a style, by its code.
func format(t testing.TB, f *excelize.File, style int) string {
	t.Helper()
	s, err := f.GetStyle(style)
	require.NoError(t, err)
	if s.CustomNumFmt == nil {
		return strconv.Itoa(s.NumFmt)
	}
	return strings.ReplaceAll(*s.CustomNumFmt, `\`, "")
}

// seen is what stands in a cell: "text: ", "number: " or nothing before its value,
// as it is stored, and its format after it.
func seen(t testing.TB, f *excelize.File, cell string) string {
	t.Helper()
	kind, err := f.GetCellType("Prices", cell)
	require.NoError(t, err)
	value, err := f.GetCellValue("Prices", cell, excelize.Options{RawCellValue: true})
	require.NoError(t, err)
	formula, err := f.GetCellFormula("Prices", cell)
	require.NoError(t, err)
	require.Empty(t, formula, cell)
	style, err := f.GetCellStyle("Prices", cell)
	require.NoError(t, err)
	switch {
	case kind == excelize.CellTypeInlineString, kind == excelize.CellTypeSharedString:
		value = "text: " + value
	case value != "":
		assert.Contains(t, []excelize.CellType{excelize.CellTypeUnset, excelize.CellTypeNumber}, kind, cell)
		value = "number: " + value
	}
	return value + " [" + format(t, f, style) + "]"
}

// demoCells returns what the workbook of demoPrices holds. Sources of the numbers of
// days, all from memory: ECMA-376 part 1, 18.17.4.1, for the last of the 1900
// system; the common numbers of 1970-01-01 and 2000-01-01; 61 for the first after
// the 29th of February 1900 that some programs have.
func demoCells() [][]string {
	return [][]string{
		{"text: ash-prime-27 [@]", "number: 1850 [0.00##]", "text: m3 [@]", "text: GBP [@]", "number: 46357 [yyyy-mm-dd]", " [@]", `text: from the yard, "kiln dried" [@]`},
		{"text: castor-50 [@]", " [0.00##]", "text: each [@]", "text: GBP [@]", " [yyyy-mm-dd]", " [@]", "text: no price yet [@]"},
		{"text: screw-4-40 [@]", "number: 0.0125 [0.00##]", "text: each [@]", "text: GBP [@]", "number: 25569 [yyyy-mm-dd]", " [@]", " [@]"},
		{"text: 00123 [@]", "number: 999999.9999 [0.00##]", "text: tin of five [@]", "text: EUR [@]", "number: 36526 [yyyy-mm-dd]", " [@]", "text: =1+1 [@]"},
		{"text: 1E5 [@]", "number: 0 [0.00##]", "text: pack [@]", "text: GBP [@]", "number: 61 [yyyy-mm-dd]", " [@]", "text: two lines [@]"},
		{"text: -2-3 [@]", "number: 0.1 [0.00##]", "text: kg [@]", "text: GBP [@]", "number: 2958465 [yyyy-mm-dd]", " [@]", "text: 2026-12-01 [@]"},
	}
}

// assertDemo makes sure that a workbook is that of demoPrices: the cells, what
// holds for those below, and what may be typed into them.
func assertDemo(t *testing.T, f *excelize.File) {
	t.Helper()
	for i, row := range demoCells() {
		for k, want := range row {
			cell, err := excelize.CoordinatesToCellName(k+1, i+2)
			require.NoError(t, err)
			assert.Equal(t, want, seen(t, f, cell), cell)
		}
	}
	for k, head := range strings.Split(priceHead, ",") {
		column := string(rune('A' + k))
		value, err := f.GetCellValue("Prices", column+"1")
		require.NoError(t, err)
		assert.Equal(t, head, value)
		style, err := f.GetColStyle("Prices", column)
		require.NoError(t, err)
		want := cmp.Or(map[string]string{"price": "0.00##", "effective_from": "yyyy-mm-dd"}[head], "@")
		assert.Equal(t, want, format(t, f, style), "%s of new rows", head)
	}
	list, err := f.GetDataValidations("Prices")
	require.NoError(t, err)
	require.Len(t, list, 2)
	for i, want := range [][]string{
		{"B2:B1007", "decimal", "between", "0", "999999.9999", "stop"}, {"E2:E1007", "date", "between", "61", "2958465", "stop"},
	} {
		v := list[i]
		assert.Equal(t, want, []string{v.Sqref, v.Type, v.Operator, v.Formula1, v.Formula2, *v.ErrorStyle})
		assert.True(t, v.AllowBlank && v.ShowErrorMessage)
		assert.Regexp(t, `^[A-Z].*such as .*\.$`, *v.Error)
		assert.LessOrEqual(t, len(*v.Error), 255, "what a validation holds")
	}
	merged, err := f.GetMergeCells("Prices")
	require.NoError(t, err)
	assert.Empty(t, merged)
}

func TestPriceListAsWorkbook(t *testing.T) {
	file := priceXLSX(t, demoPrices(t))
	f := opened(t, file)
	assertDemo(t, f)
	panes, err := f.GetPanes("Prices")
	require.NoError(t, err)
	assert.Equal(t, excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}, panes)
	for k := range 7 {
		id, err := f.GetCellStyle("Prices", string(rune('A'+k))+"1")
		require.NoError(t, err)
		style, err := f.GetStyle(id)
		require.NoError(t, err)
		assert.True(t, style.Font.Bold)
	}
	props, err := f.GetDocProps()
	require.NoError(t, err)
	assert.Equal(t, []string{"Price list", "Reckoner", "9999-12-31T00:00:00Z"}, []string{props.Title, props.Creator, props.Created})
	workbook, sheet := parts(t, file)["xl/workbook.xml"], parts(t, file)["xl/worksheets/sheet1.xml"]
	assert.NotContains(t, workbook, "date1904")
	assert.NotContains(t, sheet, "<f>")
	assert.Contains(t, sheet, `<autoFilter ref="$A$1:$G$7">`)
	assert.NotContains(t, sheet, "filterMode", "nothing is filtered out")
	columns := regexp.MustCompile(`<col min="(\d+)"`).FindAllStringSubmatch(sheet, -1)
	require.Len(t, columns, 7)
	for k, c := range columns {
		assert.Equal(t, strconv.Itoa(k+1), c[1], "columns stand in their order")
	}
}

func TestPriceListPageSetUp(t *testing.T) {
	f := opened(t, priceXLSX(t, demoPrices(t)))
	page, err := f.GetPageLayout("Prices")
	require.NoError(t, err)
	assert.Equal(t, []any{9, "portrait", 1, 0}, []any{*page.Size, *page.Orientation, *page.FitToWidth, *page.FitToHeight}, "9 is A4 (ECMA-376 part 1, 18.3.1.63)")
	props, err := f.GetSheetProps("Prices")
	require.NoError(t, err)
	assert.True(t, *props.FitToPage)
	view, err := f.GetSheetView("Prices", 0)
	require.NoError(t, err)
	assert.True(t, *view.ShowGridLines)
	defined := make(map[string]string)
	for _, n := range f.GetDefinedName() {
		defined[n.Name] = n.RefersTo
	}
	assert.Equal(t, map[string]string{
		"_xlnm.Print_Titles": "Prices!$1:$1", "_xlnm.Print_Area": "Prices!$A:$G", "_xlnm._FilterDatabase": "'Prices'!$A$1:$G$7",
	}, defined)
}

// What is read back from the workbook is what was written, price and day exactly.
func TestPriceListIsReadBackFromAWorkbook(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rows := rapid.SliceOfN(anyRow(), 0, 5).Draw(rt, "rows")
		f := opened(t, priceXLSX(t, rows))
		for i, r := range rows {
			at := strconv.Itoa(i + 2)
			value := func(column string) string {
				v, err := f.GetCellValue("Prices", column+at, excelize.Options{RawCellValue: true})
				require.NoError(rt, err)
				return v
			}
			price, from := value("B"), value("E")
			if price != "" {
				price = rateOf(t, price).String()
			}
			if from != "" {
				n, err := strconv.Atoi(from)
				require.NoError(rt, err, "no time of day")
				day, err := excelize.ExcelDateToTime(float64(n), false)
				require.NoError(rt, err)
				from = date.Of(day).String()
			}
			want := ""
			if r.Price != nil {
				want = r.Price.String()
			}
			assert.Equal(rt, []string{want, r.From.String(), ""}, []string{price, from, value("F")})
			for column, text := range map[string]string{"A": r.Code, "C": string(r.Unit), "D": r.Currency, "G": r.Note} {
				got := legible(value(column))
				assert.True(rt, got == legible(text) || len(text) > 32_767 && got != "" && strings.HasPrefix(legible(text), got), "%.40q of %.40q", got, text)
			}
		}
	})
}

func TestPriceListsOfTheSameRowsAreTheSameBytes(t *testing.T) {
	text, file := priceCSV(t, demoPrices(t)), priceXLSX(t, demoPrices(t))
	for range 20 {
		assert.Equal(t, text, priceCSV(t, demoPrices(t)))
		assert.True(t, bytes.Equal(file, priceXLSX(t, demoPrices(t))))
	}
}

func TestAPriceListMayBeEmpty(t *testing.T) {
	f := opened(t, priceXLSX(t, nil))
	rows, err := f.GetRows("Prices")
	require.NoError(t, err)
	assert.Equal(t, [][]string{strings.Split(priceHead, ",")}, rows)
	list, err := f.GetDataValidations("Prices")
	require.NoError(t, err)
	require.Len(t, list, 2)
	assert.Equal(t, "B2:B1001", list[0].Sqref)
}

func TestPriceListErrors(t *testing.T) {
	assert.ErrorIs(t, exports.PriceListCSV(broken{}, demoPrices(t)), errFull)
	assert.ErrorIs(t, exports.PriceListXLSX(broken{}, demoPrices(t)), errFull)
	negative := num.Rate(-1)
	most := book.MaxRate
	for want, r := range map[string]exports.PriceRow{
		`exports: the price -0.0001 of "oak" is out of range: a price is from 0 below 1000000.00`:       {Code: "oak", Price: &negative},
		`exports: the price 1000000.00 of "oak" is out of range: a price is from 0 below 1000000.00`:    {Code: "oak", Price: &most},
		`exports: the day 1900-02-28 of "oak" is out of range: dates of a workbook begin on 1900-03-01`: {Code: "oak", From: date.MustParse("1900-02-28")},
	} {
		var out bytes.Buffer
		assert.EqualError(t, exports.PriceListXLSX(&out, []exports.PriceRow{r}), want)
		assert.Zero(t, out.Len())
		assert.NoError(t, exports.PriceListCSV(io.Discard, []exports.PriceRow{r}), "a text holds any number and day")
	}
}

// LibreOffice reads the same values, keeps them, their formats and what may be
// typed when it saves the list again, and prints it on one page of A4: neither
// wider, nor longer by the rows that may be added.
func TestLibreOfficeReadsThePriceList(t *testing.T) {
	program := calc(t)
	if program == "" {
		TestPriceListAsWorkbook(t)
		return
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "list.xlsx")
	require.NoError(t, os.WriteFile(path, priceXLSX(t, demoPrices(t)), 0o600))
	office(t, program, []string{path})
	saved := filepath.Join(dir, "saved")
	converted(t, program, "xlsx", saved, []string{path})
	converted(t, program, "pdf", saved, []string{path})

	text, err := os.ReadFile(filepath.Join(dir, "list-Prices.csv"))
	require.NoError(t, err)
	got, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	require.NoError(t, err)
	want, err := csv.NewReader(strings.NewReader(priceCSV(t, demoPrices(t)))).ReadAll()
	require.NoError(t, err)
	for _, r := range want {
		if strings.Contains(r[1], ".") {
			r[1] = strings.TrimSuffix(strings.TrimRight(r[1], "0"), ".")
		}
		r[0], r[6] = strings.TrimPrefix(r[0], "'"), strings.TrimPrefix(r[6], "'")
	}
	assert.Equal(t, want, got)

	text, err = os.ReadFile(filepath.Join(saved, "list.xlsx"))
	require.NoError(t, err)
	assertDemo(t, opened(t, text))

	text, err = os.ReadFile(filepath.Join(saved, "list.pdf"))
	require.NoError(t, err)
	pages := regexp.MustCompile(`/Type\s*/Page\b[^s][^>]*/MediaBox\s*\[\s*0 0 595\.\d* 841\.\d*`).FindAll(text, -1)
	assert.Len(t, pages, 1)
	assert.Len(t, regexp.MustCompile(`/Type\s*/Page\b[^s]`).FindAll(text, -1), 1)
}
