package cutting_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// one is stock of one size that costs 1.
func one(length, width unit.Length) []cutting.Stock {
	return []cutting.Stock{{Length: length, Width: width, Cost: 1}}
}

// rolls is a job of widths, each with its quantity, cut from rolls: rectangles as
// wide as their stock.
func rolls(roll unit.Length, widths ...[2]int) cutting.Job {
	j := cutting.Job{Stock: one(roll, 1)}
	for _, w := range widths {
		j.Parts = append(j.Parts, cutting.Part{Length: unit.Length(w[0]), Width: 1, Quantity: w[1]})
	}
	return j
}

// squares is a job of squares.
func squares(stock []cutting.Stock, sides ...unit.Length) cutting.Job {
	j := cutting.Job{Stock: stock}
	for _, side := range sides {
		j.Parts = append(j.Parts, cutting.Part{Length: side, Width: side, Quantity: 1})
	}
	return j
}

// bricks is a job of n bricks of 1 by 4 that may turn.
func bricks(stock []cutting.Stock, n int) cutting.Job {
	return cutting.Job{Stock: stock, Parts: []cutting.Part{{Length: 4, Width: 1, Quantity: n, Turn: true}}}
}

// A published case is a job and the least number of pieces of stock, which somebody
// else has proved.
type published struct {
	name  string
	job   cutting.Job
	least int64
}

func publishedCases() []published {
	return []published{
		// Chvatal, Linear Programming (1983), chapter 13, from memory: 453. Proof that 452
		// are too few: count a final of 45 or 36 as 1/2, of 31 as 1/4 and of 14 as nothing;
		// no roll of 100 holds more than 1, and all finals count 452.25. By area 416.
		{"Chvatal's rolls of 100", rolls(100, [2]int{45, 97}, [2]int{36, 610}, [2]int{31, 395}, [2]int{14, 211}), 453},
		// The master rolls of 5600 of the encyclopaedia article "Cutting stock problem",
		// from memory: 73, of which 0.401 % is waste, as 1 - 407160/(73 x 5600) is.
		{"rolls of 5600", rolls(5600,
			[2]int{1380, 22}, [2]int{1520, 25}, [2]int{1560, 12}, [2]int{1710, 14}, [2]int{1820, 18}, [2]int{1880, 18}, [2]int{1930, 20},
			[2]int{2000, 10}, [2]int{2050, 12}, [2]int{2100, 14}, [2]int{2140, 16}, [2]int{2150, 18}, [2]int{2200, 20},
		), 73},
		// Christofides and Whitlock, Operations Research 25 (1977) 30-44, problem 2, read in
		// packingsolver data/rectangle/christofides1977/cgcut2.txt: the parts have the area
		// of 1.2 sheets, and two were found.
		{"Christofides and Whitlock 2", cutting.Job{Stock: one(40, 70), Parts: []cutting.Part{
			{Length: 21, Width: 22, Quantity: 1}, {Length: 31, Width: 13, Quantity: 1}, {Length: 9, Width: 35, Quantity: 3},
			{Length: 9, Width: 24, Quantity: 3}, {Length: 30, Width: 7, Quantity: 2}, {Length: 11, Width: 13, Quantity: 3},
			{Length: 10, Width: 14, Quantity: 1}, {Length: 14, Width: 8, Quantity: 3}, {Length: 12, Width: 8, Quantity: 3},
			{Length: 13, Width: 7, Quantity: 3},
		}}, 2},
		// De Bruijn, Filling boxes with bricks (1969), from memory: bricks of 1 by n fill a
		// box only when n divides a side. Nine of 1 by 4 have the area of 6 by 6 and do not
		// fill it; eight go in, by six upright and two across. So with 10 by 10.
		{"eight bricks in 6 by 6", bricks(one(6, 6), 8), 1},
		{"nine bricks in 6 by 6", bricks(one(6, 6), 9), 2},
		{"24 bricks in 10 by 10", bricks(one(10, 10), 24), 1},
		{"25 bricks in 10 by 10", bricks(one(10, 10), 25), 2},
		// Moron (1925), from memory: these nine unequal squares fill 33 by 32, and none does
		// with fewer than nine (Reichert and Toepken 1940). A cut right across would leave
		// rectangles filled by fewer, so that no saw cuts it from one sheet.
		{"Moron's squared rectangle", squares(one(33, 32), 18, 15, 14, 10, 9, 8, 7, 4, 1), 2},
		// The pinwheel, the smallest pattern that no cut goes right across (common practice,
		// no source): it fills 5 by 5.
		{"pinwheel", cutting.Job{Stock: one(5, 5), Parts: []cutting.Part{
			{Length: 3, Width: 2, Quantity: 2}, {Length: 2, Width: 3, Quantity: 2}, {Length: 1, Width: 1, Quantity: 1},
		}}, 2},
		// A sheet of 96 by 48 in gives 32 squares of a foot on paper and 21 by a blade of
		// 1/8 in: seven of 12 1/8 in are 84 7/8 in long, eight are 1 in over (common
		// practice, no source).
		{"a foot by a blade of 1/8 in", cutting.Job{
			Kerf: unit.Inch / 8, Stock: one(96*unit.Inch, 48*unit.Inch),
			Parts: []cutting.Part{{Length: 12 * unit.Inch, Width: 12 * unit.Inch, Quantity: 22, Turn: true}},
		}, 2},
		{"a foot by no blade", cutting.Job{
			Stock: one(96*unit.Inch, 48*unit.Inch),
			Parts: []cutting.Part{{Length: 12 * unit.Inch, Width: 12 * unit.Inch, Quantity: 32, Turn: true}},
		}, 1},
	}
}

// What is proved elsewhere lies between the bound and the plan, and the thorough
// plan reaches it.
func TestPublishedOptima(t *testing.T) {
	for _, c := range publishedCases() {
		t.Run(c.name, func(t *testing.T) {
			for _, e := range []cutting.Effort{cutting.Quick, cutting.Thorough} {
				p, ok := planned(t, &c.job, e)
				require.True(t, ok)
				assert.LessOrEqual(t, p.Bound, c.least, "effort %d", e)
				assert.GreaterOrEqual(t, p.Cost, c.least, "effort %d", e)
				assert.True(t, e == cutting.Quick || p.Cost == c.least, "%d of %d", p.Cost, c.least)
				t.Logf("effort %d: %d, bound %d; proved elsewhere %d", e, p.Cost, p.Bound, c.least)
			}
		})
	}
}

// The exhaustive search of these tests, held against the pinwheel: no sheet of its
// area does, and one a step longer does, two arms beside each other on the other two.
func TestEveryWayOfCuttingThePinwheel(t *testing.T) {
	cases := publishedCases()
	j := &cases[slices.IndexFunc(cases, func(c published) bool { return c.name == "pinwheel" })].job
	assert.Equal(t, int64(1), areaBound(j))
	assert.Equal(t, &worth{2, 2}, optimum(j, 1))
	j.Stock[0].Length++
	assert.Equal(t, &worth{1, 1}, optimum(j, 1))
}
