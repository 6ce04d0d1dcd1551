package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/store"
)

// A built is the program, built, and the folder of a test that it runs in.
type built struct{ program, folder string }

// build builds the program as it is built with those settings of the environment.
func build(t *testing.T, settings ...string) built {
	t.Helper()
	b := built{program: filepath.Join(t.TempDir(), "reckoner")}
	c := exec.Command("go", "build", "-o", b.program, ".")
	c.Env = append(os.Environ(), settings...)
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
	return b
}

// in returns the program in a new folder, with a request in it.
func (b built) in(t *testing.T) built {
	t.Helper()
	b.folder = t.TempDir()
	text, err := os.ReadFile(tallChest)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(b.file("chest.json"), text, 0o600))
	return b
}

func (b built) file(name string) string { return filepath.Join(b.folder, name) }

// command returns the program about to run in its folder, with those variables
// beside RECKONER_DB=prices.db and a free port.
func (b built) command(variables []string, args ...string) *exec.Cmd {
	c := exec.Command(b.program, args...)
	c.Dir = b.folder
	c.Env = append(append(os.Environ(), "RECKONER_DB=prices.db", "RECKONER_ADDR=127.0.0.1:0"), variables...)
	return c
}

// run runs the program to its end.
func (b built) run(t *testing.T, args ...string) ran {
	t.Helper()
	return b.runWith(t, nil, args...)
}

func (b built) runWith(t *testing.T, variables []string, args ...string) ran {
	t.Helper()
	var out, errs bytes.Buffer
	c := b.command(variables, args...)
	c.Stdout, c.Stderr = &out, &errs
	require.NoError(t, c.Start())
	late := time.AfterFunc(time.Minute, func() { _ = c.Process.Kill() })
	defer late.Stop()
	err := c.Wait()
	if _, exited := err.(*exec.ExitError); !exited {
		require.NoError(t, err)
	}
	return ran{c.ProcessState.ExitCode(), out.String(), errs.String()}
}

// A server is the program serving.
type server struct {
	*exec.Cmd
	address string
	log     bytes.Buffer // to be read when it has ended
}

// serve starts the program and waits until it says where it listens.
func (b built) serve(t *testing.T) *server {
	t.Helper()
	s := &server{Cmd: b.command(nil, "serve")}
	s.Stderr = &s.log
	out, err := s.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, s.Start())
	t.Cleanup(func() {
		if s.ProcessState == nil {
			_ = s.Process.Kill()
			_ = s.Wait()
		}
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err, "%s", &s.log)
	found := regexp.MustCompile(`^Reckoner listens on http://(127\.0\.0\.1:\d+) and keeps its prices in prices\.db\. Ctrl-C stops it\.\n$`).FindStringSubmatch(line)
	require.NotNil(t, found, line)
	s.address = found[1]
	return s
}

// end tells it to stop, as often as every 20 ms, and waits until it has.
func (s *server) end(t *testing.T, every bool) {
	t.Helper()
	ended := make(chan error, 1)
	require.NoError(t, s.Process.Signal(syscall.SIGTERM))
	go func() { ended <- s.Wait() }()
	again, late := time.NewTicker(20*time.Millisecond), time.After(time.Minute)
	defer again.Stop()
	for {
		select {
		case <-ended:
			return
		case <-again.C:
			if every {
				_ = s.Process.Signal(syscall.SIGTERM)
			}
		case <-late:
			require.Fail(t, "it does not stop")
		}
	}
}

// get returns the body of an answer, which must be 200.
func (s *server) get(t *testing.T, path string) string {
	t.Helper()
	answer, err := http.Get("http://" + s.address + path)
	require.NoError(t, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, answer.StatusCode, "%s", body)
	return string(body)
}

// raise gives a bench hand's hour a new price in the database of a folder.
func raise(t *testing.T, b built, pence int) {
	t.Helper()
	s, err := store.Open(t.Context(), b.file("prices.db"), store.Config{
		Filled: func(store.Tx) (bool, error) { return true, nil },
	})
	require.NoError(t, err)
	require.NoError(t, s.Write(t.Context(), func(tx store.Tx) error {
		if err := tx.Exec("UPDATE catalogue SET version = version + 1").Error; err != nil {
			return err
		}
		return tx.Exec("INSERT OR REPLACE INTO prices (code, effective_from, rate, unit) VALUES ('bench', '2026-11-02', ?, 'h')", pence*100).Error
	}))
	require.NoError(t, s.Close())
}

