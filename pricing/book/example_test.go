package book_test

import (
	"fmt"

	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A Book of one oil and one way to lay it, and what is wrong with it once the price
// is for a litre instead of a pack.
func ExampleNew() {
	pounds, _ := num.ParseCurrency("GBP")
	perHour := num.Rate(16_0000)
	data := book.Data{
		AsOf: date.MustParse("2026-11-01"), Currency: pounds,
		Terms: book.Terms{
			Overhead: book.Overhead{PerHour: &perHour},
			Tax:      "standard", Taxes: []book.Tax{{Code: "standard", Name: "VAT", Percent: 20_00}},
		},
		Supplies: []book.Supply{{
			Code: "hard-oil", Description: "Hard oil", Unit: unit.L, PackSize: num.One, Charged: book.Used,
			Coating: &book.Coating{Coverage: num.Whole(14)},
			Price:   &book.Price{Rate: 38_0000, Unit: unit.Pack, From: date.MustParse("2026-10-01")},
		}},
		Methods: []book.Method{{Code: "wipe", Transfer: 90_00}},
	}
	b, err := book.New(data)
	fmt.Println(err)
	fmt.Println(b.Supply("hard-oil").Coating.Spread(b.Method("wipe")), "m2 to the litre")

	data.Supplies[0].Price.Unit = unit.L
	_, err = book.New(data)
	fmt.Println(err)
	// Output:
	// <nil>
	// 12.6 m2 to the litre
	// #/supplies/0/price/unit: a price per "l" does not fit here: write pack
}
