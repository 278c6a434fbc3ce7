package caseload

import (
	"context"
	"sort"
	"time"

	"lowtide/healing"
	"lowtide/review"
)

// Cohort is the agency's own reference curve for a type of wound, from its ended cases, and the rates fitted to them;
// rates is nil with too few. pending is how many cases could not be read before ctx ended.
func (l *Caseload) Cohort(ctx context.Context, woundType string, now time.Time) (c healing.Cohort, rates *review.Rates, pending int, err error) {
	_, pending, err = l.Rows(ctx, now)
	if err != nil {
		return healing.Cohort{}, nil, 0, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	ids := make([]string, 0, len(l.kept))
	for id, k := range l.kept {
		if len(k.ended) > 0 {
			ids = append(ids, id)
		}
	}
	sort.Strings(ids)
	var cases []healing.ClosedCase
	for _, id := range ids {
		cases = append(cases, l.kept[id].ended...)
	}
	if pr, ok := healing.FitCohort(woundType, cases); ok {
		rates = &pr
	}
	return healing.CohortCurve(woundType, cases), rates, pending, nil
}
