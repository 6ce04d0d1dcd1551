package pricing_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// plain is a Book to work sums from by hand: no rules; all oak 1000.00 and all walnut
// 2000.00 a m3; hours at 32.00 (bench) and 27.00 (site); overhead 10 % of prime, a
// mark-up of 50 %: a price is 1.65 x prime, each step rounded.
func plain(t require.TestingT, b *book.Book) *book.Book {
	return changed(t, b, func(d *book.Data) {
		d.Rules = nil
		for code, rate := range map[string]num.Rate{"oak-prime": 1000_0000, "walnut-prime": 2000_0000} {
			for i := range timber(d, code).Thicknesses {
				timber(d, code).Thicknesses[i].Price.Rate = rate
			}
		}
		d.Terms.Overhead = book.Overhead{Percent: new(num.Percent(10_00))}
		d.Terms.Profit = book.Profit{Markup: new(num.Percent(50_00))}
		d.Terms.Contingency, d.Terms.BoughtInMarkup, d.Terms.RoundTo, d.Terms.Deposit = 0, 0, 0, 0
	})
}

// told is a comparison in words, a line for each difference, so that it can be
// written by hand.
func told(c pricing.Comparison) string {
	var s strings.Builder
	amounts := func(a pricing.Amounts) string { return fmt.Sprintf("%s %s %s", a.From, a.To, a.Difference) }
	size := func(p *pricing.PartSize) string {
		if p == nil {
			return "none"
		}
		return fmt.Sprintf("%d of %s x %s x %s %s", p.Quantity, p.Length, p.Width, p.Thickness, p.Code)
	}
	for _, p := range c.Pieces {
		fmt.Fprintf(&s, "%s %s %q: price %s; in net %s; build-up %s\n", p.ID, p.Change, p.Title, amounts(p.Price), amounts(p.InNet), amounts(p.BuildUp))
		for _, l := range p.Lines {
			fmt.Fprintf(&s, "  %s %s %s %q: %s to %s %s at %s to %s: %s\n",
				l.Heading, l.Code, l.Change, l.Description, l.Quantity.From, l.Quantity.To, l.Unit, l.Rate.From, l.Rate.To, amounts(l.Amount))
		}
		for _, x := range p.Parts {
			fmt.Fprintf(&s, "  part %s (%s) %s: %s to %s\n", x.Name, x.Material, x.Change, size(x.From), size(x.To))
		}
	}
	for _, t := range c.Totals {
		fmt.Fprintf(&s, "%s: %s\n", strings.TrimSpace(t.Name+" "+t.Code), amounts(t.Amounts))
	}
	return s.String()
}

// A comparing is two requests and how the one differs from the other.
type comparing struct{ name, from, to, want string }

// Members of pieces: visit has no parts, rails and cleats are 0.027 m3 each: 10 of
// (975 + 25) x (94 + 6) mm, sawn 27 thick.
const (
	visit  = `"kind": "service", "service": {}`
	glass  = `{"description": "Glass", "quantity": 2, "unit": "each", "rate": "50.00"}`
	rail   = `{"name": "Rail", "quantity": 10, "length": 975, "width": 94, "thickness": 22, "material": "show"}`
	cleat  = `{"name": "Cleat", "quantity": 10, "length": 975, "width": 94, "thickness": 22, "material": "inner"}`
	inOak  = `"kind": "parts", "timbers": {"show": "oak-prime", "inner": "oak-prime"}`
	bench  = `{"id": "bench", "title": "Bench", ` + visit
	framed = `{"id": "frame", "title": "Frame", ` + inOak
)

