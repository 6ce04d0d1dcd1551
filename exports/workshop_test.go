package exports_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/xml"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/exports"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// sheetNames are the sheets of a workshop's workbook, in their order; without a
// cutting plan where the costing has none.
func sheetNames(plans bool) []string {
	names := []string{
		"Summary", "Cutting list", "Timber", "Sheets", "Ironmongery", "Supplies", "Labour", "Build-up", "Buying list", "Measures", "Checks and cautions",
	}
	if plans {
		names = slices.Insert(names, 2, "Cutting plan")
	}
	return names
}

// namesIn are the sheets that a workbook says it has, in their order.
func namesIn(t testing.TB, file []byte) []string {
	t.Helper()
	var names []string
	for _, m := range regexp.MustCompile(`<sheet name="([^"]*)"`).FindAllStringSubmatch(parts(t, file)["xl/workbook.xml"], -1) {
		names = append(names, m[1])
	}
	return names
}

// leafOf is one sheet of a workshop's workbook.
func leafOf(t testing.TB, file []byte, name string) leaf {
	t.Helper()
	all := leaves(t, file)
	i := slices.IndexFunc(all, func(l leaf) bool { return l.name == name })
	require.GreaterOrEqual(t, i, 0, name)
	return all[i]
}

// workshop is the workshop's workbook of p.
func workshop(t testing.TB, p exports.Paper) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, exports.Workshop(&out, p))
	return out.Bytes()
}

// A leaf is one sheet as it is stored: its rows in order, the cells of each by
// column.
type leaf struct {
	name string
	rows []map[string]cell
}

// leaves reads every sheet of a workshop's workbook out of its XML.
func leaves(t testing.TB, file []byte) []leaf {
	t.Helper()
	files := parts(t, file)
	var all []leaf
	for i, name := range namesIn(t, file) {
		var sheet struct {
			Rows []struct {
				Number int `xml:"r,attr"`
				Cells  []struct {
					Name    string `xml:"r,attr"`
					Formula string `xml:"f"`
					Value   string `xml:"v"`
					Text    string `xml:"is>t"` // an underscore that begins an escape is escaped
				} `xml:"c"`
			} `xml:"sheetData>row"`
		}
		require.NoError(t, xml.Unmarshal([]byte(files["xl/worksheets/sheet"+strconv.Itoa(i+1)+".xml"]), &sheet))
		l := leaf{name: name, rows: make([]map[string]cell, len(sheet.Rows))}
		for k, row := range sheet.Rows {
			require.Equal(t, k+1, row.Number)
			l.rows[k] = make(map[string]cell)
			for _, c := range row.Cells {
				column := strings.TrimRight(c.Name, "0123456789")
				l.rows[k][column] = cell{c.Name, c.Value + strings.ReplaceAll(c.Text, "_x005F_", "_"), c.Formula}
			}
		}
		all = append(all, l)
	}
	return all
}

func TestWorkshopStoresTheCosting(t *testing.T) {
	for name, p := range workshopPapers(t) {
		t.Run(name, func(t *testing.T) { audited(t, p, workshop(t, p), nil) })
	}
}

// workshopPapers is every demo and variants of them that the workshop's sheets
// know and the quotation does not.
func workshopPapers(t testing.TB) map[string]exports.Paper {
	all := papers(t)
	b := starter(t)
	many := request(t, "full-quotation")
	chest := many.Pieces[0]
	for len(many.Pieces) < 12 {
		chest.ID, chest.Title = "chest-"+strconv.Itoa(len(many.Pieces)), "Chest "+strconv.Itoa(len(many.Pieces))
		many.Pieces = append(many.Pieces, chest)
	}
	all["twelve pieces"] = paper(t, many, b)
	all["terms"] = paper(t, decoded(t, otherTerms), ruled(t, nil))
	for name, text := range sawn {
		all[name] = paper(t, decoded(t, text), starter(t))
	}
	for _, name := range []string{"tall-chest", "full-quotation", "free-parts"} {
		all["engine-1 "+name] = engine1(t, name)
	}
	return all
}

