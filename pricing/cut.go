package pricing

import (
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// A cut is one line of the cutting list: alike parts of the whole piece line and
// what they are cut from.
type cut struct {
	*piece.Part // the first of them
	count       int
	next        int // place of the next line with the same name, from 1
	material
	thickness *book.Thickness
	strips    int
	length    unit.Length // sawn
	width     unit.Length // sawn, all strips together

	volume   num.Decimal // sawn, in the unit its timber is priced in
	net      num.Decimal // sawn, m3
	finished num.Decimal // m3
	area     num.Decimal // of sheet parts, m2
	outside  num.Decimal // m2
	inside   num.Decimal
}

// cutParts merges alike parts into lines and chooses what they are cut from.
func (j *job) cutParts() {
	first := make(map[string]int, 24) // by name: place of its first line, from 1
	j.cuts = make([]cut, 0, len(j.made.Parts))
	total := 0
	for i := range j.made.Parts {
		p := &j.made.Parts[i]
		total += p.Quantity * j.quantity
		j.merge(p, first)
	}
	if total > maxCut {
		j.add("", "the cutting list has %d pieces, at most %d can be priced together: lower a quantity, or split it", total, maxCut)
		return
	}
	for i := range j.cuts {
		j.choose(&j.cuts[i])
	}
}

// merge adds p to the line of parts that are alike, or as a line of its own.
func (j *job) merge(p *piece.Part, first map[string]int) {
	last := 0
	for at := first[p.Name]; at != 0; at = j.cuts[at-1].next {
		if c := &j.cuts[at-1]; c.Shape == p.Shape {
			c.count += p.Quantity * j.quantity
			return
		}
		last = at
	}
	j.cuts = append(j.cuts, cut{Part: p, count: p.Quantity * j.quantity})
	if last == 0 {
		first[p.Name] = len(j.cuts)
	} else {
		j.cuts[last-1].next = len(j.cuts)
	}
}

// choose finds the material of c and measures the line.
func (j *job) choose(c *cut) {
	c.material = j.material(c.Material)
	switch {
	case c.Offcut && c.timber != nil:
	case c.timber != nil:
		j.saw(c)
	case c.sheet != nil:
		j.fit(c)
	default:
		j.missing(c.Material, c.At[1:])
	}
	if c.Offcut {
		return
	}
	n, l, w, t := c.count, c.Length, c.Width, c.Thickness
	c.finished = unit.Volume(n, l, w, t, unit.M3)
	c.outside = zone(c.Outside, n, l, w, t)
	c.inside = zone(c.Inside, n, l, w, t)
}

// canCut reports whether there is something to cut every part from; where not,
// it has been said.
func (j *job) canCut() bool {
	for i := range j.cuts {
		if c := &j.cuts[i]; c.timber == nil && c.sheet == nil {
			return false
		}
	}
	return true
}

// zone returns the area of n parts that is finished in one zone.
func zone(s piece.Surface, n int, l, w, t unit.Length) num.Decimal {
	if s == (piece.Surface{}) {
		return 0
	}
	return unit.Area(
		unit.Face{N: n * s.Faces, L: l, W: w},
		unit.Face{N: n * s.LongEdges, L: l, W: t},
		unit.Face{N: n * s.Ends, L: w, W: t},
	)
}

// saw chooses the sawn thickness, the strips and the sawn size of a timber part.
func (j *job) saw(c *cut) {
	t := c.timber
	if c.Length > t.Longest {
		j.add(c.LongAt[1:], "%s is %s long, the longest %s %s: bring it down to %s, or choose a timber that comes longer",
			c.Name, j.show(c.Length), t.Code, j.show(t.Longest), j.atMost(t.Longest))
	}
	c.thickness = j.thinnest(c)
	if c.thickness == nil {
		return
	}
	c.strips, c.width = strips(t, c.Width)
	if c.OneBoard != "" && c.strips > 1 {
		j.add(c.OneBoard[1:], "%s is %s wide and would be glued up from %d strips, but one_board_fronts asks for one board (%s gives %s): make it narrower, choose a timber with wider boards, or leave one_board_fronts out",
			c.Name, j.show(c.Width), c.strips, t.Code, j.show(t.BoardWidth-t.WidthAllowance))
	}
	c.length = min(c.Length+t.LengthAllowance, t.Longest)
	c.volume = unit.Volume(c.count, c.length, c.width, c.thickness.Thickness, c.thickness.Price.Unit)
	c.net = unit.Volume(c.count, c.length, c.width, c.thickness.Thickness, unit.M3)
}

// thinnest returns the thinnest thickness with a price that finishes to what c
// needs, or reports that there is none.
func (j *job) thinnest(c *cut) *book.Thickness {
	need := c.Thickness + c.Extra
	var best, thickest *book.Thickness
	for i := range c.timber.Thicknesses {
		t := &c.timber.Thicknesses[i]
		if t.Price == nil {
			continue
		}
		if thickest == nil || t.FinishesTo > thickest.FinishesTo {
			thickest = t
		}
		if t.FinishesTo >= need && (best == nil || t.Thickness < best.Thickness) {
			best = t
		}
	}
	switch {
	case best != nil:
	case thickest == nil:
		j.add(j.namedTimber(c), "no thickness of %s has a price on %s: give one of them a price from that date or before, or choose another timber", c.timber.Code, j.Data().AsOf)
	default:
		j.tooThick(c, thickest)
	}
	return best
}

// tooThick reports that c is not to be had out of the thickest there is.
func (j *job) tooThick(c *cut, thickest *book.Thickness) {
	need, remedy := j.show(c.Thickness)+" finished", "make it at most "+j.atMost(thickest.FinishesTo)
	if c.Extra > 0 {
		need = j.show(c.Thickness+c.Extra) + " finished (" + j.show(c.Thickness) + " + " + j.show(c.Extra) + " to flatten)"
		remedy = "bring the two down to " + j.atMost(thickest.FinishesTo) + " together"
	}
	j.add(c.ThickAt[1:], "%s needs %s; the thickest of %s with a price on %s is %s, which finishes to %s: %s, or choose another timber",
		c.Name, need, c.timber.Code, j.Data().AsOf, j.show(thickest.Thickness), j.show(thickest.FinishesTo), remedy)
}

// namedTimber returns where the timber of c is named: its role, or the part.
func (j *job) namedTimber(c *cut) string {
	if c.Material == piece.Show || c.Material == piece.Inner {
		return "/timbers/" + c.Material
	}
	return c.At[1:] + "/material"
}

// strips returns from how many boards a part that wide is glued up and how wide
// they are sawn together.
func strips(t *book.Timber, width unit.Length) (n int, sawn unit.Length) {
	sawn = width + t.WidthAllowance
	if sawn <= t.BoardWidth {
		return 1, sawn
	}
	each := t.BoardWidth - t.EdgeAllowance // of a board when its edges are shot
	n = int((sawn + each - 1) / each)
	return n, sawn + unit.Length(n)*t.EdgeAllowance
}

// fit checks that a sheet part comes out of its sheet.
func (j *job) fit(c *cut) {
	s, trim := c.sheet, j.sawing.Trim
	if saw := j.sheetJob(s); !saw.Fits(j.flat(c)) {
		grain, within := "", ""
		if s.Grain {
			grain = ", its length along the grain,"
		}
		if trim > 0 {
			within = " within the trim of " + j.show(trim)
		}
		j.add(c.At[1:], "%s is %s x %s%s and fits no sheet of %s, %s x %s%s: make it smaller, or choose a larger sheet",
			c.Name, j.show(c.Length), j.show(c.Width), grain, s.Code, j.show(max(0, s.Length-2*trim)), j.show(max(0, s.Width-2*trim)), within)
		return
	}
	c.area = unit.Area(unit.Face{N: c.count, L: c.Length, W: c.Width})
}

// show prints l as the piece writes its sizes.
func (j *job) show(l unit.Length) string {
	return string(append(append(l.AppendSize(nil, j.units), ' '), j.units...))
}

// atMost prints what to type where l is the most.
func (j *job) atMost(l unit.Length) string {
	return j.units.AtMost(l).String() + " " + string(j.units)
}

// printed returns c as the answer shows it.
func (j *job) printed(c *cut) CutPart {
	p := CutPart{
		Name: c.Name, Quantity: c.count, Material: c.Material,
		Length: j.units.Size(c.Length), Width: j.units.Size(c.Width), Thickness: j.units.Size(c.Thickness),
		FinishedVolume: c.finished, Area: c.area, Outside: c.outside, Inside: c.inside,
	}
	switch {
	case c.Offcut:
	case c.sheet != nil:
		p.Code = c.sheet.Code
	default:
		p.Code, p.Strips, p.Volume = c.thickness.Code, c.strips, c.volume
		p.SawnThickness, p.SawnLength, p.SawnWidth = j.units.Size(c.thickness.Thickness), j.units.Size(c.length), j.units.Size(c.width)
	}
	return p
}
