package suction

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"

	"lowtide/therapy"
)

// deep widens the random checks; the usual run stays within seconds.
var deep = os.Getenv("LOWTIDE_DEEP") != ""

// setups draws paths as a nurse might meet them, and some that she should not.
func setups(t *rapid.T) Setup {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	s, _ := Class(rapid.SampledFrom(Classes).Draw(t, "class"))
	s.Hours = f("hours", 0.02, 0.2)
	n := rapid.IntRange(1, 3).Draw(t, "stages")
	for range n {
		st := therapy.Stage{SuctionMmHg: f("suction", 10, 200), HoldMin: f("hold", 0.1, 3)}
		if rapid.Bool().Draw(t, "ramped") {
			st.RampMin = f("ramp", 0.05, 1)
		}
		if rapid.IntRange(0, 5).Draw(t, "rest") == 0 {
			st.SuctionMmHg = 0
		}
		s.Stages = append(s.Stages, st)
	}
	s.FluidML = f("fill", 0, 0.99) * s.CanisterML
	s.VoidML = f("void", 0.5, 150)
	s.LeakMLMin = f("leak", 0, 1) * f("leak scale", 0, 800)
	s.LeakExponent = rapid.SampledFrom([]float64{0.5, 0.6, 0.75, 1}).Draw(t, "exponent")
	s.Pump.BandMmHg = f("band", 0.5, 8)
	s.Pump.Sensor = rapid.SampledFrom([]string{"canister", "wound"}).Draw(t, "sensor")
	if rapid.Bool().Draw(t, "has vent") {
		s.Pump.VentMLMinMmHg = f("vent", 0, 10)
	}
	s.Tube = Tube{LengthM: f("length", 0.3, 4), BoreMM: f("bore", 1, 8)}
	s.HeightM, s.LiquidShare = f("height", -1, 1), f("liquid", 0, 1)
	s.AltitudeM = f("altitude", -100, 4000)
	return s
}

// TestLawGasIsConserved: out = in + what the volumes gave up, to 1e-9 of what moved.
func TestLawGasIsConserved(t *testing.T) {
	var worst float64
	rapid.Check(t, func(t *rapid.T) {
		r := Simulate(setups(t), Options{})
		if r.Status == CannotTell {
			t.Fatal(r.Sentence)
		}
		worst = math.Max(worst, r.Balance.ErrorShare)
		if !(r.Balance.ErrorShare <= 1e-9) {
			t.Fatalf("balance off by %g: %+v", r.Balance.ErrorShare, r.Balance)
		}
	})
	t.Logf("worst share: %.2g", worst)
}

// TestLawRepeatedCyclesAreTheIntegratedOnes: counting settled cycles instead of integrating them changes nothing
// that can be seen.
func TestLawRepeatedCyclesAreTheIntegratedOnes(t *testing.T) {
	var worst float64
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		if !deep {
			s.Hours = math.Min(s.Hours, 0.03)
		}
		a, b := Simulate(s, Options{StepS: 1}), Simulate(s, Options{StepS: 1, EveryCycle: true})
		for i := range a.Trace {
			d := math.Max(math.Abs(a.Trace[i].WoundMmHg-b.Trace[i].WoundMmHg), math.Abs(a.Trace[i].PumpMmHg-b.Trace[i].PumpMmHg))
			worst = math.Max(worst, d)
			if !(d < 0.01) {
				t.Fatalf("%g s: repeated %+v, integrated %+v", a.Trace[i].TS, a.Trace[i], b.Trace[i])
			}
		}
		// A start right at the end of the run may fall on either side of it.
		if d := math.Abs(a.StartsPerHour-b.StartsPerHour) * s.Hours; d > 1.01 {
			t.Fatalf("starts differ by %g", d)
		}
		if math.Abs(a.Duty-b.Duty) > 1e-5 || math.Abs(a.MeanWoundMmHg-b.MeanWoundMmHg) > 1e-4 {
			t.Fatalf("duty %g and %g, mean %g and %g", a.Duty, b.Duty, a.MeanWoundMmHg, b.MeanWoundMmHg)
		}
		// At the end of each stretch pump and vent may count as one switch or two.
		if d, most := a.Work.Switches-b.Work.Switches, 2*len(s.Stages.Pieces(s.Hours*3600))+2; d > most || -d > most {
			t.Fatalf("switches %d and %d", a.Work.Switches, b.Work.Switches)
		}
	})
	t.Logf("worst difference: %.2g mmHg", worst)
}

