package catalog

import (
	"context"

	"gorm.io/gorm"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// A Change is one thing that was done to the catalogue.
type Change struct {
	ID     int64     `json:"id"`
	At     string    `json:"at"`           // RFC 3339, UTC
	Book   int64     `json:"book_version"` // that it led to
	What   string    `json:"what"`         // put, retire, put_price, delete_price, apply_update, withdraw_update
	Class  string    `json:"class"`        // the name of a Class; item; update
	Code   string    `json:"code"`
	From   date.Date `json:"from,omitzero"`   // from when it holds
	Before wire.Text `json:"before,omitzero"` // how it stood, if it was there
	After  wire.Text `json:"after,omitzero"`
}

// Changes returns at most that many changes, the latest first: those before one,
// by its id, or from the last when it is 0.
func (c *Catalog) Changes(ctx context.Context, before int64, limit int) ([]Change, error) {
	on := c.store.Glance(ctx)
	if before > 0 {
		on = on.Where("id < ?", before)
	}
	var rows []changeRow
	if err := on.Order("id DESC").Limit(limit).Find(&rows).Error; err != nil {
		return nil, err
	}
	changes := make([]Change, len(rows))
	for i, r := range rows {
		changes[i] = Change{
			ID: r.ID, At: r.ChangedAt.String(), Book: r.Version, What: r.What, Class: r.Class, Code: r.Code,
			From: r.EffectiveFrom.Date, Before: wire.Text(r.Before), After: wire.Text(r.After),
		}
	}
	return changes, nil
}

// record raises the version of the catalogue and notes the change that did it. It
// is the last step of every change, in its transaction.
func record(tx store.Tx, change changeRow) error {
	err := tx.Model(&catalogueRow{}).Where("id = 1").
		Updates(map[string]any{"version": gorm.Expr("version + 1"), "changed_at": tx.Now}).Error
	if err != nil {
		return err
	}
	if change.Version, err = version(tx.DB); err != nil {
		return err
	}
	change.ChangedAt = tx.Now
	return tx.Create(&change).Error
}
