package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/pricing/num"
)

// A kept is a quote that is in the list, and what a search is to find of it. Its net is
// that of what was issued or accepted, and its order that of what was accepted last,
// worked by hand: the prices are agreed, "b" and "c" in place of or beside "a".
type kept struct {
	made, customer     string // the day; the id, or the name if it is written out
	title, email, lane string
	pieces             []string
	deeds              string // "accept b c" takes those
	status, net, order string
}

// shelf returns quotes of every status.
func shelf() []kept {
	a, b, c := agreed("a", "100.00", ""), agreed("b", "130.50", `, "alternative_to": "a"`), agreed("c", "40.25", `, "optional": true`)
	return []kept{
		{made: "2026-10-01", customer: "1", title: "Étagère en noyer", pieces: []string{a}, status: "draft"},
		{made: "2026-10-02", customer: "1", title: "Wardrobe 50% oak", pieces: []string{a, b, c}, deeds: "issue", status: "expired", net: "100.00"},
		{made: "2026-10-02", customer: "2", title: "ETAGERE", pieces: []string{a, b, c}, deeds: "issue; accept b c", status: "accepted", net: "170.75", order: "170.75"},
		{made: "2026-10-03", customer: "Cass_Brook", email: "CASS@example.com", title: "Oak table", pieces: []string{a, c}, deeds: "issue; accept c; revise", status: "accepted", net: "140.25", order: "140.25"},
		{made: "2026-10-20", customer: "2", title: "Oak bench", pieces: []string{a, b}, deeds: "issue", status: "issued", net: "100.00"},
		{made: "2026-10-20", customer: "Ümit Ash", lane: "Cœur Lane", title: "Chest_of drawers", pieces: []string{a, c}, deeds: "issue; revise; issue", status: "issued", net: "100.00"},
		{made: "2026-10-21", customer: "1", title: "Table", pieces: []string{a}, deeds: "issue; decline", status: "declined", net: "100.00"},
		{made: "2026-10-21", customer: "Ümit Ash", title: "Nothing of it", pieces: []string{a}, deeds: "void", status: "void"},
		{made: "2026-10-31", customer: "2", title: "A second étagère", pieces: []string{agreed("free", "0.00", ""), a}, deeds: "issue; revise; void", status: "issued", net: "100.00"},
		{made: "2026-11-01", customer: "1", title: "100 % \\ beech", pieces: []string{a, c}, deeds: "issue; accept; revise; issue; accept c", status: "accepted", net: "140.25", order: "140.25"},
		{made: "2026-11-01", customer: "Ümit Ash", title: "Last", pieces: []string{a}, status: "draft"},
		{made: "2026-11-01", customer: "2", title: "More of it", pieces: []string{a, c}, deeds: "issue; accept c; revise; issue", status: "issued", net: "100.00", order: "140.25"},
		{made: "2026-11-01", customer: "2", title: "No more of it", pieces: []string{a, c}, deeds: "issue; accept; revise; issue; decline", status: "declined", net: "100.00", order: "100.00"},
	}
}

// shelfCustomers returns those of the shelf who are kept: name, address for mail and
// telephone number by the id.
func shelfCustomers() map[string][3]string {
	return map[string][3]string{"1": {"Élodie Marsh", "elodie@example.com", "01632 960111"}, "2": {"Oakley & Sons", "", "01632 960222"}}
}

