package quotes_test

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/store"
	"reckoner/pricing"
	"reckoner/pricing/book"
)

// tampered returns a ledger on a copy of the shop's file to which somebody did
// something who could take the triggers away.
func (s *shop) tampered(t *testing.T, do func(*sql.DB)) *quotes.Ledger {
	t.Helper()
	c, err := catalog.Open(t.Context(), s.spoilt(t, do))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, c.Close()) })
	return quotes.New(c)
}

// spoilt returns where the copy is.
func (s *shop) spoilt(t *testing.T, do func(*sql.DB)) string {
	t.Helper()
	copied := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Backup(t.Context(), s.file, copied))
	db := raw(t, copied, "_fk=0")
	for _, trigger := range texts(t, db, "SELECT name FROM sqlite_master WHERE type = 'trigger'") {
		execute(t, db, "DROP TRIGGER "+trigger)
	}
	do(db)
	require.NoError(t, db.Close())
	return copied
}

// execute runs a statement that must change something.
func execute(t *testing.T, db *sql.DB, statement string, values ...any) {
	t.Helper()
	done, err := db.Exec(statement, values...)
	require.NoError(t, err, statement)
	if n, err := done.RowsAffected(); !strings.HasPrefix(statement, "DROP") {
		require.NoError(t, err)
		require.NotZero(t, n, statement)
	}
}

// found returns what Verify says of each revision: its number and what is wrong.
func found(t *testing.T, l *quotes.Ledger) (all []string) {
	t.Helper()
	require.NoError(t, l.Verify(t.Context(), func(v quotes.Verified) {
		says := "sound"
		if v.Err != nil {
			says = v.Err.Error()
		}
		if v.Note != "" {
			says += " " + v.Note
		}
		all = append(all, fmt.Sprintf("%s/%d %s", v.Number, v.Revision, says))
	}))
	return all
}

// sent returns a shop that has sent two revisions of one quote, and one of another;
// of a third there is a draft, and a void one beside what was sent first.
func sent(t *testing.T) *shop {
	t.Helper()
	s := opened(t)
	s.do(t, s.create(t, draftOf(t, visit)).Number, "issue", "revise", "issue", "accept", "revise", "void")
	s.do(t, s.create(t, demo(t, "pieces/full-quotation")).Number, "issue")
	s.create(t, draftOf(t, visit))
	return s
}

func TestVerifyFindsEachAsItWasSent(t *testing.T) {
	assert.Empty(t, found(t, opened(t).Ledger))
	s := sent(t)
	sound := []string{"2026-0001/1 sound", "2026-0001/2 sound", "2026-0002/1 sound"}
	assert.Equal(t, sound, found(t, s.Ledger))
	s.site(t, 99_0000)
	s.pass(400)
	assert.Equal(t, sound, found(t, s.Ledger), "whatever prices and days have done since")
	gone, stop := context.WithCancel(t.Context())
	stop()
	assert.ErrorIs(t, s.Verify(gone, func(quotes.Verified) { t.Error("nobody is there") }), context.Canceled)
}

const second = " WHERE quote_id = 1 AND revision = 2"

