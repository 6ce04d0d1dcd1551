package api_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/pricing"
)

// What is answered of comparisons, of impact and of sensitivity is as the contract says;
// between them the answers have all that they may have, and every word.
func TestComparisonsAreOfTheContract(t *testing.T) {
	elsewhere := reachable(reflect.TypeFor[pricing.Costing]())
	types := slices.DeleteFunc(reachable(reflect.TypeFor[api.Compared](), reflect.TypeFor[pricing.Impact]()), func(typ reflect.Type) bool { return slices.Contains(elsewhere, typ) })
	types = append(types, reflect.TypeFor[pricing.Sensitivity]())
	require.Greater(t, len(types), 15)
	b := opened(t)
	complete(t, contract(t), append(variantsOf(t, b), pricesMoved(t, b)...), types)
}

// comparing returns a request and variants, by their titles, as they are asked to be
// compared.
func comparing(t testing.TB, base string, variants ...[2]string) string {
	t.Helper()
	type variant struct {
		Title string          `json:"title"`
		Patch json.RawMessage `json:"patch"`
	}
	asked := struct {
		Base     json.RawMessage `json:"base"`
		Variants []variant       `json:"variants"`
	}{Base: json.RawMessage(base)}
	for _, v := range variants {
		asked.Variants = append(asked.Variants, variant{v[0], json.RawMessage(v[1])})
	}
	text, err := json.Marshal(asked)
	require.NoError(t, err)
	return string(text)
}

// variantsOf compares what differs in every way.
func variantsOf(t *testing.T, b bench) []saying {
	t.Helper()
	whole := document{demo(t, "full-quotation.json"), "Request"}
	other := whole.with(t, "#/pieces/0/sheets", map[string]any{"bottom": "birch-ply-9", "back": "birch-ply-6"}). // a sheet that appears
															with(t, "#/pieces/0/chest/rows", []any{map[string]any{"height": 140}, map[string]any{}}). // parts that go
															with(t, "#/pieces/0/chest/drawers", map[string]any{"bottom": "solid"}).                   // parts that appear
															with(t, "#/pieces/0/bought_in/0/rate", "90.00")
	pieces, err := json.Marshal(member(t, decoded(t, other.text), "pieces"))
	require.NoError(t, err)
	return []saying{
		{"Compared", string(b.ask(t, "POST /v1/costings/compare", comparing(t, string(whole.text),
			[2]string{"Two drawers", `{"pieces": ` + string(pieces) + `}`},
			[2]string{"A visit alone", `{"pieces": [{"id": "visit", "title": "A visit", "kind": "service", "service": {"drops": 1}}]}`})))},
		{"Costing", string(b.ask(t, "POST /v1/costings?sensitivity=true", string(whole.text)))},
	}
}

// pricesMoved lets prices move under an issued quote, a draft, and a draft that cannot be
// priced, and returns what is answered of it.
func pricesMoved(t *testing.T, b bench) (all []saying) {
	t.Helper()
	for _, x := range []struct{ schema, ask, body string }{
		{"", "POST /v1/quotes", draftOf(string(document{demo(t, "tall-chest.json"), "Request"}.with(t, "#/customer", absent{}).text))},
		{"", "POST /v1/quotes/2026-0001/issue", ""},
		{"", "POST /v1/quotes", draftOf(call)},
		{"", "POST /v1/quotes", trolley},
		{"", "DELETE /v1/ironmongery/castor-50?from=2026-11-01", ""},
		{"Impact", "GET /v1/impact", ""},
		{"", "POST /v1/price-updates", december},
		{"Impact", "GET /v1/impact?preview=1", ""},
		{"", "POST /v1/price-updates/1/apply", "{}"},
		{"Impact", "GET /v1/impact", ""},
		{"", "POST /v1/price-updates/1/withdraw", ""},
		{"Impact", "GET /v1/impact?update=1&timber=ash-prime&as_of=2026-12-01", ""},
		{"", "POST /v1/quotes/2026-0001/revise", ""},
		{"Comparison", "GET /v1/quotes/2026-0001/compare?from=1&to=2", ""},
	} {
		if answer := b.ask(t, x.ask, x.body, "If-Match: *"); x.schema != "" {
			all = append(all, saying{x.schema, string(answer)})
		}
	}
	return all
}

