package api_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/textproto"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/api"
	"reckoner/catalog"
	"reckoner/catalog/wire"
)

const updates = "/v1/price-updates"

// mixed is a list of rows that come to every outcome.
const mixed = "code,price,unit,currency,effective_from,supplier,note\n" +
	"ash-prime-27,1961.00,m3,GBP,2026-12-01,Tansy Sawmill,\n" +
	"ash-prime-34,5.85,bf,GBP,2026-12-01,Tansy Sawmill,per board foot\n" +
	"knob-35,4.80,each,GBP,2026-12-01,,as it was\n" +
	"\n" +
	"knob-25,0.50,each,GBP,2026-10-31,,much less\n" +
	"knob-36,5.10,each,GBP,2026-12-01,,\n"

// mixedRows is what becomes of them. The board foot is 144 cubic inches (NIST Handbook
// 44, appendix C): 5.85 / 0.002359737216 = 2479.089...; (2479.0896 - 1905) / 1905 is
// 30.136 %.
const mixedRows = `[
	{"row": 2, "code": "ash-prime-27", "outcome": "changed", "old": "1850.00", "new": "1961.00", "unit": "m3", "change_percent": 6, "effective_from": "2026-12-01"},
	{"row": 3, "code": "ash-prime-34", "outcome": "changed", "old": "1905.00", "new": "2479.0896", "unit": "m3", "change_percent": 30.14, "large_move": true,
		"effective_from": "2026-12-01", "converted": {"rate": "5.85", "unit": "bf", "factor": "1 bf = 0.002359737216 m3"}},
	{"row": 4, "code": "knob-35", "outcome": "unchanged", "old": "4.80", "new": "4.80", "unit": "each", "change_percent": 0, "effective_from": "2026-12-01"},
	{"row": 6, "code": "knob-25", "outcome": "changed", "old": "3.60", "new": "0.50", "unit": "each", "change_percent": -86.11, "large_move": true, "effective_from": "2026-10-31"},
	{"row": 7, "code": "knob-36", "outcome": "refused", "effective_from": "2026-12-01", "column": "code", "detail": "\"knob-36\" is nothing that has a price on 2026-12-01: check its spelling"}]`

// sendCSV and sendXLSX make requests of price lists.
func sendCSV(list string) request  { return submit(updates, list, "Content-Type: text/csv") }
func sendXLSX(file string) request { return submit(updates, file, "Content-Type: "+mediaXLSX) }

// sendForm makes a request of a form with a file.
func sendForm(t testing.TB, name, media, text string) request {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	head := textproto.MIMEHeader{"Content-Disposition": {multipart.FileContentDisposition("file", name)}, "Content-Type": {media}}
	part, err := w.CreatePart(head)
	require.NoError(t, err)
	_, err = part.Write([]byte(text))
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return submit(updates, b.String(), "Content-Type: "+w.FormDataContentType())
}

// workbook returns a list as an .xlsx file: prices as numbers, dates as dates.
func workbook(t testing.TB, list string) string {
	t.Helper()
	f := excelize.NewFile()
	day, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	require.NoError(t, err)
	for i, line := range strings.Split(strings.TrimSuffix(list, "\n"), "\n") {
		for k, value := range strings.Split(line, ",") {
			at, err := excelize.CoordinatesToCellName(k+1, i+1)
			require.NoError(t, err)
			require.NoError(t, f.SetCellStr("Sheet1", at, value))
			if i > 0 && k == 1 {
				var n json.Number
				require.NoError(t, json.Unmarshal([]byte(value), &n))
				price, err := n.Float64()
				require.NoError(t, err)
				require.NoError(t, f.SetCellFloat("Sheet1", at, price, -1, 64))
			}
			if when, err := time.Parse(time.DateOnly, value); err == nil {
				require.NoError(t, f.SetCellValue("Sheet1", at, when))
				require.NoError(t, f.SetCellStyle("Sheet1", at, at, day))
			}
		}
	}
	b, err := f.WriteToBuffer()
	require.NoError(t, err)
	require.NoError(t, f.Close())
	return b.String()
}

// update reads what is answered of a price list.
func update(t testing.TB, a answer) (u catalog.Update) {
	t.Helper()
	require.NoError(t, wire.Decode(a.body, &u))
	return u
}

// rowsOf returns the rows of a price list as JSON.
func rowsOf(t testing.TB, a answer) string {
	t.Helper()
	text, err := json.Marshal(find(t, a.body, "/rows"))
	require.NoError(t, err)
	return string(text)
}

