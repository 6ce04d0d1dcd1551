package date_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/date"
)

func TestOn(t *testing.T) {
	s := date.Schedule[string]{
		{From: date.MustParse("2025-01-01"), Value: "a"},
		{From: date.MustParse("2026-04-06"), Value: "b"},
		{From: date.MustParse("2026-11-01"), Value: "c"},
	}
	tests := []struct {
		name  string
		s     date.Schedule[string]
		on    date.Date
		value string
		until string
		ok    bool
	}{
		{"empty", nil, date.MustParse("2026-01-01"), "", "", false},
		{"no day", s, date.Date{}, "", "2025-01-01", false},
		{"before the first", s, date.MustParse("2024-12-31"), "", "2025-01-01", false},
		{"its first day", s, date.MustParse("2025-01-01"), "a", "2026-04-06", true},
		{"its last day", s, date.MustParse("2026-04-05"), "a", "2026-04-06", true},
		{"the day of change", s, date.MustParse("2026-04-06"), "b", "2026-11-01", true},
		{"the last entry", s, date.MustParse("2026-11-01"), "c", "", true},
		{"long after", s, date.MustParse("9999-12-31"), "c", "", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e, until, ok := tt.s.On(tt.on)
			assert.Equal(t, tt.value, e.Value)
			assert.Equal(t, tt.until, until.String())
			assert.Equal(t, tt.ok, ok)
		})
	}
}

// The law of On: the entry found is the last not after the day, by looking at
// every one.
func TestOnAgainstALook(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 0))
	start := date.MustParse("2026-01-01")
	for range 2_000 {
		var s date.Schedule[int]
		for day := r.IntN(5); len(s) < r.IntN(8); day += 1 + r.IntN(5) {
			s = append(s, date.Dated[int]{From: start.AddDays(day), Value: len(s)})
		}
		on := start.AddDays(r.IntN(40))
		var want date.Dated[int]
		var until date.Date
		found := false
		for _, e := range s {
			if e.From.Compare(on) > 0 {
				until = e.From
				break
			}
			want, found = e, true
		}
		e, u, ok := s.On(on)
		if e != want || u != until || ok != found {
			t.Fatalf("%v on %s: %v until %s, %v", s, on, e, u, ok)
		}
	}
}

func ExampleSchedule() {
	perCubicMetre := date.Schedule[string]{
		{From: date.MustParse("2026-01-01"), Value: "1790.00"},
		{From: date.MustParse("2026-10-01"), Value: "1850.00"},
	}
	e, until, ok := perCubicMetre.On(date.MustParse("2026-09-30"))
	fmt.Println(e.Value, e.From, until, ok)
	// Output: 1790.00 2026-01-01 2026-10-01 true
}
