package exports_test

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// impact is an impact on a few quotes, the figures by hand and of so many smallest
// coins in any currency: 1000.00, 1000 or 1.000 and so on.
func impact(t testing.TB, code string) pricing.Impact {
	t.Helper()
	c, err := num.ParseCurrency(code)
	require.NoError(t, err)
	quote := func(number, status, title, customer string, old, is, quoted, wouldBe, left int64, percent num.Percent) pricing.Affected {
		a := pricing.Affected{
			Number: number, Revision: 2, Status: status, Title: title, Customer: customer, OldCost: c.Coins(old), NewCost: c.Coins(is), Loss: c.Coins(is - old),
			Quoted: c.Coins(quoted), WouldBe: c.Coins(wouldBe), Left: c.Coins(left), LeftOf: percent,
		}
		if status == "issued" {
			a.ValidUntil = date.MustParse("2026-12-24")
		}
		return a
	}
	return pricing.Impact{
		AsOf: date.MustParse("2026-12-01"), Currency: c,
		Quotes: []pricing.Affected{
			quote("Q-2026-0007", "issued", `A chest, "tall"`, "Rowan Thistle", 1_000_00, 1_060_05, 1_400_00, 1_475_00, 339_95, 24_28),
			quote("Q-2026-0009", "draft", "Twelve boxes", "The Old Mill", 100_00, 100_01, 90_00, 90_01, -10_01, -11_12),
			quote("Q-2026-0011", "issued", "A bench", "Ada Fern", 500_00, 480_00, 700_00, 675_00, 220_00, 31_43),
		},
		Unpriced: []pricing.Unpriced{
			{Number: "Q-2026-0004", Revision: 1, Title: "A desk", Detail: `"oak-bog" is no timber of the book: check its spelling, or name another; and 2 more`},
		},
		Sums: pricing.ImpactSums{Count: 3, OldCost: c.Coins(1_600_00), NewCost: c.Coins(1_640_06), Loss: c.Coins(40_06), Quoted: c.Coins(2_190_00), WouldBe: c.Coins(2_240_01), Left: c.Coins(549_94)},
		Update: &pricing.UpdateImpact{ID: 3, File: "december.csv", Status: "applied", Loss: c.Coins(40_06), Timbers: []pricing.TimberImpact{
			{Code: "ash-prime", Description: "European ash, prime", Quotes: 2, Old: c.Coins(600_00), New: c.Coins(660_06), Loss: c.Coins(60_06)},
			{Code: "oak-prime", Description: "European oak, prime", Quotes: 1, Old: c.Coins(200_00), New: c.Coins(180_00), Loss: c.Coins(-20_00)},
		}},
	}
}

// empty is an impact on nothing.
func empty(t testing.TB, code string) pricing.Impact {
	all := impact(t, code)
	zero := all.Currency.Zero()
	all.Quotes, all.Unpriced, all.Update = []pricing.Affected{}, []pricing.Unpriced{}, nil
	all.Sums = pricing.ImpactSums{OldCost: zero, NewCost: zero, Loss: zero, Quoted: zero, WouldBe: zero, Left: zero}
	return all
}

// many is an impact on 200 quotes with long titles, of large and odd sums.
func many(t testing.TB, code string) pricing.Impact {
	all := empty(t, code)
	all.Update = &pricing.UpdateImpact{ID: 12, Status: "previewed", Timbers: []pricing.TimberImpact{}, Loss: all.Currency.Zero()}
	s, coins := &all.Sums, all.Currency.Coins
	for i := range int64(200) {
		a := pricing.Affected{
			Number: fmt.Sprintf("Q-2026-%04d", i), Revision: 1, Status: "issued", Title: strings.Repeat("A chest of drawers in ash ", 1+int(i)%7), Customer: "Marlow Interiors",
			ValidUntil: date.MustParse("2026-12-24"), OldCost: coins(i * 12_345_67), NewCost: coins(i*12_345_67 + 99_999_99 - i*1_001_01), Quoted: coins(i * 20_000_03), WouldBe: coins(i * 21_000_07),
		}
		a.Loss, a.Left = a.NewCost.Minus(a.OldCost), a.Quoted.Minus(a.NewCost)
		a.LeftOf = a.Left.Of(a.Quoted)
		all.Quotes = append(all.Quotes, a)
		s.OldCost, s.NewCost, s.Loss = s.OldCost.Plus(a.OldCost), s.NewCost.Plus(a.NewCost), s.Loss.Plus(a.Loss)
		s.Quoted, s.WouldBe, s.Left = s.Quoted.Plus(a.Quoted), s.WouldBe.Plus(a.WouldBe), s.Left.Plus(a.Left)
	}
	s.Count = 200
	return all
}