// One byte, or one figure, of one revision: it is found, and no other.
func TestVerifyFindsWhatWasChanged(t *testing.T) {
	t.Parallel()
	s := sent(t)
	for name, tt := range map[string]struct{ statement, says string }{
		"head":             {"UPDATE revisions SET head = replace(head, 'stairs', 'stoirs')", "the document has the digest [0-9a-f]{64}, and was issued with [0-9a-f]{64}"},
		"head, its date":   {"UPDATE revisions SET head = replace(head, '2026-12-25', '2026-12-26')", "the document has the digest"},
		"request":          {"UPDATE revisions SET request = replace(request, '120.00', '121.00')", "the document has the digest"},
		"costing":          {"UPDATE revisions SET costing = replace(costing, '\"gross\":\"144.00\"', '\"gross\":\"244.00\"')", "the document has the digest"},
		"costing, space":   {"UPDATE revisions SET costing = costing || ' '", "the document has the digest"},
		"sha256":           {"UPDATE revisions SET sha256 = substr(sha256, 2) || substr(sha256, 1, 1)", "the document has the digest"},
		"sha256, capital":  {"UPDATE revisions SET sha256 = upper(sha256)", "the document has the digest"},
		"book":             {"UPDATE revisions SET book = printf('%064d', 1)", "the document has the digest"},
		"book, its digest": {"UPDATE revisions SET book = printf('%064d', 2)", "its book has the digest [0-9a-f]{64}, and was issued with 0*2"},
		"net":              {"UPDATE revisions SET net = net + 1", "the document comes to net 120.00 and gross 144.00, and lists say otherwise"},
		"gross":            {"UPDATE revisions SET gross = gross - 1", "the document comes to net 120.00 and gross 144.00, and lists say otherwise"},
		"cost":             {"UPDATE revisions SET cost = cost + 1", "the document comes to .*lists say otherwise"},
		"fees":             {"UPDATE revisions SET fees = fees + 1", "the document comes to .*lists say otherwise"},
		"discount":         {"UPDATE revisions SET discount = discount + 1", "the document comes to .*lists say otherwise"},
		"customer":         {"UPDATE revisions SET customer = replace(customer, 'Ada', 'Ida')", "was issued at .* for Ada Field, and lists say otherwise"},
		"engine":           {"UPDATE revisions SET engine = '9'", "by engine " + pricing.Engine + ".*lists say otherwise"},
		"issued_at":        {"UPDATE revisions SET issued_at = issued_at + 1", "was issued at 2026-11-25T10:00:00.000000Z.*lists say otherwise"},
		"valid_until":      {"UPDATE revisions SET valid_until = '2027-12-25'", "holds until 2026-12-25.*lists say otherwise"},
		"gone":             {"DELETE FROM revisions", "it was issued, and the document or its book is not there"},
	} {
		t.Run(name, func(t *testing.T) {
			l := s.tampered(t, func(db *sql.DB) {
				execute(t, db, "INSERT INTO books SELECT printf('%064d', 1), '{}' UNION ALL SELECT printf('%064d', 2), doc FROM books")
				execute(t, db, tt.statement+second)
			})
			var wrong []string
			for _, v := range found(t, l) {
				if !strings.HasSuffix(v, " sound") {
					wrong = append(wrong, v)
				}
			}
			require.Len(t, wrong, 1)
			assert.Regexp(t, "^2026-0001/2 .*"+tt.says, wrong[0])
		})
	}
}

// A book is shared: all that rest on it are found.
func TestVerifyFindsAChangedBook(t *testing.T) {
	s := sent(t)
	all := found(t, s.tampered(t, func(db *sql.DB) { execute(t, db, "UPDATE books SET doc = replace(doc, 'Plane Lane', 'Plain Lane')") }))
	require.Len(t, all, 3)
	for i, v := range all {
		assert.Regexp(t, "^"+[]string{"2026-0001/1", "2026-0001/2", "2026-0002/1"}[i]+" the document has the digest", v)
	}
	_, err := catalog.Open(t.Context(), s.spoilt(t, func(db *sql.DB) { execute(t, db, "DELETE FROM books") }))
	assert.ErrorIs(t, err, store.ErrDamaged, "a revision without its book")
}

// resealed changes the texts of the second revision and makes the digests fit: the
// document is what this package's documentation says, composed here again.
func resealed(t *testing.T, db *sql.DB, from, to string) {
	t.Helper()
	var head, request, doc, costing string
	require.NoError(t, db.QueryRow("SELECT head, request, doc, costing FROM revisions JOIN books ON books.sha256 = book"+second).Scan(&head, &request, &doc, &costing))
	r := strings.NewReplacer(from, to)
	text := strings.TrimSuffix(head, "}") + `,"request":` + request + `,"book":` + doc + `,"costing":` + costing + "}\n"
	require.Contains(t, text, from)
	execute(t, db, "INSERT INTO books VALUES (?, ?) ON CONFLICT DO UPDATE SET doc = excluded.doc", digest([]byte(r.Replace(doc))), r.Replace(doc))
	execute(t, db, "UPDATE revisions SET head = ?, request = ?, costing = ?, book = ?, sha256 = ?"+second,
		r.Replace(head), r.Replace(request), r.Replace(costing), digest([]byte(r.Replace(doc))), digest([]byte(r.Replace(text))))
}

