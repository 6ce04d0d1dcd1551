package wire_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
)

// converted has LibreOffice write files in another form, and returns them by name;
// nothing where it is not installed, but for continuous integration, which must have
// it.
func converted(t *testing.T, form string, files map[string]string) map[string][]byte {
	t.Helper()
	program, err := exec.LookPath("soffice")
	if err != nil {
		require.Empty(t, os.Getenv("CI"), "LibreOffice must be installed here")
		return nil
	}
	dir := t.TempDir()
	args := []string{"-env:UserInstallation=file://" + t.TempDir(), "--headless", "--convert-to", form, "--outdir", dir}
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
		args = append(args, filepath.Join(dir, name))
	}
	out, err := exec.Command(program, args...).CombinedOutput()
	require.NoError(t, err, string(out))
	books := make(map[string][]byte)
	for name := range files {
		b, err := os.ReadFile(filepath.Join(dir, strings.TrimSuffix(name, filepath.Ext(name))+"."+form))
		require.NoError(t, err, string(out))
		books[name] = b
	}
	return books
}

// flat writes a spreadsheet as OpenDocument text: cells of a table are lines, whose
// first letter is their style.
func flat(rows string) string {
	styles := `<number:date-style style:name="N1"><number:day number:style="long"/><number:text>.</number:text><number:month number:style="long"/><number:text>.</number:text><number:year number:style="long"/></number:date-style>` +
		`<number:date-style style:name="N2"><number:day-of-week number:style="long"/><number:text>, the </number:text><number:day/><number:text> of </number:text><number:month number:textual="true" number:style="long"/><number:text> </number:text><number:year/></number:date-style>` +
		`<number:currency-style style:name="N3"><number:currency-symbol number:language="en" number:country="GB">£</number:currency-symbol><number:number number:decimal-places="2" number:min-integer-digits="1" number:grouping="true"/></number:currency-style>` +
		`<number:number-style style:name="N4"><number:number number:decimal-places="0" number:min-integer-digits="5"/><number:text> days and d</number:text></number:number-style>` +
		`<number:time-style style:name="N5"><number:hours/><number:text>:</number:text><number:minutes number:style="long"/></number:time-style>` +
		`<number:date-style style:name="N6"><number:year number:style="long"/><number:text>-</number:text><number:month number:style="long"/><number:text>-</number:text><number:day number:style="long"/><number:text> </number:text><number:hours/><number:text>:</number:text><number:minutes/></number:date-style>`
	styles += `<number:boolean-style style:name="N7"><number:boolean/></number:boolean-style>`
	for i := 1; i <= 7; i++ {
		styles += fmt.Sprintf(`<style:style style:name="c%d" style:family="table-cell" style:data-style-name="N%d"/>`, i, i)
	}
	return `<?xml version="1.0" encoding="UTF-8"?><office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.spreadsheet"><office:automatic-styles>` +
		styles + `</office:automatic-styles><office:body><office:spreadsheet><table:table table:name="Prices">` + rows + `</table:table></office:spreadsheet></office:body></office:document>`
}

// line writes cells of flat.
func line(cells ...string) string {
	return `<table:table-row>` + strings.Join(cells, "") + `</table:table-row>`
}

func words(s string) string {
	return `<table:table-cell office:value-type="string"><text:p>` + s + `</text:p></table:table-cell>`
}

func money(v string, style int) string {
	return fmt.Sprintf(`<table:table-cell table:style-name="c%d" office:value-type="float" office:value="%s"/>`, style, v)
}

func dated(v string, style int) string {
	return fmt.Sprintf(`<table:table-cell table:style-name="c%d" office:value-type="date" office:date-value="%s"/>`, style, v)
}

const noCell = `<table:table-cell/>`

