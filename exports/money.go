package exports

import (
	"strconv"
	"strings"

	"reckoner/pricing/num"
)

// symbol returns what stands before an amount: the sign of a currency that
// readers know by it, else its ISO code and a space.
func symbol(c num.Currency) string {
	switch code := c.String(); code {
	case "GBP":
		return "£"
	case "EUR":
		return "€"
	case "USD":
		return "$"
	default:
		return code + " "
	}
}

// moneyFormat returns the number format of a currency; off is of amounts taken
// off, which are kept positive and shown with a minus.
func moneyFormat(c num.Currency, off bool) string {
	f := `"` + symbol(c) + `"#,##0`
	if off {
		f = `"-` + symbol(c) + `"#,##0`
	}
	if c.Places() > 0 {
		f += "." + strings.Repeat("0", c.Places())
	}
	return f
}

// float returns an amount as a workbook stores it: the nearest binary number,
// which reads back as the same decimals.
func float(m num.Money) float64 {
	f, _ := strconv.ParseFloat(m.String(), 64) // what Money writes is a number
	return f
}

// grouped returns an amount with its thousands set apart: "12,345.60".
func grouped(s string) string {
	whole, rest, found := strings.Cut(s, ".")
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign, whole = "-", whole[1:]
	}
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if found {
		whole += "." + rest
	}
	return sign + whole
}

// written returns an amount as people write it: "£1,234.50".
func written(c num.Currency, m num.Money) string { return symbol(c) + grouped(m.String()) }

// tens returns ten to the power of n, in digits.
func tens(n int) string { return "1" + strings.Repeat("0", n) }

// shareOf returns the formula of what of an amount falls to a part of a whole. It
// counts in whole coins, in which a half is exact.
func shareOf(amount, part, whole string, c num.Currency) string {
	scale := tens(c.Places())
	coins := func(s string) string { return "ROUND(" + s + "*" + scale + ",0)" }
	return "ROUND(" + coins(amount) + "*" + coins(part) + "/" + coins(whole) + ",0)/" + scale
}
