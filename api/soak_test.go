package api_test

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
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
	"reckoner/pricing/date"
)

var soak = flag.Duration("soak", 2*time.Second, "how long TestSoak keeps the service busy")

// An order is a request that the soak sends, and the status it must get.
type order struct {
	method, path, media, accept, body string
	status                            int
}

// orders returns the mix: what clients do, well and badly. Dates are more than the
// catalogue keeps Books of.
func orders(t *testing.T) []order {
	t.Helper()
	demo := func(name string) string {
		text, err := os.ReadFile("../testdata/pieces/" + name)
		require.NoError(t, err)
		return string(text)
	}
	const costings, asJSON = "/v1/costings", "application/json"
	tall, list := demo("tall-chest.json"), demo("cutting-list.csv")
	lists := costings + "?timber=oak-prime&sheet=birch-ply-6&finish=oil-3"
	all := []order{
		{"POST", costings, asJSON, "", tall, 200},
		{"POST", costings, asJSON, asJSON, demo("full-quotation.json"), 200},
		{"POST", costings, asJSON, mediaSVG, tall, 200},
		{"POST", costings + "?sheet=birch-ply-6", asJSON, mediaSVG, tall, 200},
		{"POST", costings, asJSON, mediaXLSX, tall, 200},
		{"POST", costings + "?workbook=workshop", asJSON, mediaXLSX, tall, 200},
		{"POST", lists, "text/csv", "", list, 200},
		{"POST", lists, "text/csv", "", demo("bad-cutting-list.csv"), 422},
		{"POST", costings, asJSON, "", demo("five-faults.json"), 422},
		{"POST", costings, asJSON, "", tall[:len(tall)/2], 400},
		{"POST", costings, asJSON, "", strings.Repeat("[", 100_000), 400},
		{"POST", costings, asJSON, "", strings.Repeat(" ", 2<<20), 413},
		{"POST", costings, "text/plain", "", tall, 415},
		{"POST", costings, asJSON, "text/html", tall, 406},
		{"DELETE", costings, "", "", "", 405},
		{"GET", "/v1/nothing", "", "", "", 404},
		{"GET", "/v1/items/nothing", "", "", "", 404},
		{"GET", "/v1/items?class=cheese", "", "", "", 422},
		{"GET", "/v1/items?as_of=2026-02-30", "", "", "", 422},
		{"GET", "/v1/items/ash-prime-27/prices", "", "", "", 200},
		{"GET", "/v1/timbers/ash-prime", "", "", "", 200},
		{"HEAD", "/v1/book", "", "", "", 200},
	}
	for _, path := range []string{"/", "/problems", "/openapi.yaml", "/healthz", "/readyz", "/v1/book", "/v1/terms", "/v1/rules", "/v1/items?class=timber"} {
		all = append(all, order{"GET", path, "", "", "", 200})
	}
	for i := range 20 {
		all = append(all, order{"GET", fmt.Sprintf("/v1/items?as_of=2026-%02d-%02d", 1+i%12, 1+i), "", "", "", 200})
	}
	return all
}

// send sends the order and reads the answer, which must be whole and as meant.
func (o order) send(client *http.Client, address string) error {
	r, err := http.NewRequest(o.method, "http://"+address+o.path, strings.NewReader(o.body))
	if err != nil {
		return err
	}
	for name, value := range map[string]string{"Content-Type": o.media, "Accept": o.accept} {
		if value != "" {
			r.Header.Set(name, value)
		}
	}
	answer, err := client.Do(r)
	if err != nil {
		return err
	}
	body, err := io.ReadAll(answer.Body)
	if err := answer.Body.Close(); err != nil {
		return err
	}
	switch {
	case err != nil:
	case answer.StatusCode != o.status:
		err = fmt.Errorf("%s %s: %d, not %d: %.300s", o.method, o.path, answer.StatusCode, o.status, body)
	case strings.HasSuffix(answer.Header.Get("Content-Type"), "json") && o.method != http.MethodHead && !json.Valid(body):
		err = fmt.Errorf("%s %s: no JSON: %.300s", o.method, o.path, body)
	}
	return err
}

// vanish begins a request and goes away: some before all of it is sent, some
// before the answer comes.
func vanish(address, request string) error {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		return err
	}
	_, _ = io.WriteString(conn, request)
	return conn.Close()
}

// inUse returns the bytes of the heap in use and those of the process in memory,
// when what can be freed has been.
func inUse(t *testing.T) (heap, resident int) {
	t.Helper()
	runtime.GC() // one more empties the pools, and the one below what they held
	runtime.GC()
	debug.FreeOSMemory()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	text, err := os.ReadFile("/proc/self/statm")
	require.NoError(t, err)
	pages, err := strconv.Atoi(strings.Fields(string(text))[1])
	require.NoError(t, err)
	return int(m.HeapAlloc), pages * os.Getpagesize()
}

