package exports_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/exports"
	"reckoner/pricing/book"
	"reckoner/pricing/unit"
)

func unitOf(s string) unit.System { return unit.System(s) }

// marked prints rows of a cutting list: "A1 Side 2 x 1175 x 465 x 22".
func marked(rows []map[string]string) (out []string) {
	for _, r := range rows {
		out = append(out, fmt.Sprintf("%s %s %s x %s x %s x %s", r["mark"], r["name"], r["quantity"], r["length"], r["width"], r["thickness"]))
	}
	return out
}

// The tall chest's list as it is cut, put in order by hand from its costing in
// testdata: ash before tulipwood, 27 mm before 34 mm, the longest first and of
// equal lengths the widest; then sheets, then what is cut from offcuts.
func TestCuttingListIsAsCut(t *testing.T) {
	rows := tabled(t, exports.CuttingList, paper(t, request(t, "tall-chest"), starter(t))).rows
	assert.Equal(t, []string{
		"A1 Side 2 x 1175 x 465 x 22",
		"A2 Plinth 1 x 856 x 80 x 20",
		"A3 Front rail 6 x 856 x 60 x 20",
		"A4 Drawer front 1 x 826 x 273 x 20",
		"A5 Drawer front 1 x 826 x 218 x 20",
		"A6 Drawer front 1 x 826 x 188 x 20",
		"A7 Drawer front 1 x 826 x 158 x 20",
		"A8 Drawer front 2 x 402 x 128 x 20",
		"A9 Upright 1 x 142 x 60 x 22",
		"A10 Top 1 x 900 x 480 x 25",
		"A11 Drawer back 1 x 826 x 273 x 12",
	}, marked(rows[:11]))
	assert.Equal(t, []string{
		"A28 Back 1 x 1095 x 842 x 6",
		"A29 Drawer bottom 4 x 810 x 426 x 6",
		"A30 Drawer bottom 2 x 386 x 426 x 6",
		"A31 Glue block 4 x 60 x 25 x 25",
		"A32 Drawer stop 12 x 45 x 25 x 5",
	}, marked(rows[27:]))
	side := rows[0] // 2 x 1.2 x 0.495 x 0.027 = 0.032076
	assert.Equal(t, []string{"4", "1200", "495", "27", "0.032076", "m3", "ash-prime-27", "European ash, prime, 27 mm sawn"},
		[]string{side["strips"], side["sawn_length"], side["sawn_width"], side["sawn_thickness"], side["volume"], side["volume_unit"], side["code"], side["description"]})
	for _, block := range rows[30:] { // an offcut is bought as nothing
		for _, c := range []string{"code", "description", "strips", "sawn_length", "volume", "volume_unit", "sheet_m2"} {
			assert.Empty(t, block[c], c)
		}
	}
}

// Thickness is told by size, not by the text of its code: 100 mm comes after 27.
func TestThicknessesAreInOrderOfSize(t *testing.T) {
	data := *starter(t).Data()
	data.Timbers = append([]book.Timber(nil), data.Timbers...)
	ash := &data.Timbers[0]
	require.Equal(t, "ash-prime", ash.Code)
	thick := ash.Thicknesses[len(ash.Thicknesses)-1]
	thick.Code, thick.Thickness, thick.FinishesTo = "ash-prime-100", 100*unit.Millimetre, 90*unit.Millimetre
	ash.Thicknesses = append(append([]book.Thickness(nil), ash.Thicknesses...), thick)
	b, err := book.New(data)
	require.NoError(t, err)
	p := paper(t, decoded(t, `{"pieces": [{"title": "Posts", "kind": "parts", "timbers": {"show": "ash-prime", "inner": "oak-prime"}, "parts": {"parts": [
		{"name": "Slat", "length": 900, "width": 40, "thickness": 12, "material": "inner"},
		{"name": "Post", "length": 2000, "width": 90, "thickness": 85, "material": "show"},
		{"name": "Rail", "length": 300, "width": 40, "thickness": 22, "material": "ash-prime"},
		{"name": "Rail", "length": 300, "width": 50, "thickness": 22, "material": "show"}]}}]}`), b)
	rows := tabled(t, exports.CuttingList, p).rows
	assert.Equal(t, []string{
		"A1 Rail 1 x 300 x 50 x 22", "A2 Rail 1 x 300 x 40 x 22", "A3 Post 1 x 2000 x 90 x 85", "A4 Slat 1 x 900 x 40 x 12",
	}, marked(rows))
}