// A list is taken as text, as a workbook and in a form. The same bytes are the same
// list, however they come.
func TestAListComesInThreeWays(t *testing.T) {
	s := started(t, api.Config{})
	text := s.granted(t, 201, sendCSV(mixed))
	assert.Equal(t, "/v1/price-updates/1", text.header.Get("Location"))
	sum := sha256.Sum256([]byte(mixed))
	head := func(a answer) []any {
		u := update(t, a)
		return []any{u.ID, u.Status, u.File, u.SHA256, u.Notes}
	}
	note := "prices that begin before today: 1. Costings of those days change; what was issued stays as it was sent."
	assert.Equal(t, []any{int64(1), "previewed", "price-list.csv", hex.EncodeToString(sum[:]), []string{note}}, head(text))
	assert.Equal(t, catalog.Summary{Changed: 3, Unchanged: 1, Refused: 1, LargeMoves: 2}, update(t, text).Summary)
	assert.JSONEq(t, mixedRows, rowsOf(t, text))

	file := workbook(t, mixed)
	book := s.granted(t, 201, sendXLSX(file))
	assert.Equal(t, []any{int64(2), "price-list.xlsx"}, []any{update(t, book).ID, update(t, book).File})
	assert.JSONEq(t, mixedRows, rowsOf(t, book))

	for name, kept := range map[string]string{
		`ash-december.csv`:           `ash-december.csv`,
		`C:\lists\ash, "Dec".csv`:    `ash, "Dec".csv`,
		`../../etc/naïve.csv`:        `naïve.csv`,
		strings.Repeat("é", 300):     strings.Repeat("é", 200),
		``:                           `price-list`,
		`/`:                          `price-list`,
		"odd\u0085\ufffd.csv":        "odd.csv",
		`list.csv; other="form.csv"`: `list.csv; other="form.csv"`,
	} {
		other := mixed + "knob-35,4.80,each,GBP,2026-12-02,,for " + fmt.Sprintf("%x", name) + "\n"
		form := s.granted(t, 201, sendForm(t, name, "text/csv", other))
		assert.Equal(t, kept, update(t, form).File, "%q", name)
	}
	for _, again := range []request{sendCSV(mixed), sendForm(t, "other.csv", "application/octet-stream", mixed), submit(updates, mixed, "Content-Type: text/csv; charset=utf-8")} {
		a := s.granted(t, 200, again)
		assert.Equal(t, string(text.body), string(a.body), "it is the first, by its first name")
		assert.Equal(t, "/v1/price-updates/1", a.header.Get("Location"))
	}
	assert.Equal(t, string(book.body), string(s.granted(t, 200, sendForm(t, "list.xlsx", mediaXLSX, file)).body))
	assert.Equal(t, string(book.body), string(s.granted(t, 200, submit(updates, file, "Content-Type: text/csv")).body), "what it is shows by itself")
	assert.EqualValues(t, 1, find(t, s.granted(t, 200, fetch("/readyz")).body, "/book_version"), "nothing was changed")
}

