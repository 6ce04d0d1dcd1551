package cutting_test

import (
	"errors"
	"fmt"

	"reckoner/pricing/cutting"
	"reckoner/pricing/unit"
)

// Two panels and a shelf from sheets of 2440 by 1220 mm at 52.00, trimmed by 10 mm all
// round and cut by a blade of 3.2 mm.
func ExampleJob_Plan() {
	j := cutting.Job{
		Kerf:      3200 * unit.Micrometre,
		Trim:      cutting.Trim{Left: 10 * mm, Right: 10 * mm, Bottom: 10 * mm, Top: 10 * mm},
		OffcutMin: 300 * mm,
		Stock:     []cutting.Stock{{Length: 2440 * mm, Width: 1220 * mm, Cost: 52_00}},
		Parts: []cutting.Part{
			{Length: 1500 * mm, Width: 1200 * mm, Quantity: 2},
			{Length: 900 * mm, Width: 600 * mm, Quantity: 1},
		},
	}
	plan, err := j.Plan(cutting.Quick)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d sheets for %d; proved: %t\n", plan.Pieces, plan.Cost, plan.Proved())
	for i := range plan.Layouts {
		l := &plan.Layouts[i]
		for _, n := range l.Parts() {
			fmt.Printf("layout %d, cut %d times: part %d at %s, %s\n", i+1, l.Count, n.Part, n.X.Millimetres(), n.Y.Millimetres())
		}
		for _, c := range l.Cuts() {
			fmt.Printf("  cut at %s, along: %t\n", c.At.Millimetres(), c.Along)
		}
		for _, n := range l.Offcuts(j.OffcutMin) {
			fmt.Printf("  keep %s x %s\n", n.Length.Millimetres(), n.Width.Millimetres())
		}
	}
	// Output:
	// 2 sheets for 10400; proved: true
	// layout 1, cut 1 times: part 0 at 10, 10
	// layout 1, cut 1 times: part 1 at 1513.2, 10
	//   cut at 1510, along: false
	//   cut at 610, along: true
	//   cut at 2413.2, along: false
	//   keep 916.8 x 596.8
	// layout 2, cut 1 times: part 0 at 10, 10
	//   cut at 1510, along: false
	//   keep 916.8 x 1200
}

func ExampleJob_Fits() {
	j := cutting.Job{Stock: []cutting.Stock{{Length: 2440 * mm, Width: 1220 * mm, Cost: 1}}}
	door := cutting.Part{Length: 1000 * mm, Width: 2000 * mm, Quantity: 1}
	fmt.Println(j.Fits(door))
	door.Turn = true
	fmt.Println(j.Fits(door))
	// Output:
	// false
	// true
}

// What cannot be cut is told by what stands in the way.
func ExampleMisfit() {
	j := cutting.Job{
		Stock: []cutting.Stock{{Length: 2440 * mm, Width: 1220 * mm, Cost: 1, Quantity: 1}},
		Parts: []cutting.Part{{Length: 2000 * mm, Width: 1000 * mm, Quantity: 2}, {Length: 2500 * mm, Width: 100 * mm, Quantity: 1}},
	}
	_, err := j.Plan(cutting.Quick)
	var misfit cutting.Misfit
	fmt.Println(errors.As(err, &misfit), misfit.Part)

	j.Parts = j.Parts[:1]
	_, err = j.Plan(cutting.Quick)
	fmt.Println(errors.As(err, new(cutting.Short)))
	// Output:
	// true 1
	// true
}