// otherTerms is a request under every other kind of term: percentages, mark-up, a
// price agreed, a second tax, waste of its own, the smallest coin.
const otherTerms = `{"pieces": [
		{"title": "Two benches", "quantity": 2, "kind": "parts", "timbers": {"show": "cherry-prime"}, "glue": "pva", "finishes": {"outside": "oil-3", "inside": "oil-3"},
		 "working_factor": 1.25, "waste_percent": {"show": 42.5, "sheet": 7}, "agreed_price": "640.00", "tax": "reduced",
		 "bought_in": [{"description": "Cushions", "quantity": 2.125, "unit": "m run", "rate": "31.0625"}],
		 "parts": {"parts": [
			{"name": "Seat", "length": 1600, "width": 380, "thickness": 30, "material": "show", "outside": {"faces": 2, "long_edges": 2, "ends": 2}},
			{"name": "Shelf", "length": 1400, "width": 300, "material": "oak-faced-mdf-19", "outside": {"faces": 2}},
			{"name": "Rail", "quantity": 3, "length": 700.55, "width": 70.125, "thickness": 20, "material": "oak-prime", "inside": {"faces": 2}}]}},
		{"title": "Free of charge", "quantity": 3, "kind": "service", "service": {}},
		{"title": "Boxes", "kind": "drawer_boxes", "units": "in", "timbers": {"inner": "poplar-select"}, "sheets": {"bottom": "birch-ply-6"}, "glue": "pu-slow",
		 "finishes": {"inside": "shellac-1"}, "drawer_boxes": {"boxes": [{"width": 17.3333, "height": 5.1, "depth": 19.75, "quantity": 7}]}}],
		"terms": {"overhead": {"percent": 12.25}, "profit": {"markup_percent": 33.33}, "fees_percent": 2.9, "round_to": "0.00", "contingency_percent": 3.3,
		"bought_in_markup_percent": 12.5, "discount_percent": 7.77, "deposit_percent": 33.33}}`

// ruled is the starter book with rules of supplies that take some shares of their
// measures only, changed by f.
func ruled(t testing.TB, f func(*book.Data)) *book.Book {
	t.Helper()
	d := *starter(t).Data()
	d.Rules = slices.Concat(d.Rules, []book.Rule{
		{Code: "abrasive-80-show", Item: "abrasive-80", Measure: "planed_area", Role: "show", Setup: decimalOf("0.25"), Each: decimalOf("1.125"), Per: decimalOf("3.5")},
		{Code: "abrasive-80-inside", Item: "abrasive-80", Measure: "denib", Zone: "inside", Each: num.One, Per: num.One, Started: true},
	})
	slices.SortFunc(d.Rules, func(a, b book.Rule) int { return strings.Compare(a.Code, b.Code) })
	if f != nil {
		f(&d)
	}
	b, err := book.New(d)
	require.NoError(t, err)
	return b
}

func TestWorkshopIsTheSameBytes(t *testing.T) {
	for _, name := range []string{"tall-chest", "mixed"} {
		p := papers(t)[name]
		seen := make(map[[32]byte]int)
		for range 20 {
			seen[sha256.Sum256(workshop(t, p))]++
		}
		assert.Len(t, seen, 1, name)
	}
}

func TestWorkshopErrors(t *testing.T) {
	p := papers(t)["tall-chest"]
	assert.ErrorIs(t, exports.Workshop(broken{}, p), errFull)
	q := p
	q.Request.Pieces = nil
	assert.Error(t, exports.Workshop(io.Discard, q))
	p.Book = nil
	assert.Error(t, exports.Workshop(io.Discard, p))
}

