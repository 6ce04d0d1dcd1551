package api_test

import (
	"context"
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog/store"
)

// tag asks for a target and returns its ETag, a strong one.
func tag(t testing.TB, s service, target string) string {
	t.Helper()
	a := s.ask(t, fetch(target))
	require.Equal(t, 200, a.status, target)
	etag := a.header.Get("Etag")
	require.Regexp(t, regexp.MustCompile(`^"[!-~]+"$`), etag, target)
	return etag
}

// A resource has a strong ETag, the same as long as its content is; If-None-Match
// compares weakly (RFC 9110, section 13.1.2).
func TestConditionalRequests(t *testing.T) {
	for _, target := range gets(t) {
		if target == "/healthz" || target == "/readyz" {
			a := shared.ask(t, fetch(target, "If-None-Match: *"))
			assert.Equal(t, []string{"200", "", "no-store"}, []string{fmt.Sprint(a.status), a.header.Get("Etag"), a.header.Get("Cache-Control")}, target)
			continue
		}
		etag := tag(t, shared.service, target)
		assert.Equal(t, etag, tag(t, shared.service, target), target)
		for _, c := range []struct {
			given  []string
			status int
		}{
			{[]string{etag}, 304},
			{[]string{"W/" + etag}, 304},
			{[]string{"*"}, 304},
			{[]string{`"a", W/"b,` + `",` + etag}, 304},
			{[]string{`"a"`, etag}, 304},
			{[]string{`"a",, ` + etag + " ,"}, 304},
			{[]string{`"a"`, `W/"b"`}, 200},
			{[]string{strings.Trim(etag, `"`)}, 200},
			{[]string{strings.ToUpper(etag[:len(etag)-1]) + `x"`}, 200},
			{[]string{""}, 200},
		} {
			r := fetch(target)
			for _, g := range c.given {
				r.header = append(r.header, "If-None-Match: "+g)
			}
			a := shared.ask(t, r)
			assert.Equal(t, c.status, a.status, "%s %q", target, c.given)
			assert.Equal(t, []string{etag, "no-cache"}, []string{a.header.Get("Etag"), a.header.Get("Cache-Control")}, "%s %q", target, c.given)
		}
	}
	a := shared.ask(t, submit("/v1/costings", file(t, pieces+"tall-chest.json"), "If-None-Match: *"))
	assert.Equal(t, []string{"200", ""}, []string{fmt.Sprint(a.status), a.header.Get("Etag")}, "a costing is no resource")
}

// Another content has another ETag: that of another day, and that after a change of
// price, which the next request sees.
func TestETagsChangeWithTheContent(t *testing.T) {
	targets := []string{"/v1/book", "/v1/items", "/v1/items/ash-prime-27", "/v1/items?class=timber"}
	for _, target := range targets {
		other := target + "?as_of=2026-03-31"
		if strings.Contains(target, "?") {
			other = target + "&as_of=2026-03-31"
		}
		assert.NotEqual(t, tag(t, shared.service, target), tag(t, shared.service, other), target)
	}
	s := started(t, api.Config{})
	targets = append(targets, "/v1/items/ash-prime-27/prices")
	before := make(map[string]string)
	for _, target := range targets {
		before[target] = tag(t, s, target)
	}
	elsewhere := tag(t, s, "/v1/book?as_of=2026-03-31")
	reprice(t, s.path, "ash-prime-27", "2026-10-15", 1999_0000)
	for _, target := range targets {
		assert.NotEqual(t, before[target], tag(t, s, target), target)
		assert.Equal(t, 200, s.ask(t, fetch(target, "If-None-Match: "+before[target])).status, target)
	}
	assert.NotEqual(t, elsewhere, tag(t, s, "/v1/book?as_of=2026-03-31"), "the version has changed")
	assert.Contains(t, string(s.ask(t, fetch("/v1/items/ash-prime-27")).body), `"price":{"rate":"1999.00","unit":"m3","from":"2026-10-15"}`)
}

// reprice gives an item of timber a price from a day, as another process would.
func reprice(t testing.TB, path, code, from string, rate int) {
	t.Helper()
	s, err := store.Open(t.Context(), path, store.Config{
		Filled: func(store.Tx) (bool, error) { return true, nil },
		Wait:   10 * time.Second,
	})
	require.NoError(t, err)
	require.NoError(t, s.Write(context.Background(), func(tx store.Tx) error {
		if err := tx.Exec("INSERT INTO prices (code, effective_from, rate, unit) VALUES (?, ?, ?, 'm3')", code, from, rate).Error; err != nil {
			return err
		}
		return tx.Exec("UPDATE catalogue SET version = version + 1").Error
	}))
	require.NoError(t, s.Close())
}

