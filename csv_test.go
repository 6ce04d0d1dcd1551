package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/num"
)

const (
	cuttingList = "testdata/pieces/cutting-list.csv"
	listHeader  = "name,quantity,length,width,thickness,material,finish\n"
)

// listed is the command that prices the demo's cutting list.
func listed(more ...string) []string {
	return append([]string{"price", cuttingList, "--timber", "oak-prime", "--sheet", "oak-faced-ply-6", "--finish", "oil-3", "--as-of", "2026-11-01"}, more...)
}

// costed is the costing that a run printed.
func costed(t *testing.T, r ran) pricing.Costing {
	t.Helper()
	require.Zero(t, r.status, r.err)
	var c pricing.Costing
	require.NoError(t, wire.Decode([]byte(r.out), &c))
	return c
}

// saved writes a text into a file in a folder of its own and returns its path.
func saved(t *testing.T, name, text string) string {
	t.Helper()
	name = filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	return name
}

// The demo is priced as the same parts written out as a request are.
func TestACuttingListIsARequest(t *testing.T) {
	part := func(name string, quantity int, length, width string, thickness, material, outside string) string {
		if thickness != "" {
			thickness = `"thickness": ` + thickness + `, `
		}
		return fmt.Sprintf(`{"name": %q, "quantity": %d, "length": %s, "width": %s, %s"material": %q, "outside": {%s}}`, name, quantity, length, width, thickness, material, outside)
	}
	const all, faces = `"faces": 2, "long_edges": 2, "ends": 2`, `"faces": 2`
	request := `{"id": "cutting-list", "title": "Cutting list", "kind": "parts", "timbers": {"show": "oak-prime"}, "finishes": {"outside": "oil-3"}, "parts": {"parts": [` + strings.Join([]string{
		part("Side", 2, "1240", "280", "22", "show", all),
		part("Top", 1, "860", "285", "22", "show", all),
		part("Fixed shelf", 1, "816", "270", "20", "show", all),
		part("Loose shelf", 3, "812", "262", "20", "show", all),
		part("Plinth", 1, "816", "90", "20", "show", faces),
		part("Back rail, upper", 1, "816", "60", "20", "show", faces),
		part("Back", 1, "1150", "836", "", "oak-faced-ply-6", ""),
		part("Drawer side", 4, "250", "110", "12", "sycamore-prime", ""),
		part("Drawer end", 4, "380", "110", "12", "sycamore-prime", ""),
		part("Drawer bottom", 2, "368", "238", "6", "birch-ply-6", ""),
		part("Drawer front", 2, "405", "118", "20", "show", all),
		part("Peg", 12, "38", "9.5", "9.5", "show", ""),
	}, ",") + `]}}`
	want := run(request, "price", "-", "--json", "--as-of", "2026-11-01")
	require.Zero(t, want.status, want.err)
	assert.Equal(t, want.out, run("", listed("--json")...).out)
	text, err := os.ReadFile(cuttingList)
	require.NoError(t, err)
	piped := append([]string{"price", "-"}, listed("--json")[2:]...)
	assert.Equal(t, want.out, run(string(text), piped...).out, "standard input is a cutting list where a timber is named")
}