// shelved puts the shelf into a service, and returns its numbers, the first first.
func shelved(t *testing.T) (s service, numbers []string) {
	t.Helper()
	now := new(calendar)
	now.set(today)
	s = started(t, api.Config{Today: now.today})
	for _, id := range []string{"1", "2"} {
		c := shelfCustomers()[id]
		a := s.granted(t, http.StatusCreated, submit(people, fmt.Sprintf(`{"name": %q, "email": %q, "phone": %q}`, c[0], c[1], c[2])))
		require.Equal(t, people+"/"+id, a.header.Get("Location"))
	}
	for _, k := range shelf() {
		now.set(k.made)
		customer := fmt.Sprintf(`{"id": %s}`, k.customer)
		if len(k.customer) > 1 {
			customer = fmt.Sprintf(`{"name": %q, "email": %q, "address": ["1 %s"]}`, k.customer, k.email, k.lane)
		}
		title, err := json.Marshal(k.title)
		require.NoError(t, err)
		path, _ := s.drafts(t, proposal(customer, strings.Trim(string(title), `"`), k.pieces...))
		for deed := range strings.SplitSeq(k.deeds, "; ") {
			words := strings.Fields(deed)
			switch {
			case len(words) > 1:
				s.does(t, path, words[0], fmt.Sprintf(`{"choose": ["%s"]}`, strings.Join(words[1:], `", "`)))
			case len(words) == 1:
				s.does(t, path, words[0], "")
			}
		}
		numbers = append(numbers, strings.TrimPrefix(path, ledger+"/"))
	}
	now.set("2026-11-02") // 30 days after 2 October is 1 November
	return s, numbers
}

// wanted reports whether filters choose a quote, as a person would say it.
func (k *kept) wanted(number string, f url.Values) bool {
	says := []string{number, k.title, k.customer, k.email, "1 " + k.lane}
	if c, ok := shelfCustomers()[k.customer]; ok {
		says = append(says[:2], c[:]...)
	}
	text := plainly(f.Get("text"))
	found := slices.ContainsFunc(says, func(s string) bool { return strings.Contains(plainly(s), text) })
	customer, from, to := f.Get("customer"), f.Get("from"), f.Get("to")
	return found && (customer == "" || customer == k.customer) && from <= k.made && (to == "" || k.made <= to)
}

// plainly returns a text in lower case without its accents, those of the shelf.
func plainly(text string) string {
	return strings.NewReplacer("é", "e", "è", "e", "ü", "u", "\u0301", "", "\u0300", "", "\u0308", "").Replace(strings.ToLower(text))
}

// money reads an amount.
func money(t testing.TB, amount string) (r num.Rate) {
	t.Helper()
	require.NoError(t, r.UnmarshalText([]byte(amount)))
	return r
}

// A list has the quotes that every filter chooses, alone and together, the latest
// first; its totals count and add up all of them but by status.
func TestFiltersOfQuotes(t *testing.T) {
	s, numbers := shelved(t)
	texts := []string{"", "étagère", "ÉTAGÈRE", "etagere", "oak", "%", "_", "\\", "50%", "of", "@EXAMPLE", "ümit", "UMIT", "e\u0301tage\u0300re", "2026-00", numbers[9], "no such thing", "elodie", "960222", "cœur", "' OR 1=1 --", "*", "a"}
	n := 0
	for _, text := range texts {
		for _, customer := range []string{"", "1"} {
			for _, days := range [][2]string{{"", ""}, {"2026-10-02", "2026-10-20"}} {
				n += s.isFiltered(t, numbers, text, customer, days)
			}
		}
	}
	for _, customer := range []string{"", "2", "7"} {
		for _, days := range [][2]string{{"2026-10-02", ""}, {"", "2026-10-20"}, {"2026-10-31", "2026-10-31"}, {"0001-01-01", "9999-12-31"}} {
			n += s.isFiltered(t, numbers, "oak", customer, days) + s.isFiltered(t, numbers, "", customer, days)
		}
	}
	assert.Greater(t, n, 300, "quotes that were found")
}

