package api_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/api"
	"reckoner/catalog"
)

// template returns the prices of a day as a list of one of the two kinds, and sends it.
func (s service) template(t testing.TB, kind, query string) (file string, back catalog.Update) {
	t.Helper()
	a := s.granted(t, 200, fetch(updates+"/template."+kind+query))
	assert.Equal(t, "attachment; filename=template."+kind, a.header.Get("Content-Disposition"))
	return string(a.body), update(t, s.granted(t, 201, sendForm(t, "template."+kind, "application/octet-stream", string(a.body))))
}

// A template loads back, and nothing in it is another price than that which stands.
func TestATemplateLoadsBack(t *testing.T) {
	s := started(t, api.Config{})
	s.granted(t, 201, put("/v1/ironmongery/-hook", `{"code": "-hook", "description": "=Hook, \"new\"", "mass": 0.1}`, "If-None-Match: *"))
	for query, unpriced := range map[string]int{
		"": 1, "?as_of=2026-03-31": 0, "?class=timber": 0, "?class=ironmongery": 1, "?class=labour&as_of=2027-11-02": 0, "?from=2026-12-01": 1, "?class=sheet&as_of=2026-11-15&from=2026-11-20": 0,
	} {
		items := find(t, s.granted(t, 200, fetch("/v1/items"+strings.Split(query, "from")[0])).body, "/items").([]any)
		for _, kind := range []string{"csv", "xlsx"} {
			_, back := s.template(t, kind, query)
			assert.Equal(t, catalog.Summary{Unchanged: len(items)}, back.Summary, "%s %s", kind, query)
			require.Len(t, back.Rows, len(items))
			none := 0
			for i, r := range back.Rows {
				item := items[i].(map[string]any)
				assert.Equal(t, item["code"], r.Code)
				if item["price"] == nil {
					none++
					continue
				}
				assert.Equal(t, item["price"].(map[string]any)["rate"], r.New.String(), r.Code)
			}
			assert.Equal(t, unpriced, none, query)
		}
	}
}

// What a template says of each item is what the service lists: with a date of its own,
// from which the prices are to hold.
func TestATemplateHasTheItems(t *testing.T) {
	a := shared.granted(t, 200, fetch(updates+"/template.csv?as_of=2026-03-31&from=2026-12-01&class=timber"))
	rows, err := csv.NewReader(bytes.NewReader(a.body)).ReadAll()
	require.NoError(t, err)
	want := [][]string{{"code", "price", "unit", "currency", "effective_from", "supplier", "note"}}
	for _, i := range object(t, "/v1/items?as_of=2026-03-31&class=timber")["items"].([]any) {
		item := i.(map[string]any)
		price := item["price"].(map[string]any)
		want = append(want, []string{item["code"].(string), price["rate"].(string), price["unit"].(string), "GBP", "2026-12-01", "", item["description"].(string)})
	}
	assert.Equal(t, want, rows)
	assert.NotEqual(t, tag(t, shared.service, updates+"/template.csv"), tag(t, shared.service, updates+"/template.csv?from=2026-12-01"))
}

// A workbook without items is there, and is no list; dates of one begin in March 1900.
func TestATemplateOfNothing(t *testing.T) {
	s := started(t, api.Config{})
	s.granted(t, 200, fetch(updates+"/template.csv?as_of=0001-01-01"))
	s.granted(t, 200, fetch(updates+"/template.xlsx?as_of=1900-03-01"))
	s.granted(t, 200, fetch(updates+"/template.xlsx?as_of=1900-02-28&from=2026-12-01"))
	s.granted(t, 200, fetch(updates+"/template.xlsx?as_of=9999-12-31"))
}

// A template goes through another program, in the form of another office and back, and is
// changed there in one cell. Where that is not installed the template is only changed.
func TestATemplateEditedInLibreOffice(t *testing.T) {
	s := started(t, api.Config{})
	file := []byte(s.granted(t, 200, fetch(updates+"/template.xlsx?from=2026-12-01")).body)
	if program, err := exec.LookPath("soffice"); err == nil {
		dir := t.TempDir()
		path := filepath.Join(dir, "template.xlsx")
		require.NoError(t, os.WriteFile(path, file, 0o600))
		for _, form := range []string{"ods", "xlsx"} {
			out, err := exec.Command(program, "-env:UserInstallation=file://"+filepath.Join(dir, "profile"), "--headless", "--convert-to", form, "--outdir", dir, path).CombinedOutput()
			require.NoError(t, err, string(out))
			path = filepath.Join(dir, "template."+form)
		}
		saved, err := os.ReadFile(path)
		require.NoError(t, err)
		require.False(t, bytes.Equal(file, saved))
		file = saved
	} else {
		require.Empty(t, os.Getenv("CI"), "LibreOffice must be installed here")
	}
	items := len(find(t, s.granted(t, 200, fetch("/v1/items")).body, "/items").([]any))
	same := update(t, s.granted(t, 201, sendXLSX(string(file))))
	assert.Equal(t, catalog.Summary{Unchanged: items}, same.Summary)

	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(t, err)
	at, err := f.SearchSheet("Prices", "knob-35")
	require.NoError(t, err)
	require.Len(t, at, 1)
	require.NoError(t, f.SetCellFloat("Prices", "B"+at[0][1:], 5.05, -1, 64))
	b, err := f.WriteToBuffer()
	require.NoError(t, err)
	changed := update(t, s.granted(t, 201, sendXLSX(b.String())))
	assert.Equal(t, catalog.Summary{Changed: 1, Unchanged: items - 1}, changed.Summary)
	s.granted(t, 200, submit(fmt.Sprint(updates, "/", changed.ID, "/apply"), ""))
	assert.Equal(t, "5.05", find(t, s.granted(t, 200, fetch("/v1/items/knob-35?as_of=2026-12-01")).body, "/price/rate"))
}
