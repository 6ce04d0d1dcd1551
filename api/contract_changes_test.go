package api_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// What is answered of changes is as the contract says; between them the answers have
// all that they may have, and every word of what is told by one.
func TestChangesAreOfTheContract(t *testing.T) {
	doc := contract(t)
	complete(t, doc, changes(t, opened(t)), reachable(reflect.TypeFor[catalog.History](), reflect.TypeFor[catalog.Update](), reflect.TypeFor[catalog.UpdateHead](), reflect.TypeFor[catalog.Change]()))
}

// A saying is an answer of the service, and the schema that it is of.
type saying struct{ schema, answer string }

// complete checks that answers are of their schemas, and that between them they have every
// member of the types, and every word that may stand there.
func complete(t *testing.T, doc *openapi3.T, answers []saying, types []reflect.Type) {
	t.Helper()
	seen := make(map[string]bool)
	for _, x := range answers {
		ofSchema(t, doc, x.schema, x.answer)
		for _, p := range (document{[]byte(x.answer), x.schema}).places(t, doc) {
			if p.value != nil {
				seen[p.member], seen[fmt.Sprint(p.member, ": ", p.value)] = true, true
			}
		}
	}
	for _, typ := range types {
		for name, m := range schema(t, doc, schemaOf(typ)).Value.Properties {
			at := schemaOf(typ) + "." + name
			assert.True(t, seen[at], at)
			for _, word := range shape(m).Enum {
				assert.True(t, seen[fmt.Sprint(at, ": ", word)] || name == "unit" || at == "History.class", "%s: %s", at, word)
			}
		}
	}
}

// A move is large beyond the default of the contract, up or down.
func TestDefaultsOfLargeMovesAreTrue(t *testing.T) {
	b := opened(t)
	limit := decimal(schema(t, contract(t), "Terms").Value.Properties["large_move_percent"].Value.Default.(float64))
	require.NotContains(t, string(b.ask(t, "GET /v1/terms", "")), "large_move_percent")
	var u catalog.Update
	require.NoError(t, wire.Decode(b.ask(t, "POST /v1/price-updates", priceList), &u))
	moves := make(map[bool][]num.Decimal)
	for _, r := range u.Rows {
		if r.Change != nil {
			moves[r.Large] = append(moves[r.Large], *r.Change)
		}
	}
	assert.Subset(t, moves[false], []num.Decimal{limit, -limit})
	require.NotEmpty(t, moves[true])
	for _, p := range moves[true] {
		assert.True(t, p > limit || -p > limit, p)
	}
}

// A page of any list is as long as the contract says, where there is that much to list.
func TestRangesOfPagesAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	limit, before := doc.Components.Parameters["Limit"].Value.Schema.Value, doc.Components.Parameters["Before"].Value.Schema.Value
	usual := int(limit.Default.(float64))
	for range usual + 1 {
		b.ask(t, "PUT /v1/methods/brush", `{"code": "brush", "transfer_percent": 85}`, "If-Match: *")
		b.ask(t, "POST /v1/customers", ines)
		b.ask(t, "POST /v1/quotes", draftOf(call))
	}
	for _, list := range []string{"changes", "customers", "quotes"} {
		for query, long := range map[string]int{
			"":                                      usual,
			fmt.Sprint("limit=", *limit.Min):        int(*limit.Min),
			fmt.Sprint("limit=", *limit.Min-1):      0,
			fmt.Sprint("limit=", *limit.Max):        usual + 1,
			fmt.Sprint("limit=", *limit.Max+1):      0,
			fmt.Sprint("before=", *before.Min+1):    1,
			fmt.Sprint("before=", *before.Min-1):    0,
			fmt.Sprint("before=", usual+1):          usual,
			"before=x":                              0,
			"limit=1&before=" + fmt.Sprint(usual+1): 1,
		} {
			var page map[string]any
			require.NoError(t, json.Unmarshal(b.ask(t, "GET /v1/"+list+"?"+query, ""), &page))
			told, _ := page[list].([]any)
			wrong, _ := page["errors"].([]any)
			assert.Len(t, told, long, "%s?%s", list, query)
			assert.Equal(t, long == 0, len(wrong) == 1, "%s?%s", list, query)
		}
	}
}

