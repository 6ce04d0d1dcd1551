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

func appendTo[T interface{ Append([]byte) []byte }](e *jsontext.Encoder, n T) error {
	return e.WriteValue(n.Append(e.AvailableBuffer()))
}
