package api_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// A weighed is a quote that is out, and what it costs at the prices of a day.
type weighed struct {
	*bid
	old, is byHand
	loss    *big.Rat
}

// weigh prices every quote that is out by hand. What a draft was is what it is today.
func (w *world) weigh(on date.Date, drafts bool) (all []weighed, unpriced []string) {
	w.Helper()
	for _, q := range w.outs(drafts) {
		is, ok := w.price(q.request, on)
		old := q.quoted
		if ok && q.status == "draft" {
			old, ok = w.price(q.request, w.today())
		}
		if !ok {
			unpriced = append(unpriced, q.number)
			continue
		}
		all = append(all, weighed{q, old, is, new(big.Rat).Sub(is.step("cost"), old.step("cost"))})
	}
	slices.SortStableFunc(all, func(a, b weighed) int { return b.loss.Cmp(a.loss) })
	return all, unpriced
}

// row returns how an impact lists the quote.
func (q weighed) row() affected {
	quoted := rat(q.old.Totals.Taxable)
	kept := new(big.Rat).Sub(quoted, q.old.step("fees"))
	left := new(big.Rat).Sub(kept, q.is.step("cost"))
	a := affected{
		Number: q.number, Revision: q.revision, Status: q.status, Title: q.title, Customer: q.customer, LeftOf: "0",
		amounts: amounts{
			OldCost: penny(q.old.step("cost")), NewCost: penny(q.is.step("cost")), Loss: penny(q.loss),
			Quoted: penny(quoted), WouldBe: penny(rat(q.is.Totals.Taxable)), Left: penny(left),
		},
	}
	if kept.Sign() > 0 {
		part := new(big.Rat).Quo(left.Mul(left, big.NewRat(100, 1)), kept)
		a.LeftOf = json.Number(strings.TrimSuffix(strings.TrimRight(part.FloatString(2), "0"), "."))
		if a.LeftOf == "-0" {
			a.LeftOf = "0"
		}
	}
	if q.status == "issued" {
		a.ValidUntil = q.until.String()
	}
	return a
}

// sums adds rows up.
func sums(rows []affected) (count int, s amounts) {
	add := func(to *string, amount string) { *to = penny(new(big.Rat).Add(rat(cmp.Or(*to, "0")), rat(amount))) }
	for _, to := range []*string{&s.OldCost, &s.NewCost, &s.Loss, &s.Quoted, &s.WouldBe, &s.Left} {
		*to = "0.00"
	}
	for _, r := range rows {
		add(&s.OldCost, r.OldCost)
		add(&s.NewCost, r.NewCost)
		add(&s.Loss, r.Loss)
		add(&s.Quoted, r.Quoted)
		add(&s.WouldBe, r.WouldBe)
		add(&s.Left, r.Left)
	}
	return len(rows), s
}

// A rates is the old and the new rate of every price that an update changes: of two
// prices of one code the old of the first and the new of the last.
type rates map[string][2]*big.Rat

// moves returns what an update changes.
func (w *world) moves(id int64) rates {
	rows := update(w, w.granted(w, 200, fetch(fmt.Sprint(updates, "/", id)))).Rows
	slices.SortStableFunc(rows, func(a, b catalog.UpdateRow) int { return a.From.Compare(b.From) })
	all := make(rates)
	for _, r := range rows {
		if r.Outcome != "changed" {
			continue
		}
		was := [2]*big.Rat{rat(r.Old.String())}
		if before, twice := all[r.Code]; twice {
			was = before
		}
		all[r.Code] = [2]*big.Rat{was[0], rat(r.New.String())}
	}
	return all
}

// timbers works out what an update costs of each timber of some quotes: what their
// costings buy of it, at its old and at its new rates, each line to the penny.
func (w *world) timbers(moves map[string][2]*big.Rat, of []weighed) (all []timberCost, loss string) {
	sums, in := make(map[string][2]*big.Rat), make(map[string]map[string]bool)
	for _, q := range of {
		for _, p := range q.is.Pieces {
			for _, l := range p.Timber {
				rates, moved := moves[l.Code]
				if !p.Included || !moved {
					continue
				}
				timber := w.timber[l.Code]
				if in[timber] == nil {
					in[timber], sums[timber] = make(map[string]bool), [2]*big.Rat{new(big.Rat), new(big.Rat)}
				}
				in[timber][q.number] = true
				for i, rate := range rates {
					sums[timber][i].Add(sums[timber][i], rat(penny(new(big.Rat).Mul(rat(l.Quantity), rate))))
				}
			}
		}
	}
	total := new(big.Rat)
	for _, timber := range slices.Sorted(maps.Keys(sums)) {
		s := sums[timber]
		lost := new(big.Rat).Sub(s[1], s[0])
		total.Add(total, lost)
		all = append(all, timberCost{Code: timber, Quotes: len(in[timber]), Old: penny(s[0]), New: penny(s[1]), Loss: penny(lost)})
	}
	slices.SortStableFunc(all, func(a, b timberCost) int { return rat(b.Loss).Cmp(rat(a.Loss)) })
	return all, penny(total)
}

