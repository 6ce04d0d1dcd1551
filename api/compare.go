package api

import (
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
)

// maxVariants is how many variants are compared at once.
const maxVariants = 8

// revisionNumber returns the parameter that is the number of a revision.
func revisionNumber(name string) parameter {
	return number(name, 1<<31-1, "number of a revision: write one of the quote's")
}

// compareRevisions answers with how a revision of a quote differs from another.
func (s *service) compareRevisions(c echo.Context) error {
	q, err := query(c, typeJSON, revisionNumber("from"), revisionNumber("to"))
	if err != nil {
		return err
	}
	var wrong failings
	for _, name := range []string{"from", "to"} {
		if !q.Has(name) {
			wrong = append(wrong, failing{Parameter: name, Detail: "it is missing: write the number of a revision"})
		}
	}
	if len(wrong) > 0 {
		return wrong
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	from, _ := strconv.Atoi(q.Get("from"))
	to, _ := strconv.Atoi(q.Get("to"))
	compared, err := s.ledger.Compare(c.Request().Context(), inPath(c, "number"), from, to, s.Today())
	if err != nil {
		return err
	}
	return show(c, compared)
}

// A comparing is a request and variants of it.
type comparing struct {
	Base     wire.Text `json:"base"` // a request
	Variants []variant `json:"variants"`
}

// A variant is a merge patch (RFC 7396) on the request.
type variant struct {
	Title string    `json:"title"`
	Patch wire.Text `json:"patch"`
}

// A compared is what the request comes to, and how each variant differs.
type compared struct {
	Totals   pricing.Totals    `json:"totals"`
	Variants []comparedVariant `json:"variants"`
}

// A comparedVariant is what a variant comes to, and how it differs from the request.
type comparedVariant struct {
	Title      string             `json:"title"`
	Totals     pricing.Totals     `json:"totals"`
	Comparison pricing.Comparison `json:"comparison"`
}

// compareRequests answers with how variants of a request differ from it.
func (s *service) compareRequests(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	_, text, err := body(c, maxBody, typeJSON)
	if err != nil {
		return err
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	var asked comparing
	if err := wire.Decode(text, &asked); err != nil {
		return err
	}
	faults, unread := asked.check()
	if unread {
		return faults // in their order: nothing that can be deeper than a request is looked through for it
	}
	answer, err := s.compare(c, &asked, faults)
	if err != nil {
		return inOrder(text, err)
	}
	return showState(c, http.StatusOK, answer)
}

// check returns what is wrong before anything is priced. Unread says that the request
// or a patch cannot be read: a patch is read as a request, of which it is a part.
func (a *comparing) check() (faults fault.List, unread bool) {
	read := func(at string, text wire.Text, remedy string) {
		if text.Kind() != '{' {
			faults.Add("#"+at, "%s", remedy)
			unread = true
		} else if wrong, ok := wire.Decode(text, new(pricing.Request)).(fault.List); ok {
			faults = append(faults, wrong.At(at)...)
			unread = true
		}
	}
	read("/base", a.Base, "a base is a request, an object {...}: write one")
	if n := len(a.Variants); n < 1 || n > maxVariants {
		faults.Add("#/variants", "%d variants: write 1 to %d", n, maxVariants)
		a.Variants = nil
	}
	for i, v := range a.Variants {
		at := variantAt(i)
		faults.Text("#"+at, "title", v.Title, book.MaxText, true)
		read(at+"/patch", v.Patch, "a patch is an object with the members of the request that are to be others: write one")
	}
	return faults, unread
}

// variantAt returns where a variant stands.
func variantAt(i int) string { return "/variants/" + strconv.Itoa(i) }

// compare prices the request and its variants, which can be read, and of which faults
// are known already.
func (s *service) compare(c echo.Context, asked *comparing, faults fault.List) (all compared, err error) {
	books := s.onceADay(c)
	base, err := s.costingOf(books, asked.Base, "/base")
	if wrong, ok := err.(fault.List); ok { // what is wrong with the variants would be the same again
		return all, append(faults, wrong...)
	}
	if err != nil {
		return all, err
	}
	all = compared{base.Totals, make([]comparedVariant, len(asked.Variants))}
	for i, v := range asked.Variants {
		text, err := wire.Merge(asked.Base, v.Patch)
		if err != nil {
			return all, err
		}
		other, err := s.costingOf(books, text, variantAt(i)+"/patch")
		if wrong, ok := err.(fault.List); ok {
			faults = append(faults, wrong...)
			continue
		}
		if err != nil {
			return all, err
		}
		differs, err := pricing.Compare(&base, &other)
		if err != nil {
			return all, err
		}
		all.Variants[i] = comparedVariant{v.Title, other.Totals, differs}
	}
	return all, faults.Err()
}

// bookOf returns the Book of a day.
type bookOf func(date.Date) (*book.Book, error)

// onceADay returns the Book of a day as it was when it was first asked for, so that
// what is compared is of one Book.
func (s *service) onceADay(c echo.Context) bookOf {
	known := make(map[date.Date]*book.Book)
	return func(d date.Date) (b *book.Book, err error) {
		if known[d] == nil {
			known[d], err = s.Catalog.Book(c.Request().Context(), d)
		}
		return known[d], err
	}
}

// costingOf prices a request that stands in the body at a pointer.
func (s *service) costingOf(books bookOf, text []byte, at string) (costing pricing.Costing, err error) {
	var r pricing.Request
	if err := wire.Decode(text, &r); err != nil {
		return costing, wrongAt(at, err)
	}
	on := r.AsOf
	if on.IsZero() {
		on = s.Today()
	}
	b, err := books(on)
	if err != nil {
		return costing, err
	}
	costing, err = pricing.Cost(r, b)
	return costing, wrongAt(at, err)
}

// wrongAt moves what an error says is wrong with a request, sums that grow too large
// among it, to where that stands.
func wrongAt(at string, err error) error {
	var faults fault.List
	for _, f := range failingsOf(err) {
		faults = append(faults, fault.FieldError{Pointer: f.Pointer, Detail: f.Detail})
	}
	if faults == nil {
		return err
	}
	return faults.At(at)
}
