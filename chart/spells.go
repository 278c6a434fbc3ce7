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
// What an entry says is [state.SaysTherapy]. The last spell says the same as the rule terms therapy.off and
// therapy.off_since (kept by a test).
func Spells(c *casebook.Case, now time.Time) []Spell {
	started, _, ok := state.Started(c)
	if !ok || started.After(now) {
		return nil
	}
	out := []Spell{{From: started, State: NotKnown}}
	say := func(at, since time.Time, s State, entry string) {
		last := out[len(out)-1]
		if s == Off && last.State == Off {
			if since.After(last.From) {
				return // it was off already; the earlier moment counts
			}
		}
		if s != Off && last.State == s && s != NotKnown {
			return
		}
		if since.Before(started) {
			since = started
		}
		for len(out) > 0 && !out[len(out)-1].From.Before(since) {
			out = out[:len(out)-1]
		}
		if n := len(out); n > 0 && out[n-1].State == s && s == NotKnown {
			return
		}
		out = append(out, Spell{From: since, State: s, Entry: entry})
	}
	for _, l := range c.Log {
		if l.At.After(now) || (c.Ended != nil && l.At.After(c.Ended.At)) {
			continue
		}
		w, says := state.SaysTherapy(l, out[len(out)-1].State == Off)
		switch {
		case !says:
		case !w.Known:
			say(l.At, l.At, NotKnown, l.Entry.ID)
		case w.Off:
			say(l.At, w.Since, Off, l.Entry.ID)
		default:
			say(l.At, l.At, On, l.Entry.ID)
		}
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
