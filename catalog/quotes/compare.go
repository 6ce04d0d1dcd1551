package quotes

import (
	"context"
	"fmt"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
)

// Compare returns how a revision of a quote differs from another: of what was issued
// as it was sent, of a draft as it is priced today. The error may be a *NotFound, or a
// fault.List where a draft cannot be priced.
func (l *Ledger) Compare(ctx context.Context, number string, from, to int, today date.Date) (c pricing.Comparison, err error) {
	err = l.store.Read(ctx, func(tx store.Tx) error {
		d, err := l.begin(tx, number, today)
		if err != nil {
			return err
		}
		var sides [2]pricing.Costing
		for i, revision := range []int{from, to} {
			if sides[i], err = d.costingOf(revision); err != nil {
				return err
			}
		}
		c, err = pricing.Compare(&sides[0], &sides[1])
		return err
	})
	return c, err
}

// costingOf returns what a revision comes to.
func (d *deed) costingOf(revision int) (c pricing.Costing, err error) {
	if revision < 1 || revision > len(d.revisions) || d.revisions[revision-1].Status == void {
		return c, &NotFound{fmt.Sprintf("revision %d of %s that has a price", revision, d.Number)}
	}
	if d.revisions[revision-1].Status == draft {
		return d.costing, d.faults.Err()
	}
	var row revisionRow
	if err := d.tx.Select("costing").Where("quote_id = ? AND revision = ?", d.ID, revision).Take(&row).Error; err != nil {
		return c, err
	}
	return c, keptWrong(wire.Decode([]byte(row.Costing), &c))
}
