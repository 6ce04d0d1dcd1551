package exports_test

import (
	"bytes"
	"encoding/csv"
	"io"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/num"
)

// A csvTable is a table as written, its rows by column.
type csvTable struct {
	text string
	head []string
	rows []map[string]string
}

// tabled is what write makes of p, read again. Source of the form: RFC 4180,
// section 2: lines end in CR LF, every line has as many fields as the header.
func tabled(t testing.TB, write func(io.Writer, exports.Paper) error, p exports.Paper) csvTable {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, write(&out, p))
	table := csvTable{text: out.String()}
	assert.True(t, utf8.ValidString(table.text))
	assert.True(t, strings.HasSuffix(table.text, "\r\n"))
	assert.Equal(t, strings.Count(table.text, "\n"), strings.Count(table.text, "\r\n"), "no line ends otherwise")
	records, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	table.head = records[0]
	for _, r := range records[1:] {
		row := make(map[string]string)
		for i, c := range table.head {
			row[c] = r[i]
		}
		table.rows = append(table.rows, row)
	}
	return table
}

// decimal reads a number of a table; nothing is none.
func decimal(t testing.TB, s string) num.Decimal {
	t.Helper()
	if s == "" {
		return 0
	}
	d, err := num.ParseDecimal(s)
	require.NoError(t, err)
	assert.Equal(t, d.String(), s, "the shortest exact form")
	return d
}

// lists are the three tables.
func lists() map[string]func(io.Writer, exports.Paper) error {
	return map[string]func(io.Writer, exports.Paper) error{
		"cutting": exports.CuttingList, "buying": exports.BuyingList, "labour": exports.LabourSheet,
	}
}

func TestListsHaveTheirColumns(t *testing.T) {
	p := paper(t, request(t, "tall-chest"), starter(t))
	for name, columns := range map[string]string{
		"cutting": "piece mark name drawers quantity length width thickness unit grain material code description strips sawn_length sawn_width sawn_thickness volume volume_unit sheet_m2 outside_m2 inside_m2 included",
		"buying":  "code description needed unit packs pack_size amount currency",
		"labour":  "piece stage description grade hours rate amount currency working included",
	} {
		assert.Equal(t, columns, strings.Join(tabled(t, lists()[name], p).head, " "))
	}
}

// The rows of every cutting list are the lines of the costing, figure by figure.
func TestCuttingListIsTheCostings(t *testing.T) {
	for name, p := range papers(t) {
		rows := tabled(t, exports.CuttingList, p).rows
		for i := range p.Costing.Pieces {
			o := &p.Costing.Pieces[i]
			var got []pricing.CutPart
			for ; len(rows) > 0 && len(got) < len(o.Parts); rows = rows[1:] {
				r := rows[0]
				n, err := strconv.Atoi(r["quantity"])
				require.NoError(t, err)
				c := pricing.CutPart{
					Name: r["name"], Quantity: n, Length: decimal(t, r["length"]), Width: decimal(t, r["width"]), Thickness: decimal(t, r["thickness"]),
					Material: r["material"], Code: r["code"], SawnThickness: decimal(t, r["sawn_thickness"]),
					SawnLength: decimal(t, r["sawn_length"]), SawnWidth: decimal(t, r["sawn_width"]), Volume: decimal(t, r["volume"]),
					Area: decimal(t, r["sheet_m2"]), Outside: decimal(t, r["outside_m2"]), Inside: decimal(t, r["inside_m2"]),
				}
				if s := r["strips"]; s != "" {
					c.Strips, err = strconv.Atoi(s)
					require.NoError(t, err)
				}
				got = append(got, c)
				assert.Equal(t, o.Units, unitOf(r["unit"]), name)
				assert.Equal(t, "length", r["grain"])
				assert.Equal(t, map[bool]string{true: "yes", false: "no"}[o.Included], r["included"])
				assert.Equal(t, c.Volume > 0, r["volume_unit"] != "")
				assert.Equal(t, c.Code != "", r["description"] != "", name)
				assert.Equal(t, strings.Join(strings.Fields(o.Title), " "), r["piece"])
			}
			want := make([]pricing.CutPart, len(o.Parts))
			for k, c := range o.Parts {
				c.FinishedVolume = 0 // not in the table
				want[k] = c
			}
			assert.ElementsMatch(t, want, got, "%s, piece %d", name, i)
		}
		assert.Empty(t, rows, name)
	}
}

func TestBuyingListIsTheCostings(t *testing.T) {
	for name, p := range papers(t) {
		rows := tabled(t, exports.BuyingList, p).rows
		require.Len(t, rows, len(p.Costing.Buying), name)
		for i, r := range rows {
			l := &p.Costing.Buying[i]
			packs := ""
			if l.Packs > 0 {
				packs = strconv.Itoa(l.Packs)
			}
			assert.Equal(t, []string{l.Code, l.Description, string(l.Unit), packs, l.Amount.String(), p.Costing.Currency.String()},
				[]string{r["code"], r["description"], r["unit"], r["packs"], r["amount"], r["currency"]})
			assert.Equal(t, []num.Decimal{l.Needed, l.PackSize}, []num.Decimal{decimal(t, r["needed"]), decimal(t, r["pack_size"])})
		}
	}
}

