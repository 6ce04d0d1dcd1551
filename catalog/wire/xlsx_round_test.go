package wire_test

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"reckoner/catalog/wire"
)

// A priceRow is a row of the price lists that are written here.
type priceRow struct {
	code, note string
	price      string // a decimal
	from       time.Time
}

// workbook writes a price list by a program that is not this one.
func workbook(t require.TestingT, rows []priceRow, shared bool) []byte {
	f := excelize.NewFile()
	defer f.Close()
	code := "yyyy\\-mm\\-dd;@"
	dated, err := f.NewStyle(&excelize.Style{CustomNumFmt: &code})
	require.NoError(t, err)
	builtIn, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	require.NoError(t, err)
	money, err := f.NewStyle(&excelize.Style{NumFmt: 4})
	require.NoError(t, err)
	lines := [][]any{{"Code", "Price", "From", "Note"}}
	for i, r := range rows {
		price, err := strconv.ParseFloat(r.price, 64)
		require.NoError(t, err)
		lines = append(lines, []any{r.code, excelize.Cell{StyleID: money, Value: price},
			excelize.Cell{StyleID: []int{dated, builtIn}[i%2], Value: r.from}, r.note})
	}
	if shared {
		for i, line := range lines {
			for k, v := range line {
				name, err := excelize.CoordinatesToCellName(k+1, i+1)
				require.NoError(t, err)
				if c, ok := v.(excelize.Cell); ok {
					require.NoError(t, f.SetCellStyle("Sheet1", name, name, c.StyleID))
					v = c.Value
				}
				require.NoError(t, f.SetCellValue("Sheet1", name, v))
			}
		}
	} else {
		w, err := f.NewStreamWriter("Sheet1")
		require.NoError(t, err)
		for i, line := range lines {
			require.NoError(t, w.SetRow(fmt.Sprintf("A%d", i+1), line))
		}
		require.NoError(t, w.Flush())
	}
	var out bytes.Buffer
	require.NoError(t, f.Write(&out))
	return out.Bytes()
}

// What another program writes comes back exactly, from cells of their own and from
// texts that cells share.
func TestWorkbookRoundTrip(t *testing.T) {
	text := rapid.OneOf(rapid.StringOfN(rapid.RuneFrom([]rune("<>&\"'_x0 \t\n,;=+-@#é€木🌲"), unicode.Latin), 1, 30, -1),
		rapid.SampledFrom([]string{"_x", "a_x00", "=1+1", "12.50", "2026-12-01", "TRUE", "#REF!", "]]>", "  x  "}))
	rapid.Check(t, func(t *rapid.T) {
		var rows []priceRow
		var want []string
		for i := range rapid.IntRange(0, 20).Draw(t, "rows") {
			r := priceRow{
				code:  text.Draw(t, "code"),
				note:  text.Draw(t, "note"),
				price: decimalOf(rapid.Int64Range(-999_999_999_999_999, 999_999_999_999_999).Draw(t, "digits"), rapid.IntRange(0, 6).Draw(t, "decimals")),
				from:  time.Date(1900, 3, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 2_958_404).Draw(t, "day")),
			}
			rows = append(rows, r)
			want = append(want, fmt.Sprintf("%d|%s|%s|%s|%s", i+2, strings.TrimSpace(r.code), r.price, r.from.Format(time.DateOnly), strings.TrimSpace(r.note)))
		}
		for _, shared := range []bool{false, true} {
			got, err := wire.Workbook(workbook(t, rows, shared), priceColumns())
			require.NoError(t, err)
			assert.Equal(t, want, listed(got))
		}
	})
}

// decimalOf writes a whole number of fractions of ten: 12345 and 2 is "123.45".
func decimalOf(n int64, places int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	s := fmt.Sprintf("%0*d", places+1, n)
	if places > 0 {
		s = strings.TrimRight(strings.TrimRight(s[:len(s)-places]+"."+s[len(s)-places:], "0"), ".")
	}
	if s == "0" {
		return s
	}
	return sign + s
}

// fullColumns are those of a price list with all its columns.
func fullColumns() wire.Columns {
	return wire.Columns{Required: []string{"code", "price", "unit", "currency", "effective_from"}, Optional: []string{"supplier", "note"},
		Numbers: []string{"price"}, Dates: []string{"effective_from"}}
}

// full is a price list of so many rows with all columns.
func full(t require.TestingT, rows int) []byte {
	f := excelize.NewFile()
	defer f.Close()
	dated, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	require.NoError(t, err)
	w, err := f.NewStreamWriter("Sheet1")
	require.NoError(t, err)
	require.NoError(t, w.SetRow("A1", []any{"code", "price", "unit", "currency", "effective_from", "supplier", "note"}))
	for i := range rows {
		require.NoError(t, w.SetRow(fmt.Sprintf("A%d", i+2), []any{fmt.Sprintf("ash-%d", i), float64(i) + 0.25, "m3", "GBP",
			excelize.Cell{StyleID: dated, Value: time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)}, "the yard", "air dried"}))
	}
	require.NoError(t, w.Flush())
	var out bytes.Buffer
	require.NoError(t, f.Write(&out))
	return out.Bytes()
}

func TestLongWorkbook(t *testing.T) {
	rows, err := wire.Workbook(full(t, 20_000), fullColumns())
	require.NoError(t, err)
	require.Len(t, rows, 20_000)
	last := rows[19_999]
	assert.Equal(t, 20_001, last.Number)
	assert.Equal(t, "ash-19999 19999.25 m3 GBP 2026-12-01 the yard air dried", strings.Join([]string{last.Cell("code"), last.Cell("price"), last.Cell("unit"),
		last.Cell("currency"), last.Cell("effective_from"), last.Cell("supplier"), last.Cell("note")}, " "))
	_, err = wire.Workbook(full(t, 20_001), fullColumns())
	assert.EqualError(t, err, "the sheet holds something in row 20002, and at most 20000 rows are read below the first: split the table, or delete the rows that are not of it")
}

// A workbook says the same as the CSV of the same table.
func ExampleWorkbook() {
	f := excelize.NewFile()
	defer f.Close()
	dated, _ := f.NewStyle(&excelize.Style{NumFmt: 14})
	_ = f.SetSheetRow("Sheet1", "A1", &[]any{"code", "price", "from"})
	_ = f.SetSheetRow("Sheet1", "A2", &[]any{"ash-27", 1961.5, 46357})
	_ = f.SetSheetRow("Sheet1", "A3", &[]any{"oak-27", "2.400,00", 46357})
	_ = f.SetCellStyle("Sheet1", "C2", "C2", dated)
	file, _ := f.WriteToBuffer()
	columns := wire.Columns{Required: []string{"code", "price", "from"}, Numbers: []string{"price"}, Dates: []string{"from"}}
	_, err := wire.Workbook(file.Bytes(), columns)
	fmt.Println(err)

	_ = f.RemoveRow("Sheet1", 3)
	file, _ = f.WriteToBuffer()
	rows, err := wire.Workbook(file.Bytes(), columns)
	fmt.Println(rows[0].Number, rows[0].Cell("code"), rows[0].Cell("price"), rows[0].Cell("from"), err)
	// Output:
	// row 3, price: B3 holds the text "2.400,00": write a number, in a cell formatted as a number
	// row 3, from: C3 holds the number 46357: write a date, in a cell formatted as a date
	// 2 ash-27 1961.5 2026-12-01 <nil>
}
