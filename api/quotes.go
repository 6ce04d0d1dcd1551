package api

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// quoteBody reads a draft, and takes a desk for pricing it.
func (s *service) quoteBody(c echo.Context) (d quotes.Draft, text []byte, leave func(), err error) {
	if _, err := query(c, typeJSON); err != nil {
		return d, nil, nil, err
	}
	if _, text, err = body(c, maxBody, typeJSON); err != nil {
		return d, nil, nil, err
	}
	if leave, err = s.sit(c.Request().Context()); err != nil {
		return d, nil, nil, err
	}
	if err := wire.Decode(text, &d); err != nil {
		leave()
		return d, nil, nil, err
	}
	return d, text, leave, nil
}

// createQuote keeps the body as the draft of a new quote.
func (s *service) createQuote(c echo.Context) error {
	d, text, leave, err := s.quoteBody(c)
	if err != nil {
		return err
	}
	defer leave()
	once, err := onceOf(c, text)
	if err != nil {
		return err
	}
	a, err := s.ledger.Create(c.Request().Context(), d, s.Today(), once)
	if err != nil {
		return inOrder(text, err)
	}
	return newQuote(c, a)
}

// newQuote answers with a quote that was made.
func newQuote(c echo.Context, a quotes.Answer) error {
	c.Response().Header().Set(echo.HeaderLocation, "/v1/quotes/"+a.Number)
	return changedAs(c, http.StatusCreated, a.Tag, a.Text)
}

// onceOf returns what the header Idempotency-Key says, if it is there.
func onceOf(c echo.Context, text []byte) (once quotes.Once, err error) {
	const name, longest = "Idempotency-Key", 200
	values := c.Request().Header.Values(name)
	if len(values) == 0 {
		return once, nil
	}
	key := values[0]
	good := len(values) == 1 && key != "" && len(key) <= longest
	for _, b := range []byte(key) {
		good = good && ' ' < b && b < 0x7f
	}
	if !good {
		return once, failings{{Detail: fmt.Sprintf("the header %s is no key: send it once, with 1 to %d characters of ASCII and no space", name, longest)}}
	}
	seen := strings.Join(c.Request().Header.Values("If-Match"), ",") // issuing again is another request, though its body is the same
	return quotes.OnceOf(c.Request().URL.Path, key, append([]byte(seen+"\n"), text...)), nil
}

// quote answers with a quote as it stands.
func (s *service) quote(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	a, err := s.ledger.Get(c.Request().Context(), inPath(c, "number"), s.Today())
	if err != nil {
		return err
	}
	return taggedAs(c, typeJSON, a.Tag, a.Text)
}

// change returns which quote is to be changed, on which condition.
func (s *service) change(c echo.Context) (quotes.Change, error) {
	condition, err := matching(c, false)
	return quotes.Change{Number: inPath(c, "number"), Match: condition, Today: s.Today()}, err
}

// editQuote makes the body the draft of a quote.
func (s *service) editQuote(c echo.Context) error {
	change, err := s.change(c)
	if err != nil {
		return err
	}
	d, text, leave, err := s.quoteBody(c)
	if err != nil {
		return err
	}
	defer leave()
	a, err := s.ledger.Edit(c.Request().Context(), change, d)
	if err != nil {
		return inOrder(text, err)
	}
	return changedAs(c, http.StatusOK, a.Tag, a.Text)
}

// perform does something to a quote whose body, which may be left out, is read into
// details.
func (s *service) perform(c echo.Context, v any, do func(context.Context, quotes.Change, []byte) (quotes.Answer, error)) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	change, err := s.change(c)
	if err != nil {
		return err
	}
	text, err := details(c, v)
	if err != nil {
		return err
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	a, err := do(c.Request().Context(), change, text)
	if err != nil {
		return inOrder(text, err)
	}
	return changedAs(c, http.StatusOK, a.Tag, a.Text)
}

// issueQuote freezes the draft of a quote.
func (s *service) issueQuote(c echo.Context) error {
	return s.perform(c, &struct{}{}, func(ctx context.Context, change quotes.Change, text []byte) (a quotes.Answer, err error) {
		if change.Once, err = onceOf(c, text); err != nil {
			return a, err
		}
		return s.ledger.Issue(ctx, change)
	})
}

// An acceptance is what a customer took of what was offered.
type acceptance struct {
	Choose []string `json:"choose,omitzero"` // ids of alternatives and extras
}

// acceptQuote notes that the customer took what was issued.
func (s *service) acceptQuote(c echo.Context) error {
	taken := acceptance{Choose: []string{}}
	return s.perform(c, &taken, func(ctx context.Context, change quotes.Change, _ []byte) (quotes.Answer, error) {
		return s.ledger.Accept(ctx, change, taken.Choose)
	})
}

// settle returns the handler of a deed that needs no details.
func (s *service) settle(do func(*quotes.Ledger, context.Context, quotes.Change) (quotes.Answer, error)) echo.HandlerFunc {
	return func(c echo.Context) error {
		return s.perform(c, &struct{}{}, func(ctx context.Context, change quotes.Change, _ []byte) (quotes.Answer, error) {
			return do(s.ledger, ctx, change)
		})
	}
}

// duplicateQuote makes a new quote from another.
func (s *service) duplicateQuote(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	text, err := details(c, &struct{}{})
	if err != nil {
		return err
	}
	once, err := onceOf(c, text)
	if err != nil {
		return err
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	a, err := s.ledger.Duplicate(c.Request().Context(), inPath(c, "number"), s.Today(), once)
	if err != nil {
		return err
	}
	return newQuote(c, a)
}

// listQuotes answers with quotes, the latest first, and what they come to.
func (s *service) listQuotes(c echo.Context) error {
	p, err := s.pageOf(c, word("status", quotes.Statuses()...), identity("customer"), text("text"), day("from"), day("to"))
	if err != nil {
		return err
	}
	q := p.query
	f := quotes.Filter{Status: q.Get("status"), Text: q.Get("text"), From: dayOf(q, "from", date.Date{}), To: dayOf(q, "to", date.Date{})}
	f.Customer, _ = strconv.ParseInt(q.Get("customer"), 10, 64) // 0 when it is not there
	if !f.To.IsZero() && f.To.Compare(f.From) < 0 {
		return failings{{Parameter: "to", Detail: fmt.Sprintf("%s is before from, %s: write that day or a later one", f.To, f.From)}}
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	all, err := s.ledger.List(c.Request().Context(), f, s.Today(), p.before, p.limit)
	if err != nil {
		return err
	}
	if all.Last > 0 {
		p.next(c, all.Last)
	}
	return show(c, all)
}

// An eventList is what happened to a quote, in its order.
type eventList struct {
	Events []quotes.Event `json:"events"`
}

// quoteEvents answers with what happened to a quote.
func (s *service) quoteEvents(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	all, err := s.ledger.Events(c.Request().Context(), inPath(c, "number"))
	if err != nil {
		return err
	}
	return show(c, eventList{all})
}

// quoteEvent answers with one thing that happened to a quote, and what it left.
func (s *service) quoteEvent(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	id, err := numbered(c, "id", "id of an event")
	if err != nil {
		return err
	}
	e, err := s.ledger.Event(c.Request().Context(), inPath(c, "number"), id)
	if err != nil {
		return err
	}
	return show(c, e)
}
