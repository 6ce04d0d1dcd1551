package pricing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// A sharing is an amount taken off lines of up to three taxes, and what is then
// taxed. The sums are ours, worked beside each: an amount is shared by what bears
// each tax, the running total rounded half away from zero, so that a later share is
// the rounded total less those before.
type sharing struct {
	name, currency string
	nets           []string // of each tax; "" where no line bears it
	percents       []num.Percent
	off            string
	bases, taxes   []string // of the taxes with lines
	gross          string
}

func sharings() []sharing {
	vat := []num.Percent{20_00, 5_00, 0}
	return []sharing{
		{
			// 1.00 x 10 / 30 = 0.33, x 20 / 30 = 0.67, 1.00: shares 0.33, 0.34, 0.33
			// 20 % of 9.67 = 1.934, 5 % of 9.66 = 0.483; 29.00 + 1.93 + 0.48
			"three alike", "GBP", []string{"10.00", "10.00", "10.00"}, vat, "1.00",
			[]string{"9.67", "9.66", "9.67"}, []string{"1.93", "0.48", "0.00"}, "31.41",
		},
		{
			// 0.01 x 50 / 100 = 0.005, a tie, up to 0.01: shares 0.01, 0.00
			// 20 % of 49.99 = 9.998; 99.99 + 10.00
			"a penny over two alike", "GBP", []string{"50.00", "", "50.00"}, vat, "0.01",
			[]string{"49.99", "50.00"}, []string{"10.00", "0.00"}, "109.99",
		},
		{
			// 0.03 x 50 / 100 = 0.015, a tie, up to 0.02: shares 0.02, 0.01
			// 20 % of 49.98 = 9.996; 99.97 + 10.00
			"three pennies over two alike", "GBP", []string{"50.00", "", "50.00"}, vat, "0.03",
			[]string{"49.98", "49.99"}, []string{"10.00", "0.00"}, "109.97",
		},
		{
			// net 1670.22: 150 x 1234.56 / 1670.22 = 110.874, x 1580.23 / 1670.22 = 141.918:
			// shares 110.87, 31.05, 8.08; 20 % of 1123.69 = 224.738, 5 % of 314.62 = 15.731
			// 1520.22 + 224.74 + 15.73
			"three taxes", "GBP", []string{"1234.56", "345.67", "89.99"}, vat, "150.00",
			[]string{"1123.69", "314.62", "81.91"}, []string{"224.74", "15.73", "0.00"}, "1760.69",
		},
		{
			// every sign of the last turned
			"a correction of three taxes", "GBP", []string{"-1234.56", "-345.67", "-89.99"}, vat, "-150.00",
			[]string{"-1123.69", "-314.62", "-81.91"}, []string{"-224.74", "-15.73", "0.00"}, "-1760.69",
		},
		{
			// 99.99 x 800 / 1000 = 79.992, nothing of nothing, the rest 20.00
			// 20 % of 720.01 = 144.002; 900.01 + 144.00
			"nothing bears one of the taxes", "GBP", []string{"800.00", "0.00", "200.00"}, vat, "99.99",
			[]string{"720.01", "0.00", "180.00"}, []string{"144.00", "0.00", "0.00"}, "1044.01",
		},
		{
			"all of it", "GBP", []string{"1234.56", "345.67", "89.99"}, vat, "1670.22",
			[]string{"0.00", "0.00", "0.00"}, []string{"0.00", "0.00", "0.00"}, "0.00",
		},
		{
			"all of a penny", "GBP", []string{"", "0.01", ""}, vat, "0.01",
			[]string{"0.00"}, []string{"0.00"}, "0.00",
		},
		{
			// net 19134: 1000 x 12345 / 19134 = 645.19: shares 645, 355
			// 10 % of 11700, 8 % of 6434 = 514.72; 18134 + 1170 + 515
			"yen", "JPY", []string{"12345", "6789"}, []num.Percent{10_00, 8_00}, "1000",
			[]string{"11700", "6434"}, []string{"1170", "515"}, "19819",
		},
		{
			// net 100: 10.005 x 33.333 / 100 = 3.33497: shares 3.335, 6.670
			// 5 % of 29.998 = 1.4999; 89.995 + 1.500
			"dinars", "KWD", []string{"33.333", "66.667"}, []num.Percent{5_00, 0}, "10.005",
			[]string{"29.998", "59.997"}, []string{"1.500", "0.000"}, "91.495",
		},
	}
}

