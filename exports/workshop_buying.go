package exports

import (
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/num"
)

// Columns of the buying list.
const (
	buyNeededColumn = iota + 3
	buyUnitColumn
	buyPackColumn
	buyPacksColumn
	buyRateColumn
	buyAmountColumn
)

// buying writes what to buy for the pieces in the totals, with boxes to tick.
func (b *bench) buying() {
	k, wide := b.looks(), b.lineWidths()
	l := k.head
	r := l
	r.right = true
	of := l
	of.indent = 1
	t := b.open(buyingName, []float64{18, 130, 290, 74, 40, 60, 46, max(70, wide[rateColumn]), max(76, wide[amountColumn])},
		cell{look: l}, cell{value: "Code", look: l}, cell{value: "What it is", look: l}, cell{value: "Needed", look: r}, cell{value: "Unit", look: of},
		cell{value: "In a pack", look: r}, cell{value: "Packs", look: r}, cell{value: "Rate", look: r}, cell{value: "Amount", look: r})
	var amounts []string
	sum := b.Costing.Currency.Zero()
	for i := range b.Costing.Buying {
		amounts = append(amounts, t.there(buyAmountColumn, t.row+1))
		t.purchase(i)
		sum = sum.Plus(b.Costing.Buying[i].Amount)
	}
	text := k.text
	text.bold, text.over = true, true
	t.put(tight, cell{value: "In all", look: text, span: buyAmountColumn}, cell{value: float(sum), formula: t.sum(b.places, amounts), look: k.total})
	if len(b.saved) > 0 {
		t.put(tight, cell{value: "Saved already, by cutting sheets for several pieces together", look: k.text, span: buyAmountColumn},
			cell{value: float(b.saving()), formula: t.sum(b.places, b.saved), look: k.money})
	}
	t.close()
}

// saving returns what cutting sheets for several pieces together saves.
func (b *bench) saving() num.Money {
	sum := b.Costing.Currency.Zero()
	for i := range b.Costing.Cutting {
		if p := &b.Costing.Cutting[i]; b.byTheSheet(p.Code) {
			sum = sum.Plus(p.Saving)
		}
	}
	return sum
}

// purchase writes the i-th line of what to buy.
func (t *tab) purchase(i int) {
	b, k, row := t.bench, t.bench.looks(), strconv.Itoa(t.row+1)
	l := &b.Costing.Buying[i]
	p := b.bought[l.Code]
	pack, packs := cell{look: k.number}, cell{look: k.number}
	amount := "D" + row
	if l.PackSize != 0 {
		pack = cell{value: decimal(l.PackSize), formula: b.inputs["size "+l.Code], look: k.number}
		if at := b.inputs["area "+l.Code]; at != "" {
			pack.formula = at
		}
		packs = cell{value: l.Packs, look: k.number, formula: "ROUNDUP(ROUND(D" + row + "*1000000,0)/ROUND(F" + row + "*1000000,0),0)"}
		amount = "G" + row
	}
	needs := t.needs(p.needs)
	if at := b.inputs["plan "+l.Code]; at != "" {
		needs = at
	}
	needed := k.number.as("#,##0.000###")
	if l.Unit.Places() == 0 {
		needed.format = ""
	}
	t.put(tight, cell{look: look{size: 8, box: true}}, cell{value: l.Code, look: k.text}, cell{value: oneLine(l.Description), look: k.text},
		cell{value: decimal(l.Needed), formula: needs, look: needed}, cell{value: string(l.Unit), look: k.of}, pack, packs,
		cell{value: rate(b.buyingRate(l.Code)), formula: p.rate, look: k.rate},
		cell{value: float(l.Amount), formula: b.round(amount + "*H" + row), look: k.money})
}

// needs returns the formula that adds up what the pieces need.
func (t *tab) needs(list []string) string {
	for _, n := range list {
		if strings.Contains(n, "*") { // with its waste
			return "ROUND(" + strings.Join(list, "+") + ",6)"
		}
	}
	return t.sum("6", list)
}

// buyingRate returns what one of the things bought under a code costs: what its
// line says, or for a supply the price of its pack.
func (b *bench) buyingRate(code string) num.Rate {
	if s := b.Book.Supply(code); s != nil {
		return s.Price.Rate
	}
	for i := range b.Costing.Pieces {
		o := &b.Costing.Pieces[i]
		for _, lines := range [][]pricing.Line{o.Timber, o.Sheets, o.Ironmongery} {
			for k := range lines {
				if lines[k].Code == code {
					return lines[k].Rate
				}
			}
		}
	}
	return 0
}
