package chart

import (
	"time"

	"lowtide/casebook"
	"lowtide/state"
)

// State says what the entries tell of therapy.
type State string

// The states of therapy.
const (
	On       State = "on"
	Off      State = "off"
	NotKnown State = "not known"
)

// Spell is a time with one state, told by Entry (empty before the first entry that tells).
type Spell struct {
	From, To time.Time
	State    State
	Entry    string
}

// Spells divides the time from the start of therapy until now, or until therapy ended, by what the entries tell.
// It is [state.SuctionRecordOf]: what the entries say, and not known when nobody has looked for long.
func Spells(c *casebook.Case, now time.Time) []Spell {
	started, _, ok := state.Started(c)
	if !ok || started.After(now) {
		return nil
	}
	out := []Spell{{From: started, State: NotKnown}}
	rec := state.SuctionRecordOf(c, state.LogsOf(c))
	if n := len(rec.Spells); n > 0 && rec.Spells[n-1].Doing == state.SuctionOn {
		rec.Spells = append(rec.Spells, state.SuctionSpell{From: rec.Seen.Add(state.DrawnOn), Doing: state.SuctionNotKnown, Entries: rec.Spells[n-1].Entries})
	}
	for _, s := range rec.Spells {
		doing := NotKnown
		switch {
		case s.Doing.IsOff():
			doing = Off
		case s.Doing == state.SuctionOn:
			doing = On
		}
		from := s.From
		if from.Before(started) {
			from = started
		}
		if from.After(now) {
			break
		}
		if last := &out[len(out)-1]; !last.From.Before(from) {
			*last = Spell{From: from, State: doing, Entry: s.Entries[0]}
			continue
		}
		out = append(out, Spell{From: from, State: doing, Entry: s.Entries[0]})
	}
	end := now
	if c.Ended != nil && c.Ended.At.Before(now) {
		end = c.Ended.At
	}
	return close(out, end)
}

// close ends each spell where the next one starts, and leaves out those without length.
func close(list []Spell, end time.Time) []Spell {
	var out []Spell
	for i, s := range list {
		s.To = end
		if i+1 < len(list) && list[i+1].From.Before(end) {
			s.To = list[i+1].From
		}
		if s.From.Before(s.To) {
			out = append(out, s)
		}
	}
	return out
}
