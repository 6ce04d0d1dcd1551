package api

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"reckoner/catalog"
	"reckoner/pricing/date"
)

// A parameter is one that a query may have, and what is wrong with a value of it:
// nothing, or a sentence.
type parameter struct {
	name  string
	wrong func(value string) string
}

// text returns a parameter whose values are looked at later.
func text(name string) parameter {
	return parameter{name, func(string) string { return "" }}
}

// day returns a parameter that is a date.
func day(name string) parameter {
	return parameter{name, func(value string) string {
		if _, err := date.Parse(value); err != nil {
			return err.Error()
		}
		return ""
	}}
}

// word returns a parameter that is one of the words.
func word(name string, words ...string) parameter {
	return parameter{name, func(value string) string {
		if slices.Contains(words, value) {
			return ""
		}
		return fmt.Sprintf("%q is not known: write %s", value, either(words))
	}}
}

// number returns a parameter that is a whole number from 1 to most; what says what
// else it is.
func number(name string, most int64, what string) parameter {
	return parameter{name, func(value string) string {
		if n, err := strconv.ParseInt(value, 10, 64); err != nil || n < 1 || n > most {
			return fmt.Sprintf("%q is no %s", value, what)
		}
		return ""
	}}
}

// class returns the parameter that chooses the items of one class.
func class() parameter { return word("class", catalog.ItemClasses()...) }

// query returns the query of a request that is answered with a media type, as
// parameters does.
func query(c echo.Context, media string, named ...parameter) (url.Values, error) {
	if _, err := accepted(c, media); err != nil {
		return nil, err
	}
	return parameters(c, named...)
}

// parameters returns the query of a request, whose parameters must be among those
// named, stand once each and have values that are right: all that is not so is said.
func parameters(c echo.Context, named ...parameter) (url.Values, error) {
	q, err := url.ParseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return nil, refuse(notValid, "the query cannot be read: write name=value, with & between and %%XX for what is not a letter or digit")
	}
	var wrong failings
	for _, name := range slices.Sorted(maps.Keys(q)) {
		i := slices.IndexFunc(named, func(p parameter) bool { return p.name == name })
		switch {
		case i < 0:
			wrong = append(wrong, failing{Parameter: strings.ToValidUTF8(name, "\uFFFD"), Detail: unknownParameter(named)})
		case len(q[name]) > 1:
			wrong = append(wrong, failing{Parameter: name, Detail: "it stands more than once: leave all but one out"})
		default:
			if detail := named[i].wrong(q.Get(name)); detail != "" {
				wrong = append(wrong, failing{Parameter: name, Detail: detail})
			}
		}
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	return q, nil
}

func unknownParameter(named []parameter) string {
	if len(named) == 0 {
		return "there is no such parameter: leave it out"
	}
	names := make([]string, len(named))
	for i, p := range named {
		names[i] = p.name
	}
	return "there is no such parameter: write " + either(names) + ", or leave it out"
}

// either lists words of which one is meant: "a, b or c".
func either(words []string) string {
	last := len(words) - 1
	if last == 0 {
		return words[0]
	}
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// dayOf returns the day of a parameter that is one: another when it is not there.
func dayOf(q url.Values, name string, otherwise date.Date) date.Date {
	if d, err := date.Parse(q.Get(name)); err == nil {
		return d
	}
	return otherwise
}
