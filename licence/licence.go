// Package licence holds the licences of the parts of others that are linked into the program, for everybody who gets
// it. The list is made from the source of the modules by licence/gen, for every system that is released.
package licence

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
)

//go:generate go run ./gen

//go:embed parts.json
var raw []byte

// Targets are the systems that the program is released for, as GOOS/GOARCH.
var Targets = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64", "windows/arm64"}

// Standard is the name of the part that Go itself is: its library and what it links into each program.
const Standard = "Go"

// List is all parts and their texts.
type List struct {
	Parts []Part `json:"parts"`
	// Texts are the texts by their short hash, as lines. Parts share them.
	Texts map[string][]string `json:"texts"`
}

// Part is one module, or Go itself.
type Part struct {
	Name string `json:"name"`
	// Version is that of the module; Go's is empty, because it is that of the compiler at hand.
	Version string `json:"version,omitempty"`
	Files   []File `json:"files"`
}

// File is one file with a licence in a part.
type File struct {
	Path string `json:"path"`
	// Licences are the SPDX identifiers of what its text is, by comparison with the known texts; empty when it is none
	// of these in full.
	Licences []string `json:"licences,omitempty"`
	Text     string   `json:"text"`
}

// Parts is the committed list. It panics when that cannot be read: the tests read it.
func Parts() List {
	var l List
	if err := json.Unmarshal(raw, &l); err != nil {
		panic("licence: " + err.Error())
	}
	return l
}

// Of is the part of this name and version; its name is empty when the list has none.
func (l List) Of(name, version string) Part {
	i := slices.IndexFunc(l.Parts, func(p Part) bool { return p.Name == name && p.Version == version })
	if i < 0 {
		return Part{}
	}
	return l.Parts[i]
}

// SPDX are the identifiers of a part's files, each once, in order.
func (p Part) SPDX() []string {
	var all []string
	for _, f := range p.Files {
		all = append(all, f.Licences...)
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// kinds are the identifiers, and the files that have words of their own.
func (p Part) kinds() []string {
	all := p.SPDX()
	for _, f := range p.Files {
		if len(f.Licences) == 0 {
			all = append(all, "the words of "+f.Path)
		}
	}
	return all
}

// Write prints every part with the files it came with, then each text once, headed by the files that it is the text of.
func (l List) Write(w io.Writer) error {
	var err error
	say := func(format string, args ...any) {
		if err == nil {
			_, err = fmt.Fprintf(w, format, args...)
		}
	}
	var order []string
	of := map[string][]string{}
	for _, p := range l.Parts {
		name := strings.TrimSpace(p.Name + " " + p.Version)
		say("%s: %s\n", name, strings.Join(p.kinds(), ", "))
		for _, f := range p.Files {
			if of[f.Text] == nil {
				order = append(order, f.Text)
			}
			of[f.Text] = append(of[f.Text], name+", "+f.Path)
		}
	}
	for _, text := range order {
		say("\n%s\n%s\n\n%s\n", strings.Repeat("=", 72), strings.Join(of[text], "\n"), strings.Join(l.Texts[text], "\n"))
	}
	return err
}
