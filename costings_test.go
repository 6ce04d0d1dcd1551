package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"flag"
	"fmt"
	"math/big"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/pricing"
)

// The costings in testdata/costings were worked by hand from the rules of the
// trade, which are common practice without a source, not copied from the program.
//
//	request.json  what is priced, from the starter book
//	want.json     the costing in full; go test -run Costing -update writes it
//	worked.csv    the sums: what, arithmetic, result, pointer; nothing writes it
//
// Arithmetic is in figures only: sizes, rates, and results of rows above. The
// result is its value; each pointer of the row (none for a step between, several
// where one figure stands in several places) leads to the same figure in the
// costing.

var update = flag.Bool("update", false, "write testdata/costings/*/want.json and the README's summary")

// A costingCase is one directory of testdata/costings.
type costingCase struct {
	dir      string
	complete bool // each of its figures has been worked
}

func costingCases() []costingCase {
	return []costingCase{
		{dir: "testdata/costings/free-parts", complete: true},
		{dir: "testdata/costings/inch-chest", complete: true},
		{dir: "testdata/costings/lapped-chest", complete: true},
		{dir: "testdata/costings/payments", complete: true},
		{dir: "testdata/costings/quotation"},
		{dir: "testdata/costings/whole-sheets", complete: true},
	}
}

func (c costingCase) read(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(c.dir, name))
	require.NoError(t, err)
	return text
}

// price returns the costing of the request as text, and every figure that the
// request and its book state.
func (c costingCase) price(t *testing.T) (costing []byte, stated map[string]bool) {
	t.Helper()
	text := c.read(t, "request.json")
	var r pricing.Request
	require.NoError(t, wire.Decode(text, &r))
	b, err := catalog.Starter(r.AsOf)
	require.NoError(t, err)
	priced, err := pricing.Cost(r, b)
	require.NoError(t, err)
	costing = indented(t, priced)

	stated = make(map[string]bool)
	for _, doc := range [][]byte{text, indented(t, b.Data())} {
		for _, value := range figures(t, doc) {
			stated[value.RatString()] = true
		}
	}
	return costing, stated
}

// indented returns v as JSON, a member to a line.
func indented(t *testing.T, v any) []byte {
	t.Helper()
	text, err := wire.Encode(v)
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, json.Indent(&out, text, "", " "))
	out.WriteByte('\n')
	return out.Bytes()
}

// A workedRow is a row of worked.csv.
type workedRow struct {
	line             int
	what, arithmetic string
	result           string
	pointers         []string
}

func (c costingCase) rows(t *testing.T) []workedRow {
	t.Helper()
	records, err := csv.NewReader(bytes.NewReader(c.read(t, "worked.csv"))).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"what", "arithmetic", "result", "pointer"}, records[0])
	rows := make([]workedRow, 0, len(records)-1)
	for i, r := range records[1:] {
		rows = append(rows, workedRow{line: i + 2, what: r[0], arithmetic: r[1], result: r[2], pointers: strings.Fields(r[3])})
	}
	return rows
}

// figures returns every number of a JSON text by its pointer, money and rates
// among them, which are strings with a point.
func figures(t *testing.T, text []byte) map[string]*big.Rat {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var document any
	require.NoError(t, d.Decode(&document))
	found := make(map[string]*big.Rat)
	collect(document, "", found)
	return found
}

func collect(v any, at string, found map[string]*big.Rat) {
	switch v := v.(type) {
	case map[string]any:
		for name, member := range v {
			collect(member, at+"/"+name, found)
		}
	case []any:
		for i, item := range v {
			collect(item, at+"/"+strconv.Itoa(i), found)
		}
	case json.Number:
		found[at], _ = new(big.Rat).SetString(v.String())
	case string:
		if value, ok := new(big.Rat).SetString(v); ok && strings.Contains(v, ".") {
			found[at] = value
		}
	}
}

func TestCostingsAreWhatTheSumsSay(t *testing.T) {
	for _, c := range costingCases() {
		t.Run(path.Base(c.dir), func(t *testing.T) {
			text, _ := c.price(t)
			costing := figures(t, text)
			for _, row := range c.rows(t) {
				worked, err := evaluate(row.arithmetic)
				require.NoError(t, err, "worked.csv:%d: %s", row.line, row.what)
				result, ok := new(big.Rat).SetString(row.result)
				require.True(t, ok, "worked.csv:%d: result %q", row.line, row.result)
				assert.Zero(t, worked.Cmp(result), "worked.csv:%d: %s: %s = %s, not %s", row.line, row.what, row.arithmetic, worked.FloatString(8), row.result)
				for _, p := range row.pointers {
					if got := costing[p]; assert.NotNil(t, got, "worked.csv:%d: no figure at %s", row.line, p) {
						assert.Zero(t, worked.Cmp(got), "worked.csv:%d: %s: %s = %s, the costing has %s at %s", row.line, row.what, row.arithmetic, row.result, got.FloatString(8), p)
					}
				}
			}
		})
	}
}

