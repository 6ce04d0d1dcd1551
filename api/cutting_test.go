package api_test

import (
	"database/sql"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing"
)

// panels returns a request of that many panels of 600 x 400 mm from a sheet of
// 2440 x 1220 mm, with more members of the request.
//
// What a sheet gives is counted by hand. Within the trim of 10 mm it is 2420 x 1200 mm.
// Along it lie 4 panels, 4 x 600 + 3 x 3.2 = 2409.6 mm; across it 2, for 3 are
// 3 x 400 + 2 x 3.2 = 1206.4 mm: 8 panels, where no panel may turn. Where they may, a
// row of turned ones has 6, 6 x 400 + 5 x 3.2 = 2416 mm, and is 600 mm high; beside it
// 1200 - 600 - 3.2 = 596.8 mm are left for a row of 4 that lie along: 10 panels. By area
// there would be room for 12 (12 x 0.24 = 2.88 of 2.9768 m2).
func panels(n int, more string) string { return alike("Panel", "600", "400", n, more) }

// boards returns a request of two boards of 2400 mm and of that width, which come out of
// one sheet only one above the other.
func boards(width, more string) string { return alike("Board", "2400", width, 2, more) }

// alike returns a request of parts that are alike, with more members.
func alike(name, length, width string, n int, more string) string {
	return fmt.Sprintf(`{"pieces": [{"id": "parts", "title": "Parts", "kind": "parts", "parts": {"parts": [
		{"name": "%s", "length": %s, "width": %s, "quantity": %d, "material": "birch-ply-6"}]}}]%s}`, name, length, width, n, more)
}

// planned returns the plan of the only sheet that a request is cut from.
func (s service) planned(t testing.TB, request string) pricing.SheetPlan {
	t.Helper()
	plans := s.priced(t, request).Cutting
	require.Len(t, plans, 1)
	return plans[0]
}

// priced returns the costing of a request.
func (s service) priced(t testing.TB, request string) (c pricing.Costing) {
	t.Helper()
	require.NoError(t, wire.Decode(s.granted(t, http.StatusOK, submit("/v1/costings", request)).body, &c))
	return c
}

// Nine panels need one sheet, and two when the sheet has a grain; that is said from a
// day, and read on both sides of it.
func TestASheetIsGivenAGrain(t *testing.T) {
	const path, from = "/v1/sheets/birch-ply-6", "2026-12-01"
	s := started(t, api.Config{})
	plain := string(s.granted(t, 200, fetch(path)).body)
	require.NotContains(t, plain, "grain")
	grained := strings.Replace(plain, `"width":1220,`, `"width":1220,"grain":true,`, 1)
	s.granted(t, 200, put(path+"?from="+from, grained, "If-Match: *"))
	assert.Equal(t, grained, string(s.granted(t, 200, fetch(path+"?as_of="+from)).body))
	assert.Equal(t, plain, string(s.granted(t, 200, fetch(path+"?as_of=2026-11-30")).body))
	assert.Equal(t, true, find(t, s.granted(t, 200, fetch("/v1/book?as_of="+from)).body, "/sheets/birch-ply-6/grain"))
	for _, c := range []struct {
		day            string
		panels, sheets int
		grain          bool
	}{
		{"2026-11-30", 9, 1, false}, {"2026-11-30", 18, 2, false}, // more than 8 of a sheet
		{from, 8, 1, true}, {from, 9, 2, true}, {from, 16, 2, true}, {from, 17, 3, true},
	} {
		p := s.planned(t, panels(c.panels, `, "as_of": "`+c.day+`"`))
		assert.Equal(t, []any{c.sheets, c.sheets, c.grain}, []any{p.Sheets, p.Apart, p.Grain}, "%d panels on %s", c.panels, c.day)
		assert.Equal(t, !c.grain, turns(p), "%d panels on %s", c.panels, c.day)
		assert.LessOrEqual(t, p.Bound, p.Sheets, "%d panels on %s", c.panels, c.day)
		assert.Equal(t, p.Bound == p.Sheets, strings.HasSuffix(p.Finding, "; no layout can do it with fewer"), p.Finding)
	}
}

// turns reports whether a part of a plan is turned.
func turns(p pricing.SheetPlan) bool {
	return slices.ContainsFunc(p.Layouts, func(l pricing.Layout) bool {
		return slices.ContainsFunc(l.Placed, func(q pricing.Placed) bool { return q.Turned })
	})
}

