package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	linenChest    = "testdata/cutting/linen-chest.csv"
	rectangleHead = "name,length,width,quantity,turn\n"
	cutSection    = "## Cutting a list of rectangles\n"
)

// cutFrom runs cut with a list on standard input.
func cutFrom(list string, flags ...string) ran {
	return run(rectangleHead+list, append([]string{"cut", "-"}, flags...)...)
}

// found returns the sentence about the number of sheets.
func found(t *testing.T, r ran) string {
	t.Helper()
	require.Zero(t, r.status, r.err)
	return regexp.MustCompile(`(?m)^\d+ sheets?\b.*`).FindString(r.out)
}

func TestTheReadmeShowsWhatCutPrints(t *testing.T) {
	text, err := os.ReadFile("README.md")
	require.NoError(t, err)
	told := section(t, string(text), cutSection)
	list, err := os.ReadFile(linenChest)
	require.NoError(t, err)
	assert.Equal(t, string(list), block(t, told, "csv", 0))
	shown := block(t, told, "console", 0)
	command, _, _ := strings.Cut(shown, "\n")
	r := run("", strings.Fields(strings.TrimPrefix(command, "$ go run . "))...)
	require.Zero(t, r.status, r.err)
	printed := command + "\n" + r.out
	if *update && shown != printed {
		require.NoError(t, os.WriteFile("README.md", []byte(strings.Replace(string(text), shown, printed, 1)), 0o644))
		shown = printed
	}
	assert.Equal(t, printed, shown, "go test . -run Readme -update writes it")
}

// What fits by hand. Within its trim a sheet of 2440 x 1220 mm has 2420 x 1200: along it
// four parts of 600 take 2400 and three kerfs, so that the kerf may be 20 / 3 = 6.666667
// at most; with a kerf of 3.2 four of 600 and three of 300 across are twelve.
func TestWhatFitsByHand(t *testing.T) {
	one := "1 sheet; no layout can do it with fewer."
	for _, tt := range []struct {
		list, flags, want string
	}{
		{"Door,600,1200,4,no\n", "--kerf 6.666666", one},
		{"Door,600,1200,4,no\n", "--kerf 6.666667", "2 sheets; "},
		{"Shelf,600,300,12,no\n", "", one},
		{"Shelf,600,300,2,no\nShelf,600,300,10,yes\n", "", one},
		{"Top,1200,2420,1,\n", "", one},
		{"Top,1200,2420,1,true\n", "--kerf 0 --trim 10 --offcut-min 1", one},
		{"Top,2440,1220,2,false\n", "--trim 0", "2 sheets; no layout can do it with fewer."},
		{"Top,2420,600.1,3,no\n", "", "3 sheets; "},
		{"Top,2420,598.4,3,no\n", "", "2 sheets; "},
		{"Top,2420,598.401,4,no\n", "", "4 sheets; "},
		{"Top,2420,598.4,3,no\n", "--thorough", "2 sheets; "},
	} {
		got := found(t, cutFrom(tt.list, append(strings.Fields(tt.flags), "--stock", "2440x1220")...))
		assert.True(t, strings.HasPrefix(got, tt.want), "%q %s: %s", tt.list, tt.flags, got)
	}
	// A foot is twelve inches: eight of one square foot lie on four by two, without kerf or trim.
	r := cutFrom("Tile,12,12,8,\n", "--units", "in", "--stock", "48x24", "--kerf", "0", "--trim", "0", "--offcut-min", "1")
	assert.Equal(t, one, found(t, r))
	assert.Contains(t, r.out, " in ")
	assert.NotContains(t, r.out, "first trim")
}

