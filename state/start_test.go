package state_test

import (
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/state"
)

func yes() *bool { v := true; return &v }
func no() *bool  { v := false; return &v }

// begun is a case with a patient and one wound, and the entries of bodies after them, a minute apart.
func begun(t *testing.T, wound casebook.WoundFound, bodies ...casebook.Body) *casebook.Case {
	t.Helper()
	at := time.Date(2026, 3, 10, 9, 0, 0, 0, time.UTC)
	wound.Wound, wound.Site, wound.Type = "A", "left heel", "pressure"
	var list []casebook.Entry
	for i, b := range append([]casebook.Body{casebook.PersonRegistered{Name: "Ann Eastham", Place: "ward", Zone: "UTC"}, wound}, bodies...) {
		when := at.Add(time.Duration(i) * time.Minute)
		list = append(list, casebook.Entry{ID: "e" + string(rune('a'+i)), Case: "c", Kind: b.Kind(), Version: 1, At: when, Recorded: when, Author: "n", Body: b})
	}
	return casebook.Fold("c", list)
}

func TestStart(t *testing.T) {
	open := func(c *casebook.Case) (out []string) {
		for _, s := range state.StartOf(c) {
			if !s.Done {
				out = append(out, s.Name)
			}
		}
		return out
	}
	c := begun(t, casebook.WoundFound{})
	if got := open(c); len(got) != 7 || got[0] != "Screening" || got[6] != "Size" {
		t.Fatalf("a new case has all seven steps open: %v", got)
	}
	length := 3.0
	all := map[string]string{}
	for _, q := range casebook.Questions {
		all[q.ID] = casebook.AnswerNo
	}
	bodies := []casebook.Body{
		casebook.ScreeningDone{Answers: all},
		casebook.OrderWritten{Stages: []casebook.Stage{{SuctionMmHg: 125}}},
		casebook.PumpAssigned{Pump: "P1"},
		casebook.TeachingGiven{To: "patient", Topics: []string{"alarms"}},
		casebook.PersonRegistered{Name: "Ann Eastham", Place: "ward", Zone: "UTC", Contacts: []casebook.Contact{{Role: "prescriber", Phone: "555 0100"}}},
		casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", NoneOut: true}}},
		casebook.WoundMeasured{Wound: "A", LengthCm: &length, WidthCm: &length, Method: "ruler"},
	}
	for i := range bodies {
		// Each entry closes its own step, whatever was done before.
		if got := open(begun(t, casebook.WoundFound{}, bodies[i])); len(got) != 6 {
			t.Errorf("%s closes one step: %v are open", bodies[i].Kind(), got)
		}
		next := state.NextStart(state.StartOf(begun(t, casebook.WoundFound{}, bodies[:i]...)), false)
		if next == nil || next.Kind != bodies[i].Kind() {
			t.Errorf("after %d steps the next is %s, got %v", i, bodies[i].Kind(), next)
		}
	}
	if next := state.NextStart(state.StartOf(begun(t, casebook.WoundFound{}, bodies[:5]...)), true); next == nil || next.Name != "Size" {
		t.Errorf("while the start waits, a dressing is not next: %v", next)
	}
	if got := open(begun(t, casebook.WoundFound{}, bodies...)); len(got) != 0 {
		t.Errorf("everything is done: %v", got)
	}
	delete(all, "eschar")
	if s := state.StartOf(begun(t, casebook.WoundFound{}, casebook.ScreeningDone{Answers: all}))[0]; s.Done || s.Left != "1 open" {
		t.Errorf("a question that bars therapy keeps the screening open: %+v", s)
	}
	if got := state.StartOf(begun(t, casebook.WoundFound{}, casebook.TherapyEnded{Why: "goal met"})); len(got) != 0 {
		t.Errorf("nothing begins after the end: %v", got)
	}
}

func TestAnsweredBefore(t *testing.T) {
	for name, x := range map[string]struct {
		wound casebook.WoundFound
		more  []casebook.Body
		want  map[string]string
	}{
		"nothing said":          {want: map[string]string{}},
		"infected, blood good":  {wound: casebook.WoundFound{Infected: yes(), PoorPerfusion: no()}, want: map[string]string{"infected_wound": "yes", "inadequate_perfusion": "no"}},
		"not on a limb":         {wound: casebook.WoundFound{Limb: no()}, want: map[string]string{"circumferential": "no"}},
		"on a limb, not said":   {wound: casebook.WoundFound{Limb: yes()}, want: map[string]string{}},
		"all the way round":     {wound: casebook.WoundFound{Limb: yes(), Circumferential: yes()}, want: map[string]string{"circumferential": "yes"}},
		"the screening said so": {wound: casebook.WoundFound{Infected: no()}, more: []casebook.Body{casebook.ScreeningDone{Answers: map[string]string{"infected_wound": "yes"}}}, want: map[string]string{}},
		"two stages":            {more: []casebook.Body{casebook.OrderWritten{Stages: []casebook.Stage{{SuctionMmHg: 125}, {SuctionMmHg: 25}}}}, want: map[string]string{"intermittent_mode": "yes"}},
		"another wound, not said": {wound: casebook.WoundFound{Infected: no(), PoorPerfusion: yes()}, more: []casebook.Body{casebook.WoundFound{Wound: "B", Site: "right heel", Type: "pressure"}},
			want: map[string]string{"inadequate_perfusion": "yes"}},
	} {
		got := state.AnsweredBefore(begun(t, x.wound, x.more...))
		if len(got) != len(x.want) {
			t.Errorf("%s: got %v, want %v", name, got, x.want)
		}
		for q, a := range x.want {
			if got[q] != a {
				t.Errorf("%s: %s is %q, want %q", name, q, got[q], a)
			}
		}
	}
}
