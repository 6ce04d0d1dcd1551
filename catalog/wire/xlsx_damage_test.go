package wire_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"reckoner/catalog/wire"
)

// small are small workbooks of three writers: texts in cells, texts shared, and by
// hand.
func small(t *testing.T) map[string][]byte {
	rows := []priceRow{
		{"ash-27", "dry", "1850.25", time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)},
		{"oak-27", "", "2400", time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)},
	}
	return map[string][]byte{"inline": workbook(t, rows, false), "shared": workbook(t, rows, true), "by hand": listOf(header + goodRow).file()}
}

// unharmed asserts that a workbook that is not as it was gives an error or the same
// rows, and reports whether it gave the rows.
func unharmed(t require.TestingT, want []wire.Row, b []byte, what string, at ...int) bool {
	got, err := wire.Workbook(b, priceColumns())
	if err != nil {
		return false
	}
	require.Equal(t, want, got, "%s %v", what, at)
	return true
}

// A workbook cut off anywhere is refused; with any one bit changed it is refused or
// read as it was.
func TestDamage(t *testing.T) {
	for name, file := range small(t) {
		want, err := wire.Workbook(file, priceColumns())
		require.NoError(t, err)
		require.NotEmpty(t, want)
		for n := range file {
			require.False(t, unharmed(t, want, file[:n:n], name+" cut off at", n), "%s of %d", name, n)
		}
		for n := range file {
			for _, bit := range []int{n % 8, (n + 3) % 8} {
				file[n] ^= 1 << bit
				unharmed(t, want, file, name+" changed at", n, bit)
				file[n] ^= 1 << bit
			}
		}
	}
}

// The same with pieces left out, doubled, moved and overwritten.
func TestWorseDamage(t *testing.T) {
	for name, file := range small(t) {
		want, err := wire.Workbook(file, priceColumns())
		require.NoError(t, err)
		rapid.Check(t, func(t *rapid.T) {
			b := bytes.Clone(file)
			for range rapid.IntRange(1, 3).Draw(t, "times") {
				from := rapid.IntRange(0, len(b)).Draw(t, "from")
				to := rapid.IntRange(from, min(from+200, len(b))).Draw(t, "to")
				at := rapid.IntRange(0, len(b)).Draw(t, "at")
				piece := bytes.Clone(b[from:to])
				switch rapid.SampledFrom([]string{"leave out", "double", "move", "overwrite"}).Draw(t, "how") {
				case "leave out":
					b = append(b[:from], b[to:]...)
				case "double":
					b = append(b[:to:to], append(piece, b[to:]...)...)
				case "move":
					b = append(b[:from], b[to:]...)
					at = min(at, len(b))
					b = append(b[:at:at], append(piece, b[at:]...)...)
				case "overwrite":
					copy(b[at:], piece)
				}
			}
			unharmed(t, want, b, name)
		})
	}
}
