package pricing

import (
	"cmp"
	"slices"
	"strconv"

	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// A Choice is what a customer took of what was offered.
type Choice struct {
	Chosen   []string `json:"choose"`   // ids of alternatives and extras
	Included []string `json:"included"` // ids of all pieces that are in the totals
	Totals   Totals   `json:"totals"`
}

// Choose returns the totals of c, the costing of r, with the pieces of those ids
// taken: an extra is added, an alternative stands in place of the piece that it
// names, be that an extra or not. Prices stay as they are in c. The error is a
// fault.List with pointers from "#/choose", or num.Overflow.
func (c *Costing) Choose(r *Request, ids []string) (choice Choice, err error) {
	defer overflow(&choice, &err)
	in, faults := c.taken(r, ids)
	if len(faults) > 0 {
		return Choice{}, faults
	}
	choice.Chosen, choice.Included = append([]string{}, ids...), []string{}
	var lines []Net
	for i := range c.Pieces {
		if in[i] {
			p := &c.Pieces[i]
			choice.Included = append(choice.Included, p.ID)
			lines = append(lines, Net{p.Price, p.Tax})
		}
	}
	if choice.Totals, err = total(&c.Terms, c.Currency, lines); err != nil {
		faults.Add("#/choose", "%s: choose more, or take the discount down", err)
		return Choice{}, faults
	}
	return choice, nil
}

// taken says of each piece whether it is in the totals when those of the ids are
// taken: of a piece and all its alternatives, one at most.
func (c *Costing) taken(r *Request, ids []string) (in []bool, faults fault.List) {
	if len(ids) > maxPieces {
		faults.Add("#/choose", "%d ids: choose at most %d", len(ids), maxPieces)
		return nil, faults
	}
	in = make([]bool, len(c.Pieces))
	place := make(map[string]int, len(c.Pieces))
	for i := range c.Pieces {
		in[i] = c.Pieces[i].Included
		place[c.Pieces[i].ID] = i
	}
	chosen := make(map[string]string) // by the piece that all are alternatives of
	for n, id := range ids {
		i, known := place[id]
		at := "#/choose/" + strconv.Itoa(n)
		if !known {
			faults.Add(at, "no piece has the id %q: name alternatives and extras by their ids", id)
			continue
		}
		of := cmp.Or(r.Pieces[i].AlternativeTo, id)
		switch other := chosen[of]; {
		case c.Pieces[i].Included:
			faults.Add(at, "%q is included as it is: name only alternatives and extras", id)
		case slices.Contains(ids[:n], id):
			faults.Add(at, "%q is chosen twice: name it once", id)
		case other != "":
			faults.Add(at, "%q and %q are alternatives to each other: choose one of them", other, id)
		default:
			chosen[of] = id
			in[place[of]], in[i] = false, true // an extra stands for itself
		}
	}
	return in, faults
}

// Taken returns r with the pieces of those ids alone, each standing for itself: what
// was ordered of what was offered. R stays as it is.
func (r *Request) Taken(ids []string) Request {
	order := *r
	order.Pieces = nil
	for i := range r.Pieces {
		p := r.Pieces[i]
		if p.ID = id(i, &p); slices.Contains(ids, p.ID) {
			p.AlternativeTo, p.Optional = "", false
			order.Pieces = append(order.Pieces, p)
		}
	}
	return order
}

// Sum returns the sum of a step of the build-up over the pieces that are included,
// in the currency's decimals when there are none.
func (c *Costing) Sum(step string) num.Money {
	sum := c.Currency.Zero()
	for i := range c.Pieces {
		if p := &c.Pieces[i]; p.Included {
			for k := range p.BuildUp {
				if p.BuildUp[k].Name == step {
					sum = sum.Plus(p.BuildUp[k].Amount)
				}
			}
		}
	}
	return sum
}
