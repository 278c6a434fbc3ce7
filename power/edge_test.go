package power

import (
	"math"
	"strings"
	"testing"
)

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// plain drains 10 % an hour whatever the pump does, and is sure of it.
var plain = Model{IdlePercentH: 10, ChargeH: 3, Health: 1, HealthLow: 1, HealthHigh: 1, LowPercent: 2}

// TestMarksOfTheDisplay: 20 h to empty are 12 min a percent.
func TestMarksOfTheDisplay(t *testing.T) {
	r := portable(t).RunTime(0.01)
	if !near(r.Hours, 20, 1e-9) || !near(r.LowMarkMin, 24, 1e-9) || !near(r.CriticalMarkMin, 12, 1e-9) || !near(r.PercentH, 5, 1e-9) {
		t.Errorf("%+v", r)
	}
}

// TestFitRefuses: run times must fall with use, and be there.
func TestFitRefuses(t *testing.T) {
	for name, x := range map[string]struct {
		longH, low, shortH, high float64
		ok                       bool
	}{
		"as stated": {20, 0.01, 10, 0.5, true}, "from no use": {20, 0, 10, 0.5, true}, "minutes": {0.9, 0.01, 0.5, 0.5, true},
		"equal times": {10, 0.01, 10, 0.5, false}, "no time": {20, 0.01, 0, 0.5, false}, "equal use": {20, 0.5, 10, 0.5, false}, "negative use": {20, -0.01, 10, 0.5, false},
	} {
		if m := Fit(x.longH, x.low, x.shortH, x.high); (m != Model{}) != x.ok {
			t.Errorf("%s: %+v", name, m)
		}
	}
}

// TestUsable: a pump may drain by standing alone or by running alone, but not by neither.
func TestUsable(t *testing.T) {
	for name, x := range map[string]struct {
		idle, run, health, low float64
		ok                     bool
	}{
		"idle alone": {10, 0, 1, 1, true}, "running alone": {0, 10, 1, 1, true}, "little": {0.5, 0.4, 1, 1, true}, "one percent": {1, 0, 1, 1, true}, "neither": {0, 0, 1, 1, false},
		"no health": {10, 0, 0, 1, false}, "no low health": {10, 0, 1, 0, false}, "charges by itself": {-1, 10, 1, 1, false}, "runs for nothing": {10, -1, 1, 1, false},
	} {
		m := Model{IdlePercentH: x.idle, RunPercentH: x.run, ChargeH: 3, Health: x.health, HealthLow: x.low, HealthHigh: 1, LowPercent: 2}
		if got := m.RunTime(0.5).OK; got != x.ok {
			t.Errorf("%s: run time %v", name, got)
		}
		if got := m.Plan(50, 0, []Leg{{Hours: 0.1, Duty: 0.5}}).Status != "cannot tell"; got != x.ok {
			t.Errorf("%s: plan %v", name, got)
		}
	}
}

// TestDuty: it goes from never to always, and not beyond.
func TestDuty(t *testing.T) {
	m := portable(t)
	for duty, ok := range map[float64]bool{-0.001: false, 0: true, 1: true, 1.001: false} {
		if m.RunTime(duty).OK != ok || (m.Plan(90, 0, []Leg{{Hours: 0.5, Duty: duty}}).Status != "cannot tell") != ok || (len(m.Aged([]Discharge{{90, 50, 4, duty}}).Used) == 1) != ok {
			t.Errorf("duty %g", duty)
		}
	}
	if m.PercentH(1.5) != m.PercentH(1) || m.PercentH(-1) != m.PercentH(0) {
		t.Error("more than always, or less than never")
	}
}

// TestAgedByHand: one discharge over 10 % in nine tenths of the expected time. Class's spread 0.15 weighs 1/0.15² = 44.44;
// the discharge's 0.08 with half a percent at both ends weighs 1/(0.08² + 2·0.05²) = 87.72. The mean of the logarithm is
// 87.72 ln 0.9 / 132.16 = -0.06993, its spread for the next discharge sqrt(1/132.16 + 0.08²) = 0.11828; times 1.28155 is
// 0.15158 either way.
func TestAgedByHand(t *testing.T) {
	m := portable(t)
	expected := 10 / m.PercentH(0.1)
	a := m.Aged([]Discharge{{60, 50, 0.9 * expected, 0.1}})
	if a.Model.Observed != 1 || !near(a.Model.Health, 0.93246, 1e-5) || !near(a.Model.HealthLow, 0.80141, 1e-5) || !near(a.Model.HealthHigh, 1.08494, 1e-5) || a.Worn {
		t.Errorf("%+v", a)
	}
	if want := "This battery lasts 93 % as long as the class's (four times in five between 80 and 108)."; a.Sentence != want {
		t.Errorf("%q", a.Sentence)
	}
	if got := a.Model.RunTime(0.01).Sentence; got != "A full battery should last about 18 h 39 min, four times in five between 16 h 2 min and 21 h 42 min (from 1 observed discharge)." {
		t.Errorf("%q", got)
	}
	two := m.Aged([]Discharge{{60, 50, expected, 0.1}, {60, 50, expected, 0.1}}).Model
	if got := two.RunTime(0.01).Sentence; !strings.HasSuffix(got, "(from 2 observed discharges).") {
		t.Errorf("%q", got)
	}
}

