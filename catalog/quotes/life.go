package quotes

import (
	"context"
	"fmt"
	"reflect"
	"slices"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
)

// What can happen to a revision, and how it stands then. A draft is one to which
// nothing decisive has happened; an issued one expires by itself.
const (
	created = "created"
	edited  = "edited"
	revised = "revised"

	draft      = "draft"
	issued     = "issued"
	accepted   = "accepted"
	declined   = "declined"
	superseded = "superseded"
	void       = "void"
	expired    = "expired"
)

// Statuses returns every status that a quote can have, in the order of its life.
func Statuses() []string { return []string{draft, issued, expired, accepted, declined, void} }

// decisive are the events whose names are statuses.
var decisive = []string{issued, accepted, declined, superseded, void}

// machine says of every event how a revision must stand for it. Revised is of the
// revision by which a quote stands, beside which a draft is opened.
var machine = map[string][]string{
	edited:     {draft},
	issued:     {draft},
	void:       {draft},
	accepted:   {issued},
	declined:   {issued, expired},
	superseded: {issued, expired, declined},
	revised:    {issued, expired, accepted, declined},
}

// remedy says what to do about a quote that stands so, to which an event cannot
// happen.
func remedy(event, status string) string {
	switch {
	case status == void:
		return "duplicate it"
	case status == accepted && event != edited && event != issued:
		return "that is final; revise it for what is new, or duplicate it"
	case event == void:
		return "only a draft can be: decline what was issued, or revise it and issue it again"
	case status == draft:
		return "issue it first"
	case status == expired:
		return "revise it, and issue it again"
	}
	return "revise it first"
}

// A deed is something being done to a quote, in one transaction.
type deed struct {
	ledger *Ledger
	tx     store.Tx
	today  date.Date
	quote
	offer
	events []eventRow
}

// may refuses an event that cannot happen to a revision as it stands.
func (d *deed) may(event string, to *Standing) error {
	if slices.Contains(machine[event], to.Status) {
		return nil
	}
	return &catalog.Conflict{Detail: fmt.Sprintf("revision %d of %s is %s and cannot be %s: %s", to.Revision, d.Number, to.Status, voided(event), remedy(event, to.Status))}
}

// voided returns an event as something is that it happened to.
func voided(event string) string {
	if event == void {
		return "made void"
	}
	return event
}

// draftFor returns the draft to which an event is to happen.
func (d *deed) draftFor(event string) (*Standing, error) {
	if d.newest().Status == draft {
		return d.newest(), nil
	}
	return nil, d.may(event, d.standing())
}

// happen notes an event of a revision, and the JSON of what it left, if anything.
func (d *deed) happen(event string, to *Standing, doc []byte) error {
	e := eventRow{QuoteID: &d.ID, Revision: &to.Revision, Event: event, HappenedAt: d.tx.Now}
	if doc != nil {
		said := string(doc)
		e.Doc = &said
	}
	d.events = append(d.events, e)
	if slices.Contains(decisive, event) {
		return d.apply(e)
	}
	return nil
}

// record keeps what happened, with the ETags of the quote before and after.
func (d *deed) record(before, after string) error {
	for i := range d.events {
		d.events[i].EtagBefore, d.events[i].EtagAfter = before, after
		if err := d.tx.Create(&d.events[i]).Error; err != nil {
			return err
		}
	}
	return nil
}

// A Change is what is to happen to a quote, on which condition.
type Change struct {
	Number string
	Match  Match
	Today  date.Date // of the process: prices and validity count by it
	Once   Once
}

// alter does something to a quote. F leaves the quote as it stands then, and returns
// the revision to which it was done, which is the answer; none: the quote is.
func (l *Ledger) alter(ctx context.Context, c Change, f func(*deed) (*Standing, error)) (a Answer, err error) {
	err = l.store.Write(ctx, func(tx store.Tx) error {
		a, err = c.Once.do(tx, func() (Answer, error) {
			d, err := l.begin(tx, c.Number, c.Today)
			if err != nil {
				return Answer{}, err
			}
			before, err := d.present()
			if err != nil {
				return Answer{}, err
			}
			if err := c.Match(before.Tag); err != nil {
				return Answer{}, err
			}
			to, err := f(d)
			if err != nil {
				return Answer{}, err
			}
			after, err := d.present()
			if err != nil {
				return Answer{}, err
			}
			if err := d.record(before.Tag, after.Tag); err != nil {
				return Answer{}, err
			}
			if to == nil {
				return after, nil
			}
			after.Text, err = wire.Encode(Done{d.Number, *to})
			after.Text = append(after.Text, '\n')
			return after, err
		})
		return err
	})
	return a, err
}

// Done is what answers a deed: how the revision stands to which it was done.
type Done struct {
	Number string `json:"number"`
	Standing
}

// Edit makes a draft what given says. The error may be a fault.List, a *NotFound or
// a *catalog.Conflict.
func (l *Ledger) Edit(ctx context.Context, c Change, given Draft) (Answer, error) {
	return l.alter(ctx, c, func(d *deed) (*Standing, error) {
		s, err := d.draftFor(edited)
		if err != nil {
			return nil, err
		}
		faults := given.faults()
		if err := l.address(d.tx, &given.Customer, &faults); err != nil {
			return nil, err
		}
		o, err := d.offerOf(given)
		if err == nil {
			err = o.refusal(faults)
		}
		if err != nil {
			return nil, err
		}
		was := d.shown
		d.offer = o
		if err := o.keep(&d.shown); err != nil {
			return nil, err
		}
		if reflect.DeepEqual(was, d.shown) {
			return nil, nil // nothing is changed, and nothing happened
		}
		if err := d.tx.Select("*").Updates(&d.shown).Error; err != nil {
			return nil, err
		}
		return nil, d.left(edited, s)
	})
}

