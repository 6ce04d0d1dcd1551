package exports_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/exports"
)

// An evaluation works a workbook's formulas out exactly, from the numbers that
// are no formula; it knows the shapes that quotations use: sums, differences,
// products, quotients, SUM and ROUND (half away from zero).
type evaluation struct {
	cells map[string]cell
	text  string
	done  map[string]*big.Rat
}

func (e *evaluation) cell(t testing.TB, name string) *big.Rat {
	t.Helper()
	c := e.cells[name]
	if v := e.done[name]; v != nil {
		return v
	}
	if c.formula != "" {
		if e.done == nil {
			e.done = make(map[string]*big.Rat)
		}
		inner := evaluation{e.cells, c.formula, e.done}
		v := inner.sum(t)
		require.Empty(t, inner.text, c.formula)
		e.done[name] = v
		return v
	}
	v, ok := new(big.Rat).SetString(c.text)
	require.True(t, ok, "%s is %q", name, c.text)
	return v
}

func (e *evaluation) sum(t testing.TB) *big.Rat {
	v := e.product(t)
	for {
		switch {
		case e.takes("+"):
			v = new(big.Rat).Add(v, e.product(t))
		case e.takes("-"):
			v = new(big.Rat).Sub(v, e.product(t))
		default:
			return v
		}
	}
}

func (e *evaluation) product(t testing.TB) *big.Rat {
	v := e.factor(t)
	for {
		switch {
		case e.takes("*"):
			v = new(big.Rat).Mul(v, e.factor(t))
		case e.takes("/"):
			v = new(big.Rat).Quo(v, e.factor(t))
		default:
			return v
		}
	}
}

func (e *evaluation) factor(t testing.TB) *big.Rat {
	t.Helper()
	switch {
	case e.takes("ROUND("):
		v := e.sum(t)
		require.True(t, e.takes(","), e.text)
		places, _ := e.factor(t).Float64()
		require.True(t, e.takes(")"), e.text)
		r, ok := new(big.Rat).SetString(v.FloatString(int(places))) // half away from zero
		require.True(t, ok)
		return r
	case e.takes("SUM("):
		v := e.sum(t)
		for e.takes(",") {
			v = new(big.Rat).Add(v, e.sum(t))
		}
		require.True(t, e.takes(")"), e.text)
		return v
	}
	token := regexp.MustCompile(`^([A-D])?\d+`).FindStringSubmatch(e.text)
	require.NotNil(t, token, e.text)
	e.text = e.text[len(token[0]):]
	if token[1] != "" {
		return e.cell(t, token[0])
	}
	v, _ := new(big.Rat).SetString(token[0])
	return v
}

func (e *evaluation) takes(s string) bool {
	rest, found := strings.CutPrefix(e.text, s)
	e.text = rest
	return found
}

func TestFormulasComeToTheCosting(t *testing.T) {
	for name, p := range papers(t) {
		t.Run(name, func(t *testing.T) {
			all := make(map[string]cell)
			var formulas []string
			for _, c := range cells(t, written(t, p)) {
				all[c.name] = c
				if c.formula != "" {
					formulas = append(formulas, c.name)
				}
			}
			want := figures(p)
			require.Len(t, formulas, len(want))
			for i, f := range formulas {
				e := evaluation{cells: all}
				got := e.cell(t, f)
				exact, ok := new(big.Rat).SetString(want[i].String())
				require.True(t, ok)
				assert.Zero(t, exact.Cmp(got), "%s ={%s}: %s, the costing says %s", f, all[f].formula, got.FloatString(4), want[i])
			}
		})
	}
}

// poisoned is the workbook with zero stored beside every formula.
func poisoned(t *testing.T, file []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	n := 0
	for name, text := range parts(t, file) {
		if strings.HasPrefix(name, "xl/worksheets/sheet") {
			stored := regexp.MustCompile(`</f><v>[^<]*</v>`)
			n += len(stored.FindAllString(text, -1))
			text = stored.ReplaceAllString(text, "</f><v>0</v>")
		}
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write([]byte(text))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	require.Positive(t, n)
	return out.Bytes()
}

// recalculate is a profile of LibreOffice that trusts no stored result.
const recalculate = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>`

// calc returns the program of LibreOffice, or nothing where it is not installed,
// but for continuous integration, which must have it.
func calc(t *testing.T) string {
	t.Helper()
	program, err := exec.LookPath("soffice")
	if err != nil {
		require.Empty(t, os.Getenv("CI"), "LibreOffice must be installed here")
		return ""
	}
	return program
}

// office converts files to CSV, all formulas worked out again.
func office(t *testing.T, program string, files []string) {
	t.Helper()
	converted(t, program, "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1", filepath.Dir(files[0]), files)
}

// converted has LibreOffice write files in another form into a folder.
func converted(t *testing.T, program, form, dir string, files []string) {
	t.Helper()
	profile := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(profile, "user"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(profile, "user", "registrymodifications.xcu"), []byte(recalculate), 0o600))
	args := []string{"-env:UserInstallation=file://" + profile, "--headless", "--convert-to", form, "--outdir", dir}
	out, err := exec.Command(program, append(args, files...)...).CombinedOutput()
	require.NoError(t, err, string(out))
}

// recalculatedQuotations returns the cells with formulas of each quotation as
// LibreOffice works them out, with true and with poisoned figures stored: under its
// name and ".true" or ".poisoned". Where it is not installed there is nothing.
func recalculatedQuotations(t *testing.T, all map[string]exports.Paper) map[string][]cell {
	t.Helper()
	program := calc(t)
	if program == "" {
		return nil
	}
	dir := t.TempDir()
	live := make(map[string][]cell)
	var files []string
	for name, p := range all {
		file := written(t, p)
		var formulas []cell
		for _, c := range cells(t, file) {
			if c.formula != "" {
				formulas = append(formulas, c)
			}
		}
		for kind, text := range map[string][]byte{".true": file, ".poisoned": poisoned(t, file)} {
			path := filepath.Join(dir, name+kind+".xlsx")
			require.NoError(t, os.WriteFile(path, text, 0o600))
			files = append(files, path)
			live[name+kind] = slices.Clone(formulas)
		}
	}
	office(t, program, files)
	for name, formulas := range live {
		text, err := os.ReadFile(filepath.Join(dir, name+"-Quotation.csv"))
		require.NoError(t, err)
		r := csv.NewReader(bytes.NewReader(text))
		r.FieldsPerRecord = -1
		rows, err := r.ReadAll()
		require.NoError(t, err)
		for i := range formulas {
			column, row, err := excelize.CellNameToCoordinates(formulas[i].name)
			require.NoError(t, err)
			formulas[i].text = rows[row-1][column-1]
		}
	}
	return live
}

// LibreOffice is a second program that works the formulas out. Where it is not
// installed the exact evaluation above is the check.
func TestLibreOfficeComesToTheCosting(t *testing.T) {
	if calc(t) == "" {
		TestFormulasComeToTheCosting(t)
		return
	}
	all := papers(t)
	got := recalculatedQuotations(t, all)
	assert.Len(t, got, 2*len(all))
	for key, formulas := range got {
		name, _, _ := strings.Cut(key, ".")
		want := figures(all[name])
		require.Len(t, formulas, len(want), key)
		for i, c := range formulas {
			same(t, want[i], c.text, key+" "+c.name+" ="+c.formula)
		}
	}
}
