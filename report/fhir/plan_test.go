package fhir

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

// told is what a Bundle says of the plan and of suction.
type told struct {
	tasks   []activityDetail
	suction []observation
}

func toldBy(t *testing.T, c *casebook.Case) told {
	t.Helper()
	raw, err := Bundle(Input{Review: reviewed(t, c)})
	if err != nil {
		t.Fatal(err)
	}
	var b struct {
		Entry []struct{ Resource json.RawMessage }
	}
	if err := json.Unmarshal(raw, &b); err != nil {
		t.Fatal(err)
	}
	var out told
	for _, e := range b.Entry {
		var p carePlan
		var o observation
		_ = json.Unmarshal(e.Resource, &p)
		_ = json.Unmarshal(e.Resource, &o)
		if p.ResourceType == "CarePlan" {
			for _, a := range p.Activity {
				if a.Detail != nil && a.Detail.Kind == "Task" {
					out.tasks = append(out.tasks, *a.Detail)
				}
			}
		}
		if o.ResourceType == "Observation" && reflect.DeepEqual(o.Code.Coding, []coding{{System: systemFigure, Code: "therapy.suction"}}) {
			out.suction = append(out.suction, o)
		}
	}
	return out
}

// TestPlanAndSuction: a pump that went flat three hours ago, and the same case before that. The words stand here as the
// nurse reads them, so that a step that loses its level, act, time or what waits is seen.
func TestPlanAndSuction(t *testing.T) {
	at := func(h float64) time.Time { return demoNow.Add(time.Duration(h * float64(time.Hour))) }
	no, canister, h60, next, suction, none := false, 400.0, 60.0, at(28), 125.0, 0.0
	var entries []casebook.Entry
	tell := func(when time.Time, b casebook.Body) {
		id := fmt.Sprintf("%08x-0000-7000-8000-%012x", len(entries)+1, len(entries)+1)
		entries = append(entries, casebook.Entry{ID: id, Case: "story", Kind: b.Kind(), Version: casebook.Version(b.Kind()), At: when, Recorded: when, Author: "N. Story", Body: b})
	}
	tell(at(-72), casebook.PersonRegistered{Name: "Story Person", Born: "1950-01-02", Place: "home", Zone: "Europe/London", Nurse: "N. Story"})
	tell(at(-71), casebook.WoundFound{Wound: "A", Site: "lower abdomen, midline", Type: "surgical", Limb: &no})
	tell(at(-70), casebook.OrderWritten{Prescriber: "Dr Story", Wounds: []string{"A"}, Stages: []casebook.Stage{{SuctionMmHg: 125}}, Filler: "foam", ContactLayer: "none", ChangeEveryH: &h60, Goal: "bed level"})
	tell(at(-70), casebook.PumpAssigned{Pump: "P-1", Class: "portable", CanisterML: &canister, Wounds: []string{"A"}})
	tell(at(-20), casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", In: []casebook.Pieces{{Filler: "foam", Count: 1}}, NoneOut: true, ContactLayer: &no}},
		Seal: "holds", SuctionMmHg: &suction, NextVisit: &next, Power: &casebook.PowerNoted{Therapy: "on"}})

	before := toldBy(t, casebook.Fold("story", entries))
	if len(before.suction) != 1 || before.suction[0].ValueString != "on" {
		t.Fatalf("before the alarm suction is %+v", before.suction)
	}
	// The limits of what is believed are the review's; that there is one, and in the future, is the Bundle's to tell.
	if got := notes(before.suction[0]); !strings.Contains(got, "Believed until 2026-03-0") || !strings.HasSuffix(got, "if nobody looks") {
		t.Errorf("suction on says %q", got)
	}
	for _, d := range before.tasks {
		if strings.Contains(codes(d), "dressing-off") {
			t.Errorf("with suction on the dressing comes off: %s", d.Description)
		}
	}

	off := at(-3)
	tell(off, casebook.AlarmReported{Alarm: "battery low", OffSince: &off, Settled: &no, SuctionMmHg: &none, ReportedBy: "the daughter"})
	flat := toldBy(t, casebook.Fold("story", entries))
	if len(flat.suction) != 1 {
		t.Fatalf("%d observations of suction", len(flat.suction))
	}
	if o := flat.suction[0]; o.ValueString != "off" || o.Status != "preliminary" || o.EffectiveDateTime != "2026-03-04T07:30:00Z" || notes(o) != "alarm: battery low|Since 2026-03-04T04:30:00Z" {
		t.Errorf("suction is %q, %s, as of %s: %q", o.ValueString, o.Status, o.EffectiveDateTime, notes(o))
	}
	want := []string{
		"look-blood by 2026-03-04T06:30:00Z Act now: Look at tube, canister and dressing now: bright red means suction off, dressing left on, press, emergency help.",
		"dressing-off by 2026-03-04T06:30:00Z Act now: Have the dressing taken off and every piece counted, and a fresh one put on by the local protocol. Getting suction running waits: the dressing has been without suction for longer than the limit and comes off first; suction starts again with a new one.",
		"look by  Act now: See whether the pump runs and what it shows.",
		"tell-prescriber by 2026-03-04T06:30:00Z Act now: Call the prescriber or surgeon now about the time without suction and the order.",
		"plug-in by  Act now: Plug the pump in.",
	}
	var got []string
	for _, d := range flat.tasks {
		if d.Status != "not-started" {
			t.Errorf("%s: %s", d.Description, d.Status)
		}
		if strings.HasPrefix(d.Description, "Act now: ") {
			due := ""
			if d.ScheduledPeriod != nil {
				due = d.ScheduledPeriod.End
			}
			got = append(got, codes(d)+" by "+due+" "+d.Description)
		}
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("the steps of Act now are\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func notes(o observation) string {
	var out []string
	for _, n := range o.Note {
		out = append(out, n.Text)
	}
	return strings.Join(out, "|")
}

// codes are the acts of a task, which has to have one at least.
func codes(d activityDetail) string {
	if d.Code == nil {
		return ""
	}
	var out []string
	for _, c := range d.Code.Coding {
		if c.System == systemAct {
			out = append(out, c.Code)
		}
	}
	return strings.Join(out, "+")
}
