package exports_test

import (
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/exports"
)

// The shares of the sheet by hand: the parts are 0.738 + 0.0738 + 2 x 0.072 + 0.00875
// = 0.96455 m2 of 3.125, 30.9 %; the offcuts 0.8204 + 1.23984 = 2.06024 m2, 65.9 %.
func TestCuttingDiagramSaysWhatItIs(t *testing.T) {
	all := elements(t, diagram(t, byHand(t), "panel-18", 1))
	var said []string
	for _, e := range named(all, "text") {
		said = append(said, e.text)
	}
	assert.Equal(t, "Panel, 18 mm (panel-18)", said[0])
	assert.Equal(t, "Cutting layout 1 of 1, cut three times; sizes in millimetres, scale 1:10. Parts take 30.9 % of the sheet, two offcuts to keep 65.9 %, waste 3.2 %.", said[1])
	assert.Equal(t, "Kerf 4 mm, trim 10 mm along each edge; parts may turn. In all 3 sheets; no layout can do it with fewer.", said[2])
	assert.Equal(t, "img", all[0].attr["role"])
	assert.Equal(t, "Cutting layout 1 of 1 of Panel, 18 mm (panel-18), 2500 x 1250 mm, cut three times. Parts: 1 of A, 2 of B, 1 of C, 1 of D. "+
		"Seven cuts; offcuts 800 x 1025.5, 1008 x 1230 mm.", named(all, "desc")[0].text)
	p := byHand(t)
	p.Costing.Cutting[0].Grain = true
	assert.Contains(t, string(diagram(t, p, "panel-18", 1)), "the grain runs along the length and no part turns")
}

// Long and hostile names stay text, in their column and on the page.
func TestCuttingDiagramOfHostileNames(t *testing.T) {
	for _, s := range append(slices.Clone(nasty), "</text><script>alert(1)</script>", `" onload="x`, strings.Repeat("W", 300)) {
		p := byHand(t)
		plan := &p.Costing.Cutting[0]
		plan.Description, plan.Finding = s, "3 sheets; "+s[:min(len(s), 200)]
		for i := range plan.Parts {
			plan.Parts[i].Name = s
		}
		p.Costing.Pieces[0].Title = s
		all := elements(t, diagram(t, p, "panel-18", 1))
		wide, high := all[0].page(t)
		assert.LessOrEqual(t, wide, 277.0)
		for _, e := range all {
			assert.Contains(t, []string{"svg", "title", "desc", "rect", "line", "polygon", "text"}, e.name)
			for a := range e.attr {
				assert.False(t, strings.HasPrefix(a, "on") || a == "href", "%s %s", e.name, a)
			}
			if e.name != "text" {
				continue
			}
			is := e.covers(t)
			assert.True(t, is.x0 >= 0 && is.x1 <= wide+0.001 && is.y1 <= high, "%.60q: %v", e.text, is)
			if e.attr["font-size"] == "2.6" && e.attr["transform"] == "" && strings.HasSuffix(e.text, "…") {
				assert.Less(t, is.x1-is.x0, 60.0, "a name stays in its column: %q", e.text)
			}
		}
		assert.Equal(t, byHandMarks, marksOf(all), "%.40q", s)
	}
}

// byHandMarks are the marks within the sheet by hand, in their order; C is too narrow.
var byHandMarks = []string{"A", "D", "B", "B"}

// marksOf returns the marks of the parts that are drawn, in order.
func marksOf(all []element) []string {
	var marks []string
	for _, e := range named(all, "text") {
		if first, _, _ := strings.Cut(e.text, " "); slices.Contains([]string{"A", "B", "C", "D"}, first) && e.attr["text-anchor"] == "middle" {
			marks = append(marks, first)
		}
	}
	return marks
}

func TestCuttingDiagramRefusals(t *testing.T) {
	p := byHand(t)
	for _, tt := range []struct {
		code   string
		layout int
		want   string
	}{
		{"panel-19", 1, `exports: the costing has no cutting plan of "panel-19"`}, {"", 1, `exports: the costing has no cutting plan of ""`},
		{"panel-18", 0, "exports: the cutting plan of panel-18 has no layout 0"}, {"panel-18", 2, "exports: the cutting plan of panel-18 has no layout 2"},
		{"panel-18", -1, "exports: the cutting plan of panel-18 has no layout -1"},
	} {
		assert.EqualError(t, exports.CuttingDiagram(io.Discard, p, tt.code, tt.layout), tt.want)
	}
	assert.Error(t, exports.CuttingDiagram(io.Discard, exports.Paper{}, "panel-18", 1))
	assert.Equal(t, io.ErrShortWrite, exports.CuttingDiagram(refusing{}, p, "panel-18", 1))
}
