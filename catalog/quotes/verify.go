package quotes

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
)

// A Verified says of an issued revision what looking at it again found.
type Verified struct {
	Number   string
	Revision int
	Note     string // the same request and Book come to something else under this program's engine
	Err      error  // it is not what was sent, or does not follow from its own Book
}

// Verify looks at every revision that was issued, in the order of their quotes: its
// digests, the copies of it that lists read, whether pricing its request again from
// its own Book gives its costing, and whether what was accepted follows from it. Those
// that are not there any more come last.
func (l *Ledger) Verify(ctx context.Context, tell func(Verified)) error {
	return l.store.Read(ctx, func(tx store.Tx) error {
		rows, err := tx.Raw(`SELECT q.number, r.revision, r.head, r.request, r.customer, r.book, b.doc, r.costing, r.sha256, r.engine, r.issued_at, r.valid_until, r.cost, r.fees, r.net, r.discount, r.gross,
				i.id IS NOT NULL, a.doc, a.net, a.gross
			FROM revisions r JOIN quotes q ON q.id = r.quote_id JOIN books b ON b.sha256 = r.book
			LEFT JOIN events i ON i.quote_id = r.quote_id AND i.revision = r.revision AND i.event = 'issued'
			LEFT JOIN events a ON a.quote_id = r.quote_id AND a.revision = r.revision AND a.event = 'accepted'
			ORDER BY q.id, r.revision`).Rows()
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var v Verified
			var r revisionRow
			var doc string
			var issued bool
			var taken eventRow
			err := rows.Scan(&v.Number, &v.Revision, &r.Head, &r.Request, &r.Customer, &r.Book, &doc, &r.Costing, &r.SHA256, &r.Engine, &r.IssuedAt, &r.ValidUntil, &r.Cost, &r.Fees, &r.Net, &r.Discount, &r.Gross,
				&issued, &taken.Doc, &taken.Net, &taken.Gross)
			if err != nil {
				return err
			}
			v.Note, v.Err = r.verify(v.Number, v.Revision, doc, &taken)
			if !issued && v.Err == nil {
				v.Err = errors.New("it is there, and was never issued")
			}
			tell(v)
		}
		if err := rows.Err(); err != nil {
			return err
		}
		return missing(tx, tell)
	})
}

// missing tells of what was issued and is not there.
func missing(tx store.Tx, tell func(Verified)) error {
	var gone []struct {
		Number   string
		Revision int
	}
	err := tx.Raw(`SELECT q.number, e.revision FROM events e JOIN quotes q ON q.id = e.quote_id
		WHERE e.event = 'issued' AND NOT EXISTS (SELECT 1 FROM revisions r JOIN books b ON b.sha256 = r.book WHERE r.quote_id = e.quote_id AND r.revision = e.revision)
		ORDER BY e.quote_id, e.revision`).Scan(&gone).Error
	for _, g := range gone {
		tell(Verified{Number: g.Number, Revision: g.Revision, Err: errors.New("it was issued, and the document or its book is not there")})
	}
	return err
}

// verify looks at the row of an issued revision; doc is its Book, taken what was
// accepted of it.
func (r *revisionRow) verify(number string, revision int, doc string, taken *eventRow) (note string, err error) {
	text := frozen(r.Head, r.Request, doc, r.Costing)
	if sum := digestOf(text); sum != r.SHA256 {
		return "", fmt.Errorf("the document has the digest %s, and was issued with %s", sum, r.SHA256)
	}
	if sum := digestOf([]byte(doc)); sum != r.Book {
		return "", fmt.Errorf("its book has the digest %s, and was issued with %s", sum, r.Book)
	}
	d, note, err := Check(text)
	if err != nil {
		return "", err
	}
	if d.Number != number || d.Revision != revision {
		return "", fmt.Errorf("the document is revision %d of %s", d.Revision, d.Number)
	}
	if err := r.copies(&d); err != nil {
		return "", err
	}
	if err := taken.follows(&d); d.Engine == pricing.Engine {
		return note, err
	} else if err != nil {
		note += "; " + err.Error() // by the sums of another engine
	}
	return note, nil
}

