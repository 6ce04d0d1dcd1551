package pricing_test

import (
	"cmp"
	"math/big"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// eachPiece holds a law against every piece of random requests.
func eachPiece(t *testing.T, law func(t *rapid.T, q *piece.Piece, p *pricing.PricedPiece, b *book.Book)) {
	eachSample(t, func(t *rapid.T, s sample) {
		for i := range s.costing.Pieces {
			law(t, &s.request.Pieces[i], &s.costing.Pieces[i], s.book)
		}
	})
}

// descending returns three sizes, the largest first.
func descending(l, w, t num.Decimal) [3]num.Decimal {
	s := []num.Decimal{l, w, t}
	slices.Sort(s)
	return [3]num.Decimal{s[2], s[1], s[0]}
}

func TestLawPartsFitIntoThePiece(t *testing.T) {
	eachPiece(t, func(t *rapid.T, q *piece.Piece, p *pricing.PricedPiece, _ *book.Book) {
		var room [3]num.Decimal
		switch {
		case q.Chest != nil:
			room = descending(q.Chest.Width, q.Chest.Depth, q.Chest.Height)
		case q.DrawerBoxes != nil: // boards with pins are cut long by flush, 2 mm at most here
			proud := max(q.Units.Size(2*unit.Millimetre), num.One/16)
			for _, b := range q.DrawerBoxes.Boxes {
				for i, size := range descending(b.Width+proud, b.Depth, b.Height) {
					room[i] = max(room[i], size)
				}
			}
		default:
			room = descending(num.Whole(3000), num.Whole(3000), num.Whole(3000))
		}
		for _, c := range p.Parts {
			require.Positive(t, c.Quantity)
			for i, size := range descending(c.Length, c.Width, c.Thickness) {
				require.Positive(t, size, c.Name)
				require.LessOrEqual(t, size, room[i], "%s %s x %s x %s", c.Name, c.Length, c.Width, c.Thickness)
			}
			if c.Strips > 0 {
				require.GreaterOrEqual(t, c.SawnLength, c.Length, c.Name)
				require.Greater(t, c.SawnWidth, c.Width, c.Name)
				require.Greater(t, c.SawnThickness, c.Thickness, c.Name)
				require.Greater(t, c.Volume, num.Decimal(0), c.Name)
			}
		}
		if p.Kind == "service" {
			require.Empty(t, p.Parts)
		}
	})
}

// share returns one share of a measure, 0 when it is not there.
func share(p *pricing.PricedPiece, name, of string) num.Decimal {
	for _, m := range p.Measures {
		if m.Name == name && m.Share == of {
			return m.Quantity
		}
	}
	return 0
}

// roleOf returns what measures know a part's material by.
func roleOf(c pricing.CutPart) string {
	if c.Strips > 0 || c.Code == "" {
		return c.Material
	}
	return "sheet"
}

func TestLawMeasuresAgreeWithTheParts(t *testing.T) {
	eachPiece(t, func(t *rapid.T, q *piece.Piece, p *pricing.PricedPiece, b *book.Book) {
		counts := make(map[string]int)
		areas := map[string]num.Decimal{}
		finished, net, mass := num.Decimal(0), num.Decimal(0), new(big.Rat)
		for _, c := range p.Parts {
			role := roleOf(c)
			areas["sanded_outside "+role] += c.Outside
			areas["sanded_inside "+role] += c.Inside
			finished += c.FinishedVolume
			if c.Strips == 0 {
				counts["sheet_part"] += min(len(c.Code), 1) * c.Quantity // offcuts have no code
				if s := b.Sheet(c.Code); s != nil {
					mass.Add(mass, product(rat(c.FinishedVolume), rat(s.Density)))
				}
				continue
			}
			counts["part "+role] += c.Quantity
			counts["sawn_board "+role] += c.Quantity * c.Strips
			counts["panel "+role] += min(c.Strips-1, 1) * c.Quantity
			net += c.Volume
			owner := find(b.Data().Timbers, func(x *book.Timber) bool {
				return slices.ContainsFunc(x.Thicknesses, func(k book.Thickness) bool { return k.Code == c.Code })
			})
			mass.Add(mass, product(rat(c.FinishedVolume), rat(owner.Density)))
		}
		require.Equal(t, num.Whole(len(p.Parts)), measured(p, "part_line"))
		require.Equal(t, num.Whole(counts["sheet_part"]), measured(p, "sheet_part"))
		for _, role := range []string{"show", "inner", "ash-prime"} {
			for _, name := range []string{"part", "sawn_board", "panel"} {
				require.Equal(t, num.Whole(counts[name+" "+role]), share(p, name, role), "%s %s", name, role)
			}
		}
		for key, area := range areas {
			sandedAs(t, q, p, key, area)
		}
		require.Equal(t, finished.Round(4), measured(p, "finished_volume"))
		if len(p.Timber) > 0 && p.Timber[0].Unit == "m3" && !slices.ContainsFunc(p.Timber, func(l pricing.Line) bool { return l.Unit != "m3" }) {
			require.Equal(t, net.Round(4), measured(p, "net_volume"))
		}
		for _, l := range p.Ironmongery {
			mass.Add(mass, product(rat(b.Fitting(l.Code).Mass), rat(l.Quantity)))
		}
		require.Equal(t, quantities(p.Ironmongery), measured(p, "ironmongery"))
		require.Equal(t, decimal(rounded(mass, 3), 3), measured(p, "mass"))
		each := new(big.Rat).Quo(rat(measured(p, "mass")), rat(num.Whole(p.Quantity)))
		require.Equal(t, decimal(rounded(each, 3), 3), p.Mass)
	})
}

// sandedAs holds a zone's area of one role against its measure.
func sandedAs(t *rapid.T, q *piece.Piece, p *pricing.PricedPiece, key string, area num.Decimal) {
	name, role := key[:len("sanded_inside")], key[len("sanded_inside "):]
	zone := "inside"
	if key[:len("sanded_outside")] == "sanded_outside" {
		name, role, zone = "sanded_outside", key[len("sanded_outside "):], "outside"
	}
	if q.Finishes[zone] == "" {
		area = 0
	}
	require.Equal(t, area.Round(3), share(p, name, role), key)
}

// quantities adds up what stands on lines.
func quantities(lines []pricing.Line) num.Decimal {
	n := num.Decimal(0)
	for _, l := range lines {
		n += l.Quantity
	}
	return n
}

func TestLawJointsAgreeWithTheirMeasures(t *testing.T) {
	eachPiece(t, func(t *rapid.T, q *piece.Piece, p *pricing.PricedPiece, _ *book.Book) {
		counts, glued, edge := make(map[string]int), num.Decimal(0), new(big.Rat)
		for _, k := range p.Joints {
			require.Positive(t, k.Quantity)
			require.Positive(t, k.Area, k.Type)
			counts[k.Type] += k.Quantity
			counts[k.Type+" tails"] += k.Quantity * k.Tails
			glued += k.Area
			if k.Type == "edge" {
				edge.Add(edge, product(rat(num.Decimal(q.Units.Length(k.Length))), big.NewRat(int64(k.Quantity), 1000)))
			}
		}
		for joint, names := range map[string][]string{
			"through_dovetail": {"through_dovetail_corner", "through_tail"}, "lapped_dovetail": {"lapped_dovetail_corner", "lapped_tail"},
			"mortise_tenon": {"mortise_tenon"}, "housing": {"housing_joint"},
		} {
			require.Equal(t, num.Whole(counts[joint]), measured(p, names[0]))
			if len(names) > 1 {
				require.Equal(t, num.Whole(counts[joint+" tails"]), measured(p, names[1]))
			}
		}
		require.Equal(t, glued.Round(3), measured(p, "joint_area"))
		require.InDelta(t, int64(decimal(rounded(edge, 2), 2)), int64(measured(p, "edge_joint")), 20_000, "two roles, each rounded to a hundredth, from lengths as printed")
	})
}

func TestLawCoatsAgreeWithTheFinish(t *testing.T) {
	eachPiece(t, func(t *rapid.T, q *piece.Piece, p *pricing.PricedPiece, b *book.Book) {
		for _, zone := range []string{"outside", "inside"} {
			f, area, total := b.Finish(q.Finishes[zone]), num.Decimal(0), 0
			for _, c := range p.Parts {
				if zone == "outside" {
					area += c.Outside
				} else {
					area += c.Inside
				}
			}
			if f == nil || area == 0 {
				require.Zero(t, share(p, "denib", zone))
				continue
			}
			coats := make(map[string]int)
			for _, k := range f.Coats {
				coats[zone+"/"+k.Product+"/"+k.Method] += k.Coats
				total += k.Coats
			}
			for at, n := range coats {
				require.Equal(t, (area * num.Decimal(n)).Round(3), share(p, "coat", at), at)
				require.Equal(t, num.Whole(n), share(p, "finish_pass", at), at)
			}
			require.Equal(t, (area * num.Decimal(max(total-1, 0))).Round(3), share(p, "denib", zone))
		}
	})
}

func TestLawWhatIsBoughtCoversWhatIsNeeded(t *testing.T) {
	eachSample(t, func(t *rapid.T, s sample) {
		needed := make(map[string]*big.Rat)
		for i := range s.costing.Pieces {
			p := &s.costing.Pieces[i]
			if !p.Included {
				continue
			}
			for heading, lines := range headings(p) {
				for _, l := range lines {
					need := rat(l.Quantity)
					switch {
					case heading == "labour" || heading == "bought-in":
						continue
					case heading == "supplies":
						need = rat(l.Needed)
					case heading == "sheets" && l.Unit == "each": // of all pieces together
						need = rat(num.Whole(planOf(s.costing, l.Code).Sheets))
						needed[l.Code] = nil
					}
					needed[l.Code] = plus(needed[l.Code], need)
				}
			}
		}
		require.Len(t, s.costing.Buying, len(needed))
		for _, l := range s.costing.Buying {
			require.NotNil(t, needed[l.Code], l.Code)
			require.Equal(t, decimal(rounded(needed[l.Code], 6), 6), l.Needed, l.Code)
			require.Equal(t, l.PackSize != 0, l.Packs != 0, l.Code)
			if l.Packs > 0 {
				require.GreaterOrEqual(t, num.Decimal(l.Packs)*l.PackSize, l.Needed, "%s: %d packs", l.Code, l.Packs)
				require.Less(t, num.Decimal(l.Packs-1)*l.PackSize, l.Needed, "%s: one pack too many", l.Code)
			}
			same(t, whole(product(rat(cmp.Or(num.Whole(l.Packs), l.Needed)), inCoins(bought(s, l), l.Amount))), l.Amount, l.Code)
		}
	})
}

// planOf returns how a sheet is cut.
func planOf(c pricing.Costing, code string) *pricing.SheetPlan {
	return find(c.Cutting, func(p *pricing.SheetPlan) bool { return p.Code == code })
}

// bought returns the rate that an item is bought at.
func bought(s sample, l pricing.BuyingLine) num.Rate {
	if b := s.book.Supply(l.Code); b != nil {
		return b.Price.Rate
	}
	for i := range s.costing.Pieces {
		for _, lines := range headings(&s.costing.Pieces[i]) {
			for _, k := range lines {
				if k.Code == l.Code {
					return k.Rate
				}
			}
		}
	}
	return 0
}
