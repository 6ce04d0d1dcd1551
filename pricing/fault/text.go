package fault

import "unicode/utf8"

// Text adds a fault when s at pointer is longer than most characters, carries a
// control character other than a line break, or is required and empty.
func (l *List) Text(pointer, s string, most int, required bool) {
	if s == "" {
		if required {
			l.Add(pointer, "this text is missing: write it")
		}
		return
	}
	if n := utf8.RuneCountInString(s); n > most {
		l.Add(pointer, "%d characters: write at most %d", n, most)
	}
	for _, r := range s {
		if r < ' ' && r != '\n' || r == 0x7f {
			l.Add(pointer, "the text has the control character U+%04X: leave it out", r)
			return
		}
	}
}
