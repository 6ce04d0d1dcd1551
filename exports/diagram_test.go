package exports_test

import (
	"bytes"
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

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// diagram is the SVG of one layout of p.
func diagram(t testing.TB, p exports.Paper, code string, layout int) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, exports.CuttingDiagram(&out, p, code, layout))
	return out.Bytes()
}

// plotted is one layout and its diagram.
type plotted struct {
	name   string
	plan   *pricing.SheetPlan
	layout *pricing.Layout
	all    []element
}

// diagrams draws every layout of every paper that has any, and one by hand.
func diagrams(t testing.TB) []plotted {
	t.Helper()
	var list []plotted
	all := workshopPapers(t)
	all["by hand"] = byHand(t)
	all["long"], all["upright"], all["little"] = onSheet(t, 20_000, 80), onSheet(t, 40, 20_000), onSheet(t, 60, 45)
	for name, p := range all {
		for i := range p.Costing.Cutting {
			plan := &p.Costing.Cutting[i]
			for k := range plan.Layouts {
				list = append(list, plotted{
					fmt.Sprintf("%s, %s %d", name, plan.Code, k+1), plan, &plan.Layouts[k], elements(t, diagram(t, p, plan.Code, k+1)),
				})
			}
		}
	}
	require.Greater(t, len(list), 30)
	return list
}

// onSheet is the paper of parts cut from a sheet of an extreme size.
func onSheet(t testing.TB, long, across unit.Length) exports.Paper {
	t.Helper()
	d := *starter(t).Data()
	d.Sheets = slices.Clone(d.Sheets)
	s := the(d.Sheets, func(s *book.Sheet) string { return s.Code }, "mdf-6")
	s.Length, s.Width = long*unit.Millimetre, across*unit.Millimetre
	b, err := book.New(d)
	require.NoError(t, err)
	return paper(t, decoded(t, `{"pieces": [{"title": "Slips", "kind": "parts", "parts": {"parts": [
		{"name": "Slip", "quantity": 30, "length": 35, "width": 15, "material": "mdf-6"}, {"name": "Tag", "quantity": 7, "length": 22.5, "width": 3, "material": "mdf-6"}]}}],
		"terms": {"trim": 2, "kerf": 1.5, "offcut_min": 10}}`), b)
}

// byHand is the paper of a layout that no planner made: a sheet of 2500 x 1250 with
// trim 10 and kerf 4, on which a part of each kind lies: large, turned, narrow, and
// too narrow for its mark.
func byHand(t testing.TB) exports.Paper {
	t.Helper()
	d := func(s string) num.Decimal { return decimalOf(s) }
	at := func(mark, x, y, long, across string, turned bool) pricing.Placed {
		return pricing.Placed{Mark: mark, X: d(x), Y: d(y), Length: d(long), Width: d(across), Turned: turned}
	}
	return exports.Paper{Costing: pricing.Costing{
		Pieces: []pricing.PricedPiece{{ID: "case", Title: "Case"}, {ID: "door", Title: "Door"}},
		Cutting: []pricing.SheetPlan{{
			Code: "panel-18", Description: "Panel, 18 mm", Units: unit.InMillimetres, Length: d("2500"), Width: d("1250"), Kerf: d("4"), Trim: d("10"), OffcutMin: d("300"),
			SheetArea: d("3.125"), Sheets: 3, Bound: 3, Apart: 3, Finding: "3 sheets; no layout can do it with fewer",
			Parts: []pricing.SheetPart{
				{Mark: "A", Piece: "case", Name: "Side", Length: d("1230"), Width: d("600"), Quantity: 3}, {Mark: "B", Piece: "case", Name: "Shelf", Length: d("800"), Width: d("90"), Quantity: 6},
				{Mark: "C", Piece: "door", Name: "Edging", Length: d("700"), Width: d("12.5"), Quantity: 3}, {Mark: "D", Piece: "door", Name: "Post", Length: d("1230"), Width: d("60"), Quantity: 3},
			},
			Layouts: []pricing.Layout{{
				Number: 1, Count: 3,
				Placed: []pricing.Placed{
					at("A", "10", "10", "600", "1230", true), at("D", "614", "10", "60", "1230", true),
					at("B", "678", "10", "800", "90", false), at("B", "678", "104", "800", "90", false), at("C", "678", "198", "700", "12.5", false),
				},
				Offcuts: []pricing.Placed{at("", "678", "214.5", "800", "1025.5", false), at("", "1482", "10", "1008", "1230", false)},
				Cuts: []pricing.SheetCut{
					{Number: 1, At: d("610"), From: d("10"), To: d("1240"), Size: d("600")}, {Number: 2, At: d("674"), From: d("10"), To: d("1240"), Size: d("60")},
					{Number: 3, At: d("1478"), From: d("10"), To: d("1240"), Size: d("800")}, {Number: 4, Along: true, At: d("100"), From: d("678"), To: d("1478"), Size: d("90")},
					{Number: 5, Along: true, At: d("194"), From: d("678"), To: d("1478"), Size: d("90")}, {Number: 6, Along: true, At: d("210.5"), From: d("678"), To: d("1478"), Size: d("12.5")},
					{Number: 7, At: d("1378"), From: d("198"), To: d("210.5"), Size: d("700")},
				},
			}},
		}},
	}}
}