// inputs returns where each input of a workbook stands: its sheet and cell.
func inputs(t testing.TB, file []byte) map[string][2]string {
	t.Helper()
	all := make(map[string][2]string)
	for _, m := range regexp.MustCompile(`<definedName name="(in_[A-Za-z0-9_]+)">([^<]*)!\$([A-Z]+)\$(\d+)<`).FindAllStringSubmatch(parts(t, file)["xl/workbook.xml"], -1) {
		name, sheet, at := m[1], strings.NewReplacer("&#39;", "", "'", "").Replace(m[2]), m[3]+m[4]
		require.NotContains(t, all, name)
		all[name] = [2]string{sheet, at}
	}
	return all
}

func TestEveryInputStandsOnce(t *testing.T) {
	for name, p := range workshopPapers(t) {
		file := workshop(t, p)
		filled := regexp.MustCompile(`FFFFF4CC|FFF4CC`)
		require.Regexp(t, filled, parts(t, file)["xl/styles.xml"])
		all := make(map[string]cell)
		for _, l := range leaves(t, file) {
			for _, row := range l.rows {
				for _, c := range row {
					all[l.name+"!"+c.name] = c
				}
			}
		}
		places := make(map[[2]string]string)
		for in, at := range inputs(t, file) {
			c, ok := all[at[0]+"!"+at[1]]
			require.True(t, ok, "%s: %s", name, in)
			assert.Empty(t, c.formula, "%s: %s is a value", name, in)
			_, err := strconv.ParseFloat(c.text, 64)
			assert.NoError(t, err, "%s: %s is a number", name, in)
			assert.Empty(t, places[at], "%s and %s are one cell", in, places[at])
			places[at] = in
		}
		assert.Equal(t, strings.Count(parts(t, file)["xl/workbook.xml"], `"in_`), len(places))
		assert.Greater(t, len(places), 5, name)
	}
}

func TestWorkshopPageSetUp(t *testing.T) {
	made := workshop(t, papers(t)["tall-chest"])
	names, file := namesIn(t, made), parts(t, made)
	assert.Equal(t, sheetNames(true), names)
	letter := papers(t)["tall-chest"]
	letter.Costing.Terms.Workshop.Paper = "letter"
	other := parts(t, workshop(t, letter))
	for i := range names {
		name := "xl/worksheets/sheet" + strconv.Itoa(i+1) + ".xml"
		for _, s := range []string{`orientation="landscape"`, `fitToHeight="0"`, `<pageSetUpPr fitToPage="true">`, "Page &amp;P of &amp;N", `state="frozen"`} {
			assert.Contains(t, file[name], s, names[i])
		}
		assert.Contains(t, file[name], `paperSize="9"`)
		assert.Contains(t, other[name], `paperSize="1"`)
	}
	assert.Equal(t, len(names), strings.Count(file["xl/workbook.xml"], "_xlnm.Print_Titles"))
	assert.Contains(t, file["xl/workbook.xml"], "Cutting list&#39;!$1:$2")
	assert.Contains(t, file["xl/charts/chart1.xml"], "<barChart>")
	assert.NotContains(t, file, "xl/charts/chart2.xml")
}

func TestCautionsStandWhereTheWorkIsDone(t *testing.T) {
	p := papers(t)["tall-chest"]
	texts := make(map[string]string)
	for _, l := range leaves(t, workshop(t, p)) {
		for _, row := range l.rows {
			for _, c := range row {
				texts[l.name] += c.text + "\n"
			}
		}
	}
	places := map[string][]string{
		"wood_dust": {"Cutting list", "Timber"}, "isocyanate": {"Supplies"}, "flammable": {"Supplies"}, "drying_oil": {"Supplies"},
		"two_people": {"Labour", "Summary"}, "stability": {"Labour", "Summary"},
	}
	checks := p.Costing.Pieces[0].Checks
	require.Greater(t, len(checks), 5)
	for _, c := range checks {
		at, ok := places[c.Code]
		if !ok {
			at = []string{"Cutting list"}
		}
		for _, name := range append(at, "Checks and cautions") {
			assert.Contains(t, texts[name], c.Message, "%s on %s", c.Code, name)
		}
		assert.Contains(t, texts["Checks and cautions"], c.Source)
	}
}
