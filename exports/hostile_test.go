package exports_test

import (
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
)

// nasty is text that a careless workbook would run, cut or garble.
var nasty = []string{
	`=HYPERLINK("http://example.com","pay here")`, "+1+1", "-2+3", "@SUM(A1)", "=1+1",
	"<b>&amp;</b> ]]> \"'", "_x0041_ and _x005F_x0041_", "&#xA;&#10;",
	"שידה גבוהה מעץ אלון", "خزانة أدراج", "木の箪笥、引き出し六段", "👩‍🔧🪵 chest 🚪",
	"a\x00b\x01c\x1bd\x7fe\u0085f", "before\u202eafter\u2066", "bad \xff\xfe utf8", "tab\there\r\nand there",
	strings.Repeat("W", 200), strings.Repeat("long ", 1000), strings.Repeat("x", 5000), strings.Repeat("é", 40_000),
	"one\n\n\ntwo\n" + strings.Repeat("\n", 500) + "three",
}

// hostile is a paper with nasty text wherever people write. What a request
// refuses is written into its costing, as another version might have let it.
func hostile(t testing.TB) exports.Paper {
	t.Helper()
	p := papers(t)["full-quotation"]
	p.Title, p.Number, p.Revision = nasty[0], "&P&N"+nasty[1], 1
	p.Customer = &pricing.Customer{Name: nasty[4], Address: nasty[:8], DeliveryAddress: nasty[8:13], Email: nasty[3]}
	c := &p.Costing
	c.Pieces = slices.Clone(c.Pieces)
	for i := range c.Pieces {
		c.Pieces[i].Title = nasty[i] + " " + nasty[len(nasty)-6+i]
	}
	c.Terms.Workshop = book.Workshop{Name: nasty[2] + nasty[16], Address: nasty[5:12], Numbers: nasty[12:16], Phone: nasty[1]}
	c.Terms.Conditions = nil
	for _, s := range nasty {
		c.Terms.Conditions = append(c.Terms.Conditions, book.Condition{Title: s, Text: s})
	}
	return p
}

// letters is what of a text must come through: all but space, control
// characters, overrides of direction and bad UTF-8.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.IsControl(r) || r == '\u202e' || r == '\u2066' {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
}

func TestHostileTextStaysText(t *testing.T) {
	p := hostile(t)
	file := written(t, p)
	all := cells(t, file)
	formulas := 0
	for _, c := range all {
		if c.formula != "" {
			formulas++
			assert.NotContains(t, c.formula, "HYPERLINK")
		}
		assert.True(t, utf8.ValidString(c.text))
		assert.NotContains(t, c.text, "\ufffd")
		assert.LessOrEqual(t, utf8.RuneCountInString(c.text), 32_767)
		for _, r := range c.text {
			assert.False(t, unicode.IsControl(r), "%q", c.text)
		}
	}
	assert.Len(t, figures(p), formulas, "no text has become a formula")
	got := letters(texts(all))
	for _, s := range nasty {
		assert.True(t, strings.Contains(got, letters(s)), "%.40q", s)
	}
	for _, o := range p.Costing.Pieces { // a title is one cell, cut to what a cell holds
		title := letters(o.Title)
		assert.True(t, strings.Contains(got, title[:min(len(title), 2*30_000)]), "%.40s", title)
	}
	assert.Contains(t, parts(t, file)["xl/worksheets/sheet1.xml"], "Quotation &amp;&amp;P&amp;&amp;N+1+1&amp;R", "an ampersand in the footer is doubled")
}

func TestHostileTextOnATerminal(t *testing.T) {
	said := summarised(t, hostile(t))
	for _, r := range said {
		assert.True(t, r == '\n' || !unicode.IsControl(r), "%U", r)
	}
	assert.True(t, utf8.ValidString(said))
}