// The sums are ours, worked beside each.
func comparings() []comparing {
	return []comparing{
		{
			// 2 x 50.00 = 100.00: overhead 10.00, mark-up 55.00: 165.00; tax 33.00
			// with 2 h x 32.00 = 64.00: 164.00, 16.40, 90.20: 270.60; tax 54.12
			"a line appears", bench + `, "bought_in": [` + glass + `]}`, bench + `, "bought_in": [` + glass + `], "extra_hours": [{"stage": "drawing", "hours": 2}]}`,
			`bench changed "Bench": price 165.00 270.60 105.60; in net 165.00 270.60 105.60; build-up 65.00 106.60 41.60
  labour drawing appeared "Drawing, rod and cutting list": 0 to 2 h at 0.00 to 32.00: 0.00 64.00 64.00
net: 165.00 270.60 105.60
discount: 0.00 0.00 0.00
taxable: 165.00 270.60 105.60
tax standard: 33.00 54.12 21.12
gross: 198.00 324.72 126.72
`,
		},
		{
			// 100.00 as above; 64.00: 6.40, 35.20: 105.60; tax 21.12
			"one line goes, another appears under another heading", bench + `, "bought_in": [` + glass + `]}`, bench + `, "extra_hours": [{"stage": "drawing", "hours": 2}]}`,
			`bench changed "Bench": price 165.00 105.60 -59.40; in net 165.00 105.60 -59.40; build-up 65.00 41.60 -23.40
  labour drawing appeared "Drawing, rod and cutting list": 0 to 2 h at 0.00 to 32.00: 0.00 64.00 64.00
  bought_in 1 went "Glass": 2 to 0 each at 50.00 to 0.00: 100.00 0.00 -100.00
net: 165.00 105.60 -59.40
discount: 0.00 0.00 0.00
taxable: 165.00 105.60 -59.40
tax standard: 33.00 21.12 -11.88
gross: 198.00 126.72 -71.28
`,
		},
		{
			// 3 x 45.50 = 136.50: 13.65, 50 % of 150.15 = 75.075, a tie, 75.08: 225.23
			// tax 45.046, 45.05
			"a line changes", bench + `, "bought_in": [` + glass + `]}`, bench + `, "bought_in": [{"description": "Glass, clear", "quantity": 3, "unit": "each", "rate": "45.50"}]}`,
			`bench changed "Bench": price 165.00 225.23 60.23; in net 165.00 225.23 60.23; build-up 65.00 88.73 23.73
  bought_in 1 changed "Glass, clear": 2 to 3 each at 50.00 to 45.50: 100.00 136.50 36.50
net: 165.00 225.23 60.23
discount: 0.00 0.00 0.00
taxable: 165.00 225.23 60.23
tax standard: 33.00 45.05 12.05
gross: 198.00 270.28 72.28
`,
		},
		{
			// the same money, otherwise counted: the line differs, the price does not
			"a line counts otherwise", bench + `, "bought_in": [` + glass + `]}`, bench + `, "bought_in": [{"description": "Glass", "quantity": 4, "unit": "each", "rate": "25.00"}]}`,
			`bench changed "Bench": price 165.00 165.00 0.00; in net 165.00 165.00 0.00; build-up 65.00 65.00 0.00
  bought_in 1 changed "Glass": 2 to 4 each at 50.00 to 25.00: 100.00 100.00 0.00
net: 165.00 165.00 0.00
discount: 0.00 0.00 0.00
taxable: 165.00 165.00 0.00
tax standard: 33.00 33.00 0.00
gross: 198.00 198.00 0.00
`,
		},
		{
			// a sum that was settled is no longer provisional, or the other way
			"a sum becomes provisional", bench + `, "bought_in": [` + glass + `]}`, bench + `, "bought_in": [` + strings.Replace(glass, "}", `, "provisional": true}`, 1) + `]}`,
			`bench changed "Bench": price 165.00 165.00 0.00; in net 165.00 165.00 0.00; build-up 65.00 65.00 0.00
  bought_in 1 changed "Glass": 2 to 2 each at 50.00 to 50.00: 100.00 100.00 0.00
net: 165.00 165.00 0.00
discount: 0.00 0.00 0.00
taxable: 165.00 165.00 0.00
tax standard: 33.00 33.00 0.00
gross: 198.00 198.00 0.00
`,
		},
	}
}

