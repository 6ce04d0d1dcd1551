package pricing

import (
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
)

const (
	sheetRole = "sheet" // the role of every sheet part in measures and waste
	outside   = "outside"
	inside    = "inside"
)

func escape(token string) string { return fault.Escape(token) }

// A material is the timber or sheet that a role or a code names, and the role
// that measures and waste know it by: a timber named by its code is its own role.
// Both are nil when nothing is found.
type material struct {
	timber *book.Timber
	sheet  *book.Sheet
	role   string
}

// findRoles finds what the piece names for each role.
func (j *job) findRoles() {
	q := j.piece
	j.roles = [...]material{
		{timber: j.Timber(q.Timbers[piece.Show]), role: piece.Show},
		{timber: j.Timber(q.Timbers[piece.Inner]), role: piece.Inner},
		{sheet: j.Sheet(q.Sheets[piece.Bottom]), role: sheetRole},
		{sheet: j.Sheet(q.Sheets[piece.Back]), role: sheetRole},
	}
}

// material returns what a role or a code names.
func (j *job) material(name string) material {
	switch name {
	case piece.Show:
		return j.roles[0]
	case piece.Inner:
		return j.roles[1]
	case piece.Bottom:
		return j.roles[2]
	case piece.Back:
		return j.roles[3]
	}
	if s := j.Sheet(name); s != nil {
		return material{sheet: s, role: sheetRole}
	}
	return material{timber: j.Timber(name), role: name}
}

// Stocks tells what the materials of a piece are in a book, for piece.Build.
func Stocks(q *piece.Piece, b *book.Book) piece.Stocks {
	j := job{pricer: &pricer{Book: b}, piece: q}
	j.findRoles()
	return j.stock
}

// stock tells package piece what a material is.
func (j *job) stock(name string) piece.Stock {
	m := j.material(name)
	if m.sheet != nil {
		return piece.Stock{Known: true, Sheet: true, Thickness: m.sheet.Thickness}
	}
	return piece.Stock{Known: m.timber != nil, Sheet: m.role == sheetRole}
}

// missing reports a material that nothing is named for: a role once, where it
// should be named, a code where it stands.
func (j *job) missing(name, at string) {
	what, named := "timber", j.piece.Timbers
	switch name {
	case piece.Show, piece.Inner:
	case piece.Bottom, piece.Back:
		what, named = "sheet", j.piece.Sheets
	default:
		j.noMaterial(at+"/material", name)
		return
	}
	if _, typed := named[name]; typed {
		return // a code that is not in the book: said there
	}
	pointer := "/" + what + "s"
	if named == nil {
		pointer = ""
	}
	j.add(pointer, "the piece has parts of the role %s: name a %s for it in %ss", name, what, what)
}

// noMaterial reports what stands for a material and is none.
func (j *job) noMaterial(at, name string) {
	switch {
	case name == "":
		j.add(at, "the material is missing: name a role (show, inner, bottom, back), or a timber or sheet of the book")
	case !j.isThickness(at, name):
		j.add(at, "%q is no role (show, inner, bottom, back) and no timber or sheet of the book: check its spelling, or name another", name)
	}
}

// isThickness reports whether code, which stands for a timber, is that of one of
// its thicknesses; that is a fault.
func (j *job) isThickness(at, code string) bool {
	t := j.TimberOf(code)
	if t != nil {
		j.add(at, "%q is a thickness of the timber %s: name %s", code, t.Code, t.Code)
	}
	return t != nil
}

// unknown reports a code that is that of no such thing of the book.
func (j *job) unknown(at, code, what string) {
	switch {
	case code == "":
		j.add(at, "the %s is missing: name one of the book by its code", what)
	case what != "timber" || !j.isThickness(at, code):
		j.add(at, "%q is no %s of the book: check its spelling, or name another", code, what)
	}
}

// waste returns the add-on for waste of a role: the request's, else std.
func (j *job) waste(role string, std num.Percent) num.Percent {
	if w, ok := j.piece.Waste[role]; ok {
		return w
	}
	return std
}

// factor returns the working factor of a role's timber; that of sheets is 1.
func (j *job) factor(role string) num.Decimal {
	if t := j.material(role).timber; t != nil {
		return t.WorkingFactor
	}
	return num.One
}
