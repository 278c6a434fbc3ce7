package review_test

import (
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// findingOn finds what a rule says of a pump.
func findingOn(r *review.Review, id, pump string) *review.Finding {
	for i, f := range r.Findings {
		if f.Rule == id && f.Pump == pump {
			return &r.Findings[i]
		}
	}
	return nil
}

// TestEachPumpIsJudged: battery, suction shown, seal and place belong to the pump that an entry names, or to the one on the
// wounds of a visit; the rules are asked for each, and what they find names the pump.
func TestEachPumpIsJudged(t *testing.T) {
	visit := func(h float64, w string, mmHg float64) step {
		return at(h, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: w, In: []casebook.Pieces{{Filler: "open-cell foam", Count: 1}}}}, Seal: "holds", SuctionMmHg: num(mmHg)})
	}
	named := []step{at(-29, casebook.PumpReturned{Pump: "P-14"}), at(-28, casebook.PumpReturned{Pump: "P-11"}),
		at(-27, casebook.PumpAssigned{Pump: "P-11", Class: "portable", CanisterML: num(300), Wounds: []string{"A"}}),
		at(-26.5, casebook.PumpAssigned{Pump: "P-14", Class: "portable", CanisterML: num(300), Wounds: []string{"B"}}),
		at(-7, readOn("P-11", 40)), at(-7, readOn("P-14", 30))}
	of := func(steps ...step) *review.Review {
		return review.Of(state.Of(caseOf(join(beside(), named, steps)...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	}
	r := of(visit(-6, "A", 80), visit(-5.5, "B", 90),
		at(-4, casebook.PowerNoted{Pump: "P-11", BatteryPct: num(15), PluggedIn: no}), at(-3, casebook.PowerNoted{Pump: "P-14", BatteryPct: num(90), PluggedIn: no}))
	low := findingOn(r, "POW-LOW-01", "P-11")
	if low == nil || low.State != rule.Yes || !strings.HasPrefix(low.Headline, "Pump P-11: ") {
		t.Errorf("the low battery: %+v", low)
	}
	if f := findingOn(r, "POW-LOW-01", "P-14"); f != nil {
		t.Errorf("the full battery: %+v", f)
	}
	for pump, shown := range map[string]float64{"P-11": 80, "P-14": 90} {
		for _, p := range r.State.Pumps {
			if p.Name == pump && (p.ShownBy == "" || p.ShownMmHg != shown) {
				t.Errorf("pump %s showed %v, want %v", pump, p.ShownMmHg, shown)
			}
		}
	}
	if findingOn(r, "REC-PUMP-03", "") != nil {
		t.Error("every entry tells its pump")
	}
	// A low battery of which nobody says whose it is counts for both, a full one for neither; both are asked about.
	r = of(at(-3, casebook.PowerNoted{BatteryPct: num(15), PluggedIn: no}))
	if findingOn(r, "POW-LOW-01", "P-11") == nil || findingOn(r, "POW-LOW-01", "P-14") == nil {
		t.Error("a low battery of one of two pumps is not told of each")
	}
	if f := findingOn(r, "REC-PUMP-03", ""); f == nil || f.State != rule.Yes || !strings.Contains(f.Headline, "a battery at 15 % on") {
		t.Errorf("which pump: %+v", f)
	}
	r = of(at(-3, casebook.PowerNoted{BatteryPct: num(90), PluggedIn: no}))
	if f := findingOn(r, "POW-LOW-01", "P-14"); f == nil || f.State != rule.CannotTell {
		t.Errorf("a battery that nobody named: %+v", f)
	}
	r = of(at(-3, casebook.PowerNoted{BatteryPct: num(90), PluggedIn: no}), at(-2, casebook.PowerNoted{Pump: "P-11", BatteryPct: num(90)}), at(-2, casebook.PowerNoted{Pump: "P-14", BatteryPct: num(80)}))
	if f := findingOn(r, "REC-PUMP-03", ""); f != nil {
		t.Errorf("asked although both were named since: %+v", f)
	}
}
