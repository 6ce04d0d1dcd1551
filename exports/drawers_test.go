package exports_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing"
)

// The tall chest has two drawers in its first row and one in each of the four
// below: numbered from the top left, 1 and 2, then 3 to 6.
func TestPartsSayOfWhichDrawersTheyAre(t *testing.T) {
	rows := tabled(t, exports.CuttingList, paper(t, request(t, "tall-chest"), starter(t))).rows
	of := make(map[string][]string)
	for _, r := range rows {
		of[r["name"]] = append(of[r["name"]], r["drawers"])
	}
	assert.ElementsMatch(t, []string{"1-2", "3", "4", "5", "6"}, of["Drawer front"])
	assert.ElementsMatch(t, []string{"1-2", "3", "4", "5", "6"}, of["Tail board"])
	assert.ElementsMatch(t, []string{"1-2", "3-6"}, of["Drawer bottom"], "four bottoms are alike")
	assert.Equal(t, []string{""}, of["Side"])

	rows = tabled(t, exports.CuttingList, paper(t, request(t, "drawer-boxes"), starter(t))).rows
	for _, r := range rows {
		if r["name"] == "Pin board" && r["width"] == "150" {
			assert.Equal(t, "13-18", r["drawers"], "the third size of the list: six after twice six")
		}
	}
}

// A line of timber whose roles have the same waste from two places cannot follow
// a change of one of them: no cell offers it.
func TestAWasteThatSharesALineIsNoInput(t *testing.T) {
	var r pricing.Request
	require.NoError(t, wire.Decode([]byte(`{"pieces": [{"title": "Shelves", "kind": "parts", "timbers": {"show": "ash-prime", "inner": "ash-prime"}, "waste_percent": {"show": 30},
		"parts": {"parts": [{"name": "Shelf", "quantity": 3, "length": 800, "width": 140, "thickness": 20, "material": "show"},
			{"name": "Rail", "quantity": 3, "length": 800, "width": 140, "thickness": 20, "material": "inner"}]}}]}`), &r))
	p := paper(t, r, starter(t))
	require.Len(t, p.Costing.Pieces[0].Timber, 1)
	var book bytes.Buffer
	require.NoError(t, exports.Workshop(&book, p))
	f, err := excelize.OpenReader(&book)
	require.NoError(t, err)
	defer f.Close()
	for _, name := range f.GetDefinedName() {
		assert.NotContains(t, name.Name, "in_waste", "both wastes of the one line are fixed")
	}
}

// A price agreed at a loss is said where the price stands, not at the saw.
func TestALossIsSaidOnTheSummary(t *testing.T) {
	var book bytes.Buffer
	require.NoError(t, exports.Workshop(&book, paper(t, request(t, "agreed-below-cost"), starter(t))))
	f, err := excelize.OpenReader(&book)
	require.NoError(t, err)
	defer f.Close()
	said := make(map[string]bool)
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		require.NoError(t, err)
		for _, row := range rows {
			for _, c := range row {
				said[sheet] = said[sheet] || bytes.Contains([]byte(c), []byte("the line loses"))
			}
		}
	}
	assert.Equal(t, map[string]bool{"Summary": true, "Build-up": true, "Checks and cautions": true}, only(said))
}

// only returns the keys that are true.
func only(m map[string]bool) map[string]bool {
	out := make(map[string]bool)
	for k, v := range m {
		if v {
			out[k] = v
		}
	}
	return out
}
