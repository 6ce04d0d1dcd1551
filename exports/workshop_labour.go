package exports

import (
	"strconv"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// extraHours is the measure of hours that a request adds.
const extraHours = "extra_hours"

// labour writes the work on every piece; the rates and working factors first.
func (b *bench) labour() {
	t := b.open(labourName, b.lineWidths(), b.lineHeads("")...)
	t.grades()
	t.factors()
	for i := range b.pieces {
		if len(b.Costing.Pieces[i].Labour) == 0 {
			continue
		}
		t.title(i)
		t.cautions(i, atTheLift)
		t.work(i)
	}
	t.close()
}

// grades writes what an hour of each grade at work costs.
func (t *tab) grades() {
	b := t.bench
	seen := make(map[string]bool)
	for i := range b.Costing.Pieces {
		for _, l := range b.Costing.Pieces[i].Labour {
			if seen[l.Grade] {
				continue
			}
			if len(seen) == 0 {
				t.section("What a paid hour costs")
			}
			seen[l.Grade] = true
			g := b.Book.Grade(l.Grade)
			k := b.looks()
			t.put(tight, cell{value: g.Code, look: k.text}, cell{value: oneLine(g.Description), look: k.text, span: unitOfColumn - wordsColumn},
				cell{value: string(unit.H), look: k.of}, cell{value: rate(g.Price.Rate), input: "hour " + g.Code, look: k.rate})
		}
	}
}

// factors writes the working factors: each piece's own, and that of each timber
// whose measures are worked by.
func (t *tab) factors() {
	b, first := t.bench, true
	begin := func() {
		if first {
			t.section("Working factors: a piece's own times, where a measure is kept by material, its timber's")
		}
		first = false
	}
	var timbers []string
	seen := make(map[string]bool)
	for i := range b.Costing.Pieces {
		o, worked := &b.Costing.Pieces[i], false
		for k := range o.Labour {
			for j := range o.Labour[k].Terms {
				m := &o.Labour[k].Terms[j]
				worked = worked || m.Rule != ""
				if code := b.timberOf(i, m); code != "" && !seen[code] {
					seen[code] = true
					timbers = append(timbers, code)
				}
			}
		}
		if worked {
			begin()
			t.factor(b.pieces[i].letter, oneLine(o.Title), own(b.Request.Pieces[i].WorkingFactor), pieceFactor(i))
		}
	}
	for _, code := range timbers {
		w := b.Book.Timber(code)
		t.factor(code, oneLine(w.Description), w.WorkingFactor, "factor "+code)
	}
}

// own returns a piece's working factor.
func own(f *num.Decimal) num.Decimal {
	if f == nil {
		return num.One
	}
	return *f
}

func pieceFactor(i int) string { return "factor piece " + strconv.Itoa(i+1) }

// factor writes one working factor.
func (t *tab) factor(code, words string, f num.Decimal, input string) {
	k := t.bench.looks()
	var cells [lineColumns]cell
	cells[codeColumn] = cell{value: code, look: k.text}
	cells[wordsColumn] = cell{value: words, look: k.text}
	cells[factorColumn] = cell{value: decimal(f), input: input, look: k.number}
	t.put(tight, cells[:]...)
}

// timberOf returns the code of the timber whose working factor a term takes, or
// nothing.
func (b *bench) timberOf(i int, m *pricing.Term) string {
	if m.Rule == "" || !byRole(m.Measure) {
		return ""
	}
	code := m.Share
	if named := b.Request.Pieces[i].Timbers[code]; named != "" {
		code = named
	}
	if b.Book.Timber(code) == nil {
		return ""
	}
	return code
}

// work writes the stages of the i-th piece and what they come to in hours.
func (t *tab) work(i int) {
	b, o, a := t.bench, &t.bench.Costing.Pieces[i], &t.bench.pieces[i]
	var hours, bench []string
	amounts := t.lines(o.Labour, func(l *pricing.Line) source {
		row := t.row + 1
		hours = append(hours, t.there(soldColumn, row))
		if b.Book.Stage(l.Code).Bench {
			bench = append(bench, t.there(soldColumn, row))
		}
		a.stages[l.Code] = t.there(amountColumn, row)
		return t.stage(i, l)
	})
	total := cell{value: decimal(o.Hours), formula: t.sum("2", hours)}
	a.headings[labourHeading] = t.totalLine("Labour of "+a.letter, amounts, b.total(o.Labour), total)
	a.hours = t.there(soldColumn, t.row)
	if len(bench) == 0 {
		return
	}
	k := b.looks()
	t.put(tight, cell{value: "Hours at the bench, which bear the overhead where it is by the hour", look: k.text, span: soldColumn},
		cell{value: decimal(o.BenchHours), formula: t.sum("2", bench), look: k.number.as(fixed(2))}, cell{value: string(unit.H), look: k.text})
	a.benchHours = t.there(soldColumn, t.row)
}

// stage returns where the figures of a line of labour come from.
func (t *tab) stage(i int, l *pricing.Line) source {
	s := lineOf(l)
	s.places = 2
	s.words += ", " + l.Grade
	if !t.bench.Book.Stage(l.Code).Bench {
		s.words += "; not at the bench"
	}
	s.rate.input = "hour " + l.Grade
	s.terms = make([]termSource, len(l.Terms))
	typed, last := t.typed(i, l.Code), ""
	for k := range l.Terms {
		m := &l.Terms[k]
		s.terms[k] = termOf(m)
		s.terms[k].code, s.terms[k].words = m.Measure, words(m)
		if m.Measure == extraHours && m.Rule == "" {
			if len(typed) > 0 {
				s.terms[k].words, typed = typed[0], typed[1:]
			}
			continue
		}
		s.terms[k].code, s.terms[k].counted = m.Rule, t.counts(i, m)
		t.ruled(&s.terms[k], m, m.Rule != last)
		last = m.Rule
		s.terms[k].factor.formula = t.workingFactor(i, m)
	}
	return s
}

// workingFactor returns the formula of a term's working factor.
func (t *tab) workingFactor(i int, m *pricing.Term) string {
	own := t.here(t.bench.inputs[pieceFactor(i)])
	if code := t.bench.timberOf(i, m); code != "" {
		return "ROUND(" + own + "*" + t.here(t.bench.inputs["factor "+code]) + ",6)"
	}
	return own
}

// typed returns the notes of the hours that a request adds to a stage.
func (t *tab) typed(i int, stage string) []string {
	var notes []string
	for _, h := range t.bench.Request.Pieces[i].ExtraHours {
		if h.Stage == stage {
			note := "hours as typed"
			if s := oneLine(h.Note); s != "" {
				note += ": " + s
			}
			notes = append(notes, note)
		}
	}
	return notes
}
