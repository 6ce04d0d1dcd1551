package exports_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

// recalculated returns what LibreOffice, trusting no stored figure, works out in
// the cells of each workbook. Where it is not installed there is nothing, and the
// exact reckoning is the check.
func recalculated(t *testing.T, books map[string][]byte) map[string]func(sheet, cell string) string {
	t.Helper()
	program := calc(t)
	if program == "" {
		return nil
	}
	dir := t.TempDir()
	var files []string
	for name, text := range books {
		path := filepath.Join(dir, name+".xlsx")
		require.NoError(t, os.WriteFile(path, text, 0o600))
		files = append(files, path)
	}
	office(t, program, files)
	all := make(map[string]func(sheet, cell string) string)
	for name, text := range books {
		all[name] = figuresOf(t, filepath.Join(dir, name), namesIn(t, text))
	}
	return all
}

// figuresOf reads the sheets of a workbook as they were converted, and makes sure
// that no cell holds an error.
func figuresOf(t *testing.T, path string, names []string) func(sheet, cell string) string {
	t.Helper()
	sheets := make(map[string][][]string)
	for _, name := range names {
		text, err := os.ReadFile(path + "-" + name + ".csv")
		require.NoError(t, err)
		r := csv.NewReader(bytes.NewReader(text))
		r.FieldsPerRecord = -1
		rows, err := r.ReadAll()
		require.NoError(t, err)
		sheets[name] = rows
		for i, row := range rows {
			for k, c := range row {
				if strings.HasPrefix(c, "#") || strings.HasPrefix(c, "Err:") {
					t.Errorf("%s: %s row %d column %d holds %s", filepath.Base(path), name, i+1, k+1, c)
				}
			}
		}
	}
	return func(sheet, cell string) string {
		column, row, err := excelize.CellNameToCoordinates(cell)
		require.NoError(t, err)
		rows := sheets[sheet]
		if row > len(rows) || column > len(rows[row-1]) {
			return ""
		}
		return rows[row-1][column-1]
	}
}

func TestLibreOfficeComesToTheWorkshop(t *testing.T) {
	all := workshopPapers(t)
	books := make(map[string][]byte)
	for name, p := range all {
		books[name+"-true"] = workshop(t, p)
		books[name+"-poisoned"] = poisoned(t, books[name+"-true"])
	}
	for name, value := range recalculated(t, books) {
		t.Run(name, func(t *testing.T) {
			p := all[strings.TrimSuffix(strings.TrimSuffix(name, "-true"), "-poisoned")]
			audited(t, p, books[name], value)
		})
	}
}

// A change is a figure changed in the sheet, by the name of its cell, and the
// same change made to the book or the request before pricing.
type change struct {
	of, input, to string // of the full quotation, or of another request: otherTerms, bySums, sawn
	book          func(*book.Data)
	request       func(*pricing.Request)
}

// the first that has that code.
func the[T any](list []T, code func(*T) string, want string) *T {
	for i := range list {
		if code(&list[i]) == want {
			return &list[i]
		}
	}
	panic("no " + want)
}

func rule(d *book.Data, code string) *book.Rule {
	return the(d.Rules, func(r *book.Rule) string { return r.Code }, code)
}

func supply(d *book.Data, code string) *book.Supply {
	return the(d.Supplies, func(s *book.Supply) string { return s.Code }, code)
}

func timber(d *book.Data, code string) *book.Timber {
	return the(d.Timbers, func(w *book.Timber) string { return w.Code }, code)
}

func decimalOf(s string) num.Decimal {
	d, err := num.ParseDecimal(s)
	if err != nil {
		panic(err)
	}
	return d
}

// terms returns a change of the request's terms.
func terms(change func(*book.TermsChange)) func(*pricing.Request) {
	return func(r *pricing.Request) {
		t := *r.Terms
		change(&t)
		r.Terms = &t
	}
}

