package review

import (
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/state"
)

// aboutCanister tells whether a rule is asked once for each canister of the patient.
func aboutCanister(r *rule.Rule) bool {
	return r.Scope == rule.ScopeCase && (r.Reads("canister.") || r.Reads("fluid."))
}

// judgeCanister adds what the rules about canisters say of one more of them.
func (r *Review) judgeCanister(c *casebook.Case, rules *rule.Set, facts *rule.Facts, f *state.Fluid) {
	outcomes := rules.Judge(facts, r.AsOf)
	for i := range outcomes {
		o := &outcomes[i]
		if !aboutCanister(o.Rule) {
			continue
		}
		state.Earliest(&r.Until, o.Until)
		if o.State == rule.Yes || o.State == rule.CannotTell {
			r.Findings = append(r.Findings, findingOn(f, c, o))
		}
	}
}

// findingOn says in its first words whose canister it is about, where there are several.
func findingOn(f *state.Fluid, c *casebook.Case, o *rule.Outcome) Finding {
	g := finding(c, o)
	if f.Pump != "" && aboutCanister(o.Rule) {
		g.Pump, g.Headline = f.Pump, "Pump "+f.Pump+": "+g.Headline
	}
	return g
}

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
