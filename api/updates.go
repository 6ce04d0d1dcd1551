package api

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/url"
	"path"
	"strconv"
	"strings"
	"unicode"

	"github.com/labstack/echo/v4"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/exports"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

const typeForm = "multipart/form-data"

// previewUpdate keeps a price list and answers with what it would change.
func (s *service) previewUpdate(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	list, err := sent(c)
	if err != nil {
		return err
	}
	if list.Rows, err = catalog.ReadList(list.Text); err != nil {
		return err
	}
	u, fresh, err := s.Catalog.Preview(c.Request().Context(), list, s.Today())
	if err != nil {
		return err
	}
	status := http.StatusOK // it is kept already
	if fresh {
		status = http.StatusCreated
	}
	c.Response().Header().Set(echo.HeaderLocation, fmt.Sprintf("/v1/price-updates/%d", u.ID))
	return showState(c, status, u)
}

// sent returns the file of a request: the body itself, or the part "file" of a form.
func sent(c echo.Context) (l catalog.List, err error) {
	media, text, err := body(c, maxFile, typeCSV, typeXLSX, typeForm)
	if err != nil {
		return l, err
	}
	l = catalog.List{File: "price-list.csv", Text: text}
	switch media {
	case typeXLSX:
		l.File = "price-list.xlsx"
	case typeForm:
		return partOf(c, text)
	}
	return l, nil
}

// partOf returns the part "file" of a form, which has no other.
func partOf(c echo.Context, text []byte) (l catalog.List, err error) {
	_, params, _ := mime.ParseMediaType(c.Request().Header.Get(echo.HeaderContentType)) // as body found
	form := multipart.NewReader(bytes.NewReader(text), params["boundary"])
	part, err := form.NextPart()
	if err != nil {
		return l, failings{{Detail: "the form cannot be read: send one file in the part named file"}}
	}
	if part.FormName() != "file" {
		return l, failings{{Detail: fmt.Sprintf("the form has a part %q: send one file in the part named file", part.FormName())}}
	}
	if l.Text, err = io.ReadAll(part); err != nil {
		return l, failings{{Detail: "the form ended before its end: send it again"}}
	}
	l.File = plainName(part.FileName())
	if _, err := form.NextPart(); !errors.Is(err, io.EOF) {
		return l, failings{{Detail: "the form has more than one part: send one file"}}
	}
	return l, nil
}

// plainName returns the last element of a file's name, to be shown: it names no
// file here.
func plainName(name string) string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, name)
	if name == "." || name == "/" || name == "" {
		return "price-list"
	}
	runes := []rune(name)
	return string(runes[:min(len(runes), book.MaxText)])
}

// updateID returns the number of the update that a path names.
func updateID(c echo.Context) (int64, error) { return numbered(c, "id", "number of a price update") }

// numbered returns the number, from 1, that an element of the path is; what says of
// what.
func numbered(c echo.Context, name, what string) (int64, error) {
	word := inPath(c, name)
	n, err := strconv.ParseInt(word, 10, 64)
	if err != nil || n < 1 || strconv.FormatInt(n, 10) != word {
		return 0, refuse(notFound, "%q is no %s", word, what)
	}
	return n, nil
}

// update answers with one price update.
func (s *service) update(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	id, err := updateID(c)
	if err != nil {
		return err
	}
	u, err := s.Catalog.Update(c.Request().Context(), id, s.Today())
	if err != nil {
		return err
	}
	return show(c, u)
}

// An updatePage is some of the price updates, the latest first.
type updatePage struct {
	Updates []catalog.UpdateHead `json:"updates"`
}

// updates answers with the price updates, without their rows.
func (s *service) updates(c echo.Context) error {
	p, err := s.pageOf(c)
	if err != nil {
		return err
	}
	all, err := s.Catalog.Updates(c.Request().Context(), p.before, p.limit)
	if err != nil {
		return err
	}
	if len(all) == p.limit {
		p.next(c, all[len(all)-1].ID)
	}
	return show(c, updatePage{all})
}

// applyUpdate makes an update's prices hold.
func (s *service) applyUpdate(c echo.Context) error {
	var consent catalog.Consent
	id, err := s.deed(c, &consent)
	if err != nil {
		return err
	}
	u, err := s.Catalog.Apply(c.Request().Context(), id, consent, s.Today())
	if err != nil {
		return err
	}
	return showState(c, http.StatusOK, u)
}

// withdrawUpdate takes an update back.
func (s *service) withdrawUpdate(c echo.Context) error {
	id, err := s.deed(c, &struct{}{})
	if err != nil {
		return err
	}
	u, err := s.Catalog.Withdraw(c.Request().Context(), id, s.Today())
	if err != nil {
		return err
	}
	return showState(c, http.StatusOK, u)
}

// deed reads what is to be done with an update; its body may be left out.
func (s *service) deed(c echo.Context, v any) (int64, error) {
	if _, err := query(c, typeJSON); err != nil {
		return 0, err
	}
	id, err := updateID(c)
	if err != nil {
		return 0, err
	}
	_, err = details(c, v)
	return id, err
}

// details reads the body of a deed into v; it may be left out.
func details(c echo.Context, v any) (text []byte, err error) {
	if c.Request().ContentLength == 0 {
		return nil, nil
	}
	if _, text, err = body(c, maxBody, typeJSON); err != nil {
		return nil, err
	}
	return text, wire.Decode(text, v)
}

// template answers with the price list of a day, in the form that loads back.
func (s *service) template(media string, draw func(io.Writer, []exports.PriceRow) error) echo.HandlerFunc {
	return func(c echo.Context) error {
		q, d, err := s.asked(c, media, class(), day("from"))
		if err != nil {
			return err
		}
		all, err := s.Catalog.Items(c.Request().Context(), d)
		if err != nil {
			return err
		}
		from, err := holdsFrom(q, d, media)
		if err != nil {
			return err
		}
		var out bytes.Buffer
		if err := draw(&out, PriceRows(all.Of(q.Get("class")), from)); err != nil {
			return err
		}
		return saved(c, media, path.Base(c.Path()), out.Bytes())
	}
}

// holdsFrom returns the day from which a price list is to hold: that of its prices,
// unless the query has another. In a workbook dates begin in March 1900.
func holdsFrom(q url.Values, asOf date.Date, media string) (date.Date, error) {
	from := dayOf(q, "from", asOf)
	if first := date.MustParse("1900-03-01"); media == typeXLSX && from.Compare(first) < 0 {
		named := "as_of"
		if q.Has("from") {
			named = "from"
		}
		return from, failings{{Parameter: named, Detail: fmt.Sprintf("dates of a workbook begin on %s: write that day or a later one, or take template.csv", first)}}
	}
	return from, nil
}

// PriceRows returns the items of a day as the lines of a price list that holds from
// another.
func PriceRows(all catalog.Itemised, from date.Date) []exports.PriceRow {
	data := all.Book.Data()
	rows := make([]exports.PriceRow, len(all.Items))
	for i, item := range all.Items {
		rows[i] = exports.PriceRow{Code: item.Code, Currency: data.Currency.String(), From: from, Note: item.Description, Unit: item.Unit()}
		if item.Price != nil {
			rows[i].Price = &item.Price.Rate
		}
	}
	return rows
}