// Two lines of one sawn thickness differ by their waste, the lower first.
func comparingsOfTimber() []comparing {
	parts := func(waste, list string) string {
		return framed + `, "waste_percent": {` + waste + `}, "parts": {"parts": [` + list + `]}}`
	}
	return []comparing{
		{
			// 0.027 x 1.2 = 0.0324, 32.40; x 1.5 = 0.0405, 40.50: 72.90, 7.29, 40.10: 120.29
			// x 1.6 = 0.0432, 43.20: 75.60, 7.56, 41.58: 124.74; tax 24.06 and 24.95
			"the second of two lines of one code", parts(`"inner": 20, "show": 50`, rail+","+cleat), parts(`"inner": 20, "show": 60`, rail+","+cleat),
			`frame changed "Frame": price 120.29 124.74 4.45; in net 120.29 124.74 4.45; build-up 47.39 49.14 1.75
  timber oak-prime-27 changed "European oak, prime, 27 mm sawn": 0.0405 to 0.0432 m3 at 1000.00 to 1000.00: 40.50 43.20 2.70
net: 120.29 124.74 4.45
discount: 0.00 0.00 0.00
taxable: 120.29 124.74 4.45
tax standard: 24.06 24.95 0.89
gross: 144.35 149.69 5.34
`,
		},
		{
			// of one waste they are one line: 0.054 x 1.2 = 0.0648, 64.80, 6.48, 35.64: 106.92
			// 32.40 - 40.50 - 5.27 = -13.37
			"two lines of one code become one", parts(`"inner": 20, "show": 50`, rail+","+cleat), parts(`"inner": 20, "show": 20`, rail+","+cleat),
			`frame changed "Frame": price 120.29 106.92 -13.37; in net 120.29 106.92 -13.37; build-up 47.39 42.12 -5.27
  timber oak-prime-27 changed "European oak, prime, 27 mm sawn": 0.0324 to 0.0648 m3 at 1000.00 to 1000.00: 32.40 64.80 32.40
  timber oak-prime-27 went "European oak, prime, 27 mm sawn": 0.0405 to 0 m3 at 1000.00 to 0.00: 40.50 0.00 -40.50
net: 120.29 106.92 -13.37
discount: 0.00 0.00 0.00
taxable: 120.29 106.92 -13.37
tax standard: 24.06 21.38 -2.68
gross: 144.35 128.30 -16.05
`,
		},
		{
			// cleats in walnut, 27 finished from 32: 10 x 1.0 x 0.1 x 0.032 = 0.032 x 1.2 = 0.0384, 76.80
			// with rails 40.50: 117.30, 11.73, 64.515, a tie, 64.52: 193.55; tax 38.71
			"parts of another timber and size", parts(`"inner": 20, "show": 50`, rail+","+cleat),
			strings.Replace(parts(`"inner": 20, "show": 50`, rail+","+strings.Replace(cleat, `"thickness": 22`, `"thickness": 27`, 1)), `"inner": "oak-prime"`, `"inner": "walnut-prime"`, 1),
			`frame changed "Frame": price 120.29 193.55 73.26; in net 120.29 193.55 73.26; build-up 47.39 76.25 28.86
  timber oak-prime-27 changed "European oak, prime, 27 mm sawn": 0.0324 to 0.0405 m3 at 1000.00 to 1000.00: 32.40 40.50 8.10
  timber oak-prime-27 went "European oak, prime, 27 mm sawn": 0.0405 to 0 m3 at 1000.00 to 0.00: 40.50 0.00 -40.50
  timber walnut-prime-32 appeared "American black walnut, prime, 32 mm sawn": 0 to 0.0384 m3 at 0.00 to 2000.00: 0.00 76.80 76.80
  part Cleat (inner) changed: 10 of 975 x 94 x 22 oak-prime-27 to 10 of 975 x 94 x 27 walnut-prime-32
net: 120.29 193.55 73.26
discount: 0.00 0.00 0.00
taxable: 120.29 193.55 73.26
tax standard: 24.06 38.71 14.65
gross: 144.35 232.26 87.91
`,
		},
		{
			// two of the piece: twice the cleats, 0.054 x 1.2 = 0.0648, 64.80: 64.80, 6.48, 35.64: 106.92
			// one: 32.40, 3.24, 17.82: 53.46; the rails gone and the cleats twice
			"parts go and others are more", parts(`"inner": 20, "show": 20`, cleat+","+rail),
			strings.Replace(parts(`"inner": 20, "show": 20`, cleat), `"title"`, `"quantity": 2, "title"`, 1),
			`frame changed "Frame": price 106.92 106.92 0.00; in net 106.92 106.92 0.00; build-up 42.12 42.12 0.00
  part Cleat (inner) changed: 10 of 975 x 94 x 22 oak-prime-27 to 20 of 975 x 94 x 22 oak-prime-27
  part Rail (show) went: 10 of 975 x 94 x 22 oak-prime-27 to none
net: 106.92 106.92 0.00
discount: 0.00 0.00 0.00
taxable: 106.92 106.92 0.00
tax standard: 21.38 21.38 0.00
gross: 128.30 128.30 0.00
`,
		},
	}
}