// What the demo takes, worked by hand: 31 oak boards of 27 and 20 mm, 8 of sycamore;
// hours such as a bookcase's parts take to be cut, jointed, sanded and oiled, without
// its joints (common practice, no source).
func TestACuttingListsFigures(t *testing.T) {
	c := costed(t, run("", listed("--json")...))
	require.Len(t, c.Pieces, 1)
	p := c.Pieces[0]
	assert.Equal(t, []string{"cutting-list", "Cutting list", "parts", "mm"}, []string{p.ID, p.Title, p.Kind, string(p.Units)})
	require.Len(t, p.Timber, 3)
	// m3, each line at six places: sides 2 x 1.265 x 0.298 x 0.027 = 0.020356, top 0.885 x 0.309 x 0.027 = 0.007384,
	// shelves 0.841 x 0.288 x 0.027 = 0.006540 and 3 x 0.837 x 0.28 x 0.027 = 0.018983, plinth 0.841 x 0.096 x 0.027 =
	// 0.002180, rail 0.841 x 0.066 x 0.027 = 0.001499, fronts 2 x 0.43 x 0.124 x 0.027 = 0.002879: 0.059821 together.
	assert.Equal(t, "oak-prime-27 0.059821 0.0778", p.Timber[1].Code+" "+p.Timber[1].Needed.String()+" "+p.Timber[1].Quantity.String())
	assert.Equal(t, "oak-prime-20 0.000234 0.0003", p.Timber[0].Code+" "+p.Timber[0].Needed.String()+" "+p.Timber[0].Quantity.String())
	require.Len(t, p.Sheets, 2)
	require.Len(t, c.Cutting, 2)
	assert.Equal(t, "0.9614", c.Cutting[1].PartsArea.String(), "1.15 x 0.836 m")
	for i, s := range p.Sheets {
		assert.Equal(t, num.One, s.Quantity, "one whole sheet")
		assert.Equal(t, "sheet", s.Terms[0].Share)
		assert.Equal(t, s.Code, c.Cutting[i].Code)
	}
	assert.True(t, p.Hours > 12*num.One && p.Hours < 30*num.One, "%s h", p.Hours)
	outside := num.Decimal(0)
	for _, q := range p.Parts {
		outside += q.Outside
	}
	// m2: sides 1.522560, top 0.540580, shelves 0.484080 and 1.405344 with their edges and ends; plinth 0.146880 and rail
	// 0.097920, faces alone; fronts 0.233000; nothing else is oiled.
	assert.Equal(t, "4.430364", outside.String())
}

func TestACuttingListIsNamedAfterItsFile(t *testing.T) {
	text, err := os.ReadFile(cuttingList)
	require.NoError(t, err)
	dir := t.TempDir()
	for file, want := range map[string]string{
		"hall-bench.csv":                        "hall-bench|Hall bench",
		"Hall_Bench no. 2.CSV":                  "hall-bench-no-2|Hall Bench no. 2",
		"été.csv":                               "t|Été",
		"日本.csv":                                "1|日本",
		"-.csv":                                 "1|Cutting list",
		".csv":                                  "1|Cutting list",
		"a\x01\nb.csv":                          "a-b|A b",
		strings.Repeat("ab-", 80) + "x.csv":     strings.Repeat("ab-", 21) + "a|A" + strings.Repeat("b a", 80)[:199],
		"order.2026.csv":                        "order-2026|Order.2026",
		"--.csv":                                "1|Cutting list",
		strings.Repeat("a", 63) + "-b-long.csv": strings.Repeat("a", 63) + "|A" + strings.Repeat("a", 62) + " b long",
	} {
		name := filepath.Join(dir, file)
		require.NoError(t, os.WriteFile(name, text, 0o600), "%q", file)
		c := costed(t, run("", append([]string{"price", name}, listed("--json")[2:]...)...))
		assert.Equal(t, want, c.Pieces[0].ID+"|"+c.Pieces[0].Title, "%q", file)
	}
}

// Every fault of a list, of reading and of pricing, on a line of its own by row and
// column, in the list's order; those of the command line first.
func TestEveryFaultOfACuttingListIsSaid(t *testing.T) {
	text := listHeader + `Side,2,"1240,5",280,22,,
Top,,860 mm,285,22,,
,0,3200,270,20,,both
Loose shelf,3,3100,262,20,,
Loose shelf,2,3100,262,20,,
Plinth,1.5,816,0,20,inner,faces
Back,1,1150,836,9,sheet,none
Bottom,1,3000,100,,sheet,none
Rail,20000,816,60,20,ashh,faces
Rail,1,816,60,,ash-prime,faces
Post,1,816,60,90,,faces
Long,1,20001,0.5,22,,
a,b
"x"y,1,2,3,4,,
`
	r := run("", "price", saved(t, "list.csv", text), "--timber", "ash-prime", "--sheet", "birch-ply-6", "--finish", "oil", "--as-of", "2026-11-01")
	assert.Equal(t, badInput, r.status)
	assert.Empty(t, r.out)
	assert.Equal(t, `--finish: "oil" is no finish of the book: check its spelling, or name another
row 2, length: "1240,5" is no size: write 1240.5, in millimetres with a point and no unit
row 3, quantity: the quantity is missing: write how many of the part there are
row 3, length: "860 mm" is no size: write 860, in millimetres with a point and no unit
row 4, name: the name is missing: write what the part is
row 4, quantity: "0" is no quantity: write a whole number from 1
row 4, length: part is 3200 mm long, the longest ash-prime 3000 mm: bring it down to 3000 mm, or choose a timber that comes longer
row 4, finish: "both" is not known: write all (2 faces, 2 long edges, 2 ends), faces or none
row 5, length: Loose shelf is 3100 mm long, the longest ash-prime 3000 mm: bring it down to 3000 mm, or choose a timber that comes longer
row 6, length: Loose shelf is 3100 mm long, the longest ash-prime 3000 mm: bring it down to 3000 mm, or choose a timber that comes longer
row 7, quantity: "1.5" is no quantity: write a whole number from 1
row 7, width: the width is missing or 0: write a size from 1 mm to 20000 mm
row 7, material: "inner" is no material of a list: write show, sheet, or the code of a timber or sheet
row 8, thickness: the part is 9 mm thick, its sheet 6 mm: leave the thickness out or choose another sheet
row 9: Bottom is 3000 mm x 100 mm and fits no sheet of birch-ply-6, 2420 mm x 1200 mm within the trim of 10 mm: make it smaller, or choose a larger sheet
row 10, quantity: 20000 is too many: write at most 10000
row 10, material: "ashh" is no timber or sheet of the book: write show, sheet, or the code of one
row 11, thickness: a timber part needs its thickness: write it
row 12, thickness: Post needs 90 mm finished; the thickest of ash-prime with a price on 2026-11-01 is 80 mm, which finishes to 72 mm: make it at most 72 mm, or choose another timber
row 13, length: 20001 is out of range: write a size from 1 mm to 20000 mm
row 13, width: 0.5 is out of range: write a size from 1 mm to 20000 mm
row 14: it has 2 cells, the header row 7: write every cell, decimals with a point, and put a text with a comma in quotation marks
row 15: a quotation mark stands alone: write it twice within a quoted cell
`, r.err)
}

