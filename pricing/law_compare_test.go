package pricing_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// eachPair holds a law against two costings of one currency: a random one, and that
// of the same request altered, or of another, from the same Book or a dearer one. One
// in twenty pairs may be refused, no more.
func eachPair(t *testing.T, law func(t *rapid.T, from, to pricing.Costing)) {
	tried, refused, listed := 0, 0, 0
	eachSample(t, func(t *rapid.T, s sample) {
		d, r, b := draw{T: t}, request(t), s.book
		if !d.rarely("another request", 3) {
			r = d.altered(copied(t, s.request))
		}
		if heading := d.word("dearer", "", "", "", "timber", "sheets", "supplies", "labour"); heading != "" {
			b = changed(t, b, func(data *book.Data) { dearer(data, heading, 12_34) })
		}
		to, err := pricing.Cost(r, b)
		if err != nil && r.Terms != nil && r.Terms.DiscountAmount != nil { // more than what is left of the pieces
			r.Terms.DiscountAmount = nil
			to, err = pricing.Cost(r, b)
		}
		tried++
		if err != nil {
			refused++
			return
		}
		listed += len(difference(&s.costing, &to).Pieces)
		law(t, s.costing, to)
	})
	t.Logf("%d of %d pairs refused, %d pieces differ", refused, tried, listed)
	require.LessOrEqual(t, refused*20, tried, "%d of %d pairs were refused", refused, tried)
	require.Greater(t, listed, tried, "pieces that differ")
}

// altered returns r with a few of its pieces otherwise.
func (d draw) altered(r pricing.Request) pricing.Request {
	for n := range d.n("alterations", 1, 4) {
		i := d.n("piece", 0, len(r.Pieces)-1)
		p := &r.Pieces[i]
		switch d.n("alteration", 0, 9) {
		case 0:
			p.Title += " again"
		case 1:
			p.Quantity = num.Count(d.n("quantity", 1, 4))
		case 2:
			p.AgreedPrice = new(num.Rate(d.n("agreed price", 0, 3000)) * 1_0000)
		case 3:
			p.AgreedPrice = nil
		case 4:
			p.Tax = d.word("tax", "", "standard", "reduced", "zero")
		case 5:
			p.Optional = p.AlternativeTo == "" && !p.Optional
		case 6:
			fresh := d.piece()
			fresh.ID, fresh.Title, fresh.AlternativeTo, fresh.Optional = p.ID, "Another piece", p.AlternativeTo, p.Optional
			*p = fresh
		case 7:
			fresh := d.piece()
			fresh.ID, fresh.Title = "new-"+strconv.Itoa(n), "A new piece"
			r.Pieces = slices.Insert(r.Pieces, i, fresh)
		case 8:
			of := p.ID
			if len(r.Pieces) > 1 && (of == "" || !slices.ContainsFunc(r.Pieces, func(q piece.Piece) bool { return q.AlternativeTo == of })) {
				r.Pieces = slices.Delete(r.Pieces, i, i+1)
			}
		case 9:
			d.chosen(p)
		}
	}
	return r
}

func TestLawDifferencesAddUp(t *testing.T) {
	eachPair(t, func(t *rapid.T, from, to pricing.Costing) {
		c := difference(&from, &to)
		net := from.Currency.Zero()
		for _, p := range c.Pieces {
			sum := p.BuildUp.Difference
			for _, l := range p.Lines {
				differs(t, l.Amount, l.Code)
				sum = sum.Plus(l.Amount.Difference)
			}
			for what, a := range map[string]pricing.Amounts{"price": p.Price, "in net": p.InNet, "build-up": p.BuildUp} {
				differs(t, a, what)
			}
			require.Equal(t, p.Price.Difference, sum, "%s: lines and build-up", p.ID)
			net = net.Plus(p.InNet.Difference)
		}
		require.Equal(t, "net", c.Totals[0].Name)
		require.Equal(t, c.Totals[0].Difference, net, "the differences of the pieces are that of the net")
		tax := from.Currency.Zero()
		for _, s := range c.Totals {
			differs(t, s.Amounts, s.Name)
			if s.Name == "tax" {
				tax = tax.Plus(s.Difference)
			}
		}
		last := len(c.Totals) - 1
		require.Equal(t, []string{"discount", "taxable", "gross"}, []string{c.Totals[1].Name, c.Totals[2].Name, c.Totals[last].Name})
		require.Equal(t, c.Totals[2].Difference, c.Totals[0].Difference.Minus(c.Totals[1].Difference), "net less discount")
		require.Equal(t, c.Totals[last].Difference, c.Totals[2].Difference.Plus(tax), "taxable and tax")
	})
}

