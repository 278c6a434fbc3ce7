package state

import (
	"math"
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/pumplog"
	"lowtide/rule/value"
	"lowtide/trouble"
	"lowtide/unit"
)

// CallFact is something that the case already knows and a caller need not be asked.
type CallFact struct {
	// Sign and Answer are IDs of the model; Words and Value say both to a reader.
	Sign, Answer string
	Words, Value string
	Entries      []string
}

// CallPerson is somebody who can be called.
type CallPerson struct{ Role, Name, Phone string }

// CallCase is what a case brings into a call.
type CallCase struct {
	Facts []CallFact
	// OffSince is when therapy went off by the record, and OffBy the entry; zero when it is not recorded as off.
	OffSince time.Time
	OffBy    string
	// VisitMin is how long it takes until somebody trained is there, and VisitWords what that rests on.
	VisitMin   float64
	VisitWords string
	// Where is the place of care; People are those who can be called, the nurse on call first.
	Where  string
	People []CallPerson
	// Ordered is the suction in the order.
	Ordered []float64
	// SuctionWaits and DressingStays say why the case's plan bars bringing suction back, and taking the dressing off; who has
	// the review sets them.
	SuctionWaits, DressingStays string
}

// CallCase gathers what the case knows for a call.
func (s *State) CallCase(m *CallModel) CallCase {
	c, v, asOf := s.Case, s.Values, s.AsOf
	var k CallCase
	add := func(sign, answer, value string, entries ...string) {
		if g := m.Sign(sign); g != nil && g.Answer(answer) >= 0 {
			k.Facts = append(k.Facts, CallFact{sign, answer, g.Words, value, entriesOf(entries...)})
		}
	}
	number := func(sign string, x float64, value string, entries ...string) {
		if g := m.Sign(sign); g != nil {
			if answer, ok := g.Band(x, v.Number); ok {
				add(sign, answer, value, entries...)
			}
		}
	}
	callCanister(s, number)
	callBattery(s, number)
	callDressing(s, add, number)
	callProgram(c, v, add)
	callEarlier(c, v, asOf, add)
	callBleeding(c, add)
	callLog(s, add)
	if now := s.Suction.Record.Last(); now.Doing.IsOff() {
		k.OffSince, k.OffBy = now.From, now.Entries[0]
	}
	k.place(c, m, asOf)
	if o := c.Order(); o != nil {
		for _, s := range o.Body.Stages {
			k.Ordered = append(k.Ordered, s.SuctionMmHg)
		}
	}
	return k
}

type (
	addFact   = func(sign, answer, value string, entries ...string)
	addNumber = func(sign string, x float64, value string, entries ...string)
)

// callCanister takes the forecast of the content, as a share of the canister in place. Of several pumps it is that of the
// fullest: nobody knows yet which pump the call is about.
func callCanister(s *State, number addNumber) {
	fluids, asOf := s.Canisters, s.AsOf
	fullest, share := fluids[0], math.Inf(-1)
	for _, f := range fluids {
		if pct, ok := expectedPct(f, asOf); ok && pct > share {
			fullest, share = f, pct
		}
	}
	k := fullest.Canister
	if k.ChangedAt != nil && !k.ChangedAt.After(asOf) {
		h := asOf.Sub(*k.ChangedAt).Hours()
		number("canister_changed_h", h, unit.Duration(h).String()+" ago"+fullest.on(), k.ChangedBy)
	}
	if pct, ok := expectedPct(fullest, asOf); ok {
		number("canister_expected_pct", pct, "about "+unit.Number(math.Min(pct, 100), 0)+" % of "+unit.Volume(*k.SizeML).String()+fullest.on(), append([]string{k.SizeBy, k.ReadBy}, fullest.Entries...)...)
	}
}

// on names the pump where there are several.
func (f *Fluid) on() string {
	if f.Pump == "" {
		return ""
	}
	return ", pump " + f.Pump
}

func expectedPct(f *Fluid, asOf time.Time) (float64, bool) {
	k := f.Canister
	if k.SizeML == nil || k.VolumeML == nil || !(*k.SizeML > 0) {
		return 0, false
	}
	more, ok := f.Collected(*k.ReadAt, asOf)
	if !ok && !asOf.Equal(*k.ReadAt) {
		return 0, false
	}
	return 100 * (*k.VolumeML + more.Median) / *k.SizeML, true
}

// callBattery takes the battery's straight line to the moment: of several pumps that with the least left.
func callBattery(s *State, number addNumber) {
	least, b := math.Inf(1), Battery{}
	for _, p := range s.Pumps {
		if left, ok := p.Battery.leftAt(s.AsOf); ok && left < least {
			least, b = left, p.Battery
		}
	}
	if math.IsInf(least, 1) {
		return
	}
	left := least
	number("battery_expected_pct", left, "about "+unit.Number(left, 0)+" %, if it was not charged since "+Clock(s.Case.Zone, b.NotedAt), b.Entries...)
}

