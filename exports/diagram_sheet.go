package exports

import (
	"strconv"

	"reckoner/pricing"
	"reckoner/pricing/unit"
)

// Sizes on the paper of what is written within a sheet.
const (
	markType   = 36 * mm / 10 // of a mark in the middle of its part
	insideType = 24 * mm / 10 // of sizes within parts
	tagType    = 21 * mm / 10 // of the numbers of cuts
	leastType  = 16 * mm / 10
	tagPad     = 5 * mm / 10
	edgeOff    = 8 * mm / 10 // of a size from the edge it measures
	labelPad   = 4 * mm / 10 // around text that has a part to itself
	finePen    = 13 * mm / 100
)

// An area is an upright rectangle of the page.
type area struct {
	at         point // upper left
	wide, high unit.Length
}

// around returns the area of that size about a point.
func around(p point, wide, high unit.Length) area {
	return area{point{p.x - wide/2, p.y - high/2}, wide, high}
}

func (a area) middle() point { return point{a.at.x + a.wide/2, a.at.y + a.high/2} }

// inside returns a moved so far that it lies within b, which has room for it.
func (a area) inside(b area) area {
	a.at.x = max(b.at.x, min(a.at.x, b.at.x+b.wide-a.wide))
	a.at.y = max(b.at.y, min(a.at.y, b.at.y+b.high-a.high))
	return a
}

// meets reports whether a and b share more than an edge.
func (a area) meets(b area) bool {
	return a.at.x < b.at.x+b.wide && b.at.x < a.at.x+a.wide && a.at.y < b.at.y+b.high && b.at.y < a.at.y+a.high
}

// lies returns where a part or an offcut lies on the page.
func (d *diagram) lies(p *pricing.Placed) area {
	x, y, long, across := d.length(p.X), d.length(p.Y), d.length(p.Length), d.length(p.Width)
	return area{d.place(x, y+across), d.paper(long), d.paper(across)}
}

// rectangle draws an area.
func (d *diagram) rectangle(a area, fill grey, pen unit.Length, tone grey) {
	d.add(box{at: a.at, wide: a.wide, high: a.high, fill: fill, pen: pen, tone: tone})
}

// sheet draws the sheet as waste, within its outside the trim, and over it what is
// cut out of it and the cuts themselves, as wide as the blade.
func (d *diagram) sheet(long, across unit.Length) {
	trim := d.length(d.plan.Trim)
	d.outside = area{d.place(0, across), d.paper(long), d.paper(across)}
	d.rectangle(d.outside, waste, 2*d.pen, black)
	if trim > 0 {
		d.rectangle(area{d.place(trim, across-trim), d.paper(long - 2*trim), d.paper(across - 2*trim)}, waste, finePen, black)
	}
	for i := range d.layout.Offcuts {
		d.rectangle(d.lies(&d.layout.Offcuts[i]), light, finePen, dim)
	}
	for i := range d.layout.Placed {
		d.rectangle(d.lies(&d.layout.Placed[i]), white, d.pen, black)
	}
	blade := max(d.paper(d.length(d.plan.Kerf)), d.pen)
	for i := range d.layout.Cuts {
		from, to := d.blade(&d.layout.Cuts[i])
		d.add(stroke{from, to, blade, black})
	}
}

// blade returns where a cut begins and ends on the page, in the middle of its kerf.
func (d *diagram) blade(c *pricing.SheetCut) (from, to point) {
	at, start, end := d.length(c.At)+d.length(d.plan.Kerf)/2, d.length(c.From), d.length(c.To)
	if c.Along {
		return d.place(start, at), d.place(end, at)
	}
	return d.place(at, start), d.place(at, end)
}

// measure writes the outside size of the sheet below it and at its left.
func (d *diagram) measure(long, across unit.Length, wide, high string) {
	low, right, top := d.place(0, 0), d.place(long, 0), d.place(0, across)
	y, x := low.y+d.standOff, low.x-d.standOff
	for _, p := range []point{low, right} {
		d.line(point{p.x, p.y + setOff}, point{p.x, y + beyond})
	}
	d.level(point{low.x, y}, point{right.x, y}, wide)
	for _, p := range []point{low, top} {
		d.line(point{p.x - setOff, p.y}, point{x - beyond, p.y})
	}
	d.upright(point{x, top.y}, point{x, low.y}, high, leftOf)
}

