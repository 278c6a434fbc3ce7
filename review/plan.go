package review

import (
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/rule"
	"lowtide/state"
)

// Step is one step of the plan: what to do, by when, and for which findings.
type Step struct {
	Level rule.Level `json:"level"`
	// Do is the one sentence that says it.
	Do  string     `json:"do"`
	Due *time.Time `json:"due,omitempty"`
	// Acts are the verbs of the step, in the order in which Do says them.
	Acts []string `json:"acts"`
	// Because lists the keys of the findings that ask for it, in the order of the findings.
	Because []string `json:"because"`
	// Waits says, a sentence each, what may not be done together with this step, and why.
	Waits []string `json:"waits,omitempty"`
}

// of finds the part of the plan by its first verb, so that it works for a step that was read from JSON, too.
func (s Step) of() rule.PlanStep {
	t := rule.Plans()
	return t.Step(t.Verb(s.Acts[0]).Step)
}

// Title names the part of the plan that the step belongs to.
func (s Step) Title() string { return s.of().Title }

// Form is where the nurse answers the step: signs, visit, note, pump, asked, record or measure; empty for none.
func (s Step) Form() string { return s.of().Form }

// planState is what the plan has to know of the patient besides the findings.
type planState struct {
	// off tells that suction is off; ran that it was on at least once; many that the case has several wounds.
	off, ran, many bool
}

// want is one act with everybody who asks for it. It stands, or waits by a row of the table.
type want struct {
	verb  *rule.Verb
	words string
	level rule.Level
	by    []int // findings, rising
	waits *rule.Precedence
}

// planner merges the acts of findings into steps.
type planner struct {
	table *rule.PlanTable
	state planState
	list  []Finding
	wants []*want
	byKey map[[2]string]*want // verb and words
}

// planOf merges what the findings ask for into steps. Acts that cannot go together are settled by the table. The text
// of a finding that has to wait is replaced by what is left of it, so that nobody who shows a review prints two
// instructions that fight.
func planOf(list []Finding, st planState) []Step {
	p := &planner{table: rule.Plans(), state: st, list: list, byKey: map[[2]string]*want{}}
	for i := range list {
		for _, a := range list[i].acts {
			if !a.If {
				p.add(i, a)
			}
		}
	}
	p.settle()
	p.cover()
	p.one()
	out := p.steps()
	for i := range list {
		p.reword(i)
	}
	return out
}

// add joins an act of a finding to the same act of others. The most urgent level counts.
func (p *planner) add(i int, a rule.Act) {
	v := p.table.Verb(a.Do)
	if v.First && p.state.ran {
		return
	}
	for _, words := range p.words(&p.list[i], v, a) {
		key := [2]string{v.Name, words}
		w := p.byKey[key]
		if w == nil {
			w = &want{verb: v, words: words, level: a.Level}
			p.byKey[key] = w
			p.wants = append(p.wants, w)
		}
		w.join(a.Level, i)
	}
}

func (w *want) join(level rule.Level, by ...int) {
	if level.Rank() < w.level.Rank() {
		w.level = level
	}
	for _, i := range by {
		if k := sort.SearchInts(w.by, i); k == len(w.by) || w.by[k] != i {
			w.by = append(w.by[:k], append([]int{i}, w.by[k:]...)...)
		}
	}
}

// words are the clause of an act, or what is missing for "cannot tell", each with the wound or pump that it is about.
func (p *planner) words(f *Finding, v *rule.Verb, a rule.Act) []string {
	list := []string{v.Words(a.About, p.state.off)}
	if a.About == "" && v.Say == "" {
		list = append([]string(nil), f.Missing...)
	}
	for k := range list {
		switch {
		case f.Pump != "":
			list[k] += " (pump " + f.Pump + ")"
		case f.Wound != "" && p.state.many:
			list[k] += " (wound " + f.Wound + ")"
		}
	}
	return list
}

// stands returns the wants of a verb that do not wait.
func (p *planner) stands(verb string) []*want {
	var out []*want
	for _, w := range p.wants {
		if w.verb.Name == verb && w.waits == nil {
			out = append(out, w)
		}
	}
	return out
}

// settle lets acts wait, row by row of the table.
func (p *planner) settle() {
	for i := range p.table.Rows {
		row := &p.table.Rows[i]
		if len(p.stands(row.First)) == 0 {
			continue
		}
		for _, verb := range row.Wait {
			for _, w := range p.stands(verb) {
				w.waits = row
			}
		}
	}
}

// cover joins an act to one that says it already.
func (p *planner) cover() {
	for i := range p.table.Verbs {
		v := &p.table.Verbs[i]
		over := p.stands(v.Name)
		if len(over) == 0 {
			continue
		}
		for _, name := range v.Covers {
			for _, w := range p.stands(name) {
				over[0].join(w.level, w.by...)
				p.drop(w)
			}
		}
	}
}

// one moves what is asked for today to what is asked for now, where the step is one.
func (p *planner) one() {
	now := map[string]bool{}
	for _, w := range p.wants {
		now[w.verb.Step] = now[w.verb.Step] || w.waits == nil && w.level == rule.ActNow
	}
	for _, w := range p.wants {
		if w.level == rule.Today && now[w.verb.Step] && p.table.Step(w.verb.Step).One {
			w.level = rule.ActNow
		}
	}
}

func (p *planner) drop(gone *want) {
	for k, w := range p.wants {
		if w == gone {
			p.wants = append(p.wants[:k], p.wants[k+1:]...)
			return
		}
	}
}

