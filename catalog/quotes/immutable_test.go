package quotes_test

import (
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/catalog/store"
	"reckoner/pricing"
)

// kept returns a shop with a quote whose first revision is superseded, whose second is
// accepted, and whose third is an open draft; another that is void, and one that is
// issued; and a change of the catalogue.
func kept(t *testing.T) *shop {
	t.Helper()
	s := opened(t)
	c, _, err := s.AddCustomer(t.Context(), quotes.Customer{Customer: pricing.Customer{Name: "Bo Larkrise"}})
	require.NoError(t, err)
	d := draftOf(t, visit)
	d.Customer = quotes.Addressee{ID: c.ID}
	first := s.create(t, d)
	s.do(t, first.Number, "issue", "revise", "issue", "accept", "revise")
	s.do(t, s.create(t, draftOf(t, visit)).Number, "void")
	s.do(t, s.create(t, draftOf(t, visit)).Number, "issue")
	s.site(t, 29_0000)
	for i, want := range []string{"superseded accepted draft", "void", "issued"} {
		v := s.look(t, fmt.Sprintf("2026-000%d", i+1))
		require.Equal(t, want, v.statuses())
	}
	return s
}

// stays says of each table that has triggers which of its rows are never to change.
func stays() map[string]string {
	return map[string]string{
		"revisions": "true", "books": "true", "events": "true", "quotes": "true", "changes": "true",
		"drafts": "(quote_id, revision) IN (VALUES (1, 1), (1, 2), (2, 1), (3, 1))",
	}
}

// attacks returns statements that would change a row which stays, or put another in
// its place.
func attacks(t *testing.T, db *sql.DB) (all []string) {
	t.Helper()
	for table, rows := range stays() {
		names := columns(t, db, table)
		require.NotEmpty(t, names)
		list := strings.Join(names, ", ")
		again := fmt.Sprintf("%s (%s) SELECT %s FROM %s WHERE %s", table, list, list, table, rows)
		all = append(all,
			"DELETE FROM "+table+" WHERE "+rows,
			"DELETE FROM "+table,
			fmt.Sprintf("UPDATE %s SET rowid = rowid + 1000 WHERE %s", table, rows),
			"INSERT INTO "+again, "INSERT OR REPLACE INTO "+again, "REPLACE INTO "+again,
			"INSERT OR IGNORE INTO "+again, "INSERT OR FAIL INTO "+again, "INSERT INTO "+again+" ON CONFLICT DO NOTHING",
		)
		for _, c := range names {
			all = append(all, fmt.Sprintf("UPDATE %s SET %s = %s WHERE %s", table, c, c, rows))
			for _, or := range []string{"", "OR REPLACE ", "OR IGNORE ", "OR FAIL ", "OR ROLLBACK "} {
				all = append(all, fmt.Sprintf("UPDATE %s%s SET %s = CASE typeof(%s) WHEN 'integer' THEN %s + 1 ELSE %s || 'x' END WHERE %s", or, table, c, c, c, c, rows))
			}
			all = append(all, fmt.Sprintf("INSERT INTO %s ON CONFLICT DO UPDATE SET %s = excluded.%s", again, c, c))
		}
	}
	slices.Sort(all)
	return append(all, sly()...)
}

