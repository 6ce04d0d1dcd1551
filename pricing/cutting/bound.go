package cutting

import (
	"cmp"
	"math/big"
	"slices"
)

// A bound is a cost that no plan can go below: it is proved.
type bound struct {
	*problem
	least int64
}

// newBound starts from the area alone.
func newBound(p *problem) *bound {
	b := &bound{problem: p}
	need := new(big.Int)
	for i := range p.wants {
		w := &p.wants[i]
		need.Add(need, product(w.l, w.w, int64(w.count)))
	}
	areas := make([]*big.Int, len(p.boards))
	for i, z := range p.boards {
		areas[i] = product(z.l, z.w)
	}
	b.least = b.cover(need, areas)
	return b
}

func product(factors ...int64) *big.Int {
	n := big.NewInt(1)
	for _, f := range factors {
		n.Mul(n, big.NewInt(f))
	}
	return n
}

// cover returns the least cost of boards, no more of each than there are, that are
// worth what is needed, when the last may be bought in part, rounded up to what sums of
// their costs can be.
func (b *bound) cover(need *big.Int, most []*big.Int) int64 {
	order := make([]int, 0, len(b.boards))
	var step int64 // every sum of their costs is so many of these
	for i := range b.boards {
		if most[i].Sign() > 0 {
			order = append(order, i)
			step = gcd(step, b.boards[i].cost)
		}
	}
	slices.SortFunc(order, func(i, j int) int { // the cheapest for its worth first
		x := new(big.Int).Mul(big.NewInt(b.boards[i].cost), most[j])
		return x.Cmp(new(big.Int).Mul(big.NewInt(b.boards[j].cost), most[i]))
	})
	rest := new(big.Int).Set(need)
	cost := new(big.Int)
	for _, i := range order {
		z := &b.boards[i]
		all := new(big.Int).Mul(most[i], big.NewInt(int64(z.limit)))
		if all.Cmp(rest) < 0 {
			rest.Sub(rest, all)
			cost.Add(cost, product(z.cost, int64(z.limit)))
			continue
		}
		rest.Mul(rest, big.NewInt(z.cost))
		cost.Add(cost, rest.Add(rest, most[i]).Sub(rest, big.NewInt(1)).Div(rest, most[i]))
		break
	}
	if step > 0 {
		up := big.NewInt(step)
		cost.Add(cost, up).Sub(cost, big.NewInt(1)).Div(cost, up).Mul(cost, up)
	}
	if !cost.IsInt64() {
		return 0
	}
	return cost.Int64()
}

// prove raises the bound to what the prices of the wants prove, when no pattern of a
// board is worth more than most.
func (b *bound) prove(need int64, most []int64) {
	all := make([]*big.Int, len(most))
	for i, v := range most {
		all[i] = big.NewInt(v)
	}
	b.least = max(b.least, b.cover(big.NewInt(need), all))
}

// kinds is for how many wants, at most, the master is solved.
const kinds = 400

// columns solves the master over all patterns, as far as steps go, beginning with
// those it is given, and raises the bound to what each set of prices on the way
// proves. It returns a master whose patterns can be cut, or nil for too many wants.
func (b *bound) columns(pool []pattern, steps int64) *master {
	enough := b.enough(pool)
	if len(b.wants) > kinds {
		return nil
	}
	p, sacks := b.knapsacks(steps / 12)
	m := newMaster(b.problem)
	rough := m
	if p != b.problem || !simple(sacks) {
		rough = m.strips(pool, steps/2)
	}
	if sacks == nil {
		return rough
	}
	if p != b.problem {
		m, pool = newMaster(p), nil
	}
	m.improve(pool, steps, func() (pattern, int64) {
		q, work := m.solve(sacks, b)
		if b.least >= enough {
			return pattern{}, work
		}
		return q, work
	})
	if p == b.problem && exact(sacks) {
		return m
	}
	return rough
}

// exact reports whether the patterns of all knapsacks can be cut.
func exact(sacks []*knapsack) bool {
	return sacks != nil && !slices.ContainsFunc(sacks, func(k *knapsack) bool { return !k.exact() })
}

// simple reports whether, besides, they are solved as quickly as strips would be.
func simple(sacks []*knapsack) bool {
	return exact(sacks) && !slices.ContainsFunc(sacks, func(k *knapsack) bool {
		z := k.boards[k.board].size
		return k.work > 4*int64(len(k.wants))*(z.l+z.w)
	})
}

// knapsacks prepares those boards that hold anything so that each is solved in most
// steps or fewer. Where that is not to be had the narrowest wants are left out, whose
// many sums make the work, as long as the others are half of the area; then sides are
// cut down. It returns the problem that is left, and nothing where no way is found.
func (b *bound) knapsacks(most int64) (*problem, []*knapsack) {
	order := make([]int, len(b.wants))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		v, w := &b.wants[i], &b.wants[j]
		return cmp.Or(cmp.Compare(min(v.l, v.w), min(w.l, w.w)), cmp.Compare(i, j))
	})
	for quarter := range 4 {
		p := b.problem
		if n := len(order) * quarter / 4; n > 0 {
			p = b.problem.leaveOut(order[:n])
		} else if quarter > 0 {
			continue
		}
		if 2*p.worth() < b.worth() {
			break
		}
		if list := p.knapsacks(most, false); list != nil {
			return p, list
		}
	}
	return b.problem, b.problem.knapsacks(most, true)
}

// leaveOut returns a problem without some wants.
func (p *problem) leaveOut(which []int) *problem {
	q := *p
	q.wants = slices.Clone(p.wants)
	for _, i := range which {
		q.wants[i].count = 0
	}
	q.least = 0
	for i := range q.wants {
		if w := &q.wants[i]; w.count > 0 && (q.least == 0 || min(w.l, w.w) < q.least) {
			q.least = min(w.l, w.w)
		}
	}
	return &q
}

// worth returns the area of all that is wanted, in steps of the search.
func (p *problem) worth() int64 {
	var v int64
	for i := range p.wants {
		v += p.wants[i].area * int64(p.wants[i].count)
	}
	return v
}

// knapsacks prepares the boards that hold anything, sides cut down or not; nil when
// one of them takes more steps.
func (p *problem) knapsacks(most int64, down bool) []*knapsack {
	var list []*knapsack
	for i := range p.boards {
		if !p.boards[i].size.holdsAny(p.wants) {
			continue
		}
		k := newKnapsack(p, i, most, down)
		if k == nil {
			return nil
		}
		list = append(list, k)
	}
	return list
}

func (s size) holdsAny(wants []want) bool {
	return slices.ContainsFunc(wants, func(w want) bool { return w.count > 0 && (s.holds(w.size) || w.turn && s.holds(w.turned())) })
}

// enough returns what the bound has to reach to prove a solution, or what no bound reaches.
func (b *bound) enough(pool []pattern) int64 {
	if len(pool) == 0 {
		return noLimit
	}
	var cost int64
	for i := range pool {
		cost += b.boards[pool[i].board].cost
	}
	return cost
}
