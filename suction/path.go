package suction

import "math"

// Path is a Setup turned into the constants of the equations, each worth looking at. Volumes in mL, pressures
// in mmHg, flows in mL of room air a second.
type Path struct {
	AmbientMmHg    float64 `json:"ambient_mmHg"`
	HeadspaceML    float64 `json:"headspace_mL"`
	TubeML         float64 `json:"tube_mL"`
	CanisterNodeML float64 `json:"canister_node_mL"`
	WoundNodeML    float64 `json:"wound_node_mL"`
	// AirViscosityPaS and TubeMLSMmHg give the tube's conductance at small drops.
	AirViscosityPaS float64 `json:"air_viscosity_Pa_s"`
	TubeMLSMmHg     float64 `json:"tube_mL_s_mmHg"`
	// HeadMmHg = StaticHeadMmHg + LiquidLossMmHg; positive weakens the suction at the wound.
	StaticHeadMmHg float64 `json:"static_head_mmHg"`
	LiquidLossMmHg float64 `json:"liquid_loss_mmHg"`
	HeadMmHg       float64 `json:"head_mmHg"`
	FreeFlowMLS    float64 `json:"free_flow_mL_s"`
	DeepestMmHg    float64 `json:"deepest_mmHg"`
	LeakMLS        float64 `json:"leak_mL_s"`
	LeakAtMmHg     float64 `json:"leak_at_mmHg"`
	LeakExponent   float64 `json:"leak_exponent"`
	VentMLSMmHg    float64 `json:"vent_mL_s_mmHg"`
	BandMmHg       float64 `json:"band_mmHg"`
	SensorAtWound  bool    `json:"sensor_at_wound"`
	// TubeLagS is the time constant with which canister and wound come together.
	TubeLagS float64 `json:"tube_lag_s"`
	// Reynolds is that of the pump's free flow in the tube; above 2000 the laminar law no longer holds.
	Reynolds float64 `json:"reynolds"`

	leakScale float64 // LeakMLS / LeakAtMmHg^n
	leakPower float64 // (n-1)/2
	// What the inner loop would otherwise divide again and again.
	perCanister, perWound, halfTube, pumpSlope float64
}

// smallestBandMmHg keeps an ideal relay from switching infinitely often.
const smallestBandMmHg = 0.1

// smallestVolumeML keeps a node from losing its gas altogether when neither void nor tube has any.
const smallestVolumeML = 0.01

// roundMmHg rounds the corner of a leak's power law at zero suction, so that its slope stays finite there; at
// 1 mmHg it changes the flow by less than a millionth.
const roundMmHg = 1e-3

