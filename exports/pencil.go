package exports

import (
	"slices"
	"strconv"

	"reckoner/pricing/unit"
)

// Sizes on the paper.
const (
	mm = unit.Millimetre

	dimensionPen = 13 * mm / 100

	pageMargin  = 2 * mm
	setOff      = mm           // of the lines that carry a size outwards
	figureOff   = 15 * mm / 10 // of a figure from its line
	beyond      = 15 * mm / 10 // how far those go past the dimension line
	floorBeyond = 3 * mm       // and the floor past the piece
	arrowLong   = 2 * mm
	arrowHalf   = 35 * mm / 100
	lowestRow   = 6 * mm // a row less high on the paper takes no figure

	narrowest   = 75 * mm // page that carries a title
	titleType   = 44 * mm / 10
	captionType = 28 * mm / 10
	titleLines  = 2
	leading     = 130 // of lines of text, percent of their type size
	capHeight   = 72  // of letters, likewise
	typeSlack   = 112 // percent, for a typeface wider than the one counted
)

// textWidth returns the room that s takes in type of a size.
func textWidth(s string, size unit.Length) unit.Length {
	return unit.Length(measured(s, advance)) * size / 1000 * typeSlack / 100
}

// A pencil draws a thing to scale on a page, and writes its sizes beside it.
type pencil struct {
	draughting
	drawing
	units unit.System
	over  unit.Length // the thing is so many times as large
	at    point       // of its lower left corner on the page
}

// chooseScale finds the largest scale at which that much has room: of the usual
// ones, ISO 5455's or those of a rule in inches (both from memory), and those
// between; or any whole one on a drawing that needs no usual one.
func (d *pencil) chooseScale(wide, high unit.Length, between ...unit.Length) {
	d.over = max(1, (wide+d.mostWide-1)/d.mostWide, (high+d.mostHigh-1)/d.mostHigh)
	if !d.full {
		return
	}
	usual := []unit.Length{1, 2, 5, 10, 20, 50, 100, 200}
	if d.units == unit.InInches {
		usual = []unit.Length{1, 2, 4, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192}
	}
	for _, s := range slices.Sorted(slices.Values(append(usual, between...))) {
		if s >= d.over {
			d.over = s
			return
		}
	}
}

// figure returns a size as its maker reads it.
func (d *pencil) figure(l unit.Length) string { return size(d.units.Size(l), d.units) }

// paper returns a length of the thing as it is drawn.
func (d *pencil) paper(l unit.Length) unit.Length { return l / d.over }

// place returns where a point of the thing lies on the page.
func (d *pencil) place(x, y unit.Length) point {
	return point{d.at.x + d.paper(x), d.at.y - d.paper(y)}
}

// add draws shapes over those there are.
func (d *pencil) add(s ...shape) { d.shapes = append(d.shapes, s...) }

// sized returns a figure, with its unit where nothing else says which.
func (d *pencil) sized(l unit.Length) string {
	if d.full {
		return d.figure(l)
	}
	return d.figure(l) + " " + string(d.units)
}

// heading writes the title and what the drawing is, a line each, and returns how
// far down the drawing may begin.
func (d *pencil) heading(captions ...string) unit.Length {
	y := pageMargin
	lines := wrap(d.title, int((d.wide-2*pageMargin)*1000/titleType*100/typeSlack), advance)
	if len(lines) > titleLines {
		lines = lines[:titleLines]
		lines[titleLines-1] = shortened(lines[titleLines-1])
	}
	for _, s := range lines {
		d.add(label{at: point{pageMargin, y + titleType*capHeight/100}, text: s, side: rightOf, size: titleType, tone: black})
		y += titleType * leading / 100
	}
	for i, s := range captions {
		if i > 0 {
			y += captionType * leading / 100
		}
		d.add(label{at: point{pageMargin, y + captionType}, text: s, side: rightOf, size: captionType, tone: dim})
	}
	return y + captionType + d.standOff
}

// measured says in what the sizes are written, and to what scale.
func (d *pencil) measured() string {
	s := "sizes in " + inWords(d.units)
	if d.scale {
		s += ", scale 1:" + strconv.FormatInt(int64(d.over), 10)
	}
	return s
}

// shortened returns s with its end left out, and as long as it was at most.
func shortened(s string) string {
	letters := []rune(s)
	if len(letters) < 3 {
		return s
	}
	return string(letters[:len(letters)-2]) + "…"
}

// line draws a thin line.
func (d *pencil) line(from, to point) { d.add(stroke{from, to, dimensionPen, dim}) }

// head draws the head of a dimension line at tip; dx and dy say which way the
// line comes from, one of them 1 or -1.
func (d *pencil) head(tip point, dx, dy unit.Length) {
	back := point{tip.x + dx*arrowLong, tip.y + dy*arrowLong}
	d.add(arrow{tip, point{back.x - dy*arrowHalf, back.y - dx*arrowHalf}, point{back.x + dy*arrowHalf, back.y + dx*arrowHalf}, black})
}

// level draws a level dimension line with its figure in the middle.
func (d *pencil) level(from, to point, figure string) {
	half := textWidth(figure, d.figures)/2 + figureOff
	middle := (from.x + to.x) / 2
	if to.x-from.x > 2*(half+arrowLong) {
		d.line(from, point{middle - half, from.y})
		d.line(point{middle + half, to.y}, to)
	}
	d.head(from, 1, 0)
	d.head(to, -1, 0)
	d.add(d.written(figure, point{middle, from.y}, onto))
}

// written returns a figure with half its height above a point.
func (d *pencil) written(figure string, at point, side side) label {
	return label{at: point{at.x, at.y + d.figures*capHeight/200}, side: side, text: figure, size: d.figures, tone: black}
}

// upright draws an upright dimension line from its upper end with its figure at
// one side.
func (d *pencil) upright(from, to point, figure string, at side) {
	d.line(from, to)
	d.head(from, 0, 1)
	d.head(to, 0, -1)
	d.add(d.written(figure, point{from.x + unit.Length(at)*figureOff, (from.y + to.y) / 2}, at))
}
