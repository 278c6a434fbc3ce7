package web

import (
	"net/http"

	"lowtide/casebook"
	"lowtide/web/page"
)

// newVisit shows the page of a visit.
func (s *Server) newVisit(r *Request) (Answer, error) {
	o := r.opened
	in, err := s.formInput(o, page.Start(casebook.KindDressingChanged, o.c, o.clock, nil), nil)
	if err == nil {
		in.Lots, err = s.Caseload.Lots(r.Context(), s.author(r), o.c.ID, o.now)
	}
	if err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.Form(page.NewVisit(s.caseFrame(r, o, "Visit"), in)))
}
