package pricing

import (
	"slices"
	"strings"

	"reckoner/pricing/book"
	"reckoner/pricing/cutting"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A sharedSheet is a sheet and what the pieces included take from it.
type sharedSheet struct {
	*book.Sheet
	rate  num.Rate
	takes []take
	parts []*cut // of all of them, in the order of the cutting lists
	area  num.Decimal
}

// A take is what one piece line takes of a sheet.
type take struct {
	job   *job
	parts []*cut
}

// cutting returns how the pieces included are cut from their sheets, by code.
func (p *pricer) cutting(jobs []job) []SheetPlan {
	sheets := sharedSheets(jobs)
	plans := make([]SheetPlan, len(sheets))
	for i := range sheets {
		plans[i] = p.sheetPlan(&sheets[i])
	}
	return plans
}

// sharedSheets returns the sheets of the pieces included, by code.
func sharedSheets(jobs []job) []sharedSheet {
	var all []sharedSheet
	for i := range jobs {
		j := &jobs[i]
		if !j.out.Included {
			continue
		}
		for k := range j.sheets {
			l := &j.sheets[k]
			at, found := slices.BinarySearchFunc(all, l.sheet.Code, func(s sharedSheet, code string) int { return strings.Compare(s.Code, code) })
			if !found {
				all = slices.Insert(all, at, sharedSheet{Sheet: l.sheet, rate: l.rate})
			}
			s := &all[at]
			s.takes = append(s.takes, take{j, l.parts})
			s.parts = append(s.parts, l.parts...)
			s.area = s.area.Plus(l.needed)
		}
	}
	return all
}

// units returns inches when all pieces are written in them.
func (s *sharedSheet) units() unit.System {
	if slices.ContainsFunc(s.takes, func(t take) bool { return t.job.units != unit.InInches }) {
		return unit.InMillimetres
	}
	return unit.InInches
}

// list returns all parts under their marks.
func (s *sharedSheet) list(u unit.System) []SheetPart {
	list := make([]SheetPart, 0, len(s.parts))
	for _, t := range s.takes {
		for _, c := range t.parts {
			list = append(list, SheetPart{
				Mark: Mark(len(list)), Piece: t.job.out.ID, Name: c.Name, Length: u.Size(c.Length), Width: u.Size(c.Width), Quantity: c.count,
			})
		}
	}
	return list
}

// sheetPlan lays out what all pieces take of s together. Should that take more sheets
// than each piece line by itself, then they are cut by themselves: sharing is never
// dearer.
func (p *pricer) sheetPlan(s *sharedSheet) SheetPlan {
	d := Drawing{s.units(), p.sawing}
	plan := d.Sheet(s.Length, s.Width)
	plan.Code, plan.Description, plan.Grain = s.Code, s.Description, s.Grain
	plan.Parts, plan.PartsArea = s.list(d.Units), s.area
	for _, t := range s.takes {
		plan.Apart += p.layOut(s.Sheet, t.parts).Pieces
	}
	together := p.layOut(s.Sheet, s.parts)
	plan.Sheets = min(together.Pieces, plan.Apart)
	plan.Bound = min(int(together.Bound), plan.Sheets)
	plan.Finding = Finding(plan.Sheets, plan.Bound)
	if s.Charged == book.Whole {
		plan.Saving = p.currency.Amount(num.Whole(plan.Apart-plan.Sheets), s.rate)
	}
	draw := func(from *cutting.Plan, first int) {
		for i := range from.Layouts {
			plan.Layouts = append(plan.Layouts, d.Layout(&from.Layouts[i], len(plan.Layouts)+1, first))
		}
	}
	if together.Pieces == plan.Sheets {
		draw(together, 0)
		return plan
	}
	first := 0
	for _, t := range s.takes {
		draw(p.layOut(s.Sheet, t.parts), first)
		first += len(t.parts)
	}
	return plan
}
