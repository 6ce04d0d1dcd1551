package date

import "slices"

// A Schedule is what one value has been over time, oldest first; each entry
// holds from its date until the next one's, that day excluded. No two entries
// have the same date.
type Schedule[T any] []Dated[T]

// A Dated is a value and the first day it holds.
type Dated[T any] struct {
	From  Date // the day the value begins to hold
	Value T    // what holds
}

// On returns the entry in force on d and the day the next one takes over (no
// day if none does); ok is false when d is before the first.
func (s Schedule[T]) On(d Date) (e Dated[T], until Date, ok bool) {
	i, exact := slices.BinarySearchFunc(s, d, func(e Dated[T], d Date) int { return e.From.Compare(d) })
	if exact {
		i++
	}
	if i < len(s) {
		until = s[i].From
	}
	if i == 0 {
		return e, until, false
	}
	return s[i-1], until, true
}
