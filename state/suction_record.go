package state

import (
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
)

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

// Last returns the newest spell; what nobody told is not known.
func (r SuctionRecord) Last() SuctionSpell {
	if n := len(r.Spells); n > 0 {
		return r.Spells[n-1]
	}
	return SuctionSpell{Doing: SuctionNotKnown}
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
