package wire

import (
	"encoding/xml"
	"slices"
	"strconv"
	"strings"
)

// A format is what a number in a cell stands for.
type format byte

const (
	plain format = iota
	day
	clock // a time of day or a span of time, without a date
)

// styles returns the formats of the styles of cells, by number.
func (p *parts) styles(part string) (formats []format, err error) {
	own := make(map[int]format)
	var ids []int
	err = p.walk(part, maxStyles, xml.Name{Space: sheetSpace, Local: "styleSheet"}, func(w *xmlWalk) error {
		return w.each(func(name string, _ []xml.Attr) error {
			switch name {
			case "numFmts":
				return w.each(func(_ string, attr []xml.Attr) error {
					id, err := w.natural(attribute(attr, "numFmtId"))
					f := formatOf(attribute(attr, "formatCode"))
					if before, ok := own[id]; ok && before != f {
						return w.wrong("has a format twice")
					}
					own[id] = f
					return err
				})
			case "cellXfs":
				return w.each(func(_ string, attr []xml.Attr) error {
					id, err := w.natural(attribute(attr, "numFmtId"))
					ids = append(ids, id)
					return err
				})
			}
			return nil
		})
	})
	for _, id := range ids {
		f, ok := own[id]
		if !ok {
			f = builtIn(id)
		}
		formats = append(formats, f)
	}
	return formats, err
}

// natural reads a number from 0; 0 if there is none.
func (w *xmlWalk) natural(s string) (int, error) {
	if s == "" {
		return 0, nil
	}
	n, err := strconv.ParseUint(s, 10, 31)
	if err != nil {
		return 0, w.wrong("has a number that is none")
	}
	return int(n), nil
}

// builtIn returns the format of a number that needs no code: ECMA-376 part 1,
// 18.8.30, with those of East Asia.
func builtIn(id int) format {
	switch {
	case id >= 14 && id <= 17, id == 22, id >= 27 && id <= 31, id == 36, id >= 50 && id <= 58:
		return day
	case id >= 18 && id <= 21, id >= 32 && id <= 35, id >= 45 && id <= 47:
		return clock
	}
	return plain
}

// formatOf returns what a format code shows of a number from 0: a year or a day
// makes a date, and so does a month, whose letter is that of minutes too. What shows
// digits is none.
func formatOf(code string) format {
	code, _, _ = strings.Cut(unquoted(strings.ToLower(code)), ";") // what follows is of other numbers
	code = strings.NewReplacer("general", "", "e+", "0", "e-", "0", "s.000", "s", "s.00", "s", "s.0", "s").Replace(code)
	switch {
	case strings.ContainsAny(code, "0#?"):
	case strings.ContainsAny(code, "ydeb"): // e and b are years of other calendars
		return day
	case strings.ContainsAny(code, "hs"):
		return clock
	case strings.Contains(code, "m"):
		return day
	}
	return plain
}

// unquoted returns a format code without what is shown as it stands, and without
// what is in brackets but for spans of time.
func unquoted(code string) string {
	var b strings.Builder
	for i := 0; i < len(code); i++ {
		closing := code[i]
		switch code[i] {
		case '\\', '_', '*':
			i++
			continue
		case '[':
			closing = ']'
		case '"':
		default:
			b.WriteByte(code[i])
			continue
		}
		inside, _, _ := strings.Cut(code[i+1:], string(closing))
		if closing == ']' && inside != "" && strings.Trim(inside, "hms") == "" {
			b.WriteByte('s') // a span, whatever its unit
		}
		i += len(inside) + 1
	}
	return b.String()
}

// texts returns the texts that cells share, by number.
func (p *parts) texts(part string) (all []string, err error) {
	err = p.walk(part, maxSheet, xml.Name{Space: sheetSpace, Local: "sst"}, func(w *xmlWalk) error {
		return w.each(func(name string, _ []xml.Attr) error {
			if name != "si" {
				return nil
			}
			s, err := w.richText()
			all = append(all, s)
			return err
		})
	})
	return all, err
}

// richText returns the text of the current element: its own or that of its runs,
// without what says how to pronounce it, and without white space around it.
func (w *xmlWalk) richText() (string, error) {
	var runs []string
	text := func() error {
		s, err := w.content()
		runs = append(runs, s)
		return err
	}
	err := w.each(func(name string, _ []xml.Attr) error {
		switch name {
		case "t":
			return text()
		case "r":
			return w.each(func(name string, _ []xml.Attr) error {
				if name == "t" {
					return text()
				}
				return nil
			})
		}
		return nil
	})
	return strings.TrimSpace(unescaped(strings.Join(runs, ""))), err
}

// unescaped returns a text with the characters that stand in it as _x000D_.
func unescaped(s string) string {
	const length = len("_x000D_")
	at := strings.Index(s, "_x")
	if at < 0 {
		return s
	}
	b := slices.Clone([]byte(s[:at]))
	for s = s[at:]; s != ""; {
		if len(s) >= length && strings.HasPrefix(s, "_x") && s[length-1] == '_' {
			n, err := strconv.ParseUint(s[2:length-1], 16, 16)
			if err == nil && (n < 0xd800 || n > 0xdfff) {
				b = append(b, string(rune(n))...)
				s = s[length:]
				continue
			}
		}
		b = append(b, s[0])
		s = s[1:]
	}
	return string(b)
}
