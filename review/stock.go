package review

import (
	"time"

	"lowtide/rule"
	"lowtide/state"
)

// OfStock judges the rules about stock over what fill tells of one item or lot, which place names.
func OfStock(rules *rule.Set, fill func(state.Sink), place string, asOf time.Time, zone *time.Location) []Finding {
	f := rule.NewFacts(func(t time.Time) string { return t.In(zone).Format("Mon 2 Jan 2006") })
	fill(f.Set)
	var out []Finding
	for _, o := range rules.Judge(f, asOf) {
		if o.Rule.Area == rule.AreaStores && (o.State == rule.Yes || o.State == rule.CannotTell) {
			g := finding(nil, &o)
			g.Wound = place
			out = append(out, g)
		}
	}
	return out
}
