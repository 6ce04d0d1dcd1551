package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// block returns what stands in the n-th fenced block of that language.
func block(t *testing.T, readme, language string, n int) string {
	t.Helper()
	found := regexp.MustCompile("(?s)```"+language+"\n(.*?)```").FindAllStringSubmatch(readme, -1)
	require.Greater(t, len(found), n)
	return found[n][1]
}

func TestTheReadmeShowsWhatTheCommandsPrint(t *testing.T) {
	text, err := os.ReadFile("README.md")
	require.NoError(t, err)
	readme := string(text)

	request, err := os.ReadFile(tallChest)
	require.NoError(t, err)
	assert.Equal(t, string(request), block(t, readme, "json", 0))

	first, _, _ := strings.Cut(block(t, readme, "sh", 0), "\n")
	args := strings.Fields(strings.TrimPrefix(first, "go run . "))
	dir := t.TempDir()
	priced := run("", append(args, "--out", dir)...)
	require.Zero(t, priced.status, priced.err)
	shown, printed := block(t, readme, "text", 0), strings.ReplaceAll(priced.out, dir+string(filepath.Separator), "")
	if *update && shown != printed {
		require.NoError(t, os.WriteFile("README.md", []byte(strings.Replace(readme, shown, printed, 1)), 0o644))
		shown = printed
	}
	if shown != printed {
		t.Error("README.md does not show what price prints: go test . -run Readme -update writes it")
	}

	list, err := os.ReadFile(cuttingList)
	require.NoError(t, err)
	assert.Equal(t, string(list), block(t, readme, "csv", 0))

	for n := range 2 {
		command, faults, _ := strings.Cut(block(t, readme, "console", n), "\n")
		refused := run("", strings.Fields(strings.TrimPrefix(command, "$ go run . "))...)
		assert.Equal(t, badInput, refused.status)
		assert.Equal(t, faults, refused.err)
	}
}
