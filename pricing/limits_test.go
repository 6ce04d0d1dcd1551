package pricing_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// A limit is the last value taken and the first refused.
type limit struct {
	name      string
	set       func(r *pricing.Request, v num.Decimal)
	last, out string
	pointer   string // of the fault
}

// hold holds limits against a chest with a member of each.
func (l limit) hold(t *testing.T, from func() pricing.Request, b *book.Book) {
	t.Run(l.name, func(t *testing.T) {
		r := from()
		l.set(&r, number(t, l.last))
		if _, err := pricing.Cost(r, b); err != nil {
			faults, _ := err.(fault.List)
			for _, f := range faults { // too large to be made, but within its own range
				require.NotContains(t, f.Detail, "out of range", f.Pointer)
			}
		}
		r = from()
		l.set(&r, number(t, l.out))
		faults := refused(t, r, b)
		require.Equal(t, l.pointer, faults[0].Pointer, faults[0].Detail)
	})
}

// request0 makes requests of one piece.
func request0(p func(testing.TB) piece.Piece, t testing.TB) func() pricing.Request {
	return func() pricing.Request { return request1(p(t)) }
}

// Overall sizes and sizes of parts are 1 mm to 20 m, other settings 0 to 20 m.
func TestLimitsOfSizes(t *testing.T) {
	b := starter(t)
	first := func(r *pricing.Request) *piece.Piece { return &r.Pieces[0] }
	for _, l := range []limit{
		{"width", func(r *pricing.Request, v num.Decimal) { first(r).Chest.Width = v }, "20000", "20000.000001", "#/pieces/0/chest/width"},
		{"depth", func(r *pricing.Request, v num.Decimal) { first(r).Chest.Depth = v }, "1", "0.999999", "#/pieces/0/chest/depth"},
		{"height", func(r *pricing.Request, v num.Decimal) { first(r).Chest.Height = v }, "20000", "-1", "#/pieces/0/chest/height"},
		{"top", func(r *pricing.Request, v num.Decimal) { first(r).Chest.Top = &v }, "20000", "20000.1", "#/pieces/0/chest/top"},
		{"plinth", func(r *pricing.Request, v num.Decimal) { first(r).Chest.Plinth = &v }, "0", "-0.000001", "#/pieces/0/chest/plinth"},
		{"tape left loose", func(r *pricing.Request, v num.Decimal) { first(r).Chest.Drawers.LooseTail = &v }, "20000", "20001", "#/pieces/0/chest/drawers/loose_tail"},
		{"strips of tape", func(r *pricing.Request, v num.Decimal) { first(r).Chest.Drawers.Strips = new(int(v / num.One)) }, "100", "101", "#/pieces/0/chest/drawers/tape_strips"},
	} {
		l.hold(t, request0(chest, t), b)
	}
	free := func(testing.TB) piece.Piece {
		return parts(piece.FreePart{Name: "Lath", Length: num.Whole(100), Width: num.Whole(50), Thickness: mm(10), Material: "show"})
	}
	part := func(r *pricing.Request) *piece.FreePart { return &r.Pieces[0].Parts.Parts[0] }
	for _, l := range []limit{
		{"length of a part", func(r *pricing.Request, v num.Decimal) { part(r).Length = v }, "20000", "20001", "#/pieces/0/parts/parts/0/length"},
		{"width of a part", func(r *pricing.Request, v num.Decimal) { part(r).Width = v }, "1", "0.5", "#/pieces/0/parts/parts/0/width"},
		{"thickness of a part", func(r *pricing.Request, v num.Decimal) { part(r).Thickness = &v }, "1", "0.5", "#/pieces/0/parts/parts/0/thickness"},
		{"extra of a part", func(r *pricing.Request, v num.Decimal) { part(r).Extra = &v }, "0", "-1", "#/pieces/0/parts/parts/0/extra"},
		{"quantity of a part", func(r *pricing.Request, v num.Decimal) { part(r).Quantity = num.Count(v / num.One) }, "10000", "10001", "#/pieces/0/parts/parts/0/quantity"},
		{"glue-ups", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].Parts.GlueUps = int(v / num.One) }, "10000", "10001", "#/pieces/0/parts/glue_ups"},
	} {
		l.hold(t, request0(free, t), b)
	}
}

