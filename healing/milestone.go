package healing

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lowtide/unit"
)

// Milestone is a published marker: a share of the area gone by a day after the start.
type Milestone struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	// WoundTypes for which it was published; empty for any.
	WoundTypes []string `json:"wound_types,omitempty"`
	Reduction  float64  `json:"area_reduction"`
	DueDays    float64  `json:"due_days"`
	// MetRight is the share of patients who met it and healed; NotMetRight the share who did not meet it and did not
	// heal; nil when the source does not say. Right is the source's own words for both.
	MetRight    *float64 `json:"met_right"`
	NotMetRight *float64 `json:"not_met_right"`
	Right       string   `json:"right"`
	Source      string   `json:"source"`
	// Sure says how sure the source is: "published" or "from memory".
	Sure string `json:"sure"`
}

func share(x float64) *float64 { return &x }

// markers lists the markers by wound type.
func markers(l Limits) []Milestone {
	return []Milestone{
		{ID: "dfu-53-week4", Title: "53 % of the area gone by week 4", WoundTypes: []string{"diabetic_foot"}, Reduction: 0.53, DueDays: 28,
			MetRight: share(0.58), NotMetRight: share(0.91), Right: "of 203 patients, 58 % above it healed by week 12 and 9 % below it",
			Source: "Sheehan 2003 (Diabetes Care 26:1879)", Sure: "published"},
		{ID: "dfu-50-week4", Title: "half of the area gone by week 4", WoundTypes: []string{"diabetic_foot"}, Reduction: 0.50, DueDays: 28,
			MetRight: share(0.48), Right: "of 120 patients, 52 % of those at or above it were still unhealed at week 12",
			Source: "Warriner 2011 (Int Wound J)", Sure: "published"},
		{ID: "dfu-90-week8", Title: "90 % of the area gone by week 8", WoundTypes: []string{"diabetic_foot"}, Reduction: 0.90, DueDays: 56,
			NotMetRight: share(0.82), Right: "82 % of those below it did not heal by week 12; those at it healed 2.7 times as often",
			Source: "Warriner 2011 (Int Wound J)", Sure: "published"},
		{ID: "npwt-foot-15-week1", Title: "15 % of the area gone in the first week", WoundTypes: []string{"diabetic_foot_surgical"}, Reduction: 0.15, DueDays: 7,
			MetRight: share(0.68), NotMetRight: share(0.69), Right: "of 162 patients, 68 % of those at it healed by week 16, and 31 % of the others",
			Source: "Lavery 2008 (Diabetes Care 31:26)", Sure: "published"},
		{ID: "npwt-foot-60-week4", Title: "60 % of the area gone by week 4", WoundTypes: []string{"diabetic_foot_surgical"}, Reduction: 0.60, DueDays: 28,
			MetRight: share(0.77), NotMetRight: share(0.70), Right: "of 162 patients, 77 % of those at it healed by week 16, and 30 % of the others",
			Source: "Lavery 2008 (Diabetes Care 31:26)", Sure: "published"},
		{ID: "vlu-40-week3", Title: "40 % of the area gone by week 3", WoundTypes: []string{"venous_leg"}, Reduction: 0.40, DueDays: 21,
			MetRight: share(0.70), NotMetRight: share(0.70), Right: "it foretold more than 70 % of outcomes, both ways together",
			Source: "Phillips 2000 (J Am Acad Dermatol 43:627)", Sure: "published"},
		{ID: "pressure-35-week4", Title: "35 % of the area gone by week 4, the mean of pressure ulcers that closed", WoundTypes: []string{"pressure"}, Reduction: 0.354, DueDays: 28,
			Right:  "a mean of 31 ulcers, not a cut: those that closed were 35 % smaller, poor healers a little larger; no share of patients was published",
			Source: "Edsberg 2011 (Ostomy Wound Manage 57(10):50)", Sure: "published"},
		{ID: "pressure-any-week2", Title: "some fall of the area by week 2", WoundTypes: []string{"pressure"}, Reduction: 1e-6, DueDays: 14,
			Right:  "a guideline's expectation: with no sign of healing the whole plan is looked at again; no share of patients was published",
			Source: "NPUAP/EPUAP/PPPIA 2014, from memory", Sure: "from memory"},
		generalMarker(l),
		{ID: "half-week4", Title: "half of the area gone by week 4", Reduction: 0.50, DueDays: 28,
			Right:  "published for diabetic foot ulcers only (48 % of those at it healed by week 12); for other wounds no share was published",
			Source: "Warriner 2011 (Int Wound J)", Sure: "published"},
	}
}

