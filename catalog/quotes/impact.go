package quotes

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A Question is which prices the quotes that are out are to be held against, and
// which of the quotes.
type Question struct {
	Today   date.Date // whether a quote is still open counts by it
	AsOf    date.Date // the day whose prices are meant; none: today, or that of the preview
	Preview int64     // the number of a price update that is priced with as if it were applied
	Timber  string    // the code of a timber, or of a thickness: only quotes with it
	Update  int64     // the number of a price update: only quotes with something whose price it moved
}

// Impact holds every quote that is out against the prices of a day. The error may be
// a *catalog.NoUpdate; a *catalog.NotFound, where no timber has the code that is asked
// for; or a *catalog.Broken, of a preview.
func (l *Ledger) Impact(ctx context.Context, q Question) (all pricing.Impact, err error) {
	err = l.store.Read(ctx, func(tx store.Tx) error {
		w := &weighing{ledger: l, tx: tx, question: q}
		if err := w.prepare(); err != nil {
			return err
		}
		if err := w.issued(); err != nil {
			return err
		}
		if !q.AsOf.IsZero() || q.Preview != 0 {
			if err := w.drafts(); err != nil {
				return err
			}
		}
		all = w.result()
		return nil
	})
	return all, err
}

// A weighing is an Impact being made.
type weighing struct {
	ledger   *Ledger
	tx       store.Tx
	question Question
	was, is  *book.Book // of today, and of the prices that are asked about
	impact   pricing.Impact
	moved    map[string]catalog.UpdateRow // what the update moves, by code: the last of each
	only     map[string]bool              // codes of which a quote must have one; nil: any
	timbers  map[string]*pricing.TimberImpact
	layouts  pricing.Memory // prices move none
}

// prepare finds the Books and the updates.
func (w *weighing) prepare() (err error) {
	tried, told, err := w.updates()
	if err != nil {
		return err
	}
	if w.was, err = w.ledger.catalog.BookIn(w.tx, w.question.Today); err != nil {
		return err
	}
	if w.is, err = w.book(&tried); err != nil {
		return err
	}
	is := w.is.Data()
	if code := w.question.Timber; code != "" && !hasTimber(w.was, code) && !hasTimber(w.is, code) {
		return &catalog.NotFound{Class: "timber", Code: code, On: is.AsOf}
	}
	w.impact = pricing.Impact{AsOf: is.AsOf, Currency: is.Currency, Preview: tried.ID, Quotes: []pricing.Affected{}, Unpriced: []pricing.Unpriced{}}
	w.timbers = make(map[string]*pricing.TimberImpact)
	if told.ID != 0 {
		w.tell(&told)
	}
	return nil
}

// updates returns the update that is tried, and the one whose cost is told: that which
// is asked for, else the one tried, else the last that was applied. Of none the number
// is 0.
func (w *weighing) updates() (tried, told catalog.Update, err error) {
	q := &w.question
	if tried, err = w.updateIn(q.Preview); err != nil {
		return tried, told, err
	}
	of := cmp.Or(q.Update, q.Preview)
	if of == 0 {
		if of, err = catalog.LastUpdateIn(w.tx); err != nil {
			return tried, told, err
		}
	}
	if of == q.Preview { // a long list is not judged twice
		return tried, tried, nil
	}
	told, err = w.updateIn(of)
	return tried, told, err
}

// updateIn returns an update, as things stand today.
func (w *weighing) updateIn(id int64) (u catalog.Update, err error) {
	if id == 0 {
		return u, nil
	}
	return w.ledger.catalog.UpdateIn(w.tx, id, w.question.Today)
}

// hasTimber reports whether a timber, or a thickness of one, has a code.
func hasTimber(b *book.Book, code string) bool {
	return b.Timber(code) != nil || b.TimberOf(code) != nil
}

// book returns the Book of the day that is asked about, with an update as if it were
// applied: of no day, that of today, or the latest from which a price of the update
// holds.
func (w *weighing) book(tried *catalog.Update) (*book.Book, error) {
	on := w.question.AsOf
	if on.IsZero() {
		on = w.question.Today
		for _, r := range tried.Moves() {
			if r.From.Compare(on) > 0 {
				on = r.From
			}
		}
	}
	b, err := w.ledger.catalog.BookIn(w.tx, on)
	if err != nil || tried.ID == 0 {
		return b, err
	}
	return tried.On(b)
}

