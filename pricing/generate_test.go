package pricing_test

import (
	"strconv"

	"pgregory.net/rapid"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// A draw makes the parts of a random request that is nearly always valid; sizes
// are drawn in millimetres and written in the units of the piece.
type draw struct {
	*rapid.T
	units unit.System
}

func (d draw) n(what string, low, high int) int { return rapid.IntRange(low, high).Draw(d.T, what) }

// rarely is true once in so many.
func (d draw) rarely(what string, times int) bool { return d.n(what, 1, times) == times }

func (d draw) word(what string, words ...string) string {
	return rapid.SampledFrom(words).Draw(d.T, what)
}

// size draws a size between two of millimetres: half millimetres, or sixteenths
// of an inch.
func (d draw) size(what string, low, high int) num.Decimal {
	if d.units == unit.InInches {
		return num.Decimal(d.n(what, (low*10_000+15_874)/15_875, high*10_000/15_875)) * (num.One / 16)
	}
	return num.Decimal(d.n(what, 2*low, 2*high)) * (num.One / 2)
}

// A setting is a member that may be left out and the range that is safe with the
// defaults and the ranges of all others.
type setting struct {
	to        **num.Decimal
	name      string
	low, high int // mm
}

// settings types one in four of the settings.
func (d draw) settings(list ...setting) {
	for _, s := range list {
		if d.rarely(s.name+" typed", 4) {
			*s.to = new(d.size(s.name, s.low, s.high))
		}
	}
}

// standard returns a default in the units of the piece: mm, or sixteenths.
func (d draw) standard(typed *num.Decimal, mm, sixteenths int) num.Decimal {
	switch {
	case typed != nil:
		return *typed
	case d.units == unit.InInches:
		return num.Decimal(sixteenths) * (num.One / 16)
	}
	return num.Whole(mm)
}

// request draws a request of one to four pieces.
func request(t *rapid.T) pricing.Request {
	d := draw{T: t}
	var r pricing.Request
	named := d.rarely("named", 2)
	for i := range d.n("pieces", 1, 4) {
		p := d.piece()
		p.Title = "Piece " + strconv.Itoa(i+1)
		if named {
			p.ID = "p-" + strconv.Itoa(i+1)
			if i > 0 && d.rarely("alternative", 4) {
				p.AlternativeTo = "p-1" // the first is never one itself
			}
		}
		p.Optional = p.AlternativeTo == "" && d.rarely("optional", 6)
		r.Pieces = append(r.Pieces, p)
	}
	if d.rarely("terms", 2) {
		r.Terms = d.terms()
	}
	if d.rarely("customer", 4) {
		r.Customer = &pricing.Customer{Name: "Rowan Thistle", Address: []string{"1 Mill Lane"}}
	}
	return r
}

// piece draws one piece of any kind.
func (d draw) piece() piece.Piece {
	p := piece.Piece{Kind: d.word("kind", "chest", "drawer_boxes", "parts", "service")}
	p.Units = unit.System(d.word("units", "", "mm", "in"))
	d.units = p.Units
	if d.rarely("quantity typed", 2) {
		p.Quantity = num.Count(d.n("quantity", 1, 3))
	}
	switch p.Kind {
	case "chest":
		p.Chest = d.chest()
	case "drawer_boxes":
		p.DrawerBoxes = d.boxes()
	case "parts":
		p.Parts = d.parts()
	case "service":
		p.Service = d.service()
	}
	d.chosen(&p)
	d.added(&p)
	return p
}

// chosen draws the materials, the finishes and how the piece is worked.
func (d draw) chosen(p *piece.Piece) {
	timbers := []string{
		"ash-prime", "oak-prime", "walnut-prime", "tulipwood-select", "redwood-joinery", "white-oak-fas", "poplar-select", "maple-hard-select",
	}
	sheets := []string{"birch-ply-4", "birch-ply-6", "birch-ply-9", "birch-ply-12", "mdf-6", "oak-faced-ply-6", "oak-faced-mdf-19"}
	finishes := []string{"", "bare", "oil-3", "oil-wax", "shellac-1", "shellac-2", "lacquer-brush", "lacquer-spray", "stain-lacquer-spray"}
	p.Timbers = map[string]string{"show": d.word("show", timbers...), "inner": d.word("inner", timbers...)}
	p.Sheets = map[string]string{"bottom": d.word("bottom sheet", sheets[:5]...), "back": d.word("back sheet", sheets...)}
	p.Glue = d.word("glue", "", "pu-slow", "pu-fast", "pva", "hide", "uf-powder")
	p.Finishes = make(map[string]string)
	for _, zone := range []string{"outside", "inside"} {
		if f := d.word(zone, finishes...); f != "" {
			p.Finishes[zone] = f
		}
	}
	p.Dovetails = d.word("dovetails", "", "hand", "machine")
	if d.rarely("working factor typed", 4) {
		p.WorkingFactor = new(num.Decimal(d.n("working factor", 50, 300)) * (num.One / 100))
	}
	if d.rarely("waste typed", 3) {
		p.Waste = map[string]num.Percent{d.word("waste of", "show", "inner", "sheet", "ash-prime"): d.percent("waste", 100_00)}
	}
}

// percent draws a percentage up to most hundredths of a percent.
func (d draw) percent(what string, most int) num.Percent { return num.Percent(d.n(what, 0, most)) }

// added draws what is added by hand: ironmongery, hours, bought-in lines, price.
func (d draw) added(p *piece.Piece) {
	for range d.n("ironmongery", 0, 2) {
		f := piece.Fitted{Code: d.word("fitting", "knob-35", "pull-cup-76", "lock-drawer-63", "tip-restraint-kit", "foot-level")}
		f.Per = d.word("per", "drawer", "opening", "case", "piece")
		f.Each = num.Whole(d.n("each", 1, 4))
		if f.Per == "drawer" || f.Per == "opening" {
			d.settings(setting{&f.FromWidth, "from", 100, 400}, setting{&f.BelowWidth, "below", 401, 900})
		}
		p.Ironmongery = append(p.Ironmongery, f)
	}
	for range d.n("extra hours", 0, 1) {
		p.ExtraHours = append(p.ExtraHours, piece.ExtraHours{
			Stage: d.word("stage", "drawing", "machining", "delivery"), Hours: num.Decimal(d.n("hours", 0, 400)) * (num.One / 100),
		})
	}
	for range d.n("bought in", 0, 2) {
		p.BoughtIn = append(p.BoughtIn, piece.BoughtIn{
			Description: "Turned feet", Quantity: num.Decimal(d.n("bought quantity", 1, 20_000)) * (num.One / 1000),
			Unit: unit.Unit(d.word("bought unit", "each", "m", "job")), Rate: num.Rate(d.n("bought rate", 0, 100_0000)),
		})
	}
	if d.rarely("agreed", 6) {
		p.AgreedPrice = new(num.Rate(d.n("agreed price", 0, 3000)) * 1_0000)
	}
	p.Tax = d.word("tax", "", "standard", "reduced", "zero")
}

// service draws a delivery or fitting.
func (d draw) service() *piece.Service {
	return &piece.Service{
		Delivery: num.Decimal(d.n("km", 0, 2000)) * (num.One / 10), Drops: d.n("drops", 0, 2), People: d.n("people", 0, 3),
		Site: num.Decimal(d.n("site", 0, 400)) * (num.One / 100),
	}
}
