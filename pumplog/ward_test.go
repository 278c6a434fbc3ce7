package pumplog

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// ward makes logs as pumps at a bedside might write them: what is in from, to (minutes) and does to a sample.
type ward struct {
	days, stepS int
	flow        float64
	sdMmHg      float64
	stages      []Stage
	seed        uint64
	each        func(min float64, r *rand.Rand, s *Sample) // changes the sample of a minute
}

var monday = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

func (w ward) log() *Log {
	r := rand.New(rand.NewPCG(w.seed, 11))
	l := &Log{Words: []string{"", "Leak alarm", "Blockage"}}
	cycle := Order{Stages: w.stages}.CycleMin()
	for sec := 0; sec < w.days*86400; sec += w.stepS {
		min := float64(sec) / 60
		depth := w.stages[0].SuctionMmHg
		if cycle > 0 {
			at := math.Mod(min, cycle)
			for _, g := range w.stages {
				if depth = g.SuctionMmHg; at < g.HoldMin {
					break
				}
				at -= g.HoldMin
			}
		}
		s := Sample{T: monday.UnixMilli() + int64(sec)*1000, SuctionMmHg: float32(depth + w.sdMmHg*r.NormFloat64()), FlowMLMin: float32(w.flow * (1 + 0.08*r.NormFloat64())),
			MotorPct: nan32, BatteryPct: nan32, Row: uint32(sec/w.stepS + 2), Rows: 1}
		if w.each != nil {
			w.each(min, r, &s)
		}
		s.SuctionMmHg, s.FlowMLMin = max(0, s.SuctionMmHg), max(0, s.FlowMLMin)
		l.Samples = append(l.Samples, s)
	}
	return l
}

func count(r *Result, kind string) (n int) {
	for _, e := range r.Episodes {
		if e.Kind == kind {
			n++
		}
	}
	return n
}

func wantEpisodes(t *testing.T, r *Result, leaks, blocks, low int) {
	t.Helper()
	if count(r, Leak) != leaks || count(r, Blockage) != blocks || count(r, LowSuction) != low {
		t.Errorf("%d leaks, %d blockages, %d low, want %d, %d, %d: %+v", count(r, Leak), count(r, Blockage), count(r, LowSuction), leaks, blocks, low, r.Episodes[:min(6, len(r.Episodes))])
	}
}

var only125 = []Stage{{SuctionMmHg: 125, HoldMin: 60}}

// TestNothingHappens: thirty days of each sort of restlessness that is no leak and no blockage.
func TestNothingHappens(t *testing.T) {
	slow := 0.0
	for name, w := range map[string]ward{
		"coughs in one row of twenty": {each: func(_ float64, r *rand.Rand, s *Sample) {
			if r.IntN(20) == 0 {
				s.FlowMLMin *= 3 + 5*r.Float32()
			}
		}},
		"a day that swings by 40 %": {each: func(min float64, _ *rand.Rand, s *Sample) {
			s.FlowMLMin *= float32(1 + 0.4*math.Sin(2*math.Pi*min/1440))
		}},
		"a flow that wanders by 20 % over the hour": {each: func(_ float64, r *rand.Rand, s *Sample) {
			slow = 0.98*slow + 0.04*r.NormFloat64()
			s.FlowMLMin *= float32(1 + slow)
		}},
		"a suction that trembles by 4 mmHg": {sdMmHg: 4, stepS: 300},
		"a motor that only runs or rests": {each: func(_ float64, r *rand.Rand, s *Sample) {
			s.FlowMLMin, s.MotorPct = nan32, 0
			if r.Float64() < 0.06 {
				s.MotorPct = 100
			}
		}},
	} {
		w.days, w.flow, w.stages, w.seed = 30, 25, only125, 1
		w.stepS = max(w.stepS, 60)
		w.sdMmHg = math.Max(w.sdMmHg, 1.2)
		r := Judge(w.log(), at125, nil, Usual, Period{})
		t.Run(name, func(t *testing.T) {
			wantEpisodes(t, r, 0, 0, 0)
			near(t, "at target", r.AtTargetMin, 30*1440, 0.005*30*1440)
		})
	}
}

// TestHabitHidesNoLeak: a leak of two hours every night is not taken for the habit of the day.
func TestHabitHidesNoLeak(t *testing.T) {
	w := ward{days: 12, stepS: 60, flow: 25, sdMmHg: 1.2, stages: only125, seed: 2, each: func(min float64, _ *rand.Rand, s *Sample) {
		if m := math.Mod(min, 1440); m >= 120 && m < 240 {
			s.FlowMLMin *= 3
		}
	}}
	r := Judge(w.log(), at125, nil, Usual, Period{})
	wantEpisodes(t, r, 12, 0, 0)
}

