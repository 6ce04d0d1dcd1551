package piece_test

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// between draws a size of that many thousandths of a millimetre.
func between(t *rapid.T, name string, low, high int) *num.Decimal {
	return decimal(rapid.IntRange(low, high).Draw(t, name))
}

// A drawn chest is one that can be built, and the openings of its rows.
type drawn struct {
	*piece.Piece
	across        []int
	heights       []unit.Length // as typed; 0: a share of the rest
	top, side     unit.Length
	rail, plinth  unit.Length
	overhang      unit.Length
	width, height unit.Length
}

// anyChest draws a chest of one to six rows, at least one without a height, with
// cases and drawers of either construction.
func anyChest(t *rapid.T) drawn {
	top, side, rail := between(t, "top", 15_000, 40_000), between(t, "side", 20_000, 40_000), between(t, "rail", 20_000, 40_000)
	plinth, overhang := between(t, "plinth", 20_001, 150_000), between(t, "overhang", 0, 40_000)
	c := &piece.Chest{
		Width: *between(t, "width", 900_000, 2_500_000), Depth: *between(t, "depth", 350_000, 700_000),
		Top: top, Side: side, Rail: rail, Plinth: plinth, SideOverhang: overhang,
		BackRails: rapid.SampledFrom([]string{"", "needed", "all"}).Draw(t, "back rails"),
		Drawers: piece.DrawerStyle{
			Construction: rapid.SampledFrom([]string{"", piece.Lapped, piece.Applied}).Draw(t, "construction"),
			Bottom:       rapid.SampledFrom([]string{"", "sheet", "solid"}).Draw(t, "bottom"),
			BottomFit:    rapid.SampledFrom([]string{"", "captured", "slid_in"}).Draw(t, "bottom fit"),
		},
	}
	d := drawn{
		Piece: &piece.Piece{Kind: "chest", Chest: c}, width: unit.Length(c.Width), overhang: unit.Length(*overhang),
		top: unit.Length(*top), side: unit.Length(*side), rail: unit.Length(*rail), plinth: unit.Length(*plinth),
	}
	rows := rapid.IntRange(1, 6).Draw(t, "rows")
	free := rapid.IntRange(0, rows-1).Draw(t, "row without a height")
	total := d.top + d.plinth + unit.Length(rows+1)*d.rail
	for i := range rows {
		row := piece.Row{Across: num.Count(rapid.IntRange(1, 5).Draw(t, "across"))}
		share := i == free || rapid.Bool().Draw(t, "shares the rest")
		if !share {
			row.Height = between(t, "row height", 70_000, 300_000)
			d.heights = append(d.heights, unit.Length(*row.Height))
		} else {
			d.heights = append(d.heights, 0)
		}
		total += d.heights[i]
		d.across = append(d.across, int(row.Across))
		c.Rows = append(c.Rows, row)
	}
	rest := rapid.IntRange(70_000*rows, 300_000*rows).Draw(t, "rest")
	c.Height = num.Decimal(total) + *decimal(rest)
	d.height = unit.Length(c.Height)
	return d
}

// build builds a drawn chest, which has no fault.
func (d drawn) build(t *rapid.T) piece.Build {
	b, faults := d.Build(stocks)
	if len(faults) > 0 {
		text, _ := json.Marshal(d.Piece)
		t.Fatalf("%s\n%v", text, faults)
	}
	return b
}

// Openings and rails are the height of the case, and openings and uprights its
// inside width, but for less than a nanometre for each that shares; shares are
// alike, and heights typed are kept.
func TestOpeningsTile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyChest(t)
		b := d.build(t)
		gap := 2 * mm
		if d.Chest.Drawers.Construction == piece.Applied {
			gap = 4 * mm
		}
		inside := d.width - 2*d.overhang - 2*d.side
		filled, sharing, shared := d.top+d.plinth+unit.Length(len(d.across)+1)*d.rail, 0, unit.Length(0)
		for i, box := range b.Boxes {
			n := d.across[i]
			if box.Quantity != n || !box.Fitted {
				t.Fatalf("row %d: %d of %d boxes", i, box.Quantity, n)
			}
			if play := inside - unit.Length(n)*box.Opening - unit.Length(n-1)*d.side; play < 0 || play >= unit.Length(n) {
				t.Fatalf("row %d: %d nm of play beside %d openings", i, play, n)
			}
			opening := box.Height + gap
			filled += opening
			switch h := d.heights[i]; {
			case h == 0 && sharing > 0 && opening != shared:
				t.Fatalf("row %d has a share of %s, another %s", i, sizes(opening), sizes(shared))
			case h == 0:
				sharing, shared = sharing+1, opening
			case h != opening:
				t.Fatalf("row %d is %s high, not %s", i, sizes(opening), sizes(h))
			}
		}
		if play := d.height - filled; play < 0 || play >= unit.Length(sharing) {
			t.Fatalf("%d nm of play over %d rows that share", play, sharing)
		}
	})
}

// Every part has three sizes above zero and a quantity, and so has every joint the
// sizes of its type; boxes own their parts, in order, after those of the case.
func TestPartsArePositive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyChest(t).build(t)
		for _, p := range b.Parts {
			if min(p.Length, p.Width, p.Thickness) <= 0 || p.Quantity < 1 || p.At == "" {
				t.Fatalf("%+v", p)
			}
		}
		for _, j := range b.Joints {
			if j.Quantity < 1 || j.Glued() && j.GlueArea(j.Quantity, 8) <= 0 {
				t.Fatalf("%+v", j)
			}
		}
		at := b.Boxes[0].First
		for _, box := range b.Boxes {
			if box.First != at || box.Last <= at {
				t.Fatalf("parts %d to %d follow %d", box.First, box.Last, at)
			}
			at = box.Last
		}
		if at != len(b.Parts) {
			t.Fatalf("%d parts after the last box", len(b.Parts)-at)
		}
	})
}

