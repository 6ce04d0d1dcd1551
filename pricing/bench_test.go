package pricing_test

import (
	"testing"
	"time"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// compare measures two pieces of work by turns, a hundred runs of one and a
// hundred of the other, and reports how many times as long the first takes.
func compare(b *testing.B, name string, first, second func()) {
	var took [2]time.Duration
	for b.Loop() {
		for i, work := range []func(){first, second} {
			start := time.Now()
			for range 100 {
				work()
			}
			took[i] += time.Since(start)
		}
	}
	b.ReportMetric(float64(took[0])/float64(took[1]), name)
	b.ReportMetric(float64(took[0].Microseconds())/float64(b.N)/100, "us/first")
	b.ReportMetric(float64(took[1].Microseconds())/float64(b.N)/100, "us/second")
}

// pricingAnew returns the work of pricing r from nothing.
func pricingAnew(b *testing.B, r pricing.Request, from *book.Book) func() {
	return func() {
		if _, err := pricing.Cost(r, from); err != nil {
			b.Fatal(err)
		}
	}
}

// pricingOf returns the work of pricing r once its sheets are laid out;
// BenchmarkLayingOut has what that takes.
func pricingOf(b *testing.B, r pricing.Request, from *book.Book) func() {
	var m pricing.Memory
	return func() {
		if _, err := m.Cost(r, from); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkLayingOut compares pricing the tall chest from nothing with pricing it once
// its sheets are laid out. It has no aim: package cutting has.
func BenchmarkLayingOut(b *testing.B) {
	r, from := read(b, demo(b, "tall-chest")), starter(b)
	compare(b, "anew/again", pricingAnew(b, r, from), pricingOf(b, r, from))
}

// BenchmarkCostAgainstDecode: pricing the tall chest takes at most five times as
// long as decoding its request.
func BenchmarkCostAgainstDecode(b *testing.B) {
	text := demo(b, "tall-chest")
	compare(b, "cost/decode", pricingOf(b, read(b, text), starter(b)), func() {
		var r pricing.Request
		if err := wire.Decode(text, &r); err != nil {
			b.Fatal(err)
		}
	})
}

// BenchmarkCostAgainstEncode: and at most 0.3 times as long as encoding its answer.
func BenchmarkCostAgainstEncode(b *testing.B) {
	r, from := read(b, demo(b, "tall-chest")), starter(b)
	c := priced(b, r, from)
	compare(b, "cost/encode", pricingOf(b, r, from), func() {
		if _, err := wire.Encode(c); err != nil {
			b.Fatal(err)
		}
	})
}

// BenchmarkSensitiveAgainstCost: the tall chest is of two timbers, so that it is priced
// seven times; that takes at most eight times as long.
func BenchmarkSensitiveAgainstCost(b *testing.B) {
	r, from := read(b, demo(b, "tall-chest")), starter(b)
	rows := len(sensitive(b, r, from).Sensitivity)
	compare(b, "sensitive/cost", func() {
		if _, err := pricing.Sensitive(r, from); err != nil {
			b.Fatal(err)
		}
	}, pricingAnew(b, r, from))
	b.ReportMetric(float64(rows), "rows")
}

// BenchmarkCompareAgainstCost: comparing two chests takes less time than pricing one.
func BenchmarkCompareAgainstCost(b *testing.B) {
	r, from := read(b, demo(b, "tall-chest")), starter(b)
	one := priced(b, r, from)
	r.Pieces[0].Timbers = map[string]string{piece.Show: "walnut-prime", piece.Inner: "oak-prime"}
	other := priced(b, r, from)
	compare(b, "compare/cost", func() { difference(&one, &other) }, pricingOf(b, r, from))
}

// tower is a chest of forty drawers, twenty rows of two, every row higher than the
// one above it.
func tower(b testing.TB) pricing.Request {
	r := read(b, demo(b, "tall-chest"))
	c := r.Pieces[0].Chest
	c.Rows = nil
	for i := range 20 {
		c.Rows = append(c.Rows, piece.Row{Across: 2, Height: mm(80 + i)})
	}
	c.Height = num.Whole(25 + 80 + 21*20 + 20*80 + 190)
	return r
}

// BenchmarkFortyDrawersAgainstSix: seven times the drawers take at most eight
// times as long.
func BenchmarkFortyDrawersAgainstSix(b *testing.B) {
	from := starter(b)
	compare(b, "40/6", pricingOf(b, tower(b), from), pricingOf(b, read(b, demo(b, "tall-chest")), from))
}

// BenchmarkCostAllocations: at most four allocations for each line of the costing.
func BenchmarkCostAllocations(b *testing.B) {
	r, from := read(b, demo(b, "tall-chest")), starter(b)
	lines := 0
	for _, l := range headings(&priced(b, r, from).Pieces[0]) {
		lines += len(l)
	}
	work := pricingOf(b, r, from)
	b.ReportMetric(testing.AllocsPerRun(100, work)/float64(lines), "allocs/line")
	b.ReportMetric(float64(lines), "lines")
	b.ReportAllocs()
	for b.Loop() {
		work()
	}
}
