package suction

import "lowtide/therapy"

// Setup is everything the model needs: the program and the parts of the path. Every field is a plain number;
// [Class] gives a filled one, [Parse] reads one from JSON. Field names and units of the JSON are fixed.
type Setup struct {
	Stages therapy.Program `json:"stages"`
	// Hours is the length of the run.
	Hours float64 `json:"hours"`
	// Class names the table of defaults that filled the fields which were not given.
	Class string `json:"class"`
	// CanisterML is the whole canister, FluidML what is in it; the difference is the headspace.
	CanisterML float64 `json:"canister_mL"`
	FluidML    float64 `json:"fluid_mL"`
	// VoidML is the gas in the dressing when it is under suction.
	VoidML float64 `json:"void_mL"`
	// LeakMLMin is the leak in mL of room air a minute at LeakAtMmHg of suction; LeakExponent is 0.5 for an
	// orifice, 1 for a laminar crack.
	LeakMLMin    float64 `json:"leak_mL_min"`
	LeakAtMmHg   float64 `json:"leak_at_mmHg"`
	LeakExponent float64 `json:"leak_exponent"`
	Pump         Pump    `json:"pump"`
	Tube         Tube    `json:"tube"`
	// HeightM is the pump's height above the wound, negative below it.
	HeightM float64 `json:"height_m"`
	// LiquidShare is the part of the tube's vertical run that is filled with liquid, 0..1.
	LiquidShare float64 `json:"liquid_share"`
	AltitudeM   float64 `json:"altitude_m"`
	// ExudateMLDay is the flow of exudate through the tube; it only gives the liquid's viscous loss. The
	// canister's content stands still during a run.
	ExudateMLDay float64 `json:"exudate_mL_day"`
	// StartMmHg is the suction in canister and dressing at the start.
	StartMmHg float64 `json:"start_mmHg"`
}

// Pump is the pump with its control.
type Pump struct {
	// FreeFlowMLMin is the flow at no suction; it falls on a straight line to 0 at DeepestMmHg.
	FreeFlowMLMin float64 `json:"free_flow_mL_min"`
	DeepestMmHg   float64 `json:"deepest_mmHg"`
	// BandMmHg is the whole width of the control band, centred on the order.
	BandMmHg float64 `json:"band_mmHg"`
	// Sensor is "canister" or "wound".
	Sensor string `json:"sensor"`
	// VentMLMinMmHg is the flow of room air into the canister per mmHg of suction while the vent is open; 0 is
	// a pump without a vent.
	VentMLMinMmHg float64 `json:"vent_mL_min_mmHg"`
}

// Tube is the tube between canister and dressing.
type Tube struct {
	LengthM float64 `json:"length_m"`
	BoreMM  float64 `json:"bore_mm"`
}

// Filler describes a dressing's filler from which the void follows.
type Filler struct {
	// VolumeML is the filler's bulk before suction.
	VolumeML float64 `json:"volume_mL"`
	// Porosity is the share of the uncompressed bulk that is gas, 0..1.
	Porosity float64 `json:"porosity"`
	// Compression is the share of the uncompressed bulk that suction takes away, 0..1.
	Compression float64 `json:"compression"`
}

// VoidML is the gas left in a compressed filler: the solid keeps its volume V(1-φ) while the bulk shrinks to
// V(1-c), so the void is V(φ - c), and never below 0 (eq. 4).
func (f Filler) VoidML() float64 { return max(0, f.VolumeML*(f.Porosity-f.Compression)) }

// Classes names the tables of defaults.
var Classes = []string{"portable", "bedside"}

// Class returns the defaults of an equipment class, without stages. The numbers are round figures for a kind
// of equipment, not for a product: common practice, no published source. false for an unknown name.
func Class(name string) (Setup, bool) {
	s := Setup{
		Hours: 2, Class: name, CanisterML: 400, VoidML: 60,
		LeakMLMin: 10, LeakAtMmHg: 125, LeakExponent: 1,
		Pump: Pump{FreeFlowMLMin: 2000, DeepestMmHg: 220, BandMmHg: 3, Sensor: "canister"},
		Tube: Tube{LengthM: 1.5, BoreMM: 4},
	}
	switch name {
	case "portable":
	case "bedside":
		s.CanisterML = 800
		s.Pump.FreeFlowMLMin, s.Pump.DeepestMmHg = 6000, 250
		s.Tube = Tube{LengthM: 2, BoreMM: 5}
	default:
		return Setup{}, false
	}
	return s, true
}
