package web

import (
	"net/http"
	"net/url"
	"time"

	"lowtide/intake"
	"lowtide/web/page"
)

// newSignOff shows the review that would be signed now.
func (s *Server) newSignOff(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCaseAt(w, r, s.Now().Truncate(time.Second))
	if ok {
		s.showSignOff(w, r, http.StatusOK, o, url.Values{}, nil)
	}
}

// showSignOff shows the review of this moment with what was typed.
func (s *Server) showSignOff(w http.ResponseWriter, r *http.Request, status int, o opened, form url.Values, ps intake.Problems) {
	in, err := s.formInput(o, form, ps)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.render(w, r, status, page.SignOff(page.NewSignOff(s.caseFrame(r, o, "Sign off"), in)))
}
