package pricing

import (
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A SheetPlan is how all parts of the pieces included that are cut from one sheet
// come out of it: what to fetch and how to saw it. Sizes and places are in Units,
// places from the lower left corner of the untrimmed sheet, x along its length.
type SheetPlan struct {
	Code        string      `json:"code"`
	Description string      `json:"description"`
	Units       unit.System `json:"units"` // inches when every piece that takes the sheet is written in them, else millimetres
	Length      num.Decimal `json:"length"`
	Width       num.Decimal `json:"width"`
	Grain       bool        `json:"grain,omitzero"` // no part turns
	Kerf        num.Decimal `json:"kerf"`
	Trim        num.Decimal `json:"trim"` // along each edge
	OffcutMin   num.Decimal `json:"offcut_min"`
	Parts       []SheetPart `json:"parts"`
	PartsArea   num.Decimal `json:"parts_area"` // of all of them, m2
	SheetArea   num.Decimal `json:"sheet_area"` // of one, m2
	Sheets      int         `json:"sheets"`
	Bound       int         `json:"bound"`           // no layout can do it with fewer
	Apart       int         `json:"apart"`           // sheets when each piece line is cut on its own
	Finding     string      `json:"finding"`         // "2 sheets; no layout can do it with fewer", for people
	Saving      num.Money   `json:"saving,omitzero"` // (apart - sheets) x rate, of a sheet charged whole
	Layouts     []Layout    `json:"layouts"`
}

// A SheetPart is a line of the cutting list that a sheet plan cuts, under the mark
// that its diagrams show.
type SheetPart struct {
	Mark     string      `json:"mark"`  // A to Z, then AA
	Piece    string      `json:"piece"` // id of the piece line
	Name     string      `json:"name"`
	Length   num.Decimal `json:"length"`
	Width    num.Decimal `json:"width"`
	Quantity int         `json:"quantity"`
}

// A Layout is one way of cutting a sheet, and how often it is cut so.
type Layout struct {
	Number  int        `json:"layout"` // from 1
	Count   int        `json:"count"`
	Placed  []Placed   `json:"placed"` // in the order they come off the saw
	Cuts    []SheetCut `json:"cuts"`   // in the order a saw makes them, after the trim
	Offcuts []Placed   `json:"offcuts"`
}

// A Placed is a part or an offcut where it lies; Length and Width as it lies, so that
// those of a part that is Turned are the other way round.
type Placed struct {
	Mark   string      `json:"mark,omitzero"` // of a part
	X      num.Decimal `json:"x"`
	Y      num.Decimal `json:"y"`
	Length num.Decimal `json:"length"`
	Width  num.Decimal `json:"width"`
	Turned bool        `json:"turned,omitzero"`
}

// A SheetCut is one pass of the saw right across a rectangle: the sheet within its
// trim, or what earlier cuts made of it.
type SheetCut struct {
	Number int         `json:"cut"`   // from 1
	Along  bool        `json:"along"` // the blade runs along the length of the sheet, else across it
	At     num.Decimal `json:"at"`    // where the blade begins: x of a cut across, y of one along
	From   num.Decimal `json:"from"`  // where it runs from and to: y of a cut across, x of one along
	To     num.Decimal `json:"to"`
	Size   num.Decimal `json:"size"` // what it takes off, as a fence is set
}