// Prices are agreed here, so that the sums are only of what pieces are in the net.
func comparingsOfPieces() []comparing {
	agreed := func(id, more, price string) string {
		return `{"id": "` + id + `", "title": "` + id + `", ` + visit + more + `, "agreed_price": "` + price + `"}`
	}
	table, chair := agreed("table", "", "900.00"), agreed("chair", "", "100.00")
	totals := func(net, taxable, tax, gross string) string {
		return "net: " + net + "\ndiscount: 0.00 0.00 0.00\ntaxable: " + taxable + "\ntax standard: " + tax + "\ngross: " + gross + "\n"
	}
	alike := totals("900.00 900.00 0.00", "900.00 900.00 0.00", "180.00 180.00 0.00", "1080.00 1080.00 0.00")
	one := totals("900.00 1000.00 100.00", "900.00 1000.00 100.00", "180.00 200.00 20.00", "1080.00 1200.00 120.00")
	less := totals("1000.00 900.00 -100.00", "1000.00 900.00 -100.00", "200.00 180.00 -20.00", "1200.00 1080.00 -120.00")
	return []comparing{
		{"a piece appears before another", table, chair + "," + table, `chair appeared "chair": price 0.00 100.00 100.00; in net 0.00 100.00 100.00; build-up 0.00 100.00 100.00
` + one},
		{"a piece goes", chair + "," + table, table, `chair went "chair": price 100.00 0.00 -100.00; in net 100.00 0.00 -100.00; build-up 100.00 0.00 -100.00
` + less},
		{"one goes, one appears and one is another's place", chair + "," + table, table + "," + agreed("stool", "", "100.00"), `chair went "chair": price 100.00 0.00 -100.00; in net 100.00 0.00 -100.00; build-up 100.00 0.00 -100.00
stool appeared "stool": price 0.00 100.00 100.00; in net 0.00 100.00 100.00; build-up 0.00 100.00 100.00
` + totals("1000.00 1000.00 0.00", "1000.00 1000.00 0.00", "200.00 200.00 0.00", "1200.00 1200.00 0.00")},
		{"only the order", chair + "," + table, table + "," + chair, totals("1000.00 1000.00 0.00", "1000.00 1000.00 0.00", "200.00 200.00 0.00", "1200.00 1200.00 0.00")},
		{"a piece becomes an extra", table + "," + chair, table + "," + agreed("chair", `, "optional": true`, "100.00"), `chair changed "chair": price 100.00 100.00 0.00; in net 100.00 0.00 -100.00; build-up 100.00 100.00 0.00
` + less},
		{"a piece becomes an alternative, at another price", table + "," + chair, table + "," + agreed("chair", `, "alternative_to": "table"`, "120.00"), `chair changed "chair": price 100.00 120.00 20.00; in net 100.00 0.00 -100.00; build-up 100.00 120.00 20.00
` + less},
		{"an extra is taken", table + "," + agreed("chair", `, "optional": true`, "100.00"), table + "," + chair, `chair changed "chair": price 100.00 100.00 0.00; in net 0.00 100.00 100.00; build-up 100.00 100.00 0.00
` + one},
		{"an alternative appears", table, table + "," + agreed("pine", `, "alternative_to": "table"`, "700.00"), `pine appeared "pine": price 0.00 700.00 700.00; in net 0.00 0.00 0.00; build-up 0.00 700.00 700.00
` + alike},
		{"an alternative costs less", table + "," + agreed("pine", `, "alternative_to": "table"`, "700.00"), table + "," + agreed("pine", `, "alternative_to": "table"`, "650.00"), `pine changed "pine": price 700.00 650.00 -50.00; in net 0.00 0.00 0.00; build-up 700.00 650.00 -50.00
` + alike},
		{"a piece is renamed", table, strings.Replace(table, `"title": "table"`, `"title": "Dining table"`, 1), `table changed "Dining table": price 900.00 900.00 0.00; in net 900.00 900.00 0.00; build-up 900.00 900.00 0.00
` + alike},
		{"another id is another piece", table, strings.Replace(table, `"id": "table"`, `"id": "desk"`, 1), `table went "table": price 900.00 0.00 -900.00; in net 900.00 0.00 -900.00; build-up 900.00 0.00 -900.00
desk appeared "table": price 0.00 900.00 900.00; in net 0.00 900.00 900.00; build-up 0.00 900.00 900.00
` + alike},
		{"three for two, at a price agreed", agreed("chair", `, "quantity": 2`, "450.00"), agreed("chair", `, "quantity": 3`, "300.00"), `chair changed "chair": price 900.00 900.00 0.00; in net 900.00 900.00 0.00; build-up 900.00 900.00 0.00
` + alike},
		{
			// glass 100.00, 165.00 by the terms; agreed: 900.00, of which 800.00 is build-up
			"the price by the terms becomes an agreed one", bench + `, "bought_in": [` + glass + `]}`, bench + `, "bought_in": [` + glass + `], "agreed_price": "900.00"}`,
			`bench changed "Bench": price 165.00 900.00 735.00; in net 165.00 900.00 735.00; build-up 65.00 800.00 735.00
` + totals("165.00 900.00 735.00", "165.00 900.00 735.00", "33.00 180.00 147.00", "198.00 1080.00 882.00"),
		},
		{
			// the cost goes up by 10.00, the price stays: the build-up has the less
			"an agreed price stays while a line is dearer", bench + `, "bought_in": [` + glass + `], "agreed_price": "900.00"}`,
			bench + `, "bought_in": [` + strings.Replace(glass, "50.00", "55.00", 1) + `], "agreed_price": "900.00"}`,
			`bench changed "Bench": price 900.00 900.00 0.00; in net 900.00 900.00 0.00; build-up 800.00 790.00 -10.00
  bought_in 1 changed "Glass": 2 to 2 each at 50.00 to 55.00: 100.00 110.00 10.00
` + alike,
		},
		{"nothing", table, table, alike},
	}
}

