package catalog

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"unicode"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A listRow is a row of a price list as it was read.
type listRow struct {
	Row      int    `json:"row"`
	Code     string `json:"code"`
	Price    string `json:"price"`
	Unit     string `json:"unit"`
	Currency string `json:"currency"`
	From     string `json:"effective_from"`
	Supplier string `json:"supplier,omitzero"`
	Note     string `json:"note,omitzero"`
}

// readList returns the rows of a list. Before a code that begins with a sign a
// price list in CSV has an apostrophe, which no code has.
func readList(rows []wire.Row) []listRow {
	all := make([]listRow, len(rows))
	for i, r := range rows {
		all[i] = listRow{r.Number, strings.TrimPrefix(r.Cell("code"), "'"), r.Cell("price"), r.Cell("unit"), r.Cell("currency"), r.Cell("effective_from"), r.Cell("supplier"), r.Cell("note")}
	}
	return all
}

// An owned is a price and the update that it is of, if any.
type owned struct {
	Rate     num.Rate
	Unit     unit.Unit
	UpdateID *int64
}

// pricesNow returns every price there is of those codes, by code, and perhaps of
// others.
func pricesNow(tx store.Tx, codes []string) (map[string]date.Schedule[owned], error) {
	on := tx.Select("code, effective_from, rate, unit, update_id").Table("prices").Order("code, effective_from")
	if len(codes) <= batch { // of many it is quicker to read all
		on = on.Where("code IN ?", codes)
	}
	rows, err := on.Rows()
	if err != nil {
		return nil, err
	}
	all, of := make(map[string]date.Schedule[owned]), ""
	var one date.Schedule[owned]
	for rows.Next() {
		var r priceRow
		if err := rows.Scan(&r.Code, &r.EffectiveFrom, &r.Rate, &r.Unit, &r.UpdateID); err != nil {
			return nil, errors.Join(err, rows.Close())
		}
		if r.Code != of {
			all[of], of, one = one, r.Code, nil
		}
		one = append(one, date.Dated[owned]{From: r.EffectiveFrom.Date, Value: owned{r.Rate, r.Unit, r.UpdateID}})
	}
	all[of] = one // and at first that of no code, with no price
	return all, errors.Join(rows.Err(), rows.Close())
}

// A judgement is what becomes of the rows of a price list, and what is to be known of
// them together. Of each row that changes a price, stood is what its price takes the
// place of: nil for none of that very day.
type judgement struct {
	rows  []UpdateRow
	stood []*owned
	notes []string
}

// A judge says what becomes of the rows of a price list.
type judge struct {
	today    date.Date
	currency num.Currency
	large    num.Percent
	prices   map[string]date.Schedule[owned]
	units    func(date.Date) (map[string][]unit.Unit, error) // by which the items of a day may be priced
	seen     map[string]int                                  // date and code: row
}

// judge judges rows as things stand.
func (c *Catalog) judge(tx store.Tx, given []listRow, today date.Date, tell Progress) (all judgement, err error) {
	b, err := c.BookIn(tx, today)
	if err != nil {
		return all, err
	}
	codes := make([]string, len(given))
	for i, g := range given {
		codes[i] = g.Code
	}
	prices, err := pricesNow(tx, codes)
	if err != nil {
		return all, err
	}
	units, err := c.unitsOn(tx, b)
	if err != nil {
		return all, err
	}
	j := judge{today: today, currency: b.Data().Currency, large: b.Data().Terms.Large(), prices: prices, units: units, seen: make(map[string]int, len(given))}
	all = judgement{make([]UpdateRow, len(given)), make([]*owned, len(given)), []string{}}
	past := 0
	for n, i := range byDate(given) {
		tell.tell(n+1, len(given))
		r := &all.rows[i]
		if *r, err = j.row(given[i]); err != nil {
			return all, err
		}
		if r.changes() {
			all.stood[i] = j.stands(r)
			if r.From.Compare(today) < 0 {
				past++
			}
		}
	}
	if past > 0 {
		all.notes = append(all.notes, fmt.Sprintf("prices that begin before today: %d. Costings of those days change; what was issued stays as it was sent.", past))
	}
	return all, nil
}

