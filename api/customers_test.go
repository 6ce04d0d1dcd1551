package api_test

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// A customer is kept, read, and replaced as a whole by whoever has seen it.
func TestACustomerIsKept(t *testing.T) {
	s := started(t, api.Config{})
	const whole = `{"name": "Ada & <Bea> Field", "address": ["1 Weir Cottages", "Little Wending"], "delivery_address": ["The barn"], "email": "ada@example.com", "phone": "01632 960999", "private_note": "has a dog\nand a cat"}`
	const asKept = `{"id":1,"name":"Ada & <Bea> Field","address":["1 Weir Cottages","Little Wending"],"delivery_address":["The barn"],"email":"ada@example.com","phone":"01632 960999","private_note":"has a dog\nand a cat"}` + "\n"
	made := s.granted(t, http.StatusCreated, submit(people, whole))
	path := made.header.Get("Location")
	assert.Equal(t, []string{people + "/1", asKept}, []string{path, string(made.body)})
	got := s.granted(t, http.StatusOK, fetch(path))
	assert.Equal(t, []string{asKept, made.header.Get("Etag")}, []string{string(got.body), got.header.Get("Etag")})
	assert.Equal(t, people+"/2", s.granted(t, http.StatusCreated, submit(people, whole)).header.Get("Location"), "two may be called the same")

	next := s.granted(t, http.StatusOK, put(path, `{"id": 1, "name": "Ada Field"}`, "If-Match: "+made.header.Get("Etag")))
	assert.Equal(t, `{"id":1,"name":"Ada Field"}`+"\n", string(next.body), "what is left out is gone")
	assert.Equal(t, string(next.body), string(s.granted(t, http.StatusOK, fetch(path)).body))
	s.refuses(t, 412, "precondition-failed", "its ETag is "+next.header.Get("Etag")+" now", put(path, whole, "If-Match: "+made.header.Get("Etag")))
	back := s.granted(t, http.StatusOK, put(path, whole, "If-Match: "+next.header.Get("Etag")))
	assert.Equal(t, made.header.Get("Etag"), back.header.Get("Etag"), "the same customer has the same tag")
	assert.Equal(t, asKept, string(back.body))
	a := s.ask(t, refused(put(path, `{"id": 2, "name": "Ada Field"}`, "If-Match: *")))
	assert.JSONEq(t, `[{"pointer": "#/id", "detail": "the id is given by the service, and is that of the path: leave it out"}]`, string(a.Errors))
}

// Of clients that change at once what all have seen, one does.
func TestOfThoseWhoChangeACustomerAtOnceOneDoes(t *testing.T) {
	s := started(t, api.Config{})
	made := s.granted(t, http.StatusCreated, submit(people, `{"name": "Ada"}`))
	got := s.atOnce(t, 8, func(i int) request {
		return put(people+"/1", fmt.Sprintf(`{"name": "Ada %d"}`, i), "If-Match: "+made.header.Get("Etag"))
	})
	require.Equal(t, []int{1, 7}, []int{len(got[200]), len(got[412])})
	assert.Equal(t, string(got[200][0].body), string(s.granted(t, http.StatusOK, fetch(people+"/1")).body))
}

