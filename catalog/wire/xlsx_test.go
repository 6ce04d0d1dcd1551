package wire_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
)

func TestWorkbook(t *testing.T) {
	b := listOf(header + goodRow)
	good := []string{"2|ash-27|1850|2026-12-01|"}
	for _, tt := range []struct {
		name string
		book raw
		want []string
	}{
		{"a header and a row", b, good},
		{"a header alone", listOf(header), nil},
		{"no numbers of rows and cells", listOf(`<row><c t="str"><v>From </v></c><c t="str"><v> PRICE</v></c><c t="str"><v>Code</v></c></row><row/><row><c s="2"><v>46357</v></c><c><v>2</v></c><c t="s"><v>1</v></c></row>`), []string{"3|oak|2|2026-12-01|"}},
		{"columns apart and a header further down", listOf(`<row r="4"><c r="C4" t="str"><v>price</v></c><c r="E4" t="str"><v>code</v></c><c r="AB4" t="str"><v>from</v></c></row><row r="9"><c r="E9" t="str"><v>x</v></c></row>`), []string{"9|x|||"}},
		{"empty rows, cells without a value, white space", listOf(header + `<row r="2"><c r="A2" s="1"/><c r="B2"><v/></c></row><row r="3"><c r="A3" t="str"><v> 
</v></c><c r="H3" t="inlineStr"><is><t xml:space="preserve">  </t></is></c></row><row r="7"><c r="A7" t="s"><v>1</v></c></row>`), []string{"7|oak|||"}},
		{"hidden rows and columns", b.with(sheet1, strings.Replace(strings.Replace(b[sheet1], `<sheetData>`, `<cols><col min="1" max="1" hidden="1"/></cols><sheetData>`, 1), `<row r="2"`, `<row r="2" hidden="1"`, 1)), good},
		{"styled emptiness far out", listOf(header + goodRow + `<row r="3"><c r="XFD3" s="1"/></row><row r="1048576" ht="12.8"><c r="A1048576" s="1"/></row>`), good},
		{"a hidden sheet with content", b.with("xl/workbook.xml", workbookOf(`<sheets><sheet name="Old" r:id="r0" state="hidden"/><sheet name="Prices" r:id="r1"/></sheets>`),
			"xl/_rels/workbook.xml.rels", links("worksheet", "worksheets/old.xml", "worksheet", "worksheets/sheet1.xml", "sharedStrings", "sharedStrings.xml", "styles", "styles.xml"), "xl/worksheets/old.xml", sheet(header)), good},
		{"a sheet that only programs can show", b.with("xl/workbook.xml", workbookOf(`<sheets><sheet name="Prices" r:id="r1"/><sheet name="Old" r:id="r0" state="veryHidden"/></sheets>`),
			"xl/_rels/workbook.xml.rels", links("worksheet", "worksheets/old.xml", "worksheet", "worksheets/sheet1.xml", "sharedStrings", "sharedStrings.xml", "styles", "styles.xml")), good},
		{"an empty sheet and a chart before the table", b.with("xl/workbook.xml", workbookOf(`<sheets><sheet name="Chart" r:id="r4"/><sheet name="Empty" r:id="r0" state="visible"/><sheet name="Prices" r:id="r1"/></sheets>`),
			"xl/_rels/workbook.xml.rels", links("worksheet", "worksheets/old.xml", "worksheet", "worksheets/sheet1.xml", "sharedStrings", "sharedStrings.xml", "styles", "styles.xml", "chartsheet", "chartsheets/sheet1.xml"), "xl/worksheets/old.xml", sheet("")), good},
		{"part names in other letters", b.with(sheet1, "", "xl/Worksheets/Sheet1.xml", b[sheet1]), good},
		{"a byte order mark and remarks", b.with(sheet1, "\xef\xbb\xbf"+strings.Replace(b[sheet1], "<sheetData>", "<!-- written by hand --><?keep this?><sheetData>", 1)+"\n<!-- end -->"), good},
		{"names with a prefix", b.with(sheet1, `<x:worksheet xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><x:sheetData><x:row><x:c t="str"><x:v>code</x:v></x:c><x:c t="str"><x:v>price</x:v></x:c><x:c t="str"><x:v>from</x:v></x:c></x:row></x:sheetData></x:worksheet>`), nil},
		{"the strict kind", b.with(sheet1, strings.Replace(b[sheet1], mainNS, `xmlns="http://purl.oclc.org/ooxml/spreadsheetml/main"`, 1), "_rels/.rels",
			strings.Replace(b["_rels/.rels"], linkNS, "http://purl.oclc.org/ooxml/officeDocument/relationships", 1)), good},
		{"what else a sheet has", b.with(sheet1, strings.Replace(b[sheet1], `</sheetData>`, `</sheetData><autoFilter ref="A1:D2"/><mergeCells><mergeCell ref="A9:B9"/><mergeCell ref="F1:F2"/><mergeCell ref="A2"/></mergeCells><hyperlinks><hyperlink ref="A2"/></hyperlinks><extLst><ext><other:thing xmlns:other="o"><row>x</row></other:thing></ext></extLst>`, 1)), good},
		{"extensions everywhere", b.with(sheet1, strings.NewReplacer("<worksheet ", `<worksheet xmlns:x14ac="ac" xmlns:mc="mc" mc:Ignorable="x14ac" `, `<row r="2">`, `<row r="2" spans="1:4" x14ac:dyDescent="0.25">`, "<v>1850</v>", `<v>1850</v><extLst><ext/></extLst>`,
			`</v></c></row>`, `</v></c><c r="D2" t="s"/><extLst><ext/></extLst></row>`).Replace(b[sheet1]),
			"xl/sharedStrings.xml", strings.NewReplacer("<t>ash-27</t>", `<t>ash-27</t><rPh sb="0" eb="1"><t>ash</t></rPh><phoneticPr fontId="1"/>`, "</sst>", `<extLst><ext/></extLst></sst>`).Replace(b["xl/sharedStrings.xml"])), good},
		{"a workbook without styles and shared texts", listOf(header+`<row><c t="str"><v>x</v></c><c s="0"><v>1</v></c></row>`).with("xl/styles.xml", "", "xl/sharedStrings.xml", "", "xl/_rels/workbook.xml.rels", links("theme", "theme/theme1.xml", "theme", "x", "worksheet", "worksheets/sheet1.xml")), []string{"2|x|1||"}},
		{"a theme larger than is read, pictures, printer settings", b.with("xl/theme/theme1.xml", strings.Repeat(" ", 1<<20), "xl/media/image1.png", strings.Repeat("\x00", 3<<20), "xl/printerSettings/printerSettings1.bin", "\x00\xff"), good},
		{"folders in the archive", b.with("xl/", " "), good},
		{"the longest text", listOf(header + `<row><c t="str"><v>` + strings.Repeat("é", 2000) + `</v></c></row>`), []string{"2|" + strings.Repeat("é", 2000) + "|||"}},
	} {
		assert.Equal(t, tt.want, rowsOf(t, tt.book.file()), tt.name)
	}
}

