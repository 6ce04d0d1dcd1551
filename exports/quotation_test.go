package exports_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/exports"
	"reckoner/pricing/num"
)

// figures is what the formulas of a quotation must come to, in the order of the
// page: each from the costing itself.
func figures(p exports.Paper) []num.Money {
	var out, apart []num.Money
	c := &p.Costing
	for _, o := range c.Pieces {
		if o.Included {
			out = append(out, o.Price)
		}
		for k := range c.Pieces {
			if p.Request.Pieces[k].AlternativeTo == o.ID {
				apart = append(apart, c.Pieces[k].Price)
			}
		}
	}
	for i, o := range c.Pieces {
		if p.Request.Pieces[i].Optional {
			apart = append(apart, o.Price)
		}
	}
	t := c.Totals
	out = append(out, t.Net)
	switch {
	case c.Terms.Discount > 0:
		out = append(out, t.Discount, t.Taxable)
	case c.Terms.DiscountAmount > 0: // typed, no formula
		out = append(out, t.Taxable)
	}
	for _, x := range t.Tax {
		out = append(out, x.Basis, x.Amount)
	}
	out = append(out, t.Gross)
	for _, p := range t.Payments {
		out = append(out, p.Amount)
	}
	if c.Terms.Deposit > 0 {
		out = append(out, t.Deposit)
	}
	if len(t.Payments) == 0 {
		out = append(out, t.Balance)
	}
	return append(out, apart...)
}

// same reports that a stored number is an amount, to the last binary digit.
func same(t *testing.T, want num.Money, stored, what string) {
	t.Helper()
	f, err := strconv.ParseFloat(stored, 64)
	require.NoError(t, err, what)
	w, err := strconv.ParseFloat(want.String(), 64)
	require.NoError(t, err)
	assert.Equal(t, w, f, what)
}

func TestFormulasStoreTheCosting(t *testing.T) {
	for name, p := range papers(t) {
		t.Run(name, func(t *testing.T) {
			var formulas []cell
			for _, c := range cells(t, written(t, p)) {
				if c.formula != "" {
					formulas = append(formulas, c)
				}
			}
			want := figures(p)
			require.Len(t, formulas, len(want))
			for i, c := range formulas {
				same(t, want[i], c.text, c.name+" ="+c.formula)
			}
		})
	}
}

func TestSameBytes(t *testing.T) {
	for _, name := range []string{"full-quotation", "mixed"} {
		p := papers(t)[name]
		seen := make(map[[32]byte]int)
		for range 20 {
			seen[sha256.Sum256(written(t, p))]++
		}
		assert.Len(t, seen, 1, name)
	}
}

func TestQuotationSays(t *testing.T) {
	all := papers(t)
	tests := []struct {
		name string
		has  []string
		not  []string
	}{
		{"tall-chest", []string{
			"Little Wending Furniture Workshop", "VAT registration GB 000 0000 00 (invented)", "1 November 2026", "1 December 2026",
			"Chest of six drawers, 900 mm wide, 480 mm deep, 1200 mm high", "Timber: European ash, prime. Inside: Tulipwood, select.",
			"rails tenoned into the sides, on a plinth. Back: Birch plywood, 6 mm.", "lapped dovetails at the front", "cut by hand. Bottoms: Birch plywood, 6 mm.",
			"Finish: Hard oil, three coats. Inside the drawers: Blonde shellac", "10 x Turned knob, 35 mm", "VAT 20 % on",
			"Deposit 50 %, due when you accept", "can tip over", "at least two people", "Made to order", "I accept this quotation", "Name and signature",
		}, []string{"Discount", "Instead of", "Could be added", "Revision", "wood dust", "isocyanate"}},
		{"issued", []string{
			"2026-0007", "Revision\n2", "Quotation: A bedroom in oak", "Tobias and Wren Ashdown", "Deliver to\nThe Loft, Granary Yard", "Discount 2.5 %", "Net after discount",
			"Instead of Bedroom chest\nNot in the total above. Prices before discount and tax.", "Could be added\n", "Also included: Initials cut into the top drawer front.",
			"Delivery over 32 km, carried in by two people, fitting on site.", "Three drawer boxes, outside 760 mm wide, 160 mm high, 500 mm deep",
		}, []string{"VAT at"}},
		{"inch-chest", []string{"36 in wide, 19 1/2 in deep, 42 in high", "Bottoms: solid timber.", "For\n", "Deliver to\n"}, nil},
		{"drawer-boxes", []string{"24 drawer boxes, outside sizes", "6 of 380 x 90 x 450 mm\n", "2 of 720 x 200 x 500 mm\n", "cut by machine", "Timber: Tulipwood, select."}, []string{"Please note"}},
		{"free-parts", []string{"In American cherry, prime: Seat, Leg (4), Long rail (2).", "4 x Levelling foot", "mortise and tenon joints, housed joints, through dovetails, lapped dovetails; dovetails cut by hand."}, []string{"1600", "1440"}},
		{"low-chest", []string{"Chest of eight drawers", "through-dovetailed boxes with separate fronts", "inside and out.", "kg each"}, []string{"can tip over"}},
		{"mixed", []string{"VAT at 5 %.", "VAT at 20 %.", "VAT 5 % on", "VAT 20 % on"}, nil},
		{"extras-only", []string{"Could be added", "Due when the work is finished", "Fitting on site."}, []string{"Deposit 0"}},
	}
	for _, tt := range tests {
		said := texts(cells(t, written(t, all[tt.name])))
		for _, s := range tt.has {
			assert.Contains(t, said, s, tt.name)
		}
		for _, s := range tt.not {
			assert.NotContains(t, said, s, tt.name)
		}
	}
}

