package api_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net"
	"net/http"
	"os"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
)

// soon is how long a test waits for what must happen: far longer than it takes.
const soon = 20 * time.Second

// patient returns limits that no test reaches: each shortens the one it is of.
func patient() api.Limits {
	return api.Limits{Header: time.Minute, Read: time.Minute, Write: time.Minute, Idle: time.Minute, Grace: time.Minute, Connections: 256}
}

// A running is Serve at work on an address of this machine.
type running struct {
	address string
	begun   atomic.Int64  // requests that a handler was called for
	entered chan struct{} // one word for each of them, as far as there is room
	left    chan struct{} // and one when the handler is done with it
	stop    context.CancelFunc
	ended   func() error // what Serve returned, once it has
}

// run serves until the test ends or stop is called.
func run(t testing.TB, h http.Handler, limits api.Limits) *running {
	t.Helper()
	l, err := api.Listen("127.0.0.1:0")
	require.NoError(t, err)
	return runOn(t, l, h, limits)
}

// runOn is run on a listener of its own.
func runOn(t testing.TB, l net.Listener, h http.Handler, limits api.Limits) *running {
	t.Helper()
	r := &running{address: l.Addr().String(), entered: make(chan struct{}, 1000), left: make(chan struct{}, 1000)}
	counted := http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) {
		r.begun.Add(1)
		tell(r.entered)
		h.ServeHTTP(w, q)
		tell(r.left)
	})
	ctx, stop := context.WithCancel(context.Background())
	result := make(chan error, 1)
	go func() { result <- api.Serve(ctx, l, counted, limits) }()
	r.stop = stop
	r.ended = sync.OnceValue(func() error {
		select {
		case err := <-result:
			return err
		case <-time.After(soon):
			return fmt.Errorf("still serving after %s", soon)
		}
	})
	t.Cleanup(func() { stop(); _ = r.ended() })
	return r
}

