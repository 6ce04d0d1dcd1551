package piece

import "reckoner/pricing/unit"

// Roles of a timber, of a sheet, and zones of a finish.
const (
	Show   = "show"   // timber meant to be seen
	Inner  = "inner"  // timber inside
	Bottom = "bottom" // sheet of the drawer bottoms
	Back   = "back"   // sheet of the case's back
)

// A Part is a part of one piece at its finished size.
type Part struct {
	Shape
	Quantity int
	OneBoard string // pointer of the setting that refuses to glue it up from strips, if any

	At                      string // pointer of the object it comes from: "#/chest"
	LongAt, WideAt, ThickAt string // of the member that sets a size by itself, else At

	ownExtra bool // Extra is the part's own, not for its length
}

// A Shape is all that makes two parts the same line of a cutting list. Lengths
// run along the grain.
type Shape struct {
	Name                     string
	Material                 string // a role, or the code of a timber or sheet
	Length, Width, Thickness unit.Length
	Outside, Inside          Surface
	Extra                    unit.Length // thickness to lose beyond what the sawn board finishes to
	Front                    bool        // a drawer front: the judgement of strips is for these
	Offcut                   bool        // stands on the list, buys nothing
}

// A Surface says what of a part is finished in one zone.
type Surface struct {
	Faces     int `json:"faces,omitzero"`
	LongEdges int `json:"long_edges,omitzero"`
	Ends      int `json:"ends,omitzero"`
}

// longPart is the length from which a timber part that does not say otherwise
// loses longExtra more in flattening.
const (
	longPart  = 1500 * unit.Millimetre
	longExtra = 2 * unit.Millimetre
)

// extra returns the thickness that a timber part of length l loses beyond its
// sawn thickness when it does not say so itself.
func extra(l unit.Length) unit.Length {
	if l > longPart {
		return longExtra
	}
	return 0
}
