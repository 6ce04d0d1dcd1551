package book

import (
	"cmp"
	"strconv"

	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Terms is how the workshop turns a cost into a price.
type Terms struct {
	Overhead       Overhead    `json:"overhead"`
	Contingency    num.Percent `json:"contingency_percent"`
	Profit         Profit      `json:"profit"`
	Fees           num.Percent `json:"fees_percent"`
	BoughtInMarkup num.Percent `json:"bought_in_markup_percent"`
	RoundTo        num.Rate    `json:"round_to"` // 0.00: the smallest coin
	Discount       num.Percent `json:"discount_percent"`
	Deposit        num.Percent `json:"deposit_percent"`
	ValidDays      int         `json:"valid_days"`
	Tax            string      `json:"tax"` // the code in Taxes that a line has unless it says another
	Taxes          []Tax       `json:"taxes"`
	Workshop       Workshop    `json:"workshop"`
	Conditions     []Condition `json:"conditions"`

	// DiscountAmount is taken off in place of a percentage, shared over the taxes by
	// what bears them.
	DiscountAmount num.Rate  `json:"discount_amount,omitzero"`
	Payments       []Payment `json:"payments,omitzero"` // in place of the deposit and the balance

	// LargeMove is the change of a price by a price update, up or down, beyond which
	// somebody must say that it is meant; left out: 25.
	LargeMove *num.Percent `json:"large_move_percent,omitzero"`

	// What the saw takes between two parts of a sheet, what is cut away along each of
	// its edges, and from which length and width on an offcut is kept; left out: 3.2,
	// 10 and 300 mm.
	Kerf      *unit.Length `json:"kerf,omitzero"`
	Trim      *unit.Length `json:"trim,omitzero"`
	OffcutMin *unit.Length `json:"offcut_min,omitzero"`
}

// Sawing is what of the terms says how sheets are sawn.
type Sawing struct {
	Kerf, Trim, OffcutMin unit.Length
}

// A Payment is a part of the total, and when it is due in words. Those of one
// document add up to 100 percent.
type Payment struct {
	Title   string      `json:"title"`
	Percent num.Percent `json:"percent"`
	Due     string      `json:"due"`
}

// Overhead is exactly one of: money per bench hour, percent of prime cost.
type Overhead struct {
	PerHour *num.Rate    `json:"per_hour,omitzero"`
	Percent *num.Percent `json:"percent,omitzero"`
}

// Profit is exactly one of: margin on the price, mark-up on the cost.
type Profit struct {
	Margin *num.Percent `json:"margin_percent,omitzero"`
	Markup *num.Percent `json:"markup_percent,omitzero"`
}

// A Tax is a rate and its name on the papers.
type Tax struct {
	Code    string      `json:"code"`
	Name    string      `json:"name"`
	Percent num.Percent `json:"percent"`
}

// Workshop is who the papers are from.
type Workshop struct {
	Name    string   `json:"name"`
	Address []string `json:"address"`
	Email   string   `json:"email,omitzero"`
	Phone   string   `json:"phone,omitzero"`
	Numbers []string `json:"registrations,omitzero"`
	Paper   string   `json:"paper,omitzero"` // "a4" (default) or "letter"
}

// A Condition is one paragraph under a quotation.
type Condition struct {
	Title string `json:"title"`
	Text  string `json:"text"`
}

// TermsChange replaces members of Terms for one request; an object replaces the
// whole object, so {"profit": {"markup_percent": 40}} leaves no margin behind. A
// discount of the one kind leaves none of the other behind, and so do payments and a
// deposit.
type TermsChange struct {
	Overhead       *Overhead    `json:"overhead,omitzero"`
	Contingency    *num.Percent `json:"contingency_percent,omitzero"`
	Profit         *Profit      `json:"profit,omitzero"`
	Fees           *num.Percent `json:"fees_percent,omitzero"`
	BoughtInMarkup *num.Percent `json:"bought_in_markup_percent,omitzero"`
	RoundTo        *num.Rate    `json:"round_to,omitzero"`
	Discount       *num.Percent `json:"discount_percent,omitzero"`
	Deposit        *num.Percent `json:"deposit_percent,omitzero"`
	ValidDays      *int         `json:"valid_days,omitzero"`
	Tax            *string      `json:"tax,omitzero"`
	Taxes          []Tax        `json:"taxes,omitzero"`
	Workshop       *Workshop    `json:"workshop,omitzero"`
	Conditions     []Condition  `json:"conditions,omitzero"`
	DiscountAmount *num.Rate    `json:"discount_amount,omitzero"`
	Payments       []Payment    `json:"payments,omitzero"`
	Kerf           *unit.Length `json:"kerf,omitzero"`
	Trim           *unit.Length `json:"trim,omitzero"`
	OffcutMin      *unit.Length `json:"offcut_min,omitzero"`
}

// Changed returns t with the members of c in their place, and every fault of the
// outcome with pointers from the root of c; a nil c changes nothing.
func (t Terms) Changed(c *TermsChange, currency num.Currency) (Terms, fault.List) {
	if c == nil {
		return t, nil
	}
	c.supersede(&t)
	replace(&t.Overhead, c.Overhead)
	replace(&t.Contingency, c.Contingency)
	replace(&t.Profit, c.Profit)
	replace(&t.Fees, c.Fees)
	replace(&t.BoughtInMarkup, c.BoughtInMarkup)
	replace(&t.RoundTo, c.RoundTo)
	replace(&t.Discount, c.Discount)
	replace(&t.Deposit, c.Deposit)
	replace(&t.ValidDays, c.ValidDays)
	replace(&t.Tax, c.Tax)
	replace(&t.Workshop, c.Workshop)
	replace(&t.DiscountAmount, c.DiscountAmount)
	t.Kerf = cmp.Or(c.Kerf, t.Kerf)
	t.Trim = cmp.Or(c.Trim, t.Trim)
	t.OffcutMin = cmp.Or(c.OffcutMin, t.OffcutMin)
	if c.Payments != nil {
		t.Payments = c.Payments
	}
	if c.Taxes != nil {
		t.Taxes = c.Taxes
	}
	if c.Conditions != nil {
		t.Conditions = c.Conditions
	}
	faults := t.check(currency)
	for i, f := range faults {
		if f.Pointer == "#/tax" && c.Tax == nil {
			faults[i].Pointer = "#/taxes"
		}
	}
	return t, faults
}

// supersede takes out of t what c says in the other of two ways.
func (c *TermsChange) supersede(t *Terms) {
	if c.Discount != nil {
		t.DiscountAmount = 0
	}
	if c.DiscountAmount != nil {
		t.Discount = 0
	}
	if c.Deposit != nil {
		t.Payments = nil
	}
	if len(c.Payments) > 0 {
		t.Deposit = 0
	}
}

func replace[T any](to, by *T) {
	if by != nil {
		*to = *by
	}
}

// FindTax returns the tax with that code.
func (t *Terms) FindTax(code string) (Tax, bool) {
	for _, x := range t.Taxes {
		if x.Code == code {
			return x, true
		}
	}
	return Tax{}, false
}

const (
	below95      = 95_00 - 1 // margin
	below50      = 50_00 - 1 // fees
	maxValidDays = 3650
	maxPayments  = 20

	maxKerf = 20 * unit.Millimetre
	maxTrim = 200 * unit.Millimetre
)

// Large returns the change of a price beyond which somebody must say that it is
// meant.
func (t *Terms) Large() num.Percent {
	if t.LargeMove == nil {
		return 25_00
	}
	return *t.LargeMove
}

// Sawing returns how sheets are sawn, with the defaults of what is left out.
func (t *Terms) Sawing() Sawing {
	s := Sawing{Kerf: 3200 * unit.Micrometre, Trim: 10 * unit.Millimetre, OffcutMin: 300 * unit.Millimetre}
	replace(&s.Kerf, t.Kerf)
	replace(&s.Trim, t.Trim)
	replace(&s.OffcutMin, t.OffcutMin)
	return s
}

// check returns every fault of t with pointers from its root.
func (t Terms) check(currency num.Currency) fault.List {
	c := check{currency: currency}
	c.build(t)
	c.percent("#/bought_in_markup_percent", t.BoughtInMarkup, 0, MaxPercent)
	if _, err := currency.Exact(t.RoundTo); err != nil && currency != (num.Currency{}) {
		c.faults.Add("#/round_to", "%s", err)
	} else {
		c.rate("#/round_to", t.RoundTo)
	}
	c.percent("#/discount_percent", t.Discount, 0, 100_00)
	c.percent("#/deposit_percent", t.Deposit, 0, 100_00)
	if t.ValidDays < 0 || t.ValidDays > maxValidDays {
		c.faults.Add("#/valid_days", "%d days: write 0 to %d", t.ValidDays, maxValidDays)
	}
	c.discount(t)
	c.payments(t)
	c.percent("#/large_move_percent", t.Large(), 0, MaxPercent)
	s := t.Sawing()
	c.between("#/kerf", s.Kerf, 0, maxKerf)
	c.between("#/trim", s.Trim, 0, maxTrim)
	c.length("#/offcut_min", s.OffcutMin, unit.Millimetre)
	c.taxes(t)
	c.papers(t)
	return c.faults
}

// discount checks the discount's amount.
func (c *check) discount(t Terms) {
	const at = "#/discount_amount"
	switch _, err := c.currency.Exact(t.DiscountAmount); {
	case t.Discount != 0 && t.DiscountAmount != 0:
		c.faults.Add(at, "the discount is both discount_percent and discount_amount: write one of them")
	case err != nil && c.currency != (num.Currency{}):
		c.faults.Add(at, "%s", err)
	case t.DiscountAmount < 0 || t.DiscountAmount >= MaxPrice:
		c.faults.Add(at, "%s is out of range: write an amount from 0, below %s", t.DiscountAmount, MaxPrice)
	}
}

// payments checks that the payments are the whole of the total.
func (c *check) payments(t Terms) {
	if len(t.Payments) == 0 {
		return
	}
	if len(t.Payments) > maxPayments {
		c.faults.Add("#/payments", "%d payments: write at most %d", len(t.Payments), maxPayments)
		return
	}
	if t.Deposit != 0 {
		c.faults.Add("#/payments", "there are both deposit_percent and payments: write one of them")
	}
	sum, good := num.Percent(0), true
	each(t.Payments, "#/payments", func(at string, p *Payment) {
		c.text(at, "title", p.Title)
		c.text(at, "due", p.Due)
		before := len(c.faults)
		c.percent(at+"/percent", p.Percent, 1, 100_00)
		good = good && len(c.faults) == before
		sum += p.Percent
	})
	if good && sum != 100_00 {
		c.faults.Add("#/payments", "the payments are %s %% of the total: make them add up to 100", sum)
	}
}

// build checks the terms of the build-up.
func (c *check) build(t Terms) {
	switch o := t.Overhead; {
	case o.PerHour == nil && o.Percent == nil:
		c.faults.Add("#/overhead", "the overhead has neither per_hour nor percent: write one of them")
	case o.PerHour != nil && o.Percent != nil:
		c.faults.Add("#/overhead", "the overhead has both per_hour and percent: write one of them")
	case o.PerHour != nil:
		c.rate("#/overhead/per_hour", *o.PerHour)
	default:
		c.percent("#/overhead/percent", *o.Percent, 0, MaxPercent)
	}
	c.percent("#/contingency_percent", t.Contingency, 0, MaxPercent)
	switch p := t.Profit; {
	case p.Margin != nil && p.Markup != nil:
		c.faults.Add("#/profit", "margin_percent is of the price, markup_percent of the cost: write one of them")
	case p.Margin != nil:
		c.percent("#/profit/margin_percent", *p.Margin, 0, below95)
	case p.Markup != nil:
		c.percent("#/profit/markup_percent", *p.Markup, 0, MaxPercent)
	}
	c.percent("#/fees_percent", t.Fees, 0, below50)
}

func (c *check) taxes(t Terms) {
	if _, ok := t.FindTax(t.Tax); t.Tax == "" && !ok {
		c.faults.Add("#/tax", "the tax is missing: name one of the taxes by its code")
	} else if !ok {
		c.faults.Add("#/tax", "the tax %q is not among the taxes: name one that is, or add it to them", t.Tax)
	}
	seen := make(map[string]bool)
	each(t.Taxes, "#/taxes", func(at string, x *Tax) {
		if c.isCode(at+"/code", x.Code) && seen[x.Code] {
			c.faults.Add(at+"/code", "the code %q stands twice among the taxes: give each its own", x.Code)
		}
		seen[x.Code] = true
		c.text(at, "name", x.Name)
		c.percent(at+"/percent", x.Percent, 0, MaxPercent)
	})
}

// papers checks the texts that are only printed.
func (c *check) papers(t Terms) {
	w, at := t.Workshop, "#/workshop"
	c.faults.Text(at, "name", w.Name, MaxText, false)
	c.lines(at+"/address", w.Address)
	c.faults.Text(at, "email", w.Email, MaxText, false)
	c.faults.Text(at, "phone", w.Phone, MaxText, false)
	c.lines(at+"/registrations", w.Numbers)
	if w.Paper != "" {
		c.word(at+"/paper", w.Paper, "a4", "letter")
	}
	each(t.Conditions, "#/conditions", func(at string, k *Condition) {
		c.text(at, "title", k.Title)
		c.faults.Text(at, "text", k.Text, MaxNote, true)
	})
}

// lines checks the lines of a list of texts.
func (c *check) lines(at string, list []string) {
	for i, s := range list {
		c.text(at, strconv.Itoa(i), s)
	}
}
