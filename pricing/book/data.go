// Package book holds every price, rate, rule and term in force on one date. A
// Book is a value: made from Data, checked once, never changed.
package book

import (
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Data is a Book as GET /v1/book answers it and a revision freezes it. Lists are
// sorted by code (stages by their order), so the same Book is the same bytes.
type Data struct {
	Version     int64        `json:"version"` // of the catalogue it was read from
	AsOf        date.Date    `json:"as_of"`
	Currency    num.Currency `json:"currency"`
	Terms       Terms        `json:"terms"`
	Timbers     []Timber     `json:"timbers"`
	Sheets      []Sheet      `json:"sheets"`
	Supplies    []Supply     `json:"supplies"`
	Ironmongery []Fitting    `json:"ironmongery"`
	Methods     []Method     `json:"methods"`
	Finishes    []Finish     `json:"finishes"`
	Labour      []Grade      `json:"labour"`
	Stages      []Stage      `json:"stages"`
	Rules       []Rule       `json:"rules"`
}

// Ways of charging, and hazards.
const (
	Whole = "whole" // whole sheets, whole packs
	Area  = "area"  // the area of a sheet
	Used  = "used"  // what is used of a pack

	Isocyanate = "isocyanate"
	Flammable  = "flammable"
	DryingOil  = "drying_oil"
)

// A Price is what one code costs on the Book's date, and since when.
type Price struct {
	Rate num.Rate  `json:"rate"`
	Unit unit.Unit `json:"unit"`
	From date.Date `json:"from"`
}

// A Timber is a timber and grade. Lengths are millimetres in JSON.
type Timber struct {
	Code            string      `json:"code"`
	Description     string      `json:"description"`
	Density         num.Decimal `json:"density"` // kg/m3 at 12 % moisture
	Slope           int         `json:"slope"`   // of a dovetail: 8 (hardwood) or 6
	BoardWidth      unit.Length `json:"board_width"`
	Longest         unit.Length `json:"longest"`
	WidthAllowance  unit.Length `json:"width_allowance"`
	EdgeAllowance   unit.Length `json:"edge_allowance"`
	LengthAllowance unit.Length `json:"length_allowance"`
	Waste           num.Percent `json:"waste_percent"` // add-on to net
	WorkingFactor   num.Decimal `json:"working_factor"`
	Movement        Movement    `json:"movement"`
	Source          string      `json:"source,omitzero"`
	Thicknesses     []Thickness `json:"thicknesses"` // thinnest first
}

// Movement is the change per 1 % moisture, radial and tangential.
type Movement struct {
	Radial     num.Decimal `json:"radial"`
	Tangential num.Decimal `json:"tangential"`
}

// A Thickness is one sawn thickness: its own code, price and what it finishes to.
type Thickness struct {
	Code       string      `json:"code"`
	Thickness  unit.Length `json:"thickness"`
	FinishesTo unit.Length `json:"finishes_to"`
	Price      *Price      `json:"price,omitzero"` // per m3, ft3 or bf
}

// Sawn returns what one thickness of t is called: "European ash, prime, 27 mm sawn".
func (t *Timber) Sawn(k *Thickness) string {
	return t.Description + ", " + k.Thickness.Millimetres().String() + " mm sawn"
}

// A Sheet is a sheet material.
type Sheet struct {
	Code        string      `json:"code"`
	Description string      `json:"description"`
	Density     num.Decimal `json:"density"`
	Thickness   unit.Length `json:"thickness"`
	Length      unit.Length `json:"length"` // along the grain
	Width       unit.Length `json:"width"`
	Grain       bool        `json:"grain,omitzero"` // parts lie along it, and none turns
	Waste       num.Percent `json:"waste_percent"`  // add-on to net where it is charged by area
	Charged     string      `json:"charged"`        // "whole" (price each) or "area" (price per m2)
	Source      string      `json:"source,omitzero"`
	Price       *Price      `json:"price,omitzero"`
}

// A Supply is priced per pack and charged "used" or "whole".
type Supply struct {
	Code        string      `json:"code"`
	Description string      `json:"description"`
	Unit        unit.Unit   `json:"unit"`
	PackSize    num.Decimal `json:"pack_size"`
	Charged     string      `json:"charged"`
	Price       *Price      `json:"price,omitzero"`
	Glue        *Glue       `json:"glue,omitzero"`
	Coating     *Coating    `json:"coating,omitzero"`
	Hazards     []string    `json:"hazards,omitzero"` // "isocyanate", "flammable", "drying_oil"
	Source      string      `json:"source,omitzero"`
}

// Glue is what a glue needs; its supply is counted in kg.
type Glue struct {
	Spread       num.Decimal `json:"spread"` // g per m2 of joint, one bond line
	Loss         num.Percent `json:"loss_percent"`
	PotLoss      num.Decimal `json:"pot_loss"` // g per glue-up
	OpenMinutes  num.Decimal `json:"open_minutes"`
	ClampMinutes num.Decimal `json:"clamp_minutes"`
}

// Coating is what a product covers; its supply is counted in l. Give Coverage,
// or Solids and DryFilm: coverage = 10 x solids % / dry film, to 3 places.
type Coating struct {
	Coverage num.Decimal `json:"coverage,omitzero"` // m2/l, one coat
	Solids   num.Percent `json:"volume_solids_percent,omitzero"`
	DryFilm  num.Decimal `json:"dry_film,omitzero"` // um
}

// PerLitre returns the coverage in m2/l of one coat, before transfer.
func (c *Coating) PerLitre() num.Decimal {
	if c.Coverage != 0 {
		return c.Coverage
	}
	return num.Product(3, c.DryFilm, 10*num.One, num.Decimal(c.Solids)*(num.One/100))
}

// Spread returns the coverage in m2/l that is left when m is used: coverage x
// transfer, to six places.
func (c *Coating) Spread(m *Method) num.Decimal {
	return num.Product(6, 100*num.One, c.PerLitre(), num.Decimal(m.Transfer)*(num.One/100))
}

// A Fitting is an item of ironmongery, priced each.
type Fitting struct {
	Code        string      `json:"code"`
	Description string      `json:"description"`
	Mass        num.Decimal `json:"mass"` // kg
	Price       *Price      `json:"price,omitzero"`
}

// A Method is a way to lay a coat and the share of it that stays on the work.
type Method struct {
	Code     string      `json:"code"` // "wipe", "brush", "spray"
	Transfer num.Percent `json:"transfer_percent"`
}

// A Finish is coats in order; none at all is "bare": sanded, not coated.
type Finish struct {
	Code        string `json:"code"`
	Description string `json:"description"`
	Coats       []Coat `json:"coats"`
}

// A Coat is one product laid a number of times by one method.
type Coat struct {
	Product string `json:"product"`
	Coats   int    `json:"coats"`
	Method  string `json:"method"`
}

// A Grade of labour; the rate is the cost of a paid hour, not the charge.
type Grade struct {
	Code        string `json:"code"`
	Description string `json:"description"`
	Price       *Price `json:"price,omitzero"` // per h
}

// A Stage is a kind of work. Stages are listed in the order of the work, which is
// that of their positions; a list without positions is in order as it stands.
type Stage struct {
	Code        string `json:"code"`
	Position    int    `json:"position,omitzero"`
	Description string `json:"description"`
	Grade       string `json:"grade"`
	Bench       bool   `json:"bench"` // its hours bear overhead
}

// A Rule says how much work or how much of an item a piece takes:
//
//	setup + each x factor x measure / per,  measure / per up to a whole when Started
//
// and nothing, set-up included, where the measure is zero. Exactly one of Stage
// (minutes) and Item (its unit) is given. Factor is the piece's and the timber's
// working factor, for a Stage only. Role, Zone, Method and Of choose shares of
// the measure; When and With must hold of the piece. A range of minutes will be
// two optional members, low and high, beside each.
type Rule struct {
	Code    string      `json:"code"`
	Stage   string      `json:"stage,omitzero"`
	Item    string      `json:"item,omitzero"`
	Measure string      `json:"measure"`
	Role    string      `json:"role,omitzero"`
	Zone    string      `json:"zone,omitzero"`
	Method  string      `json:"method,omitzero"`
	Of      string      `json:"of,omitzero"` // a product of coats, or an item of ironmongery, alone
	Setup   num.Decimal `json:"setup"`
	Each    num.Decimal `json:"each"`
	Per     num.Decimal `json:"per"` // left out, or 0: 1
	Started bool        `json:"started,omitzero"`
	When    []string    `json:"when,omitzero"` // tags that all hold: "dovetails:hand"
	With    string      `json:"with,omitzero"` // an item the piece uses
	Note    string      `json:"note,omitzero"`
}

// Units returns the units by which a thickness is priced; so do the methods below
// for what they are of.
func (*Thickness) Units() []unit.Unit { return []unit.Unit{unit.M3, unit.Ft3, unit.Bf} }

// Units returns those of a sheet.
func (*Sheet) Units() []unit.Unit { return []unit.Unit{unit.Each, unit.M2} }

// Units returns that of a supply.
func (*Supply) Units() []unit.Unit { return []unit.Unit{unit.Pack} }

// Units returns that of an item of ironmongery.
func (*Fitting) Units() []unit.Unit { return []unit.Unit{unit.Each} }

// Units returns that of a grade of labour.
func (*Grade) Units() []unit.Unit { return []unit.Unit{unit.H} }
