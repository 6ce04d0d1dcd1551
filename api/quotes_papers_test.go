package api_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/api"
	"reckoner/pricing/date"
)

// A paper is one that is written of an issued revision, and the name under which it is
// saved, after the number.
type paper struct{ name, media, saved string }

// papersOf returns every paper there is, of the demo enquiry.
func papersOf() []paper {
	return []paper{
		{"quotation.xlsx", mediaXLSX, "quotation.xlsx"}, {"workshop.xlsx", mediaXLSX, "workshop.xlsx"}, {"cutting-list.csv", "text/csv", "cutting-list.csv"},
		{"buying-list.csv", "text/csv", "buying-list.csv"}, {"elevation.svg", mediaSVG, "chest-elevation.svg"}, {"cutting.svg", mediaSVG, "birch-ply-6-cutting-1.svg"},
	}
}

// sent makes a quote of the demo enquiry and issues it.
func (s service) sent(t testing.TB) (path string) {
	t.Helper()
	path, _ = s.drafts(t, file(t, enquiries+"enquiry.json"))
	s.does(t, path, "issue", "")
	return path
}

// written returns a paper of the first revision of a quote.
func (s service) written(t testing.TB, path, name string) answer {
	t.Helper()
	return s.granted(t, http.StatusOK, fetch(path+"/revisions/1/"+name))
}

// A paper is of what was frozen and of nothing else: the same bytes under the same ETag
// on every call, when prices and terms have changed, when the quote was revised and
// accepted, and after the service was started anew.
func TestPapersAreTheSameForEver(t *testing.T) {
	db := filepath.Join(t.TempDir(), "own.db")
	s, err := openService(db, api.Config{})
	require.NoError(t, err)
	path := s.sent(t)
	first := make(map[string]answer)
	for _, p := range papersOf() {
		a := s.written(t, path, p.name)
		first[p.name] = a
		assert.Equal(t, []string{p.media, "attachment; filename=2026-0001-1-" + p.saved}, []string{a.header.Get("Content-Type"), a.header.Get("Content-Disposition")})
		assert.Regexp(t, `^"[!-~]+"$`, a.header.Get("Etag"))
		assert.Greater(t, len(a.body), 100, p.name)
	}
	same := func(s service, when string) {
		for name, a := range first {
			again := s.written(t, path, name)
			assert.True(t, bytes.Equal(a.body, again.body), "%s %s: not the same bytes", when, name)
			assert.Equal(t, a.header.Get("Etag"), again.header.Get("Etag"), "%s %s", when, name)
			assert.Equal(t, http.StatusNotModified, s.ask(t, fetch(path+"/revisions/1/"+name, "If-None-Match: "+a.header.Get("Etag"))).status, "%s %s", when, name)
		}
	}
	same(s, "again")
	terms := strings.Replace(string(s.granted(t, 200, fetch("/v1/terms")).body), `"name":"Little Wending Furniture Workshop"`, `"name":"Another"`, 1)
	s.granted(t, http.StatusOK, put("/v1/terms", terms, "If-Match: *"))
	s.granted(t, http.StatusOK, put("/v1/items/oak-prime-27/prices/2026-11-01", `{"rate": "9000.00", "unit": "m3"}`, "If-Match: *"))
	s.granted(t, http.StatusOK, put("/v1/finishes/oil-3", strings.Replace(string(s.granted(t, 200, fetch("/v1/finishes/oil-3")).body), `"description":"`, `"description":"Other `, 1), "If-Match: *"))
	same(s, "after prices, terms and words changed")
	s.does(t, path, "revise", "")
	s.does(t, path, "issue", "")
	s.does(t, path, "accept", "")
	same(s, "after another revision was accepted")
	for _, p := range papersOf() {
		a := s.granted(t, http.StatusOK, fetch(path+"/revisions/2/"+p.name))
		assert.Equal(t, "attachment; filename=2026-0001-2-"+p.saved, a.header.Get("Content-Disposition"))
		if p.media != mediaSVG && p.name != "cutting-list.csv" { // those have no price
			assert.NotEqual(t, first[p.name].header.Get("Etag"), a.header.Get("Etag"), p.name)
		}
	}
	s.close()
	again, err := openService(db, api.Config{Today: func() date.Date { return date.MustParse("2031-05-06") }})
	require.NoError(t, err)
	t.Cleanup(again.close)
	same(again, "after a start on another day")
}

