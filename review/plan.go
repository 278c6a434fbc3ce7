package review

import (
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/rule"
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
	// Forms are where the nurse answers it: kinds of entries, or asked, log or stores, the first act's first.
	Forms []string `json:"forms,omitempty"`
}

// of finds the part of the plan by its first verb, so that it works for a step that was read from JSON, too.
func (s Step) of() rule.PlanStep {
	t := rule.Plans()
	return t.Step(t.Verb(s.Acts[0]).Step)
}

// Title names the part of the plan that the step belongs to.
func (s Step) Title() string { return s.of().Title }

// fewClauses is up to how many things a sentence of a step says in a row; more are easier to follow as a list.
const fewClauses = 2

// List takes the sentence of a step apart where it says many things in a row: what stands before them, which may be empty,
// and each of them, with a capital letter. It returns no list for a sentence that is read in one breath.
func (s Step) List() (before string, list []string) {
	before, _, _ = strings.Cut(s.of().Say, "{")
	if before = strings.TrimSpace(before); before != "" && !strings.HasSuffix(before, ":") {
		return "", nil
	}
	said := strings.TrimSuffix(strings.TrimPrefix(s.Do, before), ".")
	list = strings.Split(strings.TrimSpace(said), "; ")
	if len(list) <= fewClauses {
		return "", nil
	}
	for i := range list {
		list[i] = capital(list[i])
	}
	return before, list
}

// planState is what the plan has to know of the patient besides the findings.
type planState struct {
	// off tells that suction is off; ran that it was on at least once; many that the case has several wounds.
	off, ran, many bool
	asOf           time.Time
	zone           *time.Location
}

// clause is one thing that is to be done: its words, the wound or pump that it is about, and the form that answers it.
type clause struct{ words, where, form string }

// want is one act with everybody who asks for it. It stands, or waits by a row of the table.
type want struct {
	clause
	verb  *rule.Verb
	about string
	level rule.Level
	by    []int // findings, rising
	waits *rule.Precedence
}

// wanted tells wants apart.
type wanted struct{ verb, words, where string }

// planner merges the acts of findings into steps.
type planner struct {
	table *rule.PlanTable
	state planState
	list  []Finding
	wants []*want
	byKey map[wanted]*want
}

