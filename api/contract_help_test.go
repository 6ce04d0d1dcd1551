package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// contract returns openapi.yaml, which is valid OpenAPI with every example in it.
func contract(t *testing.T) *openapi3.T {
	t.Helper()
	doc, err := openapi3.NewLoader().LoadFromFile("../openapi.yaml")
	require.NoError(t, err)
	require.NoError(t, doc.Validate(context.Background()))
	return doc
}

// schema returns a schema of the contract by its name.
func schema(t *testing.T, doc *openapi3.T, name string) *openapi3.SchemaRef {
	t.Helper()
	s := doc.Components.Schemas[name]
	require.NotNil(t, s, "the contract has no schema %s", name)
	return s
}

// refers returns the name of the schema that s refers to, by itself or as all it
// is made of beside a description of its own; nothing if it refers to none.
func refers(s *openapi3.SchemaRef) string {
	if s.Ref == "" && len(s.Value.AllOf) == 1 {
		return refers(s.Value.AllOf[0])
	}
	return strings.TrimPrefix(s.Ref, "#/components/schemas/")
}

// shape returns the schema that says what s is like: the one it refers to.
func shape(s *openapi3.SchemaRef) *openapi3.Schema {
	if len(s.Value.AllOf) == 1 {
		return shape(s.Value.AllOf[0])
	}
	return s.Value
}

// A document is a text that the program judges, and the schema it is of.
type document struct {
	text []byte
	root string
}

// A verdict is what the program says of a document: the answer, or the faults.
type verdict struct {
	answer string
	faults fault.List
}

// judge prices a request from the starter book, makes a Book of a Book's data, or
// asks the service.
func (d document) judge(t *testing.T, b bench) verdict {
	t.Helper()
	var r pricing.Request
	var data book.Data
	var answer any
	var err error
	switch d.root {
	case "Request":
		if err = wire.Decode(d.text, &r); err == nil {
			answer, err = pricing.Cost(r, b.book)
		}
	case "Book":
		if err = wire.Decode(d.text, &data); err == nil {
			_, err = book.New(data)
			answer = data
		}
	default:
		return d.sent(t, b)
	}
	if faults, ok := err.(fault.List); ok {
		return verdict{faults: faults}
	}
	if o, ok := err.(num.Overflow); ok { // of no one place
		return verdict{faults: fault.List{{Pointer: "#", Detail: o.Error()}}}
	}
	require.NoError(t, err)
	text, err := wire.Encode(answer)
	require.NoError(t, err)
	return verdict{answer: string(text)}
}

// at returns what is said of the value at a pointer.
func (v verdict) at(pointer string) []string {
	var details []string
	for _, f := range v.faults {
		if f.Pointer == pointer {
			details = append(details, f.Detail)
		}
	}
	return details
}

// absent stands for no value at all.
type absent struct{}

// with returns d with another value at a pointer, or with none.
func (d document) with(t *testing.T, pointer string, value any) document {
	t.Helper()
	root := decoded(t, d.text)
	tokens := strings.Split(strings.TrimPrefix(pointer, "#/"), "/")
	object, last := root, tokens[len(tokens)-1]
	for _, token := range tokens[:len(tokens)-1] {
		object = member(t, object, token)
	}
	switch o := object.(type) {
	case map[string]any:
		o[last] = value
		if value == (absent{}) {
			delete(o, last)
		}
	case []any:
		i, err := strconv.Atoi(last)
		require.NoError(t, err)
		o[i] = value
	}
	text, err := json.Marshal(root)
	require.NoError(t, err)
	return document{text, d.root}
}

// member returns the member or element of v with that name or number.
func member(t *testing.T, v any, token string) any {
	t.Helper()
	if list, ok := v.([]any); ok {
		i, err := strconv.Atoi(token)
		require.NoError(t, err)
		return list[i]
	}
	object, ok := v.(map[string]any)
	require.True(t, ok, "%s is not in an object", token)
	return object[token]
}

