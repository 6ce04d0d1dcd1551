package exports_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/exports"
	"reckoner/pricing/date"
)

// bySums is a request with a discount of an amount over three taxes, payments,
// provisional sums with a mark-up, an alternative and an extra.
const bySums = `{"customer": {"name": "Orla Quillfeather", "address": ["The Old Forge", "Little Wending", "ZZ1 4ZZ"]},
	"pieces": [
		{"id": "table", "title": "Washstand of drawers", "kind": "chest", "timbers": {"show": "oak-prime", "inner": "tulipwood-select"},
		 "sheets": {"bottom": "birch-ply-6", "back": "birch-ply-6"}, "glue": "pu-slow", "finishes": {"outside": "oil-3"}, "chest": {"width": 900, "depth": 480, "height": 815, "rows": [{}, {}, {}]},
		 "bought_in": [{"description": "Marble top, honed, the stone to be chosen.", "quantity": 1, "unit": "each", "rate": "1190.35", "provisional": true},
			{"description": "Initials cut into the top drawer front", "quantity": 1, "unit": "job", "rate": "85.00"},
			{"description": "Handles to be chosen", "quantity": 6, "unit": "each", "rate": "14.2075", "provisional": true}]},
		{"id": "slate", "title": "The same with a top of slate", "alternative_to": "table", "kind": "chest", "timbers": {"show": "oak-prime", "inner": "tulipwood-select"},
		 "sheets": {"bottom": "birch-ply-6", "back": "birch-ply-6"}, "glue": "pu-slow", "finishes": {"outside": "oil-3"}, "chest": {"width": 900, "depth": 480, "height": 815, "rows": [{}, {}, {}]},
		 "bought_in": [{"description": "Slate top", "quantity": 1, "unit": "each", "rate": "411.15", "provisional": true}]},
		{"id": "stools", "title": "Stools", "quantity": 3, "kind": "parts", "timbers": {"show": "cherry-prime"}, "agreed_price": "125.00", "tax": "reduced",
		 "bought_in": [{"description": "Cushions, the cloth to be chosen", "quantity": 2.125, "unit": "m run", "rate": "31.0625", "provisional": true}],
		 "parts": {"parts": [{"name": "Seat", "quantity": 3, "length": 400, "width": 300, "thickness": 30, "material": "show"}]}},
		{"id": "fitting", "title": "Fitting", "kind": "service", "tax": "none", "service": {"site": 3}},
		{"id": "mirror", "title": "A mirror above", "optional": true, "kind": "service", "service": {},
		 "bought_in": [{"description": "Mirror glass", "quantity": 1, "unit": "each", "rate": "96.40"}]}],
	"terms": {"taxes": [{"code": "standard", "name": "VAT", "percent": 20}, {"code": "reduced", "name": "VAT", "percent": 5}, {"code": "none", "name": "Exempt", "percent": 0}],
		"discount_amount": "150.05", "bought_in_markup_percent": 12.5,
		"payments": [{"title": "Deposit", "percent": 33.33, "due": "when you accept"}, {"title": "Stage payment", "percent": 33.33, "due": "when the carcass stands."},
			{"title": "Balance", "percent": 33.34, "due": "on delivery"}]}}`

// frozen is the paper of bySums as a quote that was issued two days after its
// prices were those of the book.
func frozen(t testing.TB) exports.Paper {
	t.Helper()
	p := paper(t, decoded(t, bySums), starter(t))
	p.Number, p.Revision, p.Title = "2026-0011", 1, "A washstand"
	p.Dated, p.ValidUntil = date.MustParse("2026-11-03"), date.MustParse("2026-12-12")
	p.Note = "Thank you for showing us the room.\n\nThe wall behind is out of true:\nwe scribe the back to it."
	return p
}