// payment changes the percentage of a payment; the last has what is left of 100.
func payment(i int, to num.Percent) func(*pricing.Request) {
	return terms(func(c *book.TermsChange) {
		c.Payments = slices.Clone(c.Payments)
		last := &c.Payments[len(c.Payments)-1]
		last.Percent += c.Payments[i].Percent - to
		c.Payments[i].Percent = to
	})
}

func percentOf(hundredths num.Percent) *num.Percent { return &hundredths }

// changes are of the full quotation (a chest, the same in walnut, boxes, a design
// and a delivery) or of a request under other terms. The first of each kind that the workshop is likely to change,
// then the rest.
func changes() []change {
	price := func(list *book.Price, to num.Rate) *book.Price {
		p := *list
		p.Rate = to
		return &p
	}
	agreed := num.Rate(711_0000)
	perHour, roundTo := num.Rate(19_3750), num.Rate(25_0000)
	return []change{
		{input: "in_rate_oak_prime_27", to: "3187.6543", book: func(d *book.Data) {
			w := timber(d, "oak-prime")
			k := the(w.Thicknesses, func(k *book.Thickness) string { return k.Code }, "oak-prime-27")
			k.Price = price(k.Price, 3187_6543)
		}},
		{input: "in_hour_bench", to: "37.0625", book: func(d *book.Data) {
			g := the(d.Labour, func(g *book.Grade) string { return g.Code }, "bench")
			g.Price = price(g.Price, 37_0625)
		}},
		{input: "in_each_dovetails_lapped_tail_hand", to: "9.125", book: func(d *book.Data) { rule(d, "dovetails-lapped-tail-hand").Each = decimalOf("9.125") }},
		{input: "in_setup_machining_part", to: "17.25", book: func(d *book.Data) { rule(d, "machining-part").Setup = decimalOf("17.25") }},
		{input: "in_factor_piece_1", to: "1.17", request: func(r *pricing.Request) { f := decimalOf("1.17"); r.Pieces[0].WorkingFactor = &f }},
		{input: "in_factor_oak_prime", to: "1.23", book: func(d *book.Data) { timber(d, "oak-prime").WorkingFactor = decimalOf("1.23") }},
		{input: "in_waste_oak_prime", to: "41.75", book: func(d *book.Data) { timber(d, "oak-prime").Waste = 41_75 }},
		{input: "in_overhead", to: "19.375", request: terms(func(c *book.TermsChange) { c.Overhead = &book.Overhead{PerHour: &perHour} })},
		{input: "in_contingency", to: "7.25", request: terms(func(c *book.TermsChange) { c.Contingency = percentOf(7_25) })},
		{input: "in_margin", to: "27.35", request: terms(func(c *book.TermsChange) { c.Profit = &book.Profit{Margin: percentOf(27_35)} })},
		{input: "in_fees", to: "2.95", request: terms(func(c *book.TermsChange) { c.Fees = percentOf(2_95) })},
		{input: "in_discount", to: "4.44", request: terms(func(c *book.TermsChange) { c.Discount = percentOf(4_44) })},
		{input: "in_tax_standard", to: "17.5", book: func(d *book.Data) {
			the(d.Terms.Taxes, func(x *book.Tax) string { return x.Code }, "standard").Percent = 17_50
		}},
		{input: "in_deposit", to: "33.33", request: terms(func(c *book.TermsChange) { c.Deposit = percentOf(33_33) })},
		{input: "in_round_to", to: "25", request: terms(func(c *book.TermsChange) { c.RoundTo = &roundTo })},
		{input: "in_bought_in_markup", to: "12.75", request: terms(func(c *book.TermsChange) { c.BoughtInMarkup = percentOf(12_75) })},
		{input: "in_rate_birch_ply_6", to: "33.3333", book: func(d *book.Data) {
			s := the(d.Sheets, func(s *book.Sheet) string { return s.Code }, "birch-ply-6")
			s.Price = price(s.Price, 33_3333)
		}},
		{input: "in_rate_knob_brass_30", to: "11.015", book: func(d *book.Data) {
			f := the(d.Ironmongery, func(f *book.Fitting) string { return f.Code }, "knob-brass-30")
			f.Price = price(f.Price, 11_0150)
		}},
		{input: "in_rate_piece_1_bought_in_1", to: "91.3333", request: func(r *pricing.Request) { r.Pieces[0].BoughtIn[0].Rate = 91_3333 }},
		{input: "in_pack_hard_oil", to: "41.99", book: func(d *book.Data) { s := supply(d, "hard-oil"); s.Price = price(s.Price, 41_9900) }},
		{input: "in_pack_pu_slow", to: "14.99", book: func(d *book.Data) { s := supply(d, "pu-slow"); s.Price = price(s.Price, 14_9900) }},
		{input: "in_spread_pu_slow", to: "412.5", book: func(d *book.Data) { supply(d, "pu-slow").Glue.Spread = decimalOf("412.5") }},
		{input: "in_loss_pu_slow", to: "212.5", book: func(d *book.Data) { supply(d, "pu-slow").Glue.Loss = 212_50 }},
		{input: "in_pot_loss_pu_slow", to: "21.125", book: func(d *book.Data) { supply(d, "pu-slow").Glue.PotLoss = decimalOf("21.125") }},
		{input: "in_coverage_hard_oil", to: "11.75", book: func(d *book.Data) { supply(d, "hard-oil").Coating.Coverage = decimalOf("11.75") }},
		{input: "in_transfer_wipe", to: "83.25", book: func(d *book.Data) {
			the(d.Methods, func(m *book.Method) string { return m.Code }, "wipe").Transfer = 83_25
		}},
		{of: "terms", input: "in_waste_piece_1_show", to: "17.75", request: func(r *pricing.Request) { r.Pieces[0].Waste[piece.Show] = 17_75 }},
		{of: "terms", input: "in_waste_piece_1_sheet", to: "23.5", request: func(r *pricing.Request) { r.Pieces[0].Waste["sheet"] = 23_50 }},
		{of: "terms", input: "in_agreed_piece_1", to: "711", request: func(r *pricing.Request) { r.Pieces[0].AgreedPrice = &agreed }},
		{of: "terms", input: "in_overhead", to: "15.35", request: terms(func(c *book.TermsChange) { c.Overhead = &book.Overhead{Percent: percentOf(15_35)} })},
		{of: "terms", input: "in_markup", to: "41.41", request: terms(func(c *book.TermsChange) { c.Profit = &book.Profit{Markup: percentOf(41_41)} })},
		{of: "terms", input: "in_contingency", to: "3.31", request: terms(func(c *book.TermsChange) { c.Contingency = percentOf(3_31) })},
		{of: "terms", input: "in_rate_oak_faced_mdf_19", to: "77.7777", book: func(d *book.Data) {
			s := the(d.Sheets, func(s *book.Sheet) string { return s.Code }, "oak-faced-mdf-19")
			s.Price = price(s.Price, 77_7777)
		}},
		{of: "sawn", input: "in_rate_birch_ply_6", to: "31.0105", book: func(d *book.Data) {
			s := the(d.Sheets, func(s *book.Sheet) string { return s.Code }, "birch-ply-6")
			s.Price = price(s.Price, 31_0105)
		}},
		{of: "sawn", input: "in_waste_oak_faced_mdf_19", to: "77.5", book: func(d *book.Data) {
			the(d.Sheets, func(s *book.Sheet) string { return s.Code }, "oak-faced-mdf-19").Waste = 77_50
		}},
		{of: "terms", input: "in_each_abrasive_80_show", to: "2.75", book: func(d *book.Data) { rule(d, "abrasive-80-show").Each = decimalOf("2.75") }},
		{of: "terms", input: "in_tax_reduced", to: "8.25", book: func(d *book.Data) {
			the(d.Terms.Taxes, func(x *book.Tax) string { return x.Code }, "reduced").Percent = 8_25
		}},
		{input: "in_each_gloves_finish_pass", to: "2.375", book: func(d *book.Data) { rule(d, "gloves-finish-pass").Each = decimalOf("2.375") }},
	}
}

