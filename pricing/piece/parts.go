package piece

import (
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A PartList is a free cutting list with its joints, for one piece.
type PartList struct {
	Parts   []FreePart  `json:"parts"`
	Joints  []FreeJoint `json:"joints,omitzero"`
	GlueUps int         `json:"glue_ups,omitzero"` // beside those of panels
}

// A FreePart is a part as written, for one piece.
type FreePart struct {
	Name      string       `json:"name"`
	Quantity  num.Count    `json:"quantity,omitzero"` // default 1
	Length    num.Decimal  `json:"length"`            // along the grain
	Width     num.Decimal  `json:"width"`
	Thickness *num.Decimal `json:"thickness,omitzero"` // default for a sheet: the sheet's
	Material  string       `json:"material"`           // a role, or the code of a timber or sheet
	Outside   Surface      `json:"outside,omitzero"`
	Inside    Surface      `json:"inside,omitzero"`
	Extra     *num.Decimal `json:"extra,omitzero"` // thickness to be lost in flattening
}

// A FreeJoint is a joint as written; Type says which sizes it has.
type FreeJoint struct {
	Type      string       `json:"type"`
	Quantity  num.Count    `json:"quantity,omitzero"`       // default 1; of one piece
	Height    *num.Decimal `json:"height,omitzero"`         // dovetails: of the boards
	TailBoard *num.Decimal `json:"tail_thickness,omitzero"` // dovetails
	PinBoard  *num.Decimal `json:"pin_thickness,omitzero"`
	Lap       *num.Decimal `json:"lap,omitzero"`   // lapped dovetails; default as a drawer's
	Tails     num.Count    `json:"tails,omitzero"` // default as a drawer's
	Slope     num.Count    `json:"slope,omitzero"` // 8 (default) or 6
	Length    *num.Decimal `json:"length,omitzero"`
	Width     *num.Decimal `json:"width,omitzero"`
	Thickness *num.Decimal `json:"thickness,omitzero"`
	Depth     *num.Decimal `json:"depth,omitzero"`
	Twin      bool         `json:"twin,omitzero"`
	Material  string       `json:"material,omitzero"` // edges: a role or a code; default show
}

func (l *PartList) build(b *bench) {
	at := b.at
	if b.listed(at+"/parts", len(l.Parts), maxList, "parts") {
		for i := range l.Parts {
			l.Parts[i].build(b, item(at+"/parts", i))
		}
	}
	if len(l.Joints) > maxList {
		b.faults.Add(at+"/joints", "%d joints: write at most %d lines", len(l.Joints), maxList)
	} else {
		for i := range l.Joints {
			l.Joints[i].build(b, item(at+"/joints", i))
		}
	}
	if b.between(at+"/glue_ups", l.GlueUps, 0, maxQuantity) {
		b.made.GlueUps = l.GlueUps
	}
}

func (f *FreePart) build(b *bench, at string) {
	before, name := len(b.faults), f.Name
	if b.faults.Text(at, "name", name, maxText, true); len(b.faults) > before {
		name = "the part" // for what else is wrong with it
	}
	p := Part{Shape: Shape{Name: name, Material: f.Material}, At: at, LongAt: at + "/length"}
	p.Quantity = b.quantity(at+"/quantity", f.Quantity)
	var okL, okW, okT bool
	p.Length, okL = b.required(at, "length", f.Length)
	p.Width, okW = b.required(at, "width", f.Width)
	p.Thickness, okT = f.thickness(b, at)
	p.Outside = f.Outside.checked(b, at+"/outside")
	p.Inside = f.Inside.checked(b, at+"/inside")
	if f.Thickness != nil && f.Extra == nil {
		p.ThickAt = at + "/thickness"
	}
	if f.Extra != nil {
		p.ownExtra = true
		b.set(&p.Extra, at, "extra", f.Extra)
	}
	if okL && okW && okT {
		b.add(p)
	}
}

// thickness returns the part's own thickness or that of its sheet, which must
// agree.
func (f *FreePart) thickness(b *bench, at string) (unit.Length, bool) {
	stock := b.stocks(f.Material)
	if f.Thickness == nil {
		switch {
		case !stock.Known:
			return unknownThickness, true
		case !stock.Sheet:
			b.faults.Add(at+"/thickness", "a timber part needs its thickness: write it")
		}
		return stock.Thickness, stock.Sheet
	}
	t, ok := b.overall(at, "thickness", *f.Thickness)
	if ok && stock.Known && stock.Sheet && t != stock.Thickness {
		b.faults.Add(at+"/thickness", "the part is %s thick, its sheet %s: leave the thickness out or choose another sheet", b.show(t), b.show(stock.Thickness))
	}
	return t, ok
}

// checked returns s, or no surface when a count of it is out of range.
func (s Surface) checked(b *bench, at string) Surface {
	before := len(b.faults)
	b.between(at+"/faces", s.Faces, 0, 2)
	b.between(at+"/long_edges", s.LongEdges, 0, 2)
	b.between(at+"/ends", s.Ends, 0, 2)
	if len(b.faults) > before {
		return Surface{}
	}
	return s
}

// members returns the sizes that f may have, as typed.
func (f *FreeJoint) members() []member {
	return []member{
		{"height", f.Height}, {"tail_thickness", f.TailBoard}, {"pin_thickness", f.PinBoard}, {"lap", f.Lap},
		{"length", f.Length}, {"width", f.Width}, {"thickness", f.Thickness}, {"depth", f.Depth},
	}
}

// A member is a size as typed and its name in JSON.
type member struct {
	name  string
	typed *num.Decimal
}

func (f *FreeJoint) build(b *bench, at string) {
	j := Joint{Type: f.Type, Twin: f.Twin, Tails: int(f.Tails), Slope: int(f.Slope), Material: f.Material, At: at}
	dovetail := f.Type == ThroughDovetail || f.Type == LappedDovetail
	has := map[string]*unit.Length{
		"height": &j.Height, "tail_thickness": &j.TailBoard, "pin_thickness": &j.PinBoard, "lap": &j.Lap,
		"length": &j.Length, "width": &j.Width, "thickness": &j.Thickness, "depth": &j.Depth,
	}
	needs := map[string]bool{}
	for _, s := range j.sizes() {
		needs[s.name] = s.name != ""
	}
	j.Quantity = b.quantity(at+"/quantity", f.Quantity)
	if len(needs) < 2 {
		b.faults.Unknown(at+"/type", f.Type, "joint", "write edge, housing, mortise_tenon, through_dovetail, lapped_dovetail or groove")
		return
	}
	style := standardDrawer(b.units, true)
	ok := true
	for _, m := range f.members() {
		switch {
		case m.typed != nil && !needs[m.name]:
			b.faults.Add(at+"/"+m.name, "%s has no effect on a joint of type %s: leave it out", m.name, f.Type)
		case m.typed != nil && *m.typed <= 0:
			b.faults.Add(at+"/"+m.name, "a %s of %s makes no joint: write a size above 0", m.name, *m.typed)
			ok = false
		case m.typed != nil:
			ok = b.set(has[m.name], at, m.name, m.typed) && ok
		case m.name == "lap" && needs[m.name]:
			j.Lap = style.lap
		case needs[m.name]:
			b.faults.Add(at+"/"+m.name, "a joint of type %s needs its %s: write it", f.Type, m.name)
			ok = false
		}
	}
	f.idle(b, at, dovetail)
	if dovetail {
		f.dovetail(b, &j, style.tailPitch)
	}
	if !ok {
		return
	}
	if f.Type == Edge && j.Material == "" {
		j.Material = Show
	}
	b.join(j)
}

// idle reports members that have no effect on the type of joint.
func (f *FreeJoint) idle(b *bench, at string, dovetail bool) {
	for _, i := range []struct {
		setting
		idle bool
	}{
		{setting{"tails", f.Tails != 0}, !dovetail},
		{setting{"slope", f.Slope != 0}, !dovetail},
		{setting{"twin", f.Twin}, f.Type != MortiseTenon},
		{setting{"material", f.Material != ""}, f.Type != Edge},
	} {
		if i.typed && i.idle {
			b.faults.Add(at+"/"+i.name, "%s has no effect on a joint of type %s: leave it out", i.name, f.Type)
		}
	}
}

// dovetail completes a dovetailed corner.
func (f *FreeJoint) dovetail(b *bench, j *Joint, pitch unit.Length) {
	switch j.Slope {
	case 0:
		j.Slope = 8
	case 6, 8:
	default:
		b.faults.Add(j.At+"/slope", "a slope of %d is not known: write 8 (hardwood) or 6 (softwood)", j.Slope)
	}
	if j.Tails == 0 {
		j.Tails = tails(j.Height, pitch)
	}
	if !b.between(j.At+"/tails", int(f.Tails), 0, maxTails) {
		j.Tails = maxTails
	}
	if j.PinBoard > 0 && j.Lap >= j.PinBoard {
		b.faults.Add(blame(j.At, sized("lap", f.Lap), sized("pin_thickness", f.PinBoard)),
			"lap %s is not below pin_thickness %s, so that nothing would be left over the tails: make the lap smaller or the pin board thicker", b.show(j.Lap), b.show(j.PinBoard))
	}
}
