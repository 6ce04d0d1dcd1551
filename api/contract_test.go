package api_test

import (
	"encoding"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/api"
	"reckoner/catalog"
	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/measure"
	"reckoner/pricing/num"
)

// Whoever writes a client has the contract alone: it says of everything what it
// means, and shows of every scalar one value at least.
func TestTheContractExplainsItself(t *testing.T) {
	doc := contract(t)
	for name, s := range doc.Components.Schemas {
		assert.NotEmpty(t, s.Value.Description, name)
		explained(t, name, s)
	}
	for name, p := range doc.Components.Parameters {
		explainedParameter(t, name, p.Value)
	}
	for name, h := range doc.Components.Headers {
		explainedParameter(t, name, &h.Value.Parameter)
	}
	for path, item := range doc.Paths.Map() {
		for method, o := range item.Operations() {
			at := method + " " + path
			assert.NotEmpty(t, o.Summary, at)
			assert.NotEmpty(t, o.OperationID, at)
			for _, p := range slices.Concat(item.Parameters, o.Parameters) {
				explainedParameter(t, at+" "+p.Value.Name, p.Value)
			}
			if o.RequestBody != nil {
				assert.NotEmpty(t, o.RequestBody.Value.Description, at)
			}
			assert.NotNil(t, o.Responses.Default(), "%s: 408, 431 and 500 are its default", at)
			for status, r := range o.Responses.Map() {
				assert.Contains(t, r.Value.Headers, "X-Request-ID", "%s: %s", at, status)
				for name, h := range r.Value.Headers {
					explainedParameter(t, at+" "+name, &h.Value.Parameter)
				}
			}
		}
	}
}

func explainedParameter(t *testing.T, at string, p *openapi3.Parameter) {
	t.Helper()
	assert.NotEmpty(t, p.Description, at)
	shown(t, at, p.Schema)
}

// explained holds every member of a schema to what the contract owes its reader.
func explained(t *testing.T, at string, s *openapi3.SchemaRef) {
	t.Helper()
	object := s.Value
	if object.Type.Is("object") && object.AdditionalProperties.Schema == nil {
		assert.NotNil(t, object.AdditionalProperties.Has, "%s must refuse other members", at)
		assert.False(t, *object.AdditionalProperties.Has, "%s must refuse other members", at)
	}
	members := make(openapi3.Schemas)
	maps.Copy(members, object.Properties)
	if other := object.AdditionalProperties.Schema; other != nil {
		members["*"] = other
	}
	for name, m := range members {
		assert.NotEmpty(t, m.Value.Description, "%s.%s", at, name)
		shown(t, at+"."+name, m)
		if m.Ref == "" && len(m.Value.AllOf) == 0 {
			explained(t, at+"."+name, m)
		}
	}
}

// shown holds a scalar, and a list of scalars, to one value at least.
func shown(t *testing.T, at string, s *openapi3.SchemaRef) {
	t.Helper()
	like := shape(s)
	if like.Type.Is("object") || like.Type.Is("array") && shape(like.Items).Type.Is("object") {
		return
	}
	assert.True(t, s.Value.Example != nil || like.Example != nil || like.Default != nil || len(like.Enum) > 0, "%s has neither example, default nor enum", at)
}

// The schemas are the Go types: the same members, each of the same type. What an
// answer always has is required, and nothing else of it.
func TestSchemasAreTheTypes(t *testing.T) {
	doc := contract(t)
	answered := reachable(reflect.TypeFor[pricing.Costing](), reflect.TypeFor[book.Data](), reflect.TypeFor[catalog.Item](), reflect.TypeFor[catalog.History](),
		reflect.TypeFor[catalog.Update](), reflect.TypeFor[catalog.UpdateHead](), reflect.TypeFor[catalog.Change](), reflect.TypeFor[quotes.Customer](),
		reflect.TypeFor[pricing.Impact](), reflect.TypeFor[api.Compared]())
	for _, typ := range reachable(offered()...) {
		if !slices.Contains(asked(), typ) { // what is answered as it was asked needs no more
			answered = append(answered, typ)
		}
	}
	for _, typ := range slices.Concat(asked(), answered) {
		name := schemaOf(typ)
		s := schema(t, doc, name).Value
		var fields, always []string
		for _, f := range members(typ) {
			fields = append(fields, f.name)
			if !f.omitted {
				always = append(always, f.name)
			}
			if p := s.Properties[f.name]; assert.NotNil(t, p, "%s has no member %s", name, f.name) {
				sameType(t, name+"."+f.name, f.Type, p)
			}
		}
		assert.ElementsMatch(t, fields, slices.Collect(maps.Keys(s.Properties)), name)
		if slices.Contains(answered, typ) {
			assert.ElementsMatch(t, always, s.Required, "always in %s", name)
		}
	}
}

