package exports_test

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/unit"
)

// hostileBench is the hostile paper with nasty text in what only the workshop
// reads as well: parts, descriptions of every kind, notes, units, checks.
func hostileBench(t testing.TB) exports.Paper {
	t.Helper()
	p := hostile(t)
	n := 0
	next := func() string {
		n++
		return nasty[n%len(nasty)]
	}
	data := *p.Book.Data()
	data.Stages, data.Labour = slices.Clone(data.Stages), slices.Clone(data.Labour)
	data.Supplies, data.Timbers = slices.Clone(data.Supplies), slices.Clone(data.Timbers)
	for i := range data.Stages {
		data.Stages[i].Description = clipped(next())
	}
	for i := range data.Labour {
		data.Labour[i].Description = clipped(next())
	}
	for i := range data.Supplies {
		data.Supplies[i].Description = clipped(next())
	}
	for i := range data.Timbers {
		data.Timbers[i].Description = clipped(next())
	}
	b, err := book.New(data)
	require.NoError(t, err)
	p.Book = b
	p.Request.Pieces = slices.Clone(p.Request.Pieces)
	for i := range p.Costing.Pieces {
		o := &p.Costing.Pieces[i]
		o.Parts, o.Checks = slices.Clone(o.Parts), slices.Clone(o.Checks)
		for k := range o.Parts {
			o.Parts[k].Name = next()
		}
		for k := range o.Checks {
			o.Checks[k].Message, o.Checks[k].Source = o.Title+": "+next(), next()
		}
		for _, lines := range [][]pricing.Line{o.Timber, o.Sheets, o.Ironmongery, o.Supplies, o.Labour, o.BoughtIn} {
			for k := range lines {
				lines[k].Description = next()
			}
		}
		for k := range o.BoughtIn {
			o.BoughtIn[k].Unit = unit.Unit(next())
		}
		q := &p.Request.Pieces[i]
		q.ExtraHours = slices.Clone(q.ExtraHours)
		for k := range q.ExtraHours {
			q.ExtraHours[k].Note = next()
		}
	}
	p.Costing.Buying = slices.Clone(p.Costing.Buying)
	for k := range p.Costing.Buying {
		p.Costing.Buying[k].Description = next()
	}
	p.Costing.Cutting = slices.Clone(p.Costing.Cutting)
	for k := range p.Costing.Cutting {
		plan := &p.Costing.Cutting[k]
		plan.Description, plan.Parts = next(), slices.Clone(plan.Parts)
		for i := range plan.Parts {
			plan.Parts[i].Name = next()
		}
	}
	p.Costing.Totals.Tax = slices.Clone(p.Costing.Totals.Tax)
	for k := range p.Costing.Totals.Tax {
		p.Costing.Totals.Tax[k].Name = next()
	}
	return p
}

// clipped is what a Book takes of a text: valid, on one line, 200 characters.
func clipped(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u202e' || r == '\u2066' {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	if r := []rune(s); len(r) > 199 {
		s = string(r[:199])
	}
	return strings.TrimSpace(s) + "."
}

func TestHostileTextStaysTextInTheWorkshop(t *testing.T) {
	p := hostileBench(t)
	file := workshop(t, p)
	var said strings.Builder
	for _, l := range leaves(t, file) {
		for _, row := range l.rows {
			for _, c := range row {
				if c.formula != "" {
					assert.NotContains(t, c.formula, "HYPERLINK")
				}
				assert.True(t, utf8.ValidString(c.text))
				assert.NotContains(t, c.text, "\ufffd")
				assert.LessOrEqual(t, utf8.RuneCountInString(c.text), 32_767)
				for _, r := range c.text {
					assert.False(t, unicode.IsControl(r), "%q", c.text)
				}
				said.WriteString(c.text + "\n")
			}
		}
	}
	assert.Equal(t, storedFigures(t, workshop(t, papers(t)["full-quotation"])), storedFigures(t, file), "no text has become a formula or moved one")
	got := letters(said.String())
	for _, s := range nasty {
		want := letters(s)
		assert.True(t, strings.Contains(got, want[:min(len(want), 30_000)]), "%.40q", s)
	}
}

func TestHostileTextInAnotherProgram(t *testing.T) {
	file := workshop(t, hostileBench(t))
	for _, value := range recalculated(t, map[string][]byte{"hostile": poisoned(t, file)}) {
		for _, l := range leaves(t, file) {
			for _, row := range l.rows {
				for _, c := range row {
					if c.formula != "" {
						want, err := strconv.ParseFloat(c.text, 64)
						require.NoError(t, err)
						got, err := strconv.ParseFloat(value(l.name, c.name), 64)
						require.NoError(t, err, "%s %s", l.name, c.name)
						require.Equal(t, want, got, "%s %s ={%s}", l.name, c.name, c.formula)
					}
				}
			}
		}
	}
}

// storedFigures is what is stored beside the formulas of a workbook, in order.
func storedFigures(t testing.TB, file []byte) []string {
	t.Helper()
	var all []string
	for _, l := range leaves(t, file) {
		for _, row := range l.rows {
			for _, column := range slices.Sorted(maps.Keys(row)) {
				if c := row[column]; c.formula != "" {
					all = append(all, l.name+" "+c.text)
				}
			}
		}
	}
	return all
}

// Two codes that differ in case, or that a spreadsheet would read as one number
// or one date, are two materials still.
func TestLookAlikeCodesAreKeptApart(t *testing.T) {
	data := *starter(t).Data()
	data.Timbers = slices.Clone(data.Timbers)
	for i, codes := range [][2]string{{"1-2", "1.0"}, {"01-02", "1.00"}, {"Oak", "1e0"}, {"oaK", "1E0"}} {
		w := &data.Timbers[i]
		w.Code = codes[0]
		w.Thicknesses = slices.Clone(w.Thicknesses)
		k := slices.IndexFunc(w.Thicknesses, func(k book.Thickness) bool { return k.Price != nil && k.FinishesTo >= 20*unit.Millimetre })
		require.GreaterOrEqual(t, k, 0)
		w.Thicknesses = w.Thicknesses[k : k+1]
		w.Thicknesses[0].Code = codes[1]
	}
	b, err := book.New(data)
	require.NoError(t, err)
	r := decoded(t, `{"pieces": [{"title": "Look-alikes", "kind": "parts", "parts": {"parts": [
		{"name": "A", "length": 700, "width": 70, "thickness": 18, "material": "1-2"}, {"name": "B", "length": 800, "width": 70, "thickness": 18, "material": "01-02"},
		{"name": "C", "length": 900, "width": 70, "thickness": 18, "material": "Oak"}, {"name": "D", "length": 950, "width": 70, "thickness": 18, "material": "oaK"}]}}]}`)
	p := paper(t, r, b)
	require.Len(t, p.Costing.Pieces[0].Timber, 4)
	file := workshop(t, p)
	audited(t, p, file, nil)
	for name, value := range recalculated(t, map[string][]byte{"alike": poisoned(t, file)}) {
		t.Run(name, func(t *testing.T) { audited(t, p, file, value) })
	}
}
