package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheReadmeShowsWhatAPriceListMoves(t *testing.T) {
	text, err := os.ReadFile("README.md")
	require.NoError(t, err)
	shown := block(t, string(text), "text", 1)
	command, _, _ := strings.Cut(shown, "\n")
	t.Setenv("RECKONER_DB", filepath.Join(t.TempDir(), "reckoner.db"))
	r := run("", strings.Fields(strings.TrimPrefix(command, "$ go run . "))...)
	require.Zero(t, r.status, r.err)
	printed := command + "\n" + r.out
	if *update && shown != printed {
		require.NoError(t, os.WriteFile("README.md", []byte(strings.Replace(string(text), shown, printed, 1)), 0o644))
		shown = printed
	}
	if shown != printed {
		t.Error("README.md does not show what prices import prints: go test . -run Readme -update writes it")
	}
}