// decoded returns a JSON text as a value, its numbers as they are written.
func decoded(t *testing.T, text []byte) (v any) {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	require.NoError(t, d.Decode(&v))
	return v
}

// A place is where a value stands in a document, or may stand.
type place struct {
	document
	member       string // Schema.member
	pointer      string
	schema       *openapi3.Schema // its shape
	says         *openapi3.Schema // what the contract says of it here: description, default, nullable
	value        any              // nil where there is none
	required     bool
	inches       bool   // of a piece in inches
	construction string // of the drawers it belongs to
}

// places returns every place of d that the contract knows. What refers to a schema
// is one of its own name too.
func (d document) places(t *testing.T, doc *openapi3.T) []place {
	t.Helper()
	w := walk{document: d}
	w.into(schema(t, doc, d.root), place{member: d.root, pointer: "#", value: decoded(t, d.text)})
	require.NotEmpty(t, w.places)
	return w.places
}

// A walk is through a document.
type walk struct {
	document
	places []place
}

// into adds the place p, whose schema is s, and those in it.
func (w *walk) into(s *openapi3.SchemaRef, p place) {
	if s == nil {
		return // of any members
	}
	p.document, p.schema, p.says = w.document, shape(s), s.Value
	w.places = append(w.places, p)
	if name := refers(s); name != "" {
		p.member = name
		w.places = append(w.places, p)
	}
	switch v := p.value.(type) {
	case map[string]any:
		w.object(v, p)
	case []any:
		for i, e := range v {
			q := p
			q.member, q.pointer, q.value, q.required = p.member+"[]", p.pointer+"/"+strconv.Itoa(i), e, false
			w.into(p.schema.Items, q)
		}
	}
}

// object adds the members of an object, those that it lacks too.
func (w *walk) object(v map[string]any, p place) {
	if u, ok := v["units"]; ok {
		p.inches = u == "in"
	}
	if c := p.schema.Properties["construction"]; c != nil {
		p.construction, _ = c.Value.Default.(string)
		if typed, ok := v["construction"].(string); ok {
			p.construction = typed
		}
	}
	all := maps.Clone(v) // and what it lacks
	for name := range p.schema.Properties {
		all[name] = v[name]
	}
	for _, name := range slices.Sorted(maps.Keys(all)) {
		s := p.schema.Properties[name]
		if s == nil {
			s = p.schema.AdditionalProperties.Schema
		}
		q := p
		q.member, q.pointer, q.value = p.member+"."+name, p.pointer+"/"+name, v[name]
		q.required = slices.Contains(p.schema.Required, name)
		w.into(s, q)
	}
}

// decimal returns a number of the contract.
func decimal[T string | float64](n T) num.Decimal {
	text, ok := any(n).(string)
	if !ok {
		text = strconv.FormatFloat(any(n).(float64), 'f', -1, 64)
	}
	d, err := num.ParseDecimal(text)
	if err != nil {
		panic(err)
	}
	return d
}

// A trial is a value to put in a place.
type trial struct {
	name  string // of the member and the value
	value any
	taken bool // else refused
}

// outside is how the program words that a value lies outside its range, idle that
// it means nothing where it stands.
var (
	outside = regexp.MustCompile("out of range|make it at least|write |choose at most|is no (measure|zone)|is not a code")
	idle    = regexp.MustCompile("has no effect")
)

// holds reports whether the verdict on a trial shows that it is taken, or refused
// for what it is.
func (p place) holds(try trial, v verdict) bool {
	told := v.at(p.pointer)
	if !try.taken {
		return slices.ContainsFunc(told, outside.MatchString)
	}
	if strings.HasPrefix(p.says.Description, "Of no effect here, and refused") {
		return slices.ContainsFunc(told, idle.MatchString)
	}
	object := p.pointer[:strings.LastIndexByte(p.pointer, '/')] // that may have another such member already
	return !slices.ContainsFunc(append(told, v.at(object)...), func(s string) bool { return outside.MatchString(s) || idle.MatchString(s) })
}