// The form of a costing is that which the client likes best (RFC 9110, section
// 12.5.1): the most specific range counts, then the greatest weight, then what was
// named first.
func TestTheFormOfTheAnswer(t *testing.T) {
	const json, none = "application/json", ""
	text := file(t, pieces+"tall-chest.json")
	for _, c := range []struct {
		accept string // lines apart by |
		want   string
	}{
		{"", json},
		{"*/*", json},
		{"application/json", json},
		{"APPLICATION/Json", json},
		{"application/*", json},
		{"application/json; charset=utf-8", json},
		{"application/json;charset=utf-8;q=0.5, text/html", json},
		{"application/json;charset=latin1", none},
		{"application/json;version=2", none},
		{mediaXLSX, mediaXLSX},
		{mediaSVG, mediaSVG},
		{"image/*", mediaSVG},
		{"image/png", none},
		{"image/png, image/*;q=0.1", mediaSVG},
		{mediaSVG + ";q=0.9, application/json;q=0.1", mediaSVG},
		{"application/json;q=0.1, " + mediaSVG + ";q=0.9", mediaSVG},
		{"application/json;q=0.1," + mediaXLSX + ";q=0.101", mediaXLSX},
		{mediaSVG + ", application/json", mediaSVG},
		{"text/html, application/xhtml+xml, application/xml;q=0.9, */*;q=0.8", json},
		{"text/html, image/*;q=0.2, */*;q=0.1", mediaSVG},
		{"application/json;q=0, */*", mediaXLSX},
		{"*/*, application/json;q=0, " + mediaXLSX + ";q=0", mediaSVG},
		{"*/*;q=0", none},
		{"application/json;q=0", none},
		{"*/*;q=0, image/svg+xml", mediaSVG},
		{"text/html|application/json", json},
		{"|application/json", json},
		{"application/json;q=0.2|" + mediaSVG, mediaSVG},
		{"application/json,", json},
		{", ,application/json", json},
		{",", json},
		{"text/csv", none},
		{"text/html", none},
		{"json", none},
		{"*", none},
		{"*/json", none},
		{"application/json;q=2", none},
		{"application/json;q=-1", none},
		{"application/json;q=high", none},
		{"application/json;q=0.12345", none},
		{"application/json application/xml", none},
		{"\x7f\xff", none},
	} {
		r := submit("/v1/costings", text)
		for l := range strings.SplitSeq(c.accept, "|") {
			r.header = append(r.header, "Accept: "+l)
		}
		if c.accept == "\x7f\xff" {
			r.header[len(r.header)-1] = "Accept: \xff"
		}
		a := shared.ask(t, r)
		assert.Equal(t, "Accept", a.header.Get("Vary"), c.accept)
		if c.want != none {
			assert.Equal(t, []string{"200", c.want}, []string{fmt.Sprint(a.status), a.header.Get("Content-Type")}, c.accept)
			continue
		}
		assert.Equal(t, []string{"406", "/problems#not-acceptable", "the answer is application/json, " + mediaXLSX + " or image/svg+xml"},
			[]string{fmt.Sprint(a.status), a.Type, a.Detail}, c.accept)
	}
	for target, media := range map[string]string{"/v1/book": json, "/openapi.yaml": "application/yaml", "/": "text/html", "/problems": "text/html"} {
		for _, accept := range []string{media, "text/csv, " + media + ";q=0.1", strings.Split(media, "/")[0] + "/*"} {
			_, got := answered(t, fetch(target, "Accept: "+accept))
			assert.Equal(t, media, got, target)
		}
		a := shared.ask(t, fetch(target, "Accept: image/png"))
		assert.Equal(t, []string{"406", "the answer is " + media}, []string{fmt.Sprint(a.status), a.Detail}, target)
	}
}

// A client's own X-Request-ID is taken over when it is a plain word.
func TestRequestIDs(t *testing.T) {
	made := make(map[string]bool)
	for _, c := range []struct {
		id    string
		taken bool
	}{
		{"a", true}, {"Quote-7.draft_2", true}, {strings.Repeat("x", 64), true}, {"0", true},
		{"", false}, {strings.Repeat("x", 65), false}, {"two words", false}, {"a;b", false}, {"naïve", false}, {"<b>", false}, {"a\tb", false}, {"a,b", false},
	} {
		for _, r := range []request{fetch("/healthz"), fetch("/nothing"), refused(submit("/v1/costings", "{")), refused(fetch("/healthz", "Host: evil.example"))} {
			r.header = append(r.header, "X-Request-ID: "+c.id)
			got := shared.ask(t, r).header.Values("X-Request-Id")
			require.Len(t, got, 1)
			if c.taken {
				assert.Equal(t, c.id, got[0])
				continue
			}
			assert.False(t, made[got[0]] || got[0] == c.id, "%q for %q", got[0], c.id)
			made[got[0]] = true
		}
	}
}

