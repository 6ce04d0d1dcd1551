package pricing_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// Hours that a maker believes: common practice, no source.
func TestHoursAreBelievable(t *testing.T) {
	b := starter(t)
	tall := read(t, demo(t, "tall-chest")).Pieces[0]
	boxes := read(t, demo(t, "drawer-boxes")).Pieces[0]
	boxes.Timbers["inner"] = "tulipwood-select"
	boxes.Finishes["inside"] = "shellac-2"
	for _, c := range []struct {
		name      string
		piece     piece.Piece
		dovetails string
		low, high int
	}{
		{"a tall chest of six drawers", tall, "hand", 78, 120},
		{"a tall chest of six drawers", tall, "machine", 62, 95},
		{"24 mixed drawer boxes, two coats inside", boxes, "machine", 48, 76},
		{"24 mixed drawer boxes, two coats inside", boxes, "hand", 86, 130},
	} {
		c.piece.Dovetails = c.dovetails
		got := one(t, c.piece, b)
		t.Logf("%s by %s: %s h", c.name, c.dovetails, got.Hours)
		require.GreaterOrEqual(t, got.Hours, num.Whole(c.low), "%s by %s", c.name, c.dovetails)
		require.LessOrEqual(t, got.Hours, num.Whole(c.high), "%s by %s", c.name, c.dovetails)
	}
}

// Every stage takes some of a tall chest's hours, none more than a third.
func TestNoStageSwallowsTheChest(t *testing.T) {
	got := one(t, read(t, demo(t, "tall-chest")).Pieces[0], starter(t))
	for _, l := range got.Labour {
		require.Less(t, 3*l.Quantity, got.Hours, l.Code)
	}
	require.GreaterOrEqual(t, len(got.Labour), 13)
}

// box is one drawer box whose areas and lengths come out even, in a timber without
// a factor, so that minutes are exact.
func box(quantity int) piece.Piece {
	return piece.Piece{
		Title: "Drawer boxes", Kind: "drawer_boxes", Dovetails: "machine",
		Timbers: map[string]string{"inner": "sycamore-prime"}, Sheets: map[string]string{"bottom": "birch-ply-6"},
		Glue: "pva", Finishes: map[string]string{"inside": "bare"},
		DrawerBoxes: &piece.DrawerBoxes{
			Boxes:       []piece.BoxSize{{Width: num.Whole(500), Height: num.Whole(140), Depth: num.Whole(410), Quantity: num.Count(quantity)}},
			DrawerStyle: piece.DrawerStyle{Box: mm(10), Flush: mm(0), BottomGap: mm(0)},
		},
	}
}

// minutes adds up what the terms of all labour need, and what of it stands once on
// a line however many boxes: set-ups, and counts of the line itself.
func minutes(p *pricing.PricedPiece) (all, once num.Decimal) {
	ofTheLine := map[string]bool{"piece": true, "part_line": true, "box_size": true, "finish_pass": true}
	for _, l := range p.Labour {
		for _, k := range l.Terms {
			all += k.Needed
			if ofTheLine[k.Measure] {
				once += k.Needed
			} else {
				once += k.Setup
			}
		}
	}
	return all, once
}

func TestALineSharesItsSetUp(t *testing.T) {
	const n = 24
	b := starter(t)
	alone, batch := one(t, box(1), b), one(t, box(n), b)
	first, shared := minutes(&alone)
	all, stillOnce := minutes(&batch)
	t.Logf("a box alone %s h, of %d on a line %s h each; shared %s min", alone.Hours, n, num.Product(2, n*num.One, num.One, batch.Hours), shared)
	require.Equal(t, shared, stillOnce, "what stands once on the line does not grow")
	require.Equal(t, (n-1)*shared, n*first-all, "24 boxes on lines of their own take 23 set-ups more")
	require.Greater(t, 4*shared, first, "alone, set-up is over a quarter")
	require.Less(t, num.Product(2, n*num.One, num.One, batch.Hours), alone.Hours*3/4)

	two := one(t, box(2), b)
	twoMinutes, _ := minutes(&two)
	require.Equal(t, shared, 2*first-twoMinutes, "a pair shares one set-up")
}
