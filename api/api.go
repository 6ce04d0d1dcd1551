// Package api is the service: costings and the catalogue over HTTP. Its contract
// is openapi.yaml; what it answers is of the types of package pricing.
package api

import (
	"log/slog"
	"net/http"
	"runtime"

	"github.com/labstack/echo/v4"

	"reckoner/catalog"
	"reckoner/exports"
	"reckoner/pricing/date"
)

// Config is what the service needs; none of it may be missing.
type Config struct {
	Catalog  *catalog.Catalog
	Contract []byte           // openapi.yaml
	Today    func() date.Date // whose prices are meant when a request names no date
	Log      *slog.Logger
}

// A service is the handlers and what they share.
type service struct {
	Config
	desks chan struct{} // one for each costing that is worked at
}

// A route is a method and a path, and what answers them.
type route struct {
	method, path string
	answer       echo.HandlerFunc
}

// routes returns every route there is. HEAD is answered wherever GET is.
func (s *service) routes() []route {
	all := []route{
		{http.MethodPost, "/v1/costings", s.cost},
		{http.MethodGet, "/v1/book", s.book},
		{http.MethodGet, "/v1/terms", s.terms},
		{http.MethodGet, "/v1/items", s.items},
		{http.MethodGet, "/v1/items/:code", s.item},
		{http.MethodGet, "/v1/items/:code/prices", s.prices},
		{http.MethodPut, "/v1/terms", s.put(catalog.Terms())},
		{http.MethodPut, "/v1/items/:code/prices/:date", s.putPrice},
		{http.MethodDelete, "/v1/items/:code/prices/:date", s.deletePrice},
		{http.MethodGet, "/v1/changes", s.changes},
		{http.MethodPost, "/v1/price-updates", s.previewUpdate},
		{http.MethodGet, "/v1/price-updates", s.updates},
		{http.MethodGet, "/v1/price-updates/template.csv", s.template(typeCSV, exports.PriceListCSV)},
		{http.MethodGet, "/v1/price-updates/template.xlsx", s.template(typeXLSX, exports.PriceListXLSX)},
		{http.MethodGet, "/v1/price-updates/:id", s.update},
		{http.MethodPost, "/v1/price-updates/:id/apply", s.applyUpdate},
		{http.MethodPost, "/v1/price-updates/:id/withdraw", s.withdrawUpdate},
		{http.MethodGet, "/healthz", s.healthy},
		{http.MethodGet, "/readyz", s.ready},
		{http.MethodGet, "/openapi.yaml", s.contract},
		{http.MethodGet, "/problems", s.page("problems.html")},
		{http.MethodGet, "/", s.page("home.html")},
	}
	for _, c := range catalog.Classes() {
		all = append(all,
			route{http.MethodGet, "/v1/" + c.List, s.entries(c)},
			route{http.MethodGet, "/v1/" + c.List + "/:code", s.entry(c)},
			route{http.MethodPut, "/v1/" + c.List + "/:code", s.put(c)},
			route{http.MethodDelete, "/v1/" + c.List + "/:code", s.retire(c)})
	}
	return all
}

// New returns the service as a handler; Serve puts it behind a listener.
func New(c Config) http.Handler {
	s := &service{c, make(chan struct{}, 2*runtime.GOMAXPROCS(0))}
	e := echo.New()
	e.HTTPErrorHandler = s.fail
	e.IPExtractor = echo.ExtractIPDirect()
	e.Use(s.identified(), s.logged(), s.recovered(), guarded)
	for _, r := range s.routes() {
		e.Add(r.method, r.path, r.answer)
		if r.method == http.MethodGet {
			e.Add(http.MethodHead, r.path, r.answer)
		}
	}
	return e
}
