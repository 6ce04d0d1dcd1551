package book

import (
	"fmt"
	"slices"
	"strings"

	"reckoner/pricing/fault"
	"reckoner/pricing/measure"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Limits of a Book.
const (
	MaxRate    = num.Rate(1_000_000_0000)     // rates are below it
	MaxPrice   = num.Rate(1_000_000_000_0000) // prices and amounts of a document are below it
	MaxPercent = num.Percent(1000_00)
	MaxText    = 200
	MaxNote    = 4000
	MinFactor  = num.One / 2
	MaxFactor  = 3 * num.One

	maxLength   = 20 * unit.Metre
	maxCoats    = 100
	maxPosition = 1_000_000
	million     = 1_000_000 * num.One
)

// A check collects the faults of Data; its methods take pointers from d's root.
type check struct {
	book     *Book
	currency num.Currency
	codes    map[string]string // code: pointer of its first use
	faults   fault.List
}

func (c *check) all(d Data) {
	c.codes = make(map[string]string)
	if d.Currency == (num.Currency{}) {
		c.faults.Add("#/currency", "the currency is missing: write its ISO 4217 code")
	}
	if d.AsOf.IsZero() {
		c.faults.Add("#/as_of", "the date of the book is missing: write YYYY-MM-DD")
	}
	c.faults = append(c.faults, d.Terms.check(d.Currency).At("/terms")...)
	each(d.Timbers, "#/timbers", c.timber)
	each(d.Sheets, "#/sheets", c.sheet)
	each(d.Supplies, "#/supplies", c.supply)
	each(d.Ironmongery, "#/ironmongery", c.fitting)
	each(d.Methods, "#/methods", c.method)
	each(d.Finishes, "#/finishes", c.finish)
	each(d.Labour, "#/labour", c.grade)
	each(d.Stages, "#/stages", c.stage)
	c.order(d.Stages)
	each(d.Rules, "#/rules", c.rule)
}

func each[T any](list []T, at string, f func(at string, v *T)) {
	for i := range list {
		f(fmt.Sprintf("%s/%d", at, i), &list[i])
	}
}

// code checks a code and that no other thing of the Book has it.
func (c *check) code(at, code string) {
	at += "/code"
	if !c.isCode(at, code) {
		return
	}
	if first, ok := c.codes[code]; ok {
		c.faults.Add(at, "the code %q stands at %s already: give each thing of the book its own", code, first)
		return
	}
	c.codes[code] = at
}

// isCode reports whether s can be a code; what cannot is a fault.
func (c *check) isCode(at, s string) bool {
	const form = "write 1 to 64 letters, digits, '.', '_' or '-'"
	switch {
	case s == "":
		c.faults.Add(at, "the code is missing: %s", form)
	case !isCode(s):
		c.faults.Add(at, "%q is not a code: %s", s, form)
	default:
		return true
	}
	return false
}

func isCode(s string) bool {
	for _, r := range s {
		if r != '.' && r != '_' && r != '-' && (r < '0' || r > '9') && (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') {
			return false
		}
	}
	return s != "" && len(s) <= 64
}

func (c *check) text(at, member, s string) { c.faults.Text(at, member, s, MaxText, true) }

// number checks that v lies from low to high with at most that many decimals.
func (c *check) number(at string, v, low, high num.Decimal, places int) {
	switch {
	case v < low && v == 0:
		c.faults.Add(at, "the number is missing or 0: write one from %s to %s", low, high)
	case v < low || v > high:
		c.faults.Add(at, "%s is out of range: write a number from %s to %s", v, low, high)
	case v.Round(places) != v:
		c.faults.Add(at, "%s has too many decimals: write at most %d", v, places)
	}
}

// length checks that l lies from low to 20 m.
func (c *check) length(at string, l, low unit.Length) { c.between(at, l, low, maxLength) }

// between checks that l lies from low to high.
func (c *check) between(at string, l, low, high unit.Length) {
	switch {
	case l < low && l == 0:
		c.faults.Add(at, "the size is missing or 0: write %s to %s mm", low.Millimetres(), high.Millimetres())
	case l < low || l > high:
		c.faults.Add(at, "%s mm is out of range: write %s to %s mm", l.Millimetres(), low.Millimetres(), high.Millimetres())
	}
}

func (c *check) percent(at string, p, low, high num.Percent) {
	switch {
	case p < low && p == 0:
		c.faults.Add(at, "the percentage is missing or 0: write %s to %s", low, high)
	case p < low || p > high:
		c.faults.Add(at, "%s %% is out of range: write %s to %s", p, low, high)
	}
}

func (c *check) rate(at string, r num.Rate) {
	if r < 0 || r >= MaxRate {
		c.faults.Add(at, "%s is out of range: write a rate from 0, below %s", r, MaxRate)
	}
}

// word checks that s is one of the words.
func (c *check) word(at, s string, words ...string) {
	switch {
	case slices.Contains(words, s):
	case s == "":
		c.faults.Add(at, "the word is missing: write %s", either(words))
	default:
		c.faults.Add(at, "%q is not known here: write %s", s, either(words))
	}
}

// either lists words of which one is meant: "m3, ft3 or bf".
func either[T ~string](words []T) string {
	var b strings.Builder
	for i, w := range words {
		switch {
		case i > 0 && i == len(words)-1:
			b.WriteString(" or ")
		case i > 0:
			b.WriteString(", ")
		}
		b.WriteString(string(w))
	}
	return b.String()
}

// named reports a code that names nothing of the book.
func (c *check) named(at, code, what string) {
	c.faults.Unknown(at, code, what, "name one of the book")
}

// price checks a price, if there is one, and that it is per one of the units.
func (c *check) price(at string, p *Price, units ...unit.Unit) {
	if p == nil {
		return
	}
	c.rate(at+"/price/rate", p.Rate)
	if !slices.Contains(units, p.Unit) {
		c.faults.Add(at+"/price/unit", "a price per %q does not fit here: write %s", p.Unit, either(units))
	}
	if p.From.IsZero() {
		c.faults.Add(at+"/price/from", "the price has no date: write the day from which it holds")
	}
	if asOf := c.book.data.AsOf; !asOf.IsZero() && p.From.Compare(asOf) > 0 {
		c.faults.Add(at+"/price/from", "the price holds from %s, after the date of the book, %s: write that day or an earlier one", p.From, asOf)
	}
}

func (c *check) timber(at string, t *Timber) {
	c.code(at, t.Code)
	c.text(at, "description", t.Description)
	c.number(at+"/density", t.Density, num.One, 3000*num.One, 6)
	if t.Slope != 8 && t.Slope != 6 {
		c.faults.Add(at+"/slope", "a slope of %d is not known: write 8 (hardwood) or 6 (softwood)", t.Slope)
	}
	c.length(at+"/board_width", t.BoardWidth, t.EdgeAllowance+unit.Millimetre)
	c.length(at+"/longest", t.Longest, unit.Millimetre)
	c.length(at+"/width_allowance", t.WidthAllowance, 0)
	c.length(at+"/edge_allowance", t.EdgeAllowance, 0)
	c.length(at+"/length_allowance", t.LengthAllowance, 0)
	c.percent(at+"/waste_percent", t.Waste, 0, MaxPercent)
	c.number(at+"/working_factor", t.WorkingFactor, MinFactor, MaxFactor, 2)
	c.number(at+"/movement/radial", t.Movement.Radial, 0, num.One, 6)
	c.number(at+"/movement/tangential", t.Movement.Tangential, 0, num.One, 6)
	c.faults.Text(at, "source", t.Source, MaxNote, false)
	each(t.Thicknesses, at+"/thicknesses", c.thickness)
}

func (c *check) thickness(at string, t *Thickness) {
	c.code(at, t.Code)
	c.length(at+"/thickness", t.Thickness, unit.Micrometre)
	c.length(at+"/finishes_to", t.FinishesTo, unit.Micrometre)
	if t.FinishesTo > t.Thickness {
		c.faults.Add(at+"/finishes_to", "%s mm is over the sawn thickness %s mm: make it at most that", t.FinishesTo.Millimetres(), t.Thickness.Millimetres())
	}
	c.price(at, t.Price, t.Units()...)
}

func (c *check) sheet(at string, s *Sheet) {
	c.code(at, s.Code)
	c.text(at, "description", s.Description)
	c.number(at+"/density", s.Density, num.One, 3000*num.One, 6)
	c.length(at+"/thickness", s.Thickness, unit.Micrometre)
	c.length(at+"/length", s.Length, unit.Millimetre)
	c.length(at+"/width", s.Width, unit.Millimetre)
	c.percent(at+"/waste_percent", s.Waste, 0, MaxPercent)
	c.word(at+"/charged", s.Charged, Whole, Area)
	c.faults.Text(at, "source", s.Source, MaxNote, false)
	c.price(at, s.Price, s.Units()...)
}

func (c *check) supply(at string, s *Supply) {
	c.code(at, s.Code)
	c.text(at, "description", s.Description)
	if !s.Unit.Known() || s.Unit == unit.Pack || s.Unit == unit.Min {
		c.faults.Unknown(at+"/unit", string(s.Unit), "unit of a supply", "write m3, ft3, bf, m2, m, kg, l, h, each or km")
	}
	c.number(at+"/pack_size", s.PackSize, 1, million, 6)
	c.word(at+"/charged", s.Charged, Whole, Used)
	c.price(at, s.Price, s.Units()...)
	if g := s.Glue; g != nil {
		c.unit(at, s, unit.Kg, "a glue")
		c.number(at+"/glue/spread", g.Spread, 0, million, 6)
		c.percent(at+"/glue/loss_percent", g.Loss, 0, MaxPercent)
		c.number(at+"/glue/pot_loss", g.PotLoss, 0, million, 6)
		c.number(at+"/glue/open_minutes", g.OpenMinutes, 0, million, 6)
		c.number(at+"/glue/clamp_minutes", g.ClampMinutes, 0, million, 6)
	}
	if s.Coating != nil {
		c.unit(at, s, unit.L, "a coating")
		c.coating(at+"/coating", s.Coating)
	}
	for i, h := range s.Hazards {
		c.word(fmt.Sprintf("%s/hazards/%d", at, i), h, Isocyanate, Flammable, DryingOil)
	}
	c.faults.Text(at, "source", s.Source, MaxNote, false)
}

func (c *check) unit(at string, s *Supply, want unit.Unit, what string) {
	if s.Unit != want {
		c.faults.Add(at+"/unit", "%s is counted in %s, not in %q: write %s", what, want, s.Unit, want)
	}
}

// coating wants the coverage, or what it is worked out from.
func (c *check) coating(at string, k *Coating) {
	by := k.Solids != 0 || k.DryFilm != 0
	switch {
	case k.Coverage == 0 && !by:
		c.faults.Add(at, "the coating has no coverage: write it, or volume_solids_percent and dry_film")
		return
	case k.Coverage != 0 && by:
		c.faults.Add(at, "coverage stands beside volume_solids_percent or dry_film: write coverage alone, or those two")
		return
	case k.Coverage != 0:
		c.number(at+"/coverage", k.Coverage, num.One/1000, million, 6)
		return
	}
	c.percent(at+"/volume_solids_percent", k.Solids, 1, 100_00)
	c.number(at+"/dry_film", k.DryFilm, num.One/1000, million, 6)
}

func (c *check) fitting(at string, f *Fitting) {
	c.code(at, f.Code)
	c.text(at, "description", f.Description)
	c.number(at+"/mass", f.Mass, 0, 10_000*num.One, 6)
	c.price(at, f.Price, f.Units()...)
}

func (c *check) method(at string, m *Method) {
	c.code(at, m.Code)
	c.percent(at+"/transfer_percent", m.Transfer, 1, 100_00)
}

func (c *check) finish(at string, f *Finish) {
	c.code(at, f.Code)
	c.text(at, "description", f.Description)
	for i, k := range f.Coats {
		at := fmt.Sprintf("%s/coats/%d", at, i)
		if s := c.book.Supply(k.Product); s == nil || s.Coating == nil {
			c.named(at+"/product", k.Product, "supply with a coating")
		}
		if c.book.Method(k.Method) == nil {
			c.named(at+"/method", k.Method, "method")
		}
		if k.Coats < 1 || k.Coats > maxCoats {
			c.faults.Add(at+"/coats", "%d coats: write 1 to %d", k.Coats, maxCoats)
		}
	}
}

// spreads reports coats so thick that no area is left for a litre to cover.
func (c *check) spreads(d Data) {
	for i, f := range d.Finishes {
		for j, k := range f.Coats {
			if c.book.Supply(k.Product).Coating.Spread(c.book.Method(k.Method)) == 0 {
				c.faults.Add(fmt.Sprintf("#/finishes/%d/coats/%d", i, j), "a litre of %s by %s covers no area: raise its coverage or volume_solids_percent, lower its dry_film, or name another method", k.Product, k.Method)
			}
		}
	}
}

func (c *check) grade(at string, g *Grade) {
	c.code(at, g.Code)
	c.text(at, "description", g.Description)
	c.price(at, g.Price, g.Units()...)
}

func (c *check) stage(at string, s *Stage) {
	c.code(at, s.Code)
	c.text(at, "description", s.Description)
	if c.book.Grade(s.Grade) == nil {
		c.named(at+"/grade", s.Grade, "grade of labour")
	}
}

// order checks the positions of the stages.
func (c *check) order(stages []Stage) {
	for i, s := range stages {
		at := fmt.Sprintf("#/stages/%d/position", i)
		if s.Position < 0 || s.Position > maxPosition {
			c.faults.Add(at, "%d is out of range: write a whole number up to %d, or leave every position out", s.Position, maxPosition)
		} else if i > 0 && s.Position < stages[i-1].Position {
			c.faults.Add(at, "%d is below the %d of the stage before: list the stages in the order of their positions", s.Position, stages[i-1].Position)
		}
	}
}

func (c *check) rule(at string, r *Rule) {
	c.code(at, r.Code)
	c.number(at+"/setup", r.Setup, 0, million, 2)
	c.number(at+"/each", r.Each, 0, million, 3)
	c.number(at+"/per", r.Per, num.One/1000, million, 3)
	c.faults.Text(at, "note", r.Note, MaxNote, false)
	switch {
	case (r.Stage == "") == (r.Item == ""):
		c.faults.Add(at, "a rule names a stage or an item: write one of them")
	case r.Stage != "" && c.book.Stage(r.Stage) == nil:
		c.named(at+"/stage", r.Stage, "stage")
	case r.Item != "" && c.book.Supply(r.Item) == nil:
		c.named(at+"/item", r.Item, "supply")
	}
	for i, tag := range r.When {
		c.word(fmt.Sprintf("%s/when/%d", at, i), tag, tags()...)
	}
	if b, w := c.book, r.With; w != "" && b.Timber(w) == nil && b.Sheet(w) == nil && b.Supply(w) == nil && b.Finish(w) == nil && b.Fitting(w) == nil {
		c.named(at+"/with", w, "timber, sheet, supply, finish or ironmongery")
	}
	id, ok := measure.Find(r.Measure)
	if !ok {
		c.faults.Unknown(at+"/measure", r.Measure, "measure", "name one of those that are counted")
		return
	}
	c.shares(at, r, measure.All[id].Shares)
}

// shares checks that the shares chosen are kept by the measure, and exist.
func (c *check) shares(at string, r *Rule, kept measure.Shares) {
	for _, s := range []struct {
		member, value string
		kept, exists  bool
		what, remedy  string
	}{
		{"role", r.Role, kept == measure.ByRole, r.Role == "show" || r.Role == "inner" || r.Role == "sheet" || c.book.Timber(r.Role) != nil, "role or timber", "name show, inner, sheet or a timber"},
		{"zone", r.Zone, kept == measure.ByFinish || kept == measure.ByZone, r.Zone == "outside" || r.Zone == "inside", "zone", "name outside or inside"},
		{"method", r.Method, kept == measure.ByFinish, c.book.Method(r.Method) != nil, "method", "name one of the book"},
		{"of", r.Of, kept == measure.ByFinish || kept == measure.ByItem, c.counted(r.Of, kept), "product of coats or item of ironmongery that the measure is kept by", "name one of the book"},
	} {
		switch {
		case s.value == "":
		case !s.kept:
			c.faults.Add(at+"/"+s.member, "the measure %s is not kept by %s: leave it out", r.Measure, s.member)
		case !s.exists:
			c.faults.Unknown(at+"/"+s.member, s.value, s.what, s.remedy)
		}
	}
}

// counted reports whether code is something that a measure so kept counts.
func (c *check) counted(code string, kept measure.Shares) bool {
	if kept == measure.ByItem {
		return c.book.Fitting(code) != nil
	}
	s := c.book.Supply(code)
	return s != nil && s.Coating != nil
}

// tags returns the tags that a rule's when may hold.
func tags() []string {
	return []string{
		"dovetails:hand", "dovetails:machine", "construction:lapped", "construction:applied",
		"bottom:sheet", "bottom:solid", "kind:chest", "kind:drawer_boxes", "kind:parts", "kind:service",
	}
}
