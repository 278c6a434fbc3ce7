package logsim

import (
	"fmt"
	"io"
	"math"
	"time"
)

// Line is one line of the table.
type Line struct {
	Name  string
	Score Score
}

// Table judges so many logs of so many days of each sort. The last two lines are pure noise: nothing happens in them.
func Table(logs, days int) ([]Line, error) {
	start := time.Date(2026, 1, 10, 0, 0, 0, 0, time.UTC)
	sorts := []struct {
		name    string
		make    func(Setup) ([]byte, Truth)
		ordered float64
		set     Setup
	}{
		{"engine, a row a minute", FromEngine, 125, Setup{StepS: 60, Events: true, AgeingPct: 40}},
		{"engine, a row in 10 s", FromEngine, 125, Setup{StepS: 10, Events: true}},
		{"engine, rows twice, days out of order", FromEngine, 125, Setup{StepS: 60, Events: true, Duplicates: true, OutOfOrder: true}},
		{"engine, the clock ahead for 5 h", FromEngine, 125, Setup{StepS: 60, Events: true, ClockJump: true}},
		{"simple, a row a minute", Simple, 110, Setup{StepS: 60, Events: true, AgeingPct: 40}},
		{"simple, a row in 30 s, rows twice", Simple, 110, Setup{StepS: 30, Events: true, Duplicates: true}},
		{"simple, noise 0.3 of the flow", Simple, 110, Setup{StepS: 60, Events: true, Scatter: 0.3}},
		{"simple, noise 0.5 of the flow", Simple, 110, Setup{StepS: 60, Events: true, Scatter: 0.5}},
		{"simple, a row in 5 min, coughs", Simple, 110, Setup{StepS: 300, Events: true, Scatter: 0.2, Coughs: 0.01}},
		{"simple, a row in 15 min, coughs", Simple, 110, Setup{StepS: 900, Events: true, Scatter: 0.2, Coughs: 0.01}},
		{"simple, noise 0.3 and coughs alone", Simple, 110, Setup{StepS: 60, Scatter: 0.3, Coughs: 0.02}},
		{"simple, 15 min, coughs alone", Simple, 110, Setup{StepS: 900, Scatter: 0.2, Coughs: 0.02}},
		{"engine, noise alone", FromEngine, 125, Setup{StepS: 60}},
		{"simple, noise alone", Simple, 110, Setup{StepS: 60}},
	}
	var out []Line
	for k, x := range sorts {
		line := Line{Name: x.name}
		for i := range logs {
			s := x.set
			s.Seed, s.Days, s.Start = uint64(100*k+i+1), days, start
			raw, truth := x.make(s)
			res, _, err := Judge(raw, x.ordered)
			if err != nil {
				return nil, err
			}
			line.Score = line.Score.Add(Compare(res, truth))
		}
		out = append(out, line)
	}
	return out, nil
}

// Share is a over b, 1 when there was nothing to find.
func Share(a, b int) float64 {
	if b == 0 {
		return 1
	}
	return float64(a) / float64(b)
}

// TargetError is the error of the minutes at target in per cent of the truth.
func (s Score) TargetError() float64 { return 100 * math.Abs(s.TargetGot/s.TargetTruth-1) }

// Print writes the table.
func Print(w io.Writer, lines []Line) {
	fmt.Fprintf(w, "%-40s %5s | %6s %6s %6s | %6s %6s %6s | %9s %9s\n", "log", "days", "leaks", "recall", "prec.", "blocks", "recall", "prec.", "target %", "off %")
	for _, l := range lines {
		s := l.Score
		off := 0.0
		if s.OffTruth > 0 {
			off = 100 * (s.OffGot/s.OffTruth - 1)
		}
		fmt.Fprintf(w, "%-40s %5d | %6d %6.3f %6.3f | %6d %6.3f %6.3f | %+9.2f %+9.2f\n", l.Name, s.Days, s.LeakTruth, Share(s.LeakFound, s.LeakTruth), Share(s.LeakRight, s.LeakListed),
			s.BlockTruth, Share(s.BlockFound, s.BlockTruth), Share(s.BlockRight, s.BlockListed), 100*(s.TargetGot/s.TargetTruth-1), off)
		if s.LeakTruth+s.BlockTruth == 0 {
			fmt.Fprintf(w, "%-40s %5s | false episodes in 30 days: %.2f\n", "", "", float64(s.LeakListed+s.BlockListed)/float64(s.Days)*30)
		}
	}
}
