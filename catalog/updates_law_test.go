package catalog_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
	"reckoner/pricing/date"
)

// A layer is a price and the update that it is of; 0: it is of none.
type layer struct{ rate, update int64 }

// layers is what a price table is to be, as its rows are stacked: by "code date",
// what was put there, the last in force. What somebody puts or takes away by hand
// leaves nothing under it.
type layers map[string][]layer

// rows returns the table.
func (l layers) rows() []string {
	rows := []string{}
	for key, stack := range l {
		if len(stack) == 0 {
			continue
		}
		top, of := stack[len(stack)-1], "-"
		if top.update > 0 {
			of = fmt.Sprint(top.update)
		}
		rows = append(rows, fmt.Sprintf("%s %d each %s", key, top.rate*1_0000, of))
	}
	slices.Sort(rows)
	return rows
}

// on returns the rate in force.
func (l layers) on(code, day string) (rate int64, ok, known bool) {
	for _, key := range slices.Sorted(maps.Keys(l)) {
		c, d, _ := strings.Cut(key, " ")
		if stack := l[key]; c == code && len(stack) > 0 {
			known = true
			if d <= day {
				rate, ok = stack[len(stack)-1].rate, true
			}
		}
	}
	return rate, ok, known
}

// apply stacks the prices of an update, the earliest first: a row before the first
// price of its item is refused, one that changes nothing leaves nothing.
func (l layers) apply(id int64, prices map[string]int64) (keys []string) {
	for _, key := range slices.SortedFunc(maps.Keys(prices), func(a, b string) int { return strings.Compare(a[2:]+a, b[2:]+b) }) {
		code, day, _ := strings.Cut(key, " ")
		if rate, ok, known := l.on(code, day); known == ok && (!ok || rate != prices[key]) {
			l[key] = append(l[key], layer{prices[key], id})
			keys = append(keys, key)
		}
	}
	return keys
}

// withdraw takes an update away from the top of the stacks of its prices. It is not
// ok when another lies over one of them.
func (l layers) withdraw(id int64, keys []string) bool {
	for _, key := range keys {
		if stack := l[key]; len(stack) > 0 && stack[len(stack)-1].update != id && stack[len(stack)-1].update != 0 {
			return false
		}
	}
	for _, key := range keys {
		if stack := l[key]; len(stack) > 0 && stack[len(stack)-1].update == id {
			l[key] = stack[:len(stack)-1]
		}
	}
	return true
}

// A history is some changes of two items, as they are and as they should be.
type history struct {
	t      *testing.T
	rt     *rapid.T // fails, so that what was drawn is made less
	c      *catalog.Catalog
	s      *store.Store
	layers layers
	wrote  map[int64][]string // by update that stands: the places of its prices
	lists  int                // each has a text of its own
}

// step makes a change that is drawn.
func (h *history) step() {
	t, rt := h.t, h.rt
	key := rapid.Custom(func(rt *rapid.T) string {
		return rapid.SampledFrom([]string{"a", "b"}).Draw(rt, "code") + " " + rapid.SampledFrom([]string{"2026-11-01", "2026-12-01", "2027-01-01"}).Draw(rt, "day")
	})
	switch rapid.SampledFrom([]string{"list", "list", "withdraw", "put", "delete"}).Draw(rt, "what") {
	case "list":
		h.list(rapid.MapOfN(key, rapid.Int64Range(1, 4), 1, 4).Draw(rt, "prices"))
	case "withdraw":
		if len(h.wrote) > 0 {
			h.withdraw(rapid.SampledFrom(slices.Sorted(maps.Keys(h.wrote))).Draw(rt, "update"))
		}
	case "put":
		k, n := key.Draw(rt, "place"), rapid.Int64Range(1, 4).Draw(rt, "rate")
		priceNow(t, h.c, fmt.Sprintf("%s %d.00 each", k, n))
		h.layers[k] = []layer{{n, 0}}
	case "delete":
		k := key.Draw(rt, "place")
		_, err := h.c.ChangePrice(t.Context(), priceOf(t, k))
		require.Equal(h.rt, len(h.layers[k]) > 0, err == nil, "%v", err)
		h.layers[k] = nil
	}
	h.holds()
}

// list previews a list, which changes nothing, and applies it.
func (h *history) list(prices map[string]int64) {
	h.lists++
	list := head
	for key, rate := range prices { // in any order
		code, day, _ := strings.Cut(key, " ")
		list += fmt.Sprintf("%s,%d.00,each,GBP,%s\n", code, rate, day)
	}
	list += strings.Repeat("\n", h.lists)
	u := previewed(h.t, h.c, list)
	h.holds()
	require.Equal(h.rt, u.ID, applied(h.t, h.c, list).ID)
	h.wrote[u.ID] = h.layers.apply(u.ID, prices)
}

// withdraw withdraws an update, or finds that it cannot.
func (h *history) withdraw(id int64) (done bool) {
	_, err := h.c.Withdraw(h.t.Context(), id, date.MustParse(today))
	done = h.layers.withdraw(id, h.wrote[id])
	require.Equal(h.rt, done, err == nil, "%v", err)
	if done {
		delete(h.wrote, id)
	}
	return done
}

// holds checks the table, and that each price that is of an update is of one that is
// applied.
func (h *history) holds() {
	require.Equal(h.rt, h.layers.rows(), slices.DeleteFunc(priceTable(h.t, h.s), func(r string) bool { return r[1] != ' ' }))
	var orphans int
	err := h.s.Glance(h.t.Context()).Raw("SELECT count(*) FROM prices JOIN updates ON updates.id = update_id WHERE applied_at IS NULL OR withdrawn_at IS NOT NULL").Row().Scan(&orphans)
	require.NoError(h.rt, err)
	require.Zero(h.rt, orphans)
}

// Whatever is applied, withdrawn, put and taken away, the prices are those of the
// layers; and with every update taken back, the last first, only what was there
// before, and what was decided by hand, is left.
func TestAnyHistoryCanBeTakenBack(t *testing.T) {
	path := storetest.Path(t)
	h := history{t: t, c: opened(t, path), s: storetest.Open(t, path)}
	putNew(t, h.c, "a", "2026-01-01")
	putNew(t, h.c, "b", "2026-01-01")
	rapid.Check(t, func(rt *rapid.T) {
		storetest.Change(t, h.s, "DELETE FROM prices WHERE code IN ('a', 'b')")
		h.rt, h.layers, h.wrote = rt, layers{}, map[int64][]string{}
		priceNow(t, h.c, "a 2026-11-01 1.00 each")
		h.layers["a 2026-11-01"] = []layer{{1, 0}}
		for range rapid.IntRange(1, 10).Draw(rt, "steps") {
			h.step()
		}
		for _, id := range slices.Backward(slices.Sorted(maps.Keys(h.wrote))) {
			assert.True(rt, h.withdraw(id), "the last can always be taken back")
			h.holds()
		}
		for key, stack := range h.layers {
			assert.LessOrEqual(rt, len(stack), 1, key)
		}
	})
}
