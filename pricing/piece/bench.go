package piece

import (
	"cmp"
	"strconv"

	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// Limits of a specification.
const (
	smallest    = 1 * unit.Millimetre // overall sizes and sizes of parts
	largest     = 20 * unit.Metre
	maxQuantity = 10_000
	maxList     = 1_000 // boxes, parts or joints
	maxRows     = 40    // rows, and openings across
	maxText     = 200
	maxTails    = 1_000 // of one corner

	unknownThickness = 6 * unit.Millimetre
)

// A bench is where one piece is built: what a kind must know beside its own
// specification, what it has made, and the faults found on the way.
type bench struct {
	units   unit.System
	stocks  Stocks
	outside bool   // an outside finish is named
	at      string // pointer of the specification: "#/chest"
	made    Build
	faults  fault.List
}

// show prints l as the piece writes its sizes: "17.5 mm".
func (b *bench) show(l unit.Length) string {
	return string(append(append(l.AppendSize(nil, b.units), ' '), b.units...))
}

// atLeast prints what to type where l is the least.
func (b *bench) atLeast(l unit.Length) string {
	return b.units.AtLeast(l).String() + " " + string(b.units)
}

// atMost prints what to type where l is the most.
func (b *bench) atMost(l unit.Length) string {
	return b.units.AtMost(l).String() + " " + string(b.units)
}

// required converts a size that must be given, 1 mm to 20 m; 0 is none.
func (b *bench) required(at, name string, size num.Decimal) (unit.Length, bool) {
	if size == 0 {
		b.faults.Add(at+"/"+name, "the %s is missing or 0: write a size from %s to %s", name, b.atLeast(smallest), b.show(largest))
		return 0, false
	}
	return b.overall(at, name, size)
}

// overall converts a size from 1 mm to 20 m. In inches 20 m are as Size rounds
// them.
func (b *bench) overall(at, name string, size num.Decimal) (unit.Length, bool) {
	if limit := b.units.Size(largest); size < 0 || size > limit || b.units.Length(size) < smallest {
		b.faults.Add(at+"/"+name, "%s is out of range: write a size from %s to %s", size, b.atLeast(smallest), b.show(largest))
		return 0, false
	}
	return b.units.Length(size), true
}

// set replaces a default by the setting typed, 0 to 20 m, if there is one.
// It reports whether what is typed can be used.
func (b *bench) set(to *unit.Length, at, name string, typed *num.Decimal) bool {
	if typed == nil {
		return true
	}
	if *typed < 0 || *typed > b.units.Size(largest) {
		b.faults.Add(at+"/"+name, "%s is out of range: write a size from 0 to %s", *typed, b.show(largest))
		return false
	}
	*to = b.units.Length(*typed)
	return true
}

// sheet returns how thick the sheet of a role is. One not known, which is said
// where it should be named, is taken to be 6 mm, so that the rest can be judged.
func (b *bench) sheet(role string) unit.Length {
	if s := b.stocks(role); s.Known {
		return s.Thickness
	}
	return unknownThickness
}

// quantity returns how many are meant; none given is one.
func (b *bench) quantity(at string, n num.Count) int {
	if n > maxQuantity {
		b.faults.Add(at, "%d is too many: write at most %d", n, maxQuantity)
		return 1
	}
	return max(1, int(n))
}

// between reports a whole number outside its range.
func (b *bench) between(at string, n, low, high int) bool {
	if n < low || n > high {
		b.faults.Add(at, "%d is out of range: write a whole number from %d to %d", n, low, high)
		return false
	}
	return true
}

// listed reports a list with too few or too many members.
func (b *bench) listed(at string, n, most int, what string) bool {
	if n < 1 || n > most {
		b.faults.Add(at, "%d %s: write 1 to %d", n, what, most)
		return false
	}
	return true
}

// word returns the typed word, or std when there is none; another one is a fault.
func (b *bench) word(at, name, typed, std, other string) string {
	switch typed {
	case "", std:
		return std
	case other:
		return other
	}
	b.faults.Add(at+"/"+name, "%q is not known here: write %q or %q", typed, std, other)
	return std
}

// add takes p into the cutting list unless it cannot be made.
func (b *bench) add(p Part) {
	p.LongAt, p.WideAt, p.ThickAt = cmp.Or(p.LongAt, p.At), cmp.Or(p.WideAt, p.At), cmp.Or(p.ThickAt, p.At)
	for _, d := range [...]struct {
		how, at string
		size    unit.Length
	}{{"long", p.LongAt, p.Length}, {"wide", p.WideAt, p.Width}, {"thick", p.ThickAt, p.Thickness}} {
		if d.size <= 0 {
			b.faults.Add(d.at, "%s would be %s %s: change the sizes that it follows from, until it is above 0", p.Name, b.show(d.size), d.how)
			return
		}
	}
	if !p.ownExtra && !b.stocks(p.Material).Sheet {
		p.Extra = extra(p.Length)
	}
	b.made.Parts = append(b.made.Parts, p)
}

// join takes j into the joints unless it cannot be made.
func (b *bench) join(j Joint) {
	for _, d := range j.sizes() {
		if d.name != "" && d.size <= 0 {
			b.faults.Add(j.At, "a joint of type %s would have a %s of %s: change the sizes that it follows from, until it is above 0", j.Type, d.name, b.show(d.size))
			return
		}
	}
	if j.Tails > maxTails {
		b.faults.Add(j.At, "a corner %s high would have %d tails, at most %d go on it: make it lower, or tail_pitch larger", b.show(j.Height), j.Tails, maxTails)
		return
	}
	b.made.Joints = append(b.made.Joints, j)
}

// A named size is a size and its name in JSON.
type named struct {
	name string
	size unit.Length
}

// sizes returns the sizes that a joint of j's type has, the rest without a name.
func (j Joint) sizes() (s [4]named) {
	switch j.Type {
	case ThroughDovetail:
		return [4]named{{"height", j.Height}, {"tail_thickness", j.TailBoard}, {"pin_thickness", j.PinBoard}}
	case LappedDovetail:
		return [4]named{{"height", j.Height}, {"tail_thickness", j.TailBoard}, {"pin_thickness", j.PinBoard}, {"lap", j.Lap}}
	case MortiseTenon:
		return [4]named{{"length", j.Length}, {"width", j.Width}, {"thickness", j.Thickness}}
	case Housing:
		return [4]named{{"length", j.Length}, {"thickness", j.Thickness}, {"depth", j.Depth}}
	case Edge:
		return [4]named{{"length", j.Length}, {"thickness", j.Thickness}}
	case Groove:
		return [4]named{{"length", j.Length}}
	}
	return s
}

// A setting is a member that may be typed or left to its default.
type setting struct {
	name  string
	typed bool
}

func sized(name string, typed *num.Decimal) setting { return setting{name, typed != nil} }

// blame returns the pointer of the one setting typed among those that are at
// fault together; when none or several are, the object they belong to.
func blame(object string, settings ...setting) string {
	at := ""
	for _, s := range settings {
		if !s.typed {
			continue
		}
		if at != "" {
			return object
		}
		at = object + "/" + s.name
	}
	if at == "" {
		return object
	}
	return at
}

// item returns the pointer of the i-th member of a list.
func item(list string, i int) string { return list + "/" + strconv.Itoa(i) }
