package book

import (
	"cmp"
	"slices"

	"reckoner/pricing/measure"
	"reckoner/pricing/num"
)

// A Book is checked, indexed Data, safe for use by many requests at once.
type Book struct {
	data Data

	timbers  map[string]*Timber
	sheets   map[string]*Sheet
	supplies map[string]*Supply
	fittings map[string]*Fitting
	methods  map[string]*Method
	finishes map[string]*Finish
	grades   map[string]*Grade
	stages   map[string]*Stage

	work [][]Applied // rules of each stage, by code
	use  []Applied   // rules of supplies, by item and code
}

// An Applied is a rule and the measure it names.
type Applied struct {
	*Rule
	Counts measure.ID
}

// Takes reports whether r takes that share of its measure.
func (r Applied) Takes(share string) bool {
	var zone, product, method string
	switch measure.All[r.Counts].Shares {
	case measure.ByRole:
		return r.Role == "" || r.Role == share
	case measure.ByItem:
		return r.Of == "" || r.Of == share
	case measure.ByZone:
		zone = share
	case measure.ByFinish:
		zone, product, method = measure.CutShare(share)
	}
	return (r.Zone == "" || r.Zone == zone) && (r.Of == "" || r.Of == product) && (r.Method == "" || r.Method == method)
}

// New checks d and makes it a Book: codes are unique over the whole Book (those
// of thicknesses too); every code, measure, role, method and tag named exists and
// fits; every figure is in its range. The error is a fault.List with pointers
// into d. New keeps d; the caller must not change it.
func New(d Data) (*Book, error) {
	d.Rules = divided(d.Rules)
	b := &Book{data: d}
	b.index()
	c := check{book: b, currency: d.Currency}
	c.all(d)
	if len(c.faults) == 0 { // each figure can be worked with
		c.spreads(d)
	}
	if len(c.faults) > 0 {
		return nil, c.faults.Sorted(d).Err()
	}
	b.apply()
	return b, nil
}

// divided returns the rules with the default of per, 1, where it was left out;
// the list given stays as it is.
func divided(rules []Rule) []Rule {
	if !slices.ContainsFunc(rules, func(r Rule) bool { return r.Per == 0 }) {
		return rules
	}
	rules = slices.Clone(rules)
	for i := range rules {
		if rules[i].Per == 0 {
			rules[i].Per = num.One
		}
	}
	return rules
}

// index makes the maps by code; a code that comes twice is reported by check.
func (b *Book) index() {
	d := &b.data
	b.timbers = byCode(d.Timbers, func(t *Timber) string { return t.Code })
	b.sheets = byCode(d.Sheets, func(s *Sheet) string { return s.Code })
	b.supplies = byCode(d.Supplies, func(s *Supply) string { return s.Code })
	b.fittings = byCode(d.Ironmongery, func(f *Fitting) string { return f.Code })
	b.methods = byCode(d.Methods, func(m *Method) string { return m.Code })
	b.finishes = byCode(d.Finishes, func(f *Finish) string { return f.Code })
	b.grades = byCode(d.Labour, func(g *Grade) string { return g.Code })
	b.stages = byCode(d.Stages, func(s *Stage) string { return s.Code })
}

func byCode[T any](list []T, code func(*T) string) map[string]*T {
	m := make(map[string]*T, len(list))
	for i := range list {
		m[code(&list[i])] = &list[i]
	}
	return m
}

// apply sorts the rules to where they are used.
func (b *Book) apply() {
	stage := make(map[string]int, len(b.data.Stages))
	for i, s := range b.data.Stages {
		stage[s.Code] = i
	}
	b.work = make([][]Applied, len(b.data.Stages))
	for i := range b.data.Rules {
		r := &b.data.Rules[i]
		id, _ := measure.Find(r.Measure)
		if r.Stage == "" {
			b.use = append(b.use, Applied{r, id})
			continue
		}
		s := stage[r.Stage]
		b.work[s] = append(b.work[s], Applied{r, id})
	}
	for _, rules := range append(slices.Clone(b.work), b.use) {
		slices.SortFunc(rules, func(p, q Applied) int {
			return cmp.Or(cmp.Compare(p.Item, q.Item), cmp.Compare(p.Code, q.Code))
		})
	}
}

// Data returns what b was made from; callers must not change it, nor what the
// methods below point to.
func (b *Book) Data() *Data { return &b.data }

// Timber returns the timber with that code, or nil; so do the methods below for
// what they are named after.
func (b *Book) Timber(code string) *Timber { return b.timbers[code] }

// TimberOf returns the timber that has the thickness with that code, or nil.
func (b *Book) TimberOf(thickness string) *Timber {
	for i := range b.data.Timbers {
		t := &b.data.Timbers[i]
		if slices.ContainsFunc(t.Thicknesses, func(k Thickness) bool { return k.Code == thickness }) {
			return t
		}
	}
	return nil
}

// Sheet returns a sheet.
func (b *Book) Sheet(code string) *Sheet { return b.sheets[code] }

// Supply returns a supply.
func (b *Book) Supply(code string) *Supply { return b.supplies[code] }

// Fitting returns an item of ironmongery.
func (b *Book) Fitting(code string) *Fitting { return b.fittings[code] }

// Method returns a way to lay a coat.
func (b *Book) Method(code string) *Method { return b.methods[code] }

// Finish returns a finish.
func (b *Book) Finish(code string) *Finish { return b.finishes[code] }

// Grade returns a grade of labour.
func (b *Book) Grade(code string) *Grade { return b.grades[code] }

// Stage returns a stage.
func (b *Book) Stage(code string) *Stage { return b.stages[code] }

// Work returns the rules of the i-th stage, by code.
func (b *Book) Work(i int) []Applied { return b.work[i] }

// Use returns the rules of all supplies, by item and then by code.
func (b *Book) Use() []Applied { return b.use }
