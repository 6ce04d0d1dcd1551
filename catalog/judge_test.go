package catalog_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
)

// head is the first line of a price list.
const head = "code,price,unit,currency,effective_from\n"

// judged returns what becomes of the rows of a list, each in words.
func judged(t testing.TB, c *catalog.Catalog, rows ...string) (words []string) {
	t.Helper()
	for _, r := range previewed(t, c, head+strings.Join(rows, "\n")+"\n").Rows {
		words = append(words, inWords(r))
	}
	return words
}

// inWords returns what becomes of a row: "changed 1850.00 -> 1961.00 per m3, 6 %".
func inWords(r catalog.UpdateRow) string {
	if r.Outcome == "refused" {
		if r.New != nil || r.Unit != "" || r.Converted != nil || r.Change != nil || r.Large {
			return "refused with a price"
		}
		return r.Column + ": " + r.Detail
	}
	var b strings.Builder
	b.WriteString(r.Outcome)
	if r.Old != nil {
		fmt.Fprintf(&b, " %s", r.Old)
	}
	if r.New != nil {
		fmt.Fprintf(&b, " -> %s per %s", r.New, r.Unit)
	}
	if r.Change != nil {
		fmt.Fprintf(&b, ", %s %%", r.Change)
	}
	if r.Large {
		b.WriteString(", large")
	}
	if r.Converted != nil {
		fmt.Fprintf(&b, " (%s per %s; %s)", r.Converted.Rate, r.Converted.Unit, r.Converted.Factor)
	}
	return b.String()
}

// demos makes the items that the lists below are about: one without a price, one
// without and of timber, one that begins later, one that is gone, one that is free
// and one that is a round hundred.
func demos(t testing.TB, c *catalog.Catalog) {
	t.Helper()
	for _, code := range []string{"demo", "gone", "free", "hundred"} {
		putNew(t, c, code, "2026-01-01")
	}
	putNew(t, c, "later", "2026-12-15")
	for _, words := range []string{"gone 2026-01-05 4.00 each", "free 2026-01-05 0.00 each", "hundred 2026-01-05 100.00 each"} {
		priceNow(t, c, words)
	}
	require.NoError(t, change(t, c, "ironmongery gone 2026-11-01", ""))
	require.NoError(t, change(t, c, "timber lime 2026-01-01", `{"code":"lime","description":"Lime","density":535,"slope":6,"board_width":150,"longest":3000,"width_allowance":6,"edge_allowance":6,"length_allowance":25,"waste_percent":30,"working_factor":1,"movement":{"radial":0.002,"tangential":0.003},"thicknesses":[{"code":"lime-27","thickness":27,"finishes_to":22}]}`))
}