func TestLimitsOfCounts(t *testing.T) {
	b := starter(t)
	whole := func(v num.Decimal) int { return int(v / num.One) }
	service := func(testing.TB) piece.Piece {
		return piece.Piece{Title: "Visit", Kind: "service", Service: &piece.Service{}}
	}
	hours := func(r *pricing.Request, v num.Decimal) {
		r.Pieces[0].ExtraHours = []piece.ExtraHours{{Stage: "drawing", Hours: v}}
	}
	bought := func(set func(*piece.BoughtIn, num.Decimal)) func(*pricing.Request, num.Decimal) {
		return func(r *pricing.Request, v num.Decimal) {
			l := piece.BoughtIn{Description: "Glass", Quantity: num.One, Unit: "each", Rate: 1_0000}
			set(&l, v)
			r.Pieces[0].BoughtIn = []piece.BoughtIn{l}
		}
	}
	for _, l := range []limit{
		{"pieces", func(r *pricing.Request, v num.Decimal) {
			for len(r.Pieces) < whole(v) {
				r.Pieces = append(r.Pieces, service(t))
			}
		}, "100", "101", "#/pieces"},
		{"parts cut from sheets", func(r *pricing.Request, v num.Decimal) {
			lids := func(n int) piece.Piece { return panels("Lids", "birch-ply-6", panel("Lid", 300, 200, num.Count(n))) }
			r.Pieces = []piece.Piece{lids(7000), lids(7000), lids(whole(v) - 14000)}
		}, "20000", "20001", "#/pieces"},
		{"pieces planned thoroughly", func(r *pricing.Request, v num.Decimal) {
			r.Cutting = "thorough"
			for len(r.Pieces) < whole(v) {
				r.Pieces = append(r.Pieces, service(t))
			}
		}, "20", "21", "#/cutting"},
		{"quantity", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].Quantity = num.Count(whole(v)) }, "10000", "10001", "#/pieces/0/quantity"},
		{"kilometres", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].Service.Delivery = v }, "10000", "10000.1", "#/pieces/0/service/delivery"},
		{"calls", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].Service.Drops = whole(v) }, "0", "-1", "#/pieces/0/service/drops"},
		{"people", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].Service.People = whole(v) }, "10000", "10001", "#/pieces/0/service/people"},
		{"hours on site", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].Service.Site = v }, "0.000001", "-0.000001", "#/pieces/0/service/site"},
		{"extra hours", hours, "10000", "10000.01", "#/pieces/0/extra_hours/0/hours"},
		{"working factor", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].WorkingFactor = &v }, "0.5", "0.49", "#/pieces/0/working_factor"},
		{"working factor above", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].WorkingFactor = &v }, "3", "3.01", "#/pieces/0/working_factor"},
		{"working factor's decimals", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].WorkingFactor = &v }, "1.25", "1.255", "#/pieces/0/working_factor"},
		{"bought-in quantity", bought(func(l *piece.BoughtIn, v num.Decimal) { l.Quantity = v }), "10000", "10001", "#/pieces/0/bought_in/0/quantity"},
		{"bought-in decimals", bought(func(l *piece.BoughtIn, v num.Decimal) { l.Quantity = v }), "0.001", "0.0001", "#/pieces/0/bought_in/0/quantity"},
		{"none bought in", bought(func(l *piece.BoughtIn, v num.Decimal) { l.Quantity = v }), "0.001", "0", "#/pieces/0/bought_in/0/quantity"},
		{"bought-in rate", bought(func(l *piece.BoughtIn, v num.Decimal) { l.Rate = num.Rate(v / 100) }), "999999.9999", "1000000", "#/pieces/0/bought_in/0/rate"},
		{"bought-in unit", bought(func(l *piece.BoughtIn, v num.Decimal) { l.Unit = ""; l.Description = strings.Repeat("x", whole(v)) }), "200", "201", "#/pieces/0/bought_in/0/description"},
		{"ironmongery each", func(r *pricing.Request, v num.Decimal) {
			r.Pieces[0].Ironmongery = []piece.Fitted{{Code: "knob-35", Per: "piece", Each: v}}
		}, "10000", "10001", "#/pieces/0/ironmongery/0/each"},
		{"agreed price in whole coins", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].AgreedPrice = new(num.Rate(v / 100)) }, "0.01", "0.001", "#/pieces/0/agreed_price"},
		{"title", func(r *pricing.Request, v num.Decimal) { r.Pieces[0].Title = strings.Repeat("é", whole(v)) }, "200", "201", "#/pieces/0/title"},
		{"waste", func(r *pricing.Request, v num.Decimal) {
			r.Pieces[0].Waste = map[string]num.Percent{"show": num.Percent(v / 10_000)}
		}, "1000", "1000.01", "#/pieces/0/waste_percent/show"},
	} {
		l.hold(t, request0(service, t), b)
	}
}

