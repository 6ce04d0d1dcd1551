package cutting_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// Jobs whose answer is argued by hand: so many sheets do, and no fewer can.
var plain = []struct {
	name       string
	kerf, trim unit.Length
	turn       bool
	parts      [][3]int // length, width, quantity
	sheets     int64
	why        string
}{
	{"twelve in a grid", 0, 10 * mm, true, [][3]int{{600, 400, 12}}, 1, "4 x 600 in 2420, 3 x 400 in 1200"},
	{"twelve with a kerf", 3_200_000, 5 * mm, true, [][3]int{{600, 400, 12}}, 1, "4 x 603.2 in 2433.2, 3 x 403.2 in 1213.2"},
	{"ten, six of them turned", 3_200_000, 10 * mm, true, [][3]int{{600, 400, 10}}, 1, "6 x 403.2 in 2423.2 and 4 x 603.2, 600 + 3.2 + 400 in 1200"},
	{"nine with the grain", 3_200_000, 10 * mm, false, [][3]int{{600, 400, 9}}, 2, "a sheet holds 4 x 2: three widths and two kerfs are 1206.4, over 1200"},
	{"seventeen with the grain", 3_200_000, 10 * mm, false, [][3]int{{600, 400, 17}}, 3, "8 on a sheet"},
	{"large ones, one on a sheet", 3_200_000, 10 * mm, true, [][3]int{{2000, 1100, 7}}, 7, "no two lie on one sheet"},
	{
		"the back and bottoms of a tall chest", 3_200_000, 10 * mm, true, [][3]int{{1095, 842, 1}, {426, 386, 2}, {810, 426, 4}}, 2,
		"whichever way the back lies, beside it find three of the four 810 x 426 room, and above it is a strip of 354 or 102",
	},
}

func TestWhatIsPlainIsFound(t *testing.T) {
	for _, c := range plain {
		t.Run(c.name, func(t *testing.T) {
			j := cutting.Job{Kerf: c.kerf, Trim: cutting.Trim{Left: c.trim, Right: c.trim, Bottom: c.trim, Top: c.trim}, OffcutMin: 300 * mm}
			j.Stock = []cutting.Stock{{Length: 2440 * mm, Width: 1220 * mm, Cost: 1}}
			for _, p := range c.parts {
				j.Parts = append(j.Parts, cutting.Part{Length: unit.Length(p[0]) * mm, Width: unit.Length(p[1]) * mm, Quantity: p[2], Turn: c.turn})
			}
			for _, e := range []cutting.Effort{cutting.Quick, cutting.Thorough} {
				p, err := j.Plan(e)
				require.NoError(t, err)
				feasible(t, &j, &p)
				assert.Equal(t, []int64{c.sheets, c.sheets}, []int64{p.Cost, p.Bound}, c.why)
			}
		})
	}
}
