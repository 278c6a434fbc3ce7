package state

import (
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/trouble"
)

// The types below are those of the Call desk's model as a review carries them.
type (
	// CallModel is what the Call desk goes by; CallState is what is known in a call, CallAdvice what follows.
	CallModel  = trouble.Model
	CallState  = trouble.State
	CallAdvice = trouble.Advice
	// CallNext is the next thing to read out.
	CallNext = trouble.Next
	// CallTally counts ended calls.
	CallTally = trouble.Tally
)

// CallCareOf is the danger question that a step for the patient belongs to.
func CallCareOf(step string) (danger string, ok bool) { return trouble.CareOf(step) }

// BuiltInCalls is the model that the program brings.
func BuiltInCalls() *CallModel { return trouble.BuiltIn() }

// callAlarms are the alarms that a caller hears, in the words of alarm.reported.
var callAlarms = map[string]string{"leak": "leak", "blockage": "blockage", "full": "canister full", "battery": "battery low", "tilted": "tilted", "fault": "pump fault"}

// callAlarm is the alarm that a part of a call tells of, if it does.
func callAlarm(b casebook.CallTaken) string {
	for _, a := range b.Answers {
		if a.Question == "alarm" {
			return callAlarms[a.Answer]
		}
	}
	return ""
}

// callFacts sets what rules ask about calls. A dressing change or a pump that came settles what was said before: somebody
// was there.
func callFacts(c *casebook.Case, s Suction, set Sink) {
	seen := time.Time{}
	if n := len(c.Changes); n > 0 {
		seen = c.Changes[n-1].At
	}
	openCall(c, set)
	dangerInCalls(c, set)
	if s.Doing.IsOff() {
		comesInTime(c, s, set)
	}
	sameAgain(c, seen, set)
	alarmsAgain(c, seen, set)
}

// openCall finds the call that has been without an end for longest.
func openCall(c *casebook.Case, set Sink) {
	for i := range c.Calls {
		if k := &c.Calls[i]; k.Ended == "" {
			set("call.open_at", k.Last, k.Entries...)
			set("call.open_words", callWords(k), k.Entries...)
			return
		}
	}
}

func callWords(k *casebook.Call) string {
	if k.Caller != "" {
		return k.Caller
	}
	return "caller not named"
}

// ofBlood tells whether a danger question looks for blood.
func ofBlood(d trouble.Danger) bool { return strings.HasPrefix(d.ID, "blood") }

// dangerInCalls finds the newest call with a danger answer of yes that nobody has looked at since, and one in which blood
// was not ruled out: "cannot tell" counts as yes. Somebody has looked when a later visit or note answers the danger signs,
// or says that signs are dealt with.
func dangerInCalls(c *casebook.Case, set Sink) {
	if len(c.Calls) > 0 {
		set("call.danger", "") // until one is found
		set("call.blood", "")
	}
	for i := len(c.Calls) - 1; i >= 0; i-- {
		k := &c.Calls[i]
		var words []string
		blood := ""
		for _, d := range trouble.BuiltIn().Dangers {
			a := k.Answer(prefixDanger + d.ID)
			switch {
			case ofBlood(d) && a == trouble.Yes:
				blood = "yes"
			case ofBlood(d) && a == trouble.Unknown && blood == "":
				blood = "cannot tell"
			case a == trouble.Yes:
				words = append(words, d.Words)
			}
		}
		if len(words) == 0 && blood == "" {
			continue
		}
		if seenAfter(c, k.Began) {
			return
		}
		set("call.danger", strings.Join(words, ", "), k.Entries...)
		set("call.danger_at", k.Began, k.Entries...)
		set("call.blood", blood, k.Entries...)
		return
	}
}

// comesInTime tells, for a call that says that therapy is off, whether and when somebody comes.
func comesInTime(c *casebook.Case, s Suction, set Sink) {
	for i := len(c.Calls) - 1; i >= 0; i-- {
		k := &c.Calls[i]
		if k.Last.Before(s.From) || k.Ended == "emergency help" {
			continue
		}
		set("call.off_at", k.Last, k.Entries...)
		set("call.comes_planned", k.ComesAt != nil, k.Entries...)
		if k.ComesAt != nil {
			set("call.comes_after_h", k.ComesAt.Sub(s.From).Hours(), k.Entries...)
			set("call.comes_at", *k.ComesAt, k.Entries...)
		}
		return
	}
}

// sameAgain tells how far apart the last two calls with the same cause are, unless somebody changed the dressing since.
func sameAgain(c *casebook.Case, seen time.Time, set Sink) {
	var last *casebook.Call
	for i := len(c.Calls) - 1; i >= 0; i-- {
		k := &c.Calls[i]
		switch {
		case k.Found == "" || k.EndedAt == nil:
		case last == nil:
			if !k.EndedAt.After(seen) {
				return
			}
			last = k
		case k.Found == last.Found:
			by := append(append([]string(nil), k.Entries...), last.Entries...)
			set("call.again_d", last.EndedAt.Sub(*k.EndedAt).Hours()/24, by...)
			set("call.again_cause", Lower(CallCause(last.Found)), by...)
			set("call.again_at", *last.EndedAt, by...)
			return
		}
	}
}

// alarmsAgain tells within how many hours the last three reports of one kind of alarm came, unless somebody changed the
// dressing since. Reports of one call, and reports within a quarter of an hour, are one.
func alarmsAgain(c *casebook.Case, seen time.Time, set Sink) {
	const apart = 15 * time.Minute
	type told struct {
		at time.Time
		by string
	}
	byKind := map[string][]told{}
	take := func(kind string, at time.Time, by string) {
		list := byKind[kind]
		if kind == "" || kind == "not known" || !at.After(seen) || len(list) > 0 && at.Sub(list[len(list)-1].at) < apart {
			return
		}
		byKind[kind] = append(list, told{at, by})
	}
	for _, l := range c.Log {
		switch b := l.Now.(type) {
		case casebook.AlarmReported:
			take(b.Alarm, l.At, l.Entry.ID)
		case casebook.CallTaken:
			take(callAlarm(b), l.At, l.Entry.ID)
		}
	}
	best := ""
	var newest time.Time
	for kind, list := range byKind {
		if n := len(list); n >= 3 && (list[n-1].at.After(newest) || list[n-1].at.Equal(newest) && kind < best) {
			best, newest = kind, list[n-1].at
		}
	}
	if best == "" {
		return
	}
	list := byKind[best]
	list = list[len(list)-3:]
	by := []string{list[0].by, list[1].by, list[2].by}
	set("alarm.thrice_h", list[2].at.Sub(list[0].at).Hours(), by...)
	set("alarm.thrice", best, by...)
	set("alarm.thrice_at", list[2].at, by...)
}
