package cutting

import "slices"

// A knapsack finds the pattern of the highest value that straight cuts can make from
// a board, each want as often as it likes, where every want has a price. It looks at
// those cuts only that lie at sums of sides: no other cut can do better.
type knapsack struct {
	*problem
	board        int
	stepX, stepY int64     // sides are cut down to whole ones, which never lowers the value
	xs, ys       []int64   // where cuts can be, in these steps, ascending
	restX, restY [][]int32 // by place and cut, up to the middle: the place of what is left
	best         []int64   // of a rectangle that reaches to the places: by y, then x
	own          []int32   // the want that is all of it, or none
	prices       []int64   // of the wants
	work         int64     // steps of a solution

	// Where everything lies in one row:
	bars   []bar
	places []int32 // of the longest x up to so many steps
}

const finest = 1 << 15 // steps along a side, at most

// newKnapsack prepares a board so that one solution takes most steps or fewer; nil
// when it would take more, or when sides may be cut down but only to less than some
// are long.
func newKnapsack(p *problem, board int, most int64, down bool) *knapsack {
	k := &knapsack{problem: p, board: board, stepX: 1, stepY: 1}
	for !k.prepare(most) {
		if !down || max(k.stepX, k.stepY)*2 > p.least {
			return nil
		}
		z := p.boards[board].size
		if z.l/k.stepX >= z.w/k.stepY {
			k.stepX *= 2
		} else {
			k.stepY *= 2
		}
	}
	k.best, k.own = make([]int64, len(k.xs)*len(k.ys)), make([]int32, len(k.xs)*len(k.ys))
	return k
}

// prepare finds where cuts can be, and reports whether those are few enough.
func (k *knapsack) prepare(most int64) bool {
	z := k.boards[k.board].size
	if k.ys = k.sums(z.w, k.stepY, true, most); k.ys == nil {
		return false
	}
	if k.xs = k.sums(z.l, k.stepX, false, most); k.xs == nil {
		return false
	}
	x, y := int64(len(k.xs)), int64(len(k.ys))
	if y == 1 {
		k.lineUp()
		return k.work <= most
	}
	if k.work = x * y * (x + y) / 4; k.work > most {
		return false
	}
	k.restX, k.restY = rests(k.xs), rests(k.ys)
	return true
}

// sums returns, in steps, the sums of sides that fit and matter; nil when finding them
// takes most steps or more.
func (k *knapsack) sums(side, step int64, widths bool, most int64) []int64 {
	side /= step
	if side > finest {
		return nil
	}
	var sides []int64
	for i := range k.wants {
		w := &k.wants[i]
		if w.count == 0 {
			continue
		}
		l, d := w.l, w.w
		if widths {
			l, d = d, l
		}
		sides = append(sides, l/step)
		if w.turn {
			sides = append(sides, d/step)
		}
	}
	slices.Sort(sides)
	sides = slices.Compact(sides)
	can := make([]bool, side+1)
	can[0] = true
	for at := range can {
		if !can[at] {
			continue
		}
		for _, d := range sides {
			if int64(at)+d > side {
				break
			}
			can[int64(at)+d] = true
		}
		if most -= int64(len(sides)); most < 0 {
			return nil
		}
	}
	return raster(can)
}

// raster returns those of the sums, ascending, that are the longest beside another:
// for any two that fit beside one another there are two of these, neither shorter,
// that do (Scheithauer and Terno's raster points). can tells which numbers are sums.
func raster(can []bool) []int64 {
	side := len(can) - 1
	under := make([]int, len(can)) // the longest sum up to here
	for at := range can {
		if can[at] {
			under[at] = at
		} else {
			under[at] = under[at-1]
		}
	}
	var list []int64
	for at := side; at >= 0; at-- {
		if n := int64(under[side-at]); can[at] && n > 0 && (len(list) == 0 || list[len(list)-1] != n) {
			list = append(list, n)
		}
	}
	return list
}

// rests returns, for each place and each cut up to its middle, the place of what is
// left, or none.
func rests(at []int64) [][]int32 {
	table := make([][]int32, len(at))
	for i, whole := range at {
		j := i
		for c := 0; c < i && 2*at[c] <= whole; c++ {
			for j >= 0 && at[j] > whole-at[c] {
				j--
			}
			table[i] = append(table[i], int32(j))
		}
	}
	return table
}

// solve returns the highest value.
func (k *knapsack) solve(prices []int64) int64 {
	k.prices = prices
	nx := len(k.xs)
	for i := range k.best {
		k.best[i], k.own[i] = 0, none
	}
	put := func(w int32, l, d int64) {
		x, _ := slices.BinarySearch(k.xs, l/k.stepX)
		y, _ := slices.BinarySearch(k.ys, d/k.stepY)
		if x < nx && y < len(k.ys) && prices[w] > k.best[y*nx+x] {
			k.best[y*nx+x], k.own[y*nx+x] = prices[w], w
		}
	}
	for i := range k.wants {
		if prices[i] > 0 && k.wants[i].count > 0 {
			put(int32(i), k.wants[i].l, k.wants[i].w)
			if k.wants[i].turn {
				put(int32(i), k.wants[i].w, k.wants[i].l)
			}
		}
	}
	for y := range k.ys {
		row := k.best[y*nx : (y+1)*nx]
		if len(k.ys) == 1 {
			k.line(row)
			break
		}
		if y > 0 {
			for x, v := range k.best[(y-1)*nx : y*nx] {
				row[x] = max(row[x], v)
			}
		}
		for c, rest := range k.restY[y] {
			a, b := k.best[c*nx:(c+1)*nx], k.best[int(rest)*nx:(int(rest)+1)*nx]
			for x := range row {
				row[x] = max(row[x], a[x]+b[x])
			}
		}
		for x := range row {
			v := row[x]
			if x > 0 {
				v = max(v, row[x-1])
			}
			for c, rest := range k.restX[x] {
				v = max(v, row[c]+row[rest])
			}
			row[x] = v
		}
	}
	return k.best[len(k.best)-1]
}

