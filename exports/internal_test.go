package exports

// SketchTexts returns what is written in the picture of a piece on a quotation.
func SketchTexts(p *Paper, i int) []string {
	d, _ := p.sketch(i)
	var texts []string
	for _, s := range d.shapes {
		if l, ok := s.(label); ok {
			texts = append(texts, l.text)
		}
	}
	return texts
}
