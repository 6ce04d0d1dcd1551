package exports

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// CuttingDiagram writes one layout of the sheet of that code, numbered from 1, as
// SVG of its size on paper: to scale, every part with its mark and size, the cuts
// numbered in the order of the saw, the offcuts worth keeping with their sizes, and
// lists of them below. It fails for a sheet or a layout that the costing's cutting
// plans do not have. The same Paper is the same bytes.
func CuttingDiagram(w io.Writer, p Paper, code string, layout int) error {
	i := slices.IndexFunc(p.Costing.Cutting, func(s pricing.SheetPlan) bool { return s.Code == code })
	if i < 0 {
		return fmt.Errorf("exports: the costing has no cutting plan of %q", code)
	}
	plan := &p.Costing.Cutting[i]
	if layout < 1 || layout > len(plan.Layouts) {
		return fmt.Errorf("exports: the cutting plan of %s has no layout %d", code, layout)
	}
	d := cuttingDiagram(plan, layout-1, draughtings.plan)
	d.lists(p.titles())
	_, err := w.Write(d.svg())
	return err
}

// A diagram draws one layout of a sheet.
type diagram struct {
	pencil
	plan   *pricing.SheetPlan
	layout *pricing.Layout
	parts  map[string]*pricing.SheetPart // by mark
	taken  []area                        // where text stands
	bare   []string                      // marks of parts too narrow for them

	outside area // of the sheet
}

// cuttingDiagram draws the i-th layout of a plan.
func cuttingDiagram(plan *pricing.SheetPlan, i int, how draughting) *diagram {
	d := &diagram{
		pencil: pencil{draughting: how, units: plan.Units}, plan: plan, layout: &plan.Layouts[i],
		parts: make(map[string]*pricing.SheetPart, len(plan.Parts)),
	}
	for k := range plan.Parts {
		d.parts[plan.Parts[k].Mark] = &plan.Parts[k]
	}
	d.name = "Cutting layout"
	d.title = clip(oneLine(plan.Description+" ("+plan.Code+")"), maxTitle)
	d.about = d.words()
	d.chooseScale(d.length(plan.Length), d.length(plan.Width), 15, 30)
	d.layOut()
	return d
}

// length returns a size of the plan as a length.
func (d *diagram) length(s num.Decimal) unit.Length { return d.units.Length(s) }

// layOut sizes the page and draws the sheet on it, under its heading if it has one.
func (d *diagram) layOut() {
	long, across := d.length(d.plan.Length), d.length(d.plan.Width)
	wide, high := cutSize(d.units, d.plan.Length), cutSize(d.units, d.plan.Width)
	if !d.full {
		wide, high = wide+" "+string(d.units), high+" "+string(d.units)
	}
	before := pageMargin + textWidth(high, d.figures) + figureOff + d.standOff
	middle := max(d.paper(long), textWidth(wide, d.figures))
	d.wide = before + middle + pageMargin
	top := pageMargin
	if d.full {
		d.wide = max(d.wide, narrowestList)
		top = d.heading(d.captions()...)
	}
	d.at = point{before + (middle-d.paper(long))/2, top + d.paper(across)}
	d.high = d.at.y + d.standOff + beyond + pageMargin
	d.sheet(long, across)
	d.measure(long, across, wide, high)
	for i := range d.layout.Placed {
		d.part(&d.layout.Placed[i])
	}
	for i := range d.layout.Offcuts {
		d.offcut(&d.layout.Offcuts[i])
	}
	for i := range d.layout.Cuts {
		d.number(&d.layout.Cuts[i])
	}
}

// captions say which layout it is, how much of the sheet is used, and how it is cut.
func (d *diagram) captions() []string {
	l := d.layout
	room := int((d.wide - 2*pageMargin) * 1000 / captionType * 100 / typeSlack)
	first := "Cutting layout " + strconv.Itoa(l.Number) + " of " + strconv.Itoa(len(d.plan.Layouts)) + ", cut " + times(l.Count) + "; " + d.measured()
	return append(wrap(first+". "+capital(usedOf(d.plan, l))+".", room, advance),
		wrap(planTerms(d.plan)+". In all "+oneLine(d.plan.Finding)+".", room, advance)...)
}

