package wire

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"strings"
)

// Limits of a workbook, in bytes but for maxParts. Those of parts are for parts that
// are read, unpacked; most parts of a workbook (themes, pictures) are not.
const (
	maxBook    = 8 << 20
	maxParts   = 200
	maxSheet   = 8 << 20 // of sheets, and of the texts that they share
	maxStyles  = 1 << 20
	maxOther   = 256 << 10
	maxRead    = 16 << 20 // of all together
	maxRatio   = 200      // times as large as packed
	freeOfIt   = 64 << 10 // up to which the ratio does not matter
	maxElement = 400_000  // elements of a part, besides the values of cells
	maxWalk    = 700_000  // of all together, with them
)

// parts is a workbook as the archive that it is.
type parts struct {
	file     []byte
	byName   map[string]*zip.File // by name in small letters, as names count
	read     map[string]bool
	size     int // bytes unpacked
	elements int // elements walked over
}

// unpack opens an archive without unpacking anything.
func unpack(b []byte) (*parts, error) {
	if len(b) > maxBook {
		return nil, refusal("the file has more than 8 MiB" + tooMuch)
	}
	if bytes.HasPrefix(b, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")) { // a compound file
		if bytes.Contains(b, []byte("E\x00n\x00c\x00r\x00y\x00p\x00t\x00e\x00d\x00P\x00a\x00c\x00k\x00a\x00g\x00e\x00")) {
			return nil, locked
		}
		return nil, refusal("this is a file of the old kind (.xls): open it and save it as .xlsx")
	}
	if !bytes.HasPrefix(b, []byte("PK\x03\x04")) {
		return nil, noBook
	}
	if err := checkDirectory(b); err != nil {
		return nil, err
	}
	r, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return nil, damaged("its list of parts cannot be read")
	}
	if len(r.File) > maxParts {
		return nil, refusal(fmt.Sprintf("the workbook has more than %d parts", maxParts) + tooMuch)
	}
	p := &parts{file: b, byName: make(map[string]*zip.File), read: make(map[string]bool)}
	for _, f := range r.File {
		name := strings.ToLower(f.Name)
		folder, isFolder := strings.CutSuffix(f.Name, "/")
		switch {
		case isFolder && cleanName(folder):
			continue // some archivers list them; what is in them is not read
		case !cleanName(f.Name):
			return nil, damaged("a part is named %q", excerpt(f.Name))
		case p.byName[name] != nil:
			return nil, damaged("the part %q stands twice", excerpt(f.Name))
		case f.Flags&0x2041 != 0: // encrypted in one of three ways
			return nil, locked
		}
		p.byName[name] = f
	}
	return p, nil
}

// checkDirectory asks that the list of parts ends where the file does, so that a
// part that is itself an archive cannot stand for a file that was cut off, and that
// it is no longer than one of maxParts may be.
func checkDirectory(b []byte) error {
	const end, end64, most = 22, 76, 256 << 10
	at := len(b) - end
	if at < 0 || !bytes.HasPrefix(b[at:], []byte("PK\x05\x06")) || b[at+20] != 0 || b[at+21] != 0 {
		return damaged("its end is missing")
	}
	size, from := uint64(binary.LittleEndian.Uint32(b[at+12:])), uint64(binary.LittleEndian.Uint32(b[at+16:]))
	if at > end64 && bytes.HasPrefix(b[at-20:], []byte("PK\x06\x07")) { // as for large archives
		at -= end64
		size, from = binary.LittleEndian.Uint64(b[at+40:]), binary.LittleEndian.Uint64(b[at+48:])
	}
	switch {
	case size > uint64(at) || from != uint64(at)-size:
		return damaged("its list of parts is not where it should be")
	case size > most:
		return refusal(fmt.Sprintf("the workbook has more than %d parts", maxParts) + tooMuch)
	}
	return nil
}

// cleanName reports whether a name is a path within the archive and no other way to
// write one.
func cleanName(name string) bool {
	return fs.ValidPath(name) && name != "." && !strings.ContainsFunc(name, func(r rune) bool {
		return r < ' ' || r == 0x7f || r == '\\' || r == ':'
	})
}

// has reports whether there is a part.
func (p *parts) has(name string) bool { return p.byName[strings.ToLower(name)] != nil }

// bytes unpacks a part of at most so many bytes; each is unpacked once.
func (p *parts) bytes(name string, most int) ([]byte, error) {
	key := strings.ToLower(name)
	f := p.byName[key]
	switch {
	case f == nil:
		return nil, damaged("the part %q is missing", excerpt(name))
	case p.read[key]:
		return nil, damaged("the part %q stands for two", excerpt(name))
	}
	p.read[key] = true
	most = min(most, maxRead-p.size)
	b, err := p.inflate(f, most)
	p.size += len(b)
	return b, err
}

// inflate unpacks a part; what the archive says of its size is only compared with
// what comes out.
func (p *parts) inflate(f *zip.File, most int) ([]byte, error) {
	at, err := f.DataOffset()
	if err != nil || at > int64(len(p.file)) || f.CompressedSize64 > uint64(int64(len(p.file))-at) {
		return nil, damaged("the part %q is cut off", excerpt(f.Name))
	}
	packed := bytes.NewReader(p.file[at : at+int64(f.CompressedSize64)])
	var r io.Reader = packed
	switch f.Method {
	case zip.Store:
	case zip.Deflate:
		r = flate.NewReader(packed)
	default:
		return nil, damaged("the part %q is packed in an unknown way", excerpt(f.Name))
	}
	var out bytes.Buffer
	out.Grow(int(min(f.UncompressedSize64, uint64(most))))
	for {
		_, err := io.CopyN(&out, r, freeOfIt)
		consumed := int(packed.Size()) - packed.Len()
		switch {
		case out.Len() > most:
			return nil, refusal(fmt.Sprintf("the part %q of the workbook is too large", excerpt(f.Name)) + tooMuch)
		case out.Len() > freeOfIt && out.Len() > maxRatio*consumed:
			return nil, refusal(fmt.Sprintf("the part %q of the workbook is mostly empty", excerpt(f.Name)) + tooMuch)
		case err == io.EOF:
			if uint64(out.Len()) != f.UncompressedSize64 || crc32.ChecksumIEEE(out.Bytes()) != f.CRC32 || packed.Len() > 0 {
				return nil, damaged("the part %q has changed", excerpt(f.Name))
			}
			return out.Bytes(), nil
		case err != nil:
			return nil, damaged("the part %q cannot be unpacked", excerpt(f.Name))
		}
	}
}
