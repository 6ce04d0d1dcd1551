package quotes_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"reckoner/catalog/store"
)

// The tables as somebody might write them down who uses the same library, knowing no
// better.
type (
	revision struct {
		QuoteID                                                            int64 `gorm:"primaryKey;autoIncrement:false"`
		Revision                                                           int   `gorm:"primaryKey;autoIncrement:false"`
		Head, Request, Customer, Book, Costing, SHA256, Engine, ValidUntil string
		IssuedAt, Cost, Fees, Net, Discount, Gross                         int64
	}
	draftRow struct {
		QuoteID                                  int64 `gorm:"primaryKey;autoIncrement:false"`
		Revision                                 int   `gorm:"primaryKey;autoIncrement:false"`
		Title, Words, Note, PrivateNote, Request string
		CustomerID                               *int64
		Customer                                 *string
		ValidDays                                *int
	}
	quoteRow struct {
		ID, Year, Serial, CreatedAt int64
		Number, CreatedOn           string
	}
	bookRow struct {
		SHA256 string `gorm:"primaryKey"`
		Doc    string
	}
	eventRow struct {
		ID, HappenedAt                int64
		QuoteID, CustomerID, Revision *int64
		Event, EtagBefore, EtagAfter  string
		Doc                           *string
		Net, Gross                    *int64
	}
)

func (revision) TableName() string { return "revisions" }
func (draftRow) TableName() string { return "drafts" }
func (quoteRow) TableName() string { return "quotes" }
func (bookRow) TableName() string  { return "books" }
func (eventRow) TableName() string { return "events" }

// first reads a row.
func first[T any](t *testing.T, s *store.Store, where string) (row T) {
	t.Helper()
	require.NoError(t, s.Glance(t.Context()).Where(where).Take(&row).Error)
	return row
}

// tampering returns what GORM can do to a row: given as it is kept, and changed.
func tampering[T any](as, changed T, column string, value any) map[string]func(*gorm.DB) *gorm.DB {
	return map[string]func(*gorm.DB) *gorm.DB{
		"Save":                func(db *gorm.DB) *gorm.DB { return db.Save(&changed) },
		"Save what is there":  func(db *gorm.DB) *gorm.DB { return db.Save(&as) },
		"Save of a list":      func(db *gorm.DB) *gorm.DB { return db.Save(&[]T{changed}) },
		"Updates":             func(db *gorm.DB) *gorm.DB { return db.Updates(&changed) },
		"Updates of all":      func(db *gorm.DB) *gorm.DB { return db.Select("*").Updates(&changed) },
		"Updates from a map":  func(db *gorm.DB) *gorm.DB { return db.Model(&as).Updates(map[string]any{column: value}) },
		"Update":              func(db *gorm.DB) *gorm.DB { return db.Model(&as).Update(column, value) },
		"UpdateColumn":        func(db *gorm.DB) *gorm.DB { return db.Model(&as).UpdateColumn(column, value) },
		"Update of every row": func(db *gorm.DB) *gorm.DB { return db.Model(new(T)).Where("true").Update(column, value) },
		"Update past the hooks": func(db *gorm.DB) *gorm.DB {
			return db.Session(&gorm.Session{SkipHooks: true, AllowGlobalUpdate: true}).Model(new(T)).Update(column, value)
		},
		"Delete":                    func(db *gorm.DB) *gorm.DB { return db.Delete(&as) },
		"Delete for good":           func(db *gorm.DB) *gorm.DB { return db.Unscoped().Delete(&as) },
		"Delete of every row":       func(db *gorm.DB) *gorm.DB { return db.Session(&gorm.Session{AllowGlobalUpdate: true}).Delete(new(T)) },
		"Delete with what is of it": func(db *gorm.DB) *gorm.DB { return db.Select(clause.Associations).Delete(&as) },
		"Create":                    func(db *gorm.DB) *gorm.DB { return db.Create(&changed) },
		"Create or update all":      func(db *gorm.DB) *gorm.DB { return db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&changed) },
		"Create or update one": func(db *gorm.DB) *gorm.DB {
			return db.Clauses(clause.OnConflict{DoUpdates: clause.AssignmentColumns([]string{column})}).Create(&changed)
		},
		"Create or nothing": func(db *gorm.DB) *gorm.DB { return db.Clauses(clause.OnConflict{DoNothing: true}).Create(&changed) },
		"Create or replace": func(db *gorm.DB) *gorm.DB { return db.Clauses(clause.Insert{Modifier: "OR REPLACE"}).Create(&changed) },
	}
}

// Nor does the library that the program uses.
func TestGORMChangesNothingThatStays(t *testing.T) {
	s := kept(t)
	look := raw(t, s.file, "mode=ro")
	before, text := rows(t, look), s.document(t, "2026-0001", 2)

	r := first[revision](t, s.store, "quote_id = 1 AND revision = 2")
	other := r
	other.Net = 1
	issued := first[draftRow](t, s.store, "quote_id = 1 AND revision = 2")
	void := first[draftRow](t, s.store, "quote_id = 2 AND revision = 1")
	retitled, revoided := issued, void
	retitled.Title, revoided.Title = "Another", "Another"
	q := first[quoteRow](t, s.store, "number = '2026-0001'")
	renumbered := q
	renumbered.Serial, renumbered.Number = 4, "2026-0004"
	b := first[bookRow](t, s.store, "true")
	reworded := bookRow{b.SHA256, "{}"}
	e := first[eventRow](t, s.store, "event = 'accepted'")
	more := e
	more.Net = new(int64(1))
	for table, ways := range map[string]map[string]func(*gorm.DB) *gorm.DB{
		"revisions":      tampering(r, other, "net", 1),
		"drafts, issued": tampering(issued, retitled, "title", "Another"),
		"drafts, void":   tampering(void, revoided, "title", "Another"),
		"quotes":         tampering(q, renumbered, "created_at", 1),
		"books":          tampering(b, reworded, "doc", "{}"),
		"events":         tampering(e, more, "net", 1),
	} {
		for way, tamper := range ways {
			err := s.store.Write(t.Context(), func(tx store.Tx) error { return tamper(tx.DB).Error })
			assert.ErrorIs(t, err, store.ErrRefused, "%s: %s", table, way)
		}
	}
	assert.Equal(t, before, rows(t, look))
	assert.Equal(t, text, s.document(t, "2026-0001", 2))
}
