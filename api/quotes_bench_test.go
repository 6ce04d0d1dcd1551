package api_test

import (
	"database/sql"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// issuedChest issues the tall chest and returns the document.
func issuedChest(b *testing.B, s service) (path string, text []byte) {
	b.Helper()
	var d quotes.Draft
	require.NoError(b, wire.Decode([]byte(chests(b, 1)), &d.Request))
	d.Title = "Tall chest for the landing"
	d.Customer.Customer, d.Request.Customer = *d.Request.Customer, nil
	l, on := quotes.New(s.catalog), date.MustParse(today)
	a, err := l.Create(b.Context(), d, on, quotes.Once{})
	require.NoError(b, err)
	_, err = l.Issue(b.Context(), quotes.Change{Number: a.Number, Match: func(string) error { return nil }, Today: on})
	require.NoError(b, err)
	r, err := l.Revision(b.Context(), a.Number, 1)
	require.NoError(b, err)
	return "/v1/quotes/" + a.Number + "/revisions/1", r.Text
}

// bareText is a server that answers with a text out of one row, read on four
// connections as a store has them.
func bareText(b *testing.B, path string, text []byte) http.Handler {
	b.Helper()
	file := "file:" + filepath.Join(b.TempDir(), "bare.db")
	w, err := sql.Open("sqlite3", file+"?_journal_mode=WAL")
	require.NoError(b, err)
	_, err = w.Exec("CREATE TABLE texts (path TEXT NOT NULL PRIMARY KEY, text TEXT NOT NULL) STRICT; INSERT INTO texts VALUES (?, ?)", path, string(text))
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, w.Close()) })
	db, err := sql.Open("sqlite3", file+"?mode=ro&_query_only=1&_busy_timeout=5000")
	require.NoError(b, err)
	db.SetMaxOpenConns(4)
	db.SetMaxIdleConns(4)
	b.Cleanup(func() { require.NoError(b, db.Close()) })
	row, err := db.Prepare("SELECT text FROM texts WHERE path = ?")
	require.NoError(b, err)
	e := echo.New()
	e.GET(path, func(c echo.Context) error {
		var text []byte
		if err := row.QueryRowContext(c.Request().Context(), c.Request().URL.Path).Scan(&text); err != nil {
			return err
		}
		return c.JSONBlob(http.StatusOK, text)
	})
	return e
}

// read gets an answer, looking at nothing but its status and its length.
func read(client *http.Client, url string, length int) error {
	answer, err := client.Get(url)
	if err != nil {
		return err
	}
	n, err := io.Copy(io.Discard, answer.Body)
	if answer.StatusCode != http.StatusOK || int(n) != length {
		err = errors.New(answer.Status)
	}
	return errors.Join(err, answer.Body.Close())
}

// BenchmarkFrozenAgainstBareEcho: the rate at which the service answers with an issued
// revision (aim: 0.7 of a bare Echo that reads the same bytes out of one row). Four
// clients that keep their connections drive the two by turns.
func BenchmarkFrozenAgainstBareEcho(b *testing.B) {
	const clients, turn = 4, 400
	s := started(b, api.Config{Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	path, text := issuedChest(b, s)
	var urls []string
	for _, h := range []http.Handler{s.handler, bareText(b, path, text)} {
		urls = append(urls, "http://"+run(b, h, api.DefaultLimits()).address+path)
	}
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: clients}}
	var took [2]time.Duration
	for b.Loop() {
		for i, url := range urls {
			began := time.Now()
			var all sync.WaitGroup
			for range clients {
				all.Go(func() {
					for range turn / clients {
						if err := read(client, url, len(text)); err != nil {
							b.Error(err)
							return
						}
					}
				})
			}
			all.Wait()
			took[i] += time.Since(began)
		}
	}
	b.ReportMetric(float64(took[1])/float64(took[0]), "rate/bare")
	b.ReportMetric(float64(b.N)*turn/took[0].Seconds(), "requests/s")
	b.ReportMetric(float64(len(text)), "bytes")
}
