package report

import (
	"fmt"
	"strings"
	"time"

	"lowtide/caseload"
	"lowtide/unit"
)

// Bag is the bag for the visits of a day: each item with a box to tick, then the visits and what could not be told.
func Bag(b *caseload.Bag, now time.Time, zone *time.Location, demo bool) *Paper {
	p := &Paper{Kind: "bag", Title: "Bag for the visits of " + b.Day, Lang: "en", AsOf: now, Time: "As of " + now.In(zone).Format("Mon 2 Jan 2006 15:04"), Demo: demo, Caution: Caution, PageOf: [2]string{"page", "of"}}
	if b.Pending > 0 {
		p.add(Para{Strong: true, Text: fmt.Sprintf("%d cases were not read yet: this list may lack visits.", b.Pending)})
	}
	if len(b.Lines) == 0 {
		p.add(Para{Text: "Nothing is to be brought by the visits that are planned for this day."})
	}
	var lines []string
	for _, l := range b.Lines {
		var of []string
		for _, f := range l.For {
			of = append(of, f.Name+": "+f.Why)
		}
		lines = append(lines, fmt.Sprintf("%d × %s (%s)", l.Count, l.Words, strings.Join(of, "; ")))
	}
	if lines != nil {
		p.add(List{Items: lines, Boxes: true})
	}
	g := Grid{Caption: "Visits", Head: []string{"When", "Who", "Where", "Cannot tell"}, Shares: []float64{2, 3, 4, 4}}
	for _, v := range b.Visits {
		when := v.At.In(visitZone(v, zone)).Format("Mon 2 Jan 15:04")
		if !v.Planned {
			when += ", by the interval"
		}
		if v.Late {
			when += ", was due before"
		}
		g.Rows = append(g.Rows, []string{when, v.Person.Name, strings.TrimSpace(v.Person.Place + " " + v.Person.Address), strings.Join(v.Cannot, "; ")})
	}
	if g.Rows != nil {
		p.add(g)
	}
	return p
}

// visitZone is the patient's own zone, or that of the round when it is not known.
func visitZone(v caseload.BagVisit, zone *time.Location) *time.Location {
	if own, ok := unit.Zone(v.Person.Zone); ok {
		return own
	}
	return zone
}
