package week_test

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"lowtide/week"
)

// TestLawICal: whatever a name holds, every line is at most 75 octets of UTF-8, ends in CRLF, opens and closes what it
// opens, and gives the name back when unfolded (RFC 5545, sections 3.1 and 3.3.11); without names the name is nowhere.
func TestLawICal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.String().Draw(t, "name")
		zone, _ := time.LoadLocation("Europe/London")
		p := &week.Plan{Start: time.Date(2026, 3, 29, 0, 0, 0, 0, zone), Days: 1, Visits: []week.Placed{{Visit: week.Visit{Case: "case-1", Name: name, Place: name}, Account: "a", Date: "2026-03-29", Start: 600, End: 640}}}
		text := string(week.ICal(p, "a", true, time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)))
		lines := strings.Split(text, "\r\n")
		if lines[len(lines)-1] != "" || !utf8.ValidString(text) {
			t.Fatal("no CRLF at the end, or no UTF-8")
		}
		for _, l := range lines {
			if len(l) > 75 || strings.ContainsAny(l, "\r\n") {
				t.Fatalf("line %q", l)
			}
		}
		flat := strings.ReplaceAll(text, "\r\n ", "")
		// The clocks go forward in that night: ten in London is nine in UTC.
		for _, want := range []string{"BEGIN:VCALENDAR", "BEGIN:VEVENT", "END:VEVENT", "END:VCALENDAR", "VERSION:2.0", "PRODID:", "UID:", "DTSTAMP:20260301T000000Z", "DTSTART:20260329T090000Z", "DTEND:20260329T094000Z"} {
			if !strings.Contains(flat, want) {
				t.Fatalf("%q is missing in %s", want, flat)
			}
		}
		bare := string(week.ICal(p, "a", false, time.Time{}))
		if strings.Contains(bare, "case-1") || strings.Contains(bare, "LOCATION") || strings.Contains(bare, "DESCRIPTION") || !strings.Contains(bare, "SUMMARY:Visit\r\n") {
			t.Fatal("without names: " + bare)
		}
	})
}
