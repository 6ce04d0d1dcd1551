package exports

import (
	"strconv"

	"reckoner/pricing"
	"reckoner/pricing/num"
)

// Columns of the build-up.
const (
	stepColumn = iota
	ofColumn
	hoursColumn // or pieces
	termColumn  // a percentage, a rate or a unit price
	sumColumn
	buildUpColumns
)

// buildUp writes how each piece comes from its lines to its price, the terms
// first.
func (b *bench) buildUp() {
	wide := b.lineWidths()
	l := b.looks().head
	r := l
	r.right = true
	t := b.open(buildUpName, []float64{170, 290, 70, max(90, wide[amountColumn]), max(100, wide[amountColumn])},
		cell{value: "Step", look: l}, cell{value: "Of what", look: l}, cell{value: "Hours or pieces", look: r},
		cell{value: "Rate or %", look: r}, cell{value: "Amount", look: r})
	t.terms()
	for i := range b.pieces {
		t.title(i)
		t.cautions(i, atTheDesk)
		t.steps(i)
	}
	t.close()
}

// terms writes the terms of every build-up.
func (t *tab) terms() {
	b, k := t.bench, t.bench.looks()
	terms := &b.Costing.Terms
	t.section("Terms")
	row := func(words, of string, c cell) {
		t.put(tight, cell{value: words, look: k.text}, cell{value: of, look: k.text}, cell{look: k.text}, c)
	}
	percent := func(p num.Percent, input string) cell {
		return cell{value: part(p), look: k.number, input: input}
	}
	switch o := terms.Overhead; {
	case o.Percent != nil:
		row("Overhead, %", "of prime cost", percent(*o.Percent, "overhead"))
	default:
		row("Overhead", "for an hour at the bench", cell{value: rate(*o.PerHour), look: k.rate, input: "overhead"})
	}
	row("Contingency, %", "of prime cost and overhead", percent(terms.Contingency, "contingency"))
	switch p := terms.Profit; {
	case p.Margin != nil:
		row("Margin, %", "of the price before fees", percent(*p.Margin, "margin"))
	case p.Markup != nil:
		row("Mark-up, %", "of cost", percent(*p.Markup, "markup"))
	}
	row("Fees, %", "of the price", percent(terms.Fees, "fees"))
	row("Rounded up to", "of a unit price; zero for the smallest coin", cell{value: rate(terms.RoundTo), look: k.rate, input: "round_to"})
}

// A step is a row of the build-up.
type step struct {
	words, of   string
	hours, term cell
	formula     string
	amount      num.Money
	strong      bool
}

// step writes a row of the build-up and returns its cell.
func (t *tab) step(s step) string {
	k := t.bench.looks()
	text, money := k.text, k.money
	if s.strong {
		text.bold, text.over = true, true
		money = k.total
	}
	quiet := text
	quiet.grey = true
	s.hours.look = text.as(s.hours.look.format)
	s.hours.look.right = true
	s.term.look = text.as(s.term.look.format)
	s.term.look.right = true
	t.put(tight, cell{value: s.words, look: text}, cell{value: s.of, look: quiet}, s.hours, s.term,
		cell{value: float(s.amount), formula: s.formula, look: money})
	return t.at(sumColumn, t.row)
}

// round returns the formula that rounds an expression to the smallest coin.
func (b *bench) round(expression string) string { return "ROUND(" + expression + "," + b.places + ")" }

// steps writes the build-up of the i-th piece.
func (t *tab) steps(i int) {
	b, o, a := t.bench, &t.bench.Costing.Pieces[i], &t.bench.pieces[i]
	lines := [headingCount][]pricing.Line{o.Timber, o.Sheets, o.Ironmongery, o.Supplies, o.Labour, o.BoughtIn}
	first := t.row + 1
	for h, name := range headingNames() {
		a.steps[name] = t.there(sumColumn, t.row+1)
		t.step(step{words: name, formula: t.here(a.headings[h]), amount: b.total(lines[h])})
	}
	at := make(map[string]string, len(o.BuildUp))
	for k := range o.BuildUp {
		s := &o.BuildUp[k]
		var row step
		switch s.Name {
		case "prime":
			row = step{of: "all the above", formula: b.round("SUM(" + t.at(sumColumn, first) + ":" + t.at(sumColumn, t.row) + ")"), strong: true}
		case "overhead":
			row = t.overhead(i, s, at["prime"])
		case "contingency":
			row = t.percentStep(s, "contingency", "("+at["prime"]+"+"+at["overhead"]+")")
		case "cost":
			row = step{of: "prime cost, overhead and contingency", formula: b.round(at["prime"] + "+" + at["overhead"] + "+" + at["contingency"]), strong: true}
		case "profit":
			row = t.profit(i, s, at["cost"])
		case "fees":
			row = t.fees(i, s, at["cost"]+"+"+at["profit"])
		case "rounding":
			row = t.rounding(i, at)
		case "price":
			row = t.price(i, at)
		}
		row.words, row.amount = stepName(s.Name), s.Amount
		at[s.Name] = t.step(row)
		a.steps[s.Name] = t.there(sumColumn, t.row)
	}
	a.unitPrice, a.toPrice = t.there(termColumn, t.row), t.there(sumColumn, t.row)
}

