package web

import (
	"net/http"
	"slices"
	"strconv"

	"lowtide/web/page"
)

// tideDays is how many days the tide chart shows unless the address says otherwise.
const tideDays = 14

// showCase shows one patient's therapy.
func (s *Server) showCase(r *Request) (Answer, error) {
	o := r.opened
	c, rev, now := o.c, o.rev, o.now
	days, err := strconv.Atoi(r.URL.Query().Get("days"))
	if err != nil || !slices.Contains(page.TideDays, days) {
		days = tideDays
	}
	frame := s.frame(r, rev.Person.Name, "")
	frame.Said = page.SavedWords(c, r.URL.Query().Get("saved"))
	switch r.URL.Query().Get("part") {
	case "why":
		return show(http.StatusOK, page.CaseWhy(page.NewWhy(s.frame(r, "Why: "+rev.Person.Name, ""), c, rev, s.Rules.Values(now), o.clock)))
	case "table":
		return show(http.StatusOK, page.TideTable(page.NewTideTable(s.frame(r, "Tide chart of "+rev.Person.Name, ""), c, rev, s.Equipment, now, days)))
	}
	p := page.NewCase(frame, c, rev, s.Equipment, now, days)
	p.AddSupplies(c, rev, s.Equipment, now)
	return show(http.StatusOK, page.CaseOf(p))
}
