package wire_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// unpriced is the Book of the starter catalogue, without prices.
func unpriced(t *testing.T) *book.Book {
	t.Helper()
	text, err := os.ReadFile("../starter/book.json")
	require.NoError(t, err)
	var d book.Data
	require.NoError(t, wire.Decode(text, &d))
	d.AsOf = date.MustParse("2026-11-01")
	b, err := book.New(d)
	require.NoError(t, err)
	return b
}

func TestListIsARequest(t *testing.T) {
	const shelf, back = "Shelf,1,812,262,20,,\n", "Back,1,812,262,,sheet,\n"
	show := func(code string) map[string]string { return map[string]string{"show": code} }
	for _, tt := range []struct {
		name, rows string
		list       wire.List
		want       piece.Piece
	}{
		{"all of it", shelf + back, wire.List{Name: "hall Bench no. 2", Timber: "oak", Sheet: "ply", Finish: "oil"},
			piece.Piece{ID: "hall-bench-no-2", Title: "Hall Bench no. 2", Timbers: show("oak"), Finishes: map[string]string{"outside": "oil"}}},
		{"no name", shelf, wire.List{Timber: "oak"}, piece.Piece{ID: "cutting-list", Title: "Cutting list", Timbers: show("oak")}},
		{"a name without ASCII", back, wire.List{Name: "日本", Sheet: "ply"}, piece.Piece{Title: "日本"}},
		{"a long name", back, wire.List{Name: strings.Repeat("é", 201) + strings.Repeat("a", 65)}, piece.Piece{ID: strings.Repeat("a", 64), Title: "É" + strings.Repeat("é", 199)}},
		{"a timber that is needed", back + shelf, wire.List{}, piece.Piece{ID: "cutting-list", Title: "Cutting list", Timbers: show("")}},
		{"a timber that is not", back, wire.List{Timber: "oak"}, piece.Piece{ID: "cutting-list", Title: "Cutting list", Timbers: show("oak")}},
		{"neither", back, wire.List{}, piece.Piece{ID: "cutting-list", Title: "Cutting list"}},
	} {
		cuts, err := wire.CuttingList([]byte(cutsHeader+tt.rows), tt.list.Sheet)
		require.NoError(t, err, tt.name)
		tt.want.Kind, tt.want.Parts = "parts", &cuts.List
		r, _ := tt.list.Read([]byte(cutsHeader + tt.rows))
		assert.Equal(t, pricing.Request{Pieces: []piece.Piece{tt.want}}, r, tt.name)
	}
}

// What reading and pricing found, each fault once, in the order of the list: those
// beside the table first.
func TestRefusal(t *testing.T) {
	_, reading := wire.List{Timber: "oak", Sheet: "ply", Finish: "oil"}.Read([]byte(cutsHeader + `Side,2,1240,280,22,,
Side,1,1240,280,22,,
Back,1,1150,836,9,sheet,
Rail,1,long,60,20,ashh,faces
Rail,1,long
`))
	var priced fault.List
	for _, at := range []string{
		"#/pieces/0/parts/parts/3/width", "#/pieces/0/parts/parts/3/length", "#/pieces/0/parts/parts/3/material", "#/pieces/0/parts/parts/2/thickness", "#/pieces/0/parts/parts/2/material",
		"#/pieces/0/parts/parts/2", "#/pieces/0/parts/parts/1/quantity", "#/pieces/0/parts/parts/0/length", "#/pieces/0/parts/parts/0", "#/pieces/0/parts/parts/1",
		"#/pieces/0/finishes/outside", "#/pieces/0/timbers/show", "#/pieces/0/parts/parts", "#/pieces/0", "#/as_of",
	} {
		priced.Add(at, "wrong")
	}
	want := wire.CellFaults{
		{Detail: "wrong"}, {Column: "#/as_of", Detail: "wrong"},
		{Column: "timber", Detail: "wrong"}, {Column: "sheet", Detail: `"ply" is no sheet of the book: check its spelling, or name another`}, {Column: "finish", Detail: "wrong"},
		{Row: 2, Detail: "wrong"}, {Row: 2, Column: "length", Detail: "wrong"},
		{Row: 3, Detail: "wrong"}, {Row: 3, Column: "quantity", Detail: "wrong"}, {Row: 3, Column: "length", Detail: "wrong"},
		{Row: 5, Column: "length", Detail: `"long" is no size: write millimetres, a number with at most 6 decimals, such as 812.5`},
		{Row: 5, Column: "width", Detail: "wrong"},
		{Row: 5, Column: "material", Detail: `"ashh" is no timber or sheet of the book: write show, sheet, or the code of one`},
		{Row: 6, Detail: "it has 3 cells, the header row 7: write every cell, decimals with a point, and put a text with a comma in quotation marks"},
	}
	b := unpriced(t)
	assert.Equal(t, want, reading.Refusal(b, priced))
	assert.Equal(t, want, reading.Refusal(b, priced), "asked again")
}

func TestRefusalOfWhatIsMissing(t *testing.T) {
	_, reading := wire.List{}.Read([]byte(cutsHeader + "Back,1,800,800,,sheet,\n\nShelf,1,812,262,20,,\n"))
	assert.Equal(t, wire.CellFaults{
		{Column: "timber", Detail: "it is missing, and row 4 is cut from it: name a timber of the book"},
		{Column: "sheet", Detail: "it is missing, and row 2 is cut from it: name a sheet of the book"},
	}, reading.Refusal(unpriced(t), fault.List{{Pointer: "#/pieces/0/timbers/show", Detail: "wrong"}}))
}

// A table without rows is at fault once; of one with too many, pricing has its own word.
func TestRefusalOfATable(t *testing.T) {
	priced := fault.List{{Pointer: "#/pieces/0/parts/parts", Detail: "wrong"}}
	_, reading := wire.List{}.Read([]byte("\xff"))
	assert.Equal(t, wire.CellFaults{{Detail: "the table is not UTF-8: save it as UTF-8"}}, reading.Refusal(unpriced(t), priced))
	_, reading = wire.List{}.Read([]byte(cutsHeader + strings.Repeat("Shelf,1,812,262,20,oak,\n", 20_001)))
	assert.Equal(t, wire.CellFaults{{Detail: "more than 20000 rows: split the table"}, {Detail: "wrong"}}, reading.Refusal(unpriced(t), priced))
}

func TestRefusalIsOfFaultsAlone(t *testing.T) {
	b := unpriced(t)
	_, good := wire.List{}.Read([]byte(cutsHeader + "Shelf,1,812,262,20,oak,\n"))
	assert.NoError(t, good.Refusal(b, nil))
	_, bad := wire.List{}.Read(nil)
	assert.Equal(t, wire.CellFaults{{Row: 1, Detail: "the table is empty: write a header row"}}, bad.Refusal(b, nil))
	for _, r := range []*wire.Reading{good, bad} {
		assert.Equal(t, num.Overflow{}, r.Refusal(b, num.Overflow{}), "as it was")
	}
}
