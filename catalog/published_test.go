package catalog_test

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// table reads a file of testdata, without its comments, as rows by column.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	var rows []map[string]string
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, c := range cells {
			row[all[0][i]] = c
		}
		rows = append(rows, row)
	}
	return rows
}

// published says which species of timber.csv each starter timber is.
func published() map[string]string {
	return map[string]string{
		"ash-prime": "ash_european", "beech-prime": "beech_european", "cherry-prime": "cherry_american", "chestnut-select": "chestnut_sweet",
		"maple-hard-select": "maple_hard", "oak-pippy": "oak_european", "oak-prime": "oak_european", "poplar-select": "tulipwood",
		"redwood-joinery": "redwood_european", "sapele-prime": "sapele", "sycamore-prime": "sycamore_european", "tulipwood-select": "tulipwood",
		"walnut-prime": "walnut_black", "white-oak-fas": "oak_white_american",
	}
}

// Source: testdata/timber.csv, where each row names its own; movement is the change
// per 1 % moisture of Wood Handbook FPL-GTR-190, table 13-5, or derived as its rows
// say.
func TestTimberFigures(t *testing.T) {
	species := map[string]map[string]string{}
	for _, row := range table(t, "testdata/timber.csv") {
		species[row["id"]] = row
	}
	d := on(t, "2026-11-01").Data()
	assert.Len(t, published(), len(d.Timbers))
	for _, timber := range d.Timbers {
		row := species[published()[timber.Code]]
		require.NotNil(t, row, timber.Code)
		for name, have := range map[string]num.Decimal{"density_12_kg_m3": timber.Density, "C_R_per_pct_MC": timber.Movement.Radial, "C_T_per_pct_MC": timber.Movement.Tangential} {
			want, err := num.ParseDecimal(row[name])
			require.NoError(t, err, "%s of %s", name, timber.Code)
			assert.Equal(t, want, have, "%s of %s", name, timber.Code)
		}
		// Every coefficient lies between 0.0007 and 0.006, radial below tangential.
		assert.Greater(t, timber.Movement.Radial, num.Decimal(700), timber.Code)
		assert.Less(t, timber.Movement.Tangential, num.Decimal(6000), timber.Code)
		assert.Less(t, timber.Movement.Radial, timber.Movement.Tangential, timber.Code)
	}
}

// What a sawn thickness finishes to: quarter sizes from a published table of
// hardwood surfaced two sides (13/16, 1 1/16, 1 5/16, 1 3/4 in), the rest common
// practice, no source.
func TestFinishesTo(t *testing.T) {
	sixteenths := func(n unit.Length) unit.Length { return n * unit.Inch / 16 }
	want := map[unit.Length]unit.Length{unit.Inch: sixteenths(13), 5 * unit.Inch / 4: sixteenths(17), 3 * unit.Inch / 2: sixteenths(21), 2 * unit.Inch: sixteenths(28)}
	for sawn, finished := range map[int]int{20: 16, 25: 20, 27: 22, 32: 27, 34: 28, 38: 32, 41: 35, 50: 44, 52: 45, 65: 57, 80: 72} {
		want[unit.Length(sawn)*unit.Millimetre] = unit.Length(finished) * unit.Millimetre
	}
	for _, timber := range on(t, "2026-11-01").Data().Timbers {
		assert.NotEmpty(t, timber.Thicknesses, timber.Code)
		for _, k := range timber.Thicknesses {
			assert.Equal(t, want[k.Thickness], k.FinishesTo, k.Code)
		}
	}
}

// Timbers, glues and coatings say where their figures come from; allowances and
// factors are those of ordinary work, common practice, no source.
func TestSources(t *testing.T) {
	b := on(t, "2026-11-01")
	for _, timber := range b.Data().Timbers {
		assert.NotEmpty(t, timber.Source, timber.Code)
		assert.Equal(t, []unit.Length{6_000_000, 6_000_000, 25_000_000, 3_000_000_000},
			[]unit.Length{timber.WidthAllowance, timber.EdgeAllowance, timber.LengthAllowance, timber.Longest}, timber.Code)
		show := timber.Waste == 30_00 && timber.BoardWidth == 150*unit.Millimetre
		inner := timber.Waste == 20_00 && timber.BoardWidth == 200*unit.Millimetre
		assert.True(t, show || inner, timber.Code)
	}
	for code, factor := range map[string]num.Decimal{"ash-prime": 1_000_000, "oak-prime": 1_050_000, "maple-hard-select": 1_100_000, "tulipwood-select": 900_000} {
		assert.Equal(t, factor, b.Timber(code).WorkingFactor, code)
	}
	for _, s := range b.Data().Supplies {
		if s.Glue != nil || s.Coating != nil {
			assert.NotEmpty(t, s.Source, s.Code)
		}
	}
	for _, s := range b.Data().Sheets {
		assert.NotEmpty(t, s.Source, s.Code)
		assert.EqualValues(t, 10_00, s.Waste, s.Code)
	}
	for _, g := range b.Data().Labour {
		assert.Contains(t, g.Description, "cost of a paid hour", g.Code)
	}
}

