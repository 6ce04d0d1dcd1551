// Package piece turns a piece of furniture in the maker's words into parts,
// joints and counts. It is geometry only: it knows no price and no timber; of a
// sheet it knows the thickness it is told.
//
// A new kind of piece is one file here with its specification and its build
// method, one member of Piece, and one row of kinds.
package piece

import (
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// A Piece is one line of a request: what the customer wants, as written. Sizes
// are Decimals in Units. Exactly the member that Kind names is present.
type Piece struct {
	ID            string                 `json:"id,omitzero"` // a slug, unique in the request; default its place: "1"
	Title         string                 `json:"title"`
	Quantity      num.Count              `json:"quantity,omitzero"` // default 1
	Kind          string                 `json:"kind"`
	Units         unit.System            `json:"units,omitzero"`          // default "mm"
	AlternativeTo string                 `json:"alternative_to,omitzero"` // an id: shown beside it, not in the totals
	Optional      bool                   `json:"optional,omitzero"`       // an extra: shown, not in the totals
	Tax           string                 `json:"tax,omitzero"`            // default Terms.Tax
	Timbers       map[string]string      `json:"timbers,omitzero"`        // role (show, inner): timber
	Sheets        map[string]string      `json:"sheets,omitzero"`         // role (bottom, back): sheet
	Glue          string                 `json:"glue,omitzero"`
	Finishes      map[string]string      `json:"finishes,omitzero"` // zone (outside, inside): finish
	Ironmongery   []Fitted               `json:"ironmongery,omitzero"`
	Dovetails     string                 `json:"dovetails,omitzero"`      // "hand" (default) or "machine"
	WorkingFactor *num.Decimal           `json:"working_factor,omitzero"` // default 1; 0.5 to 3, two decimals
	Waste         map[string]num.Percent `json:"waste_percent,omitzero"`  // role, timber or "sheet": instead of the Book's
	ExtraHours    []ExtraHours           `json:"extra_hours,omitzero"`    // for the whole line
	BoughtIn      []BoughtIn             `json:"bought_in,omitzero"`      // for the whole line
	AgreedPrice   *num.Rate              `json:"agreed_price,omitzero"`   // of one piece

	Chest       *Chest       `json:"chest,omitzero"`
	DrawerBoxes *DrawerBoxes `json:"drawer_boxes,omitzero"`
	Parts       *PartList    `json:"parts,omitzero"`
	Service     *Service     `json:"service,omitzero"`
}

// Fitted is ironmongery counted off what a piece is made of; drawers and
// openings may be chosen by the width of the opening, or of the box where there
// is none.
type Fitted struct {
	Code       string       `json:"code"`
	Per        string       `json:"per"`                  // drawer, opening, case or piece
	Each       num.Decimal  `json:"each"`                 // a whole number
	FromWidth  *num.Decimal `json:"from_width,omitzero"`  // inclusive
	BelowWidth *num.Decimal `json:"below_width,omitzero"` // exclusive
}

// ExtraHours are hours no measure gives.
type ExtraHours struct {
	Stage string      `json:"stage"`
	Hours num.Decimal `json:"hours"`
	Note  string      `json:"note,omitzero"`
}

// A BoughtIn line is work or goods of others.
type BoughtIn struct {
	Description string      `json:"description"`
	Quantity    num.Decimal `json:"quantity"` // at most three decimals
	Unit        unit.Unit   `json:"unit"`     // any text of at most 20 characters
	Rate        num.Rate    `json:"rate"`
	Provisional bool        `json:"provisional,omitzero"` // a sum allowed for what is not settled yet
}

// A kind is a name in JSON and where in a Piece its specification stands.
type kind struct {
	name string
	of   func(*Piece) maker // nil when the piece does not have it
}

// kinds is every kind of piece, in the order of the documentation.
var kinds = []kind{
	{"chest", func(p *Piece) maker { return given(p.Chest) }},
	{"drawer_boxes", func(p *Piece) maker { return given(p.DrawerBoxes) }},
	{"parts", func(p *Piece) maker { return given(p.Parts) }},
	{"service", func(p *Piece) maker { return given(p.Service) }},
}

// A maker builds one piece of its own specification into a Build and notes every
// fault of it with pointers from its own root.
type maker interface {
	build(*bench)
}

func given[P interface {
	*T
	maker
}, T any](p P) maker {
	if p == nil {
		return nil
	}
	return p
}

// Stocks tells what a material (a role or a code) is, as far as package piece
// must know.
type Stocks func(material string) Stock

// A Stock is a kind of material.
type Stock struct {
	Known     bool        // it is named, and in the Book
	Sheet     bool        // not timber
	Thickness unit.Length // of a sheet that is known
}

// A Build is what must be made for one piece: parts, joints, and the counts no
// part shows.
type Build struct {
	Parts  []Part // unmerged; those of the case first, then box by box
	Joints []Joint
	Boxes  []Box
	Cases  int

	CaseParts int         // how many of Parts are the case's
	Height    unit.Length // overall, of a case
	GlueUps   int         // listed by hand, beside panels, boxes and cases
	Visit     *Service    // what a service is typed to be

	Construction string // "lapped" or "applied", of drawers and boxes
	Bottom       string // "sheet" or "solid", likewise
}

// A Box is a number of drawer boxes that are alike.
type Box struct {
	Quantity             int
	Width, Height, Depth unit.Length // outside, before anything stands proud
	InsideW, InsideD     unit.Length
	Opening              unit.Length // width of the opening, or of the box where there is none
	Fitted               bool        // into an opening
	Tape                 unit.Length // of the four corners of one box, if they are masked
	First, Last          int         // its parts are Build.Parts[First:Last]
	Sheet                unit.Length // thickness of a sheet bottom, else zero
	GrooveDepth          unit.Length
	Board                unit.Length // thickness of its walls
}

// Build returns what must be made for one piece (not Quantity of them), or every
// fault of its specification with pointers from the piece's root ("#/chest").
func (p *Piece) Build(stocks Stocks) (Build, fault.List) {
	b := &bench{units: p.Units, stocks: stocks, outside: p.Finishes["outside"] != ""}
	if b.units == "" {
		b.units = unit.InMillimetres
	}
	known := false
	for _, k := range kinds {
		m := k.of(p)
		switch {
		case k.name == p.Kind && m == nil:
			known = true
			b.faults.Add("#", "a piece of kind %q needs its member %q: add it", p.Kind, k.name)
		case k.name == p.Kind:
			known = true
			b.at = "#/" + k.name
			m.build(b)
		case m != nil:
			b.faults.Add("#/"+k.name, "a piece of kind %q takes no member %q: leave it out", p.Kind, k.name)
		}
	}
	if !known {
		b.faults.Unknown("#/kind", p.Kind, "kind of piece", "write one of "+kindNames())
	}
	return b.made, b.faults
}

func kindNames() string {
	s := ""
	for i, k := range kinds {
		if i > 0 {
			s += ", "
		}
		s += k.name
	}
	return s
}
