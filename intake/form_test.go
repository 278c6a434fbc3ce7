package intake

import (
	"net/url"
	"reflect"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func TestFormVisit(t *testing.T) {
	form, err := url.ParseQuery("wounds/2/wound=A&wounds/2/out/0/filler=foam&wounds/2/out/0/count=2&wounds/2/in/5/filler%3F=gauze&wounds/2/in/5/count=1" +
		"&wounds/2/in/6/filler%3F=foam&wounds/2/in/6/count=&wounds/7/wound=&seal=holds&suction_mmHg=16,7 kPa&pain=3&signs=none&temperature_C=98.6 °F" +
		"&wounds/2/contact_layer=false&wounds/2/contact_layer=on&next_visit=2026-03-12T09:30&canister/volume_mL=&note= two\r\nlines &-token=secret&at=2026-03-10")
	if err != nil {
		t.Fatal(err)
	}
	body, ps := ReadForm(casebook.KindDressingChanged, form, zone(t, "Europe/Berlin"))
	if ps != nil {
		t.Fatal(ps)
	}
	suction, pain, temperature, yes := 125.26, 3.0, 37.0, true
	next := time.Date(2026, 3, 12, 8, 30, 0, 0, time.UTC)
	got := body.(casebook.DressingChanged)
	if got.NextVisit == nil || !got.NextVisit.Equal(next) {
		t.Errorf("next visit %v", got.NextVisit)
	}
	got.NextVisit = nil
	want := casebook.DressingChanged{
		Wounds: []casebook.WoundChange{{Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 2}}, In: []casebook.Pieces{{Filler: "gauze", Count: 1}}, ContactLayer: &yes}},
		Seal:   "holds", SuctionMmHg: &suction, Note: "two\nlines",
		Seen: casebook.Seen{Signs: []string{"none"}, Pain: &pain, TemperatureC: &temperature},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// TestFormProblems: each problem stands at the name of the field that it is about, holes in the rows included.
func TestFormProblems(t *testing.T) {
	for name, tt := range map[string]struct {
		kind  casebook.Kind
		query string
		want  []string
	}{
		"depth":      {casebook.KindWoundMeasured, "wound=A&method=ruler&depth_cm=40", []string{"depth_cm range"}},
		"tissue":     {casebook.KindWoundMeasured, "wound=A&method=ruler&tissue/granulation_pct=80&tissue/slough_pct=50", []string{"tissue tissue_sum"}},
		"empty":      {casebook.KindWoundMeasured, "", []string{"method missing", "wound missing"}},
		"fraction":   {casebook.KindDressingChanged, "wounds/3/wound=A&wounds/3/out/4/filler=foam&wounds/3/out/4/count=1,5", []string{"wounds/3/out/4/count whole"}},
		"no count":   {casebook.KindDressingChanged, "wounds/3/wound=A&wounds/3/out/4/filler=foam&wounds/3/out/4/count=", []string{"wounds/3/out/4/count missing"}},
		"twice":      {casebook.KindDressingChanged, "wounds/0/wound=A&wounds/9/wound=A", []string{"wounds/9/wound twice"}},
		"fillers":    {casebook.KindDressingChanged, "wounds/1/wound=A&wounds/1/in/2/filler=foam&wounds/1/in/2/count=1&wounds/1/in/10/filler=foam&wounds/1/in/10/count=2", []string{"wounds/1/in/10/filler twice"}},
		"signs":      {casebook.KindNoteWritten, "text=x&signs=none&signs=pus&signs=blod", []string{"signs word", "signs contradicts"}},
		"number":     {casebook.KindWoundMeasured, "wound=A&method=ruler&depth_cm=1.250,5&length_cm=long&width_cm=3 kPa", []string{"depth_cm type", "length_cm type", "width_cm type"}},
		"negative":   {casebook.KindDressingChanged, "wounds/0/wound=A&suction_mmHg=-125", []string{"suction_mmHg range"}},
		"answers":    {casebook.KindScreeningDone, "answers/eschar=no&answers/weather=yes&answers/malignancy=perhaps&answers/a/b=yes", []string{"answers/a unknown_field", "answers/malignancy word", "answers/weather question"}},
		"unknown":    {casebook.KindNoteWritten, "text=x&texd=y&empty=&signs/x=pus", []string{"signs/x unknown_field", "texd unknown_field"}},
		"two values": {casebook.KindNoteWritten, "text=x&text=y", []string{"text twice"}},
		"parts":      {casebook.KindNoteWritten, "text/0=x", []string{"text unknown_field"}},
		"yes or no":  {casebook.KindCanisterRead, "changed=perhaps", []string{"changed type"}},
		"gap":        {casebook.KindNoteWritten, "text=x&next_visit=2026-03-29T02:30", []string{"next_visit time"}},
		"no time":    {casebook.KindNoteWritten, "text=x&next_visit=soon", []string{"next_visit time"}},
		"control":    {casebook.KindNoteWritten, "text=x%00", []string{"text control"}},
		"utf-8":      {casebook.KindNoteWritten, "text=x%ff", []string{"text encoding"}},
		"correction": {casebook.KindEntryCorrected, "action=replace&body=x&at=2026-03-01T10:00", []string{"body unknown_field"}},
		"rows":       {casebook.KindDressingChanged, "wounds/a/wound=A&wounds/0/wound=B", []string{"wounds/a unknown_field"}},
		"row":        {casebook.KindDressingChanged, "wounds=A", []string{"wounds unknown_field"}},
	} {
		t.Run(name, func(t *testing.T) {
			form, err := url.ParseQuery(tt.query)
			if err != nil {
				t.Fatal(err)
			}
			_, ps := ReadForm(tt.kind, form, zone(t, "Europe/Berlin"))
			got := map[string]bool{}
			for _, p := range ps {
				got[p.Pointer+" "+string(p.Code)] = true
				if p.Message == "" || p.Remedy == "" {
					t.Errorf("without words: %+v", p)
				}
			}
			for _, w := range tt.want {
				if !got[w] {
					t.Errorf("no %q in\n%v", w, ps)
				}
			}
			if len(ps) != len(tt.want) {
				t.Errorf("%d problems, want %d:\n%v", len(ps), len(tt.want), ps)
			}
		})
	}
}

// TestClock holds the clock changes of zones whose rules are published in the IANA time zone database.
func TestClock(t *testing.T) {
	for _, tt := range []struct{ zone, text, want string }{
		{"Europe/Berlin", "2026-03-29T01:59", "2026-03-29T01:59:00+01:00"},
		{"Europe/Berlin", "2026-03-29T02:00", ""},
		{"Europe/Berlin", "2026-03-29T02:59:59", ""},
		{"Europe/Berlin", "2026-03-29T03:00", "2026-03-29T03:00:00+02:00"},
		{"Europe/Berlin", "2026-10-25T02:30", "2026-10-25T02:30:00+02:00"}, // comes twice: the earlier
		{"Europe/Berlin", "2026-10-25T03:00", "2026-10-25T03:00:00+01:00"},
		{"America/New_York", "2026-11-01T01:30", "2026-11-01T01:30:00-04:00"},
		{"America/New_York", "2026-03-08T02:30", ""},
		{"Australia/Lord_Howe", "2026-04-05T01:45", "2026-04-05T01:45:00+11:00"}, // half an hour twice
		{"Australia/Lord_Howe", "2026-10-04T02:15", ""},
		{"Pacific/Chatham", "2026-07-01T12:00", "2026-07-01T12:00:00+12:45"},
		{"Pacific/Apia", "2011-12-30T12:00", ""}, // the day that was left out
		{"UTC", "2026-03-29 02:30", "2026-03-29T02:30:00Z"},
		{"Europe/Berlin", "2026-03-29T02:30:00+05:00", "2026-03-29T02:30:00+05:00"},
	} {
		got, p := ReadClock(tt.text, zone(t, tt.zone))
		switch {
		case tt.want == "" && p == nil:
			t.Errorf("%s %s: got %v, want the gap to be told", tt.zone, tt.text, got)
		case tt.want != "" && (p != nil || got.Format(time.RFC3339) != tt.want):
			t.Errorf("%s %s: got %v %v, want %s", tt.zone, tt.text, got, p, tt.want)
		}
	}
	if _, p := ReadClock("2026-03-29T02:30", zone(t, "Europe/Berlin")); p == nil || !strings.Contains(p.Remedy, "03:00") {
		t.Errorf("the end of the gap is not named: %+v", p)
	}
}

func TestReplacement(t *testing.T) {
	form := url.Values{"action": {"replace"}, "body/wound": {"A"}, "body/method": {"ruler"}, "body/depth_cm": {"2,5"}}
	raw, ps := Replacement(casebook.KindWoundMeasured, form, nil)
	if ps != nil || string(raw) != `{"wound":"A","depth_cm":2.5,"method":"ruler"}` {
		t.Errorf("%s %v", raw, ps)
	}
	form.Set("body/depth_cm", "40")
	if _, ps := Replacement(casebook.KindWoundMeasured, form, nil); len(ps) != 1 || ps[0].Pointer != "body/depth_cm" {
		t.Errorf("%v", ps)
	}
}

func TestProblemsForm(t *testing.T) {
	at := now.Add(-time.Hour)
	e := casebook.Entry{ID: "x", Kind: casebook.KindWoundMeasured, At: now.Add(time.Hour), Recorded: at, Body: casebook.WoundMeasured{Wound: "B", Method: "ruler"}}
	ps := CheckEntries([]casebook.Entry{{ID: "w", Kind: casebook.KindWoundFound, At: at, Body: casebook.WoundFound{Wound: "A"}}}, []casebook.Entry{e}, now).Form(0)
	if len(ps.At("at")) != 1 || len(ps.At("wound")) != 1 || len(ps) != 2 {
		t.Errorf("%v", ps)
	}
}