func TestLabourSheetIsTheCostings(t *testing.T) {
	for name, p := range papers(t) {
		rows := tabled(t, exports.LabourSheet, p).rows
		for i := range p.Costing.Pieces {
			o, hours := &p.Costing.Pieces[i], num.Decimal(0)
			for k := range o.Labour {
				l, r := &o.Labour[k], rows[0]
				assert.Equal(t, []string{l.Code, l.Description, l.Grade, l.Rate.String(), l.Amount.String(), p.Costing.Currency.String(), l.Working},
					[]string{r["stage"], r["description"], r["grade"], r["rate"], r["amount"], r["currency"], r["working"]})
				hours += decimal(t, r["hours"])
				rows = rows[1:]
			}
			assert.Equal(t, o.Hours, hours, name)
		}
		assert.Empty(t, rows, name)
	}
}

func TestListsOfOneCostingAreTheSameBytes(t *testing.T) {
	p := paper(t, request(t, "full-quotation"), starter(t))
	for name, write := range lists() {
		first := tabled(t, write, p).text
		for range 20 {
			assert.Equal(t, first, tabled(t, write, p).text, name)
		}
	}
}

// Source: ASVS 1.2.10 and CWE-1236 (a field that starts with = + - @ tab CR or NUL);
// the full-width forms are from memory.
func TestTextsThatWouldBeFormulas(t *testing.T) {
	for text, want := range map[string]string{
		`=1+1`:                    `'=1+1`,
		`=HYPERLINK("http://x")`:  `'=HYPERLINK("http://x")`,
		`+1`:                      `'+1`,
		`-1`:                      `'-1`,
		`-`:                       `'-`,
		`@SUM(A1)`:                `'@SUM(A1)`,
		"\t=1+1":                  `'=1+1`,
		"\r=1+1":                  `'=1+1`,
		"\x00=1+1":                `'=1+1`,
		"\n=1+1":                  `'=1+1`,
		"  =1+1":                  `'=1+1`,
		"\u202e=1+1":              `'=1+1`,
		"＝1+1":                    `'＝1+1`,
		"＋1":                      `'＋1`,
		"－1":                      `'－1`,
		"＠x":                      `'＠x`,
		"=cmd|' /C calc'!A0":      "'=cmd|' /C calc'!A0",
		"\"=1+1\"":                `"=1+1"`,
		"'=1+1":                   `'=1+1`,
		"1 = 1":                   "1 = 1",
		"Side, left":              "Side, left",
		"So called \"prime\"":     `So called "prime"`,
		"two\nlines":              "two lines",
		"bad \xff UTF-8":          "bad UTF-8",
		"":                        "",
		"عربي":                    "عربي",
		"\U0001f6aa door":         "\U0001f6aa door",
		strings.Repeat("x", 4000): strings.Repeat("x", 4000),
	} {
		p := paper(t, request(t, "tall-chest"), starter(t))
		c := &p.Costing
		c.Pieces[0].Title = text
		for k := range c.Pieces[0].Parts {
			c.Pieces[0].Parts[k].Name, c.Pieces[0].Parts[k].Material = text, text
		}
		for _, lines := range [][]pricing.Line{c.Pieces[0].Timber, c.Pieces[0].Sheets, c.Pieces[0].Labour} {
			for k := range lines {
				lines[k].Description, lines[k].Grade, lines[k].Working = text, text, text
			}
		}
		for k := range c.Buying {
			c.Buying[k].Description = text
		}
		for name, columns := range map[string][]string{
			"cutting": {"piece", "name", "material"}, "buying": {"description"}, "labour": {"piece", "description", "grade", "working"},
		} {
			for _, r := range tabled(t, lists()[name], p).rows {
				for _, c := range columns {
					assert.Equal(t, want, r[c], "%s: %s of %q", name, c, text)
				}
			}
		}
	}
}

// No number of ours has a quote before it, whatever its sign.
func TestNumbersAreNotGuarded(t *testing.T) {
	p := paper(t, request(t, "agreed-below-cost"), starter(t))
	p.Costing.Buying[0].Amount = p.Costing.Buying[0].Amount.Times(-1)
	r := tabled(t, exports.BuyingList, p).rows[0]
	assert.Equal(t, p.Costing.Buying[0].Amount.String(), r["amount"])
	assert.Equal(t, "-", r["amount"][:1])
}

// A writer that fails part of the way is reported.
func TestListsReportWhatCannotBeWritten(t *testing.T) {
	p := paper(t, request(t, "full-quotation"), starter(t))
	for name, write := range lists() {
		assert.ErrorIs(t, write(broken{}, p), errFull, name)
	}
	p.Book = nil
	assert.Error(t, exports.CuttingList(io.Discard, p), "which timber a board is of stands in the book")
}
