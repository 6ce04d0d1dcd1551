package date_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/date"
)

func TestText(t *testing.T) {
	type dated struct {
		On date.Date `json:"on,omitzero"`
	}
	for _, s := range []string{"2026-11-01", "0001-01-01", "9999-12-31", "2024-02-29"} {
		d, err := date.Parse(s)
		require.NoError(t, err)
		assert.Equal(t, s, d.String())
		assert.False(t, d.IsZero())
		out, err := json.Marshal(dated{d})
		require.NoError(t, err)
		assert.Equal(t, `{"on":"`+s+`"}`, string(out))
		var got dated
		require.NoError(t, json.Unmarshal(out, &got))
		assert.Equal(t, d, got.On)
	}

	var none date.Date
	assert.True(t, none.IsZero())
	assert.Equal(t, "", none.String())
	b, err := none.AppendText([]byte("x"))
	require.NoError(t, err)
	assert.Equal(t, "x", string(b))
	out, err := json.Marshal(dated{})
	require.NoError(t, err)
	assert.Equal(t, `{}`, string(out))
}

// The leap years are those of ISO 8601 and RFC 3339, appendix C (from memory).
func TestParseRefuses(t *testing.T) {
	for _, s := range []string{
		"", "2026", "2026-11", "2026-11-1", "2026-1-01", "26-11-01", "12026-11-01", "2026/11/01", "01-11-2026",
		" 2026-11-01", "2026-11-01 ", "2026-11-01T00:00:00Z", "2026-11-01.5", "+026-11-01", "-026-11-01", "2026-W44-7",
		"2026-00-10", "2026-13-01", "2026-11-00", "2026-11-31", "2026-02-29", "1900-02-29", "2100-02-29", "0000-01-01",
	} {
		_, err := date.Parse(s)
		assert.EqualError(t, err, `write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not "`+s+`"`)
	}
	_, err := date.Parse("first of November of the year two thousand and twenty-six")
	assert.EqualError(t, err, `write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not "first of November of the year two thousa..."`)

	d := date.MustParse("2000-02-29")
	assert.Error(t, d.UnmarshalText([]byte("2001-02-29")))
	assert.Equal(t, "2000-02-29", d.String(), "left as it was")
	assert.Panics(t, func() { date.MustParse("2001-02-29") })
}

func TestAddDays(t *testing.T) {
	tests := []struct {
		from string
		n    int
		want string
	}{
		{"2026-11-01", 0, "2026-11-01"},
		{"2026-11-01", 30, "2026-12-01"},
		{"2026-12-31", 1, "2027-01-01"},
		{"2024-02-28", 1, "2024-02-29"},
		{"2023-02-28", 1, "2023-03-01"},
		{"2026-03-01", -1, "2026-02-28"},
		// Source: POSIX, seconds since the epoch: 951 782 400 is 2000-02-29 (from memory).
		{"1970-01-01", 951_782_400 / 86_400, "2000-02-29"},
		{"9999-12-31", 1, ""},
		{"0001-01-01", -1, ""},
		{"2026-11-01", math.MaxInt, ""},
		{"2026-11-01", math.MinInt, ""},
		{"0001-01-01", 3_652_058, "9999-12-31"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, date.MustParse(tt.from).AddDays(tt.n).String(), "%s and %d days", tt.from, tt.n)
	}
	assert.True(t, date.Date{}.AddDays(800).IsZero(), "no day has no day after it")
}

// Source: the Gregorian calendar as in ISO 8601: a leap year every fourth, but of
// the hundredth years only every fourth; 146 097 days in 400 years.
func TestFourHundredYearsDayByDay(t *testing.T) {
	start := date.MustParse("1801-03-01")
	y, m, d := 1801, 3, 1
	days := []int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}
	for n := range 146_097 {
		got := start.AddDays(n)
		if want := []byte{
			'0' + byte(y/1000), '0' + byte(y/100%10), '0' + byte(y/10%10), '0' + byte(y%10), '-',
			'0' + byte(m/10), '0' + byte(m%10), '-', '0' + byte(d/10), '0' + byte(d%10),
		}; got.String() != string(want) {
			t.Fatalf("day %d is %s, want %s", n, got, want)
		}
		if got.AddDays(-n) != start {
			t.Fatalf("%d days from %s and back", n, start)
		}
		last := days[m-1]
		if m == 2 && y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			last++
		}
		if d++; d > last {
			m, d = m+1, 1
		}
		if m > 12 {
			y, m = y+1, 1
		}
	}
	assert.Equal(t, "2201-03-01", start.AddDays(146_097).String())
}

func TestCompare(t *testing.T) {
	ordered := []date.Date{{}, date.MustParse("1999-12-31"), date.MustParse("2026-01-02"), date.MustParse("2026-02-01"), date.MustParse("2026-02-02")}
	for i, d := range ordered {
		for j, e := range ordered {
			switch got := d.Compare(e); {
			case i < j:
				assert.Equal(t, -1, got)
			case i > j:
				assert.Equal(t, 1, got)
			default:
				assert.Equal(t, 0, got)
			}
		}
	}
}

// FuzzDate: what is read is written just as it was, and the next day is later.
func FuzzDate(f *testing.F) {
	for _, s := range []string{"2026-11-01", "2024-02-29", "0001-01-01", "9999-12-31", "", "2026-02-30", "2026-11-01T00:00:00Z"} {
		f.Add(s, 1)
	}
	f.Fuzz(func(t *testing.T, s string, n int) {
		d, err := date.Parse(s)
		if err != nil {
			return
		}
		if d.String() != s {
			t.Fatalf("%q reads as %s", s, d)
		}
		if e := d.AddDays(n); !e.IsZero() && (e.AddDays(-n) != d || (n > 0) != (e.Compare(d) > 0)) {
			t.Fatalf("%s and %d days is %s", d, n, e)
		}
	})
}
