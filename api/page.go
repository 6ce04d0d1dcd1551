package api

import (
	"fmt"
	"maps"
	"math"
	"net/url"
	"strconv"

	"github.com/labstack/echo/v4"
)

// A page is a part of a list whose latest entry comes first.
type page struct {
	query  url.Values
	before int64 // those before it, by its number; 0: from the latest
	limit  int
}

// Sizes of a page.
const (
	usualPage   = 50
	largestPage = 200
)

// pageOf returns the part that a query means, which may have other parameters.
func (s *service) pageOf(c echo.Context, others ...parameter) (p page, err error) {
	q, err := query(c, typeJSON, append(others,
		number("before", math.MaxInt64, "number of an entry: follow the header Link"),
		number("limit", largestPage, fmt.Sprintf("size of a page: write 1 to %d", largestPage)))...)
	if err != nil {
		return p, err
	}
	p.query, p.limit = q, usualPage
	if n, err := strconv.Atoi(q.Get("limit")); err == nil {
		p.limit = n
	}
	p.before, _ = strconv.ParseInt(q.Get("before"), 10, 64) // 0 when it is not there
	return p, nil
}

// next says, by the header Link (RFC 8288), where the list goes on after the entry
// with that number.
func (p page) next(c echo.Context, last int64) {
	q := maps.Clone(p.query)
	q.Set("before", strconv.FormatInt(last, 10))
	q.Set("limit", strconv.Itoa(p.limit))
	c.Response().Header().Set("Link", fmt.Sprintf("<%s?%s>; rel=\"next\"", c.Path(), q.Encode()))
}