// differs holds that a difference is that of its amounts, in the coins of both.
func differs(t *rapid.T, a pricing.Amounts, what string) {
	require.Zero(t, plus(coins(a.To), minus(coins(a.From))).Cmp(coins(a.Difference)), what)
	require.Equal(t, decimalsOf(a.From), decimalsOf(a.To), what)
	require.Equal(t, decimalsOf(a.From), decimalsOf(a.Difference), what)
}

// The totals of both stand in the totals, every tax of either.
func TestLawTheTotalsAreTheCostings(t *testing.T) {
	eachPair(t, func(t *rapid.T, from, to pricing.Costing) {
		taken := func(side func(pricing.Amounts) num.Money) map[string]string {
			all := make(map[string]string)
			for _, s := range difference(&from, &to).Totals {
				key := s.Name + " " + s.Code
				require.NotContains(t, all, key)
				all[key] = side(s.Amounts).String()
			}
			return all
		}
		zero := from.Currency.Zero().String()
		of := func(c *pricing.Costing, other *pricing.Costing) map[string]string {
			x := &c.Totals
			all := map[string]string{"net ": x.Net.String(), "discount ": x.Discount.String(), "taxable ": x.Taxable.String(), "gross ": x.Gross.String()}
			for _, tax := range other.Totals.Tax {
				all["tax "+tax.Code] = zero
			}
			for _, tax := range x.Tax {
				all["tax "+tax.Code] = tax.Amount.String()
			}
			return all
		}
		require.Equal(t, of(&from, &to), taken(func(a pricing.Amounts) num.Money { return a.From }))
		require.Equal(t, of(&to, &from), taken(func(a pricing.Amounts) num.Money { return a.To }))
	})
}

// facts is everything of a costing that a comparison may list, by where it is found:
// of lines and parts with one name, the first, the second and so on.
func facts(c *pricing.Costing) map[string]string {
	all := make(map[string]string)
	add := func(at, fact string) {
		n := 1
		for all[at+"#"+strconv.Itoa(n)] != "" {
			n++
		}
		all[at+"#"+strconv.Itoa(n)] = fact
	}
	for i := range c.Pieces {
		p := &c.Pieces[i]
		all[p.ID+"/"] = fmt.Sprint(p.Title, p.Quantity, p.Included, p.Tax, p.Price)
		for heading, lines := range headings(p) {
			for _, l := range lines {
				add(p.ID+"/"+strings.ReplaceAll(heading, "-", "_")+"/"+l.Code, fmt.Sprint(l.Description, l.Grade, l.Unit, l.Quantity, l.Rate, l.Amount, l.Provisional))
			}
		}
		for _, x := range p.Parts {
			add(p.ID+"/part/"+x.Name+"/"+x.Material, fmt.Sprint(x.Quantity, " ", x.Length, " ", x.Width, " ", x.Thickness, x.Code))
		}
	}
	return all
}

// differing counts where two costings differ, and how; a piece of which something
// differs does so itself.
func differing(from, to *pricing.Costing) map[string]int {
	was, is, all := facts(from), facts(to), make(map[string]int)
	pieces := make(map[string]string)
	note := func(at, how string) {
		at, _, _ = strings.Cut(at, "#")
		id, rest, _ := strings.Cut(at, "/")
		if rest == "" {
			pieces[id] = how
			return
		}
		all[at+" "+how]++
		if pieces[id] == "" {
			pieces[id] = "changed"
		}
	}
	for at, a := range was {
		switch b := is[at]; {
		case b == "":
			note(at, "went")
		case a != b:
			note(at, "changed")
		}
	}
	for at := range is {
		if was[at] == "" {
			note(at, "appeared")
		}
	}
	for id, how := range pieces {
		all[id+"/ "+how]++
	}
	return all
}

// named counts where a comparison says that two costings differ, and how.
func named(t require.TestingT, c pricing.Comparison) map[string]int {
	all := make(map[string]int)
	for _, p := range c.Pieces {
		all[p.ID+"/ "+p.Change]++
		for _, l := range p.Lines {
			all[p.ID+"/"+l.Heading+"/"+l.Code+" "+l.Change]++
		}
		for _, x := range p.Parts {
			all[p.ID+"/part/"+x.Name+"/"+x.Material+" "+x.Change]++
			require.Equal(t, x.Change != "appeared", x.From != nil)
			require.Equal(t, x.Change != "went", x.To != nil)
		}
	}
	return all
}