// What LibreOffice makes of a CSV and of a spreadsheet of its own is read as it was
// written, formats and all.
func TestLibreOfficeWorkbooks(t *testing.T) {
	heads := line(words("Code"), words("Price"), words("From"), words("Note"))
	var long strings.Builder
	long.WriteString("code,price,unit,currency,effective_from,supplier,note\n")
	for i := range 20_000 {
		fmt.Fprintf(&long, "ash-%d,%d.25,m3,GBP,2026-12-01,the yard,air dried %d\n", i, i, i)
	}
	books := converted(t, "xlsx", map[string]string{
		"plain.csv": "code,price,from,note\nash-27,1850.5,2026-12-01,\"dry, prime\"\n,,,\noak-27,-0.000001,1999-02-28,\"<two>\nlines & more\"\n",
		"long.csv":  long.String(),
		"flat.fods": flat(heads + line(words("ash-27"), money("1850.5", 3), dated("2026-12-01", 1), words("dry <text:span>prime</text:span></text:p><text:p>boards ")) +
			line(noCell, noCell, noCell) + `<table:table-row table:visibility="collapse">` + words("oak-27") + money("0.1", 4) + dated("2027-02-28", 2) + noCell + `</table:table-row>` +
			line(words("sap-27 é€木🌲"), money("123456.789012", 3), dated("9999-12-31", 1), money("12", 4)) + line(words("elm-27"), money("3", 3), dated("2027-01-01T00:00:00", 6), dated("1900-03-01", 2)) +
			`<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:style-name="c1" table:number-columns-repeated="9"/></table:table-row>`),
		"bad.fods": flat(heads + line(`<table:table-cell table:formula="of:=[.B2]" office:value-type="float" office:value="7"/>`, `<table:table-cell table:formula="of:=1/0"/>`, words("2026-12-01"), `<table:table-cell table:style-name="c7" office:value-type="boolean" office:boolean-value="true"/>`) +
			line(`<table:table-cell table:number-columns-spanned="2" table:number-rows-spanned="1" office:value-type="string"><text:p>ash</text:p></table:table-cell>`, `<table:covered-table-cell/>`, money("46357", 4), words("x"), words("beside")) +
			line(words("oak"), dated("2026-12-01", 2), dated("2026-12-01T10:30:00", 6), money("0.5", 5)) + line(words("elm"), words("1850"), dated("1900-01-15", 1))),
	})
	if books == nil {
		TestWorkbook(t)
		return
	}
	assert.Equal(t, []string{"2|ash-27|1850.5|2026-12-01|dry, prime", "4|oak-27|-0.000001|1999-02-28|<two>\nlines & more"}, rowsOf(t, books["plain.csv"]))
	assert.Equal(t, []string{"2|ash-27|1850.5|2026-12-01|dry prime\nboards", "4|oak-27|0.1|2027-02-28|", "5|sap-27 é€木🌲|123456.789012|9999-12-31|12", "6|elm-27|3|2027-01-01|1900-03-01"}, rowsOf(t, books["flat.fods"]))
	rows, err := wire.Workbook(books["long.csv"], fullColumns())
	require.NoError(t, err)
	require.Len(t, rows, 20_000)
	assert.Equal(t, "ash-19999 19999.25 2026-12-01 air dried 19999", strings.Join([]string{rows[19999].Cell("code"), rows[19999].Cell("price"), rows[19999].Cell("effective_from"), rows[19999].Cell("note")}, " "))
	_, err = wire.Workbook(books["bad.fods"], priceColumns())
	assert.EqualError(t, err, `row 2, code: A2 holds a formula: copy the cell and paste it back as a value
row 2, price: B2 holds a formula: copy the cell and paste it back as a value
row 2, from: C2 holds the text "2026-12-01": write a date, in a cell formatted as a date
row 2, note: D2 holds TRUE or FALSE: write a text or a number
row 3, from: C3 holds the number 46357: write a date, in a cell formatted as a date
row 3: E3 stands under no heading: write one above it in row 1, or empty the cell
row 3, code: A3 is one of the merged cells A3:B3: unmerge them and fill in each
row 4, price: B4 holds the date 2026-12-01: write a number, in a cell formatted as a number
row 4, from: C4 holds a time of day: write the date alone, in a cell formatted as a date
row 4, note: D4 holds a time of day: write the date alone, in a cell formatted as a date
row 5, price: B5 holds the text "1850": write a number, in a cell formatted as a number
row 5, from: C5 holds a date out of range: write one from 1 March 1900 (1904 in workbooks that count from there) to the year 9999`)
	want, err := wire.Workbook(books["plain.csv"], priceColumns())
	require.NoError(t, err)
	b := books["plain.csv"]
	for n := range b {
		b[n] ^= 1 << (n % 8)
		unharmed(t, want, b, "changed at", n)
		b[n] ^= 1 << (n % 8)
	}
}

// Files of its other forms, renamed.
func TestLibreOfficeOtherForms(t *testing.T) {
	text := map[string]string{"a.csv": "code,price,from\nash-27,1850.5,2026-12-01\n"}
	for form, says := range map[string]string{"xls": "old kind (.xls)", "ods": "OpenDocument"} {
		if books := converted(t, form, text); books != nil {
			refused(t, books["a.csv"], says, form)
		}
	}
}
