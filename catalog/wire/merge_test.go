package wire_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
)

// The test cases of RFC 7396, appendix A, all of them.
func TestMergeGivesTheCasesOfTheStandard(t *testing.T) {
	for _, tt := range []struct{ original, patch, result string }{
		{`{"a":"b"}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"b"}`, `{"b":"c"}`, `{"a":"b","b":"c"}`},
		{`{"a":"b"}`, `{"a":null}`, `{}`},
		{`{"a":"b","b":"c"}`, `{"a":null}`, `{"b":"c"}`},
		{`{"a":["b"]}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"c"}`, `{"a":["b"]}`, `{"a":["b"]}`},
		{`{"a":{"b":"c"}}`, `{"a":{"b":"d","c":null}}`, `{"a":{"b":"d"}}`},
		{`{"a":[{"b":"c"}]}`, `{"a":[1]}`, `{"a":[1]}`},
		{`["a","b"]`, `["c","d"]`, `["c","d"]`},
		{`{"a":"b"}`, `["c"]`, `["c"]`},
		{`{"a":"foo"}`, `null`, `null`},
		{`{"a":"foo"}`, `"bar"`, `"bar"`},
		{`{"e":null}`, `{"a":1}`, `{"e":null,"a":1}`},
		{`[1,2]`, `{"a":"b","c":null}`, `{"a":"b"}`},
		{`{}`, `{"a":{"bb":{"ccc":null}}}`, `{"a":{"bb":{}}}`},
	} {
		got, err := wire.Merge([]byte(tt.original), []byte(tt.patch))
		require.NoError(t, err)
		assert.Equal(t, tt.result, string(got), "%s with %s", tt.original, tt.patch)
	}
}

func TestMergeKeepsNumbersAsWrittenAndKnowsNamesHoweverSpelt(t *testing.T) {
	got, err := wire.Merge([]byte(`{ "a" : 1.2300, "\u0062" : [ 1 ] }`), []byte(`{"b": 100000000000000000001}`))
	require.NoError(t, err)
	assert.Equal(t, `{"a":1.2300,"b":100000000000000000001}`, string(got))
}

func TestMergeRefusesWhatIsNotJSON(t *testing.T) {
	for _, tt := range [][2]string{{`{`, `{}`}, {`{}`, `{"a":}`}, {`{}`, ``}, {`{"a":1,"a":2}`, `{}`}} {
		_, err := wire.Merge([]byte(tt[0]), []byte(tt[1]))
		var malformed *wire.Malformed
		assert.ErrorAs(t, err, &malformed, "%q", tt)
	}
}
