package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/pricing/date"
)

// A journal is a log that is read while it is written.
type journal struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (j *journal) Write(b []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.Write(b)
}

// entries returns the n entries of one request: the last is written when it has been
// answered.
func (j *journal) entries(t testing.TB, id string, n int) (all []map[string]any) {
	t.Helper()
	require.Eventually(t, func() bool {
		all = j.of(t, id)
		return len(all) == n
	}, 10*time.Second, time.Millisecond)
	return all
}

// of returns what has been written of one request.
func (j *journal) of(t testing.TB, id string) (all []map[string]any) {
	j.mu.Lock()
	defer j.mu.Unlock()
	for l := range strings.Lines(j.text.String()) {
		var e map[string]any
		require.NoError(t, json.Unmarshal([]byte(l), &e), l)
		if e["id"] == id {
			all = append(all, e)
		}
	}
	return all
}

// logging starts a service with a log.
func logging(t testing.TB, c api.Config) (service, *journal) {
	j := new(journal)
	c.Log = slog.New(slog.NewJSONHandler(j, &slog.HandlerOptions{Level: slog.LevelDebug}))
	return started(t, c), j
}

// failed checks an answer that tells of a failure and nothing of its cause.
func failed(t testing.TB, a answer) {
	t.Helper()
	assert.Equal(t, []any{500, "/problems#internal", "The service failed", "the service failed"}, []any{a.status, a.Type, a.Title, a.Detail})
	assert.Nil(t, a.Errors)
}

// When the store is closed, the service says that it has failed and not why; the log
// says why.
func TestAStoreThatIsClosed(t *testing.T) {
	s, j := logging(t, api.Config{})
	assert.Equal(t, 200, s.ask(t, fetch("/readyz")).status)
	require.NoError(t, s.catalog.Close())
	for _, r := range []request{
		fetch("/v1/book"), fetch("/v1/items"), fetch("/v1/items/ash-prime-27"), fetch("/v1/items/ash-prime-27/prices"), fetch("/v1/terms"), fetch("/v1/rules"),
		fetch("/v1/timbers/ash-prime"), submit("/v1/costings", file(t, pieces+"tall-chest.json")),
		submit("/v1/costings?timber=oak-prime&sheet=birch-ply-6", file(t, pieces+"cutting-list.csv"), "Content-Type: text/csv"),
		submit("/v1/costings", file(t, pieces+"tall-chest.json"), "Accept: "+mediaXLSX),
		put(tails, tailsAs, "If-Match: *"), remove(tails, "If-Match: *"), put(ash+"/2026-12-01", `{"rate": "1.00", "unit": "m3"}`, "If-Match: *"), remove(ash+"/2026-10-01", "If-Match: *"),
		fetch("/v1/changes"), fetch(updates), fetch(updates + "/1"), sendCSV(mixed), submit(updates+"/1/apply", ""), submit(updates+"/1/withdraw", ""),
		fetch(updates + "/template.csv"), fetch(updates + "/template.xlsx"),
	} {
		a := s.ask(t, r)
		failed(t, a)
		log := j.entries(t, a.Request, 1)
		assert.Equal(t, "ERROR", log[0]["level"])
		assert.Contains(t, log[0]["error"], "closed", r.target)
	}
	a := s.ask(t, fetch("/readyz"))
	assert.Equal(t, []any{503, "/problems#not-ready", "the catalogue cannot be read"}, []any{a.status, a.Type, a.Detail})
	assert.Equal(t, "sql: database is closed", j.entries(t, a.Request, 2)[0]["error"])
	for target, status := range map[string]int{"/healthz": 200, "/": 200, "/problems": 200, "/openapi.yaml": 200, "/nothing": 404} {
		assert.Equal(t, status, s.ask(t, fetch(target)).status, "%s needs no store", target)
	}
}

