package week

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"
)

// ICal writes one nurse's visits as a calendar (RFC 5545). Without names an event says "Visit" and the minutes, and where
// only the patient's case can be told from it: nothing. Times are in UTC, so that no time zone has to be told. stamp is when
// it is written.
func ICal(p *Plan, account string, names bool, stamp time.Time) []byte {
	var b strings.Builder
	line := func(format string, a ...any) { fold(&b, fmt.Sprintf(format, a...)) }
	line("BEGIN:VCALENDAR")
	line("VERSION:2.0")
	line("PRODID:-//Lowtide//Week//EN")
	line("CALSCALE:GREGORIAN")
	line("X-WR-CALNAME:Visits")
	const layout = "20060102T150405Z"
	for _, v := range p.Visits {
		if v.Account != account {
			continue
		}
		day := p.Start.AddDate(0, 0, v.Day)
		at := func(minute int) time.Time {
			return time.Date(day.Year(), day.Month(), day.Day(), 0, minute, 0, 0, p.Start.Location()).UTC()
		}
		line("BEGIN:VEVENT")
		line("UID:%s-%d-%s@lowtide", hashOf(v.Case), v.Seq, v.Date)
		line("DTSTAMP:%s", stamp.UTC().Format(layout))
		line("DTSTART:%s", at(v.Start).Format(layout))
		line("DTEND:%s", at(v.End).Format(layout))
		if names {
			line("SUMMARY:%s", escape("Visit: "+v.Name))
			line("LOCATION:%s", escape(v.Place))
			line("DESCRIPTION:%s", escape(strings.Join(v.For, "; ")))
		} else {
			line("SUMMARY:Visit")
		}
		line("END:VEVENT")
	}
	line("END:VCALENDAR")
	return []byte(b.String())
}

// fold writes a content line of at most 75 octets, longer ones over several lines (RFC 5545, section 3.1).
func fold(b *strings.Builder, s string) {
	const most = 75
	for n := most; len(s) > n; n = most - 1 {
		cut := n
		for !utf8.RuneStart(s[cut]) {
			cut--
		}
		b.WriteString(s[:cut] + "\r\n ")
		s = s[cut:]
	}
	b.WriteString(s + "\r\n")
}

// escape writes text as a value (RFC 5545, section 3.3.11). Control characters are left out.
func escape(s string) string {
	s = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`).Replace(strings.ToValidUTF8(s, ""))
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, s)
}
