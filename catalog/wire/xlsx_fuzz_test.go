package wire_test

import (
	"archive/zip"
	"bytes"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"reckoner/catalog/wire"
)

// assembled returns bytes that begin as an archive as they are; others are the sheet,
// the texts, the styles and the main part of a workbook, with zeros between, so that
// changes get past the sums of an archive.
func assembled(b []byte) []byte {
	if bytes.HasPrefix(b, []byte("PK")) {
		return b
	}
	r := listOf(header + goodRow)
	for i, text := range strings.SplitN(string(b), "\x00", 4) {
		if text != "" {
			r[[]string{sheet1, strs, styles, bookPart}[i]] = text
		}
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range slices.Sorted(maps.Keys(r)) {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name}) // not packed, which takes no time
		if err == nil {
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

// FuzzWorkbook reads any bytes as a price list: rows in order with cells as their
// columns want them, or faults that each say what is wrong and where.
func FuzzWorkbook(f *testing.F) {
	rows := []priceRow{{code: "ash-27", note: "dry", price: "1850.25"}}
	b := listOf(header + goodRow)
	f.Add(workbook(f, rows, false))
	f.Add(workbook(f, rows, true))
	f.Add(b.file())
	f.Add(b.with("xl/vbaProject.bin", "x").file())
	f.Add([]byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"))
	for _, cells := range []string{
		goodRow, `<row><c t="inlineStr"><is><r><rPr/><t>a</t></r><r><t>b</t></r><rPh sb="0"/></is></c><c><v>1.2300000000000001E2</v></c><c s="2"><v>61</v></c></row>`,
		`<row><c><f>1</f><v>2</v></c><c t="e"><v>#REF!</v></c><c t="b"><v>1</v></c><c t="d"><v>2026-12-01T00:00:00Z</v></c></row>`,
		`<row r="9"><c r="AZ9" t="str"><v>_x000D_</v></c></row></sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells><sheetData>`,
	} {
		f.Add([]byte(sheet(header + cells)))
	}
	f.Add([]byte("\x00" + b[strs] + "\x00" + b[styles] + "\x00" + b[bookPart]))
	f.Add([]byte(strings.Replace("\x00\x00\x00"+b[bookPart], "<sheets>", `<workbookPr date1904="1"/><sheets>`, 1)))
	number, date := regexp.MustCompile(`^(-?\d{1,16}(\.\d{0,5}[1-9])?)?$`), regexp.MustCompile(`^(\d{4}-\d\d-\d\d)?$`)
	f.Fuzz(func(t *testing.T, b []byte) {
		rows, err := wire.Workbook(assembled(b), priceColumns())
		if err != nil {
			faults, ok := err.(wire.CellFaults)
			if !ok || len(faults) == 0 || rows != nil {
				t.Fatalf("%q: %T %v %v", b, err, err, rows)
			}
			for i, l := range faults {
				own, _, _ := strings.Cut(l.Detail, `"`) // what is quoted is the sender's
				if !utf8.ValidString(l.String()) || jargon.MatchString(own+" ") || !strings.Contains(l.String(), ": ") && !strings.HasSuffix(l.Detail, "is missing") || i > 0 && l.Row < faults[i-1].Row {
					t.Fatalf("%q: %q", b, l)
				}
			}
			return
		}
		last := 1
		for _, r := range rows {
			whole := ""
			for _, column := range []string{"code", "price", "from", "note"} {
				c := r.Cell(column)
				if strings.TrimSpace(c) != c || !utf8.ValidString(c) || len(c) > 4000 {
					t.Fatalf("%q: row %d, %s: %q", b, r.Number, column, c)
				}
				whole += c
			}
			if r.Number <= last || r.Number > 20_001 || whole == "" || !number.MatchString(r.Cell("price")) || r.Cell("price") == "-0" || !date.MatchString(r.Cell("from")) {
				t.Fatalf("%q: row %d after %d: %q", b, r.Number, last, whole)
			}
			last = r.Number
		}
	})
}
