package quotes_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/pricing"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// A summary is what a list says of all that its filter chooses.
type summary struct {
	totals []quotes.StatusTotal
	orders quotes.OrderTotal
}

// list returns the numbers of what a filter chooses, page by page, and its totals,
// which each page has alike.
func (s *shop) list(t *testing.T, f quotes.Filter, limit int) (numbers []string, sums summary) {
	t.Helper()
	for before := int64(0); ; {
		l, err := s.List(t.Context(), f, s.today(), before, limit)
		require.NoError(t, err)
		require.LessOrEqual(t, len(l.Quotes), limit)
		for _, q := range l.Quotes {
			numbers = append(numbers, q.Number)
		}
		if before > 0 {
			require.Equal(t, sums, summary{l.Totals, l.Orders})
		}
		sums = summary{l.Totals, l.Orders}
		if before = l.Last; before == 0 {
			return numbers, sums
		}
	}
}

// many fills a shop with quotes of every status, of three customers, on several days,
// at prices of their own.
func many(t *testing.T) *shop {
	t.Helper()
	s := opened(t)
	s.now = time.Date(2026, 10, 1, 9, 0, 0, 0, time.UTC)
	var kept [2]quotes.Customer
	for i, name := range []string{"Émile Übeltäter-Øst", "Bo LARKRISE"} {
		var err error
		kept[i], _, err = s.AddCustomer(t.Context(), quotes.Customer{Customer: pricing.Customer{Name: name, Email: fmt.Sprintf("Kept%d@Example.com", i)}})
		require.NoError(t, err)
	}
	lives := []string{"", "void", "issue", "issue", "issue accept", "issue decline", "issue revise", "issue revise issue", "issue revise issue accept", "issue accept revise", "issue revise void", "issue accept revise issue", "issue accept revise issue decline", "issue accept revise void revise issue accept"}
	for n := range 44 {
		if n%7 == 6 {
			s.pass(9)
		}
		d := draftOf(t, strings.ReplaceAll(visit, "120.00", fmt.Sprintf("%d.%02d", 50+rand.IntN(900), rand.IntN(100))))
		d.Title = fmt.Sprintf("Piece %d 50%% of_it", n)
		if n%3 < 2 {
			d.Customer = quotes.Addressee{ID: kept[n%3].ID}
		}
		s.do(t, s.create(t, d).Number, strings.Fields(lives[n%len(lives)])...)
	}
	return s
}

// coins returns how many pence a sum in pounds is.
func coins(t *testing.T, sum string) (n int64) {
	t.Helper()
	pounds, pence, ok := strings.Cut(sum, ".")
	require.True(t, ok && len(pence) == 2, sum)
	n, err := strconv.ParseInt(pounds+pence, 10, 64)
	require.NoError(t, err)
	return n
}

// pounds returns that many pence as money.
func pounds(t *testing.T, pence int64) num.Money {
	t.Helper()
	var gbp num.Currency
	require.NoError(t, gbp.UnmarshalText([]byte("GBP")))
	return gbp.Coins(pence)
}

// tally adds up what single quotes say, independently of the list: of each, the net
// of the revision by which it stands, and of the last that was accepted.
func tally(t *testing.T, all []view, chosen func(view) bool) (numbers []string, sums summary) {
	t.Helper()
	count, nets, ordered := map[string]int{}, map[string]int64{}, int64(0)
	for _, v := range all {
		if !chosen(v) {
			continue
		}
		numbers = append(numbers, v.Number)
		count[v.Status]++
		if _, n := standsBy(strings.Fields(v.statuses())); v.Revisions[n-1].SHA256 != "" {
			nets[v.Status] += coins(t, v.Revisions[n-1].Net)
		}
		slices.Reverse(v.Revisions)
		i := slices.IndexFunc(v.Revisions, func(r standing) bool { return r.Accepted != nil })
		if i >= 0 {
			sums.orders.Count++
			ordered += coins(t, v.Revisions[i].Accepted.Totals.Net)
		}
		slices.Reverse(v.Revisions)
	}
	sums.totals, sums.orders.Net = []quotes.StatusTotal{}, pounds(t, ordered)
	for _, status := range []string{"draft", "issued", "expired", "accepted", "declined", "void"} {
		total := quotes.StatusTotal{Status: status, Count: count[status]}
		if status != "draft" && status != "void" {
			total.Net = new(pounds(t, nets[status]))
		}
		if total.Count > 0 {
			sums.totals = append(sums.totals, total)
		}
	}
	return numbers, sums
}