// asked returns the types of what is asked.
func asked() []reflect.Type {
	return reachable(reflect.TypeFor[pricing.Request](), reflect.TypeFor[catalog.NewPrice](), reflect.TypeFor[catalog.Consent](),
		reflect.TypeFor[quotes.Customer](), reflect.TypeFor[quotes.Draft](), reflect.TypeFor[api.Acceptance](), reflect.TypeFor[api.Comparing]())
}

// offered returns the types of what is answered of quotes.
func offered() []reflect.Type {
	return []reflect.Type{reflect.TypeFor[quotes.Quote](), reflect.TypeFor[quotes.Done](), reflect.TypeFor[quotes.List](), reflect.TypeFor[quotes.Event](), reflect.TypeFor[quotes.Document]()}
}

// schemaOf returns the name of the schema of a type: its own, but where that would say
// too little without its package.
func schemaOf(typ reflect.Type) string {
	switch typ {
	case reflect.TypeFor[book.Data]():
		return "Book"
	case reflect.TypeFor[quotes.Customer]():
		return "KeptCustomer"
	case reflect.TypeFor[quotes.List]():
		return "QuoteList"
	case reflect.TypeFor[quotes.Event]():
		return "QuoteEvent"
	case reflect.TypeFor[pricing.Sides[num.Decimal]]():
		return "Quantities"
	case reflect.TypeFor[pricing.Sides[num.Rate]]():
		return "Rates"
	}
	return strings.ToUpper(typ.Name()[:1]) + typ.Name()[1:]
}

// A jsonField is a member of an object in JSON.
type jsonField struct {
	reflect.StructField
	name    string
	omitted bool // when it is zero
}

// members returns the members of an object, those of embedded structs among them.
func members(typ reflect.Type) (all []jsonField) {
	for _, f := range reflect.VisibleFields(typ) {
		tag, tagged := f.Tag.Lookup("json")
		name, options, _ := strings.Cut(tag, ",")
		if tagged && name != "-" && f.IsExported() {
			all = append(all, jsonField{f, name, options == "omitzero"})
		}
	}
	return all
}

// reachable returns the structs that the roots are made of in JSON, objects all.
func reachable(roots ...reflect.Type) (all []reflect.Type) {
	for len(roots) > 0 {
		typ := roots[0]
		roots = roots[1:]
		switch {
		case scalar(typ) != "" || slices.Contains(all, typ):
		case typ.Kind() == reflect.Struct:
			all = append(all, typ)
			for _, f := range members(typ) {
				roots = append(roots, f.Type)
			}
		default:
			roots = append(roots, typ.Elem())
		}
	}
	return all
}

// scalar returns the type in JSON of what is no object and no list, else nothing.
func scalar(typ reflect.Type) string {
	switch {
	case typ.Kind() == reflect.Pointer:
		return scalar(typ.Elem())
	case typ == reflect.TypeFor[wire.Text]():
		return "object" // of any members
	case typ.Implements(reflect.TypeFor[encoding.TextMarshaler]()), typ.Kind() == reflect.String:
		return "string"
	case typ.Implements(reflect.TypeFor[json.Marshaler]()):
		return "number"
	case typ.Kind() == reflect.Bool:
		return "boolean"
	case typ.Kind() == reflect.Int, typ.Kind() == reflect.Int64:
		return "integer"
	}
	return ""
}

