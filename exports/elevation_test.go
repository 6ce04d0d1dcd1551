package exports_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math/big"
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
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// An element is one of an SVG file, with the text in it.
type element struct {
	name string
	attr map[string]string
	text string
}

// number reads an attribute, in millimetres of the paper.
func (e *element) number(t testing.TB, name string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(e.attr[name], 64)
	require.NoError(t, err, "%s of %s", name, e.name)
	return f
}

// elements reads an SVG file, which must be well formed and of one root.
func elements(t testing.TB, svg []byte) []element {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	var all []element
	depth := 0
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		switch v := token.(type) {
		case xml.StartElement:
			require.True(t, depth > 0 || len(all) == 0, "a second root")
			depth++
			e := element{name: v.Name.Local, attr: make(map[string]string)}
			for _, a := range v.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			all = append(all, e)
		case xml.EndElement:
			depth--
		case xml.CharData:
			if s := string(v); len(all) > 0 && strings.TrimSpace(s) != "" {
				all[len(all)-1].text += s
			}
		}
	}
	return all
}

// named returns the elements of a name.
func named(all []element, name string) []element {
	return slices.DeleteFunc(slices.Clone(all), func(e element) bool { return e.name != name })
}

// elevation is the SVG of the first piece of p that has a front, and its place.
func elevation(t testing.TB, p exports.Paper) ([]byte, int) {
	t.Helper()
	i, ok := exports.FrontPiece(p)
	require.True(t, ok)
	var out bytes.Buffer
	require.NoError(t, exports.Elevation(&out, p, i))
	return out.Bytes(), i
}

// fronted is every paper with a front to draw, and some with extreme sizes.
func fronted(t testing.TB) map[string]exports.Paper {
	t.Helper()
	all := papers(t)
	for name := range all {
		if _, ok := exports.FrontPiece(all[name]); !ok {
			delete(all, name)
		}
	}
	require.GreaterOrEqual(t, len(all), 5)
	for name, text := range map[string]string{
		"wide":   `"width": 20000, "height": 400, "rows": [{"across": 20}]`,
		"high":   `"width": 300, "height": 20000, "rows": [{}, {}, {}]`,
		"little": `"width": 190, "height": 200, "plinth": 0, "rows": [{}], "rail": 20`,
		"many":   `"width": 1200, "height": 4000, "rows": [` + strings.Repeat("{},", 39) + `{"across": 9}]`,
		"thirds": `"width": 777.7777, "height": 1000.1234, "rows": [{}, {}, {}]`,
		"flush":  `"width": 600, "height": 700, "side_overhang": 0, "rows": [{"height": 200}, {}]`,
	} {
		all[name] = chest(t, name, text)
	}
	return all
}

// chest is the paper of a chest that is not priced.
func chest(t testing.TB, title, members string) exports.Paper {
	t.Helper()
	r := decoded(t, `{"pieces": [{"title": "`+title+`", "kind": "chest", "chest": {"depth": 500, `+members+`}}]}`)
	return exports.Paper{Request: r}
}

