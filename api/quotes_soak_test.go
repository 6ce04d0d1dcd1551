package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/pricing/date"
)

// told is a change of a quote that an answer told of.
type told struct {
	event         string
	revision      int
	before, after string // ETags: sent, answered
	sha256        string // of what was issued
}

// A worked is a quote that clients work at until it is retired: the changes that it
// has told of are then those that happened to it.
type worked struct {
	busy   sync.RWMutex // held alone by who retires it
	mu     sync.Mutex   // of told
	number string
	told   []told
}

// tell notes what a client was told.
func (w *worked) tell(c told) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.told = append(w.told, c)
}

// An office is what the clients of a soak share.
type office struct {
	url    string
	client *http.Client
	piece  string // JSON of a request

	own    chan *worked // each taken out by the one client that works at it
	common []*worked

	mu    sync.Mutex
	given map[string]bool // numbers
	count map[int]int     // answers to deeds, by status

	sent, calls atomic.Int64
}

// ask sends a request and reads the answer, whose status must be one of those.
func (o *office) ask(r request, statuses ...int) (a answer, err error) {
	q, err := r.on(o.url)
	if err != nil {
		return a, err
	}
	o.sent.Add(1)
	got, err := o.client.Do(q)
	if err != nil {
		return a, err
	}
	a.status, a.header = got.StatusCode, got.Header
	a.body, err = io.ReadAll(got.Body)
	if err == nil && !slices.Contains(statuses, a.status) {
		err = fmt.Errorf("%s %s: %d: %.300s", r.method, r.target, a.status, a.body)
	}
	return a, errors.Join(err, got.Body.Close())
}

// draft returns the n-th draft: no other says the same.
func (o *office) draft(n int) string {
	return fmt.Sprintf(`{"customer": {"name": "Ines Marlowe"}, "title": "Tall chest", "note": "The %d. draft", "request": %s}`, n, o.piece)
}

// open makes the n-th quote; every other time the request bears a key, and is sent
// twice.
func (o *office) open(n int) (*worked, error) {
	r := submit("/v1/quotes", o.draft(n))
	if n%2 == 0 {
		r.header = append(r.header, fmt.Sprintf("Idempotency-Key: quote-%d", n))
	}
	a, err := o.ask(r, http.StatusCreated)
	if err != nil {
		return nil, err
	}
	if n%2 == 0 {
		again, err := o.ask(r, http.StatusCreated)
		if err != nil || string(a.body) != string(again.body) || a.header.Get("Etag") != again.header.Get("Etag") {
			return nil, fmt.Errorf("not the same answer to the same request: %w", err)
		}
	}
	return o.opened(a)
}

// opened notes a new quote, whose number must be new.
func (o *office) opened(a answer) (*worked, error) {
	number := strings.TrimPrefix(a.header.Get("Location"), "/v1/quotes/")
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.given[number] {
		return nil, fmt.Errorf("the number %s is given twice", number)
	}
	o.given[number] = true
	return &worked{number: number, told: []told{{event: "created", revision: 1, after: a.header.Get("Etag")}}}, nil
}

// deed returns something to be done to a quote, by the name of its event, and its path;
// editing has none.
func deed() (event, path string) {
	likely := []string{
		"edited", "edited", "edited", "issued/issue", "issued/issue", "revised/revise", "revised/revise", "accepted/accept", "declined/decline", "void/void",
	}
	event, path, _ = strings.Cut(likely[rand.N(len(likely))], "/")
	return event, path
}

// step reads a quote and does something to it that may be refused, since it does not
// fit or somebody else was faster.
func (o *office) step(w *worked, n int) error {
	target := "/v1/quotes/" + w.number
	read, err := o.ask(fetch(target), http.StatusOK)
	if err != nil {
		return err
	}
	event, path := deed()
	c := told{event: event, before: read.header.Get("Etag")}
	r := put(target, o.draft(n), "If-Match: "+c.before)
	if path != "" {
		r = submit(target+"/"+path, "{}", "If-Match: "+c.before)
	}
	a, err := o.ask(r, http.StatusOK, http.StatusConflict, http.StatusPreconditionFailed)
	if err != nil {
		return err
	}
	o.mu.Lock()
	o.count[a.status]++
	o.mu.Unlock()
	if a.status != http.StatusOK {
		return nil
	}
	var now struct {
		Revision int
		SHA256   string
	}
	if err := json.Unmarshal(a.body, &now); err != nil {
		return err
	}
	c.revision, c.after = now.Revision, a.header.Get("Etag")
	if c.event == "issued" {
		c.sha256 = now.SHA256
	}
	w.tell(c)
	return nil
}