func TestLimitsOfTerms(t *testing.T) {
	b := starter(t)
	percent := func(set func(*book.TermsChange, *num.Percent)) func(*pricing.Request, num.Decimal) {
		return func(r *pricing.Request, v num.Decimal) {
			r.Terms = &book.TermsChange{}
			set(r.Terms, new(num.Percent(v/10_000)))
		}
	}
	amount := func(r *pricing.Request, v num.Decimal) {
		r.Terms = &book.TermsChange{DiscountAmount: new(num.Rate(v / 100))}
	}
	staged := func(percents func(num.Percent) []num.Percent) func(*pricing.Request, num.Decimal) {
		return percent(func(c *book.TermsChange, p *num.Percent) {
			for _, of := range percents(*p) {
				c.Payments = append(c.Payments, book.Payment{Title: "Stage", Percent: of, Due: "in time"})
			}
		})
	}
	service := func(testing.TB) piece.Piece {
		return piece.Piece{Title: "Visit", Kind: "service", Service: &piece.Service{Drops: 1}}
	}
	for _, l := range []limit{
		{"margin", percent(func(c *book.TermsChange, p *num.Percent) { c.Profit = &book.Profit{Margin: p} }), "94.99", "95", "#/terms/profit/margin_percent"},
		{"margin of all", percent(func(c *book.TermsChange, p *num.Percent) { c.Profit = &book.Profit{Margin: p} }), "0", "100", "#/terms/profit/margin_percent"},
		{"mark-up", percent(func(c *book.TermsChange, p *num.Percent) { c.Profit = &book.Profit{Markup: p} }), "1000", "1000.01", "#/terms/profit/markup_percent"},
		{"margin and mark-up", percent(func(c *book.TermsChange, p *num.Percent) {
			if c.Profit = (&book.Profit{Margin: p}); *p != 0 {
				c.Profit.Markup = p
			}
		}), "0", "10", "#/terms/profit"},
		{"fees", percent(func(c *book.TermsChange, p *num.Percent) { c.Fees = p }), "49.99", "50", "#/terms/fees_percent"},
		{"fees of all", percent(func(c *book.TermsChange, p *num.Percent) { c.Fees = p }), "0", "100", "#/terms/fees_percent"},
		{"discount", percent(func(c *book.TermsChange, p *num.Percent) { c.Discount = p }), "100", "100.01", "#/terms/discount_percent"},
		{"amount of a discount", amount, "999999999.99", "1000000000", "#/terms/discount_amount"},
		{"discount below 0", amount, "0", "-0.01", "#/terms/discount_amount"},
		{"discount in whole coins", amount, "0.01", "0.001", "#/terms/discount_amount"},
		{"payment of nothing", staged(func(v num.Percent) []num.Percent { return []num.Percent{v, 100_00 - v} }), "0.01", "0", "#/terms/payments/0/percent"},
		{"one payment", staged(func(v num.Percent) []num.Percent { return []num.Percent{v} }), "100", "100.01", "#/terms/payments/0/percent"},
		{"payments that fall short", staged(func(v num.Percent) []num.Percent { return []num.Percent{60_00, v - 60_00} }), "100", "99.99", "#/terms/payments"},
		{"payments beyond the total", staged(func(v num.Percent) []num.Percent { return []num.Percent{60_00, v - 60_00} }), "100", "100.01", "#/terms/payments"},
		{"number of payments", staged(func(v num.Percent) []num.Percent { return slices.Repeat([]num.Percent{5_00}, int(v/100)) }), "20", "21", "#/terms/payments"},
		{"deposit", percent(func(c *book.TermsChange, p *num.Percent) { c.Deposit = p }), "100", "100.01", "#/terms/deposit_percent"},
		{"contingency", percent(func(c *book.TermsChange, p *num.Percent) { c.Contingency = p }), "1000", "1000.01", "#/terms/contingency_percent"},
		{"bought-in mark-up", percent(func(c *book.TermsChange, p *num.Percent) { c.BoughtInMarkup = p }), "1000", "1000.01", "#/terms/bought_in_markup_percent"},
		{"overhead", percent(func(c *book.TermsChange, p *num.Percent) { c.Overhead = &book.Overhead{Percent: p} }), "1000", "1000.01", "#/terms/overhead/percent"},
		{"no overhead", percent(func(c *book.TermsChange, p *num.Percent) {
			if c.Overhead = (&book.Overhead{}); *p == 0 {
				c.Overhead.Percent = p
			}
		}), "0", "1", "#/terms/overhead"},
		{"overhead twice", percent(func(c *book.TermsChange, p *num.Percent) {
			if c.Overhead = (&book.Overhead{Percent: p}); *p != 0 {
				c.Overhead.PerHour = new(num.Rate(1_0000))
			}
		}), "0", "1", "#/terms/overhead"},
		{"half a coin to round to", percent(func(c *book.TermsChange, p *num.Percent) { c.RoundTo = new(num.Rate(*p)) }), "1", "0.5", "#/terms/round_to"},
		{"valid days", percent(func(c *book.TermsChange, p *num.Percent) { c.ValidDays = new(int(*p / 100)) }), "3650", "3651", "#/terms/valid_days"},
		{"tax", percent(func(c *book.TermsChange, p *num.Percent) {
			c.Taxes = []book.Tax{{Code: "standard", Name: "VAT", Percent: *p}}
		}), "1000", "1000.01", "#/terms/taxes/0/percent"},
		{"a tax that is taken away", percent(func(c *book.TermsChange, p *num.Percent) {
			c.Taxes = []book.Tax{{Code: "standard", Name: "VAT"}}
			if *p != 0 {
				c.Taxes[0].Code = "other"
			}
		}), "0", "1", "#/terms/taxes"},
	} {
		l.hold(t, request0(service, t), b)
	}
}

