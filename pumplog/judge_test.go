package pumplog

import (
	"bytes"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// sums checks that times are divided without rest.
func sums(t interface{ Fatalf(string, ...any) }, r *Result) {
	check := func(what string, m Minutes, period float64) {
		if d := m.AtTargetMin + m.BelowMin + m.AboveMin + m.OtherMin + m.OffMin - m.CoveredMin; math.Abs(d) > 1e-6*(1+m.CoveredMin) {
			t.Fatalf("%s: parts and covered differ by %v: %+v", what, d, m)
		}
		if math.Abs(m.CoveredMin+m.UnknownMin-period) > 1e-6*(1+period) {
			t.Fatalf("%s: covered %v and unknown %v of %v", what, m.CoveredMin, m.UnknownMin, period)
		}
	}
	all := 0.0
	for _, d := range r.Days {
		check(d.Date, d.Minutes, d.PeriodMin)
		all += d.PeriodMin
	}
	check("all", r.Minutes, all)
	if math.Abs(r.Day.CoveredMin+r.Night.CoveredMin-r.CoveredMin) > 1e-6*(1+all) {
		t.Fatalf("day %v and night %v of %v", r.Day.CoveredMin, r.Night.CoveredMin, r.CoveredMin)
	}
}

// every makes a log of one sample a step.
func every(start time.Time, step time.Duration, suction ...float64) *Log {
	l := &Log{Words: []string{""}}
	for i, v := range suction {
		s := Sample{T: start.Add(time.Duration(i) * step).UnixMilli(), SuctionMmHg: float32(v), FlowMLMin: nan32, MotorPct: nan32, BatteryPct: nan32, Row: uint32(i + 2), Rows: 1}
		if math.IsNaN(v) {
			s.SuctionMmHg = nan32
		}
		l.Samples = append(l.Samples, s)
	}
	return l
}

func repeat(n int, v ...float64) (out []float64) {
	for range n {
		out = append(out, v...)
	}
	return out
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tol)
	}
}

var at125 = []Order{{Stages: []Stage{{SuctionMmHg: 125, HoldMin: 60}}}}

// TestHandWorked: 3 h at target, 2.5 h off, a gap of 1 h, 1 h off, 30 min at 60 mmHg, all in one day by minutes.
func TestHandWorked(t *testing.T) {
	start := time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)
	l := every(start, time.Minute, append(append(repeat(180, 125), repeat(150, 0)...), append(repeat(60, 0), repeat(30, 60)...)...)...)
	for i := 330; i < len(l.Samples); i++ {
		l.Samples[i].T += 60 * 60_000
	}
	r := Judge(l, at125, nil, Usual, Period{})
	sums(t, r)
	near(t, "covered", r.CoveredMin, 420, 1e-9)
	near(t, "unknown", r.UnknownMin, 60, 1e-9)
	near(t, "at target", r.AtTargetMin, 180, 1e-9)
	near(t, "off", r.OffMin, 210, 1e-9)
	near(t, "below", r.BelowMin, 30, 1e-9)
	if len(r.OffSpell) != 2 {
		t.Fatalf("%+v", r.OffSpell)
	}
	// 150 min before the gap, 60 after: at most 150 + 60 + 60, never counted as one.
	near(t, "first spell", r.OffSpell[0].Minutes, 150, 1e-9)
	near(t, "first spell at most", r.OffSpell[0].MostMin, 270, 1e-9)
	near(t, "second spell", r.OffSpell[1].Minutes, 60, 1e-9)
	near(t, "longest of the day", r.Days[0].LongestOffMin, 150, 1e-9)
	// Dose: 180 min × 125 + 30 min × 60 over 420 min × 125.
	near(t, "dose", *r.Dose.SharePct, 100*(180*125+30*60)/(420.0*125), 1e-9)
	near(t, "least", *r.Dose.LeastPct, 100*(180*125+30*60)/(480.0*125), 1e-6)
	near(t, "most", *r.Dose.MostPct, 100*(180*125+30*60+60*125)/(480.0*125), 1e-6)
	if len(r.Episodes) != 1 || r.Episodes[0].Kind != LowSuction || r.Episodes[0].Minutes != 30 || r.Episodes[0].Size != 65 {
		t.Errorf("%+v", r.Episodes)
	}
	if r.Leak.Method != "" || len(r.Cannot) == 0 {
		t.Error("without flow and motor the leak cannot be told, and that is said")
	}
}

