package catalog_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
)

// classOf returns the class of that name.
func classOf(t testing.TB, name string) catalog.Class {
	t.Helper()
	all := append(catalog.Classes(), catalog.Terms())
	i := slices.IndexFunc(all, func(c catalog.Class) bool { return c.Name == name })
	require.GreaterOrEqual(t, i, 0, name)
	return all[i]
}

// placed returns a place: "method dip 2026-12-01".
func placed(t testing.TB, words string) catalog.Place {
	t.Helper()
	w := strings.Fields(words)
	require.Len(t, w, 3)
	return catalog.Place{Class: classOf(t, w[0]), Code: w[1], From: date.MustParse(w[2])}
}

// docIn returns the JSON of an entry as the Book of a day has it; empty: it has none.
func docIn(t testing.TB, c *catalog.Catalog, at catalog.Place, day string) string {
	t.Helper()
	for _, e := range at.Class.Entries(of(t, c, day)) {
		if e.Code == at.Code {
			doc, err := wire.Encode(e.Doc)
			require.NoError(t, err)
			return string(doc)
		}
	}
	return ""
}

// yes lets any change be made.
func yes([]byte) error { return nil }

// seeing keeps what stands before a change.
func seeing(before *string) catalog.Match {
	return func(current []byte) error {
		*before = string(current)
		return nil
	}
}

// versionOf returns the version of the catalogue.
func versionOf(t testing.TB, c *catalog.Catalog) int64 {
	t.Helper()
	v, err := c.Version(t.Context())
	require.NoError(t, err)
	return v
}

// lastChange returns the change made last.
func lastChange(t testing.TB, c *catalog.Catalog) catalog.Change {
	t.Helper()
	all, err := c.Changes(t.Context(), 0, 1)
	require.NoError(t, err)
	require.Len(t, all, 1)
	return all[0]
}

// What every entry of a new store is matched by is what its Book shows.
func TestMatchSeesWhatTheBookShows(t *testing.T) {
	c, _ := stored(t)
	stop := errors.New("stop")
	for _, class := range append(catalog.Classes(), catalog.Terms()) {
		for _, e := range class.Entries(of(t, c, "2026-12-01")) {
			at := catalog.Place{Class: class, Code: e.Code, From: date.MustParse("2026-12-01")}
			want, seen := docIn(t, c, at, "2026-12-01"), ""
			_, err := c.Put(t.Context(), at, []byte(want), func(current []byte) error {
				seen = string(current)
				return stop
			})
			assert.Equal(t, stop, err, "the error is that of match")
			assert.Equal(t, want, seen, "%s %s", class.Name, e.Code)
		}
	}
	assert.EqualValues(t, 1, versionOf(t, c))
}

// Every class is put, changed, made new, retired and made new again; each time the
// Books from the day on have it, those before do not, and one change is noted.
func TestEveryClassCanBeEdited(t *testing.T) {
	c, _ := stored(t)
	for _, tt := range []struct{ class, code, old, new string }{
		{"timber", "ash-prime", `"density":702`, `"density":710.5`},
		{"sheet", "birch-ply-6", `"waste_percent":10`, `"waste_percent":12.25`},
		{"supply", "pu-slow", `"spread":180`, `"spread":210`},
		{"ironmongery", "castor-50", `"mass":`, `"mass":1`},
		{"method", "wipe", `90`, `88`},
		{"finish", "oil-3", `"coats":3`, `"coats":4`},
		{"labour", "finisher", `"description":"`, `"description":"Second-year `},
		{"stage", "dovetails", `"description":"`, `"description":"Fine `},
		{"rule", "abrasive-120-sanded-outside", `"each":1`, `"each":1.125`},
		{"terms", "terms", `"deposit_percent":50`, `"large_move_percent":0,"deposit_percent":40`},
	} {
		t.Run(tt.class, func(t *testing.T) {
			at := placed(t, tt.class+" "+tt.code+" 2026-12-01")
			was := docIn(t, c, at, "2026-12-01")
			require.Contains(t, was, tt.old)
			edited(t, c, at, was, strings.Replace(was, tt.old, tt.new, 1))
			if tt.class == "terms" {
				return
			}
			at.Code += "-demo"
			doc := strings.ReplaceAll(was, tt.code, at.Code)
			edited(t, c, at, "", doc)
			at.From = date.MustParse("2027-01-01")
			retired(t, c, at)
			at.From = date.MustParse("2027-02-01")
			edited(t, c, at, "", doc)
		})
	}
}

