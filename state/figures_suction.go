package state

import (
	"time"

	"lowtide/unit"
)

// suctionFigures are how long the wound was without suction in the last 24 h, and since the dressing was changed, from every
// entry that says anything of it; what nobody knows is told beside it.
func suctionFigures(s *State, add func(Figure)) {
	k := s.Suction
	if _, _, ok := Started(s.Case); !ok || s.Case.Ended != nil || len(k.Record.Spells) == 0 {
		return
	}
	for _, x := range []struct {
		id, name     string
		off, unknown time.Duration
	}{
		{"therapy.off_day", "Without suction in the last 24 h", k.OffDay, k.UnknownDay},
		{"therapy.off_change", "Without suction since the dressing change", k.OffChange, k.UnknownChange},
	} {
		add(Figure{ID: x.id, Name: x.name, Value: x.off.Hours(), Unit: "h", Text: OffWords(x.off, x.unknown), Entries: k.Entries,
			Method: "times off told by visits, calls, alarms, power, pump logs, orders, decisions and pumps given and returned, each in full; times of which nobody knows are not counted as off", Source: "counting"})
	}
}

// OffWords say a time without suction, and the time of which nobody knows.
func OffWords(off, unknown time.Duration) string {
	words := "none"
	if off >= time.Minute {
		words = unit.Duration(off.Hours()).String()
	}
	if unknown >= time.Minute {
		words += "; not known for " + unit.Duration(unknown.Hours()).String()
	}
	return words
}