func TestCuttingDiagramGolden(t *testing.T) {
	path := filepath.Join("testdata", "cutting-layout.svg")
	got := diagram(t, byHand(t), "panel-18", 1)
	if *update {
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
	var again bytes.Buffer
	require.NoError(t, exports.CuttingDiagram(&again, byHand(t), "panel-18", 1))
	assert.Equal(t, string(got), again.String())
}

// A span is what a rectangle or a text covers of a page, in millimetres.
type span struct{ x0, y0, x1, y1 float64 }

func (s span) within(o span, slack float64) bool {
	return s.x0 >= o.x0-slack && s.y0 >= o.y0-slack && s.x1 <= o.x1+slack && s.y1 <= o.y1+slack
}

func (s span) meets(o span, slack float64) bool {
	return s.x0 < o.x1-slack && o.x0 < s.x1-slack && s.y0 < o.y1-slack && o.y0 < s.y1-slack
}

// letterWidth is about how wide a letter is of its size. Source: Arial's widths, from
// memory.
func letterWidth(r rune) float64 {
	switch {
	case strings.ContainsRune("iljtfI.,;:'|()[]! /", r):
		return 0.28
	case strings.ContainsRune("mwMW%@", r):
		return 0.85
	case r >= 'A' && r <= 'Z', r > 0x250:
		return 0.7
	}
	return 0.54
}

// covers returns what an element covers; of a text its letters.
func (e *element) covers(t testing.TB) span {
	t.Helper()
	switch e.name {
	case "rect":
		x, y := e.number(t, "x"), e.number(t, "y")
		return span{x, y, x + e.number(t, "width"), y + e.number(t, "height")}
	case "line":
		x1, y1, x2, y2 := e.number(t, "x1"), e.number(t, "y1"), e.number(t, "x2"), e.number(t, "y2")
		return span{min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)}
	}
	require.Equal(t, "text", e.name)
	x, y, size := e.number(t, "x"), e.number(t, "y"), e.number(t, "font-size")
	long := 0.0
	for _, r := range e.text {
		long += size * letterWidth(r)
	}
	before := map[string]float64{"start": 0, "middle": 0.5, "end": 1}[e.attr["text-anchor"]] * long
	if turn := e.attr["transform"]; turn != "" {
		require.Equal(t, fmt.Sprintf("rotate(-90 %s %s)", e.attr["x"], e.attr["y"]), turn)
		return span{x - size*0.72, y - long + before, x, y + before}
	}
	return span{x - before, y - size*0.72, x - before + long, y}
}

// number is a figure of the costing as a float, exact enough for a page.
func float(d num.Decimal) float64 { return float64(d) / 1e6 }

// scaleOf returns how many millimetres of the sheet are one of the page.
func (p *plotted) scaleOf(t testing.TB) float64 {
	t.Helper()
	for _, e := range named(p.all, "text") {
		if m := regexp.MustCompile(`scale 1:(\d+)\.`).FindStringSubmatch(e.text); m != nil {
			n, err := strconv.ParseFloat(m[1], 64)
			require.NoError(t, err)
			if p.plan.Units == unit.InInches {
				return n / 25.4
			}
			return n
		}
	}
	require.Fail(t, "no scale", p.name)
	return 0
}

// rectangles are those of a diagram: the sheet, what its trim leaves, offcuts, parts
// and the tags of cuts.
func (p *plotted) rectangles(t testing.TB) (sheet, trimmed element, offcuts, parts, tags []element) {
	t.Helper()
	list := named(p.all, "rect")[1:] // without the paper
	sheet, list = list[0], list[1:]
	trimmed = sheet
	if p.plan.Trim > 0 {
		trimmed, list = list[0], list[1:]
	}
	n := len(p.layout.Offcuts)
	m := n + len(p.layout.Placed)
	require.GreaterOrEqual(t, len(list), m, p.name)
	return sheet, trimmed, list[:n], list[n:m], list[m:]
}

