package num

import (
	"fmt"
	"strconv"
	"strings"
)

// A Currency is an ISO 4217 code with its number of decimals (0, 2 or 3). The
// zero Currency is none. JSON: a string, "GBP".
type Currency struct {
	code   [3]byte
	places uint8
}

// The active codes of ISO 4217 by their number of decimals, from its list one as
// published on 2024-06-25. Changes since are from memory: XAD and XCG came;
// ANG, BGN and CUC went. Codes with four decimals (CLF, UYW) and those without a
// coin (metals, funds' units of account, tests) are left out.
const (
	coinless   = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
	hundredths = "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP " +
		"BYN BZD CAD CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB " +
		"EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES " +
		"KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR " +
		"MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD " +
		"RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP " +
		"TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG"
	thousandths = "BHD IQD JOD KWD LYD OMR TND"
)

// ParseCurrency looks code up in the table of ISO 4217 (0, 2 and 3 decimals).
func ParseCurrency(code string) (Currency, error) {
	if len(code) == 3 && !strings.Contains(code, " ") {
		for places, codes := range [...]string{0: coinless, 2: hundredths, 3: thousandths} {
			if strings.Contains(codes, code) {
				return Currency{[3]byte([]byte(code)), uint8(places)}, nil
			}
		}
	}
	return Currency{}, fmt.Errorf("write the ISO 4217 code of a currency with 0, 2 or 3 decimals, such as GBP, not %q", clip(code))
}

// Places returns how many decimals c has: 0, 2 or 3.
func (c Currency) Places() int { return int(c.places) }

// Zero returns no money in c.
func (c Currency) Zero() Money { return Money{places: c.places} }

// Coins returns an amount of that many smallest coins.
func (c Currency) Coins(n int64) Money { return Money{n, c.places} }

// Amount returns quantity x rate, rounded once to the smallest coin.
func (c Currency) Amount(quantity Decimal, rate Rate) Money {
	return Money{ratio(int64(quantity), int64(rate), tenTo(decimalPlaces+ratePlaces-c.Places())), c.places}
}

// Exact returns r as money; an error, which says what to write, if r has more
// decimals than the currency.
func (c Currency) Exact(r Rate) (Money, error) {
	coin := tenTo(ratePlaces - c.Places())
	if int64(r)%coin != 0 {
		most := "at most " + strconv.Itoa(c.Places())
		if c.places == 0 {
			most = "none"
		}
		return Money{}, fmt.Errorf("%s has too many decimals for %s: write %s", r, c, most)
	}
	return Money{int64(r) / coin, c.places}, nil
}

// String returns the code, or nothing for the zero Currency.
func (c Currency) String() string { return strings.TrimRight(string(c.code[:]), "\x00") }

// AppendText appends the code.
func (c Currency) AppendText(b []byte) ([]byte, error) { return append(b, c.String()...), nil }

// MarshalText returns the code.
func (c Currency) MarshalText() ([]byte, error) { return c.AppendText(nil) }

// UnmarshalText reads what ParseCurrency reads.
func (c *Currency) UnmarshalText(b []byte) (err error) {
	got, err := ParseCurrency(string(b))
	if err == nil {
		*c = got
	}
	return err
}
