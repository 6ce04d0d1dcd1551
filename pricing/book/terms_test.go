package book_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

func currency(t testing.TB, code string) num.Currency {
	t.Helper()
	c, err := num.ParseCurrency(code)
	require.NoError(t, err)
	return c
}

// Terms that a Book refuses; the pointers begin at #/terms.
func TestTerms(t *testing.T) {
	terms := func(name, want string, make func(*book.Terms)) change {
		return change{name, func(d *book.Data) { make(&d.Terms) }, want}
	}
	checkChanges(t, []change{
		terms("no overhead", "#/terms/overhead", func(m *book.Terms) { m.Overhead = book.Overhead{} }),
		terms("two overheads", "#/terms/overhead", func(m *book.Terms) { m.Overhead.Percent = percent(10_00) }),
		terms("overhead by percent", "", func(m *book.Terms) { m.Overhead = book.Overhead{Percent: percent(1000_00)} }),
		terms("overhead over 1000", "#/terms/overhead/percent", func(m *book.Terms) { m.Overhead = book.Overhead{Percent: percent(1000_01)} }),
		terms("overhead of 0", "", func(m *book.Terms) { m.Overhead.PerHour = rate(0) }),
		terms("overhead of a million", "#/terms/overhead/per_hour", func(m *book.Terms) { m.Overhead.PerHour = rate(1_000_000_0000) }),
		terms("overhead below 0", "#/terms/overhead/per_hour", func(m *book.Terms) { m.Overhead.PerHour = rate(-1) }),
		terms("contingency", "#/terms/contingency_percent", func(m *book.Terms) { m.Contingency = 1000_01 }),
		terms("no profit", "", func(m *book.Terms) { m.Profit = book.Profit{} }),
		terms("two profits", "#/terms/profit", func(m *book.Terms) { m.Profit.Markup = percent(0) }),
		terms("margin 95", "#/terms/profit/margin_percent", func(m *book.Terms) { m.Profit.Margin = percent(95_00) }),
		terms("margin 94.99", "", func(m *book.Terms) { m.Profit.Margin = percent(94_99) }),
		terms("mark-up 1000", "", func(m *book.Terms) { m.Profit = book.Profit{Markup: percent(1000_00)} }),
		terms("mark-up 1000.01", "#/terms/profit/markup_percent", func(m *book.Terms) { m.Profit = book.Profit{Markup: percent(1000_01)} }),
		terms("fees 50", "#/terms/fees_percent", func(m *book.Terms) { m.Fees = 50_00 }),
		terms("fees 49.99", "", func(m *book.Terms) { m.Fees = 49_99 }),
		terms("bought-in mark-up", "#/terms/bought_in_markup_percent", func(m *book.Terms) { m.BoughtInMarkup = 1000_01 }),
		terms("round to a tenth of a penny", "#/terms/round_to", func(m *book.Terms) { m.RoundTo = 10 }),
		terms("round to nothing", "", func(m *book.Terms) { m.RoundTo = 0 }),
		terms("round to less", "#/terms/round_to", func(m *book.Terms) { m.RoundTo = -100 }),
		terms("round to a million", "#/terms/round_to", func(m *book.Terms) { m.RoundTo = 1_000_000_0000 }),
		terms("discount 100", "", func(m *book.Terms) { m.Discount = 100_00 }),
		terms("discount 100.01", "#/terms/discount_percent", func(m *book.Terms) { m.Discount = 100_01 }),
		terms("two discounts", "#/terms/discount_amount", func(m *book.Terms) { m.Discount, m.DiscountAmount = 1, 100 }),
		terms("a discount of a penny", "", func(m *book.Terms) { m.DiscountAmount = 100 }),
		terms("a discount of half a penny", "#/terms/discount_amount", func(m *book.Terms) { m.DiscountAmount = 50 }),
		terms("a discount below 0", "#/terms/discount_amount", func(m *book.Terms) { m.DiscountAmount = -100 }),
		terms("a discount just below a thousand million", "", func(m *book.Terms) { m.DiscountAmount = book.MaxPrice - 100 }),
		terms("a discount of a thousand million", "#/terms/discount_amount", func(m *book.Terms) { m.DiscountAmount = 1_000_000_000_0000 }),
		terms("deposit 100.01", "#/terms/deposit_percent", func(m *book.Terms) { m.Deposit = 100_01 }),
		terms("valid for ten years", "", func(m *book.Terms) { m.ValidDays = 3650 }),
		terms("valid for longer", "#/terms/valid_days", func(m *book.Terms) { m.ValidDays = 3651 }),
		terms("valid for less than a day", "#/terms/valid_days", func(m *book.Terms) { m.ValidDays = -1 }),
		terms("an unknown tax", "#/terms/tax", func(m *book.Terms) { m.Tax = "reduced" }),
		terms("no taxes", "#/terms/tax", func(m *book.Terms) { m.Taxes = nil }),
		terms("two taxes of one code", "#/terms/taxes/1/code", func(m *book.Terms) { m.Taxes[1].Code = "standard" }),
		terms("a tax without code", "#/terms/taxes/1/code", func(m *book.Terms) { m.Taxes[1].Code = "" }),
		terms("a tax without name", "#/terms/taxes/0/name", func(m *book.Terms) { m.Taxes[0].Name = "" }),
		terms("a tax over 1000", "#/terms/taxes/0/percent", func(m *book.Terms) { m.Taxes[0].Percent = 1000_01 }),
		terms("a tax with a material's code", "", func(m *book.Terms) { m.Taxes[1].Code = "oil" }),
		terms("a workshop without a name", "", func(m *book.Terms) { m.Workshop = book.Workshop{} }),
		terms("texts of the workshop", "#/terms/workshop/name #/terms/workshop/address/0 #/terms/workshop/email #/terms/workshop/phone #/terms/workshop/registrations/0",
			func(m *book.Terms) {
				long := strings.Repeat("x", 201)
				m.Workshop = book.Workshop{Name: long, Address: []string{long}, Email: long, Phone: long, Numbers: []string{"a\x00"}}
			}),
		terms("foolscap", "#/terms/workshop/paper", func(m *book.Terms) { m.Workshop.Paper = "foolscap" }),
		terms("letter", "", func(m *book.Terms) { m.Workshop.Paper = "letter" }),
		terms("a condition without words", "#/terms/conditions/0/title #/terms/conditions/0/text", func(m *book.Terms) { m.Conditions[0] = book.Condition{} }),
		terms("a long condition", "#/terms/conditions/0/text", func(m *book.Terms) { m.Conditions[0].Text = strings.Repeat("x", 4001) }),
		terms("no conditions", "", func(m *book.Terms) { m.Conditions = nil }),
	})
}

