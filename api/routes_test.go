package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

func TestRoutesAreThoseOfTheContract(t *testing.T) {
	assert.ElementsMatch(t, slices.Collect(maps.Keys(shared.operations())), api.Routes())
}

// gets returns the path of every GET, with what there is in the place of its
// parameters.
func gets(t testing.TB) (targets []string) {
	for _, route := range api.Routes() {
		path, ok := strings.CutPrefix(route, "GET ")
		if !ok {
			continue
		}
		if list, _, ok := strings.Cut(path, "/{code}"); ok {
			entries := object(t, list)[strings.TrimPrefix(list, "/v1/")].([]any)
			path = strings.Replace(path, "{code}", entries[0].(map[string]any)["code"].(string), 1)
		}
		targets = append(targets, there(t, path))
	}
	require.Greater(t, len(targets), 40)
	return targets
}

// there returns a path with a price list, a customer, and a quote that was issued in the
// place of its parameters, and with the query that it needs.
func there(t testing.TB, path string) string {
	if path == "/v1/quotes/{number}/quotation.xlsx" { // of a draft
		return shared.ask(t, submit("/v1/quotes", chestDraft(t), "Idempotency-Key: draft")).header.Get("Location") + "/quotation.xlsx"
	}
	kept := map[string]request{
		updates + "/{id}":     sendCSV("code,price,unit,currency,effective_from\nknob-35,5.10,each,GBP,2026-12-01\n"),
		"/v1/customers/{id}":  submit("/v1/customers", ines),
		"/v1/quotes/{number}": submit("/v1/quotes", chestDraft(t), "Idempotency-Key: there"),
	}
	for prefix, r := range kept {
		rest, ok := strings.CutPrefix(path, prefix)
		if !ok {
			continue
		}
		at := shared.ask(t, r).header.Get("Location")
		if strings.HasPrefix(at, "/v1/quotes/") {
			shared.granted(t, 200, submit(at+"/issue", "", "If-Match: *", "Idempotency-Key: there"))
		}
		if strings.Contains(rest, "{id}") {
			first := regexp.MustCompile(`"id":(\d+)`).FindSubmatch(shared.ask(t, fetch(at+"/events")).body)
			require.NotNil(t, first)
			rest = strings.Replace(rest, "{id}", string(first[1]), 1)
		}
		if rest == "/compare" {
			rest += "?from=1&to=1"
		}
		return at + strings.Replace(rest, "{revision}", "1", 1)
	}
	return path
}

// asking returns a target with more in its query, "?name=value".
func asking(target, more string) string {
	if strings.Contains(target, "?") {
		more = strings.Replace(more, "?", "&", 1)
	}
	return target + more
}

// chestDraft returns a draft of a chest, which has a front.
func chestDraft(t testing.TB) string {
	text, err := os.ReadFile("../testdata/pieces/tall-chest.json")
	require.NoError(t, err)
	var r map[string]any
	require.NoError(t, json.Unmarshal(text, &r))
	delete(r, "customer")
	request, err := json.Marshal(r)
	require.NoError(t, err)
	return draftOf(string(request))
}

// HEAD is answered as GET is, without the body.
func TestHeadIsGetWithoutTheBody(t *testing.T) {
	for _, target := range gets(t) {
		for _, more := range [][]string{{}, {"If-None-Match: *"}, {"Accept: text/x-none"}, {"Host: evil.example"}} {
			ask := func(method string) (int, http.Header) {
				r := fetch(target, append(more, "X-Request-ID: same")...)
				r.method, r.bad = method, true
				a := shared.ask(t, r)
				a.header.Del("Date")
				return a.status, a.header
			}
			status, header := ask(http.MethodGet)
			asHead, headers := ask(http.MethodHead)
			assert.Equal(t, status, asHead, target)
			assert.Equal(t, header, headers, target)
		}
	}
}

