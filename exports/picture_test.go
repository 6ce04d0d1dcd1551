package exports_test

import (
	"bytes"
	"fmt"
	"image/png"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/exports"
)

// A placed picture is one of a quotation, and the cell it begins in.
type placed struct {
	excelize.Picture
	cell string
}

// pictures reads the pictures of a quotation, from the top.
func pictures(t testing.TB, file []byte) []placed {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	names, err := f.GetPictureCells("Quotation")
	require.NoError(t, err)
	var all []placed
	for _, cell := range names {
		list, err := f.GetPictures("Quotation", cell)
		require.NoError(t, err)
		for _, p := range list {
			all = append(all, placed{p, cell})
		}
	}
	return all
}

// The front of a piece stands beside its description, with the overall size told
// to who cannot see it; a piece without a front, and one instead of another that
// looks the same, has none.
func TestQuotationShowsFronts(t *testing.T) {
	all := papers(t)
	wider := all["full-quotation"].Request
	wider.Pieces = slices.Clone(wider.Pieces)
	require.Equal(t, wider.Pieces[0].ID, wider.Pieces[1].AlternativeTo)
	other := *wider.Pieces[1].Chest
	other.Width += other.Width / 10
	wider.Pieces[1].Chest = &other
	all["a wider alternative"] = paper(t, wider, starter(t))
	for _, tt := range []struct {
		name string
		want []string // what the pictures are told to be
		head []string // the first line of the description they stand beside
	}{
		{"tall-chest", []string{"Tall chest of six drawers: 900 mm wide, 1200 mm high, six drawers"}, []string{"Chest of six drawers"}},
		{"low-chest", []string{"Low chest with a row of four: 1500 mm wide, 640 mm high, eight drawers"}, []string{"Chest of eight drawers"}},
		{"inch-chest", []string{"Five-drawer chest in white oak: 36 in wide, 42 in high, five drawers"}, []string{"Chest of five drawers"}},
		{"full-quotation", []string{"Bedroom chest: 820 mm wide, 980 mm high, five drawers"}, []string{"Chest of five drawers"}},
		{"a wider alternative", []string{
			"Bedroom chest: 820 mm wide, 980 mm high, five drawers",
			"The same chest in walnut: 902 mm wide, 980 mm high, five drawers",
		}, []string{"Chest of five drawers", "Chest of five drawers"}},
		{"drawer-boxes", nil, nil},
		{"free-parts", nil, nil},
	} {
		file := written(t, all[tt.name])
		found := pictures(t, file)
		require.Len(t, found, len(tt.want), tt.name)
		for i, p := range found {
			assert.Equal(t, "Front elevation of "+tt.want[i]+".", p.Format.AltText, tt.name)
			assert.Equal(t, ".png", p.Extension)
			column, row, err := excelize.CellNameToCoordinates(p.cell)
			require.NoError(t, err)
			assert.GreaterOrEqual(t, column, 2, "beside the text")
			beside := ""
			for _, c := range cells(t, file) {
				if c.name == fmt.Sprintf("A%d", row) {
					beside = c.text
				}
			}
			assert.True(t, strings.HasPrefix(beside, tt.head[i]), "%s: %s", tt.name, beside)
			picture, err := png.DecodeConfig(bytes.NewReader(p.File))
			require.NoError(t, err)
			assert.True(t, picture.Width > 300 && picture.Width < 900 && picture.Height > 150 && picture.Height < 700,
				"%s: %d x %d pixels", tt.name, picture.Width, picture.Height)
			assert.Less(t, len(p.File), 16_000, "a small file")
		}
	}
}

