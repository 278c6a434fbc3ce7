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

func therapyFacts(c *casebook.Case, s Suction, set Sink) {
	started, id, ok := Started(c)
	set("therapy.open", ok && c.Ended == nil)
	if ok {
		set("therapy.started_at", started, id)
	}
	if c.Ended != nil {
		set("therapy.ended_at", c.Ended.At, c.Ended.ID)
	}
	s.facts(set)
	in, known := false, true
	for _, w := range c.Wounds {
		in = in || w.Count.Total() > 0
		known = known && w.Count.Known
	}
	if in || known {
		set("therapy.dressing_in_place", in)
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
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
