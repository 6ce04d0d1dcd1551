package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/pricing/num"
)

// tails is the path of the rule of what a hand-cut tail takes, and that rule.
const (
	tails   = "/v1/rules/dovetails-lapped-tail-hand"
	tailsAs = `{"code":"dovetails-lapped-tail-hand","stage":"dovetails","measure":"lapped_tail","setup":0,"each":8,"per":1,"when":["dovetails:hand"]}`
)

// find returns what stands at a pointer in JSON, nil for nothing. An element of a list
// goes by its place, its code or its name.
func find(t testing.TB, text []byte, pointer string) any {
	t.Helper()
	var v any
	require.NoError(t, json.Unmarshal(text, &v))
	for _, token := range strings.Split(pointer, "/")[1:] {
		switch in := v.(type) {
		case map[string]any:
			v = in[token]
		case []any:
			v = nil
			for i, e := range in {
				if object, ok := e.(map[string]any); fmt.Sprint(i) == token || ok && (object["code"] == token || object["name"] == token) {
					v = e
				}
			}
		default:
			v = nil
		}
	}
	return v
}

// refuses asks for what must be refused, and checks the problem.
func (s service) refuses(t testing.TB, status int, kind, detail string, r request) {
	t.Helper()
	a := s.ask(t, refused(r))
	assert.Equal(t, []any{status, "/problems#" + kind, detail}, []any{a.status, a.Type, a.Detail}, "%s %s", r.method, r.target)
}

// A rule is changed from a day: read before, changed with what was read, and read on
// both sides of that day.
func TestARuleIsChangedFromADay(t *testing.T) {
	s := started(t, api.Config{})
	first := s.granted(t, 200, fetch(tails+"?as_of=2026-12-01"))
	assert.Equal(t, tailsAs+"\n", string(first.body))
	old := first.header.Get("Etag")
	assert.Equal(t, old, tag(t, s, tails), "the same text has the same tag")

	slower := strings.Replace(tailsAs, `"each":8`, `"each":9`, 1)
	const from = tails + "?from=2026-12-01"
	s.refuses(t, 428, "precondition-required", "this needs If-Match with the ETag of what it changes, or If-None-Match: * to make what is not there", put(from, slower))
	s.refuses(t, 428, "precondition-required", "If-Match and If-None-Match exclude each other: send one", put(from, slower, "If-Match: "+old, "If-None-Match: *"))
	s.refuses(t, 412, "precondition-failed", "it is there already: change it with If-Match: "+old, put(from, slower, "If-None-Match: *"))
	for _, wrong := range []string{`"other"`, "W/" + old, strings.Trim(old, `"`), `"a", "b"`} { // strong comparison (RFC 9110, section 13.1.1)
		s.refuses(t, 412, "precondition-failed", "its ETag is "+old+" now", put(from, slower, "If-Match: "+wrong))
	}

	done := s.granted(t, 200, put(from, slower, "If-Match: "+old))
	want := slower + "\n"
	assert.Equal(t, want, string(done.body))
	for day, body := range map[string]string{"2026-11-30": tailsAs + "\n", "2026-12-01": want, "2031-01-01": want} {
		got := s.granted(t, 200, fetch(tails+"?as_of="+day))
		assert.Equal(t, body, string(got.body), day)
		assert.Equal(t, body == want, done.header.Get("Etag") == got.header.Get("Etag"), day)
		assert.Equal(t, find(t, []byte(body), "/each"), find(t, s.granted(t, 200, fetch("/v1/book?as_of="+day)).body, "/rules/dovetails-lapped-tail-hand/each"), day)
		assert.Equal(t, find(t, []byte(body), "/each"), find(t, s.granted(t, 200, fetch("/v1/rules?as_of="+day)).body, "/rules/dovetails-lapped-tail-hand/each"), day)
	}
	assert.Equal(t, 304, s.ask(t, fetch(tails+"?as_of=2026-12-01", "If-None-Match: "+done.header.Get("Etag"))).status)
	s.refuses(t, 412, "precondition-failed", "its ETag is "+done.header.Get("Etag")+" now", put(from, slower, "If-Match: "+old))
	s.granted(t, 200, put(from, slower, `If-Match: "a",`+old, "If-Match: "+done.header.Get("Etag")))
	short := refused(put(from, strings.Replace(slower, `"per":1,`, "", 1), "If-Match: *")) // the contract wants it whole
	assert.Equal(t, want, string(s.granted(t, 200, short).body), "the default is written out")
}

