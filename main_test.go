package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// imports says which packages of the program each may import; "pricing/..." is
// every package of the core. A package that is not here may import none.
var imports = map[string][]string{
	"reckoner":                         {"api", "catalog", "catalog/quotes", "catalog/store", "catalog/wire", "exports", "pricing/..."},
	"reckoner/api":                     {"catalog", "catalog/quotes", "catalog/store", "catalog/wire", "exports", "pricing/..."},
	"reckoner/catalog":                 {"catalog/store", "catalog/wire", "pricing/..."},
	"reckoner/catalog/quotes":          {"catalog", "catalog/store", "catalog/wire", "pricing/..."},
	"reckoner/catalog/store":           {"migrations"},
	"reckoner/catalog/store/storetest": {"catalog/store"},
	"reckoner/catalog/wire":            {"pricing/..."},
	"reckoner/migrations":              {},
	"reckoner/exports":                 {"pricing/..."},
	"reckoner/pricing":                 {"pricing/book", "pricing/piece", "pricing/cutting", "pricing/measure", "pricing/num", "pricing/unit", "pricing/date", "pricing/fault"},
	"reckoner/pricing/book":            {"pricing/measure", "pricing/num", "pricing/unit", "pricing/date", "pricing/fault"},
	"reckoner/pricing/piece":           {"pricing/measure", "pricing/num", "pricing/unit", "pricing/date", "pricing/fault"},
	"reckoner/pricing/cutting":         {"pricing/num", "pricing/unit"},
	"reckoner/pricing/measure":         {"pricing/num", "pricing/unit"},
	"reckoner/pricing/unit":            {"pricing/num"},
	"reckoner/pricing/num":             {},
	"reckoner/pricing/date":            {},
	"reckoner/pricing/fault":           {},
}

// outsiders says which modules of others a package may import. Those of the core
// may import none.
var outsiders = map[string][]string{
	"reckoner":                {"github.com/alecthomas/kong"},
	"reckoner/api":            {"github.com/labstack/echo/v4", "github.com/elnormous/contenttype", "golang.org/x/net"},
	"reckoner/catalog":        {"gorm.io/gorm"},
	"reckoner/catalog/quotes": {"gorm.io/gorm", "golang.org/x/text"},
	"reckoner/catalog/store":  {"gorm.io/gorm", "gorm.io/driver/sqlite", "github.com/mattn/go-sqlite3", "github.com/pressly/goose/v3", "github.com/gofrs/flock"},
	"reckoner/catalog/wire":   {"github.com/go-json-experiment/json"},
	"reckoner/exports":        {"github.com/xuri/excelize/v2", "golang.org/x/image"},
}

func TestImportsPointInwards(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "./...").Output()
	require.NoError(t, err)
	for line := range strings.Lines(string(out)) {
		words := strings.Fields(line)
		pkg := words[0]
		allowed, known := imports[pkg]
		assert.True(t, known, "%s is no package of the design", pkg)
		for _, imported := range words[1:] {
			if inside, ok := strings.CutPrefix(imported, "reckoner/"); ok {
				core := strings.HasPrefix(inside, "pricing")
				assert.True(t, slices.Contains(allowed, inside) || core && slices.Contains(allowed, "pricing/..."), "%s imports %s", pkg, imported)
				continue
			}
			if first, _, _ := strings.Cut(imported, "/"); strings.Contains(first, ".") {
				assert.True(t, slices.ContainsFunc(outsiders[pkg], func(m string) bool { return imported == m || strings.HasPrefix(imported, m+"/") }),
					"%s imports %s", pkg, imported)
			}
		}
	}
}

func TestTheCoreIsPure(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "./pricing/...").Output()
	require.NoError(t, err)
	for _, impure := range []string{"os", "io", "log", "log/slog", "net/http", "database/sql", "context", "math/rand"} {
		for line := range strings.Lines(string(out)) {
			words := strings.Fields(line)
			assert.NotContains(t, words[1:], impure, "%s", words[0])
		}
	}
	require.NoError(t, filepath.WalkDir("pricing", func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			if id, ok := n.(*ast.Ident); ok {
				assert.NotContains(t, []string{"float64", "float32", "Now"}, id.Name, path)
			}
			return true
		})
		return nil
	}))
}

func TestTopLevelIsAsDesigned(t *testing.T) {
	out, err := exec.Command("git", "ls-files").Output()
	require.NoError(t, err)
	top := []string{"api", "pricing", "catalog", "exports", "migrations", "testdata", "openapi.yaml", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE"}
	for line := range strings.Lines(string(out)) {
		first, _, nested := strings.Cut(strings.TrimSpace(line), "/")
		ofMain := !nested && strings.HasSuffix(first, ".go")
		assert.True(t, slices.Contains(top, first) || ofMain || strings.HasPrefix(first, "."), "%s stands at the top", first)
	}
}
