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
)

// frozen returns the issued revision that a path names.
func (s *service) frozen(c echo.Context) (r quotes.Revision, err error) {
	n, err := numbered(c, "revision", "number of a revision")
	if err != nil {
		return r, err
	}
	return s.ledger.Revision(c.Request().Context(), inPath(c, "number"), int(n))
}

// revision answers with an issued revision, byte for byte as it was issued; its ETag
// is its SHA-256.
func (s *service) revision(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	r, err := s.frozen(c)
	if err != nil {
		return err
	}
	return taggedAs(c, typeJSON, `"`+r.SHA256+`"`, r.Text)
}

// frozenPaper returns what the papers of an issued revision are written from: its
// document alone.
func (s *service) frozenPaper(c echo.Context) (p exports.Paper, err error) {
	r, err := s.frozen(c)
	if err != nil {
		return p, err
	}
	d, b, err := r.Document()
	if err != nil {
		return p, err
	}
	at, err := time.Parse(time.RFC3339, d.IssuedAt)
	return exports.Paper{
		Costing: d.Costing, Request: d.Request, Book: b, Title: d.Title, Number: d.Number, Revision: d.Revision, Customer: &d.Customer,
		Issued: at, Dated: d.IssuedOn, ValidUntil: d.ValidUntil, Note: d.Note,
	}, err
}

// paper answers with a paper of an issued revision.
func (s *service) paper(media string, draw func(io.Writer, exports.Paper) error) echo.HandlerFunc {
	return func(c echo.Context) error {
		if _, err := query(c, media); err != nil {
			return err
		}
		return s.drawn(c, media, func(w io.Writer, p exports.Paper) (string, error) {
			return path.Base(c.Path()), draw(w, p)
		})
	}
}

// frontElevation answers with the front of a piece of an issued revision.
func (s *service) frontElevation(c echo.Context) error {
	q, err := query(c, typeSVG, text("piece"))
	if err != nil {
		return err
	}
	return s.drawn(c, typeSVG, func(w io.Writer, p exports.Paper) (string, error) {
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
func (s *service) drawn(c echo.Context, media string, draw func(io.Writer, exports.Paper) (string, error)) error {
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	p, err := s.frozenPaper(c)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	name, err := draw(&out, p)
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderContentDisposition, fmt.Sprintf("attachment; filename=%s-%d-%s", p.Number, p.Revision, name))
	return tagged(c, media, out.Bytes())
}
