package wording

import (
	"fmt"
	"strconv"

	"lowtide/casebook"
	"lowtide/unit"
)

// log puts an import into words; the rows that were not used are listed.
func (s *sayer) log(b casebook.LogImported) {
	s.Title = "Log of pump " + b.Pump + " imported"
	s.put("File", b.File)
	s.time("First reading", &b.From)
	s.time("Last reading", &b.To)
	s.put("Rows", fmt.Sprintf("%d, of which %d were not used", b.Rows, b.NotUsed))
	for _, r := range b.Reasons {
		s.put("Not used", unit.Count(r.Row, "row", "rows")+": "+r.Why)
	}
	for i, r := range b.Unused {
		if i == 20 {
			s.put("Rows not used", fmt.Sprintf("%d more are kept with the entry", len(b.Unused)-i))
			break
		}
		s.put("Row "+strconv.Itoa(r.Row), r.Why)
	}
	for _, n := range b.Notes {
		s.put("Put right", n)
	}
	s.put("Columns", b.Mapping)
	if b.AheadMin != nil {
		s.put("Pump's clock ahead by", unit.Number(*b.AheadMin, 1)+" min")
	}
	if b.BeforeMin != nil {
		s.put("Ahead earlier by", unit.Number(*b.BeforeMin, 1)+" min")
		if b.BeforeAt != nil {
			s.time("Ahead earlier, when", b.BeforeAt)
		}
	}
	s.put("Note", b.Note)
}
