package suction

import (
	"fmt"
	"math"

	"lowtide/unit"
)

// unusable says why a setup cannot be run, or nothing. Parse refuses most of this with a place; the check here
// protects callers that fill a Setup themselves.
func unusable(s Setup) string {
	if st := s.Stages.Check(); !st.OK {
		return st.Sentence
	}
	for _, f := range Fields {
		x := *f.of(&s)
		if math.IsNaN(x) || x < f.Min || x > f.Max {
			return fmt.Sprintf("%s is %s %s; it must lie between %s and %s.", f.Name, unit.Number(x, 3), f.Unit, unit.Number(f.Min, 3), unit.Number(f.Max, 3))
		}
	}
	if s.Pump.Sensor != "canister" && s.Pump.Sensor != "wound" {
		return fmt.Sprintf("the pump's sensor is %q; it must be \"canister\" or \"wound\".", s.Pump.Sensor)
	}
	if s.tooManyStages() {
		return "The run has more than 200 000 stages; shorten it or lengthen the holds."
	}
	if s.StartMmHg >= AmbientMmHg(s.AltitudeM) {
		return "The suction at the start is deeper than a vacuum."
	}
	return ""
}

const mostStages = 200_000

// tooManyStages tells that more stages come up in the run than one run may take.
func (s Setup) tooManyStages() bool {
	return s.Hours*3600/s.Stages.CycleS()*float64(len(s.Stages)) > mostStages
}

// full is the result for a canister without headspace: the pump draws on nothing and the wound gets nothing.
func full(out Result, opt Options) Result {
	out.Status = CanisterFull
	out.Sentence = "The canister is full: no air can pass through it, so the wound gets no suction whatever the pump shows. Change the canister."
	endS := out.Setup.Hours * 3600
	if opt.StepS > 0 {
		for k := 0; k == 0 || endS-float64(k)*opt.StepS >= sameTime*opt.StepS; k++ {
			t := float64(k) * opt.StepS
			out.Trace = append(out.Trace, Sample{TS: t, OrderedMmHg: out.Setup.Stages.At(t).SuctionMmHg})
		}
		out.Trace = append(out.Trace, Sample{TS: endS, OrderedMmHg: out.Setup.Stages.At(endS).SuctionMmHg})
	}
	for i, st := range out.Setup.Stages {
		x := StageResult{SuctionMmHg: st.SuctionMmHg, HoldMin: st.HoldMin, Reached: st.SuctionMmHg == 0}
		if x.Reached {
			zero := 0.0
			x.TimeToReachS, x.LongestS = &zero, &zero
		}
		x.Sentence = fmt.Sprintf("Stage %d (%s mmHg) cannot be given with a full canister.", i+1, unit.Number(st.SuctionMmHg, 0))
		out.Stages = append(out.Stages, x)
	}
	return out
}

// judge sets status, sentence and notes of a run that was integrated.
func (out *Result) judge() {
	p := &out.Path
	out.note()
	out.Status, out.Sentence = OK, "Every stage is reached at the wound."
	for i := range out.Stages {
		x := &out.Stages[i]
		var st Status
		var why string
		switch {
		case x.SuctionMmHg > 0 && p.FreeFlowMLS == 0:
			st, why = NotReached, x.Sentence+" The pump's free flow is 0: it moves no air."
		case x.SuctionMmHg > 0 && !sealed(p, x.SuctionMmHg).PumpHolds:
			st, why = OrderTooDeep, fmt.Sprintf("Stage %d asks for %s mmHg, but even with a perfect seal the pump brings the wound to %s mmHg at the most.",
				i+1, unit.Number(x.SuctionMmHg, 0), unit.Number(sealed(p, x.SuctionMmHg).WoundMmHg, 0))
		case x.SuctionMmHg > 0 && !x.Steady.PumpHolds && p.LeakMLS > 0:
			st, why = LeakAbovePump, fmt.Sprintf("The leak takes more air than the pump can move at %s mmHg: stage %d settles at %s mmHg at the wound, with the pump running all the time.", unit.Number(x.SuctionMmHg, 0), i+1, unit.Number(x.Steady.WoundMmHg, 0))
		case x.TimesReached > 0 && x.SuctionMmHg > 0 && !x.Steady.WoundHolds:
			st, why = OffOrder, out.offOrder(x, i)
		case x.Reached || (x.Times == 0 && x.TimesReached == 0):
			continue
		default:
			st, why = NotReached, x.Sentence+" "+out.because(x)
		}
		if out.Status == OK || worse(st, out.Status) {
			out.Status, out.Sentence = st, why
		}
	}
	if out.Setup.VoidML == 0 && (out.Status == OK || out.Status == NotReached || out.Status == OffOrder) {
		out.Status = NoVoid
		out.Sentence = "The dressing is given no void: the figures rest on the gas in the tube alone and show a path without a dressing. Give void_mL."
	}
}

