package web

import (
	"context"
	"errors"
	"net/http"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/web/page"
)

type openedKey struct{}

// seeCase stands before every route of a case: it reads the case, asks for a reason when the case is not on the
// person's list, and writes the access log before anything is shown. ok is false when the answer was given here.
func (s *Server) seeCase(w http.ResponseWriter, r *http.Request) (*http.Request, bool) {
	id, now := r.PathValue("case"), s.Now()
	c, rev, _, err := s.Caseload.Case(r.Context(), id, now)
	switch {
	case err != nil:
		s.fail(w, r, err)
		return r, false
	case c == nil:
		s.missing(w, r)
		return r, false
	}
	why, outside, ok := s.mayOpen(r, id, rev.Person)
	if !ok {
		s.askWhy(w, r, http.StatusForbidden, "")
		return r, false
	}
	what := accesslog.Read
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		what = accesslog.Sent
	}
	if err := s.note(r, accesslog.Noted{What: what, Case: id, Outside: outside, Why: why}); err != nil {
		s.fail(w, r, err)
		return r, false
	}
	o := opened{c: c, rev: rev, now: now, clock: page.Clock{Zone: c.Zone, Now: now}}
	return r.WithContext(context.WithValue(r.Context(), openedKey{}, o)), true
}

// erased answers for a case that was erased; false when the error is another one.
func (s *Server) erased(w http.ResponseWriter, r *http.Request, err error) bool {
	var gone *casebook.ErasedError
	if !errors.As(err, &gone) {
		return false
	}
	s.refuse(w, r, http.StatusGone, "This case was erased.", "It was erased on "+gone.At.Format("2 January 2006")+" by "+gone.By+" because: "+gone.Reason+". Nobody can read it again.")
	return true
}