// The examples are true: the requests can be priced, and what is shown of an answer
// is what the service says.
func TestExamplesAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	for name, e := range doc.Paths.Value("/v1/costings").Post.RequestBody.Value.Content["application/json"].Examples {
		text, err := json.Marshal(e.Value.Value)
		require.NoError(t, err)
		assert.Empty(t, document{text, "Request"}.judge(t, b).faults, name)
	}
	shows := func(example any, answer []byte) {
		text, err := json.Marshal(example)
		require.NoError(t, err)
		assert.JSONEq(t, string(text), string(answer))
	}
	post := doc.Paths.Value("/v1/price-updates").Post
	update := post.Responses.Status(201).Value.Content["application/json"].Example.(map[string]any)
	answer := b.ask(t, "POST /v1/price-updates", post.RequestBody.Value.Content["text/csv"].Example.(string))
	update["previewed_at"] = member(t, decoded(t, answer), "previewed_at")
	shows(update, answer)

	rows := strings.SplitAfter(string(demo(t, "bad-cutting-list.csv")), "\n")
	for _, x := range []struct{ response, example, ask, body, header string }{
		{"NotJSON", "", "POST /v1/costings", `{"pieces": [}`, ""},
		{"NotValid", "pointers", "POST /v1/costings", string(demo(t, "five-faults.json")), ""},
		{"NotValid", "rows", "POST /v1/costings?timber=ash-prime", strings.Join(rows[:3], ""), ""},
		{"NotValid", "parameter", "POST /v1/costings?timber=ash-prme", "name,quantity,length,width,thickness\nSide,2,1240,280,22\n", ""},
		{"NotValid", "book", "DELETE /v1/supplies/hard-oil?from=2026-12-01", "", "If-Match: *"},
		{"Conflict", "price_list", "POST /v1/price-updates/1/withdraw", "", ""},
		{"PreconditionFailed", "", "DELETE /v1/methods/brush", "", `If-Match: "stale"`},
		{"PreconditionRequired", "", "DELETE /v1/methods/brush", "", ""},
	} {
		content := doc.Components.Responses[x.response].Value.Content["application/problem+json"]
		example := content.Example
		if x.example != "" {
			example = content.Examples[x.example].Value.Value
		}
		shows(example, b.ask(t, x.ask, x.body, x.header))
	}
}

// A bench is the Book that requests are priced from here, and a service that begins
// with it.
type bench struct {
	book    *book.Book
	service http.Handler
	day     *date.Date // its today
}