// cellOf returns a workbook of one row with a cell in the column of prices (B),
// dates (C) or notes (D), and what is read there or said of it, without its place.
func cellOf(t *testing.T, b raw, column, cell string) string {
	t.Helper()
	b = b.with("xl/worksheets/sheet1.xml", sheet(header+`<row r="2"><c r="A2" t="s"><v>0</v></c>`+strings.Replace(cell, "<c", `<c r="`+column+`2"`, 1)+`</row>`))
	rows, err := wire.Workbook(b.file(), priceColumns())
	name := map[string]string{"B": "price", "C": "from", "D": "note"}[column]
	if err == nil {
		require.Len(t, rows, 1)
		return rows[0].Cell(name)
	}
	faults := err.(wire.CellFaults)
	require.Len(t, faults, 1)
	if faults[0].Row == 0 {
		return faults[0].Detail
	}
	said, ok := strings.CutPrefix(faults[0].String(), fmt.Sprintf("row 2, %s: %s2 ", name, column))
	require.True(t, ok, "%s: %v", cell, err)
	assert.NotRegexp(t, jargon, said)
	assert.LessOrEqual(t, len(said), 200)
	return said
}

func TestNumbersAndTexts(t *testing.T) {
	const tooFine = ", which has more than 6 decimals: round it"
	const tooLong = "holds a number of more than 15 digits: write it as a text, in a cell formatted as text"
	for _, tt := range []struct{ column, cell, want string }{
		{"B", `<c><v>1850</v></c>`, "1850"},
		{"B", `<c t="n"><v>1850.50</v></c>`, "1850.5"},
		{"B", `<c><v>1.2300000000000001E2</v></c>`, "123"},
		{"B", `<c><v>0.30000000000000004</v></c>`, "0.3"},
		{"B", `<c><v>1.1000000000000001</v></c>`, "1.1"},
		{"B", `<c><v>1234567890.123456</v></c>`, "1234567890.123456"},
		{"B", `<c><v>-0</v></c>`, "0"},
		{"B", `<c><v>-12.5</v></c>`, "-12.5"},
		{"B", `<c><v>1E-6</v></c>`, "0.000001"},
		{"B", `<c><v>1e+3</v></c>`, "1000"},
		{"B", `<c><v>999999999999999</v></c>`, "999999999999999"},
		{"B", `<c><v>1000000000000000</v></c>`, tooLong},
		{"B", `<c><v>-1E300</v></c>`, tooLong},
		{"B", `<c><v>0.1234567</v></c>`, "holds 0.1234567" + tooFine},
		{"B", `<c><v>1E-300</v></c>`, "holds 0." + strings.Repeat("0", 38) + "..." + tooFine},
		{"B", `<c><v>NaN</v></c>`, `holds "NaN", which is no number: write it anew`},
		{"B", `<c><v>INF</v></c>`, `holds "INF", which is no number: write it anew`},
		{"B", `<c><v>1E999</v></c>`, `holds "1E999", which is no number: write it anew`},
		{"B", `<c><v>0x1p4</v></c>`, `holds "0x1p4", which is no number: write it anew`},
		{"B", `<c><v>1_000</v></c>`, `holds "1_000", which is no number: write it anew`},
		{"B", `<c t="str"><v>12.50</v></c>`, `holds the text "12.50": write a number, in a cell formatted as a number`},
		{"B", `<c t="s"><v>0</v></c>`, `holds the text "ash-27": write a number, in a cell formatted as a number`},
		{"B", `<c s="1"><v>46357</v></c>`, `holds the date 2026-12-01: write a number, in a cell formatted as a number`},
		{"B", `<c t="str"><v/></c>`, ""},
		{"D", `<c><v>1850.5</v></c>`, "1850.5"},
		{"D", `<c s="1"><v>46357</v></c>`, "2026-12-01"},
		{"D", `<c t="inlineStr"><is><t xml:space="preserve"> a &amp; b </t></is></c>`, "a & b"},
		{"D", `<c t="inlineStr"><is><r><rPr><b/></rPr><t xml:space="preserve">dry </t></r><r><t>ash</t></r><rPh sb="0" eb="1"><t>spoken</t></rPh></is></c>`, "dry ash"},
		{"D", `<c t="inlineStr"><is><t>a_x000D__x000a_b_x005F_x0041__x004_ _xD83D_ _x</t></is></c>`, "a\r\nb_x0041__x004_ _xD83D_ _x"},
		{"D", `<c t="str"><v><![CDATA[<a>]]> &lt;b&gt; &#x20AC;</v></c>`, "<a> <b> €"},
		{"D", `<c t="str"><v>` + strings.Repeat("x", 4001) + `</v></c>`, "has more than 4000 bytes: shorten it"},
		{"D", `<c><f>1+1</f><v>2</v></c>`, "holds a formula: copy the cell and paste it back as a value"},
		{"D", `<c t="str"><f t="shared" si="0"/><v></v></c>`, "holds a formula: copy the cell and paste it back as a value"},
		{"D", `<c t="b"><v>1</v></c>`, "holds TRUE or FALSE: write a text or a number"},
		{"D", `<c t="e"><v>#REF!</v></c>`, `holds the error "#REF!": write a value`},
		{"D", `<c t="e"><f>A9</f><v>#NAME?</v></c>`, "holds a formula: copy the cell and paste it back as a value"},
	} {
		assert.Equal(t, tt.want, cellOf(t, listOf(""), tt.column, tt.cell), "%.80s", tt.cell)
	}
}

