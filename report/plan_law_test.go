package report_test

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/evidence/casegen"
	"lowtide/report"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// fights are phrases that may not be printed while the plan asks for an act.
var fights = map[string][]string{
	"leave-suction-off": {"get it running", "get suction running", "get suction back", "see that it runs", "new canister goes in", "put a new canister in", "find and cover the leak", "set what is ordered", "let it run all day", "plug the pump in when you"},
	"no-start":          {"get it running", "get suction running", "get suction back", "see that it runs", "new canister goes in", "put a new canister in", "find and cover the leak"},
	"dressing-stays":    {"dressing taken off", "take the dressing off", "the dressing comes off", "take the filler out", "filler taken out", "change the dressing"},
	"dressing-off":      {"get it running now", "see that it runs", "find and cover the leak now"},
}

// lawOfPlan tells what is wrong with the plan of a review, and with what a page or paper prints of it.
func lawOfPlan(r *review.Review, printed string) []string {
	var wrong []string
	acts := map[string]bool{}
	because := map[string]rule.Level{}
	for _, s := range r.Plan {
		if s.Do == "" || len(s.Acts) == 0 || len(s.Because) == 0 {
			wrong = append(wrong, fmt.Sprintf("an empty step: %+v", s))
		}
		for _, a := range s.Acts {
			acts[a] = true
		}
		for _, key := range s.Because {
			if was, ok := because[key]; !ok || s.Level.Rank() < was.Rank() {
				because[key] = s.Level
			}
		}
	}
	for a := range acts {
		for b := range acts {
			if row := rule.Plans().Clash(a, b); row != nil {
				wrong = append(wrong, a+" and "+b+" are both in the plan")
			}
		}
	}
	for _, f := range r.Findings {
		if f.Level == rule.ActNow && because[f.Key()] != rule.ActNow {
			wrong = append(wrong, f.Key()+" is Act now and has no act of that level in the plan")
		}
		printed += "\n" + f.Do
	}
	printed = strings.ToLower(printed)
	for act, phrases := range fights {
		for _, p := range phrases {
			if acts[act] && strings.Contains(printed, p) {
				wrong = append(wrong, fmt.Sprintf("the plan asks for %s, and %q is printed", act, p))
			}
		}
	}
	return wrong
}

// paperText is what the papers of a case print.
func paperText(in report.Input) string {
	leaflet, err := report.Leaflet(in, "en", 2)
	if err != nil {
		panic(err)
	}
	return fmt.Sprintf("%+v\n%+v\n%+v\n%+v", *report.Handover(in), *report.PrescriberMessage(in), *report.Progress(in), *leaflet)
}

// TestLawPlan: over generated cases no plan and no paper holds two acts that the table calls incompatible, no text of a
// finding tells what has to wait, and every finding of level Act now has its act. make deep runs 100,000 of them, LOWTIDE_DEEP=5000 so many.
func TestLawPlan(t *testing.T) {
	n, papers := 300, 10
	if deep, _ := strconv.Atoi(os.Getenv("LOWTIDE_DEEP")); deep > 0 {
		n, papers = 100_000, 100
		if deep > 1 {
			n = deep
		}
	}
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	eq := equipment.BuiltIn()
	now := time.Date(2026, 3, 18, 9, 0, 0, 0, time.UTC)
	count := map[string]int{}
	for seed := range n {
		make := casegen.Case
		if seed%5 == 4 {
			make = casegen.Hostile
		}
		c := make(uint64(seed), now).Fold(time.Time{})
		r := review.Of(state.Of(c, rules, eq, nil, now), rules)
		printed := ""
		if seed%papers == 0 {
			printed = paperText(report.Input{Case: c, Review: r, Rules: rules, Equipment: eq})
			count["with their papers"]++
		}
		for _, w := range lawOfPlan(r, printed) {
			t.Errorf("seed %d: %s", seed, w)
		}
		count["steps"] += len(r.Plan)
		for _, f := range r.Findings {
			count["findings"]++
			if f.Level == rule.ActNow {
				count["findings of level Act now"]++
			}
		}
		for _, s := range r.Plan {
			count["acts that wait"] += len(s.Waits)
		}
		if t.Failed() && seed > 50 {
			break
		}
	}
	t.Logf("%d cases: %v", n, count)
	if count["acts that wait"] == 0 || count["findings of level Act now"] == 0 {
		t.Error("the cases do not try the law")
	}
}

// TestLawPlanOfDemo holds the demonstration to the same law, with its papers.
func TestLawPlanOfDemo(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)
	byCase := map[string][]casebook.Entry{}
	for _, e := range demo.Entries(now, 1) {
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	blobs := demo.Blobs(now, 1)
	waits := 0
	for id, list := range byCase {
		c := casebook.Fold(id, list)
		c.Blob = func(hash string) ([]byte, error) { return blobs[hash], nil }
		r := review.Of(state.Of(c, rules, equipment.BuiltIn(), nil, now), rules)
		for _, w := range lawOfPlan(r, paperText(report.Input{Case: c, Review: r, Rules: rules, Equipment: equipment.BuiltIn()})) {
			t.Errorf("%s: %s", r.Person.Name, w)
		}
		for _, s := range r.Plan {
			waits += len(s.Waits)
		}
	}
	if len(byCase) != 24 || waits == 0 {
		t.Errorf("%d cases, %d acts that wait", len(byCase), waits)
	}
}