// tell notes what the update moves whose cost is told.
func (w *weighing) tell(u *catalog.Update) {
	w.impact.Update = &pricing.UpdateImpact{ID: u.ID, File: u.File, Status: u.Status, Timbers: []pricing.TimberImpact{}, Loss: w.zero()}
	w.moved = make(map[string]catalog.UpdateRow)
	for _, r := range u.Moves() {
		if first, ok := w.moved[r.Code]; ok { // of two prices of one code: from before the first to after the last
			if r.Old = nil; first.Old != nil {
				old := per(*first.Old, first.Unit, r.Unit)
				r.Old = &old
			}
		}
		w.moved[r.Code] = r
	}
	if w.question.Update != 0 {
		w.only = make(map[string]bool, len(w.moved))
		for code := range w.moved {
			w.only[code] = true
		}
	}
}

// per returns a rate of timber for one unit of volume as that for another.
func per(rate num.Rate, from, to unit.Unit) num.Rate {
	if from != to {
		rate, _, _ = unit.Per(rate, from, to)
	}
	return rate
}

func (w *weighing) zero() num.Money { return w.is.Data().Currency.Zero() }

// issued weighs every revision that was issued and is still open.
func (w *weighing) issued() error {
	var most int
	if err := w.tx.Raw("SELECT count(*) FROM revisions WHERE valid_until >= ?", w.question.Today.String()).Row().Scan(&most); err != nil {
		return err
	}
	w.impact.Quotes = make([]pricing.Affected, 0, most) // else the list would be kept twice over while it grows
	rows, err := w.tx.Raw(`SELECT q.number, s.revision, s.title, coalesce(r.customer, ''), r.valid_until, r.request, r.cost, r.fees, r.net, r.discount
		FROM standings s JOIN quotes q ON q.id = s.id JOIN revisions r ON r.quote_id = s.id AND r.revision = s.revision
		WHERE s.status = 'issued' AND s.valid_until >= ? ORDER BY s.id`, w.question.Today.String()).Rows()
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		a := pricing.Affected{Status: issued}
		var customer, until, request string
		var cost, fees, net, discount int64
		if err := rows.Scan(&a.Number, &a.Revision, &a.Title, &customer, &until, &request, &cost, &fees, &net, &discount); err != nil {
			return err
		}
		if a.ValidUntil, err = date.Parse(until); err != nil {
			return keptWrong(err)
		}
		var c pricing.Customer
		if err := wire.Decode([]byte(customer), &c); err != nil {
			return keptWrong(err)
		}
		a.Customer = c.Name
		currency := w.is.Data().Currency
		a.OldCost, a.Quoted = currency.Coins(cost), currency.Coins(net-discount)
		if err := w.weigh(a, []byte(request), currency.Coins(fees)); err != nil {
			return err
		}
	}
	return rows.Err()
}

// drafts weighs every draft of a quote of which nothing was issued yet.
func (w *weighing) drafts() error {
	rows, err := w.tx.Raw(`SELECT s.number, s.revision, s.title, coalesce(s.customer, c.doc), d.request
		FROM standings s JOIN drafts d ON d.quote_id = s.id AND d.revision = s.revision LEFT JOIN customers c ON c.id = s.customer_id
		WHERE s.status = 'draft' ORDER BY s.id`).Rows()
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		a := pricing.Affected{Status: draft}
		var customer, request string
		if err := rows.Scan(&a.Number, &a.Revision, &a.Title, &customer, &request); err != nil {
			return err
		}
		var c Customer
		if err := wire.Decode([]byte(customer), &c); err != nil {
			return keptWrong(err)
		}
		a.Customer = c.Name
		if err := w.weigh(a, []byte(request), num.Money{}); err != nil {
			return err
		}
	}
	return rows.Err()
}

// weigh prices one request. The old figures of a draft are those of today.
func (w *weighing) weigh(a pricing.Affected, text []byte, fees num.Money) error {
	var r pricing.Request
	if err := wire.Decode(text, &r); err != nil {
		return keptWrong(err)
	}
	r.AsOf = date.Date{}
	is, err := w.layouts.Cost(r, w.is)
	if err == nil && a.Status == draft {
		var was pricing.Costing
		if was, err = w.layouts.Cost(r, w.was); err == nil {
			a.OldCost, a.Quoted, fees = was.Sum(pricing.StepCost), was.Totals.Taxable, was.Sum(pricing.StepFees)
		}
	}
	if err == nil {
		a.NewCost, a.WouldBe = is.Sum(pricing.StepCost), is.Totals.Taxable
		err = w.fits(a.OldCost, a.NewCost, a.Quoted, a.WouldBe, fees)
	}
	if err != nil {
		return w.unpriced(&a, err)
	}
	if !w.asked(&is) {
		return nil
	}
	a.Loss = a.NewCost.Minus(a.OldCost)
	kept := a.Quoted.Minus(fees)
	a.Left = kept.Minus(a.NewCost)
	if !kept.IsNegative() { // of less than nothing there is no part
		a.LeftOf = a.Left.Of(kept)
	}
	w.impact.Quotes = append(w.impact.Quotes, a)
	w.timber(&is)
	return nil
}

