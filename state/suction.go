package state

import (
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/trouble"
)

// Doing is what suction does.
type Doing string

// What suction can be doing. Off on purpose: it was stopped for a reason that still stands, and stays off.
const (
	SuctionOn           Doing = "on"
	SuctionOff          Doing = "off"
	SuctionOffOnPurpose Doing = "off on purpose"
	SuctionNotKnown     Doing = "not known"
)

// IsOff tells whether suction is off, on purpose or not.
func (d Doing) IsOff() bool { return d == SuctionOff || d == SuctionOffOnPurpose }

// SuctionSpell is a time in which suction did one thing. To is zero for the last one.
type SuctionSpell struct {
	From, To time.Time
	Doing    Doing
	// Why says what an entry gives as the reason; empty when it gives none.
	Why     string
	Entries []string

	stopped casebook.Kind // of the entry that stopped it on purpose
}

// SuctionRecord is what the entries say of suction, whatever their kind: visit, call, alarm, power, pump log, order,
// decision, pump given and returned, end of therapy. It believes each as long as no newer one says otherwise.
type SuctionRecord struct {
	Spells []SuctionSpell
	// Seen is when somebody, or the pump's log, last told that suction was on.
	Seen time.Time
	// Fights are pairs of entries that say on and off within a minute. Off counts.
	Fights [][2]string
}

// suctionWord is one thing that an entry says: from when suction did what.
type suctionWord struct {
	at, from time.Time
	doing    Doing
	why      string
	entry    string
	// stopped is the kind of an entry that stops suction on purpose; lifts are kinds whose word no longer stands: suction is
	// then off as if by accident, and the time off goes on.
	stopped casebook.Kind
	lifts   []casebook.Kind
	// unless tells that it says nothing where suction was off already; logged that it ends no time off that somebody told
	// of, because the clocks of pump and people differ.
	unless, logged bool
}

// sameMinute is how close on and off have to be to contradict each other.
const sameMinute = time.Minute

// SuctionRecordOf goes through the entries. logs may be nil.
func SuctionRecordOf(c *casebook.Case, logs []Delivered) SuctionRecord {
	var words []suctionWord
	pumps := map[string]bool{}
	for _, l := range c.Log {
		words = append(words, suctionWords(l, pumps)...)
	}
	if len(logs) > 0 {
		words = append(words, loggedWords(logs)...)
		sort.SliceStable(words, func(i, j int) bool { return words[i].at.Before(words[j].at) })
	}
	var r SuctionRecord
	for i, w := range words {
		if c.Ended != nil && w.at.After(c.Ended.At) {
			continue
		}
		for j := i - 1; j >= 0 && w.at.Sub(words[j].at) < sameMinute; j-- {
			if v := words[j]; v.entry != w.entry && v.doing != w.doing && (v.doing == SuctionOn || w.doing == SuctionOn) && (v.doing.IsOff() || w.doing.IsOff()) {
				r.Fights = append(r.Fights, [2]string{v.entry, w.entry})
				// the worse counts until somebody settles it
				if right, ok := rightOf(c, AskedSuction, v.entry, w.entry); w.doing == SuctionOn && (!ok || right == v.entry) || w.doing != SuctionOn && ok && right == v.entry {
					w = suctionWord{}
				}
				break
			}
		}
		if w.entry != "" {
			r.say(w)
		}
	}
	for i := range r.Spells {
		if i+1 < len(r.Spells) {
			r.Spells[i].To = r.Spells[i+1].From
		}
	}
	return r
}

// say takes the next word. Off that is told later of an earlier time takes that time from what was told before, and an
// off that was there already keeps its earlier beginning.
func (r *SuctionRecord) say(w suctionWord) {
	if w.lifts != nil {
		if n := len(r.Spells); n > 0 && r.Spells[n-1].Doing == SuctionOffOnPurpose && slices.Contains(w.lifts, r.Spells[n-1].stopped) {
			last := &r.Spells[n-1]
			last.Doing, last.Why, last.Entries = SuctionOff, "", append(last.Entries, w.entry)
		}
		return
	}
	if last := r.Last(); w.logged && last.Doing.IsOff() && last.Entries[0] != w.entry {
		return
	}
	if w.doing == SuctionOn && w.at.After(r.Seen) {
		r.Seen = w.at
	}
	n := len(r.Spells)
	if n > 0 {
		last := &r.Spells[n-1]
		switch {
		case w.unless && last.Doing.IsOff():
			return
		case w.doing.IsOff() && last.Doing.IsOff() && !w.from.Before(last.From):
			if w.doing == SuctionOffOnPurpose && last.Doing == SuctionOff {
				last.Doing, last.Why, last.stopped = w.doing, w.why, w.stopped
			}
			last.Entries = append(last.Entries, w.entry)
			return
		case w.doing == last.Doing && !w.doing.IsOff():
			last.Entries = append(last.Entries, w.entry)
			return
		}
	}
	for n > 0 && !r.Spells[n-1].From.Before(w.from) {
		n--
	}
	r.Spells = append(r.Spells[:n], SuctionSpell{From: w.from, Doing: w.doing, Why: w.why, Entries: []string{w.entry}, stopped: w.stopped})
}

