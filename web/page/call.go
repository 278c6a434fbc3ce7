package page

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lowtide/casebook"
	"lowtide/caseload"
	"lowtide/rule/value"
	"lowtide/state"
	"lowtide/unit"
)

// CallDeskPage starts calls and takes over those that are open.
type CallDeskPage struct {
	Frame
	// Query is the name that was looked for, Found the cases with it and FoundWords what there is to say about them.
	Query      string
	Found      []CallStart
	FoundWords string
	Open       []CallLine
	OpenWords  string
	Key        string
}

// CallStart starts a call about a case.
type CallStart struct{ Name, Where, Action, Key string }

// CallLine is an open call in the list.
type CallLine struct{ Href, Words, When string }

// CallPage is one step of a call, with everything around it.
type CallPage struct {
	Frame
	Heading string
	// CaseHref leads to the case; empty for a call that belongs to none.
	CaseHref string
	Action   string
	Key      string
	// Taken says who wrote last and that the call can be led on from anywhere.
	Taken   string
	Problem string
	// Ended says how the call ended; then there is no step.
	Ended string
	Clock CallClock
	Step  CallStep
	// Plan is what the case's plan asks for now and today.
	Plan []PlanLevel
	// Causes are the likely ones, Rest how much is left over.
	Causes []CallCause
	Rest   string
	Then   []string
	Facts  []CallFact
	Said   []CallSaid
	// ComesWho and ComesAt are what was planned.
	ComesWho, ComesAt string
	Caller, Phone     string
	End               CallEnd
	// Link is for a call without a case.
	Link  bool
	Query string
	Found []CallStart
	// FoundWords says that nobody was found, or that the search could not look at everybody.
	FoundWords string
	// Asked are the danger questions with their answers.
	Danger []CallSaid
	Basis  string
}

// CallClock is the time off against its limit.
type CallClock struct {
	Words, Limit, Left string
	// LimitMS is the limit in milliseconds since 1970, for the script that counts; empty when not known.
	LimitMS string
	Now     bool
	Where   string
	LeaveBy string
	People  []CallPerson
}

// CallPerson is somebody to call.
type CallPerson struct{ Role, Name, Phone, Tel string }

// CallStep is what to read out and how to answer.
type CallStep struct {
	ID, Heading, Say, Why, Needs, Minutes string
	Buttons                               []Option
	// Help is for the nurse, not to be read out.
	Help string
}

// CallCause is one cause in the list.
type CallCause struct{ Words, Chance, First string }

// CallFact is what the case knows.
type CallFact struct {
	Words, Value string
	Entries      []Link
}

// CallSaid is one answer with a way to change it.
type CallSaid struct{ Words, Value, Again string }

// CallEnd is the form that ends a call.
type CallEnd struct {
	Open    bool
	Hows    []Option
	Found   []Option
	Therapy []Option
	// Needs says what is missing before the call can end as settled.
	Needs string
}

// offTimes are the answers to since when therapy is off: minutes ago up to the limit, or a word.
func offTimes(v value.Values) []Option {
	out := []Option{{Value: "runs", Words: "It runs now"}, {Value: "0", Words: "Just now"}}
	most := int(math.Ceil(v.In(value.OffLimit, "min")))
	for _, o := range []Option{{Value: "15", Words: "About a quarter of an hour"}, {Value: "30", Words: "About half an hour"}, {Value: "60", Words: "About an hour"}, {Value: "90", Words: "About an hour and a half"}} {
		if min, _ := strconv.Atoi(o.Value); min < most {
			out = append(out, o)
		}
	}
	return append(out, Option{Value: strconv.Itoa(most), Words: v.Text(value.OffLimit) + " or more"}, Option{Value: "unknown", Words: "Cannot tell"})
}

// CallOffStep is the ID of the question since when therapy is off.
const CallOffStep = "off-time"

// CallInput is what a call's page is drawn from.
type CallInput struct {
	Call   *casebook.Call
	Case   state.CallCase
	Model  *state.CallModel
	Clock  Clock
	Key    string
	Values value.Values
	// CaseID is empty for a call that belongs to no case. Again is a question to be asked once more.
	CaseID, Again string
}

// CallPath is the address of a call.
func CallPath(caseID, call string) string {
	if caseID == "" {
		return "/call/" + call
	}
	return CasePath(caseID, "call", call)
}

