package wire_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// Two instances of our own: a sheet job with everything, and a board job.
const (
	sheetJob = `{"name":"lids","kind":"2d","family":"demo","source":"none","note":"passed over","kerf":3.2,"trim":{"left":10,"right":11,"bottom":12,"top":13},"objective":"cost",` +
		`"stock":[{"id":"A","w":1000,"h":600,"cost":12.5},{"id":"B","w":700,"h":500.25,"cost":7,"qty":2}],` +
		`"items":[{"w":400,"h":300,"qty":2,"rot":true},{"w":650,"h":100,"qty":1}],` +
		`"refs":[{"rotation":"none","cut":"guillotine","lb":12.5,"ub":14},{"rotation":"items","cut":"guillotine"},{"rotation":"all","cut":"free","ub":14},{"rotation":"none","cut":"guillotine"}]}`
	boardJob = `{"name":"rails","kind":"1d","kerf":4,"trim":{"left":30,"right":0,"bottom":7,"top":7},"objective":"bins","stock":[{"id":"S","len":2400,"cost":99}],"items":[{"len":800.5,"qty":3}],"refs":[{"rotation":"none","cut":"1d"}]}`
)

func TestInstancesAreJobs(t *testing.T) {
	all, err := wire.Instances([]byte(sheetJob + "\n\n  \n" + boardJob))
	require.NoError(t, err)
	require.Len(t, all, 2)
	const mm = unit.Millimetre
	lids, rails := &all[0], &all[1]
	assert.Equal(t, []int{1, 4}, []int{lids.Row, rails.Row})
	assert.Equal(t, []string{"none", "items"}, lids.Variants(), "each once, and none that is free")
	assert.Equal(t, []string{"none"}, rails.Variants())
	assert.Equal(t, []string{"items"}, (&wire.Instance{}).Variants(), "without refs as the items say")

	job := func(turn ...bool) cutting.Job {
		return cutting.Job{
			Kerf: 3_200_000, Trim: cutting.Trim{Left: 10 * mm, Right: 11 * mm, Bottom: 12 * mm, Top: 13 * mm}, OffcutMin: mm,
			Stock: []cutting.Stock{{Length: 1000 * mm, Width: 600 * mm, Cost: 125}, {Length: 700 * mm, Width: 500_250_000, Cost: 70, Quantity: 2}},
			Parts: []cutting.Part{{Length: 400 * mm, Width: 300 * mm, Quantity: 2, Turn: turn[0]}, {Length: 650 * mm, Width: 100 * mm, Quantity: 1, Turn: turn[1]}},
		}
	}
	assert.Equal(t, job(false, false), lids.Job("none"), "tenths of cost, since one has a decimal")
	assert.Equal(t, job(true, false), lids.Job("items"))
	assert.Equal(t, job(true, true), lids.Job("all"))
	assert.Equal(t, cutting.Job{
		Kerf: 4 * mm, Trim: cutting.Trim{Left: 30 * mm}, OffcutMin: mm,
		Stock: []cutting.Stock{{Length: 2400 * mm, Width: mm, Cost: 1}},
		Parts: []cutting.Part{{Length: 800_500_000, Width: mm, Quantity: 3}},
	}, rails.Job("all"), "bins count one each; the width of boards is nothing to cut")
}

// A plan made by hand comes out in the form that is published.
func TestSolutions(t *testing.T) {
	all, err := wire.Instances([]byte(sheetJob + "\n" + boardJob))
	require.NoError(t, err)
	const mm = unit.Millimetre
	plan := cutting.Plan{Bound: 120, Layouts: []cutting.Layout{{Stock: 1, Count: 2, Root: cutting.Node{
		X: 10 * mm, Y: 12 * mm, Length: 679 * mm, Width: 475_250_000, Part: cutting.NoPart, Nodes: []cutting.Node{
			{X: 10 * mm, Y: 12 * mm, Length: 300 * mm, Width: 400 * mm, Part: 0, Turned: true},
			{X: 313_200_000, Y: 12 * mm, Length: 375_800_000, Width: 475_250_000, Part: cutting.NoPart},
		},
	}}}}
	text, err := wire.Encode(all[0].Solution("items", &plan, 12_500*time.Microsecond))
	require.NoError(t, err)
	assert.JSONEq(t, `{"instance":"lids","rotation":"items","ms":12.5,"bound":12,"bins":[{"stock":"B","count":2,"placed":[{"x":10,"y":12,"w":300,"h":400,"item":0,"rotated":true}]}]}`, string(text))

	plan = cutting.Plan{Bound: 1, Layouts: []cutting.Layout{{Count: 1, Root: cutting.Node{X: 30 * mm, Length: 800_500_000, Width: mm}}}}
	text, err = wire.Encode(all[1].Solution("none", &plan, time.Nanosecond))
	require.NoError(t, err)
	assert.JSONEq(t, `{"instance":"rails","rotation":"none","ms":0.000001,"bound":1,"bins":[{"stock":"S","count":1,"placed":[{"x":30,"len":800.5,"item":0}]}]}`, string(text))
}

