package exports

import (
	"strconv"

	"reckoner/pricing"
	"reckoner/pricing/num"
)

// A like is what parts of one line of a cutting list have in common.
type like struct {
	name, material           string
	length, width, thickness num.Decimal
}

func likeness(c *pricing.CutPart) like {
	return like{c.Name, c.Material, c.Length, c.Width, c.Thickness}
}

// drawersOf returns which drawers of the i-th piece the parts of each line belong
// to. Drawers are numbered from the top left, row by row; those of a batch in the
// order of its list.
func drawersOf(p *Paper, i int) map[like]string {
	q, units := &p.Request.Pieces[i], p.Costing.Pieces[i].Units
	made, _ := q.Build(pricing.Stocks(q, p.Book)) // it has been priced: there is no fault
	runs := make(map[like][][2]int)
	first := 1
	for _, box := range made.Boxes {
		last := first + box.Quantity - 1
		for _, part := range made.Parts[box.First:box.Last] {
			l := like{part.Name, part.Material, units.Size(part.Length), units.Size(part.Width), units.Size(part.Thickness)}
			runs[l] = append(runs[l], [2]int{first, last})
		}
		first = last + 1
	}
	words := make(map[like]string, len(runs))
	for l, r := range runs {
		words[l] = numbers(r)
	}
	return words
}

// numbers writes runs of numbers, which stand in their order: "1-2, 5".
func numbers(runs [][2]int) string {
	var joined [][2]int
	for _, r := range runs {
		if n := len(joined); n > 0 && r[0] <= joined[n-1][1]+1 {
			joined[n-1][1] = max(joined[n-1][1], r[1])
			continue
		}
		joined = append(joined, r)
	}
	s := ""
	for i, r := range joined {
		if i > 0 {
			s += ", "
		}
		s += strconv.Itoa(r[0])
		if r[1] > r[0] {
			s += "-" + strconv.Itoa(r[1])
		}
	}
	return s
}