// agrees holds an impact against the quotes that it should list and what was worked out
// of each by hand.
func (w *world) agrees(what string, got impactOf, want []weighed, unpriced []string, moves rates) {
	w.Helper()
	rows := []affected{}
	for _, q := range want {
		rows = append(rows, q.row())
	}
	require.Equal(w, rows, got.Quotes, what)
	w.rows += len(rows)
	count, sum := sums(rows)
	assert.Equal(w, count, got.Sums.Count, what)
	assert.Equal(w, sum, got.Sums.amounts, what)
	var without []string
	for _, u := range got.Unpriced {
		without = append(without, u.Number)
		assert.NotEmpty(w, u.Detail)
	}
	assert.Equal(w, unpriced, without, what)
	if moves == nil {
		assert.Nil(w, got.Update, what)
		return
	}
	timbers, loss := w.timbers(moves, want)
	for i := range got.Update.Timbers {
		assert.NotEmpty(w, got.Update.Timbers[i].Description)
		got.Update.Timbers[i].Description = ""
	}
	assert.Equal(w, timbers, slices.Clip(append([]timberCost(nil), got.Update.Timbers...)), what)
	assert.Equal(w, loss, got.Update.Loss, what)
}

// chosen returns those with a code among some.
func chosen(all []weighed, codes ...string) (some []weighed) {
	for _, q := range all {
		has := q.is.codes()
		if slices.ContainsFunc(codes, func(c string) bool { return has[c] }) {
			some = append(some, q)
		}
	}
	return some
}

// filtered asks for some of the quotes only: by timber, by thickness, by the update.
func (w *world) filtered(query string, all []weighed, unpriced []string, id int64, moves rates) {
	w.Helper()
	thicknesses := slices.Sorted(maps.Keys(w.timber))
	thickness := thicknesses[w.rng.IntN(len(thicknesses))]
	if its := slices.DeleteFunc(slices.Sorted(maps.Keys(moves)), func(c string) bool { return w.timber[c] == "" }); w.once(0.7) {
		thickness = its[w.rng.IntN(len(its))]
	}
	timber := w.timber[thickness]
	its := slices.DeleteFunc(thicknesses, func(t string) bool { return w.timber[t] != timber })
	moved := chosen(all, slices.Collect(maps.Keys(moves))...)
	w.agrees("update", w.impactOn(w, fmt.Sprint(query, "&update=", id)), moved, unpriced, moves)
	w.agrees(thickness, w.impactOn(w, query+"&timber="+thickness), chosen(all, thickness), unpriced, moves)
	w.agrees(timber, w.impactOn(w, query+"&timber="+timber), chosen(all, its...), unpriced, moves)
	w.agrees("both", w.impactOn(w, fmt.Sprint(query, "&timber=", timber, "&update=", id)), chosen(moved, its...), unpriced, moves)
}

// A year of price lists comes over two hundred quotes, which go on meanwhile: some are
// accepted, declined, revised, expired. After each list the impact is what pricing each
// request by hand says, line by line; and before it was applied it was the same.
func TestAYearOfImpact(t *testing.T) {
	w := newWorld(t)
	lists, err := filepath.Glob("../testdata/updates/*.csv")
	require.NoError(t, err)
	require.Len(t, lists, 12)
	var last rates // of the list before
	for month, list := range lists {
		from := date.MustParse(filepath.Base(list)[:7] + "-01")
		w.now.set(from.AddDays(-6).String())
		w.lives()
		for len(w.outs(true)) < 200 {
			w.offers()
		}
		text, err := os.ReadFile(list)
		require.NoError(t, err)
		on := "?as_of=" + from.String()
		before := w.impactOn(t, on)
		id := w.applied(text, month)
		moves := w.moves(id)
		is, unpriced := w.weigh(from, true)
		after := w.impactOn(t, on)
		w.agrees(list, after, is, unpriced, moves)
		assert.NotEqual(t, before.Sums, after.Sums, list)
		w.filtered(on, is, unpriced, id, moves)
		if month%4 == 3 {
			w.otherDays(list, moves)
			w.withdrawn(id, on, before, last)
			w.applied(text, month)
			w.agrees(list+" again", w.impactOn(t, on), is, unpriced, moves)
		}
		last = moves
	}
	w.ownList()
	w.comparesAll()
	t.Logf("%d quotes, %d of them out at the end; %d rows of impacts held against %d costings by hand", len(w.all), len(w.outs(true)), w.rows, w.asked)
}

// otherDays asks for the prices of today, and of a day long past.
func (w *world) otherDays(list string, moves rates) {
	w.Helper()
	issued, none := w.weigh(w.today(), false)
	w.agrees(list+" today", w.impactOn(w, ""), issued, none, moves)
	past := date.MustParse("2026-06-15")
	then, gone := w.weigh(past, true)
	w.agrees(list+" past", w.impactOn(w, "?as_of="+past.String()), then, gone, moves)
}