// TestDaysOfChangedClocks: days of 23 and 25 hours are whole days with their own target.
func TestDaysOfChangedClocks(t *testing.T) {
	zone := zoneOf(t, "Europe/London")
	for date, want := range map[string]float64{"2026-03-29": 23 * 60, "2026-10-25": 25 * 60, "2026-07-01": 24 * 60} {
		day, _ := time.ParseInLocation(time.DateOnly, date, zone)
		l := every(day.Add(-2*time.Hour), time.Minute, repeat(30*60, 125)...)
		r := Judge(l, at125, zone, Usual, Period{})
		sums(t, r)
		if len(r.Days) != 3 && len(r.Days) != 2 {
			t.Fatal(r.Days)
		}
		d := r.Days[1]
		if d.Date != date || d.Met != "" || d.MetBy(22) != "yes" || d.MetBy(24.1) != "no" || r.Days[0].MetBy(22) != "" {
			t.Errorf("%+v", d)
		}
		set := Usual
		set.DailyTargetH = 22
		if m := Judge(l, at125, zone, set, Period{}).Days[1].Met; m != "yes" {
			t.Errorf("%s: %q by a target of 22 h", date, m)
		}
		near(t, date, d.AtTargetMin, want, 1e-9)
	}
	// An hour that came twice, in local times: 26 hours of rows stay 26 hours.
	tab := localRows(t, zone, time.Date(2026, 10, 24, 23, 0, 0, 0, time.UTC), 180)
	r := Judge(&tab.Logs[0], at125, zone, Usual, Period{})
	near(t, "through the hour that came twice", r.CoveredMin, 180, 1e-9)
}

func localRows(t *testing.T, zone *time.Location, start time.Time, n int) *Table {
	b := []byte("time,suction_mmHg\n")
	for i := range n {
		b = start.Add(time.Duration(i)*time.Minute).In(zone).AppendFormat(b, "2006-01-02 15:04")
		b = append(b, ",125\n"...)
	}
	g, err := Look(bytes.NewReader(b), Known{})
	if err != nil || len(g.Ask) > 0 {
		t.Fatal(err, g.Ask)
	}
	tab, err := Read(bytes.NewReader(b), g.Mapping, Options{Zone: zone})
	if err != nil || tab.Report.NotUsed > 0 {
		t.Fatal(err, tab.Report.List)
	}
	return tab
}

