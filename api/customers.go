package api

import (
	"fmt"
	"math"
	"net/http"

	"github.com/labstack/echo/v4"

	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
)

// identity returns a parameter that is the id of a customer.
func identity(name string) parameter {
	return number(name, math.MaxInt64, "id of a customer: write one of /v1/customers")
}

// customerID returns the id of the customer that a path names.
func customerID(c echo.Context) (int64, error) { return numbered(c, "id", "id of a customer") }

// A customerPage is some of the customers, the latest first.
type customerPage struct {
	Customers []quotes.Customer `json:"customers"`
}

// customers answers with customers, the latest first.
func (s *service) customers(c echo.Context) error {
	p, err := s.pageOf(c, text("text"))
	if err != nil {
		return err
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	all, err := s.ledger.Customers(c.Request().Context(), p.query.Get("text"), p.before, p.limit)
	if err != nil {
		return err
	}
	if len(all) == p.limit {
		p.next(c, all[len(all)-1].ID)
	}
	return show(c, customerPage{all})
}

// customer answers with one customer.
func (s *service) customer(c echo.Context) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	id, err := customerID(c)
	if err != nil {
		return err
	}
	kept, tag, err := s.ledger.Customer(c.Request().Context(), id)
	if err != nil {
		return err
	}
	text, err := encoded(kept)
	if err != nil {
		return err
	}
	return taggedAs(c, typeJSON, tag, text)
}

// customerBody reads a customer, whose id is that of the path or none.
func customerBody(c echo.Context, id int64) (k quotes.Customer, text []byte, err error) {
	if _, err = query(c, typeJSON); err != nil {
		return k, nil, err
	}
	if _, text, err = body(c, maxBody, typeJSON); err != nil {
		return k, nil, err
	}
	if err = wire.Decode(text, &k); err != nil {
		return k, nil, err
	}
	if k.ID != 0 && k.ID != id {
		return k, nil, failings{{Pointer: "#/id", Detail: "the id is given by the service, and is that of the path: leave it out"}}
	}
	k.ID = id
	return k, text, nil
}

// addCustomer keeps the body as a new customer.
func (s *service) addCustomer(c echo.Context) error {
	k, text, err := customerBody(c, 0)
	if err != nil {
		return err
	}
	kept, tag, err := s.ledger.AddCustomer(c.Request().Context(), k)
	if err != nil {
		return inOrder(text, err)
	}
	c.Response().Header().Set(echo.HeaderLocation, fmt.Sprintf("/v1/customers/%d", kept.ID))
	return keptCustomer(c, http.StatusCreated, kept, tag)
}

// putCustomer makes the body what a customer is.
func (s *service) putCustomer(c echo.Context) error {
	id, err := customerID(c)
	if err != nil {
		return err
	}
	condition, err := matching(c, false)
	if err != nil {
		return err
	}
	k, text, err := customerBody(c, id)
	if err != nil {
		return err
	}
	kept, tag, err := s.ledger.PutCustomer(c.Request().Context(), k, condition)
	if err != nil {
		return inOrder(text, err)
	}
	return keptCustomer(c, http.StatusOK, kept, tag)
}

// keptCustomer answers with a customer as it stands after a change.
func keptCustomer(c echo.Context, status int, k quotes.Customer, tag string) error {
	text, err := encoded(k)
	if err != nil {
		return err
	}
	return changedAs(c, status, tag, text)
}
