package exports

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// drawn is a chest of three drawers, 800 mm wide and 900 mm high.
func drawn(t *testing.T, how draughting) drawing {
	t.Helper()
	height := num.Whole(200)
	p := Paper{Request: pricing.Request{Pieces: []piece.Piece{{Title: "Chest", Kind: "chest", Chest: &piece.Chest{
		Width: num.Whole(800), Depth: num.Whole(450), Height: num.Whole(900), Rows: []piece.Row{{Height: &height, Across: 2}, {}},
	}}}}}
	d, ok := p.draw(0, how)
	require.True(t, ok)
	return d
}

// picture decodes what d paints that many pixels wide.
func picture(t *testing.T, d drawing, width int) image.Image {
	t.Helper()
	file, err := d.png(width)
	require.NoError(t, err)
	m, err := png.Decode(bytes.NewReader(file))
	require.NoError(t, err)
	return m
}

// tone is the grey of one pixel.
func tone(m image.Image, x, y int) grey {
	r, g, b, a := m.At(x, y).RGBA()
	if r != g || g != b || a != 0xffff {
		return 1 // no grey of ours
	}
	return grey(r >> 8)
}

func TestPNGHasTheSizeAsked(t *testing.T) {
	d := drawn(t, draughtings.bench)
	for _, width := range []int{1, 40, 333, 1000, 2001} {
		b := picture(t, d, width).Bounds()
		assert.Equal(t, width, b.Dx())
		assert.InDelta(t, float64(d.high)/float64(d.wide)*float64(width), float64(b.Dy()), 0.51)
	}
	for _, width := range []int{-1, 0, maxPixels + 1} {
		_, err := d.png(width)
		assert.Error(t, err, "%d", width)
	}
	for _, d := range []drawing{{}, {wide: mm}, {wide: mm, high: 20_000 * mm}, {wide: 20_000 * mm, high: mm}} {
		_, err := d.png(1000)
		assert.Error(t, err, "%v", d)
	}
}

func TestPNGIsTheSameBytes(t *testing.T) {
	d := drawn(t, draughtings.sketch)
	first, err := d.png(600)
	require.NoError(t, err)
	for range 3 {
		again, err := drawnAgain(t).png(600)
		require.NoError(t, err)
		assert.True(t, bytes.Equal(first, again))
	}
}

func drawnAgain(t *testing.T) *drawing {
	d := drawn(t, draughtings.sketch)
	return &d
}

// The picture shows what the list of shapes says: every edge of every box dark,
// the middles of drawers their own grey, and the corners of the page white.
func TestPNGShowsTheShapes(t *testing.T) {
	d := drawn(t, draughtings.bench)
	const width = 1600
	m := picture(t, d, width)
	at := func(p point) (x, y int) {
		return int(int64(p.x) * width / int64(d.wide)), int(int64(p.y) * width / int64(d.wide))
	}
	dark := func(p point) bool { // within a pixel
		x, y := at(p)
		for _, dx := range []int{-1, 0, 1} {
			for _, dy := range []int{-1, 0, 1} {
				if tone(m, x+dx, y+dy) == black {
					return true
				}
			}
		}
		return false
	}
	lights, boxes := 0, 0
	for _, s := range d.shapes {
		r, ok := s.(box)
		if !ok {
			continue
		}
		boxes++
		middle := point{r.at.x + r.wide/2, r.at.y + r.high/2}
		for _, p := range []point{{middle.x, r.at.y}, {middle.x, r.at.y + r.high}, {r.at.x, middle.y}, {r.at.x + r.wide, middle.y}} {
			assert.True(t, dark(p), "%v at %v", r, p)
		}
		x, y := at(middle)
		if r.fill == light {
			lights++
			assert.Equal(t, light, tone(m, x, y))
		}
	}
	assert.Equal(t, 3, lights)
	assert.Equal(t, 14, boxes) // top, 2 sides, 3 rails, upright, 3 openings with their drawers, plinth
	for _, p := range []image.Point{{}, {width - 1, 0}, {0, m.Bounds().Dy() - 1}, {width - 1, m.Bounds().Dy() - 1}} {
		assert.Equal(t, white, tone(m, p.X, p.Y))
	}
}

// inked is how many pixels are not white.
func inked(m image.Image) int {
	n := 0
	for y := range m.Bounds().Dy() {
		for x := range m.Bounds().Dx() {
			if tone(m, x, y) != white {
				n++
			}
		}
	}
	return n
}