// names returns what lies in the folder.
func (b built) names(t *testing.T) []string {
	t.Helper()
	list, err := os.ReadDir(b.folder)
	require.NoError(t, err)
	var all []string
	for _, e := range list {
		all = append(all, e.Name())
	}
	return all
}

func TestTheProgramServes(t *testing.T) {
	b := build(t)
	t.Run("to the last request", func(t *testing.T) { stopUnderLoad(t, b.in(t)) })
	t.Run("told twice", func(t *testing.T) { stopTwice(t, b.in(t)) })
	t.Run("new prices at once", func(t *testing.T) { newPrices(t, b.in(t)) })
	t.Run("backup", func(t *testing.T) { backupAndRestore(t, b.in(t)) })
	t.Run("refusals", func(t *testing.T) { refusals(t, b.in(t)) })
	t.Run("damage", func(t *testing.T) { damage(t, b.in(t)) })
}

// What the log says was answered has been received, whole, when the program is
// stopped in the middle of the requests of 32 clients.
func stopUnderLoad(t *testing.T, b built) {
	s := b.serve(t)
	assert.JSONEq(t, `{"status":"ready","book_version":1}`, s.get(t, "/readyz"))
	body, err := os.ReadFile(tallChest)
	require.NoError(t, err)
	var clients sync.WaitGroup
	var count atomic.Int64
	var received sync.Map // length of the body by request id
	enough := make(chan struct{})
	for i := range 32 {
		clients.Go(func() {
			for n := 0; ; n++ {
				id := fmt.Sprintf("client-%d-%d", i, n)
				length, ok := post(t, s.address, id, body)
				if !ok {
					return
				}
				received.Store(id, length)
				if count.Add(1) == 300 {
					close(enough)
				}
			}
		})
	}
	<-enough
	s.end(t, false)
	clients.Wait()
	assert.Zero(t, s.ProcessState.ExitCode(), "%s", &s.log)
	said := regexp.MustCompile(`msg=request id=(client-\S+) method=POST path=/v1/costings status=200 bytes=(\d+) `).FindAllStringSubmatch(s.log.String(), -1)
	assert.Len(t, said, int(count.Load()), "answers in the log, answers received")
	for _, line := range said {
		length, _ := received.Load(line[1])
		assert.Equal(t, line[2], strconv.Itoa(length.(int)), line[1])
	}
	assert.NotContains(t, s.log.String(), "level=ERROR")
	assert.Equal(t, []string{"chest.json", "prices.db", "prices.db.lock"}, b.names(t), "nothing is left in a -wal")
}

// post posts on a connection of its own and returns the length of the answer, or
// that the connection was closed before any of it came.
func post(t *testing.T, address, id string, body []byte) (length int, ok bool) {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		return 0, false
	}
	defer conn.Close()
	header := "POST /v1/costings HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nX-Request-Id: " + id + "\r\nContent-Length: " + strconv.Itoa(len(body)) + "\r\n\r\n"
	if _, err := conn.Write(append([]byte(header), body...)); err != nil {
		return 0, false
	}
	in := bufio.NewReader(conn)
	if _, err := in.Peek(1); err != nil {
		return 0, false
	}
	answer, err := http.ReadResponse(in, nil)
	if !assert.NoError(t, err, "an answer was cut off") {
		return 0, false
	}
	text, err := io.ReadAll(answer.Body)
	ok = assert.NoError(t, err, "an answer was cut off") && assert.Equal(t, http.StatusOK, answer.StatusCode) && assert.True(t, json.Valid(text))
	return len(text), ok
}

// Being told twice ends it though a request is still coming in.
func stopTwice(t *testing.T, b built) {
	s := b.serve(t)
	conn, err := net.Dial("tcp", s.address)
	require.NoError(t, err)
	defer conn.Close()
	_, err = io.WriteString(conn, "POST /v1/costings HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 9\r\nExpect: 100-continue\r\n\r\n")
	require.NoError(t, err)
	_, err = bufio.NewReader(conn).Peek(1) // 100 Continue: the handler reads
	require.NoError(t, err)
	s.end(t, true)
	assert.Equal(t, syscall.SIGTERM, s.ProcessState.Sys().(syscall.WaitStatus).Signal())
	assert.NotContains(t, s.log.String(), "goroutine")
	again := b.serve(t)
	assert.Contains(t, again.get(t, "/readyz"), "ready")
	again.end(t, false)
	assert.Zero(t, again.ProcessState.ExitCode())
}