// byDate returns the numbers of the rows in the order of their dates, so that each is
// judged by what stands before it in the list too; those of one date as they stand.
func byDate(given []listRow) []int {
	order := make([]int, len(given))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(given[a].From, given[b].From) })
	return order
}

// unitsOn returns the units by which the items of a day may be priced, by code. They
// are the same on all days until the next on which an entry begins: on those about
// that of b, they are b's.
func (c *Catalog) unitsOn(tx store.Tx, b *book.Book) (func(date.Date) (map[string][]unit.Unit, error), error) {
	begins, err := entriesBegin(tx, date.Date{})
	if err != nil {
		return nil, err
	}
	span := func(d date.Date) int {
		return sort.Search(len(begins), func(i int) bool { return begins[i].Compare(d) > 0 })
	}
	known := make(map[int]map[string][]unit.Unit)
	return func(d date.Date) (map[string][]unit.Unit, error) {
		at := span(d)
		if known[at] == nil {
			of := b
			if at != span(b.Data().AsOf) {
				if of, err = c.BookIn(tx, d); err != nil {
					return nil, err
				}
			}
			known[at] = unitsOf(of.Data())
		}
		return known[at], nil
	}, nil
}

// row judges one row. The first thing that is wrong with it is said.
func (j *judge) row(g listRow) (r UpdateRow, err error) {
	r = UpdateRow{Row: g.Row, Code: g.Code, Outcome: outcomeRefused}
	if r.From, err = date.Parse(g.From); err != nil {
		return r.refused("effective_from", "%s", missing(g.From, "a date such as 2026-12-01", err)), nil
	}
	items, err := j.units(r.From)
	if err != nil {
		return r, err
	}
	units, known := items[g.Code]
	if _, _, priced := j.prices[g.Code].On(r.From); known && g.Price == "" && !priced { // it had none, and has none
		r.Outcome = outcomeUnchanged
		return r, nil
	}
	rate, err := parsePrice(g.Price)
	if err != nil {
		return r.refused("price", "%s", err), nil
	}
	place := g.From + g.Code
	switch first, twice := j.seen[place]; {
	case g.Code == "":
		return r.refused("code", "the code is missing: write that of what the price is of"), nil
	case !known:
		return r.refused("code", "%q is nothing that has a price on %s: check its spelling", g.Code, r.From), nil
	case twice:
		return r.refused("code", "row %d has a price of %s from %s already: leave one out", first, g.Code, r.From), nil
	case g.Currency != j.currency.String():
		return r.refused("currency", "%q is not the currency of the book: write the price in %s", g.Currency, j.currency), nil
	case r.From.Compare(j.today.AddDays(366)) > 0:
		return r.refused("effective_from", "%s is more than a year ahead of %s: is the year right?", r.From, j.today), nil
	}
	j.seen[place] = g.Row
	return j.priced(r, units, rate, unit.Unit(g.Unit)), nil
}

// stands has the rows to come judged as if the price of a row held. It returns what
// that takes the place of.
func (j *judge) stands(r *UpdateRow) *owned {
	all := j.prices[r.Code]
	at, there := slices.BinarySearchFunc(all, r.From, func(e date.Dated[owned], d date.Date) int { return e.From.Compare(d) })
	e := date.Dated[owned]{From: r.From, Value: owned{Rate: *r.New, Unit: r.Unit}}
	if there {
		old := all[at].Value
		all[at] = e
		return &old
	}
	j.prices[r.Code] = slices.Insert(all, at, e)
	return nil
}

