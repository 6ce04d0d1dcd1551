package api_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/api"
)

const impact = "/v1/impact"

// An impactOf is what these tests read of an impact.
type impactOf struct {
	AsOf     string `json:"as_of"`
	Currency string
	Preview  int64
	Quotes   []affected
	Unpriced []struct {
		Number   string
		Revision int
		Title    string
		Detail   string
	}
	Sums struct {
		Count int
		amounts
	}
	Update *updateCost
}

type affected struct {
	Number     string
	Revision   int
	Status     string
	Title      string
	Customer   string
	ValidUntil string `json:"valid_until"`
	amounts
	LeftOf json.Number `json:"margin_left_percent"`
}

type amounts struct {
	OldCost string `json:"old_cost"`
	NewCost string `json:"new_cost"`
	Loss    string
	Quoted  string
	WouldBe string `json:"would_be"`
	Left    string `json:"margin_left"`
}

type updateCost struct {
	ID      int64
	File    string
	Status  string
	Timbers []timberCost
	Loss    string
}

type timberCost struct {
	Code, Description string
	Quotes            int
	Old, New, Loss    string
}

// impactOn asks for an impact.
func (s service) impactOn(t testing.TB, query string) impactOf {
	t.Helper()
	return decode[impactOf](t, s.granted(t, http.StatusOK, fetch(impact+query)))
}

// siteList makes an hour on site cost 30.00 from December.
const siteList = "code,price,unit,currency,effective_from\nsite,30.00,h,GBP,2026-12-01\n"

// onErrands starts a service with an errand that was issued, one that is a draft, and a
// list that moves both. They are worked by hand: 2.67 h at 27.00 are 72.09, which with
// 5 % of it, 3.60, cost 75.69; 95.00 is asked. At 30.00 these are 80.10, 4.01 and 84.11;
// 106.00 would be. Of 95.00 are left 10.89, 11.46 %.
func onErrands(t testing.TB) service {
	t.Helper()
	s := started(t, api.Config{})
	path, _ := s.drafts(t, errand)
	s.does(t, path, "issue", "")
	s.drafts(t, strings.Replace(errand, "An errand", `=An \"errand\", later`, 1))
	s.granted(t, http.StatusCreated, sendCSV(siteList))
	return s
}

// The answer as JSON: who is out, what they cost and would be, and what the list costs.
func TestImpact(t *testing.T) {
	s := onErrands(t)
	const first = `{"number":"2026-0001","revision":1,"status":"issued","title":"An errand","customer":"Ada Field","valid_until":"2026-12-01","old_cost":"75.69","new_cost":"%s","loss":"%s","quoted":"95.00","would_be":"%s","margin_left":"%s","margin_left_percent":%s}`
	now := fmt.Sprintf(first, "75.69", "0.00", "95.00", "19.31", "20.33")
	assert.Equal(t, `{"as_of":"2026-11-01","currency":"GBP","quotes":[`+now+`],"unpriced":[],"sums":{"count":1,"old_cost":"75.69","new_cost":"75.69","loss":"0.00","quoted":"95.00","would_be":"95.00","margin_left":"19.31"}}`+"\n",
		string(s.granted(t, 200, fetch(impact)).body))
	then := fmt.Sprintf(first, "84.11", "8.42", "106.00", "10.89", "11.46")
	draft := strings.NewReplacer("2026-0001", "2026-0002", `"issued"`, `"draft"`, `"An errand"`, `"=An \"errand\", later"`, `,"valid_until":"2026-12-01"`, "").Replace(then)
	want := `{"as_of":"2026-12-01","currency":"GBP","preview":1,"quotes":[` + then + "," + draft + `],"unpriced":[],"sums":{"count":2,"old_cost":"151.38","new_cost":"168.22","loss":"16.84","quoted":"190.00","would_be":"212.00","margin_left":"21.78"},` +
		`"update":{"id":1,"file":"price-list.csv","status":"previewed","timbers":[],"loss":"0.00"}}` + "\n"
	for _, query := range []string{"?preview=1", "?preview=1&as_of=2026-12-01", "?preview=1&update=1", "?as_of=2026-12-31&preview=1"} {
		a := s.granted(t, 200, fetch(impact+query))
		assert.Equal(t, want, strings.Replace(string(a.body), "2026-12-31", "2026-12-01", 1), query)
		assert.Equal(t, []string{"application/json", "Accept", "no-cache", ""}, []string{a.header.Get("Content-Type"), a.header.Get("Vary"), a.header.Get("Cache-Control"), a.header.Get("Content-Disposition")})
	}
	assert.Empty(t, s.impactOn(t, "?preview=1&timber=ash-prime").Quotes)
	s.granted(t, 200, submit(updates+"/1/apply", ""))
	applied := strings.NewReplacer(`,"preview":1`, "", `"previewed"`, `"applied"`).Replace(want)
	assert.Equal(t, applied, string(s.granted(t, 200, fetch(impact+"?as_of=2026-12-01")).body))
}

