package pumplog

import (
	"math"
	"strings"
)

// byAlarm flags what the pump itself called a leak or a blockage: the alarm's rows, and the time between two of them that
// are no further apart than one alarm's repeats. Beside flow or motor it decides where the measure points the same way but
// not far enough to stand out by itself.
func (j *judging) byAlarm(c *measure, flags []uint8) {
	s := j.l.Samples
	kinds := make([]uint8, len(j.l.Words))
	for i, w := range j.l.Words {
		kinds[i] = alarmKind(w)
	}
	join := int64(j.set.JoinAlarmMin * 60e3)
	last := map[uint8]int{}
	for i := range s {
		if int(s[i].Alarm) >= len(kinds) || j.state[i] == stateOff || j.state[i] == stateUnknown {
			continue
		}
		kind := kinds[s[i].Alarm]
		if kind == 0 {
			continue
		}
		from := i
		if k, ok := last[kind]; ok && s[i].T-s[k].T <= join && j.coveredBetween(s[k].T, i) {
			from = k
		}
		for q := from; q <= i; q++ {
			if j.state[q] != stateOff && c.agrees(s[q].T, q, kind) {
				flags[q] = kind
			}
		}
		last[kind] = i
	}
}

// agrees tells whether a sample's measure lies on the side that an alarm says: halfway, at least, to what would be called
// by itself. Without a measure nothing speaks against the alarm.
func (c *measure) agrees(t int64, i int, kind uint8) bool {
	if c == nil {
		return true
	}
	v, u := c.smooth[i], c.at(t)
	if v != v || u != u {
		return false
	}
	if kind == flagBlock {
		return v < u*(1-blockFall/2)
	}
	return v > u+math.Max(c.least, leakRise*u)/2
}

// alarmKind tells whether an alarm's words say leak or blockage: by the plain words of a dictionary, like the header's.
func alarmKind(words string) uint8 {
	w := fold(words)
	has := func(list string) bool {
		for _, x := range strings.Fields(list) {
			if strings.Contains(w, x) {
				return true
			}
		}
		return false
	}
	switch {
	case strings.HasPrefix(w, "no ") || strings.HasPrefix(w, "kein"):
		return 0
	case has("leak leck undicht fuite fuga perdita vazamento lekk lacka vuoto nieszczeln netesn"):
		return flagLeak
	case has("block occlu obstru verstopf blocage obturac ostruz intasam entupi verstopp tukos niedroz ucpa kink knick canister behalter full voll"):
		return flagBlock
	}
	return 0
}
