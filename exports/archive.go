package exports

import (
	"archive/zip"
	"bytes"
	"cmp"
	"compress/flate"
	"encoding/xml"
	"errors"
	"io"
	"io/fs"
	"maps"
	"path"
	"slices"
	"sync"

	"github.com/xuri/excelize/v2"
)

// An archive is a zip whose entries are in the order of their names and carry no
// date, so that the same workbook is the same bytes.
type archive struct {
	to      io.Writer
	entries map[string]*bytes.Buffer
}

const contentTypesName = "[Content_Types].xml"

// newArchive has the shape that excelize's SetZipWriter asks for.
func newArchive(w io.Writer) excelize.ZipWriter {
	return &archive{to: w, entries: make(map[string]*bytes.Buffer)}
}

// Create returns where to write the entry of that name.
func (a *archive) Create(name string) (io.Writer, error) {
	a.entries[name] = new(bytes.Buffer)
	return a.entries[name], nil
}

// AddFS is part of excelize.ZipWriter; no workbook needs it.
func (a *archive) AddFS(fs.FS) error { return errors.ErrUnsupported }

// Close writes the archive.
func (a *archive) Close() error {
	if types, ok := a.entries[contentTypesName]; ok {
		sorted, err := sortedTypes(types.Bytes())
		if err != nil {
			return err
		}
		a.entries[contentTypesName] = bytes.NewBuffer(sorted)
	}
	z := zip.NewWriter(a.to)
	z.RegisterCompressor(zip.Deflate, newCompressor)
	for _, name := range slices.Sorted(maps.Keys(a.entries)) {
		method := zip.Deflate
		if path.Ext(name) == ".png" {
			method = zip.Store
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method})
		if err != nil {
			return err
		}
		if _, err := w.Write(a.entries[name].Bytes()); err != nil {
			return err
		}
	}
	return z.Close()
}

// compressors are kept from one archive to the next, for each takes a megabyte.
var compressors sync.Pool

// A compressor goes back to the others when it is closed.
type compressor struct{ *flate.Writer }

// newCompressor has the shape that a zip asks for. Its level makes files a tenth
// larger than the usual one, in half the time.
func newCompressor(w io.Writer) (io.WriteCloser, error) {
	if c, ok := compressors.Get().(compressor); ok {
		c.Reset(w)
		return c, nil
	}
	f, err := flate.NewWriter(w, 3)
	return compressor{f}, err
}

// Close completes the compressed text.
func (c compressor) Close() error {
	err := c.Writer.Close()
	compressors.Put(c)
	return err
}

// contentTypes is the list of what the parts of a workbook are.
type contentTypes struct {
	XMLName   xml.Name      `xml:"http://schemas.openxmlformats.org/package/2006/content-types Types"`
	Defaults  []contentType `xml:"Default"`
	Overrides []contentType `xml:"Override"`
}

type contentType struct {
	Extension   string `xml:"Extension,attr,omitempty"`
	PartName    string `xml:"PartName,attr,omitempty"`
	ContentType string `xml:"ContentType,attr"`
}

// sortedTypes returns the list with its members in a fixed order.
func sortedTypes(text []byte) ([]byte, error) {
	var t contentTypes
	if err := xml.Unmarshal(text, &t); err != nil {
		return nil, err
	}
	for _, list := range [][]contentType{t.Defaults, t.Overrides} {
		slices.SortFunc(list, func(a, b contentType) int {
			return cmp.Or(cmp.Compare(a.Extension, b.Extension), cmp.Compare(a.PartName, b.PartName), cmp.Compare(a.ContentType, b.ContentType))
		})
	}
	out, err := xml.Marshal(t)
	return append([]byte(xml.Header), out...), err
}
