package power

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func Example() {
	m, _ := Class("portable", 2)
	fmt.Println(m.RunTime(0.01).Sentence)
	fmt.Println(m.Plan(60, 0, []Leg{{Name: "outing", Hours: 4, Duty: 0.02}}).Sentence)
	// Output:
	// A full battery should last about 20 h, four times in five between 16 h 5 min and 24 h 52 min (by the class alone; no discharge of this pump is known).
	// The battery should last: 40 % left at the end, four times in five between 34 and 44.
}

func portable(t testing.TB) Model {
	m, ok := Class("portable", 2)
	if !ok {
		t.Fatal("no portable class")
	}
	return m
}

func TestClass(t *testing.T) {
	m := portable(t)
	// 100/20 = a + 0.01 b, 100/10 = a + 0.5 b: b = 5/0.49 = 10.20408, a = 5 - 0.1020408 = 4.897959.
	if math.Abs(m.RunPercentH-10.20408) > 1e-5 || math.Abs(m.IdlePercentH-4.897959) > 1e-6 {
		t.Errorf("%+v", m)
	}
	for _, name := range []string{"bedside", ""} {
		if _, ok := Class(name, 2); ok {
			t.Errorf("%q has a battery model", name)
		}
	}
}

func TestCannotTell(t *testing.T) {
	m := portable(t)
	for _, d := range []float64{-0.1, 1.1, math.NaN()} {
		if r := m.RunTime(d); r.OK || r.Sentence == "" || r.Hours != 0 {
			t.Errorf("duty %g: %+v", d, r)
		}
	}
	if (Model{}).RunTime(0.1).OK {
		t.Error("an empty model answers")
	}
	legs := []Leg{{Hours: 2, Duty: 0.1}}
	for name, o := range map[string]Outcome{
		"no legs": m.Plan(50, 0, nil), "level": m.Plan(120, 0, legs), "NaN": m.Plan(math.NaN(), 0, legs),
		"model": (Model{}).Plan(50, 0, legs), "duty": m.Plan(50, 0, []Leg{{Hours: 1, Duty: 2}}), "hours": m.Plan(50, 0, []Leg{{Hours: math.NaN()}}),
	} {
		if o.Status != "cannot tell" || o.Sentence == "" || o.ReservePercent != 0 {
			t.Errorf("%s: %+v", name, o)
		}
	}
	if (Fit(10, 0.1, 20, 0.5) != Model{}) {
		t.Error("a run time that grows with duty was fitted")
	}
}

// TestPlan at duty 0.01, 5 % an hour: 60 % last 11 h 36 min to the low mark (58/5 = 11.6 h) and 12 h to empty.
func TestPlan(t *testing.T) {
	m := portable(t)
	o := m.Plan(60, 0, []Leg{{Name: "night", Hours: 13, Duty: 0.01}})
	if o.Status != "fails" || math.Abs(*o.LowAtH-11.6) > 1e-9 || math.Abs(*o.EmptyAtH-12) > 1e-9 || o.ReservePercent != 0 {
		t.Errorf("%+v", o)
	}
	if *o.LatestPlugInH >= *o.LowAtH {
		t.Errorf("latest plug-in %g h is not before the expected low mark", *o.LatestPlugInH)
	}
	// Out for 8 h leaves 20 % in the middle; the low end (0.804 of the run time) has 59.5 - 8*5/0.804 = 9.8 %.
	if o = m.Plan(60, 0, []Leg{{Hours: 8, Duty: 0.01}}); o.Status != "ok" || math.Abs(o.ReservePercent-20) > 1e-9 || o.LatestPlugInH != nil {
		t.Errorf("%+v", o)
	}
	// 10 h: 10 % in the middle, nothing at the low end.
	if o = m.Plan(60, 0, []Leg{{Hours: 10, Duty: 0.01}}); o.Status != "doubtful" || o.LatestPlugInH == nil || o.LowAtH != nil {
		t.Errorf("%+v", o)
	}
	// An hour at a socket brings 100/3 %.
	o = m.Plan(30, 0, []Leg{{Hours: 2, Duty: 0.01}, {Hours: 1, Mains: true}, {Hours: 2, Duty: 0.01}})
	if math.Abs(o.Levels[1]-(20+100.0/3)) > 1e-9 || math.Abs(o.ReservePercent-(10+100.0/3)) > 1e-9 {
		t.Errorf("%+v", o)
	}
	if o = m.Plan(95, 0, []Leg{{Hours: 5, Mains: true}}); o.ReservePercent != 100 {
		t.Errorf("%+v", o)
	}
}