// times returns how often something is done, in words up to twelve.
func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return counted(n) + " times"
}

// used returns the shares of a sheet that a layout makes parts and offcuts of, and
// the rest, in percent to one place.
func used(plan *pricing.SheetPlan, l *pricing.Layout) (parts, offcuts, waste num.Decimal) {
	share := func(list []pricing.Placed) num.Decimal {
		faces := make([]unit.Face, len(list))
		for i := range list {
			faces[i] = unit.Face{N: 1, L: plan.Units.Length(list[i].Length), W: plan.Units.Length(list[i].Width)}
		}
		return num.Product(1, max(1, plan.SheetArea), num.Whole(100), unit.Area(faces...))
	}
	parts, offcuts = share(l.Placed), share(l.Offcuts)
	return parts, offcuts, max(0, num.Whole(100)-parts-offcuts)
}

// usedOf says what becomes of a sheet.
func usedOf(plan *pricing.SheetPlan, l *pricing.Layout) string {
	parts, offcuts, waste := used(plan, l)
	s := "parts take " + parts.String() + " % of the sheet, "
	if len(l.Offcuts) > 0 {
		s += several(len(l.Offcuts), "offcut", "offcuts") + " to keep " + offcuts.String() + " %, "
	}
	return s + "waste " + waste.String() + " %"
}

// planTerms says how the sheets of a plan are cut.
func planTerms(plan *pricing.SheetPlan) string {
	s := "Kerf " + cutSize(plan.Units, plan.Kerf) + " " + string(plan.Units)
	if plan.Trim > 0 {
		s += ", trim " + cutSize(plan.Units, plan.Trim) + " " + string(plan.Units) + " along each edge"
	}
	if plan.Grain {
		return s + "; the grain runs along the length and no part turns"
	}
	return s + "; parts may turn"
}

// words tells the drawing to who cannot see it.
func (d *diagram) words() string {
	l := d.layout
	s := "Cutting layout " + strconv.Itoa(l.Number) + " of " + strconv.Itoa(len(d.plan.Layouts)) + " of " + d.title + ", " +
		sides(d.units, d.plan.Length, d.plan.Width) + " " + string(d.units) + ", cut " + times(l.Count) + ". " + onLayout(d.plan, l) + ". " + capital(several(len(l.Cuts), "cut", "cuts"))
	if len(l.Offcuts) > 0 {
		s += "; offcuts " + strings.Join(offcutSizes(d.plan, l), ", ") + " " + string(d.units)
	}
	return clip(s+".", maxAbout)
}

// maxAbout is how much is told of a drawing, in UTF-16 units.
const maxAbout = 1000

// onLayout says how many of each part come off a layout, by their marks.
func onLayout(plan *pricing.SheetPlan, l *pricing.Layout) string {
	n := countedOn(l)
	var list []string
	for i := range plan.Parts {
		if mark := plan.Parts[i].Mark; n[mark] > 0 {
			list = append(list, strconv.Itoa(n[mark])+" of "+mark)
		}
	}
	return "Parts: " + strings.Join(list, ", ")
}

// countedOn returns how many of each part, by mark, come off a layout.
func countedOn(l *pricing.Layout) map[string]int {
	n := make(map[string]int)
	for i := range l.Placed {
		n[l.Placed[i].Mark]++
	}
	return n
}

// offcutSizes returns the sizes of the offcuts of a layout as they lie.
func offcutSizes(plan *pricing.SheetPlan, l *pricing.Layout) []string {
	sizes := make([]string, len(l.Offcuts))
	for i, o := range l.Offcuts {
		sizes[i] = sides(plan.Units, o.Length, o.Width)
	}
	return sizes
}

// cutSize returns a size as it is read at the saw: to a hundredth of a millimetre,
// a fraction of an inch or a thousandth of one.
func cutSize(s unit.System, d num.Decimal) string {
	if s != unit.InInches {
		return d.Round(2).String()
	}
	if exact := size(d, s); strings.Contains(exact, "/") {
		return exact
	}
	return d.Round(3).String()
}

// sides returns a length and a width as they are read at the saw.
func sides(s unit.System, long, across num.Decimal) string {
	return cutSize(s, long) + " x " + cutSize(s, across)
}
