package intake

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

// story makes entries from bodies, an hour apart, the first a hundred hours ago. IDs are e0, e1, ...
func story(bodies ...casebook.Body) []casebook.Entry {
	var out []casebook.Entry
	for i, b := range bodies {
		at := now.Add(time.Duration(i-100) * time.Hour)
		e := casebook.Entry{ID: fmt.Sprintf("e%d", i), Case: "c", Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: "n.demo", Body: b}
		if _, ok := b.(casebook.EntryCorrected); ok {
			e.Reason = "misread"
		}
		out = append(out, e)
	}
	return out
}

func correct(list []casebook.Entry, i int, target string) []casebook.Entry {
	list[i].Corrects = target
	return list
}

func ptr[T any](x T) *T { return &x }

// TestCheckEntries holds what is and what is not a problem, one line a rule.
func TestCheckEntries(t *testing.T) {
	found := casebook.WoundFound{Wound: "A", Site: "sacrum", Type: "pressure"}
	measured := func(depth float64) casebook.WoundMeasured {
		return casebook.WoundMeasured{Wound: "A", Method: "ruler", DepthCm: &depth}
	}
	raw := func(v any) json.RawMessage {
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	size := func(mL float64) casebook.PumpAssigned { return casebook.PumpAssigned{Pump: "P1", CanisterML: &mL} }
	volume := func(mL float64) casebook.CanisterRead { return casebook.CanisterRead{VolumeML: &mL} }
	late := story(measured(2), found)
	withdrawn := correct(story(measured(2), found, casebook.EntryCorrected{Action: "withdraw"}), 2, "e0")
	undone := correct(correct(story(measured(2), found, casebook.EntryCorrected{Action: "withdraw"}, casebook.EntryCorrected{Action: "withdraw"}), 2, "e0"), 3, "e2")
	earlier := correct(story(measured(2), found, casebook.EntryCorrected{Action: "replace", At: now.Add(-200 * time.Hour).Format(time.RFC3339)}), 2, "e1")
	renamed := correct(story(found, measured(2), casebook.EntryCorrected{Action: "replace", Body: raw(casebook.WoundFound{Wound: "B", Site: "heel", Type: "other"})}), 2, "e0")
	renamed = append(renamed, casebook.Entry{ID: "x", Case: "c", Kind: casebook.KindWoundMeasured, Version: 1, At: now, Recorded: now, Body: casebook.WoundMeasured{Wound: "B", Method: "ruler"}})
	future := story(found)
	future[0].At = now.Add(5*time.Minute + time.Second)
	farID := story(found)
	farID[0].ID = "ffffffff-ffff-7000-8000-000000000001" // the year 10889
	clock := story(found)
	clock[0].At = now.Add(5 * time.Minute)
	cycle := correct(correct(story(found, casebook.EntryCorrected{Action: "withdraw"}, casebook.EntryCorrected{Action: "withdraw"}), 1, "e2"), 2, "e1")
	for name, tt := range map[string]struct {
		known, list []casebook.Entry
		want        string
	}{
		"nothing":                              {nil, story(found, measured(2)), ""},
		"wound known":                          {story(found), story(found, measured(2))[1:], ""},
		"measured before found":                {nil, late, "/entries/0/body/wound before_wound"},
		"that was withdrawn":                   {nil, withdrawn, ""},
		"and the withdrawal withdrawn":         {nil, undone, "/entries/0/body/wound before_wound"},
		"found earlier, by correction":         {nil, earlier, ""},
		"renamed by correction":                {nil, renamed, ""},
		"in the future":                        {nil, future, "/entries/0/at future"},
		"an ID of the year 10889":              {nil, farID, "/entries/0/id future"},
		"clock a little ahead":                 {nil, clock, ""},
		"corrections of each other":            {nil, cycle, ""},
		"known correction target":              {story(found), correct(story(found, casebook.EntryCorrected{Action: "withdraw"}), 1, "e0")[1:], ""},
		"depth by code":                        {nil, story(found, measured(40)), "/entries/1/body/depth_cm range"},
		"word by code":                         {nil, story(casebook.TeachingGiven{To: "carer", Topics: []string{"weather"}}), "/entries/0/body/topics/0 word"},
		"answer by code":                       {nil, story(casebook.ScreeningDone{Answers: map[string]string{"eschar": "maybe"}}), "/entries/0/body/answers/eschar word"},
		"no body":                              {nil, []casebook.Entry{{ID: "e", Kind: casebook.KindNoteWritten, At: now, Recorded: now}}, "/entries/0/body missing"},
		"another kind's body":                  {nil, []casebook.Entry{{ID: "e", Kind: casebook.KindNoteWritten, At: now, Recorded: now, Body: found}}, "/entries/0/body type"},
		"replaced by another kind":             {nil, correct(story(found, measured(2), casebook.EntryCorrected{Action: "replace", Body: raw(casebook.OrderStopped{By: "x"})}), 2, "e1"), "/entries/2/body/body/by unknown_field, /entries/2/body/body/wound missing, /entries/2/body/body/method missing"},
		"full to the brim":                     {nil, story(size(300), volume(300)), ""},
		"a tenth over the mark":                {nil, story(size(300), volume(330)), ""},
		"over the brim":                        {nil, story(size(300), volume(331)), "/entries/1/body/volume_mL canister"},
		"size not known":                       {nil, story(volume(2000)), ""},
		"size only later":                      {nil, story(volume(800), size(300)), ""},
		"new canister is no measure of itself": {nil, story(size(500), casebook.CanisterRead{VolumeML: ptr(450.), Changed: ptr(true), SizeML: ptr(300.)}), ""},
		"but of the next":                      {nil, story(size(500), casebook.CanisterRead{Changed: ptr(true), SizeML: ptr(300.)}, volume(450)), "/entries/2/body/volume_mL canister"},
		"two pumps":                            {nil, story(casebook.PumpAssigned{Pump: "P2", CanisterML: ptr(800.)}, size(300), volume(700)), ""},
		"one went back":                        {nil, story(casebook.PumpAssigned{Pump: "P2", CanisterML: ptr(800.)}, casebook.PumpReturned{Pump: "P2"}, size(300), volume(700)), "/entries/3/body/volume_mL canister"},
		"tissue just within":                   {nil, story(found, casebook.WoundMeasured{Wound: "A", Method: "ruler", Tissue: &casebook.Tissue{SloughPct: 99.5}}), ""},
		"tissue just outside":                  {nil, story(found, casebook.WoundMeasured{Wound: "A", Method: "ruler", Tissue: &casebook.Tissue{SloughPct: 99.4}}), "/entries/1/body/tissue tissue_sum"},
	} {
		t.Run(name, func(t *testing.T) {
			var got []string
			for _, p := range CheckEntries(tt.known, tt.list, now) {
				got = append(got, p.Pointer+" "+string(p.Code))
			}
			if s := strings.Join(got, ", "); s != tt.want {
				t.Errorf("got  %q\nwant %q", s, tt.want)
			}
		})
	}
}

// TestKnown: what a file lacks may be in the store already.
func TestKnown(t *testing.T) {
	raw := []byte(`{"format":"lowtide.case","version":1,"case":"c","entries":[{"kind":"wound.measured","at":"2026-03-10T10:00:00Z","body":{"wound":"A","method":"ruler"}}]}`)
	if _, ps := ReadCaseFile(raw, now); ps.Err() == nil {
		t.Error("a wound that nobody found was accepted")
	}
	known := story(casebook.WoundFound{Wound: "A", Site: "sacrum", Type: "pressure"})
	if _, ps := Read(raw, Options{Now: now, Known: known}); ps.Err() != nil {
		t.Errorf("the known wound is not seen: %v", ps)
	}
}

// TestVisible: what is printed cannot steer a terminal.
func TestVisible(t *testing.T) {
	_, ps := ReadCaseFile([]byte("{\"\\u001b[2J\\u202e\\nx\":1}"), now)
	if s := ps.Error(); len(ps) == 0 || strings.ContainsAny(s, "\x1b\u202e") || strings.Count(s, "\n") != len(ps)-1 {
		t.Errorf("%q", s)
	}
}
