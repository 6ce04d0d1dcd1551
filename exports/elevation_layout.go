package exports

import (
	"strconv"

	"reckoner/pricing/piece"
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

// paper returns a length of the piece as it is drawn.
func (d *drafter) paper(l unit.Length) unit.Length { return l / d.over }

// place returns where a point of the front lies on the page.
func (d *drafter) place(x, y unit.Length) point {
	return point{d.at.x + d.paper(x), d.at.y - d.paper(y)}
}

// add draws shapes over those there are.
func (d *drafter) add(s ...shape) { d.shapes = append(d.shapes, s...) }

// layOut sizes the page and draws everything on it: from the top the title, the
// front between its heights, and its width.
func (d *drafter) layOut() {
	o := &d.front[0]
	wide, high := d.sized(o.Width), d.sized(o.Height)
	before := pageMargin + textWidth(high, d.figures) + figureOff + d.standOff
	after := floorBeyond + pageMargin
	figured := d.rowsFigured()
	if figured {
		after = d.standOff + figureOff + d.widestRow() + pageMargin
	}
	middle := max(d.paper(o.Width), textWidth(wide, d.figures))
	d.wide = before + middle + after
	if d.full && d.wide < narrowest {
		before += (narrowest - d.wide) / 2
		d.wide = narrowest
	}
	top := pageMargin
	if d.full {
		top = d.heading()
	}
	d.at = point{before + (middle-d.paper(o.Width))/2, top + d.paper(o.Height)}
	d.high = d.at.y + d.standOff + beyond + pageMargin
	d.face()
	d.overall(wide, high)
	if figured {
		d.rowHeights()
	}
}

// sized returns a figure, with its unit where nothing else says which.
func (d *drafter) sized(l unit.Length) string {
	if d.full {
		return d.figure(l)
	}
	return d.figure(l) + " " + string(d.units)
}

// rowsFigured reports whether the heights of the rows are written: all have room.
func (d *drafter) rowsFigured() bool {
	for _, r := range d.rows {
		if d.paper(r.height) < lowestRow {
			return false
		}
	}
	return d.full
}

func (d *drafter) widestRow() unit.Length {
	most := unit.Length(0)
	for _, r := range d.rows {
		most = max(most, textWidth(d.figure(r.height), d.figures))
	}
	return most
}

// heading writes the title and what the drawing is, and returns how far down the
// front may begin.
func (d *drafter) heading() unit.Length {
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
	caption := "Front elevation, sizes in millimetres"
	if d.units == unit.InInches {
		caption = "Front elevation, sizes in inches"
	}
	if d.scale {
		caption += ", scale 1:" + strconv.FormatInt(int64(d.over), 10)
	}
	d.add(label{at: point{pageMargin, y + captionType}, text: caption, side: rightOf, size: captionType, tone: dim})
	return y + captionType + d.standOff
}

// shortened returns s with its end left out, and as long as it was at most.
func shortened(s string) string {
	letters := []rune(s)
	if len(letters) < 3 {
		return s
	}
	return string(letters[:len(letters)-2]) + "…"
}

// face draws the front itself and the floor it stands on.
func (d *drafter) face() {
	o := &d.front[0]
	for _, r := range d.front[1:] {
		b := box{at: d.place(r.X, r.Y+r.Height), wide: d.paper(r.Width), high: d.paper(r.Height), fill: white, pen: d.pen, tone: black}
		switch r.Shows {
		case piece.SeenOpening:
			b.fill = shade
		case piece.SeenDrawer:
			b.fill = light
		}
		d.add(b)
	}
	from, to := d.place(0, 0), d.place(o.Width, 0)
	from.x, to.x = from.x-floorBeyond, to.x+floorBeyond
	d.add(stroke{from, to, 2 * d.pen, black})
}

// line draws a thin line.
func (d *drafter) line(from, to point) { d.add(stroke{from, to, dimensionPen, dim}) }

// head draws the head of a dimension line at tip; dx and dy say which way the
// line comes from, one of them 1 or -1.
func (d *drafter) head(tip point, dx, dy unit.Length) {
	back := point{tip.x + dx*arrowLong, tip.y + dy*arrowLong}
	d.add(arrow{tip, point{back.x - dy*arrowHalf, back.y - dx*arrowHalf}, point{back.x + dy*arrowHalf, back.y + dx*arrowHalf}, black})
}

// overall draws the width below the front and the height at its left.
func (d *drafter) overall(wide, high string) {
	o := &d.front[0]
	from, to := d.place(0, 0), d.place(o.Width, 0)
	y := from.y + d.standOff
	start := d.overhang()
	for _, x := range []unit.Length{from.x, to.x} {
		d.line(point{x, start + setOff}, point{x, y + beyond})
	}
	d.level(point{from.x, y}, point{to.x, y}, wide)

	top := d.place(0, o.Height)
	x := from.x - d.standOff
	d.line(point{top.x - setOff, top.y}, point{x - beyond, top.y})
	d.line(point{from.x - floorBeyond, from.y}, point{x - beyond, from.y})
	d.upright(point{x, top.y}, point{x, from.y}, high, leftOf)
}

// overhang returns how far down the widest part of the front comes.
func (d *drafter) overhang() unit.Length {
	low := d.front[0].Height
	for _, r := range d.front[1:] {
		if r.X == 0 {
			low = min(low, r.Y)
		}
	}
	return d.place(0, low).y
}

// level draws a level dimension line with its figure in the middle.
func (d *drafter) level(from, to point, figure string) {
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
func (d *drafter) written(figure string, at point, side side) label {
	return label{at: point{at.x, at.y + d.figures*capHeight/200}, side: side, text: figure, size: d.figures, tone: black}
}

// upright draws an upright dimension line from its upper end with its figure at
// one side.
func (d *drafter) upright(from, to point, figure string, at side) {
	d.line(from, to)
	d.head(from, 0, 1)
	d.head(to, 0, -1)
	d.add(d.written(figure, point{from.x + unit.Length(at)*figureOff, (from.y + to.y) / 2}, at))
}

// rowHeights draws the heights of the openings at the right.
func (d *drafter) rowHeights() {
	edge := d.place(d.front[0].Width, 0).x
	x := edge + d.standOff
	for _, r := range d.rows {
		low, high := d.place(0, r.y), d.place(0, r.y+r.height)
		for _, y := range []unit.Length{low.y, high.y} {
			d.line(point{edge + setOff, y}, point{x + beyond, y})
		}
		d.upright(point{x, high.y}, point{x, low.y}, d.figure(r.height), rightOf)
	}
}
