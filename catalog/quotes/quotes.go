// Package quotes keeps customers and what was offered to them: a quote is a chain
// of revisions, each a draft until it is issued, and then as it was sent for ever.
// There is no call that changes an issued revision, and the database refuses it.
package quotes

import (
	"context"
	"fmt"
	"strconv"
	"sync"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
)

// A Ledger is the quotes and customers in the store of a catalogue, for use by many
// requests at once.
type Ledger struct {
	catalog *catalog.Catalog
	store   *store.Store
	books   bookTexts
}

// New returns the ledger in the store of a catalogue.
func New(c *catalog.Catalog) *Ledger { return &Ledger{catalog: c, store: c.Store()} }

// An Answer is a quote, or what was done to it, as JSON; Tag is the ETag of the
// quote as it stands then.
type Answer struct {
	Number string
	Tag    string
	Text   []byte
}

// A Match decides whether what stands, by its ETag, is what whoever changes it has
// seen; its error stops the change.
type Match func(tag string) error

// A NotFound says what there is not.
type NotFound struct{ What string }

// Error says what.
func (n *NotFound) Error() string { return "there is no " + n.What }

// Get returns a quote. Its draft is priced from the Book of today, or of the day that
// its request names. The error may be a *NotFound.
func (l *Ledger) Get(ctx context.Context, number string, today date.Date) (a Answer, err error) {
	err = l.store.Read(ctx, func(tx store.Tx) error {
		d, err := l.begin(tx, number, today)
		if err != nil {
			return err
		}
		a, err = d.present()
		return err
	})
	return a, err
}

// Create makes a quote with a number of its own, and its first draft. The error may
// be a fault.List, or a *Reused.
func (l *Ledger) Create(ctx context.Context, given Draft, today date.Date, once Once) (a Answer, err error) {
	answered, faults := false, given.faults()
	if once.Key != "" || given.Customer.ID != 0 {
		err = l.store.Read(ctx, func(tx store.Tx) error {
			if a, answered, err = once.answer(tx); answered || err != nil {
				return err
			}
			return l.address(tx, &given.Customer, &faults)
		})
		if answered || err != nil {
			return a, err
		}
	}
	b, err := l.catalog.Book(ctx, given.day(today))
	if err != nil {
		return a, err
	}
	o, err := price(b, given) // before the transaction that keeps it
	if err == nil {
		err = o.refusal(faults)
	}
	if err != nil {
		return a, err
	}
	err = l.store.Write(ctx, func(tx store.Tx) error {
		a, err = once.do(tx, func() (Answer, error) { return l.create(tx, o, today) })
		return err
	})
	return a, err
}

// refusal returns what is wrong with the draft of an offer, beside what was found
// before; nil for nothing.
func (o *offer) refusal(found fault.List) error {
	return append(found, o.faults...).Sorted(o.Draft).Err()
}

// create keeps an offer as the draft of a new quote.
func (l *Ledger) create(tx store.Tx, o offer, today date.Date) (a Answer, err error) {
	q := quoteRow{CreatedOn: today.String(), CreatedAt: tx.Now}
	if q.Year, err = strconv.Atoi(q.CreatedOn[:4]); err != nil {
		return a, err
	}
	if err := tx.Raw("SELECT 1 + coalesce(max(serial), 0) FROM quotes WHERE year = ?", q.Year).Row().Scan(&q.Serial); err != nil {
		return a, err
	}
	q.Number = fmt.Sprintf("%04d-%04d", q.Year, q.Serial)
	if err := tx.Create(&q).Error; err != nil {
		return a, err
	}
	d := &deed{ledger: l, tx: tx, today: today, quote: quote{quoteRow: q}}
	if err := d.open(o, created); err != nil {
		return a, err
	}
	a, err = d.present()
	if err != nil {
		return a, err
	}
	return a, d.record("", a.Tag)
}

// bookTexts keeps the text of the Book that was issued from last.
type bookTexts struct {
	mu   sync.Mutex
	of   *book.Book
	text bookRow
}

// textOf returns a Book as it is frozen.
func (t *bookTexts) textOf(b *book.Book) (bookRow, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.of == b {
		return t.text, nil
	}
	doc, err := wire.Encode(b.Data())
	if err != nil {
		return bookRow{}, err
	}
	t.of, t.text = b, bookRow{SHA256: digestOf(doc), Doc: string(doc)}
	return t.text, nil
}