// GeneralMarker is the ID of the marker for wounds of any type: a rule of thumb, which an agency may set.
const GeneralMarker = "general"

func generalMarker(l Limits) Milestone {
	return Milestone{ID: GeneralMarker, Title: fmt.Sprintf("%s %% of the area gone by %s", unit.Number(100*l.MarkerShare, 1), week(l.MarkerDays)),
		Reduction: l.MarkerShare, DueDays: l.MarkerDays,
		Right:  "a rule of thumb of 20 to 40 % in 2 to 4 weeks; no share of patients was published",
		Source: "Flanagan 2003, from memory", Sure: "from memory"}
}

// week names a day after the start by its week where it ends one.
func week(days float64) string {
	if wk := days / 7; wk == math.Trunc(wk) {
		return "week " + unit.Number(wk, 0)
	}
	return "day " + unit.Number(days, 0)
}

// woundTypes joins spellings to the types that milestones use.
var woundTypes = map[string]string{
	"diabeticfoot": "diabetic_foot", "dfu": "diabetic_foot", "diabeticfootulcer": "diabetic_foot", "diabetic": "diabetic_foot",
	"diabeticfootsurgical": "diabetic_foot_surgical", "partialfootamputation": "diabetic_foot_surgical", "amputation": "diabetic_foot_surgical",
	"postamputation": "diabetic_foot_surgical", "diabeticfootamputation": "diabetic_foot_surgical", "diabeticfootpostoperative": "diabetic_foot_surgical",
	"venous": "venous_leg", "vlu": "venous_leg", "venousleg": "venous_leg", "venouslegulcer": "venous_leg", "venousulcer": "venous_leg",
	"pressure": "pressure", "pressureulcer": "pressure", "pressureinjury": "pressure",
	"surgical": "surgical", "surgicalwound": "surgical", "dehiscedsurgical": "surgical", "dehiscence": "surgical", "trauma": "trauma", "traumatic": "trauma",
}

// WoundType returns the type that milestones use for a spelling; known is false for a type without milestones of its own.
func WoundType(text string) (name string, known bool) {
	key := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' {
			return r
		}
		return -1
	}, strings.ToLower(text))
	name, known = woundTypes[key]
	if !known {
		name = text
	}
	return name, known
}

// MilestonesFor returns the markers for a wound type: its own, then those for any wound that its own do not repeat.
func MilestonesFor(woundType string, l Limits) []Milestone {
	name, _ := WoundType(woundType)
	var out []Milestone
	for _, m := range markers(l) {
		fits := len(m.WoundTypes) == 0
		for _, t := range m.WoundTypes {
			fits = fits || t == name || (t == "diabetic_foot" && name == "diabetic_foot_surgical")
		}
		for _, o := range out {
			fits = fits && !(o.DueDays == m.DueDays && o.Reduction == m.Reduction)
		}
		if fits {
			out = append(out, m)
		}
	}
	return out
}

// States of a milestone.
const (
	StateMet        = "met"
	StateNotMet     = "not met"
	StateNotYetDue  = "not yet due"
	StateCannotTell = "cannot tell"
)

// MilestoneResult is a milestone for one wound.
type MilestoneResult struct {
	Milestone
	// Due is the day it falls due.
	Due time.Time `json:"due,omitzero"`
	// State is met, not met, not yet due or cannot tell; Met is nil unless it is one of the first two.
	State string `json:"state"`
	Met   *bool  `json:"met"`
	// Chance that it is met when it falls due; 1 or 0 once known; nil when it cannot be told.
	Chance *float64 `json:"chance"`
	// Seen is the reduction on which the state rests, or the present one while it is not due.
	Seen *float64 `json:"seen_reduction"`
	// SeenAt is the day of the size that Seen rests on.
	SeenAt   *time.Time `json:"seen_at"`
	Sentence string     `json:"sentence"`
}

