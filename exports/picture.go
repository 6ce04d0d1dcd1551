package exports

import (
	"slices"

	"github.com/xuri/excelize/v2"

	"reckoner/pricing/unit"
)

// density is how many pixels of a picture stand for each of a workbook's, which
// are 1/96 inch: enough for print.
const density = 2

// inPoints returns a length on paper in points.
func inPoints(l unit.Length) float64 { return float64(l) / float64(unit.Inch) * inch }

// A spot is where a picture stands over the rows of a sheet, and how wide it may
// be, in points.
type spot struct {
	row  int     // that it begins in
	x, y float64 // from the left of the sheet, and from the top of the row
	most float64 // a wider picture is made smaller
}

// picture lays d over a sheet; those who cannot see it are told what it shows.
// Like all but rows it comes before the sheet is finished; it takes no room of
// its own.
func (s *sheet) picture(d *drawing, at spot) {
	if s.err != nil {
		return
	}
	const pixel = inch / 96
	png, err := s.drawn(d, int(min(inPoints(d.wide), at.most)/pixel)*density)
	if s.check(err); err != nil {
		return
	}
	column := 0
	for column < len(s.wide)-1 && at.x >= s.wide[column] {
		at.x -= s.wide[column]
		column++
	}
	s.check(s.file.AddPictureFromBytes(s.stream.Sheet, s.at(column, at.row), &excelize.Picture{
		Extension: ".png", File: png,
		Format: &excelize.GraphicOptions{
			AltText: d.about, Name: d.name, Positioning: "oneCell", LockAspectRatio: true,
			ScaleX: 1. / density, ScaleY: 1. / density, OffsetX: int(at.x / pixel), OffsetY: int(at.y / pixel),
		},
	}))
}

// A print is a drawing as a picture that many pixels wide.
type print struct {
	shapes []shape
	width  int
	png    []byte
}

// drawn returns d as a picture, painted once however many pieces look the same.
func (s *sheet) drawn(d *drawing, width int) ([]byte, error) {
	for _, p := range s.prints {
		if p.width == width && slices.Equal(p.shapes, d.shapes) {
			return p.png, nil
		}
	}
	png, err := d.png(width)
	s.prints = append(s.prints, print{d.shapes, width, png})
	return png, err
}

// shown returns the drawing that goes beside a piece on a quotation: its front,
// unless it stands in the place of a piece that looks the same.
func (q *quotation) shown(i int) (drawing, bool) {
	d, ok := q.sketch(i)
	if !ok {
		return d, false
	}
	for k := range q.Request.Pieces {
		if q.Request.Pieces[i].AlternativeTo == "" || q.Request.Pieces[i].AlternativeTo != q.Costing.Pieces[k].ID {
			continue
		}
		front, _ := q.Request.Pieces[i].Front()
		if other, ok := q.Request.Pieces[k].Front(); ok && slices.Equal(front, other) {
			return d, false
		}
	}
	return d, true
}

// beside lays the front of a piece at the right of its description, which begins
// in that row.
func (q *quotation) beside(front *drawing, row int) {
	const fromEdge = 4
	end := 0.0
	for _, w := range q.wide {
		end += w
	}
	most := end - q.wide[textColumn] - fromEdge
	q.picture(front, spot{row: row, x: end - fromEdge - min(most, inPoints(front.wide)), y: 3, most: most})
}
