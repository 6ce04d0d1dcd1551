package book_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/book"
	"reckoner/pricing/unit"
)

// What terms that say nothing take a saw to do, what others say, and what none may:
// common practice, no source.
func TestSawing(t *testing.T) {
	for _, tt := range []struct {
		terms string
		want  book.Sawing
		fault string
	}{
		{`{}`, book.Sawing{Kerf: 3200 * unit.Micrometre, Trim: mm(10), OffcutMin: mm(300)}, ""},
		{`{"kerf": null, "trim": null}`, book.Sawing{Kerf: 3200 * unit.Micrometre, Trim: mm(10), OffcutMin: mm(300)}, ""},
		{`{"kerf": 0, "trim": 0, "offcut_min": 1}`, book.Sawing{OffcutMin: mm(1)}, ""},
		{`{"kerf": 20, "trim": 200, "offcut_min": 20000}`, book.Sawing{Kerf: mm(20), Trim: mm(200), OffcutMin: 20 * unit.Metre}, ""},
		{`{"kerf": 2.4}`, book.Sawing{Kerf: 2400 * unit.Micrometre, Trim: mm(10), OffcutMin: mm(300)}, ""},
		{`{"kerf": 20.000001}`, book.Sawing{}, "#/kerf: 20.000001 mm is out of range: write 0 to 20 mm"},
		{`{"kerf": -0.1}`, book.Sawing{}, "#/kerf: -0.1 mm is out of range: write 0 to 20 mm"},
		{`{"trim": 200.5}`, book.Sawing{}, "#/trim: 200.5 mm is out of range: write 0 to 200 mm"},
		{`{"offcut_min": 0}`, book.Sawing{}, "#/offcut_min: the size is missing or 0: write 1 to 20000 mm"},
		{`{"offcut_min": 20001}`, book.Sawing{}, "#/offcut_min: 20001 mm is out of range: write 1 to 20000 mm"},
	} {
		d := valid(t)
		var change book.TermsChange
		require.NoError(t, json.Unmarshal([]byte(tt.terms), &change), tt.terms)
		changed, faults := d.Terms.Changed(&change, d.Currency)
		require.NoError(t, json.Unmarshal([]byte(tt.terms), &d.Terms), tt.terms)
		at := pointers(t, d)
		if tt.fault != "" {
			assert.Equal(t, tt.fault, faults.Error())
			assert.Equal(t, []string{"#/terms" + faults[0].Pointer[1:]}, at)
			continue
		}
		assert.Empty(t, faults)
		assert.Empty(t, at)
		assert.Equal(t, tt.want, changed.Sawing(), tt.terms)
		assert.Equal(t, tt.want, d.Terms.Sawing(), tt.terms)
	}
}

// A request changes one of them and leaves the others to the book.
func TestSawingOfARequest(t *testing.T) {
	d := valid(t)
	d.Terms.Kerf, d.Terms.Trim = new(mm(4)), new(mm(15))
	changed, faults := d.Terms.Changed(&book.TermsChange{Trim: new(mm(0)), OffcutMin: new(mm(250))}, d.Currency)
	assert.Empty(t, faults)
	assert.Equal(t, book.Sawing{Kerf: mm(4), OffcutMin: mm(250)}, changed.Sawing())
	assert.Equal(t, mm(15), d.Terms.Sawing().Trim)
}

// A sheet says that it has a grain, or nothing.
func TestGrain(t *testing.T) {
	d := valid(t)
	require.False(t, d.Sheets[0].Grain)
	text, err := json.Marshal(d.Sheets[0])
	require.NoError(t, err)
	assert.NotContains(t, string(text), "grain")
	require.NoError(t, json.Unmarshal([]byte(`{"grain": true}`), &d.Sheets[0]))
	assert.True(t, made(t, d).Sheet("ply-6").Grain)
}