// callDressing takes the age of the dressing, its seal and the exudate.
func callDressing(s *State, add addFact, number addNumber) {
	c, asOf := s.Case, s.AsOf
	n := len(c.Changes)
	if n == 0 {
		return
	}
	last := c.Changes[n-1]
	h := asOf.Sub(last.At).Hours()
	number("changed_h", h, unit.Duration(h).String()+" ago", last.ID)
	leaked, held := "", ""
	for _, d := range c.Changes[max(0, n-3):] {
		switch d.Body.Seal {
		case "leaks":
			leaked = d.ID
		case "holds":
			held = d.ID
		}
	}
	switch {
	case leaked != "":
		add("seal_before", "leaked", "leaked at one of the last three visits", leaked)
	case held != "":
		add("seal_before", "held", "held", held)
	}
	k := s.Canisters[0].Canister
	for _, f := range slices.Backward(s.Canisters) {
		if worrying[f.Canister.Colour] {
			k = f.Canister
		}
	}
	switch {
	case worrying[k.Colour]:
		add("thick", "yes", k.Colour, k.ColourBy)
	case k.Colour != "":
		add("thick", "no", k.Colour, k.ColourBy)
	}
}

// callProgram compares what the pump showed last with the order in force.
func callProgram(c *casebook.Case, v value.Values, add addFact) {
	o := c.Order()
	by, shown := Newest(c.Changes, func(d casebook.DressingChanged) *float64 { return d.SuctionMmHg })
	if o == nil || shown == nil || len(o.Body.Stages) == 0 || *shown == 0 {
		return
	}
	near := math.Inf(1)
	for _, s := range o.Body.Stages {
		near = math.Min(near, math.Abs(s.SuctionMmHg-*shown))
	}
	words := unit.Number(*shown, 0) + " mmHg shown, " + unit.Number(o.Body.Stages[0].SuctionMmHg, 0) + " ordered"
	if len(o.Body.Stages) > 1 {
		words = unit.Number(*shown, 0) + " mmHg shown, several stages ordered"
	}
	answer := "no"
	if near > v.In(value.PumpTolerance, "mmHg") || o.At.After(by.At) {
		answer = "yes"
	}
	if o.At.After(by.At) {
		words += " after that"
	}
	add("program_differs", answer, words, by.ID, o.ID)
}

// groups puts causes and alarms into the groups in which "the same again" is counted.
var groups = map[string]string{
	"seal-dressing": "leak", "seal-port": "leak", "seal-tube": "leak", "canister-seat": "leak", "kink": "blockage", "clot": "blockage", "filter-wet": "blockage",
	"canister-full": "full", "battery": "battery",
	"leak": "leak", "blockage": "blockage", "canister full": "full", "battery low": "battery",
}

// callEarlier takes the newest earlier call or alarm.
func callEarlier(c *casebook.Case, v value.Values, asOf time.Time, add addFact) {
	since := asOf.Add(-v.Span(value.SameCause))
	group, words, by := "none", "none recorded", ""
	var at time.Time
	take := func(t time.Time, cause, say, entry string) {
		if t.Before(since) || t.Before(at) {
			return
		}
		at, group, words, by = t, groups[cause], say+", "+Clock(c.Zone, t), entry
		if group == "" {
			group = "other"
		}
	}
	for i := range c.Calls {
		k := &c.Calls[i]
		if k.Found != "" && k.EndedAt != nil {
			take(*k.EndedAt, k.Found, Lower(CallCause(k.Found)), k.Entries[len(k.Entries)-1])
		}
	}
	for _, a := range c.Alarms {
		if a.Body.Settled != nil && *a.Body.Settled {
			take(a.At, a.Body.Alarm, "alarm: "+a.Body.Alarm, a.ID)
		}
	}
	add("same_before", group, words, by)
}

// logKnown is how long after its last reading a pump's log still tells of now. Own choice: a night is too long.
const logKnown = 6 * time.Hour

// callLog takes what the newest log showed at its end: an episode or a spell off that was still going on, or nothing
// unusual. A log that ended earlier, or that covers nothing near its end, tells nothing of now.
func callLog(s *State, add addFact) {
	c, asOf, logs := s.Case, s.AsOf, s.Logs
	if len(logs) == 0 {
		return
	}
	d := logs[len(logs)-1]
	if d.Result == nil || d.To.After(asOf) || asOf.Sub(d.To) > logKnown || !(d.Result.CoveredMin > 0) {
		return
	}
	until := "by the log up to " + Clock(c.Zone, d.To)
	for _, e := range d.Result.Episodes {
		if (e.Kind == pumplog.Leak || e.Kind == pumplog.Blockage) && !e.To.Before(d.To.Add(-time.Minute)) {
			add("log", e.Kind, e.Kind+" since "+Clock(c.Zone, e.From)+", "+until, d.Entries...)
			return
		}
	}
	for _, s := range d.Result.OffSpell {
		if !s.To.Before(d.To.Add(-time.Minute)) {
			add("log", "off", "off since "+Clock(c.Zone, s.From)+", "+until, d.Entries...)
			return
		}
	}
	add("log", "normal", "nothing unusual "+until, d.Entries...)
}

