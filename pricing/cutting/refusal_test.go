package cutting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// sheet is a job of one part and one sheet that can be cut.
func sheet() cutting.Job {
	return cutting.Job{
		Kerf: 3 * mm, Trim: cutting.Trim{Left: 10 * mm, Right: 10 * mm, Bottom: 10 * mm, Top: 10 * mm}, OffcutMin: 300 * mm,
		Stock: one(2440*mm, 1220*mm),
		Parts: []cutting.Part{{Length: 700 * mm, Width: 500 * mm, Quantity: 4}},
	}
}

func TestJobsThatCannotBeCutAreRefused(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*cutting.Job)
		want   error
	}{
		{"too long", func(j *cutting.Job) { j.Parts[0].Length = 2420*mm + 1 }, cutting.Misfit{}},
		{"too wide", func(j *cutting.Job) { j.Parts[0].Width = 1200*mm + 1 }, cutting.Misfit{}},
		{"fits only turned", func(j *cutting.Job) { j.Parts[0].Width = 1300 * mm }, cutting.Misfit{}},
		{"fits neither way", func(j *cutting.Job) {
			j.Parts[0] = cutting.Part{Length: 1201 * mm, Width: 1201 * mm, Quantity: 1, Turn: true}
		}, cutting.Misfit{}},
		{"the second of two", func(j *cutting.Job) {
			j.Parts = append(j.Parts, cutting.Part{Length: 3000 * mm, Width: mm, Quantity: 1})
		}, cutting.Misfit{Part: 1}},
		{"no stock", func(j *cutting.Job) { j.Stock = nil }, cutting.Misfit{}},
		{"trimmed to nothing", func(j *cutting.Job) { j.Trim.Left = 2430 * mm }, cutting.Misfit{}},
		{"trimmed to less", func(j *cutting.Job) { j.Trim.Top = 3000 * mm }, cutting.Misfit{}},
		{"one sheet of four", func(j *cutting.Job) { j.Stock[0].Quantity, j.Parts[0].Quantity = 1, 19 }, cutting.Short{}},
		{"one sheet short by area", func(j *cutting.Job) { j.Stock[0].Quantity, j.Parts[0].Quantity = 2, 500 }, cutting.Short{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := sheet()
			c.change(&j)
			for _, e := range []cutting.Effort{cutting.Quick, cutting.Thorough} {
				p, err := j.Plan(e)
				assert.Equal(t, c.want, err)
				assert.NotEmpty(t, c.want.Error())
				assert.Equal(t, cutting.Plan{}, p, "no plan beside a refusal")
			}
		})
	}
}

func TestSizesOutsideTheDomainAreRefused(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*cutting.Job)
		says   string
	}{
		{"kerf below 0", func(j *cutting.Job) { j.Kerf = -1 }, "kerf"},
		{"kerf past all", func(j *cutting.Job) { j.Kerf = 1 << 62 }, "kerf"},
		{"left below 0", func(j *cutting.Job) { j.Trim.Left = -1 }, "trim"},
		{"right below 0", func(j *cutting.Job) { j.Trim.Right = -1 }, "trim"},
		{"bottom below 0", func(j *cutting.Job) { j.Trim.Bottom = -1 }, "trim"},
		{"top past all", func(j *cutting.Job) { j.Trim.Top = 1 << 62 }, "trim"},
		{"stock of no length", func(j *cutting.Job) { j.Stock[0].Length = 0 }, "stock"},
		{"stock of no width", func(j *cutting.Job) { j.Stock[0].Width = -mm }, "stock"},
		{"stock past all", func(j *cutting.Job) { j.Stock[0].Length = 1 << 62 }, "stock"},
		{"cost below 0", func(j *cutting.Job) { j.Stock[0].Cost = -1 }, "cost"},
		{"cost past all", func(j *cutting.Job) { j.Stock[0].Cost = 1 << 62 }, "cost"},
		{"stock quantity below 0", func(j *cutting.Job) { j.Stock[0].Quantity = -1 }, "quantity"},
		{"part of no length", func(j *cutting.Job) { j.Parts[0].Length = 0 }, "part"},
		{"part of no width", func(j *cutting.Job) { j.Parts[0].Width = -1 }, "part"},
		{"part past all", func(j *cutting.Job) { j.Parts[0].Width = 1 << 62 }, "part"},
		{"quantity below 0", func(j *cutting.Job) { j.Parts[0].Quantity = -1 }, "quantity"},
		{"more than a million in all", func(j *cutting.Job) { j.Parts[0].Quantity = 600_000; j.Parts = append(j.Parts, j.Parts[0]) }, "million"},
		{"quantity past all", func(j *cutting.Job) { j.Parts[0].Quantity = 1 << 40 }, "quantity"},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := sheet()
			c.change(&j)
			p, err := j.Plan(cutting.Quick)
			require.ErrorContains(t, err, c.says)
			assert.Equal(t, cutting.Plan{}, p)
			assert.NotPanics(t, func() { j.Fits(j.Parts[0]) })
		})
	}
}

func TestNothingToCut(t *testing.T) {
	for name, parts := range map[string][]cutting.Part{
		"no parts":     nil,
		"none of each": {{Length: 700 * mm, Width: 500 * mm}, {Length: 9 * unit.Metre, Width: mm}},
	} {
		j := sheet()
		j.Parts = parts
		p, err := j.Plan(cutting.Quick)
		require.NoError(t, err, name)
		feasible(t, &j, &p)
		assert.True(t, p.Proved() && p.Pieces == 0, name)
	}
}

