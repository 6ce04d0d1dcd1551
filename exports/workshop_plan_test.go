package exports_test

import (
	"bytes"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/catalog/quotes"
	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
)

// sawn are requests that take sheets in every way: pieces that share a sheet and
// save one by it, in inches and in millimetres; many parts on many sheets, some too
// narrow for a mark; a sheet charged by area beside those charged whole; and one
// without trim, cut by a wide blade.
var sawn = map[string]string{
	"sawn": `{"pieces": [
		{"id": "one", "title": "Chest one", "kind": "parts", "parts": {"parts": [
			{"name": "Back", "length": 1300, "width": 780, "material": "birch-ply-6"}, {"name": "Bottom", "quantity": 4, "length": 430.5, "width": 270.25, "material": "birch-ply-6"},
			{"name": "Door", "quantity": 3, "length": 1100, "width": 480, "material": "oak-faced-mdf-19"}]}},
		{"id": "two", "title": "Chest two", "quantity": 2, "kind": "parts", "parts": {"parts": [
			{"name": "Back", "length": 700, "width": 590, "material": "birch-ply-6"},
			{"name": "Slip", "quantity": 6, "length": 600, "width": 9, "material": "birch-ply-9"}]}},
		{"id": "three", "title": "Instead of chest two", "alternative_to": "two", "kind": "parts", "parts": {"parts": [
			{"name": "Back", "length": 2000, "width": 1100, "material": "birch-ply-6"}, {"name": "Base", "length": 900, "width": 400, "material": "mdf-18"}]}}],
		"terms": {"contingency_percent": 4, "round_to": "0.00"}}`,
	"inches": `{"pieces": [
		{"id": "one", "title": "Chest one", "kind": "parts", "units": "in", "parts": {"parts": [
			{"name": "Back", "length": 40.125, "width": 30.0625, "material": "birch-ply-6"}, {"name": "Third", "quantity": 4, "length": 17.3333, "width": 11.1, "material": "birch-ply-6"}]}},
		{"id": "two", "title": "Chest two", "kind": "parts", "units": "in", "parts": {"parts": [{"name": "Back", "length": 40.125, "width": 30.0625, "material": "birch-ply-6"}]}}]}`,
	"blunt": `{"pieces": [{"title": "Shelves", "kind": "parts", "parts": {"parts": [
			{"name": "Shelf", "quantity": 16, "length": 602, "width": 299, "material": "mdf-18"}, {"name": "Lipping", "quantity": 3, "length": 2440, "width": 5, "material": "mdf-18"}]}}],
		"terms": {"kerf": 6.3, "trim": 0, "offcut_min": 100}}`,
	"many parts": manyParts(3, 19),
}

// manyParts is a request of pieces with that many lines of parts each.
func manyParts(pieces, lines int) string {
	var all []string
	for k := range pieces {
		var parts []string
		for i := range lines {
			parts = append(parts, fmt.Sprintf(`{"name": "Panel %d of a long list of panels", "quantity": %d, "length": %d.5, "width": %d, "material": "birch-ply-12"}`,
				i, 1+i%5, 180+(i*137+k*61)%900, 8+(i*89+k*23)%430))
		}
		all = append(all, fmt.Sprintf(`{"id": "run-%d", "title": "Run of units %d", "kind": "parts", "parts": {"parts": [%s]}}`, k, k, strings.Join(parts, ", ")))
	}
	return `{"pieces": [` + strings.Join(all, ", ") + `]}`
}

// engine1 is the paper of a document that was frozen before there were cutting plans.
func engine1(t testing.TB, name string) exports.Paper {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "frozen", "engine-1", name+".json"))
	require.NoError(t, err)
	d, b, err := (&quotes.Revision{Text: text}).Document()
	require.NoError(t, err)
	require.Empty(t, d.Costing.Cutting)
	return exports.Paper{Costing: d.Costing, Request: d.Request, Book: b, Title: d.Title, Number: d.Number, Revision: d.Revision, Customer: &d.Customer}
}