// A price that one process changes is in the next answer of every other, and
// the commands price from the database where there is one.
func newPrices(t *testing.T, b built) {
	const hour = "/v1/items/bench?as_of=2026-11-25"
	price := []string{"price", "--json", "--as-of", "2026-11-25", "chest.json"}
	starter := b.run(t, price...)
	assert.Equal(t, ran{0, starter.out, "Prices: the starter book\n"}, starter)
	book := b.run(t, "book", "--as-of", "2026-11-25")
	assert.Equal(t, ran{0, book.out, "This is the book of the starter book.\n"}, book)
	assert.Equal(t, []string{"chest.json"}, b.names(t), "they make no database")

	first, second := b.serve(t), b.serve(t)
	was := first.get(t, hour)
	assert.Equal(t, ran{0, starter.out, "Prices: prices.db\n"}, b.run(t, price...))
	assert.Equal(t, ran{0, book.out, "This is the book of prices.db.\n"}, b.run(t, "book", "--as-of", "2026-11-25"))
	for _, rate := range []string{"71.25", "72.50"} {
		pence, err := strconv.Atoi(strings.ReplaceAll(rate, ".", ""))
		require.NoError(t, err)
		raise(t, b, pence)
		for _, s := range []*server{first, second} {
			now := s.get(t, hour)
			assert.NotEqual(t, was, now)
			assert.Contains(t, now, `"rate":"`+rate+`"`)
		}
	}
	assert.Contains(t, second.get(t, "/readyz"), `"book_version":3`)
	dearer := b.run(t, price...)
	assert.Equal(t, "Prices: prices.db\n", dearer.err)
	assert.NotEqual(t, starter.out, dearer.out)
	assert.Contains(t, b.run(t, "book", "--as-of", "2026-11-25").out, `"rate":"72.50"`)
	written := b.run(t, "price", "chest.json", "--as-of", "2026-11-25")
	assert.Contains(t, written.out, "\nPrices: prices.db\n")
	elsewhere := b.runWith(t, []string{"RECKONER_DB=none.db"}, price...)
	assert.Equal(t, starter, elsewhere)
	for _, s := range []*server{first, second} {
		s.end(t, false)
		assert.Zero(t, s.ProcessState.ExitCode(), "%s", &s.log)
	}
}

func backupAndRestore(t *testing.T, b built) {
	price := []string{"price", "--json", "--as-of", "2026-11-25", "chest.json"}
	missing := b.run(t, "backup", "copy.db")
	assert.Equal(t, ran{1, "", "prices.db: there is no such database\n"}, missing)

	s := b.serve(t)
	old := b.run(t, price...)
	assert.Equal(t, ran{0, "Copied prices.db to copy.db, whole and checked.\n", ""}, b.run(t, "backup", "copy.db"))
	again := b.run(t, "backup", "copy.db")
	assert.Equal(t, ran{1, "", "copy.db exists already: choose another name, or move it away\n"}, again)
	raise(t, b, 99_00)
	assert.NotEqual(t, old.out, b.run(t, price...).out)
	refused := b.run(t, "restore", "copy.db")
	assert.Equal(t, ran{1, "", "prices.db: the database is in use by another process\n"}, refused)
	assert.Contains(t, s.get(t, "/readyz"), `"book_version":2`)
	s.end(t, false)
	assert.Zero(t, s.ProcessState.ExitCode())

	restored := b.run(t, "restore", "copy.db")
	assert.Equal(t, 0, restored.status, restored.err)
	assert.Regexp(t, `^Restored prices\.db from copy\.db\.\nWhat was there is kept in \S+\.\n$`, restored.out)
	assert.Equal(t, old, b.run(t, price...))
	assert.Equal(t, ran{0, "Restored new.db from copy.db.\n", ""}, b.run(t, "restore", "--db", "new.db", "copy.db"))
	assert.Equal(t, old.out, b.run(t, append(price, "--db", "new.db")...).out)
}