// TestStages: a program of 5 min at 125 and 2 min of rest is recognised; a pump that stays at the rest is not at target.
func TestStages(t *testing.T) {
	start := time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)
	order := []Order{{Stages: []Stage{{SuctionMmHg: 125, HoldMin: 5}, {SuctionMmHg: 0, HoldMin: 2}}}}
	l := every(start, 30*time.Second, repeat(200, 125, 125, 125, 125, 125, 125, 125, 125, 125, 125, 0, 0, 0, 0)...)
	r := Judge(l, order, nil, Usual, Period{})
	sums(t, r)
	near(t, "at target", r.AtTargetMin, 1400, 14)
	if r.Pattern.Matches != "yes" || r.OffMin != 0 {
		t.Errorf("%+v, off %v", r.Pattern, r.OffMin)
	}
	// Continuous 125 where stages are ordered: at target for its share only, and the pattern differs.
	r = Judge(every(start, 30*time.Second, repeat(2800, 125)...), order, nil, Usual, Period{})
	if r.Pattern.Matches != "no" || r.Pattern.Kind != "continuous" {
		t.Errorf("%+v", r.Pattern)
	}
	near(t, "share of the first stage", r.AtTargetMin/r.CoveredMin, 5.0/7*1.1, 0.02)
	// Rows too far apart to see stages.
	r = Judge(every(start, 5*time.Minute, repeat(400, 125, 0)...), order, nil, Usual, Period{})
	if r.Pattern.Matches != "cannot tell" {
		t.Errorf("%+v", r.Pattern)
	}
	// Variable, with the wrong holds.
	order = []Order{{Stages: []Stage{{SuctionMmHg: 120, HoldMin: 3}, {SuctionMmHg: 60, HoldMin: 3}}}}
	good := repeat(300, 120, 120, 120, 120, 120, 120, 60, 60, 60, 60, 60, 60)
	if r = Judge(every(start, 30*time.Second, good...), order, nil, Usual, Period{}); r.Pattern.Matches != "yes" {
		t.Errorf("%+v", r.Pattern)
	}
	bad := repeat(300, 120, 120, 120, 120, 120, 120, 120, 120, 120, 120, 60, 60)
	if r = Judge(every(start, 30*time.Second, bad...), order, nil, Usual, Period{}); r.Pattern.Matches != "no" {
		t.Errorf("%+v", r.Pattern)
	}
}

// TestBatteryAgeing: run times that fall by half are ageing, steady ones are not, few ones cannot tell.
func TestBatteryAgeing(t *testing.T) {
	make := func(days int, fall float64) *Log {
		l := &Log{Words: []string{""}}
		level := 100.0
		plugged := false
		start := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
		for i := range days * 24 * 6 {
			if plugged {
				level += 10
				plugged = level < 100
				level = math.Min(level, 100)
			} else {
				level -= 100 / (12 * 6 * (1 - fall*float64(i)/float64(days*144)))
				plugged = level < 20
			}
			s := Sample{T: start.Add(time.Duration(i) * 10 * time.Minute).UnixMilli(), SuctionMmHg: 125, FlowMLMin: nan32, MotorPct: nan32, BatteryPct: float32(math.Round(level)), Plugged: No, Rows: 1, Row: uint32(i)}
			if plugged {
				s.Plugged = Yes
			}
			l.Samples = append(l.Samples, s)
		}
		return l
	}
	for _, c := range []struct {
		days int
		fall float64
		want string
	}{{40, 0.5, "yes"}, {40, 0, "no"}, {6, 0.5, "cannot tell"}} {
		b := Judge(make(c.days, c.fall), at125, nil, Usual, Period{}).Battery
		if b.Ageing != c.want {
			t.Errorf("%d days, fall %v: %s (%d discharges, left %v)", c.days, c.fall, b.Ageing, len(b.Discharges), b.LeftPct)
		}
		if c.days == 40 && c.fall == 0 {
			near(t, "full run", *b.LastH, 12, 0.6)
		}
		if c.want == "yes" {
			// Thirds of a straight fall by half: medians at a sixth and five sixths.
			near(t, "left", *b.LeftPct, 100*(1-5.0/12)/(1-1.0/12), 8)
		}
	}
}

// TestAlarmsJoin: repeats within 15 minutes are one episode.
func TestAlarmsJoin(t *testing.T) {
	l := every(time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), time.Minute, repeat(120, 125)...)
	l.Words = []string{"", "leak", "battery low"}
	for _, i := range []int{5, 6, 7, 20, 60, 61} {
		l.Samples[i].Alarm = 1
	}
	l.Samples[62].Alarm = 2
	r := Judge(l, at125, nil, Usual, Period{})
	if len(r.Alarms) != 3 || r.Alarms[0].Rows != 4 || r.Alarms[1].Rows != 2 || r.Alarms[2].Words != "battery low" {
		t.Errorf("%+v", r.Alarms)
	}
}