// What a saw takes is of the terms, of the workshop or of one request, to the last
// hundredth: two boards of 598.4 mm and a kerf of 3.2 mm are the 1200 mm of a sheet within
// its trim; of 598.5 mm they are too wide, but for a kerf of 3 or a trim of 9.9 mm.
func TestTermsSayWhatTheSawTakes(t *testing.T) {
	s := started(t, api.Config{})
	terms := string(s.granted(t, 200, fetch("/v1/terms")).body)
	require.NotRegexp(t, "kerf|trim|offcut_min", terms)
	p := s.planned(t, boards("598.4", ""))
	assert.Equal(t, []string{"1", "3.2", "10", "300"}, saw(p), "by default")
	for name, was := range map[string]string{"kerf": p.Kerf.String(), "trim": p.Trim.String(), "offcut_min": p.OffcutMin.String()} {
		assert.Equal(t, was, decimal(schema(t, contract(t), "Terms").Value.Properties[name].Value.Default.(float64)).String(), name)
	}
	assert.Equal(t, []string{"2", "3.2", "10", "300"}, saw(s.planned(t, boards("598.5", ""))))
	assert.Equal(t, []string{"1", "3", "10", "300"}, saw(s.planned(t, boards("598.5", `, "terms": {"kerf": 3}`))))
	assert.Equal(t, []string{"1", "3.2", "9.9", "300"}, saw(s.planned(t, boards("598.5", `, "terms": {"trim": 9.9}`))))
	assert.Equal(t, []string{"1", "0", "0", "1"}, saw(s.planned(t, boards("610", `, "terms": {"kerf": 0, "trim": 0, "offcut_min": 1}`))), "all of 1220 mm")

	changed := strings.Replace(terms, `"valid_days":30`, `"valid_days":30,"kerf":2.5,"trim":5,"offcut_min":55.5`, 1)
	kept := string(s.granted(t, 200, put("/v1/terms?from=2026-12-01", changed, "If-Match: *")).body)
	for _, member := range []string{`"kerf":2.5`, `"trim":5`, `"offcut_min":55.5`} {
		assert.Contains(t, kept, member)
	}
	assert.Equal(t, terms, string(s.granted(t, 200, fetch("/v1/terms?as_of=2026-11-30")).body))
	assert.Equal(t, kept, string(s.granted(t, 200, fetch("/v1/terms?as_of=2026-12-01")).body))
	const day = `, "as_of": "2026-12-01"`
	assert.Equal(t, []string{"1", "2.5", "5", "55.5"}, saw(s.planned(t, boards("603.75", day))), "1210 mm")
	assert.Equal(t, []string{"2", "2.5", "5", "55.5"}, saw(s.planned(t, boards("603.76", day))))
	assert.Equal(t, []string{"2", "2.5", "10", "55.5"}, saw(s.planned(t, boards("603.75", day+`, "terms": {"trim": 10, "kerf": null}`))), "the request's own before the workshop's")
}

// saw returns how many sheets a plan takes, and what of the terms it was made with.
func saw(p pricing.SheetPlan) []string {
	return []string{fmt.Sprint(p.Sheets), p.Kerf.String(), p.Trim.String(), p.OffcutMin.String()}
}

// An offcut is kept from the length and width on that the terms say: of one sheet with
// one panel at least the strip beside it, 2420 - 600 - 3.2 = 1816.8 mm long or
// 1200 - 400 - 3.2 = 796.8 mm wide; none of them is 1200.1 mm wide.
func TestTermsSayWhichOffcutsAreKept(t *testing.T) {
	for least, kept := range map[string]bool{"1": true, "790": true, "1200.1": false, "20000": false} {
		p := shared.planned(t, panels(1, `, "terms": {"offcut_min": `+least+`}`))
		assert.Equal(t, kept, len(p.Layouts[0].Offcuts) > 0, least)
		for _, o := range p.Layouts[0].Offcuts {
			assert.GreaterOrEqual(t, min(o.Length, o.Width), decimal(least), least)
		}
	}
}

// threeOfFive is a request of three pieces of five panels.
func threeOfFive() string {
	const one = `{"id": "%s", "title": "Panels", "kind": "parts", "parts": {"parts": [{"name": "Panel", "length": 600, "width": 400, "quantity": 5, "material": "birch-ply-6"}]}}`
	return fmt.Sprintf(`{"pieces": [`+one+`, `+one+`, `+one+`]}`, "a", "b", "c")
}