// A request that a page of another site has made a browser send is refused, by its
// Host (a name that was made to lead here) or by its Origin.
func TestWhoMayAsk(t *testing.T) {
	for host, status := range map[string]int{
		"localhost": 200, "localhost:8080": 200, "LocalHost": 200, "127.0.0.1": 200, "127.0.0.1:1": 200, "127.1.2.3": 200, "[::1]": 200, "[::1]:8080": 200,
		"[::ffff:127.0.0.1]:80": 200,
		"evil.example":          403, "evil.example:8080": 403, "localhost.evil.example": 403, "127.0.0.1.evil.example": 403, "192.168.0.1": 403, "10.0.0.1:8080": 403,
		"0.0.0.0": 403, "[::]": 403, "[fe80::1]": 403, "[::ffff:10.0.0.1]:80": 403, "notlocalhost": 403, "2130706433": 403, "127.1": 403, "localhost:8080:8080": 403,
	} {
		for _, target := range []string{"/v1/book", "/healthz", "/"} {
			a := shared.ask(t, fetch(target, "Host: "+host))
			assert.Equal(t, status, a.status, "%s %s", target, host)
		}
		a := shared.ask(t, submit("/v1/costings", file(t, pieces+"drawer-boxes.json"), "Host: "+host))
		assert.Equal(t, status, a.status, host)
		if status == 403 {
			assert.Equal(t, []string{"/problems#foreign", "the header Host names another machine"}, []string{a.Type, a.Detail})
			assert.Equal(t, 403, shared.ask(t, fetch("/nothing", "Host: "+host)).status)
		}
	}
	own := "http://" + strings.TrimPrefix(shared.url, "http://")
	for _, c := range []struct {
		header []string
		status int
	}{
		{nil, 200}, // curl, a script
		{[]string{"Origin: " + own}, 200},
		{[]string{"Origin: " + own, "Sec-Fetch-Site: same-origin"}, 200},
		{[]string{"Sec-Fetch-Site: none"}, 200},
		{[]string{"Origin: https://evil.example"}, 403},
		{[]string{"Origin: https://evil.example", "Sec-Fetch-Site: cross-site"}, 403},
		{[]string{"Origin: null"}, 403},
		{[]string{"Origin: http://localhost:1"}, 403},
		{[]string{"Sec-Fetch-Site: cross-site"}, 403},
		{[]string{"Sec-Fetch-Site: same-site"}, 403},
	} {
		a := shared.ask(t, submit("/v1/costings", file(t, pieces+"drawer-boxes.json"), c.header...))
		assert.Equal(t, c.status, a.status, c.header)
		if c.status == 403 {
			assert.Equal(t, []string{"/problems#foreign", "the request comes from a page of another site"}, []string{a.Type, a.Detail})
		}
		if len(c.header) > 0 && strings.HasPrefix(c.header[0], "Origin") {
			assert.Equal(t, c.status, shared.ask(t, fetch("/v1/book", c.header...)).status, c.header)
		}
	}
	assert.Equal(t, 200, shared.ask(t, fetch("/", "Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: navigate")).status, "a link leads here")
}

// Every kind of problem has its place on the page of problems, with what to do.
func TestEveryProblemHasItsPlace(t *testing.T) {
	body, _ := answered(t, fetch("/problems"))
	kinds := map[string]int{
		"not-json": 400, "foreign": 403, "not-found": 404, "method-not-allowed": 405, "not-acceptable": 406, "too-slow": 408,
		"conflict": 409, "precondition-failed": 412, "too-large": 413, "unsupported-media-type": 415, "not-valid": 422, "precondition-required": 428,
		"internal": 500, "not-ready": 503,
	}
	for _, kind := range slices.Sorted(maps.Keys(kinds)) {
		place := regexp.MustCompile(fmt.Sprintf(`<h2 id="%s">%d %s: [A-Z][^<]+</h2>\s*<p>[A-Z][^<]+\.</p>`, kind, kinds[kind], kind))
		assert.Regexp(t, place, body)
	}
	assert.Len(t, regexp.MustCompile("<h2 ").FindAllString(body, -1), len(kinds))
	home, _ := answered(t, fetch("/"))
	for _, link := range regexp.MustCompile(`href="([^"]+)"`).FindAllStringSubmatch(home, -1) {
		assert.Equal(t, http.StatusOK, shared.ask(t, fetch(link[1])).status, link[1])
	}
	for _, link := range []string{"/openapi.yaml", "/problems"} {
		assert.Contains(t, home, `href="`+link+`"`)
	}
	assert.Contains(t, home, "curl -s "+shared.url+"/v1/costings")
	yaml, _ := answered(t, fetch("/openapi.yaml"))
	assert.Equal(t, file(t, "../openapi.yaml"), yaml)
}