// What just fits: the whole sheet within its trim, by either way of lying; strips
// without and with the room for the last cut; a kerf above the parts; nanometres.
func TestWhatJustFits(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*cutting.Job)
		pieces int
	}{
		{"as it was", func(*cutting.Job) {}, 1},
		{"the whole sheet", func(j *cutting.Job) { j.Parts[0].Length, j.Parts[0].Width = 2420*mm, 1200*mm }, 4},
		{"the whole sheet, turned", func(j *cutting.Job) {
			j.Parts[0] = cutting.Part{Length: 1200 * mm, Width: 2420 * mm, Quantity: 2, Turn: true}
		}, 2},
		{"two halves", func(j *cutting.Job) { j.Parts[0].Length = 2417 * mm / 2; j.Parts[0].Width = 597 * mm }, 1},
		{"two halves and 1 nm", func(j *cutting.Job) { j.Parts[0].Length = 2417*mm/2 + 1; j.Parts[0].Width = 597 * mm }, 2},
		{"a kerf over the rest", func(j *cutting.Job) { j.Parts[0].Length = 2415 * mm / 2; j.Parts[0].Width = 597 * mm }, 1},
		{"a kerf of 2 m", func(j *cutting.Job) { j.Kerf = 2 * unit.Metre; j.Parts[0].Length, j.Parts[0].Width = mm, mm }, 2},
		{"a kerf of 3 m", func(j *cutting.Job) { j.Kerf = 3 * unit.Metre; j.Parts[0].Length, j.Parts[0].Width = mm, mm }, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := sheet()
			c.change(&j)
			require.True(t, j.Fits(j.Parts[0]))
			p, ok := planned(t, &j, cutting.Quick)
			require.True(t, ok)
			assert.Equal(t, c.pieces, p.Pieces)
		})
	}
}

// large are jobs at the limits of a request, and past them.
func large() map[string]cutting.Job {
	jobs := map[string]cutting.Job{}
	of := func(name string, n int, part func(i int) cutting.Part) {
		j := sheet()
		j.Parts = nil
		for i := range n {
			j.Parts = append(j.Parts, part(i))
		}
		jobs[name] = j
	}
	length := func(i int) unit.Length { return 80*mm + unit.Length(i*7919%1500)*mm }
	width := func(i int) unit.Length { return 60*mm + unit.Length(i*104729%900)*mm }
	of("20 000 of one part", 1, func(int) cutting.Part {
		return cutting.Part{Length: 300 * mm, Width: 200 * mm, Quantity: 20_000, Turn: true}
	})
	of("20 000 in 40 sizes", 40, func(i int) cutting.Part {
		return cutting.Part{Length: length(i), Width: width(i), Quantity: 500, Turn: i%2 > 0}
	})
	of("20 000 in 1000 sizes", 1000, func(i int) cutting.Part {
		return cutting.Part{Length: length(i), Width: width(i), Quantity: 20, Turn: true}
	})
	of("20 000 sizes", 20_000, func(i int) cutting.Part {
		return cutting.Part{Length: length(i) + unit.Length(i), Width: width(i), Quantity: 1, Turn: true}
	})
	of("20 000 slips", 1, func(int) cutting.Part { return cutting.Part{Length: mm, Width: mm, Quantity: 20_000, Turn: true} })
	of("a sheet each", 1, func(int) cutting.Part { return cutting.Part{Length: 1300 * mm, Width: 700 * mm, Quantity: 20_000} })
	of("a million, the dearest there are", 1, func(int) cutting.Part { return cutting.Part{Length: 1300 * mm, Width: 700 * mm, Quantity: 1_000_000} })
	of("nanometres of 20 m", 30, func(i int) cutting.Part {
		return cutting.Part{Length: 19_999_999_999 - unit.Length(i)*654_321_987, Width: 9_999_999_967 - unit.Length(i)*300_000_007, Quantity: 3, Turn: true}
	})
	j := jobs["nanometres of 20 m"]
	j.Kerf, j.Trim, j.Stock = 3_333_333, cutting.Trim{}, one(20*unit.Metre, 20*unit.Metre-1)
	jobs["nanometres of 20 m"] = j
	jobs["a million, the dearest there are"].Stock[0].Cost = 1_000_000_000_000 // 10^18 in all
	return jobs
}

// efforts are those a large job is planned with: once, but where a thorough plan is soon made.
func efforts(name string) []cutting.Effort {
	if name == "nanometres of 20 m" {
		return []cutting.Effort{cutting.Quick, cutting.Thorough}
	}
	return []cutting.Effort{cutting.Quick}
}

// However large a job, planning it ends soon: its steps are counted. A minute is past
// any machine; what is measured is told.
func TestLargeJobsEndSoon(t *testing.T) {
	for name, j := range large() {
		for _, e := range efforts(name) {
			start := time.Now()
			p, err := j.Plan(e)
			took := time.Since(start)
			require.NoError(t, err, name)
			feasible(t, &j, &p)
			require.LessOrEqual(t, areaBound(&j), p.Bound, name)
			require.Less(t, took, time.Minute, name)
			t.Logf("%s, effort %d: %d ms, %d sheets in %d layouts, bound %d", name, e, took.Milliseconds(), p.Pieces, len(p.Layouts), p.Bound)
		}
	}
}