// edited puts doc in its place, where was stood, and checks all that follows.
func edited(t *testing.T, c *catalog.Catalog, at catalog.Place, was, doc string) {
	t.Helper()
	v, eve := versionOf(t, c), at.From.AddDays(-1).String()
	old, seen := text(t, of(t, c, eve)), ""
	kept, err := c.Put(t.Context(), at, []byte(doc), seeing(&seen))
	require.NoError(t, err)
	assert.Equal(t, was, seen)
	for _, day := range []string{at.From.String(), "2031-05-06"} {
		assert.Equal(t, docIn(t, c, at, day), string(kept), day)
	}
	assert.JSONEq(t, doc, string(kept), "nothing was left to a default")
	assert.Equal(t, strings.Replace(old, fmt.Sprintf(`"version":%d`, v), fmt.Sprintf(`"version":%d`, v+1), 1), text(t, of(t, c, eve)), "the day before")
	noted(t, c, v+1, catalog.Change{What: "put", Class: at.Class.Name, Code: at.Code, From: at.From, Before: wire.Text(was), After: wire.Text(kept)})
}

// retired retires what stands at a place, and checks all that follows.
func retired(t *testing.T, c *catalog.Catalog, at catalog.Place) {
	t.Helper()
	v, was, seen := versionOf(t, c), docIn(t, c, at, at.From.String()), ""
	require.NotEmpty(t, was)
	require.NoError(t, c.Retire(t.Context(), at, seeing(&seen)))
	assert.Equal(t, was, seen)
	assert.Equal(t, was, docIn(t, c, at, at.From.AddDays(-1).String()))
	assert.Empty(t, docIn(t, c, at, at.From.String()))
	noted(t, c, v+1, catalog.Change{What: "retire", Class: at.Class.Name, Code: at.Code, From: at.From, Before: wire.Text(was)})
	err := c.Retire(t.Context(), at, yes)
	assert.ErrorAs(t, err, new(*catalog.NotFound))
	assert.EqualError(t, err, fmt.Sprintf("there is no %s with the code %q on %s", at.Class.Name, at.Code, at.From))
	assert.Equal(t, v+1, versionOf(t, c))
}

// noted checks that a change led to that version, and how it was noted.
func noted(t *testing.T, c *catalog.Catalog, version int64, want catalog.Change) {
	t.Helper()
	require.Equal(t, version, versionOf(t, c))
	have := lastChange(t, c)
	assert.Equal(t, version, have.Book)
	assert.Equal(t, version-1, have.ID, "one change for each version after the first")
	assert.Regexp(t, `^20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$`, have.At)
	assert.Equal(t, []string{string(want.Before), string(want.After)}, []string{string(have.Before), string(have.After)})
	have.ID, have.At, have.Book, have.Before, have.After, want.Before, want.After = 0, "", 0, nil, nil, nil, nil
	assert.Equal(t, want, have)
}

// What is left out is kept as its default, and that is what Put returns.
func TestDefaultsAreWrittenOut(t *testing.T) {
	c, s := stored(t)
	at := placed(t, "rule demo-tape 2026-12-01")
	kept, err := c.Put(t.Context(), at, []byte(` { "each" : 2 , "code" : "demo-tape" , "item" : "masking-tape-24" , "measure" : "tape" } `), func(current []byte) error {
		assert.Nil(t, current, "there is none yet")
		return nil
	})
	require.NoError(t, err)
	const want = `{"code":"demo-tape","item":"masking-tape-24","measure":"tape","setup":0,"each":2,"per":1}`
	assert.Equal(t, want, string(kept))
	assert.Equal(t, want, docIn(t, c, at, "2026-12-01"))
	assert.Equal(t, want, string(lastChange(t, c).After))
	var doc string
	require.NoError(t, s.Glance(t.Context()).Raw("SELECT doc FROM entries WHERE code = 'demo-tape'").Row().Scan(&doc))
	assert.Equal(t, want, doc)
}