// changesOfSums are of a request with a discount's amount, payments and
// provisional sums.
func changesOfSums() []change {
	return []change{
		{of: "sums", input: "in_discount_amount", to: "777.77", request: terms(func(c *book.TermsChange) { c.DiscountAmount = new(num.Rate(777_7700)) })},
		{of: "sums", input: "in_payment_1", to: "12.5", request: payment(0, 12_50)},
		{of: "sums", input: "in_payment_2", to: "0.01", request: payment(1, 1)},
		{of: "sums", input: "in_agreed_piece_3", to: "250.01", request: func(r *pricing.Request) { r.Pieces[2].AgreedPrice = new(num.Rate(250_0100)) }},
		{of: "sums", input: "in_rate_piece_1_bought_in_1", to: "2047.125", request: func(r *pricing.Request) { r.Pieces[0].BoughtIn[0].Rate = 2047_1250 }},
		{of: "sums", input: "in_bought_in_markup", to: "7.75", request: terms(func(c *book.TermsChange) { c.BoughtInMarkup = percentOf(7_75) })},
		{of: "sums", input: "in_tax_none", to: "12.5", request: terms(func(c *book.TermsChange) {
			c.Taxes = slices.Clone(c.Taxes)
			c.Taxes[2].Percent = 12_50
		})},
	}
}