// Each fault alone: where it is said, and a word of what is.
func TestFaultsOfACuttingList(t *testing.T) {
	good := "Shelf,1,812,262,20,,\n"
	for name, tt := range map[string]struct{ text, flags, want string }{
		"no timber":              {good, "--finish oil-3", "--timber: it is missing, and row 2 is cut from it: name a timber of the book"},
		"no timber for a later":  {"A,1,90,90,6,birch-ply-6,\nB,1,90,90,20,oak-prime,\n\nC,1,90,90,20,Show,\n", "", "--timber: it is missing, and row 5 is"},
		"unknown timber":         {good, "--timber oak", `--timber: "oak" is no timber of the book`},
		"a thickness as timber":  {good, "--timber oak-prime-27", `--timber: "oak-prime-27" is a thickness of the timber oak-prime: name oak-prime`},
		"a sheet as timber":      {good, "--timber birch-ply-6", `--timber: "birch-ply-6" is no timber`},
		"unknown, needed or not": {"A,1,90,90,20,oak-prime,\n", "--timber oak", `--timber: "oak" is no timber of the book`},
		"no sheet":               {good + "Back,1,800,800,,sheet,\n", "--timber oak-prime", "--sheet: it is missing, and row 3 is cut from it: name a sheet of the book"},
		"unknown sheet":          {"Back,1,800,800,,sheet,\nBack,1,800,800,6,sheet,\n", "--sheet ply", `--sheet: "ply" is no sheet of the book`},
		"a timber as sheet":      {"Back,1,800,800,,sheet,\n", "--sheet oak-prime", `--sheet: "oak-prime" is no sheet of the book`},
		"unknown sheet, no use":  {good, "--timber oak-prime --sheet ply", `--sheet: "ply" is no sheet of the book`},
		"unknown finish":         {good, "--timber oak-prime --finish oil", `--finish: "oil" is no finish of the book`},
		"unknown code":           {good + "A,1,90,90,20,oak,\n", "--timber oak-prime", `row 3, material: "oak" is no timber or sheet of the book: write show`},
		"a product as material":  {good + "A,1,90,90,20,hard-oil,\n", "--timber oak-prime", `row 3, material: "hard-oil" is no timber or sheet`},
		"too long":               {good + "A,1,3001,90,20,,\n", "--timber oak-prime", "row 3, length: A is 3001 mm long, the longest oak-prime 3000 mm"},
		"too thick to flatten":   {"A,1,2000,90,71,,\n", "--timber oak-prime", "row 2, thickness: A needs 73 mm finished"},
		"too thick for a code":   {good + "A,1,90,90,60,cherry-prime,\n", "--timber oak-prime", "row 3, thickness: A needs 60 mm"},
		"too small":              {"A,1,0.999999,90,20,,\n", "--timber oak-prime", "row 2, length: 0.999999 is out of range"},
		"negative":               {"A,1,-90,90,20,,\n", "--timber oak-prime", "row 2, length: -90 is out of range"},
		"sheet too small":        {"A,1,2441,90,,birch-ply-6,\n", "", "row 2: A is 2441 mm x 90 mm and fits no sheet of birch-ply-6"},
		"sheet of another size":  {"A,1,900,90,12,birch-ply-6,\n", "", "row 2, thickness: the part is 12 mm thick, its sheet 6 mm"},
		"no thickness":           {"A,1,900,90,,,\n", "--timber oak-prime", "row 2, thickness: a timber part needs its thickness"},
		"name too long":          {strings.Repeat("x", 201) + ",1,900,90,20,,\n", "--timber oak-prime", "row 2, name: 201 characters: write at most 200"},
		"control character":      {"a\tb,1,900,90,20,,\n", "--timber oak-prime", "row 2, name: the text has the control character U+0009"},
		"too many of one":        {"A,10001,900,90,20,,\n", "--timber oak-prime", "row 2, quantity: 10001 is too many"},
		"one too many of two":    {"A,2,900,90,20,,\nA,10001,900,90,20,,\n", "--timber oak-prime", "row 3, quantity: 10001 is too many"},
		"one fault a cell":       {"Back,1,800,800,six,sheet,\n", "--sheet birch-ply-6", "row 2, thickness: \"six\" is no size"},
		"too many together":      {"A,9000,900,90,20,,\nB,9000,900,90,20,,\nC,9000,900,90,20,,\n", "--timber oak-prime", "#: the cutting list has 27000 pieces"},
		"too many lines":         {strings.Repeat(good, 1001), "--timber oak-prime", "#: 1001 parts: write 1 to 1000"},
		"no lines":               {"", "--timber oak-prime", "row 2: there is no part below the header row"},
		"not UTF-8":              {"B\xe4nk,1,900,90,20,,\n", "--timber oak-prime", "#: the table is not UTF-8"},
		"no such book date":      {good, "--timber oak-prime --as-of tomorrow", "#: --as-of: "},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			r := run("", append([]string{"price", saved(t, "list.csv", listHeader+tt.text), "--out", dir, "--csv", dir}, strings.Fields(tt.flags)...)...)
			assert.Equal(t, badInput, r.status)
			assert.True(t, strings.HasPrefix(r.err, tt.want), r.err)
			assert.Equal(t, 1, strings.Count(r.err, "\n"), r.err)
			assert.Empty(t, r.out)
			left, err := os.ReadDir(dir)
			require.NoError(t, err)
			assert.Empty(t, left, "nothing is written")
		})
	}
}