// A change leaves later entries of its code alone; one of the same day takes the
// place of the one before.
func TestLaterEntriesStay(t *testing.T) {
	c, _ := stored(t)
	put := func(from string, percent int) {
		t.Helper()
		_, err := c.Put(t.Context(), placed(t, "method dip "+from), fmt.Appendf(nil, `{"code": "dip", "transfer_percent": %d}`, percent), yes)
		require.NoError(t, err)
	}
	percents := func(days ...string) (all string) {
		for _, day := range days {
			if m := of(t, c, day).Method("dip"); m == nil {
				all += " -"
			} else {
				all += fmt.Sprint(" ", int64(m.Transfer)/100)
			}
		}
		return all
	}
	days := []string{"2026-11-30", "2026-12-01", "2026-12-31", "2027-01-01", "2027-02-28", "2027-03-01", "9999-12-31"}
	put("2027-03-01", 60)
	assert.Equal(t, " - - - - - 60 60", percents(days...))
	put("2026-12-01", 50)
	assert.Equal(t, " - 50 50 50 50 60 60", percents(days...))
	require.NoError(t, c.Retire(t.Context(), placed(t, "method dip 2027-01-01"), yes))
	assert.Equal(t, " - 50 50 - - 60 60", percents(days...))
	put("2027-01-01", 55)
	assert.Equal(t, " - 50 50 55 55 60 60", percents(days...))
	require.NoError(t, c.Retire(t.Context(), placed(t, "method dip 2026-12-01"), yes))
	assert.Equal(t, " - - - 55 55 60 60", percents(days...))
	require.NoError(t, c.Retire(t.Context(), placed(t, "method dip 2027-03-01"), yes))
	assert.Equal(t, " - - - 55 55 - -", percents(days...))
}

// Of many who saw the same and change it at once, through one handle or two, one
// does.
func TestOneOfManyWritersWins(t *testing.T) {
	path := storetest.Path(t)
	handles := []*catalog.Catalog{opened(t, path), opened(t, path)}
	at := placed(t, "method brush 2026-12-01")
	stale := errors.New("it is another now")
	for round := range 3 {
		saw, v := docIn(t, handles[0], at, "2026-12-01"), versionOf(t, handles[0])
		results := make([]error, 8)
		var all sync.WaitGroup
		for i := range results {
			all.Go(func() {
				doc := fmt.Sprintf(`{"code":"brush","transfer_percent":%d}`, 10*round+i+1)
				_, results[i] = handles[i%2].Put(t.Context(), at, []byte(doc), func(current []byte) error {
					if string(current) != saw {
						return stale
					}
					return nil
				})
			})
		}
		all.Wait()
		won := slices.Index(results, nil)
		require.GreaterOrEqual(t, won, 0, "%v", results)
		for i, err := range results {
			assert.True(t, (i == won) == (err == nil) && (err == nil || err == stale), "%d: %v", i, err)
		}
		for _, c := range handles {
			assert.EqualValues(t, 10*round+won+1, of(t, c, "2026-12-01").Method("brush").Transfer/100)
			assert.Equal(t, v+1, versionOf(t, c))
		}
	}
}

// Changes can be added to and read, and nothing else.
func TestChangesAreNeverChanged(t *testing.T) {
	c, s := stored(t)
	for i := range 5 {
		_, err := c.Put(t.Context(), placed(t, "method dip 2026-12-01"), fmt.Appendf(nil, `{"code": "dip", "transfer_percent": %d}`, i+1), yes)
		require.NoError(t, err)
	}
	all, err := c.Changes(t.Context(), 0, 200)
	require.NoError(t, err)
	assert.Equal(t, []int64{5, 4, 3, 2, 1}, ids(all))
	for _, statement := range []string{"UPDATE changes SET code = 'x' WHERE id = 3", "UPDATE changes SET after = NULL", "DELETE FROM changes WHERE id = 5", "DELETE FROM changes", "REPLACE INTO changes SELECT * FROM changes"} {
		err := s.Write(t.Context(), func(tx store.Tx) error { return tx.Exec(statement).Error })
		assert.ErrorIs(t, err, store.ErrRefused, statement)
	}
	again, err := c.Changes(t.Context(), 0, 200)
	require.NoError(t, err)
	assert.Equal(t, all, again)
	for _, tt := range []struct {
		before int64
		limit  int
		want   []int64
	}{{0, 2, []int64{5, 4}}, {4, 2, []int64{3, 2}}, {2, 2, []int64{1}}, {1, 2, nil}, {99, 1, []int64{5}}} {
		page, err := c.Changes(t.Context(), tt.before, tt.limit)
		require.NoError(t, err)
		assert.Equal(t, tt.want, ids(page), "%v", tt)
	}
}

// ids returns the numbers of changes.
func ids(all []catalog.Change) (ids []int64) {
	for _, c := range all {
		ids = append(ids, c.ID)
	}
	return ids
}

// pointers returns where the faults of an error are.
func pointers(list fault.List) (all []string) {
	for _, f := range list {
		all = append(all, f.Pointer)
	}
	return all
}

// A refusal is of a change that must not be made.
type refusal struct {
	before  []string // what is put and retired first: "method dip 2026-12-01 {...}"
	place   string
	doc     string   // none: it is retired
	on      string   // the day whose Book would be broken; none: the faults are in doc
	faults  []string // where; none: doc is not JSON
	meaning string   // some words of the first
}

