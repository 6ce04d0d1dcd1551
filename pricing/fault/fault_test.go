package fault_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/fault"
)

func TestErr(t *testing.T) {
	var none fault.List
	assert.NoError(t, none.Err())
	assert.NoError(t, fault.List{}.Err())
	assert.Equal(t, "", none.Error())

	var l fault.List
	l.Add("#/width", "%s is more than %d m", "20000.5", 20)
	l.Add("#", "a 100 %% share of nothing")
	assert.EqualError(t, l.Err(), "#/width: 20000.5 is more than 20 m\n#: a 100 % share of nothing")

	var got fault.List
	require.True(t, errors.As(fmt.Errorf("costing: %w", l.Err()), &got))
	assert.Equal(t, l, got)
	out, err := json.Marshal(l[:1])
	require.NoError(t, err)
	assert.Equal(t, `[{"pointer":"#/width","detail":"20000.5 is more than 20 m"}]`, string(out))
}

func TestAt(t *testing.T) {
	l := fault.List{{"#", "a"}, {"#/chest/width", "b"}}
	assert.Equal(t, fault.List{{"#/pieces/0", "a"}, {"#/pieces/0/chest/width", "b"}}, l.At("/pieces/0"))
	assert.Equal(t, l, l.At(""))
	assert.Equal(t, fault.FieldError{"#", "a"}, l[0], "l stays as it is")
	assert.NoError(t, fault.List(nil).At("/pieces/0").Err())
	assert.Equal(t, "#/a/b/chest/width", l.At("/b").At("/a")[1].Pointer)
}

// Source: RFC 6901, section 5: the members "a/b", "m~n", "" and " " of its
// example, and section 4 on "~01" (from memory).
func TestEscape(t *testing.T) {
	for token, want := range map[string]string{"foo": "foo", "": "", "a/b": "a~1b", "m~n": "m~0n", "~1": "~01", " ": "%20", "/~/": "~1~0~1", "ä/b%": "%C3%A4~1b%25"} {
		assert.Equal(t, want, fault.Escape(token))
	}
}

// Source: RFC 6901, section 6: the pointers of its example as fragments of a URI
// (from memory), each the other way too.
func TestFragment(t *testing.T) {
	for pointer, want := range map[string]string{
		"": "#", "/foo": "#/foo", "/foo/0": "#/foo/0", "/": "#/", "/a~1b": "#/a~1b", "/c%d": "#/c%25d", "/e^f": "#/e%5Ef", "/g|h": "#/g%7Ch",
		`/i\j`: "#/i%5Cj", `/k"l`: "#/k%22l", "/ ": "#/%20", "/m~0n": "#/m~0n", "/grün": "#/gr%C3%BCn", "/%20": "#/%2520",
	} {
		assert.Equal(t, want, fault.Fragment(pointer))
		assert.Equal(t, pointer, fault.Pointer(want))
	}
	assert.Equal(t, "/100%", fault.Pointer("#/100%"), "no fragment that was made here")
}

// Every name comes back as it was, however odd, and its fragment is one of ASCII
// without a space.
func FuzzEscape(f *testing.F) {
	for _, s := range []string{"", "show", "a/b~c", " ", "100%", "%25", "é\u202e", "<b>\"'\\", "\x00\xff", "a+b"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		escaped := fault.Escape(name)
		if i := strings.IndexFunc(escaped, func(r rune) bool { return r <= ' ' || r >= 0x7f || strings.ContainsRune(`"<>\^`+"`{|}#", r) }); i >= 0 {
			t.Fatalf("%q is %s in a pointer", name, escaped)
		}
		plain := strings.TrimPrefix(fault.Pointer("#/"+escaped), "/")
		if got := strings.ReplaceAll(strings.ReplaceAll(plain, "~1", "/"), "~0", "~"); got != name {
			t.Fatalf("%q comes back as %q", name, got)
		}
	})
}

func TestUnknown(t *testing.T) {
	var l fault.List
	l.Unknown("#/zone", "under", "zone", "write outside or inside")
	l.Unknown("#/zone", "", "zone", "write outside or inside")
	assert.Equal(t, fault.List{
		{"#/zone", `"under" is no zone: write outside or inside`},
		{"#/zone", "the zone is missing: write outside or inside"},
	}, l)
}

func TestText(t *testing.T) {
	tests := []struct {
		s        string
		required bool
		want     []string
	}{
		{"", false, nil},
		{"", true, []string{"this text is missing: write it"}},
		{"chest\nof six", true, nil},
		{"éééééééééééé", true, nil}, // 12 characters, 24 bytes
		{"thirteen long", true, []string{"13 characters: write at most 12"}},
		{"a\tb\rc", false, []string{"the text has the control character U+0009: leave it out"}},
		{"\x7f", false, []string{"the text has the control character U+007F: leave it out"}},
		{"a tab\tand too long", true, []string{"18 characters: write at most 12", "the text has the control character U+0009: leave it out"}},
	}
	for _, tt := range tests {
		var l, want fault.List
		for _, d := range tt.want {
			want.Add("#/title", "%s", d)
		}
		l.Text("#", "title", tt.s, 12, tt.required)
		assert.Equal(t, want, l, "%q", tt.s)
	}
}