// happened returns what the events of a quote say. Issuing says what it supersedes
// too.
func (o *office) happened(w *worked) (all []told, err error) {
	a, err := o.ask(fetch("/v1/quotes/"+w.number+"/events"), http.StatusOK)
	if err != nil {
		return nil, err
	}
	var list struct{ Events []quotes.Event }
	if err := json.Unmarshal(a.body, &list); err != nil {
		return nil, err
	}
	var last quotes.Event
	drafted := false // then prices may move the ETag
	for _, e := range list.Events {
		if last.ID > 0 && !drafted && e.ETagBefore != last.ETagAfter && (e.ETagBefore != last.ETagBefore || last.Event != "superseded") {
			return nil, fmt.Errorf("%s: %s does not follow %s: %+v", w.number, e.Event, last.Event, list.Events)
		}
		switch last = e; e.Event {
		case "superseded":
			continue
		case "created", "revised":
			drafted = true
		case "issued", "void":
			drafted = false
		}
		all = append(all, told{event: e.Event, revision: e.Revision, before: e.ETagBefore, after: e.ETagAfter})
	}
	return all, nil
}

// look checks that what a quote's clients were told is what happened, all of it and
// nothing else, and that every document is the one that was issued. Nobody works at
// the quote meanwhile.
func (o *office) look(w *worked) error {
	all, err := o.happened(w)
	if err != nil {
		return err
	}
	if len(all) != len(w.told) {
		return fmt.Errorf("%s: %d changes were told and %d happened: %+v, %+v", w.number, len(w.told), len(all), w.told, all)
	}
	for _, c := range w.told {
		sum := c.sha256
		c.sha256 = ""
		if !slices.Contains(all, c) {
			return fmt.Errorf("%s: %+v was told and did not happen: %+v", w.number, c, all)
		}
		if c.event != "issued" {
			continue
		}
		a, err := o.ask(fetch("/v1/quotes/"+w.number+"/revisions/"+strconv.Itoa(c.revision)), http.StatusOK)
		if err != nil {
			return err
		}
		if is := sha256.Sum256(a.body); hex.EncodeToString(is[:]) != sum || a.header.Get("Etag") != `"`+sum+`"` {
			return fmt.Errorf("%s revision %d was issued as %s: it is %x, with the ETag %s", w.number, c.revision, sum, is, a.header.Get("Etag"))
		}
	}
	return nil
}

// retire looks at a quote and opens the n-th in its place: every third is a duplicate
// of the one before.
func (o *office) retire(w *worked, n int) error {
	if err := o.look(w); err != nil {
		return err
	}
	var next *worked
	var err error
	if n%3 > 0 {
		next, err = o.open(n)
	} else if a, asked := o.ask(submit("/v1/quotes/"+w.number+"/duplicate", "{}"), http.StatusCreated); asked == nil {
		next, err = o.opened(a)
	} else {
		err = asked
	}
	if err == nil {
		w.number, w.told = next.number, next.told
	}
	return err
}

// workOwn works at a quote that is the client's own.
func (o *office) workOwn(n int) error {
	const most = 12
	w := <-o.own
	defer func() { o.own <- w }()
	if len(w.told) >= most || w.told[len(w.told)-1].event == "void" || rand.N(2*most) == 0 {
		return o.retire(w, n)
	}
	return o.step(w, n)
}

// workCommon works at a quote at which others do.
func (o *office) workCommon(n int) error {
	const most = 40
	w := o.common[n%len(o.common)]
	w.busy.RLock()
	err := o.step(w, n)
	w.busy.RUnlock()
	if err != nil || rand.N(most) > 0 {
		return err
	}
	w.busy.Lock()
	defer w.busy.Unlock()
	return o.retire(w, n)
}

