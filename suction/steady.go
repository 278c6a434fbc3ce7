package suction

import (
	"fmt"
	"math"

	"lowtide/unit"
)

// Steady is where the path settles in one stage that lasts for ever (eq. 13). While the pump cycles, the sensor is
// taken to be at the order, the middle of the band.
type Steady struct {
	OrderedMmHg float64 `json:"ordered_mmHg"`
	PumpMmHg    float64 `json:"pump_mmHg"`
	WoundMmHg   float64 `json:"wound_mmHg"`
	// OffsetMmHg = WoundMmHg - OrderedMmHg = -(DropMmHg + HeadMmHg) + (what the pump cannot hold).
	OffsetMmHg float64 `json:"offset_mmHg"`
	// DropMmHg is lost to the leak's flow in the tube, HeadMmHg to the liquid in it.
	DropMmHg  float64 `json:"tube_drop_mmHg"`
	HeadMmHg  float64 `json:"head_mmHg"`
	FlowMLMin float64 `json:"flow_mL_min"`
	// Duty is the share of time for which the pump must run; 1 when it cannot hold the sensor in the band.
	Duty float64 `json:"duty"`
	// PumpHolds: the pump keeps its sensor in the band. WoundHolds: the wound is within half a band of the order.
	PumpHolds  bool `json:"pump_holds"`
	WoundHolds bool `json:"wound_holds"`
}

// SteadyAt answers for a setup whose other stages do not matter. A setup that Simulate could not run gives false.
func SteadyAt(s Setup, orderMmHg float64) (Steady, bool) {
	if len(s.Stages) == 0 {
		s.Stages = continuous(orderMmHg)
	}
	if unusable(s) != "" || s.CanisterML <= s.FluidML {
		return Steady{OrderedMmHg: orderMmHg}, false
	}
	p := PathOf(s)
	return steadyOf(&p, orderMmHg), true
}

// steadyOf solves eq. 13. In a rest nothing is held: both ends come to ambient, up to the head.
func steadyOf(p *Path, order float64) Steady {
	out := Steady{OrderedMmHg: order, HeadMmHg: p.HeadMmHg}
	if order == 0 {
		out.PumpHolds = true
		if p.VentMLSMmHg > 0 && p.LeakMLS == 0 {
			out.WoundMmHg = -p.HeadMmHg
		} else if p.LeakMLS > 0 {
			out.PumpMmHg = p.HeadMmHg
		}
		out.OffsetMmHg = out.WoundMmHg
		out.WoundHolds = math.Abs(out.OffsetMmHg) <= p.BandMmHg/2
		return out
	}
	if p.FreeFlowMLS == 0 { // nothing ever moves the gas: ambient, where the run starts
		out.Duty, out.OffsetMmHg = 1, -order
		return out
	}
	sensor := func(wound float64) (at, pump, flow float64) {
		flow, _ = p.leak(wound)
		pump = p.upstream(wound, flow)
		if p.SensorAtWound {
			return wound, pump, flow
		}
		return pump, pump, flow
	}
	// The sensor rises with the wound's suction, so one bisection finds the wound at which it sits at the order.
	wound := rising(-p.AmbientMmHg, p.AmbientMmHg, func(w float64) float64 { at, _, _ := sensor(w); return at - order })
	_, pump, flow := sensor(wound)
	capacity := p.pump(pump)
	if edge := order - p.BandMmHg/2; capacity > flow {
		out.PumpHolds = true
		out.Duty = math.Max(0, flow/capacity)
	} else {
		// The pump never stops: its flow equals the leak's.
		wound = rising(-p.AmbientMmHg, p.AmbientMmHg, func(w float64) float64 { _, sc, q := sensor(w); return q - p.pump(sc) })
		var at float64
		at, pump, flow = sensor(wound)
		out.PumpHolds, out.Duty = at >= edge, 1
	}
	out.PumpMmHg, out.WoundMmHg, out.FlowMLMin = pump, wound, flow*60
	out.OffsetMmHg = wound - order
	out.DropMmHg = pump - p.HeadMmHg - wound
	out.WoundHolds = math.Abs(out.OffsetMmHg) <= p.BandMmHg/2
	return out
}

// upstream is the canister's suction that draws a flow through the tube from a wound's suction: eq. 6 solved for
// s_c. Where no suction is enough it is the pressure of the room and the head.
func (p *Path) upstream(wound, flow float64) float64 {
	pw := p.AmbientMmHg - wound
	left := pw*pw - 2*p.AmbientMmHg*flow/p.TubeMLSMmHg
	return p.AmbientMmHg - math.Sqrt(math.Max(0, left)) + p.HeadMmHg
}

// rising bisects a rising function for its zero.
func rising(lo, hi float64, f func(float64) float64) float64 {
	for i := 0; i < 80; i++ {
		mid := (lo + hi) / 2
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Largest is the largest leak at which the order still holds at the wound.
type Largest struct {
	OrderedMmHg float64 `json:"ordered_mmHg"`
	// LeakMLMin is at the setup's reference suction; nil when the order does not hold even with a perfect seal,
	// or holds for any leak that the model can take.
	LeakMLMin *float64 `json:"leak_mL_min"`
	// Margin is that leak over the setup's own.
	Margin   *float64 `json:"margin"`
	Sentence string   `json:"sentence"`
}

// mostLeakMLMin is where the search ends; no seal at all.
const mostLeakMLMin = 1e5

// LargestLeak returns the largest leak, at the setup's reference suction and exponent, at which the settled
// suction at the wound stays within half a band of the deepest order (eq. 14).
func LargestLeak(s Setup) Largest {
	order := 0.0
	for _, st := range s.Stages {
		order = math.Max(order, st.SuctionMmHg)
	}
	out := Largest{OrderedMmHg: order}
	holds := func(leak float64) bool {
		t := s
		t.LeakMLMin = leak
		st, ok := SteadyAt(t, order)
		return ok && st.WoundMmHg >= order-band(t)/2
	}
	switch {
	case order == 0:
		out.Sentence = "No suction is ordered, so no leak can be too large."
		return out
	case !holds(0):
		out.Sentence = fmt.Sprintf("%s mmHg does not hold at the wound even with a perfect seal.", unit.Number(order, 0))
		return out
	case holds(mostLeakMLMin):
		out.Sentence = fmt.Sprintf("%s mmHg holds at the wound for every leak up to %s mL/min.", unit.Number(order, 0), unit.Number(mostLeakMLMin, 0))
		return out
	}
	lo, hi := 0.0, mostLeakMLMin
	for i := 0; i < 80; i++ {
		if mid := (lo + hi) / 2; holds(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	out.LeakMLMin = &lo
	if s.LeakMLMin > 0 {
		m := lo / s.LeakMLMin
		out.Margin = &m
	}
	out.Sentence = fmt.Sprintf("%s mmHg holds at the wound up to a leak of %s mL/min at %s mmHg.", unit.Number(order, 0), unit.Number(lo, 0), unit.Number(s.LeakAtMmHg, 0))
	return out
}

func band(s Setup) float64 { return math.Max(s.Pump.BandMmHg, smallestBandMmHg) }
