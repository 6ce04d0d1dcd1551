package quotes_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing"
)

var update = flag.Bool("update", false, "write testdata/frozen of what is not there yet")

// frozenIn is where documents lie as they were issued, a folder for the engine of each:
// a file of SHA256SUMS beside them says that they are what they were. Both are made
// once, by go test ./catalog/quotes -run Frozen -update, and never again.
const frozenIn = "../../testdata/frozen"

// frozenOf returns which requests of testdata were issued, by the names of their files.
func frozenOf(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{"payments": "costings/payments/request", "whole-sheets": "costings/whole-sheets/request"}
	files, err := filepath.Glob("../../testdata/pieces/*.json")
	require.NoError(t, err)
	for _, file := range files {
		if name := strings.TrimSuffix(filepath.Base(file), ".json"); name != "five-faults" { // has no price
			all[name] = "pieces/" + name
		}
	}
	require.Greater(t, len(all), 5)
	return all
}

// sums reads a file of SHA256SUMS, as sha256sum writes it.
func sums(t *testing.T, folder string) map[string]string {
	t.Helper()
	all := map[string]string{}
	text, err := os.ReadFile(filepath.Join(folder, "SHA256SUMS"))
	if errors.Is(err, fs.ErrNotExist) && *update {
		return all
	}
	require.NoError(t, err)
	for line := range strings.Lines(string(text)) {
		sum, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		require.True(t, ok, line)
		require.NotContains(t, all, name)
		all[name] = sum
	}
	return all
}

func digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// freeze issues a demo on 25 November 2026, at ten, as the first quote of a shop.
func freeze(t *testing.T, request string) []byte {
	t.Helper()
	s := opened(t)
	d := demo(t, request)
	d.Title = d.Request.Pieces[0].Title
	d.Note = "We would be glad to make this for you."
	d.PrivateNote = "Asked twice about the drawers."
	a := s.create(t, d)
	s.do(t, a.Number, "issue")
	return s.document(t, a.Number, 1)
}

// add writes the documents that are not there yet into the folder of the engine.
func add(t *testing.T) {
	folder := filepath.Join(frozenIn, "engine-"+pricing.Engine)
	require.NoError(t, os.MkdirAll(folder, 0o755))
	all := sums(t, folder)
	for name, request := range frozenOf(t) {
		file := filepath.Join(folder, name+".json")
		if _, err := os.Stat(file); err == nil {
			continue
		}
		require.NotContains(t, all, name+".json", "it was there: restore it")
		text := freeze(t, request)
		require.NoError(t, os.WriteFile(file, text, 0o644))
		all[name+".json"] = digest(text)
	}
	var list []string
	for name, sum := range all {
		list = append(list, sum+"  "+name+"\n")
	}
	slices.SortFunc(list, func(a, b string) int { return strings.Compare(a[64:], b[64:]) })
	require.NoError(t, os.WriteFile(filepath.Join(folder, "SHA256SUMS"), []byte(strings.Join(list, "")), 0o644))
}

// Documents of every engine that ever issued any are read, and are what they were;
// under their own engine they come to the same again.
func TestFrozenDocumentsStay(t *testing.T) {
	if *update {
		add(t)
	}
	folders, err := filepath.Glob(filepath.Join(frozenIn, "engine-*"))
	require.NoError(t, err)
	require.NotEmpty(t, folders)
	for _, folder := range folders {
		want := sums(t, folder)
		files, err := filepath.Glob(filepath.Join(folder, "*.json"))
		require.NoError(t, err)
		require.Len(t, files, len(want))
		for _, file := range files {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Equal(t, want[filepath.Base(file)], digest(text), "%s is never changed: another engine has a folder of its own", file)
			d, note, err := quotes.Check(text)
			require.NoError(t, err, file)
			assert.Equal(t, "engine-"+d.Engine, filepath.Base(folder))
			assert.Equal(t, d.Engine == pricing.Engine, note == "", note)
			assert.Equal(t, "2026-0001", d.Number)
			assert.NotEmpty(t, d.Customer.Name)
		}
	}
}

// Whatever a document may have is in one of those of the engine at work.
func TestFrozenDocumentsHaveEverything(t *testing.T) {
	var all strings.Builder
	files, err := filepath.Glob(filepath.Join(frozenIn, "engine-"+pricing.Engine, "*.json"))
	require.NoError(t, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		all.Write(text)
	}
	for _, member := range []string{
		`"alternative_to":`, `"optional":true`, `"payments":[{`, `"provisional":true`, `"discount_amount":`, `"discount_percent":2.5`, `"agreed_price":`,
		`"kind":"chest"`, `"kind":"drawer_boxes"`, `"kind":"parts"`, `"kind":"service"`, `"units":"in"`, `"delivery_address":[`, `"note":"We would`,
		`"grain":true`, `"kerf":4,"trim":15,"offcut_min":250`, `"cutting":[{`, `"saving":"41.00"`, `"turned":true`,
	} {
		assert.Contains(t, all.String(), member)
	}
	assert.NotContains(t, all.String(), "Asked twice")
}

// otherEngine returns a frozen document as an engine "0" might have issued it, with
// texts replaced by others.
func otherEngine(t *testing.T, replaced ...string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(frozenIn, "engine-"+pricing.Engine, "full-quotation.json"))
	require.NoError(t, err)
	s := strings.ReplaceAll(string(text), `"engine":"`+pricing.Engine+`"`, `"engine":"0"`)
	for i := 0; i < len(replaced); i += 2 {
		require.Contains(t, s, replaced[i])
		s = strings.ReplaceAll(s, replaced[i], replaced[i+1])
	}
	return []byte(s)
}

// Of a document of another engine, what this one makes of it is only noted: what was
// frozen is what counts.
func TestADocumentOfAnotherEngine(t *testing.T) {
	d, _, err := quotes.Check(otherEngine(t))
	require.NoError(t, err)
	net := d.Costing.Totals.Net.String()
	is := "engine " + pricing.Engine
	for _, tt := range []struct {
		replaced []string
		note     string
	}{
		{nil, "engine 0 priced it at net " + net + ", " + is + " at " + net},
		{[]string{`"totals":{"net":"` + net + `"`, `"totals":{"net":"4711.00"`}, "engine 0 priced it at net 4711.00, " + is + " at " + net},
		{[]string{`"show":"walnut-prime"`, `"show":"bog-oak"`}, `engine 0 priced it at net ` + net + `; ` + is + ` cannot price it: .*bog-oak`},
		{[]string{`"board_width":150`, `"board_width":0`}, `engine 0 priced it at net ` + net + `; ` + is + ` cannot price it: .*board_width`},
	} {
		_, note, err := quotes.Check(otherEngine(t, tt.replaced...))
		require.NoError(t, err)
		assert.Regexp(t, "^"+tt.note, note)
	}
	_, _, err = quotes.Check(otherEngine(t, `"title"`, `"tittle"`))
	assert.ErrorContains(t, err, "cannot be read")
}

// The whole of a document is what its text says, whatever is decoded and encoded.
func TestADocumentEncodesAsItWasIssued(t *testing.T) {
	text := freeze(t, "pieces/full-quotation")
	var d quotes.Document
	require.NoError(t, wire.Decode(text, &d))
	again, err := wire.Encode(d)
	require.NoError(t, err)
	assert.Equal(t, string(text), string(again)+"\n")
}
