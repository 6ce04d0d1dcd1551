package api_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math/big"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/pricing/date"
)

// A world is a workshop whose quotes are kept twice: by the service, and here by the
// costings that it was asked for one at a time.
type world struct {
	*testing.T
	service
	now    *calendar
	rng    *rand.Rand
	all    []*bid
	timber map[string]string // of each thickness
	asked  int               // costings
	rows   int               // of impacts
}

// A bid is a quote as this test has it.
type bid struct {
	number, title, customer string
	status                  string // draft, issued, accepted, declined
	revision                int    // by which it stands
	until                   date.Date
	request                 jsonObject // of that revision
	quoted                  byHand     // what it came to
	next                    jsonObject // what the draft beside it says, if there is one
	revisions               int
}

// A byHand is what these tests read of a costing that was asked for by hand.
type byHand struct {
	Pieces []struct {
		Included                                                bool
		Timber, Sheets, Ironmongery, Supplies, Labour, BoughtIn []struct {
			Code, Grade string
			Quantity    json.Number
		}
		BuildUp []struct{ Name, Amount string } `json:"build_up"`
	}
	Totals struct{ Taxable string }
}

// newWorld returns a world with nothing offered yet.
func newWorld(t *testing.T) *world {
	w := &world{T: t, now: new(calendar), rng: rand.New(rand.NewPCG(2026, 12)), timber: make(map[string]string)}
	w.now.set("2026-11-25")
	w.service = started(t, api.Config{Today: w.now.today})
	for _, timber := range find(t, w.granted(t, 200, fetch("/v1/book")).body, "/timbers").([]any) {
		for _, thickness := range timber.(jsonObject)["thicknesses"].([]any) {
			w.timber[thickness.(jsonObject)["code"].(string)] = timber.(jsonObject)["code"].(string)
		}
	}
	return w
}

// today returns the day of the world.
func (w *world) today() date.Date { return w.now.today() }

// price prices a request by hand: it asks for the costing of a day. One in fifty
// exchanges is held against the contract, as all others of these tests are.
func (w *world) price(request jsonObject, asOf date.Date) (c byHand, ok bool) {
	w.Helper()
	dated := jsonObject{"as_of": asOf.String()}
	for name, v := range request {
		if name != "as_of" {
			dated[name] = v
		}
	}
	text, err := json.Marshal(dated)
	require.NoError(w, err)
	var body []byte
	if w.asked++; w.asked%50 == 0 {
		a := w.ask(w, refused(submit("/v1/costings", string(text))))
		ok, body = a.status == 200, a.body
	} else {
		q := httptest.NewRequest(http.MethodPost, "http://localhost/v1/costings", strings.NewReader(string(text)))
		q.Header.Set("Content-Type", "application/json")
		r := httptest.NewRecorder()
		w.handler.ServeHTTP(r, q)
		ok, body = r.Code == 200, r.Body.Bytes()
	}
	if ok {
		require.NoError(w, json.Unmarshal(body, &c))
	}
	return c, ok
}

// step returns the sum of a step of the build-up over what is included.
func (c byHand) step(name string) *big.Rat {
	sum := new(big.Rat)
	for _, p := range c.Pieces {
		for _, s := range p.BuildUp {
			if p.Included && s.Name == name {
				sum.Add(sum, rat(s.Amount))
			}
		}
	}
	return sum
}

// codes returns the codes of all that is priced in what is included: of hours, their
// grade.
func (c byHand) codes() map[string]bool {
	all := make(map[string]bool)
	for _, p := range c.Pieces {
		for _, lines := range [][]struct {
			Code, Grade string
			Quantity    json.Number
		}{p.Timber, p.Sheets, p.Ironmongery, p.Supplies, p.Labour} {
			for _, l := range lines {
				if p.Included {
					all[cmp.Or(l.Grade, l.Code)] = true
				}
			}
		}
	}
	return all
}

// rat returns the number that a text is, exactly.
func rat[S ~string](s S) *big.Rat {
	r, ok := new(big.Rat).SetString(string(s))
	if !ok {
		panic("no number: " + string(s))
	}
	return r
}

// penny returns an amount rounded to the penny, half away from zero.
func penny(r *big.Rat) string { return r.FloatString(2) }

// drawn returns a demo request with its timbers, sizes, quantities, terms and day drawn.
func (w *world) drawn() jsonObject {
	demos := []string{"tall-chest", "low-chest", "drawer-boxes", "inch-chest", "free-parts", "full-quotation", "paid-in-stages", "agreed-below-cost"}
	var r jsonObject
	require.NoError(w, json.Unmarshal([]byte(file(w, pieces+demos[w.rng.IntN(len(demos))]+".json")), &r))
	if _, single := r["kind"]; single {
		r = jsonObject{"pieces": []any{r}}
	}
	delete(r, "customer")
	delete(r, "as_of")
	timbers := slices.Sorted(func(yield func(string) bool) {
		for _, t := range w.timber {
			if !yield(t) {
				return
			}
		}
	})
	for _, p := range r["pieces"].([]any) {
		p := p.(jsonObject)
		if roles, ok := p["timbers"].(jsonObject); ok {
			for _, role := range []string{"inner", "show"} {
				if _, there := roles[role]; there && w.once(0.6) {
					roles[role] = timbers[w.rng.IntN(len(timbers))]
				}
			}
		}
		if chest, ok := p["chest"].(jsonObject); ok && p["units"] == nil {
			chest["width"] = chest["width"].(float64) + float64(10*(w.rng.IntN(21)-10))
			chest["depth"] = chest["depth"].(float64) + float64(10*(w.rng.IntN(11)-5))
		}
		if w.once(0.3) {
			p["quantity"] = 1 + w.rng.IntN(4)
		}
		if w.once(0.08) {
			p["agreed_price"] = fmt.Sprintf("%d.50", 50+w.rng.IntN(4000))
		}
	}
	if w.once(0.15) {
		r["as_of"] = date.MustParse("2026-02-01").AddDays(w.rng.IntN(290)).String()
	}
	w.drawTerms(r)
	return r
}

