package piece_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/piece"
)

// partsWith returns a list of one shelf, with those members beside it or instead.
func partsWith(t *testing.T, members string) *piece.Piece {
	t.Helper()
	return read(t, "parts", merged(t, `"parts": [{"name": "Shelf", "length": 800, "width": 250, "thickness": 20, "material": "show"}]`, members))
}

// Parts as written; a timber part over 1500 mm long loses 2 mm unless it says so.
func TestFreeParts(t *testing.T) {
	b := built(t, partsWith(t, `"glue_ups": 3, "parts": [
		{"name": "Shelf", "quantity": 3, "length": 800, "width": 250, "thickness": 20, "material": "show", "outside": {"faces": 2, "long_edges": 2, "ends": 2}, "inside": {}},
		{"name": "Rail", "length": 250, "width": 800.5, "thickness": 20, "material": "inner", "inside": {"faces": 1, "long_edges": 1}},
		{"name": "Long", "length": 1500.000001, "width": 100, "thickness": 20, "material": "oak"},
		{"name": "Long", "length": 2000, "width": 100, "thickness": 20, "material": "oak", "extra": 0},
		{"name": "Short", "length": 1500, "width": 100, "thickness": 20, "material": "oak"},
		{"name": "Short", "length": 900, "width": 100, "thickness": 20, "material": "oak", "extra": 3.5},
		{"name": "Panel", "length": 2000, "width": 400, "material": "ply-9"},
		{"name": "Panel", "length": 400, "width": 2000, "thickness": 9, "material": "ply-9", "inside": {"ends": 1}},
		{"name": "Back", "length": 600, "width": 400, "material": "back"}]`))
	assert.Equal(t, []string{
		"Shelf 3: 800 x 250 x 20 show out 2/2/2",
		"Rail 1: 250 x 800.5 x 20 inner in 1/1/0", // along the grain first, however short
		"Long 1: 1500.000001 x 100 x 20 oak extra 2",
		"Long 1: 2000 x 100 x 20 oak",
		"Short 1: 1500 x 100 x 20 oak",
		"Short 1: 900 x 100 x 20 oak extra 3.5",
		"Panel 1: 2000 x 400 x 9 ply-9",
		"Panel 1: 400 x 2000 x 9 ply-9 in 0/0/1",
		"Back 1: 600 x 400 x 6 back",
	}, lines(b))
	assert.Equal(t, 3, b.GlueUps)
	assert.Zero(t, b.Cases)
	assert.Empty(t, b.Boxes)
	assert.Empty(t, b.Joints)
	for i, p := range b.Parts {
		at := "#/parts/parts/" + string(rune('0'+i))
		assert.Equal(t, []string{at, at + "/length"}, []string{p.At, p.LongAt})
		assert.Empty(t, p.OneBoard)
	}
	// Where the thickness was typed alone it is at fault, else the part is.
	assert.Equal(t, "#/parts/parts/0/thickness", b.Parts[0].ThickAt)
	assert.Equal(t, "#/parts/parts/3", b.Parts[3].ThickAt, "thickness and extra together")
	assert.Equal(t, "#/parts/parts/6", b.Parts[6].ThickAt)
}

