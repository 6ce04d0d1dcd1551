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

// A shelf in oak, and what it differs by in walnut.
func ExampleCompare() {
	b, err := catalog.Starter(date.MustParse("2026-11-01"))
	if err != nil {
		panic(err)
	}
	var both [2]pricing.Costing
	for i, wood := range []string{"oak-prime", "walnut-prime"} {
		if both[i], err = pricing.Cost(shelf(wood), b); err != nil {
			panic(err)
		}
	}
	c, err := pricing.Compare(&both[0], &both[1])
	if err != nil {
		panic(err)
	}
	for _, p := range c.Pieces {
		for _, l := range p.Lines {
			fmt.Println(l.Heading, l.Code, l.Change, l.Amount.Difference)
		}
		fmt.Println("from prime cost to price", p.BuildUp.Difference)
		fmt.Println(p.Title, p.Price.From, "to", p.Price.To)
	}
	fmt.Println(c.Totals[0].Name, c.Totals[0].Difference)
	// Output:
	// timber oak-prime-41 went -85.12
	// timber walnut-prime-38 appeared 139.75
	// labour timber changed -0.32
	// labour machining changed -0.32
	// labour panels changed -0.96
	// from prime cost to price 15.52
	// Shelf 345.25 to 413.80
	// net 68.55
}

// Which of a tenth more moves the price of a shelf most.
func ExampleSensitive() {
	b, err := catalog.Starter(date.MustParse("2026-11-01"))
	if err != nil {
		panic(err)
	}
	c, err := pricing.Sensitive(shelf("oak-prime"), b)
	if err != nil {
		panic(err)
	}
	fmt.Println("as it is", c.Totals.Net)
	for _, s := range c.Sensitivity {
		fmt.Println(s.Description, s.Net, s.More)
	}
	// Output:
	// as it is 345.25
	// European oak, prime 356.43 11.18
	// What an hour costs 361.66 16.41
	// How long the work takes 368.88 23.63
	// What is wasted of timber, and of sheets charged by area 347.95 2.70
	// What the workshop costs beside the work 352.11 6.86
}

// shelf is a request of a shelf in a timber.
func shelf(timber string) (r pricing.Request) {
	err := wire.Decode([]byte(`{
		"pieces": [{
			"title": "Shelf", "kind": "parts", "timbers": {"show": "`+timber+`"},
			"parts": {"parts": [{"name": "Shelf", "length": 1800, "width": 280, "thickness": 27, "material": "show"}]}
		}],
		"terms": {"round_to": "0.01"}
	}`), &r)
	if err != nil {
		panic(err)
	}
	return r
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
