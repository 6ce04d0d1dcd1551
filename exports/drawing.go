package exports

import (
	"bytes"
	"encoding/xml"
	"strings"

	"reckoner/pricing/unit"
)

// A drawing is one list of shapes on a page, the later over the earlier. All of
// it is in lengths on the paper, from the page's upper left corner.
type drawing struct {
	wide, high unit.Length
	name       string // what kind of drawing it is
	title      string // what it is a drawing of
	about      string // the same told to who cannot see it
	shapes     []shape
}

// A point is a place on the page.
type point struct{ x, y unit.Length }

// A shape is drawn alike as SVG and as a picture.
type shape interface {
	svg(*bytes.Buffer)
	paint(*canvas)
}

// Greys, from black: how dark a shape is.
type grey uint8

const (
	black grey = 0x22
	dim   grey = 0x66
	shade grey = 0xb0
	waste grey = 0xd4
	light grey = 0xf2
	white grey = 0xff
)

// String returns g as a colour of SVG.
func (g grey) String() string {
	const digits = "0123456789abcdef"
	return "#" + strings.Repeat(string([]byte{digits[g>>4], digits[g&15]}), 3)
}

// A stroke is a straight line that thick, with square ends at its points.
type stroke struct {
	from, to point
	pen      unit.Length
	tone     grey
}

// A box is an upright rectangle, filled, and edged by a pen along its sides if
// it has one.
type box struct {
	at         point // upper left
	wide, high unit.Length
	fill       grey
	pen        unit.Length
	tone       grey // of the edge
}

// An arrow is the filled head of a dimension line, its point at tip.
type arrow struct {
	tip, left, right point
	tone             grey
}

// A label is one line of text at a point of the line that its letters stand on.
type label struct {
	at   point
	side side // of the point
	text string
	size unit.Length // of the type
	tone grey
	up   bool // it is read upwards: turned about the point by a quarter, against the clock
}

// A side is where something stands: left or right of a point, or on it.
type side int

const (
	leftOf side = iota - 1
	onto
	rightOf
)

// millimetres writes l as SVG counts it, to a thousandth of a millimetre.
func millimetres(l unit.Length) string { return l.Millimetres().Round(3).String() }

// attributes writes names and values by turns.
func attributes(b *bytes.Buffer, pairs ...string) {
	for i := 0; i < len(pairs); i += 2 {
		b.WriteString(" " + pairs[i] + `="`)
		_ = xml.EscapeText(b, []byte(pairs[i+1])) // a Buffer takes all
		b.WriteByte('"')
	}
}

// element writes text between the tags of an element.
func element(b *bytes.Buffer, name, text string, pairs ...string) {
	b.WriteString("<" + name)
	attributes(b, pairs...)
	b.WriteByte('>')
	_ = xml.EscapeText(b, []byte(text))
	b.WriteString("</" + name + ">\n")
}

// empty writes an element without anything in it.
func empty(b *bytes.Buffer, name string, pairs ...string) {
	b.WriteString("<" + name)
	attributes(b, pairs...)
	b.WriteString("/>\n")
}

func (s stroke) svg(b *bytes.Buffer) {
	empty(b, "line", "x1", millimetres(s.from.x), "y1", millimetres(s.from.y), "x2", millimetres(s.to.x), "y2", millimetres(s.to.y),
		"stroke", s.tone.String(), "stroke-width", millimetres(s.pen))
}

func (r box) svg(b *bytes.Buffer) {
	pairs := []string{"x", millimetres(r.at.x), "y", millimetres(r.at.y), "width", millimetres(r.wide), "height", millimetres(r.high), "fill", r.fill.String()}
	if r.pen > 0 {
		pairs = append(pairs, "stroke", r.tone.String(), "stroke-width", millimetres(r.pen))
	}
	empty(b, "rect", pairs...)
}

func (a arrow) svg(b *bytes.Buffer) {
	var at []string
	for _, p := range []point{a.tip, a.left, a.right} {
		at = append(at, millimetres(p.x)+","+millimetres(p.y))
	}
	empty(b, "polygon", "points", strings.Join(at, " "), "fill", a.tone.String())
}

func (l label) svg(b *bytes.Buffer) {
	anchors := [...]string{"end", "middle", "start"}
	x, y := millimetres(l.at.x), millimetres(l.at.y)
	pairs := []string{"x", x, "y", y, "font-size", millimetres(l.size), "text-anchor", anchors[l.side+1], "fill", l.tone.String()}
	if l.up {
		pairs = append(pairs, "transform", "rotate(-90 "+x+" "+y+")")
	}
	element(b, "text", l.text, pairs...)
}

// svg returns the drawing as a file of its own, as large as it is on paper.
func (d *drawing) svg() []byte {
	var b bytes.Buffer
	wide, high := millimetres(d.wide), millimetres(d.high)
	b.WriteString(xml.Header + "<svg")
	attributes(&b, "xmlns", "http://www.w3.org/2000/svg", "width", wide+"mm", "height", high+"mm", "viewBox", "0 0 "+wide+" "+high,
		"role", "img", "aria-labelledby", "title about", "font-family", "Arial, Helvetica, sans-serif")
	b.WriteString(">\n")
	element(&b, "title", d.title, "id", "title")
	element(&b, "desc", d.about, "id", "about")
	box{wide: d.wide, high: d.high, fill: white}.svg(&b)
	for _, s := range d.shapes {
		s.svg(&b)
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}