// PathOf works out the constants. It clips what would be meaningless (band below 0.1 mmHg, a pump deeper than
// ambient pressure); the run's notes say so.
func PathOf(s Setup) Path {
	p := Path{
		AmbientMmHg: AmbientMmHg(s.AltitudeM), HeadspaceML: math.Max(0, s.CanisterML-s.FluidML),
		TubeML:          math.Pi / 4 * s.Tube.BoreMM * s.Tube.BoreMM * s.Tube.LengthM,
		AirViscosityPaS: AirViscosityPaS(airTemperatureK),
		FreeFlowMLS:     s.Pump.FreeFlowMLMin / 60, LeakMLS: s.LeakMLMin / 60, LeakAtMmHg: s.LeakAtMmHg,
		LeakExponent: s.LeakExponent, VentMLSMmHg: s.Pump.VentMLMinMmHg / 60,
		BandMmHg: math.Max(s.Pump.BandMmHg, smallestBandMmHg), SensorAtWound: s.Pump.Sensor == "wound",
	}
	p.CanisterNodeML = math.Max(smallestVolumeML, p.HeadspaceML+p.TubeML/2) // eq. 3
	p.WoundNodeML = math.Max(smallestVolumeML, s.VoidML+p.TubeML/2)
	p.TubeMLSMmHg = tubeConductance(s.Tube.BoreMM, s.Tube.LengthM, p.AirViscosityPaS)
	column := s.HeightM * s.LiquidShare
	p.StaticHeadMmHg = HeadMmHg(column) // eq. 8
	if s.ExudateMLDay > 0 && column != 0 {
		p.LiquidLossMmHg = LiquidDropMmHg(s.ExudateMLDay, s.Tube.BoreMM, math.Abs(column)) // eq. 9
	}
	p.HeadMmHg = p.StaticHeadMmHg + p.LiquidLossMmHg
	p.DeepestMmHg = math.Min(s.Pump.DeepestMmHg, p.AmbientMmHg)
	if p.LeakMLS > 0 {
		p.leakScale = p.LeakMLS * math.Pow(p.LeakAtMmHg, -p.LeakExponent)
	}
	p.leakPower = (p.LeakExponent - 1) / 2
	p.perCanister, p.perWound = p.AmbientMmHg/p.CanisterNodeML, p.AmbientMmHg/p.WoundNodeML
	p.halfTube, p.pumpSlope = p.TubeMLSMmHg/(2*p.AmbientMmHg), p.FreeFlowMLS/p.DeepestMmHg
	p.TubeLagS = 1 / (p.AmbientMmHg * p.TubeMLSMmHg * (1/p.CanisterNodeML + 1/p.WoundNodeML))
	d := s.Tube.BoreMM / 1000
	p.Reynolds = airDensityAt20CKgM3 * 4 * p.FreeFlowMLS / millilitresPerM3 / (math.Pi * d * p.AirViscosityPaS)
	return p
}

// mode is the state of pump and vent.
type mode struct{ pump, vent bool }

// leak is the flow into the dressing at suction s and its slope (eq. 7).
func (p *Path) leak(s float64) (q, slope float64) {
	switch {
	case p.leakScale == 0:
		return 0, 0
	case p.leakPower == 0:
		return p.leakScale * s, p.leakScale
	}
	r := s*s + roundMmHg*roundMmHg
	var f float64
	if p.leakPower == -0.25 {
		f = p.leakScale / math.Sqrt(math.Sqrt(r))
	} else {
		f = p.leakScale * math.Pow(r, p.leakPower)
	}
	return f * s, f * (1 + 2*p.leakPower*s*s/r)
}

// tube is the flow from the dressing to the canister (eq. 6).
func (p *Path) tube(sc, sw float64) float64 {
	pw, pc := p.AmbientMmHg-sw, p.AmbientMmHg-sc+p.HeadMmHg
	return p.halfTube * (pw - pc) * (pw + pc)
}

// pump is the flow out of the canister while the pump runs (eq. 5).
func (p *Path) pump(sc float64) float64 {
	if sc >= p.DeepestMmHg {
		return 0
	}
	return p.FreeFlowMLS - p.pumpSlope*sc
}

// rates gives the time derivatives of both suctions and the leak's flow (eq. 2).
func (p *Path) rates(sc, sw float64, m mode) (dc, dw, leak float64) {
	if p.leakPower == 0 {
		leak = p.leakScale * sw
	} else {
		leak, _ = p.leak(sw)
	}
	qt := p.tube(sc, sw)
	out := -qt
	if m.pump {
		out += p.pump(sc)
	}
	if m.vent {
		out -= p.VentMLSMmHg * sc
	}
	return p.perCanister * out, p.perWound * (qt - leak), leak
}

// slopes gives the Jacobian of rates by rows, and the leak's slope.
func (p *Path) slopes(x [2]float64, m mode) (j [4]float64, leak float64) {
	_, leak = p.leak(x[1])
	tc := 2 * p.halfTube * (p.AmbientMmHg - x[0] + p.HeadMmHg)
	tw := -2 * p.halfTube * (p.AmbientMmHg - x[1])
	own := -tc
	if m.pump && x[0] < p.DeepestMmHg {
		own -= p.pumpSlope
	}
	if m.vent {
		own -= p.VentMLSMmHg
	}
	return [4]float64{p.perCanister * own, -p.perCanister * tw, p.perWound * tc, p.perWound * (tw - leak)}, leak
}
