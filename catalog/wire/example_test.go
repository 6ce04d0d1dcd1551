package wire_test

import (
	"fmt"

	"reckoner/catalog/wire"
	"reckoner/pricing/piece"
)

// Reading is strict: what is not known is refused where it stands, and text that is
// not JSON at the byte where it stops being it.
func ExampleDecode() {
	var p piece.Piece
	for _, text := range []string{
		`{"title": "Tall chest", "kind": "chest", "chest": {"width": 900}}`,
		`{"title": "Tall chest", "kind": "chest", "chest": {"widht": 900}}`,
		`{"title": "Tall chest", "kind": "chest", "chest": {"width": "900"}}`,
		`{"title": "Tall chest", "title": "Low chest"}`,
		`{"title": "Tall chest"`,
	} {
		fmt.Println(wire.Decode([]byte(text), &p))
	}
	// Output:
	// <nil>
	// #/chest/widht: there is no member "widht" here: check its spelling, and write small letters small
	// #/chest/width: write a number with at most 6 decimals, without quotes or exponent, such as 12.5, not "900"
	// byte 24: the member "title" stands twice: write it once
	// byte 22: the JSON ends too soon
}

// A price list, its columns in any order.
func ExampleTable() {
	rows, err := wire.Table([]byte("price,code\n1850.00,ash-prime-27\n"), []string{"code", "price"}, []string{"note"})
	fmt.Println(rows[0].Number, rows[0].Cell("code"), rows[0].Cell("price"), err)

	_, err = wire.Table([]byte("code,prize\nash-prime-27,1850.00\n"), []string{"code", "price"}, []string{"note"})
	fmt.Println(err)
	// Output:
	// 2 ash-prime-27 1850.00 <nil>
	// row 1: there is no column "prize": the columns are code, price, note
	// row 1: the column "price" is missing: add it to the header row
}