// change makes a change that words describe, with its JSON after the first three.
func change(t testing.TB, c *catalog.Catalog, place, doc string) error {
	t.Helper()
	at := placed(t, place)
	if doc == "" {
		return c.Retire(t.Context(), at, yes)
	}
	_, err := c.Put(t.Context(), at, []byte(doc), yes)
	return err
}

// Faults of what is put are found in it, and those of the rest of a Book in the Book
// of the first day that would have them; then nothing is changed.
func TestRefusedChanges(t *testing.T) {
	sheet, timber := `{"code":"demo","description":"Demo","density":600,"thickness":6,"length":2440,"width":1220,"waste_percent":10,"charged":"whole"}`,
		`{"code":"demo","description":"Demo","density":600,"slope":8,"board_width":150,"longest":3000,"width_allowance":6,"edge_allowance":6,"length_allowance":25,"waste_percent":30,"working_factor":1,"movement":{"radial":0.002,"tangential":0.003},"thicknesses":[{"code":"demo-27","thickness":27,"finishes_to":22},{"code":"demo-34","thickness":34,"finishes_to":28}]}`
	less := strings.Replace
	long := strings.Repeat("x", 65)
	const dip, dipped = `method dip 2026-12-01 {"code":"dip","transfer_percent":50}`,
		`finish demo 2026-12-01 {"code":"demo","description":"Demo","coats":[{"product":"hard-oil","coats":1,"method":"dip"}]}`
	for name, tt := range map[string]refusal{
		"not JSON":               {place: "sheet demo 2026-12-01", doc: `{"code": "demo"`},
		"empty":                  {place: "sheet demo 2026-12-01", doc: ` `},
		"misspelt":               {place: "sheet demo 2026-12-01", doc: `{"code":"demo","colour":"x"}`, faults: []string{"#/colour"}},
		"another code":           {place: "sheet demo 2026-12-01", doc: less(sheet, "demo", "other", 1), faults: []string{"#/code"}, meaning: `"other" in the body and "demo" in the path`},
		"no code":                {place: "sheet demo 2026-12-01", doc: `{}`, faults: []string{"#/code"}},
		"no word for a code":     {place: "sheet dé_mo 2026-12-01", doc: less(sheet, "demo", "dé_mo", 1), faults: []string{"#/code"}, meaning: "is not a code"},
		"a long code":            {place: "sheet " + long + " 2026-12-01", doc: less(sheet, "demo", long, 1), faults: []string{"#/code"}, meaning: "is not a code"},
		"a zero in a code":       {place: "sheet a\x00b 2026-12-01", doc: less(sheet, "demo", `a\u0000b`, 1), faults: []string{"#/code"}, meaning: "is not a code"},
		"a price":                {place: "sheet demo 2026-12-01", doc: less(sheet, `{`, `{"price":{"rate":"1.00","unit":"each","from":"2026-12-01"},`, 1), faults: []string{"#/price"}, meaning: "a place of its own"},
		"prices of thicknesses":  {place: "timber demo 2026-12-01", doc: less(timber, `"finishes_to":`, `"price":{"rate":"1.00","unit":"m3"},"finishes_to":`, 2), faults: []string{"#/thicknesses/0/price", "#/thicknesses/1/price"}},
		"figures":                {place: "timber demo 2026-12-01", doc: less(less(timber, "600", "-600", 1), `to":28`, `to":35`, 1), faults: []string{"#/density", "#/thicknesses/1/finishes_to"}},
		"no such grade":          {place: "stage demo 2026-12-01", doc: `{"code":"demo","position":1,"description":"Demo","grade":"nobody","bench":true}`, faults: []string{"#/grade"}},
		"no such measure":        {place: "rule demo 2026-12-01", doc: `{"code":"demo","stage":"drawing","measure":"moon","setup":0,"each":1,"when":["dovetails:hand","x"]}`, faults: []string{"#/measure", "#/when/1"}},
		"no such tax":            {place: "terms terms 2026-12-01", doc: `{"overhead":{"percent":1},"profit":{},"tax":"none","taxes":[],"round_to":"1.00","large_move_percent":1000.01}`, faults: []string{"#/tax", "#/large_move_percent"}},
		"the code of another":    {place: "ironmongery demo-34 2026-12-01", doc: `{"code":"demo-34","description":"Demo","mass":1}`, before: []string{"timber demo 2026-12-01 " + timber}, faults: []string{"#/code"}, meaning: "stands at #/timbers/"},
		"a code that is taken":   {place: "timber demo 2026-12-01", doc: less(timber, "demo-34", "castor-50", 1), on: "2026-12-01", faults: []string{"#/ironmongery/castor-50/code"}},
		"taken later":            {place: "timber demo 2026-12-01", doc: timber, before: []string{`ironmongery demo-34 2027-03-01 {"code":"demo-34","description":"Demo","mass":1}`}, on: "2027-03-01", faults: []string{"#/ironmongery/demo-34/code"}},
		"what a rule names":      {place: "supply masking-tape-24 2026-12-01", on: "2026-12-01", faults: []string{"#/rules/masking-tape-24-tape/item"}, meaning: `"masking-tape-24" is no supply`},
		"what a later one names": {place: "supply masking-tape-24 2026-12-01", before: []string{"rule masking-tape-24-tape 2026-12-01", `rule masking-tape-24-tape 2027-04-01 {"code":"masking-tape-24-tape","item":"masking-tape-24","measure":"tape","setup":0,"each":1}`}, on: "2027-04-01", faults: []string{"#/rules/masking-tape-24-tape/item"}},
		"what a finish names":    {place: "method dip 2027-01-02", before: []string{dip, dipped}, on: "2027-01-02", faults: []string{"#/finishes/demo/coats/0/method"}, meaning: `"dip" is no method`},
		"no coating any more":    {place: "supply hard-oil 2026-12-01", doc: `{"code":"hard-oil","description":"Demo","unit":"l","pack_size":1,"charged":"used"}`, on: "2026-12-01", faults: []string{"#/finishes/oil-3/coats/0/product", "#/finishes/oil-wax/coats/0/product"}},
		"sound until later":      {place: "finish demo 2026-12-01", doc: dipped[len("finish demo 2026-12-01 "):], before: []string{dip, "method dip 2027-02-03"}, on: "2027-02-03", faults: []string{"#/finishes/1/coats/0/method"}},
		"of no day":              {place: "method dip 0001-01-01", doc: `{"code":"dip","transfer_percent":0}`, faults: []string{"#/transfer_percent"}},
	} {
		t.Run(name, func(t *testing.T) {
			c, _ := stored(t)
			for _, b := range tt.before {
				w := strings.SplitN(b, " ", 4)
				require.NoError(t, change(t, c, strings.Join(w[:3], " "), strings.Join(w[3:], "")))
			}
			v, books := versionOf(t, c), ""
			for _, day := range []string{"2026-12-01", "2027-06-01"} {
				books += text(t, of(t, c, day))
			}
			err := change(t, c, tt.place, tt.doc)
			asRefused(t, c, err, tt)
			assert.Equal(t, v, versionOf(t, c))
			after := ""
			for _, day := range []string{"2026-12-01", "2027-06-01"} {
				after += text(t, of(t, c, day))
			}
			assert.Equal(t, books, after)
			all, err := c.Changes(t.Context(), 0, 200)
			require.NoError(t, err)
			assert.Len(t, all, len(tt.before))
		})
	}
}

