package wire

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"reckoner/pricing/cutting"
	"reckoner/pricing/fault"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// An Instance is a cutting problem as such are published: in two dimensions ("2d",
// sides W and H) or in one ("1d", Len). A size without a unit is a millimetre.
type Instance struct {
	Row       int             `json:"-"` // where it stands in its file
	Name      string          `json:"name"`
	Kind      string          `json:"kind"`
	Family    string          `json:"family"`
	Source    string          `json:"source"` // the paper
	Kerf      num.Decimal     `json:"kerf"`
	Trim      InstanceTrim    `json:"trim"`
	Objective string          `json:"objective"` // "bins": every piece of stock counts 1; "cost", also when absent: its Cost
	Stock     []InstanceStock `json:"stock"`
	Items     []InstanceItem  `json:"items"`
	Refs      []InstanceRef   `json:"refs"`
}

// An InstanceTrim is what is lost along the edges of every piece of stock; of one in
// one dimension Left and Right count.
type InstanceTrim struct {
	Left   num.Decimal `json:"left"`
	Right  num.Decimal `json:"right"`
	Bottom num.Decimal `json:"bottom"`
	Top    num.Decimal `json:"top"`
}

// An InstanceStock is a size that can be had, as often as it takes when Qty is absent.
type InstanceStock struct {
	ID   string      `json:"id"`
	W    num.Decimal `json:"w"`
	H    num.Decimal `json:"h"`
	Len  num.Decimal `json:"len"`
	Cost num.Decimal `json:"cost"`
	Qty  *num.Count  `json:"qty"`
}

// An InstanceItem is a part, Qty times. Rot says whether it may turn, where the
// variant leaves that to it.
type InstanceItem struct {
	W   num.Decimal `json:"w"`
	H   num.Decimal `json:"h"`
	Len num.Decimal `json:"len"`
	Qty num.Count   `json:"qty"`
	Rot bool        `json:"rot"`
}

// An InstanceRef is what is known of a variant: no plan costs less than LB, and one
// costs UB. Cut is "free" for layouts that straight cuts need not part.
type InstanceRef struct {
	Rotation string       `json:"rotation"` // of "none", "all", or the "items" that say so
	Cut      string       `json:"cut"`
	LB       *num.Decimal `json:"lb"`
	UB       *num.Decimal `json:"ub"`
}

// Instances reads a file of instances, one a line; members that an Instance does not
// have are passed over. The error is a CellFaults with every line that cannot be
// read, by its number.
func Instances(b []byte) (all []Instance, err error) {
	var faults CellFaults
	row := 0
	for line := range bytes.Lines(b) {
		row++
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		i := Instance{Row: row}
		if at, wrong := decodeInstance(line, &i); wrong != "" {
			faults.add(row, at, "%s", wrong)
			continue
		}
		all = append(all, i)
	}
	if len(all) == 0 && len(faults) == 0 {
		faults.add(0, "", "there is no instance: write one a line")
	}
	if len(faults) > 0 {
		return all, faults
	}
	return all, nil
}

// decodeInstance reads an instance, or says where what is wrong with its text.
func decodeInstance(line []byte, i *Instance) (at, wrong string) {
	err := json.Unmarshal(line, i)
	if err == nil {
		return i.judge()
	}
	syntax, semantic := (*jsontext.SyntacticError)(nil), (*json.SemanticError)(nil)
	switch {
	case errors.As(err, &syntax):
		return "", malformed(line, syntax).Error()
	case errors.As(err, &semantic):
		return fault.Fragment(string(semantic.JSONPointer)), detail(semantic)
	}
	return "", err.Error()
}

