package api

import (
	"net/url"

	"github.com/labstack/echo/v4"

	"reckoner/catalog"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

// asked returns the query of a GET that answers with a media type, and the day it
// means.
func (s *service) asked(c echo.Context, media string, named ...parameter) (q url.Values, d date.Date, err error) {
	if q, err = query(c, media, append(named, day("as_of"))...); err != nil {
		return nil, d, err
	}
	return q, dayOf(q, "as_of", s.Today()), nil
}

// bookOf returns the Book of the day that a request means.
func (s *service) bookOf(c echo.Context) (*book.Book, error) {
	_, d, err := s.asked(c, typeJSON)
	if err != nil {
		return nil, err
	}
	return s.Catalog.Book(c.Request().Context(), d)
}

// book answers with everything that is in force on a day.
func (s *service) book(c echo.Context) error {
	b, err := s.bookOf(c)
	if err != nil {
		return err
	}
	return show(c, b.Data())
}

// entries answers with all that a class has in force on a day.
func (s *service) entries(class catalog.Class) echo.HandlerFunc {
	return func(c echo.Context) error {
		b, err := s.bookOf(c)
		if err != nil {
			return err
		}
		docs := []any{}
		for _, e := range class.Entries(b) {
			docs = append(docs, e.Doc)
		}
		return show(c, listed(b, class.List, docs))
	}
}

// codeOf returns the code in the path of a request.
func codeOf(c echo.Context) string { return inPath(c, "code") }

// inPath returns what stands in the path of a request under a name, and may have %XX
// for any of its letters.
func inPath(c echo.Context, name string) string {
	word := c.Param(name)
	if c.Request().URL.RawPath != "" { // else it has been decoded
		word, _ = url.PathUnescape(word)
	}
	return word
}

// listed is a list of a day, under its name.
func listed(b *book.Book, name string, list any) map[string]any {
	return map[string]any{"as_of": b.Data().AsOf, "book_version": b.Data().Version, name: list}
}

// entry answers with one thing of a class.
func (s *service) entry(class catalog.Class) echo.HandlerFunc {
	return func(c echo.Context) error {
		b, err := s.bookOf(c)
		if err != nil {
			return err
		}
		for _, e := range class.Entries(b) {
			if e.Code == codeOf(c) {
				return show(c, e.Doc)
			}
		}
		return &catalog.NotFound{Class: class.Name, Code: codeOf(c), On: b.Data().AsOf}
	}
}

// terms answers with the terms of a day.
func (s *service) terms(c echo.Context) error {
	b, err := s.bookOf(c)
	if err != nil {
		return err
	}
	return show(c, b.Data().Terms)
}

// items answers with everything that has a price, perhaps of one class.
func (s *service) items(c echo.Context) error {
	q, d, err := s.asked(c, typeJSON, class())
	if err != nil {
		return err
	}
	all, err := s.Catalog.Items(c.Request().Context(), d)
	if err != nil {
		return err
	}
	return show(c, listed(all.Book, "items", all.Of(q.Get("class")).Items))
}

// item answers with one thing that has a price.
func (s *service) item(c echo.Context) error {
	_, d, err := s.asked(c, typeJSON)
	if err != nil {
		return err
	}
	item, err := s.Catalog.Item(c.Request().Context(), codeOf(c), d)
	if err != nil {
		return err
	}
	return show(c, item)
}

// prices answers with the history of an item, or with the one price of a day.
func (s *service) prices(c echo.Context) error {
	q, err := query(c, typeJSON, day("as_of"))
	if err != nil {
		return err
	}
	h, err := s.Catalog.Prices(c.Request().Context(), codeOf(c), s.Today())
	if err != nil {
		return err
	}
	if q.Has("as_of") {
		if h, err = h.On(dayOf(q, "as_of", s.Today())); err != nil {
			return err
		}
	}
	return show(c, h)
}