// weary is an impact with hostile text wherever people write.
func weary(t testing.TB) pricing.Impact {
	all := impact(t, "GBP")
	one, two := all.Quotes[1], all.Update.Timbers[1]
	all.Quotes, all.Unpriced, all.Update.Timbers = nil, nil, nil
	for i, s := range nasty {
		one.Title, one.Customer = s, nasty[len(nasty)-1-i]
		two.Description = s
		all.Quotes, all.Update.Timbers = append(all.Quotes, one), append(all.Update.Timbers, two)
		all.Unpriced = append(all.Unpriced, pricing.Unpriced{Number: "Q-2026-0004", Revision: 1, Title: s, Detail: s})
	}
	all.Update.File = "&P" + nasty[0]
	n := len(nasty)
	s := &all.Sums
	*s = pricing.ImpactSums{
		Count: n, OldCost: one.OldCost.Times(n), NewCost: one.NewCost.Times(n), Loss: one.Loss.Times(n), Quoted: one.Quoted.Times(n), WouldBe: one.WouldBe.Times(n), Left: one.Left.Times(n),
	}
	all.Update.Loss = two.Loss.Times(n)
	return all
}

// impacts are all of the above.
func impacts(t testing.TB) map[string]pricing.Impact {
	plain := impact(t, "GBP")
	plain.Update = nil
	return map[string]pricing.Impact{
		"pounds": impact(t, "GBP"), "yen": impact(t, "JPY"), "dinars": impact(t, "KWD"), "no-update": plain, "empty": empty(t, "GBP"), "empty-yen": empty(t, "JPY"),
		"many": many(t, "GBP"), "many-dinars": many(t, "KWD"), "weary": weary(t),
	}
}

// impactCSV and impactXLSX are the papers of an impact.
func impactCSV(t testing.TB, all pricing.Impact) string {
	var out strings.Builder
	require.NoError(t, exports.ImpactCSV(&out, all))
	return out.String()
}

func impactXLSX(t testing.TB, all pricing.Impact) []byte {
	var out bytes.Buffer
	require.NoError(t, exports.ImpactXLSX(&out, all))
	return out.Bytes()
}

const impactHead = "number,revision,status,title,customer,valid_until,old_cost,new_cost,loss,quoted,would_be,margin_left,margin_left_percent,currency,unpriced\r\n"

// Source of the form: RFC 4180, section 2.
func TestImpactAsCSV(t *testing.T) {
	want := `Q-2026-0007,2,issued,"A chest, ""tall""",Rowan Thistle,2026-12-24,1000.00,1060.05,60.05,1400.00,1475.00,339.95,24.28,GBP,
Q-2026-0009,2,draft,Twelve boxes,The Old Mill,,100.00,100.01,0.01,90.00,90.01,-10.01,-11.12,GBP,
Q-2026-0011,2,issued,A bench,Ada Fern,2026-12-24,500.00,480.00,-20.00,700.00,675.00,220.00,31.43,GBP,
Q-2026-0004,1,,A desk,,,,,,,,,,,"""oak-bog"" is no timber of the book: check its spelling, or name another; and 2 more"
`
	assert.Equal(t, impactHead+strings.ReplaceAll(want, "\n", "\r\n"), impactCSV(t, impact(t, "GBP")))
	yen := impactCSV(t, impact(t, "JPY"))
	assert.Contains(t, yen, "\r\nQ-2026-0009,2,draft,Twelve boxes,The Old Mill,,10000,10001,1,9000,9001,-1001,-11.12,JPY,\r\n")
	dinars := impactCSV(t, impact(t, "KWD"))
	assert.Contains(t, dinars, "\r\nQ-2026-0009,2,draft,Twelve boxes,The Old Mill,,10.000,10.001,0.001,9.000,9.001,-1.001,-11.12,KWD,\r\n")
	assert.Equal(t, impactHead, impactCSV(t, empty(t, "GBP")))
}