func TestCompare(t *testing.T) {
	b := plain(t, starter(t))
	for _, tt := range append(append(comparings(), comparingsOfTimber()...), comparingsOfPieces()...) {
		t.Run(tt.name, func(t *testing.T) {
			from := priced(t, read(t, []byte(`{"pieces": [`+tt.from+`]}`)), b)
			to := priced(t, read(t, []byte(`{"pieces": [`+tt.to+`]}`)), b)
			assert.Equal(t, tt.want, told(difference(&from, &to)))
		})
	}
}

// The taxes are of the terms' order in the one, then what only the other has. Net
// 300.00 in both: less 10 % of each, 20.00 and 10.00; 20 % of 180.00, 5 % of 90.00.
func TestCompareDiscountAndTaxes(t *testing.T) {
	b := plain(t, starter(t))
	of := func(tax, terms string) pricing.Costing {
		return priced(t, read(t, []byte(`{"pieces": [
			{"id": "table", "title": "Table", `+visit+`, "agreed_price": "200.00"},
			{"id": "leaflet", "title": "Leaflet", `+visit+`, "tax": "`+tax+`", "agreed_price": "100.00"}], "terms": {`+terms+`}}`)), b)
	}
	whole, off := of("zero", ""), of("zero", `"discount_percent": 10`)
	assert.Equal(t, `net: 300.00 300.00 0.00
discount: 0.00 30.00 30.00
taxable: 300.00 270.00 -30.00
tax standard: 40.00 36.00 -4.00
tax zero: 0.00 0.00 0.00
gross: 340.00 306.00 -34.00
`, told(difference(&whole, &off)), "a discount is no difference of any piece")

	taxed := of("reduced", `"discount_amount": "30.00"`) // shared 20.00 and 10.00
	assert.Equal(t, `leaflet changed "Leaflet": price 100.00 100.00 0.00; in net 100.00 100.00 0.00; build-up 100.00 100.00 0.00
net: 300.00 300.00 0.00
discount: 0.00 30.00 30.00
taxable: 300.00 270.00 -30.00
tax standard: 40.00 36.00 -4.00
tax zero: 0.00 0.00 0.00
tax reduced: 0.00 4.50 4.50
gross: 340.00 310.50 -29.50
`, told(difference(&whole, &taxed)), "a piece that bears another tax differs")
}

