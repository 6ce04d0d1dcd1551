package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// updateSection is the heading of a section of the README that tells one story: its
// commands follow each other.
const updateSection = "## The December update and what it costs us\n"

// section returns a section of the README, from its heading to the next.
func section(t *testing.T, readme, heading string) string {
	t.Helper()
	_, rest, found := strings.Cut(readme, heading)
	require.True(t, found)
	text, _, found := strings.Cut(rest, "\n## ")
	require.True(t, found)
	return text
}

// The commands of the section print what it shows, one after the other on one database:
// those of the service by a shell, ours by itself. Before them come the calls of the
// sections above. Without curl, only that they are there is looked at, as elsewhere.
func TestTheReadmeShowsWhatAnUpdateCosts(t *testing.T) {
	text, err := os.ReadFile("README.md")
	require.NoError(t, err)
	told := section(t, string(text), updateSection)
	blocks := regexp.MustCompile("(?s)```(console|sh)\n(.*?)```").FindAllStringSubmatch(told, -1)
	require.Len(t, blocks, 5)
	if _, err := exec.LookPath("curl"); err != nil {
		require.Empty(t, os.Getenv("CI"), "curl is not installed")
		return
	}
	db := filepath.Join(t.TempDir(), "reckoner.db")
	t.Setenv("RECKONER_DB", db)
	host := serviceOn(t, db)
	before, _, _ := strings.Cut(string(text), updateSection)
	for _, call := range curls(before) {
		shell(t, host, call.command)
	}
	shows := told
	for _, b := range blocks {
		if b[1] == "sh" {
			r := run("", strings.Fields(strings.TrimPrefix(b[2], "go run . "))...)
			require.Zero(t, r.status, r.err)
			continue
		}
		printed := ""
		for _, command := range strings.Split("\n"+b[2], "\n$ ")[1:] {
			command, _, _ = strings.Cut(command, "\n")
			printed += "$ " + command + "\n"
			if ours, found := strings.CutPrefix(command, "go run . "); found {
				r := run("", strings.Fields(ours)...)
				require.Zero(t, r.status, r.err)
				printed += r.out
			} else {
				printed += shell(t, host, command)
			}
		}
		shows = strings.Replace(shows, b[2], printed, 1)
	}
	if *update && shows != told {
		require.NoError(t, os.WriteFile("README.md", []byte(strings.Replace(string(text), told, shows, 1)), 0o644))
		told = shows
	}
	assert.Equal(t, shows, told, "README.md does not show what its commands print: go test . -run Readme -update writes it")
	assert.NotContains(t, shows, `"errors"`)
}
