package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/api"
)

// ash is an item of the starter catalogue and its prices there.
const (
	ash   = "/v1/items/ash-prime-27/prices"
	ashAs = `{"code":"ash-prime-27","class":"timber","description":"European ash, prime, 27 mm sawn","prices":[` +
		`{"rate":"1760.00","unit":"m3","from":"2026-01-05","until":"2026-04-01"},` +
		`{"rate":"1790.00","unit":"m3","from":"2026-04-01","until":"2026-07-01"},` +
		`{"rate":"1825.00","unit":"m3","from":"2026-07-01","until":"2026-10-01"},` +
		`{"rate":"1850.00","unit":"m3","from":"2026-10-01"}]}` + "\n"
)

// A price is put, replaced, put before others, and taken away. Each answer is the
// history as GET has it then, and its tag is what the next change needs.
func TestPricesOfAnItem(t *testing.T) {
	s := started(t, api.Config{})
	first := tag(t, s, ash)
	last := first
	lastly := strings.TrimSuffix(ashAs, "}]}\n")
	for _, c := range []struct{ date, rate, body string }{
		{"2026-12-01", "1961", lastly + `,"until":"2026-12-01"},{"rate":"1961.00","unit":"m3","from":"2026-12-01"}]}`},
		{"2026-12-01", "1962.5025", lastly + `,"until":"2026-12-01"},{"rate":"1962.5025","unit":"m3","from":"2026-12-01"}]}`},
		{"2026-11-15", "0.00", lastly + `,"until":"2026-11-15"},{"rate":"0.00","unit":"m3","from":"2026-11-15","until":"2026-12-01"},{"rate":"1962.5025","unit":"m3","from":"2026-12-01"}]}`},
		{"2026-12-01", "", lastly + `,"until":"2026-11-15"},{"rate":"0.00","unit":"m3","from":"2026-11-15"}]}`},
		{"2026-11-15", "", lastly + "}]}"},
		{"2026-01-05", "", strings.Replace(lastly, `{"rate":"1760.00","unit":"m3","from":"2026-01-05","until":"2026-04-01"},`, "", 1) + "}]}"},
		{"2026-01-05", "1760.00", lastly + "}]}"},
	} {
		change := func(header ...string) request {
			if c.rate == "" {
				return remove(ash+"/"+c.date, header...)
			}
			return put(ash+"/"+c.date, fmt.Sprintf(`{"rate": "%s", "unit": "m3"}`, c.rate), header...)
		}
		s.refuses(t, 428, "precondition-required", "this needs If-Match with the ETag of what it changes", change())
		s.refuses(t, 428, "precondition-required", "this needs If-Match with the ETag of what it changes", change("If-None-Match: *"))
		s.refuses(t, 412, "precondition-failed", "its ETag is "+last+" now", change(`If-Match: "other"`))
		a := s.granted(t, 200, change("If-Match: "+last))
		assert.Equal(t, c.body+"\n", string(a.body))
		last = a.header.Get("Etag")
		assert.Equal(t, last, tag(t, s, ash))
		assert.Equal(t, c.body+"\n", string(s.granted(t, 200, fetch(ash)).body))
	}
	assert.Equal(t, first, last, "the same history has the same tag")
	assert.Equal(t, ashAs, string(s.granted(t, 200, fetch(ash)).body))
	s.refuses(t, 404, "not-found", `there is no price with the code "ash-prime-27" on 2026-12-01`, remove(ash+"/2026-12-01", "If-Match: "+last))
	s.refuses(t, 404, "not-found", `there is no price with the code "ash-prime-27" on 2026-10-02`, remove(ash+"/2026-10-02", "If-Match: "+last))
	all := find(t, s.granted(t, 200, fetch("/v1/changes")).body, "/changes").([]any)
	assert.Len(t, all, 7)
	for i, want := range []string{"put_price 1760.00", "delete_price 1760.00", "delete_price 0.00", "delete_price 1962.5025", "put_price 0.00", "put_price 1961.00 1962.5025", "put_price 1961.00"} {
		c := all[i].(map[string]any)
		got := c["what"].(string)
		for _, side := range []string{"before", "after"} {
			if p, ok := c[side].(map[string]any); ok {
				got += " " + p["rate"].(string)
				assert.Equal(t, "m3", p["unit"])
			}
		}
		assert.Equal(t, want, got)
		assert.Equal(t, []any{"item", "ash-prime-27"}, []any{c["class"], c["code"]})
	}
}

