package pricing

import (
	"strconv"

	"reckoner/pricing/num"
)

// priceBoughtIn writes the bought-in lines as typed, their rates raised by the
// terms' mark-up.
func (j *job) priceBoughtIn() {
	j.out.BoughtIn = make([]Line, len(j.piece.BoughtIn))
	for i, b := range j.piece.BoughtIn {
		l := Line{Code: strconv.Itoa(i + 1), Description: b.Description, Unit: b.Unit, Rate: b.Rate.Raised(j.terms.BoughtInMarkup), Provisional: b.Provisional}
		from := len(j.lineTerms)
		j.lineTerms = append(j.lineTerms, term(Term{Measure: ofBoughtIn, Quantity: b.Quantity, Each: num.One}, 6))
		l.Terms = j.since(from)
		j.close(&l)
		j.out.BoughtIn[i] = l
	}
}
