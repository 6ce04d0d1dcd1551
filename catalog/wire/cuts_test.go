package wire_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

const cutsHeader = "name,quantity,length,width,thickness,material,finish\n"

func all() piece.Surface { return piece.Surface{Faces: 2, LongEdges: 2, Ends: 2} }

func TestCuttingList(t *testing.T) {
	thick := num.Decimal(22_500_000)
	side := piece.FreePart{Name: "Side", Quantity: 2, Length: 1175 * num.One, Width: 465_250_000, Thickness: &thick, Material: piece.Show, Outside: all()}
	with := func(change func(*piece.FreePart)) piece.FreePart {
		p := side
		change(&p)
		return p
	}
	for _, tt := range []struct {
		name, text string
		want       piece.FreePart
	}{
		{"columns in order", cutsHeader + "Side,2,1175,465.25,22.5,show,all\n", side},
		{"columns in any order", "width,finish,thickness,name,material,length,quantity\n465.25,all,22.5,Side,show,1175,2\n", side},
		{"without the optional columns", "name,quantity,length,width,thickness\nSide,2,1175,465.25,22.5\n", side},
		{"optional cells empty", cutsHeader + "Side,2,1175,465.25,22.5,,\n", side},
		{"a byte order mark", "\xef\xbb\xbf" + cutsHeader + "Side,2,1175,465.25,22.5,,\n", side},
		{"lines ended as on another system", "name,quantity,length,width,thickness\r\nSide,2,1175,465.25,22.5\r\n", side},
		{"capitals and spaces", "Name, QUANTITY ,Length,Width,Thickness,Material,Finish\n Side , 2 ,1175 , 465.250,22.5,SHOW,All\n", side},
		{"every cell in quotation marks", "\"name\",\"quantity\",\"length\",\"width\",\"thickness\"\n\"Side\",\"2\",\"1175\",\"465.25\",\"22.5\"\n", side},
		{"noughts before and after", cutsHeader + "Side,002,01175.000000,465.25,22.50,,\n", side},
		{"empty rows", cutsHeader + "\n,,,,,,\n  \nSide,2,1175,465.25,22.5,,\n,,,,,,\n", side},
		{"a comma in the name", cutsHeader + "\"Side, left\",2,1175,465.25,22.5,,\n", with(func(p *piece.FreePart) { p.Name = "Side, left" })},
		{"quotation marks in the name", cutsHeader + "\"So called \"\"side\"\"\",2,1175,465.25,22.5,,\n", with(func(p *piece.FreePart) { p.Name = `So called "side"` })},
		{"letters beyond ASCII", cutsHeader + "Seitenwand für oben,2,1175,465.25,22.5,,\n", with(func(p *piece.FreePart) { p.Name = "Seitenwand für oben" })},
		{"what looks like a formula", cutsHeader + "=1+1,2,1175,465.25,22.5,,\n", with(func(p *piece.FreePart) { p.Name = "=1+1" })},
		{"a code", cutsHeader + "Side,2,1175,465.25,22.5,Oak_prime.1,\n", with(func(p *piece.FreePart) { p.Material = "Oak_prime.1" })},
		{"a sheet", cutsHeader + "Side,2,1175,465.25,22.5,sheet,\n", with(func(p *piece.FreePart) { p.Material = "ply" })},
		{"a sheet without a thickness", cutsHeader + "Side,2,1175,465.25,,Sheet,\n", with(func(p *piece.FreePart) { p.Material, p.Thickness = "ply", nil })},
		{"faces", cutsHeader + "Side,2,1175,465.25,22.5,,faces\n", with(func(p *piece.FreePart) { p.Outside = piece.Surface{Faces: 2} })},
		{"none", cutsHeader + "Side,2,1175,465.25,22.5,,NONE\n", with(func(p *piece.FreePart) { p.Outside = piece.Surface{} })},
		{"six decimals", cutsHeader + "Side,2,1175,465.25,20.637501,,\n", with(func(p *piece.FreePart) {
			d := num.Decimal(20_637_501)
			p.Thickness = &d
		})},
		{"what only pricing can judge", cutsHeader + "Side,99999,-1,0,22.5,,\n", with(func(p *piece.FreePart) { p.Quantity, p.Length, p.Width = 99_999, -num.One, 0 })},
	} {
		c, err := wire.CuttingList([]byte(tt.text), "ply")
		require.NoError(t, err, tt.name)
		assert.Equal(t, piece.PartList{Parts: []piece.FreePart{tt.want}}, c.List, tt.name)
		require.Len(t, c.Rows, 1, tt.name)
		assert.Equal(t, strings.EqualFold(tt.want.Material, "ply"), c.Rows[0].OfSheet, tt.name)
	}
}

