package api

import (
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// matching returns the condition of a change: If-Match, the ETag of what the client
// saw, or If-None-Match: * for what is to be new, if it may be. Current is the ETag
// that a GET answers with, empty for none.
func matching(c echo.Context, mayBeNew bool) (func(current string) error, error) {
	h := c.Request().Header
	seen, none := h.Values("If-Match"), h.Values("If-None-Match")
	switch {
	case len(seen) > 0 && len(none) > 0:
		return nil, refuse(unconditional, "If-Match and If-None-Match exclude each other: send one")
	case mayBeNew && len(none) == 1 && strings.TrimSpace(none[0]) == "*":
		return func(current string) error {
			if current != "" {
				return refuse(changed, "it is there already: change it with If-Match: %s", current)
			}
			return nil
		}, nil
	case len(seen) > 0:
		return func(current string) error { return matches(strings.Join(seen, ","), current) }, nil
	}
	if mayBeNew {
		return nil, refuse(unconditional, "this needs If-Match with the ETag of what it changes, or If-None-Match: * to make what is not there")
	}
	return nil, refuse(unconditional, "this needs If-Match with the ETag of what it changes")
}

// matches checks an If-Match against what stands.
func matches(header, current string) error {
	if current == "" {
		return refuse(changed, "there is nothing to change on that day")
	}
	tags := strings.Split(header, ",")
	if slices.ContainsFunc(tags, func(t string) bool { t = strings.TrimSpace(t); return t == "*" || t == current }) {
		return nil
	}
	return refuse(changed, "its ETag is %s now", current)
}

// place returns where a change is to be made, and its condition.
func (s *service) place(c echo.Context, class catalog.Class) (at catalog.Place, match catalog.Match, err error) {
	q, err := query(c, typeJSON, day("from"))
	if err != nil {
		return at, nil, err
	}
	at = catalog.Place{Class: class, Code: codeOf(c)}
	if class.List == catalog.Terms().List {
		at.Code = class.List
	}
	at.From = dayOf(q, "from", s.Today())
	condition, err := matching(c, c.Request().Method == http.MethodPut)
	return at, func(current []byte) error {
		if current == nil {
			return condition("")
		}
		return condition(wire.Tag(current, []byte{'\n'}))
	}, err
}

// put makes the body what holds from a day.
func (s *service) put(class catalog.Class) echo.HandlerFunc {
	return func(c echo.Context) error {
		at, match, err := s.place(c, class)
		if err != nil {
			return err
		}
		_, text, err := body(c, maxBody, typeJSON)
		if err != nil {
			return err
		}
		status := http.StatusOK
		kept, err := s.Catalog.Put(c.Request().Context(), at, text, func(current []byte) error {
			if current == nil {
				status = http.StatusCreated
			}
			return match(current)
		})
		if err != nil {
			return inOrder(text, err)
		}
		return changedTo(c, status, append(kept, '\n'))
	}
}

// changedTo answers with what stands after a change, and its ETag.
func changedTo(c echo.Context, status int, text []byte) error {
	return changedAs(c, status, wire.Tag(text), text)
}

// changedAs is changedTo with an ETag that was made before.
func changedAs(c echo.Context, status int, tag string, text []byte) error {
	c.Response().Header().Set("ETag", tag)
	c.Response().Header().Set(echo.HeaderCacheControl, "no-cache")
	return write(c, status, typeJSON, text)
}

// retire ends what holds from a day on.
func (s *service) retire(class catalog.Class) echo.HandlerFunc {
	return func(c echo.Context) error {
		at, match, err := s.place(c, class)
		if err != nil {
			return err
		}
		if err := s.Catalog.Retire(c.Request().Context(), at, match); err != nil {
			return err
		}
		return c.NoContent(http.StatusNoContent)
	}
}

// putPrice makes the body what an item costs from a day.
func (s *service) putPrice(c echo.Context) error {
	p, err := s.priceChange(c)
	if err != nil {
		return err
	}
	_, text, err := body(c, maxBody, typeJSON)
	if err != nil {
		return err
	}
	p.Price = new(catalog.NewPrice)
	if err := wire.Decode(text, p.Price); err != nil {
		return err
	}
	return s.changePrice(c, text, p)
}

// deletePrice takes the price away that begins on a day.
func (s *service) deletePrice(c echo.Context) error {
	p, err := s.priceChange(c)
	if err != nil {
		return err
	}
	return s.changePrice(c, nil, p)
}

// priceChange returns which price is to be changed, on which condition.
func (s *service) priceChange(c echo.Context) (p catalog.PriceChange, err error) {
	if _, err = query(c, typeJSON); err != nil {
		return p, err
	}
	p = catalog.PriceChange{Code: codeOf(c), Today: s.Today()}
	if p.From, err = date.Parse(inPath(c, "date")); err != nil {
		return p, refuse(notFound, "%s", err.Error())
	}
	condition, err := matching(c, false)
	p.Match = func(h catalog.History) error {
		text, err := encoded(h)
		if err != nil {
			return err
		}
		return condition(wire.Tag(text))
	}
	return p, err
}

// changePrice answers with the item's history after the change.
func (s *service) changePrice(c echo.Context, text []byte, p catalog.PriceChange) error {
	after, err := s.Catalog.ChangePrice(c.Request().Context(), p)
	if err != nil {
		return inOrder(text, err)
	}
	answer, err := encoded(after)
	if err != nil {
		return err
	}
	return changedTo(c, http.StatusOK, answer)
}

// A changePage is some of the changes, the latest first.
type changePage struct {
	Changes []catalog.Change `json:"changes"`
}

// changes answers with what was done to the catalogue.
func (s *service) changes(c echo.Context) error {
	p, err := s.pageOf(c)
	if err != nil {
		return err
	}
	all, err := s.Catalog.Changes(c.Request().Context(), p.before, p.limit)
	if err != nil {
		return err
	}
	if len(all) == p.limit {
		p.next(c, all[len(all)-1].ID)
	}
	return show(c, changePage{all})
}
