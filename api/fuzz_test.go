package api_test

import (
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever is posted to /v1/costings, the service neither fails nor breaks its
// contract.
func FuzzCostings(f *testing.F) {
	const list = "timber=oak-prime&sheet=birch-ply-6&finish=oil-3"
	for _, name := range append(files(f, pieces+"*.json"), files(f, costings+"*/request.json")...) {
		for _, accept := range []string{"", mediaXLSX, mediaSVG} {
			f.Add([]byte(file(f, name)), "application/json", accept, "")
		}
		f.Add([]byte(file(f, name)), "application/json", mediaXLSX, "workbook=workshop")
		f.Add([]byte(file(f, name)), "application/json", "image/*, */*;q=0.1", "piece=chest")
	}
	for _, name := range files(f, pieces+"*.csv") {
		f.Add([]byte(file(f, name)), "text/csv", "", list)
		f.Add([]byte(file(f, name)), "text/csv; charset=utf-8", mediaXLSX, list+"&as_of=2026-03-31")
	}
	for _, c := range badCases(f) {
		r := c.request(f)
		_, query, _ := strings.Cut(r.target, "?")
		if r.method != "POST" || len(r.body) > 100_000 {
			continue
		}
		f.Add([]byte(r.body), header(r, "Content-Type"), header(r, "Accept"), query)
	}
	f.Fuzz(func(t *testing.T, body []byte, media, accept, query string) {
		r := refused(submit("/v1/costings?"+visible(query), string(body), "Content-Type: "+visible(media), "Accept: "+visible(accept)))
		q, err := r.on("http://localhost")
		if err != nil {
			return // no address
		}
		w := httptest.NewRecorder()
		shared.handler.ServeHTTP(w, q)
		require.Less(t, w.Code, 500, "%s", w.Body)
		a := shared.check(t, r, answer{status: w.Code, header: w.Header(), body: w.Body.Bytes()})
		faulty := a.status == 422 && !strings.HasPrefix(a.Detail, "the query cannot be read")
		assert.Equal(t, faulty, len(a.Errors) > 0, "%s", a.body)
	})
}

// header returns what a request says of itself.
func header(r request, name string) string {
	for _, h := range r.header {
		if value, ok := strings.CutPrefix(h, name+": "); ok {
			return value
		}
	}
	return ""
}

// visible returns what of s can stand in a header and in an address.
func visible(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '#' {
			return -1
		}
		return r
	}, s)
}
