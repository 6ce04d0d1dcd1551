package wire_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

const rectanglesHeader = "name,length,width,quantity,turn\n"

func TestRectangleList(t *testing.T) {
	side := cutting.Part{Length: 1175 * unit.Millimetre, Width: 465_250 * unit.Micrometre, Quantity: 2, Turn: true}
	still := side
	still.Turn = false
	for _, tt := range []struct {
		name, text string
		want       cutting.Part
	}{
		{"columns in order", rectanglesHeader + "Side,1175,465.25,2,yes\n", side},
		{"columns in any order", "turn,quantity,width,name,length\nno,2,465.25,Side,1175\n", still},
		{"without turn", "name,length,width,quantity\nSide,1175,465.25,2\n", side},
		{"turn left empty", rectanglesHeader + "Side,1175,465.25,2,\n", side},
		{"true", rectanglesHeader + "Side,1175,465.25,2,TRUE\n", side},
		{"false", rectanglesHeader + "Side,1175,465.25,2,False\n", still},
		{"a byte order mark and empty rows", "\xef\xbb\xbf" + rectanglesHeader + ",,,,\n\nSide, 1175 ,465.250,02,No\n", still},
	} {
		l, err := wire.RectangleList([]byte(tt.text), unit.InMillimetres)
		require.NoError(t, err, tt.name)
		assert.Equal(t, []cutting.Part{tt.want}, l.Parts, tt.name)
		assert.Equal(t, []string{"Side"}, l.Names, tt.name)
		assert.Len(t, l.Rows, 1, tt.name)
	}
	// An inch is 25.4 mm by definition (international yard and pound, 1959).
	l, err := wire.RectangleList([]byte(rectanglesHeader+"Top,48,24.5,1,\n"), unit.InInches)
	require.NoError(t, err)
	assert.Equal(t, []cutting.Part{{Length: 48 * unit.Inch, Width: 622_300 * unit.Micrometre, Quantity: 1, Turn: true}}, l.Parts)
	assert.Equal(t, []int{2}, l.Rows)
}

// Every bad cell: what the sentence must say beside its row and column.
func TestBadRectangles(t *testing.T) {
	for _, tt := range []struct {
		units             unit.System
		row, column, says string
	}{
		{"mm", ",100,50,1,", "name", "missing"},
		{"mm", "a\x01b,100,50,1,", "name", "control character U+0001"},
		{"mm", strings.Repeat("x", 201) + ",100,50,1,", "name", "at most 200"},
		{"mm", "a,,50,1,", "length", "missing millimetres"},
		{"mm", "a,0,50,1,", "length", "out of range 1 to 20000 mm"},
		{"mm", "a,-100,50,1,", "length", "-100 out of range"},
		{"mm", "a,20000.000001,50,1,", "length", "20000.000001 out of range"},
		{"mm", "a,100,0.999999,1,", "width", "0.999999 out of range"},
		{"mm", "a,100 mm,50,1,", "length", "write 100, millimetres no unit"},
		{"mm", `a,"1,175",50,1,`, "length", "write 1175 or 1.175, point"},
		{"mm", "a,wide,50,1,", "length", `"wide" millimetres 6 decimals 812.5`},
		{"in", "a,,50,1,", "length", "missing inches"},
		{"in", `a,"31""",5,1,`, "length", "write 31, inches no unit"},
		{"in", "a,31in,5,1,", "length", "write 31, inches no unit"},
		{"in", "a,100mm,5,1,", "length", `"100mm" write inches, 31.625`},
		{"in", "a,31 5/8,5,1,", "length", `"31 5/8" write inches, 31.625`},
		{"in", "a,800,5,1,", "length", "800 out of range 0.039371 to 787.401574 in"},
		{"mm", "a,100,50,,", "quantity", "missing"},
		{"mm", "a,100,50,0,", "quantity", `"0" whole number from 1`},
		{"mm", "a,100,50,1.5,", "quantity", `"1.5" whole number`},
		{"mm", "a,100,50,10001,", "quantity", "10001 at most 10000"},
		{"mm", "a,100,50,99999999999999999999,", "quantity", "too many"},
		{"mm", "a,100,50,1,maybe", "turn", `"maybe" yes no`},
		{"mm", "a,100,50,1", "", "4 cells 5"},
	} {
		text := rectanglesHeader + "Shelf,12,12,1,no\n" + tt.row + "\n"
		l, err := wire.RectangleList([]byte(text), tt.units)
		wrongCell(t, err, tt.row, tt.column, tt.says)
		assert.Equal(t, "Shelf", l.Names[0], "the good row is read")
	}
}

func TestBadRectanglesAllAtOnce(t *testing.T) {
	l, err := wire.RectangleList([]byte(rectanglesHeader+",0,long,two,no way\nShelf,12,12,1,no\n"), "mm")
	assert.EqualError(t, err, `row 2, name: the name is missing: write what the part is
row 2, length: 0 is out of range: write a size from 1 to 20000 mm
row 2, width: "long" is no size: write millimetres, a number with at most 6 decimals, such as 812.5
row 2, quantity: "two" is no quantity: write a whole number from 1
row 2, turn: "no way" is not known: write yes (so does nothing) or no`)
	assert.Equal(t, cutting.Part{Length: unit.Millimetre, Width: unit.Millimetre, Quantity: 1, Turn: true}, l.Parts[0])
	assert.Equal(t, []int{2, 3}, l.Rows)

	_, err = wire.RectangleList([]byte(rectanglesHeader), "mm")
	assert.EqualError(t, err, "row 2: there is no part below the header row: write one a row")
	_, err = wire.RectangleList([]byte("name,length,width,quantity,thickness\na,1,1,1,1\n"), "mm")
	assert.EqualError(t, err, `row 1: there is no column "thickness": the columns are name, length, width, quantity, turn`)
	_, err = wire.RectangleList([]byte(rectanglesHeader+"a,10,10,10000,\nb,10,10,10000,\nc,10,10,1,\n"), "mm")
	assert.EqualError(t, err, "the list has 20001 parts, at most 20000: divide it")
}

// FuzzRectangleList reads any bytes as a list of rectangles: parts that each have a
// name, a row and sides within their range, or faults, or both.
func FuzzRectangleList(f *testing.F) {
	for _, s := range []string{rectanglesHeader + "Side,1175,465.25,2,no\n", rectanglesHeader + ",0,8 mm,x,\nb\n\"c\"d\n", "name;length\n", "", "\xff", rectanglesHeader + "=1,1e3,9000000000001,99999999999,YES\n"} {
		f.Add([]byte(s), true)
		f.Add([]byte(s), false)
	}
	f.Fuzz(func(t *testing.T, b []byte, inches bool) {
		units := unit.InMillimetres
		if inches {
			units = unit.InInches
		}
		l, err := wire.RectangleList(b, units)
		if len(l.Rows) != len(l.Parts) || len(l.Names) != len(l.Parts) || len(l.Rows) == 0 && err == nil {
			t.Fatalf("%q: %+v: %v", b, l, err)
		}
		for i, p := range l.Parts {
			if l.Names[i] == "" || p.Quantity < 1 || min(p.Length, p.Width) < unit.Millimetre || max(p.Length, p.Width) > 20*unit.Metre {
				t.Fatalf("%q: %q %+v", b, l.Names[i], p)
			}
		}
		if faults, ok := err.(wire.CellFaults); err != nil && (!ok || len(faults) == 0) {
			t.Fatalf("%q: %T %v", b, err, err)
		}
	})
}
