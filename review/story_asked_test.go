package review_test

import (
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// told is a story of what suction does or of entries that contradict each other: what the plan has to ask for, what it must
// not, and what suction is taken to be doing.
type told struct {
	name    string
	steps   []step
	wait    time.Duration
	suction state.Doing
	// asks and never are acts; level is that of the most pressing step.
	asks, never []string
	level       rule.Level
	says        string
	asked       string
}

func blood(h float64) step {
	return at(h, casebook.NoteWritten{Text: "red in the tube", Seen: casebook.Seen{Signs: []string{"bright red blood"}}})
}

func therapy(h float64, s string) step { return at(h, casebook.PowerNoted{Therapy: s}) }

var toldStories = []told{
	{name: "one alarm: off for over four hours, settled", steps: []step{at(-1, casebook.AlarmReported{Alarm: "blockage", OffSince: when(-5.4), Settled: yes, ReportedBy: "the carer"})},
		suction: state.SuctionOn, level: rule.ActNow, asks: []string{"dressing-off", "look-blood"}, never: []string{"restore-suction"}, says: "4 h 24 min"},
	{name: "one call: off for three hours, on again", steps: []step{at(-1, casebook.CallTaken{Call: "k1", Caller: "the patient", OffSince: when(-4), Therapy: "on"})},
		suction: state.SuctionOn, level: rule.ActNow, asks: []string{"dressing-off"}, says: "3 h"},
	{name: "blood, then off: it stays off", steps: []step{blood(-1), therapy(-0.9, "off")},
		suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"leave-suction-off", "dressing-stays", "emergency"}, never: []string{"restore-suction", "dressing-off"}},
	{name: "off by accident, then blood: it stays off", steps: []step{therapy(-1.5, "off"), blood(-1)},
		suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"leave-suction-off", "emergency"}, never: []string{"restore-suction", "dressing-off"}},
	{name: "blood, off for three hours: the dressing stays until the surgeon takes it off", steps: []step{blood(-3.1), therapy(-3, "off")},
		suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"leave-suction-off", "dressing-stays", "tell-prescriber"}, never: []string{"dressing-off", "restore-suction"}, says: "waits"},
	{name: "a cold limb, then off", steps: []step{at(-1, casebook.NoteWritten{Text: "foot cold", Seen: casebook.Seen{Signs: []string{"cold or numb limb"}}}), therapy(-0.9, "off")},
		suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"leave-suction-off", "dressing-off"}, never: []string{"restore-suction"}},
	{name: "open vessels, then off", steps: []step{at(-2, screened(map[string]string{"exposed_vessels": "yes"})), therapy(-1, "off")},
		suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"leave-suction-off", "dressing-stays", "tell-prescriber"}, never: []string{"restore-suction", "dressing-off"}},
	{name: "decided to stop, dressing on for four hours", steps: []step{at(-4.5, casebook.DecisionMade{Choice: "stop", By: "Dr Vance", Reasons: "bleeding", Unsure: "nothing"})},
		suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"dressing-off", "leave-suction-off"}, never: []string{"restore-suction"}},
	{name: "order stopped, dressing on for four hours", steps: []step{at(-4.5, casebook.OrderStopped{By: "Dr Vance", Note: "bleeding"})},
		suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"dressing-off", "leave-suction-off"}, never: []string{"restore-suction"}},
	{name: "on and off in one minute: off counts", steps: []step{therapy(-1, "on"), at(-0.99, casebook.PowerNoted{Therapy: "off"})},
		suction: state.SuctionOff, level: rule.Today, asks: []string{"settle"}, asked: state.AskedSuction},
	{name: "off and on in one minute: off counts", steps: []step{therapy(-1, "off"), at(-0.99, casebook.PowerNoted{Therapy: "on"})},
		suction: state.SuctionOff, level: rule.Today, asks: []string{"settle"}, asked: state.AskedSuction},
	{name: "two sizes at one time", steps: []step{at(-2, measured(6.6, 2.8, 2.1, nil)), at(-1.9, measured(9, 5, 2.1, nil))},
		suction: state.SuctionOn, asks: []string{"settle"}, asked: state.AskedSize, says: "two sizes of one time"},
	{name: "a decimal point lost: the goal is not met by it", steps: []step{at(-2, measured(0.66, 0.28, 0.21, nil))},
		suction: state.SuctionOn, asks: []string{"settle"}, asked: state.AskedSize, says: "shrank faster than wounds do"},
	{name: "a depth slip alone", steps: []step{at(-2, measured(6.7, 2.9, 0.2, nil))},
		suction: state.SuctionOn, asks: []string{"settle"}, asked: state.AskedSize},
	{name: "another name", steps: []step{at(-2, person(func(p *casebook.PersonRegistered) { p.Name = "Somebody Else" }))},
		suction: state.SuctionOn, asks: []string{"settle"}, asked: state.AskedPerson, says: "Somebody Else"},
	{name: "a pump that nobody has", steps: []step{at(-2, casebook.CanisterRead{Pump: "P-99", VolumeML: num(40)})},
		suction: state.SuctionOn, asks: []string{"settle"}, asked: state.AskedPump, says: "P-99"},
	{name: "more than the canister holds", steps: []step{at(-2, casebook.CanisterRead{VolumeML: num(420)})},
		suction: state.SuctionNotKnown, level: rule.ActNow, asks: []string{"settle", "look"}, asked: state.AskedCanister},
	{name: "nobody has looked for ten days", wait: 240 * time.Hour, suction: state.SuctionNotKnown, level: rule.Today, asks: []string{"ask"}},
	{name: "unplugged for a day and a half", steps: []step{at(-23, casebook.PowerNoted{BatteryPct: num(40), PluggedIn: no})}, wait: 12 * time.Hour,
		suction: state.SuctionOff, level: rule.ActNow, asks: []string{"look", "plug-in"}, says: "battery ran flat"},
	{name: "the pump is gone, just now", steps: []step{at(-0.5, casebook.PumpReturned{Pump: "P-11"})},
		suction: state.SuctionOff, level: rule.Today, asks: []string{"dressing-off"}, never: []string{"restore-suction"}},
	{name: "the pump is gone for three hours", steps: []step{at(-3, casebook.PumpReturned{Pump: "P-11"})},
		suction: state.SuctionOff, level: rule.ActNow, asks: []string{"dressing-off"}, never: []string{"restore-suction"}},
}

