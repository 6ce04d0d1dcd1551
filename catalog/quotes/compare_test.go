package quotes_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/pricing"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// compared returns how two revisions of a quote differ, whose rows must add up.
func (s *shop) compared(t tester, number string, from, to int) pricing.Comparison {
	t.Helper()
	c, err := s.Compare(t.Context(), number, from, to, s.today())
	require.NoError(t, err)
	var net int64
	for _, p := range c.Pieces {
		sum := p.BuildUp.Difference.Minor()
		for _, l := range p.Lines {
			sum += l.Amount.Difference.Minor()
		}
		assert.Equal(t, p.Price.Difference.Minor(), sum, "%s %d to %d: %s", number, from, to, p.ID)
		net += p.InNet.Difference.Minor()
	}
	assert.Equal(t, c.Totals[0].Difference.Minor(), net, "%s %d to %d", number, from, to)
	return c
}

// said says how the totals differ: "net 95.00 to 106.00, +11.00".
func said(c pricing.Comparison) (all []string) {
	for _, s := range c.Totals {
		all = append(all, fmt.Sprintf("%s %s to %s, %s", s.Name+s.Code, s.From, s.To, s.Difference))
	}
	return all
}

// rowsOf says how a piece differs, row by row.
func rowsOf(p pricing.PieceDifference) (all []string) {
	for _, l := range p.Lines {
		all = append(all, fmt.Sprintf("%s %s %s: %s x %s to %s x %s, %s", l.Change, l.Heading, l.Code, l.Quantity.From, l.Rate.From, l.Quantity.To, l.Rate.To, l.Amount.Difference))
	}
	return append(all, "build-up "+p.BuildUp.Difference.String())
}

// What was issued compares as it was sent, whatever prices have become since, and a
// draft as it is priced today. The errand is worked by hand where its request stands: of
// 75.69 that it costs at 27.00 an hour, and 84.11 at 30.00, 72.09 and 80.10 are hours.
// Twice as far is 200 min, 3.33 h, at 30.00 99.90; with 5 %, 5.00, 104.90; 131.13 up to
// 132.00.
func TestCompareRevisions(t *testing.T) {
	s := opened(t)
	number := s.create(t, titled(t, "Errand", errand)).Number
	assert.Empty(t, s.compared(t, number, 1, 1).Pieces, "a draft with itself")
	s.do(t, number, "issue", "revise")
	assert.Empty(t, s.compared(t, number, 1, 2).Pieces)
	s.site(t, cents(30_00))
	risen := s.compared(t, number, 1, 2)
	assert.Equal(t, []string{"net 95.00 to 106.00, 11.00", "discount 0.00 to 0.00, 0.00", "taxable 95.00 to 106.00, 11.00", "taxstandard 19.00 to 21.20, 2.20", "gross 114.00 to 127.20, 13.20"}, said(risen))
	require.Len(t, risen.Pieces, 1)
	assert.Equal(t, []string{"changed labour delivery: 2.67 x 27.00 to 2.67 x 30.00, 8.01", "build-up 2.99"}, rowsOf(risen.Pieces[0]))
	back := s.compared(t, number, 2, 1)
	assert.Equal(t, []string{"changed labour delivery: 2.67 x 30.00 to 2.67 x 27.00, -8.01", "build-up -2.99"}, rowsOf(back.Pieces[0]))

	further := titled(t, "Further", `{"pieces": [{"id": "errand", "title": "Delivery", "kind": "service", "service": {"delivery": 20, "drops": 1}}]}`)
	_, err := s.Edit(t.Context(), s.change(number, s.get(t, number).Tag), further)
	require.NoError(t, err)
	s.do(t, number, "issue", "decline", "revise", "void", "revise")
	sent := s.compared(t, number, 1, 2)
	assert.Equal(t, []string{"changed labour delivery: 2.67 x 27.00 to 3.33 x 30.00, 27.81", "build-up 9.19"}, rowsOf(sent.Pieces[0]))
	assert.Equal(t, "net 95.00 to 132.00, 37.00", said(sent)[0])
	s.site(t, cents(99_00))
	assert.Equal(t, sent, s.compared(t, number, 1, 2), "both were sent")
	assert.NotEqual(t, sent, s.compared(t, number, 1, 4), "the draft is priced anew")
	assert.Empty(t, s.compared(t, number, 2, 2).Pieces)

	for revision, there := range map[int]bool{-1: false, 0: false, 1: true, 2: true, 3: false, 4: true, 5: false, 1 << 40: false} {
		for _, pair := range [][2]int{{revision, 1}, {1, revision}} {
			_, err := s.Compare(t.Context(), number, pair[0], pair[1], s.today())
			if there {
				assert.NoError(t, err)
				continue
			}
			assert.EqualError(t, err, fmt.Sprintf("there is no revision %d of %s that has a price", revision, number))
		}
	}
	_, err = s.Compare(t.Context(), "2026-0009", 1, 1, s.today())
	var missing *quotes.NotFound
	assert.ErrorAs(t, err, &missing)
}

// A draft that cannot be priced compares with nothing, and why is said.
func TestCompareADraftWithoutAPrice(t *testing.T) {
	s := opened(t)
	number := s.create(t, demo(t, "pieces/tall-chest")).Number
	s.do(t, number, "issue", "revise")
	s.pass(-330) // before there was any price
	_, err := s.Compare(t.Context(), number, 1, 2, s.today())
	var faults fault.List
	require.ErrorAs(t, err, &faults)
	assert.Contains(t, faults[0].Pointer, "#/request/pieces/0/")
	assert.Empty(t, s.compared(t, number, 1, 1).Pieces, "what was sent has its price")
}

// What came, what went, and what is offered beside the other are told apart, and what is
// no part of the net is no part of its difference. With fees of 1.5 % the errand is
// 94.61 / (1 - 1.5 %) = 96.05, up to 97.00.
func TestCompareWhatWasChanged(t *testing.T) {
	s := opened(t)
	d := demo(t, "pieces/full-quotation")
	number := s.create(t, d).Number
	s.do(t, number, "issue", "revise")
	d.Request.Pieces[0].Quantity = num.Count(3)
	d.Request.Pieces[1].AlternativeTo = "" // it is taken in
	gone := d.Request.Pieces[2].ID
	d.Request.Pieces = append(d.Request.Pieces[:2], d.Request.Pieces[3:]...)
	d.Request.Pieces = append(d.Request.Pieces, draftOf(t, errand).Request.Pieces[0])
	_, err := s.Edit(t.Context(), s.change(number, s.get(t, number).Tag), d)
	require.NoError(t, err)
	c := s.compared(t, number, 1, 2)
	changes, in := make(map[string]string), make(map[string]pricing.Amounts)
	for _, p := range c.Pieces {
		changes[p.ID], in[p.ID] = p.Change, p.InNet
	}
	assert.Equal(t, map[string]string{"chest": "changed", "chest-walnut": "changed", gone: "went", "errand": "appeared"}, changes)
	walnut := c.Pieces[1]
	assert.Equal(t, "chest-walnut", walnut.ID)
	assert.Empty(t, walnut.Lines)
	assert.True(t, walnut.Price.Difference.IsZero())
	assert.Equal(t, walnut.Price.To, walnut.InNet.Difference, "it counts now")
	assert.Equal(t, "0.00 97.00 97.00", fmt.Sprint(in["errand"].From, in["errand"].To, in["errand"].Difference))
	assert.True(t, in[gone].From.IsZero(), "an extra was in no total")
	for _, sum := range c.Totals {
		assert.Equal(t, sum.To.Minus(sum.From), sum.Difference, sum.Name)
	}
}