func stepName(name string) string {
	if name == "prime" {
		return "Prime cost"
	}
	return capital(name)
}

// agreed reports whether the i-th piece has a price agreed.
func (b *bench) agreed(i int) bool { return b.Request.Pieces[i].AgreedPrice != nil }

// overhead is by the hour at the bench, or a percentage of prime cost.
func (t *tab) overhead(i int, s *pricing.Step, prime string) step {
	if s.Percent != nil {
		return t.percentStep(s, "overhead", prime)
	}
	hours := cell{value: decimal(*s.Hours), formula: t.here(t.bench.pieces[i].benchHours), look: look{format: fixed(2)}}
	term := t.termCell("overhead", rate(*s.Rate), rateFormat(t.bench.Costing.Currency))
	row := strconv.Itoa(t.row + 1)
	return step{of: "hours at the bench", hours: hours, term: term, formula: t.bench.round("C" + row + "*D" + row)}
}

// termCell refers to a term.
func (t *tab) termCell(input string, value any, format string) cell {
	return cell{value: value, formula: t.here(t.bench.inputs[input]), look: look{format: format}}
}

// percentStep is a percentage of an expression.
func (t *tab) percentStep(s *pricing.Step, input, of string) step {
	row := strconv.Itoa(t.row + 1)
	return step{
		of: s.Of, term: t.termCell(input, part(*s.Percent), ""),
		formula: t.bench.round(of + "*" + points("D"+row) + "/10000"),
	}
}

// profit is by margin, by mark-up, none, or what an agreed price leaves.
func (t *tab) profit(i int, s *pricing.Step, cost string) step {
	p, row := t.bench.Costing.Terms.Profit, strconv.Itoa(t.row+1)
	switch {
	case t.bench.agreed(i): // fees, rounding and price stand below
		return step{of: "what the price agreed leaves", formula: t.bench.round(t.at(sumColumn, t.row+4) + "-" + cost + "-" + t.at(sumColumn, t.row+2))}
	case p.Margin != nil:
		return step{
			of: s.Of, term: t.termCell("margin", part(*p.Margin), ""),
			formula: t.bench.round(t.bench.round(cost+"*10000/(10000-"+points("D"+row)+")") + "-" + cost),
		}
	case p.Markup != nil:
		return t.percentStep(s, "markup", cost)
	}
	return step{of: "none asked"}
}

// fees are a percentage of the price that they are part of.
func (t *tab) fees(i int, s *pricing.Step, before string) step {
	row := strconv.Itoa(t.row + 1)
	f := step{of: s.Of, term: t.termCell("fees", part(*s.Percent), "")}
	if t.bench.agreed(i) {
		f.formula = t.bench.round(t.at(sumColumn, t.row+3) + "*" + points("D"+row) + "/10000")
		return f
	}
	f.formula = t.bench.round(t.bench.round("("+before+")*10000/(10000-"+points("D"+row)+")") + "-(" + before + ")")
	return f
}

// rounding is what rounding the unit price up adds.
func (t *tab) rounding(i int, at map[string]string) step {
	if t.bench.agreed(i) {
		return step{of: "a price agreed is not rounded"}
	}
	return step{
		of: "the unit price, up to a whole", term: t.termCell("round_to", rate(t.bench.Costing.Terms.RoundTo), rateFormat(t.bench.Costing.Currency)),
		formula: t.bench.round(t.at(sumColumn, t.row+2) + "-" + at["cost"] + "-" + at["profit"] + "-" + at["fees"]),
	}
}

// price is the unit price times the quantity: a price agreed, or the cost with
// profit and fees up to a whole of what the terms round to.
func (t *tab) price(i int, at map[string]string) step {
	b, o, row := t.bench, &t.bench.Costing.Pieces[i], strconv.Itoa(t.row+1)
	s := step{of: "pieces, and the price of one", hours: cell{value: o.Quantity}, strong: true}
	s.term = cell{value: float(o.UnitPrice), look: look{format: moneyFormat(b.Costing.Currency, false)}}
	if b.agreed(i) {
		s.of = "pieces, and the price agreed for one"
		s.term.input = "agreed piece " + strconv.Itoa(i+1)
	} else {
		coins := b.round(at["cost"] + "+" + at["profit"] + "+" + at["fees"])
		scale := tens(b.Costing.Currency.Places())
		step := "ROUND(" + t.here(b.inputs["round_to"]) + "*" + scale + ",0)"
		step = "IF(" + step + "=0,1," + step + ")"
		s.term.formula = "ROUND(ROUNDUP(ROUND(" + coins + "*" + scale + ",0)/(" + step + "*C" + row + "),0)*" + step + "/" + scale + "," + b.places + ")"
	}
	s.formula = b.round("C" + row + "*D" + row)
	return s
}
