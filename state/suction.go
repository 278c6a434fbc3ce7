package state

import (
	"time"

	"lowtide/casebook"
	"lowtide/trouble"
	"lowtide/unit"
)

// Doing is what suction does.
type Doing string

// What suction can be doing. Off on purpose: it was stopped for a reason that still stands, and stays off.
const (
	SuctionOn           Doing = "on"
	SuctionOff          Doing = "off"
	SuctionOffOnPurpose Doing = "off on purpose"
	SuctionNotKnown     Doing = "not known"
)

// IsOff tells whether suction is off, on purpose or not.
func (d Doing) IsOff() bool { return d == SuctionOff || d == SuctionOffOnPurpose }

// Suction is what suction is doing at an instant, and how much time without it there was.
type Suction struct {
	SuctionSpell
	// Presumed tells that no entry says so: by its forecast the battery is flat.
	Presumed bool
	// BelievedUntil is until when suction is taken as on if nobody looks; Until says what ends it then.
	BelievedUntil time.Time
	Until         string
	// Off and Unknown add up the time off, and the time of which nobody knows, in the last 24 h and since the change.
	OffDay, UnknownDay       time.Duration
	OffChange, UnknownChange time.Duration
	// Longest is the longest time off that ended under the dressing now on, and LongestBy tells of it.
	Longest   time.Duration
	LongestBy []string
	// WorstDay is the most time off within 24 h, ended or not, under the dressing now on, and WorstDayBy tells of it.
	WorstDay   time.Duration
	WorstDayBy []string
	// Ran tells that suction was on at least once.
	Ran    bool
	Record SuctionRecord
	// Spells are the record with what is believed since: the last one goes on until the instant.
	Spells []SuctionSpell

	surelyFlat time.Time
}

// suctionEnds are the forecasts that end the belief that suction is on; zero times are not known.
type suctionEnds struct {
	batteryFlat, batterySurelyFlat, canisterFull time.Time
	seenMost                                     time.Duration
}

// suctionOf tells what suction is doing. "On" is believed until the earliest of a flat battery and a full canister by
// their forecasts, an alarm that is not settled, and the longest time since somebody saw it.
func suctionOf(c *casebook.Case, rec SuctionRecord, ends suctionEnds, asOf time.Time) Suction {
	s := Suction{Record: rec, surelyFlat: ends.batterySurelyFlat, SuctionSpell: SuctionSpell{Doing: SuctionNotKnown, Why: "no entry says whether suction runs"}}
	for _, x := range rec.Spells {
		s.Ran = s.Ran || x.Doing == SuctionOn
	}
	if n := len(rec.Spells); n > 0 {
		s.SuctionSpell = rec.Spells[n-1]
	} else if _, _, ok := Started(c); !ok {
		s.Doing, s.Why = SuctionOff, "therapy has not started"
	}
	switch s.Doing {
	case SuctionOn:
		s.believe(rec, ends, asOf)
	case SuctionOff:
		if why, by := purpose(c, s.From); why != "" {
			s.Doing, s.Why, s.Entries = SuctionOffOnPurpose, why, entriesOf(append(s.Entries, by...)...)
		}
	}
	s.add(c, asOf)
	return s
}

// believe finds until when on may be believed.
func (s *Suction) believe(rec SuctionRecord, ends suctionEnds, asOf time.Time) {
	var seenUntil time.Time
	if ends.seenMost > 0 {
		seenUntil = rec.Seen.Add(ends.seenMost)
	}
	for _, e := range []struct {
		at  time.Time
		why string
	}{
		{seenUntil, "nobody has seen it run since"},
		{ends.canisterFull, "by its forecast the canister is full"},
		{ends.batteryFlat, "by its forecast the battery is flat"},
	} {
		if e.at.After(rec.Seen) && (s.BelievedUntil.IsZero() || e.at.Before(s.BelievedUntil)) {
			s.BelievedUntil, s.Until = e.at, e.why
		}
	}
	flat := ends.batteryFlat.After(rec.Seen) && ends.batterySurelyFlat.After(rec.Seen) && !ends.batterySurelyFlat.After(asOf)
	switch {
	case flat:
		s.Doing, s.From, s.Why, s.Presumed = SuctionOff, ends.batteryFlat, "by its forecast the battery is flat", true
	case !s.BelievedUntil.After(asOf):
		s.Doing, s.From, s.Why = SuctionNotKnown, s.BelievedUntil, s.Until
	}
}

// purposes are the danger signs and the answers of the screening for which suction is stopped, as the rules say.
var (
	purposeSigns   = []string{"bright red blood", "bowel content", "cold or numb limb", "pain out of proportion"}
	purposeAnswers = []string{"exposed_vessels", "exposed_anastomosis", "exposed_organs", "fistula_unexplored"}
)

// purpose is the reason for which suction that is off has to stay off, with the entries that tell it.
func purpose(c *casebook.Case, since time.Time) (string, []string) {
	for _, sign := range OpenSigns(c) {
		if contains(purposeSigns, sign.Sign) {
			return sign.Sign + " was seen and is not dealt with", []string{sign.Entry}
		}
	}
	all := screenAnswers(c)
	for _, q := range casebook.Questions {
		if !contains(purposeAnswers, q.ID) {
			continue
		}
		if yes, known, by := screened(c, all[q.ID]); known && yes {
			return Lower(q.Words), by
		}
	}
	for i := len(c.Calls) - 1; i >= 0; i-- {
		k := &c.Calls[i]
		if k.Last.Before(since.Add(-sameMinute)) {
			break
		}
		for _, d := range trouble.BuiltIn().Dangers {
			switch a := k.Answer(prefixDanger + d.ID); {
			case seenAfter(c, k.Began):
			case d.Stop && a == trouble.Yes:
				return "a call told of " + Lower(d.Words), k.Entries
			case ofBlood(d) && a == trouble.Unknown:
				return "a call could not tell about " + Lower(d.Words), k.Entries
			}
		}
	}
	return "", nil
}

