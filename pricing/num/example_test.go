package num_test

import (
	"encoding/json"
	"fmt"

	"reckoner/pricing/num"
)

func ExampleDecimal() {
	var hours num.Decimal
	if err := json.Unmarshal([]byte("7.575"), &hours); err != nil {
		fmt.Println(err)
	}
	fmt.Println(hours.Round(2), hours.Up(), hours+num.Whole(2))

	_, err := num.ParseDecimal("7,5")
	fmt.Println(err)
	// Output:
	// 7.58 8 9.575
	// write a number with at most 6 decimals, such as 12.5, not "7,5"
}

// A product is exact until its one rounding: 0.12 m3 and 60 % waste.
func ExampleProduct() {
	net, waste := num.Decimal(120_000), num.Percent(60_00)
	fmt.Println(num.Product(4, num.One, net, waste.Factor()))
	// Output: 0.192
}

// A pack of 2.5 litres for 95.00, raised by 15 %, and 1.3 litres of it.
func ExampleRate() {
	var pack num.Rate
	if err := pack.UnmarshalText([]byte("95.00")); err != nil {
		fmt.Println(err)
	}
	litre := pack.Over(2_500_000)
	raised := litre.Raised(15_00)
	pounds, err := num.ParseCurrency("GBP")
	fmt.Println(litre, raised, pounds.Amount(1_300_000, raised), err)
	// Output: 38.00 43.70 56.81 <nil>
}

// The shares of an amount add up to it.
func ExampleMoney_Share() {
	pounds, err := num.ParseCurrency("GBP")
	if err != nil {
		fmt.Println(err)
	}
	one := pounds.Amount(num.One, 1_0000)
	fmt.Println(one.Share([]num.Money{one, one, one}))
	// Output: [0.33 0.34 0.33]
}

// What is left of a price of 2450.00 that costs 1893.20, in percent of it.
func ExampleMoney_Of() {
	pounds, err := num.ParseCurrency("GBP")
	if err != nil {
		fmt.Println(err)
	}
	price, cost := pounds.Coins(2450_00), pounds.Coins(1893_20)
	left := price.Minus(cost)
	fmt.Println(left, left.Of(price), "%")
	// Output: 556.80 22.73 %
}