// A list has what its filter chooses, the latest first, however it is paged; its
// totals are the sums over what single quotes say, whatever the status asked for.
func TestListsAddUp(t *testing.T) {
	t.Parallel()
	s := many(t)
	var all []view
	for n := 44; n > 0; n-- {
		all = append(all, s.look(t, fmt.Sprintf("2026-%04d", n)))
	}
	third := date.MustParse("2026-10-19")
	for name, tt := range map[string]struct {
		filter quotes.Filter
		chosen func(view) bool
	}{
		"all":                    {quotes.Filter{}, func(view) bool { return true }},
		"a customer":             {quotes.Filter{Customer: 1}, func(v view) bool { return v.Customer.ID == 1 }},
		"nobody":                 {quotes.Filter{Customer: 99}, func(view) bool { return false }},
		"from a day":             {quotes.Filter{From: third}, func(v view) bool { return v.CreatedAt[:10] >= "2026-10-19" }},
		"to a day":               {quotes.Filter{To: third}, func(v view) bool { return v.CreatedAt[:10] <= "2026-10-19" }},
		"of a day":               {quotes.Filter{From: third, To: third}, func(v view) bool { return v.CreatedAt[:10] == "2026-10-19" }},
		"of no day":              {quotes.Filter{From: third, To: third.AddDays(-1)}, func(view) bool { return false }},
		"a number":               {quotes.Filter{Text: "2026-0007"}, func(v view) bool { return v.Number == "2026-0007" }},
		"part of numbers":        {quotes.Filter{Text: "-003"}, func(v view) bool { return strings.HasPrefix(v.Number, "2026-003") }},
		"a title":                {quotes.Filter{Text: "PIECE 1"}, func(v view) bool { return strings.HasPrefix(v.Title, "Piece 1") }},
		"what is no pattern":     {quotes.Filter{Text: "50% of_i"}, func(view) bool { return true }},
		"what is none either":    {quotes.Filter{Text: "50%_of"}, func(view) bool { return false }},
		"a name, written small":  {quotes.Filter{Text: "bo larkr"}, func(v view) bool { return v.Customer.ID == 2 }},
		"a name, in capitals":    {quotes.Filter{Text: "ÉMILE UBELTÄTER-ØST"}, func(v view) bool { return v.Customer.ID == 1 }},
		"a name, written out":    {quotes.Filter{Text: "ada FIELD"}, func(v view) bool { return v.Customer.ID == 0 }},
		"an address for mail":    {quotes.Filter{Text: "kept1@example"}, func(v view) bool { return v.Customer.ID == 2 }},
		"a customer and a title": {quotes.Filter{Customer: 2, Text: "piece 4"}, func(v view) bool { return v.Customer.ID == 2 && strings.HasPrefix(v.Title, "Piece 4") }},
		"quotes, to SQL":         {quotes.Filter{Text: "' OR '' = '"}, func(view) bool { return false }},
	} {
		t.Run(name, func(t *testing.T) {
			want, sums := tally(t, all, tt.chosen)
			for _, limit := range []int{6, 44, 1000} {
				got, totals := s.list(t, tt.filter, limit)
				require.Equal(t, want, got)
				require.Equal(t, sums, totals)
			}
			for _, status := range []string{"draft", "issued", "expired", "accepted", "declined", "void", "superseded"} {
				f := tt.filter
				f.Status = status
				want, _ := tally(t, all, func(v view) bool { return v.Status == status && tt.chosen(v) })
				got, totals := s.list(t, f, 25)
				require.Equal(t, want, got, status)
				require.Equal(t, sums, totals, status)
			}
		})
	}
	_, sums := tally(t, all, func(view) bool { return true })
	require.Len(t, sums.totals, 6, "every status occurs")
}

// What a list says of a quote is what the quote says.
func TestListedAsItStands(t *testing.T) {
	t.Parallel()
	s := many(t)
	l, err := s.List(t.Context(), quotes.Filter{}, s.today(), 0, 100)
	require.NoError(t, err)
	require.Len(t, l.Quotes, 44)
	for _, q := range l.Quotes {
		v := s.look(t, q.Number)
		_, n := standsBy(strings.Fields(v.statuses()))
		r := v.Revisions[n-1]
		assert.Equal(t, []string{v.Status, v.CreatedAt, r.IssuedAt, r.ValidUntil, r.SHA256}, []string{q.Status, q.CreatedAt, q.IssuedAt, q.ValidUntil.String(), q.SHA256}, q.Number)
		assert.Equal(t, []any{n, v.Title, v.Customer.ID, v.Customer.Name}, []any{q.Revision, q.Title, q.Customer.ID, q.Customer.Name}, q.Number)
		assert.Equal(t, r.SHA256 == "", q.Net == nil, q.Number)
		assert.Empty(t, q.Customer.Email)
		order := (*quotes.Order)(nil)
		for i, r := range v.Revisions {
			if a := r.Accepted; a != nil {
				order = &quotes.Order{Revision: i + 1, Net: pounds(t, coins(t, a.Totals.Net)), Gross: pounds(t, coins(t, a.Totals.Gross))}
			}
		}
		assert.Equal(t, order, q.Order, q.Number)
	}
	assert.True(t, slices.IsSortedFunc(l.Quotes, func(a, b quotes.Listed) int { return strings.Compare(b.Number, a.Number) }))
}

// A draft is found by what its customer is called now, a document by that too, and by
// the name that it bears.
func TestFoundByItsCustomer(t *testing.T) {
	s := opened(t)
	c, tag, err := s.AddCustomer(t.Context(), quotes.Customer{Customer: pricing.Customer{Name: "Bo Larkrise"}})
	require.NoError(t, err)
	d := draftOf(t, visit)
	d.Customer = quotes.Addressee{ID: c.ID}
	s.create(t, d)
	s.do(t, s.create(t, d).Number, "issue")
	c.Name = "Bo Ashdown"
	_, _, err = s.PutCustomer(t.Context(), c, seen(tag))
	require.NoError(t, err)
	got, _ := s.list(t, quotes.Filter{Text: "ashdown"}, 10)
	assert.Equal(t, []string{"2026-0002", "2026-0001"}, got)
	got, _ = s.list(t, quotes.Filter{Text: "larkrise"}, 10)
	assert.Equal(t, []string{"2026-0002"}, got)
}