// What every GET refuses, it refuses alike.
func TestWhatEveryGetRefuses(t *testing.T) {
	for _, target := range gets(t) {
		for _, c := range []struct {
			more   string
			header string
			status int
			kind   string
			says   string
		}{
			{"", "Host: evil.example", 403, "foreign", ""},
			{"", "Accept: text/x-none", 406, "not-acceptable", ""},
			{"?colour=blue", "", 422, "not-valid", "colour"},
			{"?colour=blue&%FF=2", "", 422, "not-valid", "\uFFFD"},
			{"?as_of=2026-02-30", "", 422, "not-valid", "as_of"},
			{"?as_of=2026-11-01&as_of=2026-11-01", "", 422, "not-valid", "as_of"},
			{"?as_of=2026-11-01;a", "", 422, "not-valid", "the query cannot be read"},
		} {
			a := shared.ask(t, refused(fetch(asking(target, c.more), c.header)))
			assert.Equal(t, c.status, a.status, target+c.more)
			assert.Equal(t, "/problems#"+c.kind, a.Type, target+c.more)
			assert.Contains(t, string(a.body), c.says, target+c.more)
		}
	}
}

// changing returns every operation that changes something, as it might be granted:
// to what is there, its body what stands there.
func changing(t testing.TB) map[string]request {
	t.Helper()
	all := make(map[string]request)
	for name := range shared.operations() {
		method, path, _ := strings.Cut(name, " ")
		if method == http.MethodGet || strings.HasPrefix(path, "/v1/costings") {
			continue
		}
		r := submit(path, "{}")
		switch list, item, ok := strings.Cut(path, "/{code}"); {
		case ok:
			entry := object(t, list)[strings.TrimPrefix(list, "/v1/")].([]any)[0].(map[string]any)
			r = put(list+"/"+entry["code"].(string)+strings.Replace(item, "{date}", "2026-12-01", 1), `{"rate": "1.00", "unit": "pack"}`, "If-Match: *")
			if item == "" {
				r.body, _ = answered(t, fetch(r.target))
			}
		case path == updates:
			r = sendCSV(mixed)
		case path == "/v1/quotes" || method == http.MethodPut && strings.HasPrefix(path, "/v1/quotes"):
			r = put(there(t, path), draftOf(call), "If-Match: *")
		case method == http.MethodPut:
			r = put(there(t, path), "", "If-Match: *")
			r.body, _ = answered(t, fetch(r.target))
		default:
			r = submit(there(t, path), "{}", "If-Match: *")
		}
		r.method = method
		all[name] = refused(r)
	}
	return all
}

// Whatever of refusals the contract documents of a change, the service does.
func TestWhatEveryChangeRefuses(t *testing.T) {
	without := func(r request, names ...string) request {
		r.header = slices.DeleteFunc(slices.Clone(r.header), func(h string) bool {
			name, _, _ := strings.Cut(h, ":")
			return slices.Contains(names, name)
		})
		return r
	}
	with := func(r request, header string) request {
		name, _, _ := strings.Cut(header, ":")
		r = without(r, name)
		r.header = append(r.header, header)
		return r
	}
	ways := map[string]struct {
		kind string
		of   func(request) request
	}{
		"400": {"not-json", func(r request) request { r.body = "{"; return r }},
		"403": {"foreign", func(r request) request { return with(r, "Host: evil.example") }},
		"404": {"not-found", func(r request) request {
			words := strings.Split(r.target, "/")
			words[3] = map[bool]string{true: "999", false: "no-such-thing"}[strings.HasPrefix(r.target, updates)]
			r.target = strings.Join(words, "/")
			return r
		}},
		"406": {"not-acceptable", func(r request) request { return with(r, "Accept: text/x-none") }},
		"412": {"precondition-failed", func(r request) request { return with(r, `If-Match: "stale"`) }},
		"413": {"too-large", func(r request) request { r.body = strings.Repeat(" ", 8<<20+1); return r }},
		"415": {"unsupported-media-type", func(r request) request { return with(r, "Content-Type: text/plain") }},
		"422": {"not-valid", func(r request) request { r.target += "?colour=blue"; return r }},
		"428": {"precondition-required", func(r request) request { return without(r, "If-Match") }},
	}
	all := changing(t)
	require.Len(t, all, 9*2+1+2+3+2+8)
	for name, r := range all {
		for _, status := range promised(shared.operations()[name]) {
			w, ok := ways[status]
			if status < "400" || status == "409" || status == "400" && name == "POST "+updates { // where only a body that breaks off is
				continue
			}
			require.True(t, ok, "%s %s", name, status)
			a := shared.ask(t, w.of(r))
			assert.Equal(t, []string{status, "/problems#" + w.kind}, []string{fmt.Sprint(a.status), a.Type}, name)
		}
	}
}

