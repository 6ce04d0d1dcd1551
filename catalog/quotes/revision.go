package quotes

import (
	"context"
	"fmt"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

// A Document is an issued revision, as it was sent. Members are added to it and its
// parts, never renamed: it decodes for ever.
type Document struct {
	DocumentHead
	Request pricing.Request `json:"request"`
	Book    book.Data       `json:"book"`
	Costing pricing.Costing `json:"costing"`
}

// A DocumentHead is a document without what is large.
type DocumentHead struct {
	Number     string           `json:"number"`
	Revision   int              `json:"revision"`
	Title      string           `json:"title"`
	IssuedAt   string           `json:"issued_at"` // RFC 3339, UTC
	IssuedOn   date.Date        `json:"issued_on"` // by the workshop's clock
	ValidUntil date.Date        `json:"valid_until"`
	Customer   pricing.Customer `json:"customer"`
	Note       string           `json:"note,omitzero"`
	Engine     string           `json:"engine"`
}

// A Revision is the text of a Document, byte for byte as it was issued, and its
// SHA-256 in hexadecimal.
type Revision struct {
	Text   []byte
	SHA256 string
}

// Document returns what the text says, and the Book that it was priced from.
func (r *Revision) Document() (d Document, b *book.Book, err error) {
	if err := wire.Decode(r.Text, &d); err != nil {
		return d, nil, keptWrong(err)
	}
	b, err = book.New(d.Book)
	return d, b, keptWrong(err)
}

// frozen returns the document that the texts are together.
func frozen(head, request, book, costing string) []byte {
	return joined([]byte(head), member{"request", []byte(request)}, member{"book", []byte(book)}, member{"costing", []byte(costing)})
}

// Revision returns an issued revision of a quote. The error may be a *NotFound.
func (l *Ledger) Revision(ctx context.Context, number string, revision int) (r Revision, err error) {
	rows, err := l.store.Glance(ctx).Raw(`SELECT r.head, r.request, b.doc, r.costing, r.sha256
		FROM quotes q JOIN revisions r ON r.quote_id = q.id JOIN books b ON b.sha256 = r.book
		WHERE q.number = ? AND r.revision = ?`, number, revision).Rows()
	if err != nil {
		return r, err
	}
	defer rows.Close()
	if !rows.Next() {
		if err := rows.Err(); err != nil {
			return r, err
		}
		return r, &NotFound{fmt.Sprintf("revision %d of a quote %q that was issued", revision, number)}
	}
	var head, request, book, costing string
	if err := rows.Scan(&head, &request, &book, &costing, &r.SHA256); err != nil {
		return r, err
	}
	r.Text = frozen(head, request, book, costing)
	return r, nil
}

// Order returns the document of a revision that was accepted with what was chosen of
// it alone: the pieces that were ordered, priced again from its own Book. The error may
// be a *NotFound, or a *catalog.Conflict where this program does not come to what was
// accepted.
func (l *Ledger) Order(ctx context.Context, number string, revision int) (d Document, b *book.Book, err error) {
	r, err := l.Revision(ctx, number, revision)
	if err != nil {
		return d, nil, err
	}
	var docs []string
	err = l.store.Glance(ctx).Raw(`SELECT e.doc FROM quotes q JOIN events e ON e.quote_id = q.id
		WHERE q.number = ? AND e.revision = ? AND e.event = 'accepted'`, number, revision).Scan(&docs).Error
	if err != nil {
		return d, nil, err
	}
	if len(docs) == 0 {
		return d, nil, &NotFound{fmt.Sprintf("order by revision %d of %s: it was not accepted", revision, number)}
	}
	if d, b, err = r.Document(); err != nil {
		return d, nil, err
	}
	var choice pricing.Choice
	if err := wire.Decode([]byte(docs[0]), &choice); err != nil {
		return d, nil, keptWrong(err)
	}
	d.Request = d.Request.Taken(choice.Included)
	if d.Costing, err = pricing.Cost(d.Request, b); err != nil || !alike(d.Costing.Totals, choice.Totals) {
		return d, nil, &catalog.Conflict{Detail: fmt.Sprintf("%s-%d was priced by engine %s, and engine %s does not come to the same: take the papers of what was sent", number, revision, d.Engine, pricing.Engine)}
	}
	return d, b, nil
}

// Proof returns the document that the draft of a quote would be if it were issued now,
// with the number of its revision. The error may be a *NotFound, or a fault.List.
func (l *Ledger) Proof(ctx context.Context, number string, today date.Date) (d Document, b *book.Book, err error) {
	err = l.store.Read(ctx, func(tx store.Tx) error {
		of, err := l.begin(tx, number, today)
		if err != nil {
			return err
		}
		if of.newest().Status != draft {
			return &NotFound{"draft of " + number}
		}
		if err := of.faults.Err(); err != nil {
			return err
		}
		d, b = Document{of.head(of.newest().Revision), of.Draft.Request, *of.from.Data(), of.costing}, of.from
		return nil
	})
	return d, b, err
}

// Issue freezes the draft of a quote and supersedes what was issued before, unless
// that was accepted. The error may be a fault.List, a *NotFound, a *Reused or a
// *catalog.Conflict.
func (l *Ledger) Issue(ctx context.Context, c Change) (Answer, error) {
	return l.alter(ctx, c, func(d *deed) (*Standing, error) {
		s, err := d.draftFor(issued)
		if err != nil {
			return nil, err
		}
		if err := d.faults.Err(); err != nil {
			return nil, err
		}
		before := d.standing()
		if err := d.freeze(s); err != nil {
			return nil, err
		}
		if before != s && d.may(superseded, before) == nil {
			if err := d.happen(superseded, before, nil); err != nil {
				return nil, err
			}
		}
		return s, d.happen(issued, s, nil)
	})
}

// freeze keeps the draft as it is sent.
func (d *deed) freeze(s *Standing) error {
	row, err := d.revisionRow(s.Revision)
	if err != nil {
		return err
	}
	text, err := d.ledger.books.textOf(d.from)
	if err != nil {
		return err
	}
	row.Book = text.SHA256
	var kept int64
	if err := d.tx.Model(&bookRow{}).Where("sha256 = ?", text.SHA256).Count(&kept).Error; err != nil {
		return err
	}
	if kept == 0 {
		if err := d.tx.Create(&text).Error; err != nil {
			return err
		}
	}
	row.SHA256 = digestOf(frozen(row.Head, row.Request, text.Doc, row.Costing))
	if err := d.tx.Create(&row).Error; err != nil {
		return err
	}
	if d.shown.CustomerID != nil { // it is found by the name on it, whatever they are called later
		if err := d.tx.Model(&d.shown).Update("words", folded(d.Title)+"\n"+words(&d.Customer.Customer)).Error; err != nil {
			return err
		}
	}
	return s.issue(&row, d.costing.Currency)
}

// head returns what the draft says, but for what is large, if it is sent now.
func (d *deed) head(revision int) DocumentHead {
	days := d.costing.Terms.ValidDays
	if d.ValidDays != nil {
		days = *d.ValidDays
	}
	return DocumentHead{
		Number: d.Number, Revision: revision, Title: d.Title, IssuedAt: d.tx.Now.String(), IssuedOn: d.today, ValidUntil: d.today.AddDays(days),
		Customer: d.Customer.Customer, Note: d.Note, Engine: d.costing.Engine,
	}
}

// revisionRow returns the row of the draft as it is sent now, without its Book.
func (d *deed) revisionRow(revision int) (r revisionRow, err error) {
	c, said := &d.costing, d.head(revision)
	customer, err := wire.Encode(said.Customer)
	if err != nil {
		return r, err
	}
	head, err := wire.Encode(said)
	return revisionRow{
		QuoteID: d.ID, Revision: revision, Head: string(head), Request: string(d.request), Customer: string(customer), Costing: string(d.priced),
		Engine: c.Engine, IssuedAt: d.tx.Now, ValidUntil: said.ValidUntil.String(),
		Cost: c.Sum(pricing.StepCost).Minor(), Fees: c.Sum(pricing.StepFees).Minor(), Discount: c.Totals.Discount.Minor(), Net: c.Totals.Net.Minor(), Gross: c.Totals.Gross.Minor(),
	}, err
}