// withdrawn takes a list back: all is as before, and what it cost is told when it is
// asked for.
func (w *world) withdrawn(id int64, on string, before impactOf, last rates) {
	w.Helper()
	moves := w.moves(id)
	w.granted(w, 200, submit(fmt.Sprint(updates, "/", id, "/withdraw"), ""))
	assert.Equal(w, before, w.impactOn(w, on))
	was, unpriced := w.weigh(date.MustParse(on[len("?as_of="):]), true)
	w.agrees("withdrawn", before, was, unpriced, last)
	asked := w.impactOn(w, fmt.Sprint(on, "&update=", id))
	assert.Equal(w, "withdrawn", asked.Update.Status)
	w.agrees("withdrawn, asked", asked, chosen(was, slices.Collect(maps.Keys(moves))...), unpriced, moves)
}

// ownList is a list of hours, sheets, supplies, fittings, and a timber twice; and from
// its second day on no chest with turned knobs can be priced.
func (w *world) ownList() {
	w.now.set("2027-11-28")
	w.granted(w, 204, remove("/v1/ironmongery/knob-35?from=2028-01-01", "If-Match: *"))
	id := w.applied([]byte(`code,price,unit,currency,effective_from
ash-prime-27,2500.00,m3,GBP,2028-01-01
bench,34.50,h,GBP,2027-12-01
birch-ply-6,31.00,each,GBP,2027-12-01
ash-prime-27,2400.00,m3,GBP,2027-12-01
hard-oil,41.00,pack,GBP,2027-12-01
knob-brass-30,9.10,each,GBP,2027-12-15
oak-prime-27,3100.00,m3,GBP,2028-02-01
`), 0)
	moves := w.moves(id)
	without := 0
	for _, day := range []string{"2027-12-01", "2027-12-31", "2028-01-01", "2028-02-01"} {
		is, unpriced := w.weigh(date.MustParse(day), true)
		w.agrees(day, w.impactOn(w, "?as_of="+day), is, unpriced, moves)
		w.filtered("?as_of="+day, is, unpriced, id, moves)
		without += len(unpriced)
	}
	assert.Greater(w, without, 20)
}

// applied sends a list and applies it. What its preview says it does is what it does: on
// its own day, or on one long after it, of all quotes or of some.
func (w *world) applied(list []byte, month int) int64 {
	w.Helper()
	id := update(w, w.granted(w, 201, sendCSV(string(list)))).ID
	some := []string{"", "&timber=ash-prime", "&timber=oak-prime-27", fmt.Sprint("&update=", id), "&as_of=2029-01-01"}[month%5]
	own, other := w.impactOn(w, fmt.Sprint("?preview=", id)), w.impactOn(w, fmt.Sprint("?preview=", id, some))
	w.granted(w, 200, submit(fmt.Sprint(updates, "/", id, "/apply"), `{"accept_large_moves": true}`))
	assert.Equal(w, id, own.Preview)
	w.same(own, w.impactOn(w, "?as_of="+own.AsOf))
	w.same(other, w.impactOn(w, "?as_of="+other.AsOf+strings.TrimPrefix(some, "&as_of=2029-01-01")))
	return id
}

// same holds what was previewed against what is.
func (w *world) same(previewed, is impactOf) {
	w.Helper()
	assert.Equal(w, "previewed", previewed.Update.Status)
	previewed.Preview, previewed.Update.Status = 0, "applied"
	assert.Equal(w, previewed, is)
}

// comparesAll compares every revision of every quote with every other: each as the two
// costings have it, its rows adding up, and as the ledger has it.
func (w *world) comparesAll() {
	book := quotes.New(w.catalog)
	pairs, rows := 0, 0
	for _, q := range w.all {
		path := ledger + "/" + q.number
		of := make([]pricedAll, q.revisions+1)
		for i := 1; i <= q.revisions; i++ {
			if q.status == "draft" || i > q.revision {
				of[i] = w.draftedAs(w, path)
			} else {
				of[i] = w.sentAs(w, path, i)
			}
		}
		for from := 1; from <= q.revisions; from++ {
			for to := 1; to <= q.revisions && q.revisions > 1; to++ {
				c, etag := w.compares(w, path, from, to)
				require.Equal(w, expected(w, of[from], of[to]), c, "%s %d to %d", q.number, from, to)
				is, err := book.Compare(w.Context(), q.number, from, to, w.today())
				require.NoError(w, err)
				text, err := wire.Encode(is)
				require.NoError(w, err)
				require.Equal(w, etag, wire.Tag(append(text, '\n')))
				pairs, rows = pairs+1, rows+c.addsUp(w)
			}
		}
	}
	assert.Greater(w, pairs, 200)
	w.Logf("%d pairs of revisions compared, %d differences", pairs, rows)
}
