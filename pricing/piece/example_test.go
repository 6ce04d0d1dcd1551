package piece_test

import (
	"fmt"

	"reckoner/pricing/num"
	"reckoner/pricing/piece"
	"reckoner/pricing/unit"
)

// Two drawer boxes of 400 x 120 x 450 with a bottom of 6 mm plywood.
func ExamplePiece_Build() {
	p := piece.Piece{Kind: "drawer_boxes", DrawerBoxes: &piece.DrawerBoxes{
		Boxes: []piece.BoxSize{{Width: num.Whole(400), Height: num.Whole(120), Depth: num.Whole(450), Quantity: 2}},
	}}
	build, faults := p.Build(func(material string) piece.Stock {
		return piece.Stock{Known: true, Sheet: material == piece.Bottom, Thickness: 6 * unit.Millimetre}
	})
	fmt.Println(len(faults), "faults")
	for _, part := range build.Parts {
		fmt.Printf("%d %s, %s x %s x %s mm, %s\n", part.Quantity, part.Name,
			part.Length.Millimetres(), part.Width.Millimetres(), part.Thickness.Millimetres(), part.Material)
	}
	for _, j := range build.Joints {
		if j.Glued() {
			fmt.Printf("%d corners of %d tails, %s m2 of glue\n", j.Quantity, j.Tails, j.GlueArea(j.Quantity, 8))
		}
	}
	p.DrawerBoxes.Boxes[0].Height = num.Whole(30)
	_, faults = p.Build(func(string) piece.Stock { return piece.Stock{} })
	fmt.Println(faults)
	// Output:
	// 0 faults
	// 4 Pin board, 401 x 120 x 12 mm, inner
	// 4 Tail board, 450 x 120 x 12 mm, inner
	// 2 Drawer bottom, 385 x 435 x 6 mm, bottom
	// 8 corners of 3 tails, 0.018486 m2 of glue
	// #/drawer_boxes/boxes/0: a box 30 mm high is not over groove_offset 10 mm + bottom 6 mm + 20 mm: make it higher
}