func TestCostingsAreAsWritten(t *testing.T) {
	for _, c := range costingCases() {
		t.Run(path.Base(c.dir), func(t *testing.T) {
			text, _ := c.price(t)
			if *update {
				require.NoError(t, os.WriteFile(filepath.Join(c.dir, "want.json"), text, 0o644))
			}
			assert.Equal(t, string(c.read(t, "want.json")), string(text))
		})
	}
}

// TestCostingsAreWorkedInFull wants a row for each figure of the pieces, the
// totals, the buying list and the sheets it takes. Exempt are only copies of what the
// request or the Book states, each in its place, and where parts lie on their sheets:
// laws of package pricing are for that.
func TestCostingsAreWorkedInFull(t *testing.T) {
	copies := []string{
		"/pieces/*/quantity",
		"/pieces/*/*/*/waste_percent",
		"/pieces/*/*/*/terms/*/setup", "/pieces/*/*/*/terms/*/each", "/pieces/*/*/*/terms/*/per",
		"/pieces/*/timber/*/rate", "/pieces/*/sheets/*/rate", "/pieces/*/ironmongery/*/rate", "/pieces/*/labour/*/rate",
		"/pieces/*/labour/*/per",
		"/pieces/*/build_up/*/rate", "/pieces/*/build_up/*/percent",
		"/totals/tax/*/percent", "/totals/payments/*/percent",
		"/cutting/*/length", "/cutting/*/width", "/cutting/*/kerf", "/cutting/*/trim", "/cutting/*/offcut_min",
	}
	lies := regexp.MustCompile(`^/cutting/\d+/layouts/`)
	for _, c := range costingCases() {
		if !c.complete {
			continue
		}
		t.Run(path.Base(c.dir), func(t *testing.T) {
			text, stated := c.price(t)
			stated["60"], stated["1000"] = true, true                      // minutes in an hour, grams in a kilogram
			stated["16/5"], stated["10"], stated["300"] = true, true, true // kerf, trim and least offcut of terms that say nothing
			worked := make(map[string]bool)
			for _, row := range c.rows(t) {
				for _, p := range row.pointers {
					worked[p] = true
				}
			}
			for p, value := range figures(t, text) {
				if worked[p] || p == "/book_version" || strings.HasPrefix(p, "/terms/") || lies.MatchString(p) {
					continue
				}
				copied := false
				for _, pattern := range copies {
					match, err := path.Match(pattern, p)
					require.NoError(t, err)
					copied = copied || match
				}
				assert.True(t, copied && stated[value.RatString()], "no row leads to %s", p)
			}
		})
	}
}

// TestCostingsDeriveTheirFigures keeps the sums sums: a figure alone may stand
// only for one that the request or the Book states, and most rows are no such.
func TestCostingsDeriveTheirFigures(t *testing.T) {
	for _, c := range costingCases() {
		t.Run(path.Base(c.dir), func(t *testing.T) {
			_, stated := c.price(t)
			reaching, alone := 0, 0
			for _, row := range c.rows(t) {
				if len(row.pointers) == 0 {
					continue
				}
				reaching++
				if strings.ContainsAny(row.arithmetic, "+-*/(") {
					continue
				}
				alone++
				value, err := evaluate(row.arithmetic)
				require.NoError(t, err)
				assert.True(t, stated[value.RatString()], "worked.csv:%d: %s is neither worked nor stated", row.line, row.arithmetic)
			}
			assert.GreaterOrEqual(t, reaching, 40)
			assert.Less(t, 2*alone, reaching)
		})
	}
}

// TestEngine holds an engine and the costings it gives together, by a digest of
// every want.json. A case more changes the digest, and no engine.
func TestEngine(t *testing.T) {
	digests := map[string]string{
		"1": "c9ce5947874aa75a919700e6282815918b549cf83a66bc39bd0e547f747554f5",
		"2": "6255e3e9d63423afdb02f6126313c516b9cff80166933f4980fb96f866699c08", // whole sheets, as they are cut
	}
	h := sha256.New()
	for _, c := range costingCases() {
		fmt.Fprintf(h, "%s\n%s", path.Base(c.dir), c.read(t, "want.json"))
	}
	assert.Equal(t, digests[pricing.Engine], hex.EncodeToString(h.Sum(nil)), "a costing in testdata/costings has changed: "+
		"if the change is meant, raise pricing.Engine, put this digest beside the new engine here, and give the reason in the commit")
}

// evaluate returns the exact value of an arithmetic in figures: + - * / ( ),
// round(x, places) half away from zero, up(x) and down(x) to a whole, min, max.
func evaluate(text string) (value *big.Rat, err error) {
	defer func() {
		if p := recover(); p != nil {
			value, err = nil, fmt.Errorf("%q: %v", text, p)
		}
	}()
	s := sum{text: text}
	value = s.add()
	if s.text != "" {
		panic(s.text + " is left over")
	}
	return value, nil
}