// The days of the numbers are worked examples of ECMA-376 part 1, 18.17.4.1 and
// 18.17.4.3 (from memory), and of the calendar.
func TestDates(t *testing.T) {
	const (
		aTime  = "holds a time of day: write the date alone, in a cell formatted as a date"
		unread = "holds a date out of range: write one from 1 March 1900 (1904 in workbooks that count from there) to the year 9999"
	)
	for _, tt := range []struct{ cell, from1900, from1904 string }{
		{`<c s="1"><v>46357</v></c>`, "2026-12-01", "2030-12-02"},
		{`<c s="2"><v>44895</v></c>`, "2022-11-30", "2026-12-01"},
		{`<c s="3"><v>2.6299E4</v></c>`, "1972-01-01", "1976-01-02"},
		{`<c s="1"><v>61</v></c>`, "1900-03-01", "1904-03-02"},
		{`<c s="1"><v>60</v></c>`, unread, "1904-03-01"},
		{`<c s="1"><v>0</v></c>`, unread, "1904-01-01"},
		{`<c s="1"><v>-1</v></c>`, unread, unread},
		{`<c s="1"><v>2957003</v></c>`, "9995-12-30", "9999-12-31"},
		{`<c s="1"><v>2958465</v></c>`, "9999-12-31", unread},
		{`<c s="1"><v>2958466</v></c>`, unread, unread},
		{`<c s="1"><v>1E300</v></c>`, unread, unread},
		{`<c s="1"><v>46357.5</v></c>`, aTime, aTime},
		{`<c s="1"><v>46357.000011574</v></c>`, aTime, aTime},
		{`<c s="4"><v>46357</v></c>`, aTime, aTime},
		{`<c s="4"><v>0.25</v></c>`, aTime, aTime},
		{`<c><v>46357</v></c>`, "holds the number 46357: write a date, in a cell formatted as a date", "holds the number 46357: write a date, in a cell formatted as a date"},
		{`<c t="s"><v>0</v></c>`, `holds the text "ash-27": write a date, in a cell formatted as a date`, `holds the text "ash-27": write a date, in a cell formatted as a date`},
		{`<c t="str"><v>2026-12-01</v></c>`, `holds the text "2026-12-01": write a date, in a cell formatted as a date`, `holds the text "2026-12-01": write a date, in a cell formatted as a date`},
		{`<c t="d"><v>2026-12-01</v></c>`, "2026-12-01", "2026-12-01"},
		{`<c t="d"><v>2026-12-01T00:00:00.000Z</v></c>`, "2026-12-01", "2026-12-01"},
		{`<c t="d"><v>2026-12-01T10:30:00</v></c>`, aTime, aTime},
		{`<c t="d"><v>2026-02-29</v></c>`, `holds "2026-02-29", which is no date: write it anew`, `holds "2026-02-29", which is no date: write it anew`},
		{`<c s="1"><v>soon</v></c>`, `holds "soon", which is no number: write it anew`, `holds "soon", which is no number: write it anew`},
	} {
		b := listOf("")
		assert.Equal(t, tt.from1900, cellOf(t, b, "C", tt.cell), tt.cell)
		for _, yes := range []string{"1", "true"} {
			b = b.swapped(t, "xl/workbook.xml", "<sheets>", `<workbookPr date1904="`+yes+`"/><sheets>`)
			assert.Equal(t, tt.from1904, cellOf(t, b, "C", tt.cell), tt.cell)
			b = listOf("")
		}
	}
	assert.Equal(t, "2026-12-01", cellOf(t, listOf("").swapped(t, "xl/workbook.xml", "<sheets>", `<workbookPr date1904="0"/><sheets>`), "C", `<c s="1"><v>46357</v></c>`))
}

