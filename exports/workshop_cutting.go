package exports

import (
	"slices"
	"strconv"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Columns of the cutting list that other sheets refer to.
const (
	cutVolumeColumn = 13
	cutAreaColumn   = 14
	cutKeyColumn    = 17
)

// cuttingList writes the parts of every piece in the order in which they are cut,
// each with a box to tick.
func (b *bench) cuttingList() {
	l := b.looks().head
	r := l
	r.right = true
	of := l
	of.indent = 1
	parts := cuttingOrder(b.Paper)
	t := b.open(cuttingName, cuttingWidths(parts),
		cell{look: l}, cell{value: "Mark", look: of}, cell{value: "Part; drawers from the top left", look: l}, cell{value: "How many", look: r},
		cell{value: "Length, along the grain", look: r}, cell{value: "Width", look: r}, cell{value: "Thick", look: r},
		cell{value: "Material", look: of}, cell{value: "Code", look: l},
		cell{value: "Strips", look: r}, cell{value: "Sawn length", look: r}, cell{value: "Sawn width", look: r}, cell{value: "Sawn thick", look: r},
		cell{value: "Sawn volume, all", look: r}, cell{value: "Sheet area m2, all", look: r},
		cell{value: "Outside to finish m2", look: r}, cell{value: "Inside to finish m2", look: r}, cell{value: "Priced as", look: r})
	t.cautions(-1, atTheBench)
	for i := range b.pieces {
		mine := parts
		if k := slices.IndexFunc(parts, func(m markedPart) bool { return m.piece != i }); k >= 0 {
			mine = parts[:k]
		}
		parts = parts[len(mine):]
		if len(mine) == 0 {
			continue
		}
		b.name(i)
		t.titled(i, ", sizes in "+inWords(b.Costing.Pieces[i].Units))
		t.cautions(i, atTheBench)
		from := t.row + 1
		for k := range mine {
			t.part(&mine[k])
		}
		at := func(column int) string {
			return quoted(cuttingName) + "!" + absolute(t.at(column, from)) + ":" + absolute(t.at(column, t.row))
		}
		a := &b.pieces[i]
		a.keys, a.volumes, a.areas = at(cutKeyColumn), at(cutVolumeColumn), at(cutAreaColumn)
	}
	t.close()
}

// cuttingWidths returns the widths in points of the columns of the cutting list,
// wide enough for the longest figures.
func cuttingWidths(parts []markedPart) []float64 {
	wide := []float64{18, 40, 120, 38, 62, 54, 54, 64, 104, 38, 54, 54, 54, 70, 54, 54, 54, 34}
	for i := range parts {
		m := &parts[i]
		for k, d := range []num.Decimal{m.Volume, m.Area, m.Outside, m.Inside} {
			if d >= 100*num.One {
				wide[cutVolumeColumn+k] = max(wide[cutVolumeColumn+k], roomFor(grouped(d.String())+".000000 m3", 8))
			}
		}
	}
	return wide
}

// partName returns what a line is, and of which drawers.
func partName(m *markedPart) string {
	name := oneLine(m.Name)
	if m.drawers != "" {
		name += ", drawer " + m.drawers
	}
	return name
}

// absolute returns a cell's name so that copying does not move it: "$D$7".
func absolute(at string) string {
	n := 0
	for n < len(at) && at[n] >= 'A' {
		n++
	}
	return "$" + at[:n] + "$" + at[n:]
}

// name numbers what the i-th piece buys of timber and sheets: T1, T2, S1.
func (b *bench) name(i int) {
	o, priced := &b.Costing.Pieces[i], b.pieces[i].priced
	n := 0
	for k := range o.Timber {
		for j := range o.Timber[k].Terms {
			n++
			priced[[2]string{o.Timber[k].Code, o.Timber[k].Terms[j].Share}] = "T" + strconv.Itoa(n)
		}
	}
	for k := range o.Sheets {
		priced[[2]string{o.Sheets[k].Code, "sheet"}] = "S" + strconv.Itoa(k+1)
	}
}

// part writes one line of the cutting list.
func (t *tab) part(m *markedPart) {
	k := t.bench.looks()
	plain, number := k.text, k.number
	plain.size, number.size = 8, 8
	system := t.bench.Costing.Pieces[m.piece].Units
	length := func(d num.Decimal) cell {
		if d == 0 {
			return cell{look: number}
		}
		return cell{value: decimal(d), look: number.as(sizeFormat(d, system))}
	}
	figure := func(d num.Decimal, places int) cell {
		if d == 0 {
			return cell{look: number}
		}
		return cell{value: decimal(d), look: number.as(fixed(places))}
	}
	strips := cell{look: number}
	if m.Strips > 0 {
		strips.value = m.Strips
	}
	role := m.Material
	if m.Area > 0 {
		role = "sheet"
	}
	of := plain
	of.indent = 1
	bold := of
	bold.bold = true
	code := m.Code
	if m.sort == offcut {
		code = "from an offcut"
	}
	t.put(tight, cell{look: look{size: 8, box: true}}, cell{value: m.mark, look: bold}, cell{value: partName(m), look: plain},
		cell{value: m.Quantity, look: number}, length(m.Length), length(m.Width), length(m.Thickness),
		cell{value: m.Material, look: of}, cell{value: code, look: plain},
		strips, length(m.SawnLength), length(m.SawnWidth), length(m.SawnThickness),
		volume(m.Volume, m.unit, number), figure(m.Area, 6), figure(m.Outside, 6), figure(m.Inside, 6),
		cell{value: t.bench.pieces[m.piece].priced[[2]string{m.Code, role}], look: number})
}

// inWords returns a system of units in words.
func inWords(s unit.System) string {
	if s == unit.InInches {
		return "inches"
	}
	return "millimetres"
}

// sizeFormat returns the number format of a size: inches as a fraction where a
// rule shows it, anything else in decimals.
func sizeFormat(d num.Decimal, s unit.System) string {
	if s == unit.InInches && d%num.One != 0 && d*64%num.One == 0 {
		return "# ??/??"
	}
	if s == unit.InInches && d.Round(3) != d {
		return "0.000"
	}
	return ""
}

// volume returns the sawn volume of a line with its unit.
func volume(d num.Decimal, u unit.Unit, l look) cell {
	if d == 0 {
		return cell{look: l}
	}
	places := 6
	switch u {
	case unit.Ft3:
		places = 5
	case unit.Bf:
		places = 4
	}
	return cell{value: decimal(d), look: l.as(fixed(places) + `" ` + string(u) + `"`)}
}

// measures writes what was counted of every piece.
func (b *bench) measures() {
	l := b.looks().head
	r := l
	r.right = true
	of := l
	of.indent = 1
	t := b.open(measuresName, []float64{150, 200, 70, 40, 310},
		cell{value: "Measure", look: l}, cell{value: "Share", look: l}, cell{value: "Counted", look: r}, cell{value: "Unit", look: of}, cell{value: "What it counts", look: l})
	k := b.looks()
	quiet := k.text
	quiet.grey = true
	for i := range b.pieces {
		o := &b.Costing.Pieces[i]
		if len(o.Measures) == 0 {
			continue
		}
		t.title(i)
		for j := range o.Measures {
			m := &o.Measures[j]
			t.put(tight, cell{value: m.Name, look: k.text}, cell{value: m.Share, look: k.text},
				cell{value: decimal(m.Quantity), look: k.number.as(fixed(m.Unit.Places()))}, cell{value: string(m.Unit), look: k.of},
				cell{value: meaning(m.Name), look: quiet})
			b.pieces[i].measures[m.Name] = append(b.pieces[i].measures[m.Name], tallied{m, t.there(2, t.row)})
		}
	}
	t.close()
}

// counts returns the cell of a term's quantity: its measure on the sheet of
// measures, or the sum of the shares that a rule takes.
func (t *tab) counts(i int, m *pricing.Term) cell {
	var cells []string
	for _, c := range t.bench.pieces[i].measures[m.Measure] {
		if m.Share == c.Share || m.Share == "" && t.bench.takes(m.Rule, c.Share) {
			cells = append(cells, c.at)
		}
	}
	q := cell{value: decimal(m.Quantity)}
	switch len(cells) {
	case 0:
	case 1:
		q.formula = t.here(cells[0])
	default:
		q.formula = t.sum("6", cells)
	}
	return q
}