// asRefused checks the error of a change that was refused.
func asRefused(t *testing.T, c *catalog.Catalog, err error, want refusal) {
	t.Helper()
	if want.faults == nil {
		assert.ErrorAs(t, err, new(*wire.Malformed))
		return
	}
	var own fault.List
	if broken := (*catalog.Broken)(nil); errors.As(err, &broken) {
		assert.Equal(t, want.on, broken.On.String())
		assert.Contains(t, err.Error(), "the book of "+want.on+" would not be valid:")
		own = broken.Faults
	} else {
		require.ErrorAs(t, err, &own)
		assert.Empty(t, want.on, "%v", err)
	}
	for i, p := range want.faults {
		want.faults[i] = numbered(t, c, want.on, p)
	}
	assert.Equal(t, want.faults, pointers(own), "%v", err)
	assert.Contains(t, own[0].Detail, want.meaning)
}

// numbered returns a pointer into the Book of a day with the number of an entry in
// the place of its code: "#/finishes/oil-3/coats".
func numbered(t *testing.T, c *catalog.Catalog, day, pointer string) string {
	t.Helper()
	for _, class := range catalog.Classes() {
		rest, ok := strings.CutPrefix(pointer, "#/"+class.List+"/")
		code, member, _ := strings.Cut(rest, "/")
		if !ok || day == "" {
			continue
		}
		if i := slices.IndexFunc(class.Entries(of(t, c, day)), func(e catalog.Entry) bool { return e.Code == code }); i >= 0 {
			return fmt.Sprintf("#/%s/%d/%s", class.List, i, member)
		}
	}
	return pointer
}