// Every type of joint, with its defaults: tails as a drawer's, slope 8, lap 6.
func TestFreeJoints(t *testing.T) {
	tests := []struct{ joint, want string }{
		{`{"type": "edge", "length": 1200, "thickness": 27}`, "edge 1: length 1200 thickness 27 show"},
		{`{"type": "edge", "quantity": 4, "length": 1200, "thickness": 27, "material": "oak"}`, "edge 4: length 1200 thickness 27 oak"},
		{`{"type": "housing", "quantity": 6, "length": 250, "thickness": 20, "depth": 8}`, "housing 6: length 250 thickness 20 depth 8"},
		{`{"type": "mortise_tenon", "quantity": 8, "length": 15, "width": 18, "thickness": 16}`, "mortise_tenon 8: length 15 width 18 thickness 16"},
		{`{"type": "mortise_tenon", "quantity": 12, "length": 15, "width": 18, "thickness": 16, "twin": true}`, "mortise_tenon 12: length 15 width 18 thickness 16 twin"},
		{`{"type": "through_dovetail", "quantity": 4, "height": 300, "tail_thickness": 20, "pin_thickness": 22}`,
			"through_dovetail 4: height 300 tail 20 pin 22 tails 9 slope 8"}, // 300 / 35 = 8.6
		{`{"type": "through_dovetail", "height": 300, "tail_thickness": 20, "pin_thickness": 22, "tails": 5, "slope": 6}`,
			"through_dovetail 1: height 300 tail 20 pin 22 tails 5 slope 6"},
		{`{"type": "through_dovetail", "height": 40, "tail_thickness": 20, "pin_thickness": 22, "tails": 1}`,
			"through_dovetail 1: height 40 tail 20 pin 22 tails 1 slope 8"},
		{`{"type": "lapped_dovetail", "quantity": 2, "height": 40, "tail_thickness": 12, "pin_thickness": 20}`,
			"lapped_dovetail 2: height 40 tail 12 pin 20 lap 6 tails 2 slope 8"}, // 40 / 35 = 1.1, at least 2
		{`{"type": "lapped_dovetail", "height": 150, "tail_thickness": 12, "pin_thickness": 20, "lap": 5}`,
			"lapped_dovetail 1: height 150 tail 12 pin 20 lap 5 tails 4 slope 8"},
		{`{"type": "groove", "quantity": 4, "length": 431}`, "groove 4: length 431"},
	}
	for _, tt := range tests {
		b := built(t, partsWith(t, `"joints": [`+tt.joint+`]`))
		assert.Equal(t, []string{tt.want}, joints(b), tt.joint)
		assert.Equal(t, "#/parts/joints/0", b.Joints[0].At)
		assert.Equal(t, !strings.HasPrefix(tt.want, "groove"), b.Joints[0].Glued(), tt.joint)
	}
	// In inches the lap is 1/4 and the pitch 1 3/8: 12 / 1.375 = 8.7.
	p := readInches(t, "parts", `{"parts": [{"name": "Side", "length": 20, "width": 12, "thickness": 0.75, "material": "show"}],
		"joints": [{"type": "lapped_dovetail", "height": 12, "tail_thickness": 0.5, "pin_thickness": 0.75}]}`)
	assert.Equal(t, []string{"lapped_dovetail 1: height 304.8 tail 12.7 pin 19.05 lap 6.35 tails 9 slope 8"}, joints(built(t, p)))
}

// A service has no parts; what is typed stands in Visit.
func TestService(t *testing.T) {
	b := built(t, read(t, "service", `{"delivery": 40.5, "drops": 1, "people": 2, "site": 3.25}`))
	assert.Equal(t, piece.Build{Visit: &piece.Service{Delivery: 40_500_000, Drops: 1, People: 2, Site: 3_250_000}}, b)
	assert.Equal(t, piece.Build{Visit: &piece.Service{}}, built(t, read(t, "service", `{}`)))
	for _, r := range []refusal{
		{`"delivery": -1`, []string{"#/service/delivery -1 10000"}},
		{`"delivery": 10000.1, "site": 10001`, []string{"#/service/delivery 10000.1 10000", "#/service/site 10001 10000"}},
		{`"drops": -1, "people": 10001`, []string{"#/service/drops -1 0 10000", "#/service/people 10001 10000"}},
	} {
		r.check(t, read(t, "service", "{"+r.members+"}"))
	}
}

func TestFreePartRefusals(t *testing.T) {
	shelf := func(members string) string {
		return `"parts": [` + merged(t, `"name": "Shelf", "length": 800, "width": 250, "thickness": 20, "material": "show"`, members) + `]`
	}
	const at = "#/parts/parts/0"
	for _, r := range []refusal{
		{`"parts": []`, []string{"#/parts/parts 0 1000"}},
		{shelf(`"name": ""`), []string{at + "/name"}},
		{shelf(`"name": "` + strings.Repeat("x", 201) + `"`), []string{at + "/name 201 200"}},
		{shelf(`"name": "a\tb"`), []string{at + "/name U+0009"}},
		{shelf(`"quantity": 10001`), []string{at + "/quantity 10001 10000"}},
		{shelf(`"length": 0`), []string{at + "/length 0 1 20000 mm"}},
		{shelf(`"length": -5`), []string{at + "/length -5 1 20000 mm"}},
		{shelf(`"width": 20000.1`), []string{at + "/width 20000.1 20000"}},
		{shelf(`"thickness": 0.999999`), []string{at + "/thickness 0.999999 1"}},
		{shelf(`"thickness": null`), []string{at + "/thickness"}},
		{shelf(`"material": "ply-9"`), []string{at + "/thickness 20 9 mm"}}, // a sheet part not as thick as its sheet
		{shelf(`"material": "back", "thickness": 6.000001`), []string{at + "/thickness 6 mm"}},
		{shelf(`"extra": -1`), []string{at + "/extra -1 0 20000"}},
		{shelf(`"outside": {"faces": 3}`), []string{at + "/outside/faces 3 0 2"}},
		{shelf(`"inside": {"long_edges": -1, "ends": 3}`), []string{at + "/inside/long_edges -1 0 2", at + "/inside/ends 3 2"}},
		{`"glue_ups": -1`, []string{"#/parts/glue_ups -1 0 10000"}},
		{`"glue_ups": 10001`, []string{"#/parts/glue_ups 10001 10000"}},
		{shelf(`"name": "", "length": 0, "width": 0, "thickness": 0, "inside": {"faces": 9}`),
			[]string{at + "/name", at + "/length 0", at + "/width 0", at + "/thickness 0", at + "/inside/faces 9"}},
	} {
		r.check(t, partsWith(t, r.members))
	}
}

