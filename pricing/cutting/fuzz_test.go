package cutting_test

import (
	"encoding/binary"
	"errors"
	"math/rand/v2"
	"testing"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

const mm = unit.Millimetre

// A source chooses a number from 0 below n: rand.Rand is one.
type source interface{ IntN(n int) int }

// numbered returns the source of a numbered job, the same on every machine.
func numbered(n int) source { return rand.New(rand.NewPCG(uint64(n), 0)) }

// between chooses a number from low to high.
func between(s source, low, high int) int { return low + s.IntN(high-low+1) }

// rarely is true once in so many.
func rarely(s source, times int) bool { return s.IntN(times) == times-1 }

// pick chooses one of several.
func pick[T any](s source, of ...T) T { return of[s.IntN(len(of))] }

// bytes are a source that is 0 when it is spent.
type bytes []byte

func (b *bytes) IntN(n int) int {
	if len(*b) < 2 {
		return 0
	}
	v := int(binary.LittleEndian.Uint16(*b))
	*b = (*b)[2:]
	return v % n
}

// anyJob makes a job of a workshop: whole millimetres, tenths, or sixty-fourths of
// an inch; sheets, or boards as wide as their parts. Nearly every part fits.
func anyJob(s source) cutting.Job {
	var j cutting.Job
	step := pick(s, mm, mm, mm/10, unit.Inch/64)
	on := func(l unit.Length) unit.Length { return max(step, l/step*step) }
	boards := rarely(s, 6)
	j.Kerf = pick(s, 0, 3200*unit.Micrometre, 4*mm, unit.Inch/8)
	j.OffcutMin = pick(s, mm, 100*mm, 300*mm)
	if rarely(s, 2) {
		j.Trim = cutting.Trim{
			Left: pick(s, 0, 10*mm, unit.Inch/2), Right: pick(s, 0, 10*mm, 15*mm),
			Bottom: pick(s, 0, 10*mm, 5*mm), Top: pick(s, 0, 10*mm, 3*mm),
		}
	}
	for range between(s, 1, 3) {
		size := pick(s, [2]unit.Length{2440, 1220}, [2]unit.Length{2500, 1250}, [2]unit.Length{3050, 1525}, [2]unit.Length{1525, 1525}, [2]unit.Length{1220, 610},
			[2]unit.Length{unit.Length(between(s, 300, 3000)), unit.Length(between(s, 300, 1500))})
		k := cutting.Stock{Length: on(size[0] * mm), Width: on(size[1] * mm), Cost: int64(pick(s, 1, between(s, 1, 9), between(s, 500, 9000)))}
		if rarely(s, 20) {
			k.Cost = 0
		}
		if rarely(s, 5) {
			k.Quantity = between(s, 1, 12)
		}
		if boards {
			k.Width = 100*mm + j.Trim.Bottom + j.Trim.Top
		}
		j.Stock = append(j.Stock, k)
	}
	in := pick(s, j.Stock...)
	for range pick(s, between(s, 1, 4), between(s, 1, 12)) {
		most := pick(s, 900, 500, 250)
		p := cutting.Part{
			Length:   on(in.Length * unit.Length(between(s, 20, most)) / 1000),
			Width:    on(in.Width * unit.Length(between(s, 20, most)) / 1000),
			Quantity: pick(s, 1, between(s, 1, 8)), Turn: rarely(s, 2),
		}
		if rarely(s, 30) {
			p.Quantity = between(s, 20, 200)
		}
		if boards {
			p.Width, p.Turn = 100*mm, false
		}
		j.Parts = append(j.Parts, p)
	}
	return j
}

// planned plans a job and holds the plan, or the refusal, against the job. It
// returns no plan when a part fits nothing or limited stock is not enough.
func planned(t testing.TB, j *cutting.Job, e cutting.Effort) (cutting.Plan, bool) {
	t.Helper()
	p, err := j.Plan(e)
	var misfit cutting.Misfit
	switch {
	case err == nil:
		feasible(t, j, &p)
		if least := areaBound(j); p.Bound < least {
			t.Fatalf("bound %d, by area alone %d\n%+v", p.Bound, least, *j)
		}
		return p, true
	case errors.As(err, &misfit):
		if fits(j, j.Parts[misfit.Part]) {
			t.Fatalf("part %d fits, %v\n%+v", misfit.Part, err, *j)
		}
	case errors.As(err, new(cutting.Short)):
		limited := false
		for _, s := range j.Stock {
			limited = limited || s.Quantity > 0
		}
		if !limited {
			t.Fatalf("%v of unlimited stock\n%+v", err, *j)
		}
	default:
		t.Fatalf("%v\n%+v", err, *j)
	}
	return cutting.Plan{}, false
}

// FuzzPlan plans the jobs that bytes choose, tiny ones too, and holds the plans
// against them; tiny ones against every way of cutting them.
func FuzzPlan(f *testing.F) {
	f.Add([]byte{}, false)
	f.Add([]byte("a tall chest of drawers, its backs and its bottoms"), true)
	f.Fuzz(func(t *testing.T, b []byte, tiny bool) {
		s := bytes(b)
		if tiny {
			j, grid := tinyJob(&s)
			optimal(t, &j, optimum(&j, grid), cutting.Quick)
			return
		}
		j := anyJob(&s)
		planned(t, &j, cutting.Quick)
	})
}
