package main

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"
)

//go:embed testdata/pieces/*.json
var demos embed.FS

// An exampleCmd prints a demo request.
type exampleCmd struct {
	Kind string `arg:"" enum:"chest,drawer_boxes,parts,service" help:"chest, drawer_boxes, parts or service."`
}

// Run prints the demo of that kind.
func (c *exampleCmd) Run(p process) error {
	name := map[string]string{"chest": "tall-chest", "drawer_boxes": "drawer-boxes", "parts": "free-parts", "service": "full-quotation"}[c.Kind]
	text, err := fs.ReadFile(demos, "testdata/pieces/"+name+".json")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(p.out, strings.TrimSpace(string(text)))
	return err
}