// The least sum is wanted where prices differ, and no more of a size than there is.
func TestTheCheapestStock(t *testing.T) {
	const shelves = "Shelf,1000,500,4,no\n"
	flags := func(stock ...string) []string {
		all := []string{"--kerf", "0", "--trim", "0"}
		for _, s := range stock {
			all = append(all, "--stock", s)
		}
		return all
	}
	for _, tt := range []struct {
		stock          []string
		sheets, amount string
		finding        string
	}{
		{[]string{"2000x1000@30", "1000x500@10"}, "1 2000x1000", "30.00", "1 sheet for 30.00; no layout can do it for less."},
		{[]string{"2000x1000@50", "1000x500@10"}, "4 1000x500", "40.00", "4 sheets for 40.00; no layout can do it for less."},
		{[]string{"2000x1000@50", "1000x500@10*1", "2000x500@25.50"}, "1 2000x1000", "50.00", "1 sheet for 50.00; "},
		{[]string{"2000x1000@30", "1000x500@30"}, "1 2000x1000", "30.00", "1 sheet; no layout can do it with fewer."},
		{[]string{"2000x1000", "1000x500"}, "1 2000x1000", "", "1 sheet; no layout can do it with fewer."},
		{[]string{"1000 x 500 @ 12.5 * 4"}, "4 1000x500", "50.00", "4 sheets; no layout can do it with fewer."},
		{[]string{"1000×500@0.05"}, "4 1000x500", "0.20", "4 sheets; no layout can do it with fewer."},
	} {
		r := cutFrom(shelves, flags(tt.stock...)...)
		got := found(t, r)
		assert.True(t, strings.HasPrefix(got, tt.finding), "%s: %s", tt.stock, got)
		bought := strings.Fields(strings.Split(r.out, "\n")[2])
		assert.Equal(t, tt.sheets, bought[0]+" "+bought[1], tt.stock)
		if tt.amount != "" {
			assert.Equal(t, tt.amount, bought[len(bought)-1], tt.stock)
		} else {
			assert.NotContains(t, r.out, "amount")
		}
	}
	// What is there already is taken first; two sizes of the same sides are told apart.
	r := cutFrom(shelves, flags("1000x500@10", "1000x500@0*3")...)
	assert.True(t, strings.HasPrefix(found(t, r), "4 sheets for 10.00; "), r.out)
	assert.Regexp(t, `3 +1000x500(-no2)? +1000 +500 +mm +0\.00 +0\.00 *\n`, r.out)
	assert.Regexp(t, `1 +1000x500(-no2)? +1000 +500 +mm +10\.00 +10\.00 *\n`, r.out)
	assert.Regexp(t, `\n +4 +10\.00 *\n`, r.out, "what they come to")
}