// Whoever has the answer is told so, until a price, a quote or the day changes it; each
// form and each question has a tag of its own.
func TestImpactIsTagged(t *testing.T) {
	now := new(calendar)
	now.set(today)
	s := started(t, api.Config{Today: now.today})
	path, _ := s.drafts(t, errand)
	s.does(t, path, "issue", "")
	s.drafts(t, errand)
	s.granted(t, 201, sendCSV(siteList))
	seen := make(map[string]string)
	for _, accept := range []string{"", "text/csv", mediaXLSX} {
		for _, query := range []string{"", "?as_of=2026-12-02", "?preview=1"} {
			a := s.granted(t, 200, fetch(impact+query, "Accept: "+accept))
			etag := a.header.Get("Etag")
			require.Regexp(t, `^"[!-~]+"$`, etag)
			assert.Empty(t, seen[etag], "%s %s", accept, query)
			seen[etag] = accept + query
			same := s.ask(t, fetch(impact+query, "Accept: "+accept, "If-None-Match: "+etag))
			assert.Equal(t, []any{304, etag}, []any{same.status, same.header.Get("Etag")})
			head := s.ask(t, request{method: http.MethodHead, target: impact + query, header: []string{"Accept: " + accept}})
			assert.Equal(t, 200, head.status)
			for _, name := range []string{"Etag", "Content-Type", "Content-Length", "Content-Disposition", "Vary"} {
				assert.Equal(t, a.header.Get(name), head.header.Get(name), "%s %s: %s", accept, query, name)
			}
		}
	}
	was := tag(t, s, impact)
	for _, c := range []struct {
		what   string
		change func()
	}{
		{"a price of today", func() {
			s.granted(t, 200, put("/v1/items/site/prices/"+today, `{"rate": "28.00", "unit": "h"}`, "If-Match: *"))
		}},
		{"another quote", func() {
			other, _ := s.drafts(t, errand)
			s.does(t, other, "issue", "")
		}},
		{"one less", func() { s.does(t, path, "decline", "") }},
		{"an update", func() { s.granted(t, 200, submit(updates+"/1/apply", "")) }},
		{"its end", func() { s.granted(t, 200, submit(updates+"/1/withdraw", "")) }},
		{"another day", func() { now.set("2026-11-02") }},
	} {
		c.change()
		is := tag(t, s, impact)
		assert.NotEqual(t, was, is, c.what)
		was = is
	}
}

// The table has the same rows, named to be saved; what a spreadsheet would take for a
// formula is none.
func TestImpactAsATable(t *testing.T) {
	s := onErrands(t)
	a := s.granted(t, 200, fetch(impact+"?preview=1", "Accept: text/csv"))
	assert.Equal(t, []string{"text/csv", "attachment; filename=impact.csv", "Accept"}, []string{a.header.Get("Content-Type"), a.header.Get("Content-Disposition"), a.header.Get("Vary")})
	rows, err := csv.NewReader(bytes.NewReader(a.body)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 3)
	list := s.impactOn(t, "?preview=1").Quotes
	for i, q := range list {
		row := make(map[string]string)
		for k, name := range rows[0] {
			row[name] = rows[1+i][k]
		}
		assert.Equal(t, map[string]string{
			"number": q.Number, "revision": fmt.Sprint(q.Revision), "status": q.Status, "title": strings.Replace(q.Title, "=", "'=", 1), "customer": q.Customer, "valid_until": q.ValidUntil,
			"old_cost": q.OldCost, "new_cost": q.NewCost, "loss": q.Loss, "quoted": q.Quoted, "would_be": q.WouldBe, "margin_left": q.Left, "margin_left_percent": fmt.Sprint(q.LeftOf),
			"currency": "GBP", "unpriced": "",
		}, row)
	}
}

