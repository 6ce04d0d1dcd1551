package wire_test

import (
	"errors"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/piece"
)

// jargon is what no message to a maker may carry: names of Go types and packages,
// the words of libraries.
var jargon = regexp.MustCompile(`json:|JSON value|\*?\b(piece|book|num|unit|date|wire|fault|jsontext|strconv|reflect)\.|\bGo\b|\b(u?int(64)?|float64|bool|struct|slice|string type|map\[|nil|EOF)\b|invalid syntax|value out of range|unmarshal|^$`)

// readable asserts that a detail is a sentence for a maker.
func readable(t *testing.T, detail, text string) {
	t.Helper()
	assert.NotRegexp(t, jargon, detail, "%.80q", text)
	assert.Contains(t, detail, " ", "%.80q", text)
}

// Texts that are not JSON: the byte where they stop being it, from 0.
func TestMalformed(t *testing.T) {
	for _, tt := range []struct {
		text   string
		offset int64
		says   string
	}{
		{``, 0, "ends too soon"},
		{" \n\t ", 4, "ends too soon"},
		{`{`, 1, "ends too soon"},
		{`{"title"`, 8, "ends too soon"},
		{`{"title":`, 9, "ends too soon"},
		{`{"title":"a`, 11, "ends too soon"},
		{`{"title":"a"`, 12, "ends too soon"},
		{`nul`, 3, "ends too soon"},
		{`{"title":"a"} x`, 14, `"x"`},
		{`{"title":"a"}{}`, 13, `"{}"`},
		{`{"title":"a"}]`, 13, `"]"`},
		{`{"title":"a",}`, 12, `",}"`},
		{`{"title" "a"}`, 9, `"a`},
		{`{'title':"a"}`, 1, `'title'`},
		{`{height:1}`, 1, `height`},
		{`{"title":NaN}`, 9, "NaN"},
		{`{"title":"a\qb"}`, 11, `\\q`},
		{`{"title":"\ud800"}`, 10, `ud800`},
		{"{\"title\":\"a\nb\"}", 11, `\n`},
		{`{"chest":{"width":01}}`, 19, `"1}}"`},
		{`{"chest":{"width":.5}}`, 18, `.5`},
		{`{"chest":{"width":1.}}`, 20, `"}}"`},
		{`{"chest":{"width":+1}}`, 18, `+1`},
		{`{"chest":{"width":-}}`, 19, `"}}"`},
		{`{"chest":{"width":1 /* mm */}}`, 20, `/*`},
		{`// a chest`, 0, `// a chest`},
		{"\xef\xbb\xbf{}", 0, ""}, // a byte order mark is no JSON
		{"\x00", 0, `\x00`},
		{"{\"title\":\"a\x00b\"}", 11, `\x00`},
		{"{\"title\":\"a\"}\x00", 13, `\x00`},
		{"{\"title\":\"\xff\"}", 10, "UTF-8"},
		{"{\"t\xffitle\":\"\"}", 3, "UTF-8"},
		{"{\"title\":\"a\xc3\"}", 11, "UTF-8"},        // half a letter
		{"{\"title\":\"\xed\xa0\x80\"}", 10, "UTF-8"}, // half a pair
		{`{"title":"a","title":"b"}`, 13, `"title" stands twice`},
		{`{"title":"a","t\u0069tle":"b"}`, 13, `"title" stands twice`},
		{`{"timbers":{"show":"a","show":"a"}}`, 23, `"show" stands twice`},
		{`{"chest":{"width":1,"depth":2,"width":3}}`, 30, `"width" stands twice`},
	} {
		var p piece.Piece
		err := wire.Decode([]byte(tt.text), &p)
		var m *wire.Malformed
		if !assert.ErrorAs(t, err, &m, "%q", tt.text) {
			continue
		}
		assert.Equal(t, tt.offset, m.Offset, "%q: %s", tt.text, m.Detail)
		assert.Contains(t, m.Detail, tt.says, "%q", tt.text)
		assert.Contains(t, m.Error(), m.Detail)
		readable(t, m.Detail, tt.text)
	}
}

