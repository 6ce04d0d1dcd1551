package wire_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

const (
	sheet1   = "xl/worksheets/sheet1.xml"
	strs     = "xl/sharedStrings.xml"
	styles   = "xl/styles.xml"
	bookPart = "xl/workbook.xml"
	bookRels = "xl/_rels/workbook.xml.rels"
	types    = "[Content_Types].xml"
)

func TestNoWorkbook(t *testing.T) {
	locked, err := excelize.Encrypt(listOf(header+goodRow).file(), &excelize.Options{Password: "secret"})
	require.NoError(t, err)
	for _, tt := range []struct {
		name string
		file []byte
		says string
	}{
		{"nothing", nil, "no .xlsx workbook"},
		{"a text", []byte("code,price\nash,1\n"), "no .xlsx workbook"},
		{"something before the archive", append([]byte("x"), listOf(header).file()...), "no .xlsx workbook"},
		{"9 MiB", make([]byte, 9<<20), "more than 8 MiB"},
		{"just over 8 MiB", make([]byte, 8<<20+1), "more than 8 MiB"},
		{"an old workbook", append([]byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), "W\x00o\x00r\x00k\x00b\x00o\x00o\x00k\x00"...), "old kind (.xls)"},
		{"a locked workbook", locked, "remove the password"},
		{"an OpenDocument file", raw{"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<x/>"}.file(), "OpenDocument"},
		{"another archive", raw{"a.txt": "x"}.file(), "no .xlsx workbook"},
		{"a letter", listOf("").swapped(t, types, "spreadsheetml.sheet", "wordprocessingml.document").file(), "no .xlsx workbook"},
		{"an archive of nothing", []byte("PK\x05\x06" + strings.Repeat("\x00", 18)), "no .xlsx workbook"},
		{"a magic alone", []byte("PK\x03\x04"), "damaged"},
	} {
		refused(t, tt.file, tt.says, tt.name)
	}
}

func TestMoreThanATable(t *testing.T) {
	b := listOf(header + goodRow)
	two := b.with(bookPart, workbookOf(`<sheets><sheet name="A" r:id="r0"/><sheet name="B" r:id="r1"/></sheets>`),
		bookRels, links("worksheet", "worksheets/sheet1.xml", "worksheet", "worksheets/sheet2.xml", "sharedStrings", "sharedStrings.xml", "styles", "styles.xml"),
		"xl/worksheets/sheet2.xml", sheet(`<row><c t="str"><v>x</v></c></row>`))
	many := b
	for i := range 200 {
		many = many.with(fmt.Sprintf("xl/media/image%d.png", i), "x")
	}
	for _, tt := range []struct {
		name string
		book raw
		says string
	}{
		{"a part of macros", b.with("xl/vbaProject.bin", "x"), "macros"},
		{"the type of macros", b.swapped(t, types, "vnd.openxmlformats-officedocument.spreadsheetml.sheet.main", "vnd.ms-excel.sheet.macroEnabled.main"), "macros"},
		{"a link to macros", b.swapped(t, bookRels, `</Relationships>`, `<Relationship Id="m" Type="http://schemas.microsoft.com/office/2006/relationships/vbaProject" Target="x.bin"/></Relationships>`), "macros"},
		{"a sheet of old macros", b.with("xl/macrosheets/sheet1.xml", "<x/>"), "macros"},
		{"an add-in", b.swapped(t, types, "vnd.openxmlformats-officedocument.spreadsheetml.sheet.main", "vnd.ms-excel.addin.macroEnabled.main"), "macros"},
		{"a binary workbook", b.swapped(t, types, "vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml", "vnd.ms-excel.sheet.binary.macroEnabled.main"), ".xlsb"},
		{"a part of another workbook", b.with("xl/externalLinks/externalLink1.xml", "<x/>"), "other workbooks"},
		{"a link to another workbook", b.swapped(t, bookRels, "worksheet\"", "externalLink\""), "other workbooks"},
		{"the type of a link to another workbook", b.swapped(t, types, "</Types>", `<Override PartName="/x.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.externalLink+xml"/></Types>`), "other workbooks"},
		{"references to other workbooks", b.swapped(t, bookPart, "</sheets>", `</sheets><externalReferences><externalReference r:id="r9"/></externalReferences>`), "other workbooks"},
		{"two sheets that hold something", two, "more than one visible sheet"},
		{"207 parts", many, "more than 200 parts"},
		{"a row too many", listOf(header + goodRow + `<row r="20002"><c t="str"><v>x</v></c></row>`), "row 20002"},
		{"a column too many", listOf(header + goodRow + `<row r="3"><c r="BM3" t="str"><v>x</v></c></row>`), "column BM"},
		{"a heading too far out", listOf(`<row r="1"><c r="XFD1" t="str"><v>code</v></c></row>`), "column XFD"},
		{"styles of more than 1 MiB", b.with(styles, strings.Replace(b[styles], "<cellXfs", "<!--"+noise(1<<20)+"--><cellXfs", 1)), "too large"},
		{"a sheet of more than 8 MiB", b.with(sheet1, b[sheet1]+strings.Repeat(noise(4096), 2100)), "too large"},
		{"a workbook part of more than 256 KiB", b.with(bookPart, b[bookPart]+strings.Repeat("<!--"+noise(1000)+"-->", 300)), "too large"},
		{"spaces in styles", b.with(styles, b[styles]+strings.Repeat(" ", 500_000)), "mostly empty"},
	} {
		refused(t, tt.book.file(), tt.says, tt.name)
	}
	assert.Equal(t, []string{"2|ash-27|1850|2026-12-01|"}, rowsOf(t, two.with("xl/worksheets/sheet2.xml", sheet("")).file()))
}