// The workbook has them too, and what the update costs on a sheet of its own.
func TestImpactAsAWorkbook(t *testing.T) {
	s := onErrands(t)
	path, _ := s.drafts(t, trolley)
	s.does(t, path, "issue", "")
	s.granted(t, 201, sendCSV("code,price,unit,currency,effective_from\noak-prime-27,3000.00,m3,GBP,2026-12-01\n"))
	a := s.granted(t, 200, fetch(impact+"?preview=2&timber=oak-prime", "Accept: "+mediaXLSX))
	assert.Equal(t, []string{mediaXLSX, "attachment; filename=impact.xlsx", "Accept"}, []string{a.header.Get("Content-Type"), a.header.Get("Content-Disposition"), a.header.Get("Vary")})
	assert.Equal(t, a.body, s.granted(t, 200, fetch(impact+"?preview=2&timber=oak-prime", "Accept: "+mediaXLSX)).body, "the same bytes")
	f, err := excelize.OpenReader(bytes.NewReader(a.body))
	require.NoError(t, err)
	defer f.Close()
	says := strings.Join(f.GetSheetList(), " ")
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet, excelize.Options{RawCellValue: true})
		require.NoError(t, err)
		for _, row := range rows {
			says += "\n" + strings.Join(row, "|")
		}
	}
	all := s.impactOn(t, "?preview=2&timber=oak-prime")
	require.Len(t, all.Quotes, 1)
	for _, cell := range []string{"2026-0003", "A trolley", "Ada Field", trimmed(all.Quotes[0].NewCost), trimmed(all.Quotes[0].Left), "oak-prime", trimmed(all.Update.Timbers[0].New), trimmed(all.Update.Loss)} {
		assert.Contains(t, says, cell)
	}
}

// trimmed returns an amount as a workbook holds it.
func trimmed(amount string) string { return strings.TrimRight(strings.TrimRight(amount, "0"), ".") }

// What is wrong with the question is said, all of it; what there is not is 404.
func TestImpactIsRefused(t *testing.T) {
	s := onErrands(t)
	const number = "is no number of a price update: write one of /v1/price-updates"
	for query, want := range map[string]string{
		"?preview=0": `[{"parameter":"preview","detail":"\"0\" ` + number + `"}]`, "?update=0": `[{"parameter":"update","detail":"\"0\" ` + number + `"}]`,
		"?preview=": `[{"parameter":"preview","detail":"\"\" ` + number + `"}]`, "?update=-1": `[{"parameter":"update","detail":"\"-1\" ` + number + `"}]`,
		"?preview=1.5": `[{"parameter":"preview","detail":"\"1.5\" ` + number + `"}]`, "?preview=9223372036854775808": `[{"parameter":"preview","detail":"\"9223372036854775808\" ` + number + `"}]`,
		"?preview=1&preview=1": `[{"parameter":"preview","detail":"it stands more than once: leave all but one out"}]`,
		"?as_of=tomorrow":      `[{"parameter":"as_of","detail":"write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not \"tomorrow\""}]`,
		"?as_of=2026-02-30":    `[{"parameter":"as_of","detail":"write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not \"2026-02-30\""}]`,
		"?asof=2026-12-01":     `[{"parameter":"asof","detail":"there is no such parameter: write as_of, preview, timber or update, or leave it out"}]`,
		"?as_of=x&update=y":    `[{"parameter":"as_of","detail":"write a day of the calendar as YYYY-MM-DD, such as 2026-11-01, not \"x\""},{"parameter":"update","detail":"\"y\" ` + number + `"}]`,
	} {
		a := s.granted(t, 422, refused(fetch(impact+query)))
		assert.JSONEq(t, want, string(a.Errors), query)
	}
	s.refuses(t, 404, "not-found", "there is no price update 2", fetch(impact+"?preview=2"))
	s.refuses(t, 404, "not-found", "there is no price update 9223372036854775807", fetch(impact+"?update=9223372036854775807"))
	s.refuses(t, 404, "not-found", "there is no price update 3", fetch(impact+"?preview=3&update=2"))
	s.refuses(t, 404, "not-found", `there is no timber with the code "ash-pirme" on 2026-12-01`, fetch(impact+"?timber=ash-pirme&preview=1"))
	s.refuses(t, 406, "not-acceptable", "the answer is application/json, text/csv or "+mediaXLSX, fetch(impact, "Accept: image/svg+xml"))
	s.refuses(t, 403, "foreign", "the header Host names another machine", fetch(impact, "Host: example.com"))
	s.refuses(t, 405, "method-not-allowed", "this path takes only the methods in the header Allow", submit(impact, "{}"))
}