// A list is previewed, applied when all that it needs is said, and taken back.
func TestAListIsAppliedAndWithdrawn(t *testing.T) {
	s := started(t, api.Config{})
	items := []string{"ash-prime-27", "ash-prime-34", "knob-35", "knob-25"}
	prices := func() (tags []string) {
		for _, code := range items {
			tags = append(tags, tag(t, s, "/v1/items/"+code+"/prices"))
		}
		return tags
	}
	before := prices()
	one := s.granted(t, 201, sendCSV(mixed)).header.Get("Location")
	apply, withdraw := one+"/apply", one+"/withdraw"
	s.refuses(t, 409, "conflict", "price update 1 is previewed: only one that is applied can be withdrawn", submit(withdraw, ""))
	for _, body := range []string{"", "{}", `{"accept_large_moves": true}`, `{"skip_refused": false, "accept_large_moves": true}`} {
		s.refuses(t, 409, "conflict", "rows refused: 1; mend the file and send it again, or say skip_refused to go without them", submit(apply, body))
	}
	s.refuses(t, 409, "conflict", "prices that move more than the terms' large_move_percent: 2; look at them, and say accept_large_moves if they are meant", submit(apply, `{"skip_refused": true}`))
	assert.Equal(t, before, prices())

	done := s.granted(t, 200, submit(apply, `{"skip_refused": true, "accept_large_moves": true}`))
	assert.Equal(t, "applied", update(t, done).Status)
	assert.JSONEq(t, mixedRows, rowsOf(t, done))
	for code, want := range map[string]string{
		"ash-prime-27": `{"rate": "1961.00", "unit": "m3", "from": "2026-12-01"}`,
		"ash-prime-34": `{"rate": "2479.0896", "unit": "m3", "from": "2026-12-01"}`,
		"knob-25":      `{"rate": "0.50", "unit": "each", "from": "2026-10-31"}`,
	} {
		all := find(t, s.granted(t, 200, fetch("/v1/items/"+code+"/prices")).body, "/prices").([]any)
		last, err := json.Marshal(all[len(all)-1])
		require.NoError(t, err)
		assert.JSONEq(t, want, string(last))
	}
	assert.Equal(t, before[2], prices()[2], "what is unchanged gets no price")
	s.granted(t, 200, put("/v1/items/knob-35/prices/2026-12-01", `{"rate": "9.00", "unit": "each"}`, "If-Match: *"))
	assert.JSONEq(t, string(done.body), string(s.granted(t, 200, fetch(one)).body), "it stays as it was")
	assert.JSONEq(t, string(done.body), string(s.granted(t, 200, sendCSV(mixed)).body))
	s.refuses(t, 409, "conflict", "price update 1 was applied at "+update(t, done).AppliedAt+": withdraw it first, to apply it again", submit(apply, "{}"))
	s.granted(t, 200, remove("/v1/items/knob-35/prices/2026-12-01", "If-Match: *"))

	back := update(t, s.granted(t, 200, submit(withdraw, "{}")))
	assert.Equal(t, []any{"withdrawn", update(t, done).AppliedAt, update(t, done).Rows}, []any{back.Status, back.AppliedAt, back.Rows})
	assert.Equal(t, before, prices())
	s.refuses(t, 409, "conflict", "price update 1 is withdrawn: only one that is applied can be withdrawn", submit(withdraw, "{}"))
	s.refuses(t, 409, "conflict", "price update 1 was withdrawn at "+back.WithdrawnAt+": send the file again", submit(apply, "{}"))
	assert.Equal(t, "/v1/price-updates/2", s.granted(t, 201, sendCSV(mixed)).header.Get("Location"), "the same file again")

	var told []string
	for _, c := range find(t, s.granted(t, 200, fetch("/v1/changes")).body, "/changes").([]any) {
		if c := c.(map[string]any); c["class"] == "update" {
			told = append(told, fmt.Sprint(c["what"], " ", c["code"], " ", c["after"].(map[string]any)["sha256"] == back.SHA256, " ", c["after"].(map[string]any)["summary"]))
		}
	}
	summary := "map[changed:3 large_moves:2 new:0 refused:1 unchanged:1]"
	assert.Equal(t, []string{"withdraw_update 1 true " + summary, "apply_update 1 true " + summary}, told)
}

// A list that is not applied is judged anew each time that it is looked at, by the
// terms of today too.
func TestAListIsJudgedAnew(t *testing.T) {
	s := started(t, api.Config{})
	one := s.granted(t, 201, sendCSV("code,price,unit,currency,effective_from\nknob-35,6.00,each,GBP,2026-12-01\n")).header.Get("Location")
	row := func() string { return rowsOf(t, s.granted(t, 200, fetch(one))) }
	const like = `[{"row": 2, "code": "knob-35", "unit": "each", "new": "6.00", "effective_from": "2026-12-01", `
	assert.JSONEq(t, like+`"outcome": "changed", "old": "4.80", "change_percent": 25}]`, row())
	old := tag(t, s, one)
	terms := strings.TrimSuffix(string(s.granted(t, 200, fetch("/v1/terms")).body), "}\n")
	s.granted(t, 200, put("/v1/terms", terms+`,"large_move_percent":24.99}`, "If-Match: *"))
	assert.JSONEq(t, like+`"outcome": "changed", "old": "4.80", "change_percent": 25, "large_move": true}]`, row())
	assert.NotEqual(t, old, tag(t, s, one))
	s.granted(t, 200, put("/v1/items/knob-35/prices/2026-11-20", `{"rate": "8.00", "unit": "each"}`, "If-Match: *"))
	assert.JSONEq(t, like+`"outcome": "changed", "old": "8.00", "change_percent": -25, "large_move": true}]`, row())
	s.granted(t, 200, put("/v1/items/knob-35/prices/2026-12-01", `{"rate": "6", "unit": "each"}`, "If-Match: *"))
	assert.JSONEq(t, like+`"outcome": "unchanged", "old": "6.00", "change_percent": 0}]`, row())
	s.granted(t, 204, remove("/v1/ironmongery/tip-restraint-kit?from=2026-12-02", "If-Match: *"))
	assert.Contains(t, row(), `"unchanged"`)
	assert.EqualValues(t, 0, update(t, s.granted(t, 200, submit(one+"/apply", ""))).Summary.Changed, "there is nothing to do, and it is done")
}

