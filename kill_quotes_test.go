package main

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An order is a change of a quote to be asked for, by the name of its event.
type order struct {
	event, path, body string
	match, key        string // If-Match, Idempotency-Key
}

// A reply is an order that was answered, and how.
type reply struct {
	order
	tag, text string
	number    string
	revision  int
	sha256    string // of what was issued
}

// A life is what one client has done to one quote.
type life struct {
	title, number string
	replies       []reply
	open          *order // sent, and not answered
	made          bool   // which was done all the same
}

// script returns what becomes of a quote.
func script() []string {
	all := [][]string{
		{"created", "edited", "issued", "accepted"},
		{"created", "issued", "revised", "edited", "issued", "declined"},
		{"created", "edited", "void"},
		{"created", "issued", "revised", "void", "accepted", "revised", "issued"},
	}
	return all[rand.N(len(all))]
}

// A clerk works at quotes over HTTP until the program is gone.
type clerk struct {
	client *http.Client
	url    string
	draft  string // JSON with verbs for a title and a note
	gone   *atomic.Bool
}

// clerkOf returns one for a program that serves.
func clerkOf(t *testing.T, s *server, clients int) *clerk {
	t.Helper()
	text, err := os.ReadFile("testdata/pieces/free-parts.json")
	require.NoError(t, err)
	request := strings.Replace(string(text), "{", `{"as_of": "2026-11-25",`, 1) // the ETags of drafts are those of no other day
	transport := &http.Transport{MaxIdleConnsPerHost: clients}
	t.Cleanup(transport.CloseIdleConnections)
	return &clerk{
		client: &http.Client{Transport: transport, Timeout: time.Minute}, url: "http://" + s.address,
		draft: `{"customer": {"name": "Ines Marlowe"}, "title": "%s", "note": "%s", "request": ` + request + `}`, gone: new(atomic.Bool),
	}
}

// next returns the order of an event in a life: a key goes with it where it may.
func (k *clerk) next(l *life, event string) order {
	o := order{event: event, path: "/v1/quotes"}
	if n := len(l.replies); n > 0 {
		o.path, o.match = o.path+"/"+l.number, l.replies[n-1].tag
	}
	note := fmt.Sprintf("after %d changes", len(l.replies))
	switch event {
	case "created":
		o.body, o.key = fmt.Sprintf(k.draft, l.title, note), l.title
	case "edited":
		o.body = fmt.Sprintf(k.draft, l.title, note)
	case "issued":
		o.path, o.key = o.path+"/issue", note
	default:
		o.path += map[string]string{"accepted": "/accept", "declined": "/decline", "revised": "/revise", "void": "/void"}[event]
	}
	return o
}

// send sends an order. The error says that no answer came, or not all of it, or one
// that is not as it must be.
func (k *clerk) send(o order) (r reply, err error) {
	method, status := http.MethodPost, http.StatusOK
	switch o.event {
	case "edited":
		method = http.MethodPut
	case "created":
		status = http.StatusCreated
	}
	q, err := http.NewRequest(method, k.url+o.path, strings.NewReader(o.body))
	if err != nil {
		return r, err
	}
	for name, value := range map[string]string{"Content-Type": "application/json", "If-Match": o.match, "Idempotency-Key": strings.ReplaceAll(o.key, " ", "-")} {
		if value != "" {
			q.Header.Set(name, value)
		}
	}
	a, err := k.client.Do(q)
	if err != nil {
		return r, err
	}
	text, err := io.ReadAll(a.Body)
	if err := errors.Join(err, a.Body.Close()); err != nil {
		return r, err
	}
	if a.StatusCode != status {
		return r, fmt.Errorf("%s %s: %s: %.300s", method, o.path, a.Status, text)
	}
	return read(o, a.Header.Get("ETag"), text)
}

// read reads the answer to an order.
func read(o order, tag string, text []byte) (reply, error) {
	var is struct {
		Number, SHA256 string
		Revision       int
	}
	err := json.Unmarshal(text, &is)
	r := reply{order: o, tag: tag, text: string(text), number: is.Number, revision: is.Revision}
	if o.event == "issued" {
		r.sha256 = is.SHA256
	}
	return r, err
}

// do sends the order of an event and notes the answer.
func (k *clerk) do(l *life, event string) error {
	o := k.next(l, event)
	l.open = &o
	r, err := k.send(o)
	if err != nil {
		return err
	}
	l.note(r)
	return nil
}

