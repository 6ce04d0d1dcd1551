package catalog

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"reckoner/catalog/store"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A NotFound says that something with a code is not there.
type NotFound struct {
	Class string // "item", or the name of a Class
	Code  string
	On    date.Date
}

// Error says what is not there, and when.
func (e *NotFound) Error() string {
	return fmt.Sprintf("there is no %s with the code %q on %s", e.Class, e.Code, e.On)
}

// An Item is what has a price: a thickness of a timber, a sheet, a supply, an item
// of ironmongery, a grade of labour.
type Item struct {
	Code        string `json:"code"`
	Class       string `json:"class"` // the name of a Class
	Description string `json:"description"`
	Price       *Span  `json:"price,omitzero"` // none yet on the day meant
}

// A Span is a price and how long it holds.
type Span struct {
	Rate  num.Rate  `json:"rate"`
	Unit  unit.Unit `json:"unit"`
	From  date.Date `json:"from"`
	Until date.Date `json:"until,omitzero"` // the first day on which it does not; none: no later price is known
}

// An Itemised is a Book and its items, by code, with the spans of their prices.
type Itemised struct {
	Book  *book.Book
	Items []Item
}

// Items returns every item of d.
func (c *Catalog) Items(ctx context.Context, d date.Date) (all Itemised, err error) {
	err = c.store.Read(ctx, func(tx store.Tx) error {
		if all.Book, err = c.book(tx, d); err != nil {
			return err
		}
		until, err := nextPrices(tx, d)
		if err != nil {
			return err
		}
		all.Items = itemsOf(all.Book.Data())
		for _, item := range all.Items {
			if item.Price != nil {
				item.Price.Until = until[item.Code]
			}
		}
		return nil
	})
	return all, err
}

// nextPrices returns the day of the first price after d, by code.
func nextPrices(tx store.Tx, d date.Date) (map[string]date.Date, error) {
	rows, err := tx.Raw("SELECT code, min(effective_from) FROM prices WHERE effective_from > ? GROUP BY code", day{d}).Rows()
	if err != nil {
		return nil, err
	}
	next := make(map[string]date.Date)
	for rows.Next() {
		var code string
		var from day
		if err := rows.Scan(&code, &from); err != nil {
			return nil, errors.Join(err, rows.Close())
		}
		next[code] = from.Date
	}
	return next, errors.Join(rows.Err(), rows.Close())
}

// Item returns one item of d; the error may be a *NotFound.
func (c *Catalog) Item(ctx context.Context, code string, d date.Date) (Item, error) {
	all, err := c.Items(ctx, d)
	if err != nil {
		return Item{}, err
	}
	i := slices.IndexFunc(all.Items, func(item Item) bool { return item.Code == code })
	if i < 0 {
		return Item{}, &NotFound{"item", code, d}
	}
	return all.Items[i], nil
}

// Prices returns every price that an item of d has, had or will have, the oldest
// first; the error may be a *NotFound.
func (c *Catalog) Prices(ctx context.Context, code string, d date.Date) (Item, []Span, error) {
	item, err := c.Item(ctx, code, d)
	if err != nil {
		return Item{}, nil, err
	}
	var rows []priceRow
	if err := c.store.Glance(ctx).Where("code = ?", code).Order("effective_from").Find(&rows).Error; err != nil {
		return Item{}, nil, err
	}
	spans := make([]Span, len(rows))
	for i, r := range rows {
		spans[i] = Span{Rate: r.Rate, Unit: r.Unit, From: r.EffectiveFrom.Date}
		if i > 0 {
			spans[i-1].Until = r.EffectiveFrom.Date
		}
	}
	return item, spans, nil
}

// itemsOf returns the items of a Book by code.
func itemsOf(d *book.Data) (items []Item) {
	add := func(class, code, description string, p *book.Price) {
		item := Item{Code: code, Class: class, Description: description}
		if p != nil {
			item.Price = &Span{Rate: p.Rate, Unit: p.Unit, From: p.From}
		}
		items = append(items, item)
	}
	for i := range d.Timbers {
		t := &d.Timbers[i]
		for k := range t.Thicknesses {
			add("timber", t.Thicknesses[k].Code, t.Sawn(&t.Thicknesses[k]), t.Thicknesses[k].Price)
		}
	}
	for _, s := range d.Sheets {
		add("sheet", s.Code, s.Description, s.Price)
	}
	for _, s := range d.Supplies {
		add("supply", s.Code, s.Description, s.Price)
	}
	for _, f := range d.Ironmongery {
		add("ironmongery", f.Code, f.Description, f.Price)
	}
	for _, g := range d.Labour {
		add("labour", g.Code, g.Description, g.Price)
	}
	slices.SortFunc(items, func(a, b Item) int { return cmp.Compare(a.Code, b.Code) })
	return items
}
