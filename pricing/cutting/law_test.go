package cutting_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// jobs is how many jobs a law is held against.
const jobs = 200

// each holds a law against many jobs that can be planned, with their quick plans.
func each(t *testing.T, law func(j *cutting.Job, p *cutting.Plan, s source)) {
	t.Helper()
	held := 0
	for n := range jobs {
		s := numbered(n)
		j := anyJob(s)
		if p, ok := planned(t, &j, cutting.Quick); ok {
			law(&j, &p, s)
			held++
		}
	}
	require.Greater(t, held, jobs/2)
}

// changed returns a copy of a job with a change.
func changed(j *cutting.Job, change func(*cutting.Job)) cutting.Job {
	k := *j
	k.Parts, k.Stock = slices.Clone(j.Parts), slices.Clone(j.Stock)
	change(&k)
	return k
}

func worthOf(p *cutting.Plan) worth { return worth{p.Cost, p.Pieces} }

// same fails unless a changed job is planned just as well as j was.
func same(t *testing.T, j *cutting.Job, p *cutting.Plan, change func(*cutting.Job)) {
	t.Helper()
	k := changed(j, change)
	q, ok := planned(t, &k, cutting.Quick)
	require.True(t, ok, "%+v", k)
	require.Equal(t, worthOf(p), worthOf(&q), "%+v\n%+v", *j, k)
	require.Equal(t, p.Bound, q.Bound, "%+v\n%+v", *j, k)
}

// dearer fails unless the changed job can cost more than j and no less: no bound of
// j is above a plan of the changed job, which therefore costs as much when both are
// proved.
func dearer(t *testing.T, j *cutting.Job, p *cutting.Plan, change func(*cutting.Job)) {
	t.Helper()
	k := changed(j, change)
	if q, ok := planned(t, &k, cutting.Quick); ok {
		require.LessOrEqual(t, p.Bound, q.Cost, "%+v\n%+v", *j, k)
		require.LessOrEqual(t, areaBound(j), q.Bound, "%+v\n%+v", *j, k)
	}
}

func TestLawSameJobSamePlan(t *testing.T) {
	each(t, func(j *cutting.Job, p *cutting.Plan, _ source) {
		before := changed(j, func(*cutting.Job) {})
		q, err := j.Plan(cutting.Quick)
		require.NoError(t, err)
		require.Equal(t, *p, q)
		require.Equal(t, before, *j, "planning changes no job")
	})
}

func TestLawOrderOfPartsAndStockChangesNothing(t *testing.T) {
	each(t, func(j *cutting.Job, p *cutting.Plan, s source) {
		same(t, j, p, func(k *cutting.Job) {
			for i := range k.Parts {
				o := i + s.IntN(len(k.Parts)-i)
				k.Parts[i], k.Parts[o] = k.Parts[o], k.Parts[i]
			}
		})
		same(t, j, p, func(k *cutting.Job) { slices.Reverse(k.Stock) })
	})
}

func TestLawSplittingALineChangesNothing(t *testing.T) {
	each(t, func(j *cutting.Job, p *cutting.Plan, s source) {
		same(t, j, p, func(k *cutting.Job) {
			for i := range k.Parts {
				if q := &k.Parts[i]; q.Quantity > 1 {
					rest := *q
					q.Quantity = between(s, 1, q.Quantity-1)
					rest.Quantity -= q.Quantity
					k.Parts = append(k.Parts, rest)
				}
			}
		})
	})
}

func TestLawUnitOfLengthChangesNothing(t *testing.T) {
	each(t, func(j *cutting.Job, p *cutting.Plan, s source) {
		n := unit.Length(between(s, 2, 20))
		same(t, j, p, func(k *cutting.Job) {
			k.Kerf *= n
			k.OffcutMin *= n
			k.Trim = cutting.Trim{Left: n * j.Trim.Left, Right: n * j.Trim.Right, Bottom: n * j.Trim.Bottom, Top: n * j.Trim.Top}
			for i := range k.Stock {
				k.Stock[i].Length *= n
				k.Stock[i].Width *= n
			}
			for i := range k.Parts {
				k.Parts[i].Length *= n
				k.Parts[i].Width *= n
			}
		})
	})
}

func TestLawTrimMovesWhatIsCut(t *testing.T) {
	each(t, func(j *cutting.Job, p *cutting.Plan, _ source) {
		same(t, j, p, func(k *cutting.Job) {
			k.Trim = cutting.Trim{Left: j.Trim.Right, Right: j.Trim.Left, Bottom: j.Trim.Bottom + j.Trim.Top}
		})
	})
}

// Doubling the kerf lowers no bound, nor the cost where both are proved.
func TestLawTwiceTheKerf(t *testing.T) {
	each(t, func(j *cutting.Job, p *cutting.Plan, _ source) {
		k := changed(j, func(k *cutting.Job) { k.Kerf *= 2 })
		q, ok := planned(t, &k, cutting.Quick)
		if !ok {
			return
		}
		require.LessOrEqual(t, p.Bound, q.Bound, "%+v", *j)
		if p.Proved() && q.Proved() {
			require.LessOrEqual(t, p.Cost, q.Cost, "%+v", *j)
		}
	})
}