// A currency without a coin below the unit takes no decimals (ISO 4217: JPY 0, BHD
// 3); those of another's round_to or discount are refused.
func TestCoinsByCurrency(t *testing.T) {
	for _, tt := range []struct {
		code string
		to   num.Rate
		ok   bool
	}{
		{"JPY", 10_0000, true}, {"JPY", 5000, false}, {"JPY", 0, true},
		{"GBP", 5000, true}, {"GBP", 50, false}, {"BHD", 50, true}, {"BHD", 5, false},
	} {
		d := valid(t)
		d.Currency, d.Terms.RoundTo = currency(t, tt.code), tt.to
		assert.Equal(t, tt.ok, pointers(t, d) == nil, "%s to %s", tt.code, tt.to)
		_, faults := valid(t).Terms.Changed(&book.TermsChange{RoundTo: &tt.to}, d.Currency)
		assert.Equal(t, tt.ok, len(faults) == 0, "%s to %s", tt.code, tt.to)

		d.Terms.RoundTo, d.Terms.DiscountAmount = 0, tt.to
		assert.Equal(t, tt.ok, pointers(t, d) == nil, "%s less %s", tt.code, tt.to)
		whole := valid(t).Terms
		whole.RoundTo = 0
		_, faults = whole.Changed(&book.TermsChange{DiscountAmount: &tt.to}, d.Currency)
		assert.Equal(t, tt.ok, len(faults) == 0, "%s less %s", tt.code, tt.to)
	}
	d := valid(t)
	d.Currency, d.Terms.DiscountAmount = num.Currency{}, 12_5000
	assert.Equal(t, []string{"#/currency"}, pointers(t, d), "no coins are known of none")
}