// Every bad cell: what the sentence must say beside its row and column.
func TestBadCells(t *testing.T) {
	for _, tt := range []struct{ row, column, says string }{
		{",1,100,50,20,,", "name", "missing"},
		{"  ,1,100,50,20,,", "name", "missing"},
		{"a,,100,50,20,,", "quantity", "missing"},
		{"a,0,100,50,20,,", "quantity", `"0" whole number from 1`},
		{"a,-2,100,50,20,,", "quantity", `"-2" whole number`},
		{"a,+2,100,50,20,,", "quantity", `"+2" whole number`},
		{"a,2.0,100,50,20,,", "quantity", `"2.0" whole number`},
		{"a,1.5,100,50,20,,", "quantity", `"1.5" whole number`},
		{"a,two,100,50,20,,", "quantity", `"two" whole number`},
		{"a,2 off,100,50,20,,", "quantity", `"2 off" whole number`},
		{"a,1e3,100,50,20,,", "quantity", `"1e3" whole number`},
		{"a,٣,100,50,20,,", "quantity", "whole number"},
		{"a,99999999999999999999,100,50,20,,", "quantity", "too many"},
		{"a,1000000001,100,50,20,,", "quantity", "too many"},
		{"a,1,,50,20,,", "length", "missing millimetres"},
		{"a,1,100,,20,,", "width", "missing millimetres"},
		{`a,1,"800,5",50,20,,`, "length", `"800,5" write 800.5, point`},
		{`a,1,"1,175",50,20,,`, "length", "write 1175 or 1.175, point"},
		{`a,1,"1.175,5",50,20,,`, "length", `"1.175,5" millimetres`},
		{"a,1,800mm,50,20,,", "length", `"800mm" write 800, no unit`},
		{"a,1,800 MM,50,20,,", "length", "write 800, no unit"},
		{"a,1,1 175,50,20,,", "length", "write 1175, no unit"},
		{"a,1,80cm,50,20,,", "length", `"80cm" millimetres`},
		{`a,1,"31 1/2""",50,20,,`, "length", "millimetres"},
		{"a,1,1e3,50,20,,", "length", `"1e3" millimetres`},
		{"a,1,+100,50,20,,", "length", `"+100" millimetres`},
		{"a,1,.5,50,20,,", "length", `".5" millimetres`},
		{"a,1,100.,50,20,,", "length", `"100." millimetres`},
		{"a,1,100.1234567,50,20,,", "length", "at most 6 decimals"},
		{"a,1,99999999999999999999,50,20,,", "length", "millimetres"},
		{"a,1,#REF!,50,20,,", "length", `"#REF!" millimetres`},
		{"a,1,=A1*2,50,20,,", "length", `"=A1*2" millimetres`},
		{"a,1,NaN,50,20,,", "length", `"NaN" millimetres`},
		{"a,1,0x40,50,20,,", "length", `"0x40" millimetres`},
		{"a,1,100,wide,20,,", "width", `"wide" millimetres`},
		{"a,1,100,50,thick,,", "thickness", `"thick" millimetres`},
		{"a,1,100,50,\"20,5\",,", "thickness", "write 20.5, point"},
		{"a,1,100,50,20,inner,", "material", `"inner" show, sheet code`},
		{"a,1,100,50,20,Bottom,", "material", `"Bottom" show, sheet code`},
		{"a,1,100,50,20,back,", "material", `"back" show, sheet code`},
		{"a,1,100,50,20,,both", "finish", `"both" all faces none`},
		{"a,1,100,50,20,,oil-3", "finish", `"oil-3" all faces none`},
		{"a,1,100,50,20,,yes", "finish", `"yes" all faces none`},
		{"a,1,100,50,20," + strings.Repeat("x", 4001) + ",", "material", "4000 bytes"},
		{"a,1,100,50,20,", "", "6 cells 7"},
		{"a,1,800,5,50,20,,", "", "8 cells 7 point"},
	} {
		text := cutsHeader + "Shelf,1,812,262,20,,\n" + tt.row + "\n"
		c, err := wire.CuttingList([]byte(text), "ply")
		wrongCell(t, err, tt.row, tt.column, tt.says)
		assert.Equal(t, "Shelf", c.List.Parts[0].Name, "the good row is read")
		assert.Equal(t, len(c.Rows), len(c.List.Parts))
	}
}

