package fault

import (
	"cmp"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Sorted returns the faults in the order in which their pointers' members stand
// in the Go type of root, a value or nil pointer of what the pointers start from:
// members of a struct as declared, by their JSON names, those of an embedded
// struct in its place; indexes by number; keys of a map by their text; a parent
// before its members; what the type does not have last, by its text. Faults of
// one pointer stay as they were; one said twice is said once. L stays as it is.
func (l List) Sorted(root any) List {
	type placed struct {
		path  []step
		fault FieldError
	}
	order := make([]placed, 0, len(l))
	said := make(map[FieldError]bool, len(l))
	known := make(members)
	for _, f := range l {
		if !said[f] {
			order = append(order, placed{known.path(reflect.TypeOf(root), f.Pointer), f})
		}
		said[f] = true
	}
	slices.SortStableFunc(order, func(a, b placed) int {
		return slices.CompareFunc(a.path, b.path, step.compare)
	})
	var sorted List
	for _, p := range order {
		sorted = append(sorted, p.fault)
	}
	return sorted
}

// A step is where one token of a pointer stands among its neighbours: by rank,
// and among those without a rank of their own by text.
type step struct {
	rank int
	text string
}

// unranked is the rank of what only its text can order.
const unranked = math.MaxInt

func (s step) compare(t step) int {
	return cmp.Or(cmp.Compare(s.rank, t.rank), cmp.Compare(s.text, t.text))
}

// Members are those of the structs met so far, by their names in JSON.
type members map[reflect.Type]map[string]member

// A member is its place in its struct and its type.
type member struct {
	rank int
	of   reflect.Type
}

// of returns the members of a struct.
func (m members) of(t reflect.Type) map[string]member {
	if known, ok := m[t]; ok {
		return known
	}
	m[t] = make(map[string]member)
	for i, f := range reflect.VisibleFields(t) {
		if name, ok := jsonName(f); ok {
			m[t][name] = member{i, f.Type}
		}
	}
	return m[t]
}

// path returns the steps of pointer from t on.
func (m members) path(t reflect.Type, pointer string) []step {
	tokens := strings.Split(Pointer(pointer), "/")[1:]
	steps := make([]step, len(tokens))
	for i, token := range tokens {
		token = strings.ReplaceAll(strings.ReplaceAll(token, "~1", "/"), "~0", "~")
		steps[i], t = m.next(t, token)
	}
	return steps
}

// next returns the step that token makes in t and the type it leads to, nil when
// that is not known.
func (m members) next(t reflect.Type, token string) (step, reflect.Type) {
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	unknown := step{unranked, token}
	if t == nil {
		return unknown, nil
	}
	switch t.Kind() {
	case reflect.Struct:
		if f, ok := m.of(t)[token]; ok {
			return step{rank: f.rank}, f.of
		}
	case reflect.Slice, reflect.Array:
		if i, err := strconv.Atoi(token); err == nil {
			return step{rank: i}, t.Elem()
		}
	case reflect.Map:
		return unknown, t.Elem()
	}
	return unknown, nil
}

// jsonName returns the name of f in JSON; ok is false when f is no member itself:
// it is left out, or embedded so that its fields are.
func jsonName(f reflect.StructField) (name string, ok bool) {
	tag := f.Tag.Get("json")
	name, _, _ = strings.Cut(tag, ",")
	switch {
	case tag == "-" || name == "" && f.Anonymous || !f.IsExported():
		return "", false
	case name == "":
		return f.Name, true
	}
	return name, true
}