// A list cannot be taken back from under a later one; that one can.
func TestALaterListStandsOnAnEarlier(t *testing.T) {
	s := started(t, api.Config{})
	const head = "code,price,unit,currency,effective_from\n"
	first := s.granted(t, 201, sendCSV(head+"knob-35,5.00,each,GBP,2026-12-01\nknob-25,3.50,each,GBP,2026-12-01\n")).header.Get("Location")
	second := s.granted(t, 201, sendCSV(head+"knob-35,5.20,each,GBP,2026-12-01\n")).header.Get("Location")
	s.granted(t, 200, submit(first+"/apply", ""))
	s.granted(t, 200, submit(second+"/apply", ""))
	s.refuses(t, 409, "conflict", "price update 2 changed the price of knob-35 from 2026-12-01 since: withdraw that one first", submit(first+"/withdraw", ""))
	rate := func() any {
		return find(t, s.granted(t, 200, fetch("/v1/items/knob-35?as_of=2026-12-01")).body, "/price/rate")
	}
	assert.Equal(t, "5.20", rate())
	s.granted(t, 200, submit(second+"/withdraw", ""))
	assert.Equal(t, "5.00", rate())
	s.granted(t, 200, submit(first+"/withdraw", ""))
	assert.Equal(t, "4.80", rate())
}

// The lists that were sent come by pages, the latest first, without their rows.
func TestListsLeadOnByLink(t *testing.T) {
	s := started(t, api.Config{})
	assert.Equal(t, `{"updates":[]}`+"\n", string(s.granted(t, 200, fetch(updates)).body))
	for i := range 5 {
		s.granted(t, 201, sendCSV(fmt.Sprintf("code,price,unit,currency,effective_from\nknob-35,5.0%d,each,GBP,2026-12-0%d\n", i, i+1)))
	}
	s.granted(t, 200, submit(updates+"/2/apply", ""))
	s.granted(t, 200, submit(updates+"/3/apply", ""))
	s.granted(t, 200, submit(updates+"/3/withdraw", ""))
	var got []string
	for target := updates + "?limit=2"; target != ""; {
		a := s.granted(t, 200, fetch(target))
		for _, one := range find(t, a.body, "/updates").([]any) {
			u := one.(map[string]any)
			got = append(got, fmt.Sprint(u["id"], " ", u["status"], " ", u["applied_at"] != nil, " ", u["withdrawn_at"] != nil))
			assert.NotContains(t, u, "rows")
		}
		_, target, _ = strings.Cut(a.header.Get("Link"), "<")
		target, _, _ = strings.Cut(target, ">")
	}
	assert.Equal(t, []string{"5 previewed false false", "4 previewed false false", "3 withdrawn true true", "2 applied true false", "1 previewed false false"}, got)
}

// Of clients that apply a list at once one does; the same file sent at once is kept once.
func TestListsAtOnce(t *testing.T) {
	s := started(t, api.Config{})
	const list = "code,price,unit,currency,effective_from\nknob-35,5.00,each,GBP,2026-12-01\n"
	sent := s.atOnce(t, 8, func(int) request { return sendCSV(list) })
	assert.Equal(t, []int{1, 7}, []int{len(sent[201]), len(sent[200])})
	for _, what := range []string{"/apply", "/withdraw"} {
		got := s.atOnce(t, 8, func(int) request { return submit(updates+"/1"+what, "") })
		assert.Equal(t, []int{1, 7}, []int{len(got[200]), len(got[409])}, what)
	}
}

// The demo list of December moves the tall chest as its prices do (the sums are those of
// the README), and only from then on.
func TestTheListOfDecember(t *testing.T) {
	s := started(t, api.Config{})
	one := s.granted(t, 201, sendCSV(file(t, "../testdata/updates/2026-12-timber.csv"))).header.Get("Location")
	price := func(day string) any {
		return find(t, s.granted(t, 200, submit("/v1/costings", tallChest(t, day))).body, "/pieces/0/price")
	}
	assert.Equal(t, []any{"5945.00", "5945.00"}, []any{price("2026-11-30"), price("2026-12-01")})
	s.granted(t, 200, submit(one+"/apply", ""))
	assert.Equal(t, []any{"5945.00", "5957.00"}, []any{price("2026-11-30"), price("2026-12-01")})
	s.granted(t, 200, submit(one+"/withdraw", ""))
	assert.Equal(t, "5945.00", price("2026-12-01"))
}
