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
	"reckoner/pricing/fault"
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

// A discount above what the included pieces come to is the fault of who says it: the
// request's own member, or its pieces where the Book says it.
func TestADiscountAboveThePieces(t *testing.T) {
	visit := func(price num.Rate) piece.Piece {
		return piece.Piece{Title: "Visit", Kind: "service", Service: &piece.Service{}, AgreedPrice: new(price)}
	}
	extra := visit(500_0000)
	extra.Optional = true
	r := pricing.Request{Pieces: []piece.Piece{visit(60_0000), extra, visit(30_0000)}, Terms: &book.TermsChange{DiscountAmount: new(num.Rate(90_0000))}}
	b := starter(t)
	require.Equal(t, "0.00", priced(t, r, b).Totals.Gross.String(), "all of it is no more than it")

	r.Terms.DiscountAmount = new(num.Rate(90_0100))
	faults := refused(t, r, b)
	require.Equal(t, fault.List{{Pointer: "#/terms/discount_amount", Detail: "the discount of 90.01 is more than the pieces come to, 90.00: write less"}}, faults)
	r.Pieces[0].Title = ""
	require.Equal(t, []string{"#/pieces/0/title"}, pointers(t, r, b), "what is wrong has no price")
	r.Pieces[0].Title = "Visit"

	generous := changed(t, b, func(d *book.Data) { d.Terms.DiscountAmount = 90_0100 })
	r.Terms = nil
	require.Equal(t, []string{"#/pieces"}, pointers(t, r, generous))
	r.Terms = &book.TermsChange{Deposit: new(num.Percent(0))}
	require.Equal(t, []string{"#/pieces"}, pointers(t, r, generous))
	r.Terms.Discount = new(num.Percent(1_00))
	require.Equal(t, "0.90", priced(t, r, generous).Totals.Discount.String(), "a discount of the request supersedes that of the Book")

	yen := changed(t, b, func(d *book.Data) { coinage(t, d, "JPY") })
	r.Terms = &book.TermsChange{DiscountAmount: new(num.Rate(50_5000))}
	require.Equal(t, []string{"#/terms/discount_amount"}, pointers(t, r, yen), "half a yen")
	r.Terms.DiscountAmount = new(num.Rate(50_0000))
	require.Equal(t, "50", priced(t, r, yen).Totals.Discount.String())
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