// noise is letters that do not pack well: a congruential generator's (constants of
// Numerical Recipes, from memory).
func noise(n int) string {
	b, x := make([]byte, n), uint32(1)
	for i := range b {
		x = 1664525*x + 1013904223
		b[i] = 'a' + byte(x>>24)%26
	}
	return string(b)
}

func TestDamagedWorkbooks(t *testing.T) {
	b := listOf(header + goodRow)
	for _, tt := range []struct {
		name string
		book raw
		says string
	}{
		{"no workbook part", b.with(bookPart, ""), `"xl/workbook.xml" is missing`},
		{"no links", b.with("_rels/.rels", ""), "missing"},
		{"no links of the workbook", b.with(bookRels, ""), "missing"},
		{"no link to the workbook", b.with("_rels/.rels", links()), "what it holds"},
		{"two links to it", b.with("_rels/.rels", links("officeDocument", "xl/workbook.xml", "officeDocument", "xl/workbook.xml")), "which officeDocument"},
		{"no styles", b.with(styles, ""), "missing"},
		{"two styles", b.swapped(t, bookRels, "sharedStrings\"", "styles\""), "which styles"},
		{"styles elsewhere", b.swapped(t, bookRels, `Target="styles.xml"`, `Target="http://example.org/s.xml" TargetMode="External"`), "which styles"},
		{"no texts", b.with(strs, ""), "missing"},
		{"no sheet", b.with(sheet1, ""), "missing"},
		{"a sheet without a link", b.swapped(t, bookPart, `"r2"`, `"r7"`), "not there"},
		{"a sheet of an unknown kind", b.swapped(t, bookPart, `"r2"`, `"r0"`), "unknown kind"},
		{"a sheet half visible", b.swapped(t, bookPart, `r:id`, `state="dim" r:id`), "neither visible nor hidden"},
		{"the same sheet twice", b.swapped(t, bookPart, `</sheets>`, `<sheet r:id="r2"/></sheets>`), "stands for two"},
		{"an unclear calendar", b.swapped(t, bookPart, "<sheets>", `<workbookPr date1904="maybe"/><sheets>`), "neither true nor false"},
		{"a name with ..", b.with("xl/../x.xml", "x"), `named "xl/../x.xml"`},
		{"a name from the root", b.with("/x.xml", "x"), "named"},
		{"a name with a backslash", b.with(`xl\x.xml`, "x"), "named"},
		{"a name of another drive", b.with(`c:x.xml`, "x"), "named"},
		{"a name not UTF-8", b.with("x\xff.xml", "x"), "named"},
		{"a folder outside", b.with("../xl/", " "), "named"},
		{"a name twice in other letters", b.with("XL/Styles.xml", "x"), "stands twice"},
	} {
		refused(t, tt.book.file(), tt.says, tt.name)
	}
}

