package pricing

import (
	"slices"
	"strconv"
	"strings"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// Figures of the checks; those without a source are common practice.
const (
	tallUnit   = 686 * unit.Millimetre // 27 in, 16 CFR 1261
	wideMember = 600 * unit.Millimetre
	thinBottom = 9 * unit.Millimetre
	wideBottom = 450 * unit.Millimetre
	heavy      = 25 * num.One // kg
	veryHeavy  = 50 * num.One
	swing      = 4 * num.One // % of moisture
	practice   = "common practice, no source"
	localRules = " Follow your local rules and the product's own data sheet."
	cautionary = "caution"
	warning    = "warning"
)

// note adds a check of the piece.
func (j *job) note(code, severity, source, message string) {
	j.out.Checks = append(j.out.Checks, Check{Code: code, Severity: severity, Message: message, Source: source, Pointer: j.root})
}

// checks adds what a careful maker would want said, one check a code. An agreed
// price has been judged already; it stands before the hazards.
func (j *job) checks() {
	short := j.out.Checks
	j.out.Checks = make([]Check, 0, 8)
	j.checkGrooves()
	j.checkBottoms()
	j.checkPanels()
	j.checkStability()
	j.checkMass()
	if len(j.out.Joints) > 0 && j.piece.Glue == "" {
		j.note("no_glue", cautionary, practice, j.out.Title+": there are glued joints but no glue is named: none is in the price.")
	}
	j.out.Checks = append(j.out.Checks, short...)
	j.checkHazards()
}

// checkGrooves speaks of grooves so deep that little is left of the board.
func (j *job) checkGrooves() {
	for i := range j.made.Boxes {
		if b := &j.made.Boxes[i]; 100*b.GrooveDepth > 45*b.Board {
			j.note("groove_deep", cautionary, practice, j.out.Title+": the grooves for the drawer bottoms are "+j.show(b.GrooveDepth)+
				" deep in boards of "+j.show(b.Board)+", over 0.45 of their thickness: little is left beside the groove.")
			return
		}
	}
}

// checkBottoms speaks of thin sheet bottoms of wide drawers.
func (j *job) checkBottoms() {
	var wide []string
	for i := range j.made.Boxes {
		if b := &j.made.Boxes[i]; b.Sheet > 0 && b.Sheet < thinBottom && b.InsideW > wideBottom && b.InsideD > wideBottom {
			wide = once(wide, "Drawer bottom "+j.show(b.Sheet)+" thick over "+j.show(b.InsideW)+" x "+j.show(b.InsideD))
		}
	}
	if len(wide) > 0 {
		j.note("bottom_sag", cautionary, practice, j.out.Title+": drawer bottoms may sag: "+list(wide)+". Use a thicker sheet, or a rail under the middle.")
	}
}

// checkPanels speaks of fronts glued up from strips and of wide panels.
func (j *job) checkPanels() {
	var fronts, wide []string
	for i := range j.cuts {
		c := &j.cuts[i]
		if c.strips < 2 {
			continue
		}
		if c.Front {
			fronts = append(fronts, c.Name+" "+j.show(c.Width)+" wide from "+strconv.Itoa(c.strips)+" strips")
		}
		if c.Width > wideMember {
			move := unit.Length(num.Product(6, num.One, c.Width.Millimetres(), c.timber.Movement.Tangential, swing))
			wide = append(wide, c.Name+" "+j.show(c.Width)+" wide moves "+j.units.Size(move).Round(2).String()+" "+string(j.units)+" over 4 % of moisture ("+c.timber.Description+
				", "+c.timber.Movement.Tangential.String()+" of its width per 1 %)")
		}
	}
	if len(fronts) > 0 {
		j.note("front_from_strips", cautionary, practice, j.out.Title+": drawer fronts are glued up: "+list(fronts)+". Match their colour and grain, or ask for one_board_fronts.")
	}
	if len(wide) > 0 {
		j.note("wide_panel", cautionary, "Wood Handbook, FPL-GTR-190, eq. 13-2", j.out.Title+": wide panels: "+list(wide)+". Fix them so that they can move.")
	}
}

// checkStability speaks of tall units with drawers.
func (j *job) checkStability() {
	if h := j.made.Height; h > tallUnit && len(j.made.Boxes) > 0 {
		j.note("stability", cautionary, "16 CFR 1261 (units of 27 in, 686 mm, and over)", j.out.Title+": "+j.show(h)+
			" high. Tall drawer units can tip over: fix it to the wall, and follow the local rules for clothing storage units.")
	}
}

// checkMass speaks of what one person should not lift alone.
func (j *job) checkMass() {
	var lifts []string
	most := num.Decimal(0)
	lift := func(what string, m num.Decimal) {
		most = max(most, m)
		lifts = once(lifts, what+", "+m.String()+" kg ("+[]string{"", "", "two", "three"}[people(m)]+" people)")
	}
	if j.made.Cases > 0 {
		if m := j.massOf(j.made.Parts[:j.made.CaseParts], 1); m > heavy {
			lift("the case without its drawers", m)
		}
	}
	for i := range j.made.Boxes {
		b := &j.made.Boxes[i]
		if m := j.massOf(j.made.Parts[b.First:b.Last], b.Quantity); m > heavy {
			lift("a drawer "+j.show(b.Width)+" wide and "+j.show(b.Height)+" high", m)
		}
	}
	if len(lifts) > 0 {
		j.note("two_people", cautionary, "common practice, no source; HSE INDG143 for lifting in general", j.out.Title+": too heavy for one person: "+list(lifts)+". Follow your local rules for lifting.")
		j.out.Checks[len(j.out.Checks)-1].People = people(most)
	}
}

// people returns how many it takes to lift m.
func people(m num.Decimal) int {
	if m > veryHeavy {
		return 3
	}
	return 2
}

// massOf returns the mass in kg of the timber and sheets of one of n alike
// assemblies.
func (j *job) massOf(parts []piece.Part, n int) num.Decimal {
	var sum num.Wide
	for i := range parts {
		p := &parts[i]
		density := num.Decimal(0)
		switch m := j.material(p.Material); {
		case p.Offcut:
		case m.timber != nil:
			density = m.timber.Density
		case m.sheet != nil:
			density = m.sheet.Density
		}
		v := unit.Volume(p.Quantity/n, p.Length, p.Width, p.Thickness, unit.M3)
		sum = sum.Plus(num.Mul(int64(v), int64(density)))
	}
	return rounded(sum, unit.Kg)
}

// shortfall speaks of a price agreed below what the terms ask.
func (j *job) shortfall(asked, profit num.Money) {
	if j.out.UnitPrice.Compare(asked) >= 0 {
		return
	}
	message := j.out.Title + ": the agreed price " + j.out.UnitPrice.String() + " is below the " + asked.String() + " that the terms ask"
	if profit.IsNegative() {
		j.note("below_terms", warning, "", message+", and the line loses "+profit.Times(-1).String()+".")
		return
	}
	j.note("below_terms", cautionary, "", message+"; the line earns "+profit.String()+".")
}

// checkHazards speaks of what can hurt whoever makes the piece, without its
// title: the same for two pieces is said once.
func (j *job) checkHazards() {
	if len(j.made.Parts) > 0 {
		j.note("wood_dust", cautionary, "Directive 2004/37/EC, as amended by 2017/2398",
			"Wood dust, hardwood dust above all, harms the lungs and nose: extract it at the machine and wear a mask."+localRules)
	}
	for _, h := range []struct{ code, source, is, do string }{
		{book.Isocyanate, "Regulation (EC) 1907/2006, Annex XVII entry 74", "Isocyanate in ", "It can cause asthma: air the room, wear gloves, and be trained to use it."},
		{book.Flammable, practice, "Highly flammable: ", "No flame or spark near it; air the room."},
		{book.DryingOil, practice, "A drying oil: ", "Rags with it heat up and can catch fire by themselves: dry them flat outdoors, or keep them wet in a closed metal tin."},
	} {
		if names := j.hazardous(h.code); len(names) > 0 {
			j.note(h.code, cautionary, h.source, h.is+list(names)+". "+h.do+localRules)
		}
	}
}

// hazardous returns the supplies on the piece's lines that carry a hazard.
func (j *job) hazardous(hazard string) []string {
	var names []string
	for i := range j.out.Supplies {
		l := &j.out.Supplies[i]
		if slices.Contains(j.Supply(l.Code).Hazards, hazard) {
			names = append(names, l.Description)
		}
	}
	return names
}

// cautions returns the messages of all checks, each once.
func cautions(pieces []PricedPiece) []string {
	all := []string{}
	for i := range pieces {
		for _, c := range pieces[i].Checks {
			if !slices.Contains(all, c.Message) {
				all = append(all, c.Message)
			}
		}
	}
	return all
}

// once appends s unless it is there.
func once(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}

// list joins texts as a sentence does.
func list(s []string) string { return strings.Join(s, "; ") }