// seenAfter tells whether somebody answered the danger signs, or settled some, after the instant.
func seenAfter(c *casebook.Case, t time.Time) bool {
	for _, s := range c.Seen {
		if s.At.After(t) && (len(s.Body.Signs) > 0 || len(s.Body.Settles) > 0) {
			return true
		}
	}
	return false
}

// add adds up the times. What nobody knows is not counted as off, and is told beside it.
func (s *Suction) add(c *casebook.Case, asOf time.Time) {
	started, _, ok := Started(c)
	if !ok && len(s.Record.Spells) == 0 {
		return
	}
	if !ok {
		started = s.Record.Spells[0].From
	}
	changed := started
	if n := len(c.Changes); n > 0 {
		changed = c.Changes[n-1].At
	}
	spells := append([]SuctionSpell(nil), s.Record.Spells...)
	if n := len(spells); n > 0 && spells[n-1].Doing == SuctionOn && s.Doing != SuctionOn {
		spells[n-1].To = s.From
		spells = append(spells, SuctionSpell{From: s.From, Doing: s.Doing})
	} else if n == 0 {
		spells = []SuctionSpell{{From: started, Doing: SuctionNotKnown}}
	} else if first := spells[0].From; first.After(started) {
		spells = append([]SuctionSpell{{From: started, To: first, Doing: SuctionNotKnown}}, spells...)
	}
	s.Spells = spells
	day := asOf.Add(-24 * time.Hour)
	for i, x := range spells {
		to := x.To
		if to.IsZero() || to.After(asOf) {
			to = asOf
		}
		inDay, inChange := to.Sub(later(x.From, day)), to.Sub(later(x.From, changed))
		switch {
		case x.Doing.IsOff():
			s.OffDay += max(0, inDay)
			s.OffChange += max(0, inChange)
			if ended := i+1 < len(spells) && spells[i+1].Doing == SuctionOn; ended && inChange > s.Longest {
				s.Longest, s.LongestBy = inChange, entriesOf(append(append([]string(nil), x.Entries...), spells[i+1].Entries...)...)
			}
		case x.Doing == SuctionNotKnown:
			s.UnknownDay += max(0, inDay)
			s.UnknownChange += max(0, inChange)
		}
		if x.Doing.IsOff() && inChange > 0 {
			s.worst(spells[:i+1], to, changed)
		}
	}
}

// worst adds up the time off in the 24 h before the end of the last spell, as far as they lie under the dressing.
func (s *Suction) worst(spells []SuctionSpell, end, changed time.Time) {
	from := later(end.Add(-24*time.Hour), changed)
	var sum time.Duration
	var by []string
	for _, x := range spells {
		to := x.To
		if to.IsZero() || to.After(end) {
			to = end
		}
		if off := to.Sub(later(x.From, from)); x.Doing.IsOff() && off > 0 {
			sum += off
			by = append(by, x.Entries...)
		}
	}
	if sum > s.WorstDay {
		s.WorstDay, s.WorstDayBy = sum, entriesOf(by...)
	}
}

// suctionEndsOf takes the ends from the forecasts of the batteries and of the canisters: the first ends the belief.
func suctionEndsOf(pumps []*Pump, fluids []*Fluid, seenMost time.Duration) suctionEnds {
	ends := suctionEnds{seenMost: seenMost}
	for _, p := range pumps {
		if b := p.Battery; b.Why == "" {
			after := func(h float64) time.Time { return b.NotedAt.Add(time.Duration(h * float64(time.Hour))) }
			Earliest(&ends.batteryFlat, after(b.Median))
			Earliest(&ends.batterySurelyFlat, after(b.High))
		}
	}
	for _, f := range fluids {
		if even := f.FullAt().Even; even.Within() {
			Earliest(&ends.canisterFull, even.At)
		}
	}
	return ends
}

// changesAt is the first instant after asOf at which it changes without an entry; zero is never.
func (s Suction) ChangesAt(asOf time.Time) time.Time {
	var next time.Time
	if s.BelievedUntil.After(asOf) {
		next = s.BelievedUntil
	}
	if s.surelyFlat.After(asOf) {
		Earliest(&next, s.surelyFlat)
	}
	return next
}

// facts sets the terms of the rules. Whether it is off stays unknown where only a forecast says so.
func (s Suction) facts(set Sink) {
	switch {
	case s.Presumed:
		set("therapy.flat_at", s.From, s.Entries...)
	case s.Doing.IsOff() && !s.From.IsZero():
		set("therapy.off", true, s.Entries...)
		set("therapy.off_since", s.From, s.Entries...)
		set("therapy.on_purpose", s.Doing == SuctionOffOnPurpose, s.Entries...)
		set.setText("therapy.off_why", s.Why, s.Entries...)
	case s.Doing == SuctionOn:
		set("therapy.off", false, s.Entries...)
	}
	if s.WorstDay > 0 && s.Doing == SuctionOn {
		set("therapy.off_day_h", s.WorstDay.Hours(), s.WorstDayBy...)
	}
	if s.Longest > 0 {
		set("therapy.off_h", s.Longest.Hours(), s.LongestBy...)
	}
}

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
