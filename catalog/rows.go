package catalog

import (
	"database/sql/driver"
	"fmt"

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
	}
)

func (catalogueRow) TableName() string { return "catalogue" }
func (entryRow) TableName() string     { return "entries" }
func (priceRow) TableName() string     { return "prices" }

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

// A text is JSON as a column has it.
type text []byte

// Value implements driver.Valuer: bytes would be a blob.
func (t text) Value() (driver.Value, error) { return string(t), nil }