// complaints counts the lines of a log that are of errors.
type complaints struct {
	mu    sync.Mutex
	first string
	n     int
}

func (c *complaints) Write(line []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.n++; c.first == "" {
		c.first = string(line)
	}
	return len(line), nil
}

// TestSoak keeps the service busy with good, bad and vanishing clients. Nothing
// fails, and nothing grows: what a request leaves behind is what a leak is made of.
//
// From the first third to the end the heap may grow by 1 MiB: by then the Books kept,
// sixteen at most, are made, and the pools are emptied, so that nothing measured
// has a reason to grow. In a minute that is about twenty bytes for each request. The
// process may grow by 24 MiB: the page caches of SQLite fill, at most 2 MB on each
// of five connections, and the last blocks of the heap lie scattered.
func TestSoak(t *testing.T) {
	before := runtime.NumGoroutine()
	c, err := catalog.Open(t.Context(), filepath.Join(t.TempDir(), "reckoner.db"))
	require.NoError(t, err)
	var errs complaints
	r := run(t, api.New(api.Config{
		Catalog: c, Contract: []byte("openapi: 3.0.3\n"), Today: func() date.Date { return date.MustParse(today) },
		Log: slog.New(slog.NewTextHandler(&errs, &slog.HandlerOptions{Level: slog.LevelError})),
	}), api.DefaultLimits())
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 32}, Timeout: time.Minute}
	mix := orders(t)
	var heap, resident [3]int
	var sent atomic.Int64
	for third := range heap {
		began := sent.Load()
		until := time.Now().Add(*soak / 3)
		busy(t, 32, until, func(n int) error {
			sent.Add(1)
			if n%50 == 49 {
				whole := post(len(mix[0].body)) + mix[0].body
				return vanish(r.address, whole[:len(whole)-n%3*500])
			}
			return mix[n%len(mix)].send(client, r.address)
		})
		heap[third], resident[third] = inUse(t)
		t.Logf("%.0f requests a second, heap %d KiB, resident %d KiB", float64(sent.Load()-began)/(*soak/3).Seconds(), heap[third]>>10, resident[third]>>10)
	}
	assert.Less(t, heap[2]-heap[0], 1<<20, "bytes that the heap grew by: %v", heap)
	assert.Less(t, resident[2]-resident[0], 24<<20, "bytes that the process grew by: %v", resident)
	assert.Zero(t, errs.n, "errors in the log, the first: %s", errs.first)

	client.CloseIdleConnections()
	r.stop()
	assert.NoError(t, r.ended())
	assert.NoError(t, c.Close())
	for end := time.Now().Add(soon); runtime.NumGoroutine() > before && time.Now().Before(end); time.Sleep(time.Millisecond) {
	}
	assert.LessOrEqual(t, runtime.NumGoroutine(), before, "goroutines are left")
}

// busy has that many clients call f with 1, 2, 3 ... until then, or until one fails.
func busy(t *testing.T, clients int, until time.Time, f func(n int) error) {
	var all sync.WaitGroup
	var next atomic.Int64
	for range clients {
		all.Go(func() {
			for time.Now().Before(until) && !t.Failed() {
				assert.NoError(t, f(int(next.Add(1))))
			}
		})
	}
	all.Wait()
}

// Every request of many clients that was begun when it stops is answered whole.
func TestStoppingUnderLoad(t *testing.T) {
	h := started(t, api.Config{}).handler
	request := chests(t, 1)
	for range 5 {
		r := run(t, h, patient())
		var clients sync.WaitGroup
		var whole atomic.Int64
		for range 32 {
			clients.Go(func() { whole.Add(int64(untilClosed(t, r.address, request))) })
		}
		for range 500 {
			wait(t, r.entered, "the load")
		}
		r.stop()
		assert.NoError(t, r.ended())
		clients.Wait()
		assert.Equal(t, r.begun.Load(), whole.Load(), "requests begun, answers received whole")
	}
}

// untilClosed posts on one connection until it is closed and returns how many
// answers came; each must be whole.
func untilClosed(t *testing.T, address, request string) (whole int) {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		return 0
	}
	defer conn.Close()
	in := bufio.NewReader(conn)
	for {
		if _, err := io.WriteString(conn, post(len(request))+request); err != nil {
			return whole
		}
		if _, err := in.Peek(1); err != nil {
			return whole
		}
		answer, err := http.ReadResponse(in, nil)
		if !assert.NoError(t, err) {
			return whole
		}
		body, err := io.ReadAll(answer.Body)
		if !assert.NoError(t, err) || !assert.Equal(t, http.StatusOK, answer.StatusCode) || !assert.True(t, json.Valid(body)) {
			return whole
		}
		whole++
		if answer.Close {
			return whole
		}
	}
}
