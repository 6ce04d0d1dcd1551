package exports

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	subpixel "golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"reckoner/pricing/unit"
)

// maxPixels is how many a picture may have each way.
const maxPixels = 10_000

// A canvas is what shapes are painted on.
type canvas struct {
	image   *image.Gray
	scale   float32 // pixels for a nanometre
	raster  vector.Rasterizer
	letters *sfnt.Font
	buffer  sfnt.Buffer
	err     error
}

// png returns the drawing as a grey picture that many pixels wide, the same bytes
// for the same drawing.
func (d *drawing) png(width int) ([]byte, error) {
	if width < 1 || width > maxPixels || d.wide <= 0 || d.high <= 0 {
		return nil, fmt.Errorf("exports: no picture is %d pixels wide", width)
	}
	height := int((int64(d.high)*int64(width) + int64(d.wide)/2) / int64(d.wide))
	if height < 1 || height > maxPixels {
		return nil, fmt.Errorf("exports: no picture is %d pixels high", height)
	}
	letters, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	c := canvas{image: image.NewGray(image.Rect(0, 0, width, height)), scale: float32(width) / float32(d.wide), letters: letters}
	c.block(white, c.image.Rect)
	for _, s := range d.shapes {
		s.paint(&c)
	}
	if c.err != nil {
		return nil, c.err
	}
	var out bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	err = encoder.Encode(&out, c.paletted())
	return out.Bytes(), err
}

// paletted returns what is painted as numbers of a palette: for those the encoder
// does not try every filter on every line, which gains nothing on flat greys.
func (c *canvas) paletted() *image.Paletted {
	greys := make(color.Palette, 256)
	for i := range greys {
		greys[i] = color.Gray{Y: uint8(i)}
	}
	return &image.Paletted{Pix: c.image.Pix, Stride: c.image.Stride, Rect: c.image.Rect, Palette: greys}
}

// A dot is a place on the canvas, in pixels.
type dot struct{ x, y float32 }

func (c *canvas) dot(p point) dot { return dot{float32(p.x) * c.scale, float32(p.y) * c.scale} }

// pixel returns the corner of pixels nearest to p.
func (c *canvas) pixel(p point) image.Point {
	d := c.dot(p)
	return image.Pt(nearest(d.x), nearest(d.y))
}

func nearest(x float32) int { return int(math.Round(float64(x))) }

// block fills whole pixels.
func (c *canvas) block(tone grey, r image.Rectangle) {
	r = r.Intersect(c.image.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		line := c.image.Pix[c.image.PixOffset(r.Min.X, y):c.image.PixOffset(r.Max.X, y)]
		for i := range line {
			line[i] = byte(tone)
		}
	}
}

// within readies the raster for a path within those bounds and returns where its
// corner lies, or false when nothing of it would be seen.
func (c *canvas) within(low, high dot) (image.Rectangle, bool) {
	floor := func(x float32) int { return int(math.Floor(float64(x))) }
	r := image.Rect(floor(low.x), floor(low.y), floor(high.x)+1, floor(high.y)+1).Intersect(c.image.Rect)
	c.raster.Reset(r.Dx(), r.Dy())
	return r, !r.Empty()
}

// ink paints what the raster holds into r.
func (c *canvas) ink(r image.Rectangle, tone grey) {
	cover := image.NewAlpha(image.Rect(0, 0, r.Dx(), r.Dy()))
	c.raster.Draw(cover, cover.Rect, image.Opaque, image.Point{})
	for y := range r.Dy() {
		line := c.image.Pix[c.image.PixOffset(r.Min.X, r.Min.Y+y):]
		for x, a := range cover.Pix[y*cover.Stride : y*cover.Stride+r.Dx()] {
			line[x] = byte((int(line[x])*(0xff-int(a)) + int(tone)*int(a) + 0x7f) / 0xff)
		}
	}
}

// rule paints an upright or level line of whole pixels, at least one, so that it
// is sharp.
func (c *canvas) rule(tone grey, pen unit.Length, from, to point) {
	thick := max(1, nearest(float32(pen)*c.scale))
	half := pen / 2
	if from.x == to.x {
		a, b := c.pixel(point{from.x - half, min(from.y, to.y)}), c.pixel(point{to.x, max(from.y, to.y)})
		c.block(tone, image.Rect(a.X, a.Y, a.X+thick, b.Y))
		return
	}
	a, b := c.pixel(point{min(from.x, to.x), from.y - half}), c.pixel(point{max(from.x, to.x), to.y})
	c.block(tone, image.Rect(a.X, a.Y, b.X, a.Y+thick))
}

func (s stroke) paint(c *canvas) { c.rule(s.tone, s.pen, s.from, s.to) }

