package pricing_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// rows are the rows of a sensitivity in words: what, cost, net, more.
func rows(all []pricing.Sensitivity) string {
	var s strings.Builder
	for _, x := range all {
		fmt.Fprintf(&s, "%s: %s %s %s\n", strings.TrimSpace(x.Of+" "+x.Code), x.Cost, x.Net, x.More)
	}
	return s.String()
}

// sensitive returns the costing of a request with its sensitivity.
func sensitive(t require.TestingT, r pricing.Request, b *book.Book) pricing.Costing {
	c, err := pricing.Sensitive(r, b)
	require.NoError(t, err)
	return c
}

// A varying is a request, the cost and net it comes to and its rows.
type varying struct{ name, request, base, want string }

// A walnut cleat 22 thick is of a board 32 thick: 0.032 m3 net. Of a frame with waste
// of 30: oak 0.027 x 1.3 = 0.0351, 35.10; walnut 0.0416, 83.20; a sheet 28.00; 3 h x
// 32.00 = 96.00; 1.25 h x 27.00 = 33.75, not at the bench: 276.05; 3 bench h x 10.00.
const framing = `"kind": "parts", "timbers": {"show": "oak-prime", "inner": "walnut-prime"}, "sheets": {"back": "birch-ply-6"},
	"extra_hours": [{"stage": "machining", "hours": 3}, {"stage": "delivery", "hours": 1.25}],
	"parts": {"parts": [` + rail + "," + cleat + `, {"name": "Back", "length": 900, "width": 600, "material": "back"}]}`

const perHour = `"terms": {"overhead": {"per_hour": "10.00"}}`

// The sums are ours, worked beside each; every figure raised is rounded once.
func varyings() []varying {
	// 276.05 + 30.00 = 306.05, 153.03: 459.08
	// oak 38.61: 309.56, 154.78: 464.34; walnut 91.52: 314.37, 157.185, a tie, 157.19: 471.56
	// labour 3 x 35.20 = 105.60, 1.25 x 29.70 = 37.125, a tie, 37.13: 319.03, 159.52: 478.55
	// hours 3.3: 105.60 and 33.00; 1.375, a tie, 1.38: 37.26: 322.16, 161.08: 483.24
	// waste 33: 0.03591 and 0.04256, 35.90 and 85.20; of 11 one sheet still: 308.85, 154.43: 463.28
	// overhead 3 x 11.00: 309.05, 154.53: 463.58
	const frame = `timber oak-prime: 309.56 464.34 5.26
timber walnut-prime: 314.37 471.56 12.48
labour: 319.03 478.55 19.47
hours: 322.16 483.24 24.16
waste: 308.85 463.28 4.20
overhead: 309.05 463.58 4.50
`
	return []varying{
		{"a frame", `{"pieces": [{"id": "frame", "title": "Frame", ` + framing + `}], ` + perHour + `}`, "306.05 459.08", frame},
		{
			// neither the alternative nor the extra counts, and their maple, ash and tulipwood are no rows
			"beside an alternative and an extra", `{"pieces": [{"id": "frame", "title": "Frame", ` + framing + `},
				{"id": "other", "title": "In maple", "alternative_to": "frame", "kind": "parts", "timbers": {"show": "maple-hard-select"}, "parts": {"parts": [` + rail + `]}},
				{"id": "more", "title": "More", "optional": true, "kind": "parts", "timbers": {"show": "ash-prime", "inner": "tulipwood-select"}, "parts": {"parts": [` + rail + "," + cleat + `]}}], ` + perHour + `}`,
			"306.05 459.08", frame,
		},
		{
			"at an agreed price the net stays and the cost moves", `{"pieces": [{"id": "frame", "title": "Frame", ` + framing + `, "agreed_price": "400.00"}], ` + perHour + `}`,
			"306.05 400.00", `timber oak-prime: 309.56 400.00 0.00
timber walnut-prime: 314.37 400.00 0.00
labour: 319.03 400.00 0.00
hours: 322.16 400.00 0.00
waste: 308.85 400.00 0.00
overhead: 309.05 400.00 0.00
`,
		},
		{
			// three of 10 rails: 0.081 x 1.3333 = 0.108, 108.00; 12.5 %, 13.50; 5 % of 121.50, 6.08: 127.58
			// / 0.8 = 159.48; / 0.98 = 162.73; a third of it is 54.25, up to 55: 165.00
			// oak 118.80, 14.85, 6.68: 140.33; 175.41, 178.99; 59.67 up to 60: 180.00
			// waste 36.663, 36.66: 0.1107, 110.70, 13.84, 6.23: 130.77; 163.46, 166.80; 55.60 up to 60: 180.00
			// overhead 13.75 %, 14.85, 6.14: 128.99; 161.24, 164.53; 54.84 up to 55: 165.00
			"three, rounded up, by a margin and with fees; waste of the request", `{"pieces": [{"title": "Frame", "quantity": 3, "kind": "parts", "timbers": {"show": "oak-prime"},
				"waste_percent": {"show": 33.33}, "parts": {"parts": [` + rail + `]}}],
				"terms": {"overhead": {"percent": 12.5}, "contingency_percent": 5, "profit": {"margin_percent": 20}, "fees_percent": 2, "round_to": "5.00", "discount_percent": 10}}`,
			"127.58 165.00", `timber oak-prime: 140.33 180.00 15.00
labour: 127.58 165.00 0.00
hours: 127.58 165.00 0.00
waste: 130.77 180.00 15.00
overhead: 128.99 165.00 0.00
`,
		},
		{
			// 2 h x 27.00 = 54.00, 5.40, 29.70: 89.10; no timber: no row of it
			// 29.70: 59.40, 5.94: 65.34, 32.67: 98.01; 2.2 h: the same; 11 %: 5.94: 59.94, 29.97: 89.91
			"no timber at all", `{"pieces": [{"title": "Visit", ` + visit + `, "extra_hours": [{"stage": "delivery", "hours": 2}]}]}`, "59.40 89.10", `labour: 65.34 98.01 8.91
hours: 65.34 98.01 8.91
waste: 59.40 89.10 0.00
overhead: 59.94 89.91 0.81
`,
		},
		{"only an extra", `{"pieces": [{"title": "Frame", "optional": true, ` + framing + `}]}`, "0.00 0.00", `labour: 0.00 0.00 0.00
hours: 0.00 0.00 0.00
waste: 0.00 0.00 0.00
overhead: 0.00 0.00 0.00
`},
	}
}

