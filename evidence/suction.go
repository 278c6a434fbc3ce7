package evidence

import (
	"fmt"

	"lowtide/suction"
	"lowtide/therapy"
	"lowtide/unit"
)

func init() {
	register("suction.AmbientMmHg", func(in In) (float64, error) {
		return suction.AmbientMmHg(in.Num("altitude_m")), nil
	})
	register("suction.AmbientPa", func(in In) (float64, error) {
		return suction.AmbientMmHg(in.Num("altitude_m")) * unit.PaPerMmHg, nil
	})
	register("suction.AirViscosityPaS", func(in In) (float64, error) {
		return suction.AirViscosityPaS(in.Num("temperature_K")), nil
	})
	register("suction.HeadMmHg", func(in In) (float64, error) {
		return suction.HeadMmHg(in.Num("height_m")), nil
	})
	register("suction.TubeDropPa", func(in In) (float64, error) {
		return suction.TubeDropMmHg(in.Num("flow_mL_min"), in.Num("bore_mm"), in.Num("length_m")) * unit.PaPerMmHg, nil
	})
	register("suction.LiquidDropPa", func(in In) (float64, error) {
		return suction.LiquidDropMmHg(in.Num("flow_mL_day"), in.Num("bore_mm"), in.Num("length_m")) * unit.PaPerMmHg, nil
	})
	register("suction.Simulate/wound", func(in In) (float64, error) {
		s, err := oneVolume(in)
		if err != nil {
			return 0, err
		}
		r := suction.Simulate(s, suction.Options{StepS: in.Num("t_s")})
		return r.Trace[1].WoundMmHg, nil
	})
	register("suction.Simulate/setup", func(in In) (float64, error) {
		input, problems := suction.Parse([]byte(in.Text("setup")))
		if len(problems) > 0 {
			return 0, fmt.Errorf("%v", problems)
		}
		at := in.Num("t_s")
		trace := suction.Simulate(input.Setup, suction.Options{StepS: at}).Trace
		return trace[1].WoundMmHg, nil
	})
	register("suction.Simulate/time_to_reach", func(in In) (float64, error) {
		s, err := oneVolume(in)
		if err != nil {
			return 0, err
		}
		// A stage is reached half a band short of its order, so the order is put half a band past the goal.
		s.Stages[0].SuctionMmHg += s.Pump.BandMmHg / 2
		r := suction.Simulate(s, suction.Options{})
		if r.Stages[0].TimeToReachS == nil {
			return 0, fmt.Errorf("not reached: %s", r.Sentence)
		}
		return *r.Stages[0].TimeToReachS, nil
	})
	register("suction.SteadyAt/shortfall", shortfall)
	register("suction.SealFromHold", func(in In) (float64, error) {
		s, err := oneVolume(in)
		if err != nil {
			return 0, err
		}
		e := suction.SealFromHold(s, suction.HoldTest{FirstMmHg: in.Num("first_mmHg"), SecondMmHg: in.Num("second_mmHg"), Seconds: in.Num("t_s")})
		if !e.OK {
			return 0, fmt.Errorf("no estimate: %s", e.Sentence)
		}
		return e.LeakMLMin, nil
	})
}

// oneVolume builds a path whose two volumes act as one: a tube so short and wide that it loses nothing. volume_mL is
// the whole gas; the order is order_mmHg (0 when absent, so that the pump rests), the run starts at start_mmHg.
func oneVolume(in In) (suction.Setup, error) {
	s, _ := suction.Class("portable")
	s.Tube = suction.Tube{LengthM: 0.01, BoreMM: 20}
	s.VoidML = 1
	s.Stages = therapy.Program{{HoldMin: 600}}
	tube := suction.PathOf(s).TubeML
	s.CanisterML = in.Num("volume_mL") - tube - s.VoidML
	s.Pump.BandMmHg = 0.1
	s.LeakMLMin = 0
	for name, to := range map[string]*float64{
		"order_mmHg": &s.Stages[0].SuctionMmHg, "start_mmHg": &s.StartMmHg, "leak_mL_min": &s.LeakMLMin, "leak_at_mmHg": &s.LeakAtMmHg,
		"leak_exponent": &s.LeakExponent, "free_flow_mL_min": &s.Pump.FreeFlowMLMin, "deepest_mmHg": &s.Pump.DeepestMmHg, "altitude_m": &s.AltitudeM,
	} {
		if _, given := in[name]; given {
			*to = in.Num(name)
		}
	}
	if !(s.CanisterML > 0) {
		return s, fmt.Errorf("volume_mL is too small")
	}
	return s, nil
}

// shortfall is how far below the order a pump settles against a leak that is known by its flow, found by bisecting
// the leak until the flow is that.
func shortfall(in In) (float64, error) {
	s, _ := suction.Class("bedside")
	s.Pump.FreeFlowMLMin, s.Pump.DeepestMmHg = in.Num("free_flow_mL_min"), in.Num("deepest_mmHg")
	s.Pump.Sensor = "canister"
	s.LeakAtMmHg = in.Num("order_mmHg")
	lo, hi := 0.0, 1e5
	var st suction.Steady
	for range 60 {
		s.LeakMLMin = (lo + hi) / 2
		var ok bool
		if st, ok = suction.SteadyAt(s, in.Num("order_mmHg")); !ok {
			return 0, fmt.Errorf("no steady state")
		}
		if st.FlowMLMin < in.Num("flow_mL_min") {
			lo = s.LeakMLMin
		} else {
			hi = s.LeakMLMin
		}
	}
	return in.Num("order_mmHg") - st.PumpMmHg, nil
}