func sameType(t *testing.T, at string, typ reflect.Type, s *openapi3.SchemaRef) {
	t.Helper()
	if typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	like := shape(s)
	switch want := scalar(typ); {
	case want == "number": // that are whole may be said to be integers
		assert.True(t, like.Type.Is("number") || like.Type.Is("integer"), at)
	case want != "":
		assert.True(t, like.Type.Is(want), "%s must be %s", at, want)
	case typ.Kind() == reflect.Struct:
		assert.Equal(t, schemaOf(typ), refers(s), at)
	case typ.Kind() == reflect.Slice:
		if assert.True(t, like.Type.Is("array"), at) {
			sameType(t, at+"[]", typ.Elem(), like.Items)
		}
	case typ.Kind() == reflect.Map:
		require.True(t, like.Type.Is("object"), at)
		for name, p := range like.Properties {
			sameType(t, at+"."+name, typ.Elem(), p)
		}
	default:
		t.Errorf("%s: the contract has no word for a %s", at, typ)
	}
}

// The measures of the contract are those of the program, with their meanings.
func TestMeasuresAreThoseCounted(t *testing.T) {
	s := schema(t, contract(t), "Measure").Value
	var names []any
	kept := []string{measure.ByRole: ", by role", measure.ByFinish: ", by finish", measure.ByZone: ", by zone", measure.ByItem: ", by item"}
	for _, m := range measure.All {
		names = append(names, m.Name)
		assert.Contains(t, s.Description, fmt.Sprintf("- %s (%s%s): %s\n", m.Name, m.Unit, kept[m.Shares], m.Meaning))
	}
	assert.Equal(t, names, s.Enum)
}

// What the program takes and answers is as the contract says.
func TestRequestsAndAnswersAreOfTheContract(t *testing.T) {
	doc, b := contract(t), opened(t)
	answers := map[string]string{"Request": "Costing", "Book": "Book", "NewPrice": "History", "Consent": "Update", "KeptCustomer": "KeptCustomer", "Draft": "Quote", "Acceptance": "Choice", "Comparing": "Compared"}
	for _, d := range append(requests(t), starterData(t)) {
		v := d.judge(t, b)
		require.Empty(t, v.faults)
		ofSchema(t, doc, d.root, string(d.text))
		ofSchema(t, doc, answers[d.root], v.answer)
	}
}

func ofSchema(t *testing.T, doc *openapi3.T, name, text string) {
	t.Helper()
	var v any
	require.NoError(t, json.Unmarshal([]byte(text), &v))
	assert.NoError(t, schema(t, doc, name).Value.VisitJSON(v, openapi3.MultiErrors()))
}

// A default written out changes nothing; another value there does.
func TestDefaultsAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	owed := make(map[string]bool) // by member, of sizes by units and construction too: whether it was shown
	answered := reachable(reflect.TypeFor[pricing.Costing]())
	for _, d := range requests(t) {
		for _, p := range d.places(t, doc) {
			if p.says.Default == nil || slices.ContainsFunc(answered, having(p.member)) || strings.HasPrefix(p.pointer, "#/request/") || strings.HasPrefix(p.pointer, "#/base/") {
				continue // what is answered as it was asked, or is of a request and tried in one
			}
			written, name := p.standard(t, owed)
			with := d.with(t, p.pointer, written).judge(t, b)
			if slices.ContainsFunc(with.at(p.pointer), idle.MatchString) {
				continue
			}
			without := d.with(t, p.pointer, absent{}).judge(t, b)
			assert.Equal(t, without, with, "%s at %s is %v by default", name, p.pointer, written)
			if without.answer != "" && without.answer != d.with(t, p.pointer, p.other(written)).judge(t, b).answer {
				owed[name] = true
			}
		}
	}
	require.NotEmpty(t, owed)
	for name, shown := range owed {
		assert.True(t, shown, "nothing shows what %s is by default", name)
	}
}

// sizes is how a description gives a default, or the least, in both units.
var sizes = regexp.MustCompile(`(from |lapped |applied )?([0-9.]+) mm or ([0-9.]+) in`)