// drawTerms changes some of the terms of a request.
func (w *world) drawTerms(r jsonObject) {
	terms, ok := r["terms"].(jsonObject)
	if !ok {
		terms = jsonObject{}
	}
	for _, change := range []struct {
		name  string
		value func() any
	}{
		{"overhead", func() any { return jsonObject{"per_hour": fmt.Sprintf("%d.25", w.rng.IntN(30))} }},
		{"contingency_percent", func() any { return float64(w.rng.IntN(1500)) / 100 }},
		{"profit", func() any { return jsonObject{"markup_percent": float64(w.rng.IntN(6000)) / 100} }},
		{"fees_percent", func() any { return float64(w.rng.IntN(500)) / 100 }},
		{"discount_percent", func() any { return float64(w.rng.IntN(1000)) / 100 }},
		{"round_to", func() any { return []string{"0.01", "0.50", "5.00"}[w.rng.IntN(3)] }},
	} {
		if w.once(0.15) {
			terms[change.name] = change.value()
		}
	}
	if terms["discount_percent"] != nil {
		delete(terms, "discount_amount")
	}
	r["terms"] = terms
}

// once reports, by chance, whether something is to be.
func (w *world) once(chance float64) bool { return w.rng.Float64() < chance }

// dayOf returns the day whose prices a draft of a request has.
func (w *world) dayOf(request jsonObject) date.Date {
	if pinned, ok := request["as_of"].(string); ok {
		return date.MustParse(pinned)
	}
	return w.today()
}

// possible returns a request that can be priced.
func (w *world) possible() jsonObject {
	for {
		r := w.drawn()
		if _, ok := w.price(r, w.dayOf(r)); !ok {
			continue
		}
		if _, ok := w.price(r, w.today()); ok {
			return r
		}
	}
}

// offers makes a quote that may be issued, decided and revised.
func (w *world) offers() {
	n := len(w.all) + 1
	q := &bid{title: fmt.Sprint("Quote ", n), customer: fmt.Sprint("Customer ", n%7), status: "draft", revision: 1, revisions: 1, request: w.possible()}
	days := 5 + w.rng.IntN(396)
	text, err := json.Marshal(jsonObject{"customer": jsonObject{"name": q.customer}, "title": q.title, "request": q.request, "valid_days": days})
	require.NoError(w, err)
	path, _ := w.drafts(w, string(text))
	q.number = strings.TrimPrefix(path, ledger+"/")
	w.all = append(w.all, q)
	if w.once(0.8) {
		w.issues(q)
	}
}

// issues issues what is a draft of a quote.
func (w *world) issues(q *bid) {
	if q.next != nil {
		q.request, q.next = q.next, nil
	}
	c, ok := w.price(q.request, w.dayOf(q.request))
	require.True(w, ok)
	done := decode[standing](w, w.does(w, ledger+"/"+q.number, "issue", ""))
	q.status, q.quoted, q.revision, q.until = "issued", c, done.Revision, date.MustParse(done.ValidUntil)
}

// lives has some of the quotes go on: accepted, declined, revised, and issued anew.
func (w *world) lives() {
	for _, q := range w.all {
		expired := q.until.Compare(w.today()) < 0
		switch path := ledger + "/" + q.number; {
		case q.next != nil && w.once(0.5), q.status == "draft" && w.once(0.1):
			w.issues(q)
		case q.next != nil || q.status == "draft":
		case q.status == "issued" && !expired && w.once(0.04):
			w.does(w, path, "accept", "")
			q.status = "accepted"
		case q.status == "issued" && w.once(0.04):
			w.does(w, path, "decline", "")
			q.status = "declined"
		case w.once(0.08):
			w.does(w, path, "revise", "")
			q.next = w.possible()
			text, err := json.Marshal(jsonObject{"customer": jsonObject{"name": q.customer}, "title": q.title, "request": q.next, "valid_days": 5 + w.rng.IntN(396)})
			require.NoError(w, err)
			w.does(w, path, "edit", string(text))
			q.revisions++
		}
	}
}

// outs returns the quotes that are out, as they are listed: those issued, and drafts
// too when they are asked for.
func (w *world) outs(drafts bool) (all []*bid) {
	for _, q := range w.all {
		if q.status == "issued" && q.until.Compare(w.today()) >= 0 {
			all = append(all, q)
		}
	}
	for _, q := range w.all {
		if drafts && q.status == "draft" {
			all = append(all, q)
		}
	}
	return all
}

// A jsonObject is one whose members are changed before it is sent.
type jsonObject = map[string]any