// takenRows returns rows that are not refused, and what becomes of each. The figures of
// the conversions are worked from 1 ft3 = 0.028316846592 m3 and 1 bf = 144 in3 =
// 0.002359737216 m3 (UNECE Recommendation 20, code INQ: 1 in3 = 16.387064 cm3):
// 52.39 / 0.028316846592 = 1850.1354..., 2950 x 0.002359737216 = 6.9612...
func takenRows() map[string]string {
	return map[string]string{
		"ash-prime-27,1961.00,m3,GBP,2026-12-01":           "changed 1850.00 -> 1961.00 per m3, 6 %",
		"ash-prime-27,1961,m3,GBP,2026-10-01":              "changed 1850.00 -> 1961.00 per m3, 6 %",
		"ash-prime-27,1850.0000,m3,GBP,2026-12-01":         "unchanged 1850.00 -> 1850.00 per m3, 0 %",
		"ash-prime-27,1850.0001,m3,GBP,2026-12-01":         "changed 1850.00 -> 1850.0001 per m3, 0 %",
		" ash-prime-27 , 1900.00 , m3 , GBP , 2026-12-01 ": "changed 1850.00 -> 1900.00 per m3, 2.7 %",
		"ash-prime-27,1900.00,m3,GBP,2026-04-01":           "changed 1790.00 -> 1900.00 per m3, 6.15 %",
		"ash-prime-27,1900.00,m3,GBP,2027-11-26":           "changed 1850.00 -> 1900.00 per m3, 2.7 %",
		"demo,5.00,each,GBP,2026-12-01":                    "new -> 5.00 per each",
		"demo,5.00,each,GBP,2026-01-01":                    "new -> 5.00 per each",
		"demo,0.00,each,GBP,2026-12-01":                    "new -> 0.00 per each",
		"demo,,each,GBP,2026-12-01":                        "unchanged",
		"demo,,,,2026-12-01":                               "unchanged",
		"later,5.00,each,GBP,2026-12-15":                   "new -> 5.00 per each",
		"gone,5.00,each,GBP,2026-10-31":                    "changed 4.00 -> 5.00 per each, 25 %",
		"lime-27,900.00,m3,GBP,2026-12-01":                 "new -> 900.00 per m3",
		"lime-27,3.20,bf,GBP,2026-12-01":                   "new -> 3.20 per bf",
		"castor-50,,each,GBP,2026-01-04":                   "unchanged",

		"ash-prime-27,52.39,ft3,GBP,2026-12-01":          "changed 1850.00 -> 1850.1354 per m3, 0.01 % (52.39 per ft3; 1 ft3 = 0.028316846592 m3)",
		"maple-hard-select-8-4,2950.00,m3,GBP,2026-12-1": `effective_from: write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not "2026-12-1"`,
		"maple-hard-select-8-4,2950,m3,GBP,2026-12-01":   "changed 6.90 -> 6.9612 per bf, 0.89 % (2950.00 per m3; 1 bf = 0.002359737216 m3)",
		"maple-hard-select-8-4,90.00,ft3,GBP,2026-12-01": "changed 6.90 -> 7.50 per bf, 8.7 % (90.00 per ft3; 1 ft3 = 12 bf)",
		"maple-hard-select-8-4,82.80,ft3,GBP,2026-12-01": "unchanged 6.90 -> 6.90 per bf, 0 % (82.80 per ft3; 1 ft3 = 12 bf)",

		"hundred,125.00,each,GBP,2026-12-01":   "changed 100.00 -> 125.00 per each, 25 %",
		"hundred,125.01,each,GBP,2026-12-01":   "changed 100.00 -> 125.01 per each, 25.01 %, large",
		"hundred,125.0001,each,GBP,2026-12-01": "changed 100.00 -> 125.0001 per each, 25 %, large",
		"hundred,75.00,each,GBP,2026-12-01":    "changed 100.00 -> 75.00 per each, -25 %",
		"hundred,74.99,each,GBP,2026-12-01":    "changed 100.00 -> 74.99 per each, -25.01 %, large",
		"hundred,0.00,each,GBP,2026-12-01":     "changed 100.00 -> 0.00 per each, -100 %, large",
		"hundred,1.250,each,GBP,2026-12-01":    "changed 100.00 -> 1.25 per each, -98.75 %, large",
		"free,0.00,each,GBP,2026-12-01":        "unchanged 0.00 -> 0.00 per each",
		"free,0.0001,each,GBP,2026-12-01":      "changed 0.00 -> 0.0001 per each, large",
		"free,999999.9999,each,GBP,2026-12-1":  `effective_from: write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not "2026-12-1"`,
	}
}

