package wire

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"
	"unicode/utf8"
)

// Limits of XML.
const (
	maxDepth      = 16
	maxAttributes = 64
	maxToken      = 256 << 10 // bytes of a tag, a text or a comment
)

// An xmlWalk goes over the elements of a part, once, and wants it well formed to
// the end.
type xmlWalk struct {
	part     string
	d        *xml.Decoder
	in       *bounded
	space    string // the namespace of the root element: what is of another is foreign
	depth    int
	elements int  // so far, and what else takes time
	values   int  // elements that are the value of a cell
	left     int  // of elements
	text     bool // the last token was a text
}

// bounded is the bytes of a part, of which each token may take so many.
type bounded struct {
	bytes.Reader
	left int
}

// ReadByte returns the next byte, if the token may have it.
func (b *bounded) ReadByte() (byte, error) {
	if b.left--; b.left < 0 {
		return 0, io.ErrShortBuffer
	}
	return b.Reader.ReadByte()
}

// walk goes over a part whose root element is called root, and has children handle
// what is in it.
func (p *parts) walk(part string, most int, root xml.Name, children func(*xmlWalk) error) error {
	b, err := p.bytes(part, most)
	if err != nil {
		return err
	}
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(b) {
		return damaged("the part %q is not UTF-8", excerpt(part))
	}
	in := new(bounded)
	in.Reset(b)
	w := &xmlWalk{part: part, d: xml.NewDecoder(in), in: in, left: maxWalk - p.elements}
	t, err := w.outside()
	if err != nil {
		return err
	}
	e, ok := t.(xml.StartElement)
	if !ok || e.Name.Local != root.Local || e.Name.Space != root.Space && e.Name.Space != strict(root.Space) {
		return w.wrong("does not begin as it should")
	}
	w.space = e.Name.Space
	if err := children(w); err != nil {
		return err
	}
	if t, err = w.outside(); err != nil {
		return err
	}
	if t != nil {
		return w.wrong("does not end as it should")
	}
	p.elements += w.elements
	return nil
}

// strict returns the other name that the namespace of workbooks has: a workbook of
// the strict kind differs in nothing else that is read here.
func strict(space string) string {
	if space == sheetSpace {
		return "http://purl.oclc.org/ooxml/spreadsheetml/main"
	}
	return space
}

// wrong says what is wrong with the part.
func (w *xmlWalk) wrong(what string) error {
	return damaged("the part %q %s", excerpt(w.part), what)
}

// outside returns the next element outside the root element, nil at the end.
func (w *xmlWalk) outside() (xml.Token, error) {
	for {
		t, err := w.token()
		if c, ok := t.(xml.CharData); ok && len(bytes.TrimSpace(c)) > 0 {
			return nil, w.wrong("has text outside its elements")
		}
		if _, ok := t.(xml.StartElement); ok || t == nil {
			return t, err
		}
	}
}

// token returns the next token, nil at the end of a part that was well formed.
func (w *xmlWalk) token() (xml.Token, error) {
	w.in.left = maxToken
	start := w.d.InputOffset()
	t, err := w.d.Token()
	switch {
	case err == io.EOF && w.depth == 0:
		return nil, nil
	case w.in.left < 0:
		return nil, w.wrong("has a text or a tag that is too long")
	case err != nil:
		return nil, w.wrong("is not well formed")
	}
	if err := w.check(t, start); err != nil {
		return nil, err
	}
	if w.elements-w.values > maxElement || w.elements > w.left {
		return nil, refusal("the workbook has too many cells and formats" + tooMuch)
	}
	return t, nil
}

// check counts a token that begins at a byte, and refuses what a part may not have.
func (w *xmlWalk) check(t xml.Token, start int64) error {
	afterText := w.text
	w.text = false
	switch t := t.(type) {
	case xml.StartElement:
		w.depth++
		w.elements++
		if w.depth > maxDepth {
			return w.wrong("is nested too deeply")
		}
		if !distinct(t.Attr) {
			return w.wrong("has an attribute twice, or too many")
		}
	case xml.EndElement:
		w.depth--
	case xml.CharData:
		w.text = true
		if afterText {
			w.elements++ // in pieces
		}
	case xml.Comment:
		w.elements++
	case xml.ProcInst:
		w.elements++
		if t.Target == "xml" && start != 0 {
			return w.wrong("begins twice")
		}
	case xml.Directive:
		return w.wrong("declares a document type")
	}
	return nil
}

// distinct reports whether attributes are few and none stands twice.
func distinct(attr []xml.Attr) bool {
	if len(attr) > maxAttributes {
		return false
	}
	for i, a := range attr {
		for _, b := range attr[:i] {
			if a.Name == b.Name {
				return false
			}
		}
	}
	return true
}

// each calls of for the elements within the current one, up to its end, and passes
// over what of leaves of them. The name of a foreign element is "?".
func (w *xmlWalk) each(of func(name string, attr []xml.Attr) error) error {
	for inside := w.depth; ; {
		t, err := w.token()
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.EndElement:
			return nil
		case xml.StartElement:
			if t.Name.Space != w.space {
				t.Name.Local = "?"
			}
			err = of(t.Name.Local, t.Attr)
			for err == nil && w.depth > inside {
				_, err = w.token()
			}
			if err != nil {
				return err
			}
		}
	}
}

// content returns the text of the current element, up to its end; there may be
// nothing else in it.
func (w *xmlWalk) content() (string, error) {
	var whole strings.Builder
	for {
		t, err := w.token()
		if err != nil {
			return "", err
		}
		switch t := t.(type) {
		case xml.EndElement:
			return whole.String(), nil
		case xml.CharData:
			whole.Write(t)
		case xml.StartElement:
			return "", w.wrong("has an element within a text")
		}
	}
}

// attribute returns the value of an attribute that is in no namespace; empty if it is
// not there.
func attribute(attr []xml.Attr, name string) string {
	for _, a := range attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return a.Value
		}
	}
	return ""
}

// truth returns the value of an attribute that is true or false.
func (w *xmlWalk) truth(attr []xml.Attr, name string) (bool, error) {
	switch strings.TrimSpace(attribute(attr, name)) {
	case "1", "true":
		return true, nil
	case "", "0", "false":
		return false, nil
	}
	return false, w.wrong("has an attribute that is neither true nor false")
}
