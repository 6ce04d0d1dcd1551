package wire

import (
	"bytes"
	"encoding"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// malformed words an error of a text that is not JSON.
func malformed(b []byte, err *jsontext.SyntacticError) *Malformed {
	at := min(max(err.ByteOffset, 0), int64(len(b)))
	if errors.Is(err, jsontext.ErrDuplicateName) {
		return &Malformed{at, fmt.Sprintf("the member %q stands twice: write it once", last(err.JSONPointer))}
	}
	for _, mark := range []string{"\xef\xbb\xbf", "\xff\xfe", "\xfe\xff"} {
		if bytes.HasPrefix(b, []byte(mark)) {
			return &Malformed{0, "the text begins with a byte order mark: save it as UTF-8 without one"}
		}
	}
	if strings.Contains(err.Err.Error(), "UTF-8") {
		return &Malformed{at, "the text is not UTF-8: save it as UTF-8"}
	}
	if strings.Contains(err.Err.Error(), "depth") {
		return &Malformed{at, "the JSON is nested too deeply"}
	}
	if at == int64(len(b)) {
		return &Malformed{at, "the JSON ends too soon"}
	}
	return &Malformed{at, fmt.Sprintf("not JSON from %q on", excerpt(b[at:]))}
}

// excerpt returns the first characters of a text.
func excerpt[T ~string | ~[]byte](text T) string {
	const most = 40
	s := strings.ToValidUTF8(string(text[:min(len(text), most)]), "?")
	if len(text) > most {
		s += "..."
	}
	return s
}

// detail words what is wrong with a value.
func detail(err *json.SemanticError) string {
	if errors.Is(err, json.ErrUnknownName) {
		return fmt.Sprintf("there is no member %q here: check its spelling, and write small letters small", last(err.JSONPointer))
	}
	if err.Err != nil && strings.HasPrefix(err.Err.Error(), "write ") { // of our own number types
		return err.Err.Error()
	}
	switch {
	case errors.Is(err.Err, strconv.ErrRange):
		return "write a whole number with fewer digits, not " + excerpt(err.JSONValue)
	case errors.Is(err.Err, strconv.ErrSyntax) && err.JSONKind == '0':
		return "write a whole number, without decimals or exponent, not " + excerpt(err.JSONValue)
	}
	return fmt.Sprintf("%s does not go here: write %s", kindName(err.JSONKind), wanted(err.GoType))
}

// wanted says what a Go type takes.
func wanted(t reflect.Type) string {
	switch t {
	case nil:
		return "another value"
	case reflect.TypeFor[num.Rate]():
		return `a sum in quotes, such as "1850.00"`
	case reflect.TypeFor[date.Date]():
		return `a day in quotes, such as "2026-11-01"`
	}
	if reflect.PointerTo(t).Implements(reflect.TypeFor[encoding.TextUnmarshaler]()) {
		return "a text in quotes"
	}
	switch t.Kind() {
	case reflect.Struct, reflect.Map:
		return "an object {...}"
	case reflect.Slice, reflect.Array:
		return "a list [...]"
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "a text in quotes"
	case reflect.Int, reflect.Int64:
		return "a whole number"
	}
	return "another value"
}

func kindName(k jsontext.Kind) string {
	switch k {
	case '"':
		return "a text"
	case '0':
		return "a number"
	case '{':
		return "an object"
	case '[':
		return "a list"
	case 't', 'f':
		return k.String()
	}
	return "this value"
}

// last returns the last token of a pointer, cut short.
func last(p jsontext.Pointer) string { return excerpt(p.LastToken()) }
