package pricing

import (
	"reckoner/pricing/book"
	"reckoner/pricing/measure"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// takeOff counts every measure of the piece line off its parts and joints, and
// writes the cutting list, the joints and the measures into the answer.
func (j *job) takeOff() {
	t := &j.tally
	t.init()
	if j.made.Visit == nil {
		t.count(measure.Piece, "", j.quantity)
	}
	t.count(measure.PartLine, "", len(j.cuts))
	j.out.Parts = make([]CutPart, len(j.cuts))
	for i := range j.cuts {
		j.out.Parts[i] = j.printed(&j.cuts[i])
		j.takeOffPart(&j.cuts[i])
	}
	j.takeOffJoints()
	j.takeOffBoxes()
	j.takeOffFinish(outside)
	j.takeOffFinish(inside)
	j.takeOffFittings()
	if v := j.made.Visit; v != nil {
		t.decimal(measure.Delivery, v.Delivery, j.quantity)
		t.count(measure.Drop, "", v.Drops*j.quantity)
		t.count(measure.LiftPerson, "", v.People*j.quantity)
		t.decimal(measure.Site, v.Site, j.quantity)
	}
	j.out.Measures = t.round()
}

// takeOffPart counts what one line of the cutting list adds to the measures.
func (j *job) takeOffPart(c *cut) {
	t, n := &j.tally, c.count
	if c.Offcut {
		return
	}
	t.add(measure.FinishedVolume, "", num.Mul(int64(c.finished)))
	if c.sheet != nil {
		t.count(measure.SheetPart, "", n)
		t.add(measure.SheetCut, "", num.Mul(2, int64(n), int64(c.Length+c.Width)))
		t.add(measure.Mass, "", num.Mul(int64(c.finished), int64(c.sheet.Density)))
		return
	}
	t.add(measure.Mass, "", num.Mul(int64(c.finished), int64(c.timber.Density)))
	t.count(measure.Part, c.role, n)
	t.count(measure.SawnBoard, c.role, n*c.strips)
	t.add(measure.Rip, c.role, num.Mul(int64(n), int64(c.strips), int64(c.length)))
	t.add(measure.PlanedArea, c.role, num.Mul(2, int64(n), int64(c.length), int64(c.width)))
	t.add(measure.NetVolume, "", num.Mul(int64(c.net)))
	if c.strips > 1 {
		t.count(measure.Panel, c.role, n)
		t.count(measure.PanelGlueUp, "", n)
		t.count(measure.GlueUp, "", n)
		t.add(measure.PanelArea, c.role, num.Mul(2, int64(n), int64(c.Length), int64(c.Width)))
		t.add(measure.EdgeJoint, c.role, num.Mul(int64(n), int64(c.strips-1), int64(c.length)))
	}
}

// takeOffJoints counts the joints, alike ones as one line, the edges between
// strips last.
func (j *job) takeOffJoints() {
	lines := make([]piece.Joint, 0, 16)
next:
	for _, k := range j.made.Joints {
		k.Quantity *= j.quantity
		j.countJoint(k)
		if !k.Glued() {
			continue
		}
		for i := range lines {
			if lines[i].Alike(k) {
				lines[i].Quantity += k.Quantity
				continue next
			}
		}
		lines = append(lines, k)
	}
	j.out.Joints = make([]CutJoint, 0, len(lines)+len(j.cuts))
	for _, edges := range []bool{false, true} {
		for _, k := range lines {
			if (k.Type == piece.Edge) == edges {
				j.joint(k)
			}
		}
	}
	for i := range j.cuts {
		if c := &j.cuts[i]; c.strips > 1 {
			j.joint(piece.Joint{Type: piece.Edge, Quantity: c.count * (c.strips - 1), Length: c.length, Thickness: c.thickness.Thickness})
		}
	}
}

// countJoint adds a joint to the measures.
func (j *job) countJoint(k piece.Joint) {
	t, n := &j.tally, k.Quantity
	run := num.Mul(int64(n), int64(k.Length))
	switch k.Type {
	case piece.ThroughDovetail:
		t.count(measure.ThroughCorner, "", n)
		t.count(measure.ThroughTail, "", n*k.Tails)
	case piece.LappedDovetail:
		t.count(measure.LappedCorner, "", n)
		t.count(measure.LappedTail, "", n*k.Tails)
	case piece.MortiseTenon:
		t.count(measure.MortiseTenon, "", n)
	case piece.Housing:
		t.count(measure.HousingJoint, "", n)
		t.add(measure.Housing, "", run)
	case piece.Groove:
		t.add(measure.Groove, "", run)
	case piece.Edge:
		t.add(measure.EdgeJoint, j.material(k.Material).role, run)
	case piece.Runner:
		t.count(measure.Runner, "", n)
	case piece.TopFixing:
		t.count(measure.TopFixing, "", n)
	}
}

// joint writes one line of joints and adds its glued area.
func (j *job) joint(k piece.Joint) {
	slope := k.Slope
	if slope == 0 && k.Tails > 0 {
		slope = j.material(k.Material).timber.Slope
	}
	size := j.units.Size
	line := CutJoint{
		Type: k.Type, Quantity: k.Quantity, Tails: k.Tails, Twin: k.Twin,
		Height: size(k.Height), Length: size(k.Length), Width: size(k.Width), Thickness: size(k.Thickness), Depth: size(k.Depth),
		TailBoard: size(k.TailBoard), PinBoard: size(k.PinBoard), Lap: size(k.Lap),
		Area: k.GlueArea(k.Quantity, slope),
	}
	j.out.Joints = append(j.out.Joints, line)
	j.tally.add(measure.JointArea, "", area(line.Area))
}

// takeOffBoxes counts drawers, cases and their glue-ups.
func (j *job) takeOffBoxes() {
	t, m := &j.tally, &j.made
	cases, listed := m.Cases*j.quantity, m.GlueUps*j.quantity
	t.count(measure.Case, "", cases)
	t.count(measure.CaseGlueUp, "", cases)
	t.count(measure.GlueUp, "", cases+listed)
	t.count(measure.BoxSize, "", boxSizes(m.Boxes))
	masked := j.coats(inside) > 0
	for i := range m.Boxes {
		b := &m.Boxes[i]
		n := b.Quantity * j.quantity
		t.count(measure.Drawer, "", n)
		t.count(measure.BoxGlueUp, "", n)
		t.count(measure.GlueUp, "", n)
		if b.Fitted {
			t.count(measure.Opening, "", n)
		}
		if masked {
			t.count(measure.MaskedCorner, "", 4*n)
			t.add(measure.Tape, "", num.Mul(int64(n), int64(b.Tape)))
		}
	}
}

// boxSizes counts the different outside sizes of boxes, to 0.1 mm.
func boxSizes(boxes []piece.Box) int {
	seen := make(map[[3]num.Decimal]bool, len(boxes))
	for i := range boxes {
		b := &boxes[i]
		seen[[3]num.Decimal{tenth(b.Width), tenth(b.Height), tenth(b.Depth)}] = true
	}
	return len(seen)
}

func tenth(l unit.Length) num.Decimal { return l.Millimetres().Round(1) }

// coats returns how many coats the finish of a zone has.
func (j *job) coats(zone string) int {
	n := 0
	if f := j.finish(zone); f != nil {
		for _, c := range f.Coats {
			n += c.Coats
		}
	}
	return n
}

// finish returns the finish named for a zone, or nil.
func (j *job) finish(zone string) *book.Finish {
	return j.Finish(j.piece.Finishes[zone])
}

// takeOffFinish counts what one zone's finish takes: sanding, coats, passes and
// rubbing down.
func (j *job) takeOffFinish(zone string) {
	f, t := j.finish(zone), &j.tally
	if f == nil {
		return
	}
	sanded := measure.SandedOutside
	if zone == inside {
		sanded = measure.SandedInside
	}
	total := num.Decimal(0)
	for i := range j.cuts {
		c := &j.cuts[i]
		a := c.outside
		if zone == inside {
			a = c.inside
		}
		if a > 0 {
			t.add(sanded, c.role, area(a))
			total = total.Plus(a)
		}
	}
	if total == 0 {
		return
	}
	for _, c := range f.Coats {
		share := zone + "/" + c.Product + "/" + c.Method
		t.count(measure.FinishPass, share, c.Coats)
		t.add(measure.Coat, share, area(total).Times(int64(c.Coats)))
	}
	if n := j.coats(zone); n > 1 {
		t.add(measure.Denib, zone, area(total).Times(int64(n-1)))
	}
}

// takeOffFittings counts the ironmongery.
func (j *job) takeOffFittings() {
	for i := range j.piece.Ironmongery {
		f := &j.piece.Ironmongery[i]
		if !j.sound(f) {
			continue
		}
		n := num.Product(0, num.One, f.Each, num.Whole(j.fitted(f)))
		j.tally.add(measure.Ironmongery, f.Code, num.Mul(int64(n/num.One)))
		j.tally.add(measure.Mass, "", num.Mul(int64(n), int64(j.Fitting(f.Code).Mass)))
	}
}

// sound reports whether an entry of ironmongery can be counted: what is wrong
// with it has been said.
func (j *job) sound(f *piece.Fitted) bool {
	return j.Fitting(f.Code) != nil && f.Each >= num.One && f.Each <= num.Whole(maxQuantity)
}

// fitted returns how many times an entry of ironmongery is fitted to the whole
// line.
func (j *job) fitted(f *piece.Fitted) int {
	n := 0
	switch f.Per {
	case "case":
		n = j.made.Cases
	case "piece":
		if j.made.Visit == nil {
			n = 1
		}
	default:
		for i := range j.made.Boxes {
			b := &j.made.Boxes[i]
			from := f.FromWidth == nil || b.Opening >= j.units.Length(*f.FromWidth)
			below := f.BelowWidth == nil || b.Opening < j.units.Length(*f.BelowWidth)
			if from && below && (b.Fitted || f.Per == "drawer") {
				n += b.Quantity
			}
		}
	}
	return n * j.quantity
}

// area returns square metres as the tally counts them: square nanometres.
func area(m2 num.Decimal) num.Wide { return num.Mul(int64(m2), 1e12) }
