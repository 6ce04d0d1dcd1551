package pricing_test

import (
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// offer makes alternatives and extras of the pieces of s, one in three as it was, and
// prices that.
func (s *sample) offer(t *rapid.T) {
	d := draw{T: t}
	s.request = copied(t, s.request)
	var first []string // that are no alternatives
	for i := range s.request.Pieces {
		p := &s.request.Pieces[i]
		p.ID, p.AlternativeTo, p.Optional = "p-"+strconv.Itoa(i+1), "", false
		switch d.word("offered as", "included", "extra", "alternative") {
		case "extra":
			p.Optional = true
		case "alternative":
			if len(first) > 0 {
				p.AlternativeTo = d.word("in place of", first...)
				continue
			}
		}
		first = append(first, p.ID)
	}
	if s.request.Terms != nil {
		s.request.Terms.DiscountAmount = nil
	}
	s.costing = priced(t, s.request, s.book)
	if d.rarely("discount by amount", 2) {
		s.takeOff(t)
	}
}

// choice draws ids that may be chosen together, in any order: of a piece and its
// alternatives one at most.
func (s *sample) choice(t *rapid.T) []string {
	ids, taken := []string{}, make(map[string]bool)
	for i := range s.request.Pieces {
		p := &s.request.Pieces[i]
		of := p.ID
		if p.AlternativeTo != "" {
			of = p.AlternativeTo
		}
		if !s.costing.Pieces[i].Included && !taken[of] && rapid.Bool().Draw(t, "chosen") {
			ids, taken[of] = append(ids, p.ID), true
		}
	}
	return rapid.Permutation(ids).Draw(t, "order")
}

// agreed returns the request in which what is chosen is put in place: the pieces
// chosen are plain ones, and what else is not in the totals is an extra.
func (s *sample) agreed(t *rapid.T, ids []string) (r pricing.Request, included []string) {
	r = copied(t, s.request)
	in := make(map[string]bool)
	for i := range r.Pieces {
		in[r.Pieces[i].ID] = s.costing.Pieces[i].Included
	}
	for i := range r.Pieces {
		if p := &r.Pieces[i]; slices.Contains(ids, p.ID) {
			in[p.ID] = true
			if p.AlternativeTo != "" {
				in[p.AlternativeTo] = false
			}
		}
	}
	included = []string{}
	for i := range r.Pieces {
		p := &r.Pieces[i]
		p.AlternativeTo, p.Optional = "", !in[p.ID]
		if in[p.ID] {
			included = append(included, p.ID)
		}
	}
	return r, included
}

// What is chosen comes to what a request comes to that asks for it in the first
// place, and is refused where that is.
func TestLawAChoiceIsTheRequestWithItInPlace(t *testing.T) {
	replaced := 0
	eachSample(t, func(t *rapid.T, s sample) {
		s.offer(t)
		before := encoded(t, s.costing)
		ids := s.choice(t)
		r, included := s.agreed(t, ids)
		got, err := s.costing.Choose(&s.request, ids)
		require.Equal(t, before, encoded(t, s.costing), "the costing stays as it is")
		want, wanted := pricing.Cost(r, s.book)
		if wanted != nil {
			require.Equal(t, "#/terms/discount_amount", wanted.(fault.List)[0].Pointer)
			require.Equal(t, pricing.Choice{}, got)
			require.Equal(t, "#/choose", err.(fault.List)[0].Pointer)
			return
		}
		require.NoError(t, err)
		require.Equal(t, pricing.Choice{Chosen: append([]string{}, ids...), Included: included, Totals: want.Totals}, got)
		for i := range ids {
			if find(s.request.Pieces, withID(ids[i])).AlternativeTo != "" {
				replaced++
			}
		}
	})
	require.Positive(t, replaced, "no alternative was chosen")
}

func TestLawNothingChosenIsTheCosting(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		s.offer(t)
		for _, none := range [][]string{nil, {}} {
			got, err := s.costing.Choose(&s.request, none)
			require.NoError(t, err)
			require.Equal(t, s.costing.Totals, got.Totals)
			require.Equal(t, []string{}, got.Chosen)
			for i := range s.costing.Pieces {
				p := &s.costing.Pieces[i]
				require.Equal(t, p.Included, slices.Contains(got.Included, p.ID))
			}
		}
	})
}

// Each extra adds exactly its price to the net, each alternative its price less that
// of what it stands for, in whatever order they are named.
func TestLawAChoiceMovesTheNetByItsPrices(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		s.offer(t)
		ids := s.choice(t)
		got, err := s.costing.Choose(&s.request, ids)
		if err != nil {
			return // a discount above it: held by the law of the request
		}
		price := func(id string) num.Money {
			return find(s.costing.Pieces, func(p *pricing.PricedPiece) bool { return p.ID == id }).Price
		}
		net := coins(s.costing.Totals.Net)
		for _, id := range ids {
			net = plus(net, coins(price(id)))
			if of := find(s.request.Pieces, withID(id)).AlternativeTo; of != "" && !find(s.request.Pieces, withID(of)).Optional {
				net = plus(net, minus(coins(price(of))))
			}
		}
		same(t, net, got.Totals.Net, "net")
		again, err := s.costing.Choose(&s.request, rapid.Permutation(ids).Draw(t, "another order"))
		require.NoError(t, err)
		require.Equal(t, got.Totals, again.Totals)
		require.Equal(t, got.Included, again.Included)
	})
}

// What was taken, asked for alone, comes to what was chosen; the request stays.
func TestLawTheOrderComesToTheChoice(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		s.offer(t)
		choice, err := s.costing.Choose(&s.request, s.choice(t))
		if err != nil {
			return // the discount is more than what was chosen
		}
		if len(choice.Included) == 0 {
			return // an order of nothing is no request
		}
		before := copied(t, s.request)
		order := s.request.Taken(choice.Included)
		require.Equal(t, before, s.request)
		again := priced(t, order, s.book)
		require.Equal(t, choice.Totals, again.Totals)
		for i := range again.Pieces {
			require.Equal(t, choice.Included[i], again.Pieces[i].ID)
			require.True(t, again.Pieces[i].Included)
		}
	})
}