// Formats as spreadsheets write them, custom and built in (ECMA-376 part 1,
// 18.8.30 and 18.8.31).
func TestDateFormats(t *testing.T) {
	for _, tt := range []struct{ formats, want string }{
		{"yyyy\\-mm\\-dd|dd/mm/yyyy|d\\.m\\.yy;@|[$-409]d\\-mmm\\-yy;@|[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy|mmm\\-yy|mmmm|DD\\.MM\\.YYYY|d/m/yyyy h:mm|[Red]dd/mm/yy;[Blue]0|[$-411]ggge&quot;年&quot;m&quot;月&quot;d&quot;日&quot;|14|15|16|17|22|30|57", "2026-12-01"},
		{"h:mm|hh:mm:ss.000|[h]:mm:ss|[mm]:ss|[ss].00|h:mm AM/PM|[$-F400]h:mm:ss\\ AM/PM|mm:ss.0|18|20|21|45|46|47|33", "time"},
		{"General|0.00|#,##0.00|&quot;dry&quot; 0|0.00\\ &quot;m&quot;|[$£-809]#,##0.00;[Red]\\-[$£-809]#,##0.00|0.00E+00|##0.0E+0|@|_-* #,##0.00\\ _d|0\\d|# ?/?|USD 0.00|0 kg|GENERAL|\\d0|0;d|0%|&quot;unclosed d|[unclosed d|0*d|1|2|9|10|13|23|37|40|44|48|49|59|163", "number"},
	} {
		for _, code := range strings.Split(tt.formats, "|") {
			b := listOf("")
			if strings.Trim(code, "0123456789") == "" {
				b = b.swapped(t, "xl/styles.xml", `numFmtId="14"`, `numFmtId="`+code+`"`)
			} else {
				b = b.swapped(t, "xl/styles.xml", "[$-809]d mmmm yyyy", code)
			}
			style := map[bool]string{true: "1", false: "3"}[strings.Trim(code, "0123456789") == ""]
			got := cellOf(t, b, "C", `<c s="`+style+`"><v>46357</v></c>`)
			assert.Contains(t, got, tt.want, code)
		}
	}
}