// suctionWords is what one line of the log says. pumps are those with the patient, and follow the log.
func suctionWords(l casebook.Line, pumps map[string]bool) []suctionWord {
	say := func(d Doing, why string) suctionWord {
		return suctionWord{at: l.At, from: l.At, doing: d, why: why, entry: l.Entry.ID}
	}
	onOff := func(s string) []suctionWord {
		if s == "off" {
			return []suctionWord{say(SuctionOff, "")}
		}
		return []suctionWord{say(SuctionOn, "")}
	}
	off := func(since time.Time, why string) suctionWord {
		w := say(SuctionOff, why)
		if since.Before(w.from) {
			w.from = since
		}
		return w
	}
	switch b := l.Now.(type) {
	case casebook.PowerNoted:
		if b.Therapy != "" {
			return onOff(b.Therapy)
		}
	case casebook.AlarmReported:
		return alarmWords(b, say, off)
	case casebook.CallTaken:
		return callWordsOf(b, say, off)
	case casebook.DressingChanged:
		switch {
		case b.Power != nil && b.Power.Therapy != "":
			return onOff(b.Power.Therapy)
		case b.SuctionMmHg != nil && *b.SuctionMmHg == 0:
			return onOff("off")
		case b.SuctionMmHg != nil:
			return onOff("on")
		}
		return []suctionWord{say(SuctionNotKnown, "the visit does not say whether suction runs")}
	case casebook.OrderStopped:
		return []suctionWord{stopped(say(SuctionOffOnPurpose, because("the order was stopped", b.Note)), l.Entry.Kind)}
	case casebook.OrderWritten:
		return []suctionWord{{at: l.At, entry: l.Entry.ID, lifts: []casebook.Kind{casebook.KindOrderStopped, casebook.KindDecisionMade}}}
	case casebook.DecisionMade:
		switch {
		case b.Choice == "stop" && len(b.Wounds) == 0:
			return []suctionWord{stopped(say(SuctionOffOnPurpose, because("it was decided to stop", b.Reasons)), l.Entry.Kind)}
		case b.Choice != "stop":
			return []suctionWord{{at: l.At, entry: l.Entry.ID, lifts: []casebook.Kind{casebook.KindDecisionMade}}}
		}
	case casebook.TherapyEnded:
		return []suctionWord{stopped(say(SuctionOffOnPurpose, "therapy was ended"), l.Entry.Kind)}
	case casebook.PumpAssigned:
		none := len(pumps) == 0
		pumps[b.Pump] = true
		if none {
			return []suctionWord{say(SuctionNotKnown, "a pump came, and nobody wrote whether it runs")}
		}
	case casebook.PumpReturned:
		had := pumps[b.Pump]
		delete(pumps, b.Pump)
		if had && len(pumps) == 0 {
			return []suctionWord{say(SuctionOff, "the pump was returned")}
		}
	}
	return nil
}

func stopped(w suctionWord, by casebook.Kind) suctionWord { w.stopped = by; return w }

// alarmWords: an alarm that tells since when suction was off counts in full, also one that was settled since. One at which the
// pump showed no suction is off from then on, at the least.
func alarmWords(b casebook.AlarmReported, say func(Doing, string) suctionWord, off func(time.Time, string) suctionWord) []suctionWord {
	var out []suctionWord
	settled := b.Settled != nil && *b.Settled
	if b.OffSince != nil {
		out = append(out, off(*b.OffSince, "alarm: "+b.Alarm))
	}
	switch {
	case settled && (b.SuctionMmHg == nil || *b.SuctionMmHg > 0):
		out = append(out, say(SuctionOn, ""))
	case settled:
		out = append(out, say(SuctionNotKnown, "the alarm is settled, and the pump showed no suction"))
	case b.OffSince == nil && b.SuctionMmHg != nil && *b.SuctionMmHg == 0:
		out = append(out, say(SuctionOff, "alarm: "+b.Alarm+", no suction shown"))
	case b.OffSince == nil:
		w := say(SuctionNotKnown, "an alarm is not settled: "+b.Alarm)
		w.unless = true
		out = append(out, w)
	}
	return out
}