// A provisional sum is named with its amount in the whole line: its rate with the
// mark-up of 12.5 %, to four places, x quantity. 1190.35 x 1.125 = 1339.14375 ->
// 1339.1438, once: 1339.14. 14.2075 x 1.125 = 15.9834375 -> 15.9834 x 6 = 95.9004.
// 411.15 x 1.125 = 462.54375 -> 462.5438. 31.0625 x 1.125 = 34.9453125 -> 34.9453
// x 2.125 = 74.2587625.
func TestQuotationNamesProvisionalSums(t *testing.T) {
	said := texts(left(t, frozen(t)))
	for _, s := range []string{
		"Also included: Initials cut into the top drawer front.\n" +
			"Provisional sum of £1,339.14 before tax: Marble top, honed, the stone to be chosen.\n" +
			"Provisional sum of £95.90 before tax: Handles to be chosen.\n" +
			"These sums are allowed for what is not settled yet: once they are, the price is worked out again.\n",
		"Provisional sum of £462.54 before tax: Slate top.\nThis sum is allowed for what is not settled yet: once it is, the price is worked out again.\n",
		"Provisional sum of £74.26 in all, before tax: Cushions, the cloth to be chosen.\n",
		"Also included: Mirror glass.\n",
	} {
		assert.Contains(t, said, s)
	}
	for _, s := range []string{"Marble top", "Handles", "Slate top.", "Cushions"} {
		assert.Equal(t, 1, strings.Count(said, s), s)
	}
	assert.Equal(t, 2, strings.Count(said, "Also included"))
	settled := decoded(t, strings.ReplaceAll(bySums, `"provisional": true`, `"provisional": false`))
	assert.NotContains(t, texts(cells(t, written(t, paper(t, settled, starter(t))))), "rovisional")
}

func TestProvisionalSumsInOtherCurrencies(t *testing.T) {
	for code, want := range map[string]string{"JPY": "JPY 1,339 before", "KWD": "KWD 1,339.144 before"} {
		r := decoded(t, strings.NewReplacer(`"150.05"`, `"150"`).Replace(bySums))
		said := texts(cells(t, written(t, paper(t, r, inCurrency(t, code)))))
		assert.Contains(t, said, "Provisional sum of "+want+" tax: Marble top")
	}
}

func TestTheWorkshopMarksProvisionalSums(t *testing.T) {
	p := frozen(t)
	marked := regexp.MustCompile(`(?m)^(?: *)Provisional: (.*?)(?: {2,}.*)?$`)
	var fromText, fromSheet []string
	for _, m := range marked.FindAllStringSubmatch(summarised(t, p), -1) {
		fromText = append(fromText, strings.TrimSpace(m[1]))
	}
	for _, row := range leafOf(t, workshop(t, p), "Ironmongery").rows {
		if what, ok := strings.CutPrefix(row["B"].text, "Provisional: "); ok {
			fromSheet = append(fromSheet, what)
		}
	}
	assert.Equal(t, []string{"Marble top, honed, the stone to be chosen.", "Handles to be chosen", "Slate top", "Cushions, the cloth to be chosen"}, fromSheet)
	assert.Len(t, fromText, len(fromSheet))
}

