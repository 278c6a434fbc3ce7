package state

import (
	"lowtide/healing"
	"lowtide/state/memo"
)

// memoEntries bounds how many courses and forecasts of wounds are kept: about 8 kB each.
const memoEntries = 2048

var (
	healingCourses   = memo.New(memoEntries, healing.CourseOf)
	healingForecasts = memo.New(memoEntries, func(in healing.Input) *healing.Forecasts { f := healing.ForecastsOf(in); return &f })
	healingGoals     = memo.New(memoEntries, func(in healing.Input) *healing.Arrival { a := healing.GoalOf(in); return &a })
)
