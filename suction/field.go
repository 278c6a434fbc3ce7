package suction

import "lowtide/therapy"

// Field describes one number of a Setup: its place in the JSON, its unit and the range that is accepted. The same
// table serves reading, checking and ranges.
type Field struct {
	// Name is the JSON pointer without the leading slash.
	Name     string
	Unit     string
	Min, Max float64
	of       func(*Setup) *float64
}

// Set writes the field of s.
func (f Field) Set(s *Setup, x float64) { *f.of(s) = x }

// Fields lists the numbers of a Setup besides its stages. The limits are what the model can take, not advice.
var Fields = []Field{
	{"hours", "h", 1.0 / 3600, 744, func(s *Setup) *float64 { return &s.Hours }},
	{"canister_mL", "mL", 0, 20000, func(s *Setup) *float64 { return &s.CanisterML }},
	{"fluid_mL", "mL", 0, 20000, func(s *Setup) *float64 { return &s.FluidML }},
	{"void_mL", "mL", 0, 20000, func(s *Setup) *float64 { return &s.VoidML }},
	{"leak_mL_min", "mL/min", 0, mostLeakMLMin, func(s *Setup) *float64 { return &s.LeakMLMin }},
	{"leak_at_mmHg", "mmHg", 1, 760, func(s *Setup) *float64 { return &s.LeakAtMmHg }},
	{"leak_exponent", "1", 0.5, 1, func(s *Setup) *float64 { return &s.LeakExponent }},
	{"pump/free_flow_mL_min", "mL/min", 0, mostLeakMLMin, func(s *Setup) *float64 { return &s.Pump.FreeFlowMLMin }},
	{"pump/deepest_mmHg", "mmHg", 1, 760, func(s *Setup) *float64 { return &s.Pump.DeepestMmHg }},
	{"pump/band_mmHg", "mmHg", 0, 100, func(s *Setup) *float64 { return &s.Pump.BandMmHg }},
	{"pump/vent_mL_min_mmHg", "mL/min per mmHg", 0, 10000, func(s *Setup) *float64 { return &s.Pump.VentMLMinMmHg }},
	{"tube/length_m", "m", 0.01, 30, func(s *Setup) *float64 { return &s.Tube.LengthM }},
	{"tube/bore_mm", "mm", 0.2, 30, func(s *Setup) *float64 { return &s.Tube.BoreMM }},
	{"height_m", "m", -5, 5, func(s *Setup) *float64 { return &s.HeightM }},
	{"liquid_share", "1", 0, 1, func(s *Setup) *float64 { return &s.LiquidShare }},
	{"altitude_m", "m", -500, isaTopM, func(s *Setup) *float64 { return &s.AltitudeM }},
	{"exudate_mL_day", "mL a day", 0, 20000, func(s *Setup) *float64 { return &s.ExudateMLDay }},
	{"start_mmHg", "mmHg", 0, 760, func(s *Setup) *float64 { return &s.StartMmHg }},
}

// FieldNamed finds a field; false when there is none.
func FieldNamed(name string) (Field, bool) {
	for _, f := range Fields {
		if f.Name == name {
			return f, true
		}
	}
	return Field{}, false
}

func continuous(mmHg float64) therapy.Program {
	return therapy.Program{{SuctionMmHg: mmHg, HoldMin: 60}}
}
