package quotes

import (
	"crypto/sha256"
	"errors"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// A Draft is what a quote is to say.
type Draft struct {
	Customer    Addressee       `json:"customer"`
	Title       string          `json:"title"`
	Request     pricing.Request `json:"request"`               // names no customer
	ValidDays   *int            `json:"valid_days,omitzero"`   // from the day of issue; the terms' when absent
	Note        string          `json:"note,omitzero"`         // printed
	PrivateNote string          `json:"private_note,omitzero"` // never printed, nor frozen
}

// A draftHead is a Draft without its request.
type draftHead struct {
	Customer    Addressee `json:"customer"`
	Title       string    `json:"title"`
	ValidDays   *int      `json:"valid_days,omitzero"`
	Note        string    `json:"note,omitzero"`
	PrivateNote string    `json:"private_note,omitzero"`
}

// An Addressee is a customer written out, or one that is kept, by its id.
type Addressee struct {
	ID int64 `json:"id,omitzero"`
	pricing.Customer
}

const maxValidDays = 3650

// faults returns what is wrong with d, but for its customer's id and what pricing
// its request finds.
func (d *Draft) faults() (faults fault.List) {
	if c := &d.Customer; c.ID == 0 {
		faults = (&Customer{Customer: c.Customer}).Faults().At("/customer")
	}
	faults.Text("#", "title", d.Title, book.MaxText, true)
	if d.Request.Customer != nil {
		faults.Add("#/request/customer", "the quote has the customer: leave it out here")
	}
	if v := d.ValidDays; v != nil && (*v < 0 || *v > maxValidDays) {
		faults.Add("#/valid_days", "%d days: write 0 to %d", *v, maxValidDays)
	}
	faults.Text("#", "note", d.Note, book.MaxNote, false)
	faults.Text("#", "private_note", d.PrivateNote, book.MaxNote, false)
	return faults
}

// address writes a customer out that is named by its id; both may be there when they
// say the same, as in what was read.
func (l *Ledger) address(tx store.Tx, a *Addressee, faults *fault.List) error {
	if a.ID == 0 {
		return nil
	}
	c, err := findCustomer(tx, a.ID)
	if missing := (*NotFound)(nil); errors.As(err, &missing) {
		faults.Add("#/customer/id", "%s: write the id of one of /v1/customers, or the customer in full", missing)
		return nil
	}
	if written := !alike(a.Customer, pricing.Customer{}); err == nil && written && !alike(a.Customer, c.Customer) {
		faults.Add("#/customer", "the customer is written out, and not as customer %d is kept: write the id alone, or leave it out", a.ID)
	}
	a.Customer = c.Customer
	return err
}

// An offer is a draft with what it comes to, or why that cannot be said.
type offer struct {
	Draft   // the customer written out
	costing pricing.Costing
	from    *book.Book
	faults  fault.List // with pointers from the draft's root
	content
}

// Content is the part of a quote that is large: JSON, and the digest of both texts.
type content struct {
	customer Addressee
	request  []byte
	priced   []byte // the costing; nil where there is none
	digest   [sha256.Size]byte
}

func newContent(customer Addressee, request, priced []byte) content {
	all := sha256.New()
	all.Write(request)
	all.Write(priced)
	return content{customer, request, priced, [sha256.Size]byte(all.Sum(nil))}
}

// day returns the day whose prices a draft is to have: that of its request, or today.
func (d *Draft) day(today date.Date) date.Date {
	if on := d.Request.AsOf; !on.IsZero() {
		return on
	}
	return today
}

// price prices a draft from a Book.
func price(b *book.Book, d Draft) (o offer, err error) {
	o.Draft, o.from = d, b
	request, err := wire.Encode(d.Request)
	if err != nil {
		return o, err
	}
	o.costing, err = pricing.Cost(d.Request, o.from)
	if err == nil {
		err = listable("#/pieces", o.costing.Currency, o.costing.Totals.Net)
	}
	var priced []byte
	if err == nil {
		priced, err = wire.Encode(o.costing)
	}
	o.content = newContent(d.Customer, request, priced)
	o.faults, err = ofDraft(err)
	return o, err
}

// maxNet is more than any quote comes to, in coins: lists add up millions of them.
const maxNet = 1_000_000_000_000

// listable returns a fault at a pointer for pieces that come to too much for lists.
func listable(pointer string, currency num.Currency, net num.Money) error {
	var faults fault.List
	if net.Minor() >= maxNet {
		faults.Add(pointer, "the pieces come to %s: make it less than %s", net, currency.Coins(maxNet))
	}
	return faults.Err()
}

// ofDraft returns the faults of a request as those of the draft that it is in, and
// any other error.
func ofDraft(err error) (faults fault.List, other error) {
	if overflow := (num.Overflow{}); errors.As(err, &overflow) {
		return fault.List{{Pointer: "#/request", Detail: "the sums grow too large to be worked out: write smaller quantities, rates or percentages"}}, nil
	}
	if !errors.As(err, &faults) {
		return nil, err
	}
	return faults.At("/request"), nil
}

// keep puts the offer into the row of its quote and revision.
func (o *offer) keep(d *draftRow) error {
	*d = draftRow{
		QuoteID: d.QuoteID, Revision: d.Revision,
		Title: o.Title, Words: folded(o.Title),
		ValidDays: o.ValidDays, Note: o.Note, PrivateNote: o.PrivateNote, Request: string(o.request),
	}
	if o.Customer.ID != 0 {
		d.CustomerID = &o.Customer.ID
		return nil
	}
	text, err := wire.Encode(o.Customer.Customer)
	written := string(text)
	d.Customer, d.Words = &written, d.Words+"\n"+words(&o.Customer.Customer)
	return err
}

// draft returns the draft in a row, its customer written out.
func (l *Ledger) draft(tx store.Tx, row *draftRow) (d Draft, err error) {
	d = Draft{Title: row.Title, ValidDays: row.ValidDays, Note: row.Note, PrivateNote: row.PrivateNote}
	if err := wire.Decode([]byte(row.Request), &d.Request); err != nil {
		return d, keptWrong(err)
	}
	if row.CustomerID == nil {
		return d, keptWrong(wire.Decode([]byte(*row.Customer), &d.Customer.Customer))
	}
	c, err := findCustomer(tx, *row.CustomerID)
	d.Customer = Addressee{c.ID, c.Customer}
	return d, err
}

// keptWrong makes an error of reading what is kept one of the program, not of
// whoever asked.
func keptWrong(err error) error {
	if err == nil {
		return nil
	}
	return errors.New("what is kept cannot be read: " + err.Error())
}