func TestToldStories(t *testing.T) {
	for _, s := range toldStories {
		t.Run(s.name, func(t *testing.T) {
			r := review.Of(state.Of(caseOf(join(tidy(), s.steps)...), builtin(t), equipment.BuiltIn(), nil, noon.Add(s.wait)), builtin(t))
			if r.Therapy.Suction != s.suction {
				t.Errorf("suction is %q (%s), want %q", r.Therapy.Suction, r.Therapy.Why, s.suction)
			}
			for _, a := range s.asks {
				if !r.Asks(a) {
					t.Errorf("the plan does not ask for %s: %+v", a, r.Plan)
				}
			}
			for _, a := range s.never {
				if r.Asks(a) {
					t.Errorf("the plan asks for %s: %+v", a, r.Plan)
				}
			}
			if s.level != "" && (len(r.Plan) == 0 || r.Plan[0].Level != s.level) {
				t.Errorf("the first step is not %s: %+v", s.level, r.Plan)
			}
			all := ""
			for _, f := range r.Findings {
				all += f.Headline + " " + f.Do + "\n"
			}
			if s.says != "" && !strings.Contains(all, s.says) {
				t.Errorf("%q is not said:\n%s", s.says, all)
			}
			if contains(s.never, "restore-suction") && strings.Contains(strings.ToLower(all), "get it running") {
				t.Errorf("a finding tells to get it running:\n%s", all)
			}
			found := s.asked == ""
			for _, q := range r.Asked {
				found = found || q.About == s.asked
			}
			if !found || s.asked == "" && len(r.Asked) > 0 {
				t.Errorf("asked: %+v, want %q", r.Asked, s.asked)
			}
		})
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// TestTwoCorrections: what presses by either of two people's corrections presses until somebody says which is right.
func TestTwoCorrections(t *testing.T) {
	visit := func(out int) casebook.DressingChanged {
		return change(func(d *casebook.DressingChanged) { d.Wounds[0].Out = foam(out) })
	}
	steps := join(tidy(), []step{at(-3, visit(1)).called("v"), replaces(-2, "v", visit(0)), replaces(-1, "v", visit(1))})
	list := entries(steps...)
	list[len(list)-1].Author = "Somebody Else"
	r := review.Of(state.Of(casebook.Fold("tidy", list), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	if !r.Asks("find-piece") || !r.Asks("settle") || r.Plan[0].Level != rule.ActNow {
		t.Errorf("the missing piece is not Act now: %+v", r.Plan)
	}
	n := len(list)
	settle := entries(join(steps, []step{at(-0.5, casebook.ContradictionSettled{About: state.AskedCorrection, Right: list[n-1].ID, How: "counted together",
		Entries: []string{list[n-3].ID, list[n-2].ID, list[n-1].ID}})})...)
	settle[n-1].Author = "Somebody Else"
	r = review.Of(state.Of(casebook.Fold("tidy", settle), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	if r.Asks("find-piece") || r.Asks("settle") {
		t.Errorf("settled, and still asked: %+v", r.Plan)
	}
}

// TestSettledSizes: what somebody said is right counts, and the other does not.
func TestSettledSizes(t *testing.T) {
	n := len(tidy())
	small := at(-2, measured(0.66, 0.28, 0.21, nil))
	settled := func(right string) *review.Review {
		return review.Of(state.Of(caseOf(join(tidy(), []step{small, at(-1, casebook.ContradictionSettled{About: state.AskedSize, Entries: []string{storyID(n - 2), storyID(n)}, Right: right, How: "measured again"})})...),
			builtin(t), equipment.BuiltIn(), nil,
			noon),
			builtin(t))

	}
	for right, want := range map[string]string{storyID(n - 2): "15.5 cm²", storyID(n): "0.1 cm²", casebook.Both: "0.1 cm²"} {
		r := settled(right)
		if f, _ := r.Figure("wound.area", "A"); f.Text != want || r.Asks("settle") {
			t.Errorf("right is %s: %s, asked %v", right, f.Text, r.Asked)
		}
	}
}
