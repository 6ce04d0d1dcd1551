package main

import (
	"context"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog"
	"reckoner/pricing/date"
)

// The calls of the README answer what it shows. They are run by a shell where curl
// is installed, as it is wherever CI is set.
func TestTheReadmeShowsWhatTheServiceAnswers(t *testing.T) {
	if _, err := exec.LookPath("curl"); err != nil {
		require.Empty(t, os.Getenv("CI"), "curl is not installed")
		return
	}
	text, err := os.ReadFile("README.md")
	require.NoError(t, err)
	host := service(t)
	calls := 0
	for _, block := range regexp.MustCompile("(?s)```console\n(\\$ curl.*?)```").FindAllStringSubmatch(string(text), -1) {
		for _, call := range strings.Split(block[1], "$ ")[1:] {
			command, answer, _ := strings.Cut(call, "\n")
			command = strings.ReplaceAll(command, "127.0.0.1:8080", host)
			command = strings.ReplaceAll(command, "-o quotation.xlsx", "-o "+filepath.Join(t.TempDir(), "quotation.xlsx"))
			got, err := exec.Command("sh", "-c", command).Output()
			require.NoError(t, err, command)
			assert.Equal(t, answer, string(got), command)
			calls++
		}
	}
	assert.Equal(t, 9, calls)
}

// service starts the service on a new database and returns its host and port.
func service(t *testing.T) string {
	t.Helper()
	kept, err := catalog.Open(t.Context(), filepath.Join(t.TempDir(), "reckoner.db"))
	require.NoError(t, err)
	l, err := api.Listen("127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		ended <- api.Serve(ctx, l, api.New(api.Config{
			Catalog: kept, Contract: contract, Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
			Today: func() date.Date { return date.MustParse("2026-11-25") },
		}), api.DefaultLimits())
	}()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-ended)
		assert.NoError(t, kept.Close())
	})
	return l.Addr().String()
}
