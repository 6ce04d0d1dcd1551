package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/gorillamux"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog"
	"reckoner/pricing/date"
)

// today is the day of every service of these tests.
const today = "2026-11-01"

const (
	mediaXLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	mediaSVG  = "image/svg+xml"
)

// shared is the contract, and the service that the tests ask which change nothing.
var shared struct {
	agreement
	service
}

func TestMain(m *testing.M) {
	flag.Parse()
	os.Exit(tested(m))
}

// tested runs the tests; a whole run fails for what the contract promises and no test
// has seen.
func tested(m *testing.M) int {
	folder, err := os.MkdirTemp("", "reckoner-api")
	if err == nil {
		defer os.RemoveAll(folder)
		err = shared.read("../openapi.yaml")
	}
	if err == nil {
		shared.service, err = openService(filepath.Join(folder, "shared.db"), api.Config{})
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer shared.close()
	status := m.Run()
	if status == 0 && whole() {
		for _, promise := range shared.unseen() {
			fmt.Fprintln(os.Stderr, "no test has seen", promise)
			status = 1
		}
	}
	return status
}

// whole reports whether nothing chooses among the tests.
func whole() bool {
	for _, name := range []string{"test.run", "test.skip", "test.list", "test.fuzz"} {
		if f := flag.Lookup(name); f != nil && f.Value.String() != "" {
			return false
		}
	}
	return true
}

// A service is one that runs, on a store of its own.
type service struct {
	url     string
	handler http.Handler
	catalog *catalog.Catalog
	path    string
	close   func()
}

// openService starts a service on the store in the file at path. What c leaves out is that
// of these tests.
func openService(path string, c api.Config) (s service, err error) {
	if c.Catalog, err = catalog.Open(context.Background(), path); err != nil {
		return s, err
	}
	if c.Contract, err = os.ReadFile("../openapi.yaml"); err != nil {
		return s, err
	}
	if c.Today == nil {
		c.Today = func() date.Date { return date.MustParse(today) }
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	s = service{handler: api.New(c), catalog: c.Catalog, path: path}
	server := httptest.NewServer(s.handler)
	s.url = server.URL
	s.close = func() {
		server.Close()
		_ = c.Catalog.Close() // a test may have closed it
	}
	return s, nil
}

// started starts a service for one test.
func started(t testing.TB, c api.Config) service {
	s, err := openService(filepath.Join(t.TempDir(), "own.db"), c)
	require.NoError(t, err)
	t.Cleanup(s.close)
	return s
}

// A request is one to be sent. Bad is one that the contract may refuse too.
type request struct {
	method, target string   // target: path and query as they go out
	header         []string // "Name: value"; Host too
	body           string
	chunked, bad   bool
}

// fetch, submit, put and remove make requests; what submit and put send is JSON
// unless the header says else.
func fetch(target string, header ...string) request {
	return request{method: http.MethodGet, target: target, header: header}
}

func submit(target, body string, header ...string) request {
	if !slices.ContainsFunc(header, func(h string) bool { return strings.HasPrefix(h, "Content-Type:") }) {
		header = append(header, "Content-Type: application/json")
	}
	return request{method: http.MethodPost, target: target, header: header, body: body}
}

func put(target, body string, header ...string) request {
	r := submit(target, body, header...)
	r.method = http.MethodPut
	return r
}

func remove(target string, header ...string) request {
	return request{method: http.MethodDelete, target: target, header: header}
}

// refused is r, meant to be bad.
func refused(r request) request {
	r.bad = true
	return r
}

// on returns r as it goes out to a service.
func (r request) on(address string) (*http.Request, error) {
	var body io.Reader = strings.NewReader(r.body)
	if r.chunked {
		body = io.MultiReader(body) // of no length known before
	}
	q, err := http.NewRequest(r.method, address+r.target, body)
	if err != nil {
		return nil, err
	}
	q.Header["User-Agent"] = nil
	for _, h := range r.header {
		name, value, _ := strings.Cut(h, ": ")
		switch name {
		case "": // none
		case "Host":
			q.Host = value
		default:
			q.Header.Add(name, value)
		}
	}
	return q, nil
}

// An answer is one that came, and the problem that it is, if it is one.
type answer struct {
	status int
	header http.Header
	body   []byte
	problem
}

type problem struct {
	Type, Title string
	Status      int
	Detail      string
	Errors      json.RawMessage
	Request     string `json:"request_id"`
}

// ask sends a request to s and checks the exchange against the contract. Every
// exchange of these tests but those of raw connections goes through it, or through
// check.
func (s service) ask(t testing.TB, r request) answer {
	t.Helper()
	q, err := r.on(s.url)
	require.NoError(t, err)
	got, err := http.DefaultTransport.RoundTrip(q)
	require.NoError(t, err)
	body, err := io.ReadAll(got.Body)
	require.NoError(t, err)
	require.NoError(t, got.Body.Close())
	return shared.check(t, r, answer{status: got.StatusCode, header: got.Header, body: body})
}

// granted asks for a status and returns the answer.
func (s service) granted(t testing.TB, status int, r request) answer {
	t.Helper()
	a := s.ask(t, r)
	require.Equal(t, status, a.status, "%s %s: %.2000s", r.method, r.target, a.body)
	return a
}

// An agreement is openapi.yaml and what the tests have seen of it.
type agreement struct {
	doc    *openapi3.T
	router routers.Router
	mu     sync.Mutex
	seen   map[string]bool // "GET /v1/book 200"
}

// read reads the contract; the services of the tests stand at addresses it does not
// know.
func (c *agreement) read(path string) (err error) {
	if c.doc, err = openapi3.NewLoader().LoadFromFile(path); err != nil {
		return err
	}
	c.doc.Servers = nil
	c.seen = make(map[string]bool)
	for _, media := range []string{mediaXLSX, mediaSVG, "text/html", "application/yaml", "text/csv"} {
		openapi3filter.RegisterBodyDecoder(media, openapi3filter.FileBodyDecoder)
	}
	c.router, err = gorillamux.NewRouter(c.doc)
	return err
}

// operations returns every operation, "GET /v1/book", by its name.
func (c *agreement) operations() map[string]*openapi3.Operation {
	all := make(map[string]*openapi3.Operation)
	for path, item := range c.doc.Paths.Map() {
		for method, op := range item.Operations() {
			all[method+" "+path] = op
		}
	}
	return all
}

// promised returns the statuses that an operation documents by number.
func promised(op *openapi3.Operation) []string {
	statuses := slices.Collect(maps.Keys(op.Responses.Map()))
	return slices.DeleteFunc(statuses, func(s string) bool { return s == "default" })
}

// unseen returns each operation with a status that it documents and none was seen of.
func (c *agreement) unseen() (all []string) {
	for name, op := range c.operations() {
		for _, status := range promised(op) {
			if one := name + " " + status; !c.seen[one] {
				all = append(all, one)
			}
		}
	}
	slices.Sort(all)
	return all
}

// check checks an exchange against the contract, and what every answer has. It
// returns the answer with the problem that it is.
func (c *agreement) check(t testing.TB, r request, a answer) answer {
	t.Helper()
	what := fmt.Sprintf("%s %s: %d", r.method, r.target, a.status)
	a = dressed(t, what, r, a)
	q, err := r.on("http://localhost")
	require.NoError(t, err)
	head := r.method == http.MethodHead
	if head { // no operation of its own
		q.Method = http.MethodGet
	}
	route, params, err := c.router.FindRoute(q)
	if err != nil { // outside of the contract's operations
		assert.True(t, slices.Contains([]int{404, 405, 403}, a.status) || r.method == http.MethodOptions && a.status == 204, what)
		if len(a.body) > 0 {
			var v any
			require.NoError(t, json.Unmarshal(a.body, &v), what)
			assert.NoError(t, c.doc.Components.Schemas["Problem"].Value.VisitJSON(v, openapi3.VisitAsResponse()), what)
		}
		return a
	}
	if route.Operation.Responses.Status(a.status) == nil {
		assert.Contains(t, []int{408, 500}, a.status, "%s is not documented", what)
	} else {
		c.mu.Lock()
		c.seen[fmt.Sprintf("%s %s %d", q.Method, route.Path, a.status)] = true
		c.mu.Unlock()
	}
	asked := &openapi3filter.RequestValidationInput{Request: q, PathParams: params, Route: route, QueryParams: queryOf(q.URL)}
	if !r.bad {
		assert.NoError(t, openapi3filter.ValidateRequest(t.Context(), asked), what)
	}
	assert.NoError(t, openapi3filter.ValidateResponse(t.Context(), &openapi3filter.ResponseValidationInput{
		RequestValidationInput: asked, Status: a.status, Header: a.header, Body: io.NopCloser(bytes.NewReader(a.body)),
		Options: &openapi3filter.Options{IncludeResponseStatus: true, ExcludeResponseBody: head},
	}), what)
	return a
}

// queryOf returns the query of an address, as far as it can be read.
func queryOf(u *url.URL) url.Values {
	q, _ := url.ParseQuery(u.RawQuery)
	return q
}

// dressed checks what every answer has, whatever was asked, and reads its problem.
func dressed(t testing.TB, what string, r request, a answer) answer {
	t.Helper()
	for name, value := range map[string]string{
		"X-Content-Type-Options":       "nosniff",
		"Referrer-Policy":              "no-referrer",
		"Cross-Origin-Resource-Policy": "same-origin",
		"Content-Security-Policy":      "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
	} {
		assert.Equal(t, []string{value}, a.header[name], what)
	}
	id := a.header.Get("X-Request-Id")
	assert.Regexp(t, `^[A-Za-z0-9._-]{1,64}$`, id, what)
	for _, name := range []string{"Server", "X-Powered-By", "Set-Cookie", "Access-Control-Allow-Origin"} {
		assert.Empty(t, a.header.Values(name), what)
	}
	bodiless := r.method == http.MethodHead || a.status == http.StatusNotModified || a.status == http.StatusNoContent
	if bodiless {
		assert.Empty(t, a.body, what)
	} else {
		assert.Equal(t, fmt.Sprint(len(a.body)), a.header.Get("Content-Length"), what)
	}
	if a.status < 400 {
		return a
	}
	assert.Equal(t, "application/problem+json", a.header.Get("Content-Type"), what)
	assert.Equal(t, "no-store", a.header.Get("Cache-Control"), what)
	assert.Empty(t, a.header.Get("Content-Disposition"), "%s: a problem is no file to save", what)
	assert.Empty(t, a.header.Get("Etag"), what)
	if bodiless {
		return a
	}
	require.True(t, bytes.HasSuffix(a.body, []byte("}\n")), "%s %s", what, a.body)
	require.NoError(t, json.Unmarshal(a.body, &a.problem), what)
	assert.Equal(t, []any{a.status, id}, []any{a.Status, a.Request}, what)
	assert.NotEmpty(t, a.Title, what)
	assert.NotEmpty(t, a.Detail, what)
	return a
}
