package api

import (
	"bytes"
	"math"
	"strconv"

	"github.com/labstack/echo/v4"

	"reckoner/catalog/quotes"
	"reckoner/exports"
	"reckoner/pricing/date"
)

// updateNumber returns the parameter that is the number of a price update.
func updateNumber(name string) parameter {
	return number(name, math.MaxInt64, "number of a price update: write one of /v1/price-updates")
}

// impact answers with what prices do to the quotes that are out.
func (s *service) impact(c echo.Context) error {
	c.Response().Header().Set(echo.HeaderVary, echo.HeaderAccept)
	form, err := accepted(c, typeJSON, typeCSV, typeXLSX)
	if err != nil {
		return err
	}
	q, err := parameters(c, day("as_of"), updateNumber("preview"), text("timber"), updateNumber("update"))
	if err != nil {
		return err
	}
	leave, err := s.sit(c.Request().Context())
	if err != nil {
		return err
	}
	defer leave()
	asked := quotes.Question{Today: s.Today(), AsOf: dayOf(q, "as_of", date.Date{}), Timber: q.Get("timber")}
	asked.Preview, _ = strconv.ParseInt(q.Get("preview"), 10, 64) // 0 when it is not there
	asked.Update, _ = strconv.ParseInt(q.Get("update"), 10, 64)
	all, err := s.ledger.Impact(c.Request().Context(), asked)
	if err != nil {
		return err
	}
	draw, name := exports.ImpactCSV, "impact.csv"
	switch form {
	case typeJSON:
		return show(c, all)
	case typeXLSX:
		draw, name = exports.ImpactXLSX, "impact.xlsx"
	}
	var out bytes.Buffer
	if err := draw(&out, all); err != nil {
		return err
	}
	return saved(c, form, name, out.Bytes())
}
