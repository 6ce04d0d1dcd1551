package api_test

import (
	"encoding/csv"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// object returns the JSON object that a target is answered with.
func object(t testing.TB, target string) map[string]any {
	t.Helper()
	body, media := answered(t, fetch(target))
	assert.Equal(t, "application/json", media, target)
	var v map[string]any
	require.NoError(t, json.Unmarshal([]byte(body), &v), target)
	return v
}

// unpriced returns what stands in a Book without the prices in it.
func unpriced(v any) any {
	switch v := v.(type) {
	case map[string]any:
		delete(v, "price")
		for _, inner := range v {
			unpriced(inner)
		}
	case []any:
		for _, inner := range v {
			unpriced(inner)
		}
	}
	return v
}

func TestTheBookIsTheStarters(t *testing.T) {
	for _, day := range []string{"0001-01-01", "2026-01-04", "2026-01-05", "2026-06-30", today, "9999-12-31"} {
		got, _ := answered(t, fetch("/v1/book?as_of="+day))
		assert.Equal(t, line(t, bookOf(t, day).Data()), got, day)
	}
	got, _ := answered(t, fetch("/v1/book"))
	assert.Equal(t, line(t, bookOf(t, today).Data()), got, "the service's day")
}

// What the Book lists stands in its own list without prices, in the Book's order, and
// by itself.
func TestListsAreThoseOfTheBook(t *testing.T) {
	whole := object(t, "/v1/book")
	terms, _ := answered(t, fetch("/v1/terms"))
	assert.Equal(t, line(t, bookOf(t, today).Data().Terms), terms)
	lists := 0
	for _, route := range api.Routes() {
		name, get := strings.CutPrefix(route, "GET /v1/")
		name, one := strings.CutSuffix(name, "/{code}")
		if !get || !one || name == "items" {
			continue
		}
		lists++
		got := object(t, "/v1/"+name)
		assert.Equal(t, []any{today, whole["version"]}, []any{got["as_of"], got["book_version"]}, name)
		assert.Equal(t, unpriced(whole[name]), got[name], name)
		assert.Len(t, got, 3, name)
		for _, entry := range got[name].([]any) {
			assert.Equal(t, entry, object(t, "/v1/"+name+"/"+entry.(map[string]any)["code"].(string)), name)
		}
	}
	assert.Equal(t, 9, lists)
}

// spans returns the prices of the starter catalogue by code as its file has them,
// the oldest first, each until the next.
func spans(t testing.TB) map[string][]map[string]any {
	rows, err := csv.NewReader(strings.NewReader(file(t, "../catalog/starter/prices.csv"))).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"code", "price", "unit", "currency", "effective_from"}, rows[0][:5])
	slices.SortStableFunc(rows[1:], func(a, b []string) int { return strings.Compare(a[4], b[4]) })
	all := make(map[string][]map[string]any)
	for _, r := range rows[1:] {
		if n := len(all[r[0]]); n > 0 {
			all[r[0]][n-1]["until"] = r[4]
		}
		all[r[0]] = append(all[r[0]], map[string]any{"rate": r[1], "unit": r[2], "from": r[4]})
	}
	return all
}

// Items are what has a price, with the price of the day and how long it holds, as the
// starter's file of prices has them.
func TestItemsHaveThePricesOfTheDay(t *testing.T) {
	all := spans(t)
	for _, day := range []string{"2026-01-04", "2026-01-05", "2026-06-30", today} {
		got := object(t, "/v1/items?as_of="+day)
		items := got["items"].([]any)
		require.Len(t, items, len(all), day)
		assert.Equal(t, day, got["as_of"])
		var codes []string
		for _, i := range items {
			item := i.(map[string]any)
			code := item["code"].(string)
			codes = append(codes, code)
			var want any
			for _, s := range all[code] {
				if s["from"].(string) <= day {
					want = s
				}
			}
			assert.Equal(t, want, item["price"], "%s on %s", code, day)
			assert.Equal(t, day >= "2026-01-05", item["price"] != nil, "%s on %s", code, day)
		}
		assert.True(t, slices.IsSorted(codes))
	}
	for code, want := range all {
		got := object(t, "/v1/items/"+code+"/prices")
		var prices []map[string]any
		for _, p := range got["prices"].([]any) {
			prices = append(prices, p.(map[string]any))
		}
		assert.Equal(t, want, prices, code)
	}
	item := object(t, "/v1/items/ash-prime-27?as_of=2026-03-31")
	assert.Equal(t, map[string]any{
		"code": "ash-prime-27", "class": "timber", "description": "European ash, prime, 27 mm sawn",
		"price": map[string]any{"rate": "1760.00", "unit": "m3", "from": "2026-01-05", "until": all["ash-prime-27"][1]["from"]},
	}, item)
}

// A class chooses among the items, and the classes are all of them.
func TestItemsByClass(t *testing.T) {
	var apart []any
	for _, class := range []string{"timber", "sheet", "supply", "ironmongery", "labour"} {
		of := object(t, "/v1/items?class="+class)["items"].([]any)
		require.NotEmpty(t, of, class)
		for _, item := range of {
			assert.Equal(t, class, item.(map[string]any)["class"])
		}
		apart = append(apart, of...)
	}
	assert.ElementsMatch(t, object(t, "/v1/items")["items"], apart)
}
