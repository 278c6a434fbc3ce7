package trouble

import (
	"sort"
	"strings"
	"time"

	"lowtide/unit"
)

// State is what is known in a call. Maps may be nil; what is not in them was not asked.
type State struct {
	AsOf time.Time
	// OffSince is when therapy went off; zero is not known. Runs says that therapy is known to run.
	OffSince time.Time
	Runs     bool
	// Danger holds "yes", "no" or "unknown" by the danger's ID, Signs an answer's ID or "unknown" by the sign's.
	Danger map[string]string
	Signs  map[string]string
	// Checks are what was done, in its order, and the steps for the patient that were read out.
	Checks []Outcome
	// OffLimitH is how long a sealed dressing may stay without suction, hours; without it Advise panics.
	OffLimitH float64
	// VisitMin is how long it takes until somebody trained is there; 0 takes the setting.
	VisitMin float64
	// SuctionWaits says why nobody may be told to bring suction back, and DressingStays why the dressing may not come off,
	// each as the part of a sentence behind a colon; empty when nothing bars it. What bars the second bars the first.
	SuctionWaits, DressingStays string
}

// DangerLine is one danger question with its answer.
type DangerLine struct {
	ID     string `json:"id"`
	Words  string `json:"words"`
	Ask    string `json:"ask"`
	Answer string `json:"answer"` // yes, no, unknown; "not asked" when it was not asked
	// Do is what to do for the patient, for yes and unknown.
	Do string `json:"do,omitempty"`
}

// Ranked is a cause with its chance. First says why it stands before causes with a greater chance.
type Ranked struct {
	ID     string  `json:"id"`
	Words  string  `json:"words"`
	Chance float64 `json:"chance"`
	First  string  `json:"first,omitempty"`
}

// Next is what to ask, to check or to do next.
type Next struct {
	// Kind is "danger", "patient", "filler", "question", "check", "visit" or "end".
	Kind string `json:"kind"`
	// Check is the ID of the question or check; danger questions and steps for the patient carry their prefix.
	Check   string  `json:"check"`
	Minutes float64 `json:"minutes"`
	Say     string  `json:"say"`
	// Why says why this comes now.
	Why string `json:"why"`
	// Needs is what must be at hand; Answers are those of a question.
	Needs   string   `json:"needs,omitempty"`
	Answers []Answer `json:"answers,omitempty"`
}

// Advice is what a call comes to so far.
type Advice struct {
	Danger []DangerLine `json:"danger"`
	// Causes has every cause, by chance; bleeding stands first while a danger answer is yes or not known.
	Causes []Ranked `json:"causes"`
	Next   Next     `json:"next"`
	// Then are the checks that would follow if Next changes nothing.
	Then []string `json:"then"`
	// MinutesLeft is the expected time to resolution.
	MinutesLeft float64 `json:"minutes_left"`
	// OffLimitAt is when the filler must be out; nil when it is not known since when therapy is off, or it runs.
	OffLimitAt *time.Time `json:"off_limit_at"`
	Clock      Clock      `json:"clock"`
	// Found is the likeliest cause once a check has mended it.
	Found string `json:"found,omitempty"`
	Calls int    `json:"calls_counted"`
	Model string `json:"model"`
}

// minutesDanger is the time that a danger question or a step for the patient takes.
const minutesDanger = 0.5

// Advise says what is likely and what comes next.
func (m *Model) Advise(s State) Advice {
	if !(s.VisitMin > 0) {
		s.VisitMin = m.Setting("visit_min")
	}
	p := m.Posterior(s)
	a := Advice{Danger: m.dangerLines(s), Clock: m.clock(s), Calls: m.Calls, Model: "trouble " + m.Hash[:12], Then: []string{}}
	a.Causes = m.rank(p, s)
	a.OffLimitAt = a.Clock.LimitAt
	pl, left := m.planner(s.VisitMin), m.left(s)
	order, expect := pl.plan(p, left)
	a.MinutesLeft = expect
	for _, i := range order {
		a.Then = append(a.Then, m.Checks[i].ID)
	}
	if next, ok := m.first(s, a.Clock); ok {
		if a.Next = next; s.barred() != "" {
			a.Then = []string{}
		}
		return a
	}
	if fixed := s.fixed(); fixed != "" {
		a.MinutesLeft, a.Then, a.Found = 0, []string{}, m.found(p, fixed)
		a.Next = Next{Kind: End, Check: End, Say: "Good. Watch it for a few minutes. Call again when it starts again, and at once for bright red blood.", Why: "the last check mended it"}
		return a
	}
	if q, ok := pl.ask(p, s, left, expect); ok {
		g := &m.Signs[q.sign]
		a.Next = Next{Kind: "question", Check: g.ID, Minutes: g.Minutes, Say: g.Ask, Answers: g.Answers, Why: "the answer tells what to try"}
		return a
	}
	if len(order) > 0 {
		c := &m.Checks[order[0]]
		hit := 0.0
		for i := range p {
			hit += p[i] * c.Finds[m.Causes[i].ID]
		}
		a.Next, a.Then = Next{Kind: "check", Check: c.ID, Minutes: c.Minutes, Say: c.Say, Needs: c.Needs, Why: "the chance that it mends it is " + unit.Chance(hit)}, a.Then[1:]
		return a
	}
	a.Next = Next{Kind: Visit, Check: Visit, Minutes: s.VisitMin, Say: "Somebody trained has to come and look. Leave the dressing as it is until then, and keep an eye on it.",
		Why: "what can be done on the phone has too little chance for its time"}
	return a
}

