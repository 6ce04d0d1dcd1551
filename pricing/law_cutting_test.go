package pricing_test

import (
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// The laws of how sheets are cut are ours: geometry, and what the words promise.

// eachPlan holds a law against how every sheet of random requests is cut.
func eachPlan(t *testing.T, law func(t *rapid.T, p *pricing.SheetPlan, s sample)) {
	seen := 0
	eachSample(t, func(t *rapid.T, s sample) {
		for i := range s.costing.Cutting {
			law(t, &s.costing.Cutting[i], s)
			seen++
		}
	})
	require.Positive(t, seen)
}

// sheetParts returns the lines of the cutting lists of what is included that are cut
// from a sheet, as a plan should list them.
func sheetParts(s sample, p *pricing.SheetPlan) (all []pricing.SheetPart) {
	for i := range s.costing.Pieces {
		q := &s.costing.Pieces[i]
		for _, c := range q.Parts {
			if q.Included && c.Code == p.Code {
				size := func(d num.Decimal) num.Decimal { return p.Units.Size(q.Units.Length(d)) }
				all = append(all, pricing.SheetPart{Piece: q.ID, Name: c.Name, Length: size(c.Length), Width: size(c.Width), Quantity: c.Quantity})
			}
		}
	}
	return all
}

func TestLawEveryPartIsCutAsOftenAsItIsAsked(t *testing.T) {
	eachPlan(t, func(t *rapid.T, p *pricing.SheetPlan, s sample) {
		cut, sheets := make(map[string]int), 0
		for i, l := range p.Layouts {
			require.Equal(t, i+1, l.Number)
			require.Positive(t, l.Count)
			sheets += l.Count
			for _, part := range l.Placed {
				cut[part.Mark] += l.Count
			}
		}
		require.Equal(t, sheets, p.Sheets)
		want := sheetParts(s, p)
		require.Len(t, p.Parts, len(want))
		require.Len(t, cut, len(want))
		for i, part := range p.Parts {
			require.Equal(t, part.Quantity, cut[part.Mark], part.Mark)
			alike(t, part.Length, want[i].Length, p.Units)
			alike(t, part.Width, want[i].Width, p.Units)
			part.Mark, part.Length, part.Width = "", want[i].Length, want[i].Width
			require.Equal(t, want[i], part)
		}
	})
}

// alike holds that two sizes are the same to the last places in which pieces, and
// places on a sheet, are written.
func alike(t require.TestingT, a, b num.Decimal, u unit.System) { within(t, a, b, b, u) }

// slack is what a few roundings of sizes may come to.
func slack(u unit.System) num.Decimal {
	if u == unit.InInches {
		return 5
	}
	return 500
}

// within holds that a size lies between two others, but for roundings.
func within(t require.TestingT, size, low, high num.Decimal, u unit.System) {
	require.GreaterOrEqual(t, size, low-slack(u))
	require.LessOrEqual(t, size, high+slack(u))
}

// Parts and offcuts lie within the trim, a kerf apart; a part turns only where no
// grain forbids it, and an offcut that is told of is worth keeping.
func TestLawPartsLieApartWithinTheTrim(t *testing.T) {
	turned := 0
	eachPlan(t, func(t *rapid.T, p *pricing.SheetPlan, _ sample) {
		for _, l := range p.Layouts {
			for _, part := range l.Placed {
				of := *find(p.Parts, func(q *pricing.SheetPart) bool { return q.Mark == part.Mark })
				if part.Turned {
					require.False(t, p.Grain)
					of.Length, of.Width = of.Width, of.Length
					turned++
				}
				alike(t, part.Length, of.Length, p.Units)
				alike(t, part.Width, of.Width, p.Units)
			}
			for _, o := range l.Offcuts {
				require.Empty(t, o.Mark)
				require.GreaterOrEqual(t, min(o.Length, o.Width), p.OffcutMin-slack(p.Units))
			}
			apart(t, p, slices.Concat(l.Placed, l.Offcuts))
		}
	})
	require.Positive(t, turned)
}

// apart holds that rectangles lie within the trim of a sheet and a kerf apart.
func apart(t require.TestingT, p *pricing.SheetPlan, all []pricing.Placed) {
	for i, a := range all {
		within(t, a.X, p.Trim, p.Length-p.Trim-a.Length, p.Units)
		within(t, a.Y, p.Trim, p.Width-p.Trim-a.Width, p.Units)
		for _, b := range all[:i] {
			gap := max(a.X-b.X-b.Length, b.X-a.X-a.Length, a.Y-b.Y-b.Width, b.Y-a.Y-a.Width)
			require.GreaterOrEqual(t, gap, p.Kerf-slack(p.Units), "%v and %v", a, b)
		}
	}
}

// Sawn in their order, the cuts of a layout part its rectangles: each cut goes right
// across what the cuts before it made, takes off what it says, and of every part and
// offcut a rectangle of its own is left.
func TestLawTheSawPartsTheParts(t *testing.T) {
	eachPlan(t, func(t *rapid.T, p *pricing.SheetPlan, _ sample) {
		for _, l := range p.Layouts {
			left := []pricing.Placed{{X: p.Trim, Y: p.Trim, Length: p.Length - 2*p.Trim, Width: p.Width - 2*p.Trim}}
			for i, c := range l.Cuts {
				require.Equal(t, i+1, c.Number)
				at := slices.IndexFunc(left, func(r pricing.Placed) bool { return crosses(c, r, slack(p.Units)) })
				require.GreaterOrEqual(t, at, 0, "cut %v goes across none of %v", c, left)
				off, rest := sawn(c, left[at], p.Kerf)
				size := off.Length
				if c.Along {
					size = off.Width
				}
				alike(t, size, c.Size, p.Units)
				left[at] = off
				left = append(left, rest)
			}
			for _, part := range slices.Concat(l.Placed, l.Offcuts) {
				require.True(t, slices.ContainsFunc(left, func(r pricing.Placed) bool {
					d := slack(p.Units)
					return max(r.X-part.X, part.X-r.X, r.Y-part.Y, part.Y-r.Y, r.Length-part.Length, part.Length-r.Length, r.Width-part.Width, part.Width-r.Width) <= d
				}), "%v is none of %v", part, left)
			}
		}
	})
}

// crosses reports whether a cut goes right across a rectangle and through it.
func crosses(c pricing.SheetCut, r pricing.Placed, d num.Decimal) bool {
	begin, length, from, to := r.X, r.Length, r.Y, r.Y+r.Width
	if c.Along {
		begin, length, from, to = r.Y, r.Width, r.X, r.X+r.Length
	}
	return c.At > begin+d && c.At < begin+length+d && max(c.From-from, from-c.From, c.To-to, to-c.To) <= d
}

// sawn returns what a cut makes of a rectangle.
func sawn(c pricing.SheetCut, r pricing.Placed, kerf num.Decimal) (off, rest pricing.Placed) {
	off, rest = r, r
	if c.Along {
		off.Width = c.At - r.Y
		rest.Y, rest.Width = c.At+kerf, r.Width-off.Width-kerf
		return off, rest
	}
	off.Length = c.At - r.X
	rest.X, rest.Length = c.At+kerf, r.Length-off.Length-kerf
	return off, rest
}

// What is found of a plan, its sums, and the bound that goes without saying: all parts
// are no more than the sheets within their trim.
func TestLawAPlanAddsUp(t *testing.T) {
	eachPlan(t, func(t *rapid.T, p *pricing.SheetPlan, s sample) {
		of := s.book.Sheet(p.Code)
		require.Equal(t, []any{of.Description, of.Grain, p.Units.Size(of.Length), p.Units.Size(of.Width)}, []any{p.Description, p.Grain, p.Length, p.Width})
		area := num.Decimal(0)
		for i := range s.costing.Pieces {
			for _, c := range s.costing.Pieces[i].Parts {
				if s.costing.Pieces[i].Included && c.Code == p.Code {
					area += c.Area
				}
			}
		}
		require.Equal(t, area, p.PartsArea)
		trim := s.costing.Terms.Sawing().Trim
		one := unit.Area(unit.Face{N: 1, L: of.Length - 2*trim, W: of.Width - 2*trim})
		require.LessOrEqual(t, p.PartsArea, num.Decimal(p.Bound)*one+num.One/1000)
		require.LessOrEqual(t, p.Bound, p.Sheets)
		require.Positive(t, p.Bound)
		require.True(t, strings.HasPrefix(p.Finding, num.Whole(p.Sheets).String()+" sheet"))
		require.Equal(t, p.Bound == p.Sheets, strings.HasSuffix(p.Finding, "; no layout can do it with fewer"), p.Finding)
		require.Equal(t, p.Bound < p.Sheets, strings.HasSuffix(p.Finding, "; "+num.Whole(p.Bound).String()+" might be possible"), p.Finding)
	})
}

// One plan for each sheet of what is included, by code; it is never dearer than when
// each piece is cut by itself.
func TestLawSharingIsNeverDearer(t *testing.T) {
	shared := 0
	eachSample(t, func(t *rapid.T, s sample) {
		apart, amounts := make(map[string]int), make(map[string]sum)
		for i := range s.costing.Pieces {
			for _, l := range s.costing.Pieces[i].Sheets {
				if s.costing.Pieces[i].Included && l.Unit == unit.Each {
					apart[l.Code] += int(l.Quantity / num.One)
					amounts[l.Code] = plus(amounts[l.Code], coins(l.Amount))
				}
			}
		}
		require.NotNil(t, s.costing.Cutting)
		require.True(t, slices.IsSortedFunc(s.costing.Cutting, func(a, b pricing.SheetPlan) int { return strings.Compare(a.Code, b.Code) }))
		for _, p := range s.costing.Cutting {
			require.LessOrEqual(t, p.Sheets, p.Apart)
			if s.book.Sheet(p.Code).Charged == book.Area {
				require.Zero(t, p.Saving)
				continue
			}
			require.Equal(t, apart[p.Code], p.Apart)
			delete(apart, p.Code)
			buy := *find(s.costing.Buying, func(l *pricing.BuyingLine) bool { return l.Code == p.Code })
			require.Equal(t, []any{num.Whole(p.Sheets), unit.Each}, []any{buy.Needed, buy.Unit})
			same(t, whole(product(big.NewRat(int64(p.Apart-p.Sheets), 1), inCoins(bought(s, buy), buy.Amount))), p.Saving, "saving")
			require.GreaterOrEqual(t, amounts[p.Code].Cmp(coins(buy.Amount)), 0)
			if p.Sheets < p.Apart {
				shared++
			}
		}
		require.Empty(t, apart, "a sheet without a plan")
	})
	require.Positive(t, shared, "nothing was shared")
}

// A piece costs what it costs alone, and its neighbours what they cost without it.
func TestLawAPriceIsThatOfThePieceAlone(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		for i := range s.request.Pieces {
			r := copied(t, s.request)
			p := r.Pieces[i]
			p.AlternativeTo, p.Optional = "", false
			r.Pieces = []piece.Piece{p}
			if r.Terms != nil {
				r.Terms.DiscountAmount = nil
			}
			alone := priced(t, r, s.book).Pieces[0]
			require.Equal(t, s.costing.Pieces[i].Sheets, alone.Sheets)
			require.Equal(t, s.costing.Pieces[i].Price, alone.Price)
		}
	})
}

