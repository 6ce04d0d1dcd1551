package piece

import "reckoner/pricing/num"

// DrawerBoxes is a batch of drawer boxes without a case.
type DrawerBoxes struct {
	Boxes []BoxSize `json:"boxes"`
	DrawerStyle
}

// A BoxSize is the outside of a drawer box and how many of them.
type BoxSize struct {
	Width    num.Decimal `json:"width"`
	Height   num.Decimal `json:"height"`
	Depth    num.Decimal `json:"depth"`
	Quantity num.Count   `json:"quantity,omitzero"` // default 1
}

func (l *DrawerBoxes) build(b *bench) {
	d := l.resolve(b, b.at, true)
	at := b.at + "/boxes"
	if !b.listed(at, len(l.Boxes), maxList, "boxes") {
		return
	}
	for i, size := range l.Boxes {
		at := item(at, i)
		w, okW := b.required(at, "width", size.Width)
		h, okH := b.required(at, "height", size.Height)
		depth, okD := b.required(at, "depth", size.Depth)
		box := Box{Quantity: b.quantity(at+"/quantity", size.Quantity), Width: w, Height: h, Depth: depth, Opening: w}
		if okW && okH && okD && d.make(b, &box, at) {
			b.made.Boxes = append(b.made.Boxes, box)
		}
	}
}
