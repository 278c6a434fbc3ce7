package pumplog

import (
	"math"
	"testing"
	"time"
)

// minutesOf shifts the samples from index i on by a time.
func later(l *Log, i int, d time.Duration) *Log {
	for ; i < len(l.Samples); i++ {
		l.Samples[i].T += d.Milliseconds()
	}
	return l
}

// TestGap: two and a half usual steps are no gap, more are; where a tenth of the steps are longer, half as much again as
// those; and above 20 minutes everything is one.
func TestGap(t *testing.T) {
	for _, x := range []struct {
		name          string
		step, between time.Duration
		gapMin        float64
		unknown       float64 // min
	}{
		{"minutes, 2.5 of them", time.Minute, 150 * time.Second, 2.5, 0},
		{"minutes, a second more", time.Minute, 151 * time.Second, 2.5, 91. / 60},
		{"ten minutes, 20 of them", 10 * time.Minute, 20 * time.Minute, 20, 0},
		{"ten minutes, a second more", 10 * time.Minute, 20*time.Minute + time.Second, 20, 10 + 1./60},
		{"five minutes, 12.5 of them", 5 * time.Minute, 750 * time.Second, 12.5, 0},
		{"five minutes, a second more", 5 * time.Minute, 751 * time.Second, 12.5, 451. / 60},
	} {
		l := later(every(monday, x.step, repeat(60, 125)...), 30, x.between-x.step)
		r := Judge(l, at125, nil, Usual, Period{})
		sums(t, r)
		near(t, x.name+": gap", r.GapMin, x.gapMin, 1e-9)
		near(t, x.name+": unknown", r.UnknownMin, x.unknown, 1e-9)
		near(t, x.name+": interval", r.IntervalS, x.step.Seconds(), 1e-9)
	}
	// One row alone speaks for a minute.
	if r := Judge(every(monday, time.Minute, 125), at125, nil, Usual, Period{}); r.CoveredMin != 1 {
		t.Errorf("one row: %+v", r.Minutes)
	}
	// Every fifth step of 100 s among minutes: 1.5 of them are no gap, as 2.5 minutes are.
	l := every(monday, time.Minute, repeat(60, 125)...)
	for i := 5; i < 60; i += 5 {
		later(l, i, 40*time.Second)
	}
	if r := Judge(l, at125, nil, Usual, Period{}); r.GapMin != 2.5 {
		t.Errorf("steps of 100 s: %g min", r.GapMin)
	}
	l = every(monday, time.Minute, repeat(60, 125)...)
	for i := 5; i < 60; i += 5 {
		later(l, i, time.Minute)
	}
	if r := Judge(l, at125, nil, Usual, Period{}); r.GapMin != 3 || r.UnknownMin != 0 {
		t.Errorf("steps of 120 s: %g min", r.GapMin)
	}
}

// TestBandAndOff: 10 mmHg from the order is at it; under 10 mmHg nothing is delivered.
func TestBandAndOff(t *testing.T) {
	for _, x := range []struct {
		mmHg                 float64
		at, below, above, no float64
	}{{125, 20, 0, 0, 0}, {115, 20, 0, 0, 0}, {114.9, 0, 20, 0, 0}, {135, 20, 0, 0, 0}, {135.1, 0, 0, 20, 0}, {10, 0, 20, 0, 0}, {9.9, 0, 0, 0, 20}, {0, 0, 0, 0, 20}} {
		r := Judge(every(monday, time.Minute, repeat(20, x.mmHg)...), at125, nil, Usual, Period{})
		if r.AtTargetMin != x.at || r.BelowMin != x.below || r.AboveMin != x.above || r.OffMin != x.no {
			t.Errorf("%g mmHg: %+v", x.mmHg, r.Minutes)
		}
	}
}

// TestLoneReadingEdge: one reading up to 15 mmHg from the order, between two at it, is noise.
func TestLoneReadingEdge(t *testing.T) {
	for mmHg, below := range map[float64]float64{110: 0, 109.9: 1, 115: 0, 140: 0, 140.1: 0} {
		v := repeat(21, 125)
		v[10] = mmHg
		r := Judge(every(monday, time.Minute, v...), at125, nil, Usual, Period{})
		if above := map[bool]float64{true: 1}[mmHg > 140]; r.BelowMin != below || r.AboveMin != above {
			t.Errorf("%g mmHg: %+v", mmHg, r.Minutes)
		}
	}
}