// callWordsOf: as for an alarm.
func callWordsOf(b casebook.CallTaken, say func(Doing, string) suctionWord, off func(time.Time, string) suctionWord) []suctionWord {
	var out []suctionWord
	if b.OffSince != nil {
		out = append(out, off(*b.OffSince, "by a call"))
	}
	switch {
	case b.Therapy == "on":
		out = append(out, say(SuctionOn, ""))
	case b.Therapy == "off" && b.OffSince == nil:
		out = append(out, say(SuctionOff, "by a call"))
	case b.OffSince == nil && callAlarm(b) != "":
		w := say(SuctionNotKnown, "a call tells of an alarm: "+callAlarm(b))
		w.unless = true
		out = append(out, w)
	}
	return out
}

// loggedWords is what the pumps' logs say: each time off that they hold, and on from its end and at their last reading.
func loggedWords(logs []Delivered) []suctionWord {
	var out []suctionWord
	for _, d := range logs {
		if d.Result == nil || len(d.Entries) == 0 {
			continue
		}
		entry := d.Entries[len(d.Entries)-1]
		endsOff := false
		for _, s := range d.Result.OffSpell {
			out = append(out, suctionWord{at: s.From, from: s.From, doing: SuctionOff, why: "the pump's log", entry: entry})
			if endsOff = !s.To.Before(d.To); !endsOff {
				out = append(out, suctionWord{at: s.To, from: s.To, doing: SuctionOn, entry: entry, logged: true})
			}
		}
		if !endsOff {
			out = append(out, suctionWord{at: d.To, from: d.To, doing: SuctionOn, entry: entry, logged: true})
		}
	}
	return out
}

// because adds a reason that somebody wrote.
func because(what, why string) string {
	if why = strings.TrimSpace(why); why == "" {
		return what
	}
	if cut := []rune(why); len(cut) > 120 {
		why = string(cut[:120]) + " …"
	}
	return what + " (" + why + ")"
}

// Suction is what suction is doing at an instant, and how much time without it there was.
type Suction struct {
	SuctionSpell
	// Presumed tells that no entry says so: by its forecast the battery is flat.
	Presumed bool
	// BelievedUntil is until when suction is taken as on if nobody looks; Until says what ends it then.
	BelievedUntil time.Time
	Until         string
	// Off and Unknown add up the time off, and the time of which nobody knows, in the last 24 h and since the change.
	OffDay, UnknownDay       time.Duration
	OffChange, UnknownChange time.Duration
	// Longest is the longest time off that ended under the dressing now on, and LongestBy tells of it.
	Longest   time.Duration
	LongestBy []string
	// WorstDay is the most time off within 24 h, ended or not, under the dressing now on, and WorstDayBy tells of it.
	WorstDay   time.Duration
	WorstDayBy []string
	// Ran tells that suction was on at least once.
	Ran    bool
	Record SuctionRecord
	// Spells are the record with what is believed since: the last one goes on until the instant.
	Spells []SuctionSpell

	surelyFlat time.Time
}

// suctionEnds are the forecasts that end the belief that suction is on; zero times are not known.
type suctionEnds struct {
	batteryFlat, batterySurelyFlat, canisterFull time.Time
	seenMost                                     time.Duration
}

// suctionOf tells what suction is doing. "On" is believed until the earliest of a flat battery and a full canister by
// their forecasts, an alarm that is not settled, and the longest time since somebody saw it.
func suctionOf(c *casebook.Case, rec SuctionRecord, ends suctionEnds, asOf time.Time) Suction {
	s := Suction{Record: rec, surelyFlat: ends.batterySurelyFlat, SuctionSpell: SuctionSpell{Doing: SuctionNotKnown, Why: "no entry says whether suction runs"}}
	for _, x := range rec.Spells {
		s.Ran = s.Ran || x.Doing == SuctionOn
	}
	if n := len(rec.Spells); n > 0 {
		s.SuctionSpell = rec.Spells[n-1]
	} else if _, _, ok := Started(c); !ok {
		s.Doing, s.Why = SuctionOff, "therapy has not started"
	}
	switch s.Doing {
	case SuctionOn:
		s.believe(rec, ends, asOf)
	case SuctionOff:
		if why, by := purpose(c, s.From); why != "" {
			s.Doing, s.Why, s.Entries = SuctionOffOnPurpose, why, entriesOf(append(s.Entries, by...)...)
		}
	}
	s.add(c, asOf)
	return s
}

