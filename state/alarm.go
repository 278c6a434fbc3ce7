package state

import (
	"lowtide/casebook"
)

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