func TestDamagedXML(t *testing.T) {
	b := listOf(header + goodRow)
	at := func(rows string) raw { return listOf(header + rows) }
	deep := strings.Repeat("<a>", 13) + strings.Repeat("</a>", 13)
	for _, tt := range []struct {
		name string
		book raw
		says string
	}{
		{"another space of types", b.swapped(t, types, "content-types", "types"), "begin"},
		{"another document", b.swapped(t, sheet1, "worksheet", "workbook"), "begin"},
		{"another space", b.swapped(t, sheet1, "2006/main", "2007/main"), "begin"},
		{"nothing", b.with(sheet1, "  "), "begin"},
		{"a text alone", b.with(sheet1, "code"), "outside its elements"},
		{"text after the end", b.with(sheet1, b[sheet1]+"x"), "outside its elements"},
		{"a second document", b.with(sheet1, b[sheet1]+"<x/>"), "end as it should"},
		{"a second declaration", b.with(sheet1, b[sheet1]+`<?xml version="1.0"?>`), "begins twice"},
		{"a space before the declaration", b.with(sheet1, " "+b[sheet1]), "begins twice"},
		{"an element not closed", b.swapped(t, sheet1, "</worksheet>", ""), "well formed"},
		{"an element closed as another", b.swapped(t, sheet1, "</sheetData>", "</sheetDate>"), "well formed"},
		{"an unknown entity", b.swapped(t, strs, "ash-27", "&ash;"), "well formed"},
		{"a document type", b.swapped(t, sheet1, "<worksheet", `<!DOCTYPE w [<!ENTITY ash "oak">]><worksheet`), "document type"},
		{"Latin letters", b.swapped(t, sheet1, `encoding="UTF-8"`, `encoding="ISO-8859-1"`), "well formed"},
		{"not UTF-8", b.swapped(t, strs, "ash-27", "fr\xeane"), "not UTF-8"},
		{"UTF-16", b.with(sheet1, "\xff\xfe<\x00w\x00"), "not UTF-8"},
		{"a character that XML has not", b.swapped(t, strs, "ash-27", "ash\x01"), "well formed"},
		{"an attribute twice", at(`<row r="2" r="3"/>`), "attribute twice"},
		{"65 attributes", at(`<row ` + attributes(65) + `/>`), "too many"},
		{"depth of 17", b.swapped(t, sheet1, "</sheetData>", "</sheetData><x><y><z>"+deep+"</z></y></x>"), "too deep"},
		{"a text of 1 MiB", b.swapped(t, strs, "ash-27", noise(1<<20)), "too long"},
		{"a tag of 1 MiB", at(`<row x="` + noise(1<<20) + `"/>`), "too long"},
		{"an element in a text", b.swapped(t, strs, "ash-27", "<b>ash</b>"), "within a text"},
	} {
		refused(t, tt.book.file(), tt.says, tt.name)
	}
}

