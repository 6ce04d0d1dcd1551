package piece

import (
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Constructions of a drawer and ways to make its bottom.
const (
	Applied  = "applied" // a box of four boards, its front screwed on
	Lapped   = "lapped"  // the front is part of the box
	solid    = "solid"
	sheet    = "sheet"
	captured = "captured" // grooved in all round
	slidIn   = "slid_in"  // from behind, under a lower back
)

// A DrawerStyle is how the boxes of a piece are made. A size not given has the
// default of its System.
type DrawerStyle struct {
	Construction  string       `json:"construction,omitzero"` // "applied" (default of drawer_boxes) or "lapped" (of a chest)
	Bottom        string       `json:"bottom,omitzero"`       // "sheet" (default) or "solid"
	BottomFit     string       `json:"bottom_fit,omitzero"`   // "captured" (default) or "slid_in"
	Box           *num.Decimal `json:"box,omitzero"`          // thickness of its boards
	Front         *num.Decimal `json:"front,omitzero"`        // thickness
	Lap           *num.Decimal `json:"lap,omitzero"`
	Flush         *num.Decimal `json:"flush,omitzero"` // boards with pins are cut this much long
	SideClearance *num.Decimal `json:"side_clearance,omitzero"`
	HeightGap     *num.Decimal `json:"height_gap,omitzero"`
	FrontGap      *num.Decimal `json:"front_gap,omitzero"` // all round an applied front
	Behind        *num.Decimal `json:"behind,omitzero"`    // room behind the box
	Groove        *num.Decimal `json:"groove,omitzero"`    // depth
	GrooveOffset  *num.Decimal `json:"groove_offset,omitzero"`
	BottomGap     *num.Decimal `json:"bottom_clearance,omitzero"`
	BottomStock   *num.Decimal `json:"bottom_thickness,omitzero"` // of a solid bottom
	TailPitch     *num.Decimal `json:"tail_pitch,omitzero"`
	Strips        *int         `json:"tape_strips,omitzero"` // in each inside corner; default 1
	LooseTail     *num.Decimal `json:"loose_tail,omitzero"`  // tape left over at each end
	OneBoard      bool         `json:"one_board_fronts,omitzero"`
}

// A drawer is a resolved style: what fills an opening, or is made by the batch.
type drawer struct {
	*DrawerStyle
	drawerSizes
	at     string // pointer of the style
	lapped bool
	solid  bool
	slid   bool
	loose  bool // a batch without a case
	strips int
	bottom unit.Length // thickness
}

const (
	underBack = 3 * mm  // play over a bottom slid in
	minAbove  = 20 * mm // of a box above its bottom
	minHigh   = 60 * mm // of an opening
	minWide   = 100 * mm
	maxStrips = 100
)

// resolve fills in the defaults of a style, of a batch (loose) or of a case, and
// reports what cannot be made of it.
func (d *DrawerStyle) resolve(b *bench, at string, loose bool) *drawer {
	std, other := Lapped, Applied
	if loose {
		std, other = Applied, Lapped
	}
	b.made.Construction = b.word(at, "construction", d.Construction, std, other)
	b.made.Bottom = b.word(at, "bottom", d.Bottom, sheet, solid)
	lapped := b.made.Construction == Lapped
	r := &drawer{DrawerStyle: d, at: at, lapped: lapped, loose: loose, strips: 1, drawerSizes: standardDrawer(b.units, lapped)}
	r.solid = b.made.Bottom == solid
	r.slid = b.word(at, "bottom_fit", d.BottomFit, captured, slidIn) == slidIn
	r.sizes(b)
	r.idle(b)
	r.limits(b)
	return r
}

func (d *drawer) sizes(b *bench) {
	s, at := d.DrawerStyle, d.at
	b.set(&d.box, at, "box", s.Box)
	b.set(&d.front, at, "front", s.Front)
	b.set(&d.lap, at, "lap", s.Lap)
	b.set(&d.flush, at, "flush", s.Flush)
	b.set(&d.sideClearance, at, "side_clearance", s.SideClearance)
	b.set(&d.heightGap, at, "height_gap", s.HeightGap)
	b.set(&d.frontGap, at, "front_gap", s.FrontGap)
	b.set(&d.behind, at, "behind", s.Behind)
	b.set(&d.groove, at, "groove", s.Groove)
	b.set(&d.grooveOffset, at, "groove_offset", s.GrooveOffset)
	b.set(&d.bottomGap, at, "bottom_clearance", s.BottomGap)
	b.set(&d.bottomStock, at, "bottom_thickness", s.BottomStock)
	b.set(&d.tailPitch, at, "tail_pitch", s.TailPitch)
	b.set(&d.looseTail, at, "loose_tail", s.LooseTail)
	if s.Strips != nil && b.between(at+"/tape_strips", *s.Strips, 0, maxStrips) {
		d.strips = *s.Strips
	}
	if d.tailPitch <= 0 {
		b.faults.Add(at+"/tail_pitch", "a tail_pitch of 0 makes no tails: write the distance from tail to tail")
	}
	if d.solid {
		d.bottom = d.bottomStock
	} else {
		d.bottom = b.sheet(Bottom)
	}
}

// idle reports settings that have no effect on the construction chosen.
func (d *drawer) idle(b *bench) {
	s, applied := d.DrawerStyle, !d.lapped
	for _, i := range []struct {
		setting
		idle bool
		why  string
	}{
		{sized("front", s.Front), d.loose && applied, "loose boxes of applied construction have no front"},
		{sized("lap", s.Lap), applied, "applied construction has no lapped dovetails"},
		{sized("side_clearance", s.SideClearance), d.loose, "loose boxes are made as wide as listed"},
		{sized("height_gap", s.HeightGap), d.loose, "loose boxes are made as high as listed"},
		{sized("front_gap", s.FrontGap), d.loose || d.lapped, "only an applied front of a chest has a gap round it"},
		{sized("behind", s.Behind), d.loose, "loose boxes have no case behind them"},
		{sized("bottom_thickness", s.BottomStock), !d.solid, "a sheet bottom is as thick as its sheet"},
		{setting{"one_board_fronts", s.OneBoard}, d.loose && applied, "loose boxes of applied construction have no front"},
	} {
		if i.typed && i.idle {
			b.faults.Add(d.at+"/"+i.name, "%s has no effect here (%s): leave it out", i.name, i.why)
		}
	}
}

// limits refuses boxes that cannot be built, whatever their size.
func (d *drawer) limits(b *bench) {
	s := d.DrawerStyle
	if d.lapped && d.lap >= d.front {
		b.faults.Add(blame(d.at, sized("lap", s.Lap), sized("front", s.Front)),
			"lap %s is not below front %s, so that nothing of the front would be left over the tails: make the lap smaller or the front thicker", b.show(d.lap), b.show(d.front))
	}
	if 2*d.groove > d.box {
		b.faults.Add(blame(d.at, sized("groove", s.Groove), sized("box", s.Box)),
			"groove %s is over half of box %s: make it %s or less", b.show(d.groove), b.show(d.box), b.atMost(d.box/2))
	}
}

// fill makes the drawers of n alike openings.
func (d *drawer) fill(b *bench, s *space, n int) {
	if s.height < minHigh || s.width < minWide {
		if !s.given || s.width < minWide { // a height given has been judged where it is
			b.faults.Add(s.at, "openings are %s wide and %s high: make them at least %s wide and %s high",
				b.show(s.width), b.show(s.height), b.atLeast(minWide), b.atLeast(minHigh))
		}
		return
	}
	box := Box{
		Quantity: n, Fitted: true, Opening: s.width,
		Width: s.width - 2*d.sideClearance, Height: s.height - d.heightGap, Depth: s.depth - d.behind,
	}
	if !d.lapped {
		box.Depth -= d.front
	}
	if d.make(b, &box, s.at) && !d.lapped {
		b.add(Part{
			Shape: Shape{
				Name: "Applied front", Material: Show, Front: true, Outside: Surface{2, 2, 2},
				Length: s.width - 2*d.frontGap, Width: s.height - 2*d.frontGap, Thickness: d.front,
			},
			Quantity: n, OneBoard: d.oneBoard(), At: s.at, ThickAt: blame(d.at, sized("front", d.Front)),
		})
		box.Last = len(b.made.Parts)
	}
	b.made.Boxes = append(b.made.Boxes, box)
}

// make adds the parts and joints of the box, all but an applied front, and
// completes it; it reports whether the box can be made.
func (d *drawer) make(b *bench, box *Box, at string) bool {
	if box.Height <= d.grooveOffset+d.bottom+minAbove {
		b.faults.Add(at, "a box %s high is not over groove_offset %s + bottom %s + %s: make it higher",
			b.show(box.Height), b.show(d.grooveOffset), b.show(d.bottom), b.show(minAbove))
		return false
	}
	h, low := box.Height, box.Height // low: of the rear board
	if d.slid {
		low -= d.grooveOffset + d.bottom + underBack
	}
	box.First = len(b.made.Parts)
	var tail unit.Length // of a tail board
	if d.lapped {
		tail = d.lapFront(b, box, low, at)
	} else {
		tail = d.pinBoards(b, box, low, at)
	}
	d.wall(b, "Tail board", 2*box.Quantity, tail, h, at)
	d.addBottom(b, box, at)
	d.grooves(b, box, tail, at)
	box.Board, box.GrooveDepth = d.box, d.groove
	box.InsideW = box.Width - 2*d.box
	box.Tape = unit.Length(d.strips) * (2*(h+2*d.looseTail) + 2*(low+2*d.looseTail))
	box.Last = len(b.made.Parts)
	return true
}

// lapFront adds the front and back of a lapped box and their corners; it returns
// the length of the tail boards.
func (d *drawer) lapFront(b *bench, box *Box, low unit.Length, at string) unit.Length {
	n, long := box.Quantity, box.Width+d.flush
	front := Part{
		Shape: Shape{
			Name: "Drawer front", Material: Show, Front: true, Outside: Surface{1, 1, 0}, Inside: Surface{1, 0, 0},
			Length: long, Width: box.Height, Thickness: d.front,
		},
		Quantity: n, OneBoard: d.oneBoard(), At: at, ThickAt: blame(d.at, sized("front", d.Front)),
	}
	if d.loose {
		front.Outside, front.Inside = d.surfaces(b)
	}
	b.add(front)
	d.wall(b, "Drawer back", n, long, low, at)
	if d.lap < d.front {
		j := corners(LappedDovetail, 2*n, box.Height, d.box, d.front, d.tailPitch)
		j.Lap, j.At = d.lap, blame(d.at, sized("lap", d.Lap))
		b.join(j)
	}
	d.through(b, 2*n, low)
	box.InsideD = box.Depth - d.front - d.box
	return box.Depth - d.lap
}

// pinBoards adds the pin boards of an applied box and its corners; it returns
// the length of the tail boards.
func (d *drawer) pinBoards(b *bench, box *Box, low unit.Length, at string) unit.Length {
	n, long := box.Quantity, box.Width+d.flush
	if low == box.Height {
		d.wall(b, "Pin board", 2*n, long, low, at)
		d.through(b, 4*n, low)
	} else {
		d.wall(b, "Pin board", n, long, box.Height, at)
		d.wall(b, "Pin board", n, long, low, at)
		d.through(b, 2*n, box.Height)
		d.through(b, 2*n, low)
	}
	box.InsideD = box.Depth - 2*d.box
	return box.Depth
}

// oneBoard returns the pointer of the setting that refuses strips, if it does.
func (d *drawer) oneBoard() string {
	if d.OneBoard {
		return d.at + "/one_board_fronts"
	}
	return ""
}

// wall adds n walls of the box.
func (d *drawer) wall(b *bench, name string, n int, length, height unit.Length, at string) {
	out, in := d.surfaces(b)
	b.add(Part{
		Shape:    Shape{Name: name, Material: Inner, Length: length, Width: height, Thickness: d.box, Outside: out, Inside: in},
		Quantity: n, At: at, ThickAt: blame(d.at, sized("box", d.Box)),
	})
}

// surfaces returns what of a wall is finished outside and inside.
func (d *drawer) surfaces(b *bench) (out, in Surface) {
	if d.loose && b.outside {
		return Surface{1, 2, 0}, Surface{1, 0, 0}
	}
	return Surface{}, Surface{1, 1, 0}
}

// through adds n through-dovetailed corners.
func (d *drawer) through(b *bench, n int, h unit.Length) {
	j := corners(ThroughDovetail, n, h, d.box, d.box, d.tailPitch)
	j.At = blame(d.at, sized("box", d.Box))
	b.join(j)
}

// addBottom adds the bottoms, the grain from side to side.
func (d *drawer) addBottom(b *bench, box *Box, at string) {
	p := Part{
		Shape: Shape{
			Name: "Drawer bottom", Material: Bottom, Inside: Surface{1, 0, 0},
			Length:    box.Width - 2*d.box + 2*d.groove - d.bottomGap,
			Width:     box.InsideD + 2*d.groove - d.bottomGap,
			Thickness: d.bottom,
		},
		Quantity: box.Quantity, At: at, ThickAt: blame(d.at, sized("bottom_thickness", d.BottomStock)),
	}
	if d.slid {
		p.Width = box.InsideD + d.box + d.groove - d.bottomGap
	}
	if d.solid {
		p.Material, p.Inside = Inner, Surface{2, 0, 0}
	} else {
		box.Sheet = d.bottom
		if d.loose && b.outside {
			p.Outside = Surface{1, 0, 0}
		}
	}
	b.add(p)
}

// grooves adds the grooves for the bottom, as long as the boards grooved.
func (d *drawer) grooves(b *bench, box *Box, tail unit.Length, at string) {
	fronts := 2 * box.Quantity
	if d.slid {
		fronts = box.Quantity
	}
	b.join(Joint{Type: Groove, Length: box.Width + d.flush, Quantity: fronts, At: at})
	b.join(Joint{Type: Groove, Length: tail, Quantity: 2 * box.Quantity, At: at})
}
