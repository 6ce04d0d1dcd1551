package wire_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
)

// table reads text with the columns code and price, and note if it is there.
func table(text string) ([]wire.Row, error) {
	return wire.Table([]byte(text), []string{"code", "price"}, []string{"note"})
}

// cells prints rows: "2: ash|1850|-".
func cells(rows []wire.Row) (out []string) {
	for _, r := range rows {
		out = append(out, strings.Join([]string{string(rune('0' + r.Number)), r.Cell("code"), r.Cell("price"), r.Cell("note")}, "|"))
	}
	return out
}

func TestTable(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		want       []string
	}{
		{"a header alone", "code,price", nil},
		{"columns in order", "code,price,note\nash,1850,dry\noak,2400,\n", []string{"2|ash|1850|dry", "3|oak|2400|"}},
		{"columns in any order", "note,price,code\ndry,1850,ash\n", []string{"2|ash|1850|dry"}},
		{"an optional column left out", "price,code\n1850,ash", []string{"2|ash|1850|"}},
		{"a byte order mark", "\xef\xbb\xbfcode,price\nash,1850\n", []string{"2|ash|1850|"}},
		{"lines ended as on another system", "code,price\r\nash,1850\r\n", []string{"2|ash|1850|"}},
		{"capitals and spaces in the header", "CODE, Price \nash,1850", []string{"2|ash|1850|"}},
		{"spaces round cells", "code,price\n ash\t,  1850 \n", []string{"2|ash|1850|"}},
		{"empty rows", "code,price\n\n , \nash,1850\n,\n\n", []string{"4|ash|1850|"}},
		{"quotes", "code,price,note\n\"ash, prime\",1850,\"so called \"\"prime\"\"\"\n", []string{`2|ash, prime|1850|so called "prime"`}},
		{"a line break in a cell", "code,price,note\nash,1850,\"two\nlines\"\noak,1,\n", []string{"2|ash|1850|two\nlines", "4|oak|1|"}},
		{"letters beyond ASCII", "code,price\nnoyer-foncé,1850\n", []string{"2|noyer-foncé|1850|"}},
		{"one cell empty", "code,price\nash,\n", []string{"2|ash||"}},
		{"the longest cell", "code,price\n" + strings.Repeat("x", 4000) + ",1\n", []string{"2|" + strings.Repeat("x", 4000) + "|1|"}},
	} {
		rows, err := table(tt.text)
		require.NoError(t, err, tt.name)
		assert.Equal(t, tt.want, cells(rows), tt.name)
	}
	rows, err := table("code,price\nash,1\n")
	require.NoError(t, err)
	assert.Equal(t, "", rows[0].Cell("supplier"), "a column that is not there is empty")
}

// The error names the row, or the column of the header.
func TestTableRefusals(t *testing.T) {
	for _, tt := range []struct{ name, text, says string }{
		{"nothing", "", "row 1"},
		{"empty lines", "\n\n", "row 1"},
		{"no code", "price,note\n1,x\n", `"code" is missing`},
		{"no price", "code\nash\n", `"price" is missing`},
		{"an unknown column", "code,prize\nash,1\n", `"prize"`},
		{"a column without a name", "code,,price\nash,,1\n", `""`},
		{"a cell under no heading", "code,price,\nash,1,2\n", "3 cells, the header row 2"},
		{"another separator", "code;price\nash;1\n", `"code;price"`},
		{"a column twice", "code,price,code\nash,1,oak\n", `"code" stands twice`},
		{"a column twice in capitals", "code,price,Code\nash,1,oak\n", `"code" stands twice`},
		{"too few cells", "code,price\nash,1\noak\n", "3"},
		{"too many cells", "code,price\nash,1,2\n", "2"},
		{"a quote not closed", "code,price\nash,\"1\n", "2"},
		{"a quote within a cell", "code,price\nash,1\noak,5\"6\n", "3"},
		{"text after a quote", "code,price\n\"ash\"s,1\n", "2"},
		{"a cell too long", "code,price\nash,1\n" + strings.Repeat("x", 4001) + ",1\n", "row 3, code: "},
		{"not UTF-8", "code,price\nnoyer fonc\xe9,1\n", "UTF-8"},
		{"not UTF-8 in the header", "c\xffde,price\n", "UTF-8"},
		{"too many rows", "code,price\n" + strings.Repeat("ash,1\n", 20_001), "20000"},
	} {
		rows, err := table(tt.text)
		require.Error(t, err, tt.name)
		assert.Nil(t, rows, tt.name)
		assert.Contains(t, err.Error(), tt.says, tt.name)
		assert.NotRegexp(t, jargon, err.Error(), tt.name)
		assert.LessOrEqual(t, len(err.Error()), 200, tt.name)
	}
}

// 20 000 rows are read, whatever empty rows stand between or after them.
func TestLongTable(t *testing.T) {
	rows, err := table("code,price\n" + strings.Repeat("ash,1\n", 20_000))
	require.NoError(t, err)
	assert.Len(t, rows, 20_000)
	assert.Equal(t, 20_001, rows[19_999].Number)
	rows, err = table("code,price\n" + strings.Repeat("ash,1\n,\n", 20_000))
	require.NoError(t, err, "rows of empty cells are passed over")
	assert.Len(t, rows, 20_000)
}

// A header that is not one of ours does not make an endless message.
func TestLongHeader(t *testing.T) {
	_, err := table(strings.Repeat("x", 100_000) + ",price\n")
	require.Error(t, err)
	assert.LessOrEqual(t, len(err.Error()), 300)
}
