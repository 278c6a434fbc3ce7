package pumplog

import "strings"

// byAlarm flags what the pump itself called a leak or a blockage, in a log that has nothing else to tell one by: the
// alarm's rows, and the time between two of them that are no further apart than one alarm's repeats.
func (j *judging) byAlarm(flags []uint8) {
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
			if j.state[q] != stateOff {
				flags[q] = kind
			}
		}
		last[kind] = i
	}
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
