package wire_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/catalog/wire"
)

// BenchmarkWorkbook reads a price list of 20,000 rows in turns with a general
// library that only goes over its rows, and reports the ratio of their times.
func BenchmarkWorkbook(b *testing.B) {
	file := full(b, 20_000)
	var ours, theirs time.Duration
	b.ReportAllocs()
	for b.Loop() {
		start := time.Now()
		rows, err := wire.Workbook(file, fullColumns())
		ours += time.Since(start)
		require.NoError(b, err)
		require.Len(b, rows, 20_000)
		b.StopTimer()
		start = time.Now()
		require.Equal(b, 20_001*7, passedOver(b, file))
		theirs += time.Since(start)
		b.StartTimer()
	}
	b.ReportMetric(float64(ours)/float64(theirs), "ours/theirs")
	b.ReportMetric(float64(20_000*b.N)/ours.Seconds(), "rows/s")
}

// passedOver returns how many cells a general library finds in a workbook.
func passedOver(b *testing.B, file []byte) (cells int) {
	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(b, err)
	defer f.Close()
	rows, err := f.Rows("Sheet1")
	require.NoError(b, err)
	for rows.Next() {
		row, err := rows.Columns()
		require.NoError(b, err)
		cells += len(row)
	}
	require.NoError(b, rows.Close())
	return cells
}