// A rule is made, is not made twice, is retired from a day, and made anew after it.
func TestARuleIsMadeAndRetired(t *testing.T) {
	const path = "/v1/rules/oiled-twice"
	const rule = `{"code": "oiled-twice", "stage": "finishing", "measure": "case", "setup": 0, "each": 12.5, "per": 1, "note": "a second rub"}`
	const kept = `{"code":"oiled-twice","stage":"finishing","measure":"case","setup":0,"each":12.5,"per":1,"note":"a second rub"}` + "\n"
	s := started(t, api.Config{})
	s.refuses(t, 412, "precondition-failed", "there is nothing to change on that day", put(path+"?from=2027-01-01", rule, "If-Match: *"))
	made := s.granted(t, 201, put(path+"?from=2027-01-01", rule, "If-None-Match: *"))
	assert.Equal(t, kept, string(made.body))
	s.refuses(t, 412, "precondition-failed", "it is there already: change it with If-Match: "+made.header.Get("Etag"), put(path+"?from=2027-01-01", rule, "If-None-Match: *"))
	s.granted(t, 404, fetch(path))
	s.granted(t, 404, fetch(path+"?as_of=2026-12-31"))
	assert.Equal(t, made.header.Get("Etag"), tag(t, s, path+"?as_of=2027-01-01"))

	const end = path + "?from=2027-02-01"
	s.refuses(t, 428, "precondition-required", "this needs If-Match with the ETag of what it changes", remove(end))
	s.refuses(t, 428, "precondition-required", "this needs If-Match with the ETag of what it changes", remove(end, "If-None-Match: *"))
	s.refuses(t, 412, "precondition-failed", "its ETag is "+made.header.Get("Etag")+" now", remove(end, `If-Match: "old"`))
	s.granted(t, 204, remove(end, "If-Match: "+made.header.Get("Etag")))
	s.refuses(t, 404, "not-found", `there is no rule with the code "oiled-twice" on 2027-02-01`, remove(end, "If-Match: *"))
	s.granted(t, 200, fetch(path+"?as_of=2027-01-31"))
	s.granted(t, 404, fetch(path+"?as_of=2027-02-01"))
	s.granted(t, 201, put(path+"?from=2027-03-01", rule, "If-None-Match: *"))
	s.granted(t, 404, fetch(path+"?as_of=2027-02-28"))
	s.granted(t, 200, fetch(path+"?as_of=2027-03-01"))
	assert.EqualValues(t, 4, find(t, s.granted(t, 200, fetch("/readyz")).body, "/book_version"), "three changes were made")
}

// tallChest is the demo of that name as of a day.
func tallChest(t testing.TB, day string) string {
	return strings.Replace(file(t, pieces+"tall-chest.json"), "{", `{"as_of": "`+day+`",`, 1)
}

// lines are the parts of a costing that its sums are of.
func lines(t testing.TB, costing []byte) map[string]any {
	t.Helper()
	all := make(map[string]any)
	for _, list := range []string{"timber", "sheets", "ironmongery", "supplies", "labour", "bought_in"} {
		for _, l := range find(t, costing, "/pieces/0/"+list).([]any) {
			all[list+" "+l.(map[string]any)["code"].(string)] = l
		}
	}
	return all
}

