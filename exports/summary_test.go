package exports_test

import (
	"flag"
	"math/big"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden files anew")

func TestSummaryGolden(t *testing.T) {
	path := filepath.Join("testdata", "tall-chest.txt")
	got := summarised(t, papers(t)["tall-chest"])
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

func TestSummaryFits(t *testing.T) {
	all := papers(t)
	all["hostile"] = hostile(t)
	for name, p := range all {
		for line := range strings.Lines(summarised(t, p)) {
			line = strings.TrimSuffix(line, "\n")
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 100, "%s: %s", name, line)
			assert.Equal(t, strings.TrimRight(line, " "), line, name)
		}
	}
}

// added is the sum of sizes as a rule shows them: "25", "1 3/16".
func added(t *testing.T, sizes []string) *big.Rat {
	t.Helper()
	sum := new(big.Rat)
	for _, s := range sizes {
		for part := range strings.FieldsSeq(s) {
			r, ok := new(big.Rat).SetString(part)
			require.True(t, ok, part)
			sum.Add(sum, r)
		}
	}
	return sum
}

// A chest's height is its top, rails, openings and plinth, one upon the other.
func TestHeightsAddUp(t *testing.T) {
	height := regexp.MustCompile(`(?m)^Height +(.*(?:\n {9}[\d+= ].*)*) = (.*) (?:mm|in)$`)
	n := 0
	for name, p := range papers(t) {
		for _, m := range height.FindAllStringSubmatch(summarised(t, p), -1) {
			n++
			parts := strings.Split(strings.Join(strings.Fields(m[1]), " "), " + ")
			assert.Zero(t, added(t, parts).Cmp(added(t, []string{m[2]})), "%s: %s", name, m[0])
		}
	}
	assert.GreaterOrEqual(t, n, 4)
}

// A chest without a plinth, its openings all alike: (1000 - 25 - 4 x 20) / 3 is
// cut down to 298.333333, shown to four decimals.
func TestHeightsShared(t *testing.T) {
	r := decoded(t, `{"pieces": [{"title": "Chest", "kind": "chest", "quantity": 2, "timbers": {"show": "oak-prime", "inner": "oak-prime"},
		"sheets": {"bottom": "birch-ply-6", "back": "birch-ply-6"}, "chest": {"width": 700, "depth": 450, "height": 1000, "plinth": 0, "rows": [{}, {}, {}]}}]}`)
	p := paper(t, r, starter(t))
	said := summarised(t, p)
	assert.Contains(t, said, "Height   25 + 20 + 298.3333 + 20 + 298.3333 + 20 + 298.3333 + 20 = 1000 mm\n")
	assert.Contains(t, said, "down to the lowest rail")
	assert.Contains(t, said, " kg each\n")
	assert.Contains(t, said, "Unit price ")
	words := texts(cells(t, written(t, p)))
	assert.Contains(t, words, "Timber: European oak, prime, throughout.")
	assert.NotContains(t, words, "plinth")
	assert.Contains(t, words, "Finish: none.")
}

func TestSummarySays(t *testing.T) {
	all := papers(t)
	for _, tt := range []struct {
		name string
		has  []string
	}{
		{"issued", []string{"2026-0007: A bedroom in oak\n", "(instead of Bedroom chest: not in the totals)", "(could be added: not in the totals)", "Discount 2.5 %", "BOUGHT IN", "TO BUY", "CAUTIONS"}},
		{"free-parts", []string{"2 off", "ft3", "BOUGHT IN"}},
		{"drawer-boxes", []string{"24 drawer boxes", "  6 of 380 x 90 x 450 mm\n"}},
		{"agreed-below-cost", []string{"the line loses"}},
		{"dinar", []string{"All amounts in KWD."}},
	} {
		said := summarised(t, all[tt.name])
		for _, s := range tt.has {
			assert.Contains(t, said, s, tt.name)
		}
	}
}
