package api_test

import (
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
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
		f.Add([]byte(file(f, name)), "application/json", mediaSVG, "sheet=birch-ply-6&layout=2")
	}
	for _, name := range files(f, pieces+"*.csv") {
		f.Add([]byte(file(f, name)), "text/csv", "", list)
		f.Add([]byte(file(f, name)), "text/csv; charset=utf-8", mediaXLSX, list+"&as_of=2026-03-31")
		f.Add([]byte(file(f, name)), "text/csv", mediaSVG, list)
	}
	for _, c := range badCases(f, "bad") {
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

// Whatever is posted to /v1/price-updates, the service neither fails nor breaks its
// contract; what it keeps it shows again, and it changes no price.
func FuzzUpdates(f *testing.F) {
	s := started(f, api.Config{})
	requests := []request{sendCSV(mixed), sendXLSX(workbook(f, mixed)), sendForm(f, "list.xlsx", mediaXLSX, workbook(f, mixed)), sendForm(f, "list.csv", "text/csv", mixed), sendCSV(priceList)}
	for _, name := range files(f, "../testdata/updates/*.csv") {
		requests = append(requests, sendCSV(file(f, name)))
	}
	for _, query := range []string{"", "?class=sheet"} {
		requests = append(requests,
			sendCSV(string(s.granted(f, 200, fetch(updates+"/template.csv"+query)).body)), sendXLSX(string(s.granted(f, 200, fetch(updates+"/template.xlsx"+query)).body)))
	}
	for _, c := range badCases(f, "bad_lists") {
		requests = append(requests, c.request(f))
	}
	for _, r := range requests {
		if len(r.body) < 100_000 {
			f.Add([]byte(r.body), header(r, "Content-Type"))
		}
	}
	f.Fuzz(func(t *testing.T, body []byte, media string) {
		r := refused(submit(updates, string(body), "Content-Type: "+visible(media)))
		q, err := r.on("http://localhost")
		require.NoError(t, err)
		w := httptest.NewRecorder()
		s.handler.ServeHTTP(w, q)
		require.Less(t, w.Code, 500, "%s", w.Body)
		a := shared.check(t, r, answer{status: w.Code, header: w.Header(), body: w.Body.Bytes()})
		assert.Equal(t, a.status == 422, len(a.Errors) > 0, "%s", a.body)
		if a.status >= 400 {
			return
		}
		assert.Equal(t, string(a.body), string(s.granted(t, 200, fetch(a.header.Get("Location"))).body))
		u := update(t, a)
		assert.Len(t, u.Rows, u.Summary.New+u.Summary.Changed+u.Summary.Unchanged+u.Summary.Refused)
		assert.EqualValues(t, 1, find(t, s.granted(t, 200, fetch("/readyz")).body, "/book_version"))
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
