package num_test

import (
	"testing"

	"reckoner/pricing/num"
)

// texts are numbers and what looks like them.
var texts = []string{"", "0", "-0", "1.5", "0012.50", "0.000001", "-3.25", "1.234", "1e3", ".5", "5.", "+1", " 1",
	"8999999999999.999999", "9000000000000", "null", `"1"`, "99999999999999999999.99"}

// FuzzDecimal: text or JSON that is read is written in a form that reads as the
// same number and is no longer; both readers agree.
func FuzzDecimal(f *testing.F) {
	for _, s := range texts {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := num.ParseDecimal(s)
		var j num.Decimal
		jsonErr := j.UnmarshalJSON([]byte(s))
		if s == "null" {
			return
		}
		if (err == nil) != (jsonErr == nil) || j != d {
			t.Fatalf("text %v %v, JSON %v %v", d, err, j, jsonErr)
		}
		if again, err2 := num.ParseDecimal(d.String()); err2 != nil || again != d || err == nil && len(d.String()) > len(s) {
			t.Fatalf("%q reads as %d, %s reads as %d, %v", s, d, d, again, err2)
		}
	})
}

// FuzzRate: parse(format(x)) = x.
func FuzzRate(f *testing.F) {
	for _, s := range texts {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var r, again num.Rate
		if r.UnmarshalText([]byte(s)) != nil {
			return
		}
		if err := again.UnmarshalText([]byte(r.String())); err != nil || again != r || r < 0 {
			t.Fatalf("%q reads as %d, %s reads as %d, %v", s, r, r, again, err)
		}
	})
}

// FuzzMoney: parse(format(x)) = x, decimals and all, and adding then taking off
// the same amount changes nothing.
func FuzzMoney(f *testing.F) {
	for _, s := range texts {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var m, again num.Money
		if m.UnmarshalText([]byte(s)) != nil {
			return
		}
		if err := again.UnmarshalText([]byte(m.String())); err != nil || again != m {
			t.Fatalf("%q reads as %s, then as %s, %v", s, m, again, err)
		}
		if back, ok := try(func() num.Money { return m.Times(3).Minus(m).Minus(m) }); ok && back != m {
			t.Fatalf("3 x %s less 2 x %s is %s", m, m, back)
		}
	})
}