func TestDamagedSheets(t *testing.T) {
	b := listOf(header + goodRow)
	at := func(rows string) raw { return listOf(header + rows) }
	for _, tt := range []struct {
		name string
		book raw
		says string
	}{
		{"a text that is not there", at(`<row><c t="s"><v>2</v></c></row>`), "text is not there"},
		{"a text before the first", at(`<row><c t="s"><v>-1</v></c></row>`), "text is not there"},
		{"a text by a fraction", at(`<row><c t="s"><v>0.5</v></c></row>`), "text is not there"},
		{"a style that is not there", at(`<row><c s="5"><v>1</v></c></row>`), "unknown style"},
		{"a style below the first", at(`<row><c s="-1"><v>1</v></c></row>`), "number that is none"},
		{"an unknown type", at(`<row><c t="x"><v>1</v></c></row>`), "unknown type"},
		{"two values", at(`<row><c><v>1</v><v>2</v></c></row>`), "understood"},
		{"two formulas", at(`<row><c><f>1</f><f>1</f><v>2</v></c></row>`), "understood"},
		{"a value and a text", at(`<row><c t="inlineStr"><is><t>a</t></is><v>1</v></c></row>`), "understood"},
		{"a text where a number is", at(`<row><c><is><t>1</t></is></c></row>`), "understood"},
		{"a value where a text is", at(`<row><c t="inlineStr"><v>1</v></c></row>`), "understood"},
		{"something else in a cell", at(`<row><c><w>1</w></c></row>`), "understood"},
		{"another space after a value", at(`<row><c><v>1</v><o:v xmlns:o="o">1</o:v></c></row>`), "understood"},
		{"a value before its formula", at(`<row><c><v>1</v><f>1</f></c></row>`), "understood"},
		{"another space in a cell", at(`<row><c><o:v xmlns:o="o">1</o:v></c></row>`), "understood"},
		{"something else in a row", at(`<row><d/></row>`), "other than cells"},
		{"something else among rows", at(`<c/>`), "other than rows"},
		{"a choice among rows", at(`<mc:AlternateContent xmlns:mc="mc"/>`), "other than rows"},
		{"a row twice", at(goodRow + goodRow), "rows out of order"},
		{"rows out of order", at(`<row r="4"/><row r="3"/>`), "rows out of order"},
		{"row 0", at(`<row r="0"/>`), "rows out of order"},
		{"a row past the last", at(`<row r="1048577"/>`), "rows out of order"},
		{"a row that is none", at(`<row r="x"/>`), "number that is none"},
		{"a cell twice", at(`<row r="2"><c r="A2"/><c r="A2"/></row>`), "cells out of order"},
		{"cells out of order", at(`<row r="2"><c r="B2"/><c r="A2"/></row>`), "cells out of order"},
		{"a cell of another row", at(`<row r="2"><c r="A3"/></row>`), "cells out of order"},
		{"a cell past the last", at(`<row r="2"><c r="XFE2"/></row>`), "cells out of order"},
		{"a cell in small letters", at(`<row r="2"><c r="a2"/></row>`), "cells out of order"},
		{"a cell without a column", at(`<row r="2"><c r="2"/></row>`), "cells out of order"},
		{"a cell with a zero", at(`<row r="2"><c r="A02"/></row>`), "cells out of order"},
		{"the cells twice", b.swapped(t, sheet1, "</sheetData>", "</sheetData><sheetData/>"), "cells twice"},
		{"merged cells upside down", b.swapped(t, sheet1, "</sheetData>", `</sheetData><mergeCells><mergeCell ref="B2:A1"/></mergeCells>`), "merged cells that are none"},
		{"merged cells of nowhere", b.swapped(t, sheet1, "</sheetData>", `</sheetData><mergeCells><mergeCell/></mergeCells>`), "merged cells that are none"},
		{"a format twice", b.swapped(t, styles, `"165"`, `"164"`).swapped(t, styles, `[$-809]d mmmm yyyy`, "0.00"), "format twice"},
		{"a format of no number", b.swapped(t, styles, `numFmtId="20"`, `numFmtId="x"`), "number that is none"},
	} {
		refused(t, tt.book.file(), tt.says, tt.name)
	}
}

func attributes(n int) string {
	var s strings.Builder
	for i := range n {
		fmt.Fprintf(&s, `a%d="" `, i)
	}
	return s.String()
}

// At most 400,000 elements are read of a part, and as many remarks and pieces of
// text as there are elements too few; the value of a cell counts with the cell.
func TestElements(t *testing.T) {
	const values = 12 // elements of listOf(header + goodRow) that count, with the declaration
	b := listOf(header + goodRow)
	pad := "<!--" + noise(100_000) + "-->"
	for _, item := range []string{`<x/>`, `<!---->`, `<?a?>`, `<![CDATA[x]]>`} {
		items := pad + strings.Repeat(item, 400_000-values-1)
		if item == `<x/>` {
			assert.Len(t, rowsOf(t, b.swapped(t, sheet1, "</worksheet>", items+"</worksheet>").file()), 1)
		}
		items += item + item // the first of texts is free
		refused(t, b.swapped(t, sheet1, "</worksheet>", items+"</worksheet>").file(), "too many cells and formats", item)
	}
	runs := strings.Repeat("<r/>", 250_000)
	for name, rows := range map[string][2]string{
		"of a text that is shared": {"xl/sharedStrings.xml", "</si></sst>"},
		"of a text in a cell":      {sheet1, "</is></c></row>"},
	} {
		once := b.swapped(t, rows[0], rows[1], pad+runs+rows[1])
		assert.Len(t, rowsOf(t, once.file()), 1, name)
		refused(t, once.swapped(t, rows[0], rows[1], runs+rows[1]).file(), "too many cells and formats", name)
	}
}

// repacked returns the workbook with a change made to every entry of its archive.
func repacked(t *testing.T, b raw, change func(*zip.FileHeader, []byte) []byte) []byte {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(b.file()), int64(len(b.file())))
	require.NoError(t, err)
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range r.File {
		raw, err := f.OpenRaw()
		require.NoError(t, err)
		var packed bytes.Buffer
		_, err = packed.ReadFrom(raw)
		require.NoError(t, err)
		h := f.FileHeader
		body := change(&h, packed.Bytes())
		w, err := z.CreateRaw(&h)
		require.NoError(t, err)
		_, err = w.Write(body)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return out.Bytes()
}

