package main

import (
	"go/ast"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestWalks: every package that docs/walks.md names is one of the import table, each file that a step names is in a package of
// that step, and each name of a package is written there.
func TestWalks(t *testing.T) {
	raw, err := os.ReadFile("docs/walks.md")
	if err != nil {
		t.Fatal(err)
	}
	quoted, step := regexp.MustCompile("`([^`]+)`"), regexp.MustCompile(`^\d+\. `)
	steps := 0
	for _, line := range strings.Split(string(raw), "\n") {
		if !step.MatchString(line) {
			continue
		}
		steps++
		var in []string
		var names []string
		for _, m := range quoted.FindAllStringSubmatch(line, -1) {
			word := m[1]
			pkg, name, dotted := strings.Cut(word, ".")
			switch _, known := mayImport[word]; {
			case known:
				in = append(in, word)
			case dotted && name == "go":
				names = append(names, word)
			case dotted && mayImport[pkg] != "" && ast.IsExported(name):
				in, names = append(in, pkg), append(names, name)
			case !strings.ContainsAny(word, ".*"):
				names = append(names, word)
			}
		}
		if len(in) == 0 {
			t.Errorf("no package: %s", line)
		}
		for _, name := range names {
			if !inPackages(t, in, name) {
				t.Errorf("%v has no %s: %s", in, name, line)
			}
		}
	}
	if steps < 10 {
		t.Errorf("%d steps", steps)
	}
}

// inPackages tells whether one of the packages has a file of the name, or a function or type.
func inPackages(t *testing.T, packages []string, name string) bool {
	t.Helper()
	made := regexp.MustCompile(`(?m)^(func (\([^)]*\) )?|type )` + regexp.QuoteMeta(name) + `\b`)
	for _, p := range packages {
		files, err := filepath.Glob(filepath.Join(p, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			if filepath.Base(file) == name {
				return true
			}
			if !strings.HasSuffix(name, ".go") {
				raw, err := os.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				if made.Match(raw) {
					return true
				}
			}
		}
	}
	return false
}
