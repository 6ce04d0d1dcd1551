package api_test

import (
	"encoding/json"
	"fmt"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

const comparisons = "/v1/costings/compare"

// compares compares two revisions of a quote, and checks that the rows add up.
func (s service) compares(t testing.TB, path string, from, to int) (c comparison, etag string) {
	t.Helper()
	a := s.granted(t, 200, fetch(fmt.Sprintf("%s/compare?from=%d&to=%d", path, from, to)))
	c = decode[comparison](t, a)
	c.addsUp(t)
	return c, a.header.Get("Etag")
}

// sentAs returns the costing of a revision that was issued; draftedAs that of a draft.
func (s service) sentAs(t testing.TB, path string, revision int) pricedAll {
	t.Helper()
	return decode[struct{ Costing pricedAll }](t, s.granted(t, 200, fetch(fmt.Sprint(path, "/revisions/", revision)))).Costing
}

func (s service) draftedAs(t testing.TB, path string) pricedAll {
	t.Helper()
	return decode[struct{ Costing pricedAll }](t, s.granted(t, 200, fetch(path))).Costing
}

// Of what was issued a comparison is of what was sent, whatever changes since; of a draft
// of what it comes to today. Each is as the two costings have it, and adds up.
func TestRevisionsAreCompared(t *testing.T) {
	now := new(calendar)
	now.set(today)
	s := started(t, api.Config{Today: now.today})
	path := s.sent(t)
	s.does(t, path, "revise", "")
	c, _ := s.compares(t, path, 1, 2)
	assert.Empty(t, c.Pieces, "revised, and not changed yet")

	enquiry := document{[]byte(file(t, enquiries+"enquiry.json")), "Draft"}
	s.does(t, path, "edit", string(enquiry.with(t, "#/request/pieces/0/chest/rows", []any{map[string]any{"height": 140}, map[string]any{}}).
		with(t, "#/request/pieces/0/bought_in", absent{}).with(t, "#/request/pieces/0/timbers/inner", "oak-prime").
		with(t, "#/request/pieces/2/optional", absent{}).with(t, "#/request/pieces/2/quantity", 2).
		with(t, "#/request/pieces/1/id", "chest-cherry").with(t, "#/request/terms/discount_amount", "99.50").text))
	c, asDraft := s.compares(t, path, 1, 2)
	assert.Equal(t, expected(t, s.sentAs(t, path, 1), s.draftedAs(t, path)), c)
	changes := make(map[string]string)
	for _, p := range c.Pieces {
		changes[p.ID] = p.Change
	}
	assert.Equal(t, map[string]string{"chest": "changed", "chest-walnut": "went", "boxes": "changed", "chest-cherry": "appeared"}, changes)
	back, _ := s.compares(t, path, 2, 1)
	assert.Equal(t, c.turned(), back.Totals)

	s.does(t, path, "issue", "")
	again, asSent := s.compares(t, path, 1, 2)
	assert.Equal(t, c, again)
	assert.Equal(t, asDraft, asSent, "the same bytes")
	s.does(t, path, "revise", "")
	list := s.granted(t, 201, sendCSV("code,price,unit,currency,effective_from\noak-prime-27,2999.00,m3,GBP,2026-12-01\n")).header.Get("Location")
	s.granted(t, 200, submit(list+"/apply", `{"accept_large_moves": true}`))
	c, _ = s.compares(t, path, 2, 3)
	assert.Empty(t, c.Pieces, "until then it is as it was")
	now.set("2026-12-01")
	c, _ = s.compares(t, path, 2, 3)
	assert.Equal(t, expected(t, s.sentAs(t, path, 2), s.draftedAs(t, path)), c)
	for _, p := range c.Pieces {
		require.NotEmpty(t, p.Lines, p.ID)
		for _, l := range p.Lines {
			assert.Equal(t, []any{"oak-prime-27", "2999.00", l.Quantity.From}, []any{l.Code, l.Rate.To, l.Quantity.To})
		}
	}
	_, frozen := s.compares(t, path, 1, 2)
	assert.Equal(t, asSent, frozen)
	s.does(t, path, "void", "")
	s.refuses(t, 404, "not-found", "there is no revision 3 of 2026-0001 that has a price", fetch(path+"/compare?from=1&to=3"))
	s.does(t, path, "accept", `{"choose": ["chest-cherry"]}`)
	_, frozen = s.compares(t, path, 1, 2)
	assert.Equal(t, asSent, frozen, "what was offered, not what was chosen of it")
}

// Nothing differs from itself, however it stands.
func TestARevisionIsTheSameAsItself(t *testing.T) {
	s := furnished(t)
	for number, revision := range map[int]int{1: 1, 2: 1, 3: 2, 4: 1, 6: 1, 8: 1, 9: 1} {
		c, _ := s.compares(t, fmt.Sprintf("%s/2026-%04d", ledger, number), revision, revision)
		assert.Equal(t, []pieceDifference{}, c.Pieces, number)
		require.NotEmpty(t, c.Totals)
		for _, sum := range c.Totals {
			assert.Equal(t, difference{sum.From, sum.From, "0.00"}, sum.difference, number)
		}
	}
}

// A comparedRequest is what these tests read of what is answered of variants.
type comparedRequest struct {
	Totals   json.RawMessage
	Variants []struct {
		Title      string
		Totals     json.RawMessage
		Comparison comparison
	}
}

// merged makes a merge patch on a value as RFC 7396, section 2, says it.
func merged(target, patch any) any {
	changes, ok := patch.(map[string]any)
	if !ok {
		return patch
	}
	object, ok := target.(map[string]any)
	if !ok {
		object = make(map[string]any)
	}
	result := make(map[string]any)
	for name, value := range object {
		result[name] = value
	}
	for name, value := range changes {
		if value == nil {
			delete(result, name)
		} else {
			result[name] = merged(result[name], value)
		}
	}
	return result
}

// varied compares variants of a request with it, and checks each against the costing of
// the request that it makes; it returns their titles and how many rows they have.
func varied(t *testing.T, base string, variants ...[2]string) (rows map[string]int) {
	t.Helper()
	a := shared.granted(t, 200, submit(comparisons, comparing(t, base, variants...)))
	assert.Empty(t, a.header.Get("Etag"), "no resource")
	all := decode[comparedRequest](t, a)
	require.Len(t, all.Variants, len(variants))
	price := func(request string) (c pricedAll, totals json.RawMessage) {
		a := shared.granted(t, 200, submit("/v1/costings", request))
		return decode[pricedAll](t, a), decode[struct{ Totals json.RawMessage }](t, a).Totals
	}
	from, totals := price(base)
	assert.Equal(t, string(totals), string(all.Totals))
	rows = make(map[string]int)
	for i, v := range all.Variants {
		assert.Equal(t, variants[i][0], v.Title)
		request, err := json.Marshal(merged(decoded(t, []byte(base)), decoded(t, []byte(variants[i][1]))))
		require.NoError(t, err)
		to, totals := price(string(request))
		assert.Equal(t, string(totals), string(v.Totals), v.Title)
		assert.Equal(t, expected(t, from, to), v.Comparison, v.Title)
		rows[v.Title] = v.Comparison.addsUp(t)
	}
	return rows
}

// Eight variants at once: each is what its patch makes of the request, and the answer is
// in their order.
func TestVariantsAreCompared(t *testing.T) {
	base := file(t, pieces+"full-quotation.json")
	other := document{[]byte(base), "Request"}.with(t, "#/pieces/0/timbers/show", "cherry-prime").with(t, "#/pieces/0/quantity", 2).with(t, "#/pieces/1/title", "Another title")
	list, err := json.Marshal(member(t, decoded(t, other.text), "pieces"))
	require.NoError(t, err)
	rows := varied(t, base,
		[2]string{"Two in cherry", `{"pieces": ` + string(list) + `}`},
		[2]string{"At the prices of March", `{"as_of": "2026-03-31"}`},
		[2]string{"Without a discount", `{"terms": {"discount_percent": null}}`},
		[2]string{"On the terms of the book", `{"terms": null}`},
		[2]string{"At another margin", `{"terms": {"profit": {"margin_percent": 35}, "fees_percent": 0}}`},
		[2]string{"For nobody", `{"customer": null}`},
		[2]string{"Delivery alone", `{"pieces": [{"id": "delivery", "title": "Delivery", "kind": "service", "service": {"delivery": 32, "drops": 1}}], "customer": {"email": null, "name": "Ada Field"}}`},
		[2]string{"As it is", `{}`},
	)
	sums := rows["As it is"]
	assert.Equal(t, sums, rows["For nobody"], "nothing but the sums")
	for _, title := range []string{"Two in cherry", "At the prices of March", "On the terms of the book", "At another margin", "Delivery alone"} {
		assert.Greater(t, rows[title], sums, title)
	}
	assert.Equal(t, sums, rows["Without a discount"], "but other ones")
}

// One variant of each demo, and of a request that has a day of its own, which null takes
// away.
func TestAVariantIsCompared(t *testing.T) {
	const dearer = `{"terms": {"overhead": {"percent": 90}, "bought_in_markup_percent": 40}}`
	for _, name := range []string{"tall-chest", "low-chest", "inch-chest", "drawer-boxes", "free-parts", "paid-in-stages", "agreed-below-cost"} {
		base := file(t, pieces+name+".json")
		rows := varied(t, base, [2]string{"Dearer", dearer})["Dearer"]
		assert.Equal(t, name != "agreed-below-cost", rows > 5, "%s: more than the sums", name)
		dated := string(document{[]byte(base), "Request"}.with(t, "#/as_of", "2026-03-31").text)
		assert.Greater(t, varied(t, dated, [2]string{"Today", `{"as_of": null}`})["Today"], 5, name)
	}
}

// A patch may be as deep, and as wide, as a body has room for: it is refused for the
// first member that no request has, and costs little more than its own length.
func TestHostilePatchesCostLittle(t *testing.T) {
	const deep = 9000
	wide := strings.Builder{}
	for i := range 80_000 {
		fmt.Fprintf(&wide, `"%x":null,`, i)
	}
	for pointer, patch := range map[string]string{
		"#/variants/0/patch/customer/a": `{"customer": ` + strings.Repeat(`{"a":`, deep) + `"` + strings.Repeat("x", 900_000) + `"` + strings.Repeat("}", deep) + `}`,
		"#/variants/0/patch/terms/a":    `{"terms": {"a": ` + strings.Repeat("[", deep) + `1` + strings.Repeat(",1", 400_000) + strings.Repeat("]", deep) + `}}`,
		"#/variants/0/patch/0":          `{` + wide.String() + `"title": 1}`,
	} {
		body := comparing(t, call, [2]string{"Hostile", patch})
		require.Less(t, len(body), 1<<20)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		a := shared.ask(t, refused(submit(comparisons, body)))
		runtime.ReadMemStats(&after)
		assert.Equal(t, pointer, find(t, a.body, "/errors/0/pointer"))
		assert.Less(t, (after.TotalAlloc-before.TotalAlloc)>>20, uint64(200), "MiB, of %s", pointer) // much of it is this test's
	}
}

// Many pieces, eight times over.
func TestManyPiecesAreCompared(t *testing.T) {
	chest := document{[]byte(file(t, pieces+"tall-chest.json")), "Request"}
	var list []any
	for i := range 25 {
		piece := member(t, member(t, decoded(t, chest.text), "pieces"), "0").(map[string]any)
		piece["id"] = fmt.Sprint("chest-", i)
		list = append(list, piece)
	}
	var variants [][2]string
	for i := range 8 {
		variants = append(variants, [2]string{fmt.Sprint("At ", i), fmt.Sprintf(`{"terms": {"overhead": {"percent": %d}}}`, 40+i)})
	}
	rows := varied(t, string(chest.with(t, "#/pieces", list).text), variants...)
	for title, n := range rows {
		assert.Equal(t, 25*3+5, n, "%s: the price, the net and the build-up of each, and the sums", title)
	}
}

// What is refused, of comparisons and of sensitivity, is refused with all that is wrong;
// it changes nothing.
func TestBadRequestsOfComparisons(t *testing.T) {
	s := furnished(t)
	before := s.all(t)
	s.refusesAll(t, "bad_compare", 80)
	assert.Equal(t, before, s.all(t))
}

// Without its store the service compares nothing, and says no more than that it failed.
func TestNothingIsComparedWithoutAStore(t *testing.T) {
	s := started(t, api.Config{})
	path := s.sent(t)
	require.NoError(t, s.catalog.Close())
	for _, r := range []request{
		submit(comparisons, comparing(t, call, [2]string{"As it is", `{}`})), fetch(path + "/compare?from=1&to=1"), submit(sensitively, call),
	} {
		failed(t, s.ask(t, r))
	}
}
