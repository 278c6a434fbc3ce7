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

// TestGrownIsNotForecast: a wound that is much larger after dead tissue was cut away has no forecast that lets it shrink at
// once; the finding asks whether it was cut.
func TestGrownIsNotForecast(t *testing.T) {
	r := review.Of(state.Of(caseOf(join(tidy(), []step{at(-1, measured(8.8, 4, 3.4, func(m *casebook.WoundMeasured) { m.Note = "after sharp debridement today" }))})...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	f := find(r, "STP-GREW-02", "A")
	if f == nil || !strings.Contains(f.Do, "Was dead tissue cut away") {
		t.Fatalf("%+v", f)
	}
	said := false
	for _, x := range r.Forecasts() {
		if !strings.HasPrefix(x.ID, "wound.") {
			continue
		}
		if x.CannotForecast == "" {
			t.Errorf("%s: %s", x.ID, x.Text)
		}
		said = said || strings.Contains(x.Text, "larger than at the visit before")
	}
	if !said {
		t.Error("no forecast says why there is none")
	}
}

// TestGrowthAcrossConventions: another way of laying the ruler is said, and hides neither the area nor the depth.
func TestGrowthAcrossConventions(t *testing.T) {
	r := review.Of(state.Of(caseOf(join(tidy(), []step{at(-1, measured(9, 4.6, 3.4, func(m *casebook.WoundMeasured) { m.Convention = "longest and widest" }))})...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	f := find(r, "STP-GREW-01", "A")
	if f == nil || f.Level != rule.Plan || !strings.Contains(f.Headline, "area") || !strings.Contains(f.Headline, "depth 3.4 cm from 2.2 cm") || !strings.Contains(f.Headline, "The ruler was laid in another way") {
		t.Errorf("%+v", f)
	}
}

// TestScatterIsNoGrowth: a size that is larger by less than the error of two readings is not said to have grown.
func TestScatterIsNoGrowth(t *testing.T) {
	r := review.Of(state.Of(caseOf(join(tidy(), []step{at(-1, measured(7.2, 3.1, 2.4, nil))})...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	if f := find(r, "STP-GREW-01", "A"); f != nil {
		t.Errorf("%s", f.Headline)
	}
}

// TestEntericFistulaBarsPayment: an open fistula from the bowel bars payment also when the prescriber accepted the risk.
func TestEntericFistulaBarsPayment(t *testing.T) {
	r := review.Of(state.Of(caseOf(join(tidy(), []step{at(-30, risk("enteric_fistula")), at(-29, accepts("enteric_fistula")), at(-28, casebook.PayerNoted{Payer: "us-medicare", Start: "2026-02-27"})})...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	if f := find(r, "PAY-BAR-01", ""); f == nil || f.State != rule.Yes || !strings.Contains(f.Headline, "fistula from the bowel") {
		t.Errorf("%+v", f)
	}
}