func TestLawAllThatDiffersIsListedAndNothingElse(t *testing.T) {
	eachPair(t, func(t *rapid.T, from, to pricing.Costing) {
		require.Equal(t, differing(&from, &to), named(t, difference(&from, &to)))
	})
}

func TestLawNothingDiffersFromItself(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		var again pricing.Costing
		require.NoError(t, wire.Decode([]byte(encoded(t, s.costing)), &again))
		for _, other := range []*pricing.Costing{&s.costing, &again} { // as it was frozen and read back, too
			c := difference(&s.costing, other)
			require.Empty(t, c.Pieces)
			for _, x := range c.Totals {
				require.True(t, x.Difference.IsZero(), x.Name)
			}
			require.Len(t, c.Totals, 4+len(s.costing.Totals.Tax))
		}
	})
}

// turned returns a comparison with its sides changed over, its pieces by id, their
// parts and lines and the taxes by their text. The words of what changed are the
// second's: they are left out.
func turned(c pricing.Comparison, over bool) (all []string) {
	how := map[string]string{"changed": "changed", "went": "went", "appeared": "appeared"}
	if over {
		how["went"], how["appeared"] = "appeared", "went"
	}
	sides := func(from, to any) string {
		if over {
			from, to = to, from
		}
		return fmt.Sprint(" from ", from, " to ", to)
	}
	amounts := func(a pricing.Amounts) string {
		if over {
			a.Difference = a.Difference.Times(-1)
		}
		return sides(a.From, a.To) + " by " + a.Difference.String()
	}
	size := func(p *pricing.PartSize) string {
		if p == nil {
			return "none"
		}
		return fmt.Sprint(*p)
	}
	for _, p := range c.Pieces {
		all = append(all, p.ID+how[p.Change]+amounts(p.Price)+amounts(p.InNet)+amounts(p.BuildUp))
		for _, l := range p.Lines {
			all = append(all, p.ID+l.Heading+l.Code+how[l.Change]+sides(l.Quantity.From, l.Quantity.To)+sides(l.Rate.From, l.Rate.To)+amounts(l.Amount))
		}
		for _, x := range p.Parts {
			all = append(all, p.ID+x.Name+x.Material+how[x.Change]+sides(size(x.From), size(x.To)))
		}
	}
	for _, x := range c.Totals {
		all = append(all, x.Name+x.Code+amounts(x.Amounts))
	}
	slices.Sort(all)
	return all
}

func TestLawTheOtherWayRoundIsTheMirror(t *testing.T) {
	eachPair(t, func(t *rapid.T, from, to pricing.Costing) {
		require.Equal(t, turned(difference(&from, &to), false), turned(difference(&to, &from), true))
	})
}

// The order of the pieces, on either side, changes the order of the differences and
// nothing else: those of the one come first, in its order.
func TestLawTheOrderOfPiecesIsNoDifference(t *testing.T) {
	eachPair(t, func(t *rapid.T, from, to pricing.Costing) {
		want := difference(&from, &to)
		mixedFrom, mixedTo := from, to
		mixedFrom.Pieces = rapid.Permutation(from.Pieces).Draw(t, "order of the one")
		mixedTo.Pieces = rapid.Permutation(to.Pieces).Draw(t, "order of the other")
		got := difference(&mixedFrom, &mixedTo)
		require.Equal(t, want.Totals, got.Totals)
		assert.ElementsMatch(t, want.Pieces, got.Pieces)
		order := make(map[string]int)
		for _, p := range append(slices.Clone(mixedFrom.Pieces), mixedTo.Pieces...) {
			if _, known := order[p.ID]; !known {
				order[p.ID] = len(order)
			}
		}
		require.True(t, slices.IsSortedFunc(got.Pieces, func(a, b pricing.PieceDifference) int { return order[a.ID] - order[b.ID] }))
	})
}

func TestLawCompareChangesNeitherArgument(t *testing.T) {
	eachPair(t, func(t *rapid.T, from, to pricing.Costing) {
		was, is := encoded(t, from), encoded(t, to)
		text, err := json.Marshal(difference(&from, &to))
		require.NoError(t, err)
		require.NotContains(t, string(text), "null", "no list is nil")
		require.JSONEq(t, string(text), encoded(t, difference(&from, &to)))
		require.Equal(t, was, encoded(t, from))
		require.Equal(t, is, encoded(t, to))
	})
}