// Void ends a draft. The error may be a *NotFound or a *catalog.Conflict.
func (l *Ledger) Void(ctx context.Context, c Change) (Answer, error) {
	return l.alter(ctx, c, func(d *deed) (*Standing, error) {
		s, err := d.draftFor(void)
		if err != nil {
			return nil, err
		}
		if err := d.happen(void, s, nil); err != nil {
			return nil, err
		}
		d.offer = offer{}
		return s, d.show()
	})
}

// Accept notes that the customer took the revision by which the quote stands, with
// the alternatives and extras of those ids, and keeps what they come to at the
// prices that were sent. The error may be a fault.List, a *NotFound or a
// *catalog.Conflict.
func (l *Ledger) Accept(ctx context.Context, c Change, choose []string) (Answer, error) {
	return l.alter(ctx, c, func(d *deed) (*Standing, error) {
		s := d.standing()
		if err := d.may(accepted, s); err != nil {
			return nil, err
		}
		choice, err := d.choice(s.Revision, choose)
		if err != nil {
			return nil, err
		}
		doc, err := wire.Encode(choice)
		if err != nil {
			return nil, err
		}
		if err := d.happen(accepted, s, doc); err != nil {
			return nil, err
		}
		net, gross := choice.Totals.Net.Minor(), choice.Totals.Gross.Minor()
		e := &d.events[len(d.events)-1]
		e.Net, e.Gross = &net, &gross
		return s, nil
	})
}

// choice returns what a choice of an issued revision comes to.
func (d *deed) choice(revision int, choose []string) (pricing.Choice, error) {
	var row revisionRow
	if err := d.tx.Select("request", "costing").Where("quote_id = ? AND revision = ?", d.ID, revision).Take(&row).Error; err != nil {
		return pricing.Choice{}, err
	}
	var r pricing.Request
	var c pricing.Costing
	if err := wire.Decode([]byte(row.Request), &r); err != nil {
		return pricing.Choice{}, keptWrong(err)
	}
	if err := wire.Decode([]byte(row.Costing), &c); err != nil {
		return pricing.Choice{}, keptWrong(err)
	}
	choice, err := c.Choose(&r, choose)
	if err != nil {
		return choice, err
	}
	return choice, listable("#/choose", c.Currency, choice.Totals.Net)
}

// Decline notes that the customer did not take it. The error may be a *NotFound or a
// *catalog.Conflict.
func (l *Ledger) Decline(ctx context.Context, c Change) (Answer, error) {
	return l.alter(ctx, c, func(d *deed) (*Standing, error) {
		s := d.standing()
		if err := d.may(declined, s); err != nil {
			return nil, err
		}
		return s, d.happen(declined, s, nil)
	})
}

// Revise opens a draft beside what was issued, which says the same, at the prices of
// today. The error may be a *NotFound or a *catalog.Conflict.
func (l *Ledger) Revise(ctx context.Context, c Change) (Answer, error) {
	return l.alter(ctx, c, func(d *deed) (*Standing, error) {
		if d.newest().Status == draft {
			return nil, &catalog.Conflict{Detail: fmt.Sprintf("revision %d of %s is a draft already: change it, or make it void first", d.newest().Revision, d.Number)}
		}
		if err := d.may(revised, d.standing()); err != nil {
			return nil, err
		}
		o, err := d.again()
		if err != nil {
			return nil, err
		}
		return nil, d.open(o, revised)
	})
}

// again prices what the quote says at the prices of today.
func (d *deed) again() (o offer, err error) {
	given, err := d.ledger.draft(d.tx, &d.shown)
	if err != nil {
		return o, err
	}
	given.Request.AsOf = date.Date{}
	return d.offerOf(given)
}

// Duplicate makes a new quote that says what another does, but for its private note,
// at the prices of today. The error may be a *NotFound or a *Reused.
func (l *Ledger) Duplicate(ctx context.Context, number string, today date.Date, once Once) (a Answer, err error) {
	err = l.store.Write(ctx, func(tx store.Tx) error {
		a, err = once.do(tx, func() (Answer, error) {
			d, err := l.begin(tx, number, today)
			if err != nil {
				return Answer{}, err
			}
			o, err := d.again()
			if err != nil {
				return Answer{}, err
			}
			o.PrivateNote = ""
			return l.create(tx, o, today)
		})
		return err
	})
	return a, err
}

// open makes an offer the draft of the next revision.
func (d *deed) open(o offer, event string) error {
	next := Standing{Revision: len(d.revisions) + 1, Status: draft}
	d.revisions = append(d.revisions, next)
	d.offer, d.shown = o, draftRow{QuoteID: d.ID, Revision: next.Revision}
	if err := o.keep(&d.shown); err != nil {
		return err
	}
	if err := d.tx.Create(&d.shown).Error; err != nil {
		return err
	}
	return d.left(event, d.newest())
}

// left notes an event that left the draft at hand.
func (d *deed) left(event string, to *Standing) error {
	head, err := wire.Encode(draftHead{d.Customer, d.Title, d.ValidDays, d.Note, d.PrivateNote})
	if err != nil {
		return err
	}
	doc := joined(head, member{"request", d.request}) // encoded already
	return d.happen(event, to, doc[:len(doc)-1])
}
