// Package api is the service: costings and the catalogue over HTTP. Its contract
// is openapi.yaml; what it answers is of the types of package pricing.
package api

import (
	"log/slog"
	"net/http"
	"runtime"

	"github.com/labstack/echo/v4"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
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
	ledger *quotes.Ledger
	desks  chan struct{} // one for each costing that is worked at
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
		{http.MethodPost, "/v1/costings/compare", s.compareRequests},
		{http.MethodGet, "/v1/impact", s.impact},
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
		{http.MethodPost, "/v1/customers", s.addCustomer},
		{http.MethodGet, "/v1/customers", s.customers},
		{http.MethodGet, "/v1/customers/:id", s.customer},
		{http.MethodPut, "/v1/customers/:id", s.putCustomer},
		{http.MethodPost, "/v1/quotes", s.createQuote},
		{http.MethodGet, "/v1/quotes", s.listQuotes},
		{http.MethodGet, "/v1/quotes/:number", s.quote},
		{http.MethodPut, "/v1/quotes/:number", s.editQuote},
		{http.MethodPost, "/v1/quotes/:number/issue", s.issueQuote},
		{http.MethodPost, "/v1/quotes/:number/accept", s.acceptQuote},
		{http.MethodPost, "/v1/quotes/:number/decline", s.settle((*quotes.Ledger).Decline)},
		{http.MethodPost, "/v1/quotes/:number/void", s.settle((*quotes.Ledger).Void)},
		{http.MethodPost, "/v1/quotes/:number/revise", s.settle((*quotes.Ledger).Revise)},
		{http.MethodPost, "/v1/quotes/:number/duplicate", s.duplicateQuote},
		{http.MethodGet, "/v1/quotes/:number/quotation.xlsx", s.proof},
		{http.MethodGet, "/v1/quotes/:number/events", s.quoteEvents},
		{http.MethodGet, "/v1/quotes/:number/compare", s.compareRevisions},
		{http.MethodGet, "/v1/quotes/:number/events/:id", s.quoteEvent},
		{http.MethodGet, "/v1/quotes/:number/revisions/:revision", s.revision},
		{http.MethodGet, "/v1/quotes/:number/revisions/:revision/quotation.xlsx", s.paper(typeXLSX, exports.Quotation)},
		{http.MethodGet, "/v1/quotes/:number/revisions/:revision/workshop.xlsx", s.paper(typeXLSX, exports.Workshop)},
		{http.MethodGet, "/v1/quotes/:number/revisions/:revision/cutting-list.csv", s.paper(typeCSV, exports.CuttingList)},
		{http.MethodGet, "/v1/quotes/:number/revisions/:revision/buying-list.csv", s.paper(typeCSV, exports.BuyingList)},
		{http.MethodGet, "/v1/quotes/:number/revisions/:revision/elevation.svg", s.frontElevation},
		{http.MethodGet, "/v1/quotes/:number/revisions/:revision/cutting.svg", s.cuttingDiagram},
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
	s := &service{c, quotes.New(c.Catalog), make(chan struct{}, 2*runtime.GOMAXPROCS(0))}
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
