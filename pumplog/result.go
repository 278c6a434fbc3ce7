package pumplog

import "time"

// Result is what a log tells of the therapy that was delivered. Minutes are of real time. Covered is the time for which
// the log tells the suction; the rest of the period is unknown: neither on nor off.
type Result struct {
	Pump string    `json:"pump,omitempty"`
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	// IntervalS is the usual step between rows; a step above GapMin is a gap.
	IntervalS float64 `json:"interval_s"`
	GapMin    float64 `json:"gap_min"`

	Minutes
	// OrderedMin is the covered time for which an order is known; AtTargetMin can only lie within it.
	OrderedMin float64 `json:"ordered_min"`
	CoveredPct float64 `json:"covered_pct"`

	Dose     Dose      `json:"dose"`
	Days     []Day     `json:"days"`
	OffSpell []Spell   `json:"off_spells"`
	Episodes []Episode `json:"episodes"`
	// Cannot says what this log cannot tell, and why.
	Cannot  []string       `json:"cannot_tell"`
	Leak    Course         `json:"leak"`
	Pattern Pattern        `json:"pattern"`
	Battery BatteryCourse  `json:"battery"`
	Alarms  []AlarmEpisode `json:"alarms"`
	Day     Part           `json:"day"`
	Night   Part           `json:"night"`
	Breaks  []Change       `json:"changes"`
	Hours   []Hour         `json:"hours,omitempty"`
}

// Minutes divides a time: covered is at target, below, above, off and other (a level of the program held for longer
// than its share, or the way from one to the next); the period is covered and unknown.
type Minutes struct {
	CoveredMin  float64 `json:"covered_min"`
	AtTargetMin float64 `json:"at_target_min"`
	BelowMin    float64 `json:"below_min"`
	AboveMin    float64 `json:"above_min"`
	OtherMin    float64 `json:"other_min"`
	OffMin      float64 `json:"off_min"`
	UnknownMin  float64 `json:"unknown_min"`
}

// Dose is suction times time, delivered against ordered, over the covered time with an order. LeastPct counts what is
// unknown as nothing delivered, MostPct as all that was ordered.
type Dose struct {
	DeliveredMmHgH float64  `json:"delivered_mmHg_h"`
	OrderedMmHgH   float64  `json:"ordered_mmHg_h"`
	SharePct       *float64 `json:"share_pct"`
	LeastPct       *float64 `json:"least_pct"`
	MostPct        *float64 `json:"most_pct"`
	// MeanMmHg is the mean suction over the covered time without off; OrderedMmHg that ordered over the same time.
	MeanMmHg    *float64 `json:"mean_on_mmHg"`
	OrderedMmHg *float64 `json:"mean_ordered_mmHg"`
}

// Day is a calendar day in the time zone; PeriodMin is how much of it lies within the log's period.
type Day struct {
	Date      string  `json:"date"`
	PeriodMin float64 `json:"period_min"`
	Minutes
	// LongestOffMin is the longest spell off that touches the day, counted whole.
	LongestOffMin float64 `json:"longest_off_min"`
	// Met is "yes", "no" or "cannot tell" for whole days with an order, "" for others, and where no target was given.
	Met      string   `json:"target_met,omitempty"`
	MeanMmHg *float64 `json:"mean_mmHg,omitempty"`
	start    int64
	end      int64
	length   float64
	ordered  float64
	sum      float64
}

// Spell is a time off. MostMin counts the unknown time on both its sides.
type Spell struct {
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Minutes float64   `json:"minutes"`
	MostMin float64   `json:"at_most_min"`
}

// Kinds of episodes.
const (
	Leak       = "leak"
	Blockage   = "blockage"
	LowSuction = "low suction"
)

