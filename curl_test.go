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
	readme := strings.Replace(string(text), section(t, string(text), updateSection), "", 1) // which has a test of its own
	host := service(t)
	calls := curls(readme)
	for _, c := range calls {
		assert.Equal(t, c.answer, shell(t, host, c.command), c.command)
	}
	assert.Len(t, calls, 9)
}

// A call is a command that the README shows, and what it answers.
type call struct{ command, answer string }

// curls returns the calls of the blocks that begin with one.
func curls(readme string) (all []call) {
	for _, block := range regexp.MustCompile("(?s)```console\n(\\$ curl.*?)```").FindAllStringSubmatch(readme, -1) {
		for _, text := range strings.Split(block[1], "$ ")[1:] {
			command, answer, _ := strings.Cut(text, "\n")
			all = append(all, call{command, answer})
		}
	}
	return all
}

// shell runs a command of the README on a service and returns what it prints.
func shell(t *testing.T, host, command string) string {
	t.Helper()
	command = strings.ReplaceAll(command, "127.0.0.1:8080", host)
	command = strings.ReplaceAll(command, "-o quotation.xlsx", "-o "+filepath.Join(t.TempDir(), "quotation.xlsx"))
	got, err := exec.Command("sh", "-c", command).Output()
	require.NoError(t, err, command)
	return string(got)
}

// service starts the service on a new database and returns its host and port.
func service(t *testing.T) string {
	t.Helper()
	return serviceOn(t, filepath.Join(t.TempDir(), "reckoner.db"))
}

// serviceOn starts it on a database.
func serviceOn(t *testing.T, db string) string {
	t.Helper()
	kept, err := catalog.Open(t.Context(), db)
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