// believe finds until when on may be believed.
func (s *Suction) believe(rec SuctionRecord, ends suctionEnds, asOf time.Time) {
	var seenUntil time.Time
	if ends.seenMost > 0 {
		seenUntil = rec.Seen.Add(ends.seenMost)
	}
	for _, e := range []struct {
		at  time.Time
		why string
	}{
		{seenUntil, "nobody has seen it run since"},
		{ends.canisterFull, "by its forecast the canister is full"},
		{ends.batteryFlat, "by its forecast the battery is flat"},
	} {
		if e.at.After(rec.Seen) && (s.BelievedUntil.IsZero() || e.at.Before(s.BelievedUntil)) {
			s.BelievedUntil, s.Until = e.at, e.why
		}
	}
	flat := ends.batteryFlat.After(rec.Seen) && ends.batterySurelyFlat.After(rec.Seen) && !ends.batterySurelyFlat.After(asOf)
	switch {
	case flat:
		s.Doing, s.From, s.Why, s.Presumed = SuctionOff, ends.batteryFlat, "by its forecast the battery is flat", true
	case !s.BelievedUntil.After(asOf):
		s.Doing, s.From, s.Why = SuctionNotKnown, s.BelievedUntil, s.Until
	}
}

// purposes are the danger signs and the answers of the screening for which suction is stopped, as the rules say.
var (
	purposeSigns   = []string{"bright red blood", "bowel content", "cold or numb limb", "pain out of proportion"}
	purposeAnswers = []string{"exposed_vessels", "exposed_anastomosis", "exposed_organs", "fistula_unexplored"}
)

// purpose is the reason for which suction that is off has to stay off, with the entries that tell it.
func purpose(c *casebook.Case, since time.Time) (string, []string) {
	for _, sign := range OpenSigns(c) {
		if contains(purposeSigns, sign.Sign) {
			return sign.Sign + " was seen and is not dealt with", []string{sign.Entry}
		}
	}
	all := screenAnswers(c)
	for _, q := range casebook.Questions {
		if !contains(purposeAnswers, q.ID) {
			continue
		}
		if yes, known, by := screened(c, all[q.ID]); known && yes {
			return Lower(q.Words), by
		}
	}
	for i := len(c.Calls) - 1; i >= 0; i-- {
		k := &c.Calls[i]
		if k.Last.Before(since.Add(-sameMinute)) {
			break
		}
		for _, d := range trouble.BuiltIn().Dangers {
			switch a := k.Answer(prefixDanger + d.ID); {
			case seenAfter(c, k.Began):
			case d.Stop && a == trouble.Yes:
				return "a call told of " + Lower(d.Words), k.Entries
			case ofBlood(d) && a == trouble.Unknown:
				return "a call could not tell about " + Lower(d.Words), k.Entries
			}
		}
	}
	return "", nil
}

// seenAfter tells whether somebody answered the danger signs, or settled some, after the instant.
func seenAfter(c *casebook.Case, t time.Time) bool {
	for _, s := range c.Seen {
		if s.At.After(t) && (len(s.Body.Signs) > 0 || len(s.Body.Settles) > 0) {
			return true
		}
	}
	return false
}

