package catalog

import (
	"database/sql/driver"
	"fmt"
	"slices"

	"reckoner/catalog/store"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// The rows of the tables.
type (
	catalogueRow struct {
		ID        int `gorm:"primaryKey"`
		Version   int64
		Currency  string
		ChangedAt store.Instant
	}
	entryRow struct {
		Class         string `gorm:"primaryKey"`
		Code          string `gorm:"primaryKey"`
		EffectiveFrom day    `gorm:"primaryKey"`
		Retired       bool
		Doc           text
	}
	priceRow struct {
		Code          string `gorm:"primaryKey"`
		EffectiveFrom day    `gorm:"primaryKey"`
		Rate          num.Rate
		Unit          unit.Unit
		UpdateID      *int64 // the price update that it came with
	}
	updateRow struct {
		ID          int64 `gorm:"primaryKey"`
		File        string
		SHA256      string `gorm:"column:sha256"`
		Rows        text
		Result      text
		PreviewedAt store.Instant
		AppliedAt   *store.Instant
		WithdrawnAt *store.Instant

		given []listRow // what Rows says, where it is at hand
	}
	updatePriceRow struct {
		UpdateID      int64  `gorm:"primaryKey"`
		Code          string `gorm:"primaryKey"`
		EffectiveFrom day    `gorm:"primaryKey"`
		OldRate       *num.Rate
		OldUnit       *unit.Unit
		OldUpdateID   *int64
	}
	changeRow struct {
		ID            int64 `gorm:"primaryKey"`
		ChangedAt     store.Instant
		Version       int64
		What          string
		Class         string
		Code          string
		EffectiveFrom day
		Before        text
		After         text
	}
)

func (catalogueRow) TableName() string   { return "catalogue" }
func (entryRow) TableName() string       { return "entries" }
func (priceRow) TableName() string       { return "prices" }
func (updateRow) TableName() string      { return "updates" }
func (updatePriceRow) TableName() string { return "update_prices" }
func (changeRow) TableName() string      { return "changes" }

// A day is a date as a column has it: YYYY-MM-DD, empty for no day.
type day struct{ date.Date }

// Value implements driver.Valuer.
func (d day) Value() (driver.Value, error) { return d.String(), nil }

// Scan implements sql.Scanner.
func (d *day) Scan(from any) (err error) {
	s, ok := from.(string)
	switch {
	case !ok:
		err = fmt.Errorf("%T is no date", from)
	case s == "":
		d.Date = date.Date{}
	default:
		d.Date, err = date.Parse(s)
	}
	return err
}

// A text is JSON as a column has it; nil is none.
type text []byte

// Value implements driver.Valuer: bytes would be a blob.
func (t text) Value() (driver.Value, error) {
	if t == nil {
		return nil, nil
	}
	return string(t), nil
}

// Scan implements sql.Scanner.
func (t *text) Scan(from any) error {
	switch v := from.(type) {
	case nil:
		*t = nil
	case string:
		*t = text(v)
	case []byte:
		*t = slices.Clone(v)
	default:
		return fmt.Errorf("%T is no text", from)
	}
	return nil
}
