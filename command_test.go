package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/date"
)

// TestMain keeps the commands off a database that lies where the tests run.
func TestMain(m *testing.M) {
	if err := os.Setenv("RECKONER_DB", filepath.Join(os.TempDir(), "no-such-folder", "reckoner.db")); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

const tallChest = "testdata/pieces/tall-chest.json"

// ran is what one run of the command gave.
type ran struct {
	status   int
	out, err string
}

// run runs the command on 25 November 2026 with in as its standard input.
func run(in string, args ...string) ran {
	var out, errs bytes.Buffer
	p := process{
		ctx: context.Background(), in: strings.NewReader(in), out: &out, err: &errs,
		today: func() date.Date { return date.MustParse("2026-11-25") },
	}
	status := p.run(args)
	return ran{status, out.String(), errs.String()}
}

// asOf returns the date of the costing that a run printed.
func asOf(t *testing.T, r ran) string {
	t.Helper()
	var c struct {
		AsOf string `json:"as_of"`
	}
	require.NoError(t, json.Unmarshal([]byte(r.out), &c), r.err)
	return c.AsOf
}

func TestPriceWritesTheSummaryAndTheWorkbooks(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "papers")
	r := run("", "price", tallChest, "--as-of", "2026-11-01", "--out", dir)
	assert.Zero(t, r.status, r.err)
	assert.Empty(t, r.err)
	assert.Contains(t, r.out, "Tall chest of six drawers")
	for _, book := range []string{"quotation", "workshop"} {
		name := filepath.Join(dir, "tall-chest-"+book+".xlsx")
		assert.Contains(t, r.out, name)
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.True(t, bytes.HasPrefix(text, []byte("PK\x03\x04")), "a workbook is a zip file")
	}
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, left, 2, "nothing else is left in the directory")
}

func TestPriceJSONPrintsOneLineAndWritesNothing(t *testing.T) {
	dir := t.TempDir()
	r := run("", "price", tallChest, "--as-of", "2026-11-01", "--json", "--out", dir)
	assert.Zero(t, r.status, r.err)
	assert.Equal(t, 1, strings.Count(r.out, "\n"))
	assert.Equal(t, "2026-11-01", asOf(t, r))
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
}

func TestPriceReadsStandardInput(t *testing.T) {
	text, err := os.ReadFile(tallChest)
	require.NoError(t, err)
	dir := t.TempDir()
	r := run(string(text), "price", "-", "--out", dir)
	assert.Zero(t, r.status, r.err)
	assert.FileExists(t, filepath.Join(dir, "request-quotation.xlsx"))
}

func TestPriceTakesTheDateFromWhereItIsGiven(t *testing.T) {
	piece := `{"title": "Visit", "kind": "service", "service": {"drops": 1}}`
	request := `{"as_of": "2026-08-01", "pieces": [` + piece + `]}`
	book := filepath.Join(t.TempDir(), "book.json")
	b := run("", "book", "--as-of", "2026-09-01")
	require.Zero(t, b.status, b.err)
	require.NoError(t, os.WriteFile(book, []byte(b.out), 0o600))
	for name, tt := range map[string]struct {
		in   string
		args []string
		want string
	}{
		"today":                     {piece, nil, "2026-11-25"},
		"the request":               {request, nil, "2026-08-01"},
		"the flag":                  {piece, []string{"--as-of", "2026-07-01"}, "2026-07-01"},
		"both alike":                {request, []string{"--as-of", "2026-08-01"}, "2026-08-01"},
		"the book":                  {piece, []string{"--book", book}, "2026-09-01"},
		"the book, and the flag so": {piece, []string{"--book", book, "--as-of", "2026-09-01"}, "2026-09-01"},
	} {
		t.Run(name, func(t *testing.T) {
			r := run(tt.in, append([]string{"price", "-", "--json"}, tt.args...)...)
			assert.Equal(t, tt.want, asOf(t, r))
		})
	}
	for name, tt := range map[string]struct {
		in   string
		args []string
	}{
		"request and flag": {request, []string{"--as-of", "2026-08-02"}},
		"request and book": {request, []string{"--book", book}},
		"flag and book":    {piece, []string{"--book", book, "--as-of", "2026-08-02"}},
	} {
		t.Run(name, func(t *testing.T) {
			r := run(tt.in, append([]string{"price", "-", "--json"}, tt.args...)...)
			assert.Equal(t, badInput, r.status)
			assert.Regexp(t, `^#/as_of: .*2026-0.*2026-0`, r.err)
			assert.Empty(t, r.out)
		})
	}
}

