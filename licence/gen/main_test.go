package main

import (
	"bytes"
	"os"
	"slices"
	"testing"

	"lowtide/licence"
)

// TestFresh: the committed list is what the modules say that are linked in now, on every system.
func TestFresh(t *testing.T) {
	got, err := os.ReadFile("../parts.json")
	if err != nil {
		t.Fatal(err)
	}
	want, err := document()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("licence/parts.json is old: go generate ./licence")
	}
}

// TestLicences: every part has a licence that is known and lets the program be given on with a notice only. Files that
// are something else were read: each is named here with what it says.
func TestLicences(t *testing.T) {
	permissive := []string{"Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "GooglePatentsFile", "ISC", "MIT"}
	read := map[string]string{
		"github.com/go-fonts/dejavu LICENSE-DejaVu": "the typeface's own: free to use and give on under its name",
		"modernc.org/libc LICENSE-3RD-PARTY.md":     "the C library's parts: MIT and BSD",
		"modernc.org/memory LICENSE-LOGO":           "a picture of the project, which is not linked in",
		"modernc.org/sqlite LICENSE-3RD-PARTY.md":   "parts of the database: public domain, MIT and BSD",
		"modernc.org/sqlite LICENSE-SQLITE":         "the database: public domain",
	}
	for _, p := range licence.Parts().Parts {
		if len(p.SPDX()) == 0 {
			t.Errorf("%s has no licence that is known", p.Name)
		}
		for _, f := range p.Files {
			if len(f.Licences) == 0 && read[p.Name+" "+f.Path] == "" {
				t.Errorf("%s, %s is no known licence: read it", p.Name, f.Path)
			}
			delete(read, p.Name+" "+f.Path)
			for _, l := range f.Licences {
				if !slices.Contains(permissive, l) {
					t.Errorf("%s, %s is under %s", p.Name, f.Path, l)
				}
			}
		}
	}
	for name := range read {
		t.Errorf("%s is not there any more", name)
	}
}
