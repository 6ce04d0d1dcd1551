package api

import (
	"bytes"
	"embed"
	"html/template"
	"net/http"

	"github.com/labstack/echo/v4"
)

//go:embed pages/*.html
var pages embed.FS

// page answers with a page for people.
func (s *service) page(name string) echo.HandlerFunc {
	t := template.Must(template.ParseFS(pages, "pages/"+name)) // embedded
	return func(c echo.Context) error {
		var out bytes.Buffer
		if err := t.Execute(&out, map[string]any{"Address": "http://" + c.Request().Host, "Problems": problems}); err != nil {
			return err
		}
		return s.fixed(c, typeHTML, out.Bytes())
	}
}

// contract answers with openapi.yaml.
func (s *service) contract(c echo.Context) error { return s.fixed(c, typeYAML, s.Contract) }

// fixed answers with what does not change while the service runs.
func (s *service) fixed(c echo.Context, media string, body []byte) error {
	if _, err := query(c, media); err != nil {
		return err
	}
	return tagged(c, media, body)
}

// A state says whether the service works, and on which catalogue.
type state struct {
	Status string `json:"status"`
	Book   int64  `json:"book_version,omitzero"`
}

// healthy answers while the process runs.
func (s *service) healthy(c echo.Context) error {
	return s.now(c, state{Status: "ok"})
}

// ready answers when the catalogue can be read.
func (s *service) ready(c echo.Context) error {
	b, err := s.Catalog.Book(c.Request().Context(), s.Today())
	if err != nil {
		s.Log.Error("not ready", "id", c.Response().Header().Get(echo.HeaderXRequestID), "error", err)
		return refuse(notReady, "the catalogue cannot be read")
	}
	return s.now(c, state{"ready", b.Data().Version})
}

// now answers with what is so at this moment.
func (s *service) now(c echo.Context, v state) error {
	if _, err := query(c, typeJSON); err != nil {
		return err
	}
	return showState(c, http.StatusOK, v)
}
