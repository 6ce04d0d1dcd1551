// Package fault says which parts of an input are wrong, all of them at once. It
// is not for failures of the program or the machine.
package fault

import (
	"fmt"
	"net/url"
	"strings"
)

// A FieldError says where an input is wrong and what to do about it.
type FieldError struct {
	Pointer string `json:"pointer"` // JSON pointer from the input's root, as a fragment (RFC 6901, section 6): "#/pieces/0/chest/width"
	Detail  string `json:"detail"`  // one sentence, with the figures and the remedy
}

// A List is every fault found, in the order of the input. A non-empty List is
// the error that Cost and book.New return; nil means none.
type List []FieldError

// Error lists the faults, one a line: the pointer, a colon, the detail.
func (l List) Error() string {
	var b strings.Builder
	for i, f := range l {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(f.Pointer + ": " + f.Detail)
	}
	return b.String()
}

// Err returns l as an error, or nil when it is empty.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}

// Add appends a fault at pointer ("#" is the root, "#/width" a member of it).
// The detail is made as by fmt.Sprintf.
func (l *List) Add(pointer, format string, args ...any) {
	*l = append(*l, FieldError{pointer, fmt.Sprintf(format, args...)})
}

// At returns l with prefix ("/pieces/0", or nothing) put in after the "#" of
// every pointer: what was found in a part, as seen from the whole. L stays as it is.
func (l List) At(prefix string) List {
	var moved List
	for _, f := range l {
		f.Pointer = "#" + prefix + strings.TrimPrefix(f.Pointer, "#")
		moved = append(moved, f)
	}
	return moved
}

// Unknown adds a fault of a word that is none of those that may stand at pointer,
// or of none where there must be one: what the word should be ("zone"), and what
// to do.
func (l *List) Unknown(pointer, word, what, remedy string) {
	if word == "" {
		l.Add(pointer, "the %s is missing: %s", what, remedy)
		return
	}
	l.Add(pointer, "%q is no %s: %s", word, what, remedy)
}

// Escape returns token, a member's name or a map's key, as it stands in a
// FieldError's pointer: "~" becomes "~0" and "/" becomes "~1" (RFC 6901, section
// 3), and what a fragment may not hold is percent-encoded (section 6).
func Escape(token string) string {
	return encoded(strings.ReplaceAll(strings.ReplaceAll(token, "~", "~0"), "/", "~1"))
}

// Fragment returns a JSON pointer ("/a b") as a FieldError's pointer ("#/a%20b").
func Fragment(pointer string) string { return "#" + encoded(pointer) }

// Pointer returns the JSON pointer ("/a b") of a FieldError's ("#/a%20b").
func Pointer(fragment string) string {
	coded := strings.TrimPrefix(fragment, "#")
	if plain, err := url.PathUnescape(coded); err == nil {
		return plain
	}
	return coded
}

func encoded(s string) string { return (&url.URL{Fragment: s}).EscapedFragment() }