const (
	// a size this close to the due day counts as taken on it
	dueSlackDays = 3.5
	// bracketing sizes up to this far apart are joined by a line on the log scale
	bracketDays = 21.0
)

// judge decides a milestone from sizes and fit. asOf is the day of the review.
func judge(m Milestone, areas []Size, f *Fit, asOf time.Time, closed *time.Time) MilestoneResult {
	r := MilestoneResult{Milestone: m, State: StateCannotTell}
	if len(areas) == 0 || !(*areas[0].AreaCm2 > 0) {
		r.Sentence = "Cannot tell: there is no first area to compare with."
		return r
	}
	start := *areas[0].AreaCm2
	r.Due = areas[0].At.AddDate(0, 0, int(m.DueDays))
	if closed != nil && !closed.After(r.Due) {
		met := true
		r.Met, r.Chance, r.State, r.Seen, r.SeenAt = &met, share(1), StateMet, share(1), closed
		r.Sentence = "Met: the wound closed before it was due."
		return r
	}
	if seen, at, ok := areaAt(areas, r.Due); ok && !asOf.Before(r.Due) {
		red, _ := Reduction(start, seen)
		r.Seen, r.SeenAt = &red, &at
		// unrounded; the slack is for binary fractions only: 12 to 7.2 is 40 %
		met := red >= m.Reduction-1e-9
		r.Met, r.Chance, r.State = &met, share(0), StateNotMet
		r.Sentence = "Not met: " + m.Right + "."
		if met {
			r.Chance, r.State = share(1), StateMet
			r.Sentence = "Met: " + m.Right + "."
		}
		return r
	}
	last := areas[len(areas)-1]
	if red, ok := Reduction(start, *last.AreaCm2); ok && len(areas) > 1 {
		r.Seen, r.SeenAt = &red, &last.At
	}
	due := asOf.After(r.Due)
	if !due {
		r.State = StateNotYetDue
	}
	if f == nil {
		r.Sentence = "Cannot tell: too few sizes for a forecast."
		return r
	}
	if h := weeksBetween(f.Last, r.Due); h >= 0 {
		fc := f.at(h)
		p := math.Max(f.chanceLeft(h, 1-m.Reduction, measureSDLog), fc.closed())
		r.Chance = &p
	}
	r.Sentence = "Not yet due on this day; the chance is a forecast."
	if due {
		r.Sentence = "It was due, but no size was taken close to that day; the chance rests on the fitted curve."
	}
	return r
}

// measureSDLog is the error of the reading that will be compared when the milestone falls due, as a share.
const measureSDLog = 0.03

// areaAt returns the area on a day: of a size within half a week, or between two sizes at most three weeks apart.
func areaAt(areas []Size, day time.Time) (area float64, at time.Time, ok bool) {
	best := math.Inf(1)
	for _, s := range areas {
		if d := math.Abs(s.At.Sub(day).Hours() / 24); d <= dueSlackDays && d < best {
			best, area, at, ok = d, *s.AreaCm2, s.At, true
		}
	}
	if ok {
		return area, at, true
	}
	for i := 1; i < len(areas); i++ {
		a, b := areas[i-1], areas[i]
		if a.At.Before(day) && b.At.After(day) && b.At.Sub(a.At).Hours()/24 <= bracketDays {
			w := day.Sub(a.At).Hours() / b.At.Sub(a.At).Hours()
			if *a.AreaCm2 > 0 && *b.AreaCm2 > 0 {
				return math.Exp((1-w)*math.Log(*a.AreaCm2) + w*math.Log(*b.AreaCm2)), day, true
			}
			return (1-w)**a.AreaCm2 + w**b.AreaCm2, day, true
		}
	}
	return 0, time.Time{}, false
}