// refusedRows returns rows that are refused, and why.
func refusedRows() map[string]string {
	const form = "is not a price: write digits and a point, with at most 4 decimals, such as "
	return map[string]string{
		`castor-50,"1.961,00",each,GBP,2026-12-01`:           `price: "1.961,00" is not a price: write 1961.00`,
		`castor-50,"1,961.00",each,GBP,2026-12-01`:           `price: "1,961.00" is not a price: write 1961.00`,
		`castor-50,"9,5",each,GBP,2026-12-01`:                `price: "9,5" is not a price: write 9.5`,
		`castor-50,"1,961",each,GBP,2026-12-01`:              `price: "1,961" ` + form + "1961.00",
		`castor-50,"1,961,000",each,GBP,2026-12-01`:          `price: "1,961,000" ` + form + "1961000.00",
		`castor-50,£9.50,each,GBP,2026-12-01`:                `price: "£9.50" is not a price: write 9.50`,
		`castor-50,£ 9,each,GBP,2026-12-01`:                  `price: "£ 9" ` + form + "9.00",
		`castor-50,9.50 GBP,each,GBP,2026-12-01`:             `price: "9.50 GBP" is not a price: write 9.50`,
		`castor-50,"€1.234,50",each,GBP,2026-12-01`:          `price: "€1.234,50" is not a price: write 1234.50`,
		"castor-50,1 850.00,each,GBP,2026-12-01":             `price: "1 850.00" is not a price: write 1850.00`,
		"castor-50,1\u202f850.00,each,GBP,2026-12-01":        `price: "1\u202f850.00" is not a price: write 1850.00`,
		"castor-50,1'850.00,each,GBP,2026-12-01":             `price: "1'850.00" is not a price: write 1850.00`,
		"castor-50,.50,each,GBP,2026-12-01":                  `price: ".50" is not a price: write 0.50`,
		"castor-50,.500,each,GBP,2026-12-01":                 `price: ".500" is not a price: write 0.500`,
		"castor-50,9.,each,GBP,2026-12-01":                   `price: "9." ` + form + "1850.00",
		"castor-50,-9.50,each,GBP,2026-12-01":                `price: "-9.50" ` + form + "1850.00",
		"castor-50,-9,each,GBP,2026-12-01":                   `price: "-9" ` + form + "1850.00",
		"castor-50,(9.50),each,GBP,2026-12-01":               `price: "(9.50)" ` + form + "1850.00",
		"castor-50,+9.50,each,GBP,2026-12-01":                `price: "+9.50" ` + form + "1850.00",
		"castor-50,1e3,each,GBP,2026-12-01":                  `price: "1e3" ` + form + "1850.00",
		"castor-50,9 to 12,each,GBP,2026-12-01":              `price: "9 to 12" ` + form + "1850.00",
		"castor-50,9.50005,each,GBP,2026-12-01":              `price: "9.50005" ` + form + "1850.00",
		"castor-50,on request,each,GBP,2026-12-01":           `price: "on request" ` + form + "1850.00",
		"castor-50,99999999999999999999,each,GBP,2026-12-01": `price: "99999999999999999999" ` + form + "1850.00",
		"castor-50,,each,GBP,2026-12-01":                     "price: the price is missing: write digits and a point, such as 1850.00",
		"castor-50,1000000.00,each,GBP,2026-12-01":           "price: 1000000.00 is too much: a price is below 1000000.00",
		"ash-prime-27,800000000000000.00,bf,GBP,2026-12-01":  "price: 800000000000000.00 is too much: a price is below 1000000.00",
		"ash-prime-27,9999.00,bf,GBP,2026-12-01":             "price: 4237336.2306 is too much: a price is below 1000000.00",
		"castor-50,9.50,m3,GBP,2026-12-01":                   `unit: castor-50 is priced per each, not per "m3": write the price per each`,
		"castor-50,9.50,,GBP,2026-12-01":                     `unit: castor-50 is priced per each, not per "": write the price per each`,
		"lime-27,9.50,m2,GBP,2026-12-01":                     `unit: lime-27 is priced per m3, not per "m2": write the price per m3`,
		"demo,9.50,pack,GBP,2026-12-01":                      `unit: demo is priced per each, not per "pack": write the price per each`,
		"castor-50,9.50,each,EUR,2026-12-01":                 `currency: "EUR" is not the currency of the book: write the price in GBP`,
		"castor-50,9.50,each,,2026-12-01":                    `currency: "" is not the currency of the book: write the price in GBP`,
		",9.50,each,GBP,2026-12-01":                          "code: the code is missing: write that of what the price is of",
		"moon,9.50,each,GBP,2026-12-01":                      `code: "moon" is nothing that has a price on 2026-12-01: check its spelling`,
		"ash-prime,9.50,m3,GBP,2026-12-01":                   `code: "ash-prime" is nothing that has a price on 2026-12-01: check its spelling`,
		"wipe,9.50,each,GBP,2026-12-01":                      `code: "wipe" is nothing that has a price on 2026-12-01: check its spelling`,
		"later,5.00,each,GBP,2026-12-14":                     `code: "later" is nothing that has a price on 2026-12-14: check its spelling`,
		"gone,5.00,each,GBP,2026-11-01":                      `code: "gone" is nothing that has a price on 2026-11-01: check its spelling`,
		"castor-50,9.50,each,GBP,":                           "effective_from: it is missing: write a date such as 2026-12-01",
		"castor-50,9.50,each,GBP,01/12/2026":                 `effective_from: write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not "01/12/2026"`,
		"castor-50,9.50,each,GBP,2026-02-30":                 `effective_from: write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not "2026-02-30"`,
		"castor-50,9.50,each,GBP,2027-11-27":                 "effective_from: 2027-11-27 is more than a year ahead of 2026-11-25: is the year right?",
		"castor-50,9.50,each,GBP,2026-01-04":                 "effective_from: 2026-01-04 is before the first price of castor-50, from 2026-01-05: write that day or a later one",
	}
}

