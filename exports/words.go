package exports

import (
	"slices"
	"strconv"
	"strings"

	"reckoner/pricing"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// Zones of a piece's finishes.
const (
	outsideZone = "outside"
	insideZone  = "inside"
)

// A wording puts one piece of a request into plain words for the customer: what
// it is, of what, how it is made, finished and fitted. It uses the descriptions
// of the Book and never a code.
type wording struct {
	*Paper
	piece  *piece.Piece
	priced *pricing.PricedPiece
	units  unit.System
}

// describe returns the i-th piece in words, a line each for its sizes, timber,
// construction, finish, ironmongery and provisional sums.
func (p *Paper) describe(i int) []string {
	w := wording{Paper: p, piece: &p.Request.Pieces[i], priced: &p.Costing.Pieces[i], units: p.Costing.Pieces[i].Units}
	var lines []string
	switch q := w.piece; {
	case q.Chest != nil:
		lines = w.chest(q.Chest)
	case q.DrawerBoxes != nil:
		lines = w.boxes(q.DrawerBoxes)
	case q.Parts != nil:
		lines = w.parts(q.Parts)
	case q.Service != nil:
		lines = w.service(q.Service)
	}
	lines = append(lines, w.ironmongery(), w.boughtIn())
	return filled(append(lines, w.provisional()...)...)
}

func (w *wording) chest(c *piece.Chest) []string {
	drawers := 0
	for _, r := range c.Rows {
		drawers += max(1, int(r.Across))
	}
	made := "Construction: solid top and sides, rails tenoned into the sides"
	if c.Plinth == nil || *c.Plinth > 0 {
		made += ", on a plinth"
	}
	return []string{
		"Chest of " + several(drawers, "drawer", "drawers") + ", " + w.overall(c.Width, c.Depth, c.Height),
		w.timber(w.role(piece.Show), w.role(piece.Inner)),
		made + "." + sentence("Back", w.role(piece.Back)),
		"Drawers: " + w.drawers(&c.Drawers, piece.Lapped) + w.bottoms(&c.Drawers),
		w.finish("Inside the drawers"),
	}
}

// overall returns the sizes of a piece: "900 mm wide, 480 mm deep, 1200 mm high".
func (w *wording) overall(wide, deep, high num.Decimal) string {
	return by(w.units, wide) + " wide, " + by(w.units, deep) + " deep, " + by(w.units, high) + " high"
}

// timber names the timbers of what is seen and of what is not.
func (w *wording) timber(show, inner string) string {
	switch {
	case show == inner && show != "":
		return "Timber: " + show + ", throughout."
	case show == "":
		return strings.TrimSpace(sentence("Timber", inner))
	}
	return "Timber: " + show + "." + sentence("Inside", inner)
}

// drawers says how drawers are joined; standard is the construction of a style
// that names none.
func (w *wording) drawers(d *piece.DrawerStyle, standard string) string {
	construction := d.Construction
	if construction == "" {
		construction = standard
	}
	switch {
	case construction == piece.Lapped:
		return "lapped dovetails at the front and through dovetails at the back, cut by " + w.cut() + "."
	case w.piece.Chest != nil:
		return "through-dovetailed boxes with separate fronts, the dovetails cut by " + w.cut() + "."
	}
	return "through dovetails at all four corners, cut by " + w.cut() + "."
}

// cut says how dovetails are cut.
func (w *wording) cut() string {
	if w.piece.Dovetails == "machine" {
		return "machine"
	}
	return "hand"
}

// bottoms says what drawers' bottoms are.
func (w *wording) bottoms(d *piece.DrawerStyle) string {
	if d.Bottom == "solid" {
		return sentence("Bottoms", "solid timber")
	}
	return sentence("Bottoms", w.role(piece.Bottom))
}

// finish says what is laid on; inside is what the inside is called.
func (w *wording) finish(inside string) string {
	out, in := w.finishOf(outsideZone), w.finishOf(insideZone)
	switch {
	case out == "" && in == "":
		return "Finish: none."
	case out == "":
		return strings.TrimSpace(sentence(inside, in)) + " Otherwise unfinished."
	case out == in:
		return "Finish: " + out + ", inside and out."
	}
	return "Finish: " + out + "." + sentence(inside, in)
}

func (w *wording) finishOf(zone string) string {
	if f := w.Book.Finish(w.piece.Finishes[zone]); f != nil {
		return f.Description
	}
	return ""
}

func (w *wording) boxes(l *piece.DrawerBoxes) []string {
	front := ""
	if l.Construction == piece.Lapped {
		front = w.role(piece.Show)
	}
	return append(boxSizes(l.Boxes, w.units),
		w.boxTimber(front, w.role(piece.Inner)),
		"Construction: "+w.drawers(&l.DrawerStyle, piece.Applied)+w.bottoms(&l.DrawerStyle),
		w.finish("Finish inside"))
}

// boxSizes says how many boxes there are and their sizes, a line for each.
func boxSizes(boxes []piece.BoxSize, s unit.System) []string {
	n := 0
	sizes := make([]string, len(boxes))
	for i, b := range boxes {
		many := max(1, int(b.Quantity))
		n += many
		sizes[i] = strconv.Itoa(many) + " of " + by(s, b.Width, b.Height, b.Depth)
	}
	what := capital(several(n, "drawer box", "drawer boxes"))
	if len(boxes) == 1 {
		b := boxes[0]
		return []string{what + ", outside " + by(s, b.Width) + " wide, " + by(s, b.Height) + " high, " + by(s, b.Depth) + " deep"}
	}
	return append([]string{what + ", outside sizes as width x height x depth:"}, sizes...)
}

// boxTimber names the timbers of the fronts, if they are made, and the walls.
func (w *wording) boxTimber(front, wall string) string {
	if front == "" || front == wall {
		return "Timber: " + wall + "."
	}
	return "Fronts: " + front + "." + sentence("Sides and backs", wall)
}

func (w *wording) parts(l *piece.PartList) []string {
	var materials []string
	of := make(map[string][]string)
	for _, f := range l.Parts {
		m := w.material(f.Material)
		if of[m] == nil {
			materials = append(materials, m)
		}
		name := oneLine(f.Name)
		if f.Quantity > 1 {
			name += " (" + strconv.Itoa(int(f.Quantity)) + ")"
		}
		of[m] = append(of[m], name)
	}
	var lines []string
	for _, m := range materials {
		lines = append(lines, "In "+m+": "+strings.Join(of[m], ", ")+".")
	}
	return append(lines, w.joints(l), w.finish("Finish inside"))
}

// joints says how free parts are joined.
func (w *wording) joints(l *piece.PartList) string {
	var used []string
	dovetailed := false
	for _, t := range []struct {
		kind  string
		words string
	}{
		{piece.MortiseTenon, "mortise and tenon joints"}, {piece.Housing, "housed joints"},
		{piece.ThroughDovetail, "through dovetails"}, {piece.LappedDovetail, "lapped dovetails"},
	} {
		if slices.ContainsFunc(l.Joints, func(j piece.FreeJoint) bool { return j.Type == t.kind }) {
			used = append(used, t.words)
			dovetailed = dovetailed || strings.HasSuffix(t.words, "dovetails")
		}
	}
	if len(used) == 0 {
		return ""
	}
	s := "Construction: " + strings.Join(used, ", ")
	if dovetailed {
		s += "; dovetails cut by " + w.cut()
	}
	return s + "."
}

func (w *wording) service(s *piece.Service) []string {
	var said []string
	if s.Delivery > 0 {
		said = append(said, "delivery over "+s.Delivery.String()+" km")
	}
	if s.Drops > 1 {
		said = append(said, several(s.Drops, "call", "calls"))
	}
	if s.People > 0 {
		said = append(said, "carried in by "+several(s.People, "person", "people"))
	}
	if s.Site > 0 {
		said = append(said, "fitting on site")
	}
	if len(said) == 0 {
		return nil
	}
	return []string{capital(strings.Join(said, ", ")) + "."}
}

// ironmongery lists what is fitted to one piece.
func (w *wording) ironmongery() string {
	var items []string
	for i := range w.priced.Ironmongery {
		l := &w.priced.Ironmongery[i]
		n := l.Quantity / num.Decimal(w.priced.Quantity)
		items = append(items, n.String()+" x "+oneLine(l.Description))
	}
	return strings.TrimSpace(sentence("Ironmongery", strings.Join(items, "; ")))
}

// boughtIn lists the work and goods of others, provisional sums apart.
func (w *wording) boughtIn() string {
	var items []string
	for _, b := range w.piece.BoughtIn {
		if !b.Provisional {
			items = append(items, oneLine(b.Description))
		}
	}
	return strings.TrimSpace(sentence("Also included", strings.Join(items, "; ")))
}

// provisional names what is not settled yet, each with the sum allowed for it in
// the whole line: the only amounts of what goes into a piece that its customer
// reads, for the price follows them.
func (w *wording) provisional() []string {
	var lines []string
	of := " before tax: "
	if w.priced.Quantity > 1 {
		of = " in all, before tax: "
	}
	for i := range w.priced.BoughtIn {
		if l := &w.priced.BoughtIn[i]; l.Provisional {
			lines = append(lines, "Provisional sum of "+written(w.Costing.Currency, l.Amount)+of+strings.TrimSuffix(oneLine(l.Description), ".")+".")
		}
	}
	switch len(lines) {
	case 0:
		return nil
	case 1:
		return append(lines, "This sum is allowed for what is not settled yet: once it is, the price is worked out again.")
	}
	return append(lines, "These sums are allowed for what is not settled yet: once they are, the price is worked out again.")
}

// role describes the timber or sheet that the piece uses in a role.
func (w *wording) role(role string) string {
	if t := w.Book.Timber(w.piece.Timbers[role]); t != nil {
		return t.Description
	}
	if s := w.Book.Sheet(w.piece.Sheets[role]); s != nil {
		return s.Description
	}
	return ""
}

// material describes a material of a free part: a role's, or one by its code.
func (w *wording) material(name string) string {
	if t := w.Book.Timber(name); t != nil {
		return t.Description
	}
	if s := w.Book.Sheet(name); s != nil {
		return s.Description
	}
	return w.role(name)
}

// sentence returns " Label: text." or nothing when there is no text.
func sentence(label, text string) string {
	if text == "" {
		return ""
	}
	return " " + label + ": " + strings.TrimSuffix(text, ".") + "."
}

// notes returns what the customer should know to be safe, each once.
func (p *Paper) notes() []string {
	var notes []string
	for i := range p.Costing.Pieces {
		o := &p.Costing.Pieces[i]
		for _, c := range o.Checks {
			note := ""
			switch {
			case c.Code == "stability":
				note = o.Title + ": a tall piece with drawers can tip over. It must be fixed to a wall; please ask us about fixings."
			case c.Code == "two_people":
				note = o.Title + ": weighs about " + mass(o) + ". Please do not lift it alone: its heaviest part needs at least " + counted(c.People) + " people."
			}
			if note = oneLine(note); note != "" && !slices.Contains(notes, note) {
				notes = append(notes, note)
			}
		}
	}
	return notes
}

// mass returns what one of a line weighs, in pounds too where its sizes are in
// inches.
func mass(o *pricing.PricedPiece) string {
	s := o.Mass.Round(0).String() + " kg"
	if o.Units == unit.InInches {
		s += " (" + num.Product(0, pound, num.One, o.Mass).String() + " lb)"
	}
	return s + each(o.Quantity)
}

const pound = num.Decimal(453_592) // kg; 0.45359237 exactly, cut for whole pounds
