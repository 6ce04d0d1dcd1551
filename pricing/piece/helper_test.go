package piece_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

const mm = unit.Millimetre

// stocks knows two timbers and a sheet of 6 mm by their roles, and by their codes
// a timber, "oak", and a sheet of 9 mm, "ply-9".
func stocks(material string) piece.Stock {
	switch material {
	case piece.Show, piece.Inner, "oak":
		return piece.Stock{Known: true}
	case piece.Bottom, piece.Back:
		return piece.Stock{Known: true, Sheet: true, Thickness: 6 * mm}
	case "ply-9":
		return piece.Stock{Known: true, Sheet: true, Thickness: 9 * mm}
	}
	return piece.Stock{}
}

// merged returns the JSON object base with the members of changes in place of its
// own; both are written without their braces.
func merged(t *testing.T, base, changes string) string {
	t.Helper()
	var all, more map[string]json.RawMessage
	require.NoError(t, json.Unmarshal([]byte("{"+base+"}"), &all))
	require.NoError(t, json.Unmarshal([]byte("{"+changes+"}"), &more))
	maps.Copy(all, more)
	out, err := json.Marshal(all)
	require.NoError(t, err)
	return string(out)
}

// read returns the piece of kind whose specification is text.
func read(t *testing.T, kind, text string) *piece.Piece {
	t.Helper()
	p := &piece.Piece{Kind: kind}
	require.NoError(t, json.Unmarshal([]byte(fmt.Sprintf(`{%q: %s}`, kind, text)), p))
	return p
}

// smallChest is the chest of one drawer that the tables of single changes begin
// from: 25 top + 80 plinth + 2 x 20 rails + 150 opening = 295 high.
const smallChest = `"width": 900, "depth": 480, "height": 295, "rows": [{"height": 150}]`

// chestWith returns the small chest with those members in place of its own.
func chestWith(t *testing.T, members string) *piece.Piece {
	t.Helper()
	return read(t, "chest", merged(t, smallChest, members))
}

// boxesWith returns four drawer boxes with those members beside or instead.
func boxesWith(t *testing.T, members string) *piece.Piece {
	t.Helper()
	return read(t, "drawer_boxes", merged(t, `"boxes": [{"width": 430, "height": 150, "depth": 450, "quantity": 4}]`, members))
}

// built builds p, which has no fault.
func built(t *testing.T, p *piece.Piece) piece.Build {
	t.Helper()
	b, faults := p.Build(stocks)
	require.NoError(t, faults.Err())
	return b
}

// sizes prints lengths in millimetres, to the nanometre.
func sizes(lengths ...unit.Length) string {
	texts := make([]string, len(lengths))
	for i, l := range lengths {
		texts[i] = l.Millimetres().String()
	}
	return strings.Join(texts, " x ")
}

// surface prints what is finished of a part: "out 1/2/0".
func surface(zone string, s piece.Surface) string {
	if s == (piece.Surface{}) {
		return ""
	}
	return fmt.Sprintf(" %s %d/%d/%d", zone, s.Faces, s.LongEdges, s.Ends)
}

// line prints a part: "Side 2: 1175 x 465 x 22 show out 1/2/0".
func line(p piece.Part) string {
	s := fmt.Sprintf("%s %d: %s %s", p.Name, p.Quantity, sizes(p.Length, p.Width, p.Thickness), p.Material)
	s += surface("out", p.Outside) + surface("in", p.Inside)
	if p.Extra != 0 {
		s += " extra " + sizes(p.Extra)
	}
	if p.Offcut {
		s += " offcut"
	}
	return s
}

// lines prints the parts whose names are among those given, or all without any.
func lines(b piece.Build, names ...string) []string {
	var out []string
	for _, p := range b.Parts {
		if len(names) == 0 || slices.Contains(names, p.Name) {
			out = append(out, line(p))
		}
	}
	return out
}

