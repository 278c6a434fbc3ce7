package state

import (
	"time"

	"lowtide/casebook"
)

// Started returns when therapy began: the first order, pump or filling. ok is false when none is recorded.
func Started(c *casebook.Case) (at time.Time, entry string, ok bool) {
	first := func(t time.Time, id string) {
		if !ok || t.Before(at) {
			at, entry, ok = t, id, true
		}
	}
	if len(c.Orders) > 0 {
		first(c.Orders[0].At, c.Orders[0].ID)
	}
	if len(c.Pumps) > 0 {
		first(c.Pumps[0].Assigned.At, c.Pumps[0].Assigned.ID)
	}
	if len(c.Changes) > 0 {
		first(c.Changes[0].At, c.Changes[0].ID)
	}
	for _, w := range c.Wounds {
		if w.Found != nil && (len(w.Found.Body.InPlace) > 0 || w.Found.Body.InPlaceUnknown) {
			first(w.Found.At, w.Found.ID)
		}
	}
	return at, entry, ok
}

func therapyFacts(c *casebook.Case, set Sink) {
	started, id, ok := Started(c)
	set("therapy.open", ok && c.Ended == nil)
	if ok {
		set("therapy.started_at", started, id)
	}
	if c.Ended != nil {
		set("therapy.ended_at", c.Ended.At, c.Ended.ID)
	}
	s := TherapyState(c)
	if s.Known {
		set("therapy.off", s.Off, s.Entry)
		if s.Off {
			set("therapy.off_since", s.Since, s.Entry)
		}
	}
	if s.spell > 0 {
		set("therapy.off_h", s.spell.Hours(), s.spellBy...)
	}
	in, known := false, true
	for _, w := range c.Wounds {
		in = in || w.Count.Total() > 0
		known = known && w.Count.Known
	}
	if in || known {
		set("therapy.dressing_in_place", in)
	}
}

// therapyNow is whether therapy is off, and since when, from the newest entry that says so.
type therapyNow struct {
	Known, Off bool
	Since      time.Time
	Entry      string
	// spell is the longest time off that ended under the dressing now on, by the entries spellBy.
	spell   time.Duration
	spellBy []string

	Newest  time.Time
	changed time.Time
}

// is takes a newer word about therapy. An off that was there already keeps its earlier beginning.
func (s *therapyNow) is(at time.Time, off, known bool, since time.Time, entry string) {
	if at.Before(s.Newest) {
		return
	}
	if s.Known && s.Off {
		if known && off && since.After(s.Since) {
			since = s.Since
		}
		if begin := later(s.Since, s.changed); known && !off && at.Sub(begin) > s.spell {
			s.spell, s.spellBy = at.Sub(begin), []string{s.Entry, entry}
		}
	}
	s.Newest, s.Off, s.Since, s.Entry, s.Known = at, off, since, entry, known
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// TherapyWord is what one entry says of therapy: off or on since a moment, or, when it is not Known, that nobody can
// tell any more.
type TherapyWord struct {
	Known, Off bool
	Since      time.Time
}

// SaysTherapy returns what a line of the log says of therapy, if it says anything. An alarm that is not settled and
// does not say since when leaves the state unknown, because suction may or may not be lost; so does a settled one that
// shows no suction, and a change that says nothing of suction or therapy. wasOff tells whether therapy was off before:
// another alarm does not make that unknown.
func SaysTherapy(l casebook.Line, wasOff bool) (w TherapyWord, says bool) {
	told := func(known, off bool, since time.Time) (TherapyWord, bool) {
		return TherapyWord{known, off, since}, true
	}
	switch b := l.Now.(type) {
	case casebook.PowerNoted:
		if b.Therapy != "" {
			return told(true, b.Therapy == "off", l.At)
		}
	case casebook.AlarmReported:
		switch {
		case b.Settled != nil && *b.Settled:
			return told(b.SuctionMmHg == nil || *b.SuctionMmHg > 0, false, l.At)
		case b.OffSince != nil:
			return told(true, true, *b.OffSince)
		case !wasOff:
			return told(false, false, l.At)
		}
	case casebook.CallTaken:
		return callSays(b, l.At, wasOff)
	case casebook.DressingChanged:
		switch {
		case b.Power != nil && b.Power.Therapy != "":
			return told(true, b.Power.Therapy == "off", l.At)
		case b.SuctionMmHg != nil:
			return told(true, *b.SuctionMmHg == 0, l.At)
		}
		return told(false, false, l.At)
	}
	return TherapyWord{}, false
}

// TherapyState walks through the log.
func TherapyState(c *casebook.Case) therapyNow {
	var s therapyNow
	for _, l := range c.Log {
		if w, says := SaysTherapy(l, s.Known && s.Off); says {
			s.is(l.At, w.Off, w.Known, w.Since, l.Entry.ID)
		}
		if _, ok := l.Now.(casebook.DressingChanged); ok {
			s.spell, s.spellBy, s.changed = 0, nil, l.At
		}
	}
	return s
}

// alarmFacts finds the newest alarm that nothing has settled: an alarm of its kind recorded as settled, therapy
// noted as on, or a dressing change after which the pump shows suction. Settling one kind leaves the others
// open, except that an alarm of a kind not known is taken to be the one that was settled.
func alarmFacts(c *casebook.Case, set Sink) {
	var open []casebook.Dated[casebook.AlarmReported]
	keep := func(settled string) {
		var left []casebook.Dated[casebook.AlarmReported]
		for _, a := range open {
			if a.Body.Alarm != settled && a.Body.Alarm != "not known" {
				left = append(left, a)
			}
		}
		open = left
	}
	for _, l := range c.Log {
		switch b := l.Now.(type) {
		case casebook.AlarmReported:
			set("alarm.last_at", l.At, l.Entry.ID)
			if b.Settled != nil && *b.Settled {
				keep(b.Alarm)
			} else {
				open = append(open, casebook.Dated[casebook.AlarmReported]{ID: l.Entry.ID, At: l.At, Body: b})
			}
		case casebook.CallTaken:
			if alarm := callAlarm(b); alarm != "" {
				set("alarm.last_at", l.At, l.Entry.ID)
				open = append(open, casebook.Dated[casebook.AlarmReported]{ID: l.Entry.ID, At: l.At, Body: casebook.AlarmReported{Alarm: alarm}})
			}
			if b.Therapy == "on" {
				open = nil
			}
		case casebook.PowerNoted:
			if b.Therapy == "on" {
				open = nil
			}
		case casebook.DressingChanged:
			if (b.SuctionMmHg != nil && *b.SuctionMmHg > 0) || (b.Power != nil && b.Power.Therapy == "on") {
				open = nil
			}
		}
	}
	if len(open) == 0 {
		set("alarm.open", "")
		return
	}
	a := open[len(open)-1]
	set("alarm.open", a.Body.Alarm, a.ID)
	set("alarm.open_at", a.At, a.ID)
}
