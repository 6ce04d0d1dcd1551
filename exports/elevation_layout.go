package exports

import (
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

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
		top = d.heading("Front elevation, " + d.measured())
	}
	d.at = point{before + (middle-d.paper(o.Width))/2, top + d.paper(o.Height)}
	d.high = d.at.y + d.standOff + beyond + pageMargin
	d.face()
	d.overall(wide, high)
	if figured {
		d.rowHeights()
	}
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
