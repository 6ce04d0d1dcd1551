package cutting

import (
	"cmp"
	"errors"
	"math"
	"math/bits"
	"slices"

	"reckoner/pricing/unit"
)

// A Misfit is the error of a part that fits no stock.
type Misfit struct {
	Part int // which of Job.Parts
}

// Error says so.
func (Misfit) Error() string { return "a part fits none of the stock within its trim" }

// A Short is the error of limited stock that is not enough, or was not found to be.
type Short struct{}

// Error says so.
func (Short) Error() string { return "no way was found to cut all parts from so much stock" }

// Limits of a job; within them nothing overflows.
const (
	longest = 100 * unit.Metre
	mostOf  = 1_000_000         // parts in all, and pieces of one size
	dearest = 1_000_000_000_000 // one piece of stock
	noLimit = math.MaxInt64 / 2 // of a cost
)

// A kind is what parts that are cut alike share.
type kind struct {
	size      // grown
	turn bool // it may, and that makes a difference
}

// A want is all parts of one kind.
type want struct {
	kind
	count int
	area  int64 // of one, in steps of the search
	parts []int // which of Job.Parts
}

// A board is a size of stock within its trim.
type board struct {
	size      // grown
	stock int // which of Job.Stock
	cost  int64
	limit int // how many; mostOf when there is no limit
}

// A problem is a job reduced to what matters: sizes grown by the kerf and in their
// largest common measure, so that neither the order nor the names nor the unit of
// its parts bear on the plan.
type problem struct {
	*Job
	measure  int64
	boards   []board
	wants    []want
	shift    uint  // area counts sides in steps of 1 << shift
	norm     uint  // and value counts area in steps of 1 << norm
	least    int64 // the shortest side of what is wanted
	kerf     int64
	keepable int64 // the shortest side of an offcut worth keeping, grown
}

func (j *Job) problem() (*problem, error) {
	p := &problem{Job: j}
	if err := j.check(); err != nil {
		return nil, err
	}
	for i := range j.Stock {
		s := &j.Stock[i]
		b := board{size: j.within(s), stock: i, cost: s.Cost, limit: s.Quantity}
		if b.limit == 0 {
			b.limit = mostOf
		}
		p.boards = append(p.boards, b)
	}
	at := make(map[kind]int, len(j.Parts))
	for i, q := range j.Parts {
		if q.Quantity == 0 {
			continue
		}
		if !j.Fits(q) {
			return nil, Misfit{i}
		}
		of := kind{size{int64(q.Length + j.Kerf), int64(q.Width + j.Kerf)}, q.Turn && q.Length != q.Width}
		if of.turn && of.l < of.w {
			of.size = of.size.turned()
		}
		k, seen := at[of]
		if !seen {
			k = len(p.wants)
			at[of] = k
			p.wants = append(p.wants, want{kind: of})
		}
		p.wants[k].count += q.Quantity
		p.wants[k].parts = append(p.wants[k].parts, i)
	}
	p.boards = slices.DeleteFunc(p.boards, func(b board) bool { return !b.holdsAny(p.wants) })
	p.reduce()
	return p, nil
}

// reduce sorts the wants and brings all sizes down to their common measure.
func (p *problem) reduce() {
	var g, most int64
	for i := range p.wants {
		g = gcd(gcd(g, p.wants[i].l), p.wants[i].w)
	}
	for i := range p.boards {
		b := &p.boards[i]
		g = gcd(gcd(g, b.l), b.w)
		most = max(most, b.l, b.w)
	}
	p.measure = max(1, g)
	p.kerf = int64(p.Kerf) / p.measure
	p.keepable = (int64(p.OffcutMin+p.Kerf) + p.measure - 1) / p.measure
	for i := range p.boards {
		p.boards[i].size = size{p.boards[i].l / p.measure, p.boards[i].w / p.measure}
	}
	p.shift = uint(max(0, bits.Len64(uint64(most/p.measure))-20))
	for i := range p.boards {
		p.norm = max(p.norm, uint(max(0, bits.Len64(uint64(p.area(p.boards[i].size)))-16)))
	}
	for i := range p.wants {
		w := &p.wants[i]
		w.size = size{w.l / p.measure, w.w / p.measure}
		w.area = max(1, p.area(w.size))
		if i == 0 || min(w.l, w.w) < p.least {
			p.least = min(w.l, w.w)
		}
	}
	slices.SortStableFunc(p.boards, func(a, b board) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.l, b.l), cmp.Compare(a.w, b.w), cmp.Compare(a.limit, b.limit))
	})
	slices.SortFunc(p.wants, func(a, b want) int {
		return cmp.Or(cmp.Compare(b.area, a.area), cmp.Compare(b.l, a.l), cmp.Compare(b.w, a.w), turns(b)-turns(a))
	})
}

