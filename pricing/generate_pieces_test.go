package pricing_test

import (
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// chest draws a chest whose openings fill it.
func (d draw) chest() *piece.Chest {
	c := &piece.Chest{
		Width: d.size("width", 450, 1190), Depth: d.size("depth", 360, 650),
		BackRails: d.word("back rails", "", "needed", "all"), FinishedBack: d.rarely("finished back", 3),
	}
	d.settings(
		setting{&c.Top, "top", 18, 32}, setting{&c.Side, "side", 20, 28}, setting{&c.SideOverhang, "side overhang", 0, 30},
		setting{&c.FrontOverhang, "front overhang", 0, 30}, setting{&c.RearOverhang, "rear overhang", 0, 20},
		setting{&c.Rail, "rail", 20, 26}, setting{&c.RailWidth, "rail width", 50, 80}, setting{&c.BackRail, "back rail", 40, 70},
		setting{&c.Tenon, "tenon", 5, 15}, setting{&c.StubTongue, "stub tongue", 0, 10}, setting{&c.MovementGap, "movement gap", 0, 6},
		setting{&c.Housing, "housing", 3, 6}, setting{&c.RunnerWidth, "runner width", 30, 60},
		setting{&c.CentreMargin, "centre margin", 10, 30}, setting{&c.Guide, "guide", 10, 25}, setting{&c.Stop, "stop", 3, 8},
		setting{&c.Plinth, "plinth", 60, 120}, setting{&c.PlinthStock, "plinth thickness", 15, 25}, setting{&c.Rebate, "rebate", 4, 8},
	)
	if d.rarely("no plinth", 6) {
		c.Plinth = new(num.Decimal(0))
	}
	d.rows(c)
	c.Drawers.Construction = d.word("construction", "", "lapped", "applied")
	applied := c.Drawers.Construction == "applied"
	d.style(&c.Drawers, !applied)
	d.settings(setting{&c.Drawers.Behind, "behind", 0, 20}, setting{&c.Drawers.SideClearance, "side clearance", 0, 2},
		setting{&c.Drawers.HeightGap, "height gap", 0, 5}, setting{&c.Drawers.Front, "front", 15, 25})
	if applied {
		d.settings(setting{&c.Drawers.FrontGap, "front gap", 0, 3})
	}
	return c
}

// rows draws the rows of openings and the height that they fill.
func (d draw) rows(c *piece.Chest) {
	most, shared := 2, num.Whole(0)
	if c.Width >= d.standard(nil, 620, 400) {
		most = 3
	}
	c.Height = d.standard(c.Top, 25, 16) + d.standard(c.Plinth, 80, 50) + d.standard(c.Rail, 20, 13)
	for range d.n("rows", 1, 6) {
		row := piece.Row{}
		if d.rarely("divided", 3) {
			row.Across = num.Count(d.n("across", 1, most))
		}
		h := d.size("opening", 80, 280)
		if d.rarely("shared", 4) { // the rows without a height are all alike
			if shared == 0 {
				shared = h
			}
			h = shared
		} else {
			row.Height = &h
		}
		c.Rows = append(c.Rows, row)
		c.Height += h + d.standard(c.Rail, 20, 13)
	}
}

// boxes draws a batch of drawer boxes.
func (d draw) boxes() *piece.DrawerBoxes {
	l := &piece.DrawerBoxes{}
	low := true
	for range d.n("boxes", 1, 4) {
		b := piece.BoxSize{Width: d.size("width", 200, 900), Height: d.size("height", 70, 250), Depth: d.size("depth", 200, 600)}
		if d.rarely("box quantity typed", 2) {
			b.Quantity = num.Count(d.n("box quantity", 1, 6))
		}
		low = low && b.Height <= d.standard(nil, 140, 88)
		l.Boxes = append(l.Boxes, b)
	}
	l.Construction = d.word("construction", "", "lapped", "applied")
	lapped := l.Construction == "lapped"
	d.style(&l.DrawerStyle, lapped)
	if lapped {
		d.settings(setting{&l.Front, "front", 15, 25})
		l.OneBoard = low && d.rarely("one board", 2)
	}
	return l
}

// style draws the settings of a drawer that every kind has.
func (d draw) style(s *piece.DrawerStyle, lapped bool) {
	s.Bottom = d.word("bottom", "", "sheet", "solid")
	s.BottomFit = d.word("bottom fit", "", "captured", "slid_in")
	d.settings(
		setting{&s.Box, "box", 10, 16}, setting{&s.Groove, "groove", 3, 5}, setting{&s.Flush, "flush", 0, 2},
		setting{&s.GrooveOffset, "groove offset", 9, 14}, setting{&s.BottomGap, "bottom clearance", 0, 2},
		setting{&s.TailPitch, "tail pitch", 20, 60}, setting{&s.LooseTail, "loose tail", 0, 40},
	)
	if s.Bottom == "solid" {
		d.settings(setting{&s.BottomStock, "bottom thickness", 6, 10})
	}
	if lapped {
		d.settings(setting{&s.Lap, "lap", 3, 9})
	}
	if d.rarely("strips typed", 4) {
		s.Strips = new(d.n("strips", 0, 3))
	}
}

// parts draws a free cutting list with joints of every type.
func (d draw) parts() *piece.PartList {
	l := &piece.PartList{GlueUps: d.n("glue-ups", 0, 3)}
	for range d.n("parts", 1, 5) {
		p := piece.FreePart{Name: d.word("name", "Leg", "Rail", "Shelf"), Outside: d.surface("outside"), Inside: d.surface("inside")}
		if d.rarely("part quantity typed", 2) {
			p.Quantity = num.Count(d.n("part quantity", 1, 6))
		}
		p.Material = d.word("material", "show", "inner", "ash-prime", "bottom", "back", "birch-ply-6")
		switch p.Material {
		case "show", "inner", "ash-prime":
			p.Length, p.Width, p.Thickness = d.size("length", 50, 2900), d.size("width", 20, 700), new(d.size("thickness", 5, 40))
			d.settings(setting{&p.Extra, "extra", 0, 3})
		default:
			p.Length, p.Width = d.size("length", 50, 2400), d.size("width", 20, 1200)
		}
		l.Parts = append(l.Parts, p)
	}
	for range d.n("joints", 0, 4) {
		l.Joints = append(l.Joints, d.joint())
	}
	return l
}

func (d draw) surface(zone string) piece.Surface {
	if d.rarely(zone+" bare", 2) {
		return piece.Surface{}
	}
	return piece.Surface{Faces: d.n(zone+" faces", 0, 2), LongEdges: d.n(zone+" edges", 0, 2), Ends: d.n(zone+" ends", 0, 2)}
}

// joint draws a free joint with the sizes its type has.
func (d draw) joint() piece.FreeJoint {
	j := piece.FreeJoint{Type: d.word("joint", "edge", "housing", "mortise_tenon", "through_dovetail", "lapped_dovetail", "groove")}
	if d.rarely("joint quantity typed", 2) {
		j.Quantity = num.Count(d.n("joint quantity", 1, 8))
	}
	must := func(what string, low, high int) *num.Decimal { return new(d.size(what, low, high)) }
	switch j.Type {
	case "through_dovetail", "lapped_dovetail":
		j.Height, j.TailBoard, j.PinBoard = must("board height", 60, 300), must("tail board", 8, 20), must("pin board", 12, 25)
		if j.Type == "lapped_dovetail" {
			d.settings(setting{&j.Lap, "lap", 3, 9})
		}
		if d.rarely("tails typed", 3) {
			j.Tails = num.Count(d.n("tails", 1, 9))
		}
		if d.rarely("slope typed", 3) {
			j.Slope = num.Count(d.n("slope", 3, 4) * 2)
		}
		return j
	case "edge":
		j.Thickness, j.Material = must("thickness", 10, 40), d.word("edge of", "", "show", "inner", "ash-prime")
	case "housing":
		j.Thickness, j.Depth = must("thickness", 10, 30), must("depth", 3, 10)
	case "mortise_tenon":
		j.Width, j.Thickness, j.Twin = must("width", 20, 80), must("thickness", 6, 15), d.rarely("twin", 3)
	}
	j.Length = must("length", 20, 1500)
	return j
}

// terms draws changes of the terms.
func (d draw) terms() *book.TermsChange {
	c := &book.TermsChange{}
	percents := []struct {
		to   **num.Percent
		name string
		most int
	}{
		{&c.Contingency, "contingency", 20_00}, {&c.Fees, "fees", 49_99}, {&c.BoughtInMarkup, "bought-in mark-up", 50_00},
		{&c.Discount, "discount", 100_00}, {&c.Deposit, "deposit", 100_00},
	}
	for _, p := range percents {
		if d.rarely(p.name+" typed", 3) {
			*p.to = new(d.percent(p.name, p.most))
		}
	}
	if d.rarely("payments", 3) {
		c.Deposit, c.Payments = nil, d.payments()
	}
	switch d.n("overhead", 1, 3) {
	case 2:
		c.Overhead = &book.Overhead{PerHour: new(num.Rate(d.n("per hour", 0, 40_0000)))}
	case 3:
		c.Overhead = &book.Overhead{Percent: new(d.percent("overhead percent", 100_00))}
	}
	switch d.n("profit", 1, 4) {
	case 2:
		c.Profit = &book.Profit{Margin: new(d.percent("margin", 94_99))}
	case 3:
		c.Profit = &book.Profit{Markup: new(d.percent("mark-up", 200_00))}
	case 4:
		c.Profit = &book.Profit{}
	}
	if d.rarely("round to typed", 3) {
		c.RoundTo = new(num.Rate(d.n("round to", 0, 50)) * 1_0000)
	}
	if d.rarely("tax typed", 4) {
		c.Tax = new(d.word("terms tax", "zero", "reduced"))
	}
	for _, saw := range []struct {
		to        **unit.Length
		name      string
		low, most int // tenths of a millimetre
	}{{&c.Kerf, "kerf", 0, 60}, {&c.Trim, "trim", 0, 100}, {&c.OffcutMin, "offcut", 10, 9000}} {
		if d.rarely(saw.name+" typed", 3) {
			*saw.to = new(unit.Length(d.n(saw.name, saw.low, saw.most)) * (unit.Millimetre / 10))
		}
	}
	return c
}

// payments draws one to five payments of the whole.
func (d draw) payments() (all []book.Payment) {
	left := 100_00
	for more := d.n("payments more", 0, 4); more > 0; more-- {
		p := d.n("of the gross", 1, left-more)
		all = append(all, book.Payment{Title: "Stage", Percent: num.Percent(p), Due: "in time"})
		left -= p
	}
	return append(all, book.Payment{Title: "Rest", Percent: num.Percent(left), Due: "at the end"})
}
