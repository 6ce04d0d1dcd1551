package api_test

import (
	"bytes"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog/wire"
	"reckoner/pricing"
)

// bare is a server that decodes the same body and encodes a ready answer, or one
// that it prices from a Book at hand: all that cannot be left out.
func bare(b *testing.B, body []byte, priced bool) http.Handler {
	var r pricing.Request
	require.NoError(b, wire.Decode(body, &r))
	from := bookOf(b, today)
	ready, err := pricing.Cost(r, from)
	require.NoError(b, err)
	e := echo.New()
	e.POST("/v1/costings", func(c echo.Context) error {
		text, err := io.ReadAll(c.Request().Body)
		if err != nil {
			return err
		}
		var r pricing.Request
		if err := wire.Decode(text, &r); err != nil {
			return err
		}
		costing := ready
		if priced {
			if costing, err = pricing.Cost(r, from); err != nil {
				return err
			}
		}
		answer, err := wire.Encode(costing)
		if err != nil {
			return err
		}
		return c.JSONBlob(http.StatusOK, answer)
	})
	return e
}

// price sends a request and reads the answer, looking at nothing but its status.
func price(client *http.Client, address string, body []byte) error {
	answer, err := client.Post("http://"+address+"/v1/costings", "application/json", bytes.NewReader(body))
	if err != nil {
		return err
	}
	_, err = io.Copy(io.Discard, answer.Body)
	if answer.StatusCode != http.StatusOK {
		err = errors.New(answer.Status)
	}
	return errors.Join(err, answer.Body.Close())
}

// BenchmarkCostingAgainstBareEcho: the rate at which the service prices the tall
// chest (aim: 0.8 of a bare Echo that decodes the request and encodes a ready
// answer), and what the service itself adds, against one that prices too. Four
// clients that keep their connections drive the three by turns.
func BenchmarkCostingAgainstBareEcho(b *testing.B) {
	const clients, turn = 4, 400
	body, err := os.ReadFile("../testdata/pieces/tall-chest.json")
	require.NoError(b, err)
	log := slog.New(slog.NewTextHandler(io.Discard, nil))
	var addresses []string
	for _, h := range []http.Handler{started(b, api.Config{Log: log}).handler, bare(b, body, true), bare(b, body, false)} {
		addresses = append(addresses, run(b, h, api.DefaultLimits()).address)
	}
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: clients}}
	var took [3]time.Duration
	for b.Loop() {
		for i, address := range addresses {
			began := time.Now()
			var all sync.WaitGroup
			for range clients {
				all.Go(func() {
					for range turn / clients {
						if err := price(client, address, body); err != nil {
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
	b.ReportMetric(float64(took[2])/float64(took[0]), "rate/bare")
	b.ReportMetric(float64(took[1])/float64(took[0]), "rate/bare+price")
	b.ReportMetric(float64(b.N)*turn/took[0].Seconds(), "requests/s")
}
