package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestShortIsListed: docs/tests.md names every test that does less, or nothing, in a short run, and no other.
func TestShortIsListed(t *testing.T) {
	var found []string
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && path != "." && (strings.HasPrefix(d.Name(), ".") || strings.HasPrefix(d.Name(), "_") || d.Name() == "node_modules" || d.Name() == "tmp") {
			if d != nil && d.IsDir() {
				return fs.SkipDir
			}
			return err
		}
		if !strings.HasSuffix(path, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, decl := range f.Decls {
			fun, ok := decl.(*ast.FuncDecl)
			if !ok {
				continue
			}
			ast.Inspect(fun, func(n ast.Node) bool {
				if s, ok := n.(*ast.SelectorExpr); ok && s.Sel.Name == "Short" {
					if x, ok := s.X.(*ast.Ident); ok && x.Name == "testing" {
						found = append(found, filepath.ToSlash(filepath.Dir(path))+" "+fun.Name.Name)
					}
				}
				return true
			})
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile("docs/tests.md")
	if err != nil {
		t.Fatal(err)
	}
	var listed []string
	for _, m := range regexp.MustCompile(`(?m)^\| (\S+) \| (Test\w+) \|`).FindAllStringSubmatch(string(raw), -1) {
		listed = append(listed, m[1]+" "+m[2])
	}
	slices.Sort(found)
	slices.Sort(listed)
	if found = slices.Compact(found); !slices.Equal(found, listed) {
		t.Errorf("in the code:\n%s\nin docs/tests.md:\n%s", strings.Join(found, "\n"), strings.Join(listed, "\n"))
	}
}