// paper is the one that the change is made to.
func (c *change) paper() string {
	if c.of == "" {
		return "full-quotation"
	}
	return c.of
}

// made prices its paper with the change made before.
func (c *change) made(t *testing.T) exports.Paper {
	t.Helper()
	r, b := request(t, "full-quotation"), ruled(t, c.book)
	switch c.of {
	case "terms":
		r = decoded(t, otherTerms)
	case "sums":
		r = decoded(t, bySums)
	case "sawn":
		r = decoded(t, sawn["sawn"])
	}
	if c.of != "terms" {
		d := *starter(t).Data()
		if c.book != nil {
			c.book(&d)
		}
		var err error
		b, err = book.New(d)
		require.NoError(t, err)
	}
	if c.request != nil {
		c.request(&r)
	}
	return paper(t, r, b)
}

// typed is the workbook with another figure typed into a cell.
func typed(t *testing.T, file []byte, at [2]string, figure string) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(t, err)
	v, err := strconv.ParseFloat(figure, 64)
	require.NoError(t, err)
	require.NoError(t, f.SetCellValue(at[0], at[1], v))
	var out bytes.Buffer
	_, err = f.WriteTo(&out)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	return out.Bytes()
}

// Changing one figure in the sheet is pricing again with the figure changed, in
// every cell: what depends on it follows and what does not stays.
func TestChangedInputsComeToTheChangedCosting(t *testing.T) {
	all := workshopPapers(t)
	files, books := make(map[string][]byte), make(map[string][]byte)
	list := append(changes(), changesOfSums()...)
	for i := range list {
		c := &list[i]
		if files[c.paper()] == nil {
			files[c.paper()] = workshop(t, all[c.paper()])
		}
		at, ok := inputs(t, files[c.paper()])[c.input]
		require.True(t, ok, c.input)
		books[c.of+c.input] = typed(t, files[c.paper()], at, c.to)
	}
	values := recalculated(t, books)
	for i := range list {
		c := &list[i]
		t.Run(c.of+c.input, func(t *testing.T) {
			after, file := c.made(t), files[c.paper()]
			assert.NotEqual(t, all[c.paper()].Costing, after.Costing, "the change moves something")
			audited(t, after, file, reckoned(t, books[c.of+c.input]))
			if values != nil {
				audited(t, after, file, values[c.of+c.input])
				same(t, after.Costing.Totals.Gross, values[c.of+c.input]("Summary", grossCell(t, file)), "gross")
			}
		})
	}
}

// grossCell returns where the total stands.
func grossCell(t *testing.T, file []byte) string {
	t.Helper()
	for i, row := range leaves(t, file)[0].rows {
		if row["A"].text == "Total" {
			return "D" + strconv.Itoa(i+1)
		}
	}
	require.Fail(t, "no total")
	return ""
}
