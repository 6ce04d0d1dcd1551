package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"reckoner/catalog"
)

// long is from how many rows on a file takes long enough to show how it goes on.
const long = 2000

// bar returns what shows how far a file of that many rows has come; nothing when it
// is short, or nobody looks on.
func (p process) bar(rows int) catalog.Progress {
	if f, ok := p.err.(*os.File); !ok || rows < long || !terminal(f) {
		return nil
	}
	return func(done, of int) { drawBar(p.err, done, of) }
}

// terminal reports whether f is one.
func terminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// drawBar draws how far something has come in the place of what it drew before, and
// wipes it when it is done.
func drawBar(w io.Writer, done, of int) {
	const width = 40
	full := width * done / of
	fmt.Fprintf(w, "\r[%s%s] %d of %d rows", strings.Repeat("#", full), strings.Repeat(".", width-full), done, of)
	if done == of {
		fmt.Fprint(w, "\r\x1b[K")
	}
}
