package rule

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"sync"
)

// Act is one thing that a rule asks for, as the key acts of a rule lists it:
//
//	"VERB", "VERB OBJECT", either with " at LEVEL" behind it, and "?" at the end of one that the rule's text names
//	only under a condition ("if it cannot be restored, the dressing comes off").
type Act struct {
	// Do is a verb of the table, such as leave-suction-off.
	Do string `json:"do"`
	// About is what it is about, one of the objects of the verb. It adds to the sentence, never to the precedence.
	About string `json:"about,omitempty"`
	// Level is the act's own level; empty means that of the finding.
	Level Level `json:"level,omitempty"`
	// If marks an act under a condition. It is no step of a plan; but where it would have to wait, the text of its
	// rule may not be printed.
	If bool `json:"if,omitempty"`
}

// Verb is one word of the vocabulary of acts.
type Verb struct {
	Name string `json:"name"`
	// Step is the part of the plan where it is said.
	Step string `json:"step"`
	// Say is the clause, in the imperative; Running takes its place while suction runs, or nobody knows.
	Say     string `json:"say,omitempty"`
	Running string `json:"running,omitempty"`
	// Wait is its name where it has to wait; Waiting has the names of objects that have to wait by themselves.
	Wait    string            `json:"wait,omitempty"`
	Waiting map[string]string `json:"waiting,omitempty"`
	// Objects are what it can be about, each with its own clause, or its words in the sentence of the step.
	Objects map[string]string `json:"objects,omitempty"`
	// First marks an act that is asked only before suction has run for the first time.
	First bool `json:"first,omitempty"`
	// Covers are acts that it says already; its own name stands for itself about an object.
	Covers []string `json:"covers,omitempty"`
	// Forms are where an object is answered, if not where the step is.
	Forms map[string]string `json:"forms,omitempty"`
}

// Words returns the clause of the verb for an object.
func (v *Verb) Words(about string, off bool) string {
	switch {
	case about != "":
		return v.Objects[about]
	case !off && v.Running != "":
		return v.Running
	}
	return v.Say
}

// PlanStep is one part of a plan: acts of one level that are said in one sentence.
type PlanStep struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	// Say is the sentence, with {acts} or {objects} and {when} in it.
	Say string `json:"say"`
	// Form is where the nurse answers it: a kind of entry, or asked, log or stores.
	Form string `json:"form,omitempty"`
	// One tells that what is asked for today joins what is asked for now: one call, not two.
	One bool `json:"one,omitempty"`
}

// Waits returns the name of the verb about an object where it has to wait, empty where it never has to.
func (v *Verb) Waits(about string) string {
	if words := v.Waiting[about]; words != "" {
		return words
	}
	return v.Wait
}

// Precedence is one row of the table of acts that cannot go together: where both are asked, the first stands. Wait lists
// verbs, each whatever it is about, and verbs with one object, such as "look wound".
type Precedence struct {
	First   string   `json:"first"`
	Wait    []string `json:"wait"`
	Because string   `json:"because"`
	Source  string   `json:"source"`
	Locator string   `json:"locator,omitempty"`
	Sure    Sure     `json:"sure"`
}

// Holds tells whether a verb about an object waits by the row.
func (r *Precedence) Holds(verb, about string) bool {
	return slices.Contains(r.Wait, verb) || about != "" && slices.Contains(r.Wait, verb+" "+about)
}

// PlanTable is the vocabulary of acts and what goes before what, from the files of rule/plan. It is read-only.
type PlanTable struct {
	Steps []PlanStep   `json:"steps"`
	Verbs []Verb       `json:"verbs"`
	Rows  []Precedence `json:"rows"`
	// Unknown is the form that holds what is not known, by the first word of the term's name.
	Unknown map[string]string `json:"unknown"`

	verb map[string]int
}

// Verb returns the verb with the name, or nil; its place is its rank within the table.
func (t *PlanTable) Verb(name string) *Verb {
	if i, ok := t.verb[name]; ok {
		return &t.Verbs[i]
	}
	return nil
}

