package trouble

import (
	"strings"
	"testing"
	"time"
)

// restores names the checks that bring suction back when they work; read-program and all-well only look and listen.
var restores = map[string]bool{"upright": true, "plug-in": true, "straighten": true, "connectors": true, "reseat": true, "press-film": true, "patch": true,
	"press-port": true, "new-canister": true, "drain-tube": true, "restart": true}

// script is how a caller answers: each danger question the first and the second time, every sign, every check.
type script struct {
	danger, again, signs map[string]string
	check                string
}

// answer is what the caller says to a step.
func (by script) answer(n Next, s State) string {
	switch n.Kind {
	case "danger":
		id := strings.TrimPrefix(n.Check, prefixFirst)
		if s.Danger[id] == Unknown {
			return by.again[id]
		}
		return by.danger[id]
	case "question":
		if a := by.signs[n.Check]; a != "" {
			return a
		}
		return Unknown
	case "check":
		return by.check
	}
	return Said
}

// calls counts what was met.
type calls struct{ led, restoring, twice int }

// lead leads a call by the advice and the script to its end, and holds every step to the law.
func (k *calls) lead(t *testing.T, m *Model, s State, by script) {
	t.Helper()
	k.led++
	for range 80 {
		n := m.Advise(s).Next
		yes, _ := m.Open(s)
		switch n.Kind {
		case Visit, End:
			return
		case "danger":
			if s.Danger[strings.TrimPrefix(n.Check, prefixFirst)] == Unknown {
				k.twice++
			}
		case "filler":
			if s.DressingStays != "" {
				t.Fatalf("the filler is to come out of a dressing that stays on: %+v", by)
			}
		case "question", "check":
			if s.barred() != "" {
				t.Fatalf("%s, and the plan bars suction: %+v", n.Check, by)
			}
			again := m.Danger("blood-again")
			if s.Danger["blood"] != No || yes || again.asks(s) && s.Danger[again.ID] != No {
				t.Fatalf("%s with the answers %v to danger questions: %+v", n.Check, s.Danger, by)
			}
			if restores[n.Check] {
				k.restoring++
			}
		}
		s = s.With(n, by.answer(n, s))
	}
	t.Fatalf("no end: %+v", by)
}

// TestLawBloodBeforeEveryCheck leads a call for every combination of answers to the danger questions, of the second answers
// to those that send help, and of what raises bleeding; with a pump that runs and one that is off, and with checks that help
// and that do not, and with a plan that bars suction or keeps the dressing on. No check comes before blood was answered with no, the second time too where it is asked twice; none
// follows a yes to any question, or a second "cannot tell"; and after a known risk, or with a canister that is full again
// within hours, somebody looks for blood once more before any check.
func TestLawBloodBeforeEveryCheck(t *testing.T) {
	m := BuiltIn()
	for _, c := range m.Checks {
		if !restores[c.ID] && c.ID != "read-program" && c.ID != "all-well" {
			t.Fatalf("check %s: say whether it restores suction", c.ID)
		}
	}
	// What the case knows, and what is told in the call.
	type known struct {
		byCase, told  map[string]string
		suction, stay string
	}
	facts := []known{{}, {byCase: map[string]string{"bleeding_risk": "yes"}}, {byCase: map[string]string{"canister_changed_h": "new"}, told: map[string]string{"alarm": "full"}},
		{told: map[string]string{"canister": "full", "recent": "canister"}}, {byCase: map[string]string{"alarm": "leak"}}, {suction: "it was stopped on purpose"}, {suction: "it was stopped on purpose", stay: "taking it off can open the bleeding"}}
	var k calls
	run := func(by script) {
		for i, f := range facts {
			for j, check := range []string{NotFixed, Fixed} {
				if i > 0 && j > 0 {
					continue
				}
				by.check, by.signs = check, f.told
				s := State{AsOf: noon, OffLimitH: 2, SuctionWaits: f.suction, DressingStays: f.stay, Danger: map[string]string{}, Signs: map[string]string{}}
				for sign, a := range f.byCase {
					s.Signs[sign] = a
				}
				switch {
				case j > 0:
					s.OffSince = noon.Add(-time.Hour)
				case f.stay != "":
					s.OffSince = noon.Add(-5 * time.Hour)
				}
				k.lead(t, m, s, by)
			}
		}
	}
	answers := []string{Yes, No, Unknown}
	by := script{danger: map[string]string{}, again: map[string]string{}}
	var walk func(i int)
	walk = func(i int) {
		if i == len(m.Dangers) {
			run(by)
			return
		}
		d := &m.Dangers[i]
		for _, v := range answers {
			by.danger[d.ID] = v
			if v != Unknown || !d.Stop {
				walk(i + 1)
				continue
			}
			for _, by.again[d.ID] = range answers {
				walk(i + 1)
			}
		}
	}
	walk(0)
	t.Logf("%d calls led to their end; %d restoring checks, every one after a no to blood; %d questions asked a second time", k.led, k.restoring, k.twice)
	if k.restoring == 0 || k.twice == 0 {
		t.Error("no restoring check, or no second question, was met: the test could not fail")
	}
}

// TestCannotTellCountsAsYes: nobody can look, twice: help is called, and the pump stays as it is.
func TestCannotTellCountsAsYes(t *testing.T) {
	m := BuiltIn()
	s := State{AsOf: noon, OffLimitH: 2, Danger: map[string]string{}, Signs: map[string]string{"alarm": "full"}}
	by := script{danger: map[string]string{"blood": Unknown}, again: map[string]string{"blood": Unknown}}
	for i, want := range []string{"danger:blood", "look:blood", "danger:blood", "patient:blood"} {
		n := m.Advise(s).Next
		if n.Check != want {
			t.Fatalf("step %d is %s, want %s", i, n.Check, want)
		}
		s = s.With(n, by.answer(n, s))
	}
	if s.Danger["blood"] != Yes {
		t.Errorf("blood is %q", s.Danger["blood"])
	}
}