// What becomes of a row: each of these stands alone in its list.
func TestRowsAreJudged(t *testing.T) {
	c, _ := stored(t)
	demos(t, c)
	for _, rows := range []map[string]string{takenRows(), refusedRows()} {
		for row, want := range rows {
			assert.Equal(t, []string{want}, judged(t, c, row), row)
		}
	}
}

// Rows of one list are judged by each other: the later of two prices by the earlier,
// wherever they stand, and the second of one day is refused.
func TestRowsAreJudgedByThoseBefore(t *testing.T) {
	c, _ := stored(t)
	demos(t, c)
	row := func(code, price, unit, from string) string {
		return strings.Join([]string{code, price, unit, "GBP", from}, ",")
	}
	for name, tt := range map[string]struct{ rows, want []string }{
		"up and down again": {
			[]string{row("hundred", "120.00", "each", "2026-12-01"), row("hundred", "100.00", "each", "2027-01-01"), row("hundred", "100.00", "each", "2027-02-01")},
			[]string{"changed 100.00 -> 120.00 per each, 20 %", "changed 120.00 -> 100.00 per each, -16.67 %", "unchanged 100.00 -> 100.00 per each, 0 %"},
		},
		"the last first": {
			[]string{row("hundred", "150.00", "each", "2027-02-01"), row("hundred", "125.00", "each", "2026-12-01"), row("hundred", "150.00", "each", "2027-01-01")},
			[]string{"unchanged 150.00 -> 150.00 per each, 0 %", "changed 100.00 -> 125.00 per each, 25 %", "changed 125.00 -> 150.00 per each, 20 %"},
		},
		"the first prices": {
			[]string{row("lime-27", "1000.00", "m3", "2027-01-01"), row("lime-27", "2.00", "bf", "2026-12-01"), row("demo", "1.00", "each", "2027-01-01"), row("demo", "", "each", "2026-12-01"), row("demo", "", "each", "2027-02-01")},
			[]string{"changed 2.00 -> 2.3597 per bf, 17.99 % (1000.00 per m3; 1 bf = 0.002359737216 m3)", "new -> 2.00 per bf", "new -> 1.00 per each", "unchanged", "price: the price is missing: write digits and a point, such as 1850.00"},
		},
		"two of one day": {
			[]string{row("hundred", "110.00", "each", "2026-12-01"), row("hundred", "120.00", "each", "2026-12-01"), row("hundred", "110.00", "each", "2026-12-01")},
			[]string{"changed 100.00 -> 110.00 per each, 10 %", "code: row 2 has a price of hundred from 2026-12-01 already: leave one out", "code: row 2 has a price of hundred from 2026-12-01 already: leave one out"},
		},
		"not by one that is refused": {
			[]string{row("hundred", "110.00", "m3", "2026-12-01"), row("hundred", "110.00", "each", "2026-12-02")},
			[]string{`unit: hundred is priced per each, not per "m3": write the price per each`, "changed 100.00 -> 110.00 per each, 10 %"},
		},
		"each in the book of its day": {
			[]string{row("later", "5.00", "each", "2026-12-14"), row("gone", "4.50", "each", "2026-10-31"), row("later", "5.00", "each", "2026-12-15"), row("gone", "4.50", "each", "2026-11-01"), row("later", "5.50", "each", "2027-11-26")},
			[]string{`code: "later" is nothing that has a price on 2026-12-14: check its spelling`, "changed 4.00 -> 4.50 per each, 12.5 %", "new -> 5.00 per each", `code: "gone" is nothing that has a price on 2026-11-01: check its spelling`, "changed 5.00 -> 5.50 per each, 10 %"},
		},
	} {
		assert.Equal(t, tt.want, judged(t, c, tt.rows...), name)
	}
}

