package api

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"

	"github.com/labstack/echo/v4"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// A problem is a kind of error that the service answers with.
type problem int

const (
	notJSON problem = iota
	foreign
	notFound
	wrongMethod
	notAcceptable
	tooSlow
	conflict
	changed
	tooLarge
	wrongMedia
	notValid
	unconditional
	internal
	notReady
)

// problems says of every kind what it is called and what to do about it; its type
// is /problems# and its name. Which error is which, problemOf says.
var problems = [...]struct {
	Status              int
	Name, Title, Remedy string
}{
	notJSON:       {http.StatusBadRequest, "not-json", "The body cannot be read", "Send all of it: one JSON object as UTF-8, with each of its members once. The detail says at which byte it goes wrong."},
	foreign:       {http.StatusForbidden, "foreign", "The request is of another site", "Call the service by the name or address it listens on, and from no page of another site."},
	notFound:      {http.StatusNotFound, "not-found", "There is no such thing", "Look at the path, the code and the date: the lists, such as /v1/items, name every code of a day."},
	wrongMethod:   {http.StatusMethodNotAllowed, "method-not-allowed", "The path does not take this method", "Use one of the methods in the header Allow."},
	notAcceptable: {http.StatusNotAcceptable, "not-acceptable", "There is no such form of the answer", "Ask, by the header Accept, for one of the media types in the detail."},
	tooSlow:       {http.StatusRequestTimeout, "too-slow", "The request took too long to arrive", "Send it again, in one go."},
	conflict:      {http.StatusConflict, "conflict", "It cannot be done as things stand", "The detail says what stands in the way, and what to do or to say first."},
	changed:       {http.StatusPreconditionFailed, "precondition-failed", "It is not as you saw it", "Somebody changed it since, or it is there already, or not there. Read it again, with its ETag, and decide anew."},
	tooLarge:      {http.StatusRequestEntityTooLarge, "too-large", "The body is too large", "Send no more than the detail says: price the pieces of a large request apart, and send a long price list in parts."},
	wrongMedia:    {http.StatusUnsupportedMediaType, "unsupported-media-type", "The body is of another media type", "Say, by the header Content-Type, one of the media types in the detail, and send that."},
	notValid:      {http.StatusUnprocessableEntity, "not-valid", "The request is wrong in places", "Each of the errors says where, what is wrong, and what to write instead. Change those places and send it again."},
	unconditional: {http.StatusPreconditionRequired, "precondition-required", "Say what you change", "Send If-Match with the ETag that you read it with, so that you change nothing that you have not seen. The detail says whether it may be new."},
	internal:      {http.StatusInternalServerError, "internal", "The service failed", "The fault is not yours. Whoever runs the service finds its cause in the log by the request_id."},
	notReady:      {http.StatusServiceUnavailable, "not-ready", "The service cannot read its database", "Whoever runs the service finds its cause in the log by the request_id."},
}

// A refusal is an error that is a problem of that kind; the detail is for whoever
// asked.
type refusal struct {
	problem
	detail string
}

func (r *refusal) Error() string { return r.detail }

// refuse returns a refusal; the detail is made as by fmt.Sprintf.
func refuse(p problem, format string, args ...any) error {
	return &refusal{p, fmt.Sprintf(format, args...)}
}

// A failing is one thing that is wrong with a request: at a pointer into its JSON,
// in a row and a column of its cutting list, or in a parameter of its query.
type failing struct {
	Pointer   string    `json:"pointer,omitzero"`
	Row       int       `json:"row,omitzero"`
	Column    string    `json:"column,omitzero"`
	Parameter string    `json:"parameter,omitzero"`
	AsOf      date.Date `json:"as_of,omitzero"` // the pointer is into the Book of that day
	Detail    string    `json:"detail"`
}

// maxTold is how much of what is wrong an answer tells: a body of a megabyte has
// room for more of it than anyone would read.
const maxTold = 1000

// failings is all that is wrong with a request, in its order.
type failings []failing

func (f failings) Error() string { return f[0].Detail }

