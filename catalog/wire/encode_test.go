package wire_test

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

func encode(t testing.TB, v any) string {
	t.Helper()
	b, err := wire.Encode(v)
	require.NoError(t, err)
	return string(b)
}

func TestEncode(t *testing.T) {
	half := num.One / 2
	for _, tt := range []struct {
		v    any
		want string
	}{
		{nil, `null`},
		{[]int(nil), `[]`},
		{[]string{}, `[]`},
		{map[string]int(nil), `{}`},
		{map[string]int{"b": 2, "a": 1, "~": 3, "": 0}, `{"":0,"a":1,"b":2,"~":3}`},
		{"<b> & \u2028 é \x00", `"<b> & ` + "\u2028" + ` é \u0000"`},
		{num.Decimal(1_500_000), `1.5`},
		{&half, `0.5`},
		{(*num.Decimal)(nil), `null`},
		{[]num.Decimal{0, -1, math.MaxInt64}, `[0,-0.000001,9223372036854.775807]`},
		{num.Percent(17_50), `17.5`},
		{unit.Length(396_875), `0.396875`},
		{map[string]num.Percent{"show": 30_00}, `{"show":30}`},
		{num.Rate(1850_0000), `"1850.00"`},
		{num.Count(3), `3`},
		{piece.Surface{}, `{}`},
		{piece.Row{}, `{}`},
		{piece.Piece{Title: "A", Kind: "service", Service: &piece.Service{Delivery: half}}, `{"title":"A","kind":"service","service":{"delivery":0.5}}`},
		{book.Finish{Code: "bare"}, `{"code":"bare","description":"","coats":[]}`},
		{book.Price{Rate: 1, Unit: unit.M3}, `{"rate":"0.0001","unit":"m3","from":""}`},
		{struct {
			A []int `json:"a,omitzero"`
			B []int `json:"b"`
			C bool  `json:"c,omitzero"`
		}{}, `{"b":[]}`},
	} {
		assert.Equal(t, tt.want, encode(t, tt.v))
	}
	_, err := wire.Encode("\xff")
	assert.Error(t, err, "a text that is not UTF-8 is no JSON")
	_, err = wire.Encode(func() {})
	assert.Error(t, err)
}

// The same value is the same bytes, however its maps were filled.
func TestEncodeIsDeterministic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		keys := rapid.SliceOfDistinct(rapid.StringMatching(`[a-z]{1,4}`), func(s string) string { return s }).Draw(t, "keys")
		forth, back := map[string]string{}, map[string]string{}
		for i := range keys {
			forth[keys[i]] = keys[i]
			back[keys[len(keys)-1-i]] = keys[len(keys)-1-i]
		}
		a, err := wire.Encode(piece.Piece{Timbers: forth})
		b, other := wire.Encode(piece.Piece{Timbers: back})
		if err != nil || other != nil || !bytes.Equal(a, b) {
			t.Fatalf("%s\n%s", a, b)
		}
	})
}

// numbers are every type with a writer of its own, alone and as they stand in
// costings and Books.
type numbers struct {
	Decimal  num.Decimal            `json:"decimal"`
	Percent  num.Percent            `json:"percent"`
	Length   unit.Length            `json:"length"`
	Pointers [2]*num.Decimal        `json:"pointers"`
	Percents map[string]num.Percent `json:"percents"`
	Lengths  []unit.Length          `json:"lengths"`
	Left     *num.Percent           `json:"left,omitzero"`
	Zero     num.Decimal            `json:"zero,omitzero"`
	Any      any                    `json:"any"`
	Rate     num.Rate               `json:"rate"`
	Money    num.Money              `json:"money"`
}

// The writers of numbers give the bytes of the types' own MarshalJSON, with
// encoding/json as reference.
func TestNumbersAsTheirOwn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		count := func(name string) int64 {
			if rapid.Bool().Draw(t, name+" is small") {
				return rapid.Int64Range(-2_000_000, 2_000_000).Draw(t, name)
			}
			return rapid.Int64().Draw(t, name)
		}
		d, p := num.Decimal(count("decimal")), num.Percent(count("percent"))
		v := numbers{
			Decimal: d, Percent: p, Length: unit.Length(count("length")), Pointers: [2]*num.Decimal{&d, nil},
			Percents: map[string]num.Percent{"show": p, "inner": 0}, Lengths: []unit.Length{unit.Length(count("length")), 0},
			Left: &p, Any: d, Rate: num.Rate(count("rate")),
		}
		var want bytes.Buffer
		e := json.NewEncoder(&want)
		e.SetEscapeHTML(false)
		if err := e.Encode(v); err != nil {
			t.Fatal(err)
		}
		got, err := wire.Encode(v)
		if err != nil || string(got) != string(bytes.TrimSuffix(want.Bytes(), []byte("\n"))) {
			t.Fatalf("%v\n%s\n%s", err, got, want.Bytes())
		}
	})
}

// Decode reads what Encode wrote.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String()
		d := num.Decimal(rapid.Int64Range(-8e18, 8e18).Draw(t, "decimal"))
		p := piece.Piece{
			ID: text.Draw(t, "id"), Title: text.Draw(t, "title"), Kind: "parts", Quantity: num.Count(rapid.IntRange(1, 10_000).Draw(t, "quantity")),
			Timbers: map[string]string{text.Draw(t, "role"): text.Draw(t, "code")}, WorkingFactor: &d,
			Waste:    map[string]num.Percent{text.Draw(t, "role"): num.Percent(rapid.Int64Range(0, 8e18).Draw(t, "waste"))},
			BoughtIn: []piece.BoughtIn{{Description: text.Draw(t, "words"), Quantity: d, Unit: "each", Rate: num.Rate(rapid.Int64Range(0, 8e18).Draw(t, "rate"))}},
			Parts:    &piece.PartList{Parts: []piece.FreePart{{Name: text.Draw(t, "name"), Length: d, Thickness: &d, Outside: piece.Surface{Faces: rapid.Int().Draw(t, "faces")}}}},
		}
		b, err := wire.Encode(p)
		if err != nil {
			t.Fatal(err)
		}
		var again piece.Piece
		if err := wire.Decode(b, &again); err != nil {
			t.Fatalf("%s: %v", b, err)
		}
		if !assert.ObjectsAreEqual(p, again) {
			t.Fatalf("%s\n%+v\n%+v", b, p, again)
		}
	})
}
