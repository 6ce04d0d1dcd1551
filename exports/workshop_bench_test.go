package exports_test

import (
	"bytes"
	"encoding/xml"
	"io"
	"runtime"
	"runtime/metrics"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"reckoner/exports"
)

// A bareRow is the cells of one row, as excelize takes them.
type bareRow struct {
	at    string
	cells []any
}

// bareRows is every cell of a workbook, by sheet, with its figure, formula and
// look: what a program that does nothing else would stream.
func bareRows(tb testing.TB, file []byte, names []string) map[string][]bareRow {
	tb.Helper()
	files := parts(tb, file)
	all := make(map[string][]bareRow)
	for i, name := range names {
		var sheet struct {
			Rows []struct {
				Cells []struct {
					Name    string `xml:"r,attr"`
					Look    int    `xml:"s,attr"`
					Type    string `xml:"t,attr"`
					Formula string `xml:"f"`
					Value   string `xml:"v"`
					Text    string `xml:"is>t"`
				} `xml:"c"`
			} `xml:"sheetData>row"`
		}
		require.NoError(tb, xml.Unmarshal([]byte(files["xl/worksheets/sheet"+strconv.Itoa(i+1)+".xml"]), &sheet))
		for r, row := range sheet.Rows {
			list := bareRow{at: "A" + strconv.Itoa(r+1)}
			for _, c := range row.Cells {
				one := excelize.Cell{StyleID: c.Look, Formula: c.Formula}
				if v, err := strconv.ParseFloat(c.Value, 64); err == nil {
					one.Value = v
				} else if c.Text != "" {
					one.Value = c.Text
				}
				list.cells = append(list.cells, one)
			}
			all[name] = append(all[name], list)
		}
	}
	return all
}

// bare streams cells with excelize and nothing else: no styles, widths, names,
// pictures or pages.
func bare(tb testing.TB, w io.Writer, names []string, rows map[string][]bareRow) {
	f := excelize.NewFile()
	for i, name := range names {
		if i == 0 {
			require.NoError(tb, f.SetSheetName("Sheet1", name))
		} else {
			_, err := f.NewSheet(name)
			require.NoError(tb, err)
		}
		s, err := f.NewStreamWriter(name)
		require.NoError(tb, err)
		for _, row := range rows[name] {
			require.NoError(tb, s.SetRow(row.at, row.cells))
		}
		require.NoError(tb, s.Flush())
	}
	_, err := f.WriteTo(w)
	require.NoError(tb, err)
	require.NoError(tb, f.Close())
}

// against measures a workbook against bare excelize streaming the same cells, in
// turns, and reports the ratio of their times and the memory that one takes.
func against(b *testing.B, p exports.Paper, names []string, write func(io.Writer, exports.Paper) error) {
	b.Helper()
	var out bytes.Buffer
	require.NoError(b, write(&out, p))
	rows := bareRows(b, out.Bytes(), names)
	size, most := out.Len(), peak(func() { require.NoError(b, write(io.Discard, p)) })
	var ours, theirs time.Duration
	var taken uint64
	b.ReportAllocs()
	for b.Loop() {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		start := time.Now()
		out.Reset()
		if err := write(&out, p); err != nil {
			b.Fatal(err)
		}
		ours += time.Since(start)
		runtime.ReadMemStats(&after)
		taken += after.TotalAlloc - before.TotalAlloc
		start = time.Now()
		out.Reset()
		bare(b, &out, names, rows)
		theirs += time.Since(start)
	}
	b.ReportMetric(float64(ours)/float64(theirs), "times-bare")
	b.ReportMetric(ours.Seconds()*1000/float64(b.N), "ms/book")
	b.ReportMetric(float64(taken)/float64(b.N)/(1<<20), "MB/book")
	b.ReportMetric(float64(size)/1024, "kB/book")
	b.ReportMetric(float64(most)/(1<<20), "MB-peak")
}

// peak returns by how many bytes work raises the heap at the most, looked at every
// tenth of a millisecond.
func peak(work func()) uint64 {
	heap := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	runtime.GC()
	metrics.Read(heap)
	before, most := heap[0].Value.Uint64(), uint64(0)
	done, stopped := make(chan bool), make(chan bool)
	go func() {
		defer close(stopped)
		for tick := time.NewTicker(100 * time.Microsecond); ; {
			metrics.Read(heap)
			most = max(most, heap[0].Value.Uint64())
			select {
			case <-done:
				tick.Stop()
				return
			case <-tick.C:
			}
		}
	}()
	work()
	close(done)
	<-stopped
	return most - min(most, before)
}

func BenchmarkWorkshop(b *testing.B) {
	all := papers(b)
	fifty := request(b, "full-quotation")
	first := fifty.Pieces[0]
	for len(fifty.Pieces) < 50 {
		first.ID = "chest-" + strconv.Itoa(len(fifty.Pieces))
		fifty.Pieces = append(fifty.Pieces, first)
	}
	for name, p := range map[string]exports.Paper{"tall-chest": all["tall-chest"], "full-quotation": all["full-quotation"], "free-parts": all["free-parts"], "fifty-pieces": paper(b, fifty, starter(b))} {
		b.Run(name, func(b *testing.B) { against(b, p, sheetNames(len(p.Costing.Cutting) > 0), exports.Workshop) })
		b.Run(name+"-quotation", func(b *testing.B) { against(b, p, []string{"Quotation"}, exports.Quotation) })
	}
}