// sealed is the steady state of a path without its leak.
func sealed(p *Path, order float64) Steady {
	q := *p
	q.LeakMLS, q.leakScale = 0, 0
	return steadyOf(&q, order)
}

func worse(a, b Status) bool {
	rank := map[Status]int{OrderTooDeep: 4, LeakAbovePump: 3, NotReached: 2, OffOrder: 1}
	return rank[a] > rank[b]
}

// offOrder says how far, and which way, the wound lies off a stage that is reached only in passing.
func (out *Result) offOrder(x *StageResult, i int) string {
	way := "shallower"
	if x.Steady.OffsetMmHg > 0 {
		way = "deeper"
	}
	return fmt.Sprintf("In stage %d the wound settles %s mmHg %s than the ordered %s mmHg. %s", i+1,
		unit.Number(math.Abs(x.Steady.OffsetMmHg), 1), way, unit.Number(x.SuctionMmHg, 0), out.because(x))
}

// because names the likely reason for a stage that is not reached.
func (out *Result) because(x *StageResult) string {
	p := &out.Path
	half := p.BandMmHg / 2
	switch {
	case x.MeanWoundMmHg > x.SuctionMmHg+half && math.Abs(x.Steady.WoundMmHg-x.SuctionMmHg) > half && p.HeadMmHg < 0:
		return fmt.Sprintf("The pump lies below the wound: the liquid in the tube adds %s mmHg.", unit.Number(-p.HeadMmHg, 1))
	case x.MeanWoundMmHg > x.SuctionMmHg+half && p.VentMLSMmHg == 0:
		return "The seal is tight and the pump has no vent, so the wound cannot lose its suction within the hold."
	case x.MeanWoundMmHg > x.SuctionMmHg+half:
		return "The vent does not let in enough air within the hold."
	case p.HeadMmHg > half:
		return fmt.Sprintf("The pump lies above the wound: the liquid in the tube takes %s mmHg.", unit.Number(p.HeadMmHg, 1))
	case x.Steady.DropMmHg > half:
		return fmt.Sprintf("The tube loses %s mmHg to the leak's flow.", unit.Number(x.Steady.DropMmHg, 1))
	}
	return "The hold is too short for the pump."
}

// note lists what was clipped and what lies outside the model.
func (out *Result) note() {
	p, s := &out.Path, &out.Setup
	if s.Pump.BandMmHg < smallestBandMmHg {
		out.Notes = append(out.Notes, "A control band below 0.1 mmHg is computed as 0.1 mmHg.")
	}
	if s.Pump.DeepestMmHg > p.AmbientMmHg {
		out.Notes = append(out.Notes, fmt.Sprintf("The pump's deepest suction is limited to the pressure of the room, %s mmHg.", unit.Number(p.AmbientMmHg, 0)))
	}
	if p.Reynolds > laminarReynoldsLimit {
		out.Notes = append(out.Notes, fmt.Sprintf("At the pump's free flow the air in the tube is not laminar (Reynolds number %s): the tube loses more than computed while the pump runs.", unit.Number(p.Reynolds, 0)))
	}
	if s.VoidML == 0 {
		out.Notes = append(out.Notes, "No void is given: only the tube's gas is left at the wound.")
	}
	for i, st := range s.Stages {
		if st.SuctionMmHg > 0 && st.SuctionMmHg < p.BandMmHg/2 {
			out.Notes = append(out.Notes, fmt.Sprintf("Stage %d is shallower than half the pump's control band; the pump does not start for it and cannot hold it.", i+1))
		}
		if st.SuctionMmHg+p.BandMmHg/2 > p.DeepestMmHg && st.SuctionMmHg < p.DeepestMmHg {
			out.Notes = append(out.Notes, fmt.Sprintf("Stage %d lies so near the pump's deepest suction that the pump never stops.", i+1))
		}
	}
}