// callBleeding takes the screening.
func callBleeding(c *casebook.Case, add addFact) {
	var yes, by []string
	known := true
	for _, q := range []string{"bleeding_risk", "anticoagulant", "friable_vessels", "vascular_anastomosis", "coagulopathy_untreated"} {
		is, answered, entries := Screened(c, q)
		known = known && answered
		if is {
			question, _ := casebook.FindQuestion(q)
			yes = append(yes, Lower(question.Words))
		}
		by = append(by, entries...)
	}
	switch {
	case len(yes) > 0:
		add("bleeding_risk", "yes", strings.Join(yes, "; "), by...)
	case known:
		add("bleeding_risk", "no", "none by the screening", by...)
	}
}

// place says how soon somebody can be there, where, and whom to call.
func (k *CallCase) place(c *casebook.Case, m *CallModel, asOf time.Time) {
	k.VisitMin, k.VisitWords = m.Setting("visit_min"), "the usual time to a patient at home"
	if c.Person != nil {
		p := c.Person.Body
		switch p.Place {
		case "ward":
			k.VisitMin, k.VisitWords = m.Setting("visit_ward_min"), "the usual time on a ward"
		case "nursing home":
			k.VisitMin, k.VisitWords = m.Setting("visit_home_min"), "the usual time to a nursing home"
		}
		k.Where = p.Place
		if p.Address != "" {
			k.Where += ", " + p.Address
		}
		for _, role := range []string{"nurse on call", "carer", "pump supplier", "prescriber", "other"} {
			for _, x := range p.Contacts {
				if x.Role == role && (x.Phone != "" || x.Name != "") {
					k.People = append(k.People, CallPerson{x.Role, x.Name, x.Phone})
				}
			}
		}
	}
	if next, _, ok := NextVisit(c); ok && next.After(asOf) {
		if until := next.Sub(asOf).Minutes(); until < k.VisitMin {
			k.VisitMin, k.VisitWords = until, "a visit is planned at "+Clock(c.Zone, next)
		}
	}
}

// prefixDanger marks the danger questions among the answers of a call.
const prefixDanger = "danger:"

// CallStateOf puts a call and what the case knows together. What was said in the call counts more than the record.
func CallStateOf(call *casebook.Call, k CallCase, v value.Values, asOf time.Time) CallState {
	s := CallState{AsOf: asOf, OffLimitH: v.In(value.OffLimit, "h"), Danger: map[string]string{}, Signs: map[string]string{}, VisitMin: k.VisitMin, OffSince: k.OffSince, SuctionWaits: k.SuctionWaits, DressingStays: k.DressingStays}
	for _, f := range k.Facts {
		s.Signs[f.Sign] = f.Answer
	}
	if call == nil {
		return s
	}
	for _, a := range call.Answers {
		if d, ok := strings.CutPrefix(a.Question, prefixDanger); ok {
			s.Danger[d] = a.Answer
		} else {
			s.Signs[a.Question] = a.Answer
		}
	}
	for _, x := range call.Checks {
		s.Checks = append(s.Checks, trouble.Outcome{Check: x.Check, Result: x.Result})
	}
	if call.OffSince != nil {
		s.OffSince = *call.OffSince
	}
	s.Runs = call.Therapy == "on"
	return s
}

// CallCause names a cause by its ID; an ID that is not known is returned as it is.
func CallCause(id string) string {
	if c := trouble.BuiltIn().Cause(id); c != nil {
		return c.Words
	}
	return id
}

// CallQuestion says a question and an answer of a call in words.
func CallQuestion(question, answer string) (words, value string) {
	if id, ok := strings.CutPrefix(question, prefixDanger); ok {
		if d := trouble.BuiltIn().Danger(id); d != nil {
			question = d.Words
		}
	} else if g := trouble.BuiltIn().Sign(question); g != nil {
		question = g.Words
		if i := g.Answer(answer); i >= 0 {
			answer = g.Answers[i].Words
		}
	}
	if answer == trouble.Unknown {
		answer = "cannot tell"
	}
	return question, answer
}

// CallCheckWords says what was done, for the log.
func CallCheckWords(id string) string {
	if c := trouble.BuiltIn().Check(id); c != nil {
		return c.Words
	}
	if d, ok := trouble.CareOf(id); ok {
		if q := trouble.BuiltIn().Danger(d); q != nil {
			return "what to do for the patient: " + q.Words
		}
	}
	if id == trouble.FillerOut {
		return "that the filler must come out"
	}
	return id
}
