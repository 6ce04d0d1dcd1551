package num_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/num"
)

// currency is a Currency whose code is known to be one.
func currency(code string) num.Currency {
	c, err := num.ParseCurrency(code)
	if err != nil {
		panic(err)
	}
	return c
}

// Source: ISO 4217, list one of 2024-06-25, the columns code and minor unit; a
// second reading of it is the table of datasets/currency-codes@ab9b0ae. The last
// row of 2 is of later amendments, from memory.
func TestCurrencyPlaces(t *testing.T) {
	for places, codes := range map[int]string{
		0: "JPY KRW VND CLP ISK XAF XOF XPF UGX",
		2: "EUR GBP USD CHF SEK NOK DKK PLN CZK HUF CAD AUD NZD INR CNY TRY ZAR MGA MRU ZWG " +
			"XCG XAD",
		3: "BHD KWD JOD OMR TND IQD LYD",
	} {
		for code := range strings.FieldsSeq(codes) {
			c, err := num.ParseCurrency(code)
			require.NoError(t, err)
			assert.Equal(t, places, c.Places(), code)
			assert.Equal(t, code, c.String())
			assert.Equal(t, places, max(0, len(c.Zero().String())-2), "the decimals of 0 %s", code)
		}
	}
	for code := range strings.FieldsSeq("CLF UYW XAU XDR XTS XXX ANG BGN HRK DEM") {
		_, err := num.ParseCurrency(code)
		assert.Error(t, err, code)
	}
}

// Source: ISO 4217, list one of 2024-06-25: 17 codes have no decimals, 140 two
// and 7 three; from memory, 3 of the 140 have gone since and 2 have come.
func TestCurrencyCount(t *testing.T) {
	count := map[int]int{}
	for i := range 26 * 26 * 26 {
		code := []byte{'A' + byte(i/26/26), 'A' + byte(i/26%26), 'A' + byte(i%26)}
		if c, err := num.ParseCurrency(string(code)); err == nil {
			count[c.Places()]++
		}
	}
	assert.Equal(t, map[int]int{0: 17, 2: 139, 3: 7}, count)
}

func TestCurrencyText(t *testing.T) {
	var got struct{ C num.Currency }
	require.NoError(t, json.Unmarshal([]byte(`{"C": "GBP"}`), &got))
	assert.Equal(t, currency("GBP"), got.C)
	out, err := json.Marshal(got)
	require.NoError(t, err)
	assert.Equal(t, `{"C":"GBP"}`, string(out))
	assert.Equal(t, "", num.Currency{}.String())

	for _, code := range []string{"", "gbp", "GB", "GBPX", "AE ", "D A", " AF", "\x00\x00\x00", "€"} {
		_, err := num.ParseCurrency(code)
		require.Error(t, err)
		assert.Contains(t, err.Error(), "write the ISO 4217 code of a currency with 0, 2 or 3 decimals, such as GBP, not ")
	}
	assert.EqualError(t, json.Unmarshal([]byte(`{"C": "gbp"}`), &got),
		`write the ISO 4217 code of a currency with 0, 2 or 3 decimals, such as GBP, not "gbp"`)
	assert.Equal(t, currency("GBP"), got.C, "left as it was")
}

func TestExact(t *testing.T) {
	tests := []struct{ code, rate, want, err string }{
		{"GBP", "12.50", "12.50", ""},
		{"GBP", "0", "0.00", ""},
		{"JPY", "1200", "1200", ""},
		{"BHD", "1.125", "1.125", ""},
		{"GBP", "12.505", "", "12.505 has too many decimals for GBP: write at most 2"},
		{"JPY", "1200.50", "", "1200.50 has too many decimals for JPY: write none"},
		{"BHD", "1.1255", "", "1.1255 has too many decimals for BHD: write at most 3"},
	}
	for _, tt := range tests {
		m, err := currency(tt.code).Exact(rate(tt.rate))
		if tt.err != "" {
			assert.EqualError(t, err, tt.err)
			continue
		}
		require.NoError(t, err)
		assert.Equal(t, tt.want, m.String())
	}
}

// Source: the test files of EN 16931 (ConnectingEurope/eInvoicing-EN16931@b6c9e06)
// and of Peppol (OpenPEPPOL/peppol-bis-invoice-3@78d7f7d): quantity, unit price,
// for how many, and the line's net amount BT-131.
func TestAmountOfPublishedInvoices(t *testing.T) {
	tests := []struct{ file, quantity, price, base, want string }{
		{"ubl-tc434-example1 line 1", "2", "9.95", "1", "19.90"},
		{"ubl-tc434-example1 line 19", "6", "17.02", "1", "102.12"},
		{"ubl-tc434-example8 line 1", "16000", "0.0088", "1", "140.80"},
		{"ubl-tc434-example8 line 3", "132", "15.24", "12", "167.64"},
		{"ubl-tc434-example8 line 5", "1", "441.00", "12", "36.75"},
		{"sample-discount-price line 1", "100", "0.1212", "1", "12.12"},
		{"base-example line 2", "-3", "500", "1", "-1500.00"},
	}
	for _, tt := range tests {
		got := currency("EUR").Amount(dec(tt.quantity), rate(tt.price).Over(dec(tt.base)))
		assert.Equal(t, tt.want, got.String(), tt.file)
	}
}

func TestAmountAgainstBig(t *testing.T) {
	r := random(5)
	for _, c := range []num.Currency{currency("JPY"), currency("GBP"), currency("KWD")} {
		for range rounds {
			q, v := r.signed(63), r.natural(50)
			got, ok := try(func() int64 { return c.Amount(num.Decimal(q), num.Rate(v)).Minor() })
			hold(t, got, ok, rounded(product(q, v), power(10-c.Places())), c, q, v)
		}
	}
}
