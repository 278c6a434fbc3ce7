package demo

import (
	"time"

	"lowtide/casebook"
)

// Calls that belong to stories told elsewhere.

// asked are the danger questions, each with the same answer.
func asked(answer string) []casebook.CallAnswer {
	var out []casebook.CallAnswer
	for _, d := range []string{"blood", "breathing", "fever", "pain"} {
		out = append(out, casebook.CallAnswer{Question: "danger:" + d, Answer: answer})
	}
	return out
}

// wardCalls is the ward of the patient who bleeds, who calls once more and is told what to do.
func wardCalls(t *teller) {
	a := asked("no")
	a[0].Answer, a[1].Answer = "yes", "yes"
	t.ago(12*minute, casebook.CallTaken{Call: "demo-bleeds", Caller: "ward 6, the student nurse", Answers: a, Checks: []casebook.CallCheck{{Check: "patient:blood", Result: "said"}, {Check: "patient:breathing", Result: "said"}},
		Therapy: "off", ComesWho: "the ward's emergency team", Ended: "emergency help", Found: "bleeding", Note: "Pump off, pressing, team on its way."})
}

// leakCalls are three calls in one morning about a seal that does not hold.
func leakCalls(t *teller) {
	for i, ago := range []time.Duration{150 * minute, 95 * minute, 40 * minute} {
		t.ago(ago, casebook.CallTaken{Call: "demo-leak-" + string(rune('1'+i)), Caller: "his wife", Phone: "0115 496 0177",
			Answers: append(asked("no"), casebook.CallAnswer{Question: "alarm", Answer: "leak"}, casebook.CallAnswer{Question: "hiss", Answer: "dressing"}),
			Checks:  []casebook.CallCheck{{Check: "press-film", Result: "fixed"}}, Therapy: "on", Ended: "settled", Found: "seal-dressing"})
	}
}

// darkCall is a caller who cannot see enough to say whether there is blood.
func darkCall(t *teller) {
	a := asked("no")
	a[0].Answer = "unknown"
	t.ago(25*minute, casebook.CallTaken{Call: "demo-dark", Caller: "his wife", Phone: "0115 496 0177", Answers: a, Ended: "handed on", Note: "Something dark in the tube; the lamp beside the bed is broken."})
}

// offCall is a call that says that therapy is off. comes is when somebody will be there, 0 for nobody.
func offCall(t *teller, call, caller, note string, off, comes time.Duration) {
	since := t.now.Add(-off)
	b := casebook.CallTaken{Call: call, Caller: caller, OffSince: &since, Therapy: "off", Answers: asked("no"), Ended: "handed on", Note: note}
	if comes > 0 {
		at := t.now.Add(comes)
		b.ComesWho, b.ComesAt, b.Ended = "wound nurse of the other site", &at, "somebody comes"
	}
	t.ago(off-8*minute, b)
}

// leftOpen is a call that nobody led to its end.
func leftOpen(t *teller) {
	t.ago(100*minute, casebook.CallTaken{Call: "demo-open", Caller: "day staff of Windmill House", Phone: "0115 496 0190", Answers: asked("no")})
	t.ago(98*minute, casebook.CallTaken{Call: "demo-open", Answers: []casebook.CallAnswer{{Question: "motor", Answer: "sometimes"}}})
}
