package api_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"hash/crc32"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A hostileFile is sent to hurt the service; it is refused in these words.
type hostileFile struct {
	file, media string
	status      int
	says        string
}

// bomb returns the workbook with so many repeats of a piece before a text of a part,
// packed without ever being whole.
func bomb(t *testing.T, p parts, part, before, piece string, repeats int) string {
	t.Helper()
	const many = 1000 // pieces in a block, which is packed once
	block := strings.Repeat(piece, many)
	head, tail, found := strings.Cut(p[part], before)
	require.True(t, found)
	var packed bytes.Buffer
	w, err := flate.NewWriter(&packed, flate.BestCompression)
	require.NoError(t, err)
	sum, size := uint32(0), 0
	pack := func(text string, end func() error) []byte {
		packed.Reset()
		w.Reset(&packed) // without references to what came before
		_, err := io.WriteString(w, text)
		require.NoError(t, err)
		require.NoError(t, end())
		return bytes.Clone(packed.Bytes())
	}
	body := pack(head, w.Flush)
	sum, size = crc32.ChecksumIEEE([]byte(head)), len(head)
	once := pack(block, w.Flush)
	for range repeats / many {
		body, sum, size = append(body, once...), crc32.Update(sum, crc32.IEEETable, []byte(block)), size+len(block)
	}
	body, sum, size = append(body, pack(before+tail, w.Close)...), crc32.Update(sum, crc32.IEEETable, []byte(before+tail)), size+len(before+tail)
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for name, text := range p {
		if name == part {
			raw, err := z.CreateRaw(&zip.FileHeader{Name: name, Method: zip.Deflate, CRC32: sum, CompressedSize64: uint64(len(body)), UncompressedSize64: uint64(size)})
			require.NoError(t, err)
			_, err = raw.Write(body)
			require.NoError(t, err)
			continue
		}
		whole, err := z.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(whole, text)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return out.String()
}

// noise is letters that do not pack well: a congruential generator's (constants of
// Numerical Recipes, from memory).
func noise(n int) string {
	b, x := make([]byte, n), uint32(1)
	for i := range b {
		x = 1664525*x + 1013904223
		b[i] = 'a' + byte(x>>24)%26
	}
	return string(b)
}

// hostileBooks returns workbooks by what is wrong with them.
func hostileBooks(t *testing.T) map[string]hostileFile {
	head := `<row r="1">`
	for i, name := range []string{"code", "price", "unit", "currency", "effective_from"} {
		head += cellOf(string(rune('A'+i))+"1", name)
	}
	head += "</row>"
	const end, formats = "</sheetData>", "</cellXfs>"
	remark := "<!--" + noise(100_000) + "-->"
	small := workbookOf(head)
	noisy := small.with(partSheet, "<sheetData>", remark).with(partStyles, "<cellXfs", remark) // so that it is not refused for how well it packs
	spaces := strings.Repeat(" ", 1000)
	laughs := `<!DOCTYPE w [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]>`
	var far, crowd strings.Builder
	for i := range 5000 {
		fmt.Fprintf(&far, `<row r="%d"><c r="XFD%[1]d"><v>1</v></c></row>`, i+2)
	}
	z := zip.NewWriter(&crowd)
	for i := range 60_000 {
		_, err := z.CreateHeader(&zip.FileHeader{Name: fmt.Sprint(i)})
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	compound := "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + noise(1<<20)
	encrypted := strings.Join(strings.Split("EncryptedPackage", ""), "\x00") + "\x00"
	whole := cellsOf(nil)
	all := map[string]hostileFile{
		"1 GB of spaces in its sheet":  {file: bomb(t, small, partSheet, end, spaces, 1_000_000), says: "mostly empty: copy the table alone into a new workbook"},
		"1 GB of spaces, less obvious": {file: bomb(t, noisy, partSheet, end, spaces, 1_000_000), says: "is too large: copy the table alone into a new workbook"},
		"200 MB of formats":            {file: bomb(t, small, partStyles, formats, "<xf/>", 40_000_000), says: "is too large: copy the table alone into a new workbook"},
		"900 KB of formats":            {file: noisy.with(partStyles, formats, strings.Repeat("<xf/>", 160_000)).file(), says: "there is no price below the header row"},
		"5 million elements deep":      {file: bomb(t, small, partSheet, end, "<a>", 5_000_000), says: "is too large"},
		"2 million elements deep":      {file: noisy.with(partSheet, "</worksheet>", strings.Repeat("<a>", 2_000_000)).file(), says: "is nested too deeply"},
		"rows out to XFD":              {file: workbookOf(head + far.String()).file(), says: "column XFD"},
		"8 MB of empty cells":          {file: noisy.with(partSheet, end, strings.Repeat("<row><c/><c/><c><v/></c></row>", 270_000)).file(), says: "too many cells and formats"},
		"8 MB of formulas":             {file: noisy.with(partSheet, end, strings.Repeat("<row>"+strings.Repeat("<c><f/><v>1</v></c>", 64)+"</row>", 3000)).file(), says: "A2 holds a formula: copy the cell and paste it back as a value"},
		"a joke of entities":           {file: small.with(partSheet, "<worksheet", laughs).file(), says: "document type"},
		"half of it":                   {file: whole[:len(whole)/2], says: "its end is missing"},
		"a byte in the middle":         {file: whole[:len(whole)/3] + "!" + whole[len(whole)/3+1:], says: "the workbook is damaged"},
		"a password":                   {file: compound + encrypted, says: "the workbook is locked: remove the password and save it again"},
		"the old kind":                 {file: compound, says: "this is a file of the old kind (.xls): open it and save it as .xlsx"},
		"the old kind, as a text":      {file: compound, media: "text/csv", says: "this is a file of the old kind (.xls): open it and save it as .xlsx"},
		"macros":                       {file: small.with("xl/vbaProject.bin", "", "Sub").file(), says: "the workbook holds macros: save it as .xlsx, without them"},
		"links to other workbooks":     {file: small.with("xl/externalLinks/externalLink1.xml", "", "<x/>").file(), says: "the workbook draws on other workbooks: break the links"},
		"60,000 parts":                 {file: crowd.String(), says: "more than 200 parts"},
		"noise of 8 MiB":               {file: "PK\x03\x04" + noise(8<<20-4), says: "the workbook is damaged"},
		"9 MiB":                        {file: "PK\x03\x04" + noise(9<<20), status: http.StatusRequestEntityTooLarge, says: "a body may have at most 8388608 bytes"},
	}
	for name, h := range all {
		if h.media == "" {
			h.media = mediaXLSX
		}
		all[name] = h
	}
	return all
}

// hostileTexts are lists in CSV that have as much wrong as there is room for.
func hostileTexts() map[string]hostileFile {
	const head, csv = "code,price,unit,currency,effective_from\n", "text/csv"
	const room = 4<<20 - len(head)
	return map[string]hostileFile{
		"4 million columns":        {file: strings.Repeat("a,", room), media: csv, says: `"row":1,`},
		"4 million cells in a row": {file: head + strings.Repeat("a,", room), media: csv, says: `"row":2,`},
		"4 million short rows":     {file: head + strings.Repeat("a\n", room), media: csv, says: `"row":2,`},
		"130,000 columns":          {file: strings.Repeat(strings.Repeat("a,", 130_000)+"\n", 32), media: csv, says: "columns are"},
		"130,000 cells, 31 times":  {file: head + strings.Repeat(strings.Repeat("a,", 130_000)+"\n", 31), media: csv, says: "cells"},
		"8 million empty rows":     {file: head + strings.Repeat("\n", 2*room), media: csv, says: "no price below the header row"},
		"2,080 long cells":         {file: head + strings.Repeat(strings.Repeat("b", 4001)+",1,each,GBP,2026-12-01\n", 2080), media: csv, says: "more than 4000 bytes"},
	}
}

func TestHostileWorkbooks(t *testing.T) { hurt(t, "TestHostileWorkbooks", hostileBooks) }

func TestHostileTexts(t *testing.T) {
	hurt(t, "TestHostileTexts", func(*testing.T) map[string]hostileFile { return hostileTexts() })
}

// hurt sends each file to a service in a process of its own, this very program, and
// asks what it took: less than a second of a processor, and a peak of at most 256 MiB,
// with the client and the contract that are there too.
func hurt(t *testing.T, name string, files func(*testing.T) map[string]hostileFile) {
	const variable, media = "RECKONER_TEST_UPLOAD", "RECKONER_TEST_MEDIA"
	if path := os.Getenv(variable); path != "" {
		upload(t, path, os.Getenv(media))
		return
	}
	dir := t.TempDir()
	program, err := os.Executable()
	require.NoError(t, err)
	for what, h := range files(t) {
		path := filepath.Join(dir, "upload")
		require.NoError(t, os.WriteFile(path, []byte(h.file), 0o600))
		child := exec.Command(program, "-test.run=^"+name+"$", "-test.v")
		child.Env = append(os.Environ(), variable+"="+path, media+"="+h.media)
		out, err := child.CombinedOutput()
		require.NoError(t, err, "%s: %s", what, out)
		_, said, found := strings.Cut(string(out), "took ")
		require.True(t, found, "%s: %s", what, out)
		var spent, peak, status int
		_, err = fmt.Sscan(said, &spent, &peak, &status)
		require.NoError(t, err, "%s: %s", what, said)
		_, body, _ := strings.Cut(said, "said ")
		t.Logf("%-28s %8d bytes: %3d ms of a processor, peak %3d MiB: %.200s", what, len(h.file), spent, peak>>10, body)
		assert.Less(t, spent, 1000, what)
		assert.Less(t, peak, 256<<10, what)
		if h.status == 0 {
			h.status = http.StatusUnprocessableEntity
		}
		assert.Equal(t, h.status, status, what)
		assert.Contains(t, strings.ReplaceAll(body, `\"`, `"`), h.says, what)
	}
}

// upload sends a file and prints what that took and what came of it.
func upload(t *testing.T, path, media string) {
	text := file(t, path)
	start := processor(t)
	a := shared.ask(t, refused(submit(updates, text, "Content-Type: "+media)))
	spent := processor(t) - start
	_, peak, found := strings.Cut(file(t, "/proc/self/status"), "VmHWM:")
	require.True(t, found)
	fmt.Println("took", spent.Milliseconds(), strings.Fields(peak)[0], a.status, "said", string(a.body[:min(len(a.body), 1000)]))
}

// processor returns the time that this process has had of processors.
func processor(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
