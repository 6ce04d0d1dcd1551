package pricing_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// ruled is the starter Book with these rules and no others.
func ruled(t *testing.T, rules ...book.Rule) *book.Book {
	return changed(t, starter(t), func(d *book.Data) {
		for i := range rules {
			if rules[i].Per == 0 {
				rules[i].Per = num.One
			}
			if rules[i].Code == "" {
				rules[i].Code = "rule-" + num.Whole(i+1).String()
			}
		}
		d.Rules = rules
	})
}

// laths is two parts of ash, three of tulipwood (working factors 1 and 0.9) and
// one of plywood.
func laths() piece.Piece {
	lath := piece.FreePart{Name: "Lath", Quantity: 2, Length: num.Whole(400), Width: num.Whole(50), Thickness: mm(16), Material: "show"}
	p := parts(lath)
	p.Timbers = map[string]string{"show": "ash-prime", "inner": "tulipwood-select"}
	p.Finishes = map[string]string{"outside": "oil-wax"}
	lath.Quantity, lath.Material = 3, "inner"
	p.Parts.Parts = append(p.Parts.Parts, lath, piece.FreePart{Name: "Board", Length: num.Whole(500), Width: num.Whole(400), Material: "bottom", Outside: piece.Surface{Faces: 1}})
	return p
}

// terms returns the minutes that each term needs, by rule and share.
func terms(p pricing.PricedPiece) map[string]string {
	needed := make(map[string]string)
	for _, lines := range [][]pricing.Line{p.Labour, p.Supplies} {
		for _, l := range lines {
			for _, k := range l.Terms {
				if k.Rule != "" {
					needed[k.Rule+" "+k.Share] = k.Needed.String()
				}
			}
		}
	}
	return needed
}

func TestASetUpStandsWithTheFirstShare(t *testing.T) {
	minutes := book.Rule{Stage: "machining", Measure: "part", Setup: num.Whole(10), Each: num.Whole(4)}
	got := one(t, laths(), ruled(t, minutes))
	require.Equal(t, map[string]string{
		"rule-1 inner": "20.8", // 10 + 4 x 0.9 x 3; shares in the order of their text
		"rule-1 show":  "8",    // 4 x 2
	}, terms(got))
	require.Equal(t, "0.48", got.Labour[0].Quantity.String(), "28.8 min in hours")

	minutes.Role = "show"
	require.Equal(t, map[string]string{"rule-1 show": "18"}, terms(one(t, laths(), ruled(t, minutes))), "chosen alone it has the set-up")
	minutes.Role = "walnut-prime"
	require.Empty(t, terms(one(t, laths(), ruled(t, minutes))), "nothing, set-up included, where the measure is zero")
	minutes.Role, minutes.Each, minutes.Measure = "", 0, "door"
	require.Empty(t, one(t, laths(), ruled(t, minutes)).Labour)
}

// The piece's factor goes with every measure, that of a timber with those kept by
// role, sheets have none, and no set-up has either.
func TestFactorsGoWithWhatIsWorked(t *testing.T) {
	p := laths()
	p.WorkingFactor = new(num.Decimal(1_500_000))
	p.Finishes["outside"] = "bare"
	got := one(t, p, ruled(t,
		book.Rule{Stage: "machining", Measure: "part", Setup: num.One, Each: num.Whole(2)},
		book.Rule{Stage: "machining", Measure: "piece", Each: num.Whole(2)},
		book.Rule{Stage: "sanding", Measure: "sanded_outside", Each: num.Whole(10)},
		book.Rule{Item: "cloth", Measure: "part", Each: num.Whole(2)},
	))
	require.Equal(t, map[string]string{
		"rule-1 inner": "9.1", // 1 + 2 x 1.5 x 0.9 x 3
		"rule-1 show":  "6",   // 2 x 1.5 x 2
		"rule-2 ":      "3",
		"rule-3 sheet": "3",  // 10 x 1.5 x 0.2 m2
		"rule-4 ":      "10", // a supply: the total of the shares, no factor
	}, terms(got))
}

func TestStartedMeasuresAreCutUpToAWhole(t *testing.T) {
	rule := book.Rule{Item: "glue-brush", Measure: "glue_up", Each: num.Whole(2), Per: num.Whole(3), Setup: num.One}
	p := laths()
	p.Parts.GlueUps = 7
	require.Equal(t, "5.666667", terms(one(t, p, ruled(t, rule)))["rule-1 "], "1 + 2 x 7 / 3")
	rule.Started = true
	require.Equal(t, "7", terms(one(t, p, ruled(t, rule)))["rule-1 "], "1 + 2 x 3")
	p.Parts.GlueUps = 6
	require.Equal(t, "5", terms(one(t, p, ruled(t, rule)))["rule-1 "], "1 + 2 x 2: none begun")
}

