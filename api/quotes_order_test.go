package api_test

import (
	"archive/zip"
	"bytes"
	"database/sql"
	"encoding/json"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// unzipped returns everything that a workbook says.
func unzipped(t testing.TB, book []byte) string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	require.NoError(t, err)
	var all strings.Builder
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		_, err = io.Copy(&all, r)
		require.NoError(t, err)
		require.NoError(t, r.Close())
	}
	return all.String()
}

// What a draft would be is seen before it is sent: marked as a draft, as it would be on
// that day; and not any more once it was issued, nor where it has no price.
func TestADraftIsReadBeforeItIsSent(t *testing.T) {
	s := furnished(t)
	proof := s.granted(t, http.StatusOK, fetch(ledger+"/2026-0003/quotation.xlsx"))
	assert.Equal(t, "attachment; filename=2026-0003-2-draft-quotation.xlsx", proof.header.Get("Content-Disposition"))
	says := unzipped(t, proof.body)
	for _, part := range []string{"2026-0003 (draft)", "A choice", "Ada Field", "1 November 2026", "1 December 2026"} {
		assert.Contains(t, says, part)
	}
	s.refuses(t, 404, "not-found", "there is no draft of 2026-0002", fetch(ledger+"/2026-0002/quotation.xlsx"))
	s.refuses(t, 404, "not-found", "there is no draft of 2026-0005", fetch(ledger+"/2026-0005/quotation.xlsx"))
	s.refuses(t, 404, "not-found", `there is no quote "2026-0099"`, fetch(ledger+"/2026-0099/quotation.xlsx"))
	a := s.ask(t, refused(fetch(ledger+"/2026-0007/quotation.xlsx"))) // its castors are retired
	assert.Equal(t, 422, a.status)
	assert.Contains(t, string(a.body), "#/request/pieces/0/ironmongery/0/code")
	s.does(t, ledger+"/2026-0003", "issue", "")
	s.refuses(t, 404, "not-found", "there is no draft of 2026-0003", fetch(ledger+"/2026-0003/quotation.xlsx"))
}

// The papers of an order are those of the pieces that were chosen, each as if it had
// been asked for alone; those of what was sent stay as they were.
func TestPapersOfAnOrder(t *testing.T) {
	db := filepath.Join(t.TempDir(), "own.db")
	s, err := openService(db, api.Config{})
	require.NoError(t, err)
	path := s.sent(t)
	sent := make(map[string][]byte)
	for _, p := range papersOf() {
		sent[p.name] = s.written(t, path, p.name).body
		s.refuses(t, 404, "not-found", "there is no order by revision 1 of 2026-0001: it was not accepted", fetch(path+"/revisions/1/"+p.name+"?of=order"))
	}
	s.does(t, path, "accept", `{"choose": ["chest-walnut", "boxes"]}`)

	request := ordered(t)
	for _, p := range papersOf() {
		assert.Equal(t, string(sent[p.name]), string(s.written(t, path, p.name).body), p.name)
		a := s.written(t, path, p.name+"?of=order")
		name := strings.Replace(p.saved, "chest-", "chest-walnut-", 1)
		assert.Equal(t, "attachment; filename=2026-0001-1-order-"+name, a.header.Get("Content-Disposition"))
		assert.Equal(t, http.StatusNotModified, s.ask(t, fetch(path+"/revisions/1/"+p.name+"?of=order", "If-None-Match: "+a.header.Get("Etag"))).status)
	}
	costing := decode[struct {
		Totals struct{ Net, Gross string }
		Buying []struct{ Code, Amount string }
	}](t, s.granted(t, http.StatusOK, submit("/v1/costings", request)))
	assert.Equal(t, []string{"7007.00", "8228.40"}, []string{costing.Totals.Net, costing.Totals.Gross}) // 5644 + 776 + 384 + 203; less 150.00, with 20 % of tax
	buying := string(s.written(t, path, "buying-list.csv?of=order").body)
	assert.Equal(t, len(costing.Buying)+1, strings.Count(buying, "\n"))
	for _, l := range costing.Buying {
		assert.Contains(t, buying, l.Code+",")
		assert.Contains(t, buying, ","+l.Amount+",GBP")
	}
	assert.NotContains(t, buying, "oak-prime")
	quotation := unzipped(t, s.written(t, path, "quotation.xlsx?of=order").body)
	assert.Contains(t, quotation, "8228.4")
	assert.NotContains(t, quotation, "Instead of")
	assert.NotContains(t, quotation, "Could be added")
	s.refuses(t, 404, "not-found", "no piece of the revision has a front elevation", fetch(s.fronts(t)+"/revisions/1/elevation.svg?of=order"))

	other, err := sql.Open("sqlite3", db)
	require.NoError(t, err)
	for _, statement := range []string{"DROP TRIGGER events_stay", `UPDATE events SET doc = replace(doc, '"8228.40"', '"8228.41"') WHERE event = 'accepted'`} {
		_, err = other.Exec(statement)
		require.NoError(t, err)
	}
	require.NoError(t, other.Close())
	for _, p := range papersOf() {
		s.refuses(t, 409, "conflict", "2026-0001-1 was priced by engine 2, and engine 2 does not come to the same: take the papers of what was sent", fetch(path+"/revisions/1/"+p.name+"?of=order"))
	}
}

// ordered returns the request of the demo enquiry as if what was chosen had been asked
// for alone.
func ordered(t testing.TB) string {
	var enquiry struct{ Request map[string]any }
	require.NoError(t, json.Unmarshal([]byte(file(t, enquiries+"enquiry.json")), &enquiry))
	var pieces []any
	for _, p := range enquiry.Request["pieces"].([]any) {
		piece := p.(map[string]any)
		if piece["id"] != "chest" {
			delete(piece, "alternative_to")
			delete(piece, "optional")
			pieces = append(pieces, piece)
		}
	}
	enquiry.Request["pieces"] = pieces
	text, err := json.Marshal(enquiry.Request)
	require.NoError(t, err)
	return string(text)
}

// fronts makes a quote of a chest and an errand in its place, and has the errand
// ordered.
func (s service) fronts(t testing.TB) (path string) {
	t.Helper()
	draft := strings.Replace(chestDraft(t), `"pieces":[`, `"pieces":[{"id": "visit", "title": "A visit", "kind": "service", "alternative_to": "1", "service": {"drops": 1}},`, 1)
	draft = strings.Replace(draft, `"alternative_to": "1"`, `"alternative_to": "`+pieceID(t, draft)+`"`, 1)
	path, _ = s.drafts(t, draft)
	s.does(t, path, "issue", "")
	s.does(t, path, "accept", `{"choose": ["visit"]}`)
	return path
}

// pieceID returns the id of the second piece of a draft.
func pieceID(t testing.TB, draft string) string {
	t.Helper()
	var d struct {
		Request struct{ Pieces []struct{ ID string } }
	}
	require.NoError(t, json.Unmarshal([]byte(draft), &d))
	if id := d.Request.Pieces[1].ID; id != "" {
		return id
	}
	return "2"
}