// VerbRank returns the place of a verb in the table.
func (t *PlanTable) VerbRank(name string) int {
	if i, ok := t.verb[name]; ok {
		return i
	}
	return len(t.Verbs)
}

// StepRank returns the place of a step in the table.
func (t *PlanTable) StepRank(name string) int {
	for i := range t.Steps {
		if t.Steps[i].Name == name {
			return i
		}
	}
	return len(t.Steps)
}

// Step returns the step with the name.
func (t *PlanTable) Step(name string) PlanStep {
	if i := t.StepRank(name); i < len(t.Steps) {
		return t.Steps[i]
	}
	return PlanStep{}
}

// Form returns where an act about an object is answered.
func (t *PlanTable) Form(v *Verb, about string) string {
	if form := v.Forms[about]; form != "" {
		return form
	}
	return t.Step(v.Step).Form
}

// FormFor returns the form that holds what is not known of a term.
func (t *PlanTable) FormFor(term string) string {
	head, _, _ := strings.Cut(term, ".")
	return t.Unknown[head]
}

// Clash returns the row by which the second act, a verb or a verb with its object, waits for the first, or nil.
func (t *PlanTable) Clash(first, second string) *Precedence {
	verb, about, _ := strings.Cut(second, " ")
	for i := range t.Rows {
		if r := &t.Rows[i]; r.First == first && r.Holds(verb, about) {
			return r
		}
	}
	return nil
}

// Plans returns the table that comes with the program. It panics when its files are wrong, which a test rules out.
var Plans = sync.OnceValue(func() *PlanTable {
	t, found := readPlanTable(formsOf(written))
	if len(found) > 0 {
		panic("rule: " + found.Error())
	}
	return t
})

// readPlanTable reads plan/acts.toml and plan/precedence.toml.
func readPlanTable(from forms) (*PlanTable, Problems) {
	var found Problems
	files := map[string]*fields{}
	from("plan", &found, func(f *fields) { files[f.file] = f })
	for _, name := range []string{"plan/acts.toml", "plan/precedence.toml"} {
		if files[name] == nil {
			found = append(found, Problem{name, "", "cannot be read", "put it back"})
		}
	}
	t := &PlanTable{verb: map[string]int{}}
	if f := files["plan/acts.toml"]; f != nil {
		t.Unknown = f.texts("unknown")
		for _, s := range f.list("step") {
			t.Steps = append(t.Steps, PlanStep{s.need("name", "name the step"), s.need("title", "write its title"), s.need("say", "write its sentence"), s.blank("form"), s.flag("one")})
			s.done()
		}
		for _, a := range f.list("act") {
			v := Verb{Name: a.need("name", "name the act"), Step: a.need("step", "say in which step"), Say: a.text("say"), Running: a.text("running"), Wait: a.text("wait"),
				Waiting: a.texts("waiting"),
				Objects: a.texts("objects"), First: a.flag("first"), Forms: a.texts("forms")}
			if a.has("covers") {
				v.Covers, _ = a.constant("covers").([]string)
			}
			switch {
			case t.Verb(v.Name) != nil:
				a.say("name", v.Name+" is there twice", "take one out")
			case t.StepRank(v.Step) == len(t.Steps):
				a.say("step", fmt.Sprintf("there is no step %q", v.Step), "name one of the steps")
			case v.Say == "" && len(v.Objects) == 0:
				a.say("say", "is missing", "write the clause, or objects")
			}
			for _, key := range []string{"forms", "waiting"} {
				for about := range map[string]map[string]string{"forms": v.Forms, "waiting": v.Waiting}[key] {
					if _, ok := v.Objects[about]; !ok {
						a.say(key, fmt.Sprintf("there is no object %q", about), "name one of the objects")
					}
				}
			}
			a.done()
			t.verb[v.Name] = len(t.Verbs)
			t.Verbs = append(t.Verbs, v)
		}
		f.done()
	}
	if f := files["plan/precedence.toml"]; f != nil {
		for _, r := range f.list("row") {
			row := Precedence{First: r.need("first", "name the act that stands"), Because: r.need("because", "say why the others wait"),
				Source: r.need("source", "name a file of source"), Locator: r.blank("locator"), Sure: needOne(r, "sure", []Sure{Read, ReadSecond, Computed, Memory})}
			row.Wait, _ = r.constant("wait").([]string)
			if t.Verb(row.First) == nil {
				r.say("first", fmt.Sprintf("there is no act %q", row.First), "use a word of plan/acts.toml")
			}
			for _, name := range row.Wait {
				verb, about, _ := strings.Cut(name, " ")
				v := t.Verb(verb)
				switch {
				case v == nil || about != "" && v.Objects[about] == "":
					r.say("wait", fmt.Sprintf("there is no act %q", name), "use a word of plan/acts.toml, with one of its objects or without")
				case v.Waits(about) == "":
					r.say("wait", name+" has no name for where it waits", "write wait or waiting in plan/acts.toml")
				}
			}
			r.done()
			t.Rows = append(t.Rows, row)
		}
		f.done()
	}
	return t, found
}

