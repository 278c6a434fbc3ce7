package web

import (
	"net/http"

	"lowtide/casebook"
	"lowtide/web/page"
)

// newVisit shows the page of a visit.
func (s *Server) newVisit(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	in, err := s.formInput(o, page.Start(casebook.KindDressingChanged, o.c, o.clock, nil), nil)
	if err == nil {
		in.Lots, err = s.Caseload.Lots(r.Context(), s.author(r), o.c.ID, o.now)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.render(w, r, http.StatusOK, page.Form(page.NewVisit(s.caseFrame(r, o, "Visit"), in)))
}