func TestSensitive(t *testing.T) {
	b := plain(t, starter(t))
	for _, tt := range varyings() {
		t.Run(tt.name, func(t *testing.T) {
			c := sensitive(t, read(t, []byte(tt.request)), b)
			assert.Equal(t, tt.base, c.Sum(pricing.StepCost).String()+" "+c.Totals.Net.String())
			assert.Equal(t, tt.want, rows(c.Sensitivity))
		})
	}
}

// Words stand in every row; the timber's are the Book's.
func TestSensitiveSaysWhat(t *testing.T) {
	b := plain(t, starter(t))
	c := sensitive(t, read(t, []byte(varyings()[0].request)), b)
	for i, want := range []string{"European oak, prime", "American black walnut, prime", "What an hour costs", "How long the work takes", "What is wasted of timber, and of sheets charged by area", "What the workshop costs beside the work"} {
		assert.Equal(t, want, c.Sensitivity[i].Description)
	}
	assert.Contains(t, encoded(t, c), `"sensitivity":[{"of":"timber","code":"oak-prime","description":"European oak, prime","cost":"309.56","net":"464.34","more":"5.26"},`)
	assert.Contains(t, encoded(t, c), `{"of":"labour","description":`, "no code where there is none")
	assert.NotContains(t, encoded(t, priced(t, read(t, []byte(varyings()[0].request)), b)), "sensitivity", "only where it was asked for")
}

// All thicknesses of a timber are one row, and it moves them all: 20 and 27 mm sawn, by
// the sheet and by the area.
func TestSensitiveToEveryThickness(t *testing.T) {
	b := changed(t, plain(t, starter(t)), func(d *book.Data) { sheet(d, "birch-ply-6").Charged = book.Area })
	thin := strings.Replace(strings.Replace(rail, `"Rail"`, `"Slat"`, 1), `"thickness": 22`, `"thickness": 16`, 1)
	c := sensitive(t, read(t, []byte(`{"pieces": [{"title": "Frame", "kind": "parts", "timbers": {"show": "oak-prime"}, "sheets": {"back": "birch-ply-6"},
		"parts": {"parts": [`+rail+","+thin+`, {"name": "Back", "quantity": 10, "length": 1000, "width": 500, "material": "back"}]}}]}`)), b)
	// 0.0351 and 0.02 x 1.3 = 0.026, 61.10; 5 m2 x 1.1 = 5.5 at 28.00 / 2.9768 = 9.4061, 51.73: 112.83
	// 11.28, 62.06: 186.17; cost 124.11
	// oak 38.61, 28.60: 118.94, 11.89: 130.83, 65.42: 196.25
	// waste 33 and 11: 0.0359, 0.0266: 62.50; 5.55 m2, 52.20: 114.70, 11.47: 126.17, 63.09: 189.26
	// overhead 11 %: 12.41: 125.24, 62.62: 187.86
	assert.Equal(t, `timber oak-prime: 130.83 196.25 10.08
labour: 124.11 186.17 0.00
hours: 124.11 186.17 0.00
waste: 126.17 189.26 3.09
overhead: 125.24 187.86 1.69
`, rows(c.Sensitivity))
}