func TestArchives(t *testing.T) {
	b := listOf(header + goodRow)
	only := func(change func(h *zip.FileHeader, body []byte) []byte) []byte {
		return repacked(t, b, func(h *zip.FileHeader, body []byte) []byte {
			if h.Name != sheet1 {
				return body
			}
			return change(h, body)
		})
	}
	for _, tt := range []struct {
		name, says string
		file       []byte
	}{
		{"a wrong sum", "has changed", only(func(h *zip.FileHeader, b []byte) []byte { h.CRC32++; return b })},
		{"no sum", "has changed", only(func(h *zip.FileHeader, b []byte) []byte { h.CRC32 = 0; return b })},
		{"a size too small", "has changed", only(func(h *zip.FileHeader, b []byte) []byte { h.UncompressedSize64--; return b })},
		{"a size too large", "has changed", only(func(h *zip.FileHeader, b []byte) []byte { h.UncompressedSize64 = 1 << 40; return b })},
		{"more than was packed", "has changed", only(func(h *zip.FileHeader, b []byte) []byte { h.CompressedSize64++; return append(b, 'x') })},
		{"less than was packed", "cannot be unpacked", only(func(h *zip.FileHeader, b []byte) []byte { h.CompressedSize64--; return b[:len(b)-1] })},
		{"a size beyond the file", "cut off", only(func(h *zip.FileHeader, b []byte) []byte { h.CompressedSize64 = 1 << 62; return b })},
		{"noise", "cannot be unpacked", only(func(h *zip.FileHeader, b []byte) []byte { return []byte(noise(len(b))) })},
		{"another packing", "unknown way", only(func(h *zip.FileHeader, b []byte) []byte { h.Method = 12; return b })},
		{"a locked part", "remove the password", only(func(h *zip.FileHeader, b []byte) []byte { h.Flags |= 1; return b })},
		{"a part twice", "stands twice", only(func(h *zip.FileHeader, b []byte) []byte { h.Name = styles; return b })},
		{"something after the archive", "end is missing", append(b.file(), 0)},
		{"a remark after the archive", "end is missing", func() []byte {
			f := append(b.file(), 'x')
			binary.LittleEndian.PutUint16(f[len(f)-3:], 1)
			return f
		}()},
		{"a shift of the list", "not where it should be", func() []byte {
			f := b.file()
			f[len(f)-6]++
			return f
		}()},
		{"a list of 300 KiB", "more than 200 parts", crowdOf(t, 6000)},
		{"a number of parts", "cannot be read", func() []byte {
			f := b.file()
			f[len(f)-12]++
			return f
		}()},
	} {
		refused(t, tt.file, tt.says, tt.name)
	}
	stored := repacked(t, b, func(h *zip.FileHeader, body []byte) []byte {
		if h.Name == sheet1 {
			h.Method, h.CompressedSize64 = zip.Store, h.UncompressedSize64
			return []byte(b[sheet1])
		}
		return body
	})
	assert.Equal(t, []string{"2|ash-27|1850|2026-12-01|"}, rowsOf(t, stored))
	assert.Equal(t, []string{"2|ash-27|1850|2026-12-01|"}, rowsOf(t, large(b.file())))
}

// crowdOf returns an archive of so many parts that are nothing.
func crowdOf(t *testing.T, n int) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for i := range n {
		_, err := z.CreateHeader(&zip.FileHeader{Name: strconv.Itoa(i)})
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return out.Bytes()
}

// large returns an archive with the record that large ones have at their end.
func large(file []byte) []byte {
	end := file[len(file)-22:]
	at := len(file) - 22
	n, size, from := binary.LittleEndian.Uint16(end[10:]), binary.LittleEndian.Uint32(end[12:]), binary.LittleEndian.Uint32(end[16:])
	le := binary.LittleEndian
	record := append([]byte("PK\x06\x06"), le.AppendUint64(nil, 44)...)
	record = append(record, 45, 0, 45, 0, 0, 0, 0, 0, 0, 0, 0, 0)
	for _, v := range []uint64{uint64(n), uint64(n), uint64(size), uint64(from)} {
		record = le.AppendUint64(record, v)
	}
	locator := append([]byte("PK\x06\x07\x00\x00\x00\x00"), le.AppendUint64(nil, uint64(at))...)
	locator = append(locator, 1, 0, 0, 0)
	out := append(bytes.Clone(file[:at]), record...)
	out = append(out, locator...)
	return append(out, end...)
}
