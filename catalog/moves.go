package catalog

import (
	"cmp"
	"slices"
	"strings"

	"reckoner/catalog/store"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
)

// LastUpdateIn returns the number of the update that was applied last and is in
// force; 0: there is none.
func LastUpdateIn(tx store.Tx) (id int64, err error) {
	err = tx.Raw("SELECT coalesce((SELECT id FROM updates WHERE applied_at IS NOT NULL AND withdrawn_at IS NULL ORDER BY applied_at DESC, id DESC LIMIT 1), 0)").Row().Scan(&id)
	return id, err
}

// Moves returns the rows that change a price, by code and then by their dates.
func (u *Update) Moves() (rows []UpdateRow) {
	for _, r := range u.Rows {
		if r.changes() {
			rows = append(rows, r)
		}
	}
	slices.SortStableFunc(rows, func(a, b UpdateRow) int { return cmp.Or(strings.Compare(a.Code, b.Code), a.From.Compare(b.From)) })
	return rows
}

// On returns the Book that b would be with the update applied. The error may be a
// *Broken.
func (u *Update) On(b *book.Book) (*book.Book, error) {
	data := copied(b.Data())
	at := priced(&data)
	for _, r := range u.Rows {
		p := at[r.Code]
		if p == nil || !r.changes() || r.From.Compare(data.AsOf) > 0 || *p != nil && (*p).From.Compare(r.From) > 0 {
			continue
		}
		*p = &book.Price{Rate: *r.New, Unit: r.Unit, From: r.From}
	}
	is, err := book.New(data)
	if faults, bad := err.(fault.List); bad {
		return nil, &Broken{data.AsOf, faults}
	}
	return is, err
}
