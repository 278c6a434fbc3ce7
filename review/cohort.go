package review

import (
	"context"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/healing"
)

// endedSizes are the sizes of each wound of a case whose therapy ended, as healing takes them; nil while it goes on.
func endedSizes(c *casebook.Case) []healing.ClosedCase {
	if c == nil || c.Ended == nil {
		return nil
	}
	var out []healing.ClosedCase
	for i := range c.Wounds {
		w := &c.Wounds[i]
		one := healing.ClosedCase{WoundType: woundType(w)}
		for _, z := range healingSizes(w, c.Zone) {
			if z.AreaReadCm2 != nil {
				one.Sizes = append(one.Sizes, healing.Size{At: z.At, AreaCm2: z.AreaReadCm2, Method: z.Method.ID})
			}
		}
		if len(one.Sizes) > 1 {
			out = append(out, one)
		}
	}
	return out
}

// Cohort is the agency's own reference curve for a type of wound, from its ended cases, and the rates fitted to them;
// rates is nil with too few. pending is how many cases could not be read before ctx ended.
func (l *Caseload) Cohort(ctx context.Context, woundType string, now time.Time) (c healing.Cohort, rates *Rates, pending int, err error) {
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
