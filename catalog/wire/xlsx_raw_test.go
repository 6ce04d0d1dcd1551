package wire_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
)

// priceColumns is a price list of four columns.
func priceColumns() wire.Columns {
	return wire.Columns{Required: []string{"code", "price", "from"}, Optional: []string{"note"}, Numbers: []string{"price"}, Dates: []string{"from"}}
}

// listed prints rows: "2|ash|1850|2026-12-01|dry".
func listed(rows []wire.Row) (out []string) {
	for _, r := range rows {
		out = append(out, fmt.Sprintf("%d|%s|%s|%s|%s", r.Number, r.Cell("code"), r.Cell("price"), r.Cell("from"), r.Cell("note")))
	}
	return out
}

const (
	declared = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"
	mainNS   = `xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"`
	linkNS   = `http://schemas.openxmlformats.org/officeDocument/2006/relationships`
	packNS   = `http://schemas.openxmlformats.org/package/2006/`

	header  = `<row r="1"><c r="A1" t="inlineStr"><is><t>code</t></is></c><c r="B1" t="inlineStr"><is><t>price</t></is></c><c r="C1" t="inlineStr"><is><t>from</t></is></c><c r="D1" t="inlineStr"><is><t>note</t></is></c></row>`
	goodRow = `<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2"><v>1850</v></c><c r="C2" s="1"><v>46357</v></c></row>`
)

// A raw is a workbook by its parts, written as they stand here. Styles 0 to 4 are
// General, a built-in date, two custom dates and a time.
type raw map[string]string

// listOf returns a small workbook with the rows of its sheet as given.
func listOf(rows string) raw {
	return raw{
		"[Content_Types].xml": declared + `<Types xmlns="` + packNS + `content-types"><Default Extension="xml" ContentType="application/xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`,
		"_rels/.rels":     declared + links("officeDocument", "xl/workbook.xml"),
		"xl/workbook.xml": declared + workbookOf(`<sheets><sheet name="Prices" sheetId="1" r:id="r2"/></sheets>`),
		"xl/_rels/workbook.xml.rels": declared + links("styles", "styles.xml", "sharedStrings", "/xl/sharedStrings.xml",
			"worksheet", "worksheets/sheet1.xml"),
		"xl/styles.xml": declared + `<styleSheet ` + mainNS + `><numFmts count="2"><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd;@"/><numFmt numFmtId="165" formatCode="[$-809]d mmmm yyyy"/></numFmts>` +
			`<cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="165"/><xf numFmtId="20"/></cellXfs></styleSheet>`,
		"xl/sharedStrings.xml":     declared + `<sst ` + mainNS + `><si><t>ash-27</t></si><si><t xml:space="preserve"> oak </t></si></sst>`,
		"xl/worksheets/sheet1.xml": sheet(rows),
		"xl/theme/theme1.xml":      "<theme/>",
	}
}

func sheet(rows string) string {
	return declared + `<worksheet ` + mainNS + `><sheetData>` + rows + `</sheetData></worksheet>`
}

func workbookOf(inside string) string {
	return `<workbook ` + mainNS + ` xmlns:r="` + linkNS + `">` + inside + `</workbook>`
}

// links writes the links of a part: kinds and targets in turn, ids r0, r1...
func links(pairs ...string) string {
	text := `<Relationships xmlns="` + packNS + `relationships">`
	for i := 0; i < len(pairs); i += 2 {
		text += fmt.Sprintf(`<Relationship Id="r%d" Type="%s/%s" Target="%s"/>`, i/2, linkNS, pairs[i], pairs[i+1])
	}
	return text + `</Relationships>`
}

// with returns the workbook with parts set, or left out if they are empty.
func (r raw) with(pairs ...string) raw {
	r = maps.Clone(r)
	for i := 0; i < len(pairs); i += 2 {
		r[pairs[i]] = pairs[i+1]
		if pairs[i+1] == "" {
			delete(r, pairs[i])
		}
	}
	return r
}

// swapped returns the workbook with a text in a part replaced; it must be there.
func (r raw) swapped(t *testing.T, part, from, to string) raw {
	t.Helper()
	require.Contains(t, r[part], from)
	return r.with(part, strings.ReplaceAll(r[part], from, to))
}

// file returns the workbook as a file.
func (r raw) file() []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range slices.Sorted(maps.Keys(r)) {
		w, err := z.Create(name)
		if err == nil && !strings.HasSuffix(name, "/") {
			_, err = w.Write([]byte(r[name]))
		}
		if err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return out.Bytes()
}

// readable rows of a workbook that must be read.
func rowsOf(t *testing.T, b []byte) []string {
	t.Helper()
	rows, err := wire.Workbook(b, priceColumns())
	require.NoError(t, err)
	return listed(rows)
}

// refused asserts that a workbook is refused as a whole, in words.
func refused(t *testing.T, b []byte, says, name string) {
	t.Helper()
	rows, err := wire.Workbook(b, priceColumns())
	require.Error(t, err, name)
	require.Nil(t, rows, name)
	faults, ok := err.(wire.CellFaults)
	require.True(t, ok, name)
	require.Len(t, faults, 1, "%s: %v", name, err)
	require.Zero(t, faults[0].Row, "%s: %v", name, err)
	require.Empty(t, faults[0].Column, "%s: %v", name, err)
	require.Contains(t, faults[0].Detail, says, name)
	require.Contains(t, faults[0].Detail, ": ", "%s: a remedy follows", name)
	require.LessOrEqual(t, len(faults[0].Detail), 220, name)
	require.NotRegexp(t, jargon, faults[0].Detail, name)
}
