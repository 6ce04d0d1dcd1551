package api_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/pricing"
	"reckoner/pricing/book"
)

// draftOf is a draft with that request.
func draftOf(request string) string {
	return `{"customer": {"name": "Ines Marlowe"}, "title": "A visit", "request": ` + request + `}`
}

// filed sends a customer, a draft or an acceptance to the service: the first two to
// change what there is, so that the same is answered as the same.
func (d document) filed(t *testing.T, b bench) (answer []byte) {
	t.Helper()
	switch d.root {
	case "KeptCustomer":
		b.ask(t, "POST /v1/customers", ines)
		return b.ask(t, "PUT /v1/customers/1", string(d.text), "If-Match: *")
	case "Draft":
		b.ask(t, "POST /v1/customers", ines)
		b.ask(t, "POST /v1/quotes", draftOf(call), "Idempotency-Key: once")
		return b.ask(t, "PUT /v1/quotes/2026-0001", string(d.text), "If-Match: *")
	case "Comparing":
		return b.ask(t, "POST /v1/costings/compare", string(d.text))
	}
	require.Equal(t, "Acceptance", d.root)
	quote := fmt.Sprint("POST /v1/quotes/", member(t, decoded(t, b.ask(t, "POST /v1/quotes", draftOf(call))), "number"))
	b.ask(t, quote+"/issue", "", "If-Match: *")
	answer = b.ask(t, quote+"/accept", string(d.text), "If-Match: *")
	if choice := member(t, decoded(t, answer), "accepted"); choice != nil { // the rest is of that quote
		answer, _ = json.Marshal(choice)
	}
	return answer
}

// What is answered of customers and quotes is as the contract says; between them the
// answers have all that they may have, and every word.
func TestQuotesAreOfTheContract(t *testing.T) {
	elsewhere := reachable(reflect.TypeFor[pricing.Request](), reflect.TypeFor[pricing.Costing](), reflect.TypeFor[book.Data]())
	types := slices.DeleteFunc(reachable(append(offered(), reflect.TypeFor[quotes.Customer]())...), func(typ reflect.Type) bool { return slices.Contains(elsewhere, typ) })
	complete(t, contract(t), lives(t, opened(t)), types)
}

// lives lets quotes go every way that they can, and returns what is answered of them.
func lives(t *testing.T, b bench) (all []saying) {
	t.Helper()
	offer := document{[]byte(draftOf(string(demo(t, "full-quotation.json")))), "Draft"}.with(t, "#/request/customer", absent{}).
		with(t, "#/customer", map[string]any{"id": 1}).with(t, "#/valid_days", 0).with(t, "#/note", "As we spoke of.").with(t, "#/private_note", "Late.")
	const chest = "/v1/quotes/2026-0001"
	for _, x := range []struct{ schema, ask, body string }{
		{"KeptCustomer", "POST /v1/customers", ines},
		{"KeptCustomer", "PUT /v1/customers/1", ines},
		{"KeptCustomer", "GET /v1/customers/1", ""},
		{"CustomerList", "GET /v1/customers", ""},
		{"Quote", "POST /v1/quotes", string(offer.text)},
		{"Quote", "PUT " + chest, string(offer.with(t, "#/title", "A bedroom in oak").text)},
		{"QuoteEvent", "GET " + chest + "/events/3", ""},
		{"Done", "POST " + chest + "/issue", ""},
		{"Document", "GET " + chest + "/revisions/1", ""},
		{"Quote", "GET " + chest, ""},
		{"Quote", "POST " + chest + "/duplicate", ""},
		{"Done", "POST /v1/quotes/2026-0002/issue", "{}"},
		{"", "the next day", ""}, // on which both are expired
		{"Quote", "GET " + chest, ""},
		{"Done", "POST " + chest + "/decline", ""},
		{"Quote", "GET " + chest, ""},
		{"Quote", "POST " + chest + "/revise", ""},
		{"Done", "POST " + chest + "/issue", ""},
		{"Done", "POST " + chest + "/accept", `{"choose": ["chest-walnut", "boxes"]}`},
		{"Quote", "GET " + chest, ""},
		{"QuoteEventList", "GET " + chest + "/events", ""},
		{"Quote", "POST /v1/quotes", draftOf(call)},
		{"Done", "POST /v1/quotes/2026-0003/void", ""},
		{"Quote", "GET /v1/quotes/2026-0003", ""},
		{"QuoteEventList", "GET /v1/quotes/2026-0003/events", ""},
		{"Quote", "POST /v1/quotes", draftOf(call)},
		{"Done", "POST /v1/quotes/2026-0004/issue", ""},
		{"Done", "POST /v1/quotes/2026-0004/decline", ""},
		{"QuoteEventList", "GET /v1/quotes/2026-0004/events", ""},
		{"Quote", "POST /v1/quotes", draftOf(call)},
		{"Done", "POST /v1/quotes/2026-0005/issue", ""},
		{"", "DELETE /v1/ironmongery/knob-brass-30", ""},
		{"Quote", "POST " + chest + "/duplicate", ""}, // with errors
		{"QuoteList", "GET /v1/quotes", ""},
	} {
		if x.ask == "the next day" {
			*b.day = b.day.AddDays(1)
			continue
		}
		answer := b.ask(t, x.ask, x.body, "If-Match: *")
		if x.schema != "" {
			all = append(all, saying{x.schema, string(answer)})
		}
	}
	return all
}

