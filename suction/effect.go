package suction

import (
	"fmt"
	"math"
	"strings"

	"lowtide/unit"
)

// Effect is what one change of circumstances does to a program, everything else as set.
type Effect struct {
	// Name is the change in words; Setup the setup that was run for it.
	Name string `json:"name"`
	// Worst marks a change that is taken at its worst (a tube full of liquid).
	Worst         bool     `json:"worst_case,omitempty"`
	Status        Status   `json:"status"`
	MeanWoundMmHg float64  `json:"mean_wound_mmHg"`
	Duty          float64  `json:"duty"`
	StartsPerHour float64  `json:"starts_per_hour"`
	TimeToReachS  *float64 `json:"time_to_reach_s"`
	// ChangeMmHg is the mean at the wound less that of the setup as it is, over the same time.
	ChangeMmHg float64 `json:"change_mmHg"`
	NotReached []int   `json:"stages_not_reached"`
	// Hours is the length of the runs that are compared.
	Hours    float64 `json:"hours"`
	Sentence string  `json:"sentence"`
}

// change is a named edit of a setup.
type change struct {
	name  string
	worst bool
	edit  func(*Setup)
}

// effectSteps bounds the work of one run behind the effects: where a pump switches many times a second, less of the
// program is compared.
const effectSteps = 300_000

// short runs a setup, and less of it when the whole takes more than so many steps.
func short(s Setup, steps int) (Setup, Result) {
	r := Simulate(s, Options{MostSteps: steps})
	if r.Work.GaveUpAtS > 0 {
		s.Hours = 0.9 * r.Work.GaveUpAtS / 3600
		r = Simulate(s, Options{MostSteps: 2 * steps})
	}
	return s, r
}

// effectHours bounds the runs behind the effects; two hours hold several cycles of usual programs.
const effectHours = 2

// Effects answers what usually comes up at the bedside: a canister half full and nine tenths full, the pump at the
// shoulder or on the floor with the tube full of liquid, an aircraft cabin, and twice the leak. Changes that are
// already so are left out. Heights and fills are own choices; 2438 m (8000 ft) is the cabin limit of airworthiness
// codes, from memory.
func Effects(s Setup) []Effect {
	if s.Hours > effectHours {
		s.Hours = effectHours
	}
	s, base := short(s, effectSteps)
	if base.Status == CannotTell {
		return []Effect{}
	}
	var changes []change
	for _, fill := range []struct {
		share float64
		name  string
	}{{0.5, "canister half full"}, {0.9, "canister nine tenths full"}} {
		if s.FluidML < fill.share*s.CanisterML {
			changes = append(changes, change{fill.name, false, func(t *Setup) { t.FluidML = fill.share * t.CanisterML }})
		}
	}
	changes = append(changes,
		change{"pump at the shoulder, 0.5 m above the wound, tube full of liquid", true, func(t *Setup) { t.HeightM, t.LiquidShare = 0.5, 1 }},
		change{"pump on the floor, 0.7 m below the wound, tube full of liquid", true, func(t *Setup) { t.HeightM, t.LiquidShare = -0.7, 1 }})
	if s.AltitudeM < 2438 {
		changes = append(changes, change{"in an aircraft cabin at 2438 m", false, func(t *Setup) { t.AltitudeM = 2438 }})
	}
	if s.LeakMLMin > 0 {
		changes = append(changes, change{"twice the leak", false, func(t *Setup) { t.LeakMLMin = math.Min(2*t.LeakMLMin, mostLeakMLMin) }})
	}
	out := make([]Effect, 0, len(changes))
	for _, c := range changes {
		t := s
		c.edit(&t)
		out = append(out, effectOf(c, Simulate(t, Options{MostSteps: 4 * effectSteps}), base))
	}
	return out
}

func effectOf(c change, r, base Result) Effect {
	e := Effect{Hours: r.Setup.Hours, Name: c.name, Worst: c.worst, Status: r.Status, MeanWoundMmHg: r.MeanWoundMmHg, Duty: r.Duty,
		StartsPerHour: r.StartsPerHour, ChangeMmHg: r.MeanWoundMmHg - base.MeanWoundMmHg, NotReached: []int{}}
	if r.Status == CannotTell {
		e.Sentence = upperFirst(c.name) + ": cannot tell. " + r.Sentence
		return e
	}
	for i, st := range r.Stages {
		if i == 0 {
			e.TimeToReachS = st.TimeToReachS
		}
		if !st.Reached && (st.Times > 0 || len(base.Stages) == 1) {
			e.NotReached = append(e.NotReached, i)
		}
	}
	e.Sentence = fmt.Sprintf("%s: mean at the wound %s mmHg (%s), pump starts %s an hour.", upperFirst(c.name),
		unit.Number(r.MeanWoundMmHg, 1), signed(e.ChangeMmHg), unit.Number(r.StartsPerHour, 0))
	return e
}

// signed prints a change in words, deeper or shallower, so that no sign convention is needed.
func signed(x float64) string {
	n := unit.Number(math.Abs(x), 1)
	switch {
	case n == "0":
		return "unchanged"
	case x > 0:
		return n + " deeper"
	}
	return n + " shallower"
}

// upperFirst starts a sentence with a change's name, which is plain English letters.
func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
