package api_test

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
)

// Parts are an .xlsx file: its parts by name, written as they stand.
type parts map[string]string

// The parts that tests change, and the space of their elements.
const (
	partSheet  = "xl/worksheets/sheet1.xml"
	partStyles = "xl/styles.xml"
	partLinks  = "xl/_rels/workbook.xml.rels"
	mainSpace  = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
)

// workbookOf returns the smallest workbook with those rows. Its styles are plain and,
// as 1, a date.
func workbookOf(rows string) parts {
	const declared = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>`
	const packages, links = "http://schemas.openxmlformats.org/package/2006/", "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	const main = "application/vnd.openxmlformats-officedocument.spreadsheetml."
	return parts{
		"[Content_Types].xml": declared + `<Types xmlns="` + packages + `content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="` + main + `sheet.main+xml"/><Override PartName="/` + partSheet + `" ContentType="` + main + `worksheet+xml"/>` +
			`<Override PartName="/` + partStyles + `" ContentType="` + main + `styles+xml"/></Types>`,
		"_rels/.rels": declared + `<Relationships xmlns="` + packages + `relationships"><Relationship Id="r1" Type="` + links + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		partLinks: declared + `<Relationships xmlns="` + packages + `relationships"><Relationship Id="r1" Type="` + links + `/worksheet" Target="worksheets/sheet1.xml"/>` +
			`<Relationship Id="r2" Type="` + links + `/styles" Target="styles.xml"/></Relationships>`,
		"xl/workbook.xml": declared + `<workbook xmlns="` + mainSpace + `" xmlns:r="` + links + `"><sheets><sheet name="Prices" sheetId="1" r:id="r1"/></sheets></workbook>`,
		partStyles:        declared + `<styleSheet xmlns="` + mainSpace + `"><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>`,
		partSheet:         declared + `<worksheet xmlns="` + mainSpace + `"><sheetData>` + rows + `</sheetData></worksheet>`,
	}
}

// with returns p with a text put before another in a part, or as a part of its own.
func (p parts) with(part, before, text string) parts {
	p = maps.Clone(p)
	if before == "" {
		p[part] = text
		return p
	}
	if !strings.Contains(p[part], before) {
		panic(part + " has no " + before)
	}
	p[part] = strings.Replace(p[part], before, text+before, 1)
	return p
}

// file returns p packed.
func (p parts) file() string {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range slices.Sorted(maps.Keys(p)) {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write([]byte(p[name]))
		}
		if err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return out.String()
}

// cellsOf returns a price list of two rows as a workbook, with other cells in the places
// named. What a cell holds is written "=formula", "#ERROR!", "@46357" for the date of
// that number, "TRUE", or as the number or text that it is ("text 4.90" if that is all
// digits). A place that is a range is merged.
func cellsOf(others map[string]string) string {
	cells := map[string]string{
		"A1": "code", "B1": "price", "C1": "unit", "D1": "currency", "E1": "effective_from",
		"A2": "knob-35", "B2": "4.9", "C2": "each", "D2": "GBP", "E2": "@46357",
		"A3": "knob-25", "B3": "3.7", "C3": "each", "D3": "GBP", "E3": "@46357",
	}
	merged := ""
	for at, value := range others {
		if strings.Contains(at, ":") {
			merged = `<mergeCells><mergeCell ref="` + at + `"/></mergeCells>`
			continue
		}
		cells[at] = value
	}
	var rows strings.Builder
	for row := 1; row <= 3; row++ {
		fmt.Fprintf(&rows, `<row r="%d">`, row)
		for _, at := range slices.Sorted(maps.Keys(cells)) {
			if strings.HasSuffix(at, fmt.Sprint(row)) {
				rows.WriteString(cellOf(at, cells[at]))
			}
		}
		rows.WriteString("</row>")
	}
	return workbookOf(rows.String()).with(partSheet, "</worksheet>", merged).file()
}

// cellOf writes a cell.
func cellOf(at, value string) string {
	rest := ""
	if len(value) > 0 {
		rest = escaped(value[1:])
	}
	switch {
	case strings.HasPrefix(value, "="):
		return `<c r="` + at + `"><f>` + rest + `</f><v>1</v></c>`
	case strings.HasPrefix(value, "#"):
		return `<c r="` + at + `" t="e"><v>` + escaped(value) + `</v></c>`
	case strings.HasPrefix(value, "@"):
		return `<c r="` + at + `" s="1"><v>` + rest + `</v></c>`
	case value == "TRUE":
		return `<c r="` + at + `" t="b"><v>1</v></c>`
	case regexp.MustCompile(`^[0-9.]+$`).MatchString(value):
		return `<c r="` + at + `"><v>` + value + `</v></c>`
	}
	return `<c r="` + at + `" t="inlineStr"><is><t>` + escaped(strings.TrimPrefix(value, "text ")) + `</t></is></c>`
}

// escaped returns a text as it stands in XML.
func escaped(text string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(text)); err != nil {
		panic(err)
	}
	return b.String()
}
