package pricing

import (
	"slices"
	"strconv"
	"strings"

	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// priceIronmongery writes a line for each item, a term for each entry of the
// piece that is fitted at all.
func (j *job) priceIronmongery() {
	j.out.Ironmongery = make([]Line, 0, len(j.piece.Ironmongery))
	for i := range j.piece.Ironmongery {
		f := &j.piece.Ironmongery[i]
		n := j.fitted(f)
		if n == 0 || !j.sound(f) {
			continue
		}
		at := slices.IndexFunc(j.out.Ironmongery, func(l Line) bool { return l.Code == f.Code })
		if at < 0 {
			item := j.Fitting(f.Code)
			rate, _ := j.priced(item.Price, "/ironmongery/"+strconv.Itoa(i)+"/code", f.Code)
			at = len(j.out.Ironmongery)
			j.out.Ironmongery = append(j.out.Ironmongery, Line{Code: f.Code, Description: item.Description, Unit: unit.Each, Rate: rate})
		}
		l := &j.out.Ironmongery[at]
		l.Terms = append(l.Terms, term(Term{Measure: f.Per, Quantity: num.Whole(n), Each: f.Each}, 6))
	}
	for i := range j.out.Ironmongery {
		j.close(&j.out.Ironmongery[i])
	}
	slices.SortFunc(j.out.Ironmongery, byLineCode)
}

func byLineCode(a, b Line) int { return strings.Compare(a.Code, b.Code) }