// The customer's workbook has the totals that were frozen, and says whose it is. The
// sums: 5402.00 + 384.00 + 203.00 = 5989.00; less 150.00 5839.00; 20 % of it 1167.80;
// 7006.80, of which 40 % are 2802.72 and 75 % 5255.10.
func TestTheQuotationHasWhatWasFrozen(t *testing.T) {
	s := started(t, api.Config{})
	path := s.sent(t)
	rows := rowsIn(t, s.written(t, path, "quotation.xlsx").body, "Quotation")
	says := make(map[string]string)
	var all []string
	for _, row := range rows {
		cells := strings.FieldsFunc(strings.Join(row, "\x00"), func(r rune) bool { return r == 0 })
		all = append(all, cells...)
		if n := len(cells); n > 1 {
			says[cells[n-2]] = cells[n-1]
			says[cells[0]] = cells[n-1]
		}
	}
	for label, want := range map[string]string{
		"Number": "2026-0001", "Revision": "1", "Date": "1 November 2026", "Valid until": "16 December 2026",
		"Net": "5989", "Discount": "150", "Net after discount": "5839", "VAT 20 % on": "1167.8", "Total": "7006.8",
		"Deposit 40 %, when you accept": "2802.72", "Second payment 35 %, when the carcase is glued up": "2452.38", "Last payment 25 %, when it stands in its place": "1751.7",
	} {
		assert.Equal(t, want, says[label], label)
	}
	for _, text := range []string{"Quotation: A bedroom in oak", "Tobias and Wren Ashdown", "The Loft, Granary Yard", "We measure the alcove again before any timber is cut."} {
		assert.Contains(t, all, text)
	}
	var gross []string
	for _, row := range rowsIn(t, s.written(t, path, "workshop.xlsx").body, "") {
		for i, cell := range row {
			if cell == "Total" {
				gross = append(gross, row[i:]...)
			}
		}
	}
	assert.Contains(t, gross, "7006.8", "the workshop's has the same total")
}

// rowsIn returns the cells of a sheet, or of all for none, each as it is kept.
func rowsIn(t testing.TB, workbook []byte, sheet string) (all [][]string) {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(workbook))
	require.NoError(t, err)
	for _, name := range f.GetSheetList() {
		if sheet != "" && name != sheet {
			continue
		}
		rows, err := f.GetRows(name, excelize.Options{RawCellValue: true})
		require.NoError(t, err)
		all = append(all, rows...)
	}
	require.NotEmpty(t, all)
	require.NoError(t, f.Close())
	return all
}

// The tables have a row for each part of every piece, and for all that is to be bought.
func TestTheTablesHaveWhatWasFrozen(t *testing.T) {
	s := started(t, api.Config{})
	path := s.sent(t)
	document := s.granted(t, http.StatusOK, fetch(path+"/revisions/1")).body
	parts := 0
	for _, p := range find(t, document, "/costing/pieces").([]any) {
		parts += len(p.(map[string]any)["parts"].([]any))
	}
	buying := find(t, document, "/costing/buying").([]any)
	cut, err := csv.NewReader(bytes.NewReader(s.written(t, path, "cutting-list.csv").body)).ReadAll()
	require.NoError(t, err)
	assert.Len(t, cut, parts+1)
	buy, err := csv.NewReader(bytes.NewReader(s.written(t, path, "buying-list.csv").body)).ReadAll()
	require.NoError(t, err)
	require.Len(t, buy, len(buying)+1)
	for i, l := range buying {
		assert.Equal(t, []any{l.(map[string]any)["code"], l.(map[string]any)["amount"]}, []any{buy[i+1][0], buy[i+1][6]})
	}
}

