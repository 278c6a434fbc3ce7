package pumplog

import (
	"math"
	"time"
)

// Stage is a suction held for a time, after a straight ramp from the stage before.
type Stage struct {
	SuctionMmHg float64 `json:"suction_mmHg"`
	HoldMin     float64 `json:"hold_min"`
	RampMin     float64 `json:"ramp_min,omitempty"`
}

// Order is what was ordered from From until To; zero times leave an end open. Stages repeat; one is continuous therapy.
type Order struct {
	From, To time.Time
	Stages   []Stage
}

// MeanMmHg is the time-mean over a cycle.
func (o Order) MeanMmHg() float64 {
	sum, t := 0.0, 0.0
	for i, s := range o.Stages {
		from := o.Stages[(i+len(o.Stages)-1)%len(o.Stages)].SuctionMmHg
		sum += s.RampMin*(from+s.SuctionMmHg)/2 + s.HoldMin*s.SuctionMmHg
		t += s.RampMin + s.HoldMin
	}
	if t == 0 {
		return math.NaN()
	}
	return sum / t
}

// CycleMin is the length of a cycle; 0 for continuous therapy, which has none.
func (o Order) CycleMin() float64 {
	t := 0.0
	for _, s := range o.Stages {
		t += s.HoldMin + s.RampMin
	}
	if len(o.Stages) < 2 {
		return 0
	}
	return t
}

func (o Order) holds(t int64) bool {
	return (o.From.IsZero() || t >= o.From.UnixMilli()) && (o.To.IsZero() || t < o.To.UnixMilli())
}

// Settings are the limits by which a log is judged. All but the off-time limit are common practice or our own choice,
// with no published source; a local protocol can change those that rules use.
type Settings struct {
	// BandMmHg is how far from the order still counts as at the order.
	BandMmHg float64
	// OffBelowMmHg is the suction under which no therapy is delivered.
	OffBelowMmHg float64
	// DailyTargetH of 24 h are to be at the order; 0 leaves [Day.Met] empty.
	DailyTargetH float64
	// EpisodeMin is the shortest leak or blockage that is listed.
	EpisodeMin float64
	// JoinAlarmMin is the pause after which the same alarm is another episode.
	JoinAlarmMin float64
	// NightFromH and NightToH bound the night on the clock of the place.
	NightFromH, NightToH int
	// TrendFrom is from when the leak's trend is told, such as the last dressing change; at most a week before the end.
	TrendFrom time.Time
}

// Usual are the settings where nothing else is told.
var Usual = Settings{BandMmHg: 10, OffBelowMmHg: 10, EpisodeMin: 10, JoinAlarmMin: 15, NightFromH: 22, NightToH: 7}