// refusals are the words and the exit status of what cannot be done.
func refusals(t *testing.T, b built) {
	s := b.serve(t)
	for _, tt := range []struct{ variable, err string }{
		{"RECKONER_ADDR=" + s.address, "listen tcp " + s.address + ": bind: address already in use\n"},
		{"RECKONER_ADDR=0.0.0.0:8080", "0.0.0.0:8080 can be reached from other machines, and the service asks nobody who they are: write 127.0.0.1:8080\n"},
		{"RECKONER_ADDR=8080", "\"8080\" is no address to listen on: write one such as 127.0.0.1:8080\n"},
		{"RECKONER_ADDR=", "\"\" is no address to listen on: write one such as 127.0.0.1:8080\n"},
	} {
		r := b.runWith(t, []string{tt.variable}, "serve")
		assert.Equal(t, ran{1, "", tt.err}, r, tt.variable)
	}
	for _, args := range [][]string{{"serve"}, {"price", "chest.json"}, {"book"}, {"backup", "copy.db"}, {"restore", "copy.db"}} {
		r := b.runWith(t, []string{"RECKONER_DB="}, args...)
		assert.Equal(t, ran{2, "", args[0] + ": the name of the database is empty: write a file's, or leave --db and RECKONER_DB out\n"}, r)
	}
	assert.Contains(t, s.get(t, "/healthz"), "ok", "the other goes on")
	s.end(t, false)
	assert.Zero(t, s.ProcessState.ExitCode())
}

// A damaged database is said to be damaged, in a line, by every command, and stays
// as it is.
func damage(t *testing.T, b built) {
	s := b.serve(t)
	s.end(t, false)
	whole, err := os.ReadFile(b.file("prices.db"))
	require.NoError(t, err)
	middle := bytes.Clone(whole)
	copy(middle[len(middle)/2:], bytes.Repeat([]byte{0xa5}, 20_000))
	for name, text := range map[string][]byte{
		"text":   []byte("bench,30.50\n"),
		"middle": middle,
		"half":   whole[:len(whole)/2],
	} {
		require.NoError(t, os.WriteFile(b.file("prices.db"), text, 0o600))
		for _, args := range [][]string{{"serve"}, {"price", "--json", "chest.json"}, {"book"}, {"backup", "copy.db"}} {
			r := b.run(t, args...)
			assert.Equal(t, 1, r.status, "%s %v", name, args)
			assert.Empty(t, r.out, "%s %v", name, args)
			assert.True(t, strings.HasPrefix(r.err, "prices.db: the database is damaged, or is no database: "), "%s %v: %s", name, args, r.err)
			assert.NotContains(t, r.err, "goroutine")
		}
		left, err := os.ReadFile(b.file("prices.db"))
		require.NoError(t, err)
		assert.Equal(t, text, left, name)
		assert.NotContains(t, b.names(t), "copy.db")
	}
}

// Built without a C compiler there is no database; what needs none works.
func TestTheProgramWithoutADatabase(t *testing.T) {
	b := build(t, "CGO_ENABLED=0").in(t)
	price := []string{"price", "--json", "chest.json"}
	assert.Equal(t, "Prices: the starter book\n", b.run(t, price...).err)
	assert.Equal(t, "This is the book of the starter book.\n", b.run(t, "book").err)
	assert.Zero(t, b.run(t, "example", "chest").status)
	refused := func(args ...string) {
		r := b.run(t, args...)
		assert.Equal(t, ran{1, "", "the program was built without a C compiler, cgo: it keeps no database, and serve, backup and restore need one; " +
			"price, book and example work without, where there is no file prices.db. Build it with CGO_ENABLED=1 and a C compiler such as gcc\n"}, r, "%v", args)
	}
	refused("serve")
	refused("backup", "copy.db")
	refused("restore", "copy.db")
	assert.Equal(t, []string{"chest.json"}, b.names(t))
	require.NoError(t, os.WriteFile(b.file("prices.db"), []byte("SQLite format 3\x00"), 0o600))
	refused(price...)
	refused("book")
	assert.Zero(t, b.run(t, "price", "--json", "chest.json", "--db", "none.db").status)
}
