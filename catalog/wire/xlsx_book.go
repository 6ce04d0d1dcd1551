package wire

import (
	"encoding/xml"
	"maps"
	"path"
	"slices"
	"strings"
)

// The namespaces of the elements of a workbook.
const (
	sheetSpace = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	typesSpace = "http://schemas.openxmlformats.org/package/2006/content-types"
	linksSpace = "http://schemas.openxmlformats.org/package/2006/relationships"
)

// A workbook is what its cells need to be understood.
type workbook struct {
	visible []string // parts of the visible sheets that have cells
	texts   []string // that cells share
	formats []format // of the styles of cells
	of1904  bool     // days count from 1904-01-01
}

// book reads all of a workbook but its sheets.
func (p *parts) book() (*workbook, error) {
	if err := p.checkKind(); err != nil {
		return nil, err
	}
	main, err := p.links("")
	if err != nil {
		return nil, err
	}
	part, err := only(main, "officeDocument")
	if err != nil {
		return nil, err
	}
	links, err := p.links(part)
	if err != nil {
		return nil, err
	}
	b := new(workbook)
	if err := p.sheets(part, links, b); err != nil {
		return nil, err
	}
	if styles, err := only(links, "styles"); err != nil {
		return nil, err
	} else if styles != "" {
		if b.formats, err = p.styles(styles); err != nil {
			return nil, err
		}
	}
	texts, err := only(links, "sharedStrings")
	if err == nil && texts != "" {
		b.texts, err = p.texts(texts)
	}
	return b, err
}

// checkKind refuses what is no workbook or has more in it than values.
func (p *parts) checkKind() error {
	const types = "[Content_Types].xml"
	switch {
	case p.has(types):
	case p.has("content.xml") && p.has("mimetype"):
		return refusal("this is an OpenDocument file: open it and save it as .xlsx")
	default:
		return noBook
	}
	for _, name := range slices.Sorted(maps.Keys(p.byName)) {
		switch {
		case strings.Contains(name, "vbaproject") || strings.Contains(name, "/macrosheets/"):
			return hasMacros
		case strings.Contains(name, "/externallinks/"):
			return hasLinks
		}
	}
	kinds, err := p.types(types)
	if err != nil {
		return err
	}
	switch {
	case strings.Contains(kinds, "sheet.binary"):
		return refusal("this is a binary workbook (.xlsb): open it and save it as .xlsx")
	case strings.Contains(kinds, "macro") || strings.Contains(kinds, "vbaproject"):
		return hasMacros
	case strings.Contains(kinds, "externallink"):
		return hasLinks
	case strings.Contains(kinds, "spreadsheetml.sheet.main+xml"), strings.Contains(kinds, "spreadsheetml.template.main+xml"):
		return nil
	}
	return noBook
}

// types returns the types of all parts in small letters, one a line.
func (p *parts) types(part string) (string, error) {
	var all strings.Builder
	err := p.walk(part, maxOther, xml.Name{Space: typesSpace, Local: "Types"}, func(w *xmlWalk) error {
		return w.each(func(_ string, attr []xml.Attr) error {
			all.WriteString(strings.ToLower(attribute(attr, "ContentType")) + "\n")
			return nil
		})
	})
	return all.String(), err
}

// A link is how a part names another.
type link struct {
	id, kind, part string
}

// links returns the links of a part, or of the archive to its main part.
func (p *parts) links(part string) (all []link, err error) {
	dir, base := path.Split(part)
	err = p.walk(dir+"_rels/"+base+".rels", maxOther, xml.Name{Space: linksSpace, Local: "Relationships"}, func(w *xmlWalk) error {
		return w.each(func(_ string, attr []xml.Attr) error {
			l := link{id: attribute(attr, "Id"), kind: path.Base(attribute(attr, "Type"))}
			if attribute(attr, "TargetMode") == "" || attribute(attr, "TargetMode") == "Internal" {
				l.part = strings.TrimPrefix(path.Join("/", dir, attribute(attr, "Target")), "/")
				if target, ok := strings.CutPrefix(attribute(attr, "Target"), "/"); ok {
					l.part = target
				}
			}
			switch strings.ToLower(l.kind) {
			case "vbaproject", "xlmacrosheet", "xlintlmacrosheet":
				return hasMacros
			case "externallink", "externallinkpath":
				return hasLinks
			}
			all = append(all, l)
			return nil
		})
	})
	return all, err
}

// only returns the part of the one link of a kind, nothing if there is none; the
// main part must be there.
func only(links []link, kind string) (part string, err error) {
	for _, l := range links {
		if l.kind != kind {
			continue
		}
		if part != "" || l.part == "" {
			return "", damaged("it does not say which %s it has", kind)
		}
		part = l.part
	}
	if part == "" && kind == "officeDocument" {
		return "", damaged("it does not say what it holds")
	}
	return part, nil
}

// sheets reads which sheets can be seen and how days count.
func (p *parts) sheets(part string, links []link, b *workbook) error {
	return p.walk(part, maxOther, xml.Name{Space: sheetSpace, Local: "workbook"}, func(w *xmlWalk) error {
		return w.each(func(name string, attr []xml.Attr) (err error) {
			switch name {
			case "workbookPr":
				b.of1904, err = w.truth(attr, "date1904")
			case "externalReferences":
				err = hasLinks
			case "sheets":
				err = w.each(func(_ string, attr []xml.Attr) error { return b.sheet(w, links, attr) })
			}
			return err
		})
	})
}

// sheet adds a sheet, if it can be seen and has cells.
func (b *workbook) sheet(w *xmlWalk, links []link, attr []xml.Attr) error {
	id := ""
	for _, a := range attr {
		if a.Name.Local == "id" && a.Name.Space != "" {
			id = a.Value
		}
	}
	var found []link
	for _, l := range links {
		if l.id == id {
			found = append(found, l)
		}
	}
	if len(found) != 1 || found[0].part == "" {
		return w.wrong("has a sheet that is not there")
	}
	switch found[0].kind {
	case "worksheet":
	case "chartsheet", "dialogsheet":
		return nil
	default:
		return w.wrong("has a sheet of an unknown kind")
	}
	switch attribute(attr, "state") {
	case "", "visible":
		b.visible = append(b.visible, found[0].part)
	case "hidden", "veryHidden":
	default:
		return w.wrong("has a sheet that is neither visible nor hidden")
	}
	return nil
}
