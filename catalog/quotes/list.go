package quotes

import (
	"context"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// A Filter chooses quotes; a zero member chooses all.
type Filter struct {
	Status   string // one of Statuses
	Customer int64  // the id of one that is kept
	Text     string // in the number, the title, or the customer's name, addresses or telephone number; case and accents apart
	From, To date.Date
}

// A List is some of the quotes, the latest first, and what all that the filter
// chooses come to, whatever their status.
type List struct {
	Quotes []Listed      `json:"quotes"`
	Totals []StatusTotal `json:"totals"` // in the order of Statuses, only those that occur
	Orders OrderTotal    `json:"orders"` // what was accepted, whatever was offered since

	Last int64 `json:"-"` // where the next page begins; 0: there is none
}

// A Listed is a quote in a list: of its newest revision that was issued, or its
// draft.
type Listed struct {
	Number     string     `json:"number"`
	Status     string     `json:"status"`
	Revision   int        `json:"revision"`
	Title      string     `json:"title"`
	Customer   Addressee  `json:"customer"`
	CreatedAt  string     `json:"created_at"`
	IssuedAt   string     `json:"issued_at,omitzero"`
	ValidUntil date.Date  `json:"valid_until,omitzero"`
	SHA256     string     `json:"sha256,omitzero"`
	Net        *num.Money `json:"net,omitzero"` // of what was accepted, or else issued
	Gross      *num.Money `json:"gross,omitzero"`
	Order      *Order     `json:"order,omitzero"`
}

// An Order is the revision that was accepted last, and what was chosen of it comes to.
type Order struct {
	Revision int       `json:"revision"`
	Net      num.Money `json:"net"`
	Gross    num.Money `json:"gross"`
}

// A StatusTotal counts the quotes of one status. A draft has no price before it is
// issued.
type StatusTotal struct {
	Status string     `json:"status"`
	Count  int        `json:"count"`
	Net    *num.Money `json:"net,omitzero"`
}

// An OrderTotal counts the quotes of which a revision was accepted, and adds up what
// was accepted of each last.
type OrderTotal struct {
	Count int       `json:"count"`
	Net   num.Money `json:"net"`
}

// A standingRow is a row of the view standings.
type standingRow struct {
	ID           int64
	Number       string
	CreatedAt    store.Instant
	Revision     int
	Title        string
	CustomerID   *int64
	Customer     *string
	KeptDoc      *string
	Status       string
	IssuedAt     *store.Instant
	ValidUntil   *string
	SHA256       *string `gorm:"column:sha256"`
	Net          *int64
	Gross        *int64
	Ordered      *int
	OrderedNet   *int64
	OrderedGross *int64
}

// standings is every quote with its status on a day; %s stands for what is asked of
// them.
const standings = `WITH today AS (
	SELECT s.id, s.number, s.created_on, s.created_at, s.revision, s.title, s.customer_id, s.customer, c.doc AS kept_doc, s.words, c.words AS kept_words,
		CASE WHEN s.status = 'issued' AND s.valid_until < @today THEN 'expired' ELSE s.status END AS status,
		s.issued_at, s.valid_until, s.sha256, s.net, s.gross, s.ordered, s.ordered_net, s.ordered_gross
	FROM standings s LEFT JOIN customers c ON c.id = s.customer_id
), chosen AS (
	SELECT * FROM today
	WHERE (@customer = 0 OR customer_id = @customer)
	AND (@text = '' OR instr(number, @text) > 0 OR instr(words, @text) > 0 OR instr(coalesce(kept_words, ''), @text) > 0)
	AND (@from = '' OR created_on >= @from) AND (@to = '' OR created_on <= @to)
) `

func (f *Filter) values(today date.Date) map[string]any {
	return map[string]any{"today": today.String(), "customer": f.Customer, "text": folded(f.Text), "from": f.From.String(), "to": f.To.String(), "status": f.Status}
}

// List returns at most that many quotes, the latest first: those before one, by what
// Last said, or from the last when it is 0.
func (l *Ledger) List(ctx context.Context, f Filter, today date.Date, before int64, limit int) (all List, err error) {
	values := f.values(today)
	values["before"], values["limit"] = before, limit
	err = l.store.Read(ctx, func(tx store.Tx) error {
		var rows []standingRow
		err := tx.Raw(standings+`SELECT * FROM chosen WHERE (@status = '' OR status = @status) AND (@before = 0 OR id < @before) ORDER BY id DESC LIMIT @limit`, values).Scan(&rows).Error
		if err != nil {
			return err
		}
		currency, err := catalog.CurrencyIn(tx)
		if err != nil {
			return err
		}
		if all.Quotes, err = listed(rows, currency); err != nil {
			return err
		}
		if len(rows) == limit {
			all.Last = rows[limit-1].ID
		}
		if all.Totals, err = totals(tx, values, currency); err != nil {
			return err
		}
		all.Orders, err = orders(tx, values, currency)
		return err
	})
	return all, err
}

func listed(rows []standingRow, currency num.Currency) ([]Listed, error) {
	all := make([]Listed, len(rows))
	for i := range rows {
		r := &rows[i]
		q := Listed{Number: r.Number, Status: r.Status, Revision: r.Revision, Title: r.Title, CreatedAt: r.CreatedAt.String()}
		doc := r.Customer
		if doc == nil {
			doc = r.KeptDoc
		}
		var c Customer
		if err := wire.Decode([]byte(*doc), &c); err != nil {
			return nil, keptWrong(err)
		}
		q.Customer = Addressee{Customer: pricing.Customer{Name: c.Name}}
		if r.CustomerID != nil {
			q.Customer.ID = *r.CustomerID
		}
		if r.IssuedAt != nil {
			var err error
			if q.ValidUntil, err = date.Parse(*r.ValidUntil); err != nil {
				return nil, keptWrong(err)
			}
			net, gross := currency.Coins(*r.Net), currency.Coins(*r.Gross)
			q.IssuedAt, q.SHA256, q.Net, q.Gross = r.IssuedAt.String(), *r.SHA256, &net, &gross
		}
		if r.Ordered != nil {
			q.Order = &Order{*r.Ordered, currency.Coins(*r.OrderedNet), currency.Coins(*r.OrderedGross)}
		}
		all[i] = q
	}
	return all, nil
}

// totals counts the quotes chosen by their status, and adds up their nets: of what
// was accepted, or else issued.
func totals(tx store.Tx, values map[string]any, currency num.Currency) ([]StatusTotal, error) {
	var rows []struct {
		Status string
		Count  int
		Net    *int64
	}
	err := tx.Raw(standings+`SELECT status, count(*) AS count, sum(net) AS net FROM chosen GROUP BY status`, values).Scan(&rows).Error
	all := []StatusTotal{}
	for _, status := range Statuses() {
		for _, r := range rows {
			if r.Status != status {
				continue
			}
			t := StatusTotal{Status: status, Count: r.Count}
			if r.Net != nil {
				net := currency.Coins(*r.Net)
				t.Net = &net
			}
			all = append(all, t)
		}
	}
	return all, err
}

// orders counts and adds up what the quotes chosen brought in.
func orders(tx store.Tx, values map[string]any, currency num.Currency) (OrderTotal, error) {
	var row struct {
		Count int
		Net   int64
	}
	err := tx.Raw(standings+`SELECT count(*) AS count, coalesce(sum(ordered_net), 0) AS net FROM chosen WHERE ordered IS NOT NULL`, values).Scan(&row).Error
	return OrderTotal{row.Count, currency.Coins(row.Net)}, err
}