// NewCall draws a call. The advice is that of the model; nothing is decided here.
func NewCall(frame Frame, in CallInput) CallPage {
	s := state.CallStateOf(in.Call, in.Case, in.Values, in.Clock.Now)
	a := in.Model.Advise(s)
	p := CallPage{Frame: frame, Heading: "Call", Action: CallPath(in.CaseID, in.Call.ID), Key: in.Key, Link: in.CaseID == "",
		Basis: fmt.Sprintf("Chances of a model (%s), most of its numbers from memory; %s counted here so far. They order what to ask; they are no diagnosis.", a.Model, countWords(a.Calls, "ended call", "ended calls"))}
	if in.Model.Local != "" {
		p.Basis += " Local numbers in force: " + in.Model.Local + "."
	}
	if in.Call.Caller != "" {
		p.Heading += " from " + in.Call.Caller
	}
	if in.CaseID != "" {
		p.CaseHref = CasePath(in.CaseID)
		p.Heading += " about " + frame.Person
	} else if in.Call.Patient != "" {
		p.Heading += " about " + in.Call.Patient
	}
	p.Taken = fmt.Sprintf("Began %s; last word %s by %s.", in.Clock.near(in.Call.Began), in.Clock.near(in.Call.Last), in.Call.Author)
	if in.Call.Phone != "" {
		p.Taken += " Telephone " + in.Call.Phone + "."
	}
	p.clock(in, a)
	p.causes(a)
	p.record(in)
	p.ComesWho, p.Caller, p.Phone = in.Call.ComesWho, in.Call.Caller, in.Call.Phone
	if in.Call.ComesAt != nil {
		p.ComesAt = LocalValue(in.Call.ComesAt.In(in.Clock.Zone), in.Clock.Zone)
	}
	if in.Call.Ended != "" {
		p.Ended = "This call ended: " + in.Call.Ended
		if in.Call.Found != "" {
			p.Ended += "; found: " + state.CallCause(in.Call.Found)
		}
		p.Ended += "."
		return p
	}
	p.step(in, a)
	p.end(in, a)
	return p
}

func (p *CallPage) clock(in CallInput, a state.CallAdvice) {
	k := &p.Clock
	k.Words, k.Where, k.Now = a.Clock.Words, in.Case.Where, a.Clock.CallNow && a.Clock.Known && a.Clock.LimitAt != nil
	if t := a.OffLimitAt; t != nil && in.Case.DressingStays == "" {
		k.Limit, k.LimitMS = in.Clock.near(*t), strconv.FormatInt(t.UnixMilli(), 10)
		k.Left = leftWords(a.Clock.LeftMin)
		k.LeaveBy = "To be in time somebody has to set out by " + in.Clock.near(*a.Clock.LeaveBy) + " (" + unit.Duration(in.Case.VisitMin/60).String() + " to get there: " + in.Case.VisitWords + "; then the change)."
	}
	for _, x := range in.Case.People {
		k.People = append(k.People, CallPerson{Role: sentence(x.Role), Name: x.Name, Phone: x.Phone, Tel: tel(x.Phone)})
	}
}

// leftWords says how much of the time off is left.
func leftWords(min float64) string {
	switch {
	case min <= 0:
		return "the limit is passed"
	case min < 1.5:
		return "1 minute left"
	}
	return unit.Number(min, 0) + " minutes left"
}

// mostCauses is how many causes the page lists.
const mostCauses = 5

func (p *CallPage) causes(a state.CallAdvice) {
	rest := 1.0
	for i, c := range a.Causes {
		if i >= mostCauses && c.ID != "bleeding" && c.ID != "not-equipment" {
			continue
		}
		rest -= c.Chance
		p.Causes = append(p.Causes, CallCause{c.Words, unit.Chance(c.Chance), c.First})
	}
	p.Rest = "Everything else together: " + unit.Chance(max(rest, 0)) + "."
	for _, id := range a.Then {
		p.Then = append(p.Then, state.CallCheckWords(id))
	}
}

// record lists what the case knows and what was said.
func (p *CallPage) record(in CallInput) {
	for _, f := range in.Case.Facts {
		v := CallFact{Words: sentence(f.Words), Value: f.Value}
		for _, e := range f.Entries {
			if len(v.Entries) < 3 && in.CaseID != "" {
				v.Entries = append(v.Entries, Link{LogPath(in.CaseID, e), "entry"})
			}
		}
		p.Facts = append(p.Facts, v)
	}
	for _, x := range in.Call.Answers {
		words, value := state.CallQuestion(x.Question, x.Answer)
		l := CallSaid{sentence(words), value, p.Action + "?again=" + x.Question}
		if strings.HasPrefix(x.Question, "danger:") {
			p.Danger = append(p.Danger, l)
		} else {
			p.Said = append(p.Said, l)
		}
	}
	switch {
	case in.Call.Therapy == "on":
		p.Said = append(p.Said, CallSaid{"Therapy", "runs", p.Action + "?again=" + CallOffStep})
	case in.Call.OffSince != nil:
		p.Said = append(p.Said, CallSaid{"Therapy off since", in.Clock.near(*in.Call.OffSince), p.Action + "?again=" + CallOffStep})
	}
	for _, x := range in.Call.Checks {
		if x.Check == CallOffStep {
			continue
		}
		p.Said = append(p.Said, CallSaid{Words: sentence(state.CallCheckWords(x.Check)), Value: x.Result})
	}
}