// The discount's amount is typed: a number and no formula, shown with a minus.
func TestQuotationSaysTheDiscountAndThePayments(t *testing.T) {
	all := cells(t, written(t, frozen(t)))
	said := texts(all)
	for _, s := range []string{
		"\nDiscount\n150.05\nNet after discount\n", "\nDeposit 33.33 %, when you accept\n", "\nStage payment 33.33 %, when the carcass stands.\n",
		"\nBalance 33.34 %, on delivery\n", "Prices before discount and tax.", "Exempt 0 % on",
	} {
		assert.Contains(t, said, s)
	}
	for _, s := range []string{", due when you accept", ", due when the work is finished", "Due when", "Discount 0"} {
		assert.NotContains(t, said, s)
	}
	i := slices.IndexFunc(all, func(c cell) bool { return c.text == "150.05" })
	assert.Empty(t, all[i].formula)
	assert.Contains(t, summarised(t, frozen(t)), "  Discount"+strings.Repeat(" ", 83)+"-150.05\n  Net after discount")
	assert.Contains(t, summarised(t, frozen(t)), "  Stage payment 33.33 %, when the carcass stands. ")
	assert.NotContains(t, summarised(t, frozen(t)), "Deposit 0")
	numbered := papers(t)["twenty payments"]
	assert.Contains(t, texts(left(t, numbered)), "Payment 1, 5 %, in good time\n", "not 15 %")
	pages, _ := paged(t, written(t, numbered))
	for _, c := range left(t, numbered) {
		if _, row, err := excelize.CellNameToCoordinates(c.name); c.text == "Net" || strings.HasPrefix(c.text, "Payment ") {
			require.NoError(t, err)
			assert.Equal(t, 1, pages[row], "the totals are on one page: %s", c.text)
		}
	}
}

func TestQuotationHasDaysOfItsOwn(t *testing.T) {
	p := papers(t)["tall-chest"]
	same := p
	same.Dated, same.ValidUntil = p.Costing.AsOf, p.Costing.AsOf.AddDays(30)
	assert.Equal(t, written(t, p), written(t, same), "without days of its own it has those of its prices")
	p.Dated = date.MustParse("2026-12-05")
	assert.Contains(t, texts(cells(t, written(t, p))), "Date\n5 December 2026\n", "the day it was issued")
	assert.Contains(t, texts(cells(t, written(t, p))), "Valid until\n4 January 2027\n", "30 days after")
	p.ValidUntil = date.MustParse("2026-12-24")
	assert.Contains(t, texts(cells(t, written(t, p))), "Valid until\n24 December 2026\n")
	assert.NotContains(t, texts(cells(t, written(t, p))), "November")
}

// left is the first column of a quotation.
func left(t testing.TB, p exports.Paper) []cell {
	t.Helper()
	return slices.DeleteFunc(cells(t, written(t, p)), func(c cell) bool { return !strings.HasPrefix(c.name, "A") })
}

// noted is what a quotation says above its pieces because of its note.
func noted(t testing.TB, p exports.Paper) []cell {
	t.Helper()
	above := func(p exports.Paper) []cell {
		all := left(t, p)
		return all[:slices.IndexFunc(all, func(c cell) bool { return c.text == "Description" })]
	}
	with := above(p)
	p.Note = ""
	without := above(p)
	require.Equal(t, without, with[:len(without)])
	return with[len(without):]
}

func TestQuotationPrintsItsNote(t *testing.T) {
	p := frozen(t)
	assert.Equal(t, "Thank you for showing us the room.\nThe wall behind is out of true:\nwe scribe the back to it.\n", texts(noted(t, p)))
	for _, empty := range []string{"", " \n\t\r\n ", "\x00"} {
		p.Note = empty
		assert.Empty(t, noted(t, p))
	}
	none := p
	none.Note = ""
	assert.Equal(t, written(t, none), written(t, p), "a note that says nothing is none")
}

// A long note is as long as its words: no row is higher than a workbook allows,
// nothing is lost, and the table's head is on the page of its first piece.
func TestLongNotes(t *testing.T) {
	long := map[string]string{
		"one paragraph": strings.TrimSpace(strings.Repeat("We walked the room and measured it twice. ", 95)),
		"one word":      strings.Repeat("w", 4000),
		"many lines":    strings.TrimSpace(strings.Repeat("x\n", 2000)),
		"gaps":          strings.TrimSpace(strings.Repeat("word\n\n\n", 571)),
	}
	p := frozen(t)
	for name, note := range long {
		p.Note = note
		require.LessOrEqual(t, len(note), 4000)
		assert.Equal(t, letters(note), letters(texts(noted(t, p))), name)
		_, heights := paged(t, written(t, p))
		assert.LessOrEqual(t, slices.Max(heights), 409.0, name)
	}
}

