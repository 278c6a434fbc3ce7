// Package hazard holds, as data, each way in which the program could hurt somebody: cause, harm, who notices, how bad and
// how likely, what is done against it and which tests hold that, what remains, and who accepts it. The steps are those of ISO
// 14971:2019 (identify, estimate, control, evaluate what remains), and use errors are marked as IEC 62366-1 asks; both from
// memory. Classes are estimates, from memory: the program has not been tried on patients.
package hazard

import (
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"github.com/BurntSushi/toml"
)

//go:embed data
var data embed.FS

// Hazard is one way in which the program, or its use, could hurt somebody.
type Hazard struct {
	ID    string `toml:"id"`
	Title string `toml:"title"`
	// Group is the title of the file that it stands in.
	Group string `toml:"-"`
	// Cause is what goes wrong, Harm what comes of it, Notices who would see it first.
	Cause   string `toml:"cause"`
	Harm    string `toml:"harm"`
	Notices string `toml:"notices"`
	// Severity is one of [Severities]; Likelihood and After, without and with the controls, one of [Likelihoods].
	Severity   string `toml:"severity"`
	Likelihood string `toml:"likelihood"`
	After      string `toml:"after"`
	// UseError marks what a person does with the program, not what it does by itself.
	UseError bool `toml:"use_error"`
	// Rules, Code and Pages are the controls: IDs of rules, names in the code as package.Name, and addresses of pages.
	Rules []string `toml:"rules"`
	Code  []string `toml:"code"`
	Pages []string `toml:"pages"`
	// Tests hold the controls, by name; "browser: " marks one of tests/browser. The example cases and the story of each rule
	// count besides.
	Tests []string `toml:"tests"`
	// Remains is what the controls leave; Accepts is who has to accept it, in a service that uses the program.
	Remains string `toml:"remains"`
	Accepts string `toml:"accepts"`
}

// Severities from the worst down, and Likelihoods from the most frequent down, with what each means.
var (
	Severities  = []Class{{"death", "death, or harm that can kill"}, {"serious", "lasting harm, an operation or days in hospital"}, {"moderate", "harm that needs treatment, or weeks of useless therapy"}, {"minor", "discomfort or delay"}}
	Likelihoods = []Class{{"often", "weekly in a caseload of a hundred"}, {"at times", "monthly"}, {"seldom", "yearly"}, {"rarely", "less than yearly"}}
)

// Class is a class with its meaning.
type Class struct{ Name, Words string }

// must is what a hazard of the severity may be at most once its controls are in place, by the place in Likelihoods.
var must = map[string]int{"death": 2, "serious": 2, "moderate": 2, "minor": 1}

var builtIn = sync.OnceValue(func() []Hazard {
	list, err := Load(data)
	if err != nil {
		panic("hazard: " + err.Error()) // the data are part of the program, so a fault in them is a bug
	}
	return list
})

// All lists the hazards by ID. It must not be changed.
func All() []Hazard { return builtIn() }

// OfRule lists the hazards that the rule is a control of.
func OfRule(id string) []Hazard {
	var out []Hazard
	for _, h := range All() {
		if slices.Contains(h.Rules, id) {
			out = append(out, h)
		}
	}
	return out
}

// Load reads every file of data and returns the hazards by ID, or all that is wrong.
func Load(fsys fs.FS) ([]Hazard, error) {
	var out []Hazard
	var wrong []string
	files, err := fs.Glob(fsys, "data/*.toml")
	if err != nil {
		return nil, err
	}
	for _, name := range files {
		raw, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		var f struct {
			Title  string   `toml:"title"`
			Hazard []Hazard `toml:"hazard"`
		}
		meta, err := toml.Decode(string(raw), &f)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		for _, key := range meta.Undecoded() {
			wrong = append(wrong, name+": "+key.String()+" is no key of a hazard")
		}
		for _, h := range f.Hazard {
			h.Group = f.Title
			wrong = append(wrong, h.faults()...)
			out = append(out, h)
		}
	}
	slices.SortFunc(out, func(a, b Hazard) int { return strings.Compare(a.ID, b.ID) })
	for i := 1; i < len(out); i++ {
		if out[i].ID == out[i-1].ID {
			wrong = append(wrong, out[i].ID+" stands twice")
		}
	}
	if len(wrong) > 0 {
		return nil, fmt.Errorf("%s", strings.Join(wrong, "\n"))
	}
	return out, nil
}

// faults is what a hazard does not say, or says against the classes.
func (h Hazard) faults() []string {
	var out []string
	for _, x := range []struct{ name, value string }{{"id", h.ID}, {"title", h.Title}, {"cause", h.Cause}, {"harm", h.Harm}, {"notices", h.Notices}, {"remains", h.Remains}, {"accepts", h.Accepts}} {
		if strings.TrimSpace(x.value) == "" {
			out = append(out, h.ID+": "+x.name+" is missing")
		}
	}
	before, after := place(Likelihoods, h.Likelihood), place(Likelihoods, h.After)
	switch {
	case place(Severities, h.Severity) < 0, before < 0, after < 0:
		out = append(out, h.ID+": severity, likelihood or after is no class")
	case after < before:
		out = append(out, h.ID+": is more likely with its controls than without")
	case after < must[h.Severity]:
		out = append(out, h.ID+": "+h.Severity+" harm may not stay "+h.After+" with its controls")
	}
	if len(h.Rules)+len(h.Code)+len(h.Pages)+len(h.Tests) == 0 {
		out = append(out, h.ID+": has no control")
	}
	return out
}

func place(list []Class, name string) int {
	return slices.IndexFunc(list, func(c Class) bool { return c.Name == name })
}