// TestLeakGrows: a flow that doubles over a week is growing, a steady noisy one is not.
func TestLeakGrows(t *testing.T) {
	for _, grow := range []bool{true, false} {
		l := every(time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), 5*time.Minute, repeat(7*288, 125)...)
		x := uint64(88172645463325252)
		for i := range l.Samples {
			x ^= x << 13
			x ^= x >> 7
			x ^= x << 17
			f := 40 + float64(x%1000)/100
			if grow {
				f += 40 * float64(i) / float64(len(l.Samples))
			}
			l.Samples[i].FlowMLMin = float32(f)
		}
		r := Judge(l, at125, nil, Usual, Period{})
		if want := map[bool]string{true: "yes", false: "no"}[grow]; r.Leak.Growing != want {
			t.Errorf("grow %v: %+v", grow, r.Leak)
		}
		if len(r.Episodes) > 0 {
			t.Errorf("%+v", r.Episodes)
		}
	}
}

// TestLoneDip: a single reading just outside the band is the sensor's noise, a deep one is not, however restless the log.
func TestLoneDip(t *testing.T) {
	for _, c := range []struct{ dip, below float64 }{{112, 0}, {108, 60}, {60, 60}} {
		var v []float64
		for range 60 {
			v = append(v, 125, c.dip, 125, 140)
		}
		l := every(time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), time.Minute, v...)
		if r := Judge(l, at125, nil, Usual, Period{}); r.BelowMin != c.below {
			t.Errorf("a dip to %v mmHg in every fourth minute of 240: %+v", c.dip, r.Minutes)
		}
	}
}

// TestLawJudge: moving a log in time, splitting its orders, or going through Pack changes nothing; unknown time never
// becomes on or off.
func TestLawJudge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 400).Draw(t, "n")
		vals := rapid.SliceOfN(rapid.SampledFrom([]float64{125, 124, 0, 5, 80, 140, math.NaN(), 60}), n, n).Draw(t, "v")
		start := time.Date(2026, 3, 28, rapid.IntRange(0, 23).Draw(t, "h"), 0, 0, 0, time.UTC)
		l := every(start, time.Minute, vals...)
		for range rapid.IntRange(0, 3).Draw(t, "gaps") {
			k := rapid.IntRange(1, n-1).Draw(t, "at")
			for i := k; i < n; i++ {
				l.Samples[i].T += 47 * 60_000
			}
		}
		r := Judge(l, at125, nil, Usual, Period{})
		sums(t, r)
		for _, s := range r.OffSpell {
			if s.MostMin < s.Minutes-1e-9 {
				t.Fatalf("%+v", s)
			}
		}
		moved := &Log{Words: l.Words, Samples: append([]Sample(nil), l.Samples...)}
		for i := range moved.Samples {
			moved.Samples[i].T += 7 * dayMs
		}
		m := Judge(moved, at125, nil, Usual, Period{})
		if m.Minutes != r.Minutes || len(m.OffSpell) != len(r.OffSpell) {
			t.Fatalf("moved: %+v, %+v", m.Minutes, r.Minutes)
		}
		back, err := Unpack(Pack(l))
		if err != nil {
			t.Fatal(err)
		}
		if p := Judge(back, at125, nil, Usual, Period{}); p.Minutes != r.Minutes {
			t.Fatalf("packed: %+v, %+v", p.Minutes, r.Minutes)
		}
		// Leaving rows out never makes more on or more off than before.
		k := rapid.IntRange(0, n-1).Draw(t, "out")
		e := min(n, k+rapid.IntRange(25, 60).Draw(t, "len"))
		less := &Log{Words: l.Words, Samples: append(append([]Sample(nil), l.Samples[:k]...), l.Samples[e:]...)}
		if len(less.Samples) > 60 {
			c := Judge(less, at125, nil, Usual, Period{r.From, r.To})
			if c.AtTargetMin > r.AtTargetMin+1+1e-6 || c.OffMin > r.OffMin+1+1e-6 {
				t.Fatalf("with rows left out: at target %v after %v, off %v after %v", c.AtTargetMin, r.AtTargetMin, c.OffMin, r.OffMin)
			}
		}
	})
}