// Three pieces of five panels take two sheets together, for 10 fit on one, and three
// apart: that is what they bear, and what sharing saves is the third.
func TestPiecesShareTheirSheets(t *testing.T) {
	c := shared.priced(t, threeOfFive())
	for _, p := range c.Pieces {
		require.Len(t, p.Sheets, 1)
		l := p.Sheets[0]
		assert.Equal(t, []string{"1", "1", "each", "28.00", "28.00"}, []string{l.Needed.String(), l.Quantity.String(), string(l.Unit), l.Rate.String(), l.Amount.String()}, p.ID)
		assert.Equal(t, []string{"layout", "sheet", "1"}, []string{l.Terms[0].Measure, l.Terms[0].Share, l.Terms[0].Quantity.String()}, p.ID)
	}
	plan := c.Cutting[0]
	assert.Equal(t, []int{2, 2, 3, 3}, []int{plan.Sheets, plan.Bound, plan.Apart, len(plan.Parts)})
	answer := shared.granted(t, 200, submit("/v1/costings", threeOfFive())).body
	assert.Equal(t, "28.00", find(t, answer, "/cutting/0/saving"))
	assert.Equal(t, map[string]any{"code": "birch-ply-6", "description": "Birch plywood, 6 mm", "needed": 2.0, "unit": "each", "amount": "56.00"}, find(t, answer, "/buying/birch-ply-6"))
}

// many returns a request of parts that are all different, whose layouts are worth
// looking for.
func many(n int, more string) string {
	parts := make([]string, n)
	for i := range parts {
		parts[i] = fmt.Sprintf(`{"name": "Part %d", "length": %d, "width": %d, "quantity": %d, "material": "birch-ply-6"}`, i+1, 200+i*i*7919%900, 90+i*5003%410, 1+i%3)
	}
	return `{"pieces": [{"id": "parts", "title": "Parts", "kind": "parts", "parts": {"parts": [` + strings.Join(parts, ", ") + `]}}]` + more + `}`
}

// A request says how hard to look. A thorough plan takes no more sheets than a quick
// one, and is the same every time; quick is what is meant where nothing is said.
func TestARequestSaysHowHardToLook(t *testing.T) {
	for _, n := range []int{1, 12, 40} {
		plain, _ := answered(t, submit("/v1/costings", many(n, "")))
		quick, _ := answered(t, submit("/v1/costings", many(n, `, "cutting": "quick"`)))
		null, _ := answered(t, submit("/v1/costings", many(n, `, "cutting": null`)))
		assert.Equal(t, []string{plain, plain}, []string{quick, null}, n)
		thorough, _ := answered(t, submit("/v1/costings", many(n, `, "cutting": "thorough"`)))
		again, _ := answered(t, submit("/v1/costings", many(n, `, "cutting": "thorough"`)))
		assert.Equal(t, thorough, again, n)
		fast, slow := shared.planned(t, many(n, "")), shared.planned(t, many(n, `, "cutting": "thorough"`))
		assert.LessOrEqual(t, slow.Sheets, fast.Sheets, n)
		assert.LessOrEqual(t, fast.Bound, slow.Bound, n)
		assert.LessOrEqual(t, slow.Bound, slow.Sheets, n)
	}
}

// Every layout of every sheet of the demos is drawn as exports draws it, byte for byte.
func TestTheDiagramsOfTheDemos(t *testing.T) {
	b := bookOf(t, today)
	sheets := 0
	for _, name := range files(t, pieces+"*.json") {
		text := file(t, name)
		p := exports.Paper{Book: b}
		require.NoError(t, wire.Decode([]byte(text), &p.Request), name)
		var err error
		if p.Costing, err = pricing.Cost(p.Request, b); err != nil {
			continue // that it is refused is told elsewhere
		}
		p.Customer = p.Request.Customer
		for _, plan := range p.Costing.Cutting {
			sheets++
			for _, l := range plan.Layouts {
				want := drawn(t, func(w io.Writer) error { return exports.CuttingDiagram(w, p, plan.Code, l.Number) })
				got, media := answered(t, submit(fmt.Sprintf("/v1/costings?sheet=%s&layout=%d", plan.Code, l.Number), text, "Accept: image/*"))
				assert.Equal(t, []string{mediaSVG, want}, []string{media, got}, "%s %s", name, plan.Code)
				if l.Number == 1 {
					got, _ = answered(t, submit("/v1/costings?sheet="+plan.Code, text, "Accept: "+mediaSVG))
					assert.Equal(t, want, got, "%s %s: the first", name, plan.Code)
				}
				wellFormed(t, got)
			}
			beyond := refused(submit(fmt.Sprintf("/v1/costings?sheet=%s&layout=%d", plan.Code, len(plan.Layouts)+1), text, "Accept: "+mediaSVG))
			shared.refuses(t, 422, "not-valid", "One thing is wrong.", beyond)
		}
	}
	assert.GreaterOrEqual(t, sheets, 7)
}

