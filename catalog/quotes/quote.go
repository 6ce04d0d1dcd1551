package quotes

import (
	"errors"
	"fmt"

	"gorm.io/gorm"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// A Head is a quote without what is large: its request and costing, which are those
// of the draft if there is one, and of the newest issued revision else.
type Head struct {
	Number      string     `json:"number"`
	Status      string     `json:"status"`
	Revision    int        `json:"revision"` // that title, customer, request and costing are of
	Title       string     `json:"title"`
	Customer    Addressee  `json:"customer"`
	CreatedAt   string     `json:"created_at"`
	ValidDays   *int       `json:"valid_days,omitzero"`
	Note        string     `json:"note,omitzero"`
	PrivateNote string     `json:"private_note,omitzero"`
	Revisions   []Standing `json:"revisions"`
	Errors      fault.List `json:"errors,omitzero"` // why the draft has no price as things stand
}

// A Standing is how a revision stands.
type Standing struct {
	Revision   int             `json:"revision"`
	Status     string          `json:"status"`
	IssuedAt   string          `json:"issued_at,omitzero"`
	ValidUntil date.Date       `json:"valid_until,omitzero"`
	SHA256     string          `json:"sha256,omitzero"` // of the document
	Net        *num.Money      `json:"net,omitzero"`    // of what was accepted, or else issued
	Gross      *num.Money      `json:"gross,omitzero"`
	DecidedAt  string          `json:"decided_at,omitzero"` // accepted or declined
	Accepted   *pricing.Choice `json:"accepted,omitzero"`
}

// A Quote is the answer that a quote is.
type Quote struct {
	Head
	Request pricing.Request  `json:"request"`
	Costing *pricing.Costing `json:"costing,omitzero"`
}

// A quote is one as the tables have it, with how its revisions stand.
type quote struct {
	quoteRow
	revisions []Standing
	shown     draftRow
}

// begin reads a quote for something to be done with it.
func (l *Ledger) begin(tx store.Tx, number string, today date.Date) (*deed, error) {
	d := &deed{ledger: l, tx: tx, today: today}
	err := tx.Where("number = ?", number).Take(&d.quoteRow).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, &NotFound{fmt.Sprintf("quote %q", number)}
	}
	if err != nil {
		return nil, err
	}
	if err := d.readRevisions(); err != nil {
		return nil, err
	}
	return d, d.show()
}

// readRevisions reads how every revision stands.
func (d *deed) readRevisions() error {
	var newest int
	if err := d.tx.Raw("SELECT max(revision) FROM drafts WHERE quote_id = ?", d.ID).Row().Scan(&newest); err != nil {
		return err
	}
	d.revisions = make([]Standing, newest)
	for i := range d.revisions {
		d.revisions[i] = Standing{Revision: i + 1, Status: draft}
	}
	var issued []revisionRow
	err := d.tx.Select("revision", "customer", "sha256", "issued_at", "valid_until", "net", "gross").Where("quote_id = ?", d.ID).Find(&issued).Error
	if err != nil {
		return err
	}
	currency, err := catalog.CurrencyIn(d.tx)
	if err != nil {
		return err
	}
	for i := range issued {
		if err := d.revisions[issued[i].Revision-1].issue(&issued[i], currency); err != nil {
			return err
		}
	}
	var happened []eventRow
	if err := d.tx.Where("quote_id = ? AND event IN ?", d.ID, decisive).Order("id").Find(&happened).Error; err != nil {
		return err
	}
	for _, e := range happened {
		if err := d.apply(e); err != nil {
			return err
		}
	}
	return nil
}

// issue notes what was issued of a revision.
func (s *Standing) issue(r *revisionRow, currency num.Currency) (err error) {
	net, gross := currency.Coins(r.Net), currency.Coins(r.Gross)
	s.IssuedAt, s.SHA256, s.Net, s.Gross = r.IssuedAt.String(), r.SHA256, &net, &gross
	s.ValidUntil, err = date.Parse(r.ValidUntil)
	return err
}

