package catalog

import (
	"context"
	"strings"

	"gorm.io/gorm/clause"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A NewPrice is what an item is to cost: rate for one unit.
type NewPrice struct {
	Rate *num.Rate `json:"rate"`
	Unit unit.Unit `json:"unit"`
}

// A PriceChange is a price of an item from a day on, or none in its place.
type PriceChange struct {
	Code  string
	From  date.Date
	Price *NewPrice           // nil: the price that begins on that day is taken away
	Today date.Date           // of which the item is
	Match func(History) error // decides whether the change may be made of what stands
}

// ChangePrice makes the change and returns the item's history after it. The error
// is what match says, a *NotFound, a fault.List of the new price, or a *Broken.
func (c *Catalog) ChangePrice(ctx context.Context, p PriceChange) (after History, err error) {
	err = c.store.Write(ctx, func(tx store.Tx) error {
		before, err := c.history(tx, p.Code, p.Today)
		if err != nil {
			return err
		}
		if err := p.Match(before); err != nil {
			return err
		}
		if err := p.write(tx); err != nil {
			return err
		}
		if err := pricesFit(tx, p.From); err != nil {
			return err
		}
		after = before
		if after.Prices, err = spansOf(tx, p.Code); err != nil {
			return err
		}
		return p.record(tx, before, after)
	})
	return after, err
}

// write puts the price in its place, or takes it away.
func (p PriceChange) write(tx store.Tx) error {
	if p.Price == nil {
		gone := tx.Where("code = ? AND effective_from = ?", p.Code, day{p.From}).Delete(&priceRow{})
		if gone.Error == nil && gone.RowsAffected == 0 {
			return &NotFound{"price", p.Code, p.From}
		}
		return gone.Error
	}
	if p.Price.Rate == nil {
		return fault.List{{Pointer: "#/rate", Detail: "the rate is missing: write it, such as \"1850.00\""}}
	}
	if err := p.fits(tx); err != nil {
		return err
	}
	row := priceRow{Code: p.Code, EffectiveFrom: day{p.From}, Rate: *p.Price.Rate, Unit: p.Price.Unit}
	return tx.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error
}

// fits checks the price in the Book of its first day: whether its rate is in range
// and its unit one that the item is priced by.
func (p PriceChange) fits(tx store.Tx) error {
	data, err := dataOf(tx, p.From)
	if err != nil {
		return err
	}
	at := priced(&data)[p.Code]
	if at == nil {
		return &NotFound{"item", p.Code, p.From}
	}
	*at = &book.Price{Rate: *p.Price.Rate, Unit: p.Price.Unit, From: p.From}
	_, err = book.New(data)
	faults, bad := err.(fault.List)
	if !bad {
		return err
	}
	var own fault.List
	for _, f := range faults {
		if _, member, ok := strings.Cut(f.Pointer, "/price/"); ok {
			own = append(own, fault.FieldError{Pointer: "#/" + member, Detail: f.Detail})
		}
	}
	if own != nil {
		return own
	}
	return &Broken{p.From, faults}
}

// pricesFit checks, after a change of prices from d on, the Book of each day from
// then on which an entry begins: its code may be that of another kind of thing from
// then on, which is priced by other units.
func pricesFit(tx store.Tx, d date.Date) error {
	days, err := entriesBegin(tx, d)
	if err != nil {
		return err
	}
	for _, d := range days {
		data, err := dataOf(tx, d.Date)
		if err != nil {
			return err
		}
		_, err = book.New(data)
		if faults, bad := err.(fault.List); bad {
			return &Broken{d.Date, faults}
		} else if err != nil {
			return err
		}
	}
	return nil
}

// entriesBegin returns the days from d on on which an entry begins.
func entriesBegin(tx store.Tx, d date.Date) (days []day, err error) {
	err = tx.Raw("SELECT DISTINCT effective_from FROM entries WHERE effective_from >= ? ORDER BY 1", day{d}).Scan(&days).Error
	return days, err
}

// record notes the change of the price that begins on its day.
func (p PriceChange) record(tx store.Tx, before, after History) error {
	was, err := spanFrom(before, p.From)
	if err != nil {
		return err
	}
	is, err := spanFrom(after, p.From)
	if err != nil {
		return err
	}
	what := "put_price"
	if p.Price == nil {
		what = "delete_price"
	}
	return record(tx, changeRow{What: what, Class: "item", Code: p.Code, EffectiveFrom: day{p.From}, Before: was, After: is})
}

// spanFrom returns the JSON of the price that begins on d, nil if none does.
func spanFrom(h History, d date.Date) (text, error) {
	for _, s := range h.Prices {
		if s.From == d {
			return wire.Encode(NewPrice{&s.Rate, s.Unit})
		}
	}
	return nil, nil
}
