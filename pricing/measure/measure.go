// Package measure lists what a take-off counts: the words that rules,
// ironmongery and the workshop's papers share. It counts nothing itself.
package measure

import (
	"strings"

	"reckoner/pricing/unit"
)

// An ID is one measure; All and the constants below are in the order in which
// measures are printed.
type ID int

// The measures. What each counts is its Meaning in All.
const (
	Piece ID = iota
	PartLine
	Part
	SheetPart
	SawnBoard
	Rip
	PlanedArea
	Panel
	PanelArea
	EdgeJoint
	Case
	Opening
	Drawer
	BoxSize
	Door
	Shelf
	ThroughCorner
	LappedCorner
	ThroughTail
	LappedTail
	MortiseTenon
	HousingJoint
	Housing
	Groove
	Runner
	TopFixing
	JointArea
	PanelGlueUp
	BoxGlueUp
	CaseGlueUp
	GlueUp
	MaskedCorner
	Tape
	SandedOutside
	SandedInside
	FinishPass
	Coat
	Denib
	Ironmongery
	SheetCut
	FinishedVolume
	NetVolume
	Mass
	Delivery
	Drop
	LiftPerson
	Site
	Count // how many measures there are; not one of them
)

// A Measure is the name, unit and definition of one count, always taken for the
// whole piece line.
type Measure struct {
	Name    string
	Unit    unit.Unit
	Shares  Shares
	Meaning string // one sentence; printed in the workshop's papers
}

// Shares says what a measure is kept apart by.
type Shares int

const (
	Whole    Shares = iota // not kept apart
	ByRole                 // role of the material, or the timber's code; "sheet" for every sheet
	ByFinish               // "zone/product/method"
	ByZone                 // "outside" or "inside"
	ByItem                 // code of the ironmongery
)

// All is every measure by its ID.
var All = [Count]Measure{
	Piece:          {"piece", unit.Each, Whole, "pieces of the line; a list of boxes or parts is one piece, a service none"},
	PartLine:       {"part_line", unit.Each, Whole, "lines of the cutting list, offcuts too"},
	Part:           {"part", unit.Each, ByRole, "timber parts, without offcuts"},
	SheetPart:      {"sheet_part", unit.Each, Whole, "parts cut from sheets"},
	SawnBoard:      {"sawn_board", unit.Each, ByRole, "sawn boards to cut: parts times their strips"},
	Rip:            {"rip", unit.M, ByRole, "sawn length of all strips"},
	PlanedArea:     {"planed_area", unit.M2, ByRole, "both sawn faces of the timber parts"},
	Panel:          {"panel", unit.Each, ByRole, "parts glued up from more than one strip"},
	PanelArea:      {"panel_area", unit.M2, ByRole, "both finished faces of the panels"},
	EdgeJoint:      {"edge_joint", unit.M, ByRole, "edges glued, between the strips of panels and as listed"},
	Case:           {"case", unit.Each, Whole, "cases made"},
	Opening:        {"opening", unit.Each, Whole, "drawers fitted into an opening"},
	Drawer:         {"drawer", unit.Each, Whole, "drawer boxes made"},
	BoxSize:        {"box_size", unit.Each, Whole, "different outside sizes of drawer boxes, to 0.1 mm"},
	Door:           {"door", unit.Each, Whole, "doors made"},
	Shelf:          {"shelf", unit.Each, Whole, "loose shelves made"},
	ThroughCorner:  {"through_dovetail_corner", unit.Each, Whole, "corners of one board to one board with through dovetails"},
	LappedCorner:   {"lapped_dovetail_corner", unit.Each, Whole, "corners of one board to one board with lapped dovetails"},
	ThroughTail:    {"through_tail", unit.Each, Whole, "tails of the through dovetails"},
	LappedTail:     {"lapped_tail", unit.Each, Whole, "tails of the lapped dovetails"},
	MortiseTenon:   {"mortise_tenon", unit.Each, Whole, "ends with a tenon, twin tenons counted once"},
	HousingJoint:   {"housing_joint", unit.Each, Whole, "ends housed"},
	Housing:        {"housing", unit.M, Whole, "length of the housings"},
	Groove:         {"groove", unit.M, Whole, "length of grooves and rebates"},
	Runner:         {"runner", unit.Each, Whole, "drawer runners and kickers"},
	TopFixing:      {"top_fixing", unit.Each, Whole, "slotted fixings of tops, never glued"},
	JointArea:      {"joint_area", unit.M2, Whole, "glued area of all joints"},
	PanelGlueUp:    {"panel_glue_up", unit.Each, Whole, "panels glued up"},
	BoxGlueUp:      {"box_glue_up", unit.Each, Whole, "drawer boxes glued up"},
	CaseGlueUp:     {"case_glue_up", unit.Each, Whole, "cases glued up"},
	GlueUp:         {"glue_up", unit.Each, Whole, "all glue-ups, those listed too"},
	MaskedCorner:   {"masked_corner", unit.Each, Whole, "inside corners taped before the glue-up"},
	Tape:           {"tape", unit.M, Whole, "tape in the masked corners"},
	SandedOutside:  {"sanded_outside", unit.M2, ByRole, "outside area to sand, where the outside is finished or left bare"},
	SandedInside:   {"sanded_inside", unit.M2, ByRole, "inside area to sand, where the inside is finished or left bare"},
	FinishPass:     {"finish_pass", unit.Each, ByFinish, "coats laid, one pass each over the whole line"},
	Coat:           {"coat", unit.M2, ByFinish, "area times the coats of a step"},
	Denib:          {"denib", unit.M2, ByZone, "area rubbed down between coats"},
	Ironmongery:    {"ironmongery", unit.Each, ByItem, "pieces of ironmongery"},
	SheetCut:       {"sheet_cut", unit.M, Whole, "edges of the sheet parts"},
	FinishedVolume: {"finished_volume", unit.M3, Whole, "timber and sheet parts at their finished sizes, without offcuts"},
	NetVolume:      {"net_volume", unit.M3, Whole, "timber at its sawn sizes, before waste"},
	Mass:           {"mass", unit.Kg, Whole, "finished volume times density, and the ironmongery"},
	Delivery:       {"delivery", unit.Km, Whole, "distance to deliver over, one way"},
	Drop:           {"drop", unit.Each, Whole, "calls to deliver at"},
	LiftPerson:     {"lift_person", unit.Each, Whole, "people to carry"},
	Site:           {"site", unit.H, Whole, "hours of work on site"},
}

// Find returns the measure with that name.
func Find(name string) (ID, bool) {
	for id, m := range All {
		if m.Name == name {
			return ID(id), true
		}
	}
	return 0, false
}

// Unit returns what id is counted in.
func (id ID) Unit() unit.Unit { return All[id].Unit }

// String returns the name of id.
func (id ID) String() string { return All[id].Name }

// CutShare returns the parts of a share ByFinish: "zone/product/method".
func CutShare(share string) (zone, product, method string) {
	zone, rest, _ := strings.Cut(share, "/")
	product, method, _ = strings.Cut(rest, "/")
	return zone, product, method
}
