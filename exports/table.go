package exports

import "strings"

// across is how many columns of a terminal a summary takes.
const across = 100

// least is how many columns are left to a text however long its figures are.
const least = 12

// A table writes text for a terminal: a description on the left, figures in
// columns on the right, no line longer than across.
type table struct{ strings.Builder }

// line writes one line.
func (t *table) line(s string) { t.WriteString(strings.TrimRight(s, " ") + "\n") }

// gap leaves a line empty.
func (t *table) gap() { t.WriteByte('\n') }

// rule draws a line of one character across.
func (t *table) rule(of string) { t.line(strings.Repeat(of, across)) }

// A column is a figure and how many columns of the terminal it has, one of them
// a space before it; a longer figure takes more, from the description.
type column struct {
	text string
	wide int
}

// row writes a text after a label, wrapped and hanging from it, with the figures
// on its first line.
func (t *table) row(label, text string, figures ...column) {
	right := ""
	for _, f := range figures {
		right += strings.Repeat(" ", max(1, f.wide-measured(f.text, columns))) + f.text
	}
	hang := measured(label, columns)
	left := across - hang - measured(right, columns)
	for i, l := range wrap(oneLine(text), max(least, left), columns) {
		if i > 0 {
			t.line(strings.Repeat(" ", hang) + l)
			continue
		}
		t.line(label + l + strings.Repeat(" ", max(0, left-measured(l, columns))) + right)
	}
}