// More to cut, a wider saw, wider trim, parts that must not turn: none is cheaper.
func TestLawHarderJobsAreNotCheaper(t *testing.T) {
	each(t, func(j *cutting.Job, p *cutting.Plan, s source) {
		dearer(t, j, p, func(k *cutting.Job) { k.Kerf += 1900 * unit.Micrometre })
		dearer(t, j, p, func(k *cutting.Job) { k.Trim.Left += 7 * mm })
		dearer(t, j, p, func(k *cutting.Job) {
			more := pick(s, k.Parts...)
			more.Length = (more.Length + 1) / 2
			k.Parts = append(k.Parts, more)
		})
		dearer(t, j, p, func(k *cutting.Job) {
			for i := range k.Parts {
				k.Parts[i].Turn = false
			}
		})
	})
}

// Lying the other way, stock and parts, a job is the same job: the bound of either
// holds for both, so that what is proved both ways costs the same.
func TestLawTheOtherWayRound(t *testing.T) {
	var tried, apart int
	each(t, func(j *cutting.Job, p *cutting.Plan, _ source) {
		k := changed(j, func(k *cutting.Job) {
			k.Trim = cutting.Trim{Left: j.Trim.Bottom, Right: j.Trim.Top, Bottom: j.Trim.Left, Top: j.Trim.Right}
			for i, s := range k.Stock {
				k.Stock[i].Length, k.Stock[i].Width = s.Width, s.Length
			}
			for i, q := range k.Parts {
				k.Parts[i].Length, k.Parts[i].Width = q.Width, q.Length
			}
		})
		q, ok := planned(t, &k, cutting.Quick)
		if !ok { // limited stock that is enough only in one of two ways that were found
			return
		}
		require.LessOrEqual(t, p.Bound, q.Cost)
		require.LessOrEqual(t, q.Bound, p.Cost)
		tried++
		if worthOf(p) != worthOf(&q) {
			apart++
		}
	})
	t.Logf("%d of %d jobs cost otherwise the other way round", apart, tried)
}

func TestLawThoroughIsNeverWorse(t *testing.T) {
	var better, open int
	each(t, func(j *cutting.Job, p *cutting.Plan, _ source) {
		if p.Proved() {
			return
		}
		if open++; open > jobs/16 {
			return
		}
		q, ok := planned(t, j, cutting.Thorough)
		require.True(t, ok)
		require.LessOrEqual(t, worthOf(&q).compare(worthOf(p)), 0, "%+v, quick %+v\n%+v", worthOf(&q), worthOf(p), *j)
		require.LessOrEqual(t, p.Bound, q.Cost)
		if q.Cost < p.Cost {
			better++
		}
	})
	t.Logf("%d of %d jobs are not proved by the quick plan; of %d the thorough one betters %d", open, jobs, min(open, jobs/16), better)
}

// Twice as much of everything is never dearer than two plans, nor many times as much
// bounded by more than as many.
func TestLawOfManyTimesAsMuch(t *testing.T) {
	var cost, times int64
	each(t, func(j *cutting.Job, p *cutting.Plan, s source) {
		for _, n := range pick(s, []int{2}, []int{2}, []int{2, between(s, 3, 30)}) {
			k := changed(j, func(k *cutting.Job) {
				for i := range k.Parts {
					k.Parts[i].Quantity *= n
				}
				for i := range k.Stock {
					k.Stock[i].Quantity *= n
				}
			})
			q, ok := planned(t, &k, cutting.Quick)
			require.True(t, ok, "%+v", k)
			require.LessOrEqual(t, q.Bound, int64(n)*p.Cost, "%d times %+v", n, *j)
			if n == 2 {
				require.LessOrEqual(t, q.Cost, 2*p.Cost, "%+v", *j)
			}
			cost, times = cost+q.Cost, times+int64(n)*p.Cost
		}
	})
	t.Logf("many times as much costs %d where as many plans cost %d", cost, times)
}

// Of one part that must not turn, a piece of stock holds so many times so many, and
// no more: n x length + (n - 1) x kerf is at most the length (common practice, no
// source).
func TestLawOfOnePart(t *testing.T) {
	proved := 0
	for n := range jobs {
		s := numbered(n)
		j := anyJob(s)
		j.Stock, j.Parts = j.Stock[:1], j.Parts[:1]
		j.Stock[0].Quantity, j.Stock[0].Cost, j.Parts[0].Turn, j.Parts[0].Quantity = 0, 1, false, between(s, 1, 300)
		p, ok := planned(t, &j, cutting.Quick)
		if !ok {
			continue
		}
		k, q := &j.Stock[0], &j.Parts[0]
		along := (k.Length - j.Trim.Left - j.Trim.Right + j.Kerf) / (q.Length + j.Kerf)
		across := (k.Width - j.Trim.Bottom - j.Trim.Top + j.Kerf) / (q.Width + j.Kerf)
		per := int(along * across)
		require.Equal(t, (q.Quantity+per-1)/per, p.Pieces, "%d from each\n%+v", per, j)
		if p.Proved() {
			proved++
		}
	}
	t.Logf("%d of %d proved", proved, jobs)
}

