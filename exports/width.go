package exports

import (
	"strings"
	"unicode"
)

// advance returns how wide r is in the sheet's typeface, in thousandths of the
// type size: Arial's own widths for ASCII (from memory), about that for the rest.
func advance(r rune) int {
	widths := [...]uint16{ // from the space on
		278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
		556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
		1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
		667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
		333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
		556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
	}
	switch {
	case r >= ' ' && int(r-' ') < len(widths):
		return int(widths[r-' '])
	case unicode.Is(unicode.Mn, r) || r == 0x200b || r == 0x200d || r == 0xfe0f:
		return 0
	case r < 0x250:
		return 600
	case r < 0x1100:
		return 750
	}
	return 1100 // ideographs and pictures
}

// columns returns how many columns of a terminal r takes.
func columns(r rune) int {
	switch {
	case advance(r) == 0:
		return 0
	case r >= 0x1100 && r <= 0x115f, r >= 0x2e80 && r <= 0xd7a3, r >= 0xf900 && r <= 0xfaff,
		r >= 0xfe30 && r <= 0xfe6f, r >= 0xff00 && r <= 0xff60, r >= 0x1f300 && r <= 0x1faff, r >= 0x20000:
		return 2
	}
	return 1
}

// measured returns the width of s, each of its characters as wide as of says.
func measured(s string, of func(rune) int) int {
	n := 0
	for _, r := range s {
		n += of(r)
	}
	return n
}

// wrap breaks s into lines at most wide, between words, or within a word that is
// wider than a line. Line breaks in s are kept.
func wrap(s string, wide int, of func(rune) int) []string {
	var lines []string
	for paragraph := range strings.SplitSeq(s, "\n") {
		line, used := "", 0
		for _, word := range strings.Fields(paragraph) {
			w := measured(word, of)
			if line != "" && used+of(' ')+w > wide {
				lines = append(lines, line)
				line, used = "", 0
			}
			if line != "" {
				line, used = line+" ", used+of(' ')
			}
			if used+w <= wide {
				line, used = line+word, used+w
				continue
			}
			for _, r := range word { // too wide for any line
				if used+of(r) > wide && line != "" {
					lines = append(lines, line)
					line, used = "", 0
				}
				line, used = line+string(r), used+of(r)
			}
		}
		lines = append(lines, line)
	}
	return lines
}

// lines breaks s as a cell of that many points does. The estimate errs towards
// more lines, so that nothing is cut.
func (l look) lines(s string, points float64) []string {
	const padding, slack, bold = 5, 1.03, 1.12
	each := l.size * slack
	if l.bold {
		each *= bold
	}
	return wrap(s, int((points-padding)*1000/each), advance)
}
