package trouble

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"math"
	"sort"
	"strings"
	"sync"

	"github.com/BurntSushi/toml"
)

//go:embed data
var data embed.FS

// parts are the files of a model.
var parts = []string{"settings.toml", "causes.toml", "danger.toml", "signs.toml", "checks.toml", "source.toml"}

// Problem is one thing that is wrong with a file of the model, or with facts.
type Problem struct{ Place, Value, Remedy string }

func (p Problem) String() string { return p.Place + ": " + p.Value + ": " + p.Remedy }

// Problems is everything that is wrong.
type Problems []Problem

func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i := range p {
		lines[i] = p[i].String()
	}
	return strings.Join(lines, "\n")
}

func (p *Problems) add(place, value, remedy string) { *p = append(*p, Problem{place, value, remedy}) }

// file is one file as it is written; all files have one shape so that a model may also stand in one.
type file struct {
	Setting []struct {
		Name, Unit, Words, Source, Locator, Sure string
		Value                                    float64
	}
	Cause []struct {
		ID, Words, Plain, Source, Locator, Sure string
		Prior                                   float64
		Always                                  bool
	}
	Danger []struct {
		ID, Words, Ask, Yes, Unknown, Source, Locator, Sure string
		Stop                                                bool
		Raised                                              []map[string]string
		Usual                                               float64
		Given                                               map[string]float64
	}
	Sign []struct {
		ID, Words, Ask, Unit, Source, Locator, Sure string
		Minutes                                     float64
		FromCase                                    bool `toml:"from_case"`
		Edges, Usual                                []float64
		Shared                                      string
		Replaces                                    []string
		Answers                                     []struct{ ID, Words string }
		Given                                       map[string][]float64
	}
	Check []struct {
		ID, Say, Words, Needs, Source, Locator, Sure string
		Minutes                                      float64
		Finds                                        map[string]float64
	}
	Source []struct{ ID, Title string }
}

// builtIn is read once; the data are part of the program, so a fault in them is a bug.
var builtIn = sync.OnceValue(func() *Model {
	sub, err := fs.Sub(data, "data")
	if err != nil {
		panic("trouble: " + err.Error())
	}
	m, err := Load(sub)
	if err != nil {
		panic("trouble: the built-in model is broken:\n" + err.Error())
	}
	return m
})

// BuiltIn is the model that the program brings.
func BuiltIn() *Model { return builtIn() }