// What is not there is nothing in the coins of the currency.
func TestCompareInOtherCurrencies(t *testing.T) {
	for code, want := range map[string]string{
		"JPY": "stool appeared \"Stool\": price 0 333 333; in net 0 333 333; build-up 0 333 333\nnet: 0 333 333\ndiscount: 0 0 0\ntaxable: 0 333 333\ntax standard: 0 67 67\ngross: 0 400 400\n",
		"KWD": "stool appeared \"Stool\": price 0.000 333.000 333.000; in net 0.000 333.000 333.000; build-up 0.000 333.000 333.000\n" +
			"net: 0.000 333.000 333.000\ndiscount: 0.000 0.000 0.000\ntaxable: 0.000 333.000 333.000\ntax standard: 0.000 66.600 66.600\ngross: 0.000 399.600 399.600\n",
	} {
		b := changed(t, plain(t, starter(t)), func(d *book.Data) { coinage(t, d, code) })
		to := priced(t, read(t, []byte(`{"pieces": [{"id": "stool", "title": "Stool", `+visit+`, "agreed_price": "333.00"}]}`)), b)
		from := pricing.Costing{Currency: to.Currency}
		assert.Equal(t, want, told(difference(&from, &to)), code)
	}
}

// Of parts with one name and material, the first is compared with the first.
func TestComparePartsOfOneName(t *testing.T) {
	part := func(name string, n int, length num.Decimal) pricing.CutPart {
		return pricing.CutPart{Name: name, Material: "show", Quantity: n, Length: length, Width: num.Whole(90), Thickness: num.Whole(22), Code: "oak-prime-27"}
	}
	costing := func(parts ...pricing.CutPart) pricing.Costing {
		c, err := num.ParseCurrency("GBP")
		require.NoError(t, err)
		return pricing.Costing{Currency: c, Pieces: []pricing.PricedPiece{{ID: "1", Title: "Frame", Quantity: 1, Units: unit.InMillimetres, Included: true, Parts: parts}}}
	}
	from := costing(part("Rail", 2, num.Whole(900)), part("Stile", 2, num.Whole(700)), part("Rail", 1, num.Whole(400)))
	to := costing(part("Rail", 1, num.Whole(400)), part("Stile", 2, num.Whole(700)))
	assert.Contains(t, told(difference(&from, &to)), `build-up 0.00 0.00 0.00
  part Rail (show) changed: 2 of 900 x 90 x 22 oak-prime-27 to 1 of 400 x 90 x 22 oak-prime-27
  part Rail (show) went: 1 of 400 x 90 x 22 oak-prime-27 to none
net: `)
}

// A line differs by any one thing that it says, be it no figure; how its quantity came
// about is not compared.
func TestCompareLinesByOneThing(t *testing.T) {
	gbp := starter(t).Data().Currency
	costing := func(l pricing.Line) pricing.Costing {
		return pricing.Costing{Currency: gbp, Pieces: []pricing.PricedPiece{{ID: "1", Labour: []pricing.Line{l}}}}
	}
	sixty := pricing.Line{Code: "drawing", Description: "Drawing", Grade: "bench", Quantity: num.Whole(2), Unit: unit.H, Rate: 30_0000, Amount: gbp.Coins(60_00)}
	for what, change := range map[string]func(*pricing.Line){
		"description": func(l *pricing.Line) { l.Description = "Drawings" },
		"grade":       func(l *pricing.Line) { l.Grade = "finisher" },
		"quantity":    func(l *pricing.Line) { l.Quantity++ },
		"unit":        func(l *pricing.Line) { l.Unit = unit.Each },
		"rate":        func(l *pricing.Line) { l.Rate++ },
		"amount":      func(l *pricing.Line) { l.Amount = gbp.Coins(60_01) },
		"provisional": func(l *pricing.Line) { l.Provisional = true },
	} {
		other := sixty
		change(&other)
		from, to := costing(sixty), costing(other)
		for _, c := range []pricing.Comparison{difference(&from, &to), difference(&to, &from)} {
			require.Len(t, c.Pieces, 1, what)
			require.Len(t, c.Pieces[0].Lines, 1, what)
			assert.Equal(t, "changed", c.Pieces[0].Lines[0].Change)
		}
	}
	other := sixty
	other.Working, other.Needed, other.Terms = "120 min / 60 = 2 h", num.Whole(120), []pricing.Term{{Measure: "part"}}
	from, to := costing(sixty), costing(other)
	assert.Empty(t, difference(&from, &to).Pieces)
}