// Documents of before have no cutting plan, and their sheets are reckoned by area.
func TestPapersOfBeforeThereWereCuttingPlans(t *testing.T) {
	p := engine1(t, "tall-chest")
	file := workshop(t, p)
	assert.Equal(t, sheetNames(false), namesIn(t, file))
	assert.Contains(t, summarised(t, p), "2.631102 m2   10 %        1 each")
	assert.NotContains(t, summarised(t, p), "CUTTING")
	sheets := ""
	for _, row := range leafOf(t, file, "Sheets").rows {
		sheets += row["A"].text + "\n"
	}
	assert.Contains(t, sheets, "the parts may not all come out of the sheets bought", "what was said then is said still")
	assert.Error(t, exports.CuttingDiagram(&bytes.Buffer{}, p, "birch-ply-6", 1))
}

// whole reports whether a sheet is charged by the whole.
func (a *audit) whole(code string) bool { return a.p.Book.Sheet(code).Charged == book.Whole }

// cuttingPlans checks how many sheets to fetch, and what cutting together saves.
func (a *audit) cuttingPlans() {
	const sheet = "Cutting plan"
	row := 0
	for _, p := range a.p.Costing.Cutting {
		rows := a.leaves[sheet].rows
		for !strings.HasPrefix(rows[row]["A"].text, p.Code+"  ") {
			row++
		}
		row += 2
		if !a.whole(p.Code) {
			a.says(sheet, row, "A", "Charged by area: this plan says how it can be cut and bears on no price.")
			continue
		}
		a.is(sheet, row, "E", strconv.Itoa(p.Sheets), false)
		if p.Apart > p.Sheets {
			a.is(sheet, row+1, "E", strconv.Itoa(p.Apart), true)
			a.is(sheet, row+2, "E", p.Saving.String(), true)
		}
	}
}

// planBlock is what the cutting plan says of one sheet.
func planBlock(t testing.TB, l leaf, code string) []map[string]cell {
	t.Helper()
	from := slices.IndexFunc(l.rows, func(r map[string]cell) bool { return strings.HasPrefix(r["A"].text, code+"  ") })
	require.GreaterOrEqual(t, from, 0, code)
	to := from + 1
	for to < len(l.rows) && !(strings.Contains(l.rows[to]["A"].text, "  ") && l.rows[to]["B"].text == "" && l.rows[to]["E"].text == "") {
		to++
	}
	return l.rows[from:to]
}

// Every part and every cut of the costing stands on the cutting plan, in order.
func TestCuttingPlanSaysAllOfTheCosting(t *testing.T) {
	for name, p := range workshopPapers(t) {
		if len(p.Costing.Cutting) == 0 {
			continue
		}
		l := leafOf(t, workshop(t, p), "Cutting plan")
		for _, plan := range p.Costing.Cutting {
			rows := planBlock(t, l, plan.Code)
			assert.Contains(t, strings.ToLower(rows[1]["A"].text), strings.ToLower(plan.Finding), name)
			var marks, cuts, layouts []string
			for _, r := range rows {
				switch {
				case strings.HasPrefix(r["A"].text, "Layout "):
					layouts = append(layouts, r["A"].text)
				case r["G"].text != "":
					marks = append(marks, fmt.Sprint(r["A"].text, r["D"].text, r["E"].text, r["F"].text, r["G"].text))
				case r["K"].text != "":
					cuts = append(cuts, fmt.Sprint(r["J"].text, r["K"].text, r["L"].text, r["M"].text))
				}
			}
			var wantMarks, wantCuts []string
			for _, s := range plan.Parts {
				wantMarks = append(wantMarks, fmt.Sprint(s.Mark, s.Name, s.Length.String(), s.Width.String(), strconv.Itoa(s.Quantity)))
			}
			require.Len(t, layouts, len(plan.Layouts), name)
			for i, layout := range plan.Layouts {
				often := map[int]string{1: "once", 2: "twice", 3: "three times", 4: "four times", 5: "five times"}[layout.Count]
				assert.True(t, strings.HasPrefix(layouts[i], fmt.Sprintf("Layout %d of %d of %s: cut %s. Parts: ", i+1, len(plan.Layouts), plan.Code, often)), layouts[i])
				for _, c := range layout.Cuts {
					way := map[bool]string{true: "along", false: "across"}[c.Along]
					wantCuts = append(wantCuts, fmt.Sprint(strconv.Itoa(c.Number), way, c.At.String(), c.Size.String()))
				}
			}
			assert.Equal(t, wantMarks, marks, name)
			assert.Equal(t, wantCuts, cuts, name)
		}
	}
}