// apply notes what an event made of its revision.
func (d *deed) apply(e eventRow) error {
	s := &d.revisions[*e.Revision-1]
	s.Status = e.Event
	switch e.Event {
	case issued:
		if s.ValidUntil.Compare(d.today) < 0 {
			s.Status = expired
		}
	case accepted:
		s.Accepted = new(pricing.Choice)
		if err := wire.Decode([]byte(*e.Doc), s.Accepted); err != nil {
			return keptWrong(err)
		}
		t := &s.Accepted.Totals
		s.DecidedAt, s.Net, s.Gross = e.HappenedAt.String(), &t.Net, &t.Gross
	case declined:
		s.DecidedAt = e.HappenedAt.String()
	}
	return nil
}

// newest returns the newest revision.
func (q *quote) newest() *Standing { return &q.revisions[len(q.revisions)-1] }

// standing returns the revision by which the quote stands: the newest that was
// issued, or the newest of all.
func (q *quote) standing() *Standing {
	for i := len(q.revisions) - 1; i >= 0; i-- {
		if q.revisions[i].IssuedAt != "" {
			return &q.revisions[i]
		}
	}
	return q.newest()
}

// show reads what the quote says now: its draft, or the revision by which it stands.
func (d *deed) show() error {
	of := d.standing()
	if d.newest().Status == draft {
		of = d.newest()
	}
	d.shown = draftRow{} // or its key would be asked for too
	if err := d.tx.Where("quote_id = ? AND revision = ?", d.ID, of.Revision).Take(&d.shown).Error; err != nil {
		return err
	}
	switch of.Status {
	case draft:
		return d.reprice()
	case void:
		given, err := d.ledger.draft(d.tx, &d.shown)
		d.content = newContent(given.Customer, []byte(d.shown.Request), nil)
		return err
	}
	var r revisionRow
	if err := d.tx.Select("customer", "request", "costing").Where("quote_id = ? AND revision = ?", d.ID, of.Revision).Take(&r).Error; err != nil {
		return err
	}
	var c Addressee
	if err := wire.Decode([]byte(r.Customer), &c); err != nil {
		return keptWrong(err)
	}
	if d.shown.CustomerID != nil {
		c.ID = *d.shown.CustomerID
	}
	d.content = newContent(c, []byte(r.Request), []byte(r.Costing))
	return nil
}

// reprice prices the draft that is shown.
func (d *deed) reprice() error {
	given, err := d.ledger.draft(d.tx, &d.shown)
	if err != nil {
		return err
	}
	d.offer, err = d.offerOf(given)
	return err
}

// offerOf prices a draft from the Book of its day.
func (d *deed) offerOf(given Draft) (o offer, err error) {
	b, err := d.ledger.catalog.BookIn(d.tx, given.day(d.today))
	if err != nil {
		return o, err
	}
	return price(b, given)
}

// present returns the quote as it stands.
func (d *deed) present() (a Answer, err error) {
	s := &d.shown
	head, err := wire.Encode(Head{
		Number: d.Number, Status: d.standing().Status, Revision: s.Revision, Title: s.Title, Customer: d.content.customer,
		CreatedAt: d.CreatedAt.String(), ValidDays: s.ValidDays, Note: s.Note, PrivateNote: s.PrivateNote,
		Revisions: d.revisions, Errors: d.faults,
	})
	if err != nil {
		return a, err
	}
	a.Number, a.Tag = d.Number, wire.Tag(head, d.digest[:])
	a.Text = joined(head, member{"request", d.request}, member{"costing", d.priced})
	return a, nil
}

// A member is one of a JSON object; nil text leaves it out.
type member struct {
	name string
	text []byte
}

// joined returns the JSON object head with members after its own, byte for byte,
// and a line break: the texts are not read again.
func joined(head []byte, members ...member) []byte {
	size := len(head) + 2
	for _, m := range members {
		size += len(m.name) + len(m.text) + 4
	}
	all := append(make([]byte, 0, size), head[:len(head)-1]...)
	for _, m := range members {
		if m.text != nil {
			all = append(all, `,"`+m.name+`":`...)
			all = append(all, m.text...)
		}
	}
	return append(all, '}', '\n')
}