// move gives a timber its n-th price from today on.
func (o *office) move(n int) error {
	_, err := o.ask(put("/v1/items/ash-prime-27/prices/"+today, fmt.Sprintf(`{"rate": "%d.00", "unit": "m3"}`, 1500+n%500), "If-Match: *"), http.StatusOK)
	return err
}

// work is what a client does, and does again.
func (o *office) work(int) error {
	n := int(o.calls.Add(1))
	switch {
	case n%150 == 149:
		return o.move(n)
	case n%50 == 49:
		_, err := o.ask(fetch("/v1/quotes?limit=5"), http.StatusOK)
		return err
	case n%4 == 0:
		return o.workCommon(n)
	}
	return o.workOwn(n)
}

// furnish opens the first quotes, and fills what the catalogue keeps of Books.
func (o *office) furnish(t *testing.T, own, common int) {
	t.Helper()
	for n := range own + common {
		if n < 20 {
			require.NoError(t, o.move(n))
		}
		w, err := o.open(-n - 1)
		require.NoError(t, err)
		if n < own {
			o.own <- w
		} else {
			o.common = append(o.common, w)
		}
	}
}

// close looks at every quote that is still worked at.
func (o *office) close(t *testing.T) {
	t.Helper()
	close(o.own)
	for w := range o.own {
		assert.NoError(t, o.look(w))
	}
	for _, w := range o.common {
		assert.NoError(t, o.look(w))
	}
	for n := range len(o.given) {
		number := fmt.Sprintf("2026-%04d", n+1)
		assert.True(t, o.given[number], "the number %s was not given, though later ones were", number)
	}
	t.Logf("%d quotes; deeds by their answers: %v", len(o.given), o.count)
	for _, status := range []int{http.StatusOK, http.StatusConflict, http.StatusPreconditionFailed} {
		assert.Positive(t, o.count[status], "no deed was answered so: %d", status)
	}
}

// TestSoakQuotes has many clients make, change and issue quotes at once, their own and
// common ones, while prices change. Nothing fails, every number is given once, what
// clients were told is what happened, what was issued stays as it was, and nothing
// grows (see TestSoak for how much may).
func TestSoakQuotes(t *testing.T) {
	const clients = 64
	c, err := catalog.Open(t.Context(), filepath.Join(t.TempDir(), "reckoner.db"))
	require.NoError(t, err)
	var errs complaints
	r := run(t, api.New(api.Config{
		Catalog: c, Contract: []byte("openapi: 3.0.3\n"), Today: func() date.Date { return date.MustParse(today) },
		Log: slog.New(slog.NewTextHandler(&errs, &slog.HandlerOptions{Level: slog.LevelError})),
	}), api.DefaultLimits())
	text, err := os.ReadFile("../testdata/pieces/free-parts.json")
	require.NoError(t, err)
	o := &office{
		url: "http://" + r.address, piece: string(text), given: make(map[string]bool), count: make(map[int]int), own: make(chan *worked, clients),
		client: &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: clients}, Timeout: time.Minute},
	}
	o.furnish(t, clients, 4)
	var heap [3]int
	for third := range heap {
		began := o.sent.Load()
		busy(t, clients, time.Now().Add(*soak/3), o.work)
		heap[third], _ = inUse(t)
		t.Logf("%.0f requests a second, heap %d KiB", float64(o.sent.Load()-began)/(*soak/3).Seconds(), heap[third]>>10)
	}
	assert.Less(t, heap[2]-heap[0], 1<<20, "bytes that the heap grew by: %v", heap)
	if !t.Failed() {
		o.close(t)
	}
	assert.Zero(t, errs.n, "errors in the log, the first: %s", errs.first)
	o.client.CloseIdleConnections()
	r.stop()
	assert.NoError(t, r.ended())
	issued := 0
	assert.NoError(t, quotes.New(c).Verify(t.Context(), func(v quotes.Verified) {
		issued++
		assert.NoError(t, v.Err, "%s revision %d", v.Number, v.Revision)
	}))
	t.Logf("%d issued revisions verified", issued)
	assert.NoError(t, c.Close())
}