// A bar is a want as it lies where everything lies in one row.
type bar struct {
	want int32
	l    int64 // in steps
}

// lineUp prepares for one row.
func (k *knapsack) lineUp() {
	k.bars = k.bars[:0]
	for i := range k.wants {
		w := &k.wants[i]
		if w.count == 0 {
			continue
		}
		if w.w/k.stepY <= k.ys[0] {
			k.bars = append(k.bars, bar{int32(i), w.l / k.stepX})
		}
		if w.turn && w.l/k.stepY <= k.ys[0] {
			k.bars = append(k.bars, bar{int32(i), w.w / k.stepX})
		}
	}
	k.places = make([]int32, k.xs[len(k.xs)-1]+1)
	x := int32(0)
	for at := range k.places {
		for int(x)+1 < len(k.xs) && k.xs[x+1] <= int64(at) {
			x++
		}
		k.places[at] = x
	}
	k.work = int64(len(k.xs) * len(k.bars))
}

// line fills the only row there is: adding one want after another does it.
func (k *knapsack) line(row []int64) {
	for x, at := range k.xs {
		v := row[x]
		if x > 0 {
			v = max(v, row[x-1])
		}
		for _, b := range k.bars {
			if rest := at - b.l; rest >= k.xs[0] {
				v = max(v, row[k.places[rest]]+k.prices[b.want])
			}
		}
		row[x] = v
	}
}

// pattern returns what the last solution holds, laid out if sides were not cut down.
func (k *knapsack) pattern() pattern {
	c := &sheet{}
	c.reset(k.board, k.boards[k.board].size)
	k.lay(c, 0, len(k.xs)-1, len(k.ys)-1)
	c.tidy()
	count := make(map[int32]int32)
	for n := range c.slots {
		if w := c.slots[n].item; w >= 0 {
			count[w]++
		}
	}
	p := pattern{board: k.board}
	for w, n := range count {
		p.holds = append(p.holds, amount{w, n})
	}
	slices.SortFunc(p.holds, func(a, b amount) int { return int(a.want - b.want) })
	if k.exact() {
		p.made = c
	}
	return p
}

// exact reports whether sides are as they are, so that patterns can be cut.
func (k *knapsack) exact() bool { return k.stepX == 1 && k.stepY == 1 }

// lay fills slot n with the best of what its size allows: the x-th and y-th sum. Every
// value is that of a want or the sum of two, found again here.
func (k *knapsack) lay(c *sheet, n int32, x, y int) {
	nx := len(k.xs)
	for v := k.best[y*nx+x]; v > 0; {
		switch {
		case x > 0 && k.best[y*nx+x-1] == v:
			x--
			continue
		case y > 0 && k.best[(y-1)*nx+x] == v:
			y--
			continue
		}
		if w := k.own[y*nx+x]; w != none && k.prices[w] == v {
			k.put(c, n, w, x, y)
			return
		}
		if k.bars != nil {
			if x = k.next(c, &n, x); x == none {
				return
			}
			v = k.best[x]
			continue
		}
		for i, rest := range k.restX[x] {
			if k.best[y*nx+i]+k.best[y*nx+int(rest)] == v {
				a, b := c.divide(n, k.xs[i]*k.stepX, false)
				k.lay(c, a, i, y)
				k.lay(c, b, int(rest), y)
				return
			}
		}
		for i, rest := range k.restY[y] {
			if k.best[i*nx+x]+k.best[int(rest)*nx+x] == v {
				a, b := c.divide(n, k.ys[i]*k.stepY, true)
				k.lay(c, a, x, i)
				k.lay(c, b, x, int(rest))
				return
			}
		}
		return
	}
}

// next cuts the bar that the best of the only row up to the x-th sum ends with off it,
// and returns the sum that is left, or none.
func (k *knapsack) next(c *sheet, n *int32, x int) int {
	at := slices.IndexFunc(k.bars, func(b bar) bool {
		rest, p := k.xs[x]-b.l, k.prices[b.want]
		return p > 0 && rest >= k.xs[0] && k.best[k.places[rest]]+p == k.best[x]
	})
	if at < 0 {
		return none
	}
	b := k.bars[at]
	a, left := c.divide(*n, b.l*k.stepX, false)
	place, _ := slices.BinarySearch(k.xs, b.l)
	k.put(c, a, b.want, place, 0)
	*n = left
	return int(k.places[k.xs[x]-b.l])
}

// put lays a want into slot n, the way round that x and y tell.
func (k *knapsack) put(c *sheet, n, w int32, x, y int) {
	of := k.wants[w].size
	turned := k.wants[w].turn
	if turned {
		i, _ := slices.BinarySearch(k.xs, of.l/k.stepX)
		j, _ := slices.BinarySearch(k.ys, of.w/k.stepY)
		turned = i != x || j != y
	}
	if turned {
		of = of.turned()
	}
	if !k.exact() { // only counted
		of = c.slots[n].size
	}
	c.place(n, w, of, true)
}