// Load reads a model from its files. Everything that is wrong is returned as Problems.
func Load(fsys fs.FS) (*Model, error) {
	var found Problems
	m := &Model{Sources: map[string]string{}}
	sum := sha256.New()
	for _, name := range parts {
		raw, err := fs.ReadFile(fsys, name)
		if err != nil {
			found.add(name, err.Error(), "write the file")
			continue
		}
		sum.Write(raw)
		var f file
		meta, err := toml.Decode(string(raw), &f)
		if err != nil {
			found.add(name, oneLine(err.Error()), "write it as TOML in the form of the built-in file")
			continue
		}
		for _, key := range meta.Undecoded() {
			found.add(name+": "+key.String(), "is no key of this file", "check the spelling, or take it out")
		}
		m.take(f)
	}
	m.check(&found)
	if len(found) > 0 {
		return nil, found
	}
	m.Hash = hex.EncodeToString(sum.Sum(nil))
	return m, nil
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

func (m *Model) take(f file) {
	for _, s := range f.Setting {
		m.Settings = append(m.Settings, Setting{s.Name, s.Value, s.Unit, s.Words, Basis{Sure: s.Sure, Source: s.Source, Locator: s.Locator}})
	}
	for _, c := range f.Cause {
		m.Causes = append(m.Causes, Cause{ID: c.ID, Words: c.Words, Plain: c.Plain, Prior: c.Prior, Stated: c.Prior, Always: c.Always, Basis: Basis{Sure: c.Sure, Source: c.Source, Locator: c.Locator}})
	}
	for _, d := range f.Danger {
		m.Dangers = append(m.Dangers, Danger{ID: d.ID, Words: d.Words, Ask: d.Ask, Yes: d.Yes, Unknown: d.Unknown, Stop: d.Stop, Raised: d.Raised, Usual: d.Usual, Given: d.Given, Basis: Basis{Sure: d.Sure, Source: d.Source, Locator: d.Locator}})
	}
	for _, s := range f.Sign {
		x := Sign{ID: s.ID, Words: s.Words, Ask: s.Ask, Minutes: s.Minutes, Usual: s.Usual, Given: s.Given, Edges: s.Edges, Shared: s.Shared, Unit: s.Unit, Replaces: s.Replaces, FromCase: s.FromCase, Basis: Basis{Sure: s.Sure, Source: s.Source, Locator: s.Locator}}
		for _, a := range s.Answers {
			x.Answers = append(x.Answers, Answer{a.ID, a.Words})
		}
		m.Signs = append(m.Signs, x)
	}
	for _, c := range f.Check {
		m.Checks = append(m.Checks, Check{ID: c.ID, Say: c.Say, Words: c.Words, Needs: c.Needs, Minutes: c.Minutes, Finds: c.Finds, Stated: c.Finds, Basis: Basis{Sure: c.Sure, Source: c.Source, Locator: c.Locator}})
	}
	for _, s := range f.Source {
		m.Sources[s.ID] = s.Title
	}
}

// needed are the settings without which nothing can be computed.
var needed = []string{"visit_min", "visit_ward_min", "visit_home_min", "swap_min", "prior_calls", "check_calls"}

// check finds everything that the formulas could not bear.
func (m *Model) check(found *Problems) {
	ids := map[string]bool{}
	once := func(kind, id string) {
		if id == "" || ids[kind+id] {
			found.add(kind+" "+id, "has no ID, or one that is there twice", "give it an ID of its own")
		}
		ids[kind+id] = true
	}
	for _, s := range m.Settings {
		once("setting", s.Name)
		if !(s.Value > 0) || math.IsInf(s.Value, 0) || s.Value > 100000 {
			found.add("setting "+s.Name, fmt.Sprint(s.Value), "write a number above 0")
		}
		m.basis("setting "+s.Name, s.Basis, found)
	}
	for _, n := range needed {
		if !ids["setting"+n] {
			found.add("setting "+n, "missing", "write it")
		}
	}
	sum := 0.0
	for _, c := range m.Causes {
		once("cause", c.ID)
		chance("cause "+c.ID+": prior", c.Prior, false, found)
		m.basis("cause "+c.ID, c.Basis, found)
		sum += c.Prior
		if c.Words == "" || c.Plain == "" {
			found.add("cause "+c.ID, "has no words", "write words and plain")
		}
	}
	if math.Abs(sum-1) > 1e-9 {
		found.add("causes", fmt.Sprintf("the priors sum to %g", sum), "make them sum to 1")
	}
	for _, id := range []string{"bleeding", "not-equipment", "other"} {
		if !ids["cause"+id] {
			found.add("cause "+id, "missing", "it must always be on the list")
		}
	}
	m.checkDanger(ids, once, found)
	m.checkSigns(ids, once, found)
	for _, c := range m.Checks {
		once("check", c.ID)
		m.basis("check "+c.ID, c.Basis, found)
		if c.Say == "" || c.Words == "" {
			found.add("check "+c.ID, "has no words", "write say and words")
		}
		minutes("check "+c.ID, c.Minutes, found)
		for _, id := range keys(c.Finds) {
			known("check "+c.ID, id, ids, found)
			chance("check "+c.ID+": finds "+id, c.Finds[id], true, found)
		}
	}
}

func (m *Model) checkDanger(ids map[string]bool, once func(kind, id string), found *Problems) {
	if d := m.Danger("blood"); d == nil || !d.Stop || len(d.Raised) > 0 {
		found.add("danger blood", "missing, or it can be passed over", "write it with stop = true and without raised: the look for blood comes before everything")
	}
	for _, d := range m.Dangers {
		once("danger", d.ID)
		m.basis("danger "+d.ID, d.Basis, found)
		chance("danger "+d.ID+": usual", d.Usual, false, found)
		for _, c := range keys(d.Given) {
			known("danger "+d.ID, c, ids, found)
			chance("danger "+d.ID+": given "+c, d.Given[c], false, found)
		}
		for _, r := range d.Raised {
			for _, sign := range keys(r) {
				if g := m.Sign(sign); g == nil || g.Answer(r[sign]) < 0 {
					found.add("danger "+d.ID+": raised", sign+" = "+r[sign], "name a sign of this model and one of its answers")
				}
			}
		}
		if d.Ask == "" || d.Yes == "" || d.Unknown == "" || d.Words == "" {
			found.add("danger "+d.ID, "has no words", "write words, ask, yes and unknown")
		}
	}
}

func (m *Model) checkSigns(ids map[string]bool, once func(kind, id string), found *Problems) {
	for i := range m.Signs {
		once("sign", m.Signs[i].ID)
	}
	for i := range m.Signs {
		s := &m.Signs[i]
		at := "sign " + s.ID
		m.basis(at, s.Basis, found)
		if (s.Ask == "") != s.FromCase {
			found.add(at, "is asked and taken from the case, or neither", "write either ask or from_case = true")
		}
		if s.Ask != "" {
			minutes(at, s.Minutes, found)
		}
		if len(s.Answers) < 2 {
			found.add(at, "has fewer than two answers", "write its answers")
		}
		seen := map[string]bool{"unknown": true}
		for _, a := range s.Answers {
			if a.ID == "" || a.Words == "" || seen[a.ID] {
				found.add(at+": answer "+a.ID, "has no ID or words, or stands twice", `give it an ID of its own other than "unknown", and words`)
			}
			seen[a.ID] = true
		}
		edges := len(s.Edges)
		if s.Shared != "" {
			edges++
		}
		if len(s.Edges) > 0 && (edges != len(s.Answers)-1 || !sort.Float64sAreSorted(s.Edges)) {
			found.add(at+": edges", fmt.Sprint(s.Edges), "write one edge fewer than answers, rising")
		}
		row(at+": usual", s.Usual, len(s.Answers), found)
		for _, c := range keys(s.Given) {
			known(at, c, ids, found)
			row(at+": given "+c, s.Given[c], len(s.Answers), found)
		}
		for _, r := range s.Replaces {
			if !ids["sign"+r] {
				found.add(at+": replaces "+r, "is no sign", "name a sign of this model")
			}
		}
	}
}

func (m *Model) basis(at string, b Basis, found *Problems) {
	if b.Sure == "" {
		found.add(at, "does not say how sure it is", `write sure = "from memory", "common practice", or that of the source`)
	}
	if b.Source != "" && m.Sources[b.Source] == "" {
		found.add(at+": source "+b.Source, "is not in source.toml", "name the source there")
	}
}

func chance(at string, p float64, ends bool, found *Problems) {
	if !(p > 0 && p < 1) && !(ends && (p == 0 || p == 1)) {
		found.add(at, fmt.Sprint(p), "write a chance between 0 and 1: nothing that is heard makes a cause impossible or sure")
	}
}

func minutes(at string, x float64, found *Problems) {
	if !(x > 0) || x > 1000 {
		found.add(at+": minutes", fmt.Sprint(x), "write minutes above 0")
	}
}

func known(at, cause string, ids map[string]bool, found *Problems) {
	if !ids["cause"+cause] {
		found.add(at+": "+cause, "is no cause", "name a cause of this model")
	}
}

func row(at string, p []float64, n int, found *Problems) {
	sum := 0.0
	for _, x := range p {
		chance(at, x, false, found)
		sum += x
	}
	if len(p) != n || math.Abs(sum-1) > 1e-9 {
		found.add(at, fmt.Sprint(p), "write one chance for each answer, with sum 1")
	}
}

func keys[T any](m map[string]T) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
