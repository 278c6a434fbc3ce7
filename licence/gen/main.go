// Command gen writes licence/parts.json: for each module that is linked into the program on any system it is released
// for, every file with a licence, a notice or a grant of patents in its top folder and in the folders of the linked
// packages. It reads the module cache that the build reads.
//
//	go generate ./licence
package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/google/licensecheck"

	"lowtide/licence"
)

func main() {
	doc, err := document()
	if err == nil {
		err = os.WriteFile("parts.json", doc, 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

// pkg is what go list says of a package.
type pkg struct {
	Dir        string
	Standard   bool
	EmbedFiles []string
	Module     *struct {
		Path, Version, Dir string
		Main               bool
	}
}

// linked lists the packages that the program consists of on one system.
func linked(target string) ([]pkg, error) {
	goos, goarch, _ := strings.Cut(target, "/")
	cmd := exec.Command("go", "list", "-deps", "-json=Dir,Standard,EmbedFiles,Module", "lowtide")
	cmd.Env = append(os.Environ(), "GOOS="+goos, "GOARCH="+goarch, "CGO_ENABLED=0")
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go list for %s: %w", target, err)
	}
	var all []pkg
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p pkg
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return all, nil
		} else if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
}

// document is the whole list, the same from run to run.
func document() ([]byte, error) {
	parts := map[string]*found{}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	goroot := strings.TrimSpace(string(root))
	parts[licence.Standard] = &found{dir: goroot, folders: map[string]bool{goroot: true}}
	for _, target := range licence.Targets {
		all, err := linked(target)
		if err != nil {
			return nil, err
		}
		for _, p := range all {
			if p.Standard || p.Module == nil || p.Module.Main {
				continue
			}
			f := parts[p.Module.Path]
			if f == nil {
				f = &found{version: p.Module.Version, dir: p.Module.Dir, folders: map[string]bool{}}
				parts[p.Module.Path] = f
			}
			f.above(p.Dir)
			for _, e := range p.EmbedFiles {
				f.above(filepath.Dir(filepath.Join(p.Dir, e)))
			}
		}
	}
	list := licence.List{Texts: map[string][]string{}}
	for name, f := range parts {
		part, err := f.part(name, list.Texts)
		if err != nil {
			return nil, err
		}
		list.Parts = append(list.Parts, part)
	}
	slices.SortFunc(list.Parts, func(a, b licence.Part) int { return strings.Compare(a.Name, b.Name) })
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	err = enc.Encode(list)
	return out.Bytes(), err
}

// found is one part with the folders in which its licences may lie.
type found struct {
	version, dir string
	folders      map[string]bool
}

// above notes a folder and all above it, up to the part's top.
func (f *found) above(dir string) {
	for strings.HasPrefix(dir, f.dir) && !f.folders[dir] {
		f.folders[dir] = true
		dir = filepath.Dir(dir)
	}
	f.folders[f.dir] = true
}

// named are the names that files with licences have.
var named = regexp.MustCompile(`(?i)^(un)?(licen[cs]e|copying|copyright|notice|patents)([-._].*)?$`)

// covers is the share of a file's words, in percent, that must be those of known licences for its kind to be named.
const covers = 75

func (f *found) part(name string, texts map[string][]string) (licence.Part, error) {
	part := licence.Part{Name: name, Version: f.version}
	for folder := range f.folders {
		entries, err := os.ReadDir(folder)
		if err != nil {
			return part, err
		}
		for _, e := range entries {
			if e.IsDir() || !named.MatchString(e.Name()) || strings.HasSuffix(e.Name(), ".go") {
				continue
			}
			text, err := os.ReadFile(filepath.Join(folder, e.Name()))
			if err != nil {
				return part, err
			}
			path, err := filepath.Rel(f.dir, filepath.Join(folder, e.Name()))
			if err != nil {
				return part, err
			}
			part.Files = append(part.Files, file(filepath.ToSlash(path), text, texts))
		}
	}
	if len(part.Files) == 0 {
		return part, fmt.Errorf("%s comes without a licence", name)
	}
	slices.SortFunc(part.Files, func(a, b licence.File) int { return strings.Compare(a.Path, b.Path) })
	return part, nil
}

func file(path string, text []byte, texts map[string][]string) licence.File {
	out := licence.File{Path: path}
	if c := licensecheck.Scan(text); c.Percent >= covers {
		for _, m := range c.Match {
			if !m.IsURL {
				out.Licences = append(out.Licences, m.ID)
			}
		}
		slices.Sort(out.Licences)
		out.Licences = slices.Compact(out.Licences)
	}
	plain := strings.TrimRight(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n ")
	sum := sha256.Sum256([]byte(plain))
	out.Text = hex.EncodeToString(sum[:6])
	texts[out.Text] = strings.Split(plain, "\n")
	return out
}