// Sources: ASVS 1.2.10 and CWE-1236 for what a spreadsheet would run.
func TestImpactAsCSVKeepsTextText(t *testing.T) {
	for name, all := range impacts(t) {
		text := impactCSV(t, all)
		assert.True(t, utf8.ValidString(text), name)
		records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		require.NoError(t, err, name)
		require.Len(t, records, 1+len(all.Quotes)+len(all.Unpriced), name)
		for i, r := range records[1:] {
			for _, field := range []string{r[3], r[4], r[14]} {
				first, _ := utf8.DecodeRuneInString(field)
				assert.NotContains(t, "=+-@\t\r＝＋－＠", string(first), "%.40q", field)
				assert.False(t, strings.ContainsFunc(field, unicode.IsControl), "%.40q", field)
			}
			title, said := "", strings.TrimPrefix(r[3], "'")
			if i < len(all.Quotes) {
				title = all.Quotes[i].Title
				assert.Equal(t, letters(all.Quotes[i].Customer), letters(strings.TrimPrefix(r[4], "'")))
			} else {
				title = all.Unpriced[i-len(all.Quotes)].Title
				assert.Equal(t, letters(all.Unpriced[i-len(all.Quotes)].Detail), letters(strings.TrimPrefix(r[14], "'")))
			}
			assert.Equal(t, letters(title), letters(said))
		}
	}
}

// sheetsOf are the names of the sheets of an impact.
func sheetsOf(all *pricing.Impact) []string {
	if all.Update == nil {
		return []string{"Quotes"}
	}
	return []string{"Quotes", "Timber"}
}

// impactCells reads every cell of the sheets out of their XML: under "Quotes!A1".
func impactCells(t testing.TB, file []byte, sheets []string) map[string]cell {
	t.Helper()
	files, all := parts(t, file), make(map[string]cell)
	require.NotContains(t, files, "xl/worksheets/sheet"+strconv.Itoa(len(sheets)+1)+".xml")
	for i, name := range sheets {
		var sheet struct {
			Cells []struct {
				Name    string `xml:"r,attr"`
				Kind    string `xml:"t,attr"`
				Formula string `xml:"f"`
				Value   string `xml:"v"`
				Text    string `xml:"is>t"` // an underscore that begins an escape is escaped
			} `xml:"sheetData>row>c"`
		}
		require.NoError(t, xml.Unmarshal([]byte(files["xl/worksheets/sheet"+strconv.Itoa(i+1)+".xml"]), &sheet))
		for _, c := range sheet.Cells {
			require.Contains(t, []string{"", "n", "inlineStr"}, c.Kind, "numbers are numbers, words are words")
			all[name+"!"+c.Name] = cell{c.Name, c.Value + strings.ReplaceAll(c.Text, "_x005F_", "_"), c.Formula}
		}
	}
	return all
}

// tableOf is a sheet row by row, a cell after the other: of a formula "= what is stored".
func tableOf(all map[string]cell, sheet, last string, rows int) string {
	var s strings.Builder
	for row := 1; row <= rows; row++ {
		var line []string
		for column := 'A'; string(column) <= last; column++ {
			c := all[sheet+"!"+string(column)+strconv.Itoa(row)]
			if c.formula != "" {
				c.text = c.formula + " = " + c.text
			}
			line = append(line, c.text)
		}
		s.WriteString(strings.TrimRight(strings.Join(line, "|"), "|") + "\n")
	}
	return s.String()
}

