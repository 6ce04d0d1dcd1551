package exports

import (
	"cmp"
	"errors"
	"io"
	"strings"

	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// A draughting is how a front is drawn: the most it may take of the paper, the
// sizes of what is drawn on it, and what is said beside the overall size.
type draughting struct {
	mostWide, mostHigh unit.Length
	figures            unit.Length // size of their type
	pen                unit.Length // of the front's lines
	standOff           unit.Length // of a dimension line from what it measures
	full               bool        // a title, the heights of the rows, a usual scale
	scale              bool        // and what that is
}

// draughtings are a front drawn for the bench, the same as a page of its own, whose
// scale holds, and beside a description; and a sheet's layout for the bench and as
// a page of its own, across an A4 page. Line widths are those of ISO 128 (from
// memory).
var draughtings = struct{ bench, page, sketch, saw, plan draughting }{
	bench:  draughting{160 * mm, 160 * mm, 32 * mm / 10, 25 * mm / 100, 7 * mm, true, false},
	page:   draughting{160 * mm, 160 * mm, 32 * mm / 10, 25 * mm / 100, 7 * mm, true, true},
	sketch: draughting{50 * mm, 38 * mm, 25 * mm / 10, 18 * mm / 100, 4 * mm, false, false},
	saw:    draughting{165 * mm, 120 * mm, 28 * mm / 10, 25 * mm / 100, 5 * mm, false, false},
	plan:   draughting{250 * mm, 160 * mm, 32 * mm / 10, 25 * mm / 100, 7 * mm, true, true},
}

// elevation draws the front of the i-th piece for the bench, and reports false
// for a piece that has none.
func (p *Paper) elevation(i int) (drawing, bool) { return p.draw(i, draughtings.bench) }

// sketch draws it small, with its overall size alone.
func (p *Paper) sketch(i int) (drawing, bool) { return p.draw(i, draughtings.sketch) }

// FrontPiece returns the place of the first piece that has a front elevation.
func FrontPiece(p Paper) (int, bool) {
	for i := range p.Request.Pieces {
		if _, ok := p.Request.Pieces[i].Front(); ok {
			return i, true
		}
	}
	return 0, false
}

// Elevation writes the front elevation of a piece, by its place in the request,
// as SVG of its size on paper: to scale, with its overall size and the heights
// of its rows in the piece's units. It fails for a piece without a front. The
// same Paper is the same bytes.
func Elevation(w io.Writer, p Paper, piece int) error {
	d, ok := p.draw(piece, draughtings.page)
	if !ok {
		return errors.New("exports: the piece has no front to draw")
	}
	_, err := w.Write(d.svg())
	return err
}

// A drafter draws one front.
type drafter struct {
	pencil
	front []piece.Rect
	rows  []openings
}

// Openings are alike and stand in a row, side by side.
type openings struct {
	y, height unit.Length // of the piece
	across    int
}

func (p *Paper) draw(i int, how draughting) (drawing, bool) {
	if i < 0 || i >= len(p.Request.Pieces) {
		return drawing{}, false
	}
	q := &p.Request.Pieces[i]
	front, ok := q.Front()
	if !ok {
		return drawing{}, false
	}
	d := drafter{pencil: pencil{draughting: how, units: q.Units}, front: front, rows: rowsOf(front)}
	if d.units == "" {
		d.units = unit.InMillimetres
	}
	d.name = "Front elevation"
	d.title = cmp.Or(clip(oneLine(q.Title), maxTitle), "Piece")
	d.about = d.words()
	d.chooseScale(front[0].Width, front[0].Height)
	d.layOut()
	return d.drawing, true
}

// maxTitle is how much of a piece's title is kept, in UTF-16 units.
const maxTitle = 200

// rowsOf returns the rows of openings in a front, from the top.
func rowsOf(front []piece.Rect) []openings {
	var rows []openings
	for _, r := range front {
		if r.Shows != piece.SeenOpening {
			continue
		}
		if n := len(rows); n > 0 && rows[n-1].y == r.Y && rows[n-1].height == r.Height {
			rows[n-1].across++
			continue
		}
		rows = append(rows, openings{r.Y, r.Height, 1})
	}
	return rows
}

// words tells the drawing to who cannot see it.
func (d *drafter) words() string {
	o := &d.front[0]
	drawers := 0
	for _, r := range d.front {
		if r.Shows == piece.SeenDrawer {
			drawers++
		}
	}
	var b strings.Builder
	b.WriteString("Front elevation of " + d.title + ": " + d.figure(o.Width) + " " + string(d.units) + " wide, " +
		d.figure(o.Height) + " " + string(d.units) + " high, " + several(drawers, "drawer", "drawers") + ".")
	if !d.full {
		return b.String()
	}
	b.WriteString(" Openings from the top, " + string(d.units) + " high:")
	for i, r := range d.rows {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(" " + d.figure(r.height))
		if r.across > 1 {
			b.WriteString(" (" + counted(r.across) + " across)")
		}
	}
	b.WriteByte('.')
	return b.String()
}
