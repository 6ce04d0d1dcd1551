package pricing

import (
	"reckoner/pricing/book"
	"reckoner/pricing/measure"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// priceLabour writes a line for each stage, in the order of the work.
func (j *job) priceLabour() {
	stages := j.Data().Stages
	j.out.Labour = make([]Line, 0, len(stages))
	for i := range stages {
		s := &stages[i]
		terms := j.minutes(i, s.Code)
		if len(terms) == 0 {
			continue
		}
		grade := j.Grade(s.Grade)
		rate, _ := j.priced(grade.Price, "", grade.Code)
		l := Line{Code: s.Code, Description: s.Description, Grade: s.Grade, Unit: unit.H, Rate: j.vary.labourRate(rate)}
		l.Terms, l.Per = terms, sixty
		if !j.close(&l) {
			continue
		}
		j.out.Labour = append(j.out.Labour, l)
		j.out.Hours = j.out.Hours.Plus(l.Quantity)
		if s.Bench {
			j.out.BenchHours = j.out.BenchHours.Plus(l.Quantity)
		}
	}
}

// minutes returns the terms of the i-th stage: its rules by code and share, then
// the extra hours as typed.
func (j *job) minutes(i int, code string) []Term {
	from := len(j.lineTerms)
	rules := j.Work(i)
	for k := range rules {
		if r := &rules[k]; j.applies(r) {
			j.apply(r)
		}
	}
	for _, h := range j.piece.ExtraHours {
		if h.Stage == code {
			j.lineTerms = append(j.lineTerms, term(Term{Measure: ofExtraHours, Quantity: h.Hours, Each: sixty}, 2))
		}
	}
	return j.since(from)
}

// apply adds a rule's term for each share it chooses; the set-up stands with the
// first.
func (j *job) apply(r *book.Applied) {
	setup := r.Setup
	for _, m := range j.tally.of[r.Counts] {
		if !r.Takes(m.Share) {
			continue
		}
		t := base(r)
		t.Share, t.Quantity, t.Setup = m.Share, m.Quantity, setup
		t.Factor = unlessOne(j.workingFactor(r.Counts, m.Share))
		j.lineTerms = append(j.lineTerms, term(t, 2))
		setup = 0
	}
}

// workingFactor returns the piece's working factor times, for a measure kept by
// role, that of the role's timber.
func (j *job) workingFactor(id measure.ID, share string) num.Decimal {
	f := num.One
	if w := j.piece.WorkingFactor; w != nil {
		f = *w
	}
	if measure.All[id].Shares == measure.ByRole {
		return num.Product(6, num.One, f, j.factor(share))
	}
	return f
}
