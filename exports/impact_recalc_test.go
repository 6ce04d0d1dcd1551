package exports_test

import (
	"bytes"
	"encoding/csv"
	"math/big"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing"
	"reckoner/pricing/num"
)

// wanted are the figures that the formulas of an impact come to, by cell.
func wanted(all *pricing.Impact) map[string]num.Money {
	want := make(map[string]num.Money)
	row := 2
	for _, a := range all.Quotes {
		want["Quotes!I"+strconv.Itoa(row)] = a.Loss
		row++
	}
	s := &all.Sums
	for i, m := range []num.Money{s.OldCost, s.NewCost, s.Loss, s.Quoted, s.WouldBe, s.Left} {
		want["Quotes!"+string(rune('G'+i))+strconv.Itoa(row)] = m
	}
	if all.Update == nil {
		return want
	}
	row = 2
	var old, is num.Money
	for _, x := range all.Update.Timbers {
		want["Timber!F"+strconv.Itoa(row)] = x.Loss
		old, is = old.Plus(x.Old), is.Plus(x.New)
		row++
	}
	for i, m := range []num.Money{old, is, all.Update.Loss} {
		want["Timber!"+string(rune('D'+i))+strconv.Itoa(row)] = m
	}
	return want
}

// Every formula comes to our own figure exactly, and that is stored beside it.
func TestImpactFormulasComeToTheImpact(t *testing.T) {
	for name, all := range impacts(t) {
		cells := impactCells(t, impactXLSX(t, all), sheetsOf(&all))
		e := &reckoning{TB: t, cells: cells, done: make(map[string]*big.Rat)}
		want := wanted(&all)
		for at, c := range cells {
			if c.formula == "" {
				continue
			}
			m, ok := want[at]
			require.True(t, ok, "%s: %s ={%s}", name, at, c.formula)
			same(t, m, c.text, name+" "+at)
			exact, _ := new(big.Rat).SetString(m.String())
			assert.Zero(t, exact.Cmp(e.cell(at)), "%s: %s ={%s}", name, at, c.formula)
			delete(want, at)
		}
		assert.Empty(t, want, "%s: figures without a formula", name)
	}
}

// LibreOffice is a second program that works the formulas out, whatever is stored.
// Where it is not installed the exact evaluation above is the check.
func TestLibreOfficeComesToTheImpact(t *testing.T) {
	program := calc(t)
	if program == "" {
		TestImpactFormulasComeToTheImpact(t)
		return
	}
	dir, names := t.TempDir(), impacts(t)
	var files []string
	for name, all := range names {
		file := impactXLSX(t, all)
		for kind, text := range map[string][]byte{"-true": file, "-poisoned": poisoned(t, file)} {
			path := filepath.Join(dir, name+kind+".xlsx")
			require.NoError(t, os.WriteFile(path, text, 0o600))
			files = append(files, path)
		}
	}
	office(t, program, files)
	for name, all := range names {
		for _, kind := range []string{"-true", "-poisoned"} {
			values := make(map[string][][]string)
			for _, sheet := range sheetsOf(&all) {
				text, err := os.ReadFile(filepath.Join(dir, name+kind+"-"+sheet+".csv"))
				require.NoError(t, err)
				values[sheet], err = csv.NewReader(bytes.NewReader(text)).ReadAll()
				require.NoError(t, err)
			}
			for at, m := range wanted(&all) {
				sheet, cell, _ := strings.Cut(at, "!")
				row, err := strconv.Atoi(cell[1:])
				require.NoError(t, err)
				same(t, m, values[sheet][row-1][cell[0]-'A'], name+kind+" "+at)
			}
		}
	}
}

// Every sheet prints one page wide on A4 on its side, its heads on every page.
func TestImpactPageSetUp(t *testing.T) {
	for name, all := range impacts(t) {
		files := parts(t, impactXLSX(t, all))
		for i, sheet := range sheetsOf(&all) {
			text := files["xl/worksheets/sheet"+strconv.Itoa(i+1)+".xml"]
			for _, s := range []string{`orientation="landscape"`, `paperSize="9"`, `fitToHeight="0"`, `<pageSetUpPr fitToPage="true">`, "Page &amp;P of &amp;N", `state="frozen"`} {
				assert.Contains(t, text, s, "%s %s", name, sheet)
			}
			assert.Contains(t, files["xl/workbook.xml"], sheet+"!$1:$1", name)
		}
		assert.Contains(t, files["xl/worksheets/sheet1.xml"], "Quotes that are out, at the prices of 1 December 2026")
		assert.Contains(t, files["docProps/core.xml"], "2026-12-01T00:00:00Z", "never the clock")
	}
}

// Columns of money are wide enough in every currency: a figure in Arial 9 takes about
// 5 points a digit (from memory: 0.556 of the size), a column of a workbook 6 a digit.
func TestImpactColumnsHoldTheirFigures(t *testing.T) {
	column := regexp.MustCompile(`<col min="(\d+)" max="(\d+)" width="([\d.]+)"`)
	for name, all := range impacts(t) {
		widths := make(map[int]float64)
		for _, m := range column.FindAllStringSubmatch(parts(t, impactXLSX(t, all))["xl/worksheets/sheet1.xml"], -1) {
			first, _ := strconv.Atoi(m[1])
			last, _ := strconv.Atoi(m[2])
			for i := first; i <= last; i++ {
				widths[i], _ = strconv.ParseFloat(m[3], 64)
			}
		}
		require.Len(t, widths, 13, name)
		s := &all.Sums
		for i, m := range []num.Money{s.OldCost, s.NewCost, s.Loss, s.Quoted, s.WouldBe, s.Left} {
			shown := m.String() + strings.Repeat(",", max(0, (len(m.String())-1)/3-1))
			if all.Currency.String() != "GBP" {
				shown = all.Currency.String() + " " + shown
			}
			assert.Greater(t, widths[7+i]*6, float64(len(shown))*5, "%s: %s", name, shown)
		}
	}
}

// The pages are A4 on its side, and few: those of 200 quotes, of hostile text and of
// nothing.
func TestImpactAsPages(t *testing.T) {
	program := calc(t)
	if program == "" {
		TestImpactPageSetUp(t)
		return
	}
	dir := t.TempDir()
	var files []string
	names := []string{"many", "many-dinars", "weary", "empty"}
	for _, name := range names {
		files = append(files, filepath.Join(dir, name+".xlsx"))
		require.NoError(t, os.WriteFile(files[len(files)-1], impactXLSX(t, impacts(t)[name]), 0o600))
	}
	converted(t, program, "pdf", dir, files)
	for _, name := range names {
		text, err := os.ReadFile(filepath.Join(dir, name+".pdf"))
		require.NoError(t, err)
		pages := regexp.MustCompile(`/Type\s*/Page\b[^s]`).FindAll(text, -1)
		onSide := regexp.MustCompile(`/MediaBox\s*\[\s*0 0 841\.\d* 595\.\d*`).FindAll(text, -1)
		assert.NotEmpty(t, pages, name)
		assert.GreaterOrEqual(t, len(onSide), len(pages), name)
		assert.LessOrEqual(t, len(pages), map[string]int{"many": 20, "many-dinars": 20, "weary": 20, "empty": 1}[name], name)
	}
}
