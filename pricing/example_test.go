package pricing_test

import (
	"fmt"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

func ExampleCost() {
	b, err := catalog.Starter(date.MustParse("2026-11-01"))
	if err != nil {
		panic(err)
	}
	var r pricing.Request
	err = wire.Decode([]byte(`{
		"pieces": [{
			"title": "Two shelves",
			"kind": "parts",
			"timbers": {"show": "oak-prime"},
			"finishes": {"outside": "oil-3"},
			"parts": {"parts": [{
				"name": "Shelf", "quantity": 2, "length": 900, "width": 240, "thickness": 22, "material": "show",
				"outside": {"faces": 2, "long_edges": 2, "ends": 2}
			}]}
		}]
	}`), &r)
	if err != nil {
		panic(err)
	}
	c, err := pricing.Cost(r, b)
	if err != nil {
		panic(err)
	}
	shelves := c.Pieces[0]
	fmt.Println(shelves.Price, c.Currency)
	fmt.Println(shelves.Timber[0].Working)
	fmt.Println(shelves.Hours, "h")
	// Output:
	// 497.00 GBP
	// 0.012887 m3 net + 30 % = 0.0168 m3
	// 7.06 h
}

func ExampleCost_faults() {
	b, err := catalog.Starter(date.MustParse("2026-11-01"))
	if err != nil {
		panic(err)
	}
	_, err = pricing.Cost(pricing.Request{}, b)
	fmt.Println(err)
	// Output:
	// #/pieces: 0 pieces: write 1 to 100
}

// A customer takes the walnut and the cushion of what was offered; the discount is
// shared anew over the taxes, and the payments follow.
func ExampleCosting_Choose() {
	b, err := catalog.Starter(date.MustParse("2026-11-01"))
	if err != nil {
		panic(err)
	}
	var r pricing.Request
	err = wire.Decode([]byte(`{
		"pieces": [
			{"id": "bench", "title": "A bench in oak", "kind": "service", "service": {}, "agreed_price": "640.00"},
			{"id": "walnut", "title": "The same in walnut", "alternative_to": "bench", "kind": "service", "service": {}, "agreed_price": "820.00"},
			{"id": "cushion", "title": "A cushion", "optional": true, "kind": "service", "service": {}, "agreed_price": "95.00"},
			{"id": "leaflet", "title": "A leaflet", "tax": "zero", "kind": "service", "service": {}, "agreed_price": "10.00"}
		],
		"terms": {
			"discount_amount": "50.00",
			"payments": [
				{"title": "Deposit", "percent": 40, "due": "when you accept"},
				{"title": "Balance", "percent": 60, "due": "on delivery"}
			]
		}
	}`), &r)
	if err != nil {
		panic(err)
	}
	c, err := pricing.Cost(r, b)
	if err != nil {
		panic(err)
	}
	taken, err := c.Choose(&r, []string{"walnut", "cushion"})
	if err != nil {
		panic(err)
	}
	fmt.Println("offered", c.Totals.Gross)
	fmt.Println("chosen", taken.Totals.Gross, "for", taken.Included)
	for _, p := range taken.Totals.Payments {
		fmt.Println(p.Title, p.Amount, p.Due)
	}
	_, err = c.Choose(&r, []string{"bench"})
	fmt.Println(err)
	// Output:
	// offered 718.15
	// chosen 1048.11 for [walnut cushion leaflet]
	// Deposit 419.24 when you accept
	// Balance 628.87 on delivery
	// #/choose/0: "bench" is included as it is: name only alternatives and extras
}

func ExampleTotal() {
	gbp, err := num.ParseCurrency("GBP")
	if err != nil {
		panic(err)
	}
	chest, _ := gbp.Exact(2450_0000)
	leaflet, _ := gbp.Exact(19_9500)
	t := pricing.Total(pricing.Document{
		Lines:    []pricing.Net{{Amount: chest, Tax: "standard"}, {Amount: leaflet, Tax: "zero"}},
		Taxes:    []book.Tax{{Code: "standard", Name: "VAT", Percent: 20_00}, {Code: "zero", Name: "VAT"}},
		Discount: 2_50,
		Deposit:  50_00,
	})
	fmt.Println("net", t.Net, "discount", t.Discount)
	for _, x := range t.Tax {
		fmt.Println(x.Name, x.Percent, "% of", x.Basis, "is", x.Amount)
	}
	fmt.Println("gross", t.Gross, "deposit", t.Deposit, "balance", t.Balance)
	// Output:
	// net 2469.95 discount 61.75
	// VAT 20 % of 2388.75 is 477.75
	// VAT 0 % of 19.45 is 0.00
	// gross 2885.95 deposit 1442.98 balance 1442.97
}
