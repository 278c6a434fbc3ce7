package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestASVS: every test and file that docs/asvs.md names is there.
func TestASVS(t *testing.T) {
	page, err := os.ReadFile("docs/asvs.md")
	if err != nil {
		t.Fatal(err)
	}
	have := map[string]bool{}
	err = filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git"):
			return filepath.SkipDir
		case strings.HasSuffix(path, "_test.go"):
			raw, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for _, m := range regexp.MustCompile(`(?m)^func (Test\w+)\(`).FindAllStringSubmatch(string(raw), -1) {
				have[m[1]] = true
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, name := range regexp.MustCompile(`\bTest[A-Z]\w+`).FindAllString(string(page), -1) {
		n++
		if !have[name] {
			t.Errorf("docs/asvs.md names %s, which is not there", name)
		}
	}
	for _, path := range regexp.MustCompile(`docs/[\w/.-]+\.md|web/\w+\.go`).FindAllString(string(page), -1) {
		if _, err := os.Stat(path); err != nil {
			t.Errorf("docs/asvs.md names %s: %v", path, err)
		}
	}
	if n < 50 {
		t.Errorf("%d tests are named", n)
	}
}
