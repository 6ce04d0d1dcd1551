package piece_test

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// names returns the JSON names of the settings (pointers to sizes) of a type.
func names(t reflect.Type) (list []string) {
	for _, f := range reflect.VisibleFields(t) {
		if f.Type == reflect.TypeFor[*num.Decimal]() {
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			list = append(list, name)
		}
	}
	return list
}

// The settings of a case and of a drawer by their names, with the default of each
// in millimetres and in inches; common practice, no source.
const (
	caseDefaults = `
top 25 1
side 22 0.8125
side_overhang 15 0.625
front_overhang 15 0.625
rear_overhang 0 0
rail 20 0.8125
rail_width 60 2.375
back_rail 50 2
tenon 15 0.5625
stub_tongue 8 0.3125
movement_gap 4 0.1875
housing 6 0.1875
runner_width 45 1.75
centre_runner_margin 20 0.75
guide 20 0.8125
stop 5 0.1875
plinth 80 3.125
plinth_thickness 20 0.8125
rebate 8 0.3125`
	lappedDefaults = `
box 12 0.5
front 20 0.8125
lap 6 0.25
flush 1 0.03125
side_clearance 0.5 0.03125
height_gap 2 0.0625
behind 10 0.375
groove 5 0.1875
groove_offset 10 0.375
bottom_clearance 1 0.03125
tail_pitch 35 1.375
loose_tail 25 1`
	appliedDefaults = `
box 12 0.5
front 20 0.8125
flush 1 0.03125
side_clearance 1 0.03125
height_gap 4 0.15625
front_gap 1.5 0.0625
behind 10 0.375
groove 5 0.1875
groove_offset 10 0.375
bottom_clearance 1 0.03125
bottom_thickness 8 0.3125
tail_pitch 35 1.375
loose_tail 25 1`
)

// A setting typed as its default makes the same chest as one left out; another size
// makes another. Every setting that there is stands in the tables.
func TestDefaults(t *testing.T) {
	chests := []string{
		`"width": 900, "depth": 480, "height": 900, "rows": [{"height": 150, "across": 2}, {"height": 160}, {}]`,
		`"width": 36, "depth": 20, "height": 40, "rows": [{"height": 6, "across": 2}, {"height": 10}, {}]`,
	}
	known := map[string]bool{}
	for _, group := range []struct{ table, drawers string }{
		{caseDefaults, ""}, {lappedDefaults, ` "construction": "lapped", "bottom_fit": "slid_in"`}, {appliedDefaults, ` "construction": "applied", "bottom": "solid", "bottom_fit": "slid_in"`},
	} {
		for row := range strings.Lines(strings.TrimSpace(group.table)) {
			words := strings.Fields(row)
			known[words[0]] = true
			for system, value := range words[1:] {
				plain, typed := `{`+chests[system]+`}`, merged(t, chests[system], `"`+words[0]+`": `+value)
				other := merged(t, chests[system], `"`+words[0]+`": `+near(words[0], value))
				if group.drawers != "" {
					in := func(member string) string { return merged(t, chests[system], `"drawers": {`+group.drawers+member+`}`) }
					plain, typed, other = in(""), in(`, "`+words[0]+`": `+value), in(`, "`+words[0]+`": `+near(words[0], value))
				}
				want := made(t, system, plain)
				assert.True(t, reflect.DeepEqual(want, made(t, system, typed)), "%s %s is the default", words[0], value)
				assert.False(t, reflect.DeepEqual(want, made(t, system, other)), "%s %s is not", words[0], near(words[0], value))
			}
		}
	}
	for _, name := range append(names(reflect.TypeFor[piece.Chest]()), names(reflect.TypeFor[piece.DrawerStyle]())...) {
		assert.True(t, known[name], "%s has no default in the tables", name)
	}
}

// near returns another size within the limits: an eighth more, or less of a housing,
// which a rail bears no deeper, and of a tenon, a side no longer.
func near(name, value string) string {
	d, _ := num.ParseDecimal(value)
	switch {
	case d == 0:
		return "1"
	case name == "housing" || name == "tenon":
		return (d - d/8).String()
	}
	return (d + d/8).String()
}

// made builds the chest of text in millimetres (0) or inches (1), without the
// pointers, which say what was typed.
func made(t *testing.T, system int, text string) piece.Build {
	t.Helper()
	p := read(t, "chest", text)
	if system == 1 {
		p.Units = "in"
	}
	b := built(t, p)
	for i := range b.Parts {
		b.Parts[i].At, b.Parts[i].ThickAt, b.Parts[i].LongAt, b.Parts[i].WideAt = "", "", "", ""
	}
	for i := range b.Joints {
		b.Joints[i].At = ""
	}
	return b
}

// A piece keeps every member through JSON, and leaves out those not given.
func TestPieceJSON(t *testing.T) {
	const text = `{"id":"chest","title":"Tall chest","quantity":2,"kind":"chest","units":"in","alternative_to":"other","optional":true,"tax":"zero",` +
		`"timbers":{"inner":"tulipwood","show":"ash"},"sheets":{"back":"ply-6","bottom":"ply-6"},"glue":"pva","finishes":{"inside":"shellac","outside":"oil"},` +
		`"ironmongery":[{"code":"knob","per":"drawer","each":2,"from_width":600,"below_width":900.5}],"dovetails":"machine","working_factor":1.25,` +
		`"waste_percent":{"sheet":12,"show":30.5},"extra_hours":[{"stage":"drawing","hours":2.5,"note":"visit"}],` +
		`"bought_in":[{"description":"Glass","quantity":1.5,"unit":"each","rate":"12.50"}],"agreed_price":"1850.00",` +
		`"chest":{"width":36,"depth":20,"height":40,"rows":[{"height":6,"across":2},{}],"drawers":{"construction":"applied","tape_strips":0,"one_board_fronts":true},"rear_overhang":0,"back_rails":"all","finished_back":true}}`
	var p piece.Piece
	require.NoError(t, json.Unmarshal([]byte(text), &p))
	out, err := json.Marshal(p)
	require.NoError(t, err)
	assert.Equal(t, text, string(out))
	assert.EqualValues(t, 0, *p.Chest.RearOverhang, "a typed 0 is typed")
	assert.Nil(t, p.Chest.Top)

	out, err = json.Marshal(piece.Piece{Kind: "service", Service: &piece.Service{}})
	require.NoError(t, err)
	assert.Equal(t, `{"title":"","kind":"service","service":{}}`, string(out))
}

// What a Build says of the style, for the rules that ask.
func TestStyle(t *testing.T) {
	for _, tt := range []struct {
		p                    *piece.Piece
		construction, bottom string
	}{
		{chestWith(t, ``), "lapped", "sheet"},
		{chestWith(t, `"drawers": {"construction": "applied", "bottom": "solid"}`), "applied", "solid"},
		{boxesWith(t, ``), "applied", "sheet"},
		{boxesWith(t, `"construction": "lapped", "bottom": "sheet"`), "lapped", "sheet"},
		{partsWith(t, ``), "", ""},
		{read(t, "service", `{}`), "", ""},
	} {
		b := built(t, tt.p)
		assert.Equal(t, []string{tt.construction, tt.bottom}, []string{b.Construction, b.Bottom}, tt.p.Kind)
	}
}
