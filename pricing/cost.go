package pricing

import (
	"strconv"

	"reckoner/pricing/book"
	"reckoner/pricing/cutting"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// Cost prices r from b. It changes neither, and the same r and b give the same
// Costing. The error is a fault.List with every fault of r (pointers from r's
// root), or num.Overflow.
func Cost(r Request, b *book.Book) (Costing, error) { return new(Memory).Cost(r, b) }

// cost is Cost, with what p varies.
func (p *pricer) cost(r Request) (c Costing, err error) {
	defer overflow(&c, &err)
	p.currency = p.Data().Currency
	p.request(&r)
	c.Pieces = make([]PricedPiece, len(r.Pieces))
	jobs := make([]job, len(r.Pieces))
	for i := range r.Pieces {
		jobs[i] = newJob(p, &r, i)
		jobs[i].prepare(&c.Pieces[i])
	}
	if p.panels > maxPanels {
		p.faults.Add("#/pieces", "%d parts are cut from sheets, at most %d can be laid out together: lower a quantity, or split the request", p.panels, maxPanels)
	}
	for i := range jobs {
		jobs[i].price()
	}
	if len(p.faults) == 0 { // else there is nothing to add up
		c.Totals = p.totals(&r, c.Pieces)
	}
	if len(p.faults) == 0 {
		c.Cutting = p.cutting(jobs)
	}
	if len(p.faults) > 0 {
		return Costing{}, p.faults.Sorted(r)
	}
	c.Currency, c.AsOf, c.Book, c.Engine = p.currency, p.Data().AsOf, p.Data().Version, Engine
	c.Terms = p.terms
	c.Buying = buying(jobs, c.Cutting)
	c.Cautions = cautions(c.Pieces)
	return c, nil
}

// overflow turns the panic of arithmetic that does not fit into an error, and
// only that.
func overflow[T any](result *T, err *error) {
	switch p := recover().(type) {
	case nil:
	case num.Overflow:
		*result, *err = *new(T), p
	default:
		panic(p)
	}
}

// A pricer is what the pieces of one request share.
type pricer struct {
	*book.Book
	terms    book.Terms // in force
	currency num.Currency
	sawing   book.Sawing
	effort   cutting.Effort
	memory   *Memory
	panels   int // parts cut from sheets
	faults   fault.List
	vary     variation
}

// A job is the pricing of one piece line.
type job struct {
	*pricer
	piece    *piece.Piece
	index    int
	root     string // pointer of the piece: "#/pieces/0"
	quantity int
	units    unit.System
	roles    [4]material
	made     piece.Build
	cuts     []cut
	tally    tally
	out      *PricedPiece

	sheets    []sheetLine
	lineTerms []Term // of all lines, cut up among them
	cuttable  bool   // it can be made, and there is something to cut every part from
}

// prepare makes the piece, which is to be priced into out, and finds what its parts are
// cut from, or adds what is wrong with it to the faults. What can be judged is judged
// whatever else is wrong.
func (j *job) prepare(out *PricedPiece) {
	j.out = out
	j.check()
	checked := len(j.faults)
	made, faults := j.piece.Build(j.stock)
	j.made = made
	j.faults = append(j.faults, faults.At(j.root[1:])...)
	j.cutParts()
	if j.cuttable = len(j.faults) == checked && j.canCut(); j.cuttable {
		j.sortSheets()
	}
}

// price prices a piece that can be cut, or adds what is wrong with that to the faults.
func (j *job) price() {
	if !j.cuttable {
		return
	}
	j.takeOff()
	j.lineTerms = make([]Term, 0, 2*len(j.Data().Stages)+len(j.out.Measures))
	j.priceTimber()
	j.priceSheets()
	j.priceIronmongery()
	j.priceSupplies()
	j.priceBoughtIn()
	j.priceLabour()
	if len(j.faults) > 0 { // here or elsewhere in the request: there is no price
		return
	}
	j.buildUp()
	j.checks()
}

// since returns the terms added after the first n, for a line to keep.
func (j *job) since(n int) []Term { return j.lineTerms[n:len(j.lineTerms):len(j.lineTerms)] }

// newJob prepares the pricing of the i-th piece of r.
func newJob(p *pricer, r *Request, i int) job {
	q := &r.Pieces[i]
	j := job{pricer: p, piece: q, index: i, root: "#/pieces/" + strconv.Itoa(i), quantity: max(1, int(q.Quantity)), units: q.Units}
	if j.units == "" {
		j.units = unit.InMillimetres
	}
	j.findRoles()
	return j
}

// add reports a fault of the piece; at is a pointer from it, without "#".
func (j *job) add(at, format string, args ...any) { j.faults.Add(j.root+at, format, args...) }

// priced returns the rate of a price in force, or reports that there is none.
func (j *job) priced(p *book.Price, at, code string) (num.Rate, unit.Unit) {
	if p == nil {
		j.add(at, "%s has no price on %s: give it one from that date or before", code, j.Data().AsOf)
		return 0, ""
	}
	return p.Rate, p.Unit
}
