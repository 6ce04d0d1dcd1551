package quotes

import (
	"context"
	"fmt"
	"slices"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
)

// A Customer is one that is kept, to be named by its id.
type Customer struct {
	ID int64 `json:"id,omitzero"`
	pricing.Customer
	Phone       string `json:"phone,omitzero"`        // never printed, nor frozen
	PrivateNote string `json:"private_note,omitzero"` // neither
}

// Faults returns what is wrong with c, with pointers from its root.
func (c *Customer) Faults() (faults fault.List) {
	faults.Text("#", "name", c.Name, book.MaxText, true)
	faults.Text("#", "phone", c.Phone, book.MaxText, false)
	faults.Text("#", "private_note", c.PrivateNote, book.MaxNote, false)
	return append(faults, c.Customer.Faults()...).Sorted(c) // where it is said once
}

// words is what a search for a customer looks at.
func words(c *pricing.Customer) string {
	return folded(slices.Concat([]string{c.Name, c.Email}, c.Address, c.DeliveryAddress)...)
}

// tagged returns c as JSON, and its ETag.
func (c *Customer) tagged() (text []byte, tag string, err error) {
	text, err = wire.Encode(c)
	return text, wire.Tag(text), err
}

// Customer returns a customer and its ETag. The error may be a *NotFound.
func (l *Ledger) Customer(ctx context.Context, id int64) (c Customer, tag string, err error) {
	err = l.store.Read(ctx, func(tx store.Tx) error {
		c, err = findCustomer(tx, id)
		return err
	})
	if err == nil {
		_, tag, err = c.tagged()
	}
	return c, tag, err
}

func findCustomer(tx store.Tx, id int64) (c Customer, err error) {
	var rows []customerRow
	if err := tx.Where("id = ?", id).Find(&rows).Error; err != nil {
		return c, err
	}
	if len(rows) == 0 {
		return c, &NotFound{fmt.Sprintf("customer %d", id)}
	}
	err = wire.Decode([]byte(rows[0].Doc), &c)
	c.ID = id
	return c, keptWrong(err)
}

// AddCustomer keeps a customer, who gets an id, whatever c has. The error may be a
// fault.List.
func (l *Ledger) AddCustomer(ctx context.Context, c Customer) (Customer, string, error) {
	c.ID = 0
	return l.putCustomer(ctx, c, created, func(tx store.Tx, row *customerRow) (string, error) {
		row.CreatedAt = tx.Now
		return "", tx.Create(row).Error
	})
}

// PutCustomer makes a customer what c says, by its id. Drafts follow; what was issued
// stays. The error may be a fault.List or a *NotFound.
func (l *Ledger) PutCustomer(ctx context.Context, c Customer, match Match) (Customer, string, error) {
	return l.putCustomer(ctx, c, edited, func(tx store.Tx, row *customerRow) (string, error) {
		was, err := findCustomer(tx, row.ID)
		if err != nil {
			return "", err
		}
		_, tag, err := was.tagged()
		if err != nil {
			return "", err
		}
		if err := match(tag); err != nil {
			return "", err
		}
		return tag, tx.Model(row).Select("doc", "words").Updates(row).Error
	})
}

// putCustomer keeps c by what write does, which returns the ETag before.
func (l *Ledger) putCustomer(ctx context.Context, c Customer, event string, write func(store.Tx, *customerRow) (string, error)) (Customer, string, error) {
	if err := c.Faults().Err(); err != nil {
		return c, "", err
	}
	kept := c
	kept.ID = 0 // it is in a column
	doc, err := wire.Encode(kept)
	if err != nil {
		return c, "", err
	}
	row := customerRow{ID: c.ID, Doc: string(doc), Words: words(&c.Customer) + "\n" + folded(c.Phone)}
	var tag string
	err = l.store.Write(ctx, func(tx store.Tx) error {
		before, err := write(tx, &row)
		if err != nil {
			return err
		}
		c.ID = row.ID
		if _, tag, err = c.tagged(); err != nil || tag == before { // nothing is changed, and nothing happened
			return err
		}
		return tx.Create(&eventRow{CustomerID: &row.ID, Event: event, HappenedAt: tx.Now, EtagBefore: before, EtagAfter: tag, Doc: &row.Doc}).Error
	})
	return c, tag, err
}

// Customers returns at most that many customers whose name, addresses or telephone
// number have the text in them, whatever its case and accents, the latest first: those before one, by its id, or from the last when it is 0.
func (l *Ledger) Customers(ctx context.Context, text string, before int64, limit int) ([]Customer, error) {
	on := l.store.Glance(ctx).Where("instr(words, ?) > 0 OR ? = ''", folded(text), text)
	if before > 0 {
		on = on.Where("id < ?", before)
	}
	var rows []customerRow
	if err := on.Order("id DESC").Limit(limit).Find(&rows).Error; err != nil {
		return nil, err
	}
	all := make([]Customer, len(rows))
	for i, r := range rows {
		if err := wire.Decode([]byte(r.Doc), &all[i]); err != nil {
			return nil, keptWrong(err)
		}
		all[i].ID = r.ID
	}
	return all, nil
}
