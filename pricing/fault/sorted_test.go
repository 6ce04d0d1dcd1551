package fault_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"reckoner/pricing/fault"
)

// A request of every shape that a pointer can pass through.
type request struct {
	AsOf   string `json:"as_of"`
	Pieces []*piece
	Named  map[string]piece `json:"timbers,omitzero"`
	common
	*Extra
	Boxed  boxed `json:"boxed"`
	Hidden int   `json:"-"`
	Dash   int   `json:"-,"`
	any    int
	Last   any `json:"last"`
}

type piece struct {
	Zed   int    `json:"z"`
	Sizes [3]int `json:"a"`
	boxed
}

type common struct {
	Note string `json:"note"`
	Mark string `json:"mark"`
}

type Extra struct {
	Also string `json:"also"`
}

type boxed struct {
	Width  int `json:"width"`
	Height int `json:"height"`
}

// inOrder returns pointers into a request in their order.
func inOrder() []string {
	return []string{
		"#",
		"#/as_of",
		"#/Pieces",
		"#/Pieces/0/z",
		"#/Pieces/0/a",
		"#/Pieces/0/a/2",
		"#/Pieces/0/width",
		"#/Pieces/0/height",
		"#/Pieces/2/z",
		"#/Pieces/10",
		"#/Pieces/10/z",
		"#/Pieces/10/unknown",
		"#/Pieces/-",
		"#/timbers",
		"#/timbers/a",
		"#/timbers/a~1b/z",
		"#/timbers/a~1b/width",
		"#/timbers/a~0",    // "/" comes before "~"
		"#/timbers/b%20c",  // " " comes before "%" and "0"
		"#/timbers/b%25/z", // as it was named, not as it is written
		"#/timbers/b0",
		"#/timbers/show/a/1",
		"#/timbers/%C3%A9/a/1",
		"#/note",
		"#/mark",
		"#/also",
		"#/boxed",
		"#/boxed/width",
		"#/boxed/height",
		"#/-",
		"#/last",
		"#/last/10",
		"#/last/9",
		"#/",
		"#/Extra",
		"#/Hidden",
		"#/any",
		"#/boxed2/x",
		"#/common",
	}
}

func list(pointers []string) (l fault.List) {
	for _, p := range pointers {
		l.Add(p, "first")
		l.Add(p, "second")
	}
	return l
}

func TestSorted(t *testing.T) {
	want := list(inOrder())
	for name, root := range map[string]any{"value": request{}, "nil pointer": (*request)(nil)} {
		assert.Equal(t, want, want.Sorted(root), name)
		r := rand.New(rand.NewPCG(1, 0))
		for range 50 {
			pointers := inOrder()
			r.Shuffle(len(pointers), func(i, j int) { pointers[i], pointers[j] = pointers[j], pointers[i] })
			mixed := list(pointers)
			before := mixed.At("")
			assert.Equal(t, want, mixed.Sorted(root), name)
			assert.Equal(t, before, mixed, "l stays as it is")
		}
	}
	assert.NoError(t, fault.List(nil).Sorted(request{}).Err())
}

func TestSortedByTextAlone(t *testing.T) {
	l := fault.List{{"#/b", ""}, {"#/a/10", ""}, {"#/a/9", ""}, {"#", ""}}
	want := fault.List{{"#", ""}, {"#/a/10", ""}, {"#/a/9", ""}, {"#/b", ""}}
	assert.Equal(t, want, l.Sorted(nil))
	assert.Equal(t, want, l.Sorted(7))
}

func ExampleList_Sorted() {
	type chest struct {
		Width  int   `json:"width"`
		Height int   `json:"height"`
		Rows   []int `json:"rows"`
	}
	var l fault.List
	l.Add("#/rows/10", "make the row at least 50 high, not 20")
	l.Add("#/rows/9", "make the row at least 50 high, not 30")
	l.Add("#/width", "make it at most 20000 wide, not 30000")
	fmt.Println(l.Sorted(chest{}))
	// Output:
	// #/width: make it at most 20000 wide, not 30000
	// #/rows/9: make the row at least 50 high, not 30
	// #/rows/10: make the row at least 50 high, not 20
}