// isFiltered checks a list, and that of each status, against the shelf.
func (s service) isFiltered(t *testing.T, numbers []string, text, customer string, days [2]string) (found int) {
	t.Helper()
	f := url.Values{}
	for name, value := range map[string]string{"text": text, "customer": customer, "from": days[0], "to": days[1]} {
		if value != "" {
			f.Set(name, value)
		}
	}
	byStatus := map[string][]string{}
	totals := map[string]num.Rate{}
	ordered, orders := 0, num.Rate(0)
	all := shelf()
	for i := len(all) - 1; i >= 0; i-- {
		k := &all[i]
		if !k.wanted(numbers[i], f) {
			continue
		}
		for _, status := range []string{k.status, ""} {
			byStatus[status] = append(byStatus[status], numbers[i])
		}
		if k.net != "" {
			totals[k.status] += money(t, k.net)
		}
		if k.order != "" {
			ordered++
			orders += money(t, k.order)
		}
	}
	for _, status := range []string{"", "draft", "issued", "expired", "accepted", "declined", "void"} {
		g := url.Values{}
		for name := range f {
			g.Set(name, f.Get(name))
		}
		if status != "" {
			g.Set("status", status)
		}
		list := decode[quoteList](t, s.granted(t, http.StatusOK, fetch(ledger+"?"+g.Encode())))
		assert.Equal(t, byStatus[status], list.numbers(), "%v", g)
		list.areTotals(t, byStatus, totals, g)
		assert.Equal(t, []any{ordered, orders.String()}, []any{list.Orders.Count, list.Orders.Net}, "%v", g)
		found += len(list.Quotes)
	}
	return found
}

// A quoteList is what these tests read of a list of quotes.
type quoteList struct {
	Quotes []struct {
		quoted
		Net, Gross string
		Order      *standing
	}
	Orders struct {
		Count int
		Net   string
	}
	Totals []struct {
		Status string
		Count  int
		Net    *string
	}
}

func (l *quoteList) numbers() (all []string) {
	for _, q := range l.Quotes {
		all = append(all, q.Number)
	}
	return all
}

// areTotals checks the totals: in the order of a quote's life, only those that occur.
func (l *quoteList) areTotals(t *testing.T, byStatus map[string][]string, nets map[string]num.Rate, f url.Values) {
	t.Helper()
	i := 0
	for _, status := range []string{"draft", "issued", "expired", "accepted", "declined", "void"} {
		if len(byStatus[status]) == 0 {
			continue
		}
		if !assert.Less(t, i, len(l.Totals), "%v", f) {
			return
		}
		got := l.Totals[i]
		i++
		assert.Equal(t, []any{status, len(byStatus[status])}, []any{got.Status, got.Count}, "%v", f)
		if net, ok := nets[status]; ok {
			require.NotNil(t, got.Net, "%v", f)
			assert.Equal(t, net.String(), *got.Net, "%v", f)
		} else {
			assert.Nil(t, got.Net, "%s has no price: %v", status, f)
		}
	}
	assert.Len(t, l.Totals, i, "%v", f)
}

// Each quote is listed by what it stands by: what was issued last, or its draft.
func TestWhatAListSaysOfAQuote(t *testing.T) {
	s, numbers := shelved(t)
	list := decode[quoteList](t, s.granted(t, http.StatusOK, fetch(ledger)))
	all := shelf()
	require.Len(t, list.Quotes, len(all))
	slices.Reverse(list.Quotes)
	revisions, orders := map[int]int{5: 2, 9: 2, 11: 2, 12: 2}, map[int]int{9: 2}
	for i, q := range list.Quotes {
		k := &all[i]
		name, id := k.customer, int64(0)
		if c, ok := shelfCustomers()[k.customer]; ok {
			name, id = c[0], map[string]int64{"1": 1, "2": 2}[k.customer]
		}
		assert.Equal(t, []any{numbers[i], k.status, max(1, revisions[i]), k.title, id, name, k.net},
			[]any{q.Number, q.Status, q.Revision, q.Title, q.Customer.ID, q.Customer.Name, q.Net})
		if assert.Equal(t, k.order != "", q.Order != nil, k.title); q.Order != nil {
			assert.Equal(t, []any{k.order, max(1, orders[i])}, []any{q.Order.Net, q.Order.Revision}, k.title)
		}
	}
	// The customer of a draft is as kept now; of what was issued, as it was then.
	s.granted(t, http.StatusOK, put(people+"/1", `{"name": "Élodie Ford"}`, "If-Match: *"))
	list = decode[quoteList](t, s.granted(t, http.StatusOK, fetch(ledger+"?customer=1")))
	names := map[string]string{}
	for _, q := range list.Quotes {
		names[q.Number] = q.Customer.Name
	}
	assert.Equal(t, map[string]string{numbers[0]: "Élodie Ford", numbers[1]: "Élodie Marsh", numbers[6]: "Élodie Marsh", numbers[9]: "Élodie Marsh"}, names)
	assert.Equal(t, []string{numbers[0]}, s.found(t, "text=ford&status=draft"))
}