// The tall chest has 64 lapped tails. A minute more for each is 64 minutes more of
// dovetailing: 1162 + 64 = 1226 min = 20.43 h (of 19.37 h), at 32.00 653.76 (of 619.84);
// prime cost 3183.02 + 33.92 = 3216.94. Bench hours 84.11 + 20.43 - 19.37 = 85.17, at
// 16.00 1362.72; 5 % of 4579.66 is 228.98; 4808.64 / 0.8 = 6010.80, up to 6011.00.
func TestACostingMovesByWhatItsLinesSay(t *testing.T) {
	s := started(t, api.Config{})
	s.granted(t, 200, put(tails+"?from=2026-12-01", strings.Replace(tailsAs, `"each":8`, `"each":9`, 1), "If-Match: *"))
	before := s.granted(t, 200, submit("/v1/costings", tallChest(t, "2026-11-30"))).body
	after := s.granted(t, 200, submit("/v1/costings", tallChest(t, "2026-12-01"))).body
	was, is := lines(t, before), lines(t, after)
	moved := num.Rate(0)
	for name := range was {
		if name != "labour dovetails" {
			assert.Equal(t, was[name], is[name], name)
		}
		moved += amount(t, is[name]) - amount(t, was[name])
	}
	assert.Len(t, is, len(was))
	for at, want := range map[string][2]any{
		"labour/dovetails/needed":   {1162.0, 1226.0},
		"labour/dovetails/quantity": {19.37, 20.43},
		"labour/dovetails/amount":   {"619.84", "653.76"},
		"build_up/prime/amount":     {"3183.02", "3216.94"},
		"build_up/overhead/amount":  {"1345.76", "1362.72"},
		"build_up/cost/amount":      {"4755.22", "4808.64"},
		"price":                     {"5945.00", "6011.00"},
	} {
		assert.Equal(t, want, [2]any{find(t, before, "/pieces/0/"+at), find(t, after, "/pieces/0/"+at)}, at)
	}
	assert.Equal(t, "33.92", moved.String(), "the lines move by as much as the prime cost")
}

// amount returns what a line comes to.
func amount(t testing.TB, line any) (r num.Rate) {
	t.Helper()
	require.NoError(t, r.UnmarshalText([]byte(line.(map[string]any)["amount"].(string))))
	return r
}

// edits has a change of every class: what stands in the starter's entry, and what is to.
func edits() []struct{ list, code, old, new string } {
	return []struct{ list, code, old, new string }{
		{"timbers", "ash-prime", `"density":702`, `"density":710.5`},
		{"sheets", "birch-ply-6", `"waste_percent":10`, `"waste_percent":12.25`},
		{"supplies", "pu-slow", `"spread":180`, `"spread":210`},
		{"ironmongery", "castor-50", `"mass":0.2`, `"mass":0.22`},
		{"methods", "wipe", `"transfer_percent":90`, `"transfer_percent":88.5`},
		{"finishes", "oil-3", `"coats":3`, `"coats":4`},
		{"labour", "finisher", `"description":"`, `"description":"Second-year `},
		{"stages", "dovetails", `"description":"`, `"description":"Fine `},
		{"rules", "abrasive-120-sanded-outside", `"each":1`, `"each":1.125`},
	}
}

// Every class is changed, made new and retired, and every list shows it.
func TestEveryClassIsEdited(t *testing.T) {
	s := started(t, api.Config{})
	for _, e := range edits() {
		t.Run(e.list, func(t *testing.T) {
			path := "/v1/" + e.list + "/" + e.code
			was := string(s.granted(t, 200, fetch(path)).body)
			require.Equal(t, 1, strings.Count(was, e.old), was)
			now := strings.Replace(was, e.old, e.new, 1)
			assert.Equal(t, now, string(s.granted(t, 200, put(path+"?from=2026-12-01", now, "If-Match: "+tag(t, s, path))).body))
			assert.Equal(t, now, string(s.granted(t, 200, fetch(path+"?as_of=2026-12-01")).body))
			assert.Equal(t, was, string(s.granted(t, 200, fetch(path)).body))

			fresh := regexp.MustCompile(`"code":"[^"]*`).ReplaceAllString(now, "$0-new") // those of thicknesses too
			path += "-new"
			made := s.granted(t, 201, put(path, fresh, "If-None-Match: *"))
			assert.Equal(t, fresh, string(made.body))
			listed := func(day string) any {
				return find(t, s.granted(t, 200, fetch("/v1/"+e.list+"?as_of="+day)).body, "/"+e.list+"/"+e.code+"-new/code")
			}
			assert.Equal(t, []any{nil, e.code + "-new"}, []any{listed("2026-10-31"), listed(today)})
			s.granted(t, 204, remove(path+"?from=2026-11-02", "If-Match: "+made.header.Get("Etag")))
			assert.Equal(t, []any{e.code + "-new", nil}, []any{listed(today), listed("2026-11-02")})
		})
	}
	was := string(s.granted(t, 200, fetch("/v1/terms")).body)
	now := strings.Replace(was, `"deposit_percent":50`, `"deposit_percent":40`, 1)
	require.NotEqual(t, was, now)
	for _, terms := range []string{now, strings.TrimSuffix(now, "}\n") + `,"large_move_percent":0}` + "\n"} {
		assert.Equal(t, terms, string(s.granted(t, 200, put("/v1/terms?from=2026-12-01", terms, "If-Match: "+tag(t, s, "/v1/terms?as_of=2026-12-01"))).body))
	}
	assert.Equal(t, was, string(s.granted(t, 200, fetch("/v1/terms")).body))
	assert.EqualValues(t, 0, find(t, s.granted(t, 200, fetch("/v1/book?as_of=2026-12-01")).body, "/terms/large_move_percent"))
	s.refuses(t, 412, "precondition-failed", "it is there already: change it with If-Match: "+tag(t, s, "/v1/terms"), put("/v1/terms", now, "If-None-Match: *"))
}

