package wire

import (
	"bytes"
	"cmp"
	"slices"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"reckoner/pricing/fault"
)

// InOrder returns the faults of the JSON text b, which has been decoded, in the
// order in which what they point to stands in it; what is not there stands where
// the object or list does that it belongs to.
func InOrder(b []byte, faults fault.List) fault.List {
	at := offsets(b)
	place := func(f fault.FieldError) int64 {
		p := fault.Pointer(f.Pointer)
		for {
			if n, ok := at[p]; ok || p == "" {
				return n
			}
			p = p[:max(0, strings.LastIndexByte(p, '/'))]
		}
	}
	faults = slices.Clone(faults)
	slices.SortStableFunc(faults, func(f, g fault.FieldError) int { return cmp.Compare(place(f), place(g)) })
	return faults
}

// offsets returns where each value of a JSON text begins, by its pointer.
func offsets(b []byte) map[string]int64 {
	d := jsontext.NewDecoder(bytes.NewReader(b))
	at := make(map[string]int64)
	for {
		if _, err := d.ReadToken(); err != nil { // the end: the text is well formed
			return at
		}
		p := string(d.StackPointer())
		if _, seen := at[p]; !seen {
			at[p] = d.InputOffset()
		}
	}
}