// planOf merges what the findings ask for into steps. Acts that cannot go together are settled by the table. The text
// of a finding that has to wait is replaced by what is left of it, so that nobody who shows a review prints two
// instructions that fight.
func planOf(list []Finding, st planState) []Step {
	p := &planner{table: rule.Plans(), state: st, list: list, byKey: map[wanted]*want{}}
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
	for _, c := range p.clauses(&p.list[i], v, a) {
		key := wanted{v.Name, c.words, c.where}
		w := p.byKey[key]
		if w == nil {
			w = &want{clause: c, verb: v, about: a.About, level: a.Level}
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

// askedBy tells whether a finding asks for it.
func (w *want) askedBy(finding int) bool {
	_, asked := slices.BinarySearch(w.by, finding)
	return asked
}

// clauses say an act, or what is missing for "cannot tell", each with the wound or pump that it is about.
func (p *planner) clauses(f *Finding, v *rule.Verb, a rule.Act) []clause {
	where := ""
	switch {
	case f.Pump != "":
		where = "pump " + f.Pump
	case f.Wound != "" && p.state.many:
		where = "wound " + f.Wound
	}
	if a.About != "" || v.Say != "" {
		return []clause{{v.Words(a.About, p.state.off), where, p.table.Form(v, a.About)}}
	}
	var list []clause
	for k, words := range f.Missing {
		list = append(list, clause{words, where, p.table.FormFor(f.missing[k])})
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
		for _, w := range p.wants {
			if w.waits == nil && row.Holds(w.verb.Name, w.about) {
				w.waits = row
			}
		}
	}
}

// cover joins an act to one that stands and says it already, also one that would have to wait.
func (p *planner) cover() {
	for i := range p.table.Verbs {
		v := &p.table.Verbs[i]
		stands := p.stands(v.Name)
		over := slices.IndexFunc(stands, func(w *want) bool { return w.about == "" })
		if len(v.Covers) == 0 || over < 0 {
			continue
		}
		for _, w := range slices.Clone(p.wants) {
			if slices.Contains(v.Covers, w.verb.Name) && (w.verb != v || w.about != "") {
				stands[over].join(w.level, w.by...)
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
		sort.SliceStable(group, func(i, j int) bool {
			return p.table.VerbRank(group[i].verb.Name) < p.table.VerbRank(group[j].verb.Name)
		})
		s := Step{Level: group[0].level, Due: p.due(group)}
		s.Do = p.sentence(group, s.Due)
		by := map[int]bool{}
		for _, w := range group {
			if w.form != "" && !slices.Contains(s.Forms, w.form) {
				s.Forms = append(s.Forms, w.form)
			}
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
			}
		}
		for _, verb := range s.Acts {
			s.Waits = append(s.Waits, p.waiting(func(w *want) bool { return w.waits.First == verb }, true)...)
		}
		out = append(out, s)
	}
	return out
}

// due is when a step is due: the earliest time of the findings of its level. Where one of them has none, or an act has
// another level than its finding, the level says when, and a later time does not count.
func (p *planner) due(group []*want) *time.Time {
	var first *time.Time
	level, byLevel := group[0].level, false
	for _, w := range group {
		for _, i := range w.by {
			f := &p.list[i]
			if f.Level != level || f.Due == nil {
				byLevel = true
			} else if first == nil || f.Due.Before(*first) {
				first = f.Due
			}
		}
	}
	switch {
	case first == nil || !byLevel:
	case level == rule.ActNow && first.After(p.state.asOf), level == rule.Today && !first.Before(p.dayEnds()):
		return nil
	}
	return first
}

// dayEnds is the midnight after now at the patient's.
func (p *planner) dayEnds() time.Time {
	y, m, d := p.state.asOf.In(p.state.zone).Date()
	return time.Date(y, m, d+1, 0, 0, 0, 0, p.state.zone)
}

// when says it in a sentence, so that the sentence and the due time agree.
func (p *planner) when(level rule.Level, due *time.Time) string {
	switch {
	case level == rule.ActNow:
		return "now"
	case level == rule.Today && (due == nil || due.Before(p.dayEnds())),
		level == rule.Plan && due != nil && !due.Before(p.state.asOf) && due.Before(p.dayEnds()):
		return "today"
	case level != rule.Today && level != rule.Plan || due != nil && due.Before(p.state.asOf):
		return ""
	case due == nil:
		return "by the next visit"
	}
	return dueDay(due.In(p.state.zone))
}

func dueDay(due time.Time) string { return "by " + due.Format("Mon 2 Jan") }

// DueApart is the due time of a step whose sentence does not name the day already, nil otherwise: what a reader is shown
// beside the sentence, so that no day is said twice.
func (s Step) DueApart(zone *time.Location) *time.Time {
	if s.Due == nil || strings.Contains(s.Do, dueDay(s.Due.In(zone))) {
		return nil
	}
	return s.Due
}

// waiting says which of the acts that wait may not be done, and why, one sentence for each reason, and, where it is
// asked, the headlines that would go unsaid.
func (p *planner) waiting(is func(*want) bool, unsaid bool) []string {
	var out []string
	for i := range p.table.Rows {
		row := &p.table.Rows[i]
		var names []string
		rest := ""
		for _, w := range p.wants {
			if w.waits != row || !is(w) {
				continue
			}
			if name := w.verb.Waits(w.about); !slices.Contains(names, name) {
				names = append(names, name)
			}
			if more := p.unsaid(w); unsaid && !strings.Contains(rest, more) {
				rest += more
			}
		}
		switch len(names) {
		case 0:
		case 1:
			out = append(out, capital(names[0])+" waits: "+row.Because+"."+rest)
		default:
			out = append(out, capital(and(names))+" wait: "+row.Because+"."+rest)
		}
	}
	return out
}

// unsaid are the headlines of findings that have no other act in the plan, so that none goes unsaid.
func (p *planner) unsaid(w *want) string {
	var out strings.Builder
	for _, i := range w.by {
		stands := false
		for _, x := range p.wants {
			stands = stands || x.waits == nil && x.askedBy(i)
		}
		if !stands {
			out.WriteString(" " + p.list[i].Headline)
		}
	}
	return out.String()
}

// sentence says acts of one step and one level.
func (p *planner) sentence(group []*want, due *time.Time) string {
	var words []string
	where := map[string][]string{}
	for _, w := range group {
		if !slices.Contains(words, w.words) {
			words = append(words, w.words)
		}
		where[w.words] = append(where[w.words], w.where)
	}
	clauses := make([]string, len(words))
	for i, x := range words {
		clauses[i] = x + places(where[x])
	}
	step := p.table.Step(group[0].verb.Step)
	joined := strings.Join(clauses, "; ")
	listed := joined
	if !strings.Contains(joined, ",") {
		listed = and(clauses)
	}
	out := strings.NewReplacer("{acts}", joined, "{objects}", listed, "{when}", p.when(group[0].level, due)).Replace(step.Say)
	return capital(strings.NewReplacer(" .", ".", " :", ":", "  ", " ").Replace(out))
}

// places says the wounds and pumps of a clause; one that is about the whole case needs none.
func places(where []string) string {
	var names []string
	kind := ""
	for _, w := range where {
		if w == "" {
			return ""
		}
		k, name, _ := strings.Cut(w, " ")
		if kind != "" && k != kind {
			return " (" + and(where) + ")"
		}
		kind, names = k, append(names, name)
	}
	if len(names) > 1 {
		kind += "s"
	}
	return " (" + kind + " " + and(names) + ")"
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
			waits = waits || row.Holds(a.Do, a.About) && len(p.stands(row.First)) > 0
		}
	}
	if !waits {
		return
	}
	groups := map[int][]*want{}
	var order []int
	asked := func(w *want) bool { return w.askedBy(i) }
	for _, w := range p.wants {
		if asked(w) && w.waits == nil {
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
		parts = append(parts, p.sentence(groups[rank], nil))
	}
	f.Do = strings.Join(append(parts, p.waiting(asked, false)...), " ")
}

// Bars tells why an act may not be done while the plan stands, also where nobody asks for it; empty when nothing bars it.
func (r *Review) Bars(act string) string {
	for _, row := range rule.Plans().Rows {
		if r.Asks(row.First) && row.Holds(act, "") {
			return row.Because
		}
	}
	return ""
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