// What the parameters take is as the contract says: of the right form and in range; the
// first beyond is refused, and told by the name.
func TestRangesOfComparisonsAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	pricesMoved(t, b)
	for _, x := range []struct{ path, ask, schema string }{
		{"/v1/impact", "GET /v1/impact", "Impact"},
		{"/v1/quotes/{number}/compare", "GET /v1/quotes/2026-0001/compare", "Comparison"},
	} {
		for _, p := range doc.Paths.Value(x.path).Get.Parameters {
			taken, refused := trying(p.Value)
			for _, v := range taken {
				ofSchema(t, doc, x.schema, string(b.ask(t, x.ask+question(doc, x.path, p.Value.Name, v), "")))
			}
			for _, v := range append(refused, "nonsense") {
				wrong := decoded(t, b.ask(t, x.ask+question(doc, x.path, p.Value.Name, v), ""))
				if p.Value.Name == "timber" { // of no form of its own
					assert.Equal(t, "/problems#not-found", member(t, wrong, "type"), v)
					continue
				}
				assert.Equal(t, p.Value.Name, member(t, member(t, member(t, wrong, "errors"), "0"), "parameter"), v)
			}
		}
	}
}

// trying returns values that a parameter takes, and such that it does not. The only
// price list, and the first revision, have the number 1.
func trying(p *openapi3.Parameter) (taken, refused []any) {
	s := p.Schema.Value
	switch {
	case s.Min != nil:
		taken, refused = []any{int64(*s.Min)}, []any{int64(*s.Min) - 1, "1.5", ""}
	case s.Format == "date":
		taken, refused = []any{s.Example}, []any{"2026-02-30", ""}
	default:
		taken = []any{s.Example}
	}
	if s.Max != nil {
		refused = append(refused, int64(*s.Max)+1)
	}
	return taken, refused
}

// question returns a query with that value, and with the others that are needed.
func question(doc *openapi3.T, path, name string, value any) string {
	query := fmt.Sprintf("?%s=%v", name, value)
	for _, p := range doc.Paths.Value(path).Get.Parameters {
		if p.Value.Required && p.Value.Name != name {
			query += fmt.Sprintf("&%s=%v", p.Value.Name, 1)
		}
	}
	return query
}

// Sensitivity is left out as long as nobody asks for it: the default is true.
func TestDefaultOfSensitivityIsTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	for _, p := range doc.Paths.Value("/v1/costings").Post.Parameters {
		if p.Value.Name != "sensitivity" {
			continue
		}
		require.Equal(t, false, p.Value.Schema.Value.Default)
		left := b.ask(t, "POST /v1/costings", call)
		assert.Equal(t, string(left), string(b.ask(t, "POST /v1/costings?sensitivity=false", call)))
		assert.NotEqual(t, string(left), string(b.ask(t, "POST /v1/costings?sensitivity=true", call)))
		return
	}
	t.Error("there is no such parameter")
}

// The examples of comparisons are true.
func TestExamplesOfComparisonsAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	post := doc.Paths.Value("/v1/costings/compare").Post
	asked, err := json.Marshal(post.RequestBody.Value.Content["application/json"].Example)
	require.NoError(t, err)
	shown, err := json.Marshal(post.Responses.Status(200).Value.Content["application/json"].Example)
	require.NoError(t, err)
	assert.JSONEq(t, string(shown), string(b.ask(t, "POST /v1/costings/compare", string(asked))))

	wrong := comparing(t, call, [2]string{"", `{"pieces": [{"title": "Delivery", "kind": "service", "service": {"delivery": 40, "drops": -2}}]}`})
	shown, err = json.Marshal(doc.Components.Responses["NotValid"].Value.Content["application/problem+json"].Examples["variant"].Value.Value)
	require.NoError(t, err)
	assert.JSONEq(t, string(shown), string(b.ask(t, "POST /v1/costings/compare", wrong)))

	b.ask(t, "POST /v1/quotes", `{"customer": {"name": "Ines Marlowe"}, "title": "A shelf", "request": {"pieces": [{"title": "Shelf", "kind": "parts",
		"timbers": {"show": "ash-prime"}, "parts": {"parts": [{"name": "Shelf", "length": 900, "width": 250, "thickness": 22, "material": "show"}]}}]}}`)
	b.ask(t, "POST /v1/quotes/2026-0001/issue", "", "If-Match: *")
	b.ask(t, "POST /v1/price-updates", december)
	shown, err = json.Marshal(doc.Paths.Value("/v1/impact").Get.Responses.Status(200).Value.Content["application/json"].Example)
	require.NoError(t, err)
	assert.JSONEq(t, string(shown), string(b.ask(t, "GET /v1/impact?preview=1", "")))
}

// december is a price list with one price.
const december = "code,price,unit,currency,effective_from\nash-prime-27,1960.00,m3,GBP,2026-12-01\n"