// Text that the typeface has no letters for is left out whole.
func TestPNGLeavesOutWhatItCannotWrite(t *testing.T) {
	page := func(text string) drawing {
		return drawing{wide: 60 * mm, high: 20 * mm, shapes: []shape{label{at: point{30 * mm, 10 * mm}, text: text, size: 4 * mm, tone: black}}}
	}
	for _, text := range []string{"900 mm", "Élan", "Комод", "35 7/16", "é"} {
		assert.Positive(t, inked(picture(t, page(text), 300)), text)
	}
	for _, text := range []string{"木の箪笥", "chest 🚪", "שידה", "خزانة", "", " "} {
		assert.Zero(t, inked(picture(t, page(text), 300)), text)
	}
}

// Letters are as far to each side of a point as their side says, and stand on it.
func TestLabelsStandWhereTheyShould(t *testing.T) {
	for _, tt := range []struct {
		side      side
		low, high int // of the ink from the point, tenths of the text's width
	}{{leftOf, -10, 0}, {onto, -5, 5}, {rightOf, 0, 10}} {
		d := drawing{wide: 100 * mm, high: 20 * mm, shapes: []shape{label{at: point{50 * mm, 10 * mm}, side: tt.side, text: "HHHHH", size: 5 * mm, tone: black}}}
		m := picture(t, d, 1000)
		var box image.Rectangle
		for y := range 200 {
			for x := range 1000 {
				if tone(m, x, y) != white {
					box = box.Union(image.Rect(x, y, x+1, y+1))
				}
			}
		}
		wide := box.Dx()
		assert.InDelta(t, 500+tt.low*wide/10, box.Min.X, 10, "%v", box)
		assert.InDelta(t, 500+tt.high*wide/10, box.Max.X, 10, "%v", box)
		assert.InDelta(t, 100, box.Max.Y, 1)
		assert.InDelta(t, capHeight*50/100, box.Dy(), 3, "capitals are %d %% of their type", capHeight)
	}
}

// What is read upwards is what is read level, turned about its point by a quarter
// against the clock.
func TestLabelsReadUpwards(t *testing.T) {
	level := label{at: point{20 * mm, 30 * mm}, text: "F 1230 x 60", size: 5 * mm, tone: black}
	up := level
	up.up, up.at = true, point{30 * mm, 20 * mm} // on a page of 40 x 40: x, y is turned to y, 40 - x
	one := picture(t, drawing{wide: 40 * mm, high: 40 * mm, shapes: []shape{level}}, 400)
	other := picture(t, drawing{wide: 40 * mm, high: 40 * mm, shapes: []shape{up}}, 400)
	require.Greater(t, inked(one), 1000)
	wrong := 0
	for y := range 400 {
		for x := range 400 {
			if d := int(tone(one, x, y)) - int(tone(other, y, 399-x)); d < -8 || d > 8 {
				wrong++
			}
		}
	}
	assert.Less(t, wrong, inked(one)/50, "%d pixels differ", wrong)
	assert.Contains(t, string((&drawing{wide: mm, high: mm, shapes: []shape{up}}).svg()), `transform="rotate(-90 30 20)"`)
}

// What goes off the page is cut at its edge.
func TestPNGCutsAtTheEdge(t *testing.T) {
	d := drawing{wide: 10 * mm, high: 10 * mm, shapes: []shape{
		box{at: point{-5 * mm, -5 * mm}, wide: 10 * mm, high: 10 * mm, fill: shade, pen: mm, tone: black},
		box{at: point{50 * mm, 50 * mm}, wide: 10 * mm, high: 10 * mm, fill: shade, pen: mm, tone: black},
		stroke{point{-5 * mm, 8 * mm}, point{20 * mm, 8 * mm}, mm, black},
		arrow{point{9 * mm, -3 * mm}, point{20 * mm, 2 * mm}, point{20 * mm, 4 * mm}, black},
		arrow{point{90 * mm, 30 * mm}, point{92 * mm, 31 * mm}, point{92 * mm, 29 * mm}, black},
		label{at: point{10 * mm, 7 * mm}, text: "900", size: 4 * mm, tone: black},
		label{at: point{90 * mm, 90 * mm}, text: "900", size: 4 * mm, tone: black},
	}}
	m := picture(t, d, 100)
	assert.Equal(t, shade, tone(m, 20, 20))
	assert.Equal(t, black, tone(m, 50, 80))
	assert.Equal(t, white, tone(m, 20, 65))
}

// The shades are written as SVG has them.
func TestGreys(t *testing.T) {
	assert.Equal(t, "#222222", black.String())
	assert.Equal(t, "#ffffff", white.String())
	assert.Equal(t, "#f2f2f2", light.String())
	assert.Equal(t, "12.346", millimetres(12_345_600*unit.Nanometre))
}
