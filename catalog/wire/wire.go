// Package wire is JSON, CSV and workbooks in, and JSON out: strict decoding with pointers,
// deterministic encoding. It is the one place that names the JSON library, which
// is encoding/json/v2 under another path until the Go in use has it.
package wire

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"reckoner/pricing/fault"
)

// Encode returns v as JSON: members in struct order, maps by key, empty lists as
// [], no HTML escaping. The same value is the same bytes.
func Encode(v any) ([]byte, error) {
	return json.Marshal(v, json.Deterministic(true), json.WithMarshalers(numbers))
}

// Decode reads one JSON value into v. A text that is not JSON, has a repeated
// member or bad UTF-8 is refused with a *Malformed; an unknown or misspelt member,
// a wrong type or too many decimals with a fault.List of one. V is then not to be
// used.
func Decode(b []byte, v any) error {
	err := json.Unmarshal(b, v, json.RejectUnknownMembers(true), json.WithUnmarshalers(absent))
	if err == nil {
		return nil
	}
	syntax := (*jsontext.SyntacticError)(nil)
	if errors.As(err, &syntax) || errors.As(json.Unmarshal(b, new(jsontext.Value)), &syntax) { // decoding may have stopped before it
		return malformed(b, syntax)
	}
	if semantic := (*json.SemanticError)(nil); errors.As(err, &semantic) {
		return fault.List{{Pointer: fault.Fragment(string(semantic.JSONPointer)), Detail: detail(semantic)}}
	}
	return fmt.Errorf("decode: %w", err)
}

// A Malformed says that a text is not JSON, and at which byte.
type Malformed struct {
	Offset int64 // from 0
	Detail string
}

// Error says what is wrong and where.
func (m *Malformed) Error() string { return fmt.Sprintf("byte %d: %s", m.Offset, m.Detail) }

// Members returns the names of the members of the JSON object b, in their order;
// none for any other value.
func Members(b []byte) ([]string, error) {
	var v jsontext.Value
	if err := Decode(b, &v); err != nil {
		return nil, err
	}
	if v.Kind() != '{' {
		return nil, nil
	}
	d := jsontext.NewDecoder(bytes.NewReader(v))
	var names []string
	for _, err := d.ReadToken(); err == nil && d.PeekKind() == '"'; err = d.SkipValue() {
		name, _ := d.ReadToken() // well formed, as decoded above
		names = append(names, name.String())
	}
	return names, nil
}

// Tag returns the ETag of what the parts are together, by their digest.
func Tag(parts ...[]byte) string {
	all := sha256.New()
	for _, p := range parts {
		all.Write(p)
	}
	return `"` + hex.EncodeToString(all.Sum(nil)[:16]) + `"`
}

// A Text is JSON that is passed on as it is.
type Text = jsontext.Value