// TestWorn: after one long discharge the upper end of health is 0.791 for 62 % of the expected time and 0.811 for 64 %;
// a battery is worn below 0.8.
func TestWorn(t *testing.T) {
	m := portable(t)
	expected := 90 / m.PercentH(0.1)
	for share, worn := range map[float64]bool{0.62: true, 0.64: false} {
		a := m.Aged([]Discharge{{95, 5, share * expected, 0.1}})
		if a.Worn != worn || !near(a.Model.HealthHigh, map[bool]float64{true: 0.79102, false: 0.81078}[worn], 1e-5) {
			t.Errorf("%g: %+v", share, a)
		}
	}
}

// TestWhichDischargesCount: a fall of 5 % does, less does not; the display goes from 100 to 0; time must have passed.
func TestWhichDischargesCount(t *testing.T) {
	m := portable(t)
	for name, x := range map[string]struct {
		d  Discharge
		ok bool
	}{
		"5 %": {Discharge{60, 55, 1, 0.1}, true}, "4.9 %": {Discharge{60, 55.1, 1, 0.1}, false}, "rising": {Discharge{50, 60, 1, 0.1}, false},
		"all of it": {Discharge{100, 0, 10, 0.1}, true}, "nearly all": {Discharge{100, 0.5, 10, 0.1}, true}, "more than full": {Discharge{101, 50, 4, 0.1}, false}, "less than empty": {Discharge{50, -1, 4, 0.1}, false},
		"no time": {Discharge{60, 50, 0, 0.1}, false}, "half an hour": {Discharge{60, 50, 0.5, 0.1}, true}, "for ever": {Discharge{60, 50, math.Inf(1), 0.1}, false},
	} {
		a := m.Aged([]Discharge{x.d})
		if (a.Refused == 0) != x.ok || (len(a.Used) == 1) != x.ok || (a.Model.Observed == 1) != x.ok {
			t.Errorf("%s: %+v", name, a)
		}
	}
}

// TestPlanAtTheMarks: at 10 % an hour 12 % reach the low mark of 2 % after an hour, and 10 % are gone after one.
func TestPlanAtTheMarks(t *testing.T) {
	hour := []Leg{{Hours: 1}}
	at := func(p *float64) float64 {
		if p == nil {
			return -1
		}
		return *p
	}
	for _, x := range []struct {
		level          float64
		low, empty, at float64
		status         string
	}{
		{12, 1, -1, 2, "fails"}, {12.2, -1, -1, 2.2, "doubtful"}, {13, -1, -1, 3, "ok"},
		{2, 0, 0.2, 0, "fails"}, {2.1, 0.01, 0.21, 0, "fails"}, {10, 0.8, 1, 0, "fails"}, {10.5, 0.85, -1, 0.5, "fails"}, {0, 0, 0, 0, "fails"}, {0.5, 0, 0.05, 0, "fails"},
	} {
		o := plain.Plan(x.level, 0.3, hour)
		if !near(at(o.LowAtH), x.low, 1e-9) || !near(at(o.EmptyAtH), x.empty, 1e-9) || !near(o.ReservePercent, x.at, 1e-9) || o.Status != x.status {
			t.Errorf("%g %%: %+v", x.level, o)
		}
	}
}

// TestPlanErrorOfTheLevel: half a percent where nobody says, else what is said; a display shows no more than 100.
func TestPlanErrorOfTheLevel(t *testing.T) {
	hour := []Leg{{Hours: 1}}
	for said, want := range map[float64]float64{0: 0.5, -1: 0.5, 0.3: 0.3, 0.7: 0.7, 4: 4} {
		if o := plain.Plan(50, said, hour); !near(o.ReserveLow, 40-want, 1e-9) || !near(o.ReserveHigh, 40+want, 1e-9) {
			t.Errorf("%g: %+v", said, o)
		}
	}
	if o := plain.Plan(100, 0, hour); !near(o.ReserveHigh, 90, 1e-9) || !near(o.ReserveLow, 89.5, 1e-9) {
		t.Errorf("full: %+v", o)
	}
	if o := plain.Plan(12.2, 0.3, hour); o.Sentence != "The battery should last, with 2 % left, but it may not: to be safe plug in within 59 min." {
		t.Errorf("%q", o.Sentence)
	}
}

// TestPlanNumbers: no time on the way and half an hour count; a charger that takes no time cannot be.
func TestPlanNumbers(t *testing.T) {
	quick, never := plain, plain
	quick.ChargeH, never.ChargeH = 0.5, 0
	for name, x := range map[string]struct {
		o    Outcome
		left float64
	}{
		"no time": {plain.Plan(50, 0, []Leg{{Hours: 0}}), 50}, "half an hour": {plain.Plan(50, 0, []Leg{{Hours: 0.5}}), 45}, "quick charger": {quick.Plan(50, 0, []Leg{{Hours: 0.1, Mains: true}}), 70},
	} {
		if x.o.Status != "ok" || !near(x.o.ReservePercent, x.left, 1e-9) {
			t.Errorf("%s: %+v", name, x.o)
		}
	}
	if o := never.Plan(50, 0, []Leg{{Hours: 1}}); o.Status != "cannot tell" {
		t.Errorf("%+v", o)
	}
}
