package measure_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/measure"
	"reckoner/pricing/unit"
)

// listed is every measure in the order in which they are printed: name, unit, and
// what it is kept apart by.
const listed = `
piece each
part_line each
part each role
sheet_part each
sawn_board each role
rip m role
planed_area m2 role
panel each role
panel_area m2 role
edge_joint m role
case each
opening each
drawer each
box_size each
door each
shelf each
through_dovetail_corner each
lapped_dovetail_corner each
through_tail each
lapped_tail each
mortise_tenon each
housing_joint each
housing m
groove m
runner each
top_fixing each
joint_area m2
panel_glue_up each
box_glue_up each
case_glue_up each
glue_up each
masked_corner each
tape m
sanded_outside m2 role
sanded_inside m2 role
finish_pass each zone/product/method
coat m2 zone/product/method
denib m2 zone
ironmongery each item
sheet_cut m
finished_volume m3
net_volume m3
mass kg
delivery km
drop each
lift_person each
site h`

func TestAll(t *testing.T) {
	kept := map[measure.Shares]string{
		measure.Whole: "", measure.ByRole: " role", measure.ByFinish: " zone/product/method", measure.ByZone: " zone", measure.ByItem: " item",
	}
	var have strings.Builder
	for _, m := range measure.All {
		shares, ok := kept[m.Shares]
		require.True(t, ok, m.Name)
		fmt.Fprintf(&have, "\n%s %s%s", m.Name, m.Unit, shares)
	}
	assert.Equal(t, listed, have.String())
	assert.Len(t, measure.All, int(measure.Count))
}

func TestFind(t *testing.T) {
	seen := map[string]bool{}
	for i, m := range measure.All {
		id := measure.ID(i)
		assert.False(t, seen[m.Name], "%s stands twice", m.Name)
		seen[m.Name] = true
		found, ok := measure.Find(m.Name)
		assert.True(t, ok)
		assert.Equal(t, id, found)
		assert.Equal(t, m.Name, id.String())
		assert.Equal(t, m.Unit, id.Unit())
		assert.True(t, m.Unit.Known(), m.Name)
	}
	for _, name := range []string{"", "Piece", "piece ", "pieces", "coats", "outside/oil/brush"} {
		id, ok := measure.Find(name)
		assert.False(t, ok, name)
		assert.Zero(t, id)
	}
	assert.Equal(t, unit.M2, measure.Coat.Unit())
	assert.Equal(t, "sanded_outside", measure.SandedOutside.String())
}

// A meaning is one sentence in plain words, without a full stop, for a line of the
// workshop's papers.
func TestMeanings(t *testing.T) {
	seen := map[string]string{}
	for _, m := range measure.All {
		assert.Empty(t, seen[m.Meaning], "%s means what another does", m.Name)
		seen[m.Meaning] = m.Name
		assert.LessOrEqual(t, len(m.Meaning), 100, m.Name)
		assert.Equal(t, strings.TrimSpace(m.Meaning), m.Meaning, m.Name)
		assert.NotRegexp(t, regexp.MustCompile(`[.!?](\s|$)|[\n_]`), m.Meaning, m.Name)
		require.NotEmpty(t, m.Meaning, m.Name)
		assert.True(t, unicode.IsLower(rune(m.Meaning[0])), m.Name)
		assert.GreaterOrEqual(t, len(strings.Fields(m.Meaning)), 2, m.Name)
	}
}