// sly are attacks that take the place of a row by something other than its key.
func sly() []string {
	const revision = "SELECT %s, %s, head, request, customer, book, costing, sha256, engine, issued_at, valid_until, cost, fees, net, discount, gross FROM revisions WHERE quote_id = 1 AND revision = 1"
	const columns = "quote_id, revision, head, request, customer, book, costing, sha256, engine, issued_at, valid_until, cost, fees, net, discount, gross"
	return []string{
		// an event of the same name
		"INSERT OR REPLACE INTO events (quote_id, revision, event, happened_at, etag_before, etag_after) SELECT quote_id, revision, event, 0, 'x', 'y' FROM events WHERE event = 'issued'",
		"INSERT OR REPLACE INTO events (quote_id, revision, event, happened_at, etag_before, etag_after, doc, net, gross) SELECT quote_id, revision, event, happened_at, etag_before, etag_after, doc, 1, 1 FROM events WHERE event = 'accepted'",
		"REPLACE INTO events (quote_id, revision, event, happened_at, etag_before, etag_after) SELECT quote_id, revision, event, 0, 'x', 'y' FROM events WHERE event = 'void'",
		"INSERT OR REPLACE INTO events (quote_id, revision, event, happened_at, etag_before, etag_after) SELECT quote_id, revision, event, 0, 'x', 'y' FROM events WHERE quote_id = 3",
		// what cannot happen any more
		"INSERT INTO events (quote_id, revision, event, happened_at, etag_before, etag_after) VALUES (1, 2, 'declined', 0, '', '')",
		"INSERT INTO events (quote_id, revision, event, happened_at, etag_before, etag_after) VALUES (2, 1, 'issued', 0, '', '')",
		"INSERT INTO events (quote_id, revision, event, happened_at, etag_before, etag_after, doc, net, gross) VALUES (1, 1, 'accepted', 0, '', '', '{}', 1, 1)",
		// the row's own number in the table
		"INSERT OR REPLACE INTO revisions (rowid, " + columns + ") " + strings.Replace(fmt.Sprintf(revision, "2", "1"), "SELECT", "SELECT rowid,", 1),
		"INSERT OR REPLACE INTO books (rowid, sha256, doc) SELECT rowid, substr(sha256, 2) || '0', doc FROM books",
		"INSERT OR REPLACE INTO drafts (rowid, quote_id, revision, title, customer, words, note, private_note, request) SELECT rowid, 2, 2, title, '{}', words, note, private_note, request FROM drafts WHERE quote_id = 1 AND revision = 1",
		"UPDATE OR REPLACE drafts SET rowid = (SELECT rowid FROM drafts WHERE quote_id = 1 AND revision = 1) WHERE quote_id = 1 AND revision = 3",
		// the place of an open draft
		"UPDATE OR REPLACE drafts SET revision = 2 WHERE quote_id = 1 AND revision = 3",
		"UPDATE drafts SET quote_id = 2 WHERE quote_id = 1 AND revision = 3",
		// the next number in the place of the first, a number again, and numbers after a gap
		"INSERT OR REPLACE INTO quotes (id, year, serial, number, created_on, created_at) VALUES (1, 2026, 4, '2026-0004', '2026-11-25', 0)",
		"INSERT OR REPLACE INTO quotes (year, serial, number, created_on, created_at) SELECT year, serial, number, created_on, 0 FROM quotes",
		"INSERT INTO quotes (year, serial, number, created_on, created_at) VALUES (2026, 5, '2026-0005', '2026-11-25', 0)",
		"INSERT INTO quotes (year, serial, number, created_on, created_at) VALUES (2027, 2, '2027-0002', '2027-11-25', 0)",
	}
}

// Whatever SQL asks for it, through the store or past it, what was issued stays, and
// so does what it rests on.
func TestSQLChangesNothingThatStays(t *testing.T) {
	t.Parallel()
	s := kept(t)
	look := raw(t, s.file, "mode=ro")
	var tables []string
	for table := range stays() {
		tables = append(tables, table)
	}
	require.ElementsMatch(t, tables, texts(t, look, "SELECT DISTINCT tbl_name FROM sqlite_master WHERE type = 'trigger'"), "every table that has triggers is tried")
	before, first, second := rows(t, look), s.document(t, "2026-0001", 1), s.document(t, "2026-0001", 2)
	all := attacks(t, look)
	require.Greater(t, len(all), 300)

	for _, a := range append(all, "DELETE FROM customers") {
		err := s.store.Write(t.Context(), func(tx store.Tx) error { return tx.Exec(a).Error })
		assert.ErrorIs(t, err, store.ErrRefused, a)
	}
	require.Equal(t, before, rows(t, look))
	for _, options := range []string{"_fk=1", "_fk=0", "_fk=0&_recursive_triggers=1", "_fk=0&_recursive_triggers=0&_ignore_check_constraints=1", "_fk=1&_defer_fk=1&_locking=NORMAL&_journal_mode=WAL"} {
		db := raw(t, s.file, options)
		for _, a := range all {
			_, err := db.Exec(a)
			assert.Equal(t, sqlite3.ErrConstraintTrigger, codeOf(err), "%s, %s: %v", options, a, err)
		}
		require.NoError(t, db.Close())
		require.Equal(t, before, rows(t, look), options)
	}
	assert.Equal(t, first, s.document(t, "2026-0001", 1))
	assert.Equal(t, second, s.document(t, "2026-0001", 2))
}

// codeOf returns what the driver says of an error.
func codeOf(err error) sqlite3.ErrNoExtended {
	e := sqlite3.Error{}
	errors.As(err, &e)
	return e.ExtendedCode
}

// Without any one of the triggers of quotes, one of the attacks would have changed
// something.
func TestEveryTriggerIsNeeded(t *testing.T) {
	s := kept(t)
	db := raw(t, s.file, "_fk=0")
	all, before := attacks(t, db), rows(t, db)
	triggers := texts(t, db, "SELECT name FROM sqlite_master WHERE type = 'trigger'")
	require.NotEmpty(t, triggers)
	for _, trigger := range triggers {
		_, err := db.Exec("BEGIN; DROP TRIGGER " + trigger)
		require.NoError(t, err)
		assert.True(t, slices.ContainsFunc(all, func(a string) bool {
			if strings.HasPrefix(a, "UPDATE OR ROLLBACK") {
				return false
			}
			done, err := db.Exec(a)
			if err != nil {
				return false
			}
			n, err := done.RowsAffected()
			return err == nil && n > 0
		}), trigger)
		_, err = db.Exec("ROLLBACK")
		require.NoError(t, err)
		require.Equal(t, before, rows(t, db))
	}
}