// add adds up the times. What nobody knows is not counted as off, and is told beside it.
func (s *Suction) add(c *casebook.Case, asOf time.Time) {
	started, _, ok := Started(c)
	if !ok && len(s.Record.Spells) == 0 {
		return
	}
	if !ok {
		started = s.Record.Spells[0].From
	}
	changed := started
	if n := len(c.Changes); n > 0 {
		changed = c.Changes[n-1].At
	}
	spells := append([]SuctionSpell(nil), s.Record.Spells...)
	if n := len(spells); n > 0 && spells[n-1].Doing == SuctionOn && s.Doing != SuctionOn {
		spells[n-1].To = s.From
		spells = append(spells, SuctionSpell{From: s.From, Doing: s.Doing})
	} else if n == 0 {
		spells = []SuctionSpell{{From: started, Doing: SuctionNotKnown}}
	} else if first := spells[0].From; first.After(started) {
		spells = append([]SuctionSpell{{From: started, To: first, Doing: SuctionNotKnown}}, spells...)
	}
	s.Spells = spells
	day := asOf.Add(-24 * time.Hour)
	for i, x := range spells {
		to := x.To
		if to.IsZero() || to.After(asOf) {
			to = asOf
		}
		inDay, inChange := to.Sub(later(x.From, day)), to.Sub(later(x.From, changed))
		switch {
		case x.Doing.IsOff():
			s.OffDay += max(0, inDay)
			s.OffChange += max(0, inChange)
			if ended := i+1 < len(spells) && spells[i+1].Doing == SuctionOn; ended && inChange > s.Longest {
				s.Longest, s.LongestBy = inChange, entriesOf(append(append([]string(nil), x.Entries...), spells[i+1].Entries...)...)
			}
		case x.Doing == SuctionNotKnown:
			s.UnknownDay += max(0, inDay)
			s.UnknownChange += max(0, inChange)
		}
		if x.Doing.IsOff() && inChange > 0 {
			s.worst(spells[:i+1], to, changed)
		}
	}
}

// worst adds up the time off in the 24 h before the end of the last spell, as far as they lie under the dressing.
func (s *Suction) worst(spells []SuctionSpell, end, changed time.Time) {
	from := later(end.Add(-24*time.Hour), changed)
	var sum time.Duration
	var by []string
	for _, x := range spells {
		to := x.To
		if to.IsZero() || to.After(end) {
			to = end
		}
		if off := to.Sub(later(x.From, from)); x.Doing.IsOff() && off > 0 {
			sum += off
			by = append(by, x.Entries...)
		}
	}
	if sum > s.WorstDay {
		s.WorstDay, s.WorstDayBy = sum, entriesOf(by...)
	}
}

// suctionEndsOf takes the ends from the forecasts of the battery and of the canisters.
func suctionEndsOf(b Battery, fluids []*Fluid, seenMost time.Duration) suctionEnds {
	ends := suctionEnds{seenMost: seenMost}
	if b.Why == "" {
		after := func(h float64) time.Time { return b.NotedAt.Add(time.Duration(h * float64(time.Hour))) }
		ends.batteryFlat, ends.batterySurelyFlat = after(b.Median), after(b.High)
	}
	for _, f := range fluids {
		if _, even, _, ok := f.fullAt(); ok && !even.IsZero() && (ends.canisterFull.IsZero() || even.Before(ends.canisterFull)) {
			ends.canisterFull = even
		}
	}
	return ends
}

// Last returns the newest spell; what nobody told is not known.
func (r SuctionRecord) Last() SuctionSpell {
	if n := len(r.Spells); n > 0 {
		return r.Spells[n-1]
	}
	return SuctionSpell{Doing: SuctionNotKnown}
}

// DrawnOn is how long a chart, which has no rules at hand, draws on when nobody looks: the built-in value of
// [value.SuctionSeen].
const DrawnOn = 72 * time.Hour

// changesAt is the first instant after asOf at which it changes without an entry; zero is never.
func (s Suction) ChangesAt(asOf time.Time) time.Time {
	var next time.Time
	if s.BelievedUntil.After(asOf) {
		next = s.BelievedUntil
	}
	if s.surelyFlat.After(asOf) {
		Earliest(&next, s.surelyFlat)
	}
	return next
}

// facts sets the terms of the rules. Whether it is off stays unknown where only a forecast says so.
func (s Suction) facts(set Sink) {
	switch {
	case s.Presumed:
		set("therapy.flat_at", s.From, s.Entries...)
	case s.Doing.IsOff() && !s.From.IsZero():
		set("therapy.off", true, s.Entries...)
		set("therapy.off_since", s.From, s.Entries...)
		set("therapy.on_purpose", s.Doing == SuctionOffOnPurpose, s.Entries...)
		set.setText("therapy.off_why", s.Why, s.Entries...)
	case s.Doing == SuctionOn:
		set("therapy.off", false, s.Entries...)
	}
	if s.WorstDay > 0 && s.Doing == SuctionOn {
		set("therapy.off_day_h", s.WorstDay.Hours(), s.WorstDayBy...)
	}
	if s.Longest > 0 {
		set("therapy.off_h", s.Longest.Hours(), s.LongestBy...)
	}
}