// splits are the published rules that the starter book narrows by method, as their
// note says: spraying takes 35 for a pass and 4 for a square metre, the other
// methods what is published.
func splits() map[string]string {
	return map[string]string{
		"finishing-finish-pass-outside": "35", "finishing-coat-outside": "4",
		"inside-finish-finish-pass-inside": "35", "inside-finish-coat-inside": "4",
	}
}

// Source: testdata/starter-rules.csv, stages and labour rules to begin a book from
// (common practice, no source), row by row.
func TestPublishedRules(t *testing.T) {
	b := on(t, "2026-11-01")
	rules := map[string]book.Rule{}
	for _, r := range b.Data().Rules {
		rules[r.Code] = r
	}
	var stages []string
	for _, row := range table(t, "testdata/starter-rules.csv") {
		stage := b.Stage(row["stage"])
		require.NotNil(t, stage, row["stage"])
		assert.Equal(t, row["bench"] == "yes", stage.Bench, row["stage"])
		if len(stages) == 0 || stages[len(stages)-1] != row["stage"] {
			stages = append(stages, row["stage"])
		}
		want := book.Rule{
			Code: row["code"], Stage: row["stage"], Measure: row["measure"], Role: row["role"], Zone: row["zone"], Method: row["method"], With: row["with"],
			Setup: parse(t, row["setup"]), Each: parse(t, row["each"]), Per: num.One,
		}
		if row["when"] != "" {
			want.When = strings.Fields(row["when"])
		}
		spray, split := splits()[want.Code]
		if !split {
			sameRule(t, want, rules[want.Code])
			continue
		}
		assert.NotContains(t, rules, want.Code, "it is there by method")
		for _, method := range []string{"brush", "wipe", "spray"} {
			narrow := want
			narrow.Code, narrow.Method = want.Code+"-"+method, method
			if method == "spray" {
				narrow.Each = parse(t, spray)
			}
			sameRule(t, narrow, rules[narrow.Code])
		}
	}
	assert.Equal(t, stages, codes(b.Data().Stages, func(s book.Stage) string { return s.Code }), "in the order of the work, no other")
}

func parse(t *testing.T, s string) num.Decimal {
	t.Helper()
	d, err := num.ParseDecimal(s)
	require.NoError(t, err)
	return d
}

// sameRule compares two rules but for their notes.
func sameRule(t *testing.T, want, have book.Rule) {
	t.Helper()
	want.Note, have.Note = "", ""
	assert.Equal(t, want, have, want.Code)
}

// The rules that the published note asks for beside the general 6 minutes: locks 54
// more, a pair of hinges 34 more. No labour rule but these, those published and their
// like for pulls and runners.
func TestFurtherLabourRules(t *testing.T) {
	known := map[string]bool{}
	for _, row := range table(t, "testdata/starter-rules.csv") {
		known[row["code"]] = true
		for _, m := range []string{"-brush", "-wipe", "-spray"} {
			known[row["code"]+m] = true
		}
	}
	b := on(t, "2026-11-01")
	locks, hinges := 0, 0
	for _, r := range b.Data().Rules {
		if r.Stage == "" || known[r.Code] {
			continue
		}
		assert.Equal(t, []string{"fittings", "ironmongery"}, []string{r.Stage, r.Measure}, r.Code)
		assert.Equal(t, "fittings-"+r.Of, r.Code)
		switch {
		case strings.HasPrefix(r.Of, "lock"):
			locks++
			assert.Equal(t, num.Whole(54), r.Each, r.Code)
		case strings.HasPrefix(r.Of, "hinge"):
			hinges++
			assert.Equal(t, num.Whole(34), r.Each, r.Code)
		}
	}
	for _, f := range b.Data().Ironmongery {
		if strings.HasPrefix(f.Code, "lock") {
			locks--
		}
		if strings.HasPrefix(f.Code, "hinge") {
			hinges--
		}
	}
	assert.Zero(t, locks, "every lock has its rule")
	assert.Zero(t, hinges, "every pair of hinges has its rule")
}

// Every row of the price list names a code of the Book once a day, in a unit that
// fits (New accepts it), and every code that can have a price has one.
func TestPriceRows(t *testing.T) {
	text, err := os.ReadFile("starter/prices.csv")
	require.NoError(t, err)
	rows, err := wire.Table(text, []string{"code", "price", "unit", "currency", "effective_from"}, []string{"supplier", "note"})
	require.NoError(t, err)
	d := on(t, "2030-01-01").Data()
	known, seen, priced := prices(d), map[string]bool{}, map[string]bool{}
	for _, r := range rows {
		code, day := r.Cell("code"), r.Cell("effective_from")
		assert.Contains(t, known, code, "row %d", r.Number)
		assert.False(t, seen[code+day], "row %d: %s has two prices from %s", r.Number, code, day)
		seen[code+day], priced[code] = true, true
		require.NotNil(t, known[code], code)
		assert.Equal(t, string(known[code].Unit), r.Cell("unit"), "row %d", r.Number)
		assert.Equal(t, "GBP", r.Cell("currency"), "row %d", r.Number)
		have := prices(on(t, day).Data())[code]
		assert.Equal(t, []string{r.Cell("price"), day}, []string{have.Rate.String(), have.From.String()}, "row %d", r.Number)
	}
	for code := range known {
		assert.True(t, priced[code], "%s has no price", code)
	}
}