// A costing, a list of items and a Book have the price of their day.
func TestAPriceHoldsFromItsDay(t *testing.T) {
	s := started(t, api.Config{})
	s.granted(t, 200, put(ash+"/2026-12-01", `{"rate": "2000.00", "unit": "m3"}`, "If-Match: "+tag(t, s, ash)))
	for _, c := range []struct{ day, rate, amount string }{
		{"2026-09-30", "1825.00", "160.97"}, // 0.0882 m3 each: 160.965
		{"2026-11-30", "1850.00", "163.17"},
		{"2026-12-01", "2000.00", "176.40"},
		{"2030-01-01", "2000.00", "176.40"},
	} {
		line := "/pieces/0/timber/ash-prime-27/"
		costing := s.granted(t, 200, submit("/v1/costings", tallChest(t, c.day))).body
		assert.Equal(t, []any{0.0882, c.rate, c.amount}, []any{find(t, costing, line+"quantity"), find(t, costing, line+"rate"), find(t, costing, line+"amount")}, c.day)
		for _, target := range []string{"/v1/items/ash-prime-27?as_of=", "/v1/items?class=timber&as_of=", "/v1/book?as_of="} {
			at := map[string]string{"/v1/it": "/price/rate", "/v1/bo": "/timbers/ash-prime/thicknesses/ash-prime-27/price/rate"}[target[:6]]
			if strings.Contains(target, "class") {
				at = "/items/ash-prime-27" + at
			}
			assert.Equal(t, c.rate, find(t, s.granted(t, 200, fetch(target+c.day)).body, at), target+c.day)
		}
	}
	assert.Equal(t, "2026-12-01", find(t, s.granted(t, 200, fetch("/v1/items/ash-prime-27")).body, "/price/until"))
}

// What is new has no price until one is put, and none again when that is taken away. It
// may have one before it is there, as long as it will be.
func TestPricesOfWhatIsNew(t *testing.T) {
	s := started(t, api.Config{})
	s.granted(t, 201, put("/v1/ironmongery/hook?from=2026-12-01", `{"code": "hook", "description": "Hook", "mass": 0.1}`, "If-None-Match: *"))
	const item, prices = "/v1/items/hook", "/v1/items/hook/prices"
	const none = `{"code":"hook","class":"ironmongery","description":"Hook","prices":[]}` + "\n"
	assert.Equal(t, none, string(s.granted(t, 200, fetch(prices)).body))
	s.granted(t, 404, fetch(item))
	s.refuses(t, 404, "not-found", `there is no item with the code "hook" on 2026-11-30`, put(prices+"/2026-11-30", `{"rate": "2.00", "unit": "each"}`, "If-Match: *"))
	got := s.granted(t, 200, put(prices+"/2026-12-01", `{"rate": "2.00", "unit": "each"}`, "If-Match: "+tag(t, s, prices)))
	assert.Equal(t, "2.00", find(t, s.granted(t, 200, fetch(item+"?as_of=2026-12-01")).body, "/price/rate"))
	got = s.granted(t, http.StatusOK, remove(prices+"/2026-12-01", "If-Match: "+got.header.Get("Etag")))
	assert.Equal(t, none, string(got.body))
	assert.Nil(t, find(t, s.granted(t, 200, fetch(item+"?as_of=2026-12-01")).body, "/price"))
	a := s.granted(t, 422, submit("/v1/costings", strings.Replace(tallChest(t, "2026-12-01"), "tip-restraint-kit", "hook", 1)))
	assert.JSONEq(t, `[{"pointer": "#/pieces/0/ironmongery/2/code", "detail": "hook has no price on 2026-12-01: give it one from that date or before"}]`, string(a.Errors))
}

// The price of a day comes alone, with the days for which it holds.
func TestThePriceOfADay(t *testing.T) {
	s := started(t, api.Config{})
	for day, span := range map[string]string{
		"2026-01-05": `{"rate":"1760.00","unit":"m3","from":"2026-01-05","until":"2026-04-01"}`,
		"2026-03-31": `{"rate":"1760.00","unit":"m3","from":"2026-01-05","until":"2026-04-01"}`,
		"2026-04-01": `{"rate":"1790.00","unit":"m3","from":"2026-04-01","until":"2026-07-01"}`,
		"9999-12-31": `{"rate":"1850.00","unit":"m3","from":"2026-10-01"}`,
	} {
		want := `{"code":"ash-prime-27","class":"timber","description":"European ash, prime, 27 mm sawn","prices":[` + span + "]}\n"
		assert.Equal(t, want, string(s.granted(t, 200, fetch(ash+"?as_of="+day)).body), day)
	}
	s.refuses(t, 404, "not-found", "ash-prime-27 has no price on 2026-01-04: its first begins on 2026-01-05", fetch(ash+"?as_of=2026-01-04"))
	last := tag(t, s, "/v1/items/knob-35/prices")
	s.granted(t, 200, remove("/v1/items/knob-35/prices/2026-01-05", "If-Match: "+last))
	s.refuses(t, 404, "not-found", "knob-35 has no price on 2026-11-25, nor on any other day", fetch("/v1/items/knob-35/prices?as_of=2026-11-25"))
}
