package pricing

import (
	"encoding/binary"

	"reckoner/pricing/book"
	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// Efforts of a request.
const (
	quick    = "quick"
	thorough = "thorough"
)

// A nesting is all that decides how parts are cut from a sheet.
type nesting struct {
	length, width unit.Length // of the sheet
	grain         bool
	sawing        book.Sawing
	effort        cutting.Effort
	parts         string // length, width and how many of each
}

// A Memory keeps how parts were cut, so that what is priced again, in another timber or
// at other prices, is not laid out again. It changes no price. The zero Memory is
// empty; it is for one goroutine at a time.
type Memory struct {
	plans map[nesting]*cutting.Plan
}

// remembered is how many plans a Memory keeps; with more it begins anew.
const remembered = 1000

// Cost is the function Cost, with what m keeps.
func (m *Memory) Cost(r Request, b *book.Book) (Costing, error) {
	return (&pricer{Book: b, memory: m}).cost(r)
}

// keep adds a plan.
func (m *Memory) keep(n nesting, plan *cutting.Plan) {
	if m.plans == nil || len(m.plans) >= remembered {
		m.plans = make(map[nesting]*cutting.Plan)
	}
	m.plans[n] = plan
}

// nesting returns what decides how parts are cut from s.
func (p *pricer) nesting(s *book.Sheet, parts []*cut) nesting {
	list := make([]byte, 0, 12*len(parts))
	for _, c := range parts {
		for _, n := range [...]int64{int64(c.Length), int64(c.Width), int64(c.count)} {
			list = binary.AppendVarint(list, n)
		}
	}
	return nesting{s.Length, s.Width, s.Grain, p.sawing, p.effort, string(list)}
}

// layOut returns how parts are cut from s.
func (p *pricer) layOut(s *book.Sheet, parts []*cut) *cutting.Plan {
	n := p.nesting(s, parts)
	if plan := p.memory.plans[n]; plan != nil {
		return plan
	}
	j := p.sheetJob(s)
	for _, c := range parts {
		j.Parts = append(j.Parts, p.flat(c))
	}
	plan, err := j.Plan(p.effort)
	if err != nil {
		p.faults.Add("#/pieces", "the parts cut from %s cannot be laid out: %s", s.Code, err)
		return &plan
	}
	p.memory.keep(n, &plan)
	return &plan
}

// sheetJob returns the job of cutting s, of which there are as many as it takes. Every
// sheet costs 1, so that the least cost is the fewest sheets.
func (p *pricer) sheetJob(s *book.Sheet) cutting.Job {
	t := p.sawing.Trim
	return cutting.Job{
		Kerf: p.sawing.Kerf, Trim: cutting.Trim{Left: t, Right: t, Bottom: t, Top: t}, OffcutMin: p.sawing.OffcutMin,
		Stock: []cutting.Stock{{Length: s.Length, Width: s.Width, Cost: 1}},
	}
}

// flat returns c as it is cut from its sheet.
func (p *pricer) flat(c *cut) cutting.Part {
	return cutting.Part{Length: c.Length, Width: c.Width, Quantity: c.count, Turn: !c.sheet.Grain}
}