// A sum is what is still to be read of an arithmetic. Its methods panic where it
// is none.
type sum struct{ text string }

// take removes the first of words that comes next, and the spaces around it.
func (s *sum) take(words ...string) string {
	s.text = strings.TrimSpace(s.text)
	for _, word := range words {
		if rest, ok := strings.CutPrefix(s.text, word); ok {
			s.text = strings.TrimSpace(rest)
			return word
		}
	}
	return ""
}

func (s *sum) expect(word string) {
	if s.take(word) == "" {
		panic(word + " is missing")
	}
}

func (s *sum) add() *big.Rat {
	x := s.multiply()
	for {
		switch s.take("+", "-") {
		case "+":
			x = new(big.Rat).Add(x, s.multiply())
		case "-":
			x = new(big.Rat).Sub(x, s.multiply())
		default:
			return x
		}
	}
}

func (s *sum) multiply() *big.Rat {
	x := s.operand()
	for {
		switch s.take("*", "/") {
		case "*":
			x = new(big.Rat).Mul(x, s.operand())
		case "/":
			x = new(big.Rat).Quo(x, s.operand()) // panics at a zero
		default:
			return x
		}
	}
}

// operand reads a figure, a bracket or a function.
func (s *sum) operand() *big.Rat {
	if name := s.take("round", "up", "down", "min", "max"); name != "" {
		s.expect("(")
		args := []*big.Rat{s.add()}
		for s.take(",") != "" {
			args = append(args, s.add())
		}
		s.expect(")")
		return apply(name, args)
	}
	if s.take("(") != "" {
		x := s.add()
		s.expect(")")
		return x
	}
	figure := s.text[:len(s.text)-len(strings.TrimLeft(s.text, "0123456789."))]
	x, ok := new(big.Rat).SetString(figure)
	if !ok || strings.HasPrefix(figure, ".") || strings.HasSuffix(figure, ".") {
		panic("a figure is missing before " + strconv.Quote(s.text))
	}
	s.take(figure)
	return x
}

func apply(name string, args []*big.Rat) *big.Rat {
	two := name != "up" && name != "down"
	if two != (len(args) == 2) || len(args) > 2 {
		panic(name + " has the wrong number of figures")
	}
	x := args[0]
	switch name {
	case "round":
		scale := new(big.Int).Exp(big.NewInt(10), args[1].Num(), nil)
		x = new(big.Rat).Mul(x, new(big.Rat).SetInt(scale))
		half := big.NewRat(int64(x.Sign()), 2)
		n := new(big.Rat).Add(x, half)
		return new(big.Rat).SetFrac(new(big.Int).Quo(n.Num(), n.Denom()), scale) // Quo cuts towards zero
	case "down":
		return new(big.Rat).SetInt(floor(x))
	case "up":
		n := floor(new(big.Rat).Neg(x))
		return new(big.Rat).SetInt(n.Neg(n))
	}
	if (name == "min") == (x.Cmp(args[1]) < 0) {
		return x
	}
	return args[1]
}

// floor returns the greatest whole number not above x.
func floor(x *big.Rat) *big.Int { return new(big.Int).Div(x.Num(), x.Denom()) }

func TestCostingArithmetic(t *testing.T) {
	for text, want := range map[string]string{
		"2 + 3 * 4 - 6 / 4": "12.5", "(2 + 3) * (4 - 1)": "15", "10 - 4 - 3": "3", "24 / 4 / 3": "2", "0.1 + 0.2": "0.3",
		"round(2.345, 2)": "2.35", "round(2.344999, 2)": "2.34", "round(0 - 2.345, 2)": "-2.35", "round(1250 / 1000, 0)": "1", "round(7 / 3, 4)": "2.3333",
		"up(3)": "3", "up(3.01)": "4", "up(0 - 3.01)": "-3", "down(3.99)": "3", "down(0 - 3.01)": "-4", "max(2, round(118 / 35, 0))": "3", "min(2, 1.5)": "1.5",
	} {
		got, err := evaluate(text)
		if assert.NoError(t, err, text) {
			expected, _ := new(big.Rat).SetString(want)
			assert.Zero(t, got.Cmp(expected), "%s = %s, not %s", text, got.RatString(), want)
		}
	}
	for _, text := range []string{"", "2 +", "2 3", "(2", "2)", "1 / 0", "round(2)", "up(2, 3)", "max(1, 2, 3)", "sqrt(2)", "2 x 3", "1.", ".5", "1.2.3", "1e3", "2 ^ 3", "round (2)", "minimum(1, 2)"} {
		_, err := evaluate(text)
		assert.Error(t, err, text)
	}
}