// room returns what a text takes, level or upwards.
func room(s string, size unit.Length, up bool) (wide, high unit.Length) {
	wide, high = textWidth(s, size), size*capHeight/100
	if up {
		return high, wide
	}
	return wide, high
}

// write writes a text about a point, level or upwards, and keeps others off it.
func (d *diagram) write(s string, middle point, size unit.Length, tone grey, up bool) {
	wide, high := room(s, size, up)
	l := label{at: point{middle.x, middle.y + high/2}, text: s, size: size, tone: tone, up: up}
	if up {
		l.at = point{middle.x + wide/2, middle.y}
	}
	d.add(l)
	d.taken = append(d.taken, around(middle, wide, high))
}

// part writes the mark of a part in the middle of it and its sizes as it lies along
// two of its edges; where that has no room, on one line the size that the list of
// parts gives it, or the mark alone.
func (d *diagram) part(p *pricing.Placed) {
	a := d.lies(p)
	if d.edged(p, a) {
		return
	}
	text := p.Mark
	if of := d.parts[p.Mark]; of != nil {
		text += " " + sides(d.units, of.Length, of.Width)
	}
	if !d.fitted(text, a, black, insideType, leastType*5/4) && !d.fitted(p.Mark, a, black, insideType, tagType, leastType) {
		d.bare = append(d.bare, p.Mark)
	}
}

// edged writes a mark in the middle and sizes along the edges, if there is room.
func (d *diagram) edged(p *pricing.Placed, a area) bool {
	long, across := cutSize(d.units, p.Length), cutSize(d.units, p.Width)
	band := edgeOff + insideType*capHeight/100
	wide, high := room(p.Mark, markType, false)
	inner := max(wide, textWidth(long, insideType))
	if a.wide < inner+2*band+2*edgeOff || a.high < max(high+2*band, textWidth(across, insideType)+2*band)+2*edgeOff {
		return false
	}
	middle := a.middle()
	d.write(p.Mark, middle, markType, black, false)
	d.write(long, point{middle.x, a.at.y + a.high - edgeOff - insideType*capHeight/200}, insideType, black, false)
	d.write(across, point{a.at.x + edgeOff + insideType*capHeight/200, middle.y}, insideType, black, true)
	return true
}

// fitted writes a text in the middle of an area in the first of the sizes in which
// it has room, level or upwards.
func (d *diagram) fitted(s string, a area, tone grey, sizes ...unit.Length) bool {
	for _, size := range sizes {
		for _, up := range []bool{false, true} {
			wide, high := room(s, size, up)
			if wide+2*labelPad <= a.wide && high+2*labelPad <= a.high {
				d.write(s, a.middle(), size, tone, up)
				return true
			}
		}
	}
	return false
}

// offcut writes what an offcut is and its size as it lies.
func (d *diagram) offcut(p *pricing.Placed) {
	a := d.lies(p)
	s := sides(d.units, p.Length, p.Width)
	if !d.fitted("offcut "+s, a, dim, insideType) {
		d.fitted(s, a, dim, insideType, leastType)
	}
}

// number writes the number of a cut on its line, as near to its beginning as there
// is room; where there is none it stands in the list alone.
func (d *diagram) number(c *pricing.SheetCut) {
	s := strconv.Itoa(c.Number)
	wide, high := room(s, tagType, false)
	wide, high = wide+2*tagPad, high+2*tagPad
	if wide > d.outside.wide || high > d.outside.high {
		return
	}
	from, to := d.blade(c)
	each, end := wide, to.x-from.x
	if !c.Along {
		each, end = high, from.y-to.y
	}
	for far := each/2 + tagPad; far+each/2 <= end; far += each / 2 {
		at := point{from.x + far, from.y}
		if !c.Along {
			at = point{from.x, from.y - far}
		}
		if a := around(at, wide, high).inside(d.outside); d.free(a) {
			d.rectangle(a, white, finePen, black)
			d.write(s, a.middle(), tagType, black, false)
			d.taken[len(d.taken)-1] = a
			return
		}
	}
}

// free reports whether no text stands in an area.
func (d *diagram) free(a area) bool {
	for _, b := range d.taken {
		if a.meets(b) {
			return false
		}
	}
	return true
}