func TestFreeJointRefusals(t *testing.T) {
	const at = "#/parts/joints/0"
	dovetail := func(members string) string {
		return merged(t, `"type": "through_dovetail", "height": 300, "tail_thickness": 20, "pin_thickness": 22`, members)
	}
	lapped := func(members string) string {
		return merged(t, `"type": "lapped_dovetail", "height": 300, "tail_thickness": 12, "pin_thickness": 20`, members)
	}
	for _, r := range []refusal{
		{`{"type": "biscuit"}`, []string{at + "/type biscuit edge housing mortise_tenon"}},
		{`{"type": "runner"}`, []string{at + "/type runner"}},
		{`{"type": ""}`, []string{at + "/type"}},
		{`{"type": "edge", "length": 1200}`, []string{at + "/thickness edge"}},
		{`{"type": "housing"}`, []string{at + "/length", at + "/thickness", at + "/depth"}},
		{`{"type": "mortise_tenon", "length": 15}`, []string{at + "/width", at + "/thickness"}},
		{`{"type": "groove"}`, []string{at + "/length groove"}},
		{`{"type": "through_dovetail"}`, []string{at + "/height", at + "/tail_thickness", at + "/pin_thickness"}},
		{`{"type": "edge", "length": 0, "thickness": 27}`, []string{at + "/length 0"}},
		{`{"type": "edge", "length": -3, "thickness": 27}`, []string{at + "/length -3"}},
		{`{"type": "edge", "length": 20001, "thickness": 27}`, []string{at + "/length 20001 20000"}},
		{`{"type": "edge", "length": 12, "thickness": 27, "quantity": 10001}`, []string{at + "/quantity 10001 10000"}},
		// Members without effect on the type.
		{`{"type": "edge", "length": 12, "thickness": 27, "depth": 4, "width": 4}`, []string{at + "/depth", at + "/width"}},
		{`{"type": "edge", "length": 12, "thickness": 27, "tails": 4, "slope": 6, "twin": true}`, []string{at + "/tails", at + "/slope", at + "/twin"}},
		{`{"type": "housing", "length": 12, "thickness": 27, "depth": 4, "material": "show"}`, []string{at + "/material"}},
		{dovetail(`"lap": 6`), []string{at + "/lap through_dovetail"}},
		{dovetail(`"twin": true, "length": 5`), []string{at + "/twin", at + "/length"}},
		{dovetail(`"slope": 7`), []string{at + "/slope 7 8 6"}},
		{dovetail(`"tails": 1001`), []string{at + "/tails 1001 1000"}},
		{dovetail(`"slope": 5, "tails": 2000`), []string{at + "/slope 5", at + "/tails 2000"}},
		// Lap against the pin board: the member typed alone, else the joint.
		{lapped(`"pin_thickness": 6`), []string{at + "/pin_thickness 6 mm"}},
		{lapped(`"pin_thickness": 8, "lap": 8`), []string{at + " 8 mm"}},
	} {
		r.check(t, partsWith(t, `"joints": [`+r.members+`]`))
	}
	many := strings.Repeat(`{"type": "groove", "length": 5},`, 1001)
	refusal{"1001 joints", []string{"#/parts/joints 1001 1000"}}.check(t, partsWith(t, `"joints": [`+many[:len(many)-1]+`]`))
	// What does not hang together is all said at once.
	refusal{"a size missing, and a slope", []string{at + "/pin_thickness", at + "/slope 7"}}.
		check(t, partsWith(t, `"joints": [{"type": "through_dovetail", "height": 300, "tail_thickness": 20, "slope": 7}]`))
}