// note notes an answer.
func (l *life) note(r reply) {
	l.number, l.open, l.replies = r.number, nil, append(l.replies, r)
}

// work has a client work at one quote after another until the program is gone, and
// returns them.
func (k *clerk) work(t *testing.T, name string) (lives []*life) {
	for n := 0; ; n++ {
		l := &life{title: fmt.Sprintf("%s-%d", name, n)}
		lives = append(lives, l)
		for _, event := range script() {
			if err := k.do(l, event); err != nil {
				assert.True(t, k.gone.Load(), "%s: %v", l.title, err)
				return lives
			}
		}
	}
}

// until has clients work until the program is killed, after that long, and returns
// what they did.
func (k *clerk) until(t *testing.T, s *server, after time.Duration) (lives []*life) {
	t.Helper()
	var all sync.WaitGroup
	var mu sync.Mutex
	for client := range 8 {
		all.Go(func() {
			did := k.work(t, fmt.Sprintf("quote-%d-%d", s.Process.Pid, client))
			mu.Lock()
			defer mu.Unlock()
			lives = append(lives, did...)
		})
	}
	time.Sleep(after)
	k.gone.Store(true)
	require.NoError(t, s.Process.Kill())
	all.Wait()
	_ = s.Wait()
	return lives
}

// again sends what bore a key once more: what was answered is answered again as it
// was, and what was not is done now, if it was not before.
func (k *clerk) again(t *testing.T, l *life) {
	t.Helper()
	for _, r := range l.replies {
		if r.key != "" {
			same, err := k.send(r.order)
			require.NoError(t, err)
			assert.Equal(t, r, same)
		}
	}
	if l.open != nil && l.open.key != "" {
		r, err := k.send(*l.open)
		require.NoError(t, err)
		l.note(r)
	}
}

// halves returns queries that find nothing in a file where nothing was half done.
func halves() map[string]string {
	return map[string]string{
		"a gap in the numbers":              `SELECT max(number) FROM quotes GROUP BY year HAVING max(serial) <> count(*)`,
		"a quote without a draft":           `SELECT number FROM quotes WHERE NOT EXISTS (SELECT 1 FROM drafts WHERE quote_id = id AND revision = 1)`,
		"a draft that nothing opened":       `SELECT title FROM drafts d WHERE 1 <> (SELECT count(*) FROM events e WHERE e.quote_id = d.quote_id AND e.revision = d.revision AND event = iif(d.revision = 1, 'created', 'revised'))`,
		"a draft that is not what was sent": `SELECT title FROM drafts d WHERE note IS NOT (SELECT e.doc ->> 'note' FROM events e WHERE e.quote_id = d.quote_id AND e.revision = d.revision AND event IN ('created', 'edited', 'revised') ORDER BY id DESC LIMIT 1)`,
		"a revision that was not issued":    `SELECT sha256 FROM revisions r WHERE NOT EXISTS (SELECT 1 FROM events e WHERE e.quote_id = r.quote_id AND e.revision = r.revision AND event = 'issued')`,
		"a revision without its book":       `SELECT sha256 FROM revisions WHERE book NOT IN (SELECT sha256 FROM books)`,
		"an issue without its revision":     `SELECT id FROM events e WHERE event = 'issued' AND NOT EXISTS (SELECT 1 FROM revisions r WHERE e.quote_id = r.quote_id AND e.revision = r.revision)`,
		"an issue beside the one before": `SELECT sha256 FROM revisions r WHERE EXISTS (SELECT 1 FROM revisions n WHERE n.quote_id = r.quote_id AND n.revision > r.revision)
		AND NOT EXISTS (SELECT 1 FROM events e WHERE e.quote_id = r.quote_id AND e.revision = r.revision AND event IN ('superseded', 'accepted'))`,
		"an acceptance of nothing": `SELECT id FROM events WHERE event = 'accepted' AND (net IS NULL OR gross IS NULL OR doc IS NULL)`,
		"a change that does not follow": `SELECT id FROM (SELECT id, etag_before b, etag_after a, lag(etag_before) OVER w pb, lag(etag_after) OVER w pa FROM events WINDOW w AS (PARTITION BY quote_id ORDER BY id))
		WHERE b <> coalesce(pa, '') AND (b <> pb OR a <> pa)`,
		"a key of nothing": `SELECT key FROM keys k WHERE NOT EXISTS (SELECT 1 FROM quotes q JOIN events e ON e.quote_id = q.id WHERE q.number = k.number AND e.etag_after = k.etag)`,
		"an orphan":        `SELECT "table" FROM pragma_foreign_key_check`,
		"damage":           `SELECT integrity_check FROM pragma_integrity_check WHERE integrity_check <> 'ok'`,
	}
}

