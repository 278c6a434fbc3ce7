package rule

import (
	"fmt"
	"io/fs"
	"math"
	"path"
	"regexp"
	"sort"
	"strings"

	"lowtide/rule/value"
	"lowtide/unit"
)

// forms reads the TOML files below a folder of a pack, in order of path.
type forms func(folder string, found *Problems, read func(*fields))

// formsOf reads the files of a folder on disk or in memory.
func formsOf(fsys fs.FS) forms {
	return func(folder string, found *Problems, read func(*fields)) {
		files(fsys, folder, found, func(file string, raw []byte) {
			if f := readTOML(file, raw, found); f != nil {
				read(f)
			}
		})
	}
}

// Load reads a pack: rules in files data/.../ID.toml, shared values in files value/id.toml, sources in files
// source/id.toml and payers' policies in files payer/id.toml. It returns either a set in
// which everything was checked, or Problems with all that is wrong.
func Load(fsys fs.FS) (*Set, error) {
	var found Problems
	s := &Set{}
	s.read(formsOf(fsys), &found)
	s.addPayers(loadPayers(fsys, &found))
	if len(s.rules) == 0 && len(found) == 0 {
		found = append(found, Problem{"data", "", "holds no rule", "put one file a rule there"})
	}
	s.link(&found)
	if len(found) > 0 {
		return nil, found
	}
	s.finish()
	return s, nil
}

// read takes the rules, shared values and sources of a pack.
func (s *Set) read(from forms, found *Problems) {
	s.rules = loadRules(from, found)
	s.shared = loadShared(from, found)
	s.sources = loadSources(from, found)
}

// files calls read for every TOML file below a folder, in order of path. Other files must be notes (.md) or Go.
func files(fsys fs.FS, folder string, found *Problems, read func(file string, raw []byte)) {
	if _, err := fs.Stat(fsys, folder); err != nil {
		return
	}
	err := fs.WalkDir(fsys, folder, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		switch path.Ext(p) {
		case ".toml":
			raw, err := fs.ReadFile(fsys, p)
			if err != nil {
				return err
			}
			read(p, raw)
		case ".md", ".go": // notes, and the package that rule/value is
		default:
			*found = append(*found, Problem{p, "", "is neither a .toml nor a .md file", "rename it or take it out"})
		}
		return nil
	})
	if err != nil {
		*found = append(*found, Problem{folder, "", "cannot be read: " + err.Error(), "check the folder and its permissions"})
	}
}

