package state

import (
	"math"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/power"
	"lowtide/suction"
	"lowtide/therapy"
)

// BenchInput is what is tried on the Bench: one path and one program, or two programs on the same path.
type BenchInput struct {
	// Setup has no stages of its own.
	Setup suction.Setup
	A, B  therapy.Program
	// Band asks for the spread over what is not known of leak, void and pump.
	Band bool
}

// BenchRun is one program tried, with every figure.
type BenchRun struct {
	suction.Result
	Largest suction.Largest
	Band    *suction.BandResult
	// HalfFull is the same program with the canister half full; nil when it is that full already, or cannot be run.
	HalfFull *suction.Result
	// Battery is nil for a class without a battery to rely on.
	Battery *power.RunTime
	// TraceHours is how much of the run the trace and the band cover.
	TraceHours float64
}

// benchTraceHours is how much of a run is drawn, and benchSamples how finely: more could not be told apart.
const (
	benchTraceHours = 2.0
	benchSamples    = 600
	// The page shows tenths of a millimetre; these local errors keep a run within some thousandths.
	benchTolMmHg, bandTolMmHg = 1e-6, 1e-5
	// benchSteps bounds the work for one picture; a run that takes more is said to be so.
	benchSteps = 400_000
)

// Bench tries one program. Its trace covers the first two hours at most; the figures cover the whole run.
func (in BenchInput) Bench(stages therapy.Program, eq *equipment.Set) BenchRun {
	s := in.Setup
	s.Stages = stages
	out := BenchRun{TraceHours: math.Min(s.Hours, benchTraceHours)}
	drawn := s
	step := math.Max(0.5, out.TraceHours*3600/benchSamples)
	if s.Hours <= benchTraceHours {
		out.Result = suction.Simulate(s, suction.Options{StepS: step, Tol: benchTolMmHg, MostSteps: benchSteps})
	} else {
		out.Result = suction.Simulate(s, suction.Options{Tol: benchTolMmHg, MostSteps: benchSteps})
		drawn.Hours = out.TraceHours
		out.Trace = suction.Simulate(drawn, suction.Options{StepS: step, Tol: benchTolMmHg, MostSteps: benchSteps}).Trace
	}
	if out.Status == suction.CannotTell {
		return out
	}
	out.Largest = suction.LargestLeak(s)
	if in.Band && out.Status != suction.CanisterFull {
		band := suction.Band(drawn, suction.UsualRanges(s), 4, suction.Options{StepS: step, Tol: bandTolMmHg, MostSteps: benchSteps / 4})
		out.Band = &band
	}
	if half := s; s.FluidML < s.CanisterML/2 {
		half.FluidML = s.CanisterML / 2
		if r := suction.Simulate(half, suction.Options{Tol: bandTolMmHg, MostSteps: benchSteps / 4}); r.Status != suction.CannotTell {
			out.HalfFull = &r
		}
	}
	if class, ok := eq.Pump(s.Class); ok && s.Class == "portable" {
		m := power.Fit(class.RunMostH, power.LightDuty, class.RunLeastH, power.HeavyDuty)
		if run := m.RunTime(out.Duty); run.OK {
			out.Battery = &run
		}
	}
	return out
}

// BenchClasses are the classes of pump that the model knows.
func BenchClasses() []string { return suction.Classes }

// BenchStart is the path of a class with its defaults; false for an unknown class.
func BenchStart(class string) (suction.Setup, bool) {
	s, ok := suction.Class(class)
	s.Hours = 1
	return s, ok
}

// BenchFiller is a filler as the Bench knows it: how much of its bulk is gas, and how much suction takes away.
type BenchFiller struct {
	Words                 string
	Porosity, Compression float64
}

// BenchFillers are round figures for kinds of filler: own choices, no published source.
var BenchFillers = []BenchFiller{{"foam", 0.95, 0.55}, {"dense foam", 0.9, 0.3}, {"gauze", 0.85, 0.45}}

// VoidML is the gas left in so much filler under suction.
func (f BenchFiller) VoidML(bulkML float64) float64 {
	return suction.Filler{VolumeML: bulkML, Porosity: f.Porosity, Compression: f.Compression}.VoidML()
}

// BenchOf starts the Bench with what the case tells. known names in words what was taken from the case; everything
// else is the class's default.
func BenchOf(c *casebook.Case, eq *equipment.Set) (in BenchInput, known []string) {
	in.Setup, _ = BenchStart("portable")
	if open := OpenPumps(c); len(open) > 0 {
		if s, ok := BenchStart(open[len(open)-1].Assigned.Body.Class); ok {
			in.Setup = s
			known = append(known, "class of pump")
		}
	}
	k := CanisterOf(c)
	if k.SizeML != nil {
		in.Setup.CanisterML = *k.SizeML
		known = append(known, "canister size")
	}
	if k.VolumeML != nil {
		in.Setup.FluidML = *k.VolumeML
		known = append(known, "canister reading")
	}
	on := onPump(c, newestPump(c), -1)
	if t := SealTests(on, eq); len(t) > 0 && t[len(t)-1].Current && t[len(t)-1].Estimate.OK {
		in.Setup.LeakMLMin = digits(t[len(t)-1].Estimate.LeakMLMin)
		known = append(known, "leak from the seal test")
	}
	if h := HeadOf(on); h.Known {
		in.Setup.HeightM = h.AboveCm / 100
		known = append(known, "the pump's place")
		if h.MMHg != nil && *h.MMHg != 0 {
			in.Setup.LiquidShare = 1
		}
	}
	if c.Person != nil && c.Person.Body.AltitudeM != nil {
		in.Setup.AltitudeM = *c.Person.Body.AltitudeM
		known = append(known, "altitude")
	}
	if o := c.Order(); o != nil {
		if p, ok := Program(o.Body); ok && p.Check().OK {
			in.A = p
			known = append(known, "the order's stages")
		}
	}
	return in, known
}

// BenchProgram is a program to try.
type BenchProgram = therapy.Program

// BenchStage is one stage of a program to try.
func BenchStage(suctionMmHg, holdMin float64) therapy.Stage {
	return therapy.Stage{SuctionMmHg: suctionMmHg, HoldMin: holdMin}
}