// What a request names replaces the Book's member whole; the rest stays, and so do
// the Book's own terms.
func TestChanged(t *testing.T) {
	gbp := currency(t, "GBP")
	before := valid(t).Terms
	tests := []struct {
		change string
		apply  func(*book.Terms)
	}{
		{`{}`, func(m *book.Terms) {}},
		{`{"profit": {"markup_percent": 40}}`, func(m *book.Terms) { m.Profit = book.Profit{Markup: percent(40_00)} }},
		{`{"profit": {}}`, func(m *book.Terms) { m.Profit = book.Profit{} }},
		{`{"overhead": {"percent": 12.5}}`, func(m *book.Terms) { m.Overhead = book.Overhead{Percent: percent(12_50)} }},
		{`{"contingency_percent": 0}`, func(m *book.Terms) { m.Contingency = 0 }},
		{`{"fees_percent": 2.75, "bought_in_markup_percent": 0}`, func(m *book.Terms) { m.Fees, m.BoughtInMarkup = 2_75, 0 }},
		{`{"round_to": "5.00"}`, func(m *book.Terms) { m.RoundTo = 5_0000 }},
		{`{"discount_percent": 3, "deposit_percent": 0, "valid_days": 0}`, func(m *book.Terms) { m.Discount, m.Deposit, m.ValidDays = 3_00, 0, 0 }},
		{`{"tax": "zero"}`, func(m *book.Terms) { m.Tax = "zero" }},
		{`{"tax": "none", "taxes": [{"code": "none", "name": "No VAT", "percent": 0}]}`, func(m *book.Terms) {
			m.Tax, m.Taxes = "none", []book.Tax{{Code: "none", Name: "No VAT"}}
		}},
		{`{"workshop": {"name": "Another", "address": []}}`, func(m *book.Terms) { m.Workshop = book.Workshop{Name: "Another", Address: []string{}} }},
		{`{"conditions": []}`, func(m *book.Terms) { m.Conditions = []book.Condition{} }},
		{`{"discount_amount": "150.00"}`, func(m *book.Terms) { m.DiscountAmount = 150_0000 }},
		{`{"payments": [{"title": "All", "percent": 100, "due": "now"}]}`, func(m *book.Terms) {
			m.Deposit, m.Payments = 0, []book.Payment{{Title: "All", Percent: 100_00, Due: "now"}}
		}},
		{`{"profit": null, "taxes": null, "tax": null, "discount_amount": null, "payments": null}`, func(m *book.Terms) {}},
	}
	for _, tt := range tests {
		var c book.TermsChange
		require.NoError(t, json.Unmarshal([]byte(tt.change), &c))
		terms, want := valid(t).Terms, valid(t).Terms
		got, faults := terms.Changed(&c, gbp)
		tt.apply(&want)
		assert.NoError(t, faults.Err(), tt.change)
		assert.Equal(t, want, got, tt.change)
		assert.Equal(t, before, terms, "%s: the terms stay as they were", tt.change)
	}
	got, faults := before.Changed(nil, gbp)
	assert.NoError(t, faults.Err())
	assert.Equal(t, before, got)
}

// Faults of a change point into the change, in its order; a tax that the new list
// does not have is the fault of the list.
func TestChangedFaults(t *testing.T) {
	for _, tt := range []struct{ change, want string }{
		{`{"profit": {"margin_percent": 95}}`, "#/profit/margin_percent"},
		{`{"profit": {"margin_percent": 5, "markup_percent": 5}}`, "#/profit"},
		{`{"overhead": {}}`, "#/overhead"},
		{`{"overhead": {"per_hour": "1000000.00"}}`, "#/overhead/per_hour"},
		{`{"tax": "reduced"}`, "#/tax"},
		{`{"taxes": [{"code": "reduced", "name": "VAT", "percent": 5}]}`, "#/taxes"},
		{`{"taxes": []}`, "#/taxes"},
		{`{"tax": "a", "taxes": [{"code": "b", "name": "", "percent": 5}]}`, "#/tax #/taxes/0/name"},
		{`{"round_to": "0.001"}`, "#/round_to"},
		{`{"discount_amount": "0.001"}`, "#/discount_amount"},
		{`{"payments": [{"title": "", "percent": 100, "due": ""}]}`, "#/payments/0/title #/payments/0/due"},
		{`{"discount_percent": 1, "discount_amount": "1.00", "deposit_percent": 1, "payments": [{"title": "All", "percent": 101, "due": "now"}]}`,
			"#/discount_amount #/payments #/payments/0/percent"},
		{`{"workshop": {"paper": "a3"}}`, "#/workshop/paper"},
		{`{"conditions": [{"title": "", "text": "x"}]}`, "#/conditions/0/title"},
		{`{"overhead": {}, "contingency_percent": 1001, "profit": {"margin_percent": 99}, "fees_percent": 60, "bought_in_markup_percent": 2000, "round_to": "0.0001",
			"discount_percent": 101, "deposit_percent": 200, "valid_days": 4000, "tax": "no"}`,
			"#/overhead #/contingency_percent #/profit/margin_percent #/fees_percent #/bought_in_markup_percent #/round_to #/discount_percent #/deposit_percent #/valid_days #/tax"},
	} {
		var c book.TermsChange
		require.NoError(t, json.Unmarshal([]byte(tt.change), &c))
		_, faults := valid(t).Terms.Changed(&c, currency(t, "GBP"))
		var at []string
		for _, f := range faults {
			at = append(at, f.Pointer)
		}
		assert.Equal(t, strings.Fields(tt.want), at, tt.change)
	}
}