// The head of the table is on the page of its first piece, wherever the note ends.
func TestATableBeginsOnOnePage(t *testing.T) {
	for _, of := range []string{"sums", "tall-chest"} {
		p, turned := papers(t)[of], 0
		for n := 12; n < 44; n++ {
			p.Note = "One line." + strings.Repeat("\nOne line.", n)
			file := written(t, p)
			pages, _ := paged(t, file)
			rows := make(map[string]int)
			for _, c := range slices.Backward(cells(t, file)) {
				_, row, err := excelize.CellNameToCoordinates(c.name)
				require.NoError(t, err)
				rows[c.text] = row
			}
			head, piece := rows["Description"], rows[p.Costing.Pieces[0].Title]
			require.Less(t, head, piece)
			assert.Equal(t, pages[head], pages[piece], "%s, %d lines", of, n)
			turned += pages[head]
		}
		assert.True(t, turned > 2 && turned < 30, "%s: on the first page and on the second", of)
	}
}

// A note that runs over to a second page leaves the letterhead on every page; a
// table that does so has its head there.
func TestWhatIsRepeatedUnderANote(t *testing.T) {
	p := papers(t)["free-parts"]
	p.Note = strings.Repeat("One line.\n", 70)
	repeated := regexp.MustCompile(`Quotation!\$(\d+):`).FindStringSubmatch(parts(t, written(t, p))["xl/workbook.xml"])
	require.Len(t, repeated, 2)
	assert.Equal(t, "1", repeated[1])
}

func TestHostileNotesAndPayments(t *testing.T) {
	p := frozen(t)
	formulas := len(figures(p))
	pieces, request := p.Costing.Pieces, p.Request.Pieces
	for _, s := range nasty {
		p.Note = s
		p.Costing.Totals.Payments = slices.Clone(p.Costing.Totals.Payments)
		for i := range p.Costing.Totals.Payments {
			p.Costing.Totals.Payments[i].Title, p.Costing.Totals.Payments[i].Due = s, s
		}
		p.Costing.Pieces, p.Request.Pieces = slices.Clone(pieces), slices.Clone(request)
		p.Costing.Pieces[0].BoughtIn, p.Request.Pieces[0].BoughtIn = slices.Clone(pieces[0].BoughtIn), slices.Clone(request[0].BoughtIn)
		for i := range p.Costing.Pieces[0].BoughtIn {
			p.Costing.Pieces[0].BoughtIn[i].Description, p.Request.Pieces[0].BoughtIn[i].Description = s, s
		}
		all := cells(t, written(t, p))
		n := 0
		for _, c := range all {
			if c.formula != "" {
				n++
				assert.NotContains(t, c.formula, "HYPERLINK")
			}
		}
		assert.Equal(t, formulas, n, "%.40q", s)
		want := letters(s)
		assert.Equal(t, want, letters(texts(noted(t, p))), "%.40q", s)
		got := letters(texts(all))
		begin := want[:min(len(want), 10_000)]
		assert.True(t, strings.Contains(got, letters("Provisional sum of £1,339.14 before tax: ")+strings.TrimSuffix(begin, ".")), "%.40q", s)
		if len(want) <= 10_000 { // else the cell is full of the title
			due := letters("33.34 %, ") + want
			assert.True(t, strings.Contains(got, want+due) || strings.Contains(got, want+","+due), "%.40q", s)
		}
		for _, l := range leaves(t, workshop(t, p)) {
			for _, row := range l.rows {
				for _, c := range row {
					assert.NotContains(t, c.formula, "HYPERLINK")
					assert.NotContains(t, c.text, "\x00")
				}
			}
		}
		for line := range strings.Lines(summarised(t, p)) {
			assert.NotContains(t, line, "\x1b")
		}
	}
}
