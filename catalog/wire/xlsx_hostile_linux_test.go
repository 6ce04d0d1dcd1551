package wire_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"hash/crc32"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
)

// bomb returns the workbook with so many repeats of a piece before a text of a part;
// it is packed without ever being whole.
func bomb(t *testing.T, b raw, part, before, piece string, repeats int) []byte {
	t.Helper()
	const many = 1000 // pieces in a block, which is packed once
	block := strings.Repeat(piece, many)
	head, tail, found := strings.Cut(b[part], before)
	require.True(t, found)
	var packed bytes.Buffer
	w, err := flate.NewWriter(&packed, flate.BestCompression)
	require.NoError(t, err)
	pack := func(text string, end func() error) []byte {
		packed.Reset()
		w.Reset(&packed) // without references to what came before
		_, err := w.Write([]byte(text))
		require.NoError(t, err)
		require.NoError(t, end())
		return bytes.Clone(packed.Bytes())
	}
	body, sum := pack(head, w.Flush), crc32.ChecksumIEEE([]byte(head))
	once := pack(block, w.Flush)
	for range repeats / many {
		body, sum = append(body, once...), crc32.Update(sum, crc32.IEEETable, []byte(block))
	}
	body, sum = append(body, pack(before+tail, w.Close)...), crc32.Update(sum, crc32.IEEETable, []byte(before+tail))
	return repacked(t, b, func(h *zip.FileHeader, old []byte) []byte {
		if h.Name != part {
			return old
		}
		h.CRC32, h.CompressedSize64 = sum, uint64(len(body))
		h.UncompressedSize64 = uint64(len(b[part]) + repeats/many*len(block))
		return body
	})
}

// A hostileFile is made to take time or memory; it is refused with a word, or read
// all the same.
type hostileFile struct {
	file []byte
	says string
}

// hostile returns such files by name. Those that are small are so by their ratio,
// which is not what refuses them: noise at the start of each part sees to that.
func hostile(t *testing.T) map[string]hostileFile {
	comment := "<!--" + noise(100_000) + "-->"
	b := listOf(header + goodRow)
	for part, text := range b {
		if part == sheet1 || part == strs || part == styles {
			b = b.with(part, strings.Replace(text, declared, declared+comment, 1))
		}
	}
	plain := listOf(header + goodRow)
	all := map[string]hostileFile{
		"1 GB of spaces in styles":   {bomb(t, plain, styles, "</styleSheet>", strings.Repeat(" ", 1000), 1_000_000), "mostly empty"},
		"1 GB of spaces in a sheet":  {bomb(t, plain, sheet1, "</sheetData>", strings.Repeat(" ", 1000), 1_000_000), "mostly empty"},
		"1 GB of spaces, with noise": {bomb(t, b, sheet1, "</sheetData>", strings.Repeat(" ", 1000), 1_000_000), "too large"},
		"200 MB of formats":          {bomb(t, plain, styles, "</cellXfs>", "<xf/>", 40_000_000), "too large"},
		"5 million elements deep":    {bomb(t, plain, sheet1, "</sheetData>", "<a>", 5_000_000), "too large"},
		"60,000 parts in the list":   {crowdOf(t, 60_000), "more than 200 parts"},
		"noise of 8 MiB":             {[]byte("PK\x03\x04" + noise(8<<20-4)), "damaged"},
		"20,000 rows, all columns":   {full(t, 20_000), "no column"},
		"a hundred empty sheets":     {sheets(b, 100, sheet("<!--"+noise(4000)+"-->"+strings.Repeat("<row><c/><c/><c/></row>", 7000))), "too many cells"},
	}
	for _, h := range []struct {
		name, part, before, piece string
		times                     int
		says                      string
	}{
		{"1 MiB of formats", styles, "</cellXfs>", "<xf/>", 180_000, ""},
		{"1 MiB of own formats", styles, "</numFmts>", `<numFmt numFmtId="1" formatCode="[[["/>`, 24_000, ""},
		{"2 million elements deep", sheet1, "</worksheet>", "<a>", 2_000_000, "too deeply"},
		{"8 MiB of rows", sheet1, "</sheetData>", "<row/>", 1_300_000, "too many cells"},
		{"8 MiB of empty cells", sheet1, "</sheetData>", "<row><c/><c/><c><v/></c></row>", 270_000, "too many cells"},
		{"8 MiB of texts in cells", sheet1, "</sheetData>", `<row>` + strings.Repeat(`<c t="inlineStr"><is><t>x</t></is></c>`, 64) + `</row>`, 3300, "no heading"},
		{"8 MiB of formulas", sheet1, "</sheetData>", `<row>` + strings.Repeat(`<c><f/><v>1</v></c>`, 64) + `</row>`, 3000, "formula"},
		{"8 MiB of errors", sheet1, "</sheetData>", `<row><c t="e"><v>#REF!</v></c><c t="e"><v>#REF!</v></c><c t="b"><v>1</v></c><c t="b"><v>1</v></c></row>`, 19_999, "#REF!"},
		{"8 MiB of attributes", sheet1, "<sheetData>", "<x " + strings.Repeat(`a="" `, 1_500_000) + "/>", 1, "too long"},
		{"64 attributes an element", sheet1, "<sheetData>", "<x " + attributes(64) + "/>", 17_000, ""},
		{"8 MiB of remarks", sheet1, "<sheetData>", "<!---->", 1_150_000, "too many cells"},
		{"a remark of 8 MiB", sheet1, "<sheetData>", "<!--" + strings.Repeat(" ", 8_000_000) + "-->", 1, "too long"},
		{"8 MiB of merged cells", sheet1, "</worksheet>", "<mergeCells>" + strings.Repeat(`<mergeCell ref="A2:B2"/>`, 330_000) + "</mergeCells>", 1, "merged"},
		{"8 MiB of shared texts", strs, "</sst>", "<si/>", 1_600_000, "too many cells"},
		{"a text in many pieces", strs, "</t></si></sst>", "<![CDATA[x]]>", 600_000, "too many cells"},
		{"a text of many runs", strs, "</si></sst>", "<t>xxxxxxxxxxxxxx</t>", 385_000, ""},
		{"a text of many escapes", strs, "</si></sst>", "<t>" + strings.Repeat("_x0041_", 37_000) + "</t>", 31, ""},
	} {
		all[h.name] = hostileFile{b.swapped(t, h.part, h.before, strings.Repeat(h.piece, h.times)+h.before).file(), h.says}
	}
	spaces := b.swapped(t, strs, "</sst>", "<si><t>"+strings.Repeat(" ", 250_000)+"</t></si></sst>")
	all["a long text in many cells"] = hostileFile{spaces.swapped(t, sheet1, "</sheetData>", strings.Repeat("<row>"+strings.Repeat(`<c t="s"><v>2</v></c>`, 64)+"</row>", 5000)+"</sheetData>").file(), ""}
	runs := b.swapped(t, strs, "</si></sst>", strings.Repeat("<t>xxxxxxxxxxxxxx</t>", 385_000)+"</si></sst>")
	all["both parts full"] = hostileFile{runs.swapped(t, sheet1, "</sheetData>", strings.Repeat("<row>"+strings.Repeat(`<c t="inlineStr"><is><t>x</t></is></c>`, 64)+"</row>", 3300)+"</sheetData>").file(), "too many cells"}
	var far strings.Builder
	for i := range 5000 {
		fmt.Fprintf(&far, `<row r="%d"><c r="XFD%[1]d"><v>1</v></c></row>`, i+3)
	}
	all["5,000 rows out to XFD"] = hostileFile{listOf(header + goodRow + far.String()).file(), "column XFD"}
	return all
}

