package api_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/pricing/date"
)

// longList returns a list of that many rows: every item, day after day, each day for
// another price.
func longList(t testing.TB, rows int) string {
	items := object(t, "/v1/items")["items"].([]any)
	var list strings.Builder
	list.WriteString("code,price,unit,currency,effective_from\n")
	for i := range rows {
		item, n := items[i%len(items)].(map[string]any), i/len(items)
		fmt.Fprintf(&list, "%s,%d.25,%s,GBP,%s\n", item["code"], 10+n, item["price"].(map[string]any)["unit"], date.MustParse("2026-09-01").AddDays(n))
	}
	return list.String()
}

// The longest lists that are taken, as text and as a workbook, are previewed, applied
// and withdrawn by the service as it is run, within the time that it has to answer. An
// answer has some 150 bytes a row.
func TestTheLongestLists(t *testing.T) {
	const most = 20_000
	s := started(t, api.Config{})
	s.url = "http://" + run(t, s.handler, api.DefaultLimits()).address
	list := longList(t, most)
	for i, r := range []request{sendCSV(list), sendXLSX(workbook(t, list))} {
		kept := s.granted(t, 201, r)
		one := kept.header.Get("Location")
		require.Equal(t, fmt.Sprint(updates, "/", i+1), one)
		assert.Less(t, len(kept.body), most*200)
		assert.Equal(t, most, update(t, kept).Summary.Changed)
		s.granted(t, 200, submit(one+"/apply", `{"accept_large_moves": true}`))
		assert.Less(t, len(s.granted(t, 200, fetch(updates)).body), 1000, "without its rows")
		assert.Less(t, len(s.granted(t, 200, fetch("/v1/changes")).body), 2000, "without its rows")
		assert.Less(t, len(s.granted(t, 200, fetch("/v1/items/knob-35/prices")).body), 20_000)
		s.granted(t, 200, submit(one+"/withdraw", ""))
	}
	assert.Equal(t, tag(t, shared.service, "/v1/items/knob-35/prices"), tag(t, s, "/v1/items/knob-35/prices"))
}
