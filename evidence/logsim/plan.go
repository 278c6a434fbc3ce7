// Package logsim makes pump logs whose truth is known, for the checks of package pumplog: one generator takes suction,
// flow and motor from the pressure path of package suction, the other from a few lines of its own. Nothing of the
// program uses it.
package logsim

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"sort"
	"time"
)

// What happens at a time.
const (
	Normal = "normal"
	Leak   = "leak"
	Kink   = "kink"
	Full   = "full canister"
	Tilt   = "tilt"
	Off    = "off"
	Gap    = "gap"
	Noise  = "noise" // nothing ever happens
)

// Setup is what a log is made with.
type Setup struct {
	Seed  uint64
	Days  int
	StepS int
	Start time.Time
	// Events: leaks, kinks, full canisters, tilts, times off and gaps, about three a day.
	Events bool
	// Duplicates, OutOfOrder, ClockJump spoil the file: rows twice, days in another order, the clock set ahead for some
	// hours and back again.
	Duplicates, OutOfOrder, ClockJump bool
	// Scatter is the noise of flow and motor as a share of them; 0 takes 0.08.
	Scatter float64
	// Coughs is the chance that a row's flow is six times what it is: a cough, a turn in bed.
	Coughs float64
	// AgeingPct is by how much the battery's run time falls from beginning to end.
	AgeingPct float64
}

// Event is something that happened.
type Event struct {
	What     string
	From, To time.Time
	Size     float64 // of a leak: times its usual flow
}

// Truth is what a log should say.
type Truth struct {
	Events []Event
	// LeastMin is the shortest spell that has to be found: two rows and more lie in it. One found that is shorter is right.
	LeastMin float64
	// AtTargetMin, OffMin and UnknownMin count the grid of true suction outside and inside gaps.
	AtTargetMin, OffMin, UnknownMin float64
}

// level is what the pump's sensors see.
type level struct{ suction, flow, motor float64 }

// source gives the levels of a condition at a second of the log.
type source interface {
	at(what string, size float64, sec int) level
	// ordered is the suction ordered, for the truth.
	ordered() float64
}

// plan spreads events over the days, never overlapping.
func plan(s Setup, r *rand.Rand) []Event {
	var out []Event
	if !s.Events {
		return nil
	}
	kinds := []string{Leak, Leak, Kink, Full, Tilt, Off, Gap}
	t := s.Start.Add(3 * time.Hour)
	end := s.Start.Add(time.Duration(s.Days) * 24 * time.Hour)
	for {
		t = t.Add(time.Duration(150+r.IntN(600)) * time.Minute).Truncate(10 * time.Second)
		e := Event{What: kinds[r.IntN(len(kinds))], From: t}
		min := 14 + r.IntN(150)
		switch {
		case e.What == Off || e.What == Gap:
			min = 5 + r.IntN(200)
		case r.IntN(5) == 0: // too short to be listed
			min = 2 + r.IntN(4)
		}
		e.To = t.Add(time.Duration(min) * time.Minute)
		e.Size = 2.2 + 4*r.Float64()
		if !e.To.Before(end.Add(-2 * time.Hour)) {
			return out
		}
		out = append(out, e)
		t = e.To
	}
}

// write makes the file and its truth.
func write(s Setup, src source) ([]byte, Truth) {
	r := rand.New(rand.NewPCG(s.Seed, 7))
	tr := Truth{Events: plan(s, r), LeastMin: max(10, 3*float64(s.StepS)/60)}
	type row struct {
		at   time.Time
		text string
	}
	var rows []row
	batt, k := 100.0, 0
	plugged := false
	n := s.Days * 86400
	for sec := 0; sec < n; sec += 10 {
		at := s.Start.Add(time.Duration(sec) * time.Second)
		for k < len(tr.Events) && !at.Before(tr.Events[k].To) {
			k++
		}
		what, size := Normal, 1.0
		if k < len(tr.Events) && !at.Before(tr.Events[k].From) {
			what, size = tr.Events[k].What, tr.Events[k].Size
		}
		l := src.at(what, size, sec)
		switch d := l.suction - src.ordered(); {
		case what == Gap:
			tr.UnknownMin += 1.0 / 6
		case what == Off:
			tr.OffMin += 1.0 / 6
		case d >= -10 && d <= 10:
			tr.AtTargetMin += 1.0 / 6
		}
		if plugged {
			if batt += 10.0 / 3600 * 40; batt >= 100 {
				batt, plugged = 100, false
			}
		} else {
			full := 14 * (1 - s.AgeingPct/100*float64(sec)/float64(n))
			if batt -= 10.0 / 3600 * 100 / full; batt < 15 {
				plugged = true
			}
		}
		if what == Gap || sec%s.StepS != 0 {
			continue
		}
		alarm := ""
		if what == Full || what == Tilt {
			alarm = what
		}
		shown := at
		if s.ClockJump && sec > n/3 && sec < n/3+5*3600 {
			shown = at.Add(100 * time.Minute)
		}
		scatter := s.Scatter
		if scatter == 0 {
			scatter = 0.08
		}
		if s.Coughs > 0 && what != Off && r.Float64() < s.Coughs {
			l.flow, l.motor = 6*l.flow, 6*l.motor
		}
		noise := func(x, share, abs float64) float64 { return max(0, x*(1+share*r.NormFloat64())+abs*r.NormFloat64()) }
		rows = append(rows, row{at, fmt.Sprintf("%s,%.1f,%.1f,%.2f,%.0f,%v,%v,%s\n", shown.UTC().Format("2006-01-02T15:04:05Z"), noise(l.suction, 0, 1.2), noise(l.flow, scatter, 0.8),
			noise(l.motor, scatter, 0.1), batt, plugged, what != Off, alarm)})
		if s.Duplicates && r.IntN(200) == 0 {
			rows = append(rows, rows[len(rows)-1])
		}
	}
	if s.OutOfOrder {
		sort.SliceStable(rows, func(i, j int) bool {
			a, b := int(rows[i].at.Sub(s.Start)/(24*time.Hour)), int(rows[j].at.Sub(s.Start)/(24*time.Hour))
			return (a*7)%s.Days < (b*7)%s.Days
		})
	}
	var b bytes.Buffer
	b.WriteString("time,suction_mmHg,flow_mL_min,motor_pct,battery_pct,plugged_in,therapy,alarm\n")
	for _, x := range rows {
		b.WriteString(x.text)
	}
	return b.Bytes(), tr
}