// readRows returns the rows of a table in a directory, by column.
func readRows(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err, name)
	for _, record := range all[1:] {
		row := make(map[string]string, len(record))
		for i, cell := range record {
			row[all[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

func atoi(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	require.NoError(t, err)
	return n
}

func TestCutWritesThePlan(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "plan")
	plain := run("", "cut", linenChest, "--stock", "2440x1220@52.00")
	require.Zero(t, plain.status, plain.err)
	r := run("", "cut", linenChest, "--stock", "2440x1220@52.00", "--out", dir)
	require.Zero(t, r.status, r.err)
	assert.True(t, strings.HasPrefix(r.out, plain.out), "the same is printed, and what was written")

	bought := readRows(t, filepath.Join(dir, "buying-list.csv"))
	assert.Equal(t, []map[string]string{{"sheets": "2", "stock": "2440x1220", "length": "2440", "width": "1220", "unit": "mm", "price": "52.00", "amount": "104.00"}}, bought)

	cut, layouts := make(map[string]int), make(map[string]int)
	for _, row := range readRows(t, filepath.Join(dir, "cutting-plan.csv")) {
		layouts[row["stock"]+"-"+row["layout"]] = atoi(t, row["times"])
		if row["mark"] == "" { // an offcut
			assert.Empty(t, row["name"])
			continue
		}
		length, width := row["length"], row["width"]
		if row["turned"] == "yes" {
			length, width = width, length
		}
		cut[strings.Join([]string{row["mark"], row["name"], length, width}, ",")] += atoi(t, row["times"])
	}
	assert.Equal(t, map[string]int{"A,Side,1175,480": 2, "B,Bottom and lid,1160,480": 2, "C,Back,1160,760": 1, "D,Shelf,1140,455": 2, "E,Tray bottom,548,430": 3}, cut)

	names := []string{"buying-list.csv", "cuts.csv", "cutting-plan.csv"}
	sheets := 0
	for layout, times := range layouts {
		sheets += times
		names = append(names, "cutting-"+layout+".svg")
		drawn, err := os.ReadFile(filepath.Join(dir, "cutting-"+layout+".svg"))
		require.NoError(t, err)
		assert.Contains(t, string(drawn), "<svg")
		assert.Contains(t, string(drawn), "2 sheets; no layout can do it with fewer")
	}
	assert.Equal(t, 2, sheets)
	slices.Sort(names)
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	var written []string
	for _, f := range left {
		written = append(written, f.Name())
		assert.Contains(t, r.out, "Wrote "+filepath.Join(dir, f.Name())+"\n")
	}
	assert.Equal(t, names, written)

	for _, row := range readRows(t, filepath.Join(dir, "cuts.csv")) {
		assert.Contains(t, []string{"along", "across"}, row["blade"])
		assert.Regexp(t, regexp.MustCompile(`\n +`+row["cut"]+` +`+row["blade"]+` +`+row["size"]+` +`+row["at"]+` +`+row["from"]+` +`+row["to"]+`\s*\n`), r.out, "as it is printed")
	}
}

// A name is what somebody else wrote: no formula in a table, no second line on paper.
func TestNamesOfRectangles(t *testing.T) {
	dir := t.TempDir()
	r := cutFrom("=1+1,100,50,1,\n\"two\nlines\",100,50,1,\n＝x,100,50,1,\n", "--stock", "2440x1220", "--out", dir)
	require.Zero(t, r.status, r.err)
	var names []string
	for _, row := range readRows(t, filepath.Join(dir, "cutting-plan.csv")) {
		if row["name"] != "" {
			names = append(names, row["mark"]+" "+row["name"])
		}
	}
	slices.Sort(names)
	assert.Equal(t, []string{"A '=1+1", "B two lines", "C '＝x"}, names)
	assert.Regexp(t, "(?m)  two lines( \\(turned\\))?$", r.out)
}

func TestFaultsOfRectangles(t *testing.T) {
	const good = "Shelf,600,300,2,no\n"
	stock := []string{"--stock", "2440x1220"}
	for name, tt := range map[string]struct {
		list  string
		flags []string
		want  string
	}{
		"no stock":              {good, nil, "--stock: it is missing: give at least one size, such as --stock 2440x1220\n"},
		"no size":               {good, []string{"--stock", "2440"}, `--stock: "2440": write LENGTHxWIDTH, `},
		"no width":              {good, []string{"--stock", "2440x"}, `--stock: "2440x": the size is missing`},
		"no number":             {good, []string{"--stock", "2440x1220mm"}, `--stock: "2440x1220mm": "1220mm" is no size: write 1220, in millimetres`},
		"a small sheet":         {good, []string{"--stock", "2440x0.5"}, `--stock: "2440x0.5": 0.5 is out of range: write a size from 1 to 20000 mm`},
		"no price":              {good, []string{"--stock", "2440x1220@"}, `--stock: "2440x1220@": "" is no price`},
		"half pence":            {good, []string{"--stock", "2440x1220@52.005"}, `--stock: "2440x1220@52.005": "52.005" is no price: write a number with at most 2 decimals`},
		"a negative price":      {good, []string{"--stock", "2440x1220@-1"}, `--stock: "2440x1220@-1": "-1" is no price`},
		"a price out of range":  {good, []string{"--stock", "2440x1220@1000000.01"}, `--stock: "2440x1220@1000000.01": "1000000.01" is no price`},
		"no sheets":             {good, []string{"--stock", "2440x1220*0"}, `--stock: "2440x1220*0": "0" is no number of sheets`},
		"some with a price":     {good, []string{"--stock", "2440x1220@1", "--stock", "1000x500"}, "--stock: some sizes have a price and some have none"},
		"kerf":                  {good, append(stock, "--kerf", "20.1"), "--kerf: 20.1 is out of range: write a size from 0 to 20 mm\n"},
		"trim":                  {good, append(stock, "--trim", "201"), "--trim: 201 is out of range: write a size from 0 to 200 mm\n"},
		"offcuts":               {good, append(stock, "--offcut-min", "0"), "--offcut-min: 0 is out of range"},
		"a cell":                {"Shelf,600,300,two,no\n", stock, `row 2, quantity: "two" is no quantity`},
		"no rows":               {"", stock, "row 2: there is no part below the header row"},
		"a part too long":       {good + "Side,2421,300,1,yes\n", stock, "row 3: Side is 2421 x 300 mm: it fits none of the stock, 2440 x 1220 mm less 10 mm along every edge: make it smaller, or give a larger size\n"},
		"a part that must turn": {"Side,300,1201,1,no\n", append(stock, "--trim", "10"), "row 2: Side is 300 x 1201 mm, and may not turn: it fits none of the stock"},
		"without trim":          {"Side,2441,1,1,no\n", append(stock, "--trim", "0"), "row 2: Side is 2441 x 1 mm, and may not turn: it fits none of the stock, 2440 x 1220 mm: make"},
		"not enough":            {"Top,2420,1200,3,\n", []string{"--stock", "2440x1220*2"}, "--stock: no way was found to cut all parts from so many: give more, or another size\n"},
		"in other units":        {"Top,24,12,3,\n", []string{"--stock", "96x48", "--units", "in", "--kerf", "3.2"}, "--kerf: 3.2 is out of range: write a size from 0 to 0.787401 in\n"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			r := cutFrom(tt.list, append(tt.flags, "--out", dir)...)
			assert.Equal(t, badInput, r.status)
			assert.True(t, strings.HasPrefix(r.err, tt.want), r.err)
			assert.Equal(t, 1, strings.Count(r.err, "\n"), r.err)
			assert.Empty(t, r.out)
			left, err := os.ReadDir(dir)
			require.NoError(t, err)
			assert.Empty(t, left, "nothing is written")
		})
	}
	r := cutFrom("Shelf,600,wide,2,no\nSide,9999,1,1,perhaps\n", "--stock", "8", "--kerf", "thin")
	assert.Equal(t, 4, strings.Count(r.err, "\n"), "all at once: %s", r.err)
	assert.Equal(t, badInput, run("", "cut", "no-such-list.csv", "--stock", "2440x1220").status)
}

// A problemPlan is a line that the problems of a file give.
type problemPlan struct {
	Instance, Rotation string
	MS                 *float64
	Bound              *float64
	Bins               []struct {
		Stock  string
		Count  int
		Placed []map[string]any
	}
}

// plansOf reads the lines.
func plansOf(t *testing.T, text string) (all []problemPlan) {
	t.Helper()
	for line := range strings.Lines(text) {
		var p problemPlan
		require.NoError(t, json.Unmarshal([]byte(line), &p), line)
		require.NotNil(t, p.MS)
		require.NotNil(t, p.Bound)
		assert.Positive(t, *p.MS)
		all = append(all, p)
	}
	return all
}

// two is a file of two problems: one of three variants of which one is free, and boards.
const two = `{"name":"lids","kind":"2d","kerf":3.2,"trim":{"left":10,"right":10,"bottom":10,"top":10},"objective":"cost","stock":[{"id":"big","w":1000,"h":600,"cost":7}],` +
	`"items":[{"w":310,"h":300,"qty":3},{"w":300,"h":270,"qty":3,"rot":true}],"refs":[{"rotation":"items","cut":"guillotine"},{"rotation":"none","cut":"guillotine"},{"rotation":"all","cut":"free"}]}
{"name":"rails","kind":"1d","kerf":4,"objective":"bins","stock":[{"id":"bar","len":2000,"cost":9}],"items":[{"len":998,"qty":4}],"refs":[{"rotation":"none","cut":"1d"}]}
`

// By hand: of 980 x 580 mm within the trim, three of 310 x 300 with two kerfs take
// 936.4 of the length, and three of 300 x 270 above them 906.4 and 300 + 3.2 + 270 =
// 573.2 of the width: one sheet, at 7. Two boards of 998 with a kerf of 4 are the 2000
// of a bar.
func TestCutPlansProblems(t *testing.T) {
	name := saved(t, "problems.JSONL", two)
	for _, flags := range [][]string{nil, {"--thorough"}} {
		r := run("", append([]string{"cut", name}, flags...)...)
		require.Zero(t, r.status, r.err)
		assert.Empty(t, r.err)
		all := plansOf(t, r.out)
		require.Len(t, all, 3)
		for i, want := range []string{"lids items 7 1 big 6", "lids none 7 1 big 6", "rails none 2 2 bar 2"} {
			p, count := all[i], 0
			for _, b := range p.Bins {
				count += b.Count
			}
			assert.Equal(t, want, fmt.Sprint(p.Instance, " ", p.Rotation, " ", *p.Bound, " ", count, " ", p.Bins[0].Stock, " ", len(p.Bins[0].Placed)))
		}
		assert.Equal(t, []map[string]any{{"x": 0.0, "len": 998.0, "item": 0.0}, {"x": 1002.0, "len": 998.0, "item": 0.0}}, all[2].Bins[0].Placed)
		for _, q := range all[1].Bins[0].Placed {
			assert.Equal(t, false, q["rotated"])
			assert.GreaterOrEqual(t, q["x"], 10.0)
			assert.GreaterOrEqual(t, q["y"], 10.0)
		}
	}
	dir := filepath.Join(t.TempDir(), "plans")
	r := run("", "cut", name, "--out", dir)
	require.Zero(t, r.status, r.err)
	assert.Empty(t, r.out)
	text, err := os.ReadFile(filepath.Join(dir, "plans.jsonl"))
	require.NoError(t, err)
	timeless := func(s string) string { return regexp.MustCompile(`"ms":[0-9.]+`).ReplaceAllString(s, "") }
	assert.Equal(t, timeless(run("", "cut", name).out), timeless(string(text)), "as it is printed but for the time")
}

// What is cut the same way is one layout, cut so often.
func TestAlikeLayoutsAreOne(t *testing.T) {
	r := cutFrom("Door,2000,1100,7,no\n", "--stock", "2440x1220")
	require.Zero(t, r.status, r.err)
	assert.Contains(t, r.out, "7 sheets; no layout can do it with fewer.")
	assert.Contains(t, r.out, "2440x1220, layout 1 of 1: cut 7 times\n")
}

// A line for every variant of the sample that straight cuts must part.
func TestCutPlansTheSample(t *testing.T) {
	const sample = "testdata/cutting/rect2d.jsonl"
	text, err := os.ReadFile(sample)
	require.NoError(t, err)
	var want []string
	for line := range strings.Lines(string(text)) {
		var i struct {
			Name string
			Refs []struct{ Rotation, Cut string }
		}
		require.NoError(t, json.Unmarshal([]byte(line), &i))
		for _, r := range i.Refs {
			if r.Cut != "free" {
				want = append(want, i.Name+" "+r.Rotation)
			}
		}
	}
	r := run("", "cut", sample)
	require.Zero(t, r.status, r.err)
	var got []string
	for _, p := range plansOf(t, r.out) {
		got = append(got, p.Instance+" "+p.Rotation)
	}
	assert.Equal(t, want, got)
}

// What cannot be planned is told by its line, and all else is planned.
func TestFaultsOfProblems(t *testing.T) {
	text := two + "\n" + `{"name":"long","kind":"1d","stock":[{"id":"bar","len":9,"cost":1}],"items":[{"len":10,"qty":1}]}
{"name":"few","kind":"1d","stock":[{"id":"bar","len":9,"cost":1,"qty":1}],"items":[{"len":9,"qty":2}]}
{"name":"bad","kind":"3d"}
`
	name := saved(t, "problems.JSONL", text)
	r := run("", "cut", name)
	assert.Equal(t, badInput, r.status)
	assert.Equal(t, `row 4: long, rotation items: a part fits none of the stock within its trim
row 5: few, rotation items: no way was found to cut all parts from so much stock
row 6, #/kind: "3d" is not known: write 1d or 2d
`, r.err)
	assert.Len(t, plansOf(t, r.out), 3)
	for _, flags := range [][]string{{"--stock", "2440x1220"}, {"--kerf", "3"}, {"--trim", "3"}, {"--offcut-min", "3"}, {"--units", "in"}} {
		r := run("", append([]string{"cut", name}, flags...)...)
		assert.Equal(t, badInput, r.status)
		assert.Contains(t, r.err, "go with a list of rectangles")
		assert.Empty(t, r.out)
	}
}