var stepHeadings = map[string]string{"danger": "Ask first", "patient": "For the patient, now", "filler": "The limit is reached", "question": "Ask", "check": "Have them do this",
	"visit": "Somebody has to come", "end": "End of the call"}

var resultButtons = []Option{{Value: "fixed", Words: "That mended it"}, {Value: "not fixed", Words: "Done, and no change"}, {Value: "could not do", Words: "They could not do it"}}

func (p *CallPage) step(in CallInput, a state.CallAdvice) {
	if q, ok := askedAgain(in); ok {
		p.Step = q
		return
	}
	n := a.Next
	offAsked := in.Call.Therapy == "on" || in.Call.OffSince != nil
	for _, x := range in.Call.Checks {
		offAsked = offAsked || x.Check == CallOffStep
	}
	// The clock comes after the patient and before the pump.
	if !offAsked && n.Kind != "danger" && n.Kind != "patient" && n.Kind != "end" {
		p.Step = offStep(in)
		return
	}
	p.Step = CallStep{ID: n.Check, Heading: stepHeadings[n.Kind], Say: n.Say, Why: sentence(n.Why) + "."}
	if n.Needs != "" {
		p.Step.Needs = "Needed: " + n.Needs + ". Ask first whether it is there."
	}
	switch n.Kind {
	case "danger", "question":
		for _, x := range n.Answers {
			p.Step.Buttons = append(p.Step.Buttons, Option{Value: x.ID, Words: x.Words})
		}
		if n.Kind == "question" {
			p.Step.Buttons = append(p.Step.Buttons, Option{Value: "unknown", Words: "Cannot tell"})
		}
		if n.Check == "shown" && len(in.Case.Ordered) > 0 {
			var list []string
			for _, x := range in.Case.Ordered {
				list = append(list, unit.Number(x, 0)+" mmHg")
			}
			p.Step.Help = "Ordered: " + strings.Join(list, ", then ") + "."
		}
	case "patient":
		p.Step.Buttons = []Option{{Value: "said", Words: "I read it out, go on"}}
	case "filler":
		p.Step.Buttons = []Option{{Value: "said", Words: "I said it, go on"}}
	case "check":
		p.Step.Buttons = resultButtons
		p.Step.Minutes = "About " + unit.Number(n.Minutes, 1) + " min."
	}
}

func offStep(in CallInput) CallStep {
	s := CallStep{ID: CallOffStep, Heading: "Ask for the clock", Say: "Since when does the pump not draw? When did you last see it work?", Why: in.Values.Fill("After {off_limit} without suction the filler has to come out."), Buttons: offTimes(in.Values)}
	if !in.Case.OffSince.IsZero() {
		s.Help = "The record says: off since " + in.Clock.near(in.Case.OffSince) + "."
	}
	return s
}

// askedAgain draws a question that was answered before, so that a slip can be put right.
func askedAgain(in CallInput) (CallStep, bool) {
	if in.Again == CallOffStep {
		return offStep(in), true
	}
	if in.Call.Answer(in.Again) == "" {
		return CallStep{}, false
	}
	s := CallStep{ID: in.Again, Heading: "Ask again", Why: "The new answer counts."}
	if id, ok := strings.CutPrefix(in.Again, "danger:"); ok {
		if d := in.Model.Danger(id); d != nil {
			s.Say, s.Buttons = d.Ask, []Option{{Value: "yes", Words: "Yes"}, {Value: "no", Words: "No"}, {Value: "unknown", Words: "Cannot tell"}}
			return s, true
		}
	}
	if g := in.Model.Sign(in.Again); g != nil && g.Ask != "" {
		s.Say = g.Ask
		for _, x := range g.Answers {
			s.Buttons = append(s.Buttons, Option{Value: x.ID, Words: x.Words})
		}
		s.Buttons = append(s.Buttons, Option{Value: "unknown", Words: "Cannot tell"})
		return s, true
	}
	return CallStep{}, false
}