// What may be left out of a command is.
func TestACuttingListNeedsOnlyWhatItsRowsDo(t *testing.T) {
	for text, flags := range map[string]string{
		"Shelf,1,812,262,20,,\n": "--timber oak-prime",
		"Shelf,1,812,262,20,oak-prime,\nBack,1,812,262,,birch-ply-6,\n":     "",
		"Back,1,812,262,,sheet,\n":                                          "--sheet birch-ply-6",
		"Back,1,812,262,6,sheet,all\n":                                      "--sheet birch-ply-6 --finish lacquer-spray",
		"Shelf,1,812,262,20,,\nShelf,2,812,262,20,show,all\n":               "--timber oak-prime --sheet birch-ply-6",
		"Shelf,1,812,262,20,,none\n\n,,,,,,\n\"Rail, long\",1,90,90,20,,\n": "--timber oak-prime --finish bare",
	} {
		r := run("", append([]string{"price", saved(t, "list.csv", listHeader+text), "--json"}, strings.Fields(flags)...)...)
		assert.Zero(t, r.status, "%q: %s", text, r.err)
	}
}

func TestFlagsOfACuttingListGoWithOne(t *testing.T) {
	text, err := os.ReadFile(tallChest)
	require.NoError(t, err)
	for _, args := range [][]string{
		{tallChest, "--timber", "oak-prime"}, {tallChest, "--sheet", "birch-ply-6"}, {tallChest, "--finish", "oil-3"}, {"-", "--sheet", "birch-ply-6"}, {"-", "--finish", "oil-3"},
	} {
		r := run(string(text), append([]string{"price"}, args...)...)
		assert.Equal(t, badInput, r.status)
		assert.Contains(t, r.err, "--timber, --sheet and --finish go with a cutting list")
	}
}