// TestBlockageAfterBlockage: a second long blockage within hours does not make the first one pass for a lasting level.
func TestBlockageAfterBlockage(t *testing.T) {
	w := ward{days: 4, stepS: 60, flow: 25, sdMmHg: 1.2, stages: only125, seed: 3, each: func(min float64, r *rand.Rand, s *Sample) {
		if min >= 3000 && min < 3150 || min >= 3210 && min < 3500 {
			s.FlowMLMin = float32(math.Abs(0.5 * r.NormFloat64()))
		}
	}}
	r := Judge(w.log(), at125, nil, Usual, Period{})
	wantEpisodes(t, r, 0, 2, 0)
}

// TestLeakInStages: against a leak the lowest stage reads as off for its two minutes; that is one leak and no time off,
// and it says nothing of the program.
func TestLeakInStages(t *testing.T) {
	stages := []Stage{{SuctionMmHg: 125, HoldMin: 5}, {SuctionMmHg: 75, HoldMin: 3}, {SuctionMmHg: 25, HoldMin: 2}}
	w := ward{days: 5, stepS: 60, flow: 25, sdMmHg: 1.2, stages: stages, seed: 4, each: func(min float64, _ *rand.Rand, s *Sample) {
		if min >= 6200 && min < 6500 {
			s.FlowMLMin *= 5
			s.SuctionMmHg -= 22
		}
	}}
	r := Judge(w.log(), []Order{{Stages: stages}}, nil, Usual, Period{})
	wantEpisodes(t, r, 1, 0, 0)
	near(t, "off", r.OffMin, 0, 0)
	near(t, "leak", r.Episodes[0].Minutes, 300, 12)
	if r.Pattern.Matches != "yes" {
		t.Errorf("%+v", r.Pattern)
	}
	// Off for an hour stays off, and the half cycles beside it are no low suction.
	long := []Stage{{SuctionMmHg: 120, HoldMin: 30}, {SuctionMmHg: 40, HoldMin: 10}}
	w = ward{days: 2, stepS: 60, flow: 25, sdMmHg: 1.2, stages: long, seed: 5, each: func(min float64, _ *rand.Rand, s *Sample) {
		if min >= 1480 && min < 1575 || min >= 2000 && min < 2060 {
			s.SuctionMmHg, s.FlowMLMin = 0, 0
		}
	}}
	r = Judge(w.log(), []Order{{Stages: long}}, nil, Usual, Period{})
	wantEpisodes(t, r, 0, 0, 0)
	near(t, "off", r.OffMin, 155, 1)
}

// TestLeakBeyondThePump: air flows and no suction comes. The time is off, and the leak is named.
func TestLeakBeyondThePump(t *testing.T) {
	w := ward{days: 3, stepS: 60, flow: 25, sdMmHg: 1.2, stages: only125, seed: 6, each: func(min float64, _ *rand.Rand, s *Sample) {
		if min >= 2000 && min < 2120 {
			s.FlowMLMin, s.SuctionMmHg = 400, 3
		}
	}}
	r := Judge(w.log(), at125, nil, Usual, Period{})
	wantEpisodes(t, r, 1, 0, 0)
	near(t, "off", r.OffMin, 120, 1e-9)
	near(t, "leak", r.Episodes[0].Minutes, 120, 2)
}

// TestToldByAlarm: without flow and motor the pump's own alarm names the leak and the blockage; other words name
// nothing.
func TestToldByAlarm(t *testing.T) {
	w := ward{days: 2, stepS: 60, sdMmHg: 1, stages: only125, seed: 7, each: func(min float64, _ *rand.Rand, s *Sample) {
		s.FlowMLMin = nan32
		switch {
		case min >= 600 && min < 640:
			s.SuctionMmHg -= 40
			if int(min)%5 == 0 {
				s.Alarm = 1
			}
		case min >= 1500 && min < 1530:
			s.Alarm = 2
		case min >= 2000 && min < 2040:
			s.SuctionMmHg -= 40
		}
	}}
	r := Judge(w.log(), at125, nil, Usual, Period{})
	wantEpisodes(t, r, 1, 1, 1)
	for _, e := range r.Episodes {
		if (e.Kind == LowSuction) != (e.ToldBy == "") || e.Kind == Leak && math.Abs(e.Size-40) > 2 {
			t.Errorf("%+v", e)
		}
	}
	for words, want := range map[string]uint8{"Leck am Verband": flagLeak, "Tube occluded": flagBlock, "no leak": 0, "Battery low": 0, "Behälter voll": flagBlock} {
		if got := alarmKind(words); got != want {
			t.Errorf("%q: %d, want %d", words, got, want)
		}
	}
}