// steps groups the acts that stand by level and part of the plan.
func (p *planner) steps() []Step {
	groups := map[[2]int][]*want{}
	var order [][2]int
	for _, w := range p.wants {
		if w.waits != nil {
			continue
		}
		key := [2]int{w.level.Rank(), p.table.StepRank(w.verb.Step)}
		if groups[key] == nil {
			order = append(order, key)
		}
		groups[key] = append(groups[key], w)
	}
	sort.Slice(order, func(i, j int) bool {
		return order[i][0] < order[j][0] || order[i][0] == order[j][0] && order[i][1] < order[j][1]
	})
	out := make([]Step, 0, len(order))
	for _, key := range order {
		group := groups[key]
		s := Step{Level: group[0].level, Do: p.sentence(group)}
		by := map[int]bool{}
		for _, w := range group { // sentence has put them in order
			if !slices.Contains(s.Acts, w.verb.Name) {
				s.Acts = append(s.Acts, w.verb.Name)
			}
			for _, i := range w.by {
				by[i] = true
			}
		}
		for i := range p.list {
			if by[i] {
				s.Because = append(s.Because, p.list[i].Key())
				if due := p.list[i].Due; due != nil && (s.Due == nil || due.Before(*s.Due)) {
					s.Due = due
				}
			}
		}
		for _, verb := range s.Acts {
			for _, w := range p.wants {
				if w.waits != nil && w.waits.First == verb {
					if said := w.waiting() + p.unsaid(w); !slices.Contains(s.Waits, said) {
						s.Waits = append(s.Waits, said)
					}
				}
			}
		}
		out = append(out, s)
	}
	return out
}

func (w *want) waiting() string {
	return capital(w.verb.Wait) + " waits: " + w.waits.Because + "."
}

// unsaid are the headlines of findings that have no other act in the plan, so that none goes unsaid.
func (p *planner) unsaid(w *want) string {
	var out strings.Builder
	for _, i := range w.by {
		stands := false
		for _, x := range p.wants {
			k := sort.SearchInts(x.by, i)
			stands = stands || x.waits == nil && k < len(x.by) && x.by[k] == i
		}
		if !stands {
			out.WriteString(" " + p.list[i].Headline)
		}
	}
	return out.String()
}

// sentence says acts of one step and one level.
func (p *planner) sentence(group []*want) string {
	sort.SliceStable(group, func(i, j int) bool {
		return p.table.VerbRank(group[i].verb.Name) < p.table.VerbRank(group[j].verb.Name)
	})
	var clauses []string
	for _, w := range group {
		if !slices.Contains(clauses, w.words) {
			clauses = append(clauses, w.words)
		}
	}
	step := p.table.Step(group[0].verb.Step)
	joined := strings.Join(clauses, "; ")
	listed := joined
	if !strings.Contains(joined, ",") {
		listed = and(clauses)
	}
	when := map[rule.Level]string{rule.ActNow: "now", rule.Today: "today", rule.Plan: "by the next visit"}[group[0].level]
	say := strings.NewReplacer("{acts}", joined, "{objects}", listed, "{when}", when).Replace(step.Say)
	say = strings.NewReplacer(" .", ".", " :", ":", "  ", " ").Replace(say)
	return capital(say)
}

// and joins words as a sentence does.
func and(words []string) string {
	last := len(words) - 1
	if last < 1 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// reword replaces the text of a finding one of whose acts waits, or names under a condition what would have to wait.
func (p *planner) reword(i int) {
	f := &p.list[i]
	waits := false
	for _, a := range f.acts {
		for k := range p.table.Rows {
			row := &p.table.Rows[k]
			waits = waits || slices.Contains(row.Wait, a.Do) && len(p.stands(row.First)) > 0
		}
	}
	if !waits {
		return
	}
	groups := map[int][]*want{}
	var order []int
	var said []string
	for _, w := range p.wants {
		switch k := sort.SearchInts(w.by, i); {
		case k == len(w.by) || w.by[k] != i:
		case w.waits != nil:
			said = append(said, w.waiting())
		default:
			rank := p.table.StepRank(w.verb.Step)
			if groups[rank] == nil {
				order = append(order, rank)
			}
			groups[rank] = append(groups[rank], w)
		}
	}
	sort.Ints(order)
	var parts []string
	for _, rank := range order {
		parts = append(parts, p.sentence(groups[rank]))
	}
	f.Do = strings.Join(append(parts, said...), " ")
}

// Finding returns the finding with the key, or nil.
func (r *Review) Finding(key string) *Finding {
	for i := range r.Findings {
		if r.Findings[i].Key() == key {
			return &r.Findings[i]
		}
	}
	return nil
}

// Bars tells why an act may not be done while the plan stands, also where nobody asks for it; empty when nothing bars it.
func (r *Review) Bars(act string) string {
	for _, row := range rule.Plans().Rows {
		if r.Asks(row.First) && slices.Contains(row.Wait, act) {
			return row.Because
		}
	}
	return ""
}

// CallCase is what the case brings into a call, with what its plan bars.
func (r *Review) CallCase(m *state.CallModel) state.CallCase {
	k := r.State.CallCase(m)
	k.SuctionWaits, k.DressingStays = r.Bars("restore-suction"), r.Bars("dressing-off")
	return k
}

// Asks tells whether the plan asks for the act.
func (r *Review) Asks(act string) bool {
	for _, s := range r.Plan {
		if slices.Contains(s.Acts, act) {
			return true
		}
	}
	return false
}