// problemOf says which problem an error is, what of it to tell, and what is wrong
// where. Anything it does not know is internal, of which nothing is told.
func problemOf(err error) (p problem, detail string, wrong failings) {
	var (
		refused   *refusal
		malformed *wire.Malformed
		missing   *catalog.NotFound
		noUpdate  *catalog.NoUpdate
		noPrice   *catalog.NoPrice
		noQuote   *quotes.NotFound
		opposed   *catalog.Conflict
		large     *http.MaxBytesError
		routing   *echo.HTTPError
	)
	switch found := failingsOf(err); {
	case len(found) == 1:
		return notValid, "One thing is wrong.", found
	case len(found) > maxTold:
		return notValid, fmt.Sprintf("%d things are wrong; these are the first %d.", len(found), maxTold), found[:maxTold]
	case len(found) > 1:
		return notValid, fmt.Sprintf("%d things are wrong.", len(found)), found
	}
	switch {
	case errors.As(err, &refused):
		return refused.problem, refused.detail, nil
	case errors.As(err, &malformed):
		return notJSON, malformed.Error(), nil
	case errors.As(err, &missing):
		return notFound, missing.Error(), nil
	case errors.As(err, &noUpdate):
		return notFound, noUpdate.Error(), nil
	case errors.As(err, &noPrice):
		return notFound, noPrice.Error(), nil
	case errors.As(err, &noQuote):
		return notFound, noQuote.Error(), nil
	case errors.As(err, &opposed):
		return conflict, opposed.Error(), nil
	case errors.As(err, &large):
		return tooLarge, fmt.Sprintf("a body may have at most %d bytes", large.Limit), nil
	case errors.Is(err, os.ErrDeadlineExceeded), errors.Is(err, context.Canceled):
		return tooSlow, "the body did not arrive in time", nil
	case errors.As(err, &routing) && routing.Code == http.StatusNotFound:
		return notFound, "there is nothing at this path", nil
	case errors.As(err, &routing) && routing.Code == http.StatusMethodNotAllowed:
		return wrongMethod, "this path takes only the methods in the header Allow", nil
	}
	return internal, "the service failed", nil
}

// failingsOf returns what an error says is wrong with a request, if that is what
// it says.
func failingsOf(err error) (wrong failings) {
	var (
		faults   fault.List
		cells    wire.CellFaults
		overflow num.Overflow
		broken   *catalog.Broken
		reused   *quotes.Reused
	)
	switch {
	case errors.As(err, &wrong):
	case errors.As(err, &faults):
		for _, f := range faults {
			wrong = append(wrong, failing{Pointer: f.Pointer, Detail: f.Detail})
		}
	case errors.As(err, &cells):
		for _, f := range cells {
			wrong = append(wrong, ofCell(f))
		}
	case errors.As(err, &broken):
		for _, f := range broken.Faults {
			wrong = append(wrong, failing{Pointer: f.Pointer, AsOf: broken.On, Detail: f.Detail})
		}
	case errors.As(err, &reused):
		wrong = failings{{Detail: reused.Error()}}
	case errors.As(err, &overflow):
		wrong = failings{{Pointer: "#", Detail: "the sums grow too large to be worked out: write smaller quantities, rates or percentages"}}
	}
	return wrong
}

// ofCell returns what is wrong with a cutting list, or with a parameter beside it.
func ofCell(f wire.CellFault) failing {
	if f.Row == 0 && f.Column != "" {
		return failing{Parameter: f.Column, Detail: f.Detail}
	}
	return failing{Row: f.Row, Column: f.Column, Detail: f.Detail}
}

// A problemDocument is the answer that a problem is (RFC 9457).
type problemDocument struct {
	Type    string   `json:"type"`
	Title   string   `json:"title"`
	Status  int      `json:"status"`
	Detail  string   `json:"detail"`
	Errors  failings `json:"errors,omitzero"`
	Request string   `json:"request_id"`
}

// fail answers with the problem that an error is, unless an answer has begun.
func (s *service) fail(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	p, detail, wrong := problemOf(err)
	kind := problems[p]
	id := c.Response().Header().Get(echo.HeaderXRequestID)
	text, err := wire.Encode(problemDocument{
		Type: "/problems#" + kind.Name, Title: kind.Title, Status: kind.Status, Detail: detail, Errors: wrong, Request: id,
	})
	if err == nil {
		h := c.Response().Header()
		h.Set(echo.HeaderCacheControl, "no-store")
		h.Del(echo.HeaderContentDisposition)
		err = write(c, kind.Status, "application/problem+json", append(text, '\n'))
	}
	if err != nil {
		s.Log.Error("a problem could not be told", "id", id, "error", err)
	}
	if !c.Response().Committed { // nothing is no success
		_ = c.NoContent(http.StatusInternalServerError)
	}
}
