package quotes

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// folded returns texts, a line each, as a search compares them: in lower case and
// without accents, however they were typed.
func folded(texts ...string) string {
	plain := strings.ToLower(norm.NFKD.String(strings.Join(texts, "\n"))) // of which some is in capitals: ™
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, plain)
}