func TestBadInputGivesALineForEachFault(t *testing.T) {
	dir := t.TempDir()
	r := run("", "price", "testdata/pieces/five-faults.json", "--out", dir)
	assert.Equal(t, badInput, r.status)
	assert.Empty(t, r.out)
	lines := strings.Split(strings.TrimSpace(r.err), "\n")
	require.Len(t, lines, 5)
	for i, pointer := range []string{
		"#/pieces/0/timbers/inner: ", "#/pieces/0/ironmongery/0/per: ", "#/pieces/0/chest/tenon: ",
		"#/pieces/0/chest/rows: ", "#/pieces/0/chest/drawers/lap: ",
	} {
		assert.True(t, strings.HasPrefix(lines[i], pointer), lines[i])
	}
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left, "nothing is written")
}

func TestFaultsOfOnePiecePointIntoItsOwnFile(t *testing.T) {
	r := run(`{"title": "Visit", "kind": "service", "units": "ft", "service": {"drops": -1}}`, "price", "-")
	assert.Equal(t, badInput, r.status)
	assert.Equal(t, "#/units: \"ft\" is not known: write mm or in\n#/service/drops: -1 is out of range: write a whole number from 0 to 10000\n", r.err)
}

func TestBadInputOfOtherKinds(t *testing.T) {
	dir := t.TempDir()
	broken := filepath.Join(dir, "book.json")
	require.NoError(t, os.WriteFile(broken, []byte(`{"version": 1, "currency": "GBP"`), 0o600))
	empty := filepath.Join(dir, "empty.json")
	require.NoError(t, os.WriteFile(empty, []byte(`{"version": 1, "currency": "GBP"}`), 0o600))
	for name, tt := range map[string]struct {
		in   string
		args []string
		want string
	}{
		"not JSON":          {`{"pieces": [}`, []string{"price", "-"}, `^#: byte 12: `},
		"empty":             {``, []string{"price", "-"}, `^#: byte 0: `},
		"misspelt":          {`{"peices": []}`, []string{"price", "-"}, `^#/peices: there is no member "peices" here`},
		"no file":           {``, []string{"price", filepath.Join(dir, "none.json")}, `none\.json`},
		"no date":           {`{}`, []string{"price", "-", "--as-of", "tomorrow"}, `--as-of`},
		"no date of a book": {``, []string{"book", "--as-of", "2026-02-30"}, `--as-of`},
		"broken book":       {`{}`, []string{"price", "-", "--book", broken}, `book\.json#: byte 32: `},
		"empty book":        {`{}`, []string{"price", "-", "--book", empty}, `empty\.json#/as_of: `},
		"no such kind":      {``, []string{"example", "door"}, `door`},
		"no such flag":      {``, []string{"price", "-", "--xml"}, `xml`},
		"no command":        {``, nil, `expected`},
	} {
		t.Run(name, func(t *testing.T) {
			r := run(tt.in, tt.args...)
			assert.Equal(t, badInput, r.status)
			assert.Regexp(t, tt.want, r.err)
		})
	}
}

func TestBookIsWhatPriceTakes(t *testing.T) {
	name := filepath.Join(t.TempDir(), "book.json")
	b := run("", "book", "--as-of", "2026-11-01")
	require.Zero(t, b.status, b.err)
	require.NoError(t, os.WriteFile(name, []byte(b.out), 0o600))
	for _, demo := range []string{"tall-chest", "low-chest", "drawer-boxes", "inch-chest", "free-parts", "full-quotation", "agreed-below-cost"} {
		file := "testdata/pieces/" + demo + ".json"
		starter := run("", "price", "--json", file, "--as-of", "2026-11-01")
		assert.Zero(t, starter.status, starter.err)
		given := run("", "price", "--json", "--book", name, file)
		assert.Equal(t, starter.out, given.out, demo)
		assert.Equal(t, "Prices: the starter book\n", starter.err)
		assert.Equal(t, "Prices: "+name+"\n", given.err)
	}
}

func TestExamplesCanBePriced(t *testing.T) {
	for _, kind := range []string{"chest", "drawer_boxes", "parts", "service"} {
		e := run("", "example", kind)
		require.Zero(t, e.status, e.err)
		assert.Contains(t, e.out, `"kind": "`+kind+`"`)
		r := run(e.out, "price", "--json", "-")
		assert.Zero(t, r.status, r.err)
	}
}

func TestHelpIsGiven(t *testing.T) {
	r := run("", "--help")
	assert.Zero(t, r.status)
	for _, command := range []string{"price", "example", "book"} {
		assert.Contains(t, r.out, command)
	}
}