// happened returns the changes of a quote, by its title, in their order: a number and
// replies as far as the file has them. Issuing says what it supersedes too.
func happened(t *testing.T, db *sql.DB, title string) (found life) {
	t.Helper()
	rows, err := db.Query(`SELECT q.number, e.event, e.revision, e.etag_before, e.etag_after, iif(e.event = 'issued', r.sha256, '')
		FROM drafts d JOIN quotes q ON q.id = d.quote_id JOIN events e ON e.quote_id = q.id
		LEFT JOIN revisions r ON r.quote_id = e.quote_id AND r.revision = e.revision
		WHERE d.title = ? AND d.revision = 1 AND e.event <> 'superseded' ORDER BY e.id`, title)
	require.NoError(t, err)
	defer rows.Close()
	for rows.Next() {
		var r reply
		var number string
		require.NoError(t, rows.Scan(&number, &r.event, &r.revision, &r.match, &r.tag, &r.sha256))
		require.True(t, found.number == "" || found.number == number, "%s was created twice", title)
		found.number, found.replies = number, append(found.replies, r)
	}
	require.NoError(t, rows.Err())
	return found
}

// kept checks that a life is in the file: every change that was answered, and after
// them none but the one that was not.
func (l *life) kept(t *testing.T, db *sql.DB) {
	t.Helper()
	found := happened(t, db, l.title)
	require.GreaterOrEqual(t, len(found.replies), len(l.replies), "%s: what was answered is lost", l.title)
	for i, r := range l.replies {
		is := found.replies[i]
		assert.Equal(t, []any{l.number, r.event, r.revision, r.match, r.tag, r.sha256}, []any{found.number, is.event, is.revision, is.match, is.tag, is.sha256}, "%s", l.title)
	}
	more := found.replies[len(l.replies):]
	if l.made = len(more) > 0; !l.made {
		return
	}
	require.Len(t, more, 1, "%s", l.title)
	require.NotNil(t, l.open, "%s: nobody asked for it to be %s", l.title, more[0].event)
	assert.Equal(t, []string{l.open.event, l.open.match}, []string{more[0].event, more[0].match}, "%s", l.title)
}

// inspect looks at the file that a killed program left, after the program has: it is
// sound, and it has every life, and no other.
func (b built) inspect(t *testing.T, lives []*life) {
	t.Helper()
	v := b.run(t, "verify")
	require.Zero(t, v.status, "%s%s", v.out, v.err)
	db, err := sql.Open("sqlite3", "file:"+b.file("prices.db")+"?_busy_timeout=5000")
	require.NoError(t, err)
	defer db.Close()
	for what, query := range halves() {
		var found string
		if err := db.QueryRow(query).Scan(&found); !errors.Is(err, sql.ErrNoRows) {
			assert.NoError(t, err)
			assert.Fail(t, "there is "+what, found)
		}
	}
	quotes := 0
	for _, l := range lives {
		if l.kept(t, db); l.made || len(l.replies) > 0 {
			quotes++
		}
	}
	var all int
	require.NoError(t, db.QueryRow("SELECT count(*) FROM quotes").Scan(&all))
	assert.Equal(t, quotes, all)
}

// Killed at any moment of changing quotes, the program leaves every change that it
// answered, and none by halves. A request that bore a key can be sent again.
func TestKilledWhileItChangesQuotes(t *testing.T) {
	b := build(t)
	b.folder = t.TempDir()
	var lives, last []*life
	landed := map[bool]int{}
	for n := 0; ; n++ {
		s := b.serve(t)
		k := clerkOf(t, s, 8)
		for _, l := range last {
			k.again(t, l)
		}
		if n == *kills {
			s.end(t, false)
			b.inspect(t, lives)
			break
		}
		last = k.until(t, s, time.Duration(rand.N(400))*time.Millisecond)
		lives = append(lives, last...)
		b.inspect(t, lives)
		for _, l := range last {
			if l.open != nil {
				landed[l.made]++
			}
		}
	}
	t.Logf("%d kills, %d quotes; of the changes that were not answered, %d were made and %d not", *kills, len(lives), landed[true], landed[false])
	if *kills >= 30 {
		assert.Positive(t, landed[true], "no kill came between a change and its answer")
		assert.Positive(t, landed[false], "no kill came before a change was made")
	}
}