// TestShortInterruption: two minutes of suction do not end a time off, three do.
func TestShortInterruption(t *testing.T) {
	for on, want := range map[int][]float64{1: {61}, 2: {62}, 3: {30, 30}} {
		v := append(append(append(append(repeat(60, 125), repeat(30, 0)...), repeat(on, 125)...), repeat(30, 0)...), repeat(60, 125)...)
		r := Judge(every(monday, time.Minute, v...), at125, nil, Usual, Period{})
		if len(r.OffSpell) != len(want) {
			t.Errorf("on for %d min: %+v", on, r.OffSpell)
			continue
		}
		for i, m := range want {
			near(t, "off", r.OffSpell[i].Minutes, m, 1e-9)
		}
	}
}

// TestAlarmPause: the same alarm again within 15 minutes of its end is one, later it is another.
func TestAlarmPause(t *testing.T) {
	for again, n := range map[int]int{6: 1, 15: 1, 16: 1, 17: 2, 30: 2} {
		l := every(monday, time.Minute, repeat(60, 125)...)
		l.Words = []string{"", "leak"}
		l.Samples[5].Alarm, l.Samples[5+again].Alarm = 1, 1
		if r := Judge(l, at125, nil, Usual, Period{}); len(r.Alarms) != n || r.Alarms[0].Words != "leak" || n == 1 && r.Alarms[0].Rows != 2 {
			t.Errorf("again after %d min: %+v", again, r.Alarms)
		}
	}
}

// batteryLog falls from one level to another over minutes, unplugged.
func batteryLog(from, to float64, minutes int) *Log {
	l := every(monday, time.Minute, repeat(minutes+1, 125)...)
	for i := range l.Samples {
		l.Samples[i].BatteryPct = float32(from + (to-from)*float64(i)/float64(minutes))
		l.Samples[i].Plugged = No
	}
	return l
}

// TestDischarge: a fall of 20 % over more than 12 minutes tells a run time, less does not.
func TestDischarge(t *testing.T) {
	for _, x := range []struct {
		from, to float64
		minutes  int
		fullH    float64
	}{{100, 80, 120, 10}, {100, 81, 120, 0}, {100, 84, 120, 0}, {100, 75, 120, 8}, {90, 40, 13, 13. / 60 * 2}, {90, 40, 12, 0}, {90, 40, 10, 0}} {
		b := Judge(batteryLog(x.from, x.to, x.minutes), at125, nil, Usual, Period{}).Battery
		if !b.Told || b.LowPct == nil || math.Abs(*b.LowPct-x.to) > 1e-4 || len(b.Discharges) != map[bool]int{true: 1}[x.fullH > 0] {
			t.Errorf("%+v: %+v", x, b)
			continue
		}
		if x.fullH > 0 {
			near(t, "full", b.Discharges[0].FullH, x.fullH, 1e-3)
		}
	}
	// A level that rises by two per cent was charged in between; one that flickers by one was not. Two hours without a
	// reading end a discharge.
	for _, x := range []struct {
		jump  float32
		pause time.Duration
		n     int
	}{{1, 0, 1}, {2, 0, 2}, {0, 119 * time.Minute, 1}, {0, 121 * time.Minute, 2}} {
		l := batteryLog(100, 40, 240)
		for i := 120; i < len(l.Samples); i++ {
			l.Samples[i].BatteryPct += x.jump + 0.25
			l.Samples[i].T += x.pause.Milliseconds()
		}
		if b := Judge(l, at125, nil, Usual, Period{}).Battery; len(b.Discharges) != x.n {
			t.Errorf("%+v: %d discharges", x, len(b.Discharges))
		}
	}
}

