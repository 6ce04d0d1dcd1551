package catalog

import (
	"embed"
	"fmt"
	"slices"

	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

//go:embed starter/book.json starter/prices.csv
var starter embed.FS

// Starter returns the Book of the starter catalogue on d: what is known of an
// invented workshop, with the prices in force on that day. What has no price yet
// on d has none in the Book.
func Starter(d date.Date) (*book.Book, error) {
	data, err := starterData()
	if err != nil {
		return nil, err
	}
	prices, err := starterPrices(data.Currency)
	if err != nil {
		return nil, err
	}
	data.AsOf = d
	for code, at := range priced(&data) {
		if e, _, ok := prices[code].On(d); ok {
			p := e.Value
			p.From = e.From
			*at = &p
		}
	}
	return book.New(data)
}

// starterData returns the starter catalogue without prices.
func starterData() (data book.Data, err error) {
	text, err := starter.ReadFile("starter/book.json")
	if err != nil {
		return data, err
	}
	if err := wire.Decode(text, &data); err != nil {
		return data, fmt.Errorf("starter/book.json: %w", err)
	}
	return data, nil
}

// starterPrices returns the prices of the starter catalogue by code.
func starterPrices(currency num.Currency) (map[string]date.Schedule[book.Price], error) {
	text, err := starter.ReadFile("starter/prices.csv")
	if err != nil {
		return nil, err
	}
	rows, err := wire.Table(text, []string{"code", "price", "unit", "currency", "effective_from"}, []string{"supplier", "note"})
	if err != nil {
		return nil, fmt.Errorf("starter/prices.csv: %w", err)
	}
	prices := make(map[string]date.Schedule[book.Price])
	for _, r := range rows {
		from, err := date.Parse(r.Cell("effective_from"))
		if err != nil {
			return nil, fmt.Errorf("starter/prices.csv: row %d: %w", r.Number, err)
		}
		p := book.Price{Unit: unit.Unit(r.Cell("unit"))}
		if err := p.Rate.UnmarshalText([]byte(r.Cell("price"))); err != nil {
			return nil, fmt.Errorf("starter/prices.csv: row %d: %w", r.Number, err)
		}
		if c := r.Cell("currency"); c != currency.String() {
			return nil, fmt.Errorf("starter/prices.csv: row %d: %s is not the currency of the book", r.Number, c)
		}
		code := r.Cell("code")
		prices[code] = append(prices[code], date.Dated[book.Price]{From: from, Value: p})
	}
	for _, s := range prices {
		slices.SortFunc(s, func(a, b date.Dated[book.Price]) int { return a.From.Compare(b.From) })
	}
	return prices, nil
}

// priced returns where the price of each code stands in d.
func priced(d *book.Data) map[string]**book.Price {
	at := make(map[string]**book.Price)
	for i := range d.Timbers {
		for k := range d.Timbers[i].Thicknesses {
			t := &d.Timbers[i].Thicknesses[k]
			at[t.Code] = &t.Price
		}
	}
	for i := range d.Sheets {
		at[d.Sheets[i].Code] = &d.Sheets[i].Price
	}
	for i := range d.Supplies {
		at[d.Supplies[i].Code] = &d.Supplies[i].Price
	}
	for i := range d.Ironmongery {
		at[d.Ironmongery[i].Code] = &d.Ironmongery[i].Price
	}
	for i := range d.Labour {
		at[d.Labour[i].Code] = &d.Labour[i].Price
	}
	return at
}

// unpriced returns d without its prices; d stays as it is.
func unpriced(d *book.Data) book.Data {
	bare := copied(d)
	for _, at := range priced(&bare) {
		*at = nil
	}
	return bare
}

// copied returns d with lists of its own, so that its prices can be changed.
func copied(d *book.Data) book.Data {
	own := *d
	own.Timbers = slices.Clone(d.Timbers)
	for i := range own.Timbers {
		own.Timbers[i].Thicknesses = slices.Clone(own.Timbers[i].Thicknesses)
	}
	own.Sheets, own.Supplies = slices.Clone(d.Sheets), slices.Clone(d.Supplies)
	own.Ironmongery, own.Labour = slices.Clone(d.Ironmongery), slices.Clone(d.Labour)
	return own
}
