package pricing_test

import (
	"errors"
	"regexp"
	"strings"
	"testing"

	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
)

// spoken fails unless an error is one that people can act on: faults that each
// say where and what, or a text that is not JSON.
func spoken(t *testing.T, err error) {
	t.Helper()
	if m := (*wire.Malformed)(nil); errors.As(err, &m) {
		if m.Detail == "" || m.Offset < 0 {
			t.Fatalf("a malformed text without words: %#v", m)
		}
		return
	}
	faults, ok := err.(fault.List)
	if !ok || len(faults) == 0 {
		t.Fatalf("%T: %v", err, err)
	}
	for _, f := range faults {
		if !strings.HasPrefix(f.Pointer, "#") || f.Detail == "" {
			t.Fatalf("%q: %q", f.Pointer, f.Detail)
		}
	}
}

// sound prices r from b, if it can be, and holds the costing against what must be
// true of any: every line follows from its figures, no sum is below zero but the
// profit of an agreed price, and the answer reads as it was written.
func sound(t *testing.T, r pricing.Request, b *book.Book) {
	t.Helper()
	c, err := pricing.Cost(r, b)
	if _, tooLarge := err.(num.Overflow); tooLarge {
		return
	}
	if err != nil {
		spoken(t, err)
		return
	}
	for i := range c.Pieces {
		p := &c.Pieces[i]
		for heading, lines := range headings(p) {
			for _, l := range lines {
				if l.Quantity <= 0 || l.Amount.IsNegative() || l.Eval(l.Unit) != l.Quantity {
					t.Fatalf("%s %s: quantity %s, evaluated %s, amount %s", heading, l.Code, l.Quantity, l.Eval(l.Unit), l.Amount)
				}
			}
		}
		if p.Price.IsNegative() || p.Hours < 0 || p.Mass < 0 {
			t.Fatalf("%s: price %s, %s h, %s kg", p.Title, p.Price, p.Hours, p.Mass)
		}
	}
	text, err := wire.Encode(c)
	if err != nil {
		t.Fatal(err)
	}
	var again pricing.Costing
	if err := wire.Decode(text, &again); err != nil {
		t.Fatalf("the costing cannot be read back: %v", err)
	}
	if back, err := wire.Encode(again); err != nil || string(back) != string(text) {
		t.Fatalf("the costing changes when it is read back: %v", err)
	}
}

// FuzzRequest decodes requests and prices what decodes from the starter Book.
func FuzzRequest(f *testing.F) {
	for _, name := range append(demos(), "five-faults") {
		f.Add(demo(f, name))
	}
	b := starter(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		var r pricing.Request
		if err := wire.Decode(text, &r); err != nil {
			spoken(t, err)
			return
		}
		sound(t, r, b)
	})
}

// FuzzBook decodes Books and prices the demo requests from those accepted; what
// is accepted is also written in a form that is accepted.
func FuzzBook(f *testing.F) {
	text := encoded(f, starter(f).Data())
	f.Add([]byte(text))
	f.Add([]byte(regexp.MustCompile(`"from":"[-0-9]+"`).ReplaceAllString(text, `"from":null`))) // prices of no day
	var requests []pricing.Request
	for _, name := range demos() {
		r := read(f, demo(f, name))
		r.AsOf = date.Date{}
		requests = append(requests, r)
	}
	f.Fuzz(func(t *testing.T, text []byte) { soundBook(t, text, requests) })
}

// soundBook prices requests from a Book if it is accepted; then what it is written
// as must be accepted too.
func soundBook(t *testing.T, text []byte, requests []pricing.Request) {
	t.Helper()
	var d book.Data
	if err := wire.Decode(text, &d); err != nil {
		spoken(t, err)
		return
	}
	b, err := book.New(d)
	if err != nil {
		spoken(t, err)
		return
	}
	var again book.Data
	if err := wire.Decode([]byte(encoded(t, d)), &again); err != nil {
		t.Fatalf("a Book that was accepted cannot be read back: %v", err)
	}
	if _, err := book.New(again); err != nil {
		t.Fatalf("a Book that was accepted is refused when it is read back: %v", err)
	}
	for _, r := range requests {
		sound(t, r, b)
	}
}