// TestMannKendall: of 5 rising numbers all 10 pairs rise; the variance is 5·4·15/18 = 16.667, z = 9/4.0825 = 2.2045. Of
// 1, 3, 2, 4: 5 rise and 1 falls, 4·3·13/18 = 8.667, z = 3/2.944 = 1.0190; slopes 2, 1/2, 1, -1, 1/2, 2 have the middle
// 3/4. With one tie, 1, 1, 2, 3: 5 rise, 8.667 - 2·1·9/18 = 7.667, z = 4/2.769 = 1.4446.
func TestMannKendall(t *testing.T) {
	for _, x := range []struct {
		y        []float64
		slope, z float64
	}{
		{[]float64{1, 2, 3, 4, 5}, 1, 2.20454}, {[]float64{5, 4, 3, 2, 1}, -1, -2.20454}, {[]float64{1, 3, 2, 4}, 0.75, 1.01905}, {[]float64{1, 1, 2, 3}, 0.83333, 1.44463}, {[]float64{2, 2, 2}, 0, 0},
	} {
		var at []float64
		for i := range x.y {
			at = append(at, float64(i))
		}
		slope, z := trend(at, x.y)
		near(t, "slope", slope, x.slope, 1e-4)
		near(t, "z", z, x.z, 1e-4)
	}
}

// flows is a day of one-minute rows at 125 mmHg with a steady flow of 40 mL/min that scatters by 1 %, and an hour of another.
func flows(share float64, minutes int) *Log {
	l := every(monday, time.Minute, repeat(1440, 125)...)
	for i := range l.Samples {
		f := 40 + 0.4*float64(i%3-1)
		if i >= 700 && i < 700+minutes {
			f *= share
		}
		l.Samples[i].FlowMLMin = float32(f)
	}
	return l
}

// TestLeakAndBlockageBySize: half as much again as usual is a leak, a fall by two thirds with the suction held is a blockage;
// ten minutes of it are listed.
func TestLeakAndBlockageBySize(t *testing.T) {
	for _, x := range []struct {
		share       float64
		minutes     int
		leak, block int
	}{{1, 60, 0, 0}, {1.45, 60, 0, 0}, {1.55, 60, 1, 0}, {0.4, 60, 0, 0}, {0.38, 60, 0, 0}, {0.32, 60, 0, 1}, {0.05, 60, 0, 1}, {2, 60, 1, 0}, {3, 8, 0, 0}, {3, 12, 1, 0}, {0.02, 12, 0, 1}, {0.02, 8, 0, 0}} {
		r := Judge(flows(x.share, x.minutes), at125, nil, Usual, Period{})
		if count(r, Leak) != x.leak || count(r, Blockage) != x.block {
			t.Errorf("%g of the usual flow for %d min: %+v", x.share, x.minutes, r.Episodes)
		}
	}
}

// TestLowSuctionEpisodes: low suction is listed from ten minutes on; a pause of five minutes at the order joins two, one of six
// divides them.
func TestLowSuctionEpisodes(t *testing.T) {
	for low, n := range map[int]int{8: 0, 9: 0, 10: 1, 30: 1} {
		v := append(append(repeat(120, 125), repeat(low, 90)...), repeat(120, 125)...)
		if r := Judge(every(monday, time.Minute, v...), at125, nil, Usual, Period{}); count(r, LowSuction) != n {
			t.Errorf("%d min: %+v", low, r.Episodes)
		}
	}
	for pause, n := range map[int]int{3: 1, 5: 1, 6: 2, 7: 2, 20: 2} {
		v := append(append(append(append(repeat(120, 125), repeat(40, 90)...), repeat(pause, 125)...), repeat(40, 90)...), repeat(120, 125)...)
		if r := Judge(every(monday, time.Minute, v...), at125, nil, Usual, Period{}); count(r, LowSuction) != n {
			t.Errorf("a pause of %d min: %+v", pause, r.Episodes)
		}
	}
}

// TestPlateaus: depths up to 7 mmHg apart are one level, further apart two. Nine tenths of the time at one is continuous.
func TestPlateaus(t *testing.T) {
	for _, x := range []struct {
		other  float64
		every  int // minutes of 60 at the other depth
		kind   string
		stages int
	}{{119, 30, "continuous", 1}, {117, 30, "stages", 2}, {60, 5, "continuous", 1}, {60, 7, "stages", 2}} {
		var v []float64
		for range 48 {
			v = append(append(v, repeat(60-x.every, 125)...), repeat(x.every, x.other)...)
		}
		r := Judge(every(monday, time.Minute, v...), at125, nil, Usual, Period{})
		if (r.Pattern.Kind == "continuous") != (x.kind == "continuous") || len(r.Pattern.Stages) != x.stages {
			t.Errorf("%+v: %+v", x, r.Pattern)
		}
	}
}