// The marks of the cutting list stand beside those of the plan: a part has the same
// name and size on both.
func TestCuttingPlanNamesTheMarksOfTheCuttingList(t *testing.T) {
	for name, p := range workshopPapers(t) {
		if len(p.Costing.Cutting) == 0 {
			continue
		}
		file := workshop(t, p)
		onList := make(map[string]string)
		for _, row := range leafOf(t, file, "Cutting list").rows[2:] {
			onList[row["B"].text] = fmt.Sprint(strings.Split(row["C"].text, ", drawer")[0], row["E"].text, row["F"].text, row["I"].text, row["D"].text)
		}
		seen := make(map[string]bool)
		code, n := "", 0
		for _, row := range leafOf(t, file, "Cutting plan").rows[2:] {
			if first, _, ok := strings.Cut(row["A"].text, "  "); ok && row["B"].text == "" {
				code = first
			}
			if row["G"].text == "" {
				continue
			}
			n++
			assert.False(t, seen[row["B"].text], "%s: %s twice", name, row["B"].text)
			seen[row["B"].text] = true
			assert.Equal(t, onList[row["B"].text], fmt.Sprint(row["D"].text, row["E"].text, row["F"].text, code, row["G"].text), "%s: %s", name, row["B"].text)
		}
		want := 0
		for _, plan := range p.Costing.Cutting {
			want += len(plan.Parts)
		}
		assert.Equal(t, want, n, name)
	}
}

// planPictures are the pictures of the cutting plan by the row they begin in, and the
// heights of its rows.
func planPictures(t testing.TB, file []byte) (found []placed, high func(row int) float64) {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, f.Close()) })
	names, err := f.GetPictureCells("Cutting plan")
	require.NoError(t, err)
	for _, cell := range names {
		list, err := f.GetPictures("Cutting plan", cell)
		require.NoError(t, err)
		for _, p := range list {
			found = append(found, placed{p, cell})
		}
	}
	row := func(p placed) int {
		_, row, err := excelize.CellNameToCoordinates(p.cell)
		require.NoError(t, err)
		return row
	}
	slices.SortFunc(found, func(a, b placed) int { return row(a) - row(b) })
	return found, func(row int) float64 {
		h, err := f.GetRowHeight("Cutting plan", row)
		require.NoError(t, err)
		return h
	}
}

// planPages returns the page that each row of the cutting plan is on. An A4 page
// across holds 595 points less 0.7 and 0.8 inch, and every page but the first begins
// with the two rows that stay in sight.
func planPages(t testing.TB, file []byte, rows int, high func(row int) float64) []int {
	t.Helper()
	broken := make(map[string]bool) // rows that a break stands before, less one
	for _, m := range regexp.MustCompile(`<brk id="(\d+)"`).FindAllStringSubmatch(parts(t, file)["xl/worksheets/sheet3.xml"], -1) {
		broken[m[1]] = true
	}
	page, used, pages := 0, 0.0, []int{0} // rows are counted from 1
	for row := 1; row <= rows; row++ {
		if broken[strconv.Itoa(row-1)] || used+high(row) > 595-(0.7+0.8)*72 {
			page, used = page+1, high(1)+high(2)
		}
		used += high(row)
		pages = append(pages, page)
	}
	return pages
}

