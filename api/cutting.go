package api

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"net/url"
	"slices"
	"strconv"

	"github.com/labstack/echo/v4"

	"reckoner/exports"
	"reckoner/pricing"
)

// layout is the parameter that chooses a layout of a sheet, by its number.
func layout() parameter { return number("layout", math.MaxInt32, "number of a layout") }

// noSheet is what is said where there is nothing to draw.
const noSheet = "nothing of the pieces included is cut from a sheet"

// A diagram is one that can be drawn: a layout of a sheet.
type diagram struct {
	sheet  string
	layout int
}

// diagramOf returns the diagram that a query names: of its sheet, or of the only one
// there is, its layout, or the first. There must be a sheet.
func diagramOf(q url.Values, sheets []pricing.SheetPlan) (diagram, error) {
	codes := make([]string, len(sheets))
	for i := range sheets {
		codes[i] = sheets[i].Code
	}
	i := slices.Index(codes, q.Get("sheet"))
	switch {
	case q.Has("sheet") && i < 0:
		return diagram{}, failings{{Parameter: "sheet", Detail: fmt.Sprintf("nothing is cut from a sheet %q: write %s", q.Get("sheet"), either(codes))}}
	case !q.Has("sheet") && len(sheets) > 1:
		return diagram{}, failings{{Parameter: "sheet", Detail: "it is missing, and there are several: write " + either(codes)}}
	}
	p := sheets[max(i, 0)]
	n, _ := strconv.Atoi(cmp.Or(q.Get("layout"), "1")) // which layout has looked at
	if n > len(p.Layouts) {
		return diagram{}, failings{{Parameter: "layout", Detail: fmt.Sprintf("there is no layout %d of %s: write %s", n, p.Code, upTo(len(p.Layouts)))}}
	}
	return diagram{p.Code, n}, nil
}

// upTo says which numbers there are: "1", "1 or 2", "1 to 9".
func upTo(n int) string {
	if n > 2 {
		return fmt.Sprintf("1 to %d", n)
	}
	return either([]string{"1", "2"}[:n])
}

// draw writes the diagram.
func (d diagram) draw(w io.Writer, p exports.Paper) error {
	return exports.CuttingDiagram(w, p, d.sheet, d.layout)
}

// cutting answers with a cutting diagram of what was priced.
func cutting(c echo.Context, q url.Values, p exports.Paper) error {
	if len(p.Costing.Cutting) == 0 {
		return failings{{Parameter: "sheet", Detail: noSheet}}
	}
	d, err := diagramOf(q, p.Costing.Cutting)
	if err != nil {
		return err
	}
	return export(c, typeSVG, func(w io.Writer) error { return d.draw(w, p) })
}

// cuttingDiagram answers with a cutting diagram of an issued revision.
func (s *service) cuttingDiagram(c echo.Context) error {
	q, err := query(c, typeSVG, text("sheet"), layout(), of())
	if err != nil {
		return err
	}
	return s.drawn(c, typeSVG, q, func(w io.Writer, p exports.Paper) (string, error) {
		d, err := frozenDiagram(q, p)
		if err != nil {
			return "", err
		}
		return fmt.Sprintf("%s-cutting-%d.svg", d.sheet, d.layout), d.draw(w, p)
	})
}

// frozenDiagram is diagramOf for a revision that was issued, perhaps before there were
// plans.
func frozenDiagram(q url.Values, p exports.Paper) (diagram, error) {
	switch plans := p.Costing.Cutting; {
	case plans == nil:
		return diagram{}, refuse(notFound, "the revision was issued before sheets were planned: it has no cutting plan")
	case len(plans) == 0:
		return diagram{}, refuse(notFound, noSheet)
	default:
		return diagramOf(q, plans)
	}
}
