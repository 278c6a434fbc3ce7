package web

import (
	"context"
	"net/http"
	"time"

	"lowtide/web/page"
)

// cohortWait bounds how long a wound's page waits for ended cases that were not read yet.
const cohortWait = 300 * time.Millisecond

// showWound shows how one wound heals.
func (s *Server) showWound(r *Request) (Answer, error) {
	o := r.opened
	wound := o.c.Wound(r.PathValue("wound"))
	if wound == nil {
		return nil, errMissing
	}
	kind := ""
	if wound.Found != nil {
		kind = wound.Found.Body.Type
	}
	ctx, cancel := context.WithTimeout(r.Context(), cohortWait)
	defer cancel()
	cohort, rates, pending, err := s.Caseload.Cohort(ctx, kind, o.now)
	if err != nil && ctx.Err() == nil {
		return nil, err
	}
	if err != nil {
		cohort.Sentence = "The ended cases were not read in time; open the page again."
	}
	return show(http.StatusOK, page.Wound(page.NewWound(s.caseFrame(r, o, "Wound "+wound.Name+" of "+o.rev.Person.Name), o.c, wound, o.rev, o.clock, cohort, rates, pending)))
}