func TestElevationGolden(t *testing.T) {
	path := filepath.Join("testdata", "tall-chest.svg")
	got, _ := elevation(t, papers(t)["tall-chest"])
	if *update {
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
}

var scaled = regexp.MustCompile(`scale 1:(\d+)$`)

// Every rectangle of the front stands on the page where it should, to a
// thousandth of a millimetre of paper, at the scale written on it.
func TestElevationIsToScale(t *testing.T) {
	for name, p := range fronted(t) {
		svg, i := elevation(t, p)
		all := elements(t, svg)
		front, ok := p.Request.Pieces[i].Front()
		require.True(t, ok)
		scale := 0.0
		for _, e := range named(all, "text") {
			if m := scaled.FindStringSubmatch(e.text); m != nil {
				n, err := strconv.Atoi(m[1])
				require.NoError(t, err)
				scale = float64(n)
			}
		}
		require.Positive(t, scale, name)
		drawn := named(all, "rect")[1:] // without the paper
		require.Len(t, drawn, len(front)-1, name)
		x0 := drawn[0].number(t, "x") // the top begins where the front does
		floor := drawn[1].number(t, "y") + drawn[1].number(t, "height")
		paper := func(l unit.Length) float64 { return float64(l) / 1e6 / scale }
		for k, r := range front[1:] {
			d := &drawn[k]
			what := fmt.Sprint(name, " ", r)
			assert.InDelta(t, x0+paper(r.X), d.number(t, "x"), 0.0021, what)
			assert.InDelta(t, floor-paper(r.Y+r.Height), d.number(t, "y"), 0.0021, what)
			assert.InDelta(t, paper(r.Width), d.number(t, "width"), 0.0011, what)
			assert.InDelta(t, paper(r.Height), d.number(t, "height"), 0.0011, what)
		}
	}
}

// Nothing is drawn off the page; of a text its letters, of about half their size
// each.
func TestElevationStaysOnThePage(t *testing.T) {
	for name, p := range fronted(t) {
		svg, _ := elevation(t, p)
		all := elements(t, svg)
		view := strings.Fields(all[0].attr["viewBox"])
		require.Len(t, view, 4)
		assert.Equal(t, []string{"0", "0"}, view[:2])
		assert.Equal(t, all[0].attr["width"], view[2]+"mm")
		assert.Equal(t, all[0].attr["height"], view[3]+"mm")
		wide, high := all[0].page(t)
		assert.Less(t, max(wide, high), 230.0, name)
		within := func(e element, x, y float64) {
			assert.True(t, x >= 0 && x <= wide && y >= 0 && y <= high, "%s: %v at %g, %g of %g x %g", name, e, x, y, wide, high)
		}
		for _, e := range all[1:] {
			switch e.name {
			case "rect":
				within(e, e.number(t, "x"), e.number(t, "y"))
				within(e, e.number(t, "x")+e.number(t, "width"), e.number(t, "y")+e.number(t, "height"))
			case "line":
				within(e, e.number(t, "x1"), e.number(t, "y1"))
				within(e, e.number(t, "x2"), e.number(t, "y2"))
			case "polygon":
				for _, at := range strings.Fields(e.attr["points"]) {
					var x, y float64
					_, err := fmt.Sscanf(at, "%g,%g", &x, &y)
					require.NoError(t, err)
					within(e, x, y)
				}
			case "text":
				size := e.number(t, "font-size")
				long := float64(len([]rune(e.text))) * size * 0.52
				x := e.number(t, "x") - map[string]float64{"start": 0, "middle": 0.5, "end": 1}[e.attr["text-anchor"]]*long
				within(e, x, e.number(t, "y")-size*0.72)
				within(e, x+long, e.number(t, "y"))
			case "title", "desc":
			default:
				t.Errorf("%s: what is a %s?", name, e.name)
			}
		}
	}
}

// page returns how large a drawing is, in millimetres.
func (e *element) page(t testing.TB) (wide, high float64) {
	t.Helper()
	_, err := fmt.Sscanf(e.attr["viewBox"], "0 0 %g %g", &wide, &high)
	require.NoError(t, err)
	return wide, high
}

// The figures on a drawing are those of the request, and the rest of the height
// for rows that share it.
func TestElevationFigures(t *testing.T) {
	all := fronted(t)
	for _, tt := range []struct {
		name string
		want []string // width, height, rows from the top
	}{
		{"tall-chest", []string{"900", "1200", "130", "160", "190", "220", "275"}},        // 1200 - 25 - 80 - 6 x 20 - 700
		{"low-chest", []string{"1500", "640", "120", "167.5", "167.5"}},                   // (640 - 25 - 80 - 4 x 20 - 120) / 2
		{"inch-chest", []string{"36", "42", "5 1/4", "6 1/2", "7 3/4", "14 5/16"}},        // 42 - 1 - 3 1/8 - 5 x 13/16 - 19 1/2
		{"full-quotation", []string{"820", "980", "140", "180", "227.5", "227.5"}},        // (980 - 25 - 80 - 5 x 20 - 320) / 2
		{"thirds", []string{"777.7777", "1000.1234", "271.7078", "271.7078", "271.7078"}}, // (1000.1234 - 185) / 3
		{"many", []string{"1200", "4000"}},                                                // no room for forty
	} {
		svg, _ := elevation(t, all[tt.name])
		var got []string
		for _, e := range named(elements(t, svg), "text") {
			if e.attr["font-size"] == "3.2" {
				got = append(got, e.text)
			}
		}
		assert.Equal(t, tt.want, got, tt.name)
	}
}

// A dimension line is as long as what its figure says, at the scale of the page:
// from the tip of one arrow to the tip of the next.
func TestDimensionLinesMeasureTheirFigures(t *testing.T) {
	for _, name := range []string{"tall-chest", "low-chest", "full-quotation"} {
		svg, _ := elevation(t, fronted(t)[name])
		all := elements(t, svg)
		var tips [][2]float64
		for _, e := range named(all, "polygon") {
			var x, y float64
			_, err := fmt.Sscanf(e.attr["points"], "%g,%g", &x, &y)
			require.NoError(t, err)
			tips = append(tips, [2]float64{x, y})
		}
		n := 0
		for _, e := range named(all, "text") {
			if e.attr["font-size"] != "3.2" {
				continue
			}
			figure, ok := new(big.Rat).SetString(e.text)
			require.True(t, ok)
			want, _ := figure.Float64()
			a, b := tips[2*n], tips[2*n+1]
			assert.InDelta(t, want/10, max(b[0]-a[0], a[0]-b[0], b[1]-a[1], a[1]-b[1]), 0.003, "%s: %s", name, e.text)
			n++
		}
		assert.Len(t, tips, 2*n)
	}
}

func TestElevationOfHostileTitles(t *testing.T) {
	for _, title := range append(slices.Clone(nasty), strings.Repeat("AV ", 60), "</text><script>alert(1)</script>", `" onload="x`) {
		p := papers(t)["tall-chest"]
		p.Request.Pieces = slices.Clone(p.Request.Pieces)
		p.Request.Pieces[0].Title = title
		svg, _ := elevation(t, p)
		all := elements(t, svg)
		for _, e := range all {
			assert.Contains(t, []string{"svg", "title", "desc", "rect", "line", "polygon", "text"}, e.name)
			for a := range e.attr {
				assert.False(t, strings.HasPrefix(a, "on") || a == "href", "%s %s", e.name, a)
			}
		}
		said := letters(named(all, "title")[0].text)
		assert.True(t, strings.HasPrefix(letters(title), said) && said != "", "%.60q as %.60q", title, said)
		lines := 0
		shown := ""
		for _, e := range named(all, "text") {
			if e.attr["font-size"] == "4.4" {
				lines++
				shown += letters(e.text)
			}
		}
		assert.True(t, lines >= 1 && lines <= 2, "%d lines", lines)
		assert.True(t, strings.HasPrefix(said, strings.TrimSuffix(shown, "…")), "%q", shown)
	}
}

func TestElevationIsTheSameBytes(t *testing.T) {
	p := papers(t)["low-chest"]
	first, _ := elevation(t, p)
	for range 5 {
		again, _ := elevation(t, p)
		assert.True(t, bytes.Equal(first, again))
	}
}

func TestElevationTellsWhoCannotSeeIt(t *testing.T) {
	svg, _ := elevation(t, papers(t)["tall-chest"])
	all := elements(t, svg)
	assert.Equal(t, "img", all[0].attr["role"])
	ids := strings.Fields(all[0].attr["aria-labelledby"])
	require.Len(t, ids, 2)
	assert.Equal(t, ids, []string{named(all, "title")[0].attr["id"], named(all, "desc")[0].attr["id"]})
	assert.Equal(t, "Front elevation of Tall chest of six drawers: 900 mm wide, 1200 mm high, six drawers. "+
		"Openings from the top, mm high: 130 (two across), 160, 190, 220, 275.", named(all, "desc")[0].text)
}

func TestOnlyAChestHasAnElevation(t *testing.T) {
	all := papers(t)
	for _, name := range []string{"drawer-boxes", "free-parts", "extras-only"} {
		_, ok := exports.FrontPiece(all[name])
		assert.False(t, ok, name)
		assert.Error(t, exports.Elevation(io.Discard, all[name], 0), name)
	}
	i, ok := exports.FrontPiece(exports.Paper{Request: pricing.Request{Pieces: []piece.Piece{
		{Kind: "service", Service: &piece.Service{Site: num.One}}, all["tall-chest"].Request.Pieces[0],
	}}})
	assert.True(t, ok)
	assert.Equal(t, 1, i)
	for _, i := range []int{-1, 1, 100} {
		assert.Error(t, exports.Elevation(io.Discard, all["tall-chest"], i))
	}
	assert.Equal(t, io.ErrShortWrite, exports.Elevation(refusing{}, all["tall-chest"], 0))
}

// A refusing writer takes nothing.
type refusing struct{}

func (refusing) Write([]byte) (int, error) { return 0, io.ErrShortWrite }