// sheets returns the workbook with so many more sheets.
func sheets(b raw, n int, text string) []byte {
	pairs, named := []string{"styles", "styles.xml", "sharedStrings", "sharedStrings.xml", "worksheet", "worksheets/sheet1.xml"}, `<sheet name="Prices" r:id="r2"/>`
	for i := range n {
		part := fmt.Sprintf("worksheets/empty%d.xml", i)
		b = b.with("xl/"+part, text)
		pairs = append(pairs, "worksheet", part)
		named += fmt.Sprintf(`<sheet name="%d" r:id="r%d"/>`, i, i+3)
	}
	return b.with(bookRels, links(pairs...), bookPart, workbookOf(`<sheets>`+named+`</sheets>`)).file()
}

// TestHostileWorkbooks reads each hostile file in a process of its own, this very
// program, and asks what it took: less than a second of a processor, and a peak of
// at most 256 MiB.
func TestHostileWorkbooks(t *testing.T) {
	const variable = "RECKONER_TEST_WORKBOOK"
	if path := os.Getenv(variable); path != "" {
		readHostile(t, path)
		return
	}
	dir := t.TempDir()
	program, err := os.Executable()
	require.NoError(t, err)
	for name, h := range hostile(t) {
		path := filepath.Join(dir, "book.xlsx")
		require.NoError(t, os.WriteFile(path, h.file, 0o600))
		child := exec.Command(program, "-test.run=^TestHostileWorkbooks$", "-test.v")
		child.Env = append(os.Environ(), variable+"="+path)
		out, err := child.CombinedOutput()
		require.NoError(t, err, "%s: %s", name, out)
		_, said, found := strings.Cut(string(out), "took ")
		require.True(t, found, "%s: %s", name, out)
		var spent, wall, peak int
		_, err = fmt.Sscan(said, &spent, &wall, &peak)
		require.NoError(t, err, "%s: %s", name, said)
		_, detail, _ := strings.Cut(said, "said ")
		t.Logf("%-34s %8d bytes: %3d ms of a processor, %3d ms in all, peak %3d MiB: %.90s", name, len(h.file), spent, wall, peak>>10, detail)
		assert.Less(t, spent, 1000, name)
		assert.Less(t, peak, 256<<10, name)
		if h.says == "" {
			assert.True(t, strings.HasPrefix(detail, "1 rows"), "%s: %s", name, detail)
		} else {
			assert.Contains(t, detail, h.says, name)
		}
	}
}

// readHostile prints what reading a file took and what it came to.
func readHostile(t *testing.T, path string) {
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	start, began := processor(t), time.Now()
	rows, err := wire.Workbook(file, priceColumns())
	spent, wall := processor(t)-start, time.Since(began)
	status, readErr := os.ReadFile("/proc/self/status")
	require.NoError(t, readErr)
	_, peak, found := strings.Cut(string(status), "VmHWM:")
	require.True(t, found)
	said := fmt.Sprint(len(rows), " rows")
	if err != nil {
		said = fmt.Sprintf("%.300s", err.Error())
	}
	fmt.Println("took", spent.Milliseconds(), wall.Milliseconds(), strings.Fields(peak)[0], "said", said)
}

// processor returns the time that this process has had of processors.
func processor(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