// wrongCell holds that one cell is wrong, in the second row below the header, and that
// what is said of it has those words.
func wrongCell(t *testing.T, err error, row, column, says string) {
	t.Helper()
	var faults wire.CellFaults
	require.ErrorAs(t, err, &faults, "%.80q", row)
	require.Len(t, faults, 1, "%.80q", row)
	assert.Equal(t, 3, faults[0].Row, "%.80q", row)
	assert.Equal(t, column, faults[0].Column, "%.80q", row)
	for _, word := range strings.Fields(says) {
		assert.Contains(t, faults[0].Detail, word, "%.80q", row)
	}
	assert.NotRegexp(t, jargon, faults[0].Detail)
	assert.LessOrEqual(t, len(faults[0].String()), 220)
}

// All bad cells of a table come together, in its order; those that are good stand
// in the list, the least that may stand in the others.
func TestBadCellsAllAtOnce(t *testing.T) {
	c, err := wire.CuttingList([]byte(cutsHeader+",0,long,wide,thick,back,some\nShelf,1,812,262,20\nSide,2,\"1240,5\",280,22,,\n\nTop,1,860,285 mm,22,,\n\"x\"y\n"), "")
	assert.EqualError(t, err, `row 2, name: the name is missing: write what the part is
row 2, quantity: "0" is no quantity: write a whole number from 1
row 2, length: "long" is no size: write millimetres, a number with at most 6 decimals, such as 812.5
row 2, width: "wide" is no size: write millimetres, a number with at most 6 decimals, such as 812.5
row 2, thickness: "thick" is no size: write millimetres, a number with at most 6 decimals, such as 812.5
row 2, material: "back" is no material of a list: write show, sheet, or the code of a timber or sheet
row 2, finish: "some" is not known: write all (2 faces, 2 long edges, 2 ends), faces or none
row 3: it has 5 cells, the header row 7: write every cell, decimals with a point, and put a text with a comma in quotation marks
row 4, length: "1240,5" is no size: write 1240.5, in millimetres with a point and no unit
row 6, width: "285 mm" is no size: write 285, in millimetres with a point and no unit
row 7: a quotation mark stands alone: write it twice within a quoted cell`)
	one, twentyTwo := num.One, 22*num.One
	assert.Equal(t, []piece.FreePart{
		{Name: "part", Quantity: 1, Length: one, Width: one, Thickness: &one, Material: piece.Show},
		{Name: "Side", Quantity: 2, Length: one, Width: 280 * num.One, Thickness: &twentyTwo, Material: piece.Show, Outside: all()},
		{Name: "Top", Quantity: 1, Length: 860 * num.One, Width: one, Thickness: &twentyTwo, Material: piece.Show, Outside: all()},
	}, c.List.Parts)
	assert.Equal(t, []wire.CutRow{{Number: 2}, {Number: 4}, {Number: 6}}, c.Rows)
}

// A header that cannot be used is the only fault, but with all that is wrong in it.
func TestBadHeaders(t *testing.T) {
	for _, tt := range []struct{ name, text, says string }{
		{"nothing", "", "row 1: the table is empty: write a header row"},
		{"a mark and nothing", "\xef\xbb\xbf", "row 1: the table is empty: write a header row"},
		{"no rows", cutsHeader, "row 2: there is no part below the header row: write one a row"},
		{"empty rows", cutsHeader + ",,,,,,\n\n", "row 2: there is no part below the header row: write one a row"},
		{"semicolons", "name;quantity;length\nSide;2;100\n", `row 1: there is one column, "name;quantity;length": save the table with commas between its cells`},
		{"tabs", "name\tquantity\nSide\t2\n", `row 1: there is one column, "name\tquantity": save the table with commas between its cells`},
		{"columns missing", "name,length,width\nx,1,1\n", "row 1: the column \"quantity\" is missing: add it to the header row\nrow 1: the column \"thickness\" is missing: add it to the header row"},
		{"columns of another kind", "name,quantity,length,width,thickness,colour\nx,1,1,1,1,red\n",
			`row 1: there is no column "colour": the columns are name, quantity, length, width, thickness, material, finish`},
		{"a column twice", "name,quantity,length,width,thickness,Width\nx,1,1,1,1,1\n", `row 1: the column "width" stands twice: leave one out`},
		{"not UTF-8", cutsHeader + "B\xe4nk,1,1,1,1,,\n", "the table is not UTF-8: save it as UTF-8"},
		{"UTF-16", "\xff\xfen\x00a\x00", "the table is not UTF-8: save it as UTF-8"},
	} {
		c, err := wire.CuttingList([]byte(tt.text), "ply")
		assert.EqualError(t, err, tt.says, tt.name)
		assert.Empty(t, c.List.Parts, tt.name)
	}
}