// The joints of a chest follow from its parts: two ends a rail, two housings an
// upright, four corners a drawer, one runner joint for each runner and kicker.
func TestJointsFollowParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyChest(t)
		b := d.build(t)
		parts := map[string]int{}
		for _, p := range b.Parts {
			parts[p.Name] += p.Quantity
		}
		drawers := 0
		for _, n := range d.across {
			drawers += n
		}
		for _, law := range []struct {
			name       string
			have, want int
		}{
			{"ends", counted(b, piece.MortiseTenon), 2 * (parts["Front rail"] + parts["Back rail"] + parts["Plinth"])},
			{"housings", counted(b, piece.Housing), 2 * parts["Upright"]},
			{"corners", counted(b, piece.ThroughDovetail) + counted(b, piece.LappedDovetail), 4 * drawers},
			{"runners", counted(b, piece.Runner), parts["Side runner"] + parts["Centre runner"] + parts["Side kicker"] + parts["Centre kicker"]},
			{"uprights", parts["Upright"], drawers - len(d.across)},
			{"guides", parts["Drawer guide"], parts["Centre runner"]},
			{"stops", parts["Drawer stop"], 2 * drawers},
			{"bottoms", parts["Drawer bottom"], drawers},
			{"walls", parts["Tail board"] + parts["Pin board"] + parts["Drawer front"] + parts["Drawer back"], 4 * drawers},
		} {
			if law.have != law.want {
				t.Fatalf("%s: %d, not %d", law.name, law.have, law.want)
			}
		}
	})
}

// Building twice gives the same, and leaves the piece as it was.
func TestBuildIsPure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyChest(t)
		before, _ := json.Marshal(d.Piece)
		first, second := d.build(t), d.build(t)
		after, _ := json.Marshal(d.Piece)
		if !reflect.DeepEqual(first, second) || string(before) != string(after) {
			t.Fatal("a chest is built otherwise the second time")
		}
	})
}

// n boxes alike are n times the parts and joints of one.
func TestBoxQuantity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := piece.BoxSize{Width: *between(t, "width", 100_000, 1_200_000), Height: *between(t, "height", 60_000, 400_000), Depth: *between(t, "depth", 100_000, 800_000), Quantity: 1}
		style := piece.DrawerStyle{Construction: rapid.SampledFrom([]string{piece.Lapped, piece.Applied}).Draw(t, "construction"), BottomFit: rapid.SampledFrom([]string{"captured", "slid_in"}).Draw(t, "fit")}
		n := rapid.IntRange(1, 200).Draw(t, "quantity")
		many := size
		many.Quantity = num.Count(n)
		one, faults := (&piece.Piece{Kind: "drawer_boxes", DrawerBoxes: &piece.DrawerBoxes{Boxes: []piece.BoxSize{size}, DrawerStyle: style}}).Build(stocks)
		all, more := (&piece.Piece{Kind: "drawer_boxes", DrawerBoxes: &piece.DrawerBoxes{Boxes: []piece.BoxSize{many}, DrawerStyle: style}}).Build(stocks)
		if len(faults)+len(more) > 0 {
			t.Fatal(faults, more)
		}
		for i := range one.Parts {
			one.Parts[i].Quantity *= n
		}
		for i := range one.Joints {
			one.Joints[i].Quantity *= n
		}
		one.Boxes[0].Quantity *= n
		if !reflect.DeepEqual(one, all) {
			t.Fatalf("%d boxes:\n%+v\n%+v", n, one, all)
		}
	})
}

// Whatever is typed, Build makes parts with sizes above zero or says what is wrong
// where; it never panics.
func TestAnySettings(t *testing.T) {
	fields := func(v any) (list []reflect.Value) {
		s := reflect.ValueOf(v).Elem()
		for i := range s.NumField() {
			if s.Field(i).Type() == reflect.TypeFor[*num.Decimal]() {
				list = append(list, s.Field(i))
			}
		}
		return list
	}
	rapid.Check(t, func(t *rapid.T) {
		c := &piece.Chest{Width: *between(t, "width", -1, 3_000_000), Depth: *between(t, "depth", -1, 900_000), Height: *between(t, "height", -1, 2_500_000)}
		for range rapid.IntRange(0, 5).Draw(t, "rows") {
			c.Rows = append(c.Rows, piece.Row{Across: num.Count(rapid.IntRange(0, 42).Draw(t, "across"))})
		}
		for _, f := range append(fields(c), fields(&c.Drawers)...) {
			if rapid.IntRange(0, 9).Draw(t, "typed") == 0 {
				d := num.Decimal(rapid.Int64Range(-5_000_000, 9_000_000_000_000).Draw(t, "size"))
				if rapid.Bool().Draw(t, "small") {
					d %= 60 * num.One
				}
				f.Set(reflect.ValueOf(&d))
			}
		}
		p := piece.Piece{Kind: "chest", Chest: c, Units: rapid.SampledFrom([]unit.System{"", "mm", "in"}).Draw(t, "units")}
		b, faults := p.Build(stocks)
		for _, f := range faults {
			if !strings.HasPrefix(f.Pointer, "#/chest") || f.Detail == "" {
				t.Fatalf("%+v", f)
			}
		}
		for _, x := range b.Parts {
			if min(x.Length, x.Width, x.Thickness) <= 0 {
				t.Fatalf("%+v", x)
			}
		}
	})
}