// What is a large move the terms of today say: over 25 percent if they say nothing.
// A list is judged anew each time that it is looked at.
func TestLargeMovesAreOfTheTerms(t *testing.T) {
	c, _ := stored(t)
	demos(t, c)
	var lists []string
	for _, price := range []string{"100.00", "100.0001", "99.9999", "105.00", "105.0001", "95.00", "94.9999", "1100.00", "1100.0001", "0.00"} {
		lists = append(lists, fmt.Sprintf("%shundred,%s,each,GBP,2026-12-01\n", head, price))
	}
	terms := docIn(t, c, placed(t, "terms terms "+today), today)
	for _, tt := range []struct{ from, percent, large string }{
		{"2026-12-01", "1", "       xxx"}, // tomorrow's: 25 as yet
		{today, "0", " xxxxxxxxx"},
		{today, "5", "    x xxxx"},
		{today, "1000", "        x "},
		{"2026-11-24", "2.5", "        x "}, // yesterday's
	} {
		doc := strings.Replace(terms, `"deposit_percent"`, `"large_move_percent":`+tt.percent+`,"deposit_percent"`, 1)
		require.NoError(t, change(t, c, "terms terms "+tt.from, doc))
		large := ""
		for _, list := range lists {
			u, mark := previewed(t, c, list), " "
			if u.Rows[0].Large {
				mark = "x"
			}
			large += mark
			assert.Equal(t, strings.Count(mark, "x"), u.Summary.LargeMoves)
		}
		assert.Equal(t, tt.large, large, "%v", tt)
	}
}

// What begins before today is said once for all rows that change anything.
func TestNotesOfThePast(t *testing.T) {
	c, _ := stored(t)
	demos(t, c)
	const rows = "hundred,110.00,each,GBP,2026-11-24\nfree,0.00,each,GBP,2026-11-24\nmoon,1.00,each,GBP,2026-11-24\ncastor-50,9.50,each,GBP,2026-11-25\n"
	assert.Empty(t, previewed(t, c, head+strings.ReplaceAll(rows, "-24", "-25")).Notes)
	assert.Equal(t, []string{"prices that begin before today: 1. Costings of those days change; what was issued stays as it was sent."}, previewed(t, c, head+rows).Notes)
}

// In CSV a code that begins with a sign has an apostrophe before it, which is not of
// the code (CWE-1236: it would be a formula).
func TestCodesThatBeginWithASign(t *testing.T) {
	c, _ := stored(t)
	putNew(t, c, "-5-demo", "2026-01-01")
	assert.Equal(t, []string{"new -> 5.00 per each"}, judged(t, c, "-5-demo,5.00,each,GBP,2026-12-01"))
	assert.Equal(t, []string{"new -> 5.00 per each", `code: "'-5-demo" is nothing that has a price on 2026-12-01: check its spelling`},
		judged(t, c, "'-5-demo,5.00,each,GBP,2026-12-01", "''-5-demo,5.00,each,GBP,2026-12-01"))
}