// The changes are listed, the latest first, page by page as Link leads. Each says what
// stood before it and after.
func TestChangesLeadOnByLink(t *testing.T) {
	s := started(t, api.Config{})
	for each := 9; each <= 14; each++ {
		s.granted(t, 200, put(tails+"?from=2026-12-01", strings.Replace(tailsAs, `"each":8`, fmt.Sprint(`"each":`, each), 1), "If-Match: *"))
	}
	s.granted(t, 204, remove(tails+"?from=2027-12-01", "If-Match: *"))
	for limit, pages := range map[int]int{1: 8, 2: 4, 3: 3, 7: 2, 8: 1, 200: 1} { // a last page may be empty
		target, next := fmt.Sprint("/v1/changes?limit=", limit), 7
		for page := 1; ; page++ {
			a := s.granted(t, 200, fetch(target))
			list := find(t, a.body, "/changes").([]any)
			for _, c := range list {
				assert.EqualValues(t, next, c.(map[string]any)["id"])
				next--
			}
			link := a.header.Get("Link")
			assert.Equal(t, len(list) == limit, link != "")
			if link == "" {
				assert.Equal(t, []int{pages, 0}, []int{page, next}, "limit %d", limit)
				break
			}
			target = link[1:strings.Index(link, ">")]
		}
	}
	all := find(t, s.granted(t, 200, fetch("/v1/changes")).body, "/changes").([]any)
	instant := "9999"
	for i, one := range all {
		c := one.(map[string]any)
		assert.Equal(t, []any{"rule", "dovetails-lapped-tail-hand", 7.0 - float64(i) + 1}, []any{c["class"], c["code"], c["book_version"]})
		assert.LessOrEqual(t, c["at"], instant)
		instant = c["at"].(string)
		if i+1 < len(all) {
			assert.Equal(t, all[i+1].(map[string]any)["after"], c["before"])
		}
	}
	assert.Equal(t, []any{"retire", "2027-12-01", nil}, []any{find(t, s.granted(t, 200, fetch("/v1/changes")).body, "/changes/0/what"), all[0].(map[string]any)["from"], all[0].(map[string]any)["after"]})
	assert.Equal(t, []any{"put", "2026-12-01", 8.0, 9.0}, []any{all[6].(map[string]any)["what"], all[6].(map[string]any)["from"],
		all[6].(map[string]any)["before"].(map[string]any)["each"], all[6].(map[string]any)["after"].(map[string]any)["each"]})
}