// Coats are chosen by zone, product and method, each alone or together; a rule for
// labour makes a term a share.
func TestRulesChooseSharesOfCoats(t *testing.T) {
	p := laths()
	p.Finishes["inside"] = "shellac-1"
	p.Parts.Parts[2].Inside = piece.Surface{Faces: 1}
	rule := func(change func(*book.Rule)) book.Rule {
		r := book.Rule{Stage: "finishing", Measure: "finish_pass", Each: num.Whole(10)}
		change(&r)
		return r
	}
	got := terms(one(t, p, ruled(t,
		rule(func(*book.Rule) {}),
		rule(func(r *book.Rule) { r.Zone = "outside" }),
		rule(func(r *book.Rule) { r.Of = "wax-paste" }),
		rule(func(r *book.Rule) { r.Method = "brush" }),
		rule(func(r *book.Rule) { r.Zone, r.Method = "inside", "wipe" }),
		rule(func(r *book.Rule) { r.Measure, r.Zone = "denib", "outside" }),
	)))
	require.Equal(t, map[string]string{
		"rule-1 inside/shellac-blonde/brush": "10", "rule-1 outside/hard-oil/wipe": "20", "rule-1 outside/wax-paste/wipe": "10",
		"rule-2 outside/hard-oil/wipe": "20", "rule-2 outside/wax-paste/wipe": "10",
		"rule-3 outside/wax-paste/wipe": "10", "rule-4 inside/shellac-blonde/brush": "10",
		"rule-6 outside": "4", // 0.2 m2 x (3 - 1) coats
	}, got)
}

// Tags must all hold, and an item must be named in the request itself.
func TestRulesHoldWhenAndWith(t *testing.T) {
	chests, boxes, list := chest(t), read(t, demo(t, "drawer-boxes")).Pieces[0], laths()
	list.Glue = "pva"
	list.Ironmongery = []piece.Fitted{{Code: "foot-level", Per: "piece", Each: num.One}}
	list.Parts.Parts[0].Material = "walnut-prime"
	visit := piece.Piece{Title: "Visit", Kind: "service", Service: &piece.Service{Drops: 1}}
	for _, c := range []struct {
		when  []string
		with  string
		piece piece.Piece
		holds bool
	}{
		{[]string{"dovetails:hand"}, "", chests, true},
		{[]string{"dovetails:machine"}, "", chests, false},
		{[]string{"dovetails:machine", "construction:applied", "bottom:sheet", "kind:drawer_boxes"}, "", boxes, true},
		{[]string{"dovetails:machine", "construction:lapped"}, "", boxes, false},
		{[]string{"kind:chest", "construction:lapped"}, "", chests, true},
		{[]string{"bottom:solid"}, "", chests, false},
		{[]string{"kind:parts", "dovetails:hand"}, "", list, true},
		{[]string{"construction:applied"}, "", list, false},
		{[]string{"kind:service"}, "", visit, true},
		{[]string{"dovetails:hand"}, "", visit, false},
		{nil, "pva", list, true},
		{nil, "pu-slow", list, false},
		{nil, "tulipwood-select", list, true},
		{nil, "walnut-prime", list, true},
		{nil, "ash-prime", list, true},
		{nil, "birch-ply-6", list, true},
		{nil, "oil-wax", list, true},
		{nil, "hard-oil", list, true},
		{nil, "shellac-blonde", list, false},
		{nil, "foot-level", list, true},
		{nil, "cloth", list, false}, // another rule adds it
	} {
		of := "part_line"
		if c.piece.Kind == "service" {
			of = "drop"
		}
		b := ruled(t, book.Rule{Code: "other", Item: "cloth", Measure: of, Each: num.One},
			book.Rule{Code: "it", Item: "gloves", Measure: of, Each: num.One, When: c.when, With: c.with})
		_, holds := terms(one(t, c.piece, b))["it "]
		require.Equal(t, c.holds, holds, "%v with %q of %s", c.when, c.with, c.piece.Kind)
	}
}

