package report

import (
	"time"

	"lowtide/caseload"
)

// PumpLine is a spell of a pump, with the patient as the reader may see her. Named tells that Who is her name.
type PumpLine struct {
	Held  caseload.PumpHeld
	Who   string
	Named bool
}

// PumpHead are the columns of a list of pumps.
var PumpHead = []string{"Pump", "Class", "With", "Since", "Until", "Cleaned", "To look at"}

// Cells are the columns of a line; clock prints a time.
func (l PumpLine) Cells(clock func(time.Time) string) []string {
	h := l.Held
	until, cleaned := "still there", ""
	if h.Until != nil {
		until, cleaned = clock(*h.Until), yesNo(h.Cleaned)
		if cleaned == "" {
			cleaned = "not recorded"
		}
	}
	look := ""
	if h.Also {
		look = "the record gives this pump to two patients at once"
	}
	return []string{h.Pump, orUnknown(h.Class, "not recorded"), orUnknown(l.Who, "name not recorded"), clock(h.Since), until, cleaned, look}
}

// Ledger is the list of pumps and who has them.
func Ledger(lines []PumpLine, now time.Time, zone *time.Location, demo bool) *Paper {
	clock := func(t time.Time) string { return t.In(zone).Format("2 Jan 2006 15:04") }
	p := &Paper{Kind: "pumps", Title: "Pumps and who has them", Lang: "en", AsOf: now, Time: "As of " + clock(now), Demo: demo, Caution: Caution, PageOf: [2]string{"page", "of"}}
	g := Grid{Head: PumpHead, Shares: []float64{2, 2, 4, 3, 3, 2, 3}}
	for _, l := range lines {
		g.Rows = append(g.Rows, l.Cells(clock))
	}
	if g.Rows == nil {
		p.add(Para{Text: "No pump was given to anybody."})
		return p
	}
	p.add(g)
	return p
}
