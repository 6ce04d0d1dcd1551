package api

import (
	"bytes"
	"fmt"
	"io"
	"net/url"
	"path"
	"time"

	"github.com/labstack/echo/v4"

	"reckoner/catalog/quotes"
	"reckoner/exports"
	"reckoner/pricing/book"
)

// revisionOf returns the number of the revision that a path names.
func revisionOf(c echo.Context) (int, error) {
	n, err := numbered(c, "revision", "number of a revision")
	return int(n), err
}

// revision answers with an issued revision, byte for byte as it was issued; its ETag
// is its SHA-256.
func (s *service) revision(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	n, err := revisionOf(c)
	if err != nil {
		return err
	}
	r, err := s.ledger.Revision(c.Request().Context(), inPath(c, "number"), n)
	if err != nil {
		return err
	}
	return taggedAs(c, typeJSON, `"`+r.SHA256+`"`, r.Text)
}

// paperOf returns what the papers of a document are written from: it alone.
func paperOf(d *quotes.Document, b *book.Book) (exports.Paper, error) {
	at, err := time.Parse(time.RFC3339, d.IssuedAt)
	return exports.Paper{
		Costing: d.Costing, Request: d.Request, Book: b, Title: d.Title, Number: d.Number, Revision: d.Revision, Customer: &d.Customer,
		Issued: at, Dated: d.IssuedOn, ValidUntil: d.ValidUntil, Note: d.Note,
	}, err
}

// of is the parameter that says of what a paper is to be: of what was ordered, instead
// of what was sent.
func of() parameter { return word("of", "order") }

// frozenPaper returns what the papers of an issued revision are written from, or of
// what was ordered by it.
func (s *service) frozenPaper(c echo.Context, q url.Values) (p exports.Paper, err error) {
	n, err := revisionOf(c)
	if err != nil {
		return p, err
	}
	ctx, number := c.Request().Context(), inPath(c, "number")
	if q.Has("of") {
		d, b, err := s.ledger.Order(ctx, number, n)
		if err != nil {
			return p, err
		}
		return paperOf(&d, b)
	}
	r, err := s.ledger.Revision(ctx, number, n)
	if err != nil {
		return p, err
	}
	d, b, err := r.Document()
	if err != nil {
		return p, err
	}
	return paperOf(&d, b)
}

// paper answers with a paper of an issued revision.
func (s *service) paper(media string, draw func(io.Writer, exports.Paper) error) echo.HandlerFunc {
	return func(c echo.Context) error {
		q, err := query(c, media, of())
		if err != nil {
			return err
		}
		return s.drawn(c, media, q, func(w io.Writer, p exports.Paper) (string, error) {
			return path.Base(c.Path()), draw(w, p)
		})
	}
}

// frontElevation answers with the front of a piece of an issued revision.
func (s *service) frontElevation(c echo.Context) error {
	q, err := query(c, typeSVG, text("piece"), of())
	if err != nil {
		return err
	}
	return s.drawn(c, typeSVG, q, func(w io.Writer, p exports.Paper) (string, error) {
		i, err := frozenFront(q, p)
		if err != nil {
			return "", err
		}
		return p.Costing.Pieces[i].ID + "-elevation.svg", exports.Elevation(w, p, i)
	})
}

// frozenFront is front for a revision that was issued: there is no request whose
// pieces could be wrong.
func frozenFront(q url.Values, p exports.Paper) (int, error) {
	i, err := front(q, p)
	if err != nil && !q.Has("piece") {
		return 0, refuse(notFound, "no piece of the revision has a front elevation")
	}
	return i, err
}

// drawn answers with a paper, under the number of its quote and the name that draw
// gives it: from one program the same bytes every time.
func (s *service) drawn(c echo.Context, media string, q url.Values, draw func(io.Writer, exports.Paper) (string, error)) error {
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	p, err := s.frozenPaper(c, q)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	name, err := draw(&out, p)
	if err != nil {
		return err
	}
	if q.Has("of") {
		name = "order-" + name
	}
	return saved(c, media, fmt.Sprintf("%s-%d-%s", p.Number, p.Revision, name), out.Bytes())
}

// proof answers with the quotation that the draft of a quote would be if it were issued
// now, to be read before that; it says that it is a draft.
func (s *service) proof(c echo.Context) error {
	if _, err := query(c, typeXLSX); err != nil {
		return err
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	d, b, err := s.ledger.Proof(c.Request().Context(), inPath(c, "number"), s.Today())
	if err != nil {
		return err
	}
	p, err := paperOf(&d, b)
	if err != nil {
		return err
	}
	p.Number, p.Issued = d.Number+" (draft)", time.Time{}
	var out bytes.Buffer
	if err := exports.Quotation(&out, p); err != nil {
		return err
	}
	return saved(c, typeXLSX, fmt.Sprintf("%s-%d-draft-quotation.xlsx", d.Number, d.Revision), out.Bytes())
}