func turns(w want) int {
	if w.turn {
		return 1
	}
	return 0
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// area returns the area of s in steps of the search.
func (p *problem) area(s size) int64 { return (s.l >> p.shift) * (s.w >> p.shift) }

// check judges what every job must keep to.
func (j *Job) check() error {
	if j.Kerf < 0 || min(j.Trim.Left, j.Trim.Right, j.Trim.Bottom, j.Trim.Top) < 0 {
		return errors.New("kerf and trim must not be negative")
	}
	if max(j.Kerf, j.Trim.Left, j.Trim.Right, j.Trim.Bottom, j.Trim.Top) > longest {
		return errors.New("kerf and trim must be at most 100 m")
	}
	if j.OffcutMin < 0 || j.OffcutMin > longest {
		return errors.New("the least side of an offcut must be from 0 to 100 m")
	}
	for _, s := range j.Stock {
		if min(s.Length, s.Width) <= 0 || max(s.Length, s.Width) > longest {
			return errors.New("the sides of stock must be above 0 and at most 100 m")
		}
		if s.Cost < 0 || s.Cost > dearest || s.Quantity < 0 || s.Quantity > mostOf {
			return errors.New("cost and quantity of stock must be from 0 to a million million and a million")
		}
	}
	all := 0
	for _, q := range j.Parts {
		if min(q.Length, q.Width) <= 0 || max(q.Length, q.Width) > longest {
			return errors.New("the sides of a part must be above 0 and at most 100 m")
		}
		if all += q.Quantity; q.Quantity < 0 || q.Quantity > mostOf || all > mostOf {
			return errors.New("the quantity of a part must be from 0, and of all parts together at most a million")
		}
	}
	return nil
}

// within returns the size of a piece of stock within its trim, grown.
func (j *Job) within(s *Stock) size {
	return size{
		int64(s.Length - j.Trim.Left - j.Trim.Right + j.Kerf),
		int64(s.Width - j.Trim.Bottom - j.Trim.Top + j.Kerf),
	}
}

// Fits reports whether q can be cut from some size of the stock.
func (j *Job) Fits(q Part) bool {
	w := size{int64(q.Length + j.Kerf), int64(q.Width + j.Kerf)}
	for i := range j.Stock {
		if b := j.within(&j.Stock[i]); b.holds(w) || q.Turn && b.holds(w.turned()) {
			return true
		}
	}
	return false
}

func (s size) holds(of size) bool { return of.l <= s.l && of.w <= s.w }

// ranks returns places of the wants in several orders, the largest first: by area, by
// the longer side, by the shorter, by length and by width.
func (p *problem) ranks() [][]int32 {
	keys := []func(*want) int64{
		func(w *want) int64 { return w.area },
		func(w *want) int64 { return max(w.l, w.w) },
		func(w *want) int64 { return min(w.l, w.w) },
		func(w *want) int64 { return w.l },
		func(w *want) int64 { return w.w },
	}
	var all [][]int32
	for _, key := range keys {
		order := make([]int32, len(p.wants))
		for i := range order {
			order[i] = int32(i)
		}
		slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(key(&p.wants[b]), key(&p.wants[a])) })
		rank := make([]int32, len(order))
		for i, w := range order {
			rank[w] = int32(i)
		}
		all = append(all, rank)
	}
	return all
}
