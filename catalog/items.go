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

	units []unit.Unit // by which it may be priced
}

// Unit returns the unit by which i is priced: that of its price, or the first that
// it may be priced by.
func (i Item) Unit() unit.Unit {
	if i.Price != nil {
		return i.Price.Unit
	}
	return i.units[0]
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

// Of returns the items of one class; of all when it is empty.
func (i Itemised) Of(class string) Itemised {
	if class != "" {
		i.Items = slices.DeleteFunc(i.Items, func(item Item) bool { return item.Class != class })
	}
	return i
}

// Items returns every item of d.
func (c *Catalog) Items(ctx context.Context, d date.Date) (all Itemised, err error) {
	err = c.store.Read(ctx, func(tx store.Tx) error {
		if all.Book, err = c.BookIn(tx, d); err != nil {
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

// A History is what an item has cost, costs and will cost, the oldest price first.
type History struct {
	Code        string `json:"code"`
	Class       string `json:"class"`
	Description string `json:"description"`
	Prices      []Span `json:"prices"`
}

// On returns h with none but the price of d; the error is a *NoPrice.
func (h History) On(d date.Date) (History, error) {
	for _, s := range h.Prices {
		if s.From.Compare(d) <= 0 && (s.Until.IsZero() || d.Compare(s.Until) < 0) {
			h.Prices = []Span{s}
			return h, nil
		}
	}
	none := &NoPrice{Code: h.Code, On: d}
	if len(h.Prices) > 0 {
		none.First = h.Prices[0].From
	}
	return h, none
}

// A NoPrice says that an item has no price on a day.
type NoPrice struct {
	Code      string
	On, First date.Date // First is when its first price begins, if it has any
}

// Error says so.
func (n *NoPrice) Error() string {
	if n.First.IsZero() {
		return fmt.Sprintf("%s has no price on %s, nor on any other day", n.Code, n.On)
	}
	return fmt.Sprintf("%s has no price on %s: its first begins on %s", n.Code, n.On, n.First)
}

// Prices returns the history of an item that there is on d, or will be after it; the
// error may be a *NotFound.
func (c *Catalog) Prices(ctx context.Context, code string, d date.Date) (h History, err error) {
	err = c.store.Read(ctx, func(tx store.Tx) error {
		h, err = c.history(tx, code, d)
		return err
	})
	return h, err
}

// history is Prices within a transaction.
func (c *Catalog) history(tx store.Tx, code string, d date.Date) (h History, err error) {
	item, err := c.known(tx, code, d)
	if err != nil {
		return h, err
	}
	h = History{Code: item.Code, Class: item.Class, Description: item.Description}
	h.Prices, err = spansOf(tx, code)
	return h, err
}

// spansOf returns every price of a code, the oldest first.
func spansOf(tx store.Tx, code string) ([]Span, error) {
	var rows []priceRow
	if err := tx.Where("code = ?", code).Order("effective_from").Find(&rows).Error; err != nil {
		return nil, err
	}
	spans := make([]Span, len(rows))
	for i, r := range rows {
		spans[i] = Span{Rate: r.Rate, Unit: r.Unit, From: r.EffectiveFrom.Date}
		if i > 0 {
			spans[i-1].Until = r.EffectiveFrom.Date
		}
	}
	return spans, nil
}

// known returns an item as it is on d or, if it begins after d, as it is last.
func (c *Catalog) known(tx store.Tx, code string, d date.Date) (Item, error) {
	var last day
	if err := tx.Raw("SELECT max(effective_from) FROM entries").Row().Scan(&last); err != nil {
		return Item{}, err
	}
	for _, on := range []date.Date{d, last.Date} {
		if on.Compare(d) < 0 {
			break
		}
		b, err := c.BookIn(tx, on)
		if err != nil {
			return Item{}, err
		}
		items := itemsOf(b.Data())
		if i := slices.IndexFunc(items, func(item Item) bool { return item.Code == code }); i >= 0 {
			return items[i], nil
		}
	}
	return Item{}, &NotFound{"item", code, d}
}

// itemsOf returns the items of a Book by code.
func itemsOf(d *book.Data) (items []Item) {
	add := func(class, code, description string, p *book.Price, units []unit.Unit) {
		item := Item{Code: code, Class: class, Description: description, units: units}
		if p != nil {
			item.Price = &Span{Rate: p.Rate, Unit: p.Unit, From: p.From}
		}
		items = append(items, item)
	}
	for i := range d.Timbers {
		t := &d.Timbers[i]
		for k := range t.Thicknesses {
			add("timber", t.Thicknesses[k].Code, t.Sawn(&t.Thicknesses[k]), t.Thicknesses[k].Price, t.Thicknesses[k].Units())
		}
	}
	for _, s := range d.Sheets {
		add("sheet", s.Code, s.Description, s.Price, s.Units())
	}
	for _, s := range d.Supplies {
		add("supply", s.Code, s.Description, s.Price, s.Units())
	}
	for _, f := range d.Ironmongery {
		add("ironmongery", f.Code, f.Description, f.Price, f.Units())
	}
	for _, g := range d.Labour {
		add("labour", g.Code, g.Description, g.Price, g.Units())
	}
	slices.SortFunc(items, func(a, b Item) int { return cmp.Compare(a.Code, b.Code) })
	return items
}

// unitsOf returns the units by which each item of a Book may be priced, by code.
func unitsOf(d *book.Data) map[string][]unit.Unit {
	units := make(map[string][]unit.Unit, len(d.Sheets)+len(d.Supplies)+len(d.Ironmongery)+len(d.Labour))
	thickness, sheet, supply, fitting, grade := (*book.Thickness)(nil).Units(), (*book.Sheet)(nil).Units(), (*book.Supply)(nil).Units(), (*book.Fitting)(nil).Units(), (*book.Grade)(nil).Units()
	for i := range d.Timbers {
		for k := range d.Timbers[i].Thicknesses {
			units[d.Timbers[i].Thicknesses[k].Code] = thickness
		}
	}
	for i := range d.Sheets {
		units[d.Sheets[i].Code] = sheet
	}
	for i := range d.Supplies {
		units[d.Supplies[i].Code] = supply
	}
	for i := range d.Ironmongery {
		units[d.Ironmongery[i].Code] = fitting
	}
	for i := range d.Labour {
		units[d.Labour[i].Code] = grade
	}
	return units
}
