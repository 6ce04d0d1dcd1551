package exports

import (
	"strconv"
	"strings"
	"unicode"

	"reckoner/pricing"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// maxCell is how many UTF-16 units a cell of a workbook holds.
const maxCell = 32_767

// clean returns s as it may stand in a cell or on a terminal: valid UTF-8, no
// control or formatting characters but the line break, no space around it.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\t' || r == '\r':
			return ' '
		case unicode.IsControl(r), overrides(r), r == 0xfffe, r == 0xffff:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	return strings.TrimSpace(s)
}

// overrides reports whether r turns the direction of the text around it, so that
// a figure could be read backwards. Right-to-left letters need none of them.
func overrides(r rune) bool { return r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 }

// clip cuts s down to units of UTF-16, between characters.
func clip(s string, units int) string {
	n := 0
	for i, r := range s {
		n++
		if r > 0xffff {
			n++
		}
		if n > units {
			return s[:i]
		}
	}
	return s
}

// oneLine returns s cleaned and without line breaks.
func oneLine(s string) string { return strings.Join(strings.Fields(clean(s)), " ") }

// filled returns the texts that say something, each on one line.
func filled(texts ...string) []string {
	var out []string
	for _, s := range texts {
		if s = oneLine(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// size returns d as a maker reads it: inches as a fraction to 1/64 where that is
// exact ("35 7/16"), anything else in decimals.
func size(d num.Decimal, s unit.System) string {
	sixtyFourths := int64(d) * 64 / int64(num.One)
	if s != unit.InInches || d < 0 || num.Decimal(sixtyFourths)*num.One != d*64 {
		return d.String()
	}
	whole, over, under := sixtyFourths/64, sixtyFourths%64, int64(64)
	for over > 0 && over%2 == 0 {
		over, under = over/2, under/2
	}
	switch {
	case over == 0:
		return strconv.FormatInt(whole, 10)
	case whole == 0:
		return strconv.FormatInt(over, 10) + "/" + strconv.FormatInt(under, 10)
	}
	return strconv.FormatInt(whole, 10) + " " + strconv.FormatInt(over, 10) + "/" + strconv.FormatInt(under, 10)
}

// by returns sizes as "430 x 150 x 450 mm".
func by(s unit.System, sizes ...num.Decimal) string {
	var b strings.Builder
	for i, d := range sizes {
		if i > 0 {
			b.WriteString(" x ")
		}
		b.WriteString(size(d, s))
	}
	return b.String() + " " + string(s)
}

// counted returns a number in words up to twelve.
func counted(n int) string {
	words := [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}
	if n >= 0 && n < len(words) {
		return words[n]
	}
	return strconv.Itoa(n)
}

// several returns "one drawer", "six drawers".
func several(n int, one, many string) string {
	if n == 1 {
		return "one " + one
	}
	return counted(n) + " " + many
}

// longDate returns d as "1 November 2026".
func longDate(d date.Date) string {
	months := [...]string{"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"}
	s := d.String() // YYYY-MM-DD
	if d.IsZero() {
		return s
	}
	month, _ := strconv.Atoi(s[5:7])
	return strings.TrimLeft(s[8:], "0") + " " + months[month-1] + " " + strings.TrimLeft(s[:4], "0")
}

// percent returns p as "17.5 %".
func percent(p num.Percent) string { return p.String() + " %" }

// paymentWords returns what a payment is, its percentage and when it is due:
// "Deposit 40 %, when you accept".
func paymentWords(p *pricing.PaymentDue) string {
	title := oneLine(p.Title)
	if r := []rune(title); len(r) > 0 && unicode.IsDigit(r[len(r)-1]) {
		title += "," // no "Stage 2 30 %"
	}
	return title + " " + percent(p.Percent) + ", " + oneLine(p.Due)
}

// capital returns s with its first letter in upper case.
func capital(s string) string {
	for i, r := range s {
		return s[:i] + string(unicode.ToUpper(r)) + s[i+len(string(r)):]
	}
	return s
}

// splitLines returns the lines of s that say something.
func splitLines(s string) []string {
	var out []string
	for line := range strings.SplitSeq(s, "\n") {
		if line = strings.TrimSpace(line); line != "" {
			out = append(out, line)
		}
	}
	return out
}

// joinLines undoes wrap.
func joinLines(lines []string) string { return strings.Join(lines, " ") }

// footerText returns s as a page's footer takes it: at most 80 characters, an
// ampersand written twice.
func footerText(s string) string { return strings.ReplaceAll(clip(oneLine(s), 80), "&", "&&") }
