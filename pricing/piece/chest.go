package piece

import (
	"errors"

	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A Chest is a case of drawers under a top. A size not given has the default of
// its System; every one can be set.
type Chest struct {
	Width   num.Decimal `json:"width"` // outside, the top included
	Depth   num.Decimal `json:"depth"`
	Height  num.Decimal `json:"height"`
	Rows    []Row       `json:"rows"` // from the top
	Drawers DrawerStyle `json:"drawers,omitzero"`

	Top           *num.Decimal `json:"top,omitzero"` // thickness
	Side          *num.Decimal `json:"side,omitzero"`
	SideOverhang  *num.Decimal `json:"side_overhang,omitzero"`
	FrontOverhang *num.Decimal `json:"front_overhang,omitzero"`
	RearOverhang  *num.Decimal `json:"rear_overhang,omitzero"`
	Rail          *num.Decimal `json:"rail,omitzero"` // thickness: its height in the front
	RailWidth     *num.Decimal `json:"rail_width,omitzero"`
	BackRail      *num.Decimal `json:"back_rail,omitzero"`  // width
	BackRails     string       `json:"back_rails,omitzero"` // "needed" (default) or "all"
	Tenon         *num.Decimal `json:"tenon,omitzero"`
	StubTongue    *num.Decimal `json:"stub_tongue,omitzero"`
	MovementGap   *num.Decimal `json:"movement_gap,omitzero"`
	Housing       *num.Decimal `json:"housing,omitzero"`
	RunnerWidth   *num.Decimal `json:"runner_width,omitzero"`
	CentreMargin  *num.Decimal `json:"centre_runner_margin,omitzero"`
	Guide         *num.Decimal `json:"guide,omitzero"`  // thickness
	Stop          *num.Decimal `json:"stop,omitzero"`   // thickness
	Plinth        *num.Decimal `json:"plinth,omitzero"` // height; 0: none
	PlinthStock   *num.Decimal `json:"plinth_thickness,omitzero"`
	Rebate        *num.Decimal `json:"rebate,omitzero"`
	FinishedBack  bool         `json:"finished_back,omitzero"`
}

// A Row is a row of equal openings side by side. Rows without a height share
// what is left, all alike.
type Row struct {
	Height *num.Decimal `json:"height,omitzero"`
	Across num.Count    `json:"across,omitzero"` // default 1
}

// A chest is a resolved Chest: its sizes, the room inside, and what is derived.
type chest struct {
	*Chest
	caseSizes
	at           string
	w, d, h      unit.Length
	caseD        unit.Length // Dc: of the case without the top's overhangs
	inside       unit.Length // Wi: between the sides
	back         unit.Length // thickness of the back sheet
	across       []int       // openings of each row
	room         space
	allBackRails bool
}

const (
	shoulderTenon = 5 * mm  // of a side that a tenon must leave
	aroundTwins   = 24 * mm // of a rail's width that its twin tenons leave
	railShoulder  = 4 * mm  // of a rail's thickness that its tenons leave
	plinthGap     = 20 * mm // of a plinth's height that its tenon leaves
	plinthTenon   = 8 * mm  // thickness
	railCore      = 8 * mm  // of a rail that two housings must leave
	perBlock      = 250 * mm
	perFixing     = 300 * mm
)

// resolve works out the settings and the openings of a chest; it reports whether
// they are enough to build on.
func (c *Chest) resolve(b *bench) (*chest, bool) {
	k := &chest{Chest: c, at: b.at, caseSizes: standardCase(b.units)}
	var okW, okD, okH bool
	k.w, okW = b.required(k.at, "width", c.Width)
	k.d, okD = b.required(k.at, "depth", c.Depth)
	k.h, okH = b.required(k.at, "height", c.Height)
	k.settings(b)
	fill := c.Drawers.resolve(b, k.at+"/drawers", false)
	rows := k.readRows(b)
	k.joinery(b, fill)
	return k, rows && k.divide(b, fill, okH, okW && okD)
}

func (c *Chest) build(b *bench) {
	k, ok := c.resolve(b)
	if !ok {
		return
	}
	b.made.Cases = 1
	b.made.Parts = make([]Part, 0, 12+8*len(c.Rows))
	b.made.Joints = make([]Joint, 0, 8+6*len(c.Rows))
	b.made.Boxes = make([]Box, 0, len(c.Rows))
	k.shell(b)
	k.carriage(b)
	k.closing(b)
	k.joints(b)
	b.made.CaseParts, b.made.Height = len(b.made.Parts), k.h
	k.room.furnish(b)
}

func (c *chest) settings(b *bench) {
	s, at := c.Chest, c.at
	b.set(&c.top, at, "top", s.Top)
	b.set(&c.side, at, "side", s.Side)
	b.set(&c.sideOverhang, at, "side_overhang", s.SideOverhang)
	b.set(&c.frontOverhang, at, "front_overhang", s.FrontOverhang)
	b.set(&c.rearOverhang, at, "rear_overhang", s.RearOverhang)
	b.set(&c.rail, at, "rail", s.Rail)
	b.set(&c.railWidth, at, "rail_width", s.RailWidth)
	b.set(&c.backRail, at, "back_rail", s.BackRail)
	b.set(&c.tenon, at, "tenon", s.Tenon)
	b.set(&c.stubTongue, at, "stub_tongue", s.StubTongue)
	b.set(&c.movementGap, at, "movement_gap", s.MovementGap)
	b.set(&c.housing, at, "housing", s.Housing)
	b.set(&c.runnerWidth, at, "runner_width", s.RunnerWidth)
	b.set(&c.centreMargin, at, "centre_runner_margin", s.CentreMargin)
	b.set(&c.guide, at, "guide", s.Guide)
	b.set(&c.stop, at, "stop", s.Stop)
	b.set(&c.plinth, at, "plinth", s.Plinth)
	b.set(&c.plinthStock, at, "plinth_thickness", s.PlinthStock)
	b.set(&c.rebate, at, "rebate", s.Rebate)
	c.allBackRails = b.word(at, "back_rails", s.BackRails, "needed", "all") == "all"
	c.back = b.sheet(Back)
}

// readRows checks the list of rows and reads how many openings each has.
func (c *chest) readRows(b *bench) bool {
	at := c.at + "/rows"
	if !b.listed(at, len(c.Rows), maxRows, "rows") {
		return false
	}
	ok := true
	c.across = make([]int, len(c.Rows))
	for i, r := range c.Rows {
		c.across[i] = max(1, int(r.Across))
		if r.Across > maxRows {
			b.faults.Add(item(at, i)+"/across", "%d openings across: write 1 to %d", r.Across, maxRows)
			ok = false
		}
		if r.Height == nil {
			continue
		}
		if h, fits := b.overall(item(at, i), "height", *r.Height); !fits {
			ok = false
		} else if h < minHigh {
			b.faults.Add(item(at, i)+"/height", "an opening %s high is too low for a drawer: make it at least %s", b.show(h), b.atLeast(minHigh))
		}
	}
	return ok
}

// joinery refuses settings that no size of chest could be built with.
func (c *chest) joinery(b *bench, d *drawer) {
	s := c.Chest
	if c.tenon > c.side-shoulderTenon {
		b.faults.Add(blame(c.at, sized("tenon", s.Tenon), sized("side", s.Side)),
			"tenon %s is over side %s less %s and would come through: make the tenon shorter or the side thicker", b.show(c.tenon), b.show(c.side), b.show(shoulderTenon))
	}
	if c.divided() && 2*c.housing > c.rail-railCore {
		b.faults.Add(blame(c.at, sized("housing", s.Housing), sized("rail", s.Rail)),
			"two housings of %s are over rail %s less %s and would cut it through: make the housing shallower or the rail thicker", b.show(c.housing), b.show(c.rail), b.show(railCore))
	}
	if d.grooveOffset <= c.stop {
		at := blame(c.at, sized("drawers/groove_offset", d.GrooveOffset), sized("stop", s.Stop))
		b.faults.Add(at, "groove_offset %s is not over stop %s, so that the bottom would foul the drawer stops: make groove_offset larger or the stop thinner", b.show(d.grooveOffset), b.show(c.stop))
	}
}

// divided reports whether any row has uprights.
func (c *chest) divided() bool {
	for _, n := range c.across {
		if n > 1 {
			return true
		}
	}
	return false
}

// divide works out the room inside and its openings, as far as the overall sizes
// are known; it reports whether the case can be made.
func (c *chest) divide(b *bench, fill *drawer, height, plan bool) bool {
	if plan {
		plan = c.plan(b)
	}
	if height {
		height = c.stack(b)
	}
	if !plan || !height {
		return false
	}
	fits := true
	for i := range c.room.into {
		row := &c.room.into[i]
		if !row.columns(c.side, c.across[i], fill) {
			b.faults.Add(row.at, "%d openings across with uprights of %s do not go into %s: make them fewer, or the chest wider", c.across[i], b.show(c.side), b.show(c.inside))
			fits = false
		}
	}
	return fits
}

// plan works out the case as seen from above.
func (c *chest) plan(b *bench) bool {
	c.caseD = c.d - c.frontOverhang - c.rearOverhang
	c.inside = c.w - 2*c.sideOverhang - 2*c.side
	if c.inside <= 0 || c.caseD <= c.back {
		b.faults.Add(c.at, "the overhangs and sides leave a case %s wide inside and %s deep: make those smaller, or the chest wider or deeper", b.show(c.inside), b.show(c.caseD))
		return false
	}
	if 4*c.backRail > c.caseD {
		b.faults.Add(blame(c.at, sized("back_rail", c.BackRail)),
			"back_rail %s is over a quarter of the case's depth %s: make it %s or less", b.show(c.backRail), b.show(c.caseD), b.atMost(c.caseD/4))
	}
	return true
}

// stack divides the room inside into the rows.
func (c *chest) stack(b *bench) bool {
	c.room = space{
		x: c.sideOverhang + c.side, y: c.plinth + c.rail,
		width: c.inside, height: c.h - c.top - c.plinth - 2*c.rail, depth: c.caseD - c.back, at: c.at + "/rows",
	}
	heights := make([]unit.Length, len(c.Rows))
	for i, r := range c.Rows {
		if r.Height != nil {
			heights[i] = b.units.Length(*r.Height)
		}
	}
	if m := (*misfit)(nil); errors.As(c.room.rows(c.rail, heights), &m) {
		c.report(b, m, unit.Length(len(c.across)+1)*c.rail)
		return false
	}
	return true
}

// report words openings that do not fill the case.
func (c *chest) report(b *bench, m *misfit, rails unit.Length) {
	at := c.at + "/rows"
	sum := "height " + b.show(c.h) + " - top " + b.show(c.top) + " - plinth " + b.show(c.plinth) + " - rails " + b.show(rails)
	if m.shared > 0 {
		b.faults.Add(at, "the openings given take %s of %s (%s) and leave nothing for the %d without a height: make them lower, or the chest higher", b.show(m.sizes), b.show(m.room), sum, m.shared)
		return
	}
	b.faults.Add(at, "the openings add up to %s, but there are %s to fill (%s): change a height, or leave one out to take the rest", b.show(m.sizes), b.show(m.room), sum)
}

// hasBackRail reports whether a level has a back rail: 0 is under the top, then
// one under each row.
func (c *chest) hasBackRail(level int) bool {
	n := len(c.across)
	return c.allBackRails || level == 0 || level == n ||
		c.across[level-1] > 1 || c.across[level] > 1
}

// backRails returns how many levels have a back rail.
func (c *chest) backRails() int {
	n := 0
	for level := range len(c.across) + 1 {
		if c.hasBackRail(level) {
			n++
		}
	}
	return n
}

// runner returns the length of a runner at that level.
func (c *chest) runner(level int) unit.Length {
	l := c.caseD - c.back - c.railWidth + c.stubTongue - c.movementGap
	if c.hasBackRail(level) {
		l -= c.backRail - c.stubTongue
	}
	return l
}

// shell adds the parts that are seen, down to the uprights.
func (c *chest) shell(b *bench) {
	s := c.Chest
	c.part(b, Part{Shape: Shape{Name: "Top", Material: Show, Length: c.w, Width: c.d, Thickness: c.top, Outside: Surface{2, 2, 2}}, Quantity: 1, LongAt: c.at + "/width"}, sized("top", s.Top))
	c.part(b, Part{Shape: Shape{Name: "Side", Material: Show, Length: c.h - c.top, Width: c.caseD, Thickness: c.side, Outside: Surface{1, 2, 0}}, Quantity: 2}, sized("side", s.Side))
	long := c.inside + 2*c.tenon
	c.part(b, Part{Shape: Shape{Name: "Front rail", Material: Show, Length: long, Width: c.railWidth, Thickness: c.rail, Outside: Surface{0, 1, 0}}, Quantity: len(c.across) + 1}, sized("rail", s.Rail))
	c.part(b, Part{Shape: Shape{Name: "Back rail", Material: Inner, Length: long, Width: c.backRail, Thickness: c.rail}, Quantity: c.backRails()}, sized("rail", s.Rail))
	for i, n := range c.across {
		c.part(b, Part{Shape: Shape{Name: "Upright", Material: Show, Length: c.room.into[i].height + 2*c.housing, Width: c.railWidth, Thickness: c.side, Outside: Surface{0, 1, 0}}, Quantity: n - 1}, sized("side", s.Side))
	}
}

// carriage adds what the drawers run on and between.
func (c *chest) carriage(b *bench) {
	rail, centre := sized("rail", c.Rail), c.side+2*c.centreMargin
	rows, wideAt := c.across, blame(c.at, sized("runner_width", c.RunnerWidth))
	runners := func(name string, n int, level int, width unit.Length) {
		c.part(b, Part{Shape: Shape{Name: name, Material: Inner, Length: c.runner(level), Width: width, Thickness: c.rail}, Quantity: n, WideAt: wideAt}, rail)
		if n > 0 {
			b.join(Joint{Type: Runner, Quantity: n})
		}
	}
	for i := range rows {
		runners("Side runner", 2, i+1, c.runnerWidth)
	}
	for i, n := range rows {
		runners("Centre runner", n-1, i+1, centre)
	}
	for _, n := range rows {
		c.part(b, Part{Shape: Shape{Name: "Drawer guide", Material: Inner, Length: c.caseD - c.back - c.railWidth, Width: c.side, Thickness: c.guide}, Quantity: n - 1}, sized("guide", c.Guide))
	}
	runners("Side kicker", 2, 0, c.runnerWidth)
	for i, n := range rows {
		if i == 0 || n != rows[i-1] {
			runners("Centre kicker", n-1, i, centre)
		}
	}
}

// closing adds the plinth, the small blocks and the back.
func (c *chest) closing(b *bench) {
	if c.plinth > 0 {
		c.part(b, Part{Shape: Shape{Name: "Plinth", Material: Show, Length: c.inside + 2*c.tenon, Width: c.plinth, Thickness: c.plinthStock, Outside: Surface{1, 0, 0}}, Quantity: 1}, sized("plinth_thickness", c.PlinthStock))
	}
	drawers := 0
	for _, n := range c.across {
		drawers += n
	}
	c.part(b, Part{Shape: Shape{Name: "Glue block", Material: Inner, Length: c.block.L, Width: c.block.W, Thickness: c.block.W, Offcut: true}, Quantity: over(c.inside, perBlock)})
	c.part(b, Part{Shape: Shape{Name: "Drawer stop", Material: Inner, Length: c.stopBlock.L, Width: c.stopBlock.W, Thickness: c.stop, Offcut: true}, Quantity: 2 * drawers}, sized("stop", c.Stop))
	back := Part{Shape: Shape{Name: "Back", Material: Back, Length: c.h - c.top - c.plinth, Width: c.inside + 2*c.rebate, Thickness: c.back}, Quantity: 1}
	if c.FinishedBack {
		back.Outside = Surface{1, 0, 0}
	}
	c.part(b, back)
	b.join(Joint{Type: Groove, Length: back.Length, Quantity: 2, At: c.at})
}

// joints adds the joints of the case in the order of their parts.
func (c *chest) joints(b *bench) {
	b.join(Joint{Type: TopFixing, Quantity: 2*over(c.inside, perFixing) + 2})
	c.tenons(b, c.railWidth, len(c.across)+1, sized("rail_width", c.RailWidth))
	c.tenons(b, c.backRail, c.backRails(), sized("back_rail", c.BackRail))
	for _, n := range c.across {
		if n > 1 {
			b.join(Joint{Type: Housing, Length: c.railWidth, Thickness: c.side, Depth: c.housing, Quantity: 2 * (n - 1), At: blame(c.at, sized("housing", c.Housing))})
		}
	}
	if c.plinth > 0 {
		at := blame(c.at, sized("plinth", c.Plinth), sized("tenon", c.Tenon))
		b.join(Joint{Type: MortiseTenon, Length: c.tenon, Width: c.plinth - plinthGap, Thickness: plinthTenon, Quantity: 2, At: at})
	}
}

// tenons adds the twin tenons of n rails that wide.
func (c *chest) tenons(b *bench, width unit.Length, n int, wide setting) {
	at := blame(c.at, wide, sized("rail", c.Rail), sized("tenon", c.Tenon))
	b.join(Joint{Type: MortiseTenon, Length: c.tenon, Width: (width - aroundTwins) / 2, Thickness: c.rail - railShoulder, Twin: true, Quantity: 2 * n, At: at})
}

// part adds p, if there are any; thick is the setting of its thickness.
func (c *chest) part(b *bench, p Part, thick ...setting) {
	if p.Quantity < 1 {
		return
	}
	p.At, p.ThickAt = c.at, blame(c.at, thick...)
	b.add(p)
}

// over returns l / step, up to a whole.
func over(l, step unit.Length) int { return int((l + step - 1) / step) }
