package pricing_test

import (
	"maps"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

func TestLawTheOrderOfPiecesMovesNoTotal(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		order := s.request
		order.Pieces = rapid.Permutation(s.request.Pieces).Draw(t, "order")
		c := priced(t, order, s.book)
		require.Equal(t, s.costing.Totals, c.Totals)
		require.Equal(t, s.costing.Buying, c.Buying)
		for i, p := range c.Cutting {
			was := &s.costing.Cutting[i]
			require.Equal(t, []any{was.Code, was.Units, was.Sheets, was.Bound, was.Apart, was.Saving, was.Finding}, []any{p.Code, p.Units, p.Sheets, p.Bound, p.Apart, p.Saving, p.Finding})
		}
		assert.ElementsMatch(t, s.costing.Cautions, c.Cautions)
		for i := range c.Pieces {
			was := find(s.costing.Pieces, func(p *pricing.PricedPiece) bool { return p.Title == c.Pieces[i].Title })
			require.Equal(t, was.BuildUp, c.Pieces[i].BuildUp)
		}
	})
}

func TestLawCostChangesNeitherArgument(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		request, data := encoded(t, s.request), encoded(t, s.book.Data())
		again := priced(t, s.request, s.book)
		require.Equal(t, request, encoded(t, s.request))
		require.Equal(t, data, encoded(t, s.book.Data()))
		require.Equal(t, encoded(t, s.costing), encoded(t, again))
		require.Equal(t, encoded(t, again), encoded(t, priced(t, copied(t, s.request), changed(t, s.book, func(*book.Data) {}))),
			"equal arguments in other memory")
	})
}

// A Book serves many requests at once; run it with -race now and then.
func TestLawSameArgumentsSameBytesFromManyAtOnce(t *testing.T) {
	b := starter(t)
	for _, name := range demos() {
		r := read(t, demo(t, name))
		want := encoded(t, priced(t, r, b))
		got := make([]string, 16)
		var wait sync.WaitGroup
		for i := range got {
			wait.Go(func() {
				if c, err := pricing.Cost(r, b); err == nil {
					got[i] = encoded(t, c)
				}
			})
		}
		wait.Wait()
		for i := range got {
			require.Equal(t, want, got[i], name)
		}
	}
}

// dearer raises the rates of one heading.
func dearer(d *book.Data, heading string, by num.Percent) {
	raise := func(p *book.Price) {
		if p != nil {
			p.Rate = p.Rate.Raised(by)
		}
	}
	switch heading {
	case "timber":
		for i := range d.Timbers {
			for k := range d.Timbers[i].Thicknesses {
				raise(d.Timbers[i].Thicknesses[k].Price)
			}
		}
	case "sheets":
		for i := range d.Sheets {
			raise(d.Sheets[i].Price)
		}
	case "supplies":
		for i := range d.Supplies {
			raise(d.Supplies[i].Price)
		}
	case "ironmongery":
		for i := range d.Ironmongery {
			raise(d.Ironmongery[i].Price)
		}
	case "labour":
		for i := range d.Labour {
			raise(d.Labour[i].Price)
		}
	}
}

// notLess holds that no price and no total went down.
func notLess(t *rapid.T, was, is pricing.Costing, why string) {
	for i := range was.Pieces {
		require.GreaterOrEqual(t, is.Pieces[i].Price.Compare(was.Pieces[i].Price), 0, "%s: %s was %s, is %s",
			why, was.Pieces[i].Title, was.Pieces[i].Price, is.Pieces[i].Price)
	}
	require.GreaterOrEqual(t, is.Totals.Net.Compare(was.Totals.Net), 0, why)
}

func TestLawDearerIsNeverCheaper(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		heading := rapid.SampledFrom([]string{"timber", "sheets", "supplies", "ironmongery", "labour"}).Draw(t, "heading")
		by := num.Percent(rapid.IntRange(0, 300_00).Draw(t, "dearer by"))
		b := changed(t, s.book, func(d *book.Data) { dearer(d, heading, by) })
		notLess(t, s.costing, priced(t, s.request, b), heading+" dearer")
	})
}

// All shares of waste go up alike, so that what was one line of a thickness stays
// one line: two lines are rounded twice, one only once.
func TestLawMoreWasteIsNeverCheaper(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		more := num.Percent(rapid.IntRange(0, 200_00).Draw(t, "more waste"))
		b := changed(t, s.book, func(d *book.Data) {
			for i := range d.Timbers {
				d.Timbers[i].Waste += more
			}
			for i := range d.Sheets {
				d.Sheets[i].Waste += more
			}
		})
		r := copied(t, s.request)
		for i := range r.Pieces {
			waste := maps.Clone(r.Pieces[i].Waste)
			for role := range waste {
				waste[role] += more
			}
			r.Pieces[i].Waste = waste
		}
		notLess(t, s.costing, priced(t, r, b), "more waste")
	})
}

// twice returns p in twice the quantity.
func twice(p piece.Piece) piece.Piece {
	p.Quantity = 2 * max(1, p.Quantity)
	return p
}

// place is one step in the last place of a cutting-list line's volume.
func place(u string) num.Decimal {
	return map[string]num.Decimal{"m3": 1, "ft3": 10, "bf": 100}[u]
}

func TestLawTwiceThePiecesTakeTwiceTheTimber(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		r := copied(t, s.request)
		for i := range r.Pieces {
			r.Pieces[i] = twice(r.Pieces[i])
		}
		c := priced(t, r, s.book)
		for i := range c.Pieces {
			p, was := &c.Pieces[i], &s.costing.Pieces[i]
			require.Len(t, p.Parts, len(was.Parts))
			for k, part := range p.Parts {
				require.Equal(t, 2*was.Parts[k].Quantity, part.Quantity)
				if part.Strips > 0 {
					u := string(line(p.Timber, part.Code).Unit)
					require.InDelta(t, int64(2*was.Parts[k].Volume), int64(part.Volume), float64(place(u)), "%s in %s", part.Name, u)
				}
				require.InDelta(t, int64(2*was.Parts[k].FinishedVolume), int64(part.FinishedVolume), 1)
			}
			for k, l := range p.Sheets {
				if l.Unit == unit.Each {
					require.LessOrEqual(t, l.Quantity, 2*was.Sheets[k].Quantity, "%s takes more than twice as many sheets", l.Code)
				}
			}
			for _, counted := range []string{"part", "sheet_part", "sawn_board", "panel", "case", "drawer", "opening", "through_tail", "mortise_tenon", "glue_up", "ironmongery", "piece"} {
				require.Equal(t, 2*measured(was, counted), measured(p, counted), counted)
			}
			for _, once := range []string{"part_line", "box_size", "finish_pass"} {
				require.Equal(t, measured(was, once), measured(p, once), "%s is counted once for the line", once)
			}
		}
	})
}

func TestLawMorePiecesNeverCostMoreEach(t *testing.T) {
	b := starter(t)
	for _, name := range demos() {
		r := read(t, demo(t, name))
		for _, p := range r.Pieces {
			if p.AlternativeTo != "" {
				continue
			}
			p.AgreedPrice = nil
			alone, pair := one(t, p, b), one(t, twice(p), b)
			require.LessOrEqual(t, pair.UnitPrice.Compare(alone.UnitPrice), 0, "%s: %s, two of them %s each", name, alone.UnitPrice, pair.UnitPrice)
			play := num.Decimal(len(pair.Labour)) * (num.One / 100) // each stage is rounded to a hundredth of an hour
			require.LessOrEqual(t, pair.Hours, 2*alone.Hours+play, name)
		}
	}
}
