package review_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

func init() {
	nextVisit := func(at, h float64) step {
		return step{atH: at, body: casebook.NoteWritten{Text: "Planned by telephone.", NextVisit: when(h)}}
	}
	slow := func(h, mL float64, mod func(*casebook.DressingChanged)) step {
		return at(h, change(func(d *casebook.DressingChanged) {
			d.Canister.VolumeML = num(mL)
			if mod != nil {
				mod(d)
			}
		}))
	}
	storyOf(
		story{rule: "CAN-FILL-01", level: rule.Today, tell: []step{at(-12, read(80, "straw")), at(-1, read(160, "straw"))}, says: []string{"Thu 5 Mar 18:00 (planned)", "the chance is two in three", "from Thu 5 Mar 00:00 on"}, advises: []string{"before Thu 5 Mar"}, act: []step{at(3, fresh(190, "straw"))}},
		story{rule: "CAN-FILL-02", level: rule.Plan, tell: []step{nextVisit(-1, 110)}, says: []string{"Mon 9 Mar 02:00 (planned)", "from Sat 7 Mar 18:00 on", "the chance is one in three"}, act: []step{nextVisit(2, 60)}},
		story{rule: "CAN-FILL-03", level: rule.Today, tell: []step{at(-2, read(200, "straw"))}, wait: 24 * hour, says: []string{"one in ten at", "even at", "Wed 4 Mar 10:00"}, act: []step{at(25, fresh(290, "straw"))}},
		story{rule: "CAN-WEEKEND-01", level: rule.Plan, wait: 32 * hour, says: []string{"Fri 6 Mar 18:00", "Mon 9 Mar 08:00"}, act: []step{at(40, fresh(125, "straw"))}},
		story{rule: "CAN-FAST-01", level: rule.Today, tell: []step{at(-1, read(200, "straw"))}, says: []string{"by Wed 4 Mar 11:00", "from 47 mL a day to 209 mL a day", "four times as much"}, act: []step{at(0.5, read(205, "straw")), at(0.6, saw("none"))}},
		story{rule: "CAN-SLOW-01", level: rule.Today, tell: []step{at(-97, read(50, "straw")), at(-48, read(145, "straw")), at(-12, read(2, "straw")), at(-1, read(2, "straw"))}, says: []string{"by Wed 4 Mar 00:00", "from 47 mL a day to 2 mL a day"}, act: []step{at(1, settled("blockage"))}},
		story{rule: "CAN-SMALL-01", level: rule.Plan, tell: []step{at(-12, read(60, "straw")), at(-1, read(115, "straw"))}, says: []string{"300 mL", "2 days 12 h"}, advises: []string{"400 mL", "The patient walks"},
			act: []step{at(1, order(func(o *casebook.OrderWritten) { o.ChangeEveryH = num(24) }))}},
		story{rule: "CAN-LARGE-01", level: rule.Note, without: []casebook.Kind{casebook.KindDressingChanged}, tell: []step{slow(-121, 0, func(d *casebook.DressingChanged) { d.Wounds[0].Out, d.Wounds[0].NoneOut = nil, true }), slow(-73, 20, nil), slow(-24, 40, nil)},
			says: []string{"canister of 300 mL", "one of 200 mL"}, act: []step{at(1, casebook.CanisterRead{VolumeML: num(50), Colour: "straw", Changed: yes, SizeML: num(200)})}},
	)
}

// onlyLocal lists the rules that a local protocol has to complete before they are asked; their stories are told below.
var onlyLocal = map[string]string{"CAN-BLEED-01": "no limit was published, so its value is empty until set"}

// TestBleedLimit: the limit for bleeding is empty, and says so; once a protocol sets it, the finding shows above it and
// goes away with a later reading below it.
func TestBleedLimit(t *testing.T) {
	builtIn := builtin(t)
	local, err := builtIn.WithLocal(fstest.MapFS{"protocol.toml": {Data: []byte(`name = "Harbour wounds 3"
[[change]]
value = "bleed_output"
to = 40
unit = "mL/h"
reason = "agreed with the surgeons"
by = "Dr I. Vance"
from = 2026-01-01
[[change.case]]
rule = "CAN-BLEED-01"
name = "just above ours"
want = "yes"
facts = { "therapy.open" = true, "fluid.latest_mL_h" = 40.1, "fluid.latest_at" = -1.0 }
`)}})
	if err != nil {
		t.Fatal(err)
	}
	told := join(tidy(), []step{at(-3, read(40, "straw")), at(-1, read(122, "straw"))})
	of := func(rules *rule.Set, steps ...step) *review.Finding {
		return find(review.Of(state.Of(caseOf(steps...), rules, equipment.BuiltIn(), nil, noon), rules), "CAN-BLEED-01", "")
	}
	if f := of(builtIn, told...); f != nil {
		t.Errorf("shows without a limit: %s", f.Headline)
	}
	f := of(local, told...)
	if f == nil || f.Level != rule.ActNow || !strings.Contains(f.Headline, "41 mL/h") || !strings.Contains(f.Headline, "limit of 40 mL/h") || len(f.Local) != 1 {
		t.Fatalf("with a limit of 40 mL/h and 41 read: %+v", f)
	}
	if f := of(local, join(told, []step{at(-0.2, read(124, "straw"))})...); f != nil {
		t.Errorf("a later reading below the limit leaves it: %s", f.Headline)
	}
	if f := of(local, join(tidy(), []step{at(-3, read(40, "straw")), at(-1, read(120, "straw"))})...); f != nil {
		t.Errorf("exactly at the limit: %s", f.Headline)
	}
	if words := state.BleedLimitWords(builtIn.Values(noon)); !strings.HasPrefix(words, "not set") {
		t.Errorf("built in: %q", words)
	}
	if words := state.BleedLimitWords(local.Values(noon)); !strings.HasPrefix(words, "40 mL") {
		t.Errorf("local: %q", words)
	}
}
