// Package catalog keeps what the workshop knows, by date, and makes the Book of a
// date from it. The starter catalogue, of an invented workshop, ships with the
// program: a new store begins with it, and it is there without one.
package catalog

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"gorm.io/gorm"

	"reckoner/catalog/store"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// A Catalog is the dated entries and prices in one store, for use by many
// requests at once.
type Catalog struct {
	store *store.Store
	cache cache
}

// Open opens the store in the file at path (see store.Open); one that is new gets
// the starter catalogue.
func Open(ctx context.Context, path string) (*Catalog, error) {
	s, err := store.Open(ctx, path, store.Config{Filled: filled, Fill: fill})
	if err != nil {
		return nil, err
	}
	return &Catalog{store: s}, nil
}

// Close closes the store.
func (c *Catalog) Close() error { return c.store.Close() }

// Store returns the store, for what else is kept in it.
func (c *Catalog) Store() *store.Store { return c.store }

// Version returns the version of the catalogue, which goes up with every change.
func (c *Catalog) Version(ctx context.Context) (int64, error) { return version(c.store.Glance(ctx)) }

// CurrencyIn returns the currency of every amount of the catalogue.
func CurrencyIn(tx store.Tx) (c num.Currency, err error) {
	var code string
	if err := tx.Raw("SELECT currency FROM catalogue").Row().Scan(&code); err != nil {
		return c, err
	}
	return num.ParseCurrency(code)
}

func version(on *gorm.DB) (v int64, err error) {
	err = on.Raw("SELECT version FROM catalogue").Row().Scan(&v)
	return v, err
}

// Book returns the Book of d: of every entry and price, the latest not after d.
// It reads the version of the catalogue and makes the Book only when no cached one
// has that version and date, so that a change is seen at once, whoever made it.
func (c *Catalog) Book(ctx context.Context, d date.Date) (b *book.Book, err error) {
	v, err := c.Version(ctx)
	if err != nil {
		return nil, err
	}
	if b := c.cache.find(edition{v, d}); b != nil {
		return b, nil
	}
	err = c.store.Read(ctx, func(tx store.Tx) error {
		b, err = c.BookIn(tx, d)
		return err
	})
	return b, err
}

// BookIn is Book within a transaction that has not written anything that a Book
// holds: what it makes is kept.
func (c *Catalog) BookIn(tx store.Tx, d date.Date) (*book.Book, error) {
	v, err := version(tx.DB)
	if err != nil {
		return nil, err
	}
	if b := c.cache.find(edition{v, d}); b != nil {
		return b, nil
	}
	data, err := dataOf(tx, d)
	if err != nil {
		return nil, err
	}
	b, err := book.New(data)
	if err != nil { // of what is kept, not of what anybody sent: no fault.List
		return nil, fmt.Errorf("what is kept makes no book of %s: %v", d, err)
	}
	return c.cache.keep(b), nil
}

// dataOf returns what is in force on d.
func dataOf(tx store.Tx, d date.Date) (data book.Data, err error) {
	var row catalogueRow
	if err := tx.Take(&row).Error; err != nil {
		return data, err
	}
	data.Version, data.AsOf = row.Version, d
	if err := data.Currency.UnmarshalText([]byte(row.Currency)); err != nil {
		return data, err
	}
	if err := readEntries(tx, &data); err != nil {
		return data, err
	}
	return data, readPrices(tx, &data)
}

// A keptEntry is the JSON of an entry, and its code.
type keptEntry struct {
	code string
	doc  []byte
}

// readEntries puts the entries in force into data.
func readEntries(tx store.Tx, data *book.Data) error {
	rows, err := tx.Raw(`SELECT e.class, e.code, e.doc FROM entries e JOIN (
			SELECT class, code, max(effective_from) AS effective_from FROM entries WHERE effective_from <= ? GROUP BY class, code
		) AS latest ON latest.class = e.class AND latest.code = e.code AND latest.effective_from = e.effective_from
		WHERE NOT e.retired`, day{data.AsOf}).Rows()
	if err != nil {
		return err
	}
	kept := make(map[string][]keptEntry)
	for rows.Next() {
		var class string
		var e keptEntry
		if err := rows.Scan(&class, &e.code, &e.doc); err != nil {
			return errors.Join(err, rows.Close())
		}
		kept[class] = append(kept[class], e)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return err
	}
	for _, c := range append(Classes(), Terms()) {
		list := kept[c.Name]
		slices.SortFunc(list, func(a, b keptEntry) int { return cmp.Compare(a.code, b.code) }) // by bytes, whatever a database sorts by
		docs := make([][]byte, len(list))
		for i, e := range list {
			docs[i] = e.doc
		}
		if err := c.read(data, docs); err != nil {
			return fmt.Errorf("what is kept of the class %s cannot be read: %v", c.Name, err)
		}
	}
	slices.SortStableFunc(data.Stages, func(a, b book.Stage) int { return a.Position - b.Position })
	return nil
}

// readPrices puts the prices in force into data.
func readPrices(tx store.Tx, data *book.Data) error {
	at := priced(data)
	rows, err := tx.Raw(`SELECT p.code, p.rate, p.unit, p.effective_from FROM prices p JOIN (
			SELECT code, max(effective_from) AS effective_from FROM prices WHERE effective_from <= ? GROUP BY code
		) AS latest ON latest.code = p.code AND latest.effective_from = p.effective_from`, day{data.AsOf}).Rows()
	if err != nil {
		return err
	}
	for rows.Next() {
		var r priceRow
		if err := rows.Scan(&r.Code, &r.Rate, &r.Unit, &r.EffectiveFrom); err != nil {
			return errors.Join(err, rows.Close())
		}
		if p := at[r.Code]; p != nil { // not of an item that is retired
			*p = &book.Price{Rate: r.Rate, Unit: r.Unit, From: r.EffectiveFrom.Date}
		}
	}
	return errors.Join(rows.Err(), rows.Close())
}

// An edition is what tells one Book from another of the same catalogue.
type edition struct {
	version int64
	asOf    date.Date
}

// A cache keeps the Books used last.
type cache struct {
	mu    sync.Mutex
	books []*book.Book // the latest first
}

const maxCached = 16

// find returns the Book of that edition, or nil.
func (c *cache) find(e edition) *book.Book {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.first(e)
}

// keep puts b among the Books kept, if none of its edition is there, and returns
// the one that is.
func (c *cache) keep(b *book.Book) *book.Book {
	c.mu.Lock()
	defer c.mu.Unlock()
	if kept := c.first(editionOf(b)); kept != nil {
		return kept
	}
	if len(c.books) < maxCached {
		c.books = append(c.books, nil)
	}
	copy(c.books[1:], c.books)
	c.books[0] = b
	return b
}

// first puts the Book of that edition before the others and returns it.
func (c *cache) first(e edition) *book.Book {
	i := slices.IndexFunc(c.books, func(b *book.Book) bool { return editionOf(b) == e })
	if i < 0 {
		return nil
	}
	b := c.books[i]
	copy(c.books[1:], c.books[:i])
	c.books[0] = b
	return b
}

func editionOf(b *book.Book) edition { return edition{b.Data().Version, b.Data().AsOf} }
