// Package date holds calendar dates without a time zone, and values that change
// from a date on. It never asks what day it is.
package date

import (
	"cmp"
	"fmt"
	"strings"
	"time"
)

// A Date is a calendar day of the years 1 to 9999, by the Gregorian calendar
// throughout; the zero Date is no day. Dates compare with ==. JSON:
// "2026-11-01" (ISO 8601). No day is written as "" and never read: leave such a
// member out (omitzero).
type Date struct {
	year       int16
	month, day uint8
}

// Parse reads YYYY-MM-DD and refuses days that do not exist.
func Parse(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Year() < 1 {
		return Date{}, fmt.Errorf("write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not %q", clip(s))
	}
	return Of(t), nil
}

// MustParse is Parse for constants and tests; it panics where Parse has an error.
func MustParse(s string) Date {
	d, err := Parse(s)
	if err != nil {
		panic("date: " + err.Error())
	}
	return d
}

// Of returns the day of t in t's own zone.
func Of(t time.Time) Date {
	y, m, d := t.Date()
	return Date{int16(y), uint8(m), uint8(d)}
}

// IsZero reports whether d is no day.
func (d Date) IsZero() bool { return d == Date{} }

// Compare returns -1, 0 or 1 as d is before, on or after e; no day comes first.
func (d Date) Compare(e Date) int {
	return cmp.Or(cmp.Compare(d.year, e.year), cmp.Compare(d.month, e.month), cmp.Compare(d.day, e.day))
}

// AddDays returns the day n days after d, or before it when n is negative. It is
// no day when d is none or the years 1 to 9999 end on the way.
func (d Date) AddDays(n int) Date {
	const all = 9999 * 366 // no two days of the calendar are further apart
	if d.IsZero() || n < -all || n > all {
		return Date{}
	}
	t := time.Date(int(d.year), time.Month(d.month), int(d.day)+n, 0, 0, 0, 0, time.UTC)
	if t.Year() < 1 || t.Year() > 9999 {
		return Date{}
	}
	return Of(t)
}

// String returns YYYY-MM-DD, or nothing for no day.
func (d Date) String() string { return string(d.append(nil)) }

// AppendText appends YYYY-MM-DD, or nothing for no day.
func (d Date) AppendText(b []byte) ([]byte, error) { return d.append(b), nil }

// MarshalText returns what AppendText appends.
func (d Date) MarshalText() ([]byte, error) { return d.append(nil), nil }

// UnmarshalText reads what Parse reads.
func (d *Date) UnmarshalText(b []byte) error {
	got, err := Parse(string(b))
	if err == nil {
		*d = got
	}
	return err
}

func (d Date) append(b []byte) []byte {
	if d.IsZero() {
		return b
	}
	return fmt.Appendf(b, "%04d-%02d-%02d", d.year, d.month, d.day)
}

// clip cuts what somebody wrote down to what an error can show of it.
func clip(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "..."
	}
	return s
}