// Of one sheet for one part, the largest offcut worth keeping is what is beside the
// part, right across or as wide as the part, or what is above it: the last aim of a
// plan.
func TestLawOfTheLargestOffcut(t *testing.T) {
	for n := range jobs {
		s := numbered(n)
		j := anyJob(s)
		j.Stock, j.Parts = j.Stock[:1], j.Parts[:1]
		q, k := &j.Parts[0], j.Stock[0]
		q.Quantity = 1
		p, ok := planned(t, &j, cutting.Quick)
		if !ok {
			continue
		}
		length, width := k.Length-j.Trim.Left-j.Trim.Right, k.Width-j.Trim.Bottom-j.Trim.Top
		var want, got unit.Length
		keep := func(to *unit.Length, l, w unit.Length) {
			if l >= j.OffcutMin && w >= j.OffcutMin {
				*to = max(*to, l*w) // below 3.05 m x 1.53 m, which an int64 holds
			}
		}
		lie := func(l, w unit.Length) {
			if l <= length && w <= width {
				keep(&want, length-l-j.Kerf, width)
				keep(&want, length, width-w-j.Kerf)
			}
		}
		if lie(q.Length, q.Width); q.Turn {
			lie(q.Width, q.Length)
		}
		for _, o := range p.Layouts[0].Offcuts(j.OffcutMin) {
			keep(&got, o.Length, o.Width)
		}
		require.Equal(t, want, got, "nm2\n%+v", j)
	}
}

// jigsaw makes a job by sawing up to six pieces of stock without any waste, and
// returns what they cost: of one size, no plan costs less.
func jigsaw(s source, sizes int) (j cutting.Job, cost int64) {
	j.Kerf = pick(s, 0, 3200*unit.Micrometre, unit.Inch/8)
	j.Trim = cutting.Trim{Left: 10 * mm, Right: 10 * mm, Bottom: pick(s, 0, 10*mm)}
	j.OffcutMin = 300 * mm
	for range sizes {
		length, width := pick(s, 2440*mm, 2500*mm, 1525*mm), pick(s, 1220*mm, 1250*mm, 610*mm)
		j.Stock = append(j.Stock, cutting.Stock{Length: length, Width: width, Cost: int64(length/mm*width/mm)/10_000 + int64(s.IntN(20))})
	}
	for range between(s, 1, 6) {
		k := pick(s, j.Stock...)
		j.Parts = append(j.Parts, sawnUp(s, rect{l: k.Length - 20*mm, w: k.Width - j.Trim.Bottom}, j.Kerf)...)
		cost += k.Cost
	}
	return j, cost
}

// sawnUp saws a rectangle into some parts, some of which may turn.
func sawnUp(s source, r rect, kerf unit.Length) []cutting.Part {
	side := max(r.l, r.w)
	if side < 400*mm || rarely(s, 6) {
		return []cutting.Part{{Length: r.l, Width: r.w, Quantity: 1, Turn: rarely(s, 3)}}
	}
	off, left := r.cut(r.w > r.l, side*unit.Length(between(s, 20, 50))/100, kerf)
	left.x, left.y = 0, 0
	return append(sawnUp(s, off, kerf), sawnUp(s, left, kerf)...)
}

// The bound of a job without waste is what it was sawn from, neither less nor more.
func TestLawOfJigsaws(t *testing.T) {
	for e, times := range map[cutting.Effort]int{cutting.Quick: jobs / 4, cutting.Thorough: jobs / 50} {
		again := 0
		for n := range times {
			j, cost := jigsaw(numbered(n), 1)
			p, ok := planned(t, &j, e)
			require.True(t, ok)
			require.Equal(t, cost, p.Bound, "%+v", j)
			if p.Proved() {
				again++
			}
		}
		t.Logf("effort %d: %d of %d jigsaws are put together again", e, again, times)
	}
}

// Of parts sawn from several sizes, some made smaller after, no bound is above what
// they were sawn from.
func TestLawOfWhatWasSawn(t *testing.T) {
	for e, times := range map[cutting.Effort]int{cutting.Quick: jobs / 4, cutting.Thorough: jobs / 50} {
		var below, same, above int
		for n := range times {
			s := numbered(n)
			j, cost := jigsaw(s, between(s, 1, 3))
			for i := range j.Parts {
				if q := &j.Parts[i]; rarely(s, 3) {
					q.Length -= q.Length * unit.Length(s.IntN(9)) / 100
					q.Width -= q.Width * unit.Length(s.IntN(9)) / 100
				}
			}
			p, ok := planned(t, &j, e)
			require.True(t, ok)
			require.LessOrEqual(t, p.Bound, cost, "%+v", j)
			switch {
			case p.Cost < cost:
				below++
			case p.Cost == cost:
				same++
			default:
				above++
			}
		}
		t.Logf("effort %d: %d of %d cheaper than what was sawn, %d as dear, %d dearer", e, below, times, same, above)
	}
}
