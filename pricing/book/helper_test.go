package book_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// valid returns a small Book's data in which nothing is wrong: at least one of
// everything, and every kind of rule.
func valid(t testing.TB) book.Data {
	t.Helper()
	var d book.Data
	require.NoError(t, json.Unmarshal([]byte(validJSON), &d))
	return d
}

const validJSON = `{
	"version": 3, "as_of": "2026-11-01", "currency": "GBP",
	"terms": {
		"overhead": {"per_hour": "16.00"}, "contingency_percent": 5, "profit": {"margin_percent": 20}, "fees_percent": 1.5, "bought_in_markup_percent": 10,
		"round_to": "1.00", "discount_percent": 0, "deposit_percent": 50, "valid_days": 30, "tax": "standard",
		"taxes": [{"code": "standard", "name": "VAT", "percent": 20}, {"code": "zero", "name": "VAT", "percent": 0}],
		"workshop": {"name": "Mill Lane Workshop", "address": ["Mill Lane"], "email": "hello@mill.example.com", "phone": "01632 960001", "registrations": ["VAT none"], "paper": "a4"},
		"conditions": [{"title": "Validity", "text": "Thirty days."}]
	},
	"timbers": [
		{"code": "ash", "description": "Ash", "density": 702, "slope": 8, "board_width": 150, "longest": 3000, "width_allowance": 6, "edge_allowance": 6, "length_allowance": 25,
		 "waste_percent": 30, "working_factor": 1, "movement": {"radial": 0.00172, "tangential": 0.00282}, "source": "invented",
		 "thicknesses": [{"code": "ash-27", "thickness": 27, "finishes_to": 22, "price": {"rate": "1850.00", "unit": "m3", "from": "2026-10-01"}}, {"code": "ash-34", "thickness": 34, "finishes_to": 28}]},
		{"code": "pine", "description": "Pine", "density": 526, "slope": 6, "board_width": 200, "longest": 4000, "width_allowance": 0, "edge_allowance": 0, "length_allowance": 0,
		 "waste_percent": 20, "working_factor": 0.85, "movement": {"radial": 0.00137, "tangential": 0.00271}, "thicknesses": []}
	],
	"sheets": [{"code": "ply-6", "description": "Plywood", "density": 680, "thickness": 6, "length": 2440, "width": 1220, "waste_percent": 10, "charged": "whole", "price": {"rate": "28.00", "unit": "each", "from": "2026-10-01"}}],
	"supplies": [
		{"code": "glue", "description": "Glue", "unit": "kg", "pack_size": 0.5, "charged": "whole", "price": {"rate": "12.50", "unit": "pack", "from": "2026-10-01"},
		 "glue": {"spread": 180, "loss_percent": 50, "pot_loss": 5, "open_minutes": 20, "clamp_minutes": 120}, "hazards": ["isocyanate"], "source": "invented"},
		{"code": "lacquer", "description": "Lacquer", "unit": "l", "pack_size": 5, "charged": "used", "coating": {"volume_solids_percent": 30, "dry_film": 30}},
		{"code": "oil", "description": "Oil", "unit": "l", "pack_size": 1, "charged": "used", "coating": {"coverage": 14}, "hazards": ["drying_oil", "flammable"]},
		{"code": "tape", "description": "Tape", "unit": "m", "pack_size": 50, "charged": "used"}
	],
	"ironmongery": [{"code": "knob", "description": "Knob", "mass": 0.04, "price": {"rate": "4.80", "unit": "each", "from": "2026-10-01"}}],
	"methods": [{"code": "spray", "transfer_percent": 65}, {"code": "wipe", "transfer_percent": 90}],
	"finishes": [{"code": "bare", "description": "Bare", "coats": []}, {"code": "oil-3", "description": "Oil", "coats": [{"product": "oil", "coats": 3, "method": "wipe"}, {"product": "lacquer", "coats": 1, "method": "spray"}]}],
	"labour": [{"code": "bench", "description": "Bench hand", "price": {"rate": "32.00", "unit": "h", "from": "2026-10-01"}}],
	"stages": [{"code": "sawing", "description": "Sawing", "grade": "bench", "bench": true}, {"code": "coating", "description": "Coating", "grade": "bench", "bench": false}],
	"rules": [
		{"code": "brush-glue", "item": "tape", "measure": "glue_up", "setup": 0, "each": 1, "per": 6, "started": true, "with": "glue"},
		{"code": "coat-wipe", "stage": "coating", "measure": "coat", "zone": "outside", "method": "wipe", "of": "oil", "setup": 1.25, "each": 8.125, "per": 1, "note": "by hand"},
		{"code": "knobs", "stage": "sawing", "measure": "ironmongery", "of": "knob", "setup": 0, "each": 6, "per": 1},
		{"code": "rub", "stage": "coating", "measure": "denib", "zone": "inside", "setup": 0, "each": 5, "per": 1},
		{"code": "saw-ash", "stage": "sawing", "measure": "sawn_board", "role": "ash", "setup": 0, "each": 2, "per": 1},
		{"code": "saw-show", "stage": "sawing", "measure": "sawn_board", "role": "show", "setup": 30, "each": 1.5, "per": 1, "when": ["kind:chest", "dovetails:hand"]},
		{"code": "tape-rule", "item": "tape", "measure": "tape", "setup": 0, "each": 1, "per": 1}
	]
}`

// made returns the Book of d, which has no fault.
func made(t testing.TB, d book.Data) *book.Book {
	t.Helper()
	b, err := book.New(d)
	require.NoError(t, err)
	return b
}

// pointers returns where New finds faults in d, in its order.
func pointers(t testing.TB, d book.Data) []string {
	t.Helper()
	b, err := book.New(d)
	if err == nil {
		require.NotNil(t, b)
		return nil
	}
	require.Nil(t, b)
	var l fault.List
	require.ErrorAs(t, err, &l)
	var at []string
	for _, f := range l {
		require.NotEmpty(t, f.Detail)
		at = append(at, f.Pointer)
	}
	return at
}

func mm(n int) unit.Length { return unit.Length(n) * unit.Millimetre }

func percent(p num.Percent) *num.Percent { return &p }

func rate(r num.Rate) *num.Rate { return &r }
