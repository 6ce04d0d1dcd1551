package exports_test

import (
	"encoding/xml"
	"io"
	"math/big"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/exports"
	"reckoner/pricing"
	"reckoner/pricing/book"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

var (
	numbers     = regexp.MustCompile(`\d+(?:[.,]\d+)*`)
	footerStyle = regexp.MustCompile(`&8&K\w{6}`) // size and colour
)

// plain is a number without grouping and trailing zeros, so that 1,850.00 and
// 1850 are one.
func plain(s string) string {
	s = strings.ReplaceAll(s, ",", "")
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// said is the character data of every file in the workbook, and what is told of
// its pictures; formulas apart, whose numbers are percents, cells and decimals,
// and where pictures stand, which is rows and columns.
func said(t *testing.T, files map[string]string) string {
	t.Helper()
	var b strings.Builder
	for name, text := range files {
		if strings.HasSuffix(name, ".png") {
			continue // TestSketchSaysTheOverallSize
		}
		d := xml.NewDecoder(strings.NewReader(text))
		formula := false
		for {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err, name)
			switch v := token.(type) {
			case xml.StartElement:
				formula = v.Name.Local == "f"
				for _, a := range v.Attr {
					if a.Name.Local == "descr" { // what a picture shows
						b.WriteString(a.Value + "\n")
					}
				}
			case xml.CharData:
				if !formula && !strings.HasPrefix(name, "xl/theme") && !strings.HasPrefix(name, "xl/drawings") {
					b.WriteString(footerStyle.ReplaceAllString(string(v), "") + "\n")
				}
			}
		}
	}
	return b.String()
}

// secret is every inner figure of a costing.
func secret(p *exports.Paper) map[string]string {
	s := make(map[string]string)
	add := func(what string, values ...interface{ String() string }) {
		for _, v := range values {
			if n := plain(strings.TrimPrefix(v.String(), "-")); n != "0" {
				s[n] = what
			}
		}
	}
	for i := range p.Costing.Pieces {
		o := &p.Costing.Pieces[i]
		for _, lines := range [][]pricing.Line{o.Timber, o.Sheets, o.Ironmongery, o.Supplies, o.Labour, o.BoughtIn} {
			for _, l := range lines {
				add(l.Code, l.Rate, l.Amount, l.Needed, l.Quantity, l.Waste)
				for _, x := range l.Terms {
					add(l.Code+" by "+x.Measure, x.Quantity, x.Needed)
				}
			}
		}
		for _, b := range p.Request.Pieces[i].BoughtIn {
			add("bought in, before its mark-up", b.Rate)
		}
		for _, b := range o.BuildUp {
			if b.Name != "price" {
				add(b.Name, b.Amount)
			}
			if b.Percent != nil {
				add(b.Name, *b.Percent)
			}
			if b.Rate != nil {
				add(b.Name, *b.Rate)
			}
		}
		add("hours", o.Hours, o.BenchHours)
		for _, c := range o.Parts {
			add("cut "+c.Name, c.SawnLength, c.SawnWidth, c.SawnThickness, c.Volume, c.Length, c.Width)
		}
		for _, m := range o.Measures {
			add(m.Name, m.Quantity)
		}
	}
	for _, l := range p.Costing.Buying {
		add("buying "+l.Code, l.Needed, l.Amount)
	}
	return s
}

// shown is every figure that the customer is meant to see.
func shown(p *exports.Paper) map[string]bool {
	var b strings.Builder
	see := func(values ...string) {
		for _, v := range values {
			b.WriteString(v + "\n")
		}
	}
	c, t := &p.Costing, &p.Costing.Totals
	see("2026", "11", "1", "3", "12", "9", "30", p.Number, strconv.Itoa(p.Revision), p.Title, "2006 09 16") // dates
	see(t.Net.String(), t.Discount.String(), t.Taxable.String(), t.Gross.String(), t.Deposit.String(), t.Balance.String())
	see(c.Terms.Discount.String(), c.Terms.Deposit.String(), p.Note)
	for _, x := range t.Payments {
		see(x.Title, x.Percent.String(), x.Due, x.Amount.String())
	}
	for _, x := range t.Tax {
		see(x.Percent.String(), x.Basis.String(), x.Amount.String())
	}
	for _, x := range c.Terms.Taxes {
		see(x.Percent.String())
	}
	w := c.Terms.Workshop
	see(append(append(w.Address, w.Numbers...), w.Phone, w.Email, w.Name)...)
	for _, k := range c.Terms.Conditions {
		see(k.Title, k.Text)
	}
	if k := p.Customer; k != nil {
		see(append(append(k.Address, k.DeliveryAddress...), k.Name, k.Email)...)
	}
	for i := range c.Pieces {
		o, q := &c.Pieces[i], &p.Request.Pieces[i]
		see(o.Title, strconv.Itoa(o.Quantity), o.UnitPrice.String(), o.Price.String(), o.Mass.Round(0).String())
		for _, l := range o.Ironmongery { // how many, and what
			see(l.Description, (l.Quantity / num.Decimal(o.Quantity)).String())
		}
		for _, l := range q.BoughtIn {
			see(l.Description)
		}
		if k := q.Chest; k != nil {
			for _, d := range []num.Decimal{k.Width, k.Depth, k.Height} {
				see(d.String())
				if o.Units == unit.InInches { // 19 1/2
					r, _ := new(big.Rat).SetString(d.String())
					whole, over := new(big.Int).DivMod(r.Num(), r.Denom(), new(big.Int))
					see(whole.String(), over.String(), r.Denom().String())
				}
			}
		}
		if k := q.DrawerBoxes; k != nil {
			n := 0
			for _, x := range k.Boxes {
				see(x.Width.String(), x.Height.String(), x.Depth.String(), strconv.Itoa(max(1, int(x.Quantity))))
				n += max(1, int(x.Quantity))
			}
			see(strconv.Itoa(n))
		}
		if k := q.Parts; k != nil {
			for _, x := range k.Parts {
				see(x.Name, strconv.Itoa(int(x.Quantity)))
			}
		}
		if k := q.Service; k != nil {
			see(k.Delivery.String(), strconv.Itoa(k.Drops), strconv.Itoa(k.People))
		}
	}
	ok := make(map[string]bool)
	for _, n := range numbers.FindAllString(b.String()+descriptions(p.Book.Data()), -1) {
		ok[plain(n)] = true
	}
	ok["0"] = true
	return ok
}

// descriptions is what the Book calls timbers, sheets and finishes.
func descriptions(d *book.Data) string {
	var b strings.Builder
	for _, x := range d.Timbers {
		b.WriteString(x.Description + "\n")
	}
	for _, x := range d.Sheets {
		b.WriteString(x.Description + "\n")
	}
	for _, x := range d.Finishes {
		b.WriteString(x.Description + "\n")
	}
	return b.String()
}

// codes is every code of a Book, and the words for its work.
func codes(d *book.Data) (codes, words []string) {
	for _, x := range d.Timbers {
		codes = append(codes, x.Code)
		for _, k := range x.Thicknesses {
			codes = append(codes, k.Code)
		}
	}
	for _, x := range d.Sheets {
		codes = append(codes, x.Code)
	}
	for _, x := range d.Supplies {
		codes, words = append(codes, x.Code), append(words, x.Description)
	}
	for _, x := range d.Ironmongery {
		codes = append(codes, x.Code)
	}
	for _, x := range d.Finishes {
		codes = append(codes, x.Code)
	}
	for _, x := range d.Labour {
		codes, words = append(codes, x.Code), append(words, x.Description)
	}
	for _, x := range d.Stages {
		codes, words = append(codes, x.Code), append(words, x.Description)
	}
	for _, x := range d.Rules {
		codes = append(codes, x.Code, x.Measure)
	}
	return codes, words
}

// leaks is what of the workshop's own a text gives away. A code that is also a
// word of the language ("timber") is one only when it stands alone.
func leaks(p *exports.Paper, text string) []string {
	var found []string
	all, words := codes(p.Book.Data())
	lines := strings.Split(text, "\n")
	for _, c := range all {
		if strings.ContainsAny(c, "-_0123456789") && strings.Contains(text, c) || slices.Contains(lines, c) {
			found = append(found, "the code "+c)
		}
	}
	for _, w := range append(words, "bench hour", "margin", "overhead", "contingency", "sawn", "prime cost", "working_factor") {
		if slices.Contains(lines, w) || w == strings.ToLower(w) && strings.Contains(strings.ToLower(text), w) {
			found = append(found, "the words "+w)
		}
	}
	if h := regexp.MustCompile(`\d ?h\b|\bhours?\b|\bminutes?\b`).FindString(text); h != "" {
		found = append(found, "time: "+h)
	}
	inner, ok := secret(p), shown(p)
	text, lost := allowed(p, text)
	found = append(found, lost...)
	for _, n := range numbers.FindAllString(text, -1) {
		if what, is := inner[plain(n)]; is && !ok[plain(n)] {
			found = append(found, n+" of "+what)
		}
	}
	return found
}

// allowed takes the words of each provisional sum, with its amount, out of a text
// once: there the amount is meant to be read, and nowhere else. It returns what is
// left, and the sums that are not named.
func allowed(p *exports.Paper, text string) (rest string, lost []string) {
	for i := range p.Costing.Pieces {
		for _, l := range p.Costing.Pieces[i].BoughtIn {
			if !l.Provisional {
				continue
			}
			words := regexp.MustCompile(`Provisional sum of (?:[£$€]|[A-Z]{3} )([\d,.]+)(?: in all,)? before tax: ` + regexp.QuoteMeta(strings.TrimSuffix(l.Description, ".")))
			at := words.FindStringSubmatchIndex(text)
			if at == nil || strings.ReplaceAll(text[at[2]:at[3]], ",", "") != l.Amount.String() {
				lost = append(lost, "no provisional sum of "+l.Amount.String()+" for "+l.Description)
				continue
			}
			text = text[:at[0]] + text[at[1]:]
		}
	}
	return text, lost
}

func TestNothingLeaks(t *testing.T) {
	for name, p := range papers(t) {
		t.Run(name, func(t *testing.T) {
			files := parts(t, written(t, p))
			assert.Empty(t, leaks(&p, said(t, files)))
			all, _ := codes(p.Book.Data())
			for _, c := range all {
				for part, text := range files { // attributes and comments too
					if strings.Contains(c, "-") {
						assert.NotContains(t, text, c, part)
					}
				}
			}
		})
	}
}

// The search above finds what it looks for: each secret planted in the text.
func TestLeaksAreFound(t *testing.T) {
	p := papers(t)["tall-chest"]
	clean := said(t, parts(t, written(t, p)))
	require.Empty(t, leaks(&p, clean))
	o := &p.Costing.Pieces[0]
	for _, planted := range []string{
		"knob-35", "drawing", "case_joints", "bench", "case-joints-housing-joint", "through_tail",
		o.Timber[0].Rate.String(), o.Timber[0].Amount.String(), "1,850", o.Timber[0].Needed.String(), o.Hours.String(),
		o.BuildUp[0].Amount.String(), o.BuildUp[4].Amount.String(), o.Labour[5].Quantity.String() + " h", o.Parts[1].SawnWidth.String(),
	} {
		assert.NotEmpty(t, leaks(&p, clean+planted+"\n"), planted)
	}
}

// A provisional sum is read where it is named, and nowhere else; nothing else of
// what is bought in is read at all.
func TestLeaksOfProvisionalSumsAreFound(t *testing.T) {
	p := frozen(t)
	clean := said(t, parts(t, written(t, p)))
	require.Empty(t, leaks(&p, clean))
	marble, initials, handles := &p.Costing.Pieces[0].BoughtIn[0], &p.Costing.Pieces[0].BoughtIn[1], &p.Costing.Pieces[0].BoughtIn[2]
	for _, planted := range []string{
		marble.Amount.String(), "1,339.14", marble.Rate.String(), p.Request.Pieces[0].BoughtIn[0].Rate.String() + "00", initials.Amount.String(),
		handles.Rate.String(), handles.Amount.String(), "Provisional sum of £" + initials.Amount.String() + " before tax: Initials cut into the top drawer front.",
		"Provisional sum of £1,339.14 before tax: Marble top, honed, the stone to be chosen.", // a second time
	} {
		assert.NotEmpty(t, leaks(&p, clean+planted+"\n"), planted)
	}
	for _, lost := range []string{"£1,339.14", "£95.90", "Slate top", "Provisional sum of £74.26"} {
		assert.NotEmpty(t, leaks(&p, strings.Replace(clean, lost, "", 1)), lost)
	}
}