// follows checks that what was accepted, if anything, is what the choice comes to at
// the prices of the document.
func (e *eventRow) follows(d *Document) error {
	if e.Doc == nil {
		return nil
	}
	var kept pricing.Choice
	if err := wire.Decode([]byte(*e.Doc), &kept); err != nil {
		return fmt.Errorf("what was accepted of it cannot be read: %v", err)
	}
	choice, err := d.Costing.Choose(&d.Request, kept.Chosen)
	if err != nil {
		return fmt.Errorf("what was accepted of it cannot be chosen: %v", err)
	}
	if net, gross := choice.Totals.Net, choice.Totals.Gross; !alike(kept, choice) || net.Minor() != *e.Net || gross.Minor() != *e.Gross {
		return fmt.Errorf("what was accepted of it comes to net %s and gross %s, and is kept otherwise", net, gross)
	}
	return nil
}

// copies checks the columns beside the document.
func (r *revisionRow) copies(d *Document) error {
	var c pricing.Customer
	if err := wire.Decode([]byte(r.Customer), &c); err != nil {
		return fmt.Errorf("the copy of its customer cannot be read: %v", err)
	}
	t := &d.Costing.Totals
	sums := [...]int64{d.Costing.Sum(pricing.StepCost).Minor(), d.Costing.Sum(pricing.StepFees).Minor(), t.Net.Minor(), t.Discount.Minor(), t.Gross.Minor()}
	switch {
	case sums != [...]int64{r.Cost, r.Fees, r.Net, r.Discount, r.Gross}:
		return fmt.Errorf("the document comes to net %s and gross %s, and lists say otherwise", t.Net, t.Gross)
	case d.IssuedAt != r.IssuedAt.String() || d.ValidUntil.String() != r.ValidUntil || d.Engine != r.Engine || !alike(c, d.Customer):
		return fmt.Errorf("the document was issued at %s and holds until %s, by engine %s, for %s, and lists say otherwise", d.IssuedAt, d.ValidUntil, d.Engine, d.Customer.Name)
	}
	return nil
}

// Check decodes a document and prices its request again from its own Book. The note
// says what this program's engine finds instead, when that is another than the
// document's.
func Check(text []byte) (d Document, note string, err error) {
	if err := wire.Decode(text, &d); err != nil {
		return d, "", fmt.Errorf("the document cannot be read: %v", err)
	}
	again, err := d.again()
	switch {
	case d.Engine != pricing.Engine:
		return d, differs(&d, &again, err), nil
	case err != nil:
		return d, "", err
	case !alike(d.Costing, again):
		return d, "", fmt.Errorf("priced again, it comes to net %s and not %s, or to it by another way", again.Totals.Net, d.Costing.Totals.Net)
	}
	return d, "", nil
}

// again prices the request again from the document's own Book.
func (d *Document) again() (c pricing.Costing, err error) {
	b, err := book.New(d.Book)
	if err != nil {
		return c, fmt.Errorf("its book is none: %v", err)
	}
	if c, err = pricing.Cost(d.Request, b); err != nil {
		return c, fmt.Errorf("its request cannot be priced from its book: %v", err)
	}
	return c, nil
}

// alike reports whether two values are the same JSON.
func alike(a, b any) bool {
	x, err := wire.Encode(a)
	y, other := wire.Encode(b)
	return err == nil && other == nil && bytes.Equal(x, y)
}

// differs says what another engine than the document's makes of it.
func differs(d *Document, again *pricing.Costing, err error) string {
	if err != nil {
		return fmt.Sprintf("engine %s priced it at net %s; engine %s cannot price it: %v", d.Engine, d.Costing.Totals.Net, pricing.Engine, err)
	}
	return fmt.Sprintf("engine %s priced it at net %s, engine %s at %s", d.Engine, d.Costing.Totals.Net, pricing.Engine, again.Totals.Net)
}
