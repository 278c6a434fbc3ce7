package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
)

// built is a package whose test binary holds all of its mutants.
type built struct {
	// Package is the folder from the root of the module.
	Package string    `json:"package"`
	Suites  []suite   `json:"suites"`
	Mutants []*mutant `json:"mutants"`
	// Broken counts mutants that do not compile.
	Broken int `json:"broken"`
}

// suite is a test binary that holds the mutants, and the folder of its tests.
type suite struct {
	Package string `json:"package"`
	Binary  string `json:"binary"`
}

// testedBy are packages whose own folder does not hold all of their tests.
var testedBy = map[string][]string{"state": {"state", "review"}}

// switches is the file that is laid beside the sources: which mutant is on, and which were reached.
const switches = `package %s

import (
	"os"
	"strconv"
	"sync"
)

var mutantOn = func() int { n, _ := strconv.Atoi(os.Getenv("LOWTIDE_MUTANT")); return n }()

var mutantLog = func() *os.File {
	if name := os.Getenv("LOWTIDE_REACHED"); name != "" {
		f, err := os.OpenFile(name, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
		if err != nil {
			panic(err)
		}
		return f
	}
	return nil
}()

var mutantSeen sync.Map

func mutantIs(id int) bool {
	if mutantLog != nil {
		mutantReached(id)
	}
	return mutantOn == id
}

func mutantReached(id int) {
	if _, seen := mutantSeen.LoadOrStore(id, true); !seen {
		mutantLog.WriteString(strconv.Itoa(id) + "\n")
	}
}

func mutantOr[T any](id int, changed, as T) T {
	if mutantIs(id) {
		return changed
	}
	return as
}

type mutantNumber interface {
	~int | ~int8 | ~int16 | ~int32 | ~int64 | ~uint | ~uint8 | ~uint16 | ~uint32 | ~uint64 | ~uintptr | ~float32 | ~float64
}

func mutantPlus[T mutantNumber](id int, a, b T) T {
	if mutantIs(id) {
		return a - b
	}
	return a + b
}

func mutantMinus[T mutantNumber](id int, a, b T) T {
	if mutantIs(id) {
		return a + b
	}
	return a - b
}
`

// listed is a package as the go command lists it.
type listed struct {
	ImportPath, Dir, Name, Export string
	GoFiles                       []string
}

func goList(root string, args ...string) ([]listed, error) {
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Dir,Name,Export,GoFiles"}, args...)...)
	cmd.Dir, cmd.Stderr = root, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go list: %w", err)
	}
	var all []listed
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		if err := dec.Decode(&p); err == io.EOF {
			return all, nil
		} else if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
}