// 1 000 boxes, parts or joints on a list, 40 rows, 40 across, 20 000 pieces on the
// cutting list of one line.
func TestLimitsOfLists(t *testing.T) {
	b := starter(t)
	boxes := read(t, demo(t, "drawer-boxes")).Pieces[0]
	listed := boxes.DrawerBoxes.Boxes[0]
	listed.Quantity = 1
	boxes.DrawerBoxes.Boxes = nil
	for range 1000 {
		boxes.DrawerBoxes.Boxes = append(boxes.DrawerBoxes.Boxes, listed)
	}
	require.Equal(t, num.Whole(1000), measured(new(one(t, boxes, b)), "drawer"))
	boxes.DrawerBoxes.Boxes = append(boxes.DrawerBoxes.Boxes, listed)
	require.Equal(t, "#/pieces/0/drawer_boxes/boxes", refused(t, request1(boxes), b)[0].Pointer)

	lath := piece.FreePart{Name: "Lath", Quantity: 10_000, Length: num.Whole(100), Width: num.Whole(50), Thickness: mm(10), Material: "show"}
	laths := parts(lath)
	laths.Parts.Parts = append(laths.Parts.Parts, lath)
	require.Equal(t, num.Whole(20_000), measured(new(one(t, laths, b)), "part"))
	laths.Parts.Parts = append(laths.Parts.Parts, piece.FreePart{Name: "One more", Length: num.Whole(100), Width: num.Whole(50), Thickness: mm(10), Material: "show"})
	faults := refused(t, request1(laths), b)
	require.Equal(t, "#/pieces/0", faults[0].Pointer)
	require.Contains(t, faults[0].Detail, "20001 pieces, at most 20000")

	tall := chest(t)
	tall.Chest.Rows = make([]piece.Row, 41)
	require.Equal(t, "#/pieces/0/chest/rows", refused(t, request1(tall), b)[0].Pointer)
	tall.Chest.Rows = []piece.Row{{Across: 41}}
	require.Equal(t, "#/pieces/0/chest/rows/0/across", refused(t, request1(tall), b)[0].Pointer)
	require.Equal(t, "#/pieces", refused(t, pricing.Request{}, b)[0].Pointer)
}

// A typed 0 where the range begins at 1 is an error, not the default; null is.
func TestATypedZeroIsNotTheDefault(t *testing.T) {
	var r pricing.Request
	text := `{"pieces": [{"title": "Visit", "kind": "service", "service": {}, "quantity": 0}]}`
	faults, ok := wire.Decode([]byte(text), &r).(fault.List)
	require.True(t, ok)
	require.Equal(t, "#/pieces/0/quantity", faults[0].Pointer)
	r = read(t, []byte(strings.Replace(text, `"quantity": 0`, `"quantity": null, "timbers": null, "agreed_price": null`, 1)))
	require.Equal(t, 1, priced(t, r, starter(t)).Pieces[0].Quantity)
}