func TestFind(t *testing.T) {
	c, err := wire.CuttingList([]byte(cutsHeader+"Shelf,1,812,262,20,,\n\nSide,2,1240,280,22,,\n"), "")
	require.NoError(t, err)
	for pointer, want := range map[string]string{
		"#/parts/0": "0  true", "#/parts/1": "1  true", "#/parts/1/length": "1 length true",
		"#/parts/2": "0  false", "#/parts/-1": "0  false", "#/parts": "0  false", "#/parts/x": "0  false", "#/glue_ups": "0  false", "#": "0  false", "": "0  false",
	} {
		i, column, ok := c.Find(pointer)
		assert.Equal(t, want, fmt.Sprint(i, " ", column, " ", ok), pointer)
	}
	assert.Equal(t, 4, c.Rows[1].Number, "the empty line counts")
}

func TestCellFault(t *testing.T) {
	for want, f := range map[string]wire.CellFault{
		"row 7, length: too long": {Row: 7, Column: "length", Detail: "too long"},
		"row 7: too long":         {Row: 7, Detail: "too long"},
		"--timber: unknown":       {Column: "--timber", Detail: "unknown"},
		"unreadable":              {Detail: "unreadable"},
	} {
		assert.Equal(t, want, f.String())
	}
}

// A cutting list of two rows, one of them with two bad cells.
func ExampleCuttingList() {
	c, err := wire.CuttingList([]byte("name,length,width,thickness,quantity\nShelf,812,262,20,3\nTop,\"860,5\",28 cm,22,1\n"), "")
	fmt.Println(c.List.Parts[0].Name, c.List.Parts[0].Quantity, c.List.Parts[0].Length, c.List.Parts[0].Material)
	fmt.Println(err)
	// Output:
	// Shelf 3 812 show
	// row 3, length: "860,5" is no size: write 860.5, in millimetres with a point and no unit
	// row 3, width: "28 cm" is no size: write millimetres, a number with at most 6 decimals, such as 812.5
}

// FuzzCuttingList reads any bytes as a cutting list: parts that each have a row and
// a use, or faults that each say where and what, or both.
func FuzzCuttingList(f *testing.F) {
	for _, s := range []string{
		cutsHeader + "Side,2,1175,465,22,show,all\nBack,1,1095,842,,sheet,none\n", "\xef\xbb\xbfwidth,name,length,thickness,quantity\r\n1,a,2,3,4\r\n",
		cutsHeader + "a,0,\"8,5\",1 mm,x,inner,some\nb,1\n\"c\"d\n", cutsHeader + "\"two\nlines\",1,1,1,1,,\n", cutsHeader, "", "name;quantity\n", "name,name\n", "\xff",
		cutsHeader + "a,99999999999999999999,-0,1e9,9000000000001,oak,faces\n", cutsHeader + "=1+1,1,1,1,1,SHEET,NONE\n\x00,1,1,1,1,,\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		c, err := wire.CuttingList(b, "ply")
		if len(c.Rows) != len(c.List.Parts) || len(c.Rows) == 0 && err == nil {
			t.Fatalf("%q: %d rows of %d parts: %v", b, len(c.Rows), len(c.List.Parts), err)
		}
		for i, p := range c.List.Parts {
			if p.Name == "" || p.Quantity < 1 || p.Material == "" || c.Rows[i].OfSheet && p.Material != "ply" || i > 0 && c.Rows[i].Number <= c.Rows[i-1].Number {
				t.Fatalf("%q: %+v in %+v", b, p, c.Rows[i])
			}
		}
		if err == nil {
			return
		}
		faults, ok := err.(wire.CellFaults)
		if !ok || len(faults) == 0 {
			t.Fatalf("%q: %T %v", b, err, err)
		}
		for i, l := range faults {
			own, _, _ := strings.Cut(l.Detail, `"`) // what is quoted is the sender's
			if l.Detail == "" || jargon.MatchString(own+" ") || i > 0 && l.Row < faults[i-1].Row {
				t.Fatalf("%q: %v", b, faults)
			}
		}
	})
}
