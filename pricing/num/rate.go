package num

// A Rate is money as people enter it: a price per unit or a sum, in
// ten-thousandths of the currency's unit. JSON: a string, "1850.00" or "0.0125".
type Rate int64

// ratePlaces is how many decimals a Rate has.
const ratePlaces = 4

// Times returns r x d, rounded once to four decimals.
func (r Rate) Times(d Decimal) Rate { return Rate(ratio(int64(r), int64(d), int64(One))) }

// Over returns r / d, rounded once to four decimals: the rate per unit of a pack
// of d. D is above zero.
func (r Rate) Over(d Decimal) Rate { return Rate(ratio(int64(r), int64(One), int64(d))) }

// Raised returns r + p of r, rounded once to four decimals.
func (r Rate) Raised(p Percent) Rate { return Rate(ratio(int64(r), int64(hundred+p), int64(hundred))) }

// Raised returns p + q of p, rounded once to two decimals.
func (p Percent) Raised(q Percent) Percent {
	return Percent(ratio(int64(p), int64(hundred+q), int64(hundred)))
}

// Change returns how much more r is than from, which is above zero, in percent of
// it, rounded once to two decimals.
func (r Rate) Change(from Rate) Percent {
	return Percent(ratio(int64(r)-int64(from), int64(hundred), int64(from)))
}

// String returns r with at least two and at most four decimals.
func (r Rate) String() string {
	var b [24]byte
	return string(appendCount(b[:0], int64(r), ratePlaces, 2))
}

// AppendText appends r with at least two and at most four decimals.
func (r Rate) AppendText(b []byte) ([]byte, error) {
	return appendCount(b, int64(r), ratePlaces, 2), nil
}

// MarshalText returns what AppendText appends.
func (r Rate) MarshalText() ([]byte, error) { return r.AppendText(nil) }

// UnmarshalText reads digits[.digits], at most four decimals, no sign or group.
func (r *Rate) UnmarshalText(b []byte) error {
	v, err := notation{ratePlaces, 0, "a sum from 0 with at most 4 decimals, such as 1850.00"}.text(string(b))
	if err == nil {
		*r = Rate(v)
	}
	return err
}