// TestLawTolerance: a thousand times the care changes the trace by less than a twentieth of what is promised.
func TestLawTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		s.Hours = math.Min(s.Hours, 0.02)
		a, b := Simulate(s, Options{StepS: 0.5}), Simulate(s, Options{StepS: 0.5, Tol: 1e-11})
		for i := range a.Trace {
			if d := math.Abs(a.Trace[i].WoundMmHg - b.Trace[i].WoundMmHg); !(d < 0.01) {
				t.Fatalf("%g s: %g mmHg apart", a.Trace[i].TS, d)
			}
		}
	})
}

// TestLawDeeperOrderIsNeverShallower: an order deeper by a band keeps the wound at least as deep at every moment.
// With less than a band between them two sawtooths may cross, so no more than this is true.
func TestLawDeeperOrderIsNeverShallower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		s.Pump.Sensor, s.Pump.VentMLMinMmHg = "canister", 0
		s.Stages = therapy.Program{{SuctionMmHg: rapid.Float64Range(10, 150).Draw(t, "order"), HoldMin: 10}}
		deeper := s
		deeper.Stages = therapy.Program{{SuctionMmHg: s.Stages[0].SuctionMmHg + s.Pump.BandMmHg + rapid.Float64Range(0, 20).Draw(t, "more"), HoldMin: 10}}
		a, b := Simulate(s, Options{StepS: 0.5}), Simulate(deeper, Options{StepS: 0.5})
		for i := range a.Trace {
			if b.Trace[i].WoundMmHg < a.Trace[i].WoundMmHg-1e-3 {
				t.Fatalf("%g s: %g for the deeper order, %g for the other", a.Trace[i].TS, b.Trace[i].WoundMmHg, a.Trace[i].WoundMmHg)
			}
		}
		x, _ := SteadyAt(s, s.Stages[0].SuctionMmHg)
		y, _ := SteadyAt(s, s.Stages[0].SuctionMmHg+1)
		if y.WoundMmHg < x.WoundMmHg-1e-9 {
			t.Fatalf("steady: %g then %g", x.WoundMmHg, y.WoundMmHg)
		}
	})
}

// TestLawMoreLeakNeverLowersDuty: exactly in the steady state; in a run up to one stroke of the pump, because the
// run may end just before or just after one.
func TestLawMoreLeakNeverLowersDuty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		s.Stages = therapy.Program{{SuctionMmHg: rapid.Float64Range(20, 150).Draw(t, "order"), HoldMin: 10}}
		s.LiquidShare = 0 // a column that pushes air out through the leak turns the second law round
		more := s
		more.LeakMLMin = s.LeakMLMin*rapid.Float64Range(1, 3).Draw(t, "times") + rapid.Float64Range(0, 50).Draw(t, "plus")
		x, _ := SteadyAt(s, s.Stages[0].SuctionMmHg)
		y, _ := SteadyAt(more, s.Stages[0].SuctionMmHg)
		if y.Duty < x.Duty-1e-9 || y.WoundMmHg > x.WoundMmHg+1e-9 {
			t.Fatalf("steady duty %g then %g, wound %g then %g", x.Duty, y.Duty, x.WoundMmHg, y.WoundMmHg)
		}
		a, b := Simulate(s, Options{}), Simulate(more, Options{})
		stroke := 0.0
		for _, r := range []Result{a, b} {
			if r.StartsPerHour > 0 {
				stroke = math.Max(stroke, r.Duty/(r.StartsPerHour*s.Hours))
			}
		}
		if b.Duty < a.Duty-stroke-1e-9 {
			t.Fatalf("duty %g then %g", a.Duty, b.Duty)
		}
	})
}

