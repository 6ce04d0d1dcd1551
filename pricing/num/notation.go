package num

import (
	"fmt"
	"strconv"
	"strings"
)

// A notation is how numbers of one kind are written: digits, or digits.digits.
type notation struct {
	places int    // decimals at most
	least  int64  // count of 10^-places; below 0, a '-' may stand in front
	remedy string // what to write, as the errors say it
}

// text reads s, which people wrote or a JSON string holds, as a count of
// 10^-places.
func (n notation) text(s string) (int64, error) {
	v, remedy := n.parse(s)
	if remedy != "" {
		return 0, fmt.Errorf("write %s, not %q", remedy, clip(s))
	}
	return v, nil
}

// json reads b, one JSON value as it stands in its document.
func (n notation) json(b []byte) (int64, error) {
	v, remedy := n.parse(string(b))
	if remedy != "" {
		return 0, fmt.Errorf("write %s, not %s", remedy, clip(string(b)))
	}
	return v, nil
}

// parse reads s, or returns what to write instead. The count stays below 9e18, so
// that it fits. What is read has a lower limit where it is used, which is said
// there.
func (n notation) parse(s string) (v int64, remedy string) {
	digits, minus := s, false
	if n.least < 0 {
		digits, minus = strings.CutPrefix(s, "-")
	}
	whole, decimals, point := strings.Cut(digits, ".")
	if !isDigits(whole) || point && !isDigits(decimals) || len(decimals) > n.places {
		return 0, n.remedy
	}
	for _, c := range whole + decimals + strings.Repeat("0", n.places-len(decimals)) {
		if v >= 9e17 {
			return 0, "a number with fewer digits"
		}
		v = 10*v + int64(c-'0')
	}
	if minus {
		v = -v
	}
	if v < n.least {
		return 0, n.remedy
	}
	return v, ""
}

// isDigits reports whether s is one digit or more and nothing else.
func isDigits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

// clip cuts what somebody wrote down to what an error can show of it.
func clip(s string) string {
	const most = 40
	for i := range s {
		if i >= most {
			return s[:i] + "..."
		}
	}
	return s
}

// appendCount writes v, a count of 10^-scale (0 to 6), with no more decimals
// than it needs and no fewer than least.
func appendCount(b []byte, v int64, scale, least int) []byte {
	u := uint64(v)
	if v < 0 {
		b, u = append(b, '-'), -u
	}
	one := uint64(tenTo(scale))
	b = strconv.AppendUint(b, u/one, 10)
	decimals := u % one
	for ; scale > least && decimals%10 == 0; scale-- {
		decimals /= 10
	}
	if scale == 0 {
		return b
	}
	b = append(b, ".000000"[:1+scale]...)
	for i := len(b) - 1; decimals > 0; i-- {
		b[i] += byte(decimals % 10)
		decimals /= 10
	}
	return b
}
