package wire

import (
	"bytes"

	"github.com/go-json-experiment/json/jsontext"
)

// Merge returns the JSON text target with a merge patch made on it (RFC 7396): a
// member of the patch takes the place of the target's, null takes it away, an object
// is merged into an object; anything else is put in whole. The error is a
// *Malformed.
func Merge(target, patch []byte) ([]byte, error) {
	for _, text := range [][]byte{target, patch} {
		if err := Decode(text, new(jsontext.Value)); err != nil {
			return nil, err
		}
	}
	return merged(target, patch), nil
}

// A named is a member of an object: its name, quoted, and its value.
type named struct{ name, value []byte }

// merged is Merge of texts that are JSON.
func merged(target, patch []byte) []byte {
	changes, isObject := membersOf(patch)
	if !isObject {
		return patch
	}
	members, _ := membersOf(target) // of anything else none is left
	for _, c := range changes {
		at := indexOf(members, c.name)
		switch {
		case jsontext.Value(c.value).Kind() == 'n' && at >= 0:
			members = append(members[:at], members[at+1:]...)
		case jsontext.Value(c.value).Kind() == 'n':
		case at >= 0:
			members[at].value = merged(members[at].value, c.value)
		default:
			members = append(members, named{c.name, merged([]byte("null"), c.value)})
		}
	}
	var out bytes.Buffer
	out.WriteByte('{')
	for i, m := range members {
		if i > 0 {
			out.WriteByte(',')
		}
		out.Write(m.name)
		out.WriteByte(':')
		out.Write(m.value)
	}
	out.WriteByte('}')
	return out.Bytes()
}

func indexOf(members []named, name []byte) int {
	for i := range members {
		if bytes.Equal(members[i].name, name) {
			return i
		}
	}
	return -1
}

// membersOf returns the members of a JSON object, their names in one spelling.
func membersOf(text []byte) (members []named, isObject bool) {
	d := jsontext.NewDecoder(bytes.NewReader(text))
	if d.PeekKind() != '{' {
		return nil, false
	}
	_, err := d.ReadToken()
	for err == nil && d.PeekKind() == '"' {
		var name jsontext.Token
		var value jsontext.Value
		if name, err = d.ReadToken(); err == nil {
			quoted, _ := jsontext.AppendQuote(nil, name.String()) // of a text that was read
			if value, err = d.ReadValue(); err == nil {
				members = append(members, named{quoted, value.Clone()})
			}
		}
	}
	return members, true
}
