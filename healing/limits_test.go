package healing

import "testing"

// usual are the built-in limits (rule/value).
var usual = Limits{FreshDays: 21, UsableDays: 90, WindowDays: 14, ShortestDays: 5, MarkerShare: 0.20, MarkerDays: 28}

func limited(in Input) Input         { in.Limits = usual; return in }
func assess(in Input) Assessment     { return Assess(limited(in)) }
func courseOf(in Input) Course       { return CourseOf(limited(in)) }
func forecastsOf(in Input) Forecasts { return ForecastsOf(limited(in)) }
func goalOf(in Input) Arrival        { return GoalOf(limited(in)) }

// TestLimits: what is judged goes by the limits of the input.
func TestLimits(t *testing.T) {
	in := limited(Input{Sizes: weekly(20, 19.5, 19, 18.5, 18)})
	last := in.Sizes[len(in.Sizes)-1].At
	for _, x := range []struct {
		name   string
		change func(*Limits)
		days   float64
		holds  func(Assessment) bool
	}{
		{"fresh", func(l *Limits) { l.FreshDays = 30 }, 25, func(a Assessment) bool { return a.NotImproving != nil }},
		{"usable", func(l *Limits) { l.UsableDays = 120 }, 100, func(a Assessment) bool { return a.Status == OK }},
		{"window", func(l *Limits) { l.WindowDays = 7 }, 0, func(a Assessment) bool { return a.WindowDays == 7 }},
		{"shortest", func(l *Limits) { l.ShortestDays = 22 }, 0, func(a Assessment) bool { return a.NotImproving == nil }},
		{"marker's share", func(l *Limits) { l.MarkerShare = 0.05 }, 30, func(a Assessment) bool {
			return general(a).State == StateMet && general(a).Title == "5 % of the area gone by week 4"
		}},
		{"marker's day", func(l *Limits) { l.MarkerDays = 40 }, 0, func(a Assessment) bool {
			return general(a).DueDays == 40 && general(a).Title == "20 % of the area gone by day 40"
		}},
	} {
		usually, other := in, in
		usually.AsOf = addDays(last, x.days)
		other.AsOf = usually.AsOf
		x.change(&other.Limits)
		if x.holds(Assess(usually)) || !x.holds(Assess(other)) {
			t.Errorf("%s: the limit is not what counts", x.name)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("limits that are not filled in were taken")
		}
	}()
	Assess(Input{})
}

func general(a Assessment) MilestoneResult {
	for _, m := range a.Milestones {
		if m.ID == GeneralMarker {
			return m
		}
	}
	return MilestoneResult{}
}
