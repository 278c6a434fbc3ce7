package review_test

import (
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// called is a call in one part; f adds to it.
func called(id string, f func(*casebook.CallTaken)) casebook.CallTaken {
	c := casebook.CallTaken{Call: id, Caller: "the son", Phone: "0161 496 0000"}
	for _, d := range []string{"blood", "breathing", "fever", "pain"} {
		c.Answers = append(c.Answers, casebook.CallAnswer{Question: "danger:" + d, Answer: "no"})
	}
	if f != nil {
		f(&c)
	}
	return c
}

// mended is a call that found the cause and mended it.
func mended(id, alarm, found, check string) casebook.CallTaken {
	return called(id, func(c *casebook.CallTaken) {
		c.Answers = append(c.Answers, casebook.CallAnswer{Question: "alarm", Answer: alarm})
		c.Checks = []casebook.CallCheck{{Check: check, Result: "fixed"}}
		c.Therapy, c.Ended, c.Found = "on", "settled", found
	})
}

func init() {
	looked := func(h float64) step {
		return at(h, change(func(d *casebook.DressingChanged) {
			d.Signs = []string{"none"}
			d.Canister.VolumeML = num(30)
		}))
	}
	off := func(comesH float64) casebook.CallTaken {
		return called("c-off", func(c *casebook.CallTaken) {
			c.OffSince = when(-0.75)
			if comesH != 0 {
				c.ComesWho, c.ComesAt = "night nurse", when(comesH)
			}
		})
	}
	end := func(h float64, how string) step {
		return at(h, casebook.CallTaken{Call: "c-off", Ended: how, ComesWho: "night nurse", ComesAt: when(0.75)})
	}
	storyOf(
		story{rule: "CAL-DANGER-01", level: rule.ActNow, tell: []step{at(-0.5, called("c-1", func(c *casebook.CallTaken) {
			c.Answers, c.Ended = []casebook.CallAnswer{{Question: "danger:breathing", Answer: "yes"}}, "emergency help"
		}))}, says: []string{"Wed 4 Mar 11:30", "breathing"}, act: []step{looked(0.5)}},
		story{rule: "CAL-BLOOD-01", level: rule.ActNow, tell: []step{at(-0.5, called("c-1", func(c *casebook.CallTaken) {
			c.Answers, c.Ended = []casebook.CallAnswer{{Question: "danger:blood", Answer: "yes"}}, "emergency help"
		}))}, says: []string{"Wed 4 Mar 11:30", "blood"}, act: []step{looked(0.5)}},
		story{rule: "CAL-BLOOD-02", level: rule.ActNow, tell: []step{at(-0.5, called("c-1", func(c *casebook.CallTaken) {
			c.Answers, c.Ended = []casebook.CallAnswer{{Question: "danger:blood", Answer: "unknown"}}, "broken off"
		}))}, says: []string{"Wed 4 Mar 11:30", "nobody could tell"}, act: []step{looked(0.5)}},
		story{rule: "CAL-OPEN-01", level: rule.Today, tell: []step{at(-1.5, called("c-1", nil))}, says: []string{"the son", "Wed 4 Mar 10:30"},
			act: []step{at(0.2, casebook.CallTaken{Call: "c-1", Ended: "settled", Found: "kink", Therapy: "on"})}},
		story{rule: "CAL-OFF-01", level: rule.ActNow, tell: []step{at(-0.5, off(0))}, says: []string{"Wed 4 Mar 11:30", "Wed 4 Mar 11:15"}, act: []step{end(0.1, "somebody comes")}},
		story{rule: "CAL-OFF-02", level: rule.ActNow, tell: []step{at(-0.5, off(3))}, says: []string{"Wed 4 Mar 11:30", "Wed 4 Mar 11:15", "Wed 4 Mar 15:00", "3 h 45 min", "2 h"}, act: []step{end(0.1, "somebody comes")}},
		story{rule: "CAL-AGAIN-01", level: rule.Plan, tell: []step{at(-20, mended("c-1", "leak", "seal-dressing", "press-film")), at(-2, mended("c-2", "leak", "seal-dressing", "patch"))},
			says: []string{"Wed 4 Mar 10:00", "leak at the dressing"}, act: []step{looked(0.5)}},
		story{rule: "CAL-ALARM-01", level: rule.Today, tell: []step{at(-20, casebook.AlarmReported{Alarm: "leak", Settled: yes}), at(-9, casebook.AlarmReported{Alarm: "leak", Settled: yes}), at(-2, mended("c-1", "leak", "kink", "straighten"))},
			says: []string{"leak", "18", "Wed 4 Mar 10:00"}, act: []step{looked(0.5)}},
	)
}

// TestCallCase: what a case brings into a call comes from its entries, and every fact names them.
func TestCallCase(t *testing.T) {
	rules, m := builtin(t), state.BuiltInCalls()
	steps := append(tidy(), at(-3, mended("c-1", "leak", "seal-port", "press-port")), at(-2, casebook.CanisterRead{VolumeML: num(250), Colour: "cloudy"}),
		at(-1, casebook.PowerNoted{BatteryPct: num(20), PluggedIn: no}))
	c := casebook.Fold("tidy", entries(steps...))
	k := state.Of(c, rules, equipment.BuiltIn(), nil, noon).CallCase(m)
	got := map[string]string{}
	for _, f := range k.Facts {
		got[f.Sign] = f.Answer
		if len(f.Entries) == 0 || f.Words == "" || f.Value == "" {
			t.Errorf("%+v", f)
		}
		for _, e := range f.Entries {
			if c.Line(e) == nil {
				t.Errorf("%s names the entry %s", f.Sign, e)
			}
		}
	}
	want := map[string]string{"canister_expected_pct": "high", "canister_changed_h": "old", "battery_expected_pct": "low", "changed_h": "usual", "seal_before": "held", "thick": "yes",
		"program_differs": "no", "same_before": "leak", "bleeding_risk": "no"}
	for sign, answer := range want {
		if got[sign] != answer {
			t.Errorf("%s: %q, want %q", sign, got[sign], answer)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%v", got)
	}
	// Nothing known: no fact, and the usual time.
	if k := state.Of(casebook.Fold("x", nil), builtin(t), equipment.BuiltIn(), nil, noon).CallCase(m); len(k.Facts) != 1 || k.Facts[0].Sign != "same_before" || k.VisitMin != m.Setting("visit_min") {
		t.Errorf("empty case: %+v", k)
	}
}

// TestCallParts: the parts of a call may arrive in any order and twice; of two answers the later one counts, and what was
// said in the call counts more than the record.
func TestCallParts(t *testing.T) {
	steps := []step{
		at(-1, called("c-1", func(c *casebook.CallTaken) { c.OffSince = when(-1.5) })),
		at(-0.9, casebook.CallTaken{Call: "c-1", Answers: []casebook.CallAnswer{{Question: "alarm", Answer: "leak"}, {Question: "canister", Answer: "full"}}}),
		at(-0.8, casebook.CallTaken{Call: "c-1", Answers: []casebook.CallAnswer{{Question: "alarm", Answer: "full"}}, Checks: []casebook.CallCheck{{Check: "new-canister", Result: "could not do"}}}),
		at(-0.7, casebook.CallTaken{Call: "c-2", Caller: "a neighbour", Ended: "broken off"}),
	}
	list := entries(append(tidy(), steps...)...)
	c := casebook.Fold("tidy", list)
	back := append([]casebook.Entry(nil), list...)
	for i, e := range list {
		back[len(list)-1-i] = e
	}
	again := casebook.Fold("tidy", append(back, list...))
	if len(c.Calls) != 2 || len(again.Calls) != 2 || c.Head != again.Head {
		t.Fatalf("%d and %d calls", len(c.Calls), len(again.Calls))
	}
	for _, k := range []casebook.Call{c.Calls[0], again.Calls[0]} {
		if k.Answer("alarm") != "full" || k.Answer("canister") != "full" || k.Answer("danger:blood") != "no" || k.Caller != "the son" || len(k.Entries) != 3 || k.Ended != "" || k.EndedAt != nil {
			t.Errorf("%+v", k)
		}
		s := state.CallStateOf(&k, state.Of(c, builtin(t), equipment.BuiltIn(), nil, noon).CallCase(state.BuiltInCalls()), inForce(t), noon)
		if s.Signs["alarm"] != "full" || s.Danger["pain"] != "no" || !s.OffSince.Equal(noonPlus(-1.5)) || len(s.Checks) != 1 {
			t.Errorf("%+v", s)
		}
		if a := state.BuiltInCalls().Advise(s); !a.OffLimitAt.Equal(noonPlus(0.5)) || a.Causes[0].ID != "canister-full" {
			t.Errorf("%+v", a)
		}
	}
}

// TestCallOffLimit: the time off that a caller names runs against the limit like any other record of it, before and after
// the limit, and a call that ends with therapy running settles it.
func TestCallOffLimit(t *testing.T) {
	rules := builtin(t)
	has := func(r *review.Review, id string) bool {
		for _, f := range r.Findings {
			if f.Rule == id && f.State == rule.Yes {
				return true
			}
		}
		return false
	}
	of := func(steps ...step) *review.Review {
		return review.Of(state.Of(casebook.Fold("tidy", entries(append(tidy(), steps...)...)), rules, equipment.BuiltIn(), nil, noon), rules)
	}
	said := func(offH float64) step {
		return at(-0.3, called("c-1", func(c *casebook.CallTaken) { c.OffSince, c.ComesWho, c.ComesAt = when(offH), "nurse", when(0.2) }))
	}
	if r := of(said(-1)); !has(r, "VIS-OFF-02") || has(r, "VIS-OFF-01") || has(r, "CAL-OFF-01") || has(r, "CAL-OFF-02") {
		t.Errorf("within the limit: %s", keys(r))
	}
	if r := of(said(-2.5)); !has(r, "VIS-OFF-01") || !has(r, "CAL-OFF-02") {
		t.Errorf("past the limit: %s", keys(r))
	}
	if r := of(said(-1), at(-0.1, casebook.CallTaken{Call: "c-1", Therapy: "on", Ended: "settled", Found: "kink"})); len(r.Findings) != 0 {
		t.Errorf("mended: %s", keys(r))
	}
}