// What may choose among quotes is as the contract says.
func TestRangesOfFiltersAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	for _, p := range doc.Paths.Value("/v1/quotes").Get.Parameters {
		name, s := p.Value.Name, p.Value.Schema.Value
		if p.Value.In != "query" {
			continue
		}
		taken, refused := append(slices.Clone(s.Enum), s.Example), []any{"nonsense"}
		if s.Min != nil {
			taken, refused = append(taken, *s.Min), append(refused, *s.Min-1)
		}
		if s.Format == "date" {
			refused = append(refused, "2026-02-30")
		}
		if s.Type.Is("string") && s.Format == "" && len(s.Enum) == 0 {
			taken, refused = append(taken, "nonsense"), nil
		}
		for _, v := range slices.DeleteFunc(taken, func(v any) bool { return v == nil }) {
			ofSchema(t, doc, "QuoteList", string(b.ask(t, fmt.Sprintf("GET /v1/quotes?%s=%v", name, v), "")))
		}
		for _, v := range refused {
			wrong := decoded(t, b.ask(t, fmt.Sprintf("GET /v1/quotes?%s=%v", name, v), ""))
			assert.Equal(t, name, member(t, member(t, member(t, wrong, "errors"), "0"), "parameter"), v)
		}
	}
}

// The keys that the contract knows are those that the service takes.
func TestRangesOfKeysAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	pattern := regexp.MustCompile(doc.Components.Parameters["IdempotencyKey"].Value.Schema.Value.Pattern)
	for _, key := range []string{"a", "!~", strings.Repeat("a", 200), strings.Repeat("a", 201), "a b", "é", ""} {
		answer := decoded(t, b.ask(t, "POST /v1/quotes", draftOf(call), "Idempotency-Key: "+key))
		assert.Equal(t, pattern.MatchString(key), member(t, answer, "number") != nil, "%.10s: %v", key, member(t, answer, "errors"))
	}
}

// The examples of customers and quotes are true, but for what no answer has again.
func TestExamplesOfQuotesAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	sent := func(v any) string {
		text, err := json.Marshal(v)
		require.NoError(t, err)
		return string(text)
	}
	customers, offers := doc.Paths.Value("/v1/customers").Post, doc.Paths.Value("/v1/quotes").Post
	ofSchema(t, doc, "KeptCustomer", string(b.ask(t, "POST /v1/customers", sent(customers.RequestBody.Value.Content["application/json"].Example))))
	for _, name := range []string{"written_out", "kept"} {
		answer := b.ask(t, "POST /v1/quotes", sent(offers.RequestBody.Value.Content["application/json"].Examples[name].Value.Value))
		ofSchema(t, doc, "Quote", string(answer))
	}
	conflicts := doc.Components.Responses["Conflict"].Value.Content["application/problem+json"].Examples
	assert.JSONEq(t, sent(conflicts["quote"].Value.Value), string(b.ask(t, "POST /v1/quotes/2026-0001/accept", "", "If-Match: *")))
	wrong := `{"customer": {"id": 7}, "title": "", "request": {"pieces": [{"title": "Parts", "kind": "parts", "timbers": {"show": "ash-prme"},
		"parts": {"parts": [{"name": "Side", "length": 200, "width": 40, "thickness": 20, "material": "show"}]}}]}}`
	assert.JSONEq(t, sent(doc.Components.Responses["NotValid"].Value.Content["application/problem+json"].Examples["draft"].Value.Value), string(b.ask(t, "POST /v1/quotes", wrong)))
	for _, deed := range []string{"issue", "accept"} {
		post := doc.Paths.Value("/v1/quotes/{number}/" + deed).Post
		body := ""
		if shown := post.RequestBody.Value.Content["application/json"].Example; shown != nil {
			body = sent(shown)
		}
		example := post.Responses.Status(200).Value.Content["application/json"].Example.(map[string]any)
		answer := b.ask(t, "POST /v1/quotes/2026-0001/"+deed, body, "If-Match: *")
		for _, name := range []string{"issued_at", "decided_at", "sha256"} {
			if now := member(t, decoded(t, answer), name); assert.Equal(t, now != nil, example[name] != nil, name) && now != nil {
				example[name] = now
			}
		}
		assert.JSONEq(t, sent(example), string(answer))
	}
}
