package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A badCase is a request that is refused, and the refusal: a line of a file of
// testdata. What it leaves out is POST /v1/costings of application/json and 422
// not-valid. In body and change, ' stands for ".
type badCase struct {
	Name   string
	Method string
	To     string
	Header []string
	From   string      // a demo, or a path whose answer is it: the body
	Change [][2]string // what stands in it once, and what then stands there
	Body   string
	Cells  map[string]string // of a workbook, the body; see cellsOf
	Fill   struct {
		Text  string
		Times int
	} // what <fill> stands for
	Latin1  bool // a letter of the body is a byte
	Chunked bool
	Status  int
	Problem string
	Detail  string
	Errors  json.RawMessage
}

// badCases returns the cases of a file of testdata: bad are costings and what any
// request may have wrong, edits changes of the catalogue, lists price lists, quotes
// what is asked of those of furnished.
func badCases(t testing.TB, name string) (all []badCase) {
	t.Helper()
	require.NoError(t, json.Unmarshal([]byte(file(t, "testdata/"+name+".json")), &all))
	return all
}

// request returns what is sent.
func (c *badCase) request(t testing.TB) request {
	t.Helper()
	text := strings.ReplaceAll(c.Body, "'", `"`)
	switch {
	case strings.HasPrefix(c.From, "/"):
		text, _ = answered(t, fetch(c.From))
	case c.From != "":
		text = file(t, pieces+c.From)
	case c.Cells != nil:
		text = cellsOf(c.Cells)
	}
	for _, change := range c.Change {
		from, to := strings.ReplaceAll(change[0], "'", `"`), strings.ReplaceAll(change[1], "'", `"`)
		require.Equal(t, 1, strings.Count(text, from), "%s: %s", c.Name, from)
		text = strings.Replace(text, from, to, 1)
	}
	text = strings.ReplaceAll(text, "<fill>", strings.Repeat(strings.ReplaceAll(c.Fill.Text, "'", `"`), c.Fill.Times))
	if c.Latin1 {
		var bytes []byte
		for _, r := range text {
			bytes = append(bytes, byte(r))
		}
		text = string(bytes)
	}
	header := append([]string{"X-Request-ID: bad-request"}, c.Header...) // one made by chance may spell any word
	r := refused(submit(c.To, text, header...))
	r.method, r.chunked = c.Method, c.Chunked
	return r
}

// What is refused changes nothing.
func TestBadRequests(t *testing.T) {
	for name, least := range map[string]int{"bad": 250, "bad_edits": 130, "bad_lists": 60} {
		shared.refusesAll(t, name, least)
	}
	assert.EqualValues(t, 1, object(t, "/readyz")["book_version"])
	assert.Empty(t, object(t, "/v1/changes")["changes"])
}

func TestBadRequestsOfQuotes(t *testing.T) {
	s := furnished(t)
	before := s.all(t)
	require.Equal(t, 3+2*9, len(before))
	s.refusesAll(t, "bad_quotes", 300)
	for target, now := range s.all(t) {
		assert.Equal(t, before[target], now, target)
	}
}

// refusesAll sends the cases of a file to s; there must be more than that many.
func (s service) refusesAll(t *testing.T, name string, least int) {
	cases := badCases(t, name)
	require.Greater(t, len(cases), least)
	named := make(map[string]bool)
	for _, c := range cases {
		require.False(t, named[c.Name], c.Name)
		named[c.Name] = true
		t.Run(c.Name, func(t *testing.T) { c.isRefused(t, s) })
	}
}

func (c *badCase) isRefused(t *testing.T, s service) {
	a := s.ask(t, c.request(t))
	assert.Equal(t, []any{c.Status, "/problems#" + c.Problem, c.Detail}, []any{a.status, a.Type, a.Detail})
	if c.Errors == nil {
		assert.Nil(t, a.Errors)
	} else {
		assert.JSONEq(t, string(c.Errors), string(a.Errors))
	}
	assert.NotRegexp(t, inner, string(a.body))
}

// An answer tells no more faults than anyone would read, and how many there are.
func TestThereIsAnEndToWhatIsTold(t *testing.T) {
	for n, detail := range map[int]string{500: "1000 things are wrong.", 501: "1002 things are wrong; these are the first 1000."} {
		text := "name,quantity,length,width,thickness\n" + strings.Repeat("Side,none,long,280,22\n", n)
		a := shared.ask(t, refused(submit("/v1/costings?timber=oak-prime", text, "Content-Type: text/csv")))
		assert.Equal(t, []any{422, detail}, []any{a.status, a.Detail})
		var told []struct{ Row int }
		require.NoError(t, json.Unmarshal(a.Errors, &told))
		require.Len(t, told, 1000)
		assert.Equal(t, 501, told[999].Row, "the header row is 1")
	}
}

// inner finds words of what the service is made of, which are nobody's business.
var inner = regexp.MustCompile(`(?i)goroutine|runtime|panic|gorm|sqlite|\bsql\b|(?-i:SELECT|INSERT|UPDATE) |\.go\b|/tmp/|/home/|json:|jsontext|unmarshal|marshal|` +
	`\bint(64)?\b|\bnil\b|\bstruct\b|\bslice\b|\*?(num|unit|piece|pricing|book|wire|fault|date|catalog|echo|http|strconv|csv|mime)\.[A-Z]|%!|0x[0-9a-f]{6}`)

// UnmarshalJSON fills in what a line leaves out.
func (c *badCase) UnmarshalJSON(text []byte) error {
	type plain badCase
	p := plain{Method: http.MethodPost, To: "/v1/costings", Status: http.StatusUnprocessableEntity, Problem: "not-valid"}
	if err := json.Unmarshal(text, &p); err != nil {
		return err
	}
	var errors []json.RawMessage
	if p.Errors != nil {
		if err := json.Unmarshal(p.Errors, &errors); err != nil {
			return err
		}
	}
	switch n := len(errors); {
	case p.Detail != "" || n == 0:
	case n == 1:
		p.Detail = "One thing is wrong."
	default:
		p.Detail = fmt.Sprintf("%d things are wrong.", n)
	}
	*c = badCase(p)
	return nil
}
