package api_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
)

// requests returns requests that are granted and between them have every member: the
// demo requests and what those lack.
func requests(t *testing.T) []document {
	t.Helper()
	var all []document
	for _, name := range []string{"tall-chest", "low-chest", "inch-chest", "drawer-boxes", "free-parts", "full-quotation", "agreed-below-cost"} {
		all = append(all, document{demo(t, name+".json"), "Request"})
	}
	tall, inch := all[0], all[2]
	solid := map[string]any{"construction": "lapped", "bottom": "solid", "bottom_fit": "slid_in"}
	applied := map[string]any{"construction": "applied", "bottom_fit": "slid_in"}
	return append(all,
		tall.with(t, "#/pieces/0/chest/drawers", solid),
		inch.with(t, "#/pieces/0/chest/drawers", solid),
		inch.with(t, "#/pieces/0/chest/drawers", applied),
		document{[]byte(batches), "Request"},
		document{[]byte(many(45, "")), "Request"}, // that looking longer cuts from fewer sheets
		document{[]byte(visit(`{"overhead": {"per_hour": "17.25"}, "profit": {"margin_percent": 22.5}, "round_to": "0.50"}`)), "Request"},
		document{[]byte(visit(`{"overhead": {"percent": 40}, "profit": {"markup_percent": 25}, "tax": "none",
			"taxes": [{"code": "none", "name": "No VAT", "percent": 0}], "conditions": [{"title": "Validity", "text": "A month."}],
			"workshop": {"name": "Ours", "address": ["Plane Lane"], "registrations": ["None"]}}`)), "Request"},
		document{[]byte(visit(`{"discount_amount": "12.50", "payments": ` + halves + `}`)), "Request"}.with(t, "#/pieces/0/agreed_price", "999999999.99"), // above any discount
		document{[]byte(`{"rate": "12.50", "unit": "m3"}`), "NewPrice"},
		document{[]byte(`{"skip_refused": true, "accept_large_moves": true}`), "Consent"},
		document{[]byte(ines), "KeptCustomer"},
		document{[]byte(`{"customer": ` + ines + `, "title": "A visit", "request": ` + call + `, "valid_days": 45, "note": "As we spoke of.", "private_note": "Late."}`), "Draft"}.with(t, "#/customer/private_note", absent{}).with(t, "#/customer/phone", absent{}),
		document{[]byte(`{"customer": {"id": 1}, "title": "A visit", "request": ` + call + `}`), "Draft"},
		document{[]byte(`{"choose": ["extra"]}`), "Acceptance"},
		document{[]byte(`{"base": ` + call + `, "variants": [{"title": "Cheaper", "patch": {"terms": {"discount_percent": 5}}}]}`), "Comparing"},
	)
}

// batches are loose boxes and parts in both units, as the demos have them not.
const batches = `{"pieces": [
	{"title": "Lapped, in mm", "kind": "drawer_boxes", "timbers": {"show": "oak-prime", "inner": "oak-prime"}, "glue": "pva", "finishes": {"inside": "shellac-1"},
		"drawer_boxes": {"boxes": [{"width": 430, "height": 150, "depth": 450}], "construction": "lapped", "bottom": "solid", "bottom_fit": "slid_in"}},
	{"title": "Lapped, in inches", "units": "in", "kind": "drawer_boxes", "timbers": {"show": "oak-prime", "inner": "oak-prime"}, "glue": "pva", "finishes": {"inside": "shellac-1"},
		"drawer_boxes": {"boxes": [{"width": 18, "height": 6, "depth": 18}], "construction": "lapped", "bottom": "solid", "bottom_fit": "slid_in"}},
	{"title": "Applied, in inches", "units": "in", "kind": "drawer_boxes", "timbers": {"inner": "oak-prime"}, "sheets": {"bottom": "birch-ply-6"}, "glue": "pva",
		"drawer_boxes": {"boxes": [{"width": 18, "height": 6, "depth": 18}]}, "ironmongery": [{"code": "knob-35", "per": "drawer", "each": 1}]},
	{"title": "Corner, in inches", "units": "in", "kind": "parts", "timbers": {"show": "oak-prime"}, "waste_percent": {"show": 30, "oak-prime": 40},
		"parts": {"parts": [{"name": "Side", "length": 20, "width": 4, "thickness": 0.75, "material": "show", "inside": {"faces": 1}}],
			"joints": [{"type": "lapped_dovetail", "height": 4, "tail_thickness": 0.5, "pin_thickness": 0.75},
				{"type": "mortise_tenon", "length": 1, "width": 2, "thickness": 0.25}, {"type": "housing", "length": 4, "thickness": 0.75, "depth": 0.25}]}}
]}`

// visit returns a request of one service with those terms.
func visit(terms string) string {
	return `{"customer": {"name": "Ines Marlowe", "address": ["Upper Tansy"], "delivery_address": ["Great Wending"], "email": "ines@example.com"},
		"pieces": [{"id": "visit", "title": "A visit", "kind": "service", "agreed_price": "90.00", "service": {"drops": 1},
			"extra_hours": [{"stage": "drawing", "hours": 1, "note": "measuring"}],
			"bought_in": [{"description": "Ferry", "quantity": 1, "unit": "trip", "rate": "12.50"}]}],
		"terms": ` + terms + `}`
}

// ines is a customer that is kept; call is what a quote is for, with an extra.
const (
	ines = `{"name": "Ines Marlowe", "address": ["Upper Tansy"], "delivery_address": ["Great Wending"], "email": "ines@example.com", "phone": "01632 960188", "private_note": "Late."}`
	call = `{"pieces": [{"id": "visit", "title": "A visit", "kind": "service", "service": {"drops": 1}},
		{"id": "extra", "title": "Another", "kind": "service", "optional": true, "service": {"drops": 1}}]}`
)

// halves are two payments.
const halves = `[{"title": "Deposit", "percent": 50, "due": "when you accept"}, {"title": "Balance", "percent": 50, "due": "on delivery"}]`

// starterData is the starter book as a document, paid by halves; its first timber
// needs no more for its edges, so that its boards may be as narrow as the contract
// says.
func starterData(t *testing.T) document {
	t.Helper()
	b, err := catalog.Starter(date.MustParse("2026-11-01"))
	require.NoError(t, err)
	text, err := wire.Encode(b.Data())
	require.NoError(t, err)
	return document{text, "Book"}.with(t, "#/timbers/0/edge_allowance", 0).
		with(t, "#/terms/deposit_percent", 0).with(t, "#/terms/payments", json.RawMessage(halves))
}
