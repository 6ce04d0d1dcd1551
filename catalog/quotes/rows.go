package quotes

import (
	"crypto/sha256"
	"encoding/hex"

	"reckoner/catalog/store"
)

// The rows of the tables.
type (
	customerRow struct {
		ID        int64 `gorm:"primaryKey"`
		Doc       string
		Words     string
		CreatedAt store.Instant `gorm:"autoCreateTime:false"`
	}
	quoteRow struct {
		ID        int64 `gorm:"primaryKey"`
		Year      int
		Serial    int
		Number    string
		CreatedOn string
		CreatedAt store.Instant `gorm:"autoCreateTime:false"`
	}
	draftRow struct {
		QuoteID     int64 `gorm:"primaryKey;autoIncrement:false"`
		Revision    int   `gorm:"primaryKey;autoIncrement:false"`
		Title       string
		CustomerID  *int64
		Customer    *string
		Words       string
		ValidDays   *int
		Note        string
		PrivateNote string
		Request     string
	}
	bookRow struct {
		SHA256 string `gorm:"primaryKey;column:sha256"`
		Doc    string
	}
	revisionRow struct {
		QuoteID    int64 `gorm:"primaryKey;autoIncrement:false"`
		Revision   int   `gorm:"primaryKey;autoIncrement:false"`
		Head       string
		Request    string
		Customer   string
		Book       string
		Costing    string
		SHA256     string `gorm:"column:sha256"`
		Engine     string
		IssuedAt   store.Instant
		ValidUntil string
		Cost       int64
		Fees       int64
		Net        int64
		Discount   int64
		Gross      int64
	}
	eventRow struct {
		ID         int64 `gorm:"primaryKey"`
		QuoteID    *int64
		Revision   *int
		CustomerID *int64
		Event      string
		HappenedAt store.Instant
		EtagBefore string
		EtagAfter  string
		Doc        *string
		Net        *int64
		Gross      *int64
	}
	keyRow struct {
		Path      string `gorm:"primaryKey"`
		Key       string `gorm:"primaryKey"`
		Digest    string
		Number    string
		Etag      string
		Answer    string
		CreatedAt store.Instant `gorm:"autoCreateTime:false"`
	}
)

func (customerRow) TableName() string { return "customers" }
func (quoteRow) TableName() string    { return "quotes" }
func (draftRow) TableName() string    { return "drafts" }
func (bookRow) TableName() string     { return "books" }
func (revisionRow) TableName() string { return "revisions" }
func (eventRow) TableName() string    { return "events" }
func (keyRow) TableName() string      { return "keys" }

// digestOf returns the SHA-256 of a text in hexadecimal.
func digestOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
