package fault

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Text adds a fault when s, the member of the object at pointer, is longer than
// most characters, is not UTF-8, carries a control character other than a line
// break, or is
// required and has nothing to show.
func (l *List) Text(pointer, member, s string, most int, required bool) {
	at := func() string { return pointer + "/" + member }
	if required && !strings.ContainsFunc(s, isShown) {
		l.Add(at(), "this text is missing: write it")
		return
	}
	if n := utf8.RuneCountInString(s); n > most {
		l.Add(at(), "%d characters: write at most %d", n, most)
	}
	if !utf8.ValidString(s) {
		l.Add(at(), "the text is not UTF-8: write it again")
		return
	}
	for _, r := range s {
		if r < ' ' && r != '\n' || r >= 0x7f && r < 0xa0 {
			l.Add(at(), "the text has the control character U+%04X: leave it out", r)
			return
		}
	}
}

// isShown reports whether r leaves a mark on paper.
func isShown(r rune) bool { return unicode.IsGraphic(r) && !unicode.IsSpace(r) }
