package trouble

import (
	"time"

	"lowtide/unit"
)

// Clock is the time off against its limit.
type Clock struct {
	// Known tells that it is known whether and since when therapy is off.
	Known bool `json:"known"`
	// OffMin is how long it has been off, LeftMin what is left; negative when the limit is passed.
	OffMin  float64    `json:"off_min"`
	LeftMin float64    `json:"left_min"`
	LimitAt *time.Time `json:"limit_at,omitempty"`
	// LeaveBy is when somebody has to set out, so that the filler is out in time; CallNow that this moment has come.
	LeaveBy *time.Time `json:"leave_by,omitempty"`
	CallNow bool       `json:"call_now"`
	Passed  bool       `json:"passed"`
	Words   string     `json:"words"`
}

func (m *Model) clock(s State) Clock {
	if !(s.OffLimitH > 0) {
		panic("trouble: a state without a limit of time off")
	}
	limit := unit.Duration(s.OffLimitH).String()
	switch {
	case s.Runs:
		return Clock{Known: true, Words: "Therapy is said to run."}
	case s.OffSince.IsZero():
		return Clock{Words: "Cannot tell since when therapy is off. Ask: when did you last see it work? After " + limit + " without suction the filler must come out."}
	}
	off := s.AsOf.Sub(s.OffSince)
	at := s.OffSince.Add(time.Duration(s.OffLimitH * float64(time.Hour)))
	visit := s.VisitMin
	if !(visit > 0) {
		visit = m.Setting("visit_min")
	}
	leave := at.Add(-time.Duration((visit + m.Setting("swap_min")) * float64(time.Minute)))
	k := Clock{Known: true, OffMin: off.Minutes(), LeftMin: at.Sub(s.AsOf).Minutes(), LimitAt: &at, LeaveBy: &leave, Passed: !s.AsOf.Before(at), CallNow: !s.AsOf.Before(leave)}
	switch {
	case s.DressingStays != "":
		k.Words = "The dressing stays on, however long therapy is off: " + s.DressingStays + "."
	case off < 0:
		k.Words = "Therapy is said to go off later than now: check the time."
	case k.Passed:
		k.Words = "Therapy has been off for " + limit + " or more: the filler must come out and a moist dressing go on."
	case k.CallNow:
		k.Words = "Call whoever can take the filler out now: with the way there and the change, the limit of " + limit + " is close."
	default:
		k.Words = "At the limit of " + limit + " the filler must be out and a moist dressing on."
	}
	return k
}
