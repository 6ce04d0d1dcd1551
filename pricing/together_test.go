package pricing_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// pointers returns where the faults are.
func pointers(t *testing.T, r pricing.Request, b *book.Book) []string {
	t.Helper()
	var at []string
	for _, f := range refused(t, r, b) {
		at = append(at, f.Pointer)
	}
	return at
}

func TestFaultsThatHaveNothingToDoWithEachOtherComeTogether(t *testing.T) {
	unpriced := changed(t, starter(t), func(d *book.Data) {
		find(d.Ironmongery, func(f *book.Fitting) bool { return f.Code == "knob-35" }).Price = nil
	})
	p := read(t, demo(t, "tall-chest")).Pieces[0]
	p.Title = " "
	assert.Equal(t, []string{"#/pieces/0/title", "#/pieces/0/ironmongery/0/code"}, pointers(t, request1(p), unpriced),
		"a missing price is found whatever else is wrong")

	p = chest(t)
	p.Chest.Rows = []piece.Row{{Height: mm(50)}, {Height: mm(100)}}
	assert.Equal(t, []string{"#/pieces/0/chest/rows", "#/pieces/0/chest/rows/0/height"}, pointers(t, request1(p), starter(t)))
	p.Chest.Width, p.Chest.Rows[0].Height = 0, mm(90)
	assert.Equal(t, []string{"#/pieces/0/chest/width", "#/pieces/0/chest/rows"}, pointers(t, request1(p), starter(t)))

	before := changed(t, starter(t), func(d *book.Data) {
		for i := range d.Timbers {
			for k := range d.Timbers[i].Thicknesses {
				d.Timbers[i].Thicknesses[k].Price = nil
			}
		}
	})
	assert.Equal(t, []string{"#/pieces/0/timbers/inner", "#/pieces/0/timbers/show"}, slices.Compact(pointers(t, request1(chest(t)), before)))
}

func TestCountsTooLargeAreErrors(t *testing.T) {
	p := piece.Piece{Title: "Tails", Kind: "parts", Quantity: 10_000, Timbers: map[string]string{"show": "ash-prime"}}
	p.Parts = &piece.PartList{Parts: []piece.FreePart{{Name: "Lath", Length: num.Whole(100), Width: num.Whole(10), Thickness: mm(10), Material: "show"}}}
	for range 190 {
		p.Parts.Joints = append(p.Parts.Joints, piece.FreeJoint{Type: piece.ThroughDovetail, Quantity: 10_000, Tails: 1000, Height: mm(1), TailBoard: mm(1), PinBoard: mm(1)})
	}
	_, err := pricing.Cost(request1(p), starter(t))
	assert.ErrorAs(t, err, new(num.Overflow))
}

func TestNullInAMapCountsAsAbsent(t *testing.T) {
	const plain = `{"pieces": [{"title": "Box", "kind": "drawer_boxes", "timbers": {"inner": "tulipwood-select"}, "sheets": {"bottom": "birch-ply-6"},
		"drawer_boxes": {"boxes": [{"width": 400, "height": 120, "depth": 400}]}}]}`
	const nulls = `{"pieces": [{"title": "Box", "kind": "drawer_boxes", "timbers": {"inner": "tulipwood-select", "show": null}, "sheets": {"bottom": "birch-ply-6", "back": null},
		"finishes": {"inside": null}, "waste_percent": {"inner": null},
		"drawer_boxes": {"boxes": [{"width": 400, "height": 120, "depth": 400}]}}]}`
	var a, b pricing.Request
	require.NoError(t, wire.Decode([]byte(plain), &a))
	require.NoError(t, wire.Decode([]byte(nulls), &b))
	assert.Equal(t, encoded(t, priced(t, a, starter(t))), encoded(t, priced(t, b, starter(t))))
	assert.Nil(t, b.Pieces[0].Waste)
}

func TestARuleWithoutPerIsPerOne(t *testing.T) {
	left := changed(t, starter(t), func(d *book.Data) {
		for i := range d.Rules {
			if d.Rules[i].Per == num.One {
				d.Rules[i].Per = 0
			}
		}
	})
	assert.Equal(t, encoded(t, starter(t).Data()), encoded(t, left.Data()))
}

func TestACautionSaysEachThingOnce(t *testing.T) {
	p := piece.Piece{Title: "Boxes", Kind: "drawer_boxes", Timbers: map[string]string{"inner": "oak-prime"}, Sheets: map[string]string{"bottom": "birch-ply-6"}}
	p.DrawerBoxes = &piece.DrawerBoxes{}
	for range 3 {
		p.DrawerBoxes.Boxes = append(p.DrawerBoxes.Boxes, piece.BoxSize{Width: num.Whole(1500), Height: num.Whole(500), Depth: num.Whole(900)})
	}
	p.DrawerBoxes.Box = mm(27)
	got := one(t, p, starter(t))
	sag, lift := check(t, got, "bottom_sag"), check(t, got, "two_people")
	assert.Equal(t, 1, strings.Count(sag.Message, "Drawer bottom"), sag.Message)
	assert.Equal(t, 1, strings.Count(lift.Message, "a drawer 1500 mm wide"), lift.Message)
	assert.Equal(t, 3, lift.People)
	assert.Contains(t, lift.Message, "(three people)")
}

func TestAPriceWithoutADateIsRefused(t *testing.T) {
	d := *starter(t).Data()
	d.Ironmongery = append([]book.Fitting(nil), d.Ironmongery...)
	d.Ironmongery[0].Price = &book.Price{Rate: 1_0000, Unit: "each", From: date.Date{}}
	_, err := book.New(d)
	assert.ErrorContains(t, err, "#/ironmongery/0/price/from")
}
