package caseload

import (
	"context"
	"time"

	"lowtide/healing"
	"lowtide/state"
)

// Cohort is the agency's own reference curve for a type of wound, from its ended cases, and the rates fitted to them;
// rates is nil with too few. pending is how many cases could not be read before ctx ended.
func (l *Caseload) Cohort(ctx context.Context, woundType string, now time.Time) (c healing.Cohort, rates *state.Rates, pending int, err error) {
	v, err := l.upToDate(ctx, now)
	if err != nil {
		return healing.Cohort{}, nil, 0, err
	}
	var cases []healing.ClosedCase
	for _, k := range v.byCase() {
		cases = append(cases, k.Ended...)
	}
	if pr, ok := healing.FitCohort(woundType, cases); ok {
		rates = &pr
	}
	return healing.CohortCurve(woundType, cases), rates, len(v.waiting), nil
}
