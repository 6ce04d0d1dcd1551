package exports_test

import (
	"fmt"
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A reckoning works the formulas of a workshop's workbook out in exact fractions,
// from the values that are no formula. It knows what the sheets use: + - * / ROUND
// (half away from zero) ROUNDUP SUM SUMIFS IF, cells of other sheets and ranges.
type reckoning struct {
	testing.TB
	cells map[string]cell
	done  map[string]*big.Rat
	sheet string // that the formula at hand stands on
	text  string // what is left of it
}

// reckoned returns what every cell comes to.
func reckoned(t testing.TB, file []byte) func(sheet, cell string) string {
	t.Helper()
	e := &reckoning{TB: t, cells: make(map[string]cell), done: make(map[string]*big.Rat)}
	for _, l := range leaves(t, file) {
		for _, row := range l.rows {
			for _, c := range row {
				e.cells[l.name+"!"+c.name] = c
			}
		}
	}
	return func(sheet, name string) string {
		if e.cells[sheet+"!"+name].formula == "" {
			return e.cells[sheet+"!"+name].text
		}
		v := e.cell(sheet + "!" + name)
		s := strings.TrimRight(v.FloatString(12), "0")
		require.Zero(t, ratOf(t, s).Cmp(v), "%s %s is no decimal", sheet, name)
		return s
	}
}

func ratOf(t testing.TB, s string) *big.Rat {
	t.Helper()
	if s == "" {
		s = "0" // as an empty cell counts
	}
	v, ok := new(big.Rat).SetString(strings.TrimSuffix(s, "."))
	require.True(t, ok, "%q is no number", s)
	return v
}

// cell returns what a cell comes to.
func (e *reckoning) cell(at string) *big.Rat {
	c, ok := e.cells[at]
	if v := e.done[at]; v != nil {
		return v
	}
	if c.formula == "" || !ok {
		return ratOf(e, c.text)
	}
	sheet, _, _ := strings.Cut(at, "!")
	inner := &reckoning{TB: e.TB, cells: e.cells, done: e.done, sheet: sheet, text: c.formula}
	v := inner.sum()
	require.Empty(e, inner.text, c.formula)
	e.done[at] = v
	return v
}

func (e *reckoning) takes(s string) bool {
	rest, found := strings.CutPrefix(e.text, s)
	e.text = rest
	return found
}

func (e *reckoning) needs(s string) {
	e.Helper()
	require.True(e, e.takes(s), "%q does not begin with %s", e.text, s)
}

func (e *reckoning) sum() *big.Rat {
	v := e.product()
	for {
		switch {
		case e.takes("+"):
			v = new(big.Rat).Add(v, e.product())
		case e.takes("-"):
			v = new(big.Rat).Sub(v, e.product())
		default:
			return v
		}
	}
}

func (e *reckoning) product() *big.Rat {
	v := e.factor()
	for {
		switch {
		case e.takes("*"):
			v = new(big.Rat).Mul(v, e.factor())
		case e.takes("/"):
			by := e.factor()
			require.NotZero(e, by.Sign(), "divided by zero")
			v = new(big.Rat).Quo(v, by)
		default:
			return v
		}
	}
}

func (e *reckoning) factor() *big.Rat {
	switch {
	case e.takes("("):
		v := e.sum()
		e.needs(")")
		return v
	case e.takes("ROUND("):
		v, places := e.rounding()
		return ratOf(e, v.FloatString(places)) // half away from zero
	case e.takes("ROUNDUP("):
		v, places := e.rounding()
		require.Zero(e, places)
		n, rest := new(big.Int).DivMod(v.Num(), v.Denom(), new(big.Int))
		if rest.Sign() > 0 {
			n.Add(n, big.NewInt(1))
		}
		return new(big.Rat).SetInt(n)
	case e.takes("SUM("):
		v := new(big.Rat)
		for done := false; !done; done = !e.takes(",") {
			for _, at := range e.cellsHere() {
				v.Add(v, e.cell(at))
			}
		}
		e.needs(")")
		return v
	case e.takes("SUMIFS("):
		return e.sumIfs()
	case e.takes("IF("):
		return e.choice()
	}
	if digits := regexp.MustCompile(`^\d+`).FindString(e.text); digits != "" {
		e.text = e.text[len(digits):]
		return ratOf(e, digits)
	}
	cells := e.cellsHere()
	require.Len(e, cells, 1)
	return e.cell(cells[0])
}

// rounding reads a figure and to how many places it is rounded.
func (e *reckoning) rounding() (*big.Rat, int) {
	v := e.sum()
	e.needs(",")
	places, _ := e.sum().Float64()
	e.needs(")")
	return v, int(places)
}

// sumIfs adds up the cells beside which another column says a text.
func (e *reckoning) sumIfs() *big.Rat {
	cells := e.cellsHere()
	e.needs(",")
	keys := e.cellsHere()
	e.needs(`,"`)
	text, rest, _ := strings.Cut(e.text, `")`)
	e.text = rest
	require.Len(e, keys, len(cells))
	v := new(big.Rat)
	for i := range cells {
		if e.cells[keys[i]].text == text {
			v.Add(v, e.cell(cells[i]))
		}
	}
	return v
}

// choice works out an IF; only the branch that is taken counts.
func (e *reckoning) choice() *big.Rat {
	condition := e.sum()
	yes := condition.Sign() != 0
	if e.takes("=") {
		yes = condition.Cmp(e.sum()) == 0
	}
	e.needs(",")
	a := e.branch(yes)
	e.needs(",")
	b := e.branch(!yes)
	e.needs(")")
	if yes {
		return a
	}
	return b
}

// branch works a branch out, or passes over one that is not taken.
func (e *reckoning) branch(taken bool) *big.Rat {
	if taken {
		return e.sum()
	}
	depth := 0
	for i, r := range e.text {
		switch {
		case r == '(':
			depth++
		case r == ')' && depth > 0:
			depth--
		case depth == 0 && (r == ',' || r == ')'):
			e.text = e.text[i:]
			return nil
		}
	}
	require.Fail(e, "an IF does not end")
	return nil
}

// reference is a cell or a range, of this sheet or another.
var reference = regexp.MustCompile(`^(?:'([^']+)'!|([A-Za-z]+)!)?\$?([A-Z])\$?(\d+)(?::\$?([A-Z])\$?(\d+))?`)

// cellsHere reads a cell or a range of one column.
func (e *reckoning) cellsHere() []string {
	m := reference.FindStringSubmatch(e.text)
	require.NotNil(e, m, e.text)
	e.text = e.text[len(m[0]):]
	sheet := m[1] + m[2]
	if sheet == "" {
		sheet = e.sheet
	}
	from, err := strconv.Atoi(m[4])
	require.NoError(e, err)
	to := from
	if m[6] != "" {
		require.Equal(e, m[3], m[5], "a range is of one column")
		to, err = strconv.Atoi(m[6])
		require.NoError(e, err)
	}
	var cells []string
	for row := from; row <= to; row++ {
		cells = append(cells, fmt.Sprintf("%s!%s%d", sheet, m[3], row))
	}
	return cells
}

func TestWorkshopComesToTheCosting(t *testing.T) {
	for name, p := range workshopPapers(t) {
		t.Run(name, func(t *testing.T) {
			file := workshop(t, p)
			audited(t, p, file, reckoned(t, file))
		})
	}
}