// standard returns the default of a place and what it is the default of. All that
// its description gives is then owed.
func (p place) standard(t *testing.T, owed map[string]bool) (value any, name string) {
	t.Helper()
	all := sizes.FindAllStringSubmatch(p.says.Description, -1)
	if len(all) == 0 {
		owed[p.member] = owed[p.member]
		return p.says.Default, p.member
	}
	assert.Equal(t, all[0][2], decimal(p.says.Default.(float64)).String(), "%s in mm", p.member)
	for _, m := range all {
		for i, units := range []string{" in mm", " in inches"} {
			key := p.member + " " + m[1] + units
			owed[key] = owed[key]
			if p.inches == (i == 1) && (m[1] == "" || strings.TrimSpace(m[1]) == p.construction) {
				value, name = json.Number(m[2+i]), key
			}
		}
	}
	return value, name
}

// other returns a value of a member that is not v.
func (p place) other(v any) any {
	for _, e := range p.schema.Enum {
		if e != nil && e != v {
			return e
		}
	}
	switch v := v.(type) {
	case bool:
		return !v
	case float64:
		return v + 1
	case json.Number:
		size := decimal(v.String())
		if p.inches {
			return json.Number((size + num.One/2).String())
		}
		return json.Number((size + 10*num.One).String())
	case string:
		if p.schema.Pattern == rate {
			return "1.00"
		}
	}
	return "inner"
}

// rate is the pattern of a rate that somebody writes.
const rate = `^0*[0-9]{1,6}(\.[0-9]{1,4})?$`

// The program takes a value at each bound that the contract gives, and refuses the
// first beyond it at its place.
func TestRangesAreTrue(t *testing.T) {
	doc, b := contract(t), opened(t)
	held := make(map[string]bool) // by member and value; in one place at least
	for _, d := range append(requests(t), starterData(t)) {
		for _, p := range d.places(t, doc) {
			for _, try := range p.trials(t) {
				if !held[try.name] {
					held[try.name] = p.holds(try, d.with(t, p.pointer, try.value).judge(t, b))
				}
			}
		}
	}
	require.NotEmpty(t, held)
	for name, ok := range held {
		assert.True(t, ok, name)
	}
}

// In a request null counts as absent, but where a member is required; that is not
// to be priced without. A member that the contract does not know is refused.
func TestWhatMayBeAbsent(t *testing.T) {
	doc, b := contract(t), opened(t)
	seen := make(map[string]bool)
	for _, d := range requests(t) {
		for _, p := range d.places(t, doc) {
			if !seen[p.member] {
				p.absence(t, b)
			}
			seen[p.member] = true
		}
	}
	for _, typ := range asked() {
		for _, f := range members(typ) {
			assert.True(t, seen[schemaOf(typ)+"."+f.name], "no request was tried without %s.%s", schemaOf(typ), f.name)
		}
	}
}

func (p place) absence(t *testing.T, b bench) {
	t.Helper()
	if _, object := p.value.(map[string]any); object {
		v := p.with(t, p.pointer+"/nonsense", true).judge(t, b)
		assert.NotEmpty(t, v.at(p.pointer+"/nonsense"), "%s takes a member it does not have", p.member)
	}
	if !strings.Contains(p.member, ".") || strings.HasSuffix(p.member, "]") {
		return // no member
	}
	assert.NotEqual(t, p.required, p.says.Nullable, "%s is either required or may be null", p.member)
	without := p.with(t, p.pointer, absent{}).judge(t, b)
	answered := slices.ContainsFunc(reachable(reflect.TypeFor[pricing.Costing]()), having(p.member)) // with more, perhaps, than a request needs
	switch {
	case p.says.Nullable:
		assert.Equal(t, without, p.with(t, p.pointer, nil).judge(t, b), "%s is null", p.member)
	case !answered:
		assert.NotEmpty(t, without.faults, "%s is absent", p.member)
	}
}

// having returns whether a type is the one that has a member of that name.
func having(member string) func(reflect.Type) bool {
	of, _, _ := strings.Cut(member, ".")
	return func(typ reflect.Type) bool { return schemaOf(typ) == of }
}
