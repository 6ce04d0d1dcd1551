package wire_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/fault"
	"reckoner/pricing/piece"
)

// known reports whether err is of the kinds that Decode has: text that is not JSON
// at a byte within it, or one fault with a pointer.
func known(err error, length int) bool {
	var m *wire.Malformed
	if errors.As(err, &m) {
		return m.Offset >= 0 && m.Offset <= int64(length) && m.Detail != "" && utf8.ValidString(m.Detail)
	}
	var l fault.List
	if !errors.As(err, &l) || len(l) != 1 || !strings.HasPrefix(l[0].Pointer, "#") || !utf8.ValidString(l[0].Detail) {
		return false
	}
	own, _, _ := strings.Cut(l[0].Detail, `"`) // what is quoted is the sender's
	own, _, _ = strings.Cut(own, ", not ")
	return !jargon.MatchString(own)
}

// stable decodes b into v and, if that goes, asserts that encoding what was read,
// reading it into again and encoding that gives the same bytes.
func stable(t *testing.T, b []byte, v, again any) {
	t.Helper()
	if err := wire.Decode(b, v); err != nil {
		if !known(err, len(b)) {
			t.Fatalf("%q: %T %v", b, err, err)
		}
		return
	}
	first, err := wire.Encode(v)
	if err != nil {
		t.Fatalf("%q: %v", b, err)
	}
	if err := wire.Decode(first, again); err != nil {
		t.Fatalf("%q became %s: %v", b, first, err)
	}
	second, err := wire.Encode(again)
	if err != nil || !bytes.Equal(first, second) {
		t.Fatalf("%s became %s: %v", first, second, err)
	}
}

// FuzzDecode reads any bytes as what people send: pieces, changes of terms, parts of
// a Book.
func FuzzDecode(f *testing.F) {
	for _, s := range []string{
		`{"title":"Tall chest","quantity":2,"kind":"chest","timbers":{"show":"ash-prime"},"chest":{"width":900,"depth":480.5,"height":1200,"rows":[{"height":130,"across":2},{}],"drawers":{"construction":"lapped"}}}`,
		`{"kind":"drawer_boxes","drawer_boxes":{"boxes":[{"width":430,"height":150,"depth":450,"quantity":4}],"bottom_fit":"slid_in"}}`,
		`{"kind":"parts","parts":{"parts":[{"name":"Shelf","length":800,"width":250,"material":"show","outside":{"faces":2}}],"joints":[{"type":"edge"}],"glue_ups":1}}`,
		`{"service":{"delivery":40,"drops":1}}`, `{"waste_percent":{"a/b":30.25,"":0}}`, `{"agreed_price":"1850.0125"}`,
		`{"profit":{"markup_percent":40},"taxes":[],"round_to":"1.00"}`, `{"overhead":{"per_hour":"16.00"},"workshop":{"name":"A","address":[]},"valid_days":-3}`,
		`{"code":"ash","density":702,"movement":{"radial":0.00172,"tangential":0.00282},"thicknesses":[{"code":"a","thickness":25.4,"finishes_to":20.6375}]}`,
		`{"code":"oil","unit":"l","pack_size":1,"coating":{"volume_solids_percent":30,"dry_film":30},"hazards":["flammable"]}`,
		`{"code":"r","measure":"coat","setup":0,"each":1.125,"per":1,"started":true,"when":["kind:chest"]}`,
		``, `null`, `[]`, `{"title":"\ud800"}`, `{"a":1,"a":2}`, "{\"title\":\"\xff\"}", `{"quantity":1e3}`, `{"quantity":0} x`, `{"chest":{"width":-0}}`, "\x00", `{"x":[[[[[[`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		stable(t, b, new(piece.Piece), new(piece.Piece))
		stable(t, b, new(book.TermsChange), new(book.TermsChange))
		stable(t, b, new(book.Timber), new(book.Timber))
		stable(t, b, new(book.Supply), new(book.Supply))
		stable(t, b, new(book.Rule), new(book.Rule))
		if names, err := wire.Members(b); err != nil && (names != nil || !known(err, len(b))) {
			t.Fatalf("%q: %q %v", b, names, err)
		}
	})
}

// FuzzTable reads any bytes as a price list: rows in order with cells that are
// trimmed and valid, which written and read again are the same; or an error.
func FuzzTable(f *testing.F) {
	for _, s := range []string{
		"code,price,note\nash,1850,dry\n", "\xef\xbb\xbfprice,code\n1,ash\n\n,\n", "code,price\r\n\"a\"\"b\",\"x\ny\"\r\n", "", "code\n", "code,price\nash\n",
		"code,price\nash,\"1\n", "CODE, price\n a , b \n", "code,price,code\n", "code;price\n1;2\n", "code,price\n\xff,1\n", ",,\n", "code,price\n\x00,\u2028\n",
	} {
		f.Add([]byte(s))
	}
	columns := []string{"code", "price", "note"}
	f.Fuzz(func(t *testing.T, b []byte) {
		rows, err := wire.Table(b, columns[:2], columns[2:])
		if err != nil {
			if rows != nil || err.Error() == "" || !utf8.ValidString(err.Error()) {
				t.Fatalf("%q: %v %v", b, rows, err)
			}
			return
		}
		var text bytes.Buffer
		w := csv.NewWriter(&text)
		lines, last := [][]string{columns}, 1
		for _, r := range rows {
			line, empty := make([]string, len(columns)), true
			for i, c := range columns {
				line[i] = r.Cell(c)
				empty = empty && line[i] == ""
				if strings.TrimSpace(line[i]) != line[i] || !utf8.ValidString(line[i]) {
					t.Fatalf("%q: cell %q", b, line[i])
				}
			}
			if r.Number <= last || empty {
				t.Fatalf("%q: row %d after %d: %q", b, r.Number, last, line)
			}
			lines, last = append(lines, line), r.Number
		}
		if err := w.WriteAll(lines); err != nil {
			t.Fatal(err)
		}
		again, err := wire.Table(text.Bytes(), columns[:2], columns[2:])
		if err != nil || len(again) != len(rows) {
			t.Fatalf("%q: %v", text.Bytes(), err)
		}
		for i, r := range again {
			for j, c := range columns {
				if r.Cell(c) != lines[i+1][j] {
					t.Fatalf("%q became %q", lines[i+1][j], r.Cell(c))
				}
			}
		}
	})
}