// A piece is drawn that is named, or the first that has a front.
func TestTheElevationOfARevision(t *testing.T) {
	s := started(t, api.Config{})
	path := s.sent(t)
	target := path + "/revisions/1/elevation.svg"
	whole := s.granted(t, http.StatusOK, fetch(target))
	chest := s.granted(t, http.StatusOK, fetch(target+"?piece=chest"))
	walnut := s.granted(t, http.StatusOK, fetch(target+"?piece=chest-walnut"))
	assert.Equal(t, string(whole.body), string(chest.body))
	assert.Contains(t, string(chest.body), "Bedroom chest")
	assert.Contains(t, string(walnut.body), "The same chest in walnut")
	assert.NotEqual(t, chest.header.Get("Etag"), walnut.header.Get("Etag"))
	assert.Equal(t, "attachment; filename=2026-0001-1-chest-walnut-elevation.svg", walnut.header.Get("Content-Disposition"))
	for piece, detail := range map[string]string{
		"boxes": `the piece "boxes" has no front elevation`, "design": `the piece "design" has no front elevation`,
		"Chest": `no piece of the request has the id "Chest"`, "": `no piece of the request has the id ""`, "1": `no piece of the request has the id "1"`, "%FF": `no piece of the request has the id "\xff"`,
	} {
		a := s.ask(t, refused(fetch(target+"?piece="+piece)))
		assert.Equal(t, []any{422, "/problems#not-valid"}, []any{a.status, a.Type}, piece)
		assert.JSONEq(t, line(t, []map[string]string{{"parameter": "piece", "detail": detail}}), string(a.Errors))
	}
	plain, _ := s.drafts(t, errand)
	s.does(t, plain, "issue", "")
	target = plain + "/revisions/1/elevation.svg"
	s.refuses(t, 404, "not-found", "no piece of the revision has a front elevation", fetch(target))
	assert.Equal(t, 422, s.ask(t, refused(fetch(target+"?piece=1"))).status)
	for _, name := range []string{"quotation.xlsx", "workshop.xlsx", "cutting-list.csv", "buying-list.csv"} {
		s.written(t, plain, name)
	}
}

// There are papers only of what was issued.
func TestPapersThereAreNot(t *testing.T) {
	s := started(t, api.Config{})
	path := s.sent(t)
	s.does(t, path, "revise", "")
	void, _ := s.drafts(t, errand)
	s.does(t, void, "void", "")
	names := []string{""}
	for _, p := range papersOf() {
		names = append(names, "/"+p.name)
	}
	for _, name := range names {
		for revision, detail := range map[string]string{
			"2": `there is no revision 2 of a quote "2026-0001" that was issued`, "9": `there is no revision 9 of a quote "2026-0001" that was issued`,
			"0": `"0" is no number of a revision`, "01": `"01" is no number of a revision`, "-1": `"-1" is no number of a revision`, "1.0": `"1.0" is no number of a revision`,
			"+1": `"+1" is no number of a revision`, "latest": `"latest" is no number of a revision`, "99999999999999999999": `"99999999999999999999" is no number of a revision`, "%FF": `"\xff" is no number of a revision`,
		} {
			s.refuses(t, 404, "not-found", detail, fetch(path+"/revisions/"+revision+name))
		}
		s.refuses(t, 404, "not-found", `there is no revision 1 of a quote "2026-0002" that was issued`, fetch(void+"/revisions/1"+name))
		s.refuses(t, 404, "not-found", `there is no revision 1 of a quote "2026-0003" that was issued`, fetch(ledger+"/2026-0003/revisions/1"+name))
		s.refuses(t, 404, "not-found", `there is no revision 1 of a quote "\xff" that was issued`, fetch(ledger+"/%FF/revisions/1"+name))
	}
	s.refuses(t, 404, "not-found", "there is nothing at this path", fetch(path+"/revisions/1/invoice.xlsx"))
	s.refuses(t, 404, "not-found", "there is nothing at this path", fetch(path+"/revisions"))
}