// opened returns the starter book, and a service of its own.
func opened(t *testing.T) bench {
	t.Helper()
	d := date.MustParse("2026-11-01")
	b, err := catalog.Starter(d)
	require.NoError(t, err)
	c, err := catalog.Open(t.Context(), filepath.Join(t.TempDir(), "contract.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, c.Close()) })
	return bench{b, api.New(api.Config{Catalog: c, Today: func() date.Date { return d }, Log: slog.New(slog.DiscardHandler)}), &d}
}

// ask returns the answer to "METHOD /path" with a line of the header, or none.
func (b bench) ask(t *testing.T, what, body string, header ...string) []byte {
	t.Helper()
	method, target, _ := strings.Cut(what, " ")
	r := httptest.NewRequest(method, "http://localhost"+target, strings.NewReader(body))
	r.Header.Set("X-Request-ID", "quote-17.2")
	r.Header.Set("Content-Type", "text/csv")
	if strings.HasPrefix(body, "{") {
		r.Header.Set("Content-Type", "application/json")
	}
	for _, line := range header {
		name, value, _ := strings.Cut(line, ": ")
		r.Header.Set(name, value)
	}
	w := httptest.NewRecorder()
	b.service.ServeHTTP(w, r)
	return w.Body.Bytes()
}

// sent sends a price, or what is meant of a price list, to the service.
func (d document) sent(t *testing.T, b bench) verdict {
	t.Helper()
	var answer []byte
	switch d.root {
	case "NewPrice":
		unit, _ := member(t, decoded(t, d.text), "unit").(string)
		item := cmp.Or(map[string]string{"each": "knob-35", "m2": "birch-ply-6", "pack": "pva", "h": "bench"}[unit], "ash-prime-27")
		answer = b.ask(t, "PUT /v1/items/"+item+"/prices/2026-12-01", string(d.text), "If-Match: *")
	case "Consent":
		list := fmt.Sprint("POST /v1/price-updates/", member(t, decoded(t, b.ask(t, "POST /v1/price-updates", priceList)), "id"))
		answer = b.ask(t, list+"/apply", string(d.text))
		b.ask(t, list+"/withdraw", "") // for the next to find it as it was
	default:
		answer = d.filed(t, b)
	}
	var problem struct{ Errors fault.List }
	require.NoError(t, json.Unmarshal(answer, &problem))
	if len(problem.Errors) > 0 {
		return verdict{faults: problem.Errors}
	}
	return verdict{answer: string(answer)}
}

// demo returns a demo request or cutting list.
func demo(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile("../testdata/pieces/" + name)
	require.NoError(t, err)
	return text
}

// priceList has rows of every kind, and needs all that may be said of one.
const priceList = `code,price,unit,currency,effective_from
carver,36.00,h,GBP,2026-12-01
knob-35,4.80,each,GBP,2026-10-01
knob-35,6.00,each,GBP,2026-10-02
knob-25,2.70,each,GBP,2026-12-03
lock-drawer-63,23.13,each,GBP,2026-12-04
castor-50,5.92,each,GBP,2026-12-05
ash-prime-27,5.85,bf,GBP,2026-12-01
,5.10,each,GBP,2026-12-01
knob-35,"5,10",each,GBP,2026-12-06
knob-35,5.10,pack,GBP,2026-12-07
knob-35,5.10,each,EUR,2026-12-08
knob-35,5.10,each,GBP,soon
`

// changes makes changes of every kind, and returns what is answered of them.
func changes(t *testing.T, b bench) (all []saying) {
	t.Helper()
	for _, x := range []struct{ schema, ask, body, header string }{
		{"Grade", "PUT /v1/labour/carver", `{"code": "carver", "description": "Carver"}`, "If-None-Match: *"},
		{"Terms", "PUT /v1/terms", "", "If-Match: *"},
		{"Timber", "PUT /v1/timbers/ash-prime", "", "If-Match: *"},
		{"Sheet", "PUT /v1/sheets/birch-ply-6", "", "If-Match: *"},
		{"Supply", "PUT /v1/supplies/pva", "", "If-Match: *"},
		{"Fitting", "PUT /v1/ironmongery/knob-35", "", "If-Match: *"},
		{"Method", "PUT /v1/methods/brush", "", "If-Match: *"},
		{"Finish", "PUT /v1/finishes/oil-3", "", "If-Match: *"},
		{"Stage", "PUT /v1/stages/dovetails", "", "If-Match: *"},
		{"Rule", "PUT /v1/rules/timber-panel", "", "If-Match: *"},
		{"History", "PUT /v1/items/bench/prices/2026-12-01", `{"rate": "33.00", "unit": "h"}`, "If-Match: *"},
		{"History", "DELETE /v1/items/bench/prices/2026-12-01", "", "If-Match: *"},
		{"Update", "POST /v1/price-updates", priceList, ""},
		{"UpdateList", "GET /v1/price-updates", "", ""},
		{"Update", "POST /v1/price-updates/1/apply", `{"skip_refused": true, "accept_large_moves": true}`, ""},
		{"UpdateList", "GET /v1/price-updates", "", ""},
		{"Update", "POST /v1/price-updates/1/withdraw", "", ""},
		{"", "DELETE /v1/labour/carver", "", "If-Match: *"},
		{"UpdateList", "GET /v1/price-updates", "", ""},
		{"ChangeList", "GET /v1/changes", "", ""},
	} {
		method, target, _ := strings.Cut(x.ask, " ")
		if method == "PUT" && x.body == "" { // as it is
			x.body = string(b.ask(t, "GET "+target, ""))
		}
		answer := b.ask(t, x.ask, x.body, x.header)
		if x.schema != "" {
			all = append(all, saying{x.schema, string(answer)})
		}
	}
	return all
}
