package api

import (
	"bytes"
	"io"
	"mime"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/elnormous/contenttype"
	"github.com/labstack/echo/v4"

	"reckoner/catalog/wire"
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

// How long a body may be: a request of a hundred pieces has room in the one, a price
// list of twenty thousand rows in the other.
const (
	maxBody = 1 << 20
	maxFile = 8 << 20
)

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

// showState answers with what is so at this moment.
func showState(c echo.Context, status int, v any) error {
	text, err := encoded(v)
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderCacheControl, "no-store")
	return write(c, status, typeJSON, text)
}

// tagged answers with a body and its ETag, or with 304 when the client has it.
func tagged(c echo.Context, media string, body []byte) error {
	return taggedAs(c, media, wire.Tag(body), body)
}

// taggedAs is tagged with an ETag that was made before.
func taggedAs(c echo.Context, media, tag string, body []byte) error {
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

// saved answers with a file and the name to save it under.
func saved(c echo.Context, media, name string, text []byte) error {
	c.Response().Header().Set(echo.HeaderContentDisposition, "attachment; filename="+name)
	return tagged(c, media, text)
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
func body(c echo.Context, most int64, taken ...string) (string, []byte, error) {
	r := c.Request()
	media, params, err := mime.ParseMediaType(r.Header.Get(echo.HeaderContentType))
	charset, given := params["charset"]
	if err != nil || !slices.Contains(taken, media) || given && !strings.EqualFold(charset, "utf-8") {
		return "", nil, refuse(wrongMedia, "the body must be %s%s", either(taken), asText(taken))
	}
	if coding := r.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return "", nil, refuse(wrongMedia, "the body must be sent as it is, not packed as %q", coding)
	}
	text, err := io.ReadAll(http.MaxBytesReader(c.Response(), r.Body, most))
	switch kind, _, _ := problemOf(err); {
	case err != nil && kind == internal: // cut off, or framed wrongly
		return "", nil, refuse(notJSON, "the body broke off before its end: send it again")
	case err == nil && media == typeJSON && len(bytes.TrimSpace(text)) == 0:
		return "", nil, refuse(notJSON, "the body is empty: send one JSON object")
	}
	return media, text, err
}

// asText says how those of the media types are sent that are text.
func asText(taken []string) string {
	if slices.Contains(taken, typeXLSX) {
		return ", and text in UTF-8"
	}
	return ", as UTF-8"
}