// Every part and offcut is drawn once where it lies, to a thousandth of a millimetre
// of paper at the scale written on the page, within the sheet's trim and over no other.
func TestCuttingDiagramIsToScale(t *testing.T) {
	for _, p := range diagrams(t) {
		scale := p.scaleOf(t)
		sheet, trimmed, offcuts, parts, tags := p.rectangles(t)
		outside := sheet.covers(t)
		assert.InDelta(t, float(p.plan.Length)/scale, outside.x1-outside.x0, 0.0021, p.name)
		assert.InDelta(t, float(p.plan.Width)/scale, outside.y1-outside.y0, 0.0021, p.name)
		trim := float(p.plan.Trim) / scale
		inner := trimmed.covers(t)
		assert.InDelta(t, outside.x0+trim, inner.x0, 0.0031, p.name)
		assert.InDelta(t, outside.y0+trim, inner.y0, 0.0031, p.name)
		assert.InDelta(t, outside.x1-trim, inner.x1, 0.0031, p.name)
		assert.InDelta(t, outside.y1-trim, inner.y1, 0.0031, p.name)
		var all []span
		for i, e := range slices.Concat(offcuts, parts) {
			of := slices.Concat(p.layout.Offcuts, p.layout.Placed)[i]
			is := e.covers(t)
			assert.InDelta(t, outside.x0+float(of.X)/scale, is.x0, 0.0021, p.name)
			assert.InDelta(t, outside.y1-float(of.Y+of.Width)/scale, is.y0, 0.0021, p.name)
			assert.InDelta(t, float(of.Length)/scale, is.x1-is.x0, 0.0021, p.name)
			assert.InDelta(t, float(of.Width)/scale, is.y1-is.y0, 0.0021, p.name)
			assert.True(t, is.within(inner, 0.004), "%s: %v is not within %v", p.name, is, inner)
			for _, other := range all {
				assert.False(t, is.meets(other, 0.004), "%s: %v lies over %v", p.name, is, other)
			}
			all = append(all, is)
		}
		for _, e := range tags {
			is := e.covers(t)
			assert.True(t, is.within(outside, 0.002), "%s: a number stands off the sheet: %v", p.name, is)
		}
	}
}

// Every cut is drawn once, in its order, where the costing says, in the middle of
// the kerf and as wide where that can be seen.
func TestCuttingDiagramDrawsTheCuts(t *testing.T) {
	for _, p := range diagrams(t) {
		scale := p.scaleOf(t)
		sheet, _, _, _, _ := p.rectangles(t)
		outside := sheet.covers(t)
		lines := slices.DeleteFunc(named(p.all, "line"), func(e element) bool { return e.attr["stroke"] != "#222222" })
		require.Len(t, lines, len(p.layout.Cuts), p.name)
		for i, c := range p.layout.Cuts {
			is, middle := lines[i].covers(t), float(c.At+p.plan.Kerf/2)/scale
			want := span{outside.x0 + middle, outside.y1 - float(c.To)/scale, outside.x0 + middle, outside.y1 - float(c.From)/scale}
			if c.Along {
				want = span{outside.x0 + float(c.From)/scale, outside.y1 - middle, outside.x0 + float(c.To)/scale, outside.y1 - middle}
			}
			for k, got := range []float64{is.x0, is.y0, is.x1, is.y1} {
				assert.InDelta(t, []float64{want.x0, want.y0, want.x1, want.y1}[k], got, 0.0031, "%s: cut %d", p.name, c.Number)
			}
			assert.InDelta(t, max(0.25, float(p.plan.Kerf)/scale), lines[i].number(t, "stroke-width"), 0.001, p.name)
		}
	}
}

// inside returns the texts that lie within an element, with their places.
func inside(t testing.TB, all []element, in element) []element {
	t.Helper()
	room := in.covers(t)
	return slices.DeleteFunc(named(all, "text"), func(e element) bool {
		is := e.covers(t)
		x, y := (is.x0+is.x1)/2, (is.y0+is.y1)/2
		return x < room.x0 || x > room.x1 || y < room.y0 || y > room.y1
	})
}

