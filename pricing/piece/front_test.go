package piece_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// seen prints the front of p: "drawer 401 x 128 at 37.5, 1025".
func seen(t *testing.T, p *piece.Piece) []string {
	t.Helper()
	rects, ok := p.Front()
	require.True(t, ok)
	texts := make([]string, len(rects))
	for i, r := range rects {
		texts[i] = fmt.Sprintf("%s %s at %s, %s", r.Shows, sizes(r.Width, r.Height), r.X.Millimetres(), r.Y.Millimetres())
	}
	return texts
}

// A tall chest worked by hand: 900 - 2 x 15 - 2 x 22 = 826 inside; the openings
// have 1200 - 25 - 80 - 6 x 20 = 975, of which the last takes 975 - 700 = 275.
func TestFrontOfLappedDrawers(t *testing.T) {
	p := read(t, "chest", `{"width": 900, "depth": 480, "height": 1200,
		"rows": [{"height": 130, "across": 2}, {"height": 160}, {"height": 190}, {"height": 220}, {}]}`)
	assert.Equal(t, []string{
		"overall 900 x 1200 at 0, 0",
		"top 900 x 25 at 0, 1175",
		"side 22 x 1175 at 15, 0",
		"side 22 x 1175 at 863, 0", // 900 - 15 - 22
		"rail 826 x 20 at 37, 1155",
		"opening 402 x 130 at 37, 1025", // (826 - 22) / 2
		"drawer 401 x 128 at 37.5, 1025",
		"upright 22 x 130 at 439, 1025",
		"opening 402 x 130 at 461, 1025",
		"drawer 401 x 128 at 461.5, 1025",
		"rail 826 x 20 at 37, 1005",
		"opening 826 x 160 at 37, 845",
		"drawer 825 x 158 at 37.5, 845",
		"rail 826 x 20 at 37, 825",
		"opening 826 x 190 at 37, 635",
		"drawer 825 x 188 at 37.5, 635",
		"rail 826 x 20 at 37, 615",
		"opening 826 x 220 at 37, 395",
		"drawer 825 x 218 at 37.5, 395",
		"rail 826 x 20 at 37, 375",
		"opening 826 x 275 at 37, 100",
		"drawer 825 x 273 at 37.5, 100",
		"rail 826 x 20 at 37, 80",
		"plinth 826 x 80 at 37, 0",
	}, seen(t, p))
}

// The small chest, 826 wide inside, with applied fronts, which have 1.5 mm all
// round, and what settings change.
func TestFrontSettings(t *testing.T) {
	for _, tt := range []struct {
		members string
		want    []string // from the opening on
	}{
		{`"drawers": {"construction": "applied"}`, []string{
			"opening 826 x 150 at 37, 100", "drawer 823 x 147 at 38.5, 101.5", "rail 826 x 20 at 37, 80", "plinth 826 x 80 at 37, 0",
		}},
		{`"drawers": {"construction": "applied", "front_gap": 3}`, []string{
			"opening 826 x 150 at 37, 100", "drawer 820 x 144 at 40, 103", "rail 826 x 20 at 37, 80", "plinth 826 x 80 at 37, 0",
		}},
		{`"drawers": {"side_clearance": 1, "height_gap": 3}`, []string{
			"opening 826 x 150 at 37, 100", "drawer 824 x 147 at 38, 100", "rail 826 x 20 at 37, 80", "plinth 826 x 80 at 37, 0",
		}},
		{`"height": 215, "plinth": 0`, []string{ // without a plinth
			"opening 826 x 150 at 37, 20", "drawer 825 x 148 at 37.5, 20", "rail 826 x 20 at 37, 0",
		}},
		{`"side_overhang": 0, "side": 30, "rail": 25, "height": 305`, []string{ // 900 - 60
			"opening 840 x 150 at 30, 105", "drawer 839 x 148 at 30.5, 105", "rail 840 x 25 at 30, 80", "plinth 840 x 80 at 30, 0",
		}},
	} {
		assert.Equal(t, tt.want, seen(t, chestWith(t, tt.members))[5:], tt.members)
	}
}

