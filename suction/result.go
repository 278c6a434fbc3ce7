package suction

import (
	"fmt"
	"math"

	"lowtide/unit"
)

// Result is a run with every intermediate. Suctions are depths below ambient in mmHg; volumes and flows of gas
// are those of room air. A pointer is nil where the figure does not exist.
type Result struct {
	Status   Status `json:"status"`
	Sentence string `json:"sentence"`
	// Notes are further sentences: what was clipped, what lies outside the model.
	Notes []string `json:"notes,omitempty"`
	Trace []Sample `json:"trace"`

	MeanOrderedMmHg float64 `json:"mean_ordered_mmHg"`
	MeanPumpMmHg    float64 `json:"mean_pump_mmHg"`
	MeanWoundMmHg   float64 `json:"mean_wound_mmHg"`
	// Duty is the share of time for which the pump runs; StartsPerHour how often it is heard to start.
	Duty          float64       `json:"duty"`
	StartsPerHour float64       `json:"starts_per_hour"`
	FlowMLMin     float64       `json:"mean_flow_mL_min"`
	Stages        []StageResult `json:"stages"`
	Balance       Balance       `json:"balance"`
	Path          Path          `json:"path"`
	Setup         Setup         `json:"setup"`
	Work          Work          `json:"work"`
}

// StageResult is what became of one stage over the run.
type StageResult struct {
	SuctionMmHg float64 `json:"suction_mmHg"`
	HoldMin     float64 `json:"hold_min"`
	// Reached tells that the wound came within half a band of the order every time the stage ran to its end.
	Reached bool `json:"reached"`
	// Held: reached, and the settled suction at the wound is within half a band of the order, so that it was not
	// only passed on the way to something else.
	Held bool `json:"held"`
	// TimeToReachS is from the stage's start, the first time it was reached; LongestS the longest of all.
	TimeToReachS *float64 `json:"time_to_reach_s"`
	LongestS     *float64 `json:"longest_time_to_reach_s"`
	Times        int      `json:"times"`
	TimesReached int      `json:"times_reached"`
	// Means, duty and starts are over all the time spent in the stage, the approach included.
	MeanPumpMmHg  float64 `json:"mean_pump_mmHg"`
	MeanWoundMmHg float64 `json:"mean_wound_mmHg"`
	Duty          float64 `json:"duty"`
	StartsPerHour float64 `json:"starts_per_hour"`
	// LowMmHg and HighMmHg are the extremes at the wound after the order was reached.
	LowMmHg  *float64 `json:"low_wound_mmHg"`
	HighMmHg *float64 `json:"high_wound_mmHg"`
	// Steady is where the path settles when the stage lasts for ever.
	Steady   Steady `json:"steady"`
	Sentence string `json:"sentence"`
}

// Balance is the gas that went out and came in over the run, in mL of room air (eq. 12).
type Balance struct {
	PumpOutML float64 `json:"pump_out_mL"`
	LeakInML  float64 `json:"leak_in_mL"`
	VentInML  float64 `json:"vent_in_mL"`
	// TakenML is what the two volumes gave up: Σ V Δs / p_a.
	TakenML float64 `json:"taken_mL"`
	// ErrorShare is |out - in - taken| relative to what moved, at least 1 mL.
	ErrorShare float64 `json:"error_share"`
}

// Work counts what the solver did.
type Work struct {
	Steps          int `json:"steps"`
	Switches       int `json:"switches"`
	RepeatedCycles int `json:"repeated_cycles"`
	// GaveUpAtS is how far a run came that was given up; 0 for one that was not.
	GaveUpAtS float64 `json:"gave_up_at_s,omitempty"`
}

// Simulate runs the program through the pressure path (eqs. 1 to 12 in docs/model/suction.md).
//
// s: as from [Parse] or [Class]; stages must be given. Degenerate setups get a Status with a sentence and never
// NaN: for CannotTell and CanisterFull every figure is 0 and the trace shows no suction at the wound.
// Source: own derivation from mass balance, isothermal ideal gas and Hagen-Poiseuille's law.
// Checked: closed forms and SciPy, testdata/ref.
func Simulate(s Setup, opt Options) Result {
	out := Result{Setup: s, Trace: []Sample{}, Stages: []StageResult{}}
	if why := unusable(s); why != "" {
		out.Status, out.Sentence = CannotTell, why
		return out
	}
	p := PathOf(s)
	out.Path = p
	endS := s.Hours * 3600
	out.MeanOrderedMmHg = orderedMean(s, endS)
	if p.HeadspaceML <= 0 {
		return full(out, opt)
	}
	r := newRunner(p, s.Stages, endS, s.StartMmHg, opt)
	r.run(s.Stages)
	out.Work = Work{Steps: r.steps, Switches: r.switches, RepeatedCycles: r.replayed}
	if r.gaveUp {
		out.Work.GaveUpAtS = r.t
		out.Status, out.Sentence = CannotTell, "The pump would switch so often that the run was given up; widen the control band or shorten the run."
		return out
	}
	out.Trace = append(out.Trace, r.trace...)
	out.fill(r, endS)
	out.judge()
	return out
}