// trials returns values at the bounds of what may stand in a place, and beyond.
func (p place) trials(t *testing.T) (all []trial) {
	t.Helper()
	try := func(taken bool, values ...any) {
		for _, v := range values {
			written := fmt.Sprint(v)
			if list, ok := v.([]any); ok {
				written = fmt.Sprintf("%d long", len(list))
			}
			name := fmt.Sprintf("%s is %.80s, in inches: %t, taken: %t", p.member, written, p.inches, taken)
			all = append(all, trial{name, v, taken})
		}
	}
	s := p.schema
	switch {
	case !strings.Contains(p.member, "."): // no member
	case len(s.Enum) > 0:
		try(true, slices.DeleteFunc(slices.Clone(s.Enum), func(v any) bool { return v == nil })...)
		try(false, map[bool]any{true: 7, false: "nonsense"}[s.Type.Is("integer")])
	case s.Type.Is("number"), s.Type.Is("integer"):
		p.numbers(t, try)
	case s.Type.Is("string"):
		p.texts(try)
	case s.Type.Is("array"):
		p.lists(try)
	}
	return all
}

// numbers tries the bounds of a number. A size may have others in inches.
func (p place) numbers(t *testing.T, try func(bool, ...any)) {
	t.Helper()
	s, step := p.schema, num.Decimal(1)
	switch {
	case s.Type.Is("integer"):
		step = num.One
	case strings.Contains(p.member, "percent"):
		step = num.One / 100
	}
	written := func(d num.Decimal) any { return json.Number(d.String()) }
	if s.Min != nil {
		low := decimal(*s.Min)
		if m := sizes.FindStringSubmatch(p.says.Description); m != nil && m[1] == "from " {
			assert.Equal(t, m[3], low.String(), "%s is lowest in inches", p.member)
			if !p.inches {
				low = decimal(m[2])
			}
		}
		if s.ExclusiveMin.IsTrue() {
			low += step
		}
		try(true, written(low))
		try(false, written(low-step))
	}
	if s.Max != nil {
		high := decimal(*s.Max)
		if p.inches && high == 20_000*num.One && step == 1 {
			high = decimal("787.401575")
		}
		try(true, written(high))
		try(false, written(high+step))
	}
}

// texts tries the bounds of a text, and what its pattern takes and refuses where
// the program asks no more of it.
func (p place) texts(try func(bool, ...any)) {
	s := p.schema
	if s.Pattern == "" && s.Format == "" {
		try(s.MinLength == 0, "")
	}
	if s.MaxLength != nil {
		try(true, strings.Repeat("é", int(*s.MaxLength)))
		try(false, strings.Repeat("é", int(*s.MaxLength)+1))
	}
	var texts []string
	switch {
	case strings.HasPrefix(s.Pattern, "^0*"):
		texts = []string{"0", "0.5", "12.50", "1.2300", "007.5", "999999.99", "1000000", "1000000000", "1.23456", "-1", "+1", "1e3", ".5", "1.", "1,5", " 1", ""}
	case p.member == "Piece.id" || strings.HasSuffix(p.member, ".code") && p.member != "Fitted.code": // which is another's
		texts = []string{"a", "chest-2_b", "A", "a.b", "a b", "a/b", "é", strings.Repeat("a", 64), strings.Repeat("a", 65)}
	}
	for _, text := range texts {
		try(regexp.MustCompile(s.Pattern).MatchString(text), text)
	}
}

// lists tries the bounds of a list that has something to repeat.
func (p place) lists(try func(bool, ...any)) {
	list, _ := p.value.([]any)
	if len(list) == 0 {
		return
	}
	if n := int(p.schema.MinItems); n > 0 {
		try(true, slices.Repeat(list[:1], n))
		try(false, slices.Repeat(list[:1], n-1))
	}
	if p.schema.MaxItems != nil {
		n := int(*p.schema.MaxItems)
		try(true, slices.Repeat(list[:1], n))
		try(false, slices.Repeat(list[:1], n+1))
	}
}