// The cells by hand, formulas with what they come to.
func TestImpactAsWorkbook(t *testing.T) {
	all := impact(t, "GBP")
	cells := impactCells(t, impactXLSX(t, all), sheetsOf(&all))
	assert.Equal(t, `Number|Rev.|Status|Title|Customer|Valid until|Old cost|New cost|Loss|Quoted|Would be|Margin left|%
Q-2026-0007|2|issued|A chest, "tall"|Rowan Thistle|2026-12-24|1000|1060.05|ROUND(H2-G2,2) = 60.05|1400|1475|339.95|24.28
Q-2026-0009|2|draft|Twelve boxes|The Old Mill||100|100.01|ROUND(H3-G3,2) = 0.01|90|90.01|-10.01|-11.12
Q-2026-0011|2|issued|A bench|Ada Fern|2026-12-24|500|480|ROUND(H4-G4,2) = -20|700|675|220|31.43
Three quotes||||||ROUND(SUM(G2:G4),2) = 1600|ROUND(SUM(H2:H4),2) = 1640.06|ROUND(SUM(I2:I4),2) = 40.06|ROUND(SUM(J2:J4),2) = 2190|ROUND(SUM(K2:K4),2) = 2240.01|ROUND(SUM(L2:L4),2) = 549.94
Q-2026-0004|1|unpriced|A desk: "oak-bog" is no timber of the book: check its spelling, or name another; and 2 more

`, tableOf(cells, "Quotes", "M", 7))
	assert.Equal(t, `Code|Timber|Quotes|At the old rates|At the new rates|Loss
ash-prime|European ash, prime|2|600|660.06|ROUND(E2-D2,2) = 60.06
oak-prime|European oak, prime|1|200|180|ROUND(E3-D3,2) = -20
Price update 3, december.csv (applied)|||ROUND(SUM(D2:D3),2) = 800|ROUND(SUM(E2:E3),2) = 840.06|ROUND(SUM(F2:F3),2) = 40.06

`, tableOf(cells, "Timber", "F", 5))

	none := empty(t, "JPY")
	assert.Equal(t, `Number|Rev.|Status|Title|Customer|Valid until|Old cost|New cost|Loss|Quoted|Would be|Margin left|%
No quotes||||||0 = 0|0 = 0|0 = 0|0 = 0|0 = 0|0 = 0
`, tableOf(impactCells(t, impactXLSX(t, none), sheetsOf(&none)), "Quotes", "M", 2))
}

func TestHostileTextStaysTextInAnImpact(t *testing.T) {
	all := weary(t)
	file := impactXLSX(t, all)
	var said strings.Builder
	for _, c := range impactCells(t, file, sheetsOf(&all)) {
		assert.NotContains(t, c.formula, "HYPERLINK")
		assert.True(t, utf8.ValidString(c.text))
		assert.NotContains(t, c.text, "\ufffd")
		assert.LessOrEqual(t, utf8.RuneCountInString(c.text), 32_767)
		assert.False(t, strings.ContainsFunc(c.text, unicode.IsControl), "%.40q", c.text)
		said.WriteString(c.text + "\n")
	}
	got := letters(said.String())
	for _, s := range nasty {
		s = letters(s)
		assert.True(t, strings.Contains(got, s[:min(len(s), 60_000)]), "%.40q", s) // cut to what a cell holds
	}
	assert.Contains(t, parts(t, file)["xl/worksheets/sheet2.xml"], `Price update 3, &amp;&amp;P=HYPERLINK(`, "an ampersand in the footer is doubled")
}

func TestImpactsAreTheSameBytes(t *testing.T) {
	for name, all := range impacts(t) {
		text, file := impactCSV(t, all), impactXLSX(t, all)
		for range 3 {
			assert.Equal(t, text, impactCSV(t, all), name)
			assert.True(t, bytes.Equal(file, impactXLSX(t, all)), name)
		}
	}
	assert.ErrorIs(t, exports.ImpactCSV(broken{}, impact(t, "GBP")), errFull)
	assert.ErrorIs(t, exports.ImpactXLSX(broken{}, impact(t, "GBP")), errFull)
}