// judge says which member of an instance is wrong, if any, that no plan would show.
func (i *Instance) judge() (at, wrong string) {
	switch {
	case i.Name == "":
		return "#/name", "it is missing: write what the instance is called"
	case i.Kind != "1d" && i.Kind != "2d":
		return "#/kind", fmt.Sprintf("%q is not known: write 1d or 2d", excerpt(i.Kind))
	case i.Objective != "" && i.Objective != "bins" && i.Objective != "cost":
		return "#/objective", fmt.Sprintf("%q is not known: write bins or cost", excerpt(i.Objective))
	case len(i.Stock) == 0:
		return "#/stock", "there is none: write what the items are cut from"
	case len(i.Items) == 0:
		return "#/items", "there is none: write what is to be cut"
	}
	for k, r := range i.Refs {
		if !slices.Contains([]string{"none", "all", "items"}, r.Rotation) {
			return fmt.Sprintf("#/refs/%d/rotation", k), fmt.Sprintf("%q is not known: write none, all or items", excerpt(r.Rotation))
		}
	}
	return i.judgeSums()
}

// judgeSums says which quantity is missing, or that what a plan costs may not fit.
func (i *Instance) judgeSums() (at, wrong string) {
	const most = 9_000_000_000_000 * num.One
	together := num.Decimal(0)
	for k := range i.Items {
		n := i.Items[k].Qty
		if n == 0 || n > mostOfItem {
			return fmt.Sprintf("#/items/%d/qty", k), fmt.Sprintf("%d is out of range: write a whole number from 1 to %d", n, mostOfItem)
		}
		together += num.Decimal(n)
	}
	for k, s := range i.Stock {
		if s.Cost < 0 || s.Cost > most/together {
			return fmt.Sprintf("#/stock/%d/cost", k), fmt.Sprintf("%s is out of range: write a cost from 0 to %s", s.Cost, most/together)
		}
	}
	return "", ""
}

// Variants returns which rotations are asked for: each of the refs whose layouts
// straight cuts must part, once; of an instance without refs what its items say.
func (i *Instance) Variants() (rotations []string) {
	if len(i.Refs) == 0 {
		return []string{"items"}
	}
	for _, r := range i.Refs {
		if r.Cut != "free" && !slices.Contains(rotations, r.Rotation) {
			rotations = append(rotations, r.Rotation)
		}
	}
	return rotations
}

// Job returns the variant as a job. One in one dimension is of rectangles 1 mm wide,
// as wide as their stock, which has no trim along its length.
func (i *Instance) Job(rotation string) cutting.Job {
	j := cutting.Job{
		Kerf: unit.Length(i.Kerf), OffcutMin: unit.Millimetre,
		Trim: cutting.Trim{Left: unit.Length(i.Trim.Left), Right: unit.Length(i.Trim.Right), Bottom: unit.Length(i.Trim.Bottom), Top: unit.Length(i.Trim.Top)},
	}
	flat := i.Kind == "2d"
	if !flat {
		j.Trim.Bottom, j.Trim.Top = 0, 0
	}
	for _, s := range i.Stock {
		t := cutting.Stock{Length: unit.Length(s.W), Width: unit.Length(s.H), Cost: 1}
		if i.Objective != "bins" {
			t.Cost = int64(s.Cost) / i.step()
		}
		if !flat {
			t.Length, t.Width = unit.Length(s.Len), unit.Millimetre
		}
		if s.Qty != nil {
			t.Quantity = int(*s.Qty)
		}
		j.Stock = append(j.Stock, t)
	}
	for _, q := range i.Items {
		p := cutting.Part{Length: unit.Length(q.W), Width: unit.Length(q.H), Quantity: int(q.Qty), Turn: rotation == "all" || rotation == "items" && q.Rot}
		if !flat {
			p.Length, p.Width, p.Turn = unit.Length(q.Len), unit.Millimetre, false
		}
		j.Parts = append(j.Parts, p)
	}
	return j
}

// mostOfItem is how many of an item there may be.
const mostOfItem = 1_000_000

// step returns how many millionths of cost, or of bins, a job of i counts as one: a
// power of ten, so that every cost is a whole number of them.
func (i *Instance) step() int64 {
	step := int64(num.One)
	if i.Objective == "bins" {
		return step
	}
	for _, s := range i.Stock {
		for int64(s.Cost)%step != 0 {
			step /= 10
		}
	}
	return step
}
