package api

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
)

// cost prices what it is sent and keeps nothing.
func (s *service) cost(c echo.Context) error {
	c.Response().Header().Set(echo.HeaderVary, echo.HeaderAccept)
	c.Response().Header().Set(echo.HeaderCacheControl, "no-store")
	form, err := accepted(c, typeJSON, typeXLSX, typeSVG)
	if err != nil {
		return err
	}
	q, err := parameters(c, text("timber"), text("sheet"), text("finish"), day("as_of"), word("workbook", "quotation", "workshop"), text("piece"), layout(), word("sensitivity", "true", "false"))
	if err != nil {
		return err
	}
	media, text, err := body(c, maxBody, typeJSON, typeCSV)
	if err != nil {
		return err
	}
	if err := fitting(q, media, form); err != nil {
		return err
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	paper, err := s.price(c, q, media, text)
	if err != nil {
		return err
	}
	switch form {
	case typeXLSX:
		return workbook(c, q.Get("workbook"), paper)
	case typeSVG:
		return drawing(c, q, paper)
	}
	answer, err := encoded(paper.Costing)
	if err != nil {
		return err
	}
	return write(c, http.StatusOK, typeJSON, answer)
}

// fitting checks that the parameters go with the body and with the answer.
func fitting(q url.Values, media, form string) error {
	var wrong failings
	const ofList = "a cutting list, a body of " + typeCSV + ": "
	drawn, sheet := form == typeSVG, q.Has("sheet")
	for _, p := range []struct {
		name string
		fits bool
		only string
	}{
		{"timber", media == typeCSV, ofList + "leave it out"},
		{"sheet", media == typeCSV || drawn, "a cutting list, a body of " + typeCSV + ", or for a cutting diagram: leave it out, or send Accept: " + typeSVG},
		{"finish", media == typeCSV, ofList + "leave it out"},
		{"as_of", media == typeCSV, ofList + "write the member as_of into the request instead"},
		{"workbook", form == typeXLSX, "a workbook: leave it out, or send Accept: " + typeXLSX},
		{"sensitivity", form == typeJSON, "a costing in JSON form: leave it out, or send Accept: " + typeJSON},
		{"piece", drawn, "a front elevation: leave it out, or send Accept: " + typeSVG},
		{"piece", !drawn || !sheet, "a front elevation, and sheet for a cutting diagram: leave one of them out"},
		{"layout", drawn, "a cutting diagram: leave it out, or send Accept: " + typeSVG},
		{"layout", !drawn || sheet, "a cutting diagram: leave it out, or name its sheet"},
	} {
		if q.Has(p.name) && !p.fits {
			wrong = append(wrong, failing{Parameter: p.name, Detail: "it is only for " + p.only})
		}
	}
	if media == typeCSV && drawn && !sheet {
		wrong = append(wrong, failing{Detail: "a cutting list has no front elevation: name a sheet for its cutting diagram, or ask for " + either([]string{typeJSON, typeXLSX})})
	}
	if len(wrong) > 0 {
		return wrong
	}
	return nil
}

// sit waits for a desk, so that many large requests at once take their turn instead
// of all the memory.
func (s *service) sit(ctx context.Context) (leave func(), err error) {
	select {
	case s.desks <- struct{}{}:
		return func() { <-s.desks }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// price prices a body.
func (s *service) price(c echo.Context, q url.Values, media string, text []byte) (p exports.Paper, err error) {
	refusal := func(_ *book.Book, err error) error { return inOrder(text, err) }
	if media == typeCSV {
		list := wire.List{Timber: q.Get("timber"), Sheet: q.Get("sheet"), Finish: q.Get("finish")}
		var read *wire.Reading
		p.Request, read = list.Read(text)
		refusal = read.Refusal
		p.Request.AsOf = dayOf(q, "as_of", s.Today())
	} else if err := wire.Decode(text, &p.Request); err != nil {
		return p, err
	}
	on := p.Request.AsOf
	if on.IsZero() {
		on = s.Today()
	}
	if p.Book, err = s.Catalog.Book(c.Request().Context(), on); err != nil {
		return p, err
	}
	price := pricing.Cost
	if q.Get("sensitivity") == "true" {
		price = pricing.Sensitive
	}
	p.Costing, err = price(p.Request, p.Book)
	p.Customer = p.Request.Customer
	return p, refusal(p.Book, err)
}

// inOrder puts faults in the order of the text they are of.
func inOrder(text []byte, err error) error {
	if faults, ok := err.(fault.List); ok {
		return wire.InOrder(text, faults)
	}
	return err
}

// workbook answers with one of the two workbooks.
func workbook(c echo.Context, name string, p exports.Paper) error {
	draw := exports.Quotation
	if name == "workshop" {
		draw = exports.Workshop
	} else {
		name = "quotation"
	}
	c.Response().Header().Set(echo.HeaderContentDisposition, "attachment; filename="+name+".xlsx")
	return export(c, typeXLSX, func(w io.Writer) error { return draw(w, p) })
}

// drawing answers with a cutting diagram where the query names a sheet, else with the
// front of a piece.
func drawing(c echo.Context, q url.Values, p exports.Paper) error {
	if q.Has("sheet") {
		return cutting(c, q, p)
	}
	return elevation(c, q, p)
}

// elevation answers with the front of a piece.
func elevation(c echo.Context, q url.Values, p exports.Paper) error {
	i, err := front(q, p)
	if err != nil {
		return err
	}
	return export(c, typeSVG, func(w io.Writer) error { return exports.Elevation(w, p, i) })
}

// front returns the place of the piece whose front is to be drawn: the one that the
// query names by its id, or the first that has a front.
func front(q url.Values, p exports.Paper) (int, error) {
	i, ok := exports.FrontPiece(p)
	id, named := q.Get("piece"), q.Has("piece")
	if named {
		if i, ok = place(p.Costing.Pieces, id); !ok {
			return 0, failings{{Parameter: "piece", Detail: fmt.Sprintf("no piece of the request has the id %q", id)}}
		}
		_, ok = p.Request.Pieces[i].Front()
	}
	switch {
	case ok:
		return i, nil
	case named:
		return 0, failings{{Parameter: "piece", Detail: fmt.Sprintf("the piece %q has no front elevation", id)}}
	}
	return 0, fault.List{{Pointer: "#/pieces", Detail: "no piece of the request has a front elevation"}}
}

func place(pieces []pricing.PricedPiece, id string) (int, bool) {
	for i := range pieces {
		if pieces[i].ID == id {
			return i, true
		}
	}
	return 0, false
}

// export answers with what is written, once it is whole.
func export(c echo.Context, media string, draw func(io.Writer) error) error {
	var out bytes.Buffer
	if err := draw(&out); err != nil {
		return err
	}
	return write(c, http.StatusOK, media, out.Bytes())
}