// ruleID is AREA-NOUN-NN; sourceID is author-year-word or the like.
var (
	ruleID    = regexp.MustCompile(`^[A-Z]{2,8}(-[A-Z0-9]{1,16}){1,3}-[0-9]{2}$`)
	sourceID  = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	valueName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_]*$`)
)

// reserved words cannot name a value.
var reserved = []string{"and", "or", "not", "in", "contains", "matches", "since", "until", "known", "true", "false",
	"nil", "let", "if", "else", "startsWith", "endsWith"}

func loadSources(from forms, found *Problems) []*Source {
	var out []*Source
	from("source", found, func(f *fields) {
		s := &Source{
			ID:    f.need("id", "write the name of the file without .toml"),
			Title: f.need("title", "write the title"),
			By:    f.text("by"),
			Kind:  needOne(f, "kind", sourceKinds),
			Note:  f.text("note"),
		}
		if s.ID != "" && (!sourceID.MatchString(s.ID) || path.Base(f.file) != s.ID+".toml") {
			f.say("id", fmt.Sprintf("%q is not the name of the file", s.ID), "use lower-case words with hyphens, and name the file ID.toml")
		}
		published := s.published()
		if published && !f.has("by") {
			f.say("by", "is missing", "write the author or publisher")
		}
		year, isInt := f.get("year").(int64)
		switch {
		case f.has("year") && (!isInt || year < 1800 || year > 2200):
			f.say("year", "is not a year", "write a number such as 2009")
		case published && !f.has("year"):
			f.say("year", "is missing", "write the year of publication")
		}
		s.Year = int(year)
		f.done()
		out = append(out, s)
	})
	return out
}

func loadRules(from forms, found *Problems) []*Rule {
	var out []*Rule
	from("data", found, func(f *fields) {
		out = append(out, readRule(f))
		f.done()
	})
	return out
}

func readRule(f *fields) *Rule {
	r := &Rule{
		ID:           f.need("id", "write the name of the file without .toml"),
		Area:         needOne(f, "area", Areas),
		Title:        f.need("title", "write a title"),
		Statement:    f.need("statement", "say in one or two sentences what the rule asks"),
		Level:        needOne(f, "level", Levels),
		UnknownLevel: one(f, "unknown_level", Levels),
		Scope:        needOne(f, "scope", []Scope{ScopeCase, ScopeWound, ScopePump, ScopeCanister}),
		Applies:      f.text("applies"),
		When:         f.need("when", "write the expression"),
		Headline:     f.need("headline", "write one sentence with the numbers of the case in it"),
		CannotTell:   f.text("cannot_tell"),
		Do:           f.need("do", "write the next step"),
		Due:          f.text("due"),
		Clears:       f.need("clears", "say what makes the finding go away"),
		SourceID:     f.need("source", "name a file of source; common practice and memory are sources too"),
		Locator:      f.blank("locator"),
		Sure:         needOne(f, "sure", []Sure{Read, ReadSecond, Computed, Memory}),
		From:         f.date("from"),
		Until:        f.date("until"),
		use:          f.names("use"),
		file:         f.file,
	}
	// Rules about canisters and pumps said "case" before these had scopes of their own; in a local protocol they still may.
	if r.Scope == ScopeCase {
		for _, t := range Vocabulary {
			if (t.Scope == ScopePump || t.Scope == ScopeCanister) && t.Scope.sees(r.Scope) && r.Reads(t.Name) {
				r.Scope = t.Scope
			}
		}
	}
	if r.ID != "" && !ruleID.MatchString(r.ID) {
		f.say("id", fmt.Sprintf("%q is not of the form AREA-NOUN-NN", r.ID), "write it as in CAN-WEEK-01")
	}
	if r.ID != "" && path.Base(f.file) != r.ID+".toml" {
		f.say("id", fmt.Sprintf("%q is not the name of the file", r.ID), "name the file "+r.ID+".toml")
	}
	if !f.has("from") {
		f.say("from", "is missing", "write the date from which the rule holds")
	}
	if !r.Until.IsZero() && !r.From.Before(r.Until) {
		f.say("until", "is not after from", "correct the dates")
	}
	if w := f.sub("withdrawn"); w != nil {
		r.Withdrawn = &Withdrawn{w.date("date"), w.need("reason", "say why")}
		if r.Withdrawn.Date.IsZero() && !w.has("date") {
			w.say("date", "is missing", "write the date on which it was withdrawn")
		}
		w.done()
	}
	for _, v := range f.list("value") {
		r.Values = append(r.Values, readValue(v, r))
	}
	r.Acts = readActs(f)
	r.Cases = readCases(f, func(*fields) *Rule { return r }, false)
	return r
}

func readValue(f *fields, r *Rule) Value {
	unset := f.flag("unset")
	v := Value{
		Name:  f.need("name", "name it as the expression does"),
		Unset: unset,
		Value: f.value(unset),
		Unit:  f.blank("unit"),
		Words: f.need("words", "say what the value is"),
		from:  f.date("from"),
		until: f.date("until"),
	}
	if unset {
		v.Example, _ = v.Value.(float64)
		v.Unit = checkUnit(f, "unit", v.Value, v.Unit)
		v.Value = nil
	} else {
		v.Unit = checkUnit(f, "unit", v.Value, v.Unit)
	}
	if v.Name != "" && (!valueName.MatchString(v.Name) || heads[v.Name] || rank(reserved, v.Name) < len(reserved)) {
		f.say("name", fmt.Sprintf("%q cannot name a value", v.Name), "use letters, digits and _, and no word of the language or of the terms")
	}
	for _, w := range r.Values {
		if w.Name == v.Name {
			f.say("name", fmt.Sprintf("%q is named twice", v.Name), "give every value its own name")
		}
	}
	if v.from.After(r.From) || (!v.until.IsZero() && (r.Until.IsZero() || v.until.Before(r.Until))) {
		f.say("from", "the value is not in force on every day on which the rule is, and a rule is never judged with a value outside its dates",
			"end the rule with its value, or give the value the rule's dates")
	}
	f.done()
	return v
}

// checkUnit wants a known unit beside numbers and none beside other values, and returns its printed form.
func checkUnit(f *fields, key string, v any, name string) string {
	switch x := v.(type) {
	case float64:
		if math.IsNaN(x) || math.IsInf(x, 0) {
			f.say("value", "is not a finite number", "write a number")
		}
	case []float64:
		for _, y := range x {
			if math.IsNaN(y) || math.IsInf(y, 0) {
				f.say("value", "holds a number that is not finite", "write numbers")
			}
		}
	case nil:
		return name
	default:
		if name != "" {
			f.say(key, "a value that is no number has no unit", "take the unit out")
		}
		return name
	}
	if !f.has(key) {
		f.say(key, "is missing for a number", `write a unit, or "1" for a count or a score`)
		return name
	}
	u, ok := unit.Find(name)
	if !ok {
		f.say(key, fmt.Sprintf("%q is not a unit", name), `write a unit as Lowtide prints it, or "1" for a count or a score`)
		return name
	}
	return u.Print
}

// readCases reads the example cases and puts their facts into the form that [Facts.Set] takes, times as hours.
// of says whose case it is, nil after a complaint.
func readCases(f *fields, of func(*fields) *Rule, local bool) []Case {
	var out []Case
	for _, k := range f.list("case") {
		r := of(k)
		if r == nil {
			continue
		}
		c := Case{rule: r.ID, Name: k.need("name", "name the case by what is special"), Want: needOne(k, "want", states),
			Facts: map[string]any{}, Local: local}
		for _, other := range out {
			if c.Name != "" && other.Name == c.Name && other.rule == c.rule {
				k.say("name", fmt.Sprintf("%q is named twice", c.Name), "give every case of a rule its own name")
			}
		}
		if facts := k.sub("facts"); facts != nil {
			readFacts(facts, "", facts.table, r.Scope, c.Facts)
		} else if !k.has("facts") {
			k.say("facts", "is missing", "write facts = { ... }; an empty one is facts = {}")
		}
		k.done()
		out = append(out, c)
	}
	return out
}

func readFacts(f *fields, prefix string, table map[string]any, scope Scope, into map[string]any) {
	names := make([]string, 0, len(table))
	for name := range table {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, key := range names {
		name, v := prefix+key, table[key]
		if deeper, ok := v.(map[string]any); ok && !strings.Contains(name, ".") {
			readFacts(f, name+".", deeper, scope, into) // visit.pain without quotes
			continue
		}
		i, ok := index[name]
		if !ok {
			f.say(name, "is not a term", "use a term of the vocabulary"+nearest(name))
			continue
		}
		t := Vocabulary[i]
		if !scope.sees(t.Scope) {
			f.say(name, "belongs to a "+string(t.Scope)+", and this rule is asked "+askedWords[scope], "take it out")
			continue
		}
		if n, isInt := v.(int64); isInt {
			v = float64(n)
		}
		x, isNumber := v.(float64)
		want := map[Type]bool{Number: isNumber, Time: isNumber}
		_, want[Bool] = v.(bool)
		_, want[Text] = v.(string)
		if !want[t.Type] || (isNumber && !(math.Abs(x) < value.MaxHours)) {
			f.say(name, fmt.Sprintf("is %v, and the term is a %s", v, t.Type), "write a value of that type; a time in hours from now, minus = ago")
			continue
		}
		into[name] = v
	}
}
