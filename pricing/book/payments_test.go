package book_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/book"
	"reckoner/pricing/num"
)

// staged returns payments of those percentages.
func staged(percents ...num.Percent) (all []book.Payment) {
	for _, p := range percents {
		all = append(all, book.Payment{Title: "Stage", Percent: p, Due: "in time"})
	}
	return all
}

// Payments are the whole of the total, in words of their own, and no deposit beside.
func TestPayments(t *testing.T) {
	long := strings.Repeat("x", 201)
	for _, tt := range []struct {
		name     string
		payments []book.Payment
		want     string
	}{
		{"none", []book.Payment{}, ""},
		{"one", staged(100_00), ""},
		{"three", staged(33_33, 33_33, 33_34), ""},
		{"the least", staged(1, 99_99), ""},
		{"twenty", staged(slices.Repeat([]num.Percent{5_00}, 20)...), ""},
		{"twenty-one", staged(append(slices.Repeat([]num.Percent{4_75}, 20), 5_00)...), "#/terms/payments"},
		{"too little", staged(50_00, 49_99), "#/terms/payments"},
		{"too much", staged(50_00, 50_01), "#/terms/payments"},
		{"nothing", staged(100_00, 0), "#/terms/payments/1/percent"},
		{"below 0", staged(100_01, -1), "#/terms/payments/0/percent #/terms/payments/1/percent"},
		{"over 100", staged(100_01), "#/terms/payments/0/percent"},
		{"far too much of both", staged(1000_01, 0), "#/terms/payments/0/percent #/terms/payments/1/percent"},
		{"no words", []book.Payment{{Percent: 100_00}}, "#/terms/payments/0/title #/terms/payments/0/due"},
		{"blank words", []book.Payment{{" ", 60_00, "at once"}, {"Rest", 40_00, "\t"}}, "#/terms/payments/0/title #/terms/payments/1/due"},
		{"long words", []book.Payment{{long, 100_00, long}}, "#/terms/payments/0/title #/terms/payments/0/due"},
		{"all of it wrong", []book.Payment{{"", 99_99, ""}}, "#/terms/payments #/terms/payments/0/title #/terms/payments/0/due"},
	} {
		d := valid(t)
		d.Terms.Deposit, d.Terms.Payments = 0, tt.payments
		assert.Equal(t, strings.Fields(tt.want), append([]string{}, pointers(t, d)...), tt.name)
	}
	d := valid(t)
	d.Terms.Payments = staged(100_00)
	assert.Equal(t, []string{"#/terms/payments"}, pointers(t, d), "beside a deposit of 50 %")
}

// The sum is said.
func TestPaymentsThatDoNotAddUp(t *testing.T) {
	for _, tt := range []struct {
		last num.Percent
		said string
	}{{49_99, "99.99"}, {50_01, "100.01"}} {
		_, faults := valid(t).Terms.Changed(&book.TermsChange{Payments: staged(50_00, tt.last)}, currency(t, "GBP"))
		assert.EqualError(t, faults.Err(), "#/payments: the payments are "+tt.said+" % of the total: make them add up to 100")
	}
}

// A discount of the one kind leaves none of the other behind, whichever the Book has;
// 0 is a discount of its kind, and null says nothing.
func TestADiscountSupersedesTheOther(t *testing.T) {
	type discount struct {
		percent num.Percent
		amount  num.Rate
	}
	for _, of := range []discount{{}, {3_00, 0}, {0, 75_0000}} {
		for _, tt := range []struct {
			change string
			want   discount
		}{
			{`{}`, of},
			{`{"discount_percent": null, "discount_amount": null}`, of},
			{`{"deposit_percent": 10}`, of},
			{`{"discount_percent": 5}`, discount{5_00, 0}},
			{`{"discount_percent": 0}`, discount{}},
			{`{"discount_amount": "40.00"}`, discount{0, 40_0000}},
			{`{"discount_amount": "0.00"}`, discount{}},
			{`{"discount_percent": 5, "discount_amount": null}`, discount{5_00, 0}},
			{`{"discount_percent": 5, "discount_amount": "0.00"}`, discount{5_00, 0}},
			{`{"discount_percent": 0, "discount_amount": "40.00"}`, discount{0, 40_0000}},
			{`{"discount_percent": 0, "discount_amount": "0.00"}`, discount{}},
		} {
			terms := valid(t).Terms
			terms.Discount, terms.DiscountAmount = of.percent, of.amount
			got := supersedes(t, terms, tt.change)
			assert.Equal(t, tt.want, discount{got.Discount, got.DiscountAmount}, "%s changes %v", tt.change, of)
		}
		terms := valid(t).Terms
		terms.Discount, terms.DiscountAmount = of.percent, of.amount
		_, faults := terms.Changed(&book.TermsChange{Discount: percent(5_00), DiscountAmount: rate(40_0000)}, currency(t, "GBP"))
		assert.EqualError(t, faults.Err(), "#/discount_amount: the discount is both discount_percent and discount_amount: write one of them")
	}
}

// supersedes returns the terms changed by what is no fault.
func supersedes(t *testing.T, terms book.Terms, change string) book.Terms {
	t.Helper()
	var c book.TermsChange
	require.NoError(t, json.Unmarshal([]byte(change), &c))
	got, faults := terms.Changed(&c, currency(t, "GBP"))
	require.NoError(t, faults.Err(), change)
	return got
}

// So do payments and a deposit; no payments say nothing of the deposit.
func TestPaymentsAndADepositSupersedeEachOther(t *testing.T) {
	type due struct {
		deposit  num.Percent
		payments int
	}
	const halves = `[{"title": "Half", "percent": 50, "due": "now"}, {"title": "Rest", "percent": 50, "due": "later"}]`
	for _, of := range []due{{}, {50_00, 0}, {0, 3}} {
		for _, tt := range []struct {
			change string
			want   due
		}{
			{`{}`, of},
			{`{"deposit_percent": null, "payments": null}`, of},
			{`{"discount_amount": "10.00"}`, of},
			{`{"deposit_percent": 30}`, due{30_00, 0}},
			{`{"deposit_percent": 0}`, due{}},
			{`{"payments": ` + halves + `}`, due{0, 2}},
			{`{"payments": []}`, due{of.deposit, 0}},
			{`{"deposit_percent": 30, "payments": []}`, due{30_00, 0}},
			{`{"deposit_percent": 0, "payments": ` + halves + `}`, due{0, 2}},
			{`{"deposit_percent": 0, "payments": []}`, due{}},
		} {
			terms := valid(t).Terms
			terms.Deposit = of.deposit
			terms.Payments = staged(slices.Repeat([]num.Percent{33_33}, of.payments)...)
			if of.payments > 0 {
				terms.Payments[0].Percent++
			}
			before := slices.Clone(terms.Payments)
			got := supersedes(t, terms, tt.change)
			assert.Equal(t, tt.want, due{got.Deposit, len(got.Payments)}, "%s changes %v", tt.change, of)
			assert.Equal(t, before, terms.Payments, "the terms stay as they were")
		}
		terms := valid(t).Terms
		terms.Deposit = of.deposit
		_, faults := terms.Changed(&book.TermsChange{Deposit: percent(30_00), Payments: staged(100_00)}, currency(t, "GBP"))
		assert.EqualError(t, faults.Err(), "#/payments: there are both deposit_percent and payments: write one of them")
	}
}