// The placed member y stands where it is 0, too.
func TestSolutionsAtTheEdge(t *testing.T) {
	i := wire.Instance{Kind: "2d", Stock: make([]wire.InstanceStock, 1)}
	s := i.Solution("none", &cutting.Plan{Layouts: []cutting.Layout{{Count: 1, Root: cutting.Node{Length: 1, Width: 1}}}}, 0)
	text, err := wire.Encode(s.Bins[0].Placed[0])
	require.NoError(t, err)
	assert.Equal(t, `{"x":0,"y":0,"w":0.000001,"h":0.000001,"item":0,"rotated":false}`, string(text))
}

func TestBadInstances(t *testing.T) {
	with := func(from, to string) string {
		require.Contains(t, boardJob, from)
		return strings.Replace(boardJob, from, to, 1)
	}
	for says, text := range map[string]string{
		"row 1: byte 8: the JSON ends too soon":                                           `{"name":`,
		"row 1: byte 0: not JSON from \"lids 1\" on":                                      "lids 1",
		"row 1: byte 28: the member \"kind\" stands twice: write it once":                 `{"name":"rails","kind":"1d","kind":"2d"}`,
		"row 1, #/kerf: write a number with at most 6 decimals, without quotes":           with(`"kerf":4`, `"kerf":"4"`),
		"row 1, #/items/0/qty: write a whole number":                                      with(`"qty":3`, `"qty":0`),
		"row 1, #/items/0/qty: 0 is out of range":                                         with(`,"qty":3`, ""),
		"row 1, #/items/0/qty: 1000001 is out of range: write a whole number from 1":      with(`"qty":3`, `"qty":1000001`),
		"row 1, #/name: it is missing":                                                    with("rails", ""),
		"row 1, #/kind: \"3d\" is not known: write 1d or 2d":                              with("1d", "3d"),
		"row 1, #/objective: \"area\" is not known: write bins or cost":                   with("bins", "area"),
		"row 1, #/stock: there is none":                                                   with(`[{"id":"S","len":2400,"cost":99}]`, "[]"),
		"row 1, #/items: there is none":                                                   with(`[{"len":800.5,"qty":3}]`, "null"),
		"row 1, #/refs/0/rotation: \"some\" is not known: write none, all or items":       with("none", "some"),
		"row 1, #/stock/0/cost: -1 is out of range: write a cost from 0 to 3000000000000": with(`"cost":99`, `"cost":-1`),
		"row 1, #/stock/0/cost: 3000000000000.1 is out of range":                          with(`"cost":99`, `"cost":3000000000000.1`),
		"there is no instance: write one a line":                                          "\n\n",
	} {
		all, err := wire.Instances([]byte(text))
		var faults wire.CellFaults
		require.ErrorAs(t, err, &faults, says)
		require.Len(t, faults, 1, says)
		assert.True(t, strings.HasPrefix(faults[0].String(), says), "%s\n%s", says, faults[0])
		assert.NotRegexp(t, jargon, faults[0].Detail)
		assert.Empty(t, all)
	}
	all, err := wire.Instances([]byte("{}\n" + boardJob + "\n{\n"))
	assert.EqualError(t, err, "row 1, #/name: it is missing: write what the instance is called\nrow 3: byte 2: the JSON ends too soon")
	assert.Len(t, all, 1, "what can be read is")
}

// FuzzInstances reads any bytes as instances and plans the small among them; the
// lines of the plans are JSON.
func FuzzInstances(f *testing.F) {
	for _, s := range []string{sheetJob, boardJob, sheetJob + "\n" + boardJob, `{"name":"a","kind":"2d","stock":[{"id":"","w":1e1}],"items":[{"qty":1}]}`, "{}", "[]", "\x00"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		all, err := wire.Instances(b)
		if faults, ok := err.(wire.CellFaults); err != nil && (!ok || len(faults) == 0) {
			t.Fatalf("%q: %T %v", b, err, err)
		}
		for k := range all {
			i := &all[k]
			if n := pieces(i); n > 50 {
				continue
			}
			for _, rotation := range i.Variants() {
				job := i.Job(rotation)
				plan, err := job.Plan(cutting.Quick)
				if err != nil {
					continue
				}
				text, err := wire.Encode(i.Solution(rotation, &plan, time.Millisecond))
				if err != nil || !json.Valid(text) {
					t.Fatalf("%q: %s: %v", b, text, err)
				}
			}
		}
	})
}

// pieces returns how many items an instance has.
func pieces(i *wire.Instance) (n int) {
	for _, q := range i.Items {
		n += int(q.Qty)
	}
	return n
}

// A file of instances, of which one is not.
func ExampleInstances() {
	all, err := wire.Instances([]byte(`{"name": "rails", "kind": "1d", "kerf": 3.2, "stock": [{"id": "S", "len": 2400, "cost": 8}], "items": [{"len": 790, "qty": 6}]}
{"name": "lids"}`))
	job := all[0].Job("none")
	fmt.Println(all[0].Name, job.Parts[0].Length.Millimetres(), job.Parts[0].Quantity)
	fmt.Println(err)
	// Output:
	// rails 790 6
	// row 2, #/kind: "" is not known: write 1d or 2d
}