// priced judges a price that could be read, of an item that there is and that may be
// priced by those units.
func (j *judge) priced(r UpdateRow, units []unit.Unit, rate num.Rate, u unit.Unit) UpdateRow {
	all := j.prices[r.Code]
	stands, _, ok := all.On(r.From)
	switch {
	case ok:
		r.Unit = stands.Value.Unit
	case len(all) > 0:
		return r.refused("effective_from", "%s is before the first price of %s, from %s: write that day or a later one", r.From, r.Code, all[0].From)
	case slices.Contains(units, u):
		r.Unit = u
	default:
		r.Unit = units[0]
	}
	if rate >= book.MaxRate { // what no other unit would mend
		return r.tooMuch(rate)
	}
	if u != r.Unit {
		per, factor, volumes := unit.Per(rate, u, r.Unit)
		if !volumes {
			return r.refused("unit", "%s is priced per %s, not per %q: write the price per %s", r.Code, r.Unit, u, r.Unit)
		}
		r.Converted = &Converted{rate, u, factor}
		rate = per
	}
	if rate >= book.MaxRate {
		return r.tooMuch(rate)
	}
	r.New = &rate
	if !ok {
		r.Outcome = outcomeNew
		return r
	}
	return r.against(stands.Value.Rate, j.large)
}

// against compares the new price of a row with the old: a large move is beyond that
// many percent of the old, exactly.
func (r UpdateRow) against(old num.Rate, large num.Percent) UpdateRow {
	rate := *r.New
	r.Old, r.Outcome = &old, outcomeChanged
	if old == rate {
		r.Outcome = outcomeUnchanged
	}
	if old > 0 {
		change := num.Decimal(rate.Change(old)) * (num.One / 100)
		move := max(rate-old, old-rate)
		r.Change, r.Large = &change, num.Mul(int64(move), 100_00).Compare(num.Mul(int64(old), int64(large))) > 0
	} else {
		r.Large = rate > 0
	}
	return r
}

// refused returns r with the cell that is at fault; the detail is made as by
// fmt.Sprintf.
func (r UpdateRow) refused(column, format string, args ...any) UpdateRow {
	r.Outcome, r.Column, r.Detail = outcomeRefused, column, fmt.Sprintf(format, args...)
	r.New, r.Unit, r.Converted = nil, "", nil
	return r
}

func (r UpdateRow) tooMuch(rate num.Rate) UpdateRow {
	return r.refused("price", "%s is too much: a price is below %s", rate, book.MaxRate)
}

// changes reports whether the row changes a price.
func (r *UpdateRow) changes() bool { return r.Outcome == outcomeNew || r.Outcome == outcomeChanged }

// missing words the error of a cell that may be empty.
func missing(cell, write string, err error) string {
	if cell == "" {
		return "it is missing: write " + write
	}
	return err.Error()
}

// parsePrice reads a price, and says what to write for one that is written as
// people write prices.
func parsePrice(s string) (rate num.Rate, err error) {
	const write = "write digits and a point, with at most 4 decimals, such as"
	if s == "" {
		return 0, errors.New("the price is missing: write digits and a point, such as 1850.00")
	}
	if rate.UnmarshalText([]byte(s)) == nil {
		return rate, nil
	}
	switch meant, sure := meantBy(s); {
	case sure:
		return 0, fmt.Errorf("%q is not a price: write %s", s, meant)
	case meant != "":
		return 0, fmt.Errorf("%q is not a price: %s %s.00", s, write, meant)
	}
	return 0, fmt.Errorf("%q is not a price: %s 1850.00", s, write)
}

// meantBy returns what somebody meant who wrote the sign of a currency beside a
// price, marks or spaces between its thousands, or another decimal mark; nothing,
// if that would be no price either. A last mark before three digits may be of
// thousands: then it is not sure.
func meantBy(s string) (meant string, sure bool) {
	s = strings.TrimFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsLetter(r) || unicode.Is(unicode.Sc, r) })
	s = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == '\'' || r == '\u2019' {
			return -1
		}
		return r
	}, s)
	bare := strings.NewReplacer(".", "", ",", "")
	point := strings.LastIndexAny(s, ".,")
	sure = point == 0 || point > 0 && len(s)-point-1 != 3
	meant = bare.Replace(s)
	if sure {
		meant = cmp.Or(bare.Replace(s[:point]), "0") + "." + s[point+1:]
	}
	if new(num.Rate).UnmarshalText([]byte(meant)) != nil {
		return "", false
	}
	return meant, sure
}