// callEnds are the ends that a nurse can choose, in the order of the form.
var callEnds = []Option{{Value: "settled", Words: "Settled: it works"}, {Value: "somebody comes", Words: "Somebody goes to the patient"}, {Value: "emergency help", Words: "Emergency help was called"},
	{Value: "handed on", Words: "Handed on to a colleague"}, {Value: "broken off", Words: "The call broke off"}}

func (p *CallPage) end(in CallInput, a state.CallAdvice) {
	how, therapy := "", in.Call.Therapy
	switch a.Next.Kind {
	case "visit":
		how = "somebody comes"
	case "end":
		how = "settled"
		if yes, _ := in.Model.Open(state.CallStateOf(in.Call, in.Case, in.Values, in.Clock.Now)); yes && a.Found == "" {
			how = "emergency help"
		}
		if a.Clock.Passed {
			how = "somebody comes"
		}
	}
	if a.Found != "" {
		therapy = "on"
	}
	p.End.Open = a.Next.Kind == "visit" || a.Next.Kind == "end"
	p.End.Hows = mark(append([]Option{{Words: "Choose"}}, callEnds...), how, false)
	p.End.Found = []Option{{Words: "Not found"}}
	for _, c := range in.Model.Causes {
		p.End.Found = append(p.End.Found, Option{Value: c.ID, Words: c.Words, Selected: c.ID == a.Found})
	}
	p.End.Therapy = []Option{{Words: "Not known"}, {Value: "on", Words: "Therapy runs", Selected: therapy == "on"}, {Value: "off", Words: "Therapy is off", Selected: therapy == "off"}}
}

// CallFoundPage shows what calls found here beside what the model states.
type CallFoundPage struct {
	Frame
	Lead   []string
	Causes []CallFoundRow
	Checks []CallFoundRow
	Basis  string
}

// CallFoundRow is one chance: stated, counted, and what is used now.
type CallFoundRow struct{ Words, Stated, Counted, Used, Sure string }

// NewCallFound draws the counts. m is the model with the calls counted in.
func NewCallFound(frame Frame, m *state.CallModel, pending int) CallFoundPage {
	p := CallFoundPage{Frame: frame, Basis: "Beta-Bernoulli: what is stated weighs " + unit.Number(m.Setting("prior_calls"), 0) + " calls (" + unit.Number(m.Setting("check_calls"), 0) +
		" for a check), the calls counted here are added. Bleeding and \"not an equipment problem\" never get less likely than stated."}
	p.Lead = []string{countWords(m.Calls, "ended call", "ended calls") + " with something found, over all cases."}
	if pending > 0 {
		p.Lead = append(p.Lead, countWords(pending, "case is", "cases are")+" still being read and not counted yet.")
	}
	basis := func(sure string, local bool) string {
		if local {
			return sure + ", local"
		}
		return sure
	}
	for _, c := range m.Causes {
		p.Causes = append(p.Causes, CallFoundRow{c.Words, unit.Number(100*c.Stated, 1) + " %", strconv.Itoa(c.Found), unit.Number(100*c.Prior, 1) + " %", basis(c.Sure, c.Local)})
	}
	for i := range m.Checks {
		c := &m.Checks[i]
		for j := range m.Causes {
			cause := &m.Causes[j]
			used, ok := c.Finds[cause.ID]
			n := m.TriedFor(c.ID, cause.ID)
			if !ok && n.Fixed+n.Not == 0 {
				continue
			}
			p.Checks = append(p.Checks, CallFoundRow{sentence(c.Words) + ", for: " + strings.ToLower(cause.Words), unit.Number(100*c.Stated[cause.ID], 0) + " %",
				fmt.Sprintf("%d of %d", n.Fixed, n.Fixed+n.Not), unit.Number(100*used, 0) + " %", basis(c.Sure, c.Local)})
		}
	}
	return p
}

// CallLineOf is one open call in a list.
func CallLineOf(o caseload.OpenCall, k Clock) CallLine {
	who := o.Call.Caller
	if who == "" {
		who = "somebody"
	}
	l := CallLine{Href: CallPath(o.Case, o.Call.ID), When: "last word " + k.near(o.Call.Last) + " by " + o.Call.Author}
	switch {
	case o.Case != "":
		l.Words = o.Person.Name + ": call from " + who
	case o.Call.Patient != "":
		l.Words = o.Call.Patient + " (no case): call from " + who
	default:
		l.Words = "No case: call from " + who
	}
	return l
}