func TestPriceWritesLists(t *testing.T) {
	dir := t.TempDir()
	out, lists := filepath.Join(dir, "out"), filepath.Join(dir, "new", "lists")
	r := run("", "price", tallChest, "--as-of", "2026-11-01", "--out", out, "--csv", lists)
	require.Zero(t, r.status, r.err)
	assert.FileExists(t, filepath.Join(out, "tall-chest-quotation.xlsx"))
	for said, name := range map[string]string{
		"Cutting list: ": "tall-chest-cutting-list.csv", "Buying list: ": "tall-chest-buying-list.csv", "Labour sheet: ": "tall-chest-labour.csv",
	} {
		path := filepath.Join(lists, name)
		assert.Contains(t, r.out, "\n"+said+path+"\n")
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o644), info.Mode())
		again := run("", "price", tallChest, "--as-of", "2026-11-01", "--out", out, "--csv", lists)
		require.Zero(t, again.status)
		second, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(text), string(second), "written over with the same bytes")
	}
	for _, d := range []string{out, lists} {
		left, err := os.ReadDir(d)
		require.NoError(t, err)
		assert.Len(t, left, map[string]int{out: 2, lists: 3}[d])
	}
}

// A cutting list's own papers do not stand in its place.
func TestListsOfACuttingListLeaveItAlone(t *testing.T) {
	text, err := os.ReadFile(cuttingList)
	require.NoError(t, err)
	dir := t.TempDir()
	name := filepath.Join(dir, "cutting-list.csv")
	require.NoError(t, os.WriteFile(name, text, 0o600))
	r := run("", append([]string{"price", name, "--out", dir, "--csv", dir}, listed()[2:]...)...)
	require.Zero(t, r.status, r.err)
	after, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, string(text), string(after))
	assert.FileExists(t, filepath.Join(dir, "cutting-list-cutting-list.csv"))
}

func TestJSONAndListsExcludeEachOther(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "lists")
	r := run("", "price", tallChest, "--json", "--csv", dir)
	assert.Equal(t, badInput, r.status)
	assert.Contains(t, r.err, "--csv")
	assert.Contains(t, r.err, "--json")
	assert.NoDirExists(t, dir)
}

func TestPriceWritesDrawings(t *testing.T) {
	for file, front := range map[string]bool{tallChest: true, "testdata/pieces/drawer-boxes.json": false} {
		dir := t.TempDir()
		r := run("", "price", file, "--as-of", "2026-11-01", "--out", dir, "--svg", dir)
		require.Zero(t, r.status, r.err)
		base := filepath.Join(dir, strings.TrimSuffix(filepath.Base(file), ".json"))
		assert.Equal(t, front, strings.Contains(r.out, "Front elevation: "+base+"-elevation.svg\n"))
		if front {
			text, err := os.ReadFile(base + "-elevation.svg")
			require.NoError(t, err)
			assert.Contains(t, string(text), "<svg")
		} else {
			assert.NoFileExists(t, base+"-elevation.svg")
		}

		n := 0
		for _, sheet := range costed(t, run("", "price", file, "--as-of", "2026-11-01", "--json")).Cutting {
			for _, l := range sheet.Layouts {
				name := base + "-cutting-" + sheet.Code + "-" + strconv.Itoa(l.Number) + ".svg"
				assert.Contains(t, r.out, "Cutting diagram: "+name+"\n")
				text, err := os.ReadFile(name)
				require.NoError(t, err)
				assert.Contains(t, string(text), fmt.Sprintf("Cutting layout %d of %d", l.Number, len(sheet.Layouts)))
				n++
			}
		}
		assert.Positive(t, n)
		assert.Equal(t, n, strings.Count(r.out, "Cutting diagram: "))
	}
}

func TestPriceRefusesToDrawWhatHasNoDrawing(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "visit.json")
	require.NoError(t, os.WriteFile(file, []byte(`{"title": "Visit", "kind": "service", "service": {"site": 2}}`), 0o600))
	empty := t.TempDir()
	r := run("", "price", file, "--as-of", "2026-11-01", "--out", empty, "--svg", empty)
	assert.Equal(t, badInput, r.status)
	assert.Contains(t, r.err, "no piece of the request has a front elevation or a part cut from a sheet")
	left, err := os.ReadDir(empty)
	require.NoError(t, err)
	assert.Empty(t, left)
}
