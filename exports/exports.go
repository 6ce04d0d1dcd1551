// Package exports writes costings as workbooks, tables of text and drawings. It
// knows pricing and nothing of databases or HTTP.
package exports

import (
	"time"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

// A Paper is a costing with what the page says around it.
type Paper struct {
	Costing  pricing.Costing
	Request  pricing.Request // what Costing prices, piece by piece
	Book     *book.Book      // words for a finish, a timber, a fitting
	Title    string
	Number   string // empty for a costing that is no quote
	Revision int
	Customer *pricing.Customer // the quote's, else the request's
	Issued   time.Time         // written into the file's properties; never the clock

	Dated      date.Date // the quotation's; no day: that of its prices
	ValidUntil date.Date // no day: as many days after as the terms say
	Note       string    // to the customer, above the pieces: at most 4000 characters, its lines kept
}

// dates returns the day of a quotation and the last on which it is valid.
func (p *Paper) dates() (dated, until date.Date) {
	dated, until = p.Dated, p.ValidUntil
	if dated.IsZero() {
		dated = p.Costing.AsOf
	}
	if until.IsZero() {
		until = dated.AddDays(p.Costing.Terms.ValidDays)
	}
	return dated, until
}

// titles returns the title of each piece by its id.
func (p *Paper) titles() map[string]string {
	m := make(map[string]string, len(p.Costing.Pieces))
	for i := range p.Costing.Pieces {
		m[p.Costing.Pieces[i].ID] = p.Costing.Pieces[i].Title
	}
	return m
}
