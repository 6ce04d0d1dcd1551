package pricing_test

import (
	"encoding/csv"
	"fmt"
	"math/big"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// A published invoice, row by row. The rows are read off the example files of two
// public repositories: ConnectingEurope/eInvoicing-EN16931 at b6c9e06 and
// OpenPEPPOL/peppol-bis-invoice-3 at 78d7f7d. The rules BR-CO-10 to BR-CO-17 are
// those of EN 16931 as published in the schematron of the former.
type invoice struct {
	name string
	rows []map[string]string
}

// invoices reads the examples, in the order of the file.
func invoices(t *testing.T) []invoice {
	f, err := os.Open("../testdata/en16931-examples.csv")
	require.NoError(t, err)
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var all []invoice
	for _, cells := range records[1:] {
		row := make(map[string]string)
		for i, c := range cells {
			row[records[0][i]] = c
		}
		if len(all) == 0 || all[len(all)-1].name != row["file"] {
			all = append(all, invoice{name: row["file"]})
		}
		last := &all[len(all)-1]
		last.rows = append(last.rows, row)
	}
	return all
}

// amount reads a cell as money of two decimals, as every currency of the examples
// has; an empty cell is nothing.
func amount(t *testing.T, row map[string]string, cell string) num.Money {
	c, err := num.ParseCurrency(row["currency"])
	require.NoError(t, err)
	require.Equal(t, 2, c.Places())
	if row[cell] == "" {
		return c.Zero()
	}
	return money(t, c, row[cell])
}

func number(t *testing.T, s string) num.Decimal {
	d, err := num.ParseDecimal(s)
	require.NoError(t, err)
	return d
}

// taxOf names a VAT category at a rate, however the rate is written, and its
// percentage.
func taxOf(t *testing.T, row map[string]string) (string, num.Percent) {
	p := num.Percent(number(t, row["vat_rate_pct"]) / (num.One / 100))
	return fmt.Sprintf("%s-%s", row["vat_category"], p), p
}

// document returns what Total is asked, from the rows of an invoice. Lines come
// with the amount printed, those known not to agree with their price too.
func document(t *testing.T, rows []map[string]string) (d pricing.Document) {
	for _, row := range rows {
		net := func() pricing.Net {
			code, _ := taxOf(t, row)
			return pricing.Net{Amount: amount(t, row, "amount"), Tax: code}
		}
		switch row["record"] {
		case "line":
			d.Lines = append(d.Lines, net())
		case "doc_allowance":
			d.Allowances = append(d.Allowances, net())
		case "doc_charge":
			d.Charges = append(d.Charges, net())
		case "vat_breakdown":
			code, percent := taxOf(t, row)
			d.Taxes = append(d.Taxes, book.Tax{Code: code, Name: "VAT", Percent: percent})
		case "total":
			if row["id"] == "BT-113" {
				d.Paid = amount(t, row, "amount")
			}
		}
	}
	return d
}

func TestTotalGivesEveryTotalOfThePublishedInvoices(t *testing.T) {
	rows, totals := 0, 0
	for _, v := range invoices(t) {
		d := document(t, v.rows)
		got := pricing.Total(d)
		tax := got.Gross.Minus(got.Taxable)
		terms := map[string]struct {
			rule string
			got  num.Money
		}{
			"BT-106": {"BR-CO-10: sum of line net amounts", got.Net},
			"BT-107": {"BR-CO-11: sum of document allowances", got.Discount},
			"BT-108": {"BR-CO-12: sum of document charges", got.Charges},
			"BT-109": {"BR-CO-13: BT-106 - BT-107 + BT-108", got.Taxable},
			"BT-110": {"BR-CO-14: sum of the tax of every category", tax},
			"BT-112": {"BR-CO-15: BT-109 + BT-110", got.Gross},
			"BT-113": {"paid, as given", d.Paid},
			"BT-115": {"BR-CO-16: BT-112 - BT-113", got.Balance},
		}
		breakdown := 0
		for _, row := range v.rows {
			rows++
			switch row["record"] {
			case "total":
				want, known := terms[row["id"]]
				require.True(t, known, row["id"])
				require.Zero(t, amount(t, row, "amount").Compare(want.got), "%s %s (%s): %s, published %s", v.name, row["id"], want.rule, want.got, row["amount"])
				totals++
			case "vat_breakdown":
				code, percent := taxOf(t, row)
				x := got.Tax[breakdown]
				breakdown++
				require.Equal(t, code, x.Code, v.name)
				require.Equal(t, percent, x.Percent)
				require.Zero(t, amount(t, row, "amount").Compare(x.Basis), "%s %s: basis %s, published %s (BR-S-08)", v.name, code, x.Basis, row["amount"])
				require.Zero(t, amount(t, row, "vat_amount").Compare(x.Amount), "%s %s: tax %s, published %s (BR-CO-17)", v.name, code, x.Amount, row["vat_amount"])
			}
		}
		require.Len(t, got.Tax, breakdown, "%s: a tax that the invoice does not have", v.name)
	}
	require.Equal(t, 177, rows, "every row of the file is read")
	require.Greater(t, totals, 70)
}

// conforms holds the totals of a document without a deposit and a discount by percent
// against BR-CO-10 to BR-CO-17, every sum worked out again in fractions, and against
// BR-S-08 and its like for the other categories: the bases are those of the lines.
func conforms(t require.TestingT, d pricing.Document, got pricing.Totals) {
	add := func(nets []pricing.Net) sum {
		total := new(big.Rat)
		for _, n := range nets {
			total = plus(total, coins(n.Amount))
		}
		return total
	}
	same := func(want sum, got num.Money, rule string) {
		require.Zero(t, want.Cmp(coins(got)), "%s: %s, want %s coins", rule, got, want.RatString())
	}
	net, off, on := add(d.Lines), plus(add(d.Allowances), coins(d.DiscountAmount)), add(d.Charges)
	same(net, got.Net, "BR-CO-10")
	same(off, got.Discount, "BR-CO-11")
	same(on, got.Charges, "BR-CO-12")
	taxable := plus(net, minus(off), on)
	same(taxable, got.Taxable, "BR-CO-13")
	bases, tax := new(big.Rat), new(big.Rat)
	for _, x := range got.Tax {
		same(percentOf(x.Percent, coins(x.Basis)), x.Amount, "BR-CO-17")
		bases, tax = plus(bases, coins(x.Basis)), plus(tax, coins(x.Amount))
	}
	require.Zero(t, bases.Cmp(taxable), "the bases add up to the taxable amount")
	same(tax, got.Gross.Minus(got.Taxable), "BR-CO-14")
	same(plus(taxable, tax), got.Gross, "BR-CO-15")
	same(plus(taxable, tax, minus(coins(d.Paid))), got.Balance, "BR-CO-16")
}

// byAmount returns d with its allowances as one amount, to be shared over the taxes,
// and that amount.
func byAmount(d pricing.Document) (pricing.Document, num.Money) {
	for _, a := range d.Allowances {
		d.DiscountAmount = d.DiscountAmount.Plus(a.Amount)
	}
	d.Allowances = nil
	return d, d.DiscountAmount
}

// ofTax returns what of nets bears a tax.
func ofTax(nets []pricing.Net, code string) (some []pricing.Net) {
	for _, n := range nets {
		if n.Tax == code {
			some = append(some, n)
		}
	}
	return some
}

// In every published invoice with allowances these are all of one rate, beside lines
// of others. What it prints of that rate, BT-116 and BT-117, is what an amount gives
// that is shared over the lines of that rate alone.
func TestADiscountByAmountAtOneRateIsThePublishedAllowance(t *testing.T) {
	fits := 0
	for _, v := range invoices(t) {
		d := document(t, v.rows)
		if len(d.Allowances) == 0 {
			continue
		}
		code := d.Allowances[0].Tax
		require.Len(t, ofTax(d.Allowances, code), len(d.Allowances), "%s: allowances of one rate", v.name)
		one, _ := byAmount(pricing.Document{Lines: ofTax(d.Lines, code), Allowances: d.Allowances, Charges: ofTax(d.Charges, code), Taxes: d.Taxes})
		got := pricing.Total(one)
		conforms(t, one, got)
		require.Len(t, got.Tax, 1, v.name)
		for _, row := range v.rows {
			if row["record"] != "vat_breakdown" {
				continue
			}
			if of, _ := taxOf(t, row); of != code {
				continue
			}
			require.Zero(t, amount(t, row, "amount").Compare(got.Tax[0].Basis), "%s: basis %s, published %s", v.name, got.Tax[0].Basis, row["amount"])
			require.Zero(t, amount(t, row, "vat_amount").Compare(got.Tax[0].Amount), "%s: tax %s, published %s", v.name, got.Tax[0].Amount, row["vat_amount"])
			fits++
		}
	}
	require.Equal(t, 4, fits)
}

// No published invoice shares an amount over rates, so that none prints what comes of
// it: the rules must hold, BT-106 to BT-109 stay as published, and the bases are worked
// beside each from the nets that it prints.
func TestADiscountByAmountOverTheRatesOfThePublishedInvoices(t *testing.T) {
	bases := map[string][]string{
		// 100 x 1460.50 / 1436.50 = 101.67, 100 x 1461.50 / 1436.50 = 101.74, all 100.00:
		// 1460.50 - 101.67 + 100 charged, 1.00 - 0.07, -25.00 + 1.74
		"ubl-tc434-example2.xml": {"1458.83", "0.93", "-23.26"},
		// 150 x 1500 / 4000 = 56.25, the rest 93.75: 1500 - 56.25 + 150 charged, 2500 - 93.75
		"ubl-tc434-example5.xml": {"1593.75", "2406.25"},
		// 200 x 4900 / 5900 = 166.10, the rest 33.90: 4900 - 166.10 + 200 charged, 1000 - 33.90
		"Allowance-example.xml": {"4933.90", "966.10"},
		// 100 x 4900 / 6900 = 71.01, the rest 28.99: 4900 - 71.01 + 200 charged, 2000 - 28.99
		"Vat-category-S.xml": {"5028.99", "1971.01"},
	}
	for _, v := range invoices(t) {
		d := document(t, v.rows)
		was := pricing.Total(d)
		d, off := byAmount(d)
		got := pricing.Total(d)
		conforms(t, d, got)
		if off.IsZero() {
			require.Equal(t, was, got, "%s has no allowance", v.name)
			continue
		}
		require.Equal(t, []num.Money{was.Net, was.Discount, was.Charges, was.Taxable}, []num.Money{got.Net, got.Discount, got.Charges, got.Taxable}, v.name)
		want := bases[v.name]
		delete(bases, v.name)
		require.Len(t, got.Tax, len(want), v.name)
		for i, x := range got.Tax {
			require.Equal(t, want[i], x.Basis.String(), "%s %s", v.name, x.Code)
		}
	}
	require.Empty(t, bases, "invoices that were not read")
}

// BT-131 = round(price / base quantity x quantity) + line charges - line
// allowances (EN 16931, and Peppol rule R120).
func TestLineAmountsOfThePublishedInvoices(t *testing.T) {
	agree, differ := 0, 0
	for _, v := range invoices(t) {
		for _, row := range v.rows {
			if row["record"] != "line" {
				continue
			}
			base := num.One
			if row["price_base_qty"] != "" {
				base = number(t, row["price_base_qty"])
			}
			product := num.Product(2, base, number(t, row["quantity"]), number(t, row["unit_price"]))
			c, err := num.ParseCurrency(row["currency"])
			require.NoError(t, err)
			net := c.Amount(product, 1_0000).Plus(amount(t, row, "line_charge")).Minus(amount(t, row, "line_allowance"))
			require.Zero(t, amount(t, row, "recomputed").Compare(net), "%s line %s: %s", v.name, row["id"], net)
			if row["match"] == "yes" {
				require.Zero(t, amount(t, row, "amount").Compare(net), "%s line %s: %s, published %s", v.name, row["id"], net, row["amount"])
				agree++
				continue
			}
			require.NotZero(t, amount(t, row, "amount").Compare(net), "%s line %s is a known flaw of the published file", v.name, row["id"])
			differ++
		}
	}
	require.Greater(t, agree, 50)
	require.Equal(t, 6, differ)
}

// A percentage of a document allowance or charge (Peppol rule R040).
func TestAllowancesByPercentOfThePublishedInvoices(t *testing.T) {
	n := 0
	for _, v := range invoices(t) {
		for _, row := range v.rows {
			if row["record"] == "line" || row["percent"] == "" {
				continue
			}
			p := num.Percent(number(t, row["percent"]) / (num.One / 100))
			require.Zero(t, amount(t, row, "amount").Compare(amount(t, row, "base_amount").Percent(p)), "%s %s", v.name, row["record"])
			n++
		}
	}
	require.Positive(t, n)
}

// Example 2 shows the rounding: 25 % of 1460.50 is 365.125, printed 365.13. A
// credit of the same amount is its mirror image: half away from zero.
func TestTaxIsRoundedHalfAwayFromZero(t *testing.T) {
	gbp, err := num.ParseCurrency("GBP")
	require.NoError(t, err)
	taxes := []book.Tax{{Code: "s", Name: "VAT", Percent: 25_00}}
	for net, tax := range map[string]string{"1460.50": "365.13", "-1460.50": "-365.13", "0.02": "0.01", "-0.02": "-0.01", "0.01": "0.00"} {
		got := pricing.Total(pricing.Document{Lines: []pricing.Net{{Amount: money(t, gbp, net), Tax: "s"}}, Taxes: taxes})
		require.Equal(t, tax, got.Tax[0].Amount.String(), net)
	}
}