// Looking longer never finds more sheets, and says again what it says.
func TestLawThoroughNeverTakesMore(t *testing.T) {
	b := starter(t)
	for _, name := range demos() {
		r := read(t, demo(t, name))
		was := priced(t, r, b)
		r.Cutting = "quick"
		require.Equal(t, encoded(t, was), encoded(t, priced(t, r, b)), "quick is the default")
		r.Cutting = "thorough"
		is := priced(t, r, b)
		require.Equal(t, encoded(t, is), encoded(t, priced(t, r, b)))
		for i, p := range is.Cutting {
			require.LessOrEqual(t, p.Sheets, was.Cutting[i].Sheets, "%s: %s", name, p.Code)
			require.GreaterOrEqual(t, p.Bound, was.Cutting[i].Bound, "%s: %s", name, p.Code)
		}
		notDearer(t, was, is)
	}
}

// notDearer holds that no piece costs more.
func notDearer(t *testing.T, was, is pricing.Costing) {
	for i := range was.Pieces {
		require.LessOrEqual(t, is.Pieces[i].Price.Compare(was.Pieces[i].Price), 0, was.Pieces[i].Title)
	}
}

// What was laid out before changes nothing, whatever was priced between.
func TestLawAMemoryChangesNothing(t *testing.T) {
	var m pricing.Memory
	eachSample(t, func(t *rapid.T, s sample) {
		for range 2 {
			again, err := m.Cost(s.request, s.book)
			require.NoError(t, err)
			require.Equal(t, encoded(t, s.costing), encoded(t, again))
		}
	})
	lid := func(length int) string { // more of them than are kept
		c, err := m.Cost(request1(panels("Lid", "mdf-6", panel("Lid", length, 50, 1))), starter(t))
		require.NoError(t, err)
		return encoded(t, c)
	}
	first := lid(100)
	for i := range 1100 {
		lid(101 + i)
	}
	require.Equal(t, first, lid(100))
}
