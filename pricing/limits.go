package pricing

import (
	"strconv"

	"reckoner/pricing/book"
	"reckoner/pricing/cutting"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// Ranges of a request, beside those of a specification (package piece) and of
// terms (package book). They keep arithmetic far from its limits.
const (
	maxPieces   = 100
	maxThorough = 20     // pieces whose sheets are planned thoroughly
	maxPanels   = 20_000 // parts cut from sheets in a request, so that it is answered in seconds
	maxQuantity = 10_000
	maxCut      = 20_000 // pieces on the cutting list of one piece line
	maxLines    = 1_000  // bought-in lines, ironmongery, extra hours
	maxUnitText = 20
	maxAddress  = 20     // lines
	maxSize     = 20_000 // mm
)

// request checks all that is not one piece's, and settles the terms. It leaves no
// more pieces in r than there may be.
func (p *pricer) request(r *Request) {
	if asOf := p.Data().AsOf; !r.AsOf.IsZero() && r.AsOf != asOf {
		p.faults.Add("#/as_of", "the book holds the prices of %s, not of %s: leave the date out, or use the book of that date", asOf, r.AsOf)
	}
	if c := r.Customer; c != nil {
		p.faults = append(p.faults, c.Faults().At("/customer")...)
	}
	if n := len(r.Pieces); n < 1 || n > maxPieces {
		p.faults.Add("#/pieces", "%d pieces: write 1 to %d", n, maxPieces)
		r.Pieces = r.Pieces[:min(n, maxPieces)] // the others are not looked at
	}
	p.names(r)
	terms, faults := p.Data().Terms.Changed(r.Terms, p.currency)
	p.terms, p.sawing = p.vary.terms(terms), terms.Sawing()
	if len(faults) > 0 { // parts are judged by what is sound
		p.sawing = p.Data().Terms.Sawing()
	}
	p.faults = append(p.faults, faults.At("/terms")...)
	switch r.Cutting {
	case "", quick:
	case thorough:
		p.effort = cutting.Thorough
		if len(r.Pieces) > maxThorough {
			p.faults.Add("#/cutting", "thorough planning is for at most %d pieces: ask for quick, or split the request", maxThorough)
		}
	default:
		p.faults.Add("#/cutting", "%q is not known: write quick or thorough", r.Cutting)
	}
}

// Faults returns what is wrong with c, with pointers from its root.
func (c *Customer) Faults() (faults fault.List) {
	faults.Text("#", "name", c.Name, book.MaxText, false)
	faults.Text("#", "email", c.Email, book.MaxText, false)
	for _, list := range []struct {
		name  string
		lines []string
	}{{"address", c.Address}, {"delivery_address", c.DeliveryAddress}} {
		if n := len(list.lines); n > maxAddress {
			faults.Add("#/"+list.name, "%d lines: write at most %d", n, maxAddress)
			continue
		}
		for i, line := range list.lines {
			faults.Text("#/"+list.name, strconv.Itoa(i), line, book.MaxText, false)
		}
	}
	return faults
}

// id returns the name by which other pieces call the i-th piece.
func id(i int, q *piece.Piece) string {
	if q.ID != "" {
		return q.ID
	}
	return strconv.Itoa(i + 1)
}

// names checks that ids are unique, and what pieces say of each other.
func (p *pricer) names(r *Request) {
	index := make(map[string]int, len(r.Pieces))
	for i := range r.Pieces {
		q, at := &r.Pieces[i], "#/pieces/"+strconv.Itoa(i)
		name := id(i, q)
		if !slug(name) {
			p.faults.Add(at+"/id", "%q is no id: write 1 to 64 lower-case letters, digits, '-' or '_'", name)
		}
		if first, ok := index[name]; ok {
			p.faults.Add(at+"/id", "the id %q is that of piece %d already: give this piece another", name, first+1)
			continue
		}
		index[name] = i
	}
	for i := range r.Pieces {
		q, at := &r.Pieces[i], "#/pieces/"+strconv.Itoa(i)
		if q.AlternativeTo == "" {
			continue
		}
		of, ok := index[q.AlternativeTo]
		switch {
		case q.Optional:
			p.faults.Add(at, "a piece is an alternative or an extra, not both: leave out alternative_to or optional")
		case !ok:
			p.faults.Add(at+"/alternative_to", "no piece has the id %q: name one of the request by its id", q.AlternativeTo)
		case r.Pieces[of].AlternativeTo != "":
			p.faults.Add(at+"/alternative_to", "%q is itself an alternative: name the piece that both stand beside", q.AlternativeTo)
		}
	}
}

func slug(s string) bool {
	for _, c := range []byte(s) {
		if c != '-' && c != '_' && (c < '0' || c > '9') && (c < 'a' || c > 'z') {
			return false
		}
	}
	return s != "" && len(s) <= 64
}

// check reports what is wrong with the members that every kind has.
func (j *job) check() {
	q := j.piece
	j.faults.Text(j.root, "title", q.Title, book.MaxText, true)
	if q.Quantity > maxQuantity {
		j.add("/quantity", "%d is too many: write at most %d", q.Quantity, maxQuantity)
		j.quantity = 1
	}
	if q.Units != "" && !q.Units.Known() {
		j.add("/units", "%q is not known: write mm or in", q.Units)
	}
	if q.Tax != "" {
		if _, ok := j.terms.FindTax(q.Tax); !ok {
			j.add("/tax", "the tax %q is not among the taxes of the terms: name one that is, or add it to them", q.Tax)
		}
	}
	j.checkItems(q)
	for i := range q.Ironmongery {
		j.checkFitted("/ironmongery/"+strconv.Itoa(i), &q.Ironmongery[i])
	}
	if d := q.Dovetails; d != "" && d != "hand" && d != "machine" {
		j.add("/dovetails", "%q is not known: write hand or machine", d)
	}
	if f := q.WorkingFactor; f != nil && (*f < book.MinFactor || *f > book.MaxFactor || f.Round(2) != *f) {
		j.add("/working_factor", "%s is out of range: write %s to %s with at most two decimals", *f, book.MinFactor, book.MaxFactor)
	}
	j.checkEdges(q.Parts)
	j.checkHours(q.ExtraHours)
	j.checkBoughtIn(q.BoughtIn)
	if a := q.AgreedPrice; a != nil {
		if _, err := j.currency.Exact(*a); err != nil {
			j.add("/agreed_price", "%s", err)
		} else if *a < 0 || *a >= book.MaxPrice {
			j.add("/agreed_price", "%s is out of range: write a price from 0, below %s", *a, book.MaxPrice)
		}
	}
	for _, l := range []struct {
		name string
		n    int
	}{{"ironmongery", len(q.Ironmongery)}, {"extra_hours", len(q.ExtraHours)}, {"bought_in", len(q.BoughtIn)}} {
		if l.n > maxLines {
			j.add("/"+l.name, "%d lines: write at most %d", l.n, maxLines)
		}
	}
}

// checkItems reports roles, zones and items that do not exist.
func (j *job) checkItems(q *piece.Piece) {
	for role, code := range q.Timbers {
		if role != piece.Show && role != piece.Inner {
			j.faults.Unknown(j.root+"/timbers/"+escape(role), role, "role of a timber", "write show or inner")
		} else if j.Timber(code) == nil {
			j.unknown("/timbers/"+role, code, "timber")
		}
	}
	for role, code := range q.Sheets {
		if role != piece.Bottom && role != piece.Back {
			j.faults.Unknown(j.root+"/sheets/"+escape(role), role, "role of a sheet", "write bottom or back")
		} else if j.Sheet(code) == nil {
			j.unknown("/sheets/"+role, code, "sheet")
		}
	}
	if s := j.Supply(q.Glue); q.Glue != "" && (s == nil || s.Glue == nil) {
		j.unknown("/glue", q.Glue, "glue")
	}
	for zone, code := range q.Finishes {
		if zone != outside && zone != inside {
			j.faults.Unknown(j.root+"/finishes/"+escape(zone), zone, "zone", "write outside or inside")
		} else if j.Finish(code) == nil {
			j.unknown("/finishes/"+zone, code, "finish")
		}
	}
	for role, p := range q.Waste {
		if role != piece.Show && role != piece.Inner && role != sheetRole && j.Timber(role) == nil {
			if at := "/waste_percent/" + escape(role); !j.isThickness(at, role) {
				j.faults.Unknown(j.root+at, role, "role", "write show, inner, sheet or a timber's code")
			}
		} else if p < 0 || p > book.MaxPercent {
			j.add("/waste_percent/"+role, "%s %% is out of range: write 0 to %s", p, book.MaxPercent)
		}
	}
}

func (j *job) checkFitted(at string, f *piece.Fitted) {
	if j.Fitting(f.Code) == nil {
		j.unknown(at+"/code", f.Code, "ironmongery")
	}
	wide := f.FromWidth != nil || f.BelowWidth != nil
	switch f.Per {
	case "drawer", "opening":
	case "case", "piece":
		if wide {
			j.add(at, "a %s has no width to choose by: leave out from_width and below_width", f.Per)
		}
	case "":
		j.add(at+"/per", "per is missing: write drawer, opening, case or piece")
	default:
		j.add(at+"/per", "%q is not known: write drawer, opening, case or piece", f.Per)
	}
	if f.Each == 0 {
		j.add(at+"/each", "each is missing or 0: write how many, a whole number from 1 to %d", maxQuantity)
	} else if f.Each < num.One || f.Each > num.Whole(maxQuantity) || f.Each.Round(0) != f.Each {
		j.add(at+"/each", "%s is out of range: write a whole number from 1 to %d", f.Each, maxQuantity)
	}
	limit := j.units.Size(maxSize * unit.Millimetre)
	for _, w := range []struct {
		name  string
		typed *num.Decimal
	}{{"from_width", f.FromWidth}, {"below_width", f.BelowWidth}} {
		if w.typed != nil && (*w.typed < 0 || *w.typed > limit) {
			j.add(at+"/"+w.name, "%s is out of range: write 0 to %s", *w.typed, limit)
		}
	}
	if f.FromWidth != nil && f.BelowWidth != nil && *f.FromWidth >= *f.BelowWidth {
		j.add(at, "no width is from %s and below %s: make from_width smaller or below_width larger", *f.FromWidth, *f.BelowWidth)
	}
}

// checkEdges reports free edge joints of a timber or sheet that does not exist.
// Their roles need no item: the edges only count under them.
func (j *job) checkEdges(list *piece.PartList) {
	if list == nil {
		return
	}
	for i, k := range list.Joints {
		switch m := j.material(k.Material); {
		case k.Material == "", k.Material == piece.Show, k.Material == piece.Inner, m.role == sheetRole, m.timber != nil:
		default:
			j.noMaterial("/parts/joints/"+strconv.Itoa(i)+"/material", k.Material)
		}
	}
}

func (j *job) checkHours(hours []piece.ExtraHours) {
	for i, h := range hours {
		at := "/extra_hours/" + strconv.Itoa(i)
		if j.Stage(h.Stage) == nil {
			j.unknown(at+"/stage", h.Stage, "stage")
		}
		if h.Hours < 0 || h.Hours > num.Whole(maxQuantity) {
			j.add(at+"/hours", "%s is out of range: write 0 to %d", h.Hours, maxQuantity)
		}
		j.faults.Text(j.root+at, "note", h.Note, book.MaxNote, false)
	}
}

func (j *job) checkBoughtIn(lines []piece.BoughtIn) {
	for i, l := range lines {
		at := "/bought_in/" + strconv.Itoa(i)
		j.faults.Text(j.root+at, "description", l.Description, book.MaxText, true)
		switch {
		case l.Quantity == 0:
			j.add(at+"/quantity", "the quantity is missing or 0: write a number above 0, at most %d", maxQuantity)
		case l.Quantity < 0 || l.Quantity > num.Whole(maxQuantity):
			j.add(at+"/quantity", "%s is out of range: write a number above 0, at most %d", l.Quantity, maxQuantity)
		case l.Quantity.Round(3) != l.Quantity:
			j.add(at+"/quantity", "%s has too many decimals: write at most 3", l.Quantity)
		}
		j.faults.Text(j.root+at, "unit", string(l.Unit), maxUnitText, true)
		if l.Rate < 0 || l.Rate >= book.MaxRate {
			j.add(at+"/rate", "%s is out of range: write a rate from 0, below %s", l.Rate, book.MaxRate)
		}
	}
}