// The members as they are answered, by hand; nothing is left out of them and no list
// is null.
func TestCompareAsJSON(t *testing.T) {
	b := plain(t, starter(t))
	from := priced(t, read(t, []byte(`{"pieces": [`+bench+`, "bought_in": [`+glass+`]}]}`)), b)
	to := priced(t, read(t, []byte(`{"pieces": [`+bench+`, "bought_in": [`+glass+`]}, {"id": "sign", "title": "Sign", "kind": "parts", "optional": true,
		"sheets": {"back": "birch-ply-6"}, "parts": {"parts": [{"name": "Board", "length": 400, "width": 300, "material": "back"}]}}]}`)), b)
	// one sheet, 28.00: 2.80, 15.40: 46.20
	want := `{
		"pieces": [{
			"id": "sign", "title": "Sign", "change": "appeared",
			"price": {"from": "0.00", "to": "46.20", "difference": "46.20"},
			"in_net": {"from": "0.00", "to": "0.00", "difference": "0.00"},
			"lines": [{
				"heading": "sheets", "code": "birch-ply-6", "description": "` + b.Sheet("birch-ply-6").Description + `", "change": "appeared", "unit": "each",
				"quantity": {"from": 0, "to": 1}, "rate": {"from": "0.00", "to": "28.00"}, "amount": {"from": "0.00", "to": "28.00", "difference": "28.00"}
			}],
			"build_up": {"from": "0.00", "to": "18.20", "difference": "18.20"},
			"parts": [{"name": "Board", "material": "back", "change": "appeared", "to": {"quantity": 1, "length": 400, "width": 300, "thickness": 6, "code": "birch-ply-6"}}]
		}],
		"totals": [
			{"name": "net", "from": "165.00", "to": "165.00", "difference": "0.00"},
			{"name": "discount", "from": "0.00", "to": "0.00", "difference": "0.00"},
			{"name": "taxable", "from": "165.00", "to": "165.00", "difference": "0.00"},
			{"name": "tax", "code": "standard", "from": "33.00", "to": "33.00", "difference": "0.00"},
			{"name": "gross", "from": "198.00", "to": "198.00", "difference": "0.00"}
		]
	}`
	compared := difference(&from, &to)
	assert.JSONEq(t, want, encoded(t, compared))
	text, err := json.Marshal(compared)
	require.NoError(t, err)
	assert.JSONEq(t, want, string(text), "as any encoder has it")

	empty, err := json.Marshal(difference(&pricing.Costing{}, &pricing.Costing{}))
	require.NoError(t, err)
	assert.Equal(t, `{"pieces":[],"totals":[{"name":"net","from":"0","to":"0","difference":"0"},{"name":"discount","from":"0","to":"0","difference":"0"},`+
		`{"name":"taxable","from":"0","to":"0","difference":"0"},{"name":"gross","from":"0","to":"0","difference":"0"}]}`, string(empty))
}

// difference compares two costings whose sums are far from the limits.
func difference(from, to *pricing.Costing) pricing.Comparison {
	c, err := pricing.Compare(from, to)
	if err != nil {
		panic(err)
	}
	return c
}

// Amounts of opposite signs near the limit differ by more than there are numbers: that
// is an error, and no panic.
func TestComparingBeyondTheLimitIsAnError(t *testing.T) {
	gbp, err := num.ParseCurrency("GBP")
	require.NoError(t, err)
	sides := make([]pricing.Costing, 2)
	for i, coins := range []int64{-9e18, 9e18} {
		sides[i] = pricing.Costing{Currency: gbp, Totals: pricing.Totals{Net: gbp.Coins(coins)}}
	}
	c, err := pricing.Compare(&sides[0], &sides[1])
	require.IsType(t, num.Overflow{}, err)
	assert.Zero(t, c)
}