// Fractions of an inch are binary, so 1/64 in is the last that a rule shows and
// has six decimals at most.
func TestSizesInInches(t *testing.T) {
	r := decoded(t, `{"pieces": [{"title": "Boxes", "kind": "drawer_boxes", "units": "in", "timbers": {"inner": "poplar-select"}, "sheets": {"bottom": "birch-ply-6"},
		"drawer_boxes": {"boxes": [
			{"width": 35.4375, "height": 4.015625, "depth": 18},
			{"width": 17.333333, "height": 5.1, "depth": 19.75, "quantity": 2}]}}]}`)
	said := texts(cells(t, written(t, paper(t, r, starter(t)))))
	assert.Contains(t, said, "1 of 35 7/16 x 4 1/64 x 18 in\n")
	assert.Contains(t, said, "2 of 17.333333 x 5.1 x 19 3/4 in\n")
}

func TestPageSetUp(t *testing.T) {
	all := papers(t)
	letter := all["tall-chest"]
	letter.Costing.Terms.Workshop.Paper = "letter"
	many := all["full-quotation"]
	for range 5 {
		many.Request.Pieces = append(slices.Clip(many.Request.Pieces), many.Request.Pieces[0])
		many.Costing.Pieces = append(slices.Clip(many.Costing.Pieces), many.Costing.Pieces[0])
	}
	for _, tt := range []struct {
		name, paper, titles string
		p                   exports.Paper
	}{
		{"a4", `paperSize="9"`, "Little Wending Furniture Workshop", all["tall-chest"]},
		{"letter", `paperSize="1"`, "Little Wending Furniture Workshop", letter},
		{"a table that runs over repeats its head", `paperSize="9"`, "Description", many},
	} {
		file := written(t, tt.p)
		p := parts(t, file)
		repeated := regexp.MustCompile(`Quotation!\$(\d+):\$(\d+)<`).FindStringSubmatch(p["xl/workbook.xml"])
		require.Len(t, repeated, 3)
		assert.Equal(t, repeated[1], repeated[2])
		assert.Contains(t, cells(t, file), cell{name: "A" + repeated[1], text: tt.titles}, tt.name)
		sheet := p["xl/worksheets/sheet1.xml"]
		assert.Contains(t, sheet, tt.paper, tt.name)
		assert.Contains(t, sheet, `orientation="portrait"`)
		assert.Contains(t, sheet, `fitToHeight="0"`)
		assert.Contains(t, sheet, `<pageSetUpPr fitToPage="true">`)
		assert.Contains(t, sheet, "Page &amp;P of &amp;N")
		assert.Contains(t, p["xl/workbook.xml"], `fullCalcOnLoad="true"`)
	}
	core := parts(t, written(t, all["issued"]))["docProps/core.xml"]
	assert.Equal(t, 2, strings.Count(core, "2026-11-03T09:30:00Z"), core)
	assert.Equal(t, 2, strings.Count(parts(t, written(t, letter))["docProps/core.xml"], "2026-11-01T00:00:00Z"))
}

// A broken writer stands for a full disk.
type broken struct{}

var errFull = errors.New("no room")

func (broken) Write([]byte) (int, error) { return 0, errFull }

func TestQuotationErrors(t *testing.T) {
	p := papers(t)["tall-chest"]
	assert.ErrorIs(t, exports.Quotation(broken{}, p), errFull)
	assert.ErrorIs(t, exports.Summary(broken{}, p), errFull)
	p.Request.Pieces = nil
	assert.Error(t, exports.Quotation(io.Discard, p))
	assert.Error(t, exports.Summary(io.Discard, p))
	q := papers(t)["tall-chest"]
	q.Book = nil
	assert.Error(t, exports.Quotation(io.Discard, q))
}

func BenchmarkQuotation(b *testing.B) {
	p := papers(b)["full-quotation"]
	var out bytes.Buffer
	b.ReportAllocs()
	for b.Loop() {
		out.Reset()
		if err := exports.Quotation(&out, p); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSummary(b *testing.B) {
	p := papers(b)["full-quotation"]
	for b.Loop() {
		if err := exports.Summary(io.Discard, p); err != nil {
			b.Fatal(err)
		}
	}
}

// names is the names of papers in order.
func names(m map[string]exports.Paper) []string { return slices.Sorted(maps.Keys(m)) }
