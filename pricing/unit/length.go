// Package unit holds lengths whose type carries the unit, the areas and volumes
// made of them, and the units that quantities are counted in. It knows no
// timber and no price.
package unit

import "reckoner/pricing/num"

// A Length is a distance in whole nanometres, so that a millimetre and a
// sixty-fourth of an inch (396 875 nm) are both exact. The zero Length is no
// length. JSON: millimetres, as a number (a Book's sizes; a piece's are Decimals
// in its own System).
type Length int64

// Lengths to multiply by. An inch is 25.4 mm exactly, by definition.
const (
	Nanometre  Length = 1
	Micrometre        = 1000 * Nanometre
	Millimetre        = 1000 * Micrometre
	Metre             = 1000 * Millimetre
	Inch              = 25_400 * Micrometre
)

// Millimetres returns l in millimetres, exactly: a nanometre is the millionth of
// a millimetre, as a Decimal counts millionths.
func (l Length) Millimetres() num.Decimal { return num.Decimal(l) }

// MarshalJSON writes l in millimetres.
func (l Length) MarshalJSON() ([]byte, error) { return l.Millimetres().MarshalJSON() }

// UnmarshalJSON reads millimetres; null leaves l as it was.
func (l *Length) UnmarshalJSON(b []byte) error { return (*num.Decimal)(l).UnmarshalJSON(b) }

// AppendSize appends l as s writes it, for messages: "1175", "46.259843".
func (l Length) AppendSize(b []byte, s System) []byte { return s.Size(l).Append(b) }

// Share returns each of n equal shares of l, cut down to the nanometre. L is not
// negative, n from 1.
func Share(l Length, n int) Length { return l / Length(n) }

// A System is how a piece writes its sizes: "mm" (the default) or "in". The zero
// System, and any text that is not Known, counts as "mm".
type System string

// The systems.
const (
	InMillimetres System = "mm"
	InInches      System = "in"
)

// Known reports whether s is one of the two systems; the zero System is not.
func (s System) Known() bool { return s == InMillimetres || s == InInches }

// Length returns size, written in s, rounded once to a nanometre.
func (s System) Length(size num.Decimal) Length {
	if s == InInches {
		return Length(num.Product(6, num.One, size, Inch.Millimetres()))
	}
	return Length(size)
}

// Size returns l as s writes it: millimetres rounded to 4 decimals, inches to 6.
func (s System) Size(l Length) num.Decimal {
	if s == InInches {
		return num.Product(6, Inch.Millimetres(), l.Millimetres())
	}
	return l.Millimetres().Round(4)
}

// AtLeast returns the smallest size that s writes, of those as Size rounds them,
// whose Length is not below l: what to type where l is the least.
func (s System) AtLeast(l Length) num.Decimal {
	size := s.Size(l)
	if s.Length(size) < l {
		size += s.step()
	}
	return size
}

// AtMost returns the largest whose Length is not over l: what to type where l is
// the most.
func (s System) AtMost(l Length) num.Decimal {
	size := s.Size(l)
	if s.Length(size) > l {
		size -= s.step()
	}
	return size
}

// step is the last place of what Size returns.
func (s System) step() num.Decimal {
	if s == InInches {
		return 1
	}
	return 100
}
