package main

import (
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"
)

// showing packages take a state or a review, and neither open a case nor run a model. What still opens one is listed, by
// file: take a file out of the list as soon as it does not.
var showing = map[string]string{
	"chart":       "",
	"wording":     "",
	"report":      "",
	"report/csv":  "",
	"report/fhir": "",
	"report/pdf":  "",
	// Forms write entries, and need the case that they are written into; the Case page and the log are read from it still.
	"web/page": "asked.go body.go canister.go case.go case_first.go case_parts.go case_start.go case_supplies.go correction.go decision.go edge.go entry_form.go entry_payer.go finding.go form_counts.go log.go menu.go outline.go photo.go pumplog.go saved.go signoff.go start.go take_over.go used.go visit.go visit_same.go wound.go",
}

// TestShowersOpenNoCase: nothing in a showing package has the type of a case, whether it was handed one, reads it from a
// state, or names the type.
func TestShowersOpenNoCase(t *testing.T) {
	var args []string
	for name := range showing {
		args = append(args, "./"+name)
	}
	export := map[string]string{}
	var packages []listed
	for _, p := range list(t, append([]string{"-export", "-deps"}, args...)...) {
		export[p.ImportPath] = p.Export
		if _, ok := showing[short(p.ImportPath)]; ok {
			packages = append(packages, p)
		}
	}
	for _, p := range packages {
		left := map[string]bool{}
		for _, f := range strings.Fields(showing[short(p.ImportPath)]) {
			left[f] = true
		}
		opened := casesOpened(t, p, export)
		for file, at := range opened {
			if !left[file] {
				t.Errorf("%s opens a case: %s", short(p.ImportPath), at)
			}
			delete(left, file)
		}
		for file := range left {
			t.Errorf("%s/%s opens no case any more: take it out of the list", short(p.ImportPath), file)
		}
	}
}

// casesOpened gives, by file, the first place where an expression is a case.
func casesOpened(t *testing.T, p listed, export map[string]string) map[string]string {
	t.Helper()
	fset := token.NewFileSet()
	var files []*ast.File
	for _, name := range p.GoFiles {
		f, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}}
	conf := types.Config{Importer: importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(export[path]) })}
	if _, err := conf.Check(p.ImportPath, fset, files, info); err != nil {
		t.Fatal(err)
	}
	var at []token.Position
	for e, tv := range info.Types {
		if isCase(tv.Type) {
			at = append(at, fset.Position(e.Pos()))
		}
	}
	for id, o := range info.Uses {
		if _, ok := o.(*types.TypeName); ok && isCase(o.Type()) {
			at = append(at, fset.Position(id.Pos()))
		}
	}
	sort.Slice(at, func(i, j int) bool {
		return at[i].Filename < at[j].Filename || at[i].Filename == at[j].Filename && at[i].Offset < at[j].Offset
	})
	out := map[string]string{}
	for _, x := range at {
		if file := filepath.Base(x.Filename); out[file] == "" {
			out[file] = x.String()
		}
	}
	return out
}

// isCase tells whether a type is a case or a pointer to one.
func isCase(t types.Type) bool {
	if p, ok := t.(*types.Pointer); ok {
		t = p.Elem()
	}
	n, ok := t.(*types.Named)
	return ok && n.Obj().Name() == "Case" && n.Obj().Pkg() != nil && n.Obj().Pkg().Path() == "lowtide/casebook"
}
