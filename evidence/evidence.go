// Package evidence runs the outside checks: tables of numbers that Lowtide did not make, each with its source,
// compared with what Lowtide computes. It prints them all into docs/evidence.md.
//
// A table is a TOML file named table.toml in <package>/testdata/ref/<source>/. A figure is a function that
// turns one row's inputs into one number; each is registered under the name that the tables use.
package evidence

import (
	"fmt"
	"io/fs"
	"math"
	"path"
	"sort"
	"strings"

	"github.com/BurntSushi/toml"
)

// Table is one outside source with its rows.
type Table struct {
	Path string `toml:"-"`
	// Figure is the registered name of what is computed; a row may name another.
	Figure string `toml:"figure"`
	// Kind is one of Kinds, strongest first.
	Kind string `toml:"kind"`
	// Source names the publication or tool (with its version); Locator the place in it.
	Source  string `toml:"source"`
	Locator string `toml:"locator"`
	// Tolerance says where the tolerances come from: the source's digits or the method's order.
	Tolerance string `toml:"tolerance"`
	Rows      []Row  `toml:"row"`
}

// Row is one number with its inputs.
type Row struct {
	Name   string         `toml:"name"`
	Figure string         `toml:"figure"`
	In     map[string]any `toml:"in"`
	Want   float64        `toml:"want"`
	// Tol is the greatest allowed distance from Want.
	Tol float64 `toml:"tol"`
}

// Kinds of outside truth, strongest first.
var Kinds = []string{"closed form", "published", "independent tool", "open data", "law", "common practice, no published source", "from memory"}

// In reads a row's inputs.
type In map[string]any

// Num returns a number among the inputs; a missing one is NaN, which no check passes.
func (in In) Num(name string) float64 {
	switch v := in[name].(type) {
	case float64:
		return v
	case int64:
		return float64(v)
	}
	return math.NaN()
}

// Text returns a text among the inputs.
func (in In) Text(name string) string { s, _ := in[name].(string); return s }

// Nums returns a list of numbers among the inputs.
func (in In) Nums(name string) []float64 {
	list, _ := in[name].([]any)
	out := make([]float64, 0, len(list))
	for i := range list {
		out = append(out, In{"x": list[i]}.Num("x"))
	}
	return out
}

// Figure computes one number from a row's inputs.
type Figure func(In) (float64, error)

// figures is filled by the files of this package, one a computing package.
var figures = map[string]Figure{}

func register(name string, f Figure) {
	if _, twice := figures[name]; twice {
		panic("evidence: figure registered twice: " + name)
	}
	figures[name] = f
}

// Result is one row compared.
type Result struct {
	Table Table
	Row   Row
	Got   float64
	Err   error
}

// OK tells whether the row holds. NaN never does.
func (r Result) OK() bool {
	return r.Err == nil && math.Abs(r.Got-r.Row.Want) <= r.Row.Tol
}

// Load reads every table.toml below a testdata/ref folder of the tree.
func Load(tree fs.FS) ([]Table, error) {
	var out []Table
	err := fs.WalkDir(tree, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || (strings.HasPrefix(d.Name(), ".") && p != ".")) {
			return fs.SkipDir
		}
		if d.Name() != "table.toml" || !strings.Contains(p, "testdata/ref/") {
			return nil
		}
		raw, err := fs.ReadFile(tree, p)
		if err != nil {
			return err
		}
		var t Table
		meta, err := toml.Decode(string(raw), &t)
		if err != nil {
			return fmt.Errorf("evidence: %s: %w", p, err)
		}
		t.Path = path.Dir(p)
		if err := t.check(meta); err != nil {
			return fmt.Errorf("evidence: %s: %w", p, err)
		}
		out = append(out, t)
		return nil
	})
	sort.Slice(out, func(i, j int) bool { return out[i].Path < out[j].Path })
	return out, err
}

// check refuses a table that does not say where it comes from.
func (t Table) check(meta toml.MetaData) error {
	for _, k := range meta.Undecoded() {
		if len(k) < 2 || k[1] != "in" {
			return fmt.Errorf("unknown key %s", k)
		}
	}
	known := false
	for _, k := range Kinds {
		known = known || k == t.Kind
	}
	switch {
	case !known:
		return fmt.Errorf("kind %q is not one of %s", t.Kind, strings.Join(Kinds, "; "))
	case t.Source == "" || t.Locator == "" || t.Tolerance == "":
		return fmt.Errorf("source, locator and tolerance must all be given")
	case len(t.Rows) == 0:
		return fmt.Errorf("no rows")
	}
	for _, r := range t.Rows {
		if r.Name == "" || (r.Figure == "" && t.Figure == "") {
			return fmt.Errorf("a row without name or figure")
		}
	}
	return nil
}

// Run compares every row with what Lowtide computes.
func Run(tables []Table) []Result {
	var out []Result
	for _, t := range tables {
		for _, r := range t.Rows {
			if r.Figure == "" {
				r.Figure = t.Figure
			}
			res := Result{Table: t, Row: r}
			if f, ok := figures[r.Figure]; ok {
				res.Got, res.Err = f(In(r.In))
			} else {
				res.Err = fmt.Errorf("no figure is registered as %q", r.Figure)
			}
			out = append(out, res)
		}
	}
	return out
}
