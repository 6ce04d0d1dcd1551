package wire

import (
	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// numbers writes the numbers of a costing straight into the encoder's buffer:
// the same bytes as their own MarshalJSON, without an allocation each.
var numbers = json.JoinMarshalers(
	json.MarshalToFunc(appendTo[num.Decimal]),
	json.MarshalToFunc(appendTo[num.Percent]),
	json.MarshalToFunc(func(e *jsontext.Encoder, l unit.Length) error { return appendTo(e, l.Millimetres()) }),
)

// absent leaves out the null entries of maps: null counts as absent everywhere.
var absent = json.JoinUnmarshalers(
	json.UnmarshalFromFunc(withoutNull[string]),
	json.UnmarshalFromFunc(withoutNull[num.Percent]),
)

func withoutNull[T any](d *jsontext.Decoder, m *map[string]T) error {
	var all map[string]*T
	if err := json.UnmarshalDecode(d, &all); err != nil {
		return err
	}
	*m = nil
	for key, value := range all {
		if value == nil {
			continue
		}
		if *m == nil {
			*m = make(map[string]T, len(all))
		}
		(*m)[key] = *value
	}
	return nil
}

func appendTo[T interface{ Append([]byte) []byte }](e *jsontext.Encoder, n T) error {
	return e.WriteValue(n.Append(e.AvailableBuffer()))
}