// A handler that panics answers as any failure does; the log has the cause and the
// stack, and the next request is answered.
func TestAPanicIsToldAsAFailure(t *testing.T) {
	panics := true
	s, j := logging(t, api.Config{Today: func() date.Date {
		if panics {
			panic(errors.New("the secret of the clock"))
		}
		return date.MustParse(today)
	}})
	for _, r := range []request{fetch("/v1/book"), submit("/v1/costings", file(t, pieces+"tall-chest.json"), "Accept: "+mediaXLSX)} {
		a := s.ask(t, r)
		failed(t, a)
		assert.NotContains(t, string(a.body), "secret")
		log := j.entries(t, a.Request, 2)
		assert.Equal(t, []any{"panic", "ERROR", "the secret of the clock"}, []any{log[0]["msg"], log[0]["level"], log[0]["error"]})
		assert.Contains(t, log[0]["stack"], "TestAPanicIsToldAsAFailure")
		assert.Equal(t, []any{"request", 500.0, "panic: the secret of the clock"}, []any{log[1]["msg"], log[1]["status"], log[1]["error"]})
	}
	panics = false
	assert.Equal(t, 200, s.ask(t, fetch("/v1/book")).status)
}

// A body that does not come, or not whole, is the client's fault.
func TestABodyThatBreaksOff(t *testing.T) {
	for _, c := range []struct {
		err    error
		status int
		kind   string
	}{
		{errors.New("connection reset by the secret peer"), 400, "/problems#not-json"},
		{context.Canceled, 408, "/problems#too-slow"},
	} {
		for _, r := range []request{
			submit("/v1/costings", ""), put(tails, "", "If-Match: *"), put(ash+"/2026-12-01", "", "If-Match: *"), submit(updates+"/1/apply", ""),
			sendCSV(""), sendXLSX(""), submit(updates, "", "Content-Type: multipart/form-data; boundary=x"),
		} {
			q, err := r.on("http://localhost")
			require.NoError(t, err)
			q.Body, q.ContentLength = io.NopCloser(iotest.ErrReader(c.err)), -1
			w := httptest.NewRecorder()
			shared.handler.ServeHTTP(w, q)
			a := shared.check(t, refused(r), answer{status: w.Code, header: w.Header(), body: w.Body.Bytes()})
			assert.Equal(t, []any{c.status, c.kind}, []any{a.status, a.Type}, r.target)
			assert.NotContains(t, string(a.body), "secret")
		}
	}
}

// The log has a line for every request: what was asked, by method and path, and what
// became of it. It has nothing of what the client sent otherwise.
func TestTheLogKeepsNothingOfTheCustomer(t *testing.T) {
	s, j := logging(t, api.Config{})
	text := strings.ReplaceAll(file(t, pieces+"tall-chest.json"), "Ines Marlowe", "Unmistakable")
	for _, r := range []request{
		submit("/v1/costings?piece=unmistakable", text, "Accept: "+mediaSVG),
		submit("/v1/costings", text, "Accept: application/json", "Authorization: Unmistakable", "Cookie: a=unmistakable",
			"User-Agent: unmistakable", "Referer: http://localhost/?unmistakable"),
		refused(submit("/v1/costings", `{"unmistakable": 1}`)),
		refused(submit("/v1/costings", `{"pieces": unmistakable`)),
		refused(submit("/v1/costings?timber=unmistakable", "unmistakable", "Content-Type: text/csv")),
		refused(submit("/v1/costings?unmistakable=1", "{}")),
		refused(fetch("/v1/items?class=unmistakable")),
		refused(fetch("/v1/book", "X-Request-ID: not unmistakable")),
		sendForm(t, "unmistakable.csv", "text/csv", strings.ReplaceAll(mixed, "Tansy Sawmill", "Unmistakable")),
		refused(put("/v1/methods/brush", `{"code": "unmistakable"}`, `If-Match: "unmistakable"`)),
		refused(fetch("/v1/book", "Host: unmistakable.example")),
	} {
		a := s.ask(t, r)
		log := j.entries(t, a.header.Get("X-Request-Id"), 1)
		path, _, _ := strings.Cut(r.target, "?")
		assert.Equal(t, []any{"request", "INFO", r.method, path, float64(a.status)}, []any{log[0]["msg"], log[0]["level"], log[0]["method"], log[0]["path"], log[0]["status"]})
		assert.Greater(t, log[0]["took"], 0.0)
		assert.EqualValues(t, len(a.body), log[0]["bytes"])
	}
	assert.NotContains(t, strings.ToLower(j.text.String()), "unmistakable")
	assert.NotContains(t, j.text.String(), "Weir Cottages")
}
