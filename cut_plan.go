package main

import (
	"fmt"
	"slices"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/cutting"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A sawn is a plan of a list of rectangles, as it is printed and written.
type sawn struct {
	*sawing
	plan    *cutting.Plan
	drawing pricing.Drawing
	names   map[string]string // by mark
	sizes   []sizePlan        // of the stock that is cut
}

// A sizePlan is how one size of stock is cut; its layouts are numbered from 1.
type sizePlan struct {
	pricing.SheetPlan
	stock int   // which of the stock
	taken []int // how many of each part are cut from it
}

// sawn returns the plan as it is printed and written.
func (s *sawing) sawn(plan *cutting.Plan) *sawn {
	o := &sawn{
		sawing: s, plan: plan, names: make(map[string]string, len(s.list.Names)),
		drawing: pricing.Drawing{Units: s.units, Sawing: book.Sawing{Kerf: s.job.Kerf, Trim: s.job.Trim.Left, OffcutMin: s.job.OffcutMin}},
	}
	for i, name := range s.list.Names {
		o.names[pricing.Mark(i)] = onOneLine(name)
	}
	for i := range plan.Layouts {
		l := &plan.Layouts[i]
		z := o.of(l.Stock)
		z.Sheets += l.Count
		z.Layouts = append(z.Layouts, o.drawing.Layout(l, len(z.Layouts)+1, 0))
		for _, n := range l.Parts() {
			z.taken[n.Part] += l.Count
		}
	}
	for i := range o.sizes {
		o.parts(&o.sizes[i])
	}
	return o
}

// of returns how a size of stock is cut, at first not at all.
func (o *sawn) of(stock int) *sizePlan {
	for i := range o.sizes {
		if o.sizes[i].stock == stock {
			return &o.sizes[i]
		}
	}
	t := &o.job.Stock[stock]
	z := sizePlan{stock: stock, taken: make([]int, len(o.job.Parts)), SheetPlan: o.drawing.Sheet(t.Length, t.Width)}
	z.Code, z.Description, z.Finding = o.code(t), "Sheet", o.finding()
	z.Grain = !slices.ContainsFunc(o.job.Parts, func(q cutting.Part) bool { return q.Turn })
	o.sizes = append(o.sizes, z)
	return &o.sizes[len(o.sizes)-1]
}

// parts lists what is cut from a size.
func (o *sawn) parts(z *sizePlan) {
	var faces []unit.Face
	for i, q := range o.job.Parts {
		if n := z.taken[i]; n > 0 {
			z.Parts = append(z.Parts, pricing.SheetPart{
				Mark: pricing.Mark(i), Name: o.list.Names[i], Length: o.units.Size(q.Length), Width: o.units.Size(q.Width), Quantity: n,
			})
			faces = append(faces, unit.Face{N: n, L: q.Length, W: q.Width})
		}
	}
	z.PartsArea = unit.Area(faces...)
}

// code returns what the files of a size are named after: "2440x1220", and
// "2440x1220-no2" when it is a second one of those sides.
func (o *sawn) code(t *cutting.Stock) string {
	code, alike := fmt.Sprintf("%sx%s", o.units.Size(t.Length), o.units.Size(t.Width)), 1
	for i := range o.sizes {
		if other := &o.job.Stock[o.sizes[i].stock]; other.Length == t.Length && other.Width == t.Width {
			alike++
		}
	}
	if alike > 1 {
		code += fmt.Sprintf("-no%d", alike)
	}
	return code
}

// finding says how many sheets the plan takes and whether fewer might do, or, where
// sizes differ in price, for what sum and whether a lesser one might.
func (o *sawn) finding() string {
	p := o.plan
	if !o.byPrice {
		return pricing.Finding(p.Pieces, int(p.Bound))
	}
	words := fmt.Sprintf("%d sheets for %s", p.Pieces, price(p.Cost))
	if p.Pieces == 1 {
		words = "1 sheet for " + price(p.Cost)
	}
	switch {
	case p.Proved():
		return words + "; no layout can do it for less"
	case p.Bound > 0:
		return words + "; no layout can do it for less than " + price(p.Bound)
	}
	return words + "; less might be possible"
}

// price returns hundredths as an amount.
func price(hundredths int64) string { return num.Rate(hundredths * 100).String() }