// found returns the numbers of the quotes of a query.
func (s service) found(t *testing.T, query string) []string {
	t.Helper()
	list := decode[quoteList](t, s.granted(t, http.StatusOK, fetch(ledger+"?"+query)))
	return list.numbers()
}

// nextOf returns where a list goes on, by the header Link; empty where it ends.
func nextOf(t *testing.T, a answer) string {
	t.Helper()
	link := a.header.Get("Link")
	if link == "" {
		return ""
	}
	target, rel, _ := strings.Cut(strings.TrimPrefix(link, "<"), ">")
	require.Equal(t, `; rel="next"`, rel)
	return target
}

// A list read page by page has every quote that was there when it was begun, once,
// while others are made and change, and its filters go on from page to page.
func TestPagesOfQuotesWhileOthersAreMade(t *testing.T) {
	for limit, filter := range map[int]string{1: "text=errand&to=2026-11-01", 3: "text=AN+errand", 5: "", 7: "status=draft&from=2026-11-01&text=an"} {
		s := started(t, api.Config{})
		var want []string
		for range 22 {
			path, _ := s.drafts(t, errand)
			want = append(want, strings.TrimPrefix(path, ledger+"/"))
		}
		slices.Reverse(want)
		var got []string
		pages := 0
		for target := fmt.Sprintf("%s?limit=%d&%s", ledger, limit, filter); target != ""; pages++ {
			a := s.granted(t, http.StatusOK, fetch(strings.TrimSuffix(target, "&")))
			list := decode[quoteList](t, a)
			got = append(got, list.numbers()...)
			require.NotEmpty(t, list.Totals)
			assert.Equal(t, 22+pages, list.Totals[0].Count, "the totals are of all pages, as they are now")
			s.drafts(t, errand)
			if target = nextOf(t, a); target != "" {
				given, err := url.ParseQuery(filter)
				require.NoError(t, err)
				on, err := url.Parse(target)
				require.NoError(t, err)
				for name := range given {
					assert.Equal(t, given.Get(name), on.Query().Get(name))
				}
				assert.Len(t, list.Quotes, limit)
			}
		}
		assert.Equal(t, want, got, "limit %d", limit)
		assert.Greater(t, pages, 3)
	}
}

// Nothing is listed as such; what can be no text is found nowhere.
func TestListsOfNothing(t *testing.T) {
	s := started(t, api.Config{})
	const none = `{"quotes":[],"totals":[],"orders":{"count":0,"net":"0.00"}}` + "\n"
	assert.Equal(t, none, string(s.granted(t, http.StatusOK, fetch(ledger)).body))
	assert.Equal(t, `{"customers":[]}`+"\n", string(s.granted(t, http.StatusOK, fetch(people)).body))
	s.drafts(t, errand)
	for _, text := range []string{"%FF", "%00", "%E2%80%AE", url.QueryEscape(strings.Repeat("an errand ", 500))} {
		a := s.ask(t, refused(fetch(ledger+"?text="+text)))
		assert.Equal(t, none, string(a.body), text)
	}
	assert.Empty(t, nextOf(t, s.granted(t, http.StatusOK, fetch(ledger+"?before=1"))))
	assert.Len(t, s.found(t, "text="), 1, "an empty text chooses all")
}