// build finds the mutants of a package and makes its test binary, with each of them behind a switch. Nothing is written
// into the package: the compiler gets the changed sources as an overlay.
func build(root, name, out string) (*built, error) {
	deps, err := goList(root, "-export", "-deps", "./"+name)
	if err != nil {
		return nil, err
	}
	export := map[string]string{}
	for _, d := range deps {
		export[d.ImportPath] = d.Export
	}
	p := deps[len(deps)-1]
	fset := token.NewFileSet()
	var files []*ast.File
	sources := map[*ast.File][]byte{}
	for _, file := range p.GoFiles {
		src, err := os.ReadFile(filepath.Join(p.Dir, file))
		if err != nil {
			return nil, err
		}
		a, err := parser.ParseFile(fset, filepath.Join(p.Dir, file), src, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		files = append(files, a)
		sources[a] = src
	}
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Defs: map[*ast.Ident]types.Object{}, Uses: map[*ast.Ident]types.Object{}, Implicits: map[ast.Node]types.Object{}}
	conf := types.Config{Importer: importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(export[path]) })}
	pkg, err := conf.Check(p.ImportPath, fset, files, info)
	if err != nil {
		return nil, err
	}
	b := &built{Package: name}
	tests := testedBy[name]
	if tests == nil {
		tests = []string{name}
	}
	for _, t := range tests {
		b.Suites = append(b.Suites, suite{t, filepath.Join(out, filepath.Base(name)+"-"+filepath.Base(t)+".test")})
	}
	broken := map[int]bool{}
	for range 8 {
		f := &finder{fset: fset, info: info, pkg: pkg, names: map[string]int{}, broken: broken}
		over, err := f.rewrite(files, sources, out, name)
		if err != nil {
			return nil, err
		}
		own := filepath.Join(out, filepath.Base(name)+"-switches.go")
		if err := os.WriteFile(own, fmt.Appendf(nil, switches, p.Name), 0o644); err != nil {
			return nil, err
		}
		over[filepath.Join(p.Dir, "mutant_switches.go")] = own
		raw, err := json.Marshal(map[string]any{"Replace": over})
		if err != nil {
			return nil, err
		}
		overlay := filepath.Join(out, filepath.Base(name)+"-overlay.json")
		if err := os.WriteFile(overlay, raw, 0o644); err != nil {
			return nil, err
		}
		var said []byte
		for _, t := range b.Suites {
			cmd := exec.Command("go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-gcflags="+p.ImportPath+"=-e", "-overlay", overlay, "-o", t.Binary, "./"+t.Package)
			cmd.Dir, cmd.Env = root, append(os.Environ(), "CGO_ENABLED=0")
			if said, err = cmd.CombinedOutput(); err != nil {
				break
			}
		}
		if err == nil {
			b.Broken = len(broken)
			for _, m := range f.all {
				if !broken[m.ID] {
					b.Mutants = append(b.Mutants, m)
				}
			}
			return b, nil
		}
		if !drop(said, broken) {
			return nil, fmt.Errorf("build %s with its mutants: %w\n%s", name, err, said)
		}
	}
	return nil, fmt.Errorf("build %s: too many of its mutants do not compile", name)
}

var (
	complaint = regexp.MustCompile(`(?m)^(\S+\.go):(\d+):(\d+): `)
	ids       = regexp.MustCompile(`__m(\d+)|mutant(?:Or|Plus|Minus)\[[^\]]*\]\((\d+),|mutantIs\((\d+)\)`)
)

// drop marks the mutants on the lines that the compiler complains of; false when there is none.
func drop(said []byte, broken map[int]bool) bool {
	n := len(broken)
	for _, c := range complaint.FindAllSubmatch(said, -1) {
		src, err := os.ReadFile(string(c[1]))
		if err != nil {
			continue
		}
		line, _ := strconv.Atoi(string(c[2]))
		lines := bytes.Split(src, []byte("\n"))
		if line > len(lines) {
			continue
		}
		for _, m := range ids.FindAllSubmatch(lines[line-1], -1) {
			for _, group := range m[1:] {
				if id, err := strconv.Atoi(string(group)); err == nil {
					broken[id] = true
				}
			}
		}
	}
	return len(broken) > n
}

// rewrite finds the mutants of all files and writes the changed files to a folder. It returns what stands for what.
func (f *finder) rewrite(files []*ast.File, sources map[*ast.File][]byte, out, name string) (map[string]string, error) {
	f.byConst, f.saved = map[types.Object][]*mutant{}, map[*ast.File][]edit{}
	open := func(a *ast.File) {
		f.file = filepath.ToSlash(filepath.Join(name, filepath.Base(f.fset.Position(a.Pos()).Filename)))
		f.src, f.syntax, f.fun, f.edits = sources[a], a, "", nil
		f.imports = map[string]string{}
		for _, im := range a.Imports {
			path, err := strconv.Unquote(im.Path.Value)
			if err != nil {
				continue
			}
			f.imports[path] = filepath.Base(path)
			if im.Name != nil {
				f.imports[path] = im.Name.Name
			}
		}
	}
	f.consts(files, open)
	over := map[string]string{}
	for _, a := range files {
		open(a)
		f.edits = f.saved[a]
		f.find()
		text := f.between(0, len(f.src), false)
		to := filepath.Join(out, filepath.Base(name)+"-"+filepath.Base(f.file))
		if err := os.WriteFile(to, []byte(text), 0o644); err != nil {
			return nil, err
		}
		over[f.fset.Position(a.Pos()).Filename] = to
	}
	return over, nil
}
