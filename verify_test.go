package main

import (
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
)

// issued makes a database in which that many quotes have been issued, and returns
// where it is.
func issued(t *testing.T, quotations int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "quotes.db")
	c, err := catalog.Open(t.Context(), path)
	require.NoError(t, err)
	l, today := quotes.New(c), date.MustParse("2026-11-25")
	d := quotes.Draft{Title: "A visit"}
	d.Customer.Customer = pricing.Customer{Name: "Ada Field"}
	require.NoError(t, wire.Decode([]byte(`{"pieces": [{"title": "A visit", "kind": "service", "service": {}, "agreed_price": "120.00"}]}`), &d.Request))
	for range quotations {
		a, err := l.Create(t.Context(), d, today, quotes.Once{})
		require.NoError(t, err)
		_, err = l.Issue(t.Context(), quotes.Change{Number: a.Number, Match: func(string) error { return nil }, Today: today})
		require.NoError(t, err)
	}
	_, err = l.Create(t.Context(), d, today, quotes.Once{}) // a draft is not looked at
	require.NoError(t, err)
	require.NoError(t, c.Close())
	return path
}

// spoil changes a database past the program.
func spoil(t *testing.T, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite3", path)
	require.NoError(t, err)
	for _, s := range append([]string{"DROP TRIGGER revisions_stay", "DROP TRIGGER revisions_are_kept"}, statements...) {
		_, err := db.Exec(s)
		require.NoError(t, err, s)
	}
	require.NoError(t, db.Close())
}

func TestVerifySaysThatAllIsWell(t *testing.T) {
	for quotations, says := range map[int]string{0: "Issued revisions, each as it was sent: 0\n", 3: "Issued revisions, each as it was sent: 3\n"} {
		path := issued(t, quotations)
		for _, args := range [][]string{{"verify", "--db", path}, {"verify", "--db=" + path}} {
			assert.Equal(t, ran{0, says, ""}, run("", args...))
		}
	}
}

// Each revision that is not as it was sent has a line of its own; the others do not.
func TestVerifyNamesWhatIsWrong(t *testing.T) {
	for statement, says := range map[string]string{
		"UPDATE revisions SET head = replace(head, 'Ada', 'Ida') WHERE quote_id = 2":      "2026-0002 revision 1: WRONG: the document has the digest .*\n",
		"UPDATE revisions SET net = net + 1 WHERE quote_id = 3":                           "2026-0003 revision 1: WRONG: the document comes to net 120.00 .*\n",
		"DELETE FROM revisions WHERE quote_id = 1":                                        "2026-0001 revision 1: WRONG: it was issued, .*\n",
		"UPDATE revisions SET request = replace(request, '120', '12') WHERE quote_id > 1": "2026-0002 revision 1: WRONG: .*\n2026-0003 revision 1: WRONG: .*\n",
	} {
		path := issued(t, 3)
		spoil(t, path, statement)
		r := run("", "verify", "--db", path)
		assert.Equal(t, failed, r.status, statement)
		assert.Regexp(t, "^"+says+"$", r.out)
		wrong := strings.Count(says, "WRONG")
		assert.Equal(t, map[int]string{1: "1", 2: "2"}[wrong]+" of 3 issued revisions are not as they were sent: restore a backup, and keep this file\n", r.err)
	}
}

// What another engine issued is as it was sent; what this one makes of it is said.
func TestVerifyNotesAnotherEngine(t *testing.T) {
	path := issued(t, 2)
	db, err := sql.Open("sqlite3", path)
	require.NoError(t, err)
	texts := make([]string, 4)
	require.NoError(t, db.QueryRow("SELECT head, request, doc, costing FROM revisions JOIN books ON books.sha256 = book WHERE quote_id = 1").Scan(&texts[0], &texts[1], &texts[2], &texts[3]))
	require.NoError(t, db.Close())
	other := strings.NewReplacer(`"engine":"`+pricing.Engine+`"`, `"engine":"0"`, `"totals":{"net":"120.00"`, `"totals":{"net":"119.00"`)
	document := strings.TrimSuffix(texts[0], "}") + `,"request":` + texts[1] + `,"book":` + texts[2] + `,"costing":` + texts[3] + "}\n"
	sum := sha256.Sum256([]byte(other.Replace(document)))
	spoil(t, path, "UPDATE revisions SET engine = '0', net = 11900, head = '"+other.Replace(texts[0])+"', costing = '"+strings.ReplaceAll(other.Replace(texts[3]), "'", "''")+
		"', sha256 = '"+hex.EncodeToString(sum[:])+"' WHERE quote_id = 1")
	assert.Equal(t, ran{0, "2026-0001 revision 1: as it was sent; engine 0 priced it at net 119.00, engine " + pricing.Engine + " at 120.00\nIssued revisions, each as it was sent: 2\n", ""},
		run("", "verify", "--db", path))
}

// Where there is no database none is made; what is none is said to be none.
func TestVerifyWithoutADatabase(t *testing.T) {
	dir := t.TempDir()
	none := filepath.Join(dir, "none.db")
	r := run("", "verify", "--db", none)
	assert.Equal(t, badInput, r.status)
	assert.Empty(t, r.out)
	assert.Contains(t, r.err, none)
	assert.Equal(t, badInput, run("", "verify", "--db", "").status)
	assert.Equal(t, badInput, run("", "verify", none).status, "it takes no file but that of --db")
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)

	letter := filepath.Join(dir, "letter.db")
	require.NoError(t, os.WriteFile(letter, []byte(strings.Repeat("Dear Sir, one chest of drawers, please.\n", 100)), 0o600))
	r = run("", "verify", "--db", letter)
	assert.Equal(t, failed, r.status)
	assert.Empty(t, r.out)
	assert.Contains(t, r.err, letter+": the database is damaged, or is no database")
	_, err = os.Stat(none)
	assert.True(t, errors.Is(err, os.ErrNotExist))
}
