package review

import (
	"lowtide/rule"
	"lowtide/state"
)

// byOtherCorrections adds what presses by the corrections that are not the newest of an entry that different people
// corrected: until somebody says which is right, the worse one counts.
func (r *Review) byOtherCorrections() {
	known := map[string]bool{}
	for _, f := range r.Findings {
		known[f.Key()] = true
	}
	for _, q := range r.Asked {
		if q.About != state.AskedCorrection {
			continue
		}
		corrections := q.Entries[1:]
		for i := range corrections[:len(corrections)-1] {
			others := append(append([]string(nil), corrections[:i]...), corrections[i+1:]...)
			alt := r.State.Without(r.rules, others...)
			outcomes := r.rules.Judge(factsOf(alt), alt.AsOf)
			for k := range outcomes {
				o := &outcomes[k]
				if o.State != rule.Yes || o.Level().Rank() > rule.Today.Rank() {
					continue
				}
				if f := findingOf(alt.Case, o); !known[f.Key()] {
					known[f.Key()] = true
					f.Headline = "By one of two corrections: " + f.Headline
					r.Findings = append(r.Findings, f)
				}
			}
		}
	}
}
