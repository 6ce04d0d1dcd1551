package quotes

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"reckoner/catalog/wire"
)

// An Event is one thing that happened to a quote.
type Event struct {
	ID         int64     `json:"id"`
	At         string    `json:"at"` // RFC 3339, UTC
	Revision   int       `json:"revision"`
	Event      string    `json:"event"`                // created, edited, issued, accepted, declined, revised, superseded, void
	ETagBefore string    `json:"etag_before,omitzero"` // of the quote; none before it was
	ETagAfter  string    `json:"etag_after"`
	Doc        wire.Text `json:"doc,omitzero"` // the draft that it left, or what was accepted
}

// Events returns everything that happened to a quote, in its order, without what it
// left. The error may be a *NotFound.
func (l *Ledger) Events(ctx context.Context, number string) ([]Event, error) {
	all, err := eventsOf(l.store.Glance(ctx).Omit("doc"), number)
	if err == nil && len(all) == 0 { // every quote was created
		err = &NotFound{fmt.Sprintf("quote %q", number)}
	}
	return all, err
}

// Event returns one thing that happened to a quote, by its id, with what it left. The
// error may be a *NotFound.
func (l *Ledger) Event(ctx context.Context, number string, id int64) (Event, error) {
	all, err := eventsOf(l.store.Glance(ctx).Where("id = ?", id), number)
	if err == nil && len(all) == 0 {
		err = &NotFound{fmt.Sprintf("event %d of a quote %q", id, number)}
	}
	if err != nil {
		return Event{}, err
	}
	return all[0], nil
}

// eventsOf returns the events of a quote that on chooses.
func eventsOf(on *gorm.DB, number string) ([]Event, error) {
	var rows []eventRow
	if err := on.Where("quote_id = (SELECT id FROM quotes WHERE number = ?)", number).Order("id").Find(&rows).Error; err != nil {
		return nil, err
	}
	all := make([]Event, len(rows))
	for i, r := range rows {
		all[i] = Event{ID: r.ID, At: r.HappenedAt.String(), Revision: *r.Revision, Event: r.Event, ETagBefore: r.EtagBefore, ETagAfter: r.EtagAfter}
		if r.Doc != nil {
			all[i].Doc = wire.Text(*r.Doc)
		}
	}
	return all, nil
}