func tell(c chan<- struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

// wait waits for one word from c.
func wait(t *testing.T, c <-chan struct{}, what string) {
	t.Helper()
	select {
	case <-c:
	case <-time.After(soon):
		require.Fail(t, "waited in vain for "+what)
	}
}

// A caller is one connection, on which a test writes HTTP by hand.
type caller struct {
	net.Conn
	in *bufio.Reader
}

// dial connects with a receive buffer of that many bytes, or of the usual size for 0.
func (r *running) dial(t *testing.T, buffer int) *caller {
	t.Helper()
	conn, err := net.Dial("tcp", r.address)
	require.NoError(t, err)
	t.Cleanup(func() { conn.Close() })
	require.NoError(t, conn.SetDeadline(time.Now().Add(soon)))
	if buffer > 0 {
		require.NoError(t, conn.(*net.TCPConn).SetReadBuffer(buffer))
	}
	return &caller{conn, bufio.NewReader(conn)}
}

func (c *caller) send(t *testing.T, text string) {
	t.Helper()
	_, err := io.WriteString(c, text)
	require.NoError(t, err)
}

// answer reads one answer and its body.
func (c *caller) answer(t *testing.T) (*http.Response, []byte) {
	t.Helper()
	answer, err := http.ReadResponse(c.in, nil)
	require.NoError(t, err)
	body, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer, body
}

// rest reads until the other side has closed and returns what came.
func (c *caller) rest(t *testing.T) []byte {
	t.Helper()
	rest, err := io.ReadAll(c.in) // an error may be a reset
	assert.NotErrorIs(t, err, os.ErrDeadlineExceeded, "the connection is still open")
	return rest
}

const healthz = "GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n"

// post returns the header of a POST of that many bytes.
func post(length int) string {
	return "POST /v1/costings HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: " + strconv.Itoa(length) + "\r\n\r\n"
}

// chests returns a request of that many tall chests.
func chests(t testing.TB, n int) string {
	t.Helper()
	text, err := os.ReadFile("../testdata/pieces/tall-chest.json")
	require.NoError(t, err)
	var r map[string]any
	require.NoError(t, json.Unmarshal(text, &r))
	first := r["pieces"].([]any)[0].(map[string]any)
	var pieces []any
	for i := range n {
		p := maps.Clone(first)
		p["id"] = fmt.Sprintf("chest-%d", i+1)
		pieces = append(pieces, p)
	}
	r["pieces"] = pieces
	text, err = json.Marshal(r)
	require.NoError(t, err)
	return string(text)
}

// drip sends text a byte at a time, until all is sent or nobody takes it.
func (c *caller) drip(text string, every time.Duration) {
	for i := range text {
		if _, err := c.Write([]byte{text[i]}); err != nil {
			return
		}
		time.Sleep(every)
	}
}

func TestASlowHeaderIsCutOff(t *testing.T) {
	limits := patient()
	limits.Header = 100 * time.Millisecond
	r := run(t, started(t, api.Config{}).handler, limits)
	for name, send := range map[string]func(*caller){
		"half":    func(c *caller) { c.send(t, "GET /healthz HTTP/1.1\r\nHos") },
		"nothing": func(*caller) {},
		"drip":    func(c *caller) { go c.drip(strings.Repeat(healthz, 1000), 10*time.Millisecond) },
	} {
		t.Run(name, func(t *testing.T) {
			began := time.Now()
			c := r.dial(t, 0)
			send(c)
			if rest := c.rest(t); len(rest) > 0 { // net/http answers half a line itself
				assert.True(t, strings.HasPrefix(string(rest), "HTTP/1.1 400 Bad Request\r\n"), "%s", rest)
			}
			assert.GreaterOrEqual(t, time.Since(began), limits.Header)
		})
	}
	assert.Zero(t, r.begun.Load())
}

func TestASlowBodyIsToldSo(t *testing.T) {
	limits := patient()
	limits.Read = 100 * time.Millisecond
	r := run(t, started(t, api.Config{}).handler, limits)
	for name, send := range map[string]func(*caller){
		"half": func(c *caller) { c.send(t, post(1000)+`{"pieces":[`) },
		"drip": func(c *caller) {
			c.send(t, post(100_000))
			go c.drip(strings.Repeat(" ", 100_000), 10*time.Millisecond)
		},
		"chunked": func(c *caller) {
			c.send(t, strings.Replace(post(0), "Content-Length: 0", "Transfer-Encoding: chunked", 1)+"5\r\n{\"pie\r\n")
		},
	} {
		t.Run(name, func(t *testing.T) {
			began := time.Now()
			c := r.dial(t, 0)
			send(c)
			got, body := c.answer(t)
			assert.GreaterOrEqual(t, time.Since(began), limits.Read)
			assert.Equal(t, http.StatusRequestTimeout, got.StatusCode)
			told := shared.check(t, refused(submit("/v1/costings", "{")), answer{status: got.StatusCode, header: got.Header, body: body})
			assert.Equal(t, "/problems#too-slow", told.Type)
			assert.Equal(t, "the body did not arrive in time", told.Detail)
			assert.Empty(t, c.rest(t), "and the connection is closed")
		})
	}
}

// A narrow listener gives its connections small buffers to write to.
type narrow struct{ net.Listener }

func (n narrow) Accept() (net.Conn, error) {
	c, err := n.Listener.Accept()
	if err == nil {
		err = c.(*net.TCPConn).SetWriteBuffer(4096)
	}
	return c, err
}

// A client that takes its answer too slowly gets no more of it; one that reads
// gets all.
func TestASlowReaderIsCutOff(t *testing.T) {
	limits := patient()
	limits.Write = time.Second
	l, err := api.Listen("127.0.0.1:0")
	require.NoError(t, err)
	r := runOn(t, narrow{l}, started(t, api.Config{}).handler, limits)
	request := chests(t, 20)
	request = post(len(request)) + request
	c := r.dial(t, 0)
	c.send(t, request)
	answer, all := c.answer(t)
	require.Equal(t, http.StatusOK, answer.StatusCode)
	require.Len(t, all, int(answer.ContentLength))
	wait(t, r.left, "the end of the first")

	began := time.Now()
	for name, read := range map[string]func(*caller){
		"nothing": func(*caller) {},
		"drip": func(c *caller) {
			for range 10 {
				_, _ = c.in.Peek(1)
				_, _ = c.in.Discard(100)
				time.Sleep(20 * time.Millisecond)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := r.dial(t, 16<<10)
			c.send(t, request)
			read(c)
			wait(t, r.left, "the handler to be given up")
			assert.GreaterOrEqual(t, time.Since(began), limits.Write)
			assert.Less(t, len(c.rest(t)), len(all))
		})
	}
}

func TestALongHeaderIsRefused(t *testing.T) {
	r := run(t, started(t, api.Config{}).handler, patient())
	for length, status := range map[int]int{15 << 10: http.StatusOK, 20 << 10: http.StatusRequestHeaderFieldsTooLarge, 1 << 20: http.StatusRequestHeaderFieldsTooLarge} {
		c := r.dial(t, 0)
		go func() {
			_, _ = c.Write([]byte(strings.Replace(healthz, "\r\n\r\n", "\r\nX-Long: "+strings.Repeat("a", length)+"\r\n\r\n", 1)))
		}()
		answer, err := http.ReadResponse(c.in, nil)
		if assert.NoError(t, err, "%d bytes", length) {
			assert.Equal(t, status, answer.StatusCode, "%d bytes", length)
		}
	}
	assert.Equal(t, int64(1), r.begun.Load())
}

// Connections above the number wait until others close.
func TestConnectionsAreCounted(t *testing.T) {
	limits := patient()
	limits.Connections = 2
	r := run(t, started(t, api.Config{}).handler, limits)
	var served []*caller
	for range limits.Connections {
		c := r.dial(t, 0)
		c.send(t, healthz)
		c.answer(t)
		served = append(served, c)
	}
	var waiting sync.WaitGroup
	var answered atomic.Int64
	for range 8 {
		c := r.dial(t, 0)
		c.send(t, healthz)
		waiting.Go(func() {
			answer, err := http.ReadResponse(c.in, nil)
			if assert.NoError(t, err) {
				assert.Equal(t, http.StatusOK, answer.StatusCode)
			}
			answered.Add(1)
			assert.NoError(t, c.Close())
		})
	}
	for range 10 { // the two go on being served
		for _, c := range served {
			c.send(t, healthz)
			c.answer(t)
		}
		time.Sleep(5 * time.Millisecond)
	}
	assert.Zero(t, answered.Load(), "those above the number wait")
	assert.NoError(t, served[0].Close())
	waiting.Wait()
	assert.EqualValues(t, 8, answered.Load())
}

func TestIdleConnectionsAreClosed(t *testing.T) {
	limits := patient()
	limits.Idle = 100 * time.Millisecond
	r := run(t, started(t, api.Config{}).handler, limits)
	c := r.dial(t, 0)
	began := time.Now()
	for range 3 {
		c.send(t, healthz)
		answer, _ := c.answer(t)
		assert.Equal(t, http.StatusOK, answer.StatusCode)
		assert.False(t, answer.Close, "the connection is kept for the next request")
	}
	assert.Empty(t, c.rest(t))
	assert.GreaterOrEqual(t, time.Since(began), limits.Idle)
}

// When it is to stop, what has begun is answered, nothing else is, and connections
// that wait for nothing do not hold it up.
func TestStoppingAnswersWhatHasBegun(t *testing.T) {
	limits := patient()
	r := run(t, started(t, api.Config{}).handler, limits)
	idle := r.dial(t, 0)
	idle.send(t, healthz)
	idle.answer(t)
	wait(t, r.entered, "the first request")

	request := chests(t, 1)
	slow := r.dial(t, 0)
	slow.send(t, post(len(request))+request[:100])
	wait(t, r.entered, "the slow upload")
	r.stop()
	assert.Empty(t, idle.rest(t), "it is closed though its time is not up")
	_, err := net.Dial("tcp", r.address)
	assert.Error(t, err, "nothing new is taken")
	slow.send(t, request[100:])
	answer, body := slow.answer(t)
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	assert.True(t, json.Valid(body))
	assert.True(t, answer.Close, "it is said that no further request is taken")
	assert.NoError(t, r.ended())
}

func TestTheGraceIsNotForEver(t *testing.T) {
	limits := patient()
	limits.Grace = 100 * time.Millisecond
	r := run(t, started(t, api.Config{}).handler, limits)
	c := r.dial(t, 0)
	c.send(t, post(1000)+"{")
	wait(t, r.entered, "the slow upload")
	began := time.Now()
	r.stop()
	assert.ErrorContains(t, r.ended(), "not everything was answered in 100ms")
	assert.GreaterOrEqual(t, time.Since(began), limits.Grace)
	assert.NotContains(t, string(c.rest(t)), "200 OK")
}

// A listener that fails ends it with the failure.
func TestServeSaysWhyItEnded(t *testing.T) {
	l, err := api.Listen("127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, l.Close())
	assert.ErrorIs(t, api.Serve(t.Context(), l, http.NotFoundHandler(), patient()), net.ErrClosed)
}

func TestListenIsForThisMachine(t *testing.T) {
	for _, address := range []string{"127.0.0.1:0", "127.8.9.10:0", "[::1]:0", "localhost:0", "[::ffff:127.0.0.1]:0"} {
		if address == "[::1]:0" && !hasIPv6() {
			continue
		}
		l, err := api.Listen(address)
		if assert.NoError(t, err, address) {
			assert.True(t, l.Addr().(*net.TCPAddr).IP.IsLoopback(), address)
			assert.NoError(t, l.Close())
		}
	}
	// 192.0.2.0/24 is for documentation (RFC 5737), .invalid never is a name (RFC 2606).
	for address, why := range map[string]string{
		"0.0.0.0:8080":      "can be reached from other machines, and the service asks nobody who they are: write 127.0.0.1:8080",
		":8080":             "can be reached from other machines, and the service asks nobody who they are: write 127.0.0.1:8080",
		"[::]:80":           "can be reached from other machines, and the service asks nobody who they are: write 127.0.0.1:80",
		"192.0.2.1:8080":    "can be reached from other machines",
		"host.invalid:8080": `"host.invalid:8080" is no address to listen on: write one such as 127.0.0.1:8080`,
		"8080":              `"8080" is no address to listen on`,
		"127.0.0.1":         `"127.0.0.1" is no address to listen on`,
		"127.0.0.1:99999":   `"127.0.0.1:99999" is no address to listen on`,
		"127.0.0.1:x y":     `"127.0.0.1:x y" is no address to listen on`,
		"http://127.0.0.1/": "is no address to listen on",
		"":                  `"" is no address to listen on`,
	} {
		_, err := api.Listen(address)
		assert.ErrorContains(t, err, why, address)
	}
}

func hasIPv6() bool {
	l, err := net.Listen("tcp", "[::1]:0")
	return err == nil && l.Close() == nil
}