func TestAgedRefuses(t *testing.T) {
	m := portable(t)
	a := m.Aged([]Discharge{{50, 48, 1, 0.1}, {50, 60, 1, 0.1}, {120, 20, 5, 0.1}, {80, 20, 0, 0.1}, {80, 20, math.NaN(), 0.1}, {80, 20, 5, -1}})
	if a.Refused != 6 || len(a.Used) != 0 || a.Model.Health != m.Health || a.Worn {
		t.Errorf("%+v", a)
	}
	worn := m.Aged([]Discharge{{100, 20, 8, 0.01}, {100, 10, 9, 0.01}, {90, 10, 8, 0.01}}) // half of 16, 18 and 16 h
	if !worn.Worn || math.Abs(worn.Model.Health-0.5) > 0.06 {
		t.Errorf("%+v", worn)
	}
}

// TestLawIntervalIsCalibrated draws batteries and discharges from the stated law: the 80 % interval for the next
// discharge holds 80 % of them, with any number of discharges seen.
func TestLawIntervalIsCalibrated(t *testing.T) {
	m := portable(t)
	rng := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{0, 1, 3, 10} {
		const runs = 8000
		inside := 0
		for range runs {
			k := math.Exp(unitSpread * rng.NormFloat64())
			hours := func(fall, duty float64) float64 {
				return fall / m.PercentH(duty) * k * math.Exp(math.Hypot(runSpread, math.Sqrt2*displayPercent/fall)*rng.NormFloat64())
			}
			var seen []Discharge
			for range n {
				fall, duty := 20+70*rng.Float64(), rng.Float64()
				seen = append(seen, Discharge{FromPercent: 95, ToPercent: 95 - fall, Hours: hours(fall, duty), Duty: duty})
			}
			r := m.Aged(seen).Model.RunTime(0.2)
			next := 100 / m.PercentH(0.2) * k * math.Exp(runSpread*rng.NormFloat64())
			if next >= r.LowH && next <= r.HighH {
				inside++
			}
		}
		// 8000 draws at 0.8 have a standard error of 0.0045; three of them are allowed.
		if share := float64(inside) / runs; math.Abs(share-0.8) > 0.0135 {
			t.Errorf("%d discharges: %.4f inside, want 0.80", n, share)
		}
	}
}

// TestLawMoreUseNeverLastsLonger in run time, reserve and latest moment.
func TestLawMoreUseNeverLastsLonger(t *testing.T) {
	m := portable(t)
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0, 1).Draw(t, "duty")
		e := rapid.Float64Range(d, 1).Draw(t, "more")
		a, b := m.RunTime(d), m.RunTime(e)
		if b.Hours > a.Hours+1e-9 || a.LowH > a.Hours || a.Hours > a.HighH {
			t.Fatalf("%+v then %+v", a, b)
		}
		level, hours := rapid.Float64Range(0, 100).Draw(t, "level"), rapid.Float64Range(0, 30).Draw(t, "hours")
		x, y := m.Plan(level, 0, []Leg{{Hours: hours, Duty: d}}), m.Plan(level, 0, []Leg{{Hours: hours, Duty: e}})
		if y.ReservePercent > x.ReservePercent+1e-9 || x.ReserveLow > x.ReservePercent+1e-9 || x.ReservePercent > x.ReserveHigh+1e-9 {
			t.Fatalf("%+v then %+v", x, y)
		}
		if x.LatestPlugInH != nil && (y.LatestPlugInH == nil || *y.LatestPlugInH > *x.LatestPlugInH+1e-9) {
			t.Fatalf("latest %v then %v", x.LatestPlugInH, y.LatestPlugInH)
		}
	})
}

// TestLawPluggingInAtTheLatestMomentIsEnough: act on the advice and the low end keeps above the mark.
func TestLawPluggingInAtTheLatestMomentIsEnough(t *testing.T) {
	m := portable(t)
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0, 1).Draw(t, "duty")
		level := rapid.Float64Range(5, 100).Draw(t, "level")
		o := m.Plan(level, 0, []Leg{{Hours: 40, Duty: d}})
		if o.LatestPlugInH == nil {
			t.Fatalf("40 h unplugged: %+v", o)
		}
		again := m.Plan(level, 0, []Leg{{Hours: *o.LatestPlugInH * 0.999999, Duty: d}, {Hours: 3, Mains: true}})
		if again.Status != "ok" {
			t.Fatalf("plugged in at %g h: %+v", *o.LatestPlugInH, again)
		}
	})
}