// document returns what Total is asked, each net as two lines.
func (s sharing) document(t *testing.T) pricing.Document {
	c, err := num.ParseCurrency(s.currency)
	require.NoError(t, err)
	d := pricing.Document{DiscountAmount: money(t, c, s.off), Paid: c.Zero()}
	for i, n := range s.nets {
		tax := book.Tax{Code: string(rune('a' + i)), Name: "VAT", Percent: s.percents[i]}
		d.Taxes = append(d.Taxes, tax)
		if n == "" {
			continue
		}
		net := money(t, c, n)
		part := net.Percent(61_80)
		d.Lines = append(d.Lines, pricing.Net{Amount: part, Tax: tax.Code}, pricing.Net{Amount: net.Minus(part), Tax: tax.Code})
	}
	return d
}

func TestAnAmountIsSharedOverTheTaxes(t *testing.T) {
	for _, s := range sharings() {
		d := s.document(t)
		got := pricing.Total(d)
		conforms(t, d, got)
		var bases, taxes []string
		for _, x := range got.Tax {
			bases, taxes = append(bases, x.Basis.String()), append(taxes, x.Amount.String())
		}
		assert.Equal(t, s.bases, bases, s.name)
		assert.Equal(t, s.taxes, taxes, s.name)
		assert.Equal(t, s.gross, got.Gross.String(), s.name)
		assert.Equal(t, s.off, got.Discount.String(), s.name)
	}
}

// A line moves no share, wherever among the others it stands.
func TestTheOrderOfLinesMovesNoShare(t *testing.T) {
	for _, s := range sharings() {
		d := s.document(t)
		want := pricing.Total(d)
		for range d.Lines {
			d.Lines = append(d.Lines[1:], d.Lines[0])
			require.Equal(t, want, pricing.Total(d), s.name)
		}
	}
}

// Each payment is the gross up to it, rounded half away from zero, less those before.
// The sums are ours.
func TestPaymentsAddUpToTheGross(t *testing.T) {
	thirds := []num.Percent{33_33, 33_33, 33_34}
	for _, tt := range []struct {
		currency, gross string
		percents        []num.Percent
		want            []string
	}{
		{"GBP", "100.00", thirds, []string{"33.33", "33.33", "33.34"}},
		{"GBP", "100.01", thirds, []string{"33.33", "33.34", "33.34"}}, // 33.3333, 66.6667 up to 66.67, 100.01
		{"GBP", "0.01", []num.Percent{50_00, 50_00}, []string{"0.01", "0.00"}},
		{"GBP", "0.01", []num.Percent{49_99, 50_01}, []string{"0.00", "0.01"}},
		{"GBP", "-0.01", []num.Percent{50_00, 50_00}, []string{"-0.01", "0.00"}},
		{"GBP", "1234.57", []num.Percent{40_00, 35_00, 25_00}, []string{"493.83", "432.10", "308.64"}}, // 493.828, 925.9275 up to 925.93, 1234.57
		{"GBP", "12.34", []num.Percent{100_00}, []string{"12.34"}},
		{"GBP", "0.00", []num.Percent{30_00, 70_00}, []string{"0.00", "0.00"}},
		{"JPY", "101", thirds, []string{"34", "33", "34"}},                                        // 33.6633 up to 34, 67.3266 down to 67, 101
		{"KWD", "10.001", []num.Percent{12_50, 87_50}, []string{"1.250", "8.751"}},                // 1.250125
		{"KWD", "0.004", []num.Percent{12_50, 25_00, 62_50}, []string{"0.001", "0.001", "0.002"}}, // 0.0005 up to 0.001, 0.0015 up to 0.002, 0.004
	} {
		c, err := num.ParseCurrency(tt.currency)
		require.NoError(t, err)
		d := pricing.Document{Lines: []pricing.Net{{Amount: money(t, c, tt.gross), Tax: "none"}}, Taxes: []book.Tax{{Code: "none", Name: "No VAT"}}, Paid: c.Zero()}
		without := pricing.Total(d)
		require.Nil(t, without.Payments)
		for _, p := range tt.percents {
			d.Payments = append(d.Payments, book.Payment{Title: "Stage", Percent: p, Due: "in time"})
		}
		got := pricing.Total(d)
		var amounts []string
		for i, p := range got.Payments {
			amounts = append(amounts, p.Amount.String())
			assert.Equal(t, d.Payments[i], p.Payment)
		}
		assert.Equal(t, tt.want, amounts, "%s %s by %v", tt.currency, tt.gross, tt.percents)
		got.Payments = nil
		assert.Equal(t, without, got, "payments move no other total")
	}
}
