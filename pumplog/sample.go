package pumplog

import (
	"math"
	"slices"
	"sort"
)

// Yes and No are the answers of a two-valued column; 0 is not told.
const (
	No  uint8 = 1
	Yes uint8 = 2
)

// Sample is one moment of a log. A number that the row does not tell is NaN.
type Sample struct {
	// T is Unix milliseconds.
	T int64
	// SuctionMmHg is the depth below ambient at the pump, FlowMLMin the flow of air, MotorPct the motor's share of time.
	SuctionMmHg, FlowMLMin, MotorPct, BatteryPct float32
	// Row is the line of the file from which it came; the first of several when rows were joined.
	Row uint32
	// Rows is how many rows were joined into it.
	Rows uint32
	// Therapy and Plugged are 0, No or Yes. Alarm is an index into Log.Words; 0 is no alarm.
	Therapy, Plugged, Alarm uint8
}

// Log is the log of one pump, ordered by time with no time twice.
type Log struct {
	Pump    string
	Words   []string // Words[0] is ""
	Samples []Sample
	// JoinedMs is the width into which rows were joined to stay within memory; 0 when every row is a sample.
	JoinedMs int64
}

// maxSamples bounds a log's memory: 40 bytes each. Four months of a row a minute are 172,800.
const maxSamples = 1 << 19

var nan32 = float32(math.NaN())

func known(x float32) bool { return !math.IsNaN(float64(x)) }

// keep appends a sample and joins samples when there are too many.
func (l *Log) keep(s Sample, u *unused) {
	l.Samples = append(l.Samples, s)
	if len(l.Samples) >= maxSamples {
		l.tidy(u, nil)
		if l.JoinedMs > 0 {
			l.cells()
		}
		for len(l.Samples) > maxSamples/2 {
			l.join()
		}
	}
}

// tidy orders the samples by time and drops rows that say the same moment twice; repeat is told of rows that only repeat.
func (l *Log) tidy(u *unused, repeat func(row int)) {
	s := l.Samples
	if !slices.IsSortedFunc(s, before) {
		sort.SliceStable(s, func(i, j int) bool { return before(s[i], s[j]) < 0 })
	}
	n := 0
	for i := range s {
		if n > 0 && s[n-1].T == s[i].T {
			if s[n-1].Rows > 1 || s[i].Rows > 1 {
				s[n-1] = joined(s[n-1], s[i])
				continue
			}
			if same(s[n-1], s[i]) {
				u.add(int(s[i].Row), "the same row again")
				if repeat != nil {
					repeat(int(s[i].Row))
				}
			} else {
				u.add(int(s[i].Row), "another row has this time and says something else; the first counts")
			}
			continue
		}
		s[n] = s[i]
		n++
	}
	l.Samples = s[:n]
}

func before(a, b Sample) int {
	switch {
	case a.T < b.T:
		return -1
	case a.T > b.T:
		return 1
	}
	return int(a.Row) - int(b.Row)
}

func same(a, b Sample) bool {
	eq := func(x, y float32) bool { return x == y || (!known(x) && !known(y)) }
	return eq(a.SuctionMmHg, b.SuctionMmHg) && eq(a.FlowMLMin, b.FlowMLMin) && eq(a.MotorPct, b.MotorPct) && eq(a.BatteryPct, b.BatteryPct) &&
		a.Therapy == b.Therapy && a.Plugged == b.Plugged && a.Alarm == b.Alarm
}

// join doubles the width of a cell and joins the samples within each.
func (l *Log) join() {
	l.JoinedMs = max(1000, 2*l.JoinedMs)
	l.cells()
}

// cells joins the samples within each cell: means of numbers, the first alarm, and no cell across a change of therapy.
func (l *Log) cells() {
	s, n := l.Samples, 0
	for i := range s {
		if n > 0 && s[n-1].T/l.JoinedMs == s[i].T/l.JoinedMs && s[n-1].Therapy == s[i].Therapy {
			s[n-1] = joined(s[n-1], s[i])
			continue
		}
		s[n] = s[i]
		n++
	}
	l.Samples = s[:n]
}

func joined(a, b Sample) Sample {
	wa, wb := float32(max(a.Rows, 1)), float32(max(b.Rows, 1))
	mean := func(x, y float32) float32 {
		switch {
		case !known(x):
			return y
		case !known(y):
			return x
		}
		return (x*wa + y*wb) / (wa + wb)
	}
	a.SuctionMmHg, a.FlowMLMin = mean(a.SuctionMmHg, b.SuctionMmHg), mean(a.FlowMLMin, b.FlowMLMin)
	a.MotorPct, a.BatteryPct = mean(a.MotorPct, b.MotorPct), mean(a.BatteryPct, b.BatteryPct)
	if a.Alarm == 0 {
		a.Alarm = b.Alarm
	}
	if a.Plugged == 0 {
		a.Plugged = b.Plugged
	}
	a.Rows = uint32(wa + wb)
	return a
}

// Unused is a row that was not used, and why.
type Unused struct {
	// Row is the line of the file on which the row begins, counted from 1 with the header.
	Row int    `json:"row"`
	Why string `json:"why"`
}

// Reason counts the rows that were not used for one reason, whatever the words in them.
type Reason struct {
	Why  string `json:"why"`
	Rows int    `json:"rows"`
}

// maxUnused bounds the list; the counts go on.
const maxUnused = 1000

type unused struct {
	list   []Unused
	counts []Reason
	at     map[string]int
	total  int
}

// add notes a row; detail follows the reason after a colon in the list and is not counted apart.
func (u *unused) add(row int, why string, detail ...string) {
	u.total++
	if u.at == nil {
		u.at = map[string]int{}
	}
	i, ok := u.at[why]
	if !ok {
		i = len(u.counts)
		u.at[why] = i
		u.counts = append(u.counts, Reason{Why: why})
	}
	u.counts[i].Rows++
	if len(u.list) < maxUnused {
		for _, d := range detail {
			why += ": " + d
		}
		u.list = append(u.list, Unused{row, why})
	}
}