// Texts that are JSON, but not a piece: the pointer, and what to write.
func TestWrongMembers(t *testing.T) {
	const decimal, whole = "number with at most 6 decimals", "whole number"
	for _, tt := range []struct{ text, pointer, says string }{
		// Unknown, misspelt, of the wrong case.
		{`{"titel":"a"}`, "#/titel", `"titel"`},
		{`{"Title":"a"}`, "#/Title", `"Title"`},
		{`{"":"a"}`, "#/", `""`},
		{`{"a/b~c":1}`, "#/a~1b~0c", `"a/b~c"`},
		// A pointer is a fragment: what may not stand in one is percent-encoded, once.
		{`{"größe ":1}`, "#/gr%C3%B6%C3%9Fe%20", `"größe "`},
		{`{"chest":{"100%/~ \"x\"":1}}`, "#/chest/100%25~1~0%20%22x%22", `"100%/~ \"x\""`},
		{`{"timbers":{"dos arrière":5}}`, "#/timbers/dos%20arri%C3%A8re", "text"},
		{`{"chest":{"Width":1}}`, "#/chest/Width", `"Width"`},
		{`{"chest":{"rows":[{"height":1},{"hieght":2}]}}`, "#/chest/rows/1/hieght", `"hieght"`},
		{`{"chest":{"drawers":{"lap_depth":1}}}`, "#/chest/drawers/lap_depth", `"lap_depth"`},
		{`{"drawer_boxes":{"DrawerStyle":{}}}`, "#/drawer_boxes/DrawerStyle", `"DrawerStyle"`},
		// Wrong types at any depth.
		{`[]`, "#", "object"},
		{`"chest"`, "#", "object"},
		{`7`, "#", "object"},
		{`true`, "#", "object"},
		{`{"title":5}`, "#/title", "text"},
		{`{"title":{}}`, "#/title", "text"},
		{`{"chest":[]}`, "#/chest", "object"},
		{`{"chest":5}`, "#/chest", "object"},
		{`{"chest":{"rows":{}}}`, "#/chest/rows", "list"},
		{`{"chest":{"rows":[5]}}`, "#/chest/rows/0", "object"},
		{`{"optional":"yes"}`, "#/optional", "true or false"},
		{`{"optional":0}`, "#/optional", "true or false"},
		{`{"timbers":[]}`, "#/timbers", "object"},
		{`{"timbers":{"show":5}}`, "#/timbers/show", "text"},
		{`{"timbers":{"a/b~c":5}}`, "#/timbers/a~1b~0c", "text"},
		{`{"bought_in":[{"unit":5}]}`, "#/bought_in/0/unit", "text"},
		{`{"agreed_price":5}`, "#/agreed_price", `a number does not go here: write a sum in quotes, such as "1850.00"`},
		{`{"agreed_price":{}}`, "#/agreed_price", "quotes"},
		{`{"bought_in":[{"rate":[]}]}`, "#/bought_in/0/rate", "quotes"},
		// Numbers: decimals, quotes, exponents, ranges.
		{`{"chest":{"width":"900"}}`, "#/chest/width", decimal},
		{`{"chest":{"width":9e2}}`, "#/chest/width", decimal},
		{`{"chest":{"width":9E2}}`, "#/chest/width", decimal},
		{`{"chest":{"width":1.1234567}}`, "#/chest/width", decimal},
		{`{"chest":{"width":1.0000000}}`, "#/chest/width", decimal},
		{`{"chest":{"width":true}}`, "#/chest/width", decimal},
		{`{"chest":{"width":99999999999999999999}}`, "#/chest/width", "fewer digits"},
		{`{"chest":{"drawers":{"lap":"6"}}}`, "#/chest/drawers/lap", decimal},
		{`{"waste_percent":{"show":1.234}}`, "#/waste_percent/show", "at most 2 decimals"},
		{`{"waste_percent":{"show":-1}}`, "#/waste_percent/show", "from 0"},
		{`{"agreed_price":"5.00001"}`, "#/agreed_price", "at most 4 decimals"},
		{`{"agreed_price":"-5"}`, "#/agreed_price", "from 0"},
		{`{"agreed_price":"1,000.00"}`, "#/agreed_price", "1850.00"},
		{`{"agreed_price":""}`, "#/agreed_price", "1850.00"},
		// Counts from 1: a typed 0 is not the default.
		{`{"quantity":0}`, "#/quantity", "from 1"},
		{`{"quantity":-1}`, "#/quantity", "from 1"},
		{`{"quantity":1.5}`, "#/quantity", whole},
		{`{"quantity":1e0}`, "#/quantity", whole},
		{`{"quantity":"1"}`, "#/quantity", whole},
		{`{"chest":{"rows":[{"across":0}]}}`, "#/chest/rows/0/across", "from 1"},
		// Whole numbers from 0.
		{`{"service":{"drops":1.5}}`, "#/service/drops", "write a whole number, without decimals or exponent, not 1.5"},
		{`{"service":{"drops":1e1}}`, "#/service/drops", whole},
		{`{"service":{"drops":"1"}}`, "#/service/drops", whole},
		{`{"service":{"drops":99999999999999999999}}`, "#/service/drops", "write a whole number with fewer digits, not 99999999999999999999"},
		{`{"quantity":99999999999999999999}`, "#/quantity", "fewer digits"},
		{`{"chest":{"drawers":{"tape_strips":1.5}}}`, "#/chest/drawers/tape_strips", whole},
		{`{"parts":{"glue_ups":0.5}}`, "#/parts/glue_ups", whole},
		{`{"parts":{"parts":[{},{"outside":{"faces":1.5}}]}}`, "#/parts/parts/1/outside/faces", whole},
	} {
		var p piece.Piece
		oneFault(t, wire.Decode([]byte(tt.text), &p), tt.text, tt.pointer, tt.says)
	}
}

