package pricing_test

import (
	"regexp"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
)

// values finds the texts, numbers and truths of a JSON document that are not names
// of members.
func values(text []byte) [][]int {
	all := regexp.MustCompile(`[:\[,]\s*("[^"]*"|-?[0-9.]+|true|false)\s*[,\]}]`).FindAllSubmatchIndex(text, -1)
	inner := regexp.MustCompile(`,\s*("[^"]*"|-?[0-9.]+)\s*[,\]]`).FindAllSubmatchIndex(text, -1)
	return append(all, inner...)
}

// wrongs are values that may be wrong anywhere: too small, too large, on a limit,
// of another type, or none.
func wrongs() []string {
	return []string{
		"0", "1", "2", "-1", "0.000001", "0.5", "20000", "20000.000001", "10001", "999999.9999", "8999999999999.999999",
		`""`, `"0.0001"`, `"999999.9999"`, `"x"`, `"standard"`, `"ash-prime"`, `"whole"`, "true", "null", "[]", "{}",
	}
}

// with returns text with one value replaced.
func with(text []byte, at []int, value string) []byte {
	return slices.Concat(text[:at[2]], []byte(value), text[at[3]:])
}

// Any one value of a request may be wrong: the answer is a price or faults.
func TestAnyOneWrongValueOfARequestIsAnswered(t *testing.T) {
	b := starter(t)
	for _, name := range append(demos(), "five-faults") {
		text := demo(t, name)
		for _, at := range values(text) {
			for _, value := range wrongs() {
				var r pricing.Request
				if err := wire.Decode(with(text, at, value), &r); err != nil {
					spoken(t, err)
					continue
				}
				sound(t, r, b)
			}
		}
	}
}

// Any two values of the Book may be wrong: it is refused, or the demo requests are
// priced or refused.
func TestAnyTwoWrongValuesOfABookAreAnswered(t *testing.T) {
	text := []byte(encoded(t, starter(t).Data()))
	chests := read(t, demo(t, "full-quotation"))
	chests.AsOf = date.Date{}
	rapid.Check(t, func(rt *rapid.T) {
		wrong := text
		for range 2 {
			at := rapid.SampledFrom(values(wrong)).Draw(rt, "value")
			wrong = with(wrong, at, rapid.SampledFrom(wrongs()).Draw(rt, "wrong"))
		}
		soundBook(t, wrong, []pricing.Request{chests})
	})
}