// wellFormed reads an SVG to its end.
func wellFormed(t testing.TB, text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		require.NoError(t, err)
	}
}

// The diagram of a cutting list is of the sheet that its query names.
func TestTheDiagramOfACuttingList(t *testing.T) {
	text := file(t, pieces+"cutting-list.csv")
	p := exports.Paper{Book: bookOf(t, today)}
	p.Request, _ = wire.List{Timber: "oak-prime", Sheet: "birch-ply-6", Finish: "oil-3"}.Read([]byte(text))
	var err error
	p.Costing, err = pricing.Cost(p.Request, p.Book)
	require.NoError(t, err)
	want := drawn(t, func(w io.Writer) error { return exports.CuttingDiagram(w, p, "birch-ply-6", 1) })
	got, media := answered(t, submit("/v1/costings?timber=oak-prime&sheet=birch-ply-6&finish=oil-3&layout=1", text, "Content-Type: text/csv", "Accept: "+mediaSVG))
	assert.Equal(t, []string{mediaSVG, want}, []string{media, got})
}

// severalSheets is a draft of what is cut from two sheets, one of which takes several
// layouts; the extra takes a third.
var severalSheets = draftOf(`{"pieces": [
	{"id": "boxes", "title": "Boxes", "kind": "parts", "parts": {"parts": [
		{"name": "Side", "length": 1800, "width": 1100, "quantity": 3, "material": "birch-ply-9"}, {"name": "End", "length": 500, "width": 420, "material": "birch-ply-9"},
		{"name": "Back", "length": 900, "width": 600, "material": "birch-ply-6"}]}},
	{"id": "extra", "title": "Another", "kind": "parts", "optional": true, "parts": {"parts": [{"name": "Door", "length": 900, "width": 600, "material": "oak-faced-ply-6"}]}}], "cutting": "thorough"}`)

// What is answered of cutting is as the contract says; between them the answers have all
// that they may have.
func TestCuttingPlansAreOfTheContract(t *testing.T) {
	b := opened(t)
	sheet := string(b.ask(t, "GET /v1/sheets/birch-ply-6", ""))
	b.ask(t, "PUT /v1/sheets/birch-ply-6?from=2026-12-01", strings.Replace(sheet, `"width":1220,`, `"width":1220,"grain":true,`, 1), "If-Match: *")
	types := reachable(reflect.TypeFor[pricing.SheetPlan]())
	require.Len(t, types, 5)
	complete(t, contract(t), []saying{
		{"Costing", string(b.ask(t, "POST /v1/costings", panels(9, "")))}, // turned
		{"Costing", string(b.ask(t, "POST /v1/costings", threeOfFive()))},
		{"Costing", string(b.ask(t, "POST /v1/costings", panels(9, `, "as_of": "2026-12-01"`)))},
		{"Costing", string(b.ask(t, "POST /v1/costings", string(demo(t, "inch-chest.json"))))},
		{"Sheet", string(b.ask(t, "GET /v1/sheets/birch-ply-6?as_of=2026-12-01", ""))},
	}, types)
}