// oneFault asserts that err is one fault at pointer that says what to write.
func oneFault(t *testing.T, err error, text, pointer, says string) {
	t.Helper()
	var l fault.List
	if !assert.ErrorAs(t, err, &l, "%s", text) {
		return
	}
	assert.Len(t, l, 1, "%s", text)
	assert.Equal(t, pointer, l[0].Pointer, "%s", text)
	assert.Contains(t, l[0].Detail, says, "%s", text)
	readable(t, l[0].Detail, text)
}

// The types of a Book: dates, currencies, rates, lengths.
func TestWrongBook(t *testing.T) {
	for _, tt := range []struct{ text, pointer, says string }{
		{`{"as_of":"2026-02-30"}`, "#/as_of", "2026-11-01"},
		{`{"as_of":"01/11/2026"}`, "#/as_of", "YYYY-MM-DD"},
		{`{"as_of":""}`, "#/as_of", "YYYY-MM-DD"},
		{`{"as_of":20261101}`, "#/as_of", `a number does not go here: write a day in quotes, such as "2026-11-01"`},
		{`{"currency":"XXX"}`, "#/currency", "ISO 4217"},
		{`{"currency":"gbp"}`, "#/currency", "ISO 4217"},
		{`{"currency":826}`, "#/currency", "quotes"},
		{`{"version":1.5}`, "#/version", "whole number"},
		{`{"timbers":[{"slope":8.0}]}`, "#/timbers/0/slope", "whole number"},
		{`{"timbers":[{"thicknesses":[{"thickness":"27"}]}]}`, "#/timbers/0/thicknesses/0/thickness", "number"},
		{`{"timbers":[{"price":{}}]}`, "#/timbers/0/price", `"price"`},
		{`{"terms":{"valid_days":1.5}}`, "#/terms/valid_days", "whole number"},
		{`{"terms":{"overhead":{"per_hour":16}}}`, "#/terms/overhead/per_hour", "quotes"},
		{`{"terms":{"profit":{"margin_percent":"20"}}}`, "#/terms/profit/margin_percent", "percentage"},
		{`{"stages":[{"bench":"yes"}]}`, "#/stages/0/bench", "true or false"},
		{`{"rules":[{"when":"kind:chest"}]}`, "#/rules/0/when", "list"},
		{`{"rules":[{"when":[1]}]}`, "#/rules/0/when/0", "text"},
	} {
		var d book.Data
		oneFault(t, wire.Decode([]byte(tt.text), &d), tt.text, tt.pointer, tt.says)
	}
}