// An inch chest is listed in inches and board feet.
func TestInchesStayInches(t *testing.T) {
	rows := tabled(t, exports.CuttingList, paper(t, request(t, "inch-chest"), starter(t))).rows
	for _, r := range rows {
		assert.Equal(t, "in", r["unit"])
		assert.Contains(t, []string{"", "bf"}, r["volume_unit"])
	}
}

// Every piece line has its letter, whether it has parts or not; after Z comes AA.
func TestMarks(t *testing.T) {
	var pieces []string
	for i := range 55 {
		kind := `"kind": "parts", "parts": {"parts": [{"name": "Peg", "length": 40, "width": 10, "thickness": 10, "material": "ash-prime"}, {"name": "Pin", "length": 30, "width": 10, "thickness": 10, "material": "ash-prime"}]}`
		if i == 1 {
			kind = `"kind": "service", "service": {"drops": 1}`
		}
		pieces = append(pieces, fmt.Sprintf(`{"title": "Piece %d", %s}`, i, kind))
	}
	p := paper(t, decoded(t, `{"pieces": [`+strings.Join(pieces, ",")+`]}`), starter(t))
	first := make(map[string]string)
	seen := make(map[string]bool)
	for _, r := range tabled(t, exports.CuttingList, p).rows {
		assert.False(t, seen[r["mark"]], "%s stands twice", r["mark"])
		seen[r["mark"]] = true
		if first[r["piece"]] == "" {
			first[r["piece"]] = r["mark"]
		}
	}
	for piece, mark := range map[string]string{"Piece 0": "A1", "Piece 1": "", "Piece 2": "C1", "Piece 25": "Z1", "Piece 26": "AA1", "Piece 27": "AB1", "Piece 51": "AZ1", "Piece 52": "BA1", "Piece 54": "BC1"} {
		assert.Equal(t, mark, first[piece], piece)
	}
	assert.True(t, seen["A2"] && seen["BC2"])
}

// In every demo the lines of a piece fall by timber, thickness and length, and the
// costing is left as it was.
func TestCuttingOrderHolds(t *testing.T) {
	for name, p := range papers(t) {
		before := fmt.Sprint(p.Costing.Pieces)
		rows := tabled(t, exports.CuttingList, p).rows
		assert.Equal(t, before, fmt.Sprint(p.Costing.Pieces), name)
		for i := 1; i < len(rows); i++ {
			a, b := rows[i-1], rows[i]
			letter := strings.TrimRight(a["mark"], "0123456789")
			if letter != strings.TrimRight(b["mark"], "0123456789") || a["code"] != b["code"] {
				continue
			}
			la, lb := decimal(t, a["length"]), decimal(t, b["length"])
			assert.True(t, la > lb || la == lb && decimal(t, a["width"]) >= decimal(t, b["width"]), "%s: %s before %s", name, a["mark"], b["mark"])
		}
		assert.True(t, groupedByCode(rows), name)
	}
}

// groupedByCode reports whether the lines of one piece and code stand together.
func groupedByCode(rows []map[string]string) bool {
	seen, last := make(map[string]bool), ""
	for _, r := range rows {
		key := strings.TrimRight(r["mark"], "0123456789") + " " + r["code"]
		if key != last && seen[key] {
			return false
		}
		seen[key], last = true, key
	}
	return true
}
