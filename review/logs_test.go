package review_test

import (
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/pumplog"
	"lowtide/review"
	"lowtide/state"
)

// TestLogsJoin: two imports of one pump, the second overlapping the first and given first, are one log; a log of another
// case's blob cannot be told; without blobs nothing is told and nothing is counted as on or off.
func TestLogsJoin(t *testing.T) {
	off := func(h float64, s *pumplog.Sample) {
		if h >= -30 && h < -27 {
			s.SuctionMmHg = 0
		}
	}
	c := withBlobs(casebook.Fold("tidy", entries(join(tidy(), []step{readOut(-1, -50, -1, off), readOut(-20, -120, -20, off)})...)))
	list := state.LogsOf(c)
	if len(list) != 1 || list[0].Result == nil {
		t.Fatalf("%+v", list)
	}
	r := list[0].Result
	if got := r.CoveredMin / 60; got < 118.9 || got > 119.1 {
		t.Errorf("covered %v h, want 119", got)
	}
	if got := r.OffMin / 60; got < 2.99 || got > 3.01 {
		t.Errorf("off %v h, want 3", got)
	}
	if a, b := state.LogsOf(c)[0].Result, list[0].Result; a != b {
		t.Error("judged twice: nothing was remembered")
	}
	bare := casebook.Fold("tidy", entries(join(tidy(), []step{readOut(-1, -50, -1, off)})...))
	if d := state.LogsOf(bare)[0]; d.Result != nil || d.Why == "" {
		t.Errorf("a log without readings was judged: %+v", d)
	}
	if rev := review.Of(state.Of(bare, builtin(t), equipment.BuiltIn(), nil, noon), builtin(t)); find(rev, "REC-LOG-03", "") == nil {
		t.Error("a log without readings is passed over in silence")
	}
	if k := review.Of(state.Of(c, builtin(t), equipment.BuiltIn(), nil, noon), builtin(t)).Decision(); k != nil {
		said := ""
		for _, x := range k.Delivered {
			said += x.Words + ": " + x.Value + "\n"
		}
		if !strings.Contains(said, "Delivered by the log of pump P-11: at the ordered suction 9") {
			t.Errorf("the decision page does not say what the log tells:\n%s", said)
		}
	}
}

// TestCallHearsTheLog: a call knows what the pump's log showed at its end; a log that ended long before tells it nothing.
func TestCallHearsTheLog(t *testing.T) {
	off := func(h float64, s *pumplog.Sample) {
		if h >= -3 {
			s.SuctionMmHg = 0
		}
	}
	steady := func(float64, *pumplog.Sample) {}
	late := func(h float64, s *pumplog.Sample) { s.SuctionMmHg = 0 }
	for _, c := range []struct {
		what string
		log  step
		want string
	}{
		{"off at the end", readOut(-1, -50, -1, off), "off"},
		{"steady", readOut(-1, -50, -1, steady), "normal"},
		{"ended a night ago", readOut(-9, -50, -9, late), ""},
	} {
		folded := withBlobs(casebook.Fold("tidy", entries(join(tidy(), []step{c.log})...)))
		got, words := "", ""
		for _, f := range state.Of(folded, builtin(t), equipment.BuiltIn(), nil, noon).CallCase(state.BuiltInCalls()).Facts {
			if f.Sign == "log" {
				got, words = f.Answer, f.Value
			}
		}
		if got != c.want || c.want != "" && !strings.Contains(words, "by the log up to") {
			t.Errorf("%s: the call hears %q (%s), want %q", c.what, got, words, c.want)
		}
	}
}