// barred is why nobody works at the pump; empty when nothing bars it.
func (s State) barred() string {
	if s.DressingStays != "" {
		return s.DressingStays
	}
	return s.SuctionWaits
}

// fixed is the check that mended it, if one did.
func (s State) fixed() string {
	for i := len(s.Checks) - 1; i >= 0; i-- {
		if s.Checks[i].Result == Fixed {
			return s.Checks[i].Check
		}
	}
	return ""
}

// found is the likeliest cause that the check mends; "other" when the model knows none.
func (m *Model) found(p []float64, check string) string {
	c := m.Check(check)
	best, at := 0.0, "other"
	for i := range p {
		id := m.Causes[i].ID
		if c != nil && c.Finds[id] > 0 && p[i] > best {
			best, at = p[i], id
		}
	}
	return at
}

// CareOf is the danger question that a step for the patient belongs to: what was read out after a yes, or after "cannot
// tell".
func CareOf(step string) (danger string, ok bool) {
	for _, prefix := range []string{prefixCare, prefixLook} {
		if d, cut := strings.CutPrefix(step, prefix); cut {
			return d, true
		}
	}
	return "", false
}

// asks tells whether a danger question belongs to the call: always, or because an answer raises it. One that was answered
// stays.
func (d *Danger) asks(s State) bool {
	if len(d.Raised) == 0 || s.Danger[d.ID] != "" {
		return true
	}
	for _, r := range d.Raised {
		all := true
		for sign, answer := range r {
			all = all && s.Signs[sign] == answer
		}
		if all {
			return true
		}
	}
	return false
}

// Unasked are the danger questions of the call that nobody put yet.
func (m *Model) Unasked(s State) []*Danger {
	var out []*Danger
	for i := range m.Dangers {
		if d := &m.Dangers[i]; d.asks(s) && s.Danger[d.ID] == "" {
			out = append(out, d)
		}
	}
	return out
}

// did tells whether a step was done or read out, or could not be.
func (s State) did(step string) bool {
	for _, o := range s.Checks {
		if o.Check == step {
			return true
		}
	}
	return false
}

// first is what comes before all talk about equipment: a danger question that was not asked, what to do for the patient,
// and the filler at the limit. Nothing about equipment follows a yes to any of the questions. "Cannot tell" about blood and
// breathing sends somebody to look, and is then asked once more with two answers: yes, or nobody can look; and no.
func (m *Model) first(s State, k Clock) (Next, bool) {
	// Whatever was answered with a yes is acted on before the next question is asked.
	for i := range m.Dangers {
		d := &m.Dangers[i]
		if !d.asks(s) {
			continue
		}
		switch v := s.Danger[d.ID]; {
		case v == Yes && !s.did(prefixCare+d.ID):
			return Next{Kind: "patient", Check: prefixCare + d.ID, Minutes: minutesDanger, Say: m.fill(d.Yes), Why: "the patient first: " + d.Words}, true
		case v == Unknown && !s.did(prefixLook+d.ID):
			return Next{Kind: "patient", Check: prefixLook + d.ID, Minutes: minutesDanger, Say: m.fill(d.Unknown), Why: "nobody knows about " + d.Words}, true
		case v == Unknown && d.Stop:
			return Next{Kind: "danger", Check: prefixFirst + d.ID, Minutes: minutesDanger, Say: "Now that somebody looked: " + d.Ask, Why: "nobody touches the pump before this is answered; cannot tell counts as yes",
				Answers: []Answer{{Yes, "Yes, or nobody can look"}, {No, "No"}}}, true
		case v != Yes && v != Unknown && v != No:
			return Next{Kind: "danger", Check: prefixFirst + d.ID, Minutes: minutesDanger, Say: d.Ask, Why: "danger questions come first and cannot be skipped",
				Answers: []Answer{{Yes, "Yes"}, {No, "No"}, {Unknown, "Cannot tell"}}}, true
		}
	}
	for i := range m.Dangers {
		if d := &m.Dangers[i]; d.Stop && s.Danger[d.ID] == Yes {
			return Next{Kind: End, Check: End, Say: "Stay with the patient until help is there. The pump stays as it is.", Why: "a danger answer is yes: this is no equipment call any more"}, true
		}
	}
	if s.DressingStays != "" {
		return Next{Kind: Visit, Check: Visit, Minutes: s.VisitMin, Say: "Leave the pump and the dressing as they are. Do not switch the pump on, and do not pull at the dressing. Somebody trained has to come, and I ask the prescriber.",
			Why: "the dressing stays on: " + s.DressingStays}, true
	}
	yes, _ := m.Open(s)
	if k.Passed {
		if !s.did(FillerOut) {
			return Next{Kind: "filler", Check: FillerOut, Minutes: m.Setting("swap_min"), Say: fillerSay, Why: k.Words}, true
		}
		return Next{Kind: End, Check: End, Say: "The dressing has to come off now, whatever the pump does. Leave it to somebody trained.", Why: k.Words}, true
	}
	if yes {
		return Next{Kind: Visit, Check: Visit, Minutes: s.VisitMin, Say: "Somebody trained has to come and look at the patient and the wound. Leave pump and dressing as they are until then.",
			Why: "a danger answer is yes: the patient is looked at before anybody works at the pump"}, true
	}
	if s.SuctionWaits != "" {
		return Next{Kind: Visit, Check: Visit, Minutes: s.VisitMin, Say: "Leave the pump as it is, and do not switch it on. Leave the dressing alone. Somebody trained has to come and look.",
			Why: "suction is not brought back on the telephone: " + s.SuctionWaits}, true
	}
	return Next{}, false
}