// joint prints a joint: "housing 2: length 60 thickness 22 depth 6".
func joint(j piece.Joint) string {
	s := fmt.Sprintf("%s %d:", j.Type, j.Quantity)
	for _, m := range []struct {
		name string
		size unit.Length
	}{
		{"height", j.Height}, {"tail", j.TailBoard}, {"pin", j.PinBoard}, {"lap", j.Lap},
		{"length", j.Length}, {"width", j.Width}, {"thickness", j.Thickness}, {"depth", j.Depth},
	} {
		if m.size != 0 {
			s += " " + m.name + " " + sizes(m.size)
		}
	}
	if j.Tails != 0 {
		s += fmt.Sprintf(" tails %d", j.Tails)
	}
	if j.Twin {
		s += " twin"
	}
	if j.Slope != 0 {
		s += fmt.Sprintf(" slope %d", j.Slope)
	}
	if j.Material != "" {
		s += " " + j.Material
	}
	return s
}

// joints prints the joints of those types, or all without any.
func joints(b piece.Build, types ...string) []string {
	var out []string
	for _, j := range b.Joints {
		if len(types) == 0 || slices.Contains(types, j.Type) {
			out = append(out, joint(j))
		}
	}
	return out
}

// box prints a box: "2 of 401 x 128 x 449, inside 377 x 417, opening 402, tape 712".
func box(b piece.Box) string {
	s := fmt.Sprintf("%d of %s, inside %s, opening %s, tape %s", b.Quantity, sizes(b.Width, b.Height, b.Depth), sizes(b.InsideW, b.InsideD), sizes(b.Opening), sizes(b.Tape))
	if b.Fitted {
		s += ", fitted"
	}
	return s
}

func boxes(b piece.Build) []string {
	var out []string
	for _, x := range b.Boxes {
		out = append(out, box(x))
	}
	return out
}

// A refusal is a change of a good piece and the faults it makes: each the pointer,
// then the figures (single words) that the detail must carry.
type refusal struct {
	members string
	want    []string
}

// check builds p and compares its faults with want, in any order.
func (r refusal) check(t *testing.T, p *piece.Piece) {
	t.Helper()
	_, faults := p.Build(stocks)
	pointers := make([]string, 0, len(faults))
	for _, f := range faults {
		pointers = append(pointers, f.Pointer)
	}
	want := make([]string, len(r.want))
	for i, w := range r.want {
		want[i] = strings.Fields(w)[0]
	}
	if !assert.ElementsMatch(t, want, pointers, "%s\n%v", r.members, faults) {
		return
	}
	for _, w := range r.want {
		words := strings.Fields(w)
		assert.True(t, said(faults, words[0], words[1:]), "%s\nno fault at %s says %v:\n%v", r.members, words[0], words[1:], faults)
	}
}

// said reports whether a fault at pointer carries every word.
func said(faults fault.List, pointer string, words []string) bool {
	for _, f := range faults {
		have := strings.FieldsFunc(f.Detail, func(r rune) bool { return strings.ContainsRune(" ,:;()\"", r) })
		all := f.Pointer == pointer
		for _, w := range words {
			all = all && slices.Contains(have, w)
		}
		if all {
			return true
		}
	}
	return false
}

// decimal returns a pointer to n thousandths, as a setting is typed.
func decimal(thousandths int) *num.Decimal {
	d := num.Decimal(thousandths) * (num.One / 1000)
	return &d
}

// counted returns how many joints of a type there are.
func counted(b piece.Build, kind string) int {
	n := 0
	for _, j := range b.Joints {
		if j.Type == kind {
			n += j.Quantity
		}
	}
	return n
}

// readPiece returns the piece of those members.
func readPiece(t *testing.T, members string) *piece.Piece {
	t.Helper()
	var p piece.Piece
	require.NoError(t, json.Unmarshal([]byte("{"+members+"}"), &p))
	return &p
}