// Within every part stands its mark, with its sizes or without, once and nowhere
// beyond it; of a part too narrow the page says so.
func TestCuttingDiagramMarksEveryPart(t *testing.T) {
	narrow := 0
	for _, p := range diagrams(t) {
		_, _, offcuts, parts, _ := p.rectangles(t)
		note := ""
		for _, e := range named(p.all, "text") {
			note += e.text + " "
		}
		_, note, _ = strings.Cut(note, "Too narrow here for a mark: ")
		for i, e := range parts {
			mark := p.layout.Placed[i].Mark
			marked := slices.DeleteFunc(inside(t, p.all, e), func(s element) bool { return strings.Split(s.text, " ")[0] != mark })
			if len(marked) == 0 {
				narrow++
				assert.Contains(t, regexp.MustCompile("[A-Z]+").FindAllString(note, -1), mark, p.name)
				is := e.covers(t)
				assert.Less(t, min(is.x1-is.x0, is.y1-is.y0), 2.0, "%s: %s", p.name, mark)
				continue
			}
			assert.Len(t, marked, 1, "%s: %s", p.name, mark)
			is := marked[0].covers(t)
			assert.True(t, is.within(e.covers(t), 0.01), "%s: %s at %v leaves its part", p.name, mark, is)
		}
		for i, e := range offcuts {
			if is := e.covers(t); min(is.x1-is.x0, is.y1-is.y0) < 2 || max(is.x1-is.x0, is.y1-is.y0) < 20 {
				continue // no room: the list says it
			}
			o := p.layout.Offcuts[i]
			want := figure(p.plan.Units, o.Length) + " x " + figure(p.plan.Units, o.Width)
			assert.True(t, slices.ContainsFunc(inside(t, p.all, e), func(s element) bool { return strings.TrimPrefix(s.text, "offcut ") == want }), "%s: %s", p.name, want)
		}
	}
	assert.Positive(t, narrow, "parts too narrow for a mark are among them")
}

// figure is a size in millimetres to a hundredth, in inches to a thousandth unless it
// is a whole number of sixty-fourths.
func figure(s unit.System, d num.Decimal) string {
	if s != unit.InInches {
		return d.Round(2).String()
	}
	if whole := d / num.One; d*64%num.One == 0 && d%num.One != 0 {
		over, under := d%num.One*64/num.One, num.Decimal(64)
		for over%2 == 0 {
			over, under = over/2, under/2
		}
		return strings.TrimPrefix(fmt.Sprintf("%d %d/%d", whole, over, under), "0 ")
	}
	return d.Round(3).String()
}

// No text within the sheet stands over another, and nothing leaves the page, which
// an A4 page across takes unless its lists are long.
func TestCuttingDiagramIsReadable(t *testing.T) {
	for _, p := range diagrams(t) {
		wide, high := p.all[0].page(t)
		assert.LessOrEqual(t, wide, 277.0, p.name)
		if len(p.layout.Cuts)+len(p.plan.Parts) < 20 {
			assert.LessOrEqual(t, high, 277.0, p.name)
			assert.True(t, high <= 200 || wide <= 190, "%s: %g x %g", p.name, wide, high)
		}
		sheet, _, _, _, _ := p.rectangles(t)
		room := sheet.covers(t)
		var before []span
		for _, e := range p.all[1:] {
			switch e.name {
			case "rect", "line", "text":
				is := e.covers(t)
				assert.True(t, is.within(span{0, 0, wide, high}, 0.001), "%s: %v at %v of %g x %g", p.name, e, is, wide, high)
				if e.name == "text" && is.within(room, 0) {
					assert.GreaterOrEqual(t, e.number(t, "font-size"), 1.6)
					for _, other := range before {
						assert.False(t, is.meets(other, 0.05), "%s: %q stands over another", p.name, e.text)
					}
					before = append(before, is)
				}
			case "polygon", "title", "desc":
			default:
				t.Errorf("%s: what is a %s?", p.name, e.name)
			}
		}
	}
}

// The lists below say each part of the layout and how many, each cut in its order,
// and what is to keep.
func TestCuttingDiagramLists(t *testing.T) {
	for _, p := range diagrams(t) {
		texts := ""
		for _, e := range named(p.all, "text") {
			texts += e.text + "|"
		}
		for _, c := range p.layout.Cuts {
			way := map[bool]string{true: "along", false: "across"}[c.Along]
			want := fmt.Sprintf("%d|%s|%s|%s|", c.Number, way, figure(p.plan.Units, c.At), figure(p.plan.Units, c.Size))
			assert.Equal(t, 1, strings.Count("|"+texts, "|"+want), "%s: %s", p.name, want)
		}
		n := make(map[string]int)
		for _, s := range p.layout.Placed {
			n[s.Mark]++
		}
		for _, s := range p.plan.Parts {
			pattern := fmt.Sprintf(`\|%s\|[^|]*\|%s\|%d\|`, s.Mark, regexp.QuoteMeta(figure(p.plan.Units, s.Length)+" x "+figure(p.plan.Units, s.Width)), n[s.Mark])
			assert.Equal(t, n[s.Mark] > 0, regexp.MustCompile(pattern).MatchString("|"+texts), "%s: %s", p.name, pattern)
		}
		assert.Equal(t, len(p.layout.Offcuts) > 0, strings.Contains(texts, "Offcuts, as they lie"), p.name)
		assert.Equal(t, p.plan.Trim > 0, strings.Contains(texts, "|First|trim "), p.name)
	}
}