// TestLawScaling: k times the volumes take k times as long for the same course.
func TestLawScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		k := rapid.Float64Range(0.3, 3).Draw(t, "k")
		p := PathOf(s)
		q := p
		q.CanisterNodeML, q.WoundNodeML = k*p.CanisterNodeML, k*p.WoundNodeML
		q.perCanister, q.perWound = p.perCanister/k, p.perWound/k
		slow := make(therapy.Program, len(s.Stages))
		for i, st := range s.Stages {
			slow[i] = therapy.Stage{SuctionMmHg: st.SuctionMmHg, HoldMin: k * st.HoldMin, RampMin: k * st.RampMin}
		}
		end := s.Hours * 3600
		a, b := newRunner(p, s.Stages, end, 0, Options{StepS: 1}), newRunner(q, slow, k*end, 0, Options{StepS: k})
		a.run(s.Stages)
		b.run(slow)
		n := min(len(a.trace), len(b.trace)) - 1 // the last sample may fall on either side of the end
		for i := range n {
			if d := math.Abs(a.trace[i].WoundMmHg - b.trace[i].WoundMmHg); !(d < 0.02) {
				t.Fatalf("sample %d: %g and %g", i, a.trace[i].WoundMmHg, b.trace[i].WoundMmHg)
			}
		}
	})
}

// TestLawTightAndResting: without leak, vent and pump nothing changes, for ever.
func TestLawTightAndResting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		s.Stages = therapy.Program{{HoldMin: 60}}
		s.LeakMLMin, s.Pump.VentMLMinMmHg, s.LiquidShare = 0, 0, 0
		s.StartMmHg = rapid.Float64Range(0, 200).Draw(t, "start")
		r := Simulate(s, Options{StepS: 10})
		for _, x := range r.Trace {
			if math.Abs(x.WoundMmHg-s.StartMmHg) > 1e-6 {
				t.Fatalf("%g s: %g, want %g", x.TS, x.WoundMmHg, s.StartMmHg)
			}
		}
	})
}

// TestLawNeverNaN feeds the corners of every accepted range: the result encodes as JSON (which refuses NaN and
// infinities) and has a status with a sentence.
func TestLawNeverNaN(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, _ := Class("portable")
		for range rapid.IntRange(1, 3).Draw(t, "stages") {
			s.Stages = append(s.Stages, therapy.Stage{
				SuctionMmHg: rapid.SampledFrom([]float64{0, 0.01, 1, 60, 125, 300, 700}).Draw(t, "suction"),
				HoldMin:     rapid.SampledFrom([]float64{0, 0.05, 0.5, 2}).Draw(t, "hold"),
				RampMin:     rapid.SampledFrom([]float64{0, 0, 0.1}).Draw(t, "ramp")})
		}
		for _, f := range Fields {
			if rapid.IntRange(0, 3).Draw(t, f.Name+" moved") == 0 {
				f.Set(&s, rapid.SampledFrom([]float64{f.Min, f.Max, f.Min + (f.Max-f.Min)/1000}).Draw(t, f.Name))
			}
		}
		s.Hours = rapid.SampledFrom([]float64{1.0 / 3600, 0.02}).Draw(t, "hours")
		s.Pump.Sensor = rapid.SampledFrom([]string{"canister", "wound"}).Draw(t, "sensor")
		r := Simulate(s, Options{StepS: s.Hours * 36})
		for _, v := range []any{r, LargestLeak(s)} {
			if _, err := json.Marshal(v); err != nil {
				t.Fatalf("%v for %+v", err, s)
			}
		}
		if r.Status == "" || r.Sentence == "" {
			t.Fatalf("no status: %+v", r)
		}
	})
}