// What is not there is told as a problem, at every path below a list.
func TestWhatIsNotThere(t *testing.T) {
	for _, c := range []struct{ target, detail string }{
		{"/v1/items/no-such-thing", `there is no item with the code "no-such-thing" on 2026-11-01`},
		{"/v1/items/no-such-thing/prices", `there is no item with the code "no-such-thing" on 2026-11-01`},
		{"/v1/items/ash-prime", `there is no item with the code "ash-prime" on 2026-11-01`},
		{"/v1/timbers/ash-prime-27?as_of=2026-01-05", `there is no timber with the code "ash-prime-27" on 2026-01-05`},
		{"/v1/timbers/ASH-PRIME", `there is no timber with the code "ASH-PRIME" on 2026-11-01`},
		{"/v1/sheets/x", `there is no sheet with the code "x" on 2026-11-01`},
		{"/v1/supplies/x", `there is no supply with the code "x" on 2026-11-01`},
		{"/v1/ironmongery/x", `there is no ironmongery with the code "x" on 2026-11-01`},
		{"/v1/methods/x", `there is no method with the code "x" on 2026-11-01`},
		{"/v1/finishes/x", `there is no finish with the code "x" on 2026-11-01`},
		{"/v1/labour/x", `there is no labour with the code "x" on 2026-11-01`},
		{"/v1/stages/x", `there is no stage with the code "x" on 2026-11-01`},
		{"/v1/rules/x", `there is no rule with the code "x" on 2026-11-01`},
		{"/v1/items/a%2Fb", `there is no item with the code "a/b" on 2026-11-01`},
		{"/v1/items/a%252Fb", `there is no item with the code "a%2Fb" on 2026-11-01`},
		{"/v1/items/ash%2Dprime-27%2Fprices", `there is no item with the code "ash-prime-27/prices" on 2026-11-01`},
		{"/v1/items/%FF%00%0A%22", `there is no item with the code "\xff\x00\n\"" on 2026-11-01`},
		{"/v1/items/%E2%80%AE", `there is no item with the code "\u202e" on 2026-11-01`},
		{"/v1/items/'%20OR%201=1--", `there is no item with the code "' OR 1=1--" on 2026-11-01`},
		{"/v1/items/..", `there is no item with the code ".." on 2026-11-01`},
		{"/v1/items//prices", `there is no item with the code "" on 2026-11-01`},
		{"/v1/items/", "there is nothing at this path"},
		{"/v1/price-updates/", "there is nothing at this path"},
		{"/v1/price-updates/1/rows", "there is nothing at this path"},
		{"/v1/changes/1", "there is nothing at this path"},
		{"/v1/customers/999", "there is no customer 999"},
		{"/v1/customers/0", `"0" is no id of a customer`},
		{"/v1/customers/01", `"01" is no id of a customer`},
		{"/v1/customers/1/quotes", `"1/quotes" is no id of a customer`},
		{"/v1/quotes/1999-0001", `there is no quote "1999-0001"`},
		{"/v1/quotes/%FF%00%0A%22", `there is no quote "\xff\x00\n\""`},
		{"/v1/quotes/1999-0001/events", `there is no quote "1999-0001"`},
		{"/v1/quotes/1999-0001/rows", "there is nothing at this path"},
		{"/v1/quotes/1999-0001/revisions", "there is nothing at this path"},
		{"/v1/quotes/1999-0001/revisions/1", `there is no revision 1 of a quote "1999-0001" that was issued`},
		{"/v1/quotes/1999-0001/revisions/01", `"01" is no number of a revision`},
		{"/v1/quotes/1999-0001/revisions/0/quotation.xlsx", `"0" is no number of a revision`},
		{"/v1/quotes/1999-0001/revisions/1/elevation.svg", `there is no revision 1 of a quote "1999-0001" that was issued`},
		{"/v1/quotes/1999-0001/revisions/1/cutting.svg?sheet=x", `there is no revision 1 of a quote "1999-0001" that was issued`},
		{"/v1/quotes/1999-0001/compare?from=1&to=2", `there is no quote "1999-0001"`},
		{"/v1/quotes/1999-0001/compare/", "there is nothing at this path"},
		{"/v1/impact?preview=999", "there is no price update 999"},
		{"/v1/impact?update=999", "there is no price update 999"},
		{"/v1/impact/", "there is nothing at this path"},
		{"/v1/impact/1", "there is nothing at this path"},
		{"/v1/book/", "there is nothing at this path"},
		{"/v1//book", "there is nothing at this path"},
		{"/v1/items/ash-prime-27/prices/", "there is nothing at this path"},
		{"/v1/items/../book", "there is nothing at this path"},
		{"/v1/costings/", "there is nothing at this path"},
		{"/v1/costings/compare/", "there is nothing at this path"},
		{"/V1/book", "there is nothing at this path"},
		{"/v1", "there is nothing at this path"},
		{"/healthz/", "there is nothing at this path"},
		{"/favicon.ico", "there is nothing at this path"},
	} {
		a := shared.ask(t, refused(fetch(c.target)))
		assert.Equal(t, 404, a.status, c.target)
		assert.Equal(t, []string{"/problems#not-found", c.detail}, []string{a.Type, a.Detail}, c.target)
	}
	// %XX stands for any letter of a code (RFC 3986, section 6.2.2.2).
	plain, _ := answered(t, fetch("/v1/items/ash-prime-27"))
	for _, target := range []string{"/v1/items/ash%2Dprime-27", "/v1/items/%61sh-prime%2d27"} {
		got := shared.ask(t, refused(fetch(target)))
		assert.Equal(t, plain, string(got.body), target)
	}
}