// A change must suit the Book of every later day too. The fault is then said of the Book
// of that day, as it would be.
func TestAChangeSuitsEveryLaterDay(t *testing.T) {
	s := started(t, api.Config{})
	s.granted(t, 201, put("/v1/methods/pad", `{"code": "pad", "transfer_percent": 90}`, "If-None-Match: *"))
	s.granted(t, 204, remove("/v1/methods/pad?from=2027-01-01", "If-Match: *"))
	const finish = `{"code": "oil-3", "description": "Oil", "coats": [{"product": "hard-oil", "coats": 3, "method": "pad"}]}`
	a := s.ask(t, put("/v1/finishes/oil-3?from=2026-12-01", finish, "If-Match: *"))
	assert.JSONEq(t, `[{"pointer": "#/finishes/3/coats/0/method", "as_of": "2027-01-01", "detail": "\"pad\" is no method: name one of the book"}]`, string(a.Errors))
	s.granted(t, 200, put("/v1/finishes/oil-3?from=2026-12-01", string(s.granted(t, 200, fetch("/v1/finishes/oil-3")).body), "If-Match: *"))
	s.granted(t, 201, put("/v1/methods/pad?from=2027-01-01", `{"code": "pad", "transfer_percent": 95}`, "If-None-Match: *"))
	s.granted(t, 200, put("/v1/finishes/oil-3?from=2026-12-01", finish, "If-Match: *"))
	for _, gone := range []string{"2026-12-01", "2027-06-01"} {
		a = s.ask(t, remove("/v1/methods/pad?from="+gone, "If-Match: *"))
		assert.JSONEq(t, `[{"pointer": "#/finishes/3/coats/0/method", "as_of": "`+gone+`", "detail": "\"pad\" is no method: name one of the book"}]`, string(a.Errors))
	}

	// A code that is another kind of thing later is priced otherwise then.
	s.granted(t, 204, remove("/v1/ironmongery/knob-25?from=2027-01-01", "If-Match: *"))
	supply := `{"code": "knob-25", "description": "Knobs", "unit": "each", "pack_size": 10, "charged": "used"}`
	a = s.ask(t, put("/v1/supplies/knob-25?from=2027-01-01", supply, "If-None-Match: *"))
	assert.JSONEq(t, `[{"pointer": "#/supplies/14/price/unit", "as_of": "2027-01-01", "detail": "a price per \"each\" does not fit here: write pack"}]`, string(a.Errors))
}

// atOnce sends requests at once and returns the answers by their status.
func (s service) atOnce(t testing.TB, n int, of func(i int) request) map[int][]answer {
	var all sync.WaitGroup
	var mu sync.Mutex
	got := make(map[int][]answer)
	for i := range n {
		all.Go(func() {
			a := s.ask(t, of(i))
			mu.Lock()
			defer mu.Unlock()
			got[a.status] = append(got[a.status], a)
		})
	}
	all.Wait()
	return got
}

// Of clients that change at once what all of them have seen, one does, and the others
// are told; and so it is with what none has seen.
func TestOfThoseWhoEditAtOnceOneDoes(t *testing.T) {
	const clients = 8
	s := started(t, api.Config{})
	seen := tag(t, s, tails)
	for name, of := range map[string]func(i int) request{
		"change a rule": func(i int) request {
			return put(tails, strings.Replace(tailsAs, `"each":8`, fmt.Sprint(`"each":`, 20+i), 1), "If-Match: "+seen)
		},
		"make a method": func(i int) request {
			return put("/v1/methods/pad", fmt.Sprintf(`{"code": "pad", "transfer_percent": %d}`, 70+i), "If-None-Match: *")
		},
		"retire a castor": func(int) request { return remove("/v1/ironmongery/castor-50", "If-Match: *") },
		"change a price": func(i int) request {
			return put("/v1/items/knob-35/prices/2026-12-01", fmt.Sprintf(`{"rate": "%d.00", "unit": "each"}`, 5+i), "If-Match: "+tag(t, shared.service, "/v1/items/knob-35/prices"))
		},
	} {
		won, lost := 200, 412
		switch name {
		case "make a method":
			won = 201
		case "retire a castor":
			won, lost = 204, 404
		}
		got := s.atOnce(t, clients, of)
		require.Len(t, got[won], 1, name)
		require.Len(t, got[lost], clients-1, name)
		if path, _, _ := strings.Cut(of(0).target, "/2026"); won != http.StatusNoContent {
			assert.Equal(t, string(got[won][0].body), string(s.granted(t, 200, fetch(path)).body), name)
		}
	}
	assert.Len(t, find(t, s.granted(t, 200, fetch("/v1/changes")).body, "/changes"), 4)
}