// All faults of cells come together, in the order of rows.
func TestBadCellsOfWorkbooks(t *testing.T) {
	b := listOf(header + `<row r="2"><c r="A2" t="b"><v>0</v></c><c r="B2" t="str"><v>12,50</v></c><c r="C2"><v>46357</v></c><c r="F2"><v>9</v></c></row>` + `<row r="4"><c r="A4"><f>B4</f></c><c r="B4" s="1"><v>46357</v></c><c r="C4" t="str"><v>1.12.26</v></c></row><row r="6"><c r="D6" t="e"><v>#N/A</v></c></row>`)
	b = b.swapped(t, "xl/worksheets/sheet1.xml", "</sheetData>", `</sheetData><mergeCells><mergeCell ref="A3:B5"/><mergeCell ref="E1:H1"/><mergeCell ref="D6:D90"/><mergeCell ref="G2:G3"/><mergeCell ref="A7:D7"/></mergeCells>`)
	rows, err := wire.Workbook(b.file(), priceColumns())
	assert.Nil(t, rows)
	assert.EqualError(t, err, `row 1: E1 is one of the merged cells E1:H1: unmerge them and fill in each
row 2, code: A2 holds TRUE or FALSE: write a text or a number
row 2, price: B2 holds the text "12,50": write a number, in a cell formatted as a number
row 2, from: C2 holds the number 46357: write a date, in a cell formatted as a date
row 2: F2 stands under no heading: write one above it in row 1, or empty the cell
row 3, code: A3 is one of the merged cells A3:B5: unmerge them and fill in each
row 4, code: A4 holds a formula: copy the cell and paste it back as a value
row 4, price: B4 holds the date 2026-12-01: write a number, in a cell formatted as a number
row 4, from: C4 holds the text "1.12.26": write a date, in a cell formatted as a date
row 6, note: D6 holds the error "#N/A": write a value
row 6, note: D6 is one of the merged cells D6:D90: unmerge them and fill in each`)
}

func TestHeadersOfWorkbooks(t *testing.T) {
	row := func(n int, names ...string) string {
		text := fmt.Sprintf(`<row r="%d">`, n)
		for _, name := range names {
			text += `<c t="str"><v>` + name + `</v></c>`
		}
		return text + `</row>`
	}
	const are = ", which is no column: the columns are code, price, from, note"
	for _, tt := range []struct{ name, rows, says string }{
		{"an unknown column", row(1, "code", "prize", "from"), "row 1: B1 says \"prize\"" + are + "\nrow 1: the column \"price\" is missing"},
		{"a column twice, in capitals", row(1, "code", "price", "from", "Price "), `row 1: D1 says "price", which stands in another column too: leave one out`},
		{"a title above", row(2, "Prices of December") + row(3, "code", "price", "from"), "row 2: A2 says \"prices of december\"" + are +
			"\nrow 2: the column \"code\" is missing\nrow 2: the column \"price\" is missing\nrow 2: the column \"from\" is missing"},
		{"a cell under no heading", row(1, "code", "", "price", "from") + row(2, "x", "y"), "row 2: B2 stands under no heading: write one above it in row 1, or empty the cell"},
		{"a formula", `<row><c t="str"><f>x</f><v>code</v></c></row>` + row(2, "x"), "row 1: A1 holds a formula: copy the cell and paste it back as a value\nrow 1: the column \"code\" is missing\nrow 1: the column \"price\" is missing\nrow 1: the column \"from\" is missing"},
		{"a number", `<row><c><v>2026</v></c></row>`, "row 1: A1 says \"2026\"" + are + "\nrow 1: the column \"code\" is missing\nrow 1: the column \"price\" is missing\nrow 1: the column \"from\" is missing"},
		{"an endless one", row(1, "code", "price", "from", strings.Repeat("x", 4000)), `row 1: D1 says "` + strings.Repeat("x", 40) + `..."` + are},
	} {
		rows, err := wire.Workbook(listOf(tt.rows).file(), priceColumns())
		assert.Nil(t, rows, tt.name)
		assert.EqualError(t, err, tt.says, tt.name)
	}
	for name, rows := range map[string]string{"nothing": "", "empty rows": `<row r="1"/><row r="7"><c r="A7" s="1"/></row>`} {
		refused(t, listOf(rows).file(), "no visible sheet of the workbook holds anything: write a header row", name)
	}
}