// fits returns a fault for amounts that are too much to be added up with others: a
// price that was agreed says nothing of the cost.
func (w *weighing) fits(all ...num.Money) error {
	for _, m := range all {
		if err := listable("#/pieces", w.impact.Currency, m); err != nil {
			return err
		}
	}
	return nil
}

// unpriced notes a quote that cannot be priced, and why.
func (w *weighing) unpriced(a *pricing.Affected, err error) error {
	faults, err := ofDraft(err)
	if err != nil {
		return err
	}
	detail := faults[0].Detail
	if len(faults) > 1 {
		detail = fmt.Sprintf("%s; and %d more", detail, len(faults)-1)
	}
	w.impact.Unpriced = append(w.impact.Unpriced, pricing.Unpriced{Number: a.Number, Revision: a.Revision, Title: a.Title, Detail: detail})
	return nil
}

// asked reports whether the question is of a quote with that costing.
func (w *weighing) asked(c *pricing.Costing) bool {
	timber, moved := w.question.Timber == "", w.only == nil
	for i := range c.Pieces {
		p := &c.Pieces[i]
		if !p.Included {
			continue
		}
		for k := range p.Timber {
			code := p.Timber[k].Code
			timber = timber || code == w.question.Timber || w.is.TimberOf(code).Code == w.question.Timber
		}
		for _, lines := range p.Headings() {
			for k := range lines {
				moved = moved || w.only[cmp.Or(lines[k].Grade, lines[k].Code)]
			}
		}
	}
	return timber && moved
}

// timber adds what the update costs of the timber of a quote.
func (w *weighing) timber(c *pricing.Costing) {
	had := make(map[string]bool)
	for i := range c.Pieces {
		if !c.Pieces[i].Included {
			continue
		}
		for _, l := range c.Pieces[i].Timber {
			r, moved := w.moved[l.Code]
			if !moved || r.Old == nil {
				continue
			}
			t := w.is.TimberOf(l.Code)
			sum := w.timbers[t.Code]
			if sum == nil {
				sum = &pricing.TimberImpact{Code: t.Code, Description: t.Description, Old: w.zero(), New: w.zero()}
				w.timbers[t.Code] = sum
			}
			if !had[t.Code] {
				sum.Quotes++
			}
			had[t.Code] = true
			sum.Old = sum.Old.Plus(c.Currency.Amount(l.Quantity, per(*r.Old, r.Unit, l.Unit)))
			sum.New = sum.New.Plus(c.Currency.Amount(l.Quantity, per(*r.New, r.Unit, l.Unit)))
		}
	}
}

// result puts everything in its order and adds it up.
func (w *weighing) result() pricing.Impact {
	all := &w.impact
	slices.SortStableFunc(all.Quotes, func(a, b pricing.Affected) int { return b.Loss.Compare(a.Loss) })
	zero := w.zero()
	s := pricing.ImpactSums{Count: len(all.Quotes), OldCost: zero, NewCost: zero, Loss: zero, Quoted: zero, WouldBe: zero, Left: zero}
	for i := range all.Quotes {
		a := &all.Quotes[i]
		s.OldCost, s.NewCost, s.Loss = s.OldCost.Plus(a.OldCost), s.NewCost.Plus(a.NewCost), s.Loss.Plus(a.Loss)
		s.Quoted, s.WouldBe, s.Left = s.Quoted.Plus(a.Quoted), s.WouldBe.Plus(a.WouldBe), s.Left.Plus(a.Left)
	}
	all.Sums = s
	for _, t := range w.timbers {
		t.Loss = t.New.Minus(t.Old)
		all.Update.Timbers = append(all.Update.Timbers, *t)
		all.Update.Loss = all.Update.Loss.Plus(t.Loss)
	}
	if all.Update != nil {
		slices.SortFunc(all.Update.Timbers, func(a, b pricing.TimberImpact) int {
			return cmp.Or(b.Loss.Compare(a.Loss), cmp.Compare(a.Code, b.Code))
		})
	}
	return *all
}