// A method that a path does not take is refused with those it does; OPTIONS asks for
// them.
func TestMethods(t *testing.T) {
	for _, c := range []struct{ target, allow string }{
		{"/v1/costings", "OPTIONS, POST"},
		{"/v1/costings/compare", "OPTIONS, POST"},
		{"/v1/impact", "OPTIONS, GET, HEAD"},
		{"/v1/book", "OPTIONS, GET, HEAD"},
		{"/v1/items/x/prices", "OPTIONS, GET, HEAD"},
		{"/v1/items/x/prices/2026-12-01", "OPTIONS, DELETE, PUT"},
		{"/v1/rules/x", "OPTIONS, DELETE, GET, HEAD, PUT"},
		{"/v1/terms", "OPTIONS, GET, HEAD, PUT"},
		{"/v1/changes", "OPTIONS, GET, HEAD"},
		{"/v1/price-updates", "OPTIONS, GET, HEAD, POST"},
		{"/v1/price-updates/999", "OPTIONS, GET, HEAD"},
		{"/v1/customers", "OPTIONS, GET, HEAD, POST"},
		{"/v1/customers/999", "OPTIONS, GET, HEAD, PUT"},
		{"/v1/quotes", "OPTIONS, GET, HEAD, POST"},
		{"/v1/quotes/1999-0001", "OPTIONS, GET, HEAD, PUT"},
		{"/v1/quotes/1999-0001/accept", "OPTIONS, POST"},
		{"/v1/quotes/1999-0001/compare", "OPTIONS, GET, HEAD"},
		{"/v1/quotes/1999-0001/revisions/1", "OPTIONS, GET, HEAD"},
		{"/v1/quotes/1999-0001/revisions/1/workshop.xlsx", "OPTIONS, GET, HEAD"},
		{"/v1/quotes/1999-0001/revisions/1/cutting.svg", "OPTIONS, GET, HEAD"},
		{"/v1/price-updates/999/apply", "OPTIONS, POST"},
		{"/v1/price-updates/template.csv", "OPTIONS, GET, HEAD"},
		{"/", "OPTIONS, GET, HEAD"},
	} {
		for _, method := range []string{"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "TRACE", "PROPFIND", "get", "OPTIONS"} {
			a := shared.ask(t, refused(request{method: method, target: c.target}))
			switch {
			case method == "OPTIONS":
				assert.Equal(t, 204, a.status, c.target)
			case strings.Contains(c.allow, method):
				assert.NotEqual(t, 405, a.status, c.target)
				continue
			default:
				assert.Equal(t, 405, a.status, "%s %s", method, c.target)
			}
			assert.Equal(t, []string{c.allow}, a.header.Values("Allow"), "%s %s", method, c.target)
			if a.status == 405 && method != "HEAD" {
				assert.Equal(t, []string{"/problems#method-not-allowed", "this path takes only the methods in the header Allow"}, []string{a.Type, a.Detail})
			}
		}
	}
	assert.Equal(t, 404, shared.ask(t, refused(request{method: "OPTIONS", target: "/nothing"})).status)
}