func (r box) paint(c *canvas) {
	right, bottom := r.at.x+r.wide, r.at.y+r.high
	c.block(r.fill, image.Rectangle{c.pixel(r.at), c.pixel(point{right, bottom})})
	if h := r.pen / 2; h > 0 { // the edges meet at the corners
		for _, y := range []unit.Length{r.at.y, bottom} {
			c.rule(r.tone, r.pen, point{r.at.x - h, y}, point{right + h, y})
		}
		for _, x := range []unit.Length{r.at.x, right} {
			c.rule(r.tone, r.pen, point{x, r.at.y - h}, point{x, bottom + h})
		}
	}
}

func (a arrow) paint(c *canvas) {
	tip, l, r := c.dot(a.tip), c.dot(a.left), c.dot(a.right)
	at, seen := c.within(dot{min(tip.x, l.x, r.x), min(tip.y, l.y, r.y)}, dot{max(tip.x, l.x, r.x), max(tip.y, l.y, r.y)})
	if !seen {
		return
	}
	x, y := float32(at.Min.X), float32(at.Min.Y)
	c.raster.MoveTo(tip.x-x, tip.y-y)
	c.raster.LineTo(l.x-x, l.y-y)
	c.raster.LineTo(r.x-x, r.y-y)
	c.raster.ClosePath()
	c.ink(at, a.tone)
}

// paint draws the letters of l; text with a letter that the typeface lacks is
// left out, rather than shown as empty boxes.
func (l label) paint(c *canvas) {
	at, size := c.dot(l.at), subpixel.Int26_6(float32(l.size)*c.scale*64)
	glyphs := make([]sfnt.GlyphIndex, 0, len(l.text))
	wide := subpixel.Int26_6(0)
	for _, r := range l.text {
		g, err := c.letters.GlyphIndex(&c.buffer, r)
		if err != nil || g == 0 {
			return
		}
		a, err := c.letters.GlyphAdvance(&c.buffer, g, size, font.HintingNone)
		if err != nil {
			return
		}
		glyphs, wide = append(glyphs, g), wide+a
	}
	pen := nib{at, l.up, l.tone}.moved(pixels(wide) * float32(l.side-rightOf) / 2)
	for _, g := range glyphs {
		c.glyph(g, size, pen)
		a, err := c.letters.GlyphAdvance(&c.buffer, g, size, font.HintingNone)
		c.check(err)
		pen = pen.moved(pixels(a))
	}
}

// A nib writes letters from where it is, rightwards or upwards.
type nib struct {
	dot
	up   bool
	tone grey
}

// moved returns n that far on.
func (n nib) moved(by float32) nib {
	n.dot = n.to(by, 0)
	return n
}

// to returns the place that far along the line of writing, and that far below it.
func (n nib) to(along, below float32) dot {
	if n.up {
		return dot{n.x + below, n.y - along}
	}
	return dot{n.x + along, n.y + below}
}

func (c *canvas) check(err error) {
	if c.err == nil {
		c.err = err
	}
}

func pixels(x subpixel.Int26_6) float32 { return float32(x) / 64 }

// glyph paints the outline of one letter from pen.
func (c *canvas) glyph(g sfnt.GlyphIndex, size subpixel.Int26_6, pen nib) {
	outline, err := c.letters.LoadGlyph(&c.buffer, g, size, nil)
	c.check(err)
	if err != nil || len(outline) == 0 {
		return
	}
	b := outline.Bounds()
	one, other := pen.to(pixels(b.Min.X), pixels(b.Min.Y)), pen.to(pixels(b.Max.X), pixels(b.Max.Y))
	r, seen := c.within(dot{min(one.x, other.x), min(one.y, other.y)}, dot{max(one.x, other.x), max(one.y, other.y)})
	if !seen {
		return
	}
	at := func(p subpixel.Point26_6) (x, y float32) {
		d := pen.to(pixels(p.X), pixels(p.Y))
		return d.x - float32(r.Min.X), d.y - float32(r.Min.Y)
	}
	for _, s := range outline {
		x, y := at(s.Args[0])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			c.raster.ClosePath()
			c.raster.MoveTo(x, y)
		case sfnt.SegmentOpLineTo:
			c.raster.LineTo(x, y)
		case sfnt.SegmentOpQuadTo:
			u, v := at(s.Args[1])
			c.raster.QuadTo(x, y, u, v)
		case sfnt.SegmentOpCubeTo:
			u, v := at(s.Args[1])
			t, w := at(s.Args[2])
			c.raster.CubeTo(x, y, u, v, t, w)
		}
	}
	c.raster.ClosePath()
	c.ink(r, pen.tone)
}
