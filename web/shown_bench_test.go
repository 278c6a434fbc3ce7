package web

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/web/page"
)

// BenchmarkRounds makes the HTML of Rounds over 10,000 rows. Budget: 20 ms and 100 kB.
func BenchmarkRounds(b *testing.B) {
	rows := make([]*caseload.Row, 10_000)
	zones := []string{"Europe/Berlin", "Europe/London", "America/New_York"}
	for i := range rows {
		next := shownNow.Add(time.Duration(i%200-50) * time.Hour)
		r := &caseload.Row{Case: fmt.Sprintf("019e0d1f-ac00-7a1d-ace8-%012d", i),
			Person:  state.Person{Name: fmt.Sprintf("Invented Person %d", i*7919%10_000), Place: "home", Address: "Long Lane 12, Townsend", Nurse: fmt.Sprintf("Nurse %d", i%100), Team: fmt.Sprintf("Team %d", i%8), Zone: zones[i%3]},
			Therapy: state.Therapy{State: "open", NextVisit: &next, Wounds: []string{"A", "B"}}}
		for j := range i % 6 {
			due := shownNow.Add(time.Duration((i*31+j*17)%100-30) * time.Hour)
			r.Findings = append(r.Findings, caseload.RowFinding{Rule: "CAN-WEEK-01", Level: rule.Levels[min(3, j+i%3)], State: rule.Yes, Due: &due,
				Headline: "The canister has been in since Tue 6 Jan 02:30; the longest time with one canister is 7 d 0 h, and it is 80 % full."})
		}
		rows[i] = r
	}
	for _, f := range []page.RoundsFilter{{}, {When: "3days"}, {Nurse: "Nurse 7", Level: rule.Today}} {
		b.Run(fmt.Sprintf("when=%s,nurse=%s", f.When, f.Nurse), func(b *testing.B) {
			var buf bytes.Buffer
			for b.Loop() {
				buf.Reset()
				p := page.NewRounds(page.Frame{Title: "Rounds", Here: "Rounds"}, rows, 0, f, nil, shownNow, time.UTC)
				if err := page.Rounds(p).Render(context.Background(), &buf); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(buf.Len()), "bytes")
		})
	}
}

// shownMonths is a case of four months: a visit with canister every two days, a measurement every week, a note and an
// alarm now and then.
func shownMonths() []casebook.Entry {
	entries := shownPerson("c1", "Long Invented", "Ann", "home", "Europe/Berlin", 2000)
	hours := 24.0 * 120
	for i := range entries {
		entries[i].At = entries[i].At.Add(-time.Duration(hours) * time.Hour)
	}
	n := 100
	add := func(ago float64, b casebook.Body) { n++; entries = append(entries, shownEntry("c1", n, ago, b)) }
	for i := 0; i < 60; i++ {
		ago := hours - float64(i)*48
		size := 6 - float64(i)*0.06
		add(ago, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 2}}, In: []casebook.Pieces{{Filler: "foam", Count: 2}}}},
			Seal: "holds", SuctionMmHg: shownPtr(125.0), Canister: &casebook.CanisterRead{VolumeML: shownPtr(150.0 + float64(i)), Changed: shownPtr(true), Colour: "straw"}, Note: "nothing special"})
		add(ago-20, casebook.CanisterRead{VolumeML: shownPtr(60.0)})
		if i%3 == 0 {
			add(ago-0.2, casebook.WoundMeasured{Wound: "A", LengthCm: shownPtr(size), WidthCm: shownPtr(size * 0.7), DepthCm: shownPtr(size * 0.3), Method: "ruler"})
			add(ago-5, casebook.NoteWritten{Text: "called the family"})
		}
		if i%5 == 0 {
			add(ago-10, casebook.AlarmReported{Alarm: "leak", OffSince: shownPtr(shownNow.Add(-time.Duration((ago - 9) * float64(time.Hour))))})
			add(ago-12, casebook.PowerNoted{Therapy: "on", BatteryPct: shownPtr(80.0)})
		}
	}
	return entries
}

// A long case keeps within 100 kB, also when the tide chart shows all of it.
func TestLongCaseKeepsItsBudget(t *testing.T) {
	get := shownServer(t, shownMonths()...)
	for _, days := range page.TideDays {
		code, body := get(fmt.Sprintf("/case/c1?days=%d", days))
		t.Logf("%d days: %d bytes", days, len(body))
		if code != 200 || len(body) > 100_000 {
			t.Errorf("%d days: %d, %d bytes", days, code, len(body))
		}
		code, body = get(fmt.Sprintf("/case/c1?days=%d&part=table", days))
		if code != 200 || len(body) > 100_000 || !strings.Contains(body, "dressing changed; Suction shown at a visit: 125 mmHg; ") {
			t.Errorf("%d days: table: %d, %d bytes", days, code, len(body))
		}
	}
}

// BenchmarkCase makes the HTML of a four-month case from its fold and review. Budget: 20 ms and 100 kB.
func BenchmarkCase(b *testing.B) {
	rules, err := rule.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	eq := equipment.BuiltIn()
	c := casebook.Fold("c1", shownMonths())
	r := review.Of(state.Of(c, rules, eq, nil, shownNow), rules)
	for _, days := range page.TideDays {
		b.Run(fmt.Sprintf("days=%d", days), func(b *testing.B) {
			var buf bytes.Buffer
			for b.Loop() {
				buf.Reset()
				if err := page.CaseOf(page.NewCase(page.Frame{}, c, r, eq, shownNow, days)).Render(context.Background(), &buf); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(buf.Len()), "bytes")
		})
	}
}
