package wire_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/catalog/wire"
	"reckoner/pricing/fault"
)

func TestInOrder(t *testing.T) {
	text := []byte(`{"pieces": [{"kind": "chest", "chest": {"tenon": 18, "rows": [{}], "a/b": 1, "é %": 1}, "title": ""}], "as_of": "x"}`)
	var faults fault.List
	for _, p := range []string{
		"#", "#/as_of", "#/pieces/0/title", "#/pieces/0/timbers", "#/pieces/0/chest/rows/0/height", "#/pieces/0/chest/rows",
		"#/pieces/0/chest/tenon", "#/pieces/0/chest/width", "#/pieces/0/chest/%C3%A9%20%25", "#/pieces/0/chest/a~1b", "#/pieces/0",
	} {
		faults.Add(p, "wrong")
	}
	before := append(fault.List(nil), faults...)
	var got []string
	for _, f := range wire.InOrder(text, faults) {
		got = append(got, f.Pointer)
	}
	assert.Equal(t, []string{
		"#", "#/pieces/0/timbers", "#/pieces/0", "#/pieces/0/chest/width", "#/pieces/0/chest/tenon",
		"#/pieces/0/chest/rows", "#/pieces/0/chest/rows/0/height", "#/pieces/0/chest/a~1b", "#/pieces/0/chest/%C3%A9%20%25", "#/pieces/0/title", "#/as_of",
	}, got, "in the order of the text; what is not there, where its object stands; in one place, as they were")
	assert.Equal(t, before, faults, "the list given stays as it was")
}