// A revision's diagrams are of the sheets and layouts that were frozen with it, and of an
// order those of what was ordered.
func TestTheDiagramsOfARevision(t *testing.T) {
	s := started(t, api.Config{})
	path, _ := s.drafts(t, severalSheets)
	s.does(t, path, "issue", "")
	target := path + "/revisions/1/cutting.svg"
	document := s.granted(t, 200, fetch(path+"/revisions/1")).body
	assert.Equal(t, "thorough", find(t, document, "/request/cutting"), "so that it can be priced again")
	assert.Equal(t, "2", find(t, document, "/engine"))
	seen := make(map[string]string)
	for _, c := range find(t, document, "/costing/cutting").([]any) {
		plan := c.(map[string]any)
		for i := range plan["layouts"].([]any) {
			query := fmt.Sprintf("?sheet=%s&layout=%d", plan["code"], i+1)
			a := s.granted(t, 200, fetch(target+query))
			assert.Equal(t, []string{mediaSVG, fmt.Sprintf("attachment; filename=2026-0001-1-%s-cutting-%d.svg", plan["code"], i+1), "no-cache"},
				[]string{a.header.Get("Content-Type"), a.header.Get("Content-Disposition"), a.header.Get("Cache-Control")})
			assert.Equal(t, 304, s.ask(t, fetch(target+query, "If-None-Match: "+a.header.Get("Etag"))).status)
			for other, body := range seen {
				assert.NotEqual(t, body, string(a.body), "%s is as %s", query, other)
			}
			seen[query] = string(a.body)
			wellFormed(t, string(a.body))
		}
	}
	require.GreaterOrEqual(t, len(seen), 3)
	assert.Equal(t, seen["?sheet=birch-ply-9&layout=1"], string(s.granted(t, 200, fetch(target+"?sheet=birch-ply-9")).body))
	wrong := func(query, parameter, detail string) {
		t.Helper()
		a := s.ask(t, refused(fetch(target+query)))
		assert.Equal(t, 422, a.status, query)
		assert.JSONEq(t, line(t, []map[string]string{{"parameter": parameter, "detail": detail}}), string(a.Errors), query)
	}
	wrong("", "sheet", "it is missing, and there are several: write birch-ply-6 or birch-ply-9")
	wrong("?layout=1", "sheet", "it is missing, and there are several: write birch-ply-6 or birch-ply-9")
	wrong("?sheet=oak-faced-ply-6", "sheet", `nothing is cut from a sheet "oak-faced-ply-6": write birch-ply-6 or birch-ply-9`)
	wrong("?sheet=%FF", "sheet", `nothing is cut from a sheet "\xff": write birch-ply-6 or birch-ply-9`)
	wrong("?sheet=birch-ply-6&layout=2", "layout", "there is no layout 2 of birch-ply-6: write 1")
	s.refuses(t, 404, "not-found", "there is no order by revision 1 of 2026-0001: it was not accepted", fetch(target+"?of=order&sheet=birch-ply-6"))
	s.does(t, path, "accept", `{"choose": ["extra"]}`)
	a := s.granted(t, 200, fetch(target+"?of=order&sheet=oak-faced-ply-6"))
	assert.Equal(t, "attachment; filename=2026-0001-1-order-oak-faced-ply-6-cutting-1.svg", a.header.Get("Content-Disposition"))
	wrong("?of=order", "sheet", "it is missing, and there are several: write birch-ply-6, birch-ply-9 or oak-faced-ply-6")
	s.refuses(t, 404, "not-found", "nothing of the pieces included is cut from a sheet", fetch(s.fronts(t)+"/revisions/1/cutting.svg?of=order"))
}

// A document that was frozen before sheets were planned has no diagram, and says so; the
// other papers of it are as they were.
func TestADocumentFromBeforeThereWerePlans(t *testing.T) {
	db := filepath.Join(t.TempDir(), "own.db")
	s, err := openService(db, api.Config{})
	require.NoError(t, err)
	t.Cleanup(s.close)
	path, _ := s.drafts(t, draftOf(panels(9, "")))
	s.does(t, path, "issue", "")
	target := path + "/revisions/1/cutting.svg"
	s.granted(t, 200, fetch(target))
	other, err := sql.Open("sqlite3", db)
	require.NoError(t, err)
	for _, statement := range []string{"DROP TRIGGER revisions_stay", `UPDATE revisions SET costing = json_remove(costing, '$.cutting')`} {
		_, err = other.Exec(statement)
		require.NoError(t, err)
	}
	require.NoError(t, other.Close())
	for _, query := range []string{"", "?sheet=birch-ply-6", "?sheet=birch-ply-6&layout=1", "?sheet=other"} {
		s.refuses(t, 404, "not-found", "the revision was issued before sheets were planned: it has no cutting plan", fetch(target+query))
	}
	for _, name := range []string{"quotation.xlsx", "workshop.xlsx", "cutting-list.csv", "buying-list.csv"} {
		s.written(t, path, name)
	}
}