// orderedMean is over the run itself, so a first ramp from ambient and a cut last cycle count as they are.
func orderedMean(s Setup, endS float64) float64 {
	area := 0.0
	for _, q := range s.Stages.Pieces(endS) {
		d := q.ToS - q.FromS
		area += d * (q.StartMmHg + q.SlopeMmHgS*d/2)
	}
	return area / endS
}

func (out *Result) fill(r *runner, endS float64) {
	p, a := r.p, r.all
	out.MeanPumpMmHg, out.MeanWoundMmHg = a.canister/endS, a.wound/endS
	out.Duty = math.Min(1, a.onS/endS)
	out.StartsPerHour = float64(a.starts) / endS * 3600
	b := Balance{
		PumpOutML: a.pumped, LeakInML: a.leak, VentInML: p.VentMLSMmHg * a.canisterVent,
		TakenML: (p.CanisterNodeML*(r.x[0]-out.Setup.StartMmHg) + p.WoundNodeML*(r.x[1]-out.Setup.StartMmHg)) / p.AmbientMmHg,
	}
	moved := math.Abs(b.PumpOutML) + math.Abs(b.LeakInML) + math.Abs(b.VentInML) + math.Abs(b.TakenML)
	// Where next to nothing moved, the rounding of the volumes' content is all there is: a mL is the least scale.
	b.ErrorShare = math.Abs(b.PumpOutML-b.LeakInML-b.VentInML-b.TakenML) / math.Max(1, moved)
	out.Balance = b
	out.FlowMLMin = b.PumpOutML / endS * 60
	for i, st := range out.Setup.Stages {
		t, e := r.byStage[i], r.reach[i]
		x := StageResult{SuctionMmHg: st.SuctionMmHg, HoldMin: st.HoldMin, Times: e.occurrences, TimesReached: e.reached,
			Reached: e.reached > 0 && e.reached >= e.occurrences, Steady: steadyOf(&p, st.SuctionMmHg)}
		x.Held = x.Reached && (st.SuctionMmHg == 0 || x.Steady.WoundHolds)
		if t.s > 0 {
			x.MeanPumpMmHg, x.MeanWoundMmHg = t.canister/t.s, t.wound/t.s
			x.Duty, x.StartsPerHour = math.Min(1, t.onS/t.s), float64(t.starts)/t.s*3600
		}
		if e.reached > 0 {
			x.TimeToReachS, x.LongestS = &e.first, &e.longest
		}
		if e.seen {
			x.LowMmHg, x.HighMmHg = &e.lowMmHg, &e.highMmHg
		}
		x.Sentence = x.say(i, e.cutShort)
		out.Stages = append(out.Stages, x)
	}
}

// say puts one stage's outcome into a sentence.
func (x *StageResult) say(i, cutShort int) string {
	name := fmt.Sprintf("Stage %d (%s mmHg)", i+1, unit.Number(x.SuctionMmHg, 0))
	mean := unit.Number(x.MeanWoundMmHg, 0)
	switch {
	case x.Times == 0 && x.TimesReached == 0 && cutShort == 0:
		return name + " does not come up in this run."
	case x.Times == 0 && !x.Reached:
		return name + " is not reached before the run ends."
	case x.TimesReached == 0:
		return fmt.Sprintf("%s is never reached at the wound; its mean there is %s mmHg.", name, mean)
	case x.SuctionMmHg > 0 && !x.Steady.WoundHolds:
		return fmt.Sprintf("%s is passed but not held; the wound settles at %s mmHg.", name, unit.Number(x.Steady.WoundMmHg, 0))
	case !x.Reached:
		return fmt.Sprintf("%s is reached %d of %d times; its mean at the wound is %s mmHg.", name, x.TimesReached, x.Times, mean)
	}
	return fmt.Sprintf("%s is reached within %s s; its mean at the wound is %s mmHg.", name, unit.Number(*x.LongestS, 1), mean)
}