// Each layout has its picture under its title, told to who cannot see it, on one page
// and with room for it before the next title.
func TestCuttingPlanShowsEachLayout(t *testing.T) {
	for name, p := range workshopPapers(t) {
		if len(p.Costing.Cutting) == 0 {
			continue
		}
		file := workshop(t, p)
		rows := leafOf(t, file, "Cutting plan").rows
		found, high := planPictures(t, file)
		pages := planPages(t, file, len(rows), high)
		k := 0
		for _, plan := range p.Costing.Cutting {
			for i := range plan.Layouts {
				require.Less(t, k, len(found), name)
				is := found[k]
				k++
				assert.Equal(t, "Cutting layout", is.Format.Name)
				assert.Contains(t, is.Format.AltText, fmt.Sprintf("Cutting layout %d of %d of %s (%s), ", i+1, len(plan.Layouts), plan.Description, plan.Code))
				column, row, err := excelize.CellNameToCoordinates(is.cell)
				require.NoError(t, err)
				assert.Equal(t, 1, column)
				assert.Contains(t, rows[row-2]["A"].text, fmt.Sprintf("Layout %d of %d of %s: ", i+1, len(plan.Layouts), plan.Code))
				picture, err := png.DecodeConfig(bytes.NewReader(is.File))
				require.NoError(t, err)
				room, first := 0.0, pages[row]
				for from, left := row, float64(picture.Height)/2*0.75; left > 0; from++ {
					assert.Equal(t, first, pages[from], "%s: the foot of a page cuts layout %d of %s", name, i+1, plan.Code)
					left -= high(from)
				}
				for ; row <= len(rows) && !strings.HasPrefix(rows[row-1]["A"].text, "Layout "); row++ {
					room += high(row)
				}
				assert.GreaterOrEqual(t, room, float64(picture.Height)/2*0.75, name) // two pixels to one of 1/96 inch
				assert.Less(t, len(is.File), 60_000)
			}
		}
		assert.Len(t, found, k, name)
	}
}

// Of very many layouts the first are shown, and all are in words.
func TestCuttingPlanOfVeryManyLayouts(t *testing.T) {
	p := paper(t, decoded(t, manyParts(2, 400)), starter(t))
	layouts := len(p.Costing.Cutting[0].Layouts)
	require.Greater(t, layouts, 60)
	file := workshop(t, p)
	found, _ := planPictures(t, file)
	assert.Len(t, found, 60)
	n := 0
	for _, row := range leafOf(t, file, "Cutting plan").rows {
		if strings.HasPrefix(row["A"].text, "Layout ") {
			n++
		}
	}
	assert.Equal(t, layouts, n)
}

// What is bought and saved where two chests share a sheet. By hand: within 2420 x
// 1200 the back of 1300 x 780 and above it three bottoms, 3 x 430.5 + 2 x 3.2 = 1297.9
// along; beside it two backs of 700 x 590, 2 x 590 + 3.2 = 1183.2 high, and beside
// those the last bottom on its end, 1300 + 3.2 + 700 + 3.2 + 270.25 = 2276.65. Each
// chest alone takes a sheet: one of 28.00 is saved.
func TestSharingIsSaid(t *testing.T) {
	p := paper(t, decoded(t, sawn["sawn"]), starter(t))
	plan := p.Costing.Cutting[slices.IndexFunc(p.Costing.Cutting, func(s pricing.SheetPlan) bool { return s.Code == "birch-ply-6" })]
	require.Equal(t, []int{1, 2}, []int{plan.Sheets, plan.Apart})
	said := summarised(t, p)
	assert.Contains(t, said, "  Birch plywood, 6 mm: 1 sheet; no layout can do it with fewer; 2 if each piece were")
	assert.Contains(t, said, "28.00\n")
	assert.Regexp(t, `(?m)^  Birch plywood, 6 mm +1 each +28\.00$`, said)
	last := leafOf(t, workshop(t, p), "Buying list").rows
	assert.Equal(t, "Saved already, by cutting sheets for several pieces together", last[len(last)-1]["A"].text)
	alone := leafOf(t, workshop(t, papers(t)["tall-chest"]), "Buying list").rows
	assert.Equal(t, "In all", alone[len(alone)-1]["A"].text)
}