// Whoever makes the digests fit is found by the sums, unless they are of another
// engine: that is noted.
func TestVerifyFindsWhatWasSealedAgain(t *testing.T) {
	t.Parallel()
	s := sent(t)
	for name, tt := range map[string]struct{ from, to, says string }{
		"a net":         {`"net":"120.00"`, `"net":"220.00"`, "priced again, it comes to net 120.00 and not 220.00"},
		"a request":     {`"agreed_price":"120.00"`, `"agreed_price":"121.00"`, "priced again, it comes to net 121.00 and not 120.00"},
		"a step":        {`"name":"profit"`, `"name":"benefit"`, "or to it by another way"},
		"a rate of tax": {`{"code":"standard","name":"VAT","percent":20}`, `{"code":"standard","name":"VAT","percent":21}`, "priced again"},
		"a kind":        {`"kind":"service"`, `"kind":"chest"`, "cannot be priced from its book"},
		"a currency":    {`"currency":"GBP"`, `"currency":"G"`, "cannot be read"},
		"a stage":       {`"stage":"timber"`, `"stage":"tinder"`, "its book is none"},
		"a member":      {`"note"`, `"gnote"`, "cannot be read"},
		"a number":      {`"number":"2026-0001"`, `"number":"2026-0002"`, "the document is revision 2 of 2026-0002"},
		"a revision":    {`"revision":2`, `"revision":1`, "the document is revision 1 of 2026-0001"},
		"a day":         {`"valid_until":"2026-12-25"`, `"valid_until":"2026-12-26"`, "holds until 2026-12-26.*lists say otherwise"},
		"a customer":    {`"name":"Ada Field"`, `"name":"Ida Field"`, "for Ida Field, and lists say otherwise"},
	} {
		t.Run(name, func(t *testing.T) {
			all := found(t, s.tampered(t, func(db *sql.DB) { resealed(t, db, tt.from, tt.to) }))
			require.Len(t, all, 3)
			assert.Regexp(t, "^2026-0001/2 .*"+tt.says, all[1])
			assert.Equal(t, []string{"2026-0001/1 sound", "2026-0002/1 sound"}, []string{all[0], all[2]})
		})
	}
}

// What a document of another engine comes to under this one, and what was accepted of
// it, is noted.
func TestVerifyNotesAnotherEngine(t *testing.T) {
	s := sent(t)
	other := func(db *sql.DB) {
		resealed(t, db, `"engine":"`+pricing.Engine+`"`, `"engine":"0"`)
		execute(t, db, "UPDATE revisions SET engine = '0'"+second)
	}
	note := "2026-0001/2 sound engine 0 priced it at net 120.00, engine " + pricing.Engine + " at 120.00"
	assert.Equal(t, []string{"2026-0001/1 sound", note, "2026-0002/1 sound"}, found(t, s.tampered(t, other)))
	assert.Equal(t, []string{"2026-0001/1 sound", note + "; what was accepted of it comes to net 130.00 and gross 156.00, and is kept otherwise", "2026-0002/1 sound"},
		found(t, s.tampered(t, func(db *sql.DB) {
			other(db)
			resealed(t, db, `"price":"120.00"`, `"price":"130.00"`)
		})))
}

// So is what is kept of what happened to it.
func TestVerifyFindsWhatHappenedOtherwise(t *testing.T) {
	t.Parallel()
	s := opened(t)
	number := s.create(t, offered(t, func(*book.TermsChange) {})).Number
	s.do(t, number, "issue")
	_, err := s.Accept(t.Context(), s.change(number, s.get(t, number).Tag), []string{"chair"})
	require.NoError(t, err)
	require.Equal(t, []string{"2026-0001/1 sound"}, found(t, s.Ledger))
	for name, tt := range map[string]struct{ statement, says string }{
		"a net":      {"UPDATE events SET net = net + 1 WHERE event = 'accepted'", "comes to net 351.00 and gross 415.80, and is kept otherwise"}, // 324 x 1.2 + 27
		"a gross":    {"UPDATE events SET gross = gross - 1 WHERE event = 'accepted'", "comes to net 351.00 and gross 415.80, and is kept otherwise"},
		"its sums":   {`UPDATE events SET doc = replace(doc, '"net":"351.00"', '"net":"151.00"') WHERE event = 'accepted'`, "and is kept otherwise"},
		"a choice":   {`UPDATE events SET doc = replace(doc, '["chair"]', '["chair-oak"]') WHERE event = 'accepted'`, "comes to net 378.00"},
		"no choice":  {`UPDATE events SET doc = replace(doc, '["chair"]', '["sofa"]') WHERE event = 'accepted'`, "cannot be chosen: #/choose/0"},
		"its shape":  {`UPDATE events SET doc = replace(doc, '"choose"', '"chosen"') WHERE event = 'accepted'`, "cannot be read"},
		"its issue":  {"DELETE FROM events WHERE event = 'issued'", "it is there, and was never issued"},
		"a revision": {"DELETE FROM revisions", "it was issued, and the document or its book is not there"},
	} {
		t.Run(name, func(t *testing.T) {
			all := found(t, s.tampered(t, func(db *sql.DB) { execute(t, db, tt.statement) }))
			require.Len(t, all, 1)
			assert.Regexp(t, "^2026-0001/1 .*"+tt.says, all[0])
		})
	}
}
