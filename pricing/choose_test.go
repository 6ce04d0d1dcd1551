package pricing_test

import (
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// withID finds the piece of an id.
func withID(id string) func(*piece.Piece) bool {
	return func(p *piece.Piece) bool { return p.ID == id }
}

// offered is a table with two alternatives, an extra with one, and another extra, at
// prices agreed: 900.00, 700.00, 1200.00; 80.00, 60.00; 45.50.
func offered() pricing.Request {
	agreed := func(id, of string, optional bool, price num.Rate) piece.Piece {
		return piece.Piece{ID: id, Title: id, Kind: "service", Service: &piece.Service{}, AlternativeTo: of, Optional: optional, AgreedPrice: new(price)}
	}
	return pricing.Request{Pieces: []piece.Piece{
		agreed("table", "", false, 900_0000),
		agreed("in-pine", "table", false, 700_0000),
		agreed("in-walnut", "table", false, 1200_0000),
		agreed("leaf", "", true, 80_0000),
		agreed("leaf-in-ply", "leaf", false, 60_0000),
		agreed("polish", "", true, 45_5000),
	}}
}

// The nets are sums of the prices above.
func TestChoosing(t *testing.T) {
	r := offered()
	c := priced(t, r, starter(t))
	for _, tt := range []struct{ choose, included, net string }{
		{"", "table", "900.00"},
		{"in-walnut", "in-walnut", "1200.00"},
		{"leaf", "table leaf", "980.00"},
		{"leaf-in-ply", "table leaf-in-ply", "960.00"}, // an extra in another form is an extra
		{"polish in-pine", "in-pine polish", "745.50"},
		{"leaf polish in-pine", "in-pine leaf polish", "825.50"},
		{"leaf-in-ply polish in-walnut", "in-walnut leaf-in-ply polish", "1305.50"},
	} {
		got, err := c.Choose(&r, strings.Fields(tt.choose))
		require.NoError(t, err, tt.choose)
		assert.Equal(t, strings.Fields(tt.choose), got.Chosen)
		assert.Equal(t, strings.Fields(tt.included), got.Included, tt.choose)
		assert.Equal(t, tt.net, got.Totals.Net.String(), tt.choose)
	}
}

// What cannot be chosen is refused at its place, whatever the order.
func TestWhatCannotBeChosen(t *testing.T) {
	r := offered()
	c := priced(t, r, starter(t))
	for _, tt := range []struct{ choose, want string }{
		{"chair", `#/choose/0: no piece has the id "chair": name alternatives and extras by their ids`},
		{"table", `#/choose/0: "table" is included as it is: name only alternatives and extras`},
		{"in-pine table", `#/choose/1: "table" is included as it is: name only alternatives and extras`},
		{"leaf leaf", `#/choose/1: "leaf" is chosen twice: name it once`},
		{"in-pine polish in-pine", `#/choose/2: "in-pine" is chosen twice: name it once`},
		{"in-pine in-walnut", `#/choose/1: "in-pine" and "in-walnut" are alternatives to each other: choose one of them`},
		{"in-walnut in-pine", `#/choose/1: "in-walnut" and "in-pine" are alternatives to each other: choose one of them`},
		{"leaf leaf-in-ply", `#/choose/1: "leaf" and "leaf-in-ply" are alternatives to each other: choose one of them`},
		{"leaf-in-ply leaf", `#/choose/1: "leaf-in-ply" and "leaf" are alternatives to each other: choose one of them`},
	} {
		got, err := c.Choose(&r, strings.Fields(tt.choose))
		assert.EqualError(t, err, tt.want, tt.choose)
		assert.Equal(t, pricing.Choice{}, got, tt.choose)
	}
	_, err := c.Choose(&r, []string{"", "table", "in-pine", "in-pine", "in-walnut"})
	require.IsType(t, fault.List{}, err)
	var at []string
	for _, f := range err.(fault.List) {
		at = append(at, f.Pointer)
	}
	assert.Equal(t, []string{"#/choose/0", "#/choose/1", "#/choose/3", "#/choose/4"}, at, "all of it at once")

	_, err = c.Choose(&r, make([]string, 101))
	assert.EqualError(t, err, "#/choose: 101 ids: choose at most 100")
}

// An id left out is the piece's place, from 1.
func TestChoosingByPlace(t *testing.T) {
	r := offered()
	for i := range r.Pieces {
		r.Pieces[i].ID = ""
	}
	r.Pieces[1].AlternativeTo, r.Pieces[2].AlternativeTo, r.Pieces[4].AlternativeTo = "1", "1", "4"
	c := priced(t, r, starter(t))
	got, err := c.Choose(&r, []string{"6", "3"})
	require.NoError(t, err)
	assert.Equal(t, []string{"3", "6"}, got.Included)
	assert.Equal(t, "1245.50", got.Totals.Net.String())
}

// The terms are those of the costing: a discount of 750.00 leaves 150.00 of the table,
// 495.50 of the walnut with the polish, and is more than the pine comes to.
func TestADiscountAboveWhatIsChosen(t *testing.T) {
	r := offered()
	r.Terms = &book.TermsChange{DiscountAmount: new(num.Rate(750_0000))}
	c := priced(t, r, starter(t))
	require.Equal(t, "150.00", c.Totals.Taxable.String())
	got, err := c.Choose(&r, []string{"in-walnut", "polish"})
	require.NoError(t, err)
	require.Equal(t, "495.50", got.Totals.Taxable.String())
	got, err = c.Choose(&r, []string{"in-pine"})
	require.EqualError(t, err, "#/choose: the discount of 750.00 is more than the pieces come to, 700.00: choose more, or take the discount down")
	require.Equal(t, pricing.Choice{}, got)
	got, err = c.Choose(&r, []string{"in-pine", "polish"})
	require.EqualError(t, err, "#/choose: the discount of 750.00 is more than the pieces come to, 745.50: choose more, or take the discount down")
	require.Equal(t, pricing.Choice{}, got)
	got, err = c.Choose(&r, []string{"in-pine", "leaf-in-ply"})
	require.NoError(t, err)
	require.Equal(t, "10.00", got.Totals.Taxable.String())
}

// More than fits is an error here as it is when it is priced: 100 x 10 000 x 999 999 999
// dinars and ten times as much tax are 1.1 x 10^19 thousandths, above the 9.2 x 10^18
// that fit; half of them fit.
func TestChoosingTooMuchMoney(t *testing.T) {
	gold := piece.Piece{Title: "Gold", Kind: "service", Service: &piece.Service{}, Optional: true, Quantity: 10_000, AgreedPrice: new(book.MaxPrice - 1_0000)}
	r := pricing.Request{
		Pieces: slices.Repeat([]piece.Piece{gold}, 100),
		Terms:  &book.TermsChange{Taxes: []book.Tax{{Code: "standard", Name: "VAT", Percent: 1000_00}}},
	}
	c := priced(t, r, changed(t, starter(t), func(d *book.Data) { coinage(t, d, "KWD") }))
	var all []string
	for i := range c.Pieces {
		all = append(all, c.Pieces[i].ID)
	}
	got, err := c.Choose(&r, all[:50])
	require.NoError(t, err)
	require.Equal(t, "5499999994500000.000", got.Totals.Gross.String())
	got, err = c.Choose(&r, all)
	require.ErrorAs(t, err, new(num.Overflow))
	require.Equal(t, pricing.Choice{}, got)
}

// The walnut rail and the fixing of the worked costing, at the prices worked there:
//
//	net       277.10 + 99.20 + 20.50
//	discount  25 x 376.30 / 396.80 = 23.708 of what bears the standard rate, the rest 1.29
//	bases     376.30 - 23.71, 20.50 - 1.29
//	tax       20 % of 352.59 = 70.518
//	gross     371.80 + 70.52
//	payments  33.33 % of 442.32 = 147.4253; 66.66 % = 294.8505 less 147.43; 442.32 - 294.85
func TestChoosingFromTheWorkedCosting(t *testing.T) {
	text, err := os.ReadFile("../testdata/costings/payments/request.json")
	require.NoError(t, err)
	r := read(t, text)
	c := priced(t, r, starter(t))
	got, err := c.Choose(&r, []string{"fixing", "rail-walnut"})
	require.NoError(t, err)
	require.Equal(t, []string{"rail-walnut", "booklet", "fixing"}, got.Included)
	require.JSONEq(t, `{
		"net": "396.80",
		"discount": "25.00",
		"taxable": "371.80",
		"tax": [
			{"code": "standard", "name": "VAT", "percent": 20, "basis": "352.59", "amount": "70.52"},
			{"code": "zero", "name": "VAT", "percent": 0, "basis": "19.21", "amount": "0.00"}
		],
		"gross": "442.32",
		"deposit": "0.00",
		"balance": "442.32",
		"payments": [
			{"title": "Deposit", "percent": 33.33, "due": "when you accept", "amount": "147.43"},
			{"title": "Half-way", "percent": 33.33, "due": "when the timber is in the workshop", "amount": "147.42"},
			{"title": "Balance", "percent": 33.34, "due": "before it leaves the workshop", "amount": "147.47"}
		]
	}`, encoded(t, got.Totals))
}