// Every member of Terms can be changed, under the same name and in the same order.
func TestEveryTermCanChange(t *testing.T) {
	members := func(text string) (names []string) {
		d := json.NewDecoder(strings.NewReader(text))
		_, err := d.Token()
		require.NoError(t, err)
		for d.More() {
			name, err := d.Token()
			require.NoError(t, err)
			names = append(names, name.(string))
			var skip json.RawMessage
			require.NoError(t, d.Decode(&skip))
		}
		return names
	}
	whole := valid(t).Terms // and what may be left out
	whole.DiscountAmount, whole.Payments = 1_0000, staged(100_00)
	whole.Kerf, whole.Trim, whole.OffcutMin = new(mm(4)), new(mm(0)), new(mm(250))
	terms, err := json.Marshal(whole)
	require.NoError(t, err)
	var c book.TermsChange
	require.NoError(t, json.Unmarshal(terms, &c))
	change, err := json.Marshal(c)
	require.NoError(t, err)
	assert.Equal(t, members(string(terms)), members(string(change)))
	assert.JSONEq(t, string(terms), string(change))
	empty, err := json.Marshal(book.TermsChange{})
	require.NoError(t, err)
	assert.Equal(t, "{}", string(empty))
}

// Changing by nothing but the terms themselves changes nothing, and the second of
// two changes of one member is the one that holds.
func TestChangesReplace(t *testing.T) {
	gbp := currency(t, "GBP")
	rapid.Check(t, func(r *rapid.T) {
		anyPercent := rapid.Custom(func(r *rapid.T) *num.Percent {
			return percent(num.Percent(rapid.Int64Range(0, 49_99).Draw(r, "percent")))
		})
		first := book.TermsChange{Fees: anyPercent.Draw(r, "fees"), Profit: &book.Profit{Margin: anyPercent.Draw(r, "margin")}, Discount: anyPercent.Draw(r, "discount")}
		second := book.TermsChange{Profit: &book.Profit{Markup: anyPercent.Draw(r, "mark-up")}, Discount: anyPercent.Draw(r, "discount")}
		once, faults := valid(t).Terms.Changed(&first, gbp)
		twice, more := once.Changed(&second, gbp)
		if len(faults)+len(more) > 0 {
			r.Fatal(faults, more)
		}
		if twice.Fees != *first.Fees || twice.Discount != *second.Discount || twice.Profit != *second.Profit || twice.Deposit != valid(t).Terms.Deposit {
			r.Fatalf("%+v", twice)
		}
		if again, _ := twice.Changed(&second, gbp); again.Profit != twice.Profit || again.Discount != twice.Discount {
			r.Fatal("the same change twice is not the same as once")
		}
	})
}

func TestFindTax(t *testing.T) {
	terms := valid(t).Terms
	tax, ok := terms.FindTax("zero")
	assert.True(t, ok)
	assert.Equal(t, book.Tax{Code: "zero", Name: "VAT"}, tax)
	for _, code := range []string{"", "ZERO", "reduced"} {
		tax, ok = terms.FindTax(code)
		assert.False(t, ok, code)
		assert.Zero(t, tax)
	}
}
