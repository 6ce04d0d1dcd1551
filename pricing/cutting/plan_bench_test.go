package cutting_test

import (
	"cmp"
	"slices"
	"testing"
	"time"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// sheetOf is a job of a sheet of 2440 x 1220 mm, with the kerf and trim that terms have
// when they say nothing.
func sheetOf(parts ...cutting.Part) *cutting.Job {
	const trim = 10 * unit.Millimetre
	return &cutting.Job{
		Kerf: 3200 * unit.Micrometre, Trim: cutting.Trim{Left: trim, Right: trim, Bottom: trim, Top: trim}, OffcutMin: 300 * unit.Millimetre,
		Stock: []cutting.Stock{{Length: 2440 * unit.Millimetre, Width: 1220 * unit.Millimetre, Cost: 1}},
		Parts: parts,
	}
}

// panel is a part that may turn, its sides in millimetres.
func panel(length, width, quantity int) cutting.Part {
	return cutting.Part{Length: unit.Length(length) * unit.Millimetre, Width: unit.Length(width) * unit.Millimetre, Quantity: quantity, Turn: true}
}

// tallChest is what the demo's tall chest takes of sheet: a back and six bottoms.
func tallChest() *cutting.Job {
	return sheetOf(panel(1095, 842, 1), panel(386, 426, 2), panel(810, 426, 4))
}

// kitchen is 400 parts in 40 sizes, ten of each, from 180 x 90 to 960 x 597 mm, spread
// by steps that have no factor in common with the range.
func kitchen() *cutting.Job {
	var parts []cutting.Part
	for i := range 40 {
		parts = append(parts, panel(180+20*(i*17%40), 90+13*(i*23%40), 10))
	}
	return sheetOf(parts...)
}

// shelved returns how many sheets the parts take when they lie on shelves: the widest
// part first, each on the first shelf of any sheet where it fits, else on a new shelf
// of the first sheet with room for one, else on a new sheet. It turns none. (First fit
// decreasing height on two levels: Chung, Garey & Johnson 1982, from memory.)
func shelved(j *cutting.Job) int {
	type shelf struct{ width, free unit.Length }
	type sheet struct {
		shelves []shelf
		free    unit.Length
	}
	s := j.Stock[0]
	long, wide := s.Length-j.Trim.Left-j.Trim.Right+j.Kerf, s.Width-j.Trim.Bottom-j.Trim.Top+j.Kerf
	var parts []cutting.Part
	for _, p := range j.Parts {
		for range p.Quantity {
			parts = append(parts, p)
		}
	}
	slices.SortFunc(parts, func(a, b cutting.Part) int {
		return cmp.Or(cmp.Compare(b.Width, a.Width), cmp.Compare(b.Length, a.Length))
	})
	var sheets []sheet
	fits := func(length, width unit.Length) bool {
		for i := range sheets {
			for k := range sheets[i].shelves {
				if f := &sheets[i].shelves[k]; f.free >= length && f.width >= width {
					f.free -= length
					return true
				}
			}
		}
		return false
	}
	for _, p := range parts {
		length, width := p.Length+j.Kerf, p.Width+j.Kerf
		if fits(length, width) {
			continue
		}
		i := slices.IndexFunc(sheets, func(s sheet) bool { return s.free >= width })
		if i < 0 {
			i = len(sheets)
			sheets = append(sheets, sheet{free: wide})
		}
		sheets[i].free -= width
		sheets[i].shelves = append(sheets[i].shelves, shelf{width, long - length})
	}
	return len(sheets)
}

// againstShelves plans a job by turns with laying it on shelves, and reports how many
// times as long that takes and how many sheets it takes for each of theirs.
func againstShelves(b *testing.B, j *cutting.Job, e cutting.Effort) {
	b.ReportAllocs()
	var planning, shelving time.Duration
	var plan cutting.Plan
	sheets := 0
	for b.Loop() {
		began := time.Now()
		p, err := j.Plan(e)
		planning += time.Since(began)
		if err != nil {
			b.Fatal(err)
		}
		plan = p
		began = time.Now()
		sheets = shelved(j)
		shelving += time.Since(began)
	}
	b.ReportMetric(float64(planning)/float64(shelving), "time/shelves")
	b.ReportMetric(float64(plan.Pieces)/float64(sheets), "sheets/shelves")
	b.ReportMetric(float64(plan.Pieces), "sheets")
	b.ReportMetric(float64(plan.Bound), "bound")
}

// BenchmarkTallChest: the sheets of a piece are planned in a few milliseconds at most.
func BenchmarkTallChest(b *testing.B) { againstShelves(b, tallChest(), cutting.Quick) }

// BenchmarkKitchenQuick: 400 parts in 40 sizes, in some milliseconds.
func BenchmarkKitchenQuick(b *testing.B) { againstShelves(b, kitchen(), cutting.Quick) }

// BenchmarkKitchenThorough: and thoroughly in at most a second and 64 MiB, in fewer
// sheets than on shelves.
func BenchmarkKitchenThorough(b *testing.B) { againstShelves(b, kitchen(), cutting.Thorough) }
