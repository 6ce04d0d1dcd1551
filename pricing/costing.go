// Package pricing prices pieces of furniture from a Book: one function, Cost,
// and the types of its answer. It reads no file, clock, log or database, and
// uses no floating point. JSON tags are part of the contract: what Cost returns
// is what the API answers, a quote freezes and testdata holds.
package pricing

import (
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// Engine names the rules of calculation. It changes whenever any costing in
// testdata changes its bytes; a test holds the two together.
const Engine = "2"

// A Request is what to price. The caller has already chosen the Book of AsOf.
type Request struct {
	AsOf     date.Date         `json:"as_of,omitzero"` // the Book's when absent
	Customer *Customer         `json:"customer,omitzero"`
	Pieces   []piece.Piece     `json:"pieces"`
	Terms    *book.TermsChange `json:"terms,omitzero"`
	Cutting  string            `json:"cutting,omitzero"` // how long to look for fewer sheets: "quick" (default) or "thorough"
}

// A Customer is who the papers are for; only printed.
type Customer struct {
	Name            string   `json:"name"`
	Address         []string `json:"address,omitzero"`
	DeliveryAddress []string `json:"delivery_address,omitzero"`
	Email           string   `json:"email,omitzero"`
}

// A Costing is the price of a request with the working of every number.
type Costing struct {
	Currency num.Currency  `json:"currency"`
	AsOf     date.Date     `json:"as_of"`
	Book     int64         `json:"book_version"`
	Engine   string        `json:"engine"`
	Terms    book.Terms    `json:"terms"` // in force, the request's changes made
	Pieces   []PricedPiece `json:"pieces"`
	Totals   Totals        `json:"totals"`
	Buying   []BuyingLine  `json:"buying"`
	Cutting  []SheetPlan   `json:"cutting,omitzero"` // of every sheet of the pieces included, by code; absent before engine 2
	Cautions []string      `json:"cautions"`

	Sensitivity []Sensitivity `json:"sensitivity,omitzero"` // where it was asked for
}

// A PricedPiece is one piece line. Parts, measures, lines and build-up are for
// the whole line (Quantity pieces); Mass and UnitPrice are for one.
type PricedPiece struct {
	ID          string      `json:"id"`
	Title       string      `json:"title"`
	Quantity    int         `json:"quantity"`
	Kind        string      `json:"kind"`
	Units       unit.System `json:"units"`
	Tax         string      `json:"tax"`
	Included    bool        `json:"included"` // in the totals: neither an alternative nor an extra
	Parts       []CutPart   `json:"parts"`
	Joints      []CutJoint  `json:"joints"`
	Measures    []Measured  `json:"measures"`
	Timber      []Line      `json:"timber"`
	Sheets      []Line      `json:"sheets"`
	Ironmongery []Line      `json:"ironmongery"`
	Supplies    []Line      `json:"supplies"`
	BoughtIn    []Line      `json:"bought_in"`
	Labour      []Line      `json:"labour"`
	BuildUp     []Step      `json:"build_up"`
	Hours       num.Decimal `json:"hours"`
	BenchHours  num.Decimal `json:"bench_hours"`
	UnitPrice   num.Money   `json:"unit_price"`
	Price       num.Money   `json:"price"`
	Mass        num.Decimal `json:"mass"`
	Checks      []Check     `json:"checks"`
}

// Headings returns the lines of p under their headings, in the order in which
// prime cost adds them up: timber, sheets, ironmongery, supplies, labour, bought-in.
func (p *PricedPiece) Headings() [6][]Line {
	return [6][]Line{p.Timber, p.Sheets, p.Ironmongery, p.Supplies, p.Labour, p.BoughtIn}
}

// A CutPart is a part with what it is cut from; sizes as the piece writes them.
type CutPart struct {
	Name          string      `json:"name"`
	Quantity      int         `json:"quantity"`
	Length        num.Decimal `json:"length"`
	Width         num.Decimal `json:"width"`
	Thickness     num.Decimal `json:"thickness"`
	Material      string      `json:"material"`
	Code          string      `json:"code,omitzero"` // of the sawn thickness, or of the sheet
	SawnThickness num.Decimal `json:"sawn_thickness,omitzero"`
	Strips        int         `json:"strips,omitzero"`
	SawnLength    num.Decimal `json:"sawn_length,omitzero"`
	SawnWidth     num.Decimal `json:"sawn_width,omitzero"` // all strips together
	Volume        num.Decimal `json:"volume,omitzero"`     // quantity included, in the timber's unit

	// What the measures add up, quantity included: m3 and m2, six places.
	FinishedVolume num.Decimal `json:"finished_volume,omitzero"`
	Area           num.Decimal `json:"area,omitzero"` // sheet parts
	Outside        num.Decimal `json:"outside_area,omitzero"`
	Inside         num.Decimal `json:"inside_area,omitzero"`
}

// A CutJoint is one joint line: all joints of one kind and equal sizes.
type CutJoint struct {
	Type      string      `json:"type"`
	Quantity  int         `json:"quantity"`
	Height    num.Decimal `json:"height,omitzero"`
	Length    num.Decimal `json:"length,omitzero"`
	Width     num.Decimal `json:"width,omitzero"`
	Thickness num.Decimal `json:"thickness,omitzero"`
	Depth     num.Decimal `json:"depth,omitzero"`
	TailBoard num.Decimal `json:"tail_thickness,omitzero"`
	PinBoard  num.Decimal `json:"pin_thickness,omitzero"`
	Lap       num.Decimal `json:"lap,omitzero"`
	Tails     int         `json:"tails,omitzero"`
	Twin      bool        `json:"twin,omitzero"`
	Area      num.Decimal `json:"area"` // glued, m2, six places
}

// A Measured is a measure of this piece line, or one share of it.
type Measured struct {
	Name     string      `json:"name"`
	Share    string      `json:"share,omitzero"` // role, zone, zone/product/method, or item
	Unit     unit.Unit   `json:"unit"`
	Quantity num.Decimal `json:"quantity"`
}

// A Line is one amount: Quantity x Rate, rounded once.
type Line struct {
	Code        string      `json:"code"`
	Description string      `json:"description"`
	Grade       string      `json:"grade,omitzero"` // labour
	Basis                   // how Quantity came about
	Quantity    num.Decimal `json:"quantity"`
	Unit        unit.Unit   `json:"unit"`
	Rate        num.Rate    `json:"rate"`
	Amount      num.Money   `json:"amount"`
	Working     string      `json:"working"`              // Basis.Sentence, for people
	Provisional bool        `json:"provisional,omitzero"` // bought in: a sum allowed for what is not settled yet
}

// A Basis is how a line's quantity came about. It has one shape for timber,
// sheets, supplies, fittings and hours, so that a workbook needs two formulas
// and the amount:
//
//	term.Needed = setup + each x factor x quantity / per   (quantity / per up to a whole when Started)
//	needed      = sum of the terms
//	quantity    = needed x (1 + waste) / per               (up to a whole when Whole)
//
// A term is rounded once (minutes to 2 places, all else to 6), the quantity once
// to the places of its unit; the next formula takes the rounded figure.
type Basis struct {
	Terms  []Term      `json:"terms"`
	Needed num.Decimal `json:"needed"`
	Waste  num.Percent `json:"waste_percent,omitzero"` // timber, and sheets by area
	Per    num.Decimal `json:"per,omitzero"`           // 60 for hours; a pack's size when Whole; absent: 1
	Whole  bool        `json:"whole,omitzero"`
}

// A Term is one reason for using something: a rule on one share of a measure,
// the parts of a timber, a glue's joints or glue-ups, a coat, a fitting.
type Term struct {
	Rule     string      `json:"rule,omitzero"`  // its code; absent where no rule is at work
	Measure  string      `json:"measure"`        // what Quantity counts
	Share    string      `json:"share,omitzero"` // role, zone or item of the measure
	Quantity num.Decimal `json:"quantity"`
	Setup    num.Decimal `json:"setup,omitzero"`
	Each     num.Decimal `json:"each"`
	Per      num.Decimal `json:"per,omitzero"` // absent: 1
	Started  bool        `json:"started,omitzero"`
	Factor   num.Decimal `json:"factor,omitzero"` // working factors, glue loss; absent: 1
	Needed   num.Decimal `json:"needed"`
}

// A Step is one step of the build-up: prime, overhead, contingency, cost,
// profit, fees, rounding, price, in that order, always all eight.
type Step struct {
	Name    string       `json:"name"`
	Hours   *num.Decimal `json:"hours,omitzero"`   // overhead per bench hour
	Rate    *num.Rate    `json:"rate,omitzero"`    // overhead per hour; rounding: what is rounded up to
	Percent *num.Percent `json:"percent,omitzero"` // overhead, contingency, profit, fees
	Of      string       `json:"of,omitzero"`      // "prime", "prime + overhead", "price before fees", "cost", "price"
	Amount  num.Money    `json:"amount"`
	Working string       `json:"working"`
}

// Names of steps that others look for.
const (
	StepCost = "cost"
	StepFees = "fees"
)

// A BuyingLine is what to buy for the whole request, in whole packs and sheets.
type BuyingLine struct {
	Code        string      `json:"code"`
	Description string      `json:"description"`
	Needed      num.Decimal `json:"needed"`
	Unit        unit.Unit   `json:"unit"`
	Packs       int         `json:"packs,omitzero"`
	PackSize    num.Decimal `json:"pack_size,omitzero"`
	Amount      num.Money   `json:"amount"`
}

// A Check is something a careful maker would want said.
type Check struct {
	Code     string `json:"code"`
	Severity string `json:"severity"` // "warning" or "caution"
	Message  string `json:"message"`
	Source   string `json:"source,omitzero"`
	Pointer  string `json:"pointer"`
	People   int    `json:"people,omitzero"` // two_people: how many it takes to lift
}