// In inches: 1 top, 13/16 sides and rails, 5/8 overhang, 3 1/8 plinth, 1/32 of
// clearance at each side and 1/16 above: a front of 33 1/8 - 1/16 x 6 - 1/16.
func TestFrontInInches(t *testing.T) {
	p := read(t, "chest", `{"width": 36, "depth": 19.5, "height": 11.75, "rows": [{"height": 6}]}`)
	p.Units = unit.InInches
	rects, ok := p.Front()
	require.True(t, ok)
	var drawer piece.Rect
	for _, r := range rects {
		if r.Shows == piece.SeenDrawer {
			drawer = r
		}
	}
	in := func(n, d unit.Length) unit.Length { return n * unit.Inch / d }
	assert.Equal(t, piece.Rect{X: in(23, 16) + in(1, 32), Y: in(25, 8) + in(13, 16), Width: in(265, 8) - in(1, 16), Height: in(95, 16), Shows: "drawer"}, drawer)
}

// What stands beside what in the front of any chest: all within the overall size,
// nothing over anything but drawers in their openings, and nothing left over but
// the play of shares cut down to a nanometre.
func TestFrontTiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyChest(t)
		d.build(t)
		rects, ok := d.Front()
		if !ok || rects[0] != (piece.Rect{Width: d.width, Height: d.height, Shows: piece.SeenOverall}) {
			t.Fatalf("%t, %v", ok, rects)
		}
		count, area := make(map[string]int), num.Wide{}
		for i, r := range rects[1:] {
			count[r.Shows]++
			if r.X < 0 || r.Y < 0 || r.Width <= 0 || r.Height <= 0 || r.X+r.Width > d.width || r.Y+r.Height > d.height {
				t.Fatalf("%v is not within %v", r, rects[0])
			}
			if before := rects[i]; r.Shows == piece.SeenDrawer {
				if before.Shows != piece.SeenOpening || r.X < before.X || r.Y < before.Y || r.X+r.Width > before.X+before.Width || r.Y+r.Height > before.Y+before.Height {
					t.Fatalf("%v is not within its opening %v", r, before)
				}
				continue
			}
			area = area.Plus(num.Mul(int64(r.Width), int64(r.Height)))
			for _, s := range rects[1 : i+1] {
				if s.Shows != piece.SeenDrawer && r.X < s.X+s.Width && s.X < r.X+r.Width && r.Y < s.Y+s.Height && s.Y < r.Y+r.Height {
					t.Fatalf("%v lies over %v", r, s)
				}
			}
		}
		drawers, uprights := 0, 0
		for _, n := range d.across {
			drawers, uprights = drawers+n, uprights+n-1
		}
		want := map[string]int{"top": 1, "side": 2, "rail": len(d.across) + 1, "opening": drawers, "drawer": drawers, "plinth": 1}
		if uprights > 0 {
			want["upright"] = uprights
		}
		if fmt.Sprint(want) != fmt.Sprint(count) {
			t.Fatalf("%v, want %v", count, want)
		}
		all := num.Mul(int64(d.width), int64(d.top)).Plus(num.Mul(int64(d.width-2*d.overhang), int64(d.height-d.top)))
		if left := all.Over(1e6) - area.Over(1e6); left < 0 || left > int64(d.width+d.height)*10/1e6+1 { // 10 nm along each way
			t.Fatalf("%d of 1e6 nm2 are covered by nothing", left)
		}
	})
}

func TestNoFront(t *testing.T) {
	for what, p := range map[string]*piece.Piece{
		"boxes":                   boxesWith(t, ""),
		"parts":                   read(t, "parts", `{"parts": [{"name": "Shelf", "length": 800, "width": 200, "thickness": 20, "material": "show"}]}`),
		"service":                 read(t, "service", `{"site": 2}`),
		"no kind":                 {},
		"a kind not there":        {Kind: "chest"},
		"rows that do not fit":    chestWith(t, `"rows": [{"height": 151}]`),
		"an overhang too wide":    chestWith(t, `"side_overhang": 500`),
		"a setting out of range":  chestWith(t, `"rail_width": -1`),
		"a chest of another kind": {Kind: "service", Chest: chestWith(t, "").Chest},
	} {
		_, ok := p.Front()
		assert.False(t, ok, what)
	}
}
