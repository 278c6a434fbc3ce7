package web

import (
	"net/http"
	"time"

	"lowtide/accesslog"
	"lowtide/web/page"
)

// seeCase stands before every route of a case: it reads the case, asks for a reason when the case is not on the
// person's list, and writes the access log before anything is shown.
func (s *Server) seeCase(r *Request) error {
	var err error
	if r.opened, err = s.openCase(r, s.Now()); err != nil {
		return err
	}
	why, outside, ok := s.mayOpen(r, r.c.ID, r.rev.Person)
	if !ok {
		return first(s.askWhy(r, http.StatusForbidden, ""))
	}
	what := accesslog.Read
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		what = accesslog.Sent
	}
	return s.note(r, accesslog.Noted{What: what, Case: r.c.ID, Outside: outside, Why: why})
}

// openCase reads the case of the address as of a moment.
func (s *Server) openCase(r *Request, now time.Time) (opened, error) {
	c, rev, _, err := s.Caseload.Case(r.Context(), r.PathValue("case"), now)
	if err == nil && c == nil {
		err = errMissing
	}
	if err != nil {
		return opened{}, err
	}
	return opened{c, rev, now, page.Clock{Zone: c.Zone, Now: now}}, nil
}