// Coins: 0.0351 m3 at 1000.33 are 35.1116, at 1100.363 they are 38.6227.
func TestSensitiveInOtherCurrencies(t *testing.T) {
	for code, want := range map[string]string{
		// 35, 3.5 up to 4: 39, 19.5 up to 20: 59; oak 39, 4: 43, 21.5 up to 22: 65
		// waste 33, 0.0359: 35.91, 36, 4: 40, 20: 60; 11 %: 3.85, 4: 39
		"JPY": "39 59\ntimber oak-prime: 43 65 6\nlabour: 39 59 0\nhours: 39 59 0\nwaste: 40 60 1\noverhead: 39 59 0\n",
		// 35.112, 3.511: 38.623, 19.3115 up to .312: 57.935; oak 38.623, 3.862: 42.485, 21.243: 63.728
		// waste 35.91185, .912, 3.591: 39.503, 19.752: 59.255; 11 %: 3.862: 38.974, 19.487: 58.461
		"KWD": "38.623 57.935\ntimber oak-prime: 42.485 63.728 5.793\nlabour: 38.623 57.935 0.000\nhours: 38.623 57.935 0.000\nwaste: 39.503 59.255 1.320\noverhead: 38.974 58.461 0.526\n",
	} {
		b := changed(t, plain(t, starter(t)), func(d *book.Data) {
			coinage(t, d, code)
			find(timber(d, "oak-prime").Thicknesses, func(k *book.Thickness) bool { return k.Code == "oak-prime-27" }).Price.Rate = 1000_3300
		})
		c := sensitive(t, read(t, []byte(`{"pieces": [{"title": "Frame", "kind": "parts", "timbers": {"show": "oak-prime"}, "parts": {"parts": [`+rail+`]}}]}`)), b)
		assert.Equal(t, want, c.Sum(pricing.StepCost).String()+" "+c.Totals.Net.String()+"\n"+rows(c.Sensitivity), code)
	}
}

// What cannot be priced is refused as by Cost; what can, but not a tenth dearer, is the
// error of a number too large and no costing.
func TestSensitiveErrors(t *testing.T) {
	from := starter(t)
	_, err := pricing.Sensitive(pricing.Request{}, from)
	assert.EqualError(t, err, "#/pieces: 0 pieces: write 1 to 100")
	for _, text := range []string{string(demo(t, "five-faults")), `{"pieces": [{"title": "Visit", ` + visit + `}], "terms": {"overhead": {}, "profit": {}}}`} {
		r := read(t, []byte(text))
		_, want := pricing.Cost(r, from)
		require.Error(t, want)
		c, err := pricing.Sensitive(r, from)
		assert.Equal(t, want, err)
		assert.Equal(t, pricing.Costing{}, c)
	}

	// 8.0e7 m3 are 3.39e10 board feet, x 2.6 at 999 999.99 are 8.8e16: 8.8e18 pence, of 9.2e18 that fit
	free, b := huge(t, 10_000, func(d *book.Data) {
		d.Rules = nil
		x := timber(d, "white-oak-fas")
		x.Waste, x.Thicknesses[0].Price = 160_00, &book.Price{Rate: 999_999_9999, Unit: unit.Bf, From: d.AsOf}
		d.Terms.Overhead, d.Terms.Profit = book.Overhead{Percent: new(num.Percent(0))}, book.Profit{Markup: new(num.Percent(0))}
		d.Terms.Contingency, d.Terms.Tax = 0, "zero"
	})
	require.False(t, answered(t, free, b), "it is priced")
	c, err := pricing.Sensitive(free, b)
	assert.Equal(t, pricing.Costing{}, c)
	assert.IsType(t, num.Overflow{}, err)
}