// A draft follows its customer; what was issued stays as it was sent, in the quote too.
// A customer may be put in the place of one who was written out.
func TestDraftsFollowTheirCustomer(t *testing.T) {
	s := started(t, api.Config{})
	s.granted(t, http.StatusCreated, submit(people, `{"name": "Ada Field", "address": ["Old Lane"], "phone": "01632 960999", "private_note": "owes us"}`))
	byID := strings.Replace(errand, `{"name": "Ada Field"}`, `{"id": 1}`, 1)
	draft, _ := s.drafts(t, byID)
	sent, _ := s.drafts(t, byID)
	written, _ := s.drafts(t, errand)
	s.does(t, sent, "issue", "")
	document := string(s.granted(t, http.StatusOK, fetch(sent+"/revisions/1")).body)
	s.granted(t, http.StatusOK, put(people+"/1", `{"name": "Ada Field", "address": ["New Lane", "2"]}`, "If-Match: *"))
	for path, address := range map[string][]string{draft: {"New Lane", "2"}, sent: {"Old Lane"}, written: nil} {
		q := decode[quoted](t, s.granted(t, http.StatusOK, fetch(path)))
		assert.Equal(t, address, q.Customer.Address, path)
		assert.Equal(t, map[string]int64{draft: 1, sent: 1}[path], q.Customer.ID, path)
	}
	assert.Equal(t, document, string(s.granted(t, http.StatusOK, fetch(sent+"/revisions/1")).body))
	assert.Equal(t, map[string]any{"name": "Ada Field", "address": []any{"Old Lane"}}, find(t, []byte(document), "/customer"), "without the id, the telephone number and what is private")
	s.does(t, written, "edit", byID)
	assert.EqualValues(t, 1, decode[quoted](t, s.granted(t, http.StatusOK, fetch(written))).Customer.ID)
	s.does(t, sent, "revise", "")
	assert.Equal(t, []string{"New Lane", "2"}, decode[quoted](t, s.granted(t, http.StatusOK, fetch(sent))).Customer.Address, "its new draft")
	twin := decode[quoted](t, s.granted(t, http.StatusCreated, submit(sent+"/duplicate", "")))
	assert.Equal(t, []any{int64(1), []string{"New Lane", "2"}}, []any{twin.Customer.ID, twin.Customer.Address})
}

// Customers are found by name, addresses and telephone number, whatever the case and
// the accents, and listed page by page, the latest first, while others are kept.
func TestCustomersAreFound(t *testing.T) {
	s := started(t, api.Config{})
	names := []string{"Élodie Marsh", "ELODIE", "50% Oak", "Under_score", "Ümit Ash™", "Back\\slash"}
	for i := range 18 {
		s.granted(t, http.StatusCreated, submit(people, fmt.Sprintf(`{"name": %q, "email": "c%d@Example.com", "address": ["Mill Lane"], "delivery_address": ["Le Château"], "phone": "01632 %06d", "private_note": "secret"}`, names[i%len(names)], i, 960000+i)))
	}
	for text, want := range map[string][]string{
		"élodie": {"Élodie Marsh", "ELODIE"}, "ELODIE m": {"Élodie Marsh"}, "e\u0301lodie marsh": {"Élodie Marsh"}, "LANE": names, "chateau": names, "01632": names, "%": {"50% Oak"}, "_": {"Under_score"}, "ümit": {"Ümit Ash™"}, "\\": {"Back\\slash"},
		"oak": {"50% Oak"}, "secret": nil, "umit": {"Ümit Ash™"}, "ash tm": nil, "ASHtm": {"Ümit Ash™"}, "EXAMPLE.COM": names, "": names, "' OR ''='": nil, "*": nil,
	} {
		for _, limit := range []int{1, 2, 5, 200} {
			var got []string
			last := int64(1 << 62)
			for target := fmt.Sprintf("%s?limit=%d&text=%s", people, limit, url.QueryEscape(text)); target != ""; {
				a := s.granted(t, http.StatusOK, fetch(target))
				for _, c := range decode[struct {
					Customers []struct {
						ID   int64
						Name string
					}
				}](t, a).Customers {
					assert.Less(t, c.ID, last)
					last = c.ID
					got = append(got, c.Name)
				}
				target = nextOf(t, a)
			}
			var all []string
			for range 18 / len(names) {
				all = append(all, want...)
			}
			assert.ElementsMatch(t, all, got, "%q by %d", text, limit)
		}
	}
	first := s.granted(t, http.StatusOK, fetch(people+"?limit=9"))
	for range 3 {
		s.granted(t, http.StatusCreated, submit(people, `{"name": "Late"}`))
	}
	var ids []any
	for _, a := range []answer{first, s.granted(t, http.StatusOK, fetch(nextOf(t, first)))} {
		for _, c := range find(t, a.body, "/customers").([]any) {
			ids = append(ids, c.(map[string]any)["id"])
		}
	}
	slices.Reverse(ids)
	assert.Equal(t, []any{1., 2., 3., 4., 5., 6., 7., 8., 9., 10., 11., 12., 13., 14., 15., 16., 17., 18.}, ids)
}