// texts reads an optional table of texts.
func (f *fields) texts(key string) map[string]string {
	sub := f.sub(key)
	if sub == nil {
		return nil
	}
	out := map[string]string{}
	for k := range sub.table {
		out[k] = sub.need(k, "write its words")
	}
	return out
}

// readActs reads the acts of a rule and checks each against the vocabulary. A rule without acts is refused.
func readActs(f *fields) []Act {
	const remedy = `list what the text asks for, as in acts = ["leave-suction-off", "tell-prescriber bleeding"]; rule/plan/acts.toml has the words`
	if !f.has("acts") {
		f.say("acts", "is missing", remedy)
		return nil
	}
	list, ok := f.constant("acts").([]string)
	if !ok {
		f.say("acts", "is not a list of texts", remedy)
		return nil
	}
	var out []Act
	firm := 0
	for _, s := range list {
		a, wrong := parseAct(s)
		if wrong != "" {
			f.say("acts", fmt.Sprintf("%q %s", s, wrong), remedy)
			continue
		}
		if !a.If {
			firm++
		}
		out = append(out, a)
	}
	if firm == 0 {
		f.say("acts", "names none that holds without a condition", "name at least one")
	}
	return out
}

// parseAct reads one act, and says what is wrong with it.
func parseAct(s string) (a Act, wrong string) {
	rest, cond := strings.CutSuffix(s, "?")
	a.If = cond
	if before, level, ok := strings.Cut(rest, " at "); ok {
		rest, a.Level = before, Level(level)
		if a.Level.Rank() == len(Levels) {
			return a, fmt.Sprintf("has an unknown level; write one of %q", Levels)
		}
	}
	a.Do, a.About, _ = strings.Cut(rest, " ")
	v := Plans().Verb(a.Do)
	if v == nil {
		return a, "is no act"
	}
	_, known := v.Objects[a.About]
	switch {
	case a.About == "" && v.Say == "":
		return a, "does not say what it is about; write one of " + strings.Join(objects(v), ", ")
	case a.About != "" && !known:
		return a, "is about something that this act does not know; write one of " + strings.Join(objects(v), ", ")
	}
	return a, ""
}

func objects(v *Verb) []string {
	var out []string
	for o := range v.Objects {
		out = append(out, o)
	}
	sort.Strings(out)
	return out
}

// Acts returns what the outcome asks for, each with its level: for yes the acts of the rule, for "cannot tell" to find
// out what is missing, whose words are those of [Outcome.Missing].
func (o *Outcome) Acts() []Act {
	switch o.State {
	case Yes:
		out := make([]Act, len(o.Rule.Acts))
		for i, a := range o.Rule.Acts {
			if a.Level == "" {
				a.Level = o.Rule.Level
			}
			out[i] = a
		}
		return out
	case CannotTell:
		return []Act{{Do: "ask", Level: o.Level()}}
	}
	return nil
}
