package api

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/elnormous/contenttype"
	"github.com/labstack/echo/v4"

	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// Media types.
const (
	typeJSON = "application/json"
	typeCSV  = "text/csv"
	typeXLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	typeSVG  = "image/svg+xml"
	typeYAML = "application/yaml"
	typeHTML = "text/html"
)

// maxBody is how long a body may be: a request of a hundred pieces has room in it.
const maxBody = 1 << 20

// write answers with a body. (Echo's own Blob would leave the length of the answer
// to a HEAD open.)
func write(c echo.Context, status int, media string, body []byte) error {
	c.Response().Header().Set(echo.HeaderContentLength, strconv.Itoa(len(body)))
	return c.Blob(status, media, body)
}

// show answers with v as JSON, and an ETag by which a client asks whether it has
// changed.
func show(c echo.Context, v any) error {
	text, err := encoded(v)
	if err != nil {
		return err
	}
	return tagged(c, typeJSON, text)
}

func encoded(v any) ([]byte, error) {
	text, err := wire.Encode(v)
	return append(text, '\n'), err
}

// tagged answers with a body and its ETag, or with 304 when the client has it.
func tagged(c echo.Context, media string, body []byte) error {
	sum := sha256.Sum256(body)
	tag := `"` + hex.EncodeToString(sum[:16]) + `"`
	h := c.Response().Header()
	h.Set("ETag", tag)
	h.Set(echo.HeaderCacheControl, "no-cache") // ask each time
	for given := range strings.SplitSeq(joined(c, "If-None-Match"), ",") {
		if given = strings.TrimSpace(given); given == "*" || strings.TrimPrefix(given, "W/") == tag {
			return c.NoContent(http.StatusNotModified)
		}
	}
	return write(c, http.StatusOK, media, body)
}

// joined returns the list that a header is, whose elements may stand on several
// lines, without its empty ones.
func joined(c echo.Context, name string) string {
	elements := strings.Split(strings.Join(c.Request().Header.Values(name), ","), ",")
	return strings.Join(slices.DeleteFunc(elements, func(e string) bool { return strings.TrimSpace(e) == "" }), ",")
}

// accepted returns the media type, of those offered, that the client likes best:
// the first when it does not say.
func accepted(c echo.Context, offered ...string) (string, error) {
	header := joined(c, echo.HeaderAccept)
	if header == "" {
		return offered[0], nil
	}
	types := make([]contenttype.MediaType, len(offered))
	for i, o := range offered {
		types[i] = contenttype.NewMediaType(o + ";charset=utf-8") // which a client may ask for
	}
	best, _, err := contenttype.GetAcceptableMediaTypeFromHeader(header, types)
	if err != nil {
		return "", refuse(notAcceptable, "the answer is %s", either(offered))
	}
	return best.MIME(), nil
}

// body returns the media type of the body, one of those taken, and the body.
func body(c echo.Context, taken ...string) (string, []byte, error) {
	r := c.Request()
	media, params, err := mime.ParseMediaType(r.Header.Get(echo.HeaderContentType))
	charset, given := params["charset"]
	if err != nil || !slices.Contains(taken, media) || given && !strings.EqualFold(charset, "utf-8") {
		return "", nil, refuse(wrongMedia, "the body must be %s, as UTF-8", either(taken))
	}
	if coding := r.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return "", nil, refuse(wrongMedia, "the body must be sent as it is, not packed as %q", coding)
	}
	text, err := io.ReadAll(http.MaxBytesReader(c.Response(), r.Body, maxBody))
	if kind, _, _ := problemOf(err); err != nil && kind == internal { // cut off, or framed wrongly
		return "", nil, refuse(notJSON, "the body broke off before its end: send it again")
	}
	return media, text, err
}

// parameters returns the query of a request, whose parameters must be among those
// named and stand once each.
func parameters(c echo.Context, named ...string) (url.Values, error) {
	q, err := url.ParseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return nil, refuse(notValid, "the query cannot be read: write name=value, with & between and %%XX for what is not a letter or digit")
	}
	var wrong failings
	for _, name := range slices.Sorted(maps.Keys(q)) {
		switch {
		case !slices.Contains(named, name):
			wrong = append(wrong, failing{Parameter: strings.ToValidUTF8(name, "\uFFFD"), Detail: unknownParameter(named)})
		case len(q[name]) > 1:
			wrong = append(wrong, failing{Parameter: name, Detail: "it stands more than once: leave all but one out"})
		}
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	return q, nil
}

func unknownParameter(named []string) string {
	if len(named) == 0 {
		return "there is no such parameter: leave it out"
	}
	return "there is no such parameter: write " + either(named) + ", or leave it out"
}

// either lists words of which one is meant: "a, b or c".
func either(words []string) string {
	last := len(words) - 1
	if last == 0 {
		return words[0]
	}
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// asOf returns the day that a query means: today when it says none.
func (s *service) asOf(q url.Values) (date.Date, error) {
	if !q.Has("as_of") {
		return s.Today(), nil
	}
	d, err := date.Parse(q.Get("as_of"))
	if err != nil {
		return d, failings{{Parameter: "as_of", Detail: err.Error()}}
	}
	return d, nil
}
