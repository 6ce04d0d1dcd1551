package quotes

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// folded returns texts, a line each, as a search compares them: in lower case and
// without accents, however they were typed.
func folded(texts ...string) string {
	plain := norm.NFKD.String(strings.ToLower(strings.Join(texts, "\n")))
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, plain)
}