// Null counts as absent, whatever the member.
func TestNull(t *testing.T) {
	for _, text := range []string{
		`null`, `{"id":null,"title":null,"quantity":null,"kind":null,"units":null,"optional":null,"timbers":null,"waste_percent":null,
			"ironmongery":null,"working_factor":null,"agreed_price":null,"chest":null,"service":null}`,
		` { } `, "\t{}\r\n",
	} {
		var p piece.Piece
		require.NoError(t, wire.Decode([]byte(text), &p), text)
		assert.Equal(t, piece.Piece{}, p, text)
	}
	var p piece.Piece
	require.NoError(t, wire.Decode([]byte(`{"chest":{"width":null,"rows":[{"height":null,"across":null}],"top":null,"drawers":null}}`), &p))
	assert.Equal(t, piece.Chest{Rows: []piece.Row{{}}}, *p.Chest)
	var d book.Data
	require.NoError(t, wire.Decode([]byte(`{"version":null,"as_of":null,"currency":null,"terms":null,"timbers":null}`), &d))
	assert.Equal(t, book.Data{}, d)
}

// What is written is what is read.
func TestDecode(t *testing.T) {
	var p piece.Piece
	require.NoError(t, wire.Decode([]byte(`{"title":"Truhe \u00fc\u0000 <b>","quantity":2,"chest":{"width":900.5,"depth":-0,"rows":[{},{"height":0.000001}]},"agreed_price":"1850.5"}`), &p))
	assert.Equal(t, "Truhe ü\x00 <b>", p.Title)
	assert.EqualValues(t, 2, p.Quantity)
	assert.EqualValues(t, 900_500_000, p.Chest.Width)
	assert.EqualValues(t, 1, *p.Chest.Rows[1].Height)
	assert.EqualValues(t, 1850_5000, *p.AgreedPrice)
}

// JSON nested as deep as a computer can be asked to go is refused, not followed.
func TestDeepNesting(t *testing.T) {
	const deep = 100_000
	for _, text := range []string{
		strings.Repeat("[", deep) + strings.Repeat("]", deep),
		`{"chest":{"rows":` + strings.Repeat("[", deep) + strings.Repeat("]", deep) + `}}`,
		`{"chest":` + strings.Repeat(`{"chest":`, deep) + `1` + strings.Repeat("}", deep) + `}`,
		`{"title":` + strings.Repeat("[", deep),
	} {
		var p piece.Piece
		err := wire.Decode([]byte(text), &p)
		var m *wire.Malformed
		var l fault.List
		assert.True(t, errors.As(err, &m) || errors.As(err, &l), "%.40s: %v", text, err)
		assert.Less(t, len(err.Error()), 300, "%.40s", text)
	}
	_, err := wire.Members([]byte(strings.Repeat(`{"a":`, deep) + "1" + strings.Repeat("}", deep)))
	var m *wire.Malformed
	require.ErrorAs(t, err, &m)
	assert.Contains(t, m.Detail, "nested", "it is JSON, but too deep")
	readable(t, m.Detail, "deep")
}

func TestMembers(t *testing.T) {
	for _, tt := range []struct {
		text string
		want []string
	}{
		{`{"b":1,"a":{"c":[2]},"\u0062b":null}`, []string{"b", "a", "bb"}},
		{` {"": 1} `, []string{""}},
		{`{}`, nil}, {`[]`, nil}, {`[{"a":1}]`, nil}, {`5`, nil}, {`"a"`, nil}, {`null`, nil}, {`true`, nil},
	} {
		got, err := wire.Members([]byte(tt.text))
		require.NoError(t, err, tt.text)
		assert.Equal(t, tt.want, got, tt.text)
	}
	for text, offset := range map[string]int64{`{"a":1,"a":2}`: 7, ``: 0, `{"a":1} 2`: 8, "{\"\xff\":1}": 2} {
		_, err := wire.Members([]byte(text))
		var m *wire.Malformed
		require.ErrorAs(t, err, &m, "%q", text)
		assert.Equal(t, offset, m.Offset, "%q", text)
	}
}