// Episode is a leak, a blockage (which a full canister looks like) or a time of low suction whose cause the log does
// not tell. Size is the median rise of the flow or share over its usual value, its fall under it, or the suction short
// of the order.
type Episode struct {
	Kind    string    `json:"kind"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Minutes float64   `json:"minutes"`
	Size    float64   `json:"size"`
	Unit    string    `json:"unit"`
	// Level is the median during the episode, Usual the value before and after.
	Level float64 `json:"level"`
	Usual float64 `json:"usual"`
	// ToldBy is "flow", "motor's share", "decay" or "alarm" for leaks and blockages. Without flow and motor it is the
	// pump's own alarm, and Size is the suction short of the order, 0 when that held or no order is known.
	ToldBy string `json:"told_by,omitempty"`
	// Open tells that the log ends, or has a gap, before the episode does.
	Open bool `json:"open,omitempty"`
}

// Course is how the leak went, told by the flow, by the motor's share or by how fast the suction falls while the motor
// rests. Method "" means that the log tells none of them.
type Course struct {
	Method string  `json:"method,omitempty"`
	Unit   string  `json:"unit,omitempty"`
	Points []Point `json:"points,omitempty"`
	// Over the last week: the median slope, its test statistic, and growth of the fitted line in per cent.
	PerDay    *float64 `json:"per_day"`
	Z         *float64 `json:"z"`
	GrowthPct *float64 `json:"growth_pct"`
	SpanDays  float64  `json:"span_days"`
	// Growing is "yes", "no" or "cannot tell".
	Growing string `json:"growing"`
}

// Point is a value at a time.
type Point struct {
	At    time.Time `json:"at"`
	Value float64   `json:"value"`
}

// Pattern is the program that the log shows, and whether it is the ordered one.
type Pattern struct {
	// Kind is "continuous", "stages", "irregular" or "cannot tell".
	Kind   string  `json:"kind"`
	Stages []Stage `json:"stages,omitempty"`
	// SharePct is how much of the time looked at follows it.
	SharePct float64 `json:"share_pct"`
	// Matches is "yes", "no" or "cannot tell"; Words says in one sentence what was seen and how it differs.
	Matches string `json:"matches_order"`
	Words   string `json:"words"`
}

// BatteryCourse is the battery's discharges and whether they grow shorter.
type BatteryCourse struct {
	Told       bool        `json:"told"`
	Discharges []Discharge `json:"discharges,omitempty"`
	// FirstH and LastH are full run times: medians of the first and the last third of the discharges.
	FirstH *float64 `json:"first_full_h"`
	LastH  *float64 `json:"last_full_h"`
	// LeftPct is LastH over FirstH; nil with fewer than six discharges or less than 14 days.
	LeftPct *float64 `json:"left_pct"`
	// Ageing is "yes", "no" or "cannot tell".
	Ageing string   `json:"ageing"`
	LowPct *float64 `json:"lowest_pct"`
}

// Discharge is a stretch on battery; FullH is its length scaled to 100 %.
type Discharge struct {
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	FromPct float64   `json:"from_pct"`
	ToPct   float64   `json:"to_pct"`
	FullH   float64   `json:"full_h"`
}

// AlarmEpisode is one alarm, joined from its repeats.
type AlarmEpisode struct {
	Words string    `json:"words"`
	From  time.Time `json:"from"`
	To    time.Time `json:"to"`
	Rows  int       `json:"rows"`
}

// Part is the day or the night.
type Part struct {
	Minutes
	Alarms int `json:"alarms"`
	// LeakUsual is the median of the leak's measure.
	LeakUsual *float64 `json:"leak_usual"`
}

// Change is a step in the course of a measure.
type Change struct {
	Of     string    `json:"of"`
	At     time.Time `json:"at"`
	Before float64   `json:"before"`
	After  float64   `json:"after"`
	Size   float64   `json:"size"`
	Unit   string    `json:"unit"`
}

// Hour is one hour of the log, for drawing: KnownMin of it are covered.
type Hour struct {
	At       time.Time `json:"at"`
	KnownMin float64   `json:"known_min"`
	OffMin   float64   `json:"off_min"`
	MeanMmHg float64   `json:"mean_mmHg"`
	LowMmHg  float64   `json:"low_mmHg"`
	HighMmHg float64   `json:"high_mmHg"`
}