// Knobs go by the width of the opening, from one inclusive, below the other; this
// chest has two openings of 402 mm over two of 826 mm.
func TestIronmongeryIsChosenByWidth(t *testing.T) {
	p := chest(t)
	p.Chest.Rows = []piece.Row{{Height: mm(130), Across: 2}, {}, {}}
	count := func(f piece.Fitted, quantity num.Count) string {
		f.Code, p.Quantity = "knob-35", quantity
		p.Ironmongery = []piece.Fitted{f}
		got := one(t, p, starter(t))
		require.Equal(t, quantities(got.Ironmongery), measured(&got, "ironmongery"))
		return measured(&got, "ironmongery").String()
	}
	wide, narrow := mm(826), new(num.Decimal(826_000_000-1))
	require.Equal(t, "4", count(piece.Fitted{Per: "drawer", Each: num.One}, 1))
	require.Equal(t, "2", count(piece.Fitted{Per: "drawer", Each: num.One, FromWidth: wide}, 1), "from is inclusive: %s", wide)
	require.Equal(t, "2", count(piece.Fitted{Per: "drawer", Each: num.One, BelowWidth: wide}, 1), "below is not")
	require.Equal(t, "2", count(piece.Fitted{Per: "opening", Each: num.One, FromWidth: narrow}, 1))
	require.Equal(t, "12", count(piece.Fitted{Per: "drawer", Each: num.Whole(3), BelowWidth: mm(500)}, 2), "3 x 2 drawers x 2 chests")
	require.Equal(t, "2", count(piece.Fitted{Per: "case", Each: num.One}, 2))
	require.Equal(t, "6", count(piece.Fitted{Per: "piece", Each: num.Whole(3)}, 2))
	require.Equal(t, "0", count(piece.Fitted{Per: "drawer", Each: num.One, FromWidth: mm(900)}, 1))

	boxes := read(t, demo(t, "drawer-boxes")).Pieces[0]
	boxes.Ironmongery = []piece.Fitted{
		{Code: "knob-35", Per: "drawer", Each: num.One, FromWidth: mm(560)}, {Code: "knob-25", Per: "opening", Each: num.One},
	}
	got := one(t, boxes, starter(t))
	require.Equal(t, "12", measured(&got, "ironmongery").String(), "6 + 4 + 2 boxes by their own width; none has an opening")
}

// Bought-in lines and extra hours are for the whole line as typed, not times the
// quantity; the mark-up raises the rate to four places.
func TestWhatIsAddedByHandIsForTheWholeLine(t *testing.T) {
	p := piece.Piece{Title: "Turned", Kind: "service", Quantity: 3, Service: &piece.Service{Drops: 2, Site: num.One / 2}}
	p.BoughtIn = []piece.BoughtIn{{Description: "Feet", Quantity: num.Whole(4), Unit: "each", Rate: 12_3333}}
	p.ExtraHours = []piece.ExtraHours{{Stage: "drawing", Hours: 1_250_000}, {Stage: "drawing", Hours: num.One}}
	got := one(t, p, starter(t))
	require.Equal(t, []string{"1", "4", "13.5666", "54.27"}, []string{got.BoughtIn[0].Code, got.BoughtIn[0].Quantity.String(), got.BoughtIn[0].Rate.String(), got.BoughtIn[0].Amount.String()})
	require.Equal(t, "2.25", line(got.Labour, "drawing").Quantity.String())
	require.Equal(t, "6", measured(&got, "drop").String(), "calls are for one")
	require.Equal(t, "1.5", measured(&got, "site").String())
	require.Zero(t, measured(&got, "piece"))
	require.Equal(t, "2.25", got.BenchHours.String())
	require.Equal(t, "36.00", step(&got, "overhead").Amount.String(), "2.25 bench h x 16.00: none on delivery")

	settled := got
	p.BoughtIn[0].Provisional = true
	got = one(t, p, starter(t))
	require.True(t, got.BoughtIn[0].Provisional)
	got.BoughtIn[0].Provisional = false
	require.Equal(t, settled, got, "a sum that is not settled yet is marked, and priced as any other")
}

// Each 0.005 min x 0.9999 m3 is 0.0049995 min: rounded once to two places it is
// nothing; by way of six places it would be 0.01.
func TestATermIsRoundedOnce(t *testing.T) {
	b := changed(t, starter(t), func(d *book.Data) {
		d.Rules = append(d.Rules, book.Rule{Code: "by-volume", Stage: "timber", Measure: "finished_volume", Each: 5_000, Per: num.One})
	})
	p := piece.Piece{Title: "Block", Kind: "parts", Timbers: map[string]string{"show": "redwood-joinery"}}
	p.Parts = &piece.PartList{Parts: []piece.FreePart{{Name: "Block", Quantity: 1111, Length: num.Whole(1000), Width: num.Whole(30), Thickness: mm(30), Material: "show"}}}
	got := one(t, p, b)
	require.Equal(t, num.Decimal(999_900), measured(&got, "finished_volume"))
	for _, term := range line(got.Labour, "timber").Terms {
		if term.Rule == "by-volume" {
			require.Equal(t, num.Decimal(0), term.Needed)
			return
		}
	}
	t.Fatal("the rule made no term")
}
