package api

import (
	"net/url"
	"slices"

	"github.com/labstack/echo/v4"

	"reckoner/catalog"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

// asked returns the query of a GET that answers with JSON, and the day it means.
func (s *service) asked(c echo.Context, named ...string) (q url.Values, d date.Date, err error) {
	if _, err = accepted(c, typeJSON); err != nil {
		return nil, d, err
	}
	if q, err = parameters(c, append(named, "as_of")...); err != nil {
		return nil, d, err
	}
	d, err = s.asOf(q)
	return q, d, err
}

// bookOf returns the Book of the day that a request means.
func (s *service) bookOf(c echo.Context) (*book.Book, error) {
	_, d, err := s.asked(c)
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

// codeOf returns the code in the path of a request, which may have %XX for any of
// its letters.
func codeOf(c echo.Context) string {
	code := c.Param("code")
	if c.Request().URL.RawPath != "" { // else it has been decoded
		code, _ = url.PathUnescape(code)
	}
	return code
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
	q, d, err := s.asked(c, "class")
	if err != nil {
		return err
	}
	priced := catalog.ItemClasses()
	if q.Has("class") && !slices.Contains(priced, q.Get("class")) {
		return failings{{Parameter: "class", Detail: oneOf(q.Get("class"), priced)}}
	}
	all, err := s.Catalog.Items(c.Request().Context(), d)
	if err != nil {
		return err
	}
	if q.Has("class") {
		all.Items = slices.DeleteFunc(all.Items, func(i catalog.Item) bool { return i.Class != q.Get("class") })
	}
	return show(c, listed(all.Book, "items", all.Items))
}

// item answers with one thing that has a price.
func (s *service) item(c echo.Context) error {
	_, d, err := s.asked(c)
	if err != nil {
		return err
	}
	item, err := s.Catalog.Item(c.Request().Context(), codeOf(c), d)
	if err != nil {
		return err
	}
	return show(c, item)
}

// A history is what an item has cost, costs and will cost.
type history struct {
	Code        string         `json:"code"`
	Class       string         `json:"class"`
	Description string         `json:"description"`
	Prices      []catalog.Span `json:"prices"`
}

// prices answers with the history of an item.
func (s *service) prices(c echo.Context) error {
	if _, err := accepted(c, typeJSON); err != nil {
		return err
	}
	if _, err := parameters(c); err != nil {
		return err
	}
	item, spans, err := s.Catalog.Prices(c.Request().Context(), codeOf(c), s.Today())
	if err != nil {
		return err
	}
	return show(c, history{item.Code, item.Class, item.Description, spans})
}