// What is private is printed nowhere, and is not frozen: not of the quote, and not of
// the customer. What is for the customer is on the quotation, as text whatever it is.
func TestWhatIsPrivateStaysSo(t *testing.T) {
	const private, secret, note = "Magpie between us", "Heron between us", "=HYPERLINK(\"x\")\nThe second line"
	s := started(t, api.Config{})
	s.granted(t, http.StatusCreated, submit(people, `{"name": "Ada Field", "private_note": "`+secret+`"}`))
	draft := strings.TrimSuffix(strings.Replace(enquiry(t, 1), "Would take walnut if the bank agrees: ring at the end of the month.", private, 1), "\n")
	draft = strings.Replace(draft, `"We measure the alcove again before any timber is cut."`, strings.TrimSpace(line(t, note)), 1)
	path, _ := s.drafts(t, draft)
	assert.Contains(t, string(s.granted(t, http.StatusOK, fetch(path)).body), private, "the workshop sees it")
	s.does(t, path, "issue", "")
	names := []string{""}
	for _, p := range papersOf() {
		names = append(names, "/"+p.name)
	}
	for _, name := range append(names, "/elevation.svg?piece=chest-walnut") {
		a := s.granted(t, http.StatusOK, fetch(path+"/revisions/1"+name))
		for part, text := range unpacked(t, a.body) {
			for _, word := range []string{"Magpie", "Heron", "between us", "private"} {
				assert.NotContains(t, text, word, "%s %s", name, part)
			}
			for header := range a.header {
				assert.NotContains(t, a.header.Get(header), "between us")
			}
		}
	}
	var printed []string
	for _, row := range rowsIn(t, s.written(t, path, "quotation.xlsx").body, "Quotation") {
		printed = append(printed, row...)
	}
	assert.Contains(t, printed, `=HYPERLINK("x")`)
	assert.Contains(t, printed, "The second line")
	assert.Equal(t, note, find(t, s.granted(t, http.StatusOK, fetch(path+"/revisions/1")).body, "/note"))
	quote := s.granted(t, http.StatusOK, fetch(path)).body
	assert.Equal(t, []any{note, private}, []any{find(t, quote, "/note"), find(t, quote, "/private_note")})
	twin := s.granted(t, http.StatusCreated, submit(path+"/duplicate", "")).body
	assert.Equal(t, []any{note, nil}, []any{find(t, twin, "/note"), find(t, twin, "/private_note")})
	for _, list := range []string{ledger, ledger + "?text=between"} {
		assert.NotContains(t, string(s.granted(t, http.StatusOK, fetch(list)).body), "between us")
	}
	assert.Empty(t, s.found(t, "text=magpie"))
	assert.NotContains(t, string(s.granted(t, http.StatusOK, fetch(path+"/events")).body), "Heron")
}

// unpacked returns the parts of a file, each as it is once it is unpacked, and the file
// as it is.
func unpacked(t testing.TB, text []byte) map[string]string {
	t.Helper()
	all := map[string]string{"": string(text)}
	if !bytes.HasPrefix(text, []byte("PK")) {
		return all
	}
	z, err := zip.NewReader(bytes.NewReader(text), int64(len(text)))
	require.NoError(t, err)
	for _, part := range z.File {
		r, err := part.Open()
		require.NoError(t, err)
		inside, err := io.ReadAll(r)
		require.NoError(t, err)
		all[part.Name] = string(inside)
	}
	require.Greater(t, len(all), 5)
	return all
}