// A picture has its room: the rows beside and below it, to the rule that ends the
// piece, are as high as it is.
func TestPicturesHaveTheirRoom(t *testing.T) {
	short := decoded(t, `{"pieces": [{"title": "Chest", "kind": "chest", "timbers": {"show": "oak-prime", "inner": "oak-prime"},
		"sheets": {"bottom": "birch-ply-6", "back": "birch-ply-6"}, "chest": {"width": 500, "depth": 400, "height": 1500, "rows": [{}, {}, {}, {}]}}]}`)
	all := papers(t)
	all["short words"] = paper(t, short, starter(t))
	for _, name := range []string{"short words", "tall-chest", "low-chest", "full-quotation", "inch-chest"} {
		file := written(t, all[name])
		f, err := excelize.OpenReader(bytes.NewReader(file))
		require.NoError(t, err)
		for _, p := range pictures(t, file) {
			_, row, err := excelize.CellNameToCoordinates(p.cell)
			require.NoError(t, err)
			picture, err := png.DecodeConfig(bytes.NewReader(p.File))
			require.NoError(t, err)
			room := 0.0
			for ; ; row++ {
				high, err := f.GetRowHeight("Quotation", row)
				require.NoError(t, err)
				if high == 5 { // the rule
					break
				}
				room += high
			}
			assert.GreaterOrEqual(t, room, float64(picture.Height)/3*0.75, name) // three pixels to one of 1/96 inch
		}
		require.NoError(t, f.Close())
	}
}

// paged returns the page that each row of a quotation is on, from 0, and how high
// it is. An A4 page holds 842 points less 0.7 and 0.8 inch, and every page but the
// first begins with a repeated row.
func paged(t testing.TB, file []byte) (pages []int, heights []float64) {
	t.Helper()
	broken := make(map[string]bool) // rows that a break stands before, less one
	for _, m := range regexp.MustCompile(`<brk id="(\d+)"`).FindAllStringSubmatch(parts(t, file)["xl/worksheets/sheet1.xml"], -1) {
		broken[m[1]] = true
	}
	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err := f.GetRows("Quotation")
	require.NoError(t, err)
	page, used := 0, 0.0
	pages, heights = []int{0}, []float64{0} // rows are counted from 1
	for row := 1; row <= len(rows); row++ {
		high, err := f.GetRowHeight("Quotation", row)
		require.NoError(t, err)
		if broken[fmt.Sprint(row-1)] || used+high > 842-(0.7+0.8)*72 {
			page, used = page+1, 22 // the head of the table
		}
		used += high
		pages, heights = append(pages, page), append(heights, high)
	}
	return pages, heights
}

// No picture is cut by the foot of a page.
func TestPicturesKeepTogether(t *testing.T) {
	r := request(t, "tall-chest")
	for i := range 7 {
		p := r.Pieces[0]
		p.ID, p.Title = fmt.Sprint("copy-", i), fmt.Sprint("Chest ", i)
		r.Pieces = append(r.Pieces, p)
	}
	file := written(t, paper(t, r, starter(t)))
	pages, heights := paged(t, file)
	rules := []int{}
	for row, high := range heights {
		if high == 5 {
			rules = append(rules, row)
		}
	}
	found := pictures(t, file)
	require.Len(t, found, 8)
	for _, p := range found {
		_, row, err := excelize.CellNameToCoordinates(p.cell)
		require.NoError(t, err)
		i, _ := slices.BinarySearch(rules, row)
		assert.Equal(t, pages[row], pages[rules[i]-1], "from row %d to %d", row, rules[i])
	}
	assert.Greater(t, slices.Max(pages), 1)
}

// A title is told as text, whatever it says.
func TestPicturesOfHostileTitles(t *testing.T) {
	for _, title := range nasty {
		p := papers(t)["tall-chest"]
		p.Request.Pieces = slices.Clone(p.Request.Pieces)
		p.Request.Pieces[0].Title = title
		found := pictures(t, written(t, p))
		require.Len(t, found, 1)
		told, ok := strings.CutPrefix(found[0].Format.AltText, "Front elevation of ")
		require.True(t, ok)
		told, _, ok = strings.Cut(told, ": 900 mm wide")
		require.True(t, ok)
		assert.True(t, told != "" && strings.HasPrefix(letters(title), letters(told)), "%.60q as %.60q", title, told)
	}
}

func TestSketchSaysTheOverallSize(t *testing.T) {
	p := papers(t)["tall-chest"]
	assert.Equal(t, []string{"900 mm", "1200 mm"}, exports.SketchTexts(&p, 0))
	p = papers(t)["inch-chest"]
	assert.Equal(t, []string{"36 in", "42 in"}, exports.SketchTexts(&p, 0))
}