// TestRowsFarApart: with a row in 15 min both ends lie in the mean where they are, not half a step later.
func TestRowsFarApart(t *testing.T) {
	off, n := 0.0, 0
	for k := range 30 {
		from := 3000 + 7*float64(k)
		w := ward{days: 4, stepS: 900, flow: 25, sdMmHg: 1.2, stages: only125, seed: 8, each: func(min float64, _ *rand.Rand, s *Sample) {
			if min >= from && min < from+100 {
				s.FlowMLMin *= 3
			}
		}}
		r := Judge(w.log(), at125, nil, Usual, Period{})
		wantEpisodes(t, r, 1, 0, 0)
		off, n = off+r.Episodes[0].From.Sub(monday).Minutes()-from, n+1
	}
	near(t, "mean error of the beginning in min", off/float64(n), 0, 1.5)
}

// TestDrift: the line through two comparisons of the clock gives back the true times, whether the earlier one lies at
// the first row, before the log or within it; what no clock can do is refused.
func TestDrift(t *testing.T) {
	days := 10.0
	ahead := func(at time.Time) float64 { return 4 + 3*at.Sub(monday).Hours()/24 } // min, 3 a day
	var b bytes.Buffer
	b.WriteString("time,suction_mmHg\n")
	last := monday
	for i := range int(days * 96) {
		last = monday.Add(time.Duration(i) * 15 * time.Minute)
		fmt.Fprintf(&b, "%s,125\n", last.Add(time.Duration(ahead(last)*60)*time.Second).Format(time.RFC3339))
	}
	m := Mapping{Delimiter: ",", Decimal: ".", HeaderLine: 1, Columns: []Column{{Number: 1, Means: Time}, {Number: 2, Means: Suction, Unit: "mmHg"}}}
	for _, at := range []time.Time{{}, monday.Add(-100 * time.Hour), monday.Add(80 * time.Hour)} {
		o := Options{AheadMin: ahead(last), AheadAtStartMin: ahead(monday), AheadAtStart: at}
		if !at.IsZero() {
			o.AheadAtStartMin = ahead(at)
		}
		tab, err := Read(bytes.NewReader(b.Bytes()), m, o)
		if err != nil || len(tab.Report.Notes) != 1 {
			t.Fatal(err, tab)
		}
		for i, s := range tab.Logs[0].Samples {
			if d := time.UnixMilli(s.T).Sub(monday.Add(time.Duration(i) * 15 * time.Minute)); d.Abs() > 2*time.Second {
				t.Fatalf("%v: row %d is off by %v", at, i, d)
			}
		}
	}
	for _, o := range []Options{{AheadMin: 2000}, {AheadMin: 5, AheadAtStart: last.Add(time.Hour)}} {
		if _, err := Read(bytes.NewReader(b.Bytes()), m, o); !errors.Is(err, ErrDrift) {
			t.Errorf("%+v: %v", o, err)
		}
	}
}

// TestNoWordForSuction: the one column that fits the order is taken for the suction, and that is said; with two such
// columns, or without an order, it is asked.
func TestNoWordForSuction(t *testing.T) {
	table := func(form string, n int) []byte {
		var b bytes.Buffer
		for i := range n {
			fmt.Fprintf(&b, form+"\n", monday.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), 124+i%3)
		}
		return b.Bytes()
	}
	for _, x := range []struct {
		form    string
		ordered float64
		ask     bool
	}{{"%s,%d,3.1", 125, false}, {"%s,%d,3.1", 0, true}, {"%[1]s,%[2]d,3.1,%[2]d", 125, true}, {"%s,%d,3.1", 70, true}} {
		g, err := Look(bytes.NewReader(table(x.form, 60)), Known{OrderedMmHg: x.ordered, ByOrder: true})
		if err != nil || (len(g.Ask) > 0) != x.ask || !x.ask && (g.Find(Suction) == nil || g.Find(Suction).Number != 2 || len(g.Doubts) == 0) {
			t.Errorf("%s with %v: %v %+v", x.form, x.ordered, err, g)
		}
	}
	// A share of 1 under a word that says per cent.
	b := []byte("time,suction_mmHg,motor_pct\n")
	for i := range 40 {
		b = fmt.Appendf(b, "%s,125,0.0%d\n", monday.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), 4+i%4)
	}
	g, err := Look(bytes.NewReader(b), Known{})
	if err != nil || g.Find(Motor) == nil || g.Find(Motor).Unit != "share" || len(g.Doubts) != 1 {
		t.Errorf("%v %+v", err, g)
	}
}