// fillerSay is what is said at the limit. Our own wording; the limit is an input.
const fillerSay = "The dressing has been without suction for too long. Do not simply switch the pump on again. Somebody trained must take the filler out now, count the pieces, and put a moist dressing on. I find out who comes. Please do not pull at it yourself."

// fill puts the local emergency number in.
func (m *Model) fill(text string) string {
	n := m.Emergency
	if n == "" {
		n = "the local emergency number"
	}
	return strings.ReplaceAll(text, "{emergency}", n)
}

func (m *Model) dangerLines(s State) []DangerLine {
	out := make([]DangerLine, 0, len(m.Dangers))
	for i := range m.Dangers {
		d := &m.Dangers[i]
		if !d.asks(s) {
			continue
		}
		l := DangerLine{ID: d.ID, Words: d.Words, Ask: d.Ask, Answer: "not asked"}
		switch v := s.Danger[d.ID]; v {
		case Yes:
			l.Answer, l.Do = v, m.fill(d.Yes)
		case Unknown:
			l.Answer, l.Do = v, m.fill(d.Unknown)
		case No:
			l.Answer = v
		}
		out = append(out, l)
	}
	return out
}

// Open tells whether a danger answer is yes, or not known: not asked, or nobody could tell.
func (m *Model) Open(s State) (yes, unknown bool) {
	for i := range m.Dangers {
		if !m.Dangers[i].asks(s) {
			continue
		}
		switch s.Danger[m.Dangers[i].ID] {
		case Yes:
			yes = true
		case No:
		default:
			unknown = true
		}
	}
	return yes, unknown
}

// Stopped is Open of the questions that send a call to emergency help.
func (m *Model) Stopped(s State) (yes, unknown bool) {
	for i := range m.Dangers {
		if d := &m.Dangers[i]; d.Stop && d.asks(s) {
			yes = yes || s.Danger[d.ID] == Yes
			unknown = unknown || s.Danger[d.ID] != Yes && s.Danger[d.ID] != No
		}
	}
	return yes, unknown
}

// rank orders the causes by chance. While a danger answer is yes or not known bleeding stands first, whatever its chance.
func (m *Model) rank(p []float64, s State) []Ranked {
	out := make([]Ranked, len(p))
	for i := range p {
		out[i] = Ranked{ID: m.Causes[i].ID, Words: m.Causes[i].Words, Chance: p[i]}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Chance > out[j].Chance })
	yes, unknown := m.Open(s)
	if !yes && !unknown {
		return out
	}
	for i := range out {
		if out[i].ID == "bleeding" {
			b := out[i]
			copy(out[1:i+1], out[:i])
			b.First = "a danger question is not answered"
			if yes {
				b.First = "a danger answer is yes"
			}
			out[0] = b
			break
		}
	}
	return out
}

// With is the state after a step was answered: with an answer's ID for questions, what a check came to, or "said".
func (s State) With(n Next, answer string) State {
	put := func(m map[string]string, id string) map[string]string {
		out := make(map[string]string, len(m)+1)
		for k, v := range m {
			out[k] = v
		}
		out[id] = answer
		return out
	}
	switch n.Kind {
	case "danger":
		id := strings.TrimPrefix(n.Check, prefixFirst)
		if answer == Unknown && s.Danger[id] == Unknown && s.did(prefixLook+id) {
			answer = Yes
		}
		s.Danger = put(s.Danger, id)
	case "question":
		s.Signs = put(s.Signs, n.Check)
	default:
		s.Checks = append(append([]Outcome(nil), s.Checks...), Outcome{n.Check, answer})
	}
	return s
}
