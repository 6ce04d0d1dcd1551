package wire

import (
	"fmt"
	"strings"
)

// A CellFault says which cell of a table is wrong and what to do about it. Row is
// its number as Row.Number has it; 0 is the table as a whole, or with a column what
// is given beside it. Without a column the row as a whole is at fault.
type CellFault struct {
	Row    int
	Column string
	Detail string // one sentence, with the figures and the remedy
}

// String returns the fault on one line: "row 7, length: ...".
func (f CellFault) String() string {
	switch {
	case f.Row == 0 && f.Column == "":
		return f.Detail
	case f.Row == 0:
		return f.Column + ": " + f.Detail
	case f.Column == "":
		return fmt.Sprintf("row %d: %s", f.Row, f.Detail)
	}
	return fmt.Sprintf("row %d, %s: %s", f.Row, f.Column, f.Detail)
}

// CellFaults is every fault of a table, in its order. One that is not empty is an
// error.
type CellFaults []CellFault

// Error lists the faults, one a line.
func (l CellFaults) Error() string {
	lines := make([]string, len(l))
	for i, f := range l {
		lines[i] = f.String()
	}
	return strings.Join(lines, "\n")
}

// add appends a fault; the detail is made as by fmt.Sprintf.
func (l *CellFaults) add(row int, column, format string, args ...any) {
	*l = append(*l, CellFault{row, column, fmt.Sprintf(format, args...)})
}
